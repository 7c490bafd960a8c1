//! A folded car and its view.

use jiff::ToSpan;
use job::details::{Aim, Climate, Kept as Store, Stage};
use job::event::{Event, Stored, encode};
use job::ids::{EntryId, PersonId};
use job::person::{By, Role};
use job::what::{FilmJudged, How, Limit, Look, MadeGood, Mark, Opened, Quantity, Reading, Seen, Side, Withdrawn};

use super::*;

fn details() -> job::details::CarDetails {
    job::details::CarDetails {
        title: "Test two-door".into(),
        body: "two_door_closed".into(),
        year: 1968,
        climate: Climate::TemperateSalted,
        kept: Store::DryStore,
        fitted: [Fitted::CoveredRoof].into(),
        aim: Aim::FineDriver,
        rates: None,
        note: "Bought without papers.".into(),
        invented: true,
    }
}

/// A record of these happenings, each an hour after the one before.
fn record(happened: Vec<(Option<usize>, What)>) -> Vec<Stored> {
    let car = CarId::fresh();
    let by = By { id: PersonId::fresh(), name: "Bench A".into(), role: Role::Bench };
    let mut prev = Hash::NONE;
    let mut stored: Vec<Stored> = Vec::new();
    for (seq, (corrects, what)) in (1..).zip(happened) {
        let at = "2026-07-01T08:00:00Z".parse::<Timestamp>().expect("a time") + (seq as i64).hours();
        let event = Event {
            car,
            seq,
            at,
            noted: None,
            by: by.clone(),
            entry: EntryId::fresh(),
            corrects: corrects.map(|place| stored[place - 1].entry),
            prev,
            what,
        };
        stored.push(encode(&event).expect("can be stored"));
        prev = stored[stored.len() - 1].hash;
    }
    stored
}

fn look(zone: &str, seen: Seen) -> What {
    What::Looked(Look { zone: zone.into(), how: How::TapAndProbe, seen, clues: vec![], note: "a look".into() })
}

fn photograph(zone: Option<&str>, caption: &str) -> What {
    What::Photographed(Photograph {
        zone: zone.map(str::to_owned),
        side: Side::Left,
        stage: Stage::Survey,
        caption: caption.into(),
        mark: Some(Mark { view: "left".into(), u_mm: 0.0, v_mm: 300.0 }),
        picture: Hash::of(caption.as_bytes()),
        thumb: Hash::of(b"thumb"),
        width_px: 2400,
        height_px: 1800,
    })
}

fn seen(stored: &[Stored]) -> DossierView {
    let car = Car::fold(stored).expect("folds");
    let catalogue = Catalogue::starting_guesses().expect("the catalogue");
    let zone = TimeZone::get("Europe/Berlin").expect("a zone");
    let papers = Papers { car: &car, catalogue: &catalogue, zone: &zone, pictures: &BTreeMap::new() };
    view(&papers, Ok(()), "2026-12-01T09:10:11Z".parse().expect("a time"))
}

#[test]
fn a_car_nobody_has_looked_at_is_all_dashed() {
    let view = seen(&record(vec![(None, What::CarOpened(details()))]));
    let all = view.not_opened.len();
    assert!(all > 100, "{all} zones");
    assert_eq!(
        view.says,
        format!("{all} of {all} zones have not been looked at; none was found bad that is not made good.")
    );
    assert!(view.not_opened.iter().all(|zone| zone.last_look.is_empty()));
    assert!(view.zones.is_empty() && view.checks.is_empty() && view.colours.is_empty() && view.comparisons.is_empty());
    assert_eq!((view.count, view.record.len(), view.stage.as_str()), (1, 1, "Intake"));
    assert!(view.invented);
    let facts: Vec<&str> = view.facts.iter().map(|fact| fact.words.as_str()).collect();
    assert!(facts.contains(&"Covered roof, no sunroof") && facts.contains(&"Bought without papers."), "{facts:?}");
}

#[test]
fn times_are_in_the_shops_zone_and_the_files_own_in_utc() {
    let view = seen(&record(vec![(None, What::CarOpened(details()))]));
    assert_eq!(view.printed_at, "1 Dec 2026, 10:10");
    assert_eq!(view.printed_utc, jiff::civil::date(2026, 12, 1).at(9, 10, 11, 0));
    assert_eq!(view.record[0].when, "1 Jul 2026, 11:00");
}

#[test]
fn what_was_written_about_a_zone_stands_on_its_page() {
    let reading = Reading {
        zone: "Z01.L".into(),
        quantity: Quantity::Wall,
        value: 0.55,
        instrument: "Wall gauge".into(),
        precision_abs: 0.05,
        precision_rel_pct: 0.0,
        place: "front end".into(),
        limit: Some(Limit { value: 0.72, source: "80 percent of new".into() }),
        note: "scraped first".into(),
    };
    let opened = Opened {
        zone: "Z02.L".into(),
        found: Some(Severity::Holed),
        through: "outer sill".into(),
        extent_mm: Some((40.0, 25.0)),
        note: String::new(),
    };
    let made = MadeGood { zone: "Z03.L".into(), note: "new 1.0 mm, seam welded".into() };
    let view = seen(&record(vec![
        (None, What::CarOpened(details())),
        (None, look("Z01.L", Seen::Bad(Severity::Pitted))),
        (Some(2), look("Z01.L", Seen::Bad(Severity::Thin))),
        (None, What::Read(reading)),
        (None, photograph(Some("Z01.L"), "the sill")),
        (None, What::Opened(opened)),
        (None, What::MadeGood(made)),
        (None, photograph(None, "a corner")),
    ]));
    let [outer, inner, membrane] = &view.zones[..] else { panic!("{} zones", view.zones.len()) };
    assert_eq!((outer.state.as_str(), outer.side.as_str(), outer.entries.len()), ("Looked: bad, thin", "left", 2));
    assert_eq!(outer.entries[0].superseded_by, Some(3));
    assert_eq!(outer.entries[1].what, "Tap and probe: bad, thin (corrects entry 2)");
    let row = &outer.readings[0];
    assert_eq!(
        (row.value.as_str(), row.unit.as_str(), row.precision.as_str(), row.limit.as_str()),
        ("0.55", "mm", "0.05 mm", "0.72 mm")
    );
    assert_eq!(row.place, "front end. scraped first");
    assert_eq!((outer.photographs[0].number, outer.photographs[0].mark.as_str()), (1, "Left side"));
    assert_eq!(inner.entries[0].what, "Opened: holed, 40 x 25 mm");
    assert_eq!(inner.entries[0].note, "Through: outer sill");
    assert_eq!(membrane.state, "Opened and made good");
    assert_eq!((view.unplaced.len(), view.unplaced[0].number), (1, 2));
    assert!(view.says.contains("2 were found bad, 1 of them holed"), "{}", view.says);
    // An opened zone is not listed as not opened; one that hides something and was only tapped is.
    let listed = |name: &str, side: &str| view.not_opened.iter().find(|z| z.name.starts_with(name) && z.side == side);
    assert!(listed("Inner sill", "left").is_none() && listed("Inner sill", "right").is_some());
    assert!(listed("Outer sill", "left").is_some_and(|zone| zone.last_look.starts_with("Tap and probe: bad, thin.")));
    assert!(view.cautions.iter().any(|caution| caution.words.contains("Outer sill, left: ")));
}

#[test]
fn an_entry_taken_out_is_struck_and_its_photograph_is_not_printed() {
    let mut happened = vec![(None, What::CarOpened(details())), (None, photograph(Some("Z01.L"), "wrong car"))];
    let stored = record(happened.clone());
    let view = seen(&stored);
    assert_eq!(view.zones[0].photographs.len(), 1);
    // The same record again has other identifiers, so the entry to take out is named after it is written.
    happened.push((None, look("Z01.L", Seen::Clear)));
    let mut stored = record(happened);
    let car = Car::fold(&stored).expect("folds");
    let last = car.entry(3).expect("three entries");
    let out = Event {
        car: car.id,
        seq: 4,
        at: last.at,
        noted: None,
        by: last.by.clone(),
        entry: EntryId::fresh(),
        corrects: None,
        prev: car.head,
        what: What::Withdrawn(Withdrawn { entry: car.entry(2).expect("two").id, why: "another car".into() }),
    };
    stored.push(encode(&out).expect("can be stored"));
    let view = seen(&stored);
    assert!(view.zones[0].photographs.is_empty());
    assert_eq!(view.record[1].superseded_by, Some(4));
    assert_eq!(view.record[3].what, "Taken out entry 2: another car");
}

#[test]
fn a_film_that_was_judged_stands_in_the_checks_and_at_its_zone() {
    let judged = FilmJudged {
        zone: "Z01.R".into(),
        nominal_um: 80.0,
        readings_um: vec![82.0, 86.0],
        instrument: "Film gauge".into(),
        accept: true,
        mean_um: 84.0,
        why: "All over nominal.".into(),
    };
    let view = seen(&record(vec![(None, What::CarOpened(details())), (None, What::FilmJudged(judged))]));
    let check = &view.checks[0];
    assert_eq!((check.answer.as_str(), check.place.as_str()), ("Accepted", "Outer sill, right"));
    assert_eq!(check.figures, "2 readings, mean 84 \u{b5}m, nominal 80 \u{b5}m; Film gauge");
    assert!(view.zones[0].entries[0].what.starts_with("Film: 2 readings"));
}

#[test]
fn a_view_of_a_car_can_be_printed() {
    let stored = record(vec![
        (None, What::CarOpened(details())),
        (None, look("Z01.L", Seen::Bad(Severity::Holed))),
        (None, photograph(Some("Z01.L"), "no picture is at hand")),
    ]);
    let pdf = crate::render(&seen(&stored)).expect("renders");
    assert!(pdf.starts_with(b"%PDF-"));
}
