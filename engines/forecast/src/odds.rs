//! Odds: a base rate multiplied by one ratio for each piece of evidence.

use crate::OddsError;

/// No chance is called smaller: nobody is that sure of a closed box.
pub const LEAST: f64 = 0.02;
/// No chance is called greater.
pub const MOST: f64 = 0.98;
/// The low end of the range has these odds times the likely ones.
pub const LOW_TIMES: f64 = 0.4;
/// The high end of the range has these odds times the likely ones.
pub const HIGH_TIMES: f64 = 2.5;
/// The most ratios that one chance is made from.
pub const MOST_RATIOS: usize = 100;

/// Base rates from here to one minus it; a rate at the very end could not be moved by evidence.
const RATE_END: f64 = 0.001;
/// A hundred ratios of this size still multiply to a finite number.
const LARGEST_RATIO: f64 = 1_000.0;

/// A chance as a range, each end a probability within [`LEAST`]..=[`MOST`] and none below the one before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chance {
    /// Odds a factor [`LOW_TIMES`] of the likely ones.
    pub low: f64,
    /// The odds as multiplied.
    pub likely: f64,
    /// Odds a factor [`HIGH_TIMES`] of the likely ones.
    pub high: f64,
}

/// The chance from a base rate (a probability, 0.001..=0.999) and one ratio (0.001..=1000) for each
/// independent piece of evidence, at most [`MOST_RATIOS`] of them.
///
/// Odds are multiplied; the low and high odds are taken from the likely ones; each is turned into a
/// probability and then moved into [`LEAST`]..=[`MOST`]. Fails on a number outside its range. Source:
/// Bayes' rule in its odds form; the two factors and the two ends are common practice, no source.
///
/// ```
/// use forecast::odds::chance;
/// let seen = chance(0.5, &[3.33, 2.5])?;
/// assert_eq!(format!("{:.2} ({:.2} to {:.2})", seen.likely, seen.low, seen.high), "0.89 (0.77 to 0.95)");
/// # Ok::<(), forecast::OddsError>(())
/// ```
pub fn chance(base_p: f64, ratios: &[f64]) -> Result<Chance, OddsError> {
    if ratios.len() > MOST_RATIOS {
        return Err(OddsError::RatioCount { count: ratios.len(), most: MOST_RATIOS });
    }
    within("the base rate", base_p, RATE_END, 1.0 - RATE_END)?;
    for ratio in ratios {
        within("a ratio", *ratio, 1.0 / LARGEST_RATIO, LARGEST_RATIO)?;
    }
    Ok(Chance::at_odds(base_p / (1.0 - base_p) * ratios.iter().product::<f64>()))
}

impl Chance {
    /// The range around a probability, 0..=1, however it was come by.
    pub fn around(p: f64) -> Self {
        Self::at_odds(p / (1.0 - p))
    }

    /// The range around odds, 0 or more; infinite odds are certain.
    fn at_odds(odds: f64) -> Self {
        let p = |odds: f64| (1.0 - 1.0 / (1.0 + odds)).clamp(LEAST, MOST);
        Self { low: p(odds * LOW_TIMES), likely: p(odds), high: p(odds * HIGH_TIMES) }
    }
}

/// How strongly a ratio, greater than 0, moves odds, up or down: 4 and 1/4 both 4.
pub fn strength(ratio: f64) -> f64 {
    // The same order as by the size of the logarithm, without one.
    ratio.max(1.0 / ratio)
}

/// The place of the ratio that moves odds most, up or down; of equals the first. `None` for an empty list.
///
/// 4 and 1/4 are equally strong. What is not a positive finite number is passed over.
///
/// ```
/// use forecast::odds::strongest;
/// assert_eq!(strongest(&[2.0, 0.25, 4.0]), Some(1));
/// assert_eq!(strongest(&[]), None);
/// ```
pub fn strongest(ratios: &[f64]) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (place, ratio) in ratios.iter().enumerate().filter(|(_, ratio)| ratio.is_finite() && **ratio > 0.0) {
        let strength = strength(*ratio);
        if best.is_none_or(|(_, most)| strength > most) {
            best = Some((place, strength));
        }
    }
    best.map(|(place, _)| place)
}

fn within(what: &'static str, value: f64, low: f64, high: f64) -> Result<(), OddsError> {
    if (low..=high).contains(&value) { Ok(()) } else { Err(OddsError::OutOfRange { what, value, low, high }) }
}
