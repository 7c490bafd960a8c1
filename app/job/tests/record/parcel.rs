//! A car out as one ZIP and in again elsewhere.

use std::io::Cursor;
use std::sync::Arc;

use job::parcel::{Parcel, ParcelError};
use job::shop::{Imported, ShopError};
use job::what::Severity;

use crate::support::{Desk, Files, Memory, Record, bad, clear, film, measured, photographed, shop_over};

pub(crate) async fn export(desk: &Desk) -> Vec<u8> {
    desk.shop.export(desk.car, Cursor::new(Vec::new())).await.unwrap().into_inner()
}

/// A shop with a car that has a bit of everything that is exported.
pub(crate) async fn worked_on() -> Desk {
    let desk = Desk::open().await;
    desk.keep(bad("Z01.L", Severity::Holed)).await;
    desk.photograph("Z01.L", b"first picture").await;
    desk.photograph("Z01.R", b"second picture").await;
    desk.shop.keep_file(b"geometry,400").await.unwrap();
    desk.keep(measured("Panel A", b"geometry,400")).await;
    desk.keep(film("Z01.L", 180.0)).await;
    desk
}

#[tokio::test]
async fn invariant_a_car_comes_through_whole() {
    let desk = worked_on().await;
    let zip = export(&desk).await;
    let elsewhere = Arc::new(Memory::default());
    let there = shop_over(&elsewhere);
    let took = there.import(Cursor::new(&zip), "car.zip").await.unwrap();
    assert_eq!(took, Imported { car: desk.car, events: 6, new: 6 });
    assert_eq!(elsewhere.record(desk.car), desk.store.record(desk.car));
    assert_eq!(elsewhere.blobs(), desk.store.blobs());
    let head = desk.shop.car(desk.car).await.unwrap().head;
    assert!(there.verify(desk.car, Some(head)).await.unwrap().intact());
    // Out again from there it is the same record.
    let again = there.export(desk.car, Cursor::new(Vec::new())).await.unwrap().into_inner();
    assert_eq!(Files::of(&again).text("events.jsonl"), Files::of(&zip).text("events.jsonl"));
    // Coming in again adds nothing.
    let writes = elsewhere.writes();
    let took = there.import(Cursor::new(&again), "car.zip").await.unwrap();
    assert_eq!(took, Imported { car: desk.car, events: 6, new: 0 });
    assert_eq!(elsewhere.writes(), writes);
}

#[tokio::test]
async fn the_zip_holds_open_files() {
    let desk = worked_on().await;
    let files = Files::of(&export(&desk).await);
    let names: Vec<&str> = files.0.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(&names[..4], ["car.json", "events.jsonl", "zones.csv", "readings.csv"]);
    for name in
        ["photographs/00003-Z01.L.jpg", "photographs/00004-Z01.R.jpg", "thumbs/00003-Z01.L.jpg", "colour/00005.csv"]
    {
        assert!(names.contains(&name), "{name} is not in {names:?}");
    }
    assert_eq!(names.len(), 8);
    let lines: Vec<String> = files.text("events.jsonl").lines().map(String::from).collect();
    let bodies: Vec<String> = desk.store.record(desk.car).into_iter().map(|s| s.body).collect();
    assert_eq!(lines, bodies);
    let told: serde_json::Value = serde_json::from_str(&files.text("car.json")).unwrap();
    assert_eq!(told["events"], 6);
    assert_eq!(told["head"], desk.shop.car(desk.car).await.unwrap().head.to_string());
}

#[tokio::test]
async fn a_longer_record_is_appended_and_a_shorter_one_adds_nothing() {
    let desk = worked_on().await;
    let short = export(&desk).await;
    let elsewhere = Arc::new(Memory::default());
    let there = shop_over(&elsewhere);
    there.import(Cursor::new(&short), "car.zip").await.unwrap();
    // The car is at hand there when the longer record comes.
    assert_eq!(there.car(desk.car).await.unwrap().count, 6);
    desk.photograph("Z02.L", b"third picture").await;
    desk.keep(clear("Z01.R")).await;
    let long = export(&desk).await;
    let took = there.import(Cursor::new(&long), "car.zip").await.unwrap();
    assert_eq!(took, Imported { car: desk.car, events: 8, new: 2 });
    assert_eq!(there.car(desk.car).await.unwrap().head, desk.shop.car(desk.car).await.unwrap().head);
    assert!(there.verify(desk.car, None).await.unwrap().intact());
    let took = there.import(Cursor::new(&short), "car.zip").await.unwrap();
    assert_eq!(took, Imported { car: desk.car, events: 8, new: 0 });
}

#[tokio::test]
async fn histories_that_part_are_refused_at_the_entry_where_they_do() {
    let desk = worked_on().await;
    let elsewhere = Arc::new(Memory::default());
    let there = shop_over(&elsewhere);
    there.import(Cursor::new(export(&desk).await), "car.zip").await.unwrap();
    // Both shops go on by themselves.
    let mut own = Record { car: desk.car, events: elsewhere.record(desk.car) };
    own.add(clear("Z02.L"));
    elsewhere.replace(desk.car, &own.events);
    for _ in 0..3 {
        desk.keep(clear("Z02.R")).await;
        let writes = elsewhere.writes();
        let refused = there.import(Cursor::new(export(&desk).await), "car.zip").await.unwrap_err();
        assert!(matches!(&refused, ShopError::Parcel(ParcelError::Parted { at: 7, .. })), "{refused}");
        assert!(refused.to_string().starts_with("car.zip: ") && refused.to_string().contains("entry 7"));
        assert_eq!(elsewhere.writes(), writes);
    }
}

#[tokio::test]
async fn a_picture_lost_here_shows_in_the_copy() {
    let desk = worked_on().await;
    desk.store.meddle(job::ids::Hash::of(b"second picture"), None);
    let zip = export(&desk).await;
    let verdict = Parcel::open(Cursor::new(&zip), "car.zip").unwrap().verify(None).unwrap();
    assert_eq!(verdict.broken.map(|b| b.at), Some(4));
}

#[tokio::test]
async fn a_zip_is_checked_against_a_printed_head() {
    let desk = worked_on().await;
    let then = desk.shop.car(desk.car).await.unwrap().head;
    let early = export(&desk).await;
    desk.keep(clear("Z02.L")).await;
    let now = desk.shop.car(desk.car).await.unwrap().head;
    let late = export(&desk).await;
    let verify =
        |zip: &[u8], head| Parcel::open(Cursor::new(zip.to_vec()), "car.zip").unwrap().verify(Some(head)).unwrap();
    assert!(verify(&early, then).intact() && verify(&late, now).intact() && verify(&late, then).intact());
    assert_eq!(verify(&early, now).broken.map(|b| b.at), Some(7));
}

/// A record from elsewhere may call a zone anything; the ZIP made from it must open all the same.
#[tokio::test]
async fn a_zone_with_an_odd_name_does_not_lead_out_of_the_zip() {
    let desk = Desk::open().await;
    for bytes in [b"picture".as_slice(), b"thumb"] {
        desk.shop.keep_file(bytes).await.unwrap();
    }
    let mut record = Record { car: desk.car, events: desk.store.record(desk.car) };
    record.add(photographed(Some("../../Z01\\..\u{0}/etc"), b"picture", b"thumb"));
    desk.store.replace(desk.car, &record.events);
    let zip = export(&desk).await;
    assert_eq!(Files::of(&zip).named("photographs/"), "photographs/00002-....Z01..etc.jpg");
    let took = shop_over(&Arc::new(Memory::default())).import(Cursor::new(zip), "car.zip").await.unwrap();
    assert_eq!(took.events, 2);
}
