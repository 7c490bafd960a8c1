//! What finished zones took beside what had been foretold: the shop's own factor on hours.

use std::collections::BTreeMap;

use schedule::Outcome;
use schedule::factor::{Calibration, Done, Factor, calibration, factor};

use crate::car::Car;
use crate::catalogue::{Catalogue, Found};
use crate::ids::CarId;
use crate::outlook::{OutlookError, hours_of_a_zone};
use crate::what::{Seen, What};
use crate::worked::Part;

/// A zone that was made good and whose hours were put down.
#[derive(Debug, Clone, PartialEq)]
pub struct Finished {
    /// The car.
    pub car: CarId,
    /// Whether that car exists nowhere.
    pub invented: bool,
    /// The zone instance, such as `Z01.L`.
    pub zone: String,
    /// The entry that says it was made good.
    pub entry: u64,
    /// What the catalogue foretold for what was found there, without the shop's own factor.
    pub foretold: Outcome,
    /// Hours put down for it: metal, and opening where any was.
    pub worked_h: f64,
}

/// Hours below this are a slip of the pen and not a finished zone.
const LEAST_H: f64 = 0.1;

/// The finished zones of a car that have hours put down, in the order in which they were made good.
///
/// Where no hours of opening were put down none are foretold. A zone that was made good twice counts once, with all
/// its hours. Fails only where the catalogue holds a figure that the checks on entry refuse.
pub fn finished(car: &Car, catalogue: &Catalogue) -> Result<Vec<Finished>, OutlookError> {
    let worked = car.worked_by_zone();
    let mut found: BTreeMap<&str, Found> = BTreeMap::new();
    let mut done: Vec<(&str, u64, Found)> = Vec::new();
    for entry in car.counting() {
        let Some(zone) = entry.what.zone() else { continue };
        match &entry.what {
            What::Looked(look) => {
                if let Seen::Bad(severity) = look.seen {
                    found.insert(zone, severity.into());
                }
            }
            What::Opened(opened) => {
                if let Some(severity) = opened.found {
                    found.insert(zone, severity.into());
                }
            }
            What::MadeGood(_) if done.iter().all(|(of, ..)| *of != zone) => {
                done.push((zone, entry.seq, found.get(zone).copied().unwrap_or(Found::NotOpened)));
            }
            _ => {}
        }
    }
    let mut finished = Vec::new();
    for (zone, entry, found) in done {
        let Some(parts) = worked.get(&Some(zone)) else { continue };
        let hours = |part: Part| parts.get(&part).copied().unwrap_or_default();
        let (opening_h, metal_h) = (hours(Part::Opening), hours(Part::Metal));
        if metal_h < LEAST_H {
            continue;
        }
        let Some(foretold) = hours_of_a_zone(catalogue, zone, found, opening_h > 0.0)? else { continue };
        let (zone, worked_h) = (zone.to_owned(), opening_h + metal_h);
        finished.push(Finished { car: car.id, invented: car.details.invented, zone, entry, foretold, worked_h });
    }
    Ok(finished)
}

/// What the finished zones together say of the shop's hours.
#[derive(Debug, Clone, PartialEq)]
pub struct Pace {
    /// The factor, with the starting guess in it.
    pub factor: Factor,
    /// How well the hours were foretold by the starting guess of that factor; `None` where nothing is finished.
    pub kept: Option<Calibration>,
}

/// The factor from finished zones, and how well the starting guesses had foretold them. Zones whose hours are so far off
/// that they must be a slip, and those past the first 10 000, are left out.
pub fn pace(finished: &[Finished]) -> Pace {
    let mut done: Vec<Done> = finished.iter().map(|one| Done::of(&one.foretold, one.worked_h)).collect();
    done.retain(|one| factor(std::slice::from_ref(one)).is_ok());
    done.truncate(schedule::factor::MOST_PIECES);
    let start = Factor::start();
    let with_the_guess = |one: &Done| Done {
        // The factor's mean is above its median, which stays as it was foretold.
        foretold_mean_h: one.foretold_mean_h * start.shop().mean(),
        foretold_sd_log: (one.foretold_sd_log * one.foretold_sd_log + start.sd_log * start.sd_log).sqrt(),
        ..*one
    };
    let guessed: Vec<Done> = done.iter().map(with_the_guess).collect();
    Pace {
        factor: factor(&done).unwrap_or(start),
        kept: if guessed.is_empty() { None } else { calibration(&guessed).ok() },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A zone that took this share of the median that was foretold for it.
    fn took(share: f64) -> Finished {
        let (mean, sd) = (20.0, 5.0);
        let relative: f64 = sd / mean;
        let median = mean / (1.0 + relative * relative).sqrt();
        let foretold = Outcome { mean, sd, p10: 14.0, p50: median, p80: 24.0, p95: 29.0 };
        let zone = "Z01.L".to_owned();
        Finished { car: CarId(Default::default()), invented: true, zone, entry: 9, foretold, worked_h: share * median }
    }

    #[test]
    fn invariant_the_starting_guess_of_the_factor_leaves_the_median_where_it_was() {
        // The hours of the foretold median fall in the middle of what was foretold, whatever the factor is worth.
        let kept = pace(&[took(1.0)]).kept.unwrap();
        assert!((kept.pieces[0].quantile - 0.5).abs() < 1e-9, "{:?}", kept.pieces);
        let all: Vec<Finished> = [0.4, 0.9, 1.0, 1.1, 2.6].map(took).to_vec();
        let pace = pace(&all);
        assert_eq!(pace.factor.pieces, 5);
        let over: Vec<usize> = pace.kept.unwrap().over.iter().map(|over| over.count).collect();
        assert_eq!(over, [4, 2, 1], "P10, P50, P90");
    }

    #[test]
    fn a_slip_of_the_pen_teaches_nothing_and_nothing_finished_is_the_starting_guess() {
        assert_eq!(pace(&[took(1000.0)]), Pace { factor: Factor::start(), kept: None });
        assert_eq!(pace(&[]).factor, Factor::start());
    }
}
