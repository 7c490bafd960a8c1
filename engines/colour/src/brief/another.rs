//! The face or the flop of a second paint.

use base::Warning;

use super::Edit;
use super::jump::edit_between;
use crate::geometry::Geometry;
use crate::lab::lab;
use crate::light::{Illuminant, Observer};
use crate::measurement::Measurement;

/// One end of what a paint does by angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum End {
    /// -15, 15 and 25 degrees.
    Face,
    /// 75 and 110 degrees.
    Flop,
}

impl End {
    /// The painter's word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Face => "face",
            Self::Flop => "flop",
        }
    }

    /// Whether an angle belongs to this end; the flash, 45 degrees, belongs to neither.
    pub fn holds(self, geometry: Geometry) -> bool {
        match self {
            Self::Face => geometry.aspecular_deg() < 45,
            Self::Flop => geometry.aspecular_deg() > 45,
        }
    }
}

/// The edits that carry the donor's colour (D65, 10 degrees) to another paint's at every angle of one end
/// that both were measured at, and what is left as it was.
pub fn of_another(donor: &Measurement, other: &Measurement, end: End) -> (Vec<Edit>, Vec<Warning>) {
    let (mut edits, mut warnings) = (Vec::new(), Vec::new());
    let mut shared = 0;
    for (geometry, spectrum) in donor.by_angle().iter().filter(|(geometry, _)| end.holds(*geometry)) {
        let colour = |spectrum| lab(spectrum, Illuminant::D65, Observer::Deg10);
        let Some(wanted) = other.at(*geometry) else {
            warnings.push(Warning::new(format!(
                "{geometry}: the second paint was not measured there, so the first stays as it is"
            )));
            continue;
        };
        shared += 1;
        edits.extend(edit_between(*geometry, colour(spectrum), colour(wanted)));
    }
    if shared == 0 {
        warnings.push(Warning::new(format!(
            "the two paints share no {} angle: nothing of the second paint's {} can be taken",
            end.word(),
            end.word()
        )));
    }
    (edits, warnings)
}

/// A donor that lacks angles at one end, such as a chip measured at one angle, with those of another paint
/// that was measured there. What the donor has stays.
pub fn completed(donor: &Measurement, other: &Measurement, end: End) -> Measurement {
    let lent = other.by_angle().iter().filter(|(geometry, _)| end.holds(*geometry) && donor.at(*geometry).is_none());
    let by_angle = donor.by_angle().iter().chain(lent).copied().collect();
    // Neither empty nor twice the same, so this is never refused.
    Measurement::new(by_angle).unwrap_or_else(|_| donor.clone())
}
