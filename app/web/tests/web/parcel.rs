//! The ways out and in: export, import, backup, dossier, and a record that somebody altered.

use axum::http::StatusCode;
use sqlx::{Connection, SqliteConnection};

use crate::support::form::Form;
use crate::support::{House, html};

#[tokio::test]
async fn an_exported_car_is_whole_in_another_shop() {
    let house = House::open().await;
    let car = house.full_car("Travels").await;
    let zip = house.get(&format!("/cars/{car}/export.zip")).await;
    assert_eq!((zip.status.as_u16(), zip.header("content-type")), (200, "application/zip"));
    assert_eq!(zip.header("content-length"), zip.bytes.len().to_string());
    let packed =
        house.ask(axum::http::Request::get(format!("/cars/{car}/export.zip")).header("accept-encoding", "gzip")).await;
    assert_eq!(
        (packed.header("content-encoding"), packed.header("content-length").is_empty()),
        ("", false),
        "not packed twice"
    );
    let page = house.ask(axum::http::Request::get("/").header("accept-encoding", "gzip")).await;
    assert_eq!(page.header("content-encoding"), "gzip");
    assert!(zip.header("content-disposition").contains("travels.zip"), "{}", zip.header("content-disposition"));
    let other = House::open().await;
    let into = |bytes: Vec<u8>| Form::new().file("zip", "travels.zip", bytes);
    for _ in 0..2 {
        let answer = other.post("/cars/import", into(zip.bytes.clone())).await;
        assert_eq!(
            (answer.status, answer.header("location")),
            (StatusCode::SEE_OTHER, format!("/cars/{car}").as_str()),
            "{}",
            html::words(&answer.text())
        );
    }
    let (here, there) = (house.shop.car(car).await.unwrap(), other.shop.car(car).await.unwrap());
    assert_eq!((here.head, here.count), (there.head, there.count));
    assert!(other.shop.verify(car, Some(here.head)).await.unwrap().intact());
    let page = other.get(&format!("/cars/{car}/verify?head={}", here.head)).await;
    page.says(200, &["The record is intact", "The printed head is in this record"]);
    // The other shop's people can go on with it.
    assert_eq!(other.keep(car, crate::support::form::entry("looked", &other.bench)).await.status, 303);
}

#[tokio::test]
async fn a_file_that_is_no_car_is_refused_and_nothing_is_taken() {
    let house = House::open().await;
    let car = house.full_car("Original").await;
    let zip = house.get(&format!("/cars/{car}/export.zip")).await.bytes;
    let other = House::open().await;
    let mut half = zip.clone();
    half.truncate(zip.len() / 2);
    let mut flipped = zip.clone();
    let middle = flipped.len() / 2;
    flipped[middle] ^= 0x55;
    for (what, bytes) in [
        ("text", b"hello".to_vec()),
        ("half", half),
        ("one byte altered", flipped),
        ("44 MB of nothing", vec![7; 44 * 1024 * 1024]),
    ] {
        let answer = other.post("/cars/import", Form::new().file("zip", "car.zip", bytes)).await;
        assert!(
            html::words(&answer.text()).to_lowercase().contains("car.zip"),
            "{what}: {}",
            html::words(&answer.text())
        );
        answer.says(422, &["Not done"]);
        assert!(other.shop.cars().await.unwrap().is_empty(), "{what}");
    }
    other.post("/cars/import", Form::new().file("zip", "", [])).await.says(422, &["No ZIP came with it"]);
    other.post("/cars/import", Form::new()).await.says(422, &["No ZIP came with it"]);
}

#[tokio::test]
async fn the_backup_downloads_as_one_file() {
    let house = House::open().await;
    house.full_car("Backed up").await;
    let zip = house.get("/backup.zip").await;
    assert_eq!((zip.status.as_u16(), zip.header("content-type")), (200, "application/zip"));
    assert!(zip.bytes.starts_with(b"PK"));
    assert!(zip.header("content-disposition").contains("guidecoat-20"));
    let folder = tempfile::TempDir::new().unwrap();
    let url = format!("sqlite:{}", folder.path().join("r.sqlite").display());
    let store = std::sync::Arc::new(store::Database::open(&url).await.unwrap());
    let shop = job::shop::Shop::new(store, job::catalogue::Catalogue::starting_guesses().unwrap());
    shop.restore(std::io::Cursor::new(zip.bytes), "backup.zip").await.unwrap();
    assert_eq!(shop.cars().await.unwrap().len(), 1);
    assert_eq!(shop.people().await.unwrap().len(), 4);
}

#[tokio::test]
async fn the_dossier_is_a_pdf_for_an_empty_car_and_for_a_full_one() {
    let house = House::open().await;
    let (empty, full) = (house.car("Empty").await, house.full_car("Full").await);
    let mut sizes = Vec::new();
    for car in [empty, full] {
        let pdf = house.get(&format!("/cars/{car}/dossier.pdf")).await;
        assert_eq!((pdf.status.as_u16(), pdf.header("content-type")), (200, "application/pdf"), "{}", pdf.text());
        assert!(pdf.bytes.starts_with(b"%PDF"));
        assert!(pdf.header("content-disposition").starts_with("inline"));
        sizes.push(pdf.bytes.len());
    }
    assert!(sizes[1] > sizes[0], "the photograph is in it");
}

async fn alter(house: &House, statement: &'static str) {
    let url = format!("sqlite:{}", house.folder.path().join("t.sqlite").display());
    let mut database = SqliteConnection::connect(&url).await.unwrap();
    sqlx::query(statement).execute(&mut database).await.unwrap();
    database.close().await.unwrap();
}

#[tokio::test]
async fn a_record_that_was_altered_shows_where_and_the_other_cars_still_show() {
    let house = House::open().await;
    let broken = house.full_car("Altered").await;
    let whole = house.car("Untouched").await;
    alter(&house, "UPDATE events SET body = replace(body, 'soft at the end', 'hard at the end') WHERE seq = 2").await;
    // The program that is running holds what it folded; one that is started afresh reads the rows.
    let fresh = House { router: house.restarted().await, ..house };
    let list = fresh.get("/").await;
    list.says(200, &["Untouched", "broken at entry 2"]);
    assert_eq!(html::faults(&list.text()), Vec::<String>::new());
    fresh.get(&format!("/cars/{whole}")).await.says(200, &["Untouched"]);
    fresh.get(&format!("/cars/{broken}/verify")).await.says(200, &["It breaks at entry 2", "The record is broken"]);
    assert!(list.text().contains(&format!("/cars/{broken}/verify")), "the list leads to the check");
    fresh.get(&format!("/cars/{broken}")).await.says(500, &["broken at entry 2", "To the cars"]);
    fresh.keep(broken, crate::support::form::entry("looked", &fresh.bench)).await.says(500, &["broken at entry 2"]);
}

#[tokio::test]
async fn a_tail_that_was_cut_off_and_a_picture_that_is_gone_are_found() {
    let house = House::open().await;
    let car = house.full_car("Cut").await;
    let head = house.shop.car(car).await.unwrap().head;
    alter(&house, "DELETE FROM events WHERE seq = (SELECT max(seq) FROM events)").await;
    let fresh = House { router: house.restarted().await, ..house };
    let page = fresh.get(&format!("/cars/{car}/verify?head={head}")).await;
    page.says(200, &["The record is broken"]);
    fresh.get(&format!("/cars/{car}/verify?head=12")).await.says(422, &[]);
    alter(&fresh, "DELETE FROM blobs").await;
    fresh.get(&format!("/cars/{car}/verify")).await.says(200, &["missing"]);
    let folded = fresh.shop.car(car).await.unwrap();
    let (_, photo) = folded.photographs().next().unwrap();
    let gone = fresh.get(&format!("/cars/{car}/pictures/{}", photo.picture)).await;
    gone.says(404, &["its file is gone"]);
    for page in ["", "/record", "/zones/Z01.L", "/colour"] {
        fresh.get(&format!("/cars/{car}{page}")).await.says(200, &[]);
    }
}

#[tokio::test]
async fn a_full_disk_or_a_database_that_only_reads_loses_nothing_typed() {
    let house = House::open().await;
    let car = house.car("Read only").await;
    alter(&house, "CREATE TRIGGER closed BEFORE INSERT ON events BEGIN SELECT RAISE(ABORT, 'no more'); END").await;
    let form = crate::support::form::entry("looked", &house.bench).text("note", "long, and hard to type again");
    let answer = house.keep(car, form.clone()).await;
    assert!(answer.status.is_server_error());
    let text = answer.text();
    assert!(text.contains("long, and hard to type again"), "{text}");
    let json = house.post_json(&format!("/cars/{car}/entries"), form).await;
    assert!(json.status.is_server_error() && json.json()["say"].is_string());
    assert_eq!(house.count(car).await, 1);
}
