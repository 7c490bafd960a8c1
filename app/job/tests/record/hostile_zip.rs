//! ZIPs that are damaged, forged or made to hurt: each is refused in words, and nothing is written.

use std::io::Cursor;
use std::sync::Arc;

use job::event::MAX_EVENT_BYTES;
use job::parcel::ParcelError;
use job::shop::ShopError;

use crate::parcel::{export, worked_on};
use crate::support::{Files, Memory, Record, clear, packed, shop_over};

/// Brings a ZIP to an empty shop that must refuse it.
async fn refused(zip: Vec<u8>) -> ParcelError {
    let elsewhere = Arc::new(Memory::default());
    let told = shop_over(&elsewhere).import(Cursor::new(zip), "car.zip").await;
    assert_eq!(elsewhere.writes(), 0, "{told:?}");
    match told {
        Err(ShopError::Parcel(error)) => {
            assert!(error.to_string().starts_with("car.zip: "), "{error}");
            error
        }
        other => panic!("{other:?}"),
    }
}

async fn files() -> Files {
    Files::of(&export(&worked_on().await).await)
}

#[tokio::test]
async fn what_is_no_zip_or_only_part_of_one() {
    let whole = export(&worked_on().await).await;
    for bytes in
        [&b""[..], b"PK\x03\x04", b"name,400,410\n", &[0; 4096], &whole[..whole.len() / 2], &whole[..whole.len() - 1]]
    {
        let error = refused(bytes.to_vec()).await;
        assert!(matches!(error, ParcelError::NotZip { .. }), "{error}");
    }
}

/// Every length that a broken-off copy may have.
#[tokio::test]
async fn invariant_a_zip_cut_off_anywhere_is_refused() {
    let whole = export(&worked_on().await).await;
    for length in (0..whole.len()).step_by(97) {
        refused(whole[..length].to_vec()).await;
    }
}

/// A byte changed anywhere in the ZIP: it is refused, or what came in is what was sent.
#[tokio::test]
async fn invariant_a_byte_changed_anywhere_changes_no_record() {
    let desk = worked_on().await;
    let whole = export(&desk).await;
    for at in (0..whole.len()).step_by(13) {
        let mut zip = whole.clone();
        zip[at] ^= 0x20;
        let elsewhere = Arc::new(Memory::default());
        match shop_over(&elsewhere).import(Cursor::new(zip), "car.zip").await {
            Ok(_) => {
                assert_eq!(elsewhere.record(desk.car), desk.store.record(desk.car), "byte {at}");
                assert_eq!(elsewhere.blobs(), desk.store.blobs(), "byte {at}");
            }
            Err(_) => assert_eq!(elsewhere.writes(), 0, "byte {at}"),
        }
    }
}

#[tokio::test]
async fn a_zip_of_something_else() {
    let error = refused(packed([("letter.txt", b"hello".as_slice())])).await;
    assert!(matches!(&error, ParcelError::NotCar { what: "car.json", .. }), "{error}");
    for told in
        ["", "[]", "null", "{\"format\":\"another\",\"version\":1}", "{\"format\":\"guidecoat car\",\"version\":1}"]
    {
        let error = refused(packed([("car.json", told.as_bytes())])).await;
        assert!(matches!(&error, ParcelError::NotCar { what: "car.json", .. }), "{error}");
    }
    let error = refused(files().await.without("events.jsonl").zip().into_inner()).await;
    assert!(matches!(&error, ParcelError::NotCar { what: "events.jsonl", .. }), "{error}");
    let error = refused(files().await.with("events.jsonl", [0xff, 0xfe, b'\n']).zip().into_inner()).await;
    assert!(
        matches!(&error, ParcelError::NotCar { what: "events.jsonl", why, .. } if why.contains("UTF-8")),
        "{error}"
    );
}

#[tokio::test]
async fn a_newer_format_is_named_whatever_else_it_holds() {
    for (version, found) in [("2", 2), ("4294967296", u32::MAX), ("\"x\"", u32::MAX)] {
        let told = format!("{{\"format\":\"guidecoat car\",\"version\":{version},\"everything\":\"else\"}}");
        let error = refused(files().await.with("car.json", told).zip().into_inner()).await;
        assert!(matches!(error, ParcelError::Newer { found: f, .. } if f == found), "{error}");
    }
}

#[tokio::test]
async fn a_name_that_leads_outside() {
    for name in ["../evil.jpg", "/etc/evil.jpg", "photographs/../../evil.jpg"] {
        let error = refused(files().await.with(name, b"x").zip().into_inner()).await;
        assert!(matches!(&error, ParcelError::Escapes { name: n, .. } if n == name), "{error}");
    }
}

#[tokio::test]
async fn a_record_that_was_altered() {
    let broken = async |files: Files| match refused(files.zip().into_inner()).await {
        ParcelError::Broken { broken, .. } => broken,
        other => panic!("{other}"),
    };
    // A word: the entry after it does not follow.
    let altered = files().await.swapped("events.jsonl", "\"severity\":\"holed\"", "\"severity\":\"thin\"");
    assert_eq!(broken(altered).await.at, 3);
    // A line end that an editor turned.
    let turned = files().await.swapped("events.jsonl", "\n", "\r\n");
    assert_eq!(broken(turned).await.at, 2);
    // A line taken out, one doubled, an empty one, a line that is no event.
    let text = files().await.text("events.jsonl");
    let lines: Vec<&str> = text.lines().collect();
    let without = [&lines[..2], &lines[3..]].concat().join("\n");
    assert_eq!(broken(files().await.with("events.jsonl", without)).await.at, 3);
    let doubled = [&lines[..3], &lines[2..]].concat().join("\n");
    assert_eq!(broken(files().await.with("events.jsonl", doubled)).await.at, 4);
    for line in ["", "hello", "{}"] {
        let mut lines = lines.clone();
        lines.insert(2, line);
        assert_eq!(broken(files().await.with("events.jsonl", lines.join("\n"))).await.at, 3);
    }
    // The last word: only car.json can tell.
    let last = files().await.swapped("events.jsonl", "180.0", "190.0");
    let found = broken(last).await;
    assert_eq!((found.at, found.why.contains("car.json")), (6, true));
    // The tail cut off.
    let cut = files().await.with("events.jsonl", lines[..4].join("\n"));
    let found = broken(cut).await;
    assert_eq!((found.at, found.why.as_str()), (5, "car.json says 6 entries; the record holds 4"));
    // Everything cut off, in both files.
    let none = files().await.with("events.jsonl", "").swapped("car.json", "\"events\": 6", "\"events\": 0");
    assert_eq!(broken(none).await.why, "the record is empty");
}

/// The record would be kept under another car's name.
#[tokio::test]
async fn a_record_under_another_cars_name() {
    let files = files().await;
    let told: serde_json::Value = serde_json::from_str(&files.text("car.json")).unwrap();
    let own = told["car"].as_str().unwrap();
    let other = Record::new().car.to_string();
    let error = refused(files.swapped("car.json", own, &other).zip().into_inner()).await;
    assert!(matches!(&error, ParcelError::Broken { broken, .. } if broken.why.contains("another car")), "{error}");
}

/// A record that is whole and yet not a car's: it does not begin with one.
#[tokio::test]
async fn a_record_that_does_not_begin_with_a_car() {
    let mut record = Record::empty(1);
    record.add(clear("Z01.L"));
    let told = serde_json::json!({
        "format": "guidecoat car", "version": 1, "car": record.car, "title": "", "events": 1, "head": record.head(),
    });
    let zip = packed([("car.json", told.to_string().as_bytes()), ("events.jsonl", record.events[0].body.as_bytes())]);
    let error = refused(zip).await;
    assert!(matches!(&error, ParcelError::Broken { broken, .. } if broken.at == 1), "{error}");
}

#[tokio::test]
async fn a_photograph_that_is_gone_or_altered() {
    let whole = files().await;
    for (name, at) in [("photographs/00003", 3), ("photographs/00004", 4), ("thumbs/00003", 3), ("colour/", 5)] {
        let name = whole.named(name);
        for files in [whole.clone().without(&name), whole.clone().with(&name, b"another")] {
            let error = refused(files.zip().into_inner()).await;
            assert!(matches!(&error, ParcelError::Broken { broken, .. } if broken.at == at), "{name}: {error}");
        }
    }
}

/// What nobody asked for is not kept.
#[tokio::test]
async fn files_that_the_record_does_not_name_are_left_out() {
    let files = files().await.with("photographs/extra.jpg", b"extra").with("readme.txt", b"hello");
    let elsewhere = Arc::new(Memory::default());
    shop_over(&elsewhere).import(files.zip(), "car.zip").await.unwrap();
    assert!(elsewhere.blobs().values().all(|bytes| bytes.as_ref() != b"extra"));
    assert_eq!(elsewhere.blobs().len(), 4);
}

/// A few kilobytes that unpack to more than is taken, in each place where something is unpacked.
#[tokio::test]
async fn a_zip_bomb_is_refused() {
    let zeros = vec![0; 64 * 1024 * 1024 + 1];
    for (name, size) in [("photographs/bomb.jpg", zeros.len()), ("events.jsonl", zeros.len()), ("car.json", 65 * 1024)]
    {
        let zip = files().await.with(name, &zeros[..size]).zip().into_inner();
        assert!(zip.len() < 256 * 1024, "{} bytes are no bomb", zip.len());
        let error = refused(zip).await;
        assert!(matches!(&error, ParcelError::TooLarge { what, .. } if what.contains(name)), "{error}");
    }
    let short = vec![b'\n'; 60_000];
    let error = refused(files().await.with("events.jsonl", short).zip().into_inner()).await;
    assert!(matches!(&error, ParcelError::TooLarge { what, .. } if what.contains("line 50001")), "{error}");
    let long = "x".repeat(MAX_EVENT_BYTES + 1);
    let error = refused(files().await.with("events.jsonl", long).zip().into_inner()).await;
    assert!(matches!(&error, ParcelError::TooLarge { what, .. } if what.contains("line 1 ")), "{error}");
}
