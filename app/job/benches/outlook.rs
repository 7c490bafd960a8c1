//! Chances, looks, range and movements of a car as far along as the demonstration's. `cargo bench -p job --bench outlook`.

use std::hint::black_box;

use job::body::{Body, BodyStyle};
use job::car::Car;
use job::catalogue::Catalogue;
use job::details::{Aim, CarDetails, Climate, Fitted, Kept};
use job::event::{Event, Stored, encode};
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::outlook::{history, movements, outlook, range, what_if, zones_only};
use job::person::{By, Role};
use job::what::{ClueSeen, How, Look, MadeGood, Opened, Seen, Severity, What};

const EVENTS: u64 = 150;

fn main() {
    divan::main();
}

fn details() -> CarDetails {
    CarDetails {
        title: "Car 1".into(),
        body: BodyStyle::TwoDoorClosed.id().into(),
        year: 1969,
        climate: Climate::TemperateSalted,
        kept: Kept::Unheated,
        fitted: [Fitted::CoveredRoof].into(),
        aim: Aim::FineDriver,
        history: Default::default(),
        budget_h: None,
        ask_over_h: None,
        rates: None,
        note: String::new(),
        invented: true,
    }
}

/// A survey of the whole shell: every look answers the clues there are for its zone; some zones are opened,
/// some of those made good.
fn what(seq: u64, catalogue: &Catalogue, zones: &[(&str, &str)]) -> What {
    let at = usize::try_from(seq).unwrap_or_default();
    let (instance, zone) = zones.get(at * 7 % zones.len()).copied().unwrap_or_default();
    let (instance, note) = (instance.to_owned(), "Sound at the front, flakes behind the seam.".to_owned());
    let severity = Severity::ALL.get(at % 3).copied().unwrap_or(Severity::Thin);
    match seq % 10 {
        _ if seq == 1 => What::CarOpened(details()),
        7 | 8 => What::Opened(Opened {
            zone: instance,
            found: (seq % 20 > 7).then_some(severity),
            through: "closing plate".into(),
            extent_mm: None,
            note,
        }),
        9 => What::MadeGood(MadeGood { zone: instance, note }),
        _ => What::Looked(Look {
            how: How::ALL.get(at % How::ALL.len()).copied().unwrap_or(How::Eye),
            seen: if seq.is_multiple_of(3) { Seen::Bad(severity) } else { Seen::Clear },
            clues: catalogue
                .observations_for(zone)
                .into_iter()
                .map(|seen| ClueSeen { clue: seen.id.clone(), there: seq.is_multiple_of(3) })
                .collect(),
            zone: instance,
            note,
        }),
    }
}

fn car(catalogue: &Catalogue, count: u64) -> Car {
    let body = Body::of(BodyStyle::TwoDoorClosed).expect("the body data loads");
    let zones: Vec<(&str, &str)> =
        body.instances().iter().filter(|i| i.fitted.is_none()).map(|i| (i.id.as_str(), i.zone.as_str())).collect();
    let by = By { id: PersonId::fresh(), name: "Bench A".into(), role: Role::Bench };
    let car = CarId::fresh();
    let mut events: Vec<Stored> = Vec::new();
    for seq in 1..=count {
        let prev = events.last().map_or(Hash::NONE, |last| last.hash);
        let (at, what) = (jiff::Timestamp::UNIX_EPOCH, what(seq, catalogue, &zones));
        let event =
            Event { car, seq, at, noted: None, by: by.clone(), entry: EntryId::fresh(), corrects: None, prev, what };
        events.push(encode(&event).expect("the bench's own events can be written"));
    }
    Car::fold(&events).expect("the record is whole")
}

fn catalogue() -> Catalogue {
    Catalogue::starting_guesses().expect("the carried files load")
}

/// A car of which only some looks by eye are known: every zone is open, and every look is worth valuing.
fn young(catalogue: &Catalogue) -> Car {
    car(catalogue, 12)
}

/// With reasons, troubles, every look valued, and the best pair.
#[divan::bench]
fn outlook_of_the_shell(bencher: divan::Bencher) {
    let catalogue = catalogue();
    let car = car(&catalogue, EVENTS);
    bencher.bench_local(|| outlook(black_box(&car), &catalogue).expect("the figures are in their ranges"));
}

/// The same where nothing is known yet, so that there are the most looks to value.
#[divan::bench]
fn outlook_of_a_young_record(bencher: divan::Bencher) {
    let catalogue = catalogue();
    let car = young(&catalogue);
    bencher.bench_local(|| outlook(black_box(&car), &catalogue).expect("the figures are in their ranges"));
}

/// The chances alone.
#[divan::bench]
fn zones_alone(bencher: divan::Bencher) {
    let catalogue = catalogue();
    let car = car(&catalogue, EVENTS);
    bencher.bench_local(|| zones_only(black_box(&car), &catalogue).expect("the figures are in their ranges"));
}

#[divan::bench]
fn what_if_of_the_best_look(bencher: divan::Bencher) {
    let catalogue = catalogue();
    let car = young(&catalogue);
    let outlook = outlook(&car, &catalogue).expect("the figures are in their ranges");
    let key = outlook.looks.first().expect("a look").key.clone();
    bencher.bench_local(|| {
        what_if(black_box(&car), &catalogue, &key).expect("the figures are in their ranges").expect("that look")
    });
}

#[divan::bench]
fn range_of_the_shell(bencher: divan::Bencher) {
    let catalogue = catalogue();
    let car = car(&catalogue, EVENTS);
    let zones = zones_only(&car, &catalogue).expect("the figures are in their ranges");
    bencher.bench_local(|| range(black_box(&car), &catalogue, &zones).expect("the figures are in their ranges"));
}

#[divan::bench]
fn history_of_the_range(bencher: divan::Bencher) {
    let catalogue = catalogue();
    let car = car(&catalogue, EVENTS);
    bencher.bench_local(|| history(black_box(&car), &catalogue).expect("the figures are in their ranges"));
}

#[divan::bench]
fn movements_over_100_entries(bencher: divan::Bencher) {
    let catalogue = catalogue();
    let car = car(&catalogue, EVENTS);
    bencher
        .bench_local(|| movements(black_box(&car), &catalogue, EVENTS - 100).expect("the figures are in their ranges"));
}
