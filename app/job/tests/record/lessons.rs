//! What cars teach the shop: which entries, from what had been foretold, and never a car itself.

use std::collections::BTreeMap;
use std::sync::Arc;

use job::catalogue::{Catalogue, Clue, Zone};
use job::forecast::learn::{Calibration, Foretold};
use job::ids::CarId;
use job::lessons::{Lesson, lessons, scores, taught_by};
use job::outlook::zones_only;
use job::what::{ClueSeen, How, Look, Seen, Severity, What};
use uuid::Uuid;

use crate::support::{Desk, Record, at, details, made_good, opened, withdraws};

fn starting() -> Catalogue {
    Catalogue::starting_guesses().unwrap()
}

fn look(zone: &str, seen: Seen, clues: &[(&str, bool)]) -> What {
    let clues = clues.iter().map(|(clue, there)| ClueSeen { clue: (*clue).into(), there: *there }).collect();
    What::Looked(Look { zone: zone.into(), how: How::Eye, seen, clues, note: String::new() })
}

const HOLED: Seen = Seen::Bad(Severity::Holed);
const PITTED: Seen = Seen::Bad(Severity::Pitted);

fn taught_of(record: &Record) -> Vec<Lesson> {
    lessons(&record.fold(), &starting()).unwrap()
}

/// Instance, entry and what was found.
fn told(record: &Record) -> Vec<(String, u64, bool)> {
    taught_of(record).into_iter().map(|lesson| (lesson.instance, lesson.entry, lesson.bad)).collect()
}

/// The chance of a zone when the record held so many entries.
fn chance(record: &Record, count: u64, zone: &str) -> f64 {
    zones_only(&record.fold().at(count), &starting()).unwrap().zone(zone).unwrap().p
}

#[test]
fn thin_holed_and_sound_teach_and_pitted_and_new_metal_do_not() {
    let mut record = Record::new();
    record.add(opened("Z03.L", Some(Severity::Thin)));
    record.add(opened("Z03.R", None));
    record.add(opened("Z02.L", Some(Severity::Pitted)));
    record.add(made_good("Z02.L"));
    record.add(made_good("Z04.L"));
    record.add(opened("Z04.L", None));
    record.add(opened("Z01.L", Some(Severity::Holed)));
    record.add(look("Z05.L", Seen::NotLooked, &[]));
    let wrong = record.add(opened("Z05.R", None));
    record.add(withdraws(wrong));
    assert_eq!(told(&record), [("Z03.L".into(), 2, true), ("Z03.R".into(), 3, false), ("Z01.L".into(), 8, true)]);
    let all = taught_of(&record);
    assert!(all.iter().all(|lesson| lesson.invented && lesson.car == record.car && lesson.clues.is_empty()));
    assert_eq!((all[0].zone_id.as_str(), taught_by(&all, "Z03").len(), taught_by(&all, "Z02").len()), ("Z03", 2, 0));
}

#[test]
fn what_was_foretold_is_the_chance_just_before_whatever_came_later() {
    let mut record = Record::new();
    record.add(look("Z01.L", Seen::Clear, &[("K01", true)]));
    let first = record.add(opened("Z03.L", None));
    record.add(look("Z01.R", HOLED, &[]));
    record.add(opened("Z03.R", Some(Severity::Holed)));
    // Put right long after: it counts where the first version stood.
    record.correct(first, opened("Z03.L", Some(Severity::Holed)));
    let all = taught_of(&record);
    let found: Vec<(&str, u64)> = all.iter().map(|lesson| (lesson.instance.as_str(), lesson.entry)).collect();
    assert_eq!(found, [("Z03.L", 6), ("Z01.R", 4), ("Z03.R", 5)]);
    let foretold: Vec<f64> = all.iter().map(|lesson| lesson.foretold).collect();
    assert_eq!(foretold, [chance(&record, 2, "Z03.L"), chance(&record, 3, "Z01.R"), chance(&record, 4, "Z03.R")]);
    assert!(foretold.iter().all(|p| (0.02..0.98).contains(p)), "{foretold:?}");
}

#[test]
fn seen_is_seen_until_a_later_look_or_an_opening_says_otherwise() {
    let mut record = Record::new();
    record.add(look("Z36.L", HOLED, &[]));
    record.add(look("Z36.R", PITTED, &[]));
    assert_eq!(told(&record), [("Z36.L".into(), 2, true)]);
    record.add(look("Z36.L", Seen::Clear, &[]));
    assert_eq!(told(&record), []);
    // Seen again: known from now on, and an opening has the last word.
    record.add(look("Z36.L", HOLED, &[]));
    assert_eq!(told(&record), [("Z36.L".into(), 5, true)]);
    record.add(opened("Z36.L", None));
    let all = taught_of(&record);
    assert_eq!(told(&record), [("Z36.L".into(), 6, false)]);
    assert_eq!(all[0].foretold, chance(&record, 4, "Z36.L"));
    // A light look does not unsay an opening; a hole seen in what was opened does.
    record.add(look("Z36.L", PITTED, &[]));
    assert_eq!(told(&record), [("Z36.L".into(), 6, false)]);
    record.add(look("Z36.L", HOLED, &[]));
    assert_eq!(told(&record), [("Z36.L".into(), 8, true)]);
    record.add(opened("Z36.L", Some(Severity::Pitted)));
    assert_eq!(told(&record), []);
}

#[test]
fn a_clue_teaches_the_zones_it_aims_at_if_it_was_looked_for_before() {
    let mut record = Record::new();
    // Blisters on the seam speak of skin, membrane and inner wall (K01, K02, K03) on this side.
    record.add(look("Z01.L", Seen::Clear, &[("K01", true)]));
    record.add(opened("Z03.L", Some(Severity::Holed)));
    record.add(opened("Z03.R", None));
    // Too late for the membrane; of the inner wall it is the later answer.
    record.add(look("Z01.L", Seen::Clear, &[("K01", false)]));
    record.add(opened("Z02.L", None));
    // Ticked while the hole was looked at.
    record.add(look("Z37.L", HOLED, &[("K27", true)]));
    // A ripple speaks of impact, which a hole in the leg says nothing about.
    record.add(look("Z20.L", Seen::Clear, &[("K54", true)]));
    record.add(opened("Z20.L", Some(Severity::Thin)));
    let clues: BTreeMap<String, Vec<(String, bool)>> =
        taught_of(&record).into_iter().map(|lesson| (lesson.instance, lesson.clues)).collect();
    let of = |zone: &str| clues[zone].iter().map(|(clue, there)| (clue.as_str(), *there)).collect::<Vec<_>>();
    assert_eq!((of("Z03.L"), of("Z03.R")), (vec![("K02", true)], vec![]));
    assert_eq!((of("Z02.L"), of("Z37.L"), of("Z20.L")), (vec![("K03", false)], vec![], vec![]));
}

fn lesson(car: u128, zone_id: &str, foretold: f64, bad: bool, clues: &[(&str, bool)]) -> Lesson {
    Lesson {
        car: CarId(Uuid::from_u128(car)),
        invented: true,
        entry: 2,
        zone_id: zone_id.into(),
        instance: format!("{zone_id}.L"),
        foretold,
        bad,
        clues: clues.iter().map(|(clue, there)| ((*clue).into(), *there)).collect(),
    }
}

#[test]
fn a_shop_with_no_history_keeps_its_starting_guesses() {
    let start = starting();
    let taught = start.taught(&[]);
    assert!(taught.rates.is_empty() && taught.clues.is_empty());
    assert!(start.zones().eq(taught.catalogue.zones()) && start.clues().eq(taught.catalogue.clues()));
}

/// A starting guess is worth 8 openings, so that its mean after n of m bad is (8 p + n) / (8 + m) (a beta
/// distribution; A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, chapter 2).
#[test]
fn published_zones_as_likely_as_their_base_rate_teach_by_counting() {
    let start = starting();
    let all: Vec<Lesson> = (0..16).map(|n| lesson(n / 2, "Z03", 0.5, n % 8 != 0, &[])).collect();
    let taught = start.taught(&all);
    let [rate] = &taught.rates[..] else { panic!("{:?}", taught.rates) };
    assert_eq!((rate.zone_id.as_str(), rate.start, rate.opened, rate.bad), ("Z03", 0.5, 16, 14));
    assert!((rate.mean - 18.0 / 24.0).abs() < 1e-9, "{}", rate.mean);
    assert!(rate.low < rate.mean && rate.mean < rate.high);
    assert_eq!(taught.catalogue.zone("Z03").unwrap().base_p, rate.mean);
    // Nothing else moved.
    let others =
        |catalogue: &Catalogue| catalogue.zones().filter(|zone| zone.id != "Z03").cloned().collect::<Vec<Zone>>();
    assert_eq!(others(&start), others(&taught.catalogue));
    assert!(start.clues().eq(taught.catalogue.clues()));
}

/// The mean of a Beta distribution after counting (A. Gelman and others, Bayesian Data Analysis, 3rd edition, 2013,
/// section 2.4, from memory): weight times guess plus the seen, over weight plus all.
#[test]
fn published_a_clue_teaches_bad_zones_and_sound_ones_apart_by_counting() {
    let start = starting();
    let seen = |there| [("K02", there)];
    let mut all: Vec<Lesson> = (0..6).map(|n| lesson(n, "Z03", 0.5, true, &seen(n != 0))).collect();
    all.extend((6..8).map(|n| lesson(n, "Z03", 0.5, false, &seen(false))));
    let taught = start.taught(&all);
    let [clue] = &taught.clues[..] else { panic!("{:?}", taught.clues) };
    assert_eq!((clue.clue_id.as_str(), clue.bad.looked, clue.bad.there), ("K02", 6, 5));
    assert_eq!((clue.sound.looked, clue.sound.there, clue.bad.start, clue.sound.start), (2, 0, 0.6, 0.18));
    assert!((clue.bad.mean - (8.0 * 0.6 + 5.0) / 14.0).abs() < 1e-9);
    assert!((clue.sound.mean - 8.0 * 0.18 / 10.0).abs() < 1e-9);
    let row = taught.catalogue.clue("K02").unwrap();
    assert_eq!((row.p_if_condition, row.p_if_no_condition), (clue.bad.mean, clue.sound.mean));
    let others =
        |catalogue: &Catalogue| catalogue.clues().filter(|clue| clue.id != "K02").cloned().collect::<Vec<Clue>>();
    assert_eq!(others(&start), others(&taught.catalogue));
}

#[test]
fn invariant_what_was_expected_teaches_less_and_no_rate_leaves_its_range() {
    let start = starting();
    let mean = |foretold: f64, bad: bool, count: u128| {
        let all: Vec<Lesson> = (0..count).map(|n| lesson(n, "Z03", foretold, bad, &[])).collect();
        start.taught(&all).rates[0].mean
    };
    assert!(mean(0.9, true, 8) < mean(0.5, true, 8) && mean(0.5, true, 8) < mean(0.1, true, 8));
    assert!(mean(0.9, false, 8) < mean(0.5, false, 8) && mean(0.5, false, 8) < mean(0.1, false, 8));
    for foretold in [0.0, 0.02, 0.5, 0.98, 1.0] {
        for bad in [true, false] {
            assert!((0.001..=0.999).contains(&mean(foretold, bad, 3_000)), "{foretold} {bad}");
        }
    }
    // A zone and a clue that the shop's catalogue no longer has teach nothing.
    let taught = start.taught(&[lesson(1, "Z99", 0.5, true, &[("K999", true)])]);
    assert!(taught.rates.is_empty() && taught.clues.is_empty());
}

/// Eight invented cars whose left membranes were all rotten through, though nothing had been seen from outside.
fn eight_cars() -> Vec<Record> {
    (1..=8)
        .map(|car| {
            let mut record = Record::empty(car);
            record.add(What::CarOpened(details(&format!("Car {car}"))));
            record.add(look("Z01.L", Seen::Clear, &[("K01", false)]));
            record.add(opened("Z03.L", Some(Severity::Holed)));
            record.add(opened("Z09.R", None));
            record
        })
        .collect()
}

#[test]
fn eight_cars_move_the_rates_and_each_one_can_be_named() {
    let start = starting();
    let cars = eight_cars();
    let all: Vec<Lesson> = cars.iter().flat_map(taught_of).collect();
    assert_eq!(all.len(), 16);
    let taught = start.taught(&all);
    let rate = |zone: &str| taught.rates.iter().find(|rate| rate.zone_id == zone).unwrap();
    assert!(rate("Z03").mean > 0.7 && rate("Z03").bad == 8, "{:?}", rate("Z03"));
    assert!(rate("Z09").mean < 0.15 && rate("Z09").bad == 0, "{:?}", rate("Z09"));
    // Membranes were rotten without a blister: its absence now says less.
    let row = taught.catalogue.clue("K02").unwrap();
    assert!(row.lr_if_absent() > start.clue("K02").unwrap().lr_if_absent());
    let named: Vec<CarId> = taught_by(&all, "Z03").iter().map(|lesson| lesson.car).collect();
    assert_eq!(named, cars.iter().map(|record| record.car).collect::<Vec<_>>());

    let fresh = Record::new().fold();
    let chance = |catalogue: &Catalogue| zones_only(&fresh, catalogue).unwrap().zone("Z03.L").unwrap().p;
    assert!(chance(&taught.catalogue) > chance(&start) + 0.05);
}

/// Anything from 0.1 to 0.9, the same each time.
fn spread(n: u128) -> f64 {
    0.1 + 0.8 * (n * 7919 % 10_007) as f64 / 10_007.0
}

/// The scores as they are defined: for each car the whole catalogue is taught by all others.
fn by_definition(lessons: &[Lesson], start: &Catalogue) -> Calibration {
    let odds = |p: f64| p / (1.0 - p);
    let foretold = |lesson: &Lesson| {
        let others: Vec<Lesson> = lessons.iter().filter(|other| other.car != lesson.car).cloned().collect();
        let zone = |catalogue: &Catalogue| odds(catalogue.zone(&lesson.zone_id).unwrap().base_p);
        let odds = odds(lesson.foretold) * zone(&start.taught(&others).catalogue) / zone(start);
        Foretold { p: odds / (1.0 + odds), bad: lesson.bad }
    };
    Calibration::of(&lessons.iter().map(foretold).collect::<Vec<_>>()).unwrap()
}

#[test]
fn invariant_a_car_does_not_teach_itself_and_scores_are_what_they_are_defined_to_be() {
    let start = starting();
    // The last zone is known of one car only; clues play no part.
    let mut all: Vec<Lesson> = (0..20)
        .map(|n| lesson(n / 4, ["Z03", "Z02", "Z03", "Z36"][n as usize % 4], spread(n), n % 3 == 0, &[("K02", true)]))
        .collect();
    all.push(lesson(2, "Z09", 0.3, true, &[]));
    let (kept, wanted) = (scores(&all, &start).unwrap(), by_definition(&all, &start));
    assert!((kept.learned.brier.unwrap() - wanted.brier.unwrap()).abs() < 1e-12);
    assert!((kept.start.brier.unwrap() - wanted.brier.unwrap()).abs() > 1e-3, "or this shows nothing");
    for (kept, wanted) in kept.learned.bins.iter().zip(&wanted.bins) {
        let figures = |bin: &job::forecast::learn::Bin| bin.zones.map(|zones| (zones.count, zones.bad));
        assert_eq!(figures(kept), figures(wanted));
    }
}

#[test]
fn invariant_ten_thousand_lessons_of_a_hundred_cars_are_scored() {
    let start = starting();
    let zones: Vec<&str> = start.zones().map(|zone| zone.id.as_str()).collect();
    let all: Vec<Lesson> =
        (0..10_000).map(|n| lesson(n / 100, zones[n as usize % zones.len()], spread(n), n % 3 == 0, &[])).collect();
    let kept = scores(&all, &start).unwrap();
    assert_eq!((kept.start.count, kept.learned.count), (10_000, 10_000));
    // A third of each zone is bad whatever it was called: the other cars know that better than the guesses do.
    assert!(kept.learned.brier < kept.start.brier, "{:?} {:?}", kept.learned.brier, kept.start.brier);
}

#[tokio::test]
async fn a_shop_learns_from_its_other_cars_and_works_it_out_once() {
    let desk = Desk::open().await;
    desk.keep(opened("Z03.L", Some(Severity::Holed))).await;
    // The only car there is: nothing to learn for it.
    let alone = desk.shop.taught(desk.car).await.unwrap();
    assert!(alone.rates.is_empty());
    assert_eq!(desk.shop.lessons().await.unwrap().len(), 1);

    let other = desk.shop.open_car(details("Car 2"), desk.lead, at(0)).await.unwrap();
    let taught = desk.shop.taught(other).await.unwrap();
    assert_eq!(taught.rates.iter().map(|rate| (rate.zone_id.as_str(), rate.bad)).collect::<Vec<_>>(), [("Z03", 1)]);
    assert!(Arc::ptr_eq(&taught, &desk.shop.taught(other).await.unwrap()));
    // What is written to the car itself changes nothing for it; what is written to the other one does.
    let draft = desk.draft(opened("Z03.R", None));
    desk.shop.keep(other, &draft, at(1)).await.unwrap();
    assert!(Arc::ptr_eq(&taught, &desk.shop.taught(other).await.unwrap()));
    desk.keep(opened("Z03.R", Some(Severity::Thin))).await;
    assert_eq!(desk.shop.taught(other).await.unwrap().rates[0].opened, 2);
    let (first, second) = (desk.shop.taught(desk.car).await.unwrap(), desk.shop.lessons().await.unwrap());
    assert_eq!((first.rates[0].opened, first.rates[0].bad, second.len()), (1, 0, 3));
}

#[tokio::test]
async fn an_invented_car_teaches_only_invented_cars() {
    let desk = Desk::open().await;
    desk.keep(opened("Z03.L", Some(Severity::Holed))).await;
    let mut real = details("Car 2");
    real.invented = false;
    let real = desk.shop.open_car(real, desk.lead, at(0)).await.unwrap();
    assert!(desk.shop.taught(real).await.unwrap().rates.is_empty());
    let draft = desk.draft(opened("Z03.L", None));
    desk.shop.keep(real, &draft, at(1)).await.unwrap();
    assert!(desk.shop.taught(desk.car).await.unwrap().rates.is_empty());
    assert_eq!(desk.shop.lessons().await.unwrap().len(), 2);
}

#[tokio::test]
async fn a_photograph_on_one_car_leaves_what_was_worked_out_for_the_other_and_an_opened_zone_does_not() {
    let desk = Desk::open().await;
    desk.keep(opened("Z03.L", Some(Severity::Holed))).await;
    let other = desk.shop.open_car(details("Car 2"), desk.lead, at(0)).await.unwrap();
    let other = desk.shop.car(other).await.unwrap();
    let (forecast, learned) = (desk.shop.forecast(&other).await.unwrap(), desk.shop.learned(true).await.unwrap());
    let history = desk.shop.history(&other).await.unwrap();
    let lessons = desk.shop.lessons().await.unwrap();
    desk.photograph("Z03.L", b"picture").await;
    assert!(Arc::ptr_eq(&forecast, &desk.shop.forecast(&other).await.unwrap()));
    assert!(Arc::ptr_eq(&history, &desk.shop.history(&other).await.unwrap()));
    assert!(Arc::ptr_eq(&learned, &desk.shop.learned(true).await.unwrap()));
    assert!(Arc::ptr_eq(&lessons, &desk.shop.lessons().await.unwrap()));
    desk.keep(opened("Z03.R", None)).await;
    assert!(!Arc::ptr_eq(&forecast, &desk.shop.forecast(&other).await.unwrap()));
    assert!(!Arc::ptr_eq(&history, &desk.shop.history(&other).await.unwrap()));
    let now = desk.shop.learned(true).await.unwrap();
    assert_eq!((learned.lessons.len(), now.lessons.len(), now.others), (1, 2, 0));
    assert_eq!(
        (&now.taught.rates, &*now.lessons),
        (&starting().taught(&now.lessons).rates, &**desk.shop.lessons().await.unwrap())
    );
    // Real cars have taught nothing, and what the invented ones taught is counted there.
    let real = desk.shop.learned(false).await.unwrap();
    assert_eq!((real.lessons.len(), real.others), (0, 1));
}
