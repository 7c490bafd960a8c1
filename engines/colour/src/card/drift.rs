//! How one card differs from another: batches months apart, a keep-sample, an old master card.

use super::CardError;
use crate::difference::Difference;
use crate::geometry::Geometry;
use crate::light::{Illuminant, Observer};
use crate::measurement::Measurement;
use crate::travel::hue_name;

/// A difference between two cards.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// How the later differs from the earlier, by angle (D65, 10 degrees).
    pub by_angle: Vec<(Geometry, Difference)>,
    /// Mean CIEDE2000 over these angles.
    pub mean_de00: f64,
    /// The same in plain words, the verdict first.
    pub words: Vec<String>,
}

/// CIEDE2000 under which nobody sees a difference side by side, and over which panels next to one another
/// part (common practice, no source).
const UNSEEN: f64 = 0.5;
const PARTING: f64 = 1.5;

/// How a later measurement differs from an earlier one.
///
/// # Errors
/// [`CardError::NoSharedAngle`] when they share no angle.
pub fn drift(before: &Measurement, after: &Measurement) -> Result<Drift, CardError> {
    let by_angle = before.differences(after, Illuminant::D65, Observer::Deg10);
    if by_angle.is_empty() {
        return Err(CardError::NoSharedAngle { card: 2 });
    }
    let mean_de00 = by_angle.iter().map(|(_, d)| d.de00).sum::<f64>() / by_angle.len() as f64;
    let worst = by_angle.iter().map(|(_, d)| d.de00).fold(0.0, f64::max);
    let verdict = if worst < UNSEEN {
        "no difference to be seen side by side"
    } else if worst < PARTING {
        "a difference that shows on panels next to one another: blend, or correct"
    } else {
        "too far for panels next to one another: correct before anything is sprayed"
    };
    let mut words = vec![format!("{verdict} (mean {mean_de00:.1}, worst angle {worst:.1})")];
    let labs = after.labs(Illuminant::D65, Observer::Deg10);
    for (geometry, difference) in by_angle.iter().filter(|(_, d)| d.de00 >= UNSEEN) {
        let hue = labs.iter().find(|(g, _)| g == geometry).map_or(0.0, |(_, lab)| lab.hue_deg());
        words.push(format!("{} ({geometry}): {:.1}, {}", geometry.word(), difference.de00, ways(difference, hue)));
    }
    Ok(Drift { by_angle, mean_de00, words })
}

/// The ways in which a colour moved, those that matter.
fn ways(d: &Difference, hue_deg: f64) -> String {
    // A part counts when it is a third of the whole or more.
    let whole = (d.dl * d.dl + d.dc * d.dc + d.dh * d.dh).sqrt();
    let counts = |part: f64| part.abs() > whole / 3.0;
    let mut ways = Vec::new();
    if counts(d.dl) {
        ways.push(if d.dl > 0.0 { "lighter".to_string() } else { "darker".to_string() });
    }
    if counts(d.dc) {
        ways.push(if d.dc > 0.0 { "stronger".to_string() } else { "greyer".to_string() });
    }
    if counts(d.dh) {
        // A fifth of the circle on in the direction moved, so that the name says where it went.
        let towards = (hue_deg + d.dh.signum() * 45.0).rem_euclid(360.0);
        ways.push(format!("turned towards {}", hue_name(towards)));
    }
    ways.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spectrum::Spectrum;

    fn flat(levels: &[(Geometry, f64)]) -> Measurement {
        let spectrum = |level: f64| Spectrum::new([level; 31]).unwrap();
        Measurement::new(levels.iter().map(|(g, level)| (*g, spectrum(*level))).collect()).unwrap()
    }

    #[test]
    fn says_where_and_which_way() {
        let before = flat(&[(Geometry::As15, 0.5), (Geometry::As110, 0.10)]);
        let same = drift(&before, &before).unwrap();
        assert!(same.words[0].starts_with("no difference") && same.words.len() == 1 && same.mean_de00 == 0.0);
        let after = drift(&before, &flat(&[(Geometry::As15, 0.5), (Geometry::As110, 0.13)])).unwrap();
        assert_eq!(after.words.len(), 2);
        assert!(
            after.words[1].starts_with("flop (45as110): ") && after.words[1].ends_with("lighter"),
            "{:?}",
            after.words
        );
        assert!(after.words[0].starts_with("too far"));
        assert_eq!(drift(&before, &flat(&[(Geometry::As45, 0.2)])), Err(CardError::NoSharedAngle { card: 2 }));
    }
}
