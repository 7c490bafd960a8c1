//! Whether film readings agree with the film that was wanted.
//!
//! The rule is the one of ISO 19840 and ISO 12944: the mean is at least the nominal film, no reading is under 80 % of
//! it, fewer than 20 % of the readings lie from there to the nominal, and none is over three times the nominal unless
//! that was agreed (the last from memory). It is written for structural steelwork. Skins of a car body follow the
//! film-build sheet of their coating system, which can ask for more; there the answer is a help, not a ruling.

use base::Warning;

use crate::CoatingError;
use crate::error::within;
use crate::words::{apart, plain};

/// The most readings taken at once.
const MOST_READINGS: usize = 100_000;
/// A reading, in um.
const READING_UM: std::ops::RangeInclusive<f64> = 0.0..=100_000.0;
/// Readings that a mean is usually taken over (common practice, no source).
const USUAL_COUNT: usize = 10;

/// What the film is held against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// Nominal dry film in um, 1 to 10 000.
    pub nominal_um: f64,
    /// Thickest film in um, if one was agreed; otherwise three times the nominal.
    pub agreed_max_um: Option<f64>,
}

/// Whether the film is accepted, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Acceptance {
    /// Whether every part of the rule holds.
    pub accept: bool,
    /// Mean of the readings in um.
    pub mean_um: f64,
    /// How many readings are under the nominal film.
    pub below: usize,
    /// The reason as one plain sentence.
    pub why: String,
    /// Set where there are few readings to judge by.
    pub warnings: Vec<Warning>,
}

/// Judges `readings_um` (1 to 100 000 of them, each 0 to 100 000 um) against `rule`; fails where a number lies outside
/// its range.
///
/// Values are compared unrounded, each limit itself being good enough (a reading of exactly 80 % passes; exactly 20 %
/// of the readings do not). Sums are compared with an allowance of one part in 10^9 for the arithmetic.
///
/// ```
/// use coating::acceptance::{Rule, judge};
/// let rule = Rule { nominal_um: 80.0, agreed_max_um: None };
/// let film = judge(&[82.0, 95.0, 79.0, 101.0, 90.0, 86.0, 84.0, 88.0, 81.0, 92.0], &rule)?;
/// assert!(film.accept);
/// assert_eq!(film.below, 1);
/// # Ok::<(), coating::CoatingError>(())
/// ```
pub fn judge(readings_um: &[f64], rule: &Rule) -> Result<Acceptance, CoatingError> {
    let count = readings_um.len();
    if !(1..=MOST_READINGS).contains(&count) {
        return Err(CoatingError::ReadingCount { count, most: MOST_READINGS });
    }
    for reading_um in readings_um {
        within("a film reading", "um", *reading_um, READING_UM)?;
    }
    let nominal_um = rule.nominal_um;
    within("the nominal film", "um", nominal_um, 1.0..=10_000.0)?;
    let most_um = rule.agreed_max_um.unwrap_or(3.0 * nominal_um);
    within("the agreed thickest film", "um", most_um, nominal_um..=*READING_UM.end())?;

    let mean_um = readings_um.iter().sum::<f64>() / count as f64;
    let least_um = readings_um.iter().copied().fold(f64::INFINITY, f64::min);
    let thickest_um = readings_um.iter().copied().fold(0.0, f64::max);
    let below = readings_um.iter().filter(|um| **um < nominal_um).count();
    // 80 % of the nominal, without the rounding of 0.8.
    let is_far_below = |um: f64| 10.0 * um < 8.0 * nominal_um;
    let far_below = readings_um.iter().filter(|um| is_far_below(**um)).count();

    let mut faults = Vec::new();
    if mean_um < nominal_um * (1.0 - 1e-9) {
        faults.push(format!("the mean of {} \u{b5}m is under the nominal", apart(mean_um, nominal_um)));
    }
    let floor_um = 0.8 * nominal_um;
    if far_below > 0 {
        let (those, least) = (readings(far_below), apart(least_um, floor_um));
        faults.push(format!("{those} under 80 % of it ({} \u{b5}m), the least {least}", plain(floor_um)));
    }
    let near_below = below - far_below;
    if 5 * near_below >= count {
        let those = readings(near_below);
        faults.push(format!("{those} between 80 % of it and it, and fewer than 20 % of {count} may be"));
    }
    if thickest_um > most_um {
        let (thickest, most) = (apart(thickest_um, most_um), plain(most_um));
        faults.push(format!("the thickest of {thickest} \u{b5}m is over {most}"));
    }
    let accept = faults.is_empty();
    let why = if accept {
        format!(
            "nominal {} \u{b5}m: the mean of {count} is {}, {} under the nominal, the least is {} and the thickest {}",
            plain(nominal_um),
            plain(mean_um),
            readings(below),
            plain(least_um),
            plain(thickest_um)
        )
    } else {
        format!("nominal {} \u{b5}m: {}", plain(nominal_um), faults.join("; "))
    };
    let warnings = (count < USUAL_COUNT)
        .then(|| Warning::new(format!("{count} readings tell little about an area; {USUAL_COUNT} are usual")))
        .into_iter()
        .collect();
    Ok(Acceptance { accept, mean_um, below, why, warnings })
}

/// "1 reading is", "3 readings are".
fn readings(count: usize) -> String {
    match count {
        0 => "no reading is".into(),
        1 => "1 reading is".into(),
        more => format!("{more} readings are"),
    }
}
