//! Events as text: what is written reads back, and what is not an event is refused in words.

use job::car::Car;
use job::chain::verify;
use job::event::{MAX_EVENT_BYTES, Stored, decode, encode};
use job::ids::Hash;
use job::what::{ClimateRead, MadeGood, What};
use proptest::prelude::*;

use crate::support::{Record, at, clear, every_kind, made_good, stored};

#[test]
fn every_kind_reads_back_as_it_was_written() {
    let record = Record::new();
    for what in every_kind(record.id(1)) {
        for corrects in [None, Some(record.id(1))] {
            let mut event = record.next(what.clone(), corrects);
            event.noted = corrects.map(|_| at(-30));
            let kept = encode(&event).unwrap();
            assert_eq!(kept.hash, Hash::of(kept.body.as_bytes()));
            assert!(!kept.body.contains('\n'), "one event is one line");
            assert_eq!(decode(&kept).unwrap(), event);
        }
    }
}

/// The record with one event that this program does not know, and one after it.
fn with_newer(kind: &str, v: u32) -> Record {
    let mut record = Record::new();
    let event = record.next(made_good("Z01.L"), None);
    let body =
        encode(&event).unwrap().body.replacen("made_good", kind, 1).replacen("\"v\":1", &format!("\"v\":{v}"), 1);
    record.events.push(stored(2, event.entry, body));
    record.add(clear("Z01.R"));
    record
}

#[test]
fn a_kind_or_version_of_a_newer_program_is_kept_and_not_understood() {
    for (kind, v) in [("polished", 1), ("made_good", 2), ("polished", 7)] {
        let record = with_newer(kind, v);
        assert_eq!(decode(&record.events[1]).unwrap().what, What::Newer { kind: kind.into(), v });
        assert!(verify(&record.events, Some(record.head())).intact());
        let car = record.fold();
        assert_eq!(car.newer().map(|e| e.seq), Some(2));
        assert_eq!(car.count, 3);
    }
}

#[test]
fn what_a_newer_program_wrote_is_never_written_again() {
    let record = with_newer("polished", 3);
    let event = decode(&record.events[1]).unwrap();
    let refused = encode(&event).unwrap_err();
    assert!(refused.why.contains("newer program"), "{refused}");
}

#[test]
fn a_version_below_the_first_is_no_event() {
    let refused = decode(&with_newer("made_good", 0).events[1]).unwrap_err();
    assert!(refused.why.contains("never released"), "{refused}");
}

#[test]
fn a_text_under_another_place_or_name_is_refused() {
    let record = Record::new();
    let kept = &record.events[0];
    let moved = decode(&Stored { seq: 2, ..kept.clone() }).unwrap_err();
    assert_eq!((moved.seq, moved.why.contains("entry 1")), (2, true));
    let renamed = decode(&Stored { entry: record.id(9), ..kept.clone() }).unwrap_err();
    assert!(renamed.why.contains("another entry"), "{renamed}");
}

#[test]
fn an_entry_that_is_too_long_is_refused_before_it_is_kept() {
    let record = Record::new();
    let long = What::MadeGood(MadeGood { zone: "Z01.L".into(), note: "x".repeat(MAX_EVENT_BYTES) });
    assert!(encode(&record.next(long, None)).unwrap_err().why.contains("262144"));
}

/// JSON has no figure that is not a number; a record with such an entry could never be opened again.
#[test]
fn a_figure_that_is_not_a_number_is_refused_before_it_is_kept() {
    let record = Record::new();
    for figure in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let climate = What::ClimateRead(ClimateRead {
            air_c: 18.0,
            rh_pct: 60.0,
            panel_c: 15.0,
            product: String::new(),
            dew_point_c: figure,
            margin_c: 2.0,
            spray: true,
            why: String::new(),
        });
        assert!(encode(&record.next(climate, None)).unwrap_err().why.contains("read back"));
    }
}

proptest! {
    #[test]
    fn invariant_any_text_is_refused_in_words(text in any::<String>(), seq in any::<u64>()) {
        let kept = stored(seq, Record::new().id(1), text);
        prop_assert!(decode(&kept).is_err());
        prop_assert!(Car::fold([&kept]).is_err());
        prop_assert!(!verify([&kept], None).intact());
    }

    /// An event with a piece cut out or doubled: refused or read, never a panic.
    #[test]
    fn invariant_a_mangled_event_does_not_panic(
        kind in 0usize..21,
        cut in any::<(prop::sample::Index, prop::sample::Index)>(),
        put in "[\\PC]{0,6}",
    ) {
        let mut record = Record::new();
        let what = every_kind(record.id(1)).swap_remove(kind);
        record.add(what);
        let whole = &record.events[1];
        let (a, b) = (cut.0.index(whole.body.len()), cut.1.index(whole.body.len()));
        let mut body = whole.body.clone();
        body.replace_range(a.min(b)..a.max(b), &put);
        record.events[1] = stored(2, whole.entry, body);
        if let Ok(event) = decode(&record.events[1]) {
            // Whatever could be read says something about itself.
            prop_assert!(!event.what.kind_words().is_empty());
            let _ = (event.what.say(), event.what.note().len(), event.what.zone().is_some());
        }
        let _ = Car::fold(&record.events);
    }

    #[test]
    fn invariant_any_note_reads_back(note in any::<String>(), figure in any::<f64>().prop_filter("finite", |f| f.is_finite())) {
        let record = Record::new();
        for mut what in every_kind(record.id(1)) {
            match &mut what {
                What::Looked(look) => look.note.clone_from(&note),
                What::Read(reading) => reading.value = figure,
                What::ClimateRead(climate) => climate.margin_c = figure,
                What::Photographed(photo) => photo.caption.clone_from(&note),
                _ => continue,
            }
            let event = record.next(what, None);
            prop_assert_eq!(decode(&encode(&event).unwrap()).unwrap(), event);
        }
    }
}
