//! Learning from a long history. `cargo bench -p job --bench lessons`.

use job::body::BodyStyle;
use job::car::Car;
use job::catalogue::Catalogue;
use job::details::{Aim, CarDetails, Climate, Kept};
use job::event::{Event, Stored, encode};
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::lessons::{Lesson, lessons, scores};
use job::person::{By, Role};
use job::what::{Opened, Severity, What};
use uuid::Uuid;

fn main() {
    divan::main();
}

/// Lessons over all zones, each with every clue that aims at it, foretold anything from 0.1 to 0.9.
fn history(catalogue: &Catalogue, count: usize) -> Vec<Lesson> {
    let zones: Vec<&str> = catalogue.zones().map(|zone| zone.id.as_str()).collect();
    let lesson = |n: usize| {
        let zone = zones.get(n % zones.len()).copied().unwrap_or_default();
        let clues = catalogue.clues().filter(|clue| clue.target_zone == zone && clue.prior_p.is_none());
        Lesson {
            car: CarId(Uuid::from_u128(n as u128 / 100)),
            invented: true,
            entry: n as u64,
            zone_id: zone.into(),
            instance: format!("{zone}.L"),
            foretold: 0.1 + 0.8 * (n * 7919 % 10_007) as f64 / 10_007.0,
            bad: n.is_multiple_of(3),
            clues: clues.map(|clue| (clue.id.clone(), n.is_multiple_of(5))).collect(),
        }
    };
    (0..count).map(lesson).collect()
}

#[divan::bench(args = [100, 1_000, 10_000])]
fn taught(bencher: divan::Bencher<'_, '_>, count: usize) {
    let Ok(catalogue) = Catalogue::starting_guesses() else { return };
    let lessons = history(&catalogue, count);
    bencher.bench(|| catalogue.taught(&lessons));
}

/// Every zone once with the rate that the other cars taught.
#[divan::bench(args = [100, 1_000, 10_000], sample_count = 10)]
fn scored(bencher: divan::Bencher<'_, '_>, count: usize) {
    let Ok(catalogue) = Catalogue::starting_guesses() else { return };
    let lessons = history(&catalogue, count);
    bencher.bench(|| scores(&lessons, &catalogue));
}

/// A car of which every zone was opened, one after the other, every third of them holed.
fn car() -> Option<Car> {
    let details = CarDetails {
        title: "Car 1".into(),
        body: BodyStyle::TwoDoorClosed.id().into(),
        year: 1969,
        climate: Climate::TemperateSalted,
        kept: Kept::Unheated,
        fitted: Default::default(),
        aim: Aim::FineDriver,
        history: Default::default(),
        budget_h: None,
        ask_over_h: None,
        rates: None,
        note: String::new(),
        invented: true,
    };
    let zones = job::validate::instances(&details);
    let opened = zones.iter().enumerate().map(|(n, zone)| {
        let found = n.is_multiple_of(3).then_some(Severity::Holed);
        let (through, note) = (String::new(), String::new());
        What::Opened(Opened { zone: zone.id.clone(), found, through, extent_mm: None, note })
    });
    let mut events: Vec<Stored> = Vec::new();
    for what in std::iter::once(What::CarOpened(details.clone())).chain(opened) {
        let seq = events.len() as u64 + 1;
        let event = Event {
            car: CarId(Uuid::from_u128(1)),
            seq,
            at: Default::default(),
            noted: None,
            by: By { id: PersonId(Uuid::from_u128(2)), name: "Bench A".into(), role: Role::Bench },
            entry: EntryId(Uuid::from_u128(seq.into())),
            corrects: None,
            prev: events.last().map_or(Hash::NONE, |event| event.hash),
            what,
        };
        events.push(encode(&event).ok()?);
    }
    Car::fold(&events).ok()
}

#[divan::bench(sample_count = 10)]
fn every_zone_of_a_car(bencher: divan::Bencher<'_, '_>) {
    let (Ok(catalogue), Some(car)) = (Catalogue::starting_guesses(), car()) else { return };
    bencher.bench(|| lessons(&car, &catalogue).map(|lessons| lessons.len()));
}
