//! Nothing in a record can be altered, taken out, moved or added without the check finding the place.

use job::chain::{Verdict, verify};
use job::event::Stored;
use job::ids::Hash;
use job::what::Severity;
use proptest::prelude::*;

use crate::support::{Desk, Record, bad, clear, every_kind, film, stored};

/// One of every kind: 23 events.
fn record() -> Record {
    let mut record = Record::empty(1);
    let second = record.id(2);
    for what in every_kind(second) {
        record.add(what);
    }
    record
}

fn broken_at(events: &[Stored]) -> Option<u64> {
    verify(events, None).broken.map(|b| b.at)
}

#[test]
fn a_whole_record_verifies_and_says_how_long_it_is() {
    let record = record();
    let verdict = verify(&record.events, Some(record.head()));
    assert_eq!(verdict, Verdict { events: 23, head: record.head(), broken: None });
    assert_eq!(verify([], None), Verdict { events: 0, head: Hash::NONE, broken: None });
}

/// Every byte of every text, one after the other, in a short record.
#[test]
fn invariant_a_changed_byte_is_found_where_it_stands() {
    let mut record = Record::new();
    record.add(bad("Z01.L", Severity::Holed));
    record.add(film("Z01.R", 180.0));
    for at in 0..record.events.len() {
        for byte in 0..record.events[at].body.len() {
            let mut events = record.events.clone();
            let mut bytes = events[at].body.clone().into_bytes();
            bytes[byte] ^= 1;
            events[at].body = String::from_utf8(bytes).unwrap();
            assert_eq!(broken_at(&events), Some(at as u64 + 1), "byte {byte} of entry {}", at + 1);
        }
    }
}

/// Somebody who can change a text can put its new hash beside it. Then the entry after it does not follow,
/// and for the last one only the printed head is left to tell.
#[test]
fn invariant_a_changed_text_with_its_hash_made_to_fit_is_found_at_once_or_one_later() {
    let record = record();
    let head = record.head();
    for at in 0..record.events.len() {
        let mut events = record.events.clone();
        let forged = events[at].body.replacen("Bench A", "Bench B", 1);
        assert_ne!(forged, events[at].body);
        events[at] = stored(events[at].seq, events[at].entry, forged);
        let next = (at as u64 + 2).min(24);
        assert_eq!(verify(&events, Some(head)).broken.map(|b| b.at), Some(next));
        assert_eq!(broken_at(&events), (next < 24).then_some(next));
    }
}

proptest! {
    #[test]
    fn invariant_any_byte_of_any_entry_and_of_any_hash(at in 0usize..23, byte in any::<prop::sample::Index>(), bit in 0u8..7) {
        let record = record();
        let mut events = record.events.clone();
        let mut bytes = events[at].body.clone().into_bytes();
        // Where the flip makes no text at all, there is nothing a store could hand over.
        let byte = byte.index(bytes.len());
        bytes[byte] ^= 1 << bit;
        if let Ok(body) = String::from_utf8(bytes) {
            events[at].body = body;
            prop_assert_eq!(broken_at(&events), Some(at as u64 + 1));
        }
        let mut events = record.events.clone();
        let mut raw = *events[at].hash.bytes();
        raw[byte % 32] ^= 1 << bit;
        events[at].hash = raw.iter().map(|b| format!("{b:02x}")).collect::<String>().parse().unwrap();
        prop_assert_eq!(broken_at(&events), Some(at as u64 + 1));
    }

    #[test]
    fn invariant_taking_out_swapping_and_doubling_are_found(first in 0usize..23, second in 0usize..23) {
        let record = record();
        let (low, high) = (first.min(second), first.max(second));
        let place = |index: usize| index as u64 + 1;

        let mut events = record.events.clone();
        events.remove(low);
        // Cutting off the last one leaves a whole, shorter record: see the printed head.
        prop_assert_eq!(broken_at(&events), (low < 22).then_some(place(low)));
        // Closing the gap in the numbering does not help: the texts carry their own.
        for (index, event) in events.iter_mut().enumerate() {
            event.seq = place(index);
        }
        prop_assert_eq!(broken_at(&events), (low < 22).then_some(place(low)));

        let mut events = record.events.clone();
        events.insert(high, record.events[low].clone());
        prop_assert_eq!(broken_at(&events), Some(place(if low == high { low + 1 } else { high })));

        if low != high {
            let mut events = record.events.clone();
            events.swap(low, high);
            prop_assert_eq!(broken_at(&events), Some(place(low)));
        }
    }

    /// An entry that follows perfectly is put in between: the next one then does not.
    #[test]
    fn invariant_an_entry_put_in_between_is_found(at in 0usize..23) {
        let record = record();
        let mut forged = Record { events: record.events[..at].to_vec(), ..record.clone() };
        let mut event = forged.next(clear("Z01.R"), None);
        event.entry = record.id(99);
        forged.push(&event);
        forged.events.extend_from_slice(&record.events[at..]);
        prop_assert_eq!(broken_at(&forged.events), Some(at as u64 + 2));
        for (index, event) in forged.events.iter_mut().enumerate() {
            event.seq = index as u64 + 1;
        }
        prop_assert_eq!(broken_at(&forged.events), Some(at as u64 + 2));
    }

    #[test]
    fn invariant_a_cut_off_tail_shows_only_against_the_printed_head(left in 0usize..23) {
        let record = record();
        let short = &record.events[..left];
        prop_assert!(verify(short, None).intact());
        let verdict = verify(short, Some(record.head()));
        prop_assert_eq!(verdict.broken.map(|b| b.at), Some(left as u64 + 1));
        // A head printed earlier is still in the longer record.
        if let Some(then) = short.last() {
            prop_assert!(verify(&record.events, Some(then.hash)).intact());
        }
    }
}

#[test]
fn an_entry_of_another_car_is_found() {
    let mut record = record();
    let mut event = record.next(clear("Z01.L"), None);
    event.car = Record::empty(2).car;
    record.push(&event);
    let broken = verify(&record.events, None).broken.unwrap();
    assert_eq!(broken.at, 24);
    assert!(broken.why.contains("another car"), "{}", broken.why);
}

#[test]
fn the_same_entry_in_two_places_is_found() {
    let mut record = record();
    let mut event = record.next(clear("Z01.L"), None);
    event.entry = record.id(3);
    record.push(&event);
    let broken = verify(&record.events, None).broken.unwrap();
    assert_eq!(broken.at, 24);
    assert!(broken.why.contains("kept before"), "{}", broken.why);
}

#[tokio::test]
async fn a_picture_gone_or_altered_is_found_at_its_entry() {
    let desk = Desk::open().await;
    desk.keep(clear("Z01.L")).await;
    desk.photograph("Z01.L", b"a picture").await;
    desk.keep(clear("Z01.R")).await;
    assert!(desk.shop.verify(desk.car, None).await.unwrap().intact());
    for (meddled, word) in [(None, "missing"), (Some(b"another".as_slice()), "altered")] {
        desk.store.meddle(Hash::of(b"a picture"), meddled);
        let verdict = desk.shop.verify(desk.car, None).await.unwrap();
        assert_eq!(verdict.events, 4);
        let broken = verdict.broken.unwrap();
        assert_eq!(broken.at, 3);
        assert!(broken.why.contains(word), "{}", broken.why);
    }
}

#[tokio::test]
async fn what_is_broken_in_the_store_is_found_at_its_entry() {
    let desk = Desk::open().await;
    for zone in ["Z01.L", "Z01.R", "Z02.L"] {
        desk.keep(clear(zone)).await;
    }
    let head = desk.shop.car(desk.car).await.unwrap().head;
    let whole = desk.store.record(desk.car);
    let mut altered = whole.clone();
    altered[2].body = altered[2].body.replace("clear", "claer");
    desk.store.replace(desk.car, &altered);
    assert_eq!(desk.shop.verify(desk.car, None).await.unwrap().broken.unwrap().at, 3);
    desk.store.replace(desk.car, &whole[..3]);
    assert!(desk.shop.verify(desk.car, None).await.unwrap().intact());
    assert_eq!(desk.shop.verify(desk.car, Some(head)).await.unwrap().broken.unwrap().at, 4);
}
