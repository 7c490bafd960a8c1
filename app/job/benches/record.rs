//! A record of 2 000 events folded, written and checked. `cargo bench -p job`.

use std::hint::black_box;

use job::body::{Body, BodyStyle};
use job::car::Car;
use job::chain::verify;
use job::details::{Aim, CarDetails, Climate, Kept};
use job::event::{Event, Stored, encode};
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::person::{By, Role};
use job::what::{How, Look, Opened, Quantity, Reading, Seen, Severity, What};

const EVENTS: u64 = 2_000;

fn main() {
    divan::main();
}

/// What a survey of the whole shell is made of: looks, readings and openings, every tenth put right later.
fn what(seq: u64, zones: &[&str]) -> What {
    let zone = zones.get(usize::try_from(seq).unwrap_or(0) % zones.len()).copied().unwrap_or_default().to_owned();
    let note = "Sound at the front, flakes behind the seam for a hand's width.".to_owned();
    match seq {
        1 => What::CarOpened(CarDetails {
            title: "Car 1".into(),
            body: BodyStyle::TwoDoorClosed.id().into(),
            year: 1971,
            climate: Climate::TemperateSalted,
            kept: Kept::Unheated,
            fitted: Default::default(),
            aim: Aim::FineDriver,
            history: Default::default(),
            budget_h: None,
            ask_over_h: None,
            rates: None,
            note,
            invented: true,
        }),
        seq if seq % 5 == 0 => What::Opened(Opened {
            zone,
            found: Some(Severity::Thin),
            through: "closing plate".into(),
            extent_mm: Some((310.0, 45.0)),
            note,
        }),
        seq if seq % 2 == 0 => What::Looked(Look {
            zone,
            how: How::TapAndProbe,
            seen: Seen::Bad(Severity::Pitted),
            clues: Vec::new(),
            note,
        }),
        _ => What::Read(Reading {
            zone,
            quantity: Quantity::Wall,
            value: 0.5 + 0.0001 * seq as f64,
            instrument: "Gauge 1".into(),
            precision_abs: 0.02,
            precision_rel_pct: 1.0,
            place: "lower edge".into(),
            limit: None,
            note,
        }),
    }
}

fn events(zones: &[&str]) -> Vec<Stored> {
    let by = By { id: PersonId::fresh(), name: "Bench A".into(), role: Role::Bench };
    let car = CarId::fresh();
    let mut entries = Vec::new();
    let mut events: Vec<Stored> = Vec::new();
    for seq in 1..=EVENTS {
        let corrects =
            (seq % 10 == 0).then(|| usize::try_from(seq / 2).ok().and_then(|at| entries.get(at).copied())).flatten();
        let entry = EntryId::fresh();
        entries.push(entry);
        let prev = events.last().map_or(Hash::NONE, |last| last.hash);
        let at = jiff::Timestamp::UNIX_EPOCH;
        let event = Event { car, seq, at, noted: None, by: by.clone(), entry, corrects, prev, what: what(seq, zones) };
        events.push(encode(&event).expect("the bench's own events can be written"));
    }
    events
}

fn zones() -> Vec<&'static str> {
    let body = Body::of(BodyStyle::TwoDoorClosed).expect("the body data loads");
    body.instances().iter().map(|i| i.id.as_str()).collect()
}

#[divan::bench]
fn fold_2000_events(bencher: divan::Bencher) {
    let events = events(&zones());
    bencher.bench_local(|| Car::fold(black_box(&events)).expect("the record is whole"));
}

/// The worst case for working a zone's state out again: all of it is about one zone.
#[divan::bench]
fn fold_2000_events_of_one_zone(bencher: divan::Bencher) {
    let events = events(&["Z01.L"]);
    bencher.bench_local(|| Car::fold(black_box(&events)).expect("the record is whole"));
}

#[divan::bench]
fn verify_2000_events(bencher: divan::Bencher) {
    let events = events(&zones());
    bencher.bench_local(|| verify(black_box(&events), None));
}

#[divan::bench]
fn encode_event(bencher: divan::Bencher) {
    let event = job::event::decode(&events(&zones())[6]).expect("the bench's own events can be read");
    bencher.bench_local(|| encode(black_box(&event)).expect("the bench's own events can be written"));
}

#[divan::bench]
fn body_load() -> Body {
    Body::read(&BodyStyle::TwoDoorClosed.files()).expect("the body data loads")
}
