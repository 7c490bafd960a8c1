//! How well the zones that became known had been foretold.

use std::collections::BTreeMap;

use forecast::learn::{Calibration, Foretold, LearnError, RATE_END};

use super::Lesson;
use crate::catalogue::Catalogue;
use crate::ids::CarId;

/// How well the zones of some lessons were foretold, in two ways.
#[derive(Debug, Clone, PartialEq)]
pub struct Scores {
    /// By the starting guesses.
    pub start: Calibration,
    /// With each zone's base rate as the other cars taught it, all else as the starting guesses have it. Where there is
    /// only one car, the same.
    pub learned: Calibration,
}

/// The calibration of these lessons. Fails on more than [`forecast::learn::MOST_LESSONS`].
pub fn scores(lessons: &[Lesson], catalogue: &Catalogue) -> Result<Scores, LearnError> {
    let foretold = |p: f64, lesson: &Lesson| Foretold { p, bad: lesson.bad };
    let start: Vec<Foretold> = lessons.iter().map(|lesson| foretold(lesson.foretold, lesson)).collect();
    let mut by_zone: BTreeMap<&str, BTreeMap<CarId, Vec<&Lesson>>> = BTreeMap::new();
    for lesson in lessons {
        by_zone.entry(&lesson.zone_id).or_default().entry(lesson.car).or_default().push(lesson);
    }
    let mut learned = Vec::with_capacity(lessons.len());
    for (zone_id, cars) in by_zone {
        let cars: Vec<Vec<&Lesson>> = cars.into_values().collect();
        // A car never teaches itself. Of what the others taught only this zone's rate counts here.
        let rates = if cars.len() > 1 { catalogue.taught_without(zone_id, &cars)? } else { None };
        for (place, lesson) in cars.iter().enumerate().flat_map(|(place, of)| of.iter().map(move |one| (place, one))) {
            let rate = rates.as_ref().and_then(|(start, rates)| Some((*start, *rates.get(place)?)));
            learned.push(foretold(rate.map_or(lesson.foretold, |(from, to)| moved(lesson.foretold, from, to)), lesson));
        }
    }
    Ok(Scores { start: Calibration::of(&start)?, learned: Calibration::of(&learned)? })
}

/// A chance foretold from one base rate as another base rate has it: its odds move as those of the base rate do.
fn moved(foretold: f64, from: f64, to: f64) -> f64 {
    let odds = |p: f64| {
        let p = p.clamp(RATE_END, 1.0 - RATE_END);
        p / (1.0 - p)
    };
    let odds = odds(foretold) * odds(to) / odds(from);
    odds / (1.0 + odds)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lesson(car: CarId, bad: bool) -> Lesson {
        let (zone_id, instance) = ("Z01".to_owned(), "Z01.L".to_owned());
        Lesson { car, invented: false, entry: 2, zone_id, instance, foretold: 0.5, bad, clues: Vec::new() }
    }

    #[test]
    fn a_car_never_teaches_itself_and_others_move_what_was_foretold() {
        let catalogue = Catalogue::starting_guesses().unwrap();
        let (one, other) = (CarId::fresh(), CarId::fresh());
        let alone = scores(&[lesson(one, true), lesson(one, true)], &catalogue).unwrap();
        assert_eq!(alone.start, alone.learned);
        let all = [lesson(one, true), lesson(one, true), lesson(other, true), lesson(other, true)];
        let both = scores(&all, &catalogue).unwrap();
        assert_eq!((both.start.brier, both.start.count), (Some(0.25), 4));
        assert!(both.learned.brier.unwrap() < 0.25, "{:?}", both.learned.brier);
        assert_eq!(scores(&[], &catalogue).unwrap().start.brier, None);
    }

    #[test]
    fn the_same_base_rate_moves_nothing() {
        assert!((moved(0.3, 0.2, 0.2) - 0.3).abs() < 1e-12);
        assert!((moved(0.5, 0.2, 0.5) - 0.8).abs() < 1e-12);
    }
}
