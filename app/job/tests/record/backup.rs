//! The whole shop out as one file while people write, and back into an empty database.

use std::io::Cursor;
use std::sync::Arc;

use job::ids::{Hash, PersonId};
use job::person::{Person, Role};
use job::shop::{BackupError, Restored, Shop};
use job::what::Severity;

use crate::support::{Desk, Files, Memory, at, bad, clear, details, film, shop_over};

async fn backup(shop: &Shop) -> (Vec<u8>, Restored) {
    let mut out = Cursor::new(Vec::new());
    let done = shop.backup(&mut out, "shop.zip").await.unwrap();
    (out.into_inner(), done)
}

/// Two cars, pictures, and somebody with a passphrase.
async fn busy() -> Desk {
    let desk = Desk::open().await;
    desk.keep(bad("Z01.L", Severity::Thin)).await;
    desk.photograph("Z01.L", b"picture").await;
    let second = desk.shop.open_car(details("Car 2"), desk.lead, at(5)).await.unwrap();
    desk.shop.keep(second, &desk.draft(film("Z01.R", 120.0)), at(6)).await.unwrap();
    let phrase = Some("$argon2id$v=19$m=19456,t=2,p=1$c2FsdA$aGFzaA".into());
    let person =
        Person { id: PersonId::fresh(), name: "Lead 2".into(), role: Role::Lead, passphrase: phrase, active: true };
    desk.shop.put_person(&person).await.unwrap();
    desk
}

#[tokio::test]
async fn invariant_a_shop_comes_back_whole() {
    let desk = busy().await;
    let (zip, done) = backup(&desk.shop).await;
    assert_eq!(done, Restored { cars: 2, events: 5, people: 5, files: 2 });
    let elsewhere = Arc::new(Memory::default());
    let there = shop_over(&elsewhere);
    assert_eq!(there.restore(Cursor::new(&zip), "shop.zip").await.unwrap(), done);
    // Everybody, with passphrases, those who left, and in their order.
    assert_eq!(there.people().await.unwrap(), desk.shop.people().await.unwrap());
    assert_eq!(elsewhere.blobs(), desk.store.blobs());
    for ((id, car), (_, here)) in there.cars().await.unwrap().iter().zip(desk.shop.cars().await.unwrap()) {
        let here = here.unwrap();
        assert_eq!((car.as_ref().unwrap().count, car.as_ref().unwrap().head), (here.count, here.head));
        assert_eq!(elsewhere.record(*id), desk.store.record(*id));
        assert!(there.verify(*id, Some(here.head)).await.unwrap().intact());
    }
    // Out again, it is the same file.
    assert_eq!(Files::of(&backup(&there).await.0).0, Files::of(&zip).0);
}

#[tokio::test]
async fn an_empty_shop_comes_back_empty() {
    let (zip, done) = backup(&shop_over(&Arc::default())).await;
    assert_eq!(done, Restored { cars: 0, events: 0, people: 0, files: 0 });
    assert_eq!(shop_over(&Arc::default()).restore(Cursor::new(zip), "shop.zip").await.unwrap(), done);
}

#[tokio::test]
async fn invariant_a_copy_made_while_people_write_is_whole() {
    let desk = busy().await;
    let mut rounds = 0;
    let writing = async {
        for round in 0..30_u8 {
            desk.photograph("Z02.L", &[round; 9]).await;
            desk.keep(clear("Z02.L")).await;
            rounds += 1;
        }
    };
    let ((), (zip, done)) = tokio::join!(writing, backup(&desk.shop));
    assert_eq!(rounds, 30);
    let elsewhere = Arc::new(Memory::default());
    let there = shop_over(&elsewhere);
    assert_eq!(there.restore(Cursor::new(zip), "shop.zip").await.unwrap(), done);
    let (copied, whole) = (elsewhere.record(desk.car), desk.store.record(desk.car));
    assert!(copied.len() < whole.len(), "nothing was written meanwhile, so this showed nothing");
    assert_eq!(copied, whole[..copied.len()]);
    for (id, _) in there.cars().await.unwrap() {
        let verdict = there.verify(id, None).await.unwrap();
        assert!(verdict.intact(), "{verdict:?}");
    }
}

async fn refused(zip: impl AsRef<[u8]> + Send) -> String {
    let elsewhere = Arc::new(Memory::default());
    let told = shop_over(&elsewhere).restore(Cursor::new(zip), "shop.zip").await;
    assert_eq!(elsewhere.writes(), 0, "{told:?}");
    let said = told.unwrap_err().to_string();
    assert!(said.starts_with("shop.zip: "), "{said}");
    said
}

#[tokio::test]
async fn nothing_is_restored_over_what_is_there() {
    let desk = busy().await;
    let (zip, _) = backup(&desk.shop).await;
    let writes = desk.store.writes();
    let told = desk.shop.restore(Cursor::new(&zip), "shop.zip").await;
    assert!(matches!(told, Err(BackupError::NotEmpty { cars: 2, people: 5 })));
    assert_eq!(desk.store.writes(), writes);
    // People alone are a shop as well.
    let store = Arc::new(Memory::default());
    let shop = shop_over(&store);
    let person =
        Person { id: PersonId::fresh(), name: "Lead".into(), role: Role::Lead, passphrase: None, active: true };
    shop.put_person(&person).await.unwrap();
    assert!(matches!(shop.restore(Cursor::new(&zip), "shop.zip").await, Err(BackupError::NotEmpty { .. })));
}

#[tokio::test]
async fn a_backup_that_was_altered_is_refused_before_anything_is_written() {
    let desk = busy().await;
    let files = Files::of(&backup(&desk.shop).await.0);
    let record = format!("cars/{}.jsonl", desk.car);
    let picture = format!("files/{}", Hash::of(b"picture"));
    let lines = files.text(&record);
    let cut: String = lines.lines().take(2).map(|line| format!("{line}\n")).collect();
    let people = files.text("people.jsonl");
    let fewer = people.lines().skip(1).collect::<Vec<_>>().join("\n");
    let other = files.text(&files.0.iter().map(|(n, _)| n).rfind(|n| n.starts_with("cars/")).unwrap().clone());
    for (altered, says) in [
        (files.clone().swapped(&record, "\"severity\":\"thin\"", "\"severity\":\"pitted\""), "broken at entry 3"),
        (files.clone().with(&record, &cut), "says 3 entries"),
        (files.clone().with(&record, &lines[..lines.len() - 9]), "broken at entry 3"),
        (files.clone().with(&record, other), "another hash"),
        (files.clone().with(&record, ""), "empty"),
        (files.clone().with(&record, [0xff]), "UTF-8"),
        (files.clone().without(&record), "not found"),
        (files.clone().with(&picture, b"another"), "altered"),
        (files.clone().without(&picture), "is missing"),
        (files.clone().with("people.jsonl", people.replacen("Bench A", "Bench A\u{0}", 1)), "people.jsonl"),
        (files.clone().with("people.jsonl", fewer), "says 5 people"),
        (files.clone().without("people.jsonl"), "people.jsonl"),
        (files.clone().without("shop.json"), "shop.json"),
        (files.clone().with("shop.json", "{}"), "format"),
        (files.clone().swapped("shop.json", "\"version\":1", "\"version\":2"), "version 2"),
    ] {
        let said = refused(altered.zip().into_inner()).await;
        assert!(said.contains(says), "{said}");
    }
    refused(b"not a ZIP").await;
    let whole = backup(&desk.shop).await.0;
    refused(&whole[..whole.len() - 30]).await;
    // Two lines that say the same entry would not fit the store.
    let doubled = files.swapped(&record, &cut, &format!("{cut}{cut}"));
    assert!(refused(doubled.zip().into_inner()).await.contains("broken at entry 3"));
}
