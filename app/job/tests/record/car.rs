//! What a record adds up to.

use std::collections::BTreeMap;

use job::car::{Car, ZoneState};
use job::details::Stage;
use job::ids::EntryId;
use job::what::{Seen, Severity, What};
use proptest::prelude::*;

use crate::support::{
    Record, bad, clear, details, film, made_good, not_looked, opened, photographed, stage, stored, wall, withdraws,
};

const ZONE: &str = "Z01.L";

#[test]
fn not_looked_clear_and_bad_are_three_different_things() {
    let mut record = Record::new();
    record.add(not_looked("Z01.L"));
    record.add(clear("Z02.L"));
    record.add(bad("Z03.L", Severity::Thin));
    let car = record.fold();
    assert_eq!(car.state("Z01.L"), ZoneState::NotLooked);
    assert_eq!(car.state("Z02.L"), ZoneState::Clear);
    assert_eq!(car.state("Z03.L"), ZoneState::Bad(Severity::Thin));
    assert_eq!(car.state("Z04.L"), ZoneState::NotLooked);
    // Somebody tried Z01.L, nobody Z04.L: both are open, and the record tells them apart.
    assert!(car.zone("Z01.L").is_some() && car.zone("Z04.L").is_none());
    let words: Vec<&str> = car.states().map(|(_, state)| state.words()).collect();
    assert_eq!(words, ["not looked", "looked: clear", "looked: bad, thin"]);
}

#[test]
fn a_look_that_saw_nothing_changes_nothing() {
    for before in [clear(ZONE), bad(ZONE, Severity::Holed), opened(ZONE, None), made_good(ZONE)] {
        let mut record = Record::new();
        record.add(before);
        let (state, was_opened) = (record.fold().state(ZONE), record.fold().zone(ZONE).unwrap().opened);
        record.add(not_looked(ZONE));
        assert_eq!(record.fold().state(ZONE), state);
        assert_eq!(record.fold().zone(ZONE).unwrap().opened, was_opened);
    }
}

#[test]
fn opened_and_made_good() {
    let mut record = Record::new();
    record.add(opened(ZONE, None));
    assert_eq!((record.fold().state(ZONE), record.fold().zone(ZONE).unwrap().opened), (ZoneState::Clear, true));
    record.add(opened(ZONE, Some(Severity::Holed)));
    assert_eq!(record.fold().state(ZONE), ZoneState::Bad(Severity::Holed));
    record.add(made_good(ZONE));
    assert_eq!(record.fold().state(ZONE), ZoneState::MadeGood);
    // A later look overrides; the zone stays opened.
    record.add(bad(ZONE, Severity::Pitted));
    let car = record.fold();
    assert_eq!((car.state(ZONE), car.zone(ZONE).unwrap().opened), (ZoneState::Bad(Severity::Pitted), true));
}

#[test]
fn readings_photographs_and_measurements_do_not_set_a_state() {
    let mut record = Record::new();
    record.add(film(ZONE, 2500.0));
    record.add(wall(ZONE, 0.2));
    record.add(photographed(Some(ZONE), b"p", b"t"));
    let car = record.fold();
    assert_eq!(car.state(ZONE), ZoneState::NotLooked);
    assert_eq!(car.zone(ZONE).unwrap().entries, [2, 3, 4]);
    assert_eq!((car.film_um(ZONE), car.readings().count(), car.photographs().count()), (vec![2500.0], 2, 1));
}

#[test]
fn a_correction_counts_where_the_first_version_stood() {
    let mut record = Record::new();
    let early = record.add(clear(ZONE));
    record.add(bad(ZONE, Severity::Thin));
    // Putting the early look right does not override the later one...
    let again = record.correct(early, bad(ZONE, Severity::Pitted));
    assert_eq!(record.fold().state(ZONE), ZoneState::Bad(Severity::Thin));
    // ...nor does putting the correction right.
    record.correct(again, bad(ZONE, Severity::Holed));
    assert_eq!(record.fold().state(ZONE), ZoneState::Bad(Severity::Thin));
    let car = record.fold();
    assert_eq!(car.entry(2).unwrap().superseded_by, Some(4));
    assert_eq!(car.entry(4).unwrap().superseded_by, Some(5));
    assert_eq!(car.entry(5).unwrap().corrects, Some(4));
    // Putting the later one right does change what is known.
    let mut record = Record::new();
    record.add(clear(ZONE));
    let late = record.add(bad(ZONE, Severity::Thin));
    record.correct(late, clear(ZONE));
    assert_eq!(record.fold().state(ZONE), ZoneState::Clear);
}

#[test]
fn a_correction_that_moves_to_another_zone_changes_both() {
    let mut record = Record::new();
    record.add(clear("Z01.L"));
    let wrong = record.add(bad("Z01.L", Severity::Holed));
    record.correct(wrong, bad("Z01.R", Severity::Holed));
    let car = record.fold();
    assert_eq!(car.state("Z01.L"), ZoneState::Clear);
    assert_eq!(car.state("Z01.R"), ZoneState::Bad(Severity::Holed));
    // Opening by mistake is undone as well.
    let mut record = Record::new();
    let wrong = record.add(opened("Z01.L", None));
    record.correct(wrong, opened("Z01.R", None));
    let car = record.fold();
    assert!(!car.zone("Z01.L").unwrap().opened && car.zone("Z01.R").unwrap().opened);
}

#[test]
fn what_was_taken_out_no_longer_counts_and_stays_in_the_record() {
    let mut record = Record::new();
    record.add(clear(ZONE));
    let wrong = record.add(bad(ZONE, Severity::Holed));
    let reading = record.add(film(ZONE, 120.0));
    record.add(withdraws(wrong));
    record.add(withdraws(reading));
    let car = record.fold();
    assert_eq!(car.state(ZONE), ZoneState::Clear);
    assert!(car.film_um(ZONE).is_empty());
    assert_eq!(car.entries().len(), 6);
    assert!(!car.entry_by_id(wrong).unwrap().counts());
    assert_eq!(car.counting().count(), 4);
    assert_eq!(car.about(ZONE).count(), 3);
}

#[test]
fn a_stage_or_detail_taken_out_or_put_right_gives_way_to_the_one_before() {
    let mut record = Record::new();
    let strip = record.add(stage(Stage::Strip));
    let wrong = record.add(stage(Stage::HandOver));
    assert_eq!(record.fold().stage, Stage::HandOver);
    record.add(withdraws(wrong));
    assert_eq!(record.fold().stage, Stage::Strip);
    record.add(stage(Stage::Metal));
    // An old stage put right does not pull the job back.
    record.correct(strip, stage(Stage::BareMetal));
    assert_eq!(record.fold().stage, Stage::Metal);

    let changed = record.add(What::CarChanged(details("Car 1, with a new name")));
    assert_eq!(record.fold().details.title, "Car 1, with a new name");
    record.add(withdraws(changed));
    assert_eq!(record.fold().details.title, "Car 1");
    // Even with its first entry taken out, a car is the car it was opened as.
    record.add(withdraws(record.id(1)));
    assert_eq!(record.fold().details.title, "Car 1");
}

#[test]
fn a_car_is_refused_where_its_record_breaks() {
    assert_eq!(Car::fold([]).unwrap_err().at, 0);
    let mut headless = Record::empty(1);
    headless.add(clear(ZONE));
    assert!(Car::fold(&headless.events).unwrap_err().why.contains("begins with the car being opened"));

    let mut record = Record::new();
    record.add(clear(ZONE));
    let mut car = record.fold();
    let before = format!("{car:?}");
    let next = Record { events: record.events.clone(), ..record.clone() };
    let good = {
        let mut next = next;
        next.add(clear("Z02.L"));
        next.events.pop().unwrap()
    };
    let mut other_car = record.next(clear("Z02.L"), None);
    other_car.car = Record::empty(2).car;
    let mut twice = record.next(clear("Z02.L"), None);
    twice.entry = record.id(2);
    let mut not_following = record.next(clear("Z02.L"), None);
    not_following.prev = record.events[0].hash;
    let encode = |event| job::event::encode(event).unwrap();
    let altered = job::event::Stored { body: good.body.replace("clear", "claer"), ..good.clone() };
    let gap = job::event::Stored { seq: 4, ..good.clone() };
    for wrong in [encode(&other_car), encode(&twice), encode(&not_following), altered, gap] {
        assert_eq!(car.take(&wrong).unwrap_err().at, 3.min(wrong.seq), "{wrong:?}");
        assert_eq!(format!("{car:?}"), before, "a refused event leaves the car as it was");
    }
    car.take(&good).unwrap();
    assert_eq!(car.count, 3);
}

#[test]
fn an_entry_that_names_another_record_is_let_stand() {
    let mut record = Record::new();
    record.correct(Record::empty(7).id(1), clear(ZONE));
    record.add(withdraws(Record::empty(7).id(2)));
    assert_eq!(record.fold().state(ZONE), ZoneState::Clear);
    assert_eq!(record.fold().entry(2).unwrap().corrects, None);
}

#[test]
fn the_first_entry_of_a_newer_program_is_named() {
    let mut record = Record::new();
    let event = record.next(clear(ZONE), None);
    let body = job::event::encode(&event).unwrap().body.replacen("looked", "listened", 1);
    record.events.push(stored(2, event.entry, body));
    assert_eq!(record.fold().newer().map(|e| e.seq), Some(2));
}

/// One step of a record made at random.
#[derive(Debug, Clone)]
enum Step {
    Add(What),
    Correct(prop::sample::Index, What),
    TakeOut(prop::sample::Index),
}

fn any_what() -> impl Strategy<Value = What> {
    let zone = prop::sample::select(vec!["Z01.L", "Z01.R", "Z02.L"]);
    (zone, 0..9).prop_map(|(zone, kind)| match kind {
        0 => not_looked(zone),
        1 => clear(zone),
        2 => bad(zone, Severity::Thin),
        3 => opened(zone, None),
        4 => opened(zone, Some(Severity::Holed)),
        5 => made_good(zone),
        6 => film(zone, 100.0),
        7 => stage(Stage::Metal),
        _ => What::CarChanged(details(zone)),
    })
}

fn any_step() -> impl Strategy<Value = Step> {
    prop_oneof![
        3 => any_what().prop_map(Step::Add),
        2 => (any::<prop::sample::Index>(), any_what()).prop_map(|(i, what)| Step::Correct(i, what)),
        1 => any::<prop::sample::Index>().prop_map(Step::TakeOut),
    ]
}

/// The rules told another way: a list of what stands, in which a correction takes the place of what it
/// corrects, read from front to back.
#[derive(Default)]
struct Told {
    standing: Vec<(EntryId, What)>,
}

impl Told {
    fn place(&self, entry: EntryId) -> Option<usize> {
        self.standing.iter().position(|(id, _)| *id == entry)
    }

    fn states(&self) -> (BTreeMap<String, (ZoneState, bool)>, Stage, String) {
        let mut zones: BTreeMap<String, (ZoneState, bool)> = BTreeMap::new();
        let (mut stage, mut title) = (Stage::Intake, "Car 1".to_owned());
        for (_, what) in &self.standing {
            match what {
                What::StageReached(reached) => stage = reached.stage,
                What::CarChanged(details) => title.clone_from(&details.title),
                _ => {}
            }
            let Some(zone) = what.zone() else { continue };
            let (state, opened) = zones.entry(zone.to_owned()).or_default();
            *opened |= matches!(what, What::Opened(_) | What::MadeGood(_));
            *state = match what {
                What::Looked(look) => match look.seen {
                    Seen::NotLooked => *state,
                    Seen::Clear => ZoneState::Clear,
                    Seen::Bad(severity) => ZoneState::Bad(severity),
                },
                What::Opened(found) => found.found.map_or(ZoneState::Clear, ZoneState::Bad),
                What::MadeGood(_) => ZoneState::MadeGood,
                _ => *state,
            };
        }
        (zones, stage, title)
    }
}

proptest! {
    #[test]
    fn invariant_a_fold_is_the_rules_told_another_way(steps in prop::collection::vec(any_step(), 0..40)) {
        let mut record = Record::new();
        let mut told = Told::default();
        let mut one_by_one = record.fold();
        for step in steps {
            // Only what still stands can be corrected or taken out: the use case sees to that.
            let pick = |told: &Told, at: prop::sample::Index| {
                (!told.standing.is_empty()).then(|| told.standing[at.index(told.standing.len())].0)
            };
            match step {
                Step::Add(what) => {
                    let id = record.add(what.clone());
                    told.standing.push((id, what));
                }
                Step::Correct(at, what) => {
                    let Some(old) = pick(&told, at) else { continue };
                    let id = record.correct(old, what.clone());
                    let place = told.place(old).unwrap();
                    told.standing[place] = (id, what);
                }
                Step::TakeOut(at) => {
                    let Some(old) = pick(&told, at) else { continue };
                    record.add(withdraws(old));
                    let place = told.place(old).unwrap();
                    told.standing.remove(place);
                }
            }
            one_by_one.take(record.events.last().unwrap()).unwrap();
        }
        let at_once = record.fold();
        prop_assert_eq!(format!("{at_once:?}"), format!("{one_by_one:?}"));
        let (zones, stage, title) = told.states();
        for zone in ["Z01.L", "Z01.R", "Z02.L"] {
            let (state, opened) = zones.get(zone).copied().unwrap_or_default();
            prop_assert_eq!(at_once.state(zone), state);
            prop_assert_eq!(at_once.zone(zone).is_some_and(|z| z.opened), opened);
        }
        prop_assert_eq!((at_once.stage, at_once.details.title.clone()), (stage, title));
        let standing: Vec<EntryId> = told.standing.iter().map(|(id, _)| *id).collect();
        for entry in at_once.entries().iter().filter(|e| e.seq > 1 && !matches!(e.what, What::Withdrawn(_))) {
            prop_assert_eq!(entry.counts(), standing.contains(&entry.id));
        }
    }
}
