//! The odds against the trade's reading of two invented cars, zone by zone, and the words for chances.

mod woven;

use std::collections::BTreeSet;

use forecast::odds::chance;
use jiff::civil::date;

use super::circumstances::{Circumstances, acting};
use super::*;
use crate::catalogue::Zone;
use crate::details::{Aim, CarDetails, Climate, Fitted, History, Kept};

fn details(year: u16, climate: Climate) -> CarDetails {
    CarDetails {
        title: "Car 1".into(),
        body: "two_door_closed".into(),
        year,
        climate,
        kept: Kept::Outdoors,
        fitted: BTreeSet::new(),
        aim: Aim::FineDriver,
        history: BTreeSet::new(),
        budget_h: None,
        ask_over_h: None,
        rates: None,
        note: String::new(),
        invented: true,
    }
}

/// What a car's life does to a zone's odds, in 2026.
fn factors(details: &CarDetails, zone: &str) -> Vec<f64> {
    let catalogue = Catalogue::starting_guesses().unwrap();
    let zone = catalogue.zone(zone).unwrap();
    let factors = Circumstances::of(details, date(2026, 6, 1)).factors(&acting(&catalogue, &zone.id, &zone.profile));
    factors.iter().map(|factor| factor.ratio).collect()
}

/// One row of `reference/forecast/fixture_cars.csv`.
#[derive(serde::Deserialize)]
struct Row {
    car: String,
    zone_id: String,
    p_low: f64,
    p_likely: f64,
    p_high: f64,
    why: String,
}

impl Row {
    fn details(&self) -> CarDetails {
        match self.car.as_str() {
            "A" => CarDetails { fitted: [Fitted::CoveredRoof].into(), ..details(1976, Climate::TemperateSalted) },
            _ => details(1986, Climate::DryInland),
        }
    }

    /// The clue rows it says were seen or looked for in vain.
    fn clues(&self) -> Vec<(&str, bool)> {
        let words = self.why.split("; ").map(|part| part.split(' ').collect::<Vec<_>>());
        words.filter(|w| w[0].starts_with('K')).map(|w| (w[0], !w.contains(&"absent"))).collect()
    }

    /// The ratios it names, in order.
    fn ratios(&self) -> Vec<f64> {
        self.why.split(" x").skip(1).map(|part| part.split(';').next().unwrap().parse().unwrap()).collect()
    }

    fn reading(&self, catalogue: &Catalogue, zone: &Zone) -> (Chance, Vec<f64>) {
        let on = date(2026, 6, 1);
        let factors = Circumstances::of(&self.details(), on).factors(&acting(catalogue, &zone.id, &zone.profile));
        let clues = self.clues().into_iter().map(|(id, there)| {
            let clue = catalogue.clue(id).unwrap();
            assert_eq!(clue.target_zone, zone.id);
            if there { clue.lr_if_seen() } else { clue.lr_if_absent() }
        });
        let ratios: Vec<f64> = factors.iter().map(|factor| factor.ratio).chain(clues).collect();
        (chance(zone.base_p, &ratios).unwrap(), ratios)
    }
}

fn rows() -> Vec<Row> {
    let text = include_str!("../../../../reference/forecast/fixture_cars.csv");
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

#[test]
fn odds_of_two_invented_cars_common_practice() {
    let catalogue = Catalogue::starting_guesses().unwrap();
    let rows = rows();
    assert_eq!(rows.len(), 2 * 66);
    for row in &rows {
        let zone = catalogue.zone(&row.zone_id).unwrap();
        let (chance, ratios) = row.reading(&catalogue, zone);
        // Two places are given, so half a step; and the allowance for binary fractions.
        let near = |got: f64, told: f64| (got - told).abs() <= 0.005 + 1e-9;
        let told = (row.p_low, row.p_likely, row.p_high);
        assert!(
            near(chance.low, told.0) && near(chance.likely, told.1) && near(chance.high, told.2),
            "{}: {chance:?}, {told:?}",
            row.zone_id
        );
        let named = row.ratios();
        assert_eq!(ratios.len(), named.len(), "{} {}", row.car, row.why);
        assert!(ratios.iter().zip(&named).all(|(got, told)| near(*got, *told)), "{}: {ratios:?}", row.why);
    }
}

#[test]
fn metal_hours_of_two_invented_cars_common_practice() {
    let catalogue = Catalogue::starting_guesses().unwrap();
    let shares = catalogue.repair(Found::NotOpened).unwrap().shares();
    for (car, about_h) in [("A", 810.0), ("B", 135.0)] {
        let mut sum_h = 0.0;
        for row in rows().iter().filter(|row| row.car == car) {
            let zone = catalogue.zone(&row.zone_id).unwrap();
            let repairs = [zone.hours.patch.likely, zone.hours.section.likely, zone.hours.full.likely];
            let repair_h: f64 = shares.iter().zip(repairs).map(|(share, hours)| share * hours).sum();
            let (chance, _) = row.reading(&catalogue, zone);
            sum_h += zone.instances as f64 * chance.likely * (zone.hours.open.likely + repair_h);
        }
        assert!((sum_h / about_h - 1.0).abs() < 0.02, "{car}: {sum_h}");
    }
}

#[test]
fn age_runs_between_its_rows_and_stays_outside_them() {
    let at = |year| factors(&details(year, Climate::TemperateSalted), "Z47");
    // Z47 is a salt_spray zone: 0.12, 0.35, 0.65, 1 and 1.3 at 20 to 60 years.
    assert_eq!(at(1976), Vec::<f64>::new());
    assert_eq!(at(1986), [0.65]);
    assert_eq!((at(2006), at(2010)), (vec![0.12], vec![0.12]));
    assert_eq!((at(1966), at(1930)), (vec![1.3], vec![1.3]));
    // Half-way in years is half-way in the logarithm.
    let between = at(1981)[0];
    assert!((between * between - 0.65 * 1.0).abs() < 1e-12, "{between}");
}

#[test]
fn a_dry_store_counts_only_where_it_is_the_better() {
    let stored = |climate| CarDetails { kept: Kept::DryStore, ..details(1976, climate) };
    assert_eq!(factors(&stored(Climate::TemperateSalted), "Z14"), [0.4]);
    assert_eq!(factors(&stored(Climate::DryInland), "Z14"), [0.3]);
}

#[test]
fn fittings_and_history_act_on_their_zones() {
    let mut car = details(1976, Climate::TemperateSalted);
    car.fitted = [Fitted::Sunroof, Fitted::CoveredRoof].into();
    assert_eq!((factors(&car, "Z10"), factors(&car, "Z52"), factors(&car, "Z14")), (vec![1.5], vec![3.0], vec![]));
    car.fitted.clear();
    car.history = History::ALL.iter().copied().collect();
    // Salt spray: wax and cracked underseal. Wet box: wax and open drains. Leak: nothing is known to help.
    assert_eq!(
        (factors(&car, "Z47"), factors(&car, "Z03"), factors(&car, "Z14")),
        (vec![0.35, 1.4], vec![0.35, 0.6], vec![])
    );
}

#[test]
fn every_word_of_history_that_the_catalogue_knows_is_used() {
    let catalogue = Catalogue::starting_guesses().unwrap();
    for history in History::ALL {
        assert!(catalogue.modifiers().any(|m| m.factor == history.key()), "{}", history.key());
    }
    for climate in Climate::ALL {
        let factor = format!("climate_{}", climate.key());
        assert_eq!(catalogue.modifiers().filter(|m| m.factor == factor).count(), 4, "{factor}");
    }
}

#[test]
fn chances_are_said_in_tens_and_words() {
    let say = |low, likely, high| in_ten(&Chance { low, likely, high });
    assert_eq!(say(0.57, 0.77, 0.89), "6 to 9 in 10");
    assert_eq!(say(0.02, 0.04, 0.09), "under 1 in 10");
    assert_eq!(say(0.04, 0.1, 0.22), "up to 2 in 10");
    assert_eq!(say(0.77, 0.89, 0.95), "8 in 10 or more");
    assert_eq!(say(0.98, 0.98, 0.98), "over 9 in 10");
    assert_eq!(say(0.55, 0.58, 0.64), "about 6 in 10");
    for percent in 2..=98 {
        let told = chance(f64::from(percent) / 100.0, &[]).unwrap();
        assert!(!in_ten(&told).contains('%') && in_ten(&told).contains(" in 10"), "{}", in_ten(&told));
    }
    let word = |likely| Likelihood::of(&Chance { low: 0.02, likely, high: 0.98 }).words();
    assert_eq!(word(0.0999), "very unlikely to need metal");
    assert_eq!(word(0.1), "unlikely to need metal");
    assert_eq!(word(0.3), "may need metal");
    assert_eq!(word(0.6), "likely to need metal");
    assert_eq!(word(0.85), "very likely to need metal");
}

#[test]
fn ratios_are_written_as_one_would_say_them() {
    for (ratio, said) in [(3.333, "x3.3"), (15.0, "x15"), (0.267, "x0.27"), (2.0, "x2"), (9.97, "x10"), (0.5, "x0.5")] {
        assert_eq!(words::times(ratio), said);
    }
}
