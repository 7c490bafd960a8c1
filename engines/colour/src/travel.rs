//! What an effect paint does from face to flop, in numbers and in the painter's words.

use base::{Warning, math};

use crate::error::ColourError;
use crate::geometry::Geometry;
use crate::lab::Lab;
use crate::light::{Illuminant, Observer};
use crate::measurement::Measurement;

/// Chroma below which a hue is doubtful: an instrument's 0.3 in a\* or b\* turns it by 3 degrees or
/// more (our choice).
pub(crate) const DOUBTFUL_CHROMA: f64 = 5.0;
/// Chroma below which a hue means nothing: the same 0.3 turns it by 17 degrees or more (our choice).
pub(crate) const GREY_CHROMA: f64 = 1.0;
/// Hue travel that is not worth a word: at chroma 20, 3 degrees are a hue difference of 1 (our choice).
pub(crate) const STILL_HUE_DEG: f64 = 3.0;

/// The travel of a paint from face to flop under one light.
#[derive(Debug, Clone, PartialEq)]
pub struct Travel {
    /// The face angle used: 15 degrees, else 25.
    pub face: Geometry,
    /// CIELAB at the face.
    pub face_lab: Lab,
    /// The flop angle used: 110 degrees, else 75.
    pub flop: Geometry,
    /// CIELAB at the flop.
    pub flop_lab: Lab,
    /// L\* at the flop less L\* at the face: negative goes darker.
    pub lightness: f64,
    /// Hue angle at the flop less that at the face, the shorter way round, in -180..=180 degrees;
    /// none when either is too near grey to have a hue.
    pub hue_deg: Option<f64>,
    /// Flop index from 15, 45 and 110 degrees; none when one of them is missing or the paint does not
    /// go darker. About 0 for a solid, 5 to 8 for soft flake, 12 to 18 for bright flake (common
    /// practice, no source).
    pub flop_index: Option<f64>,
    /// What is doubtful about these numbers.
    pub warnings: Vec<Warning>,
}

/// The travel of a measured paint under a light, for an observer.
///
/// # Errors
/// [`ColourError::NoTravel`] when the measurement has neither 15 nor 25, or neither 75 nor 110.
pub fn travel(measurement: &Measurement, illuminant: Illuminant, observer: Observer) -> Result<Travel, ColourError> {
    let labs = measurement.labs(illuminant, observer);
    let at = |wanted: Geometry| labs.iter().copied().find(|(geometry, _)| *geometry == wanted);
    let first_of = |best, next| at(best).or_else(|| at(next));
    let (face, face_lab) = first_of(Geometry::As15, Geometry::As25)
        .ok_or(ColourError::NoTravel { what: "face", needs: "45as15 or 45as25" })?;
    let (flop, flop_lab) = first_of(Geometry::As110, Geometry::As75)
        .ok_or(ColourError::NoTravel { what: "flop", needs: "45as110 or 45as75" })?;

    let mut warnings = Vec::new();
    let hue_deg = hue_travel_deg([(face, face_lab), (flop, flop_lab)], &mut warnings);
    let flop_index = match (at(Geometry::As15), at(Geometry::As45), at(Geometry::As110)) {
        (Some((_, l15)), Some((_, l45)), Some((_, l110))) => flop_index(l15.l, l45.l, l110.l, &mut warnings),
        _ => None,
    };
    Ok(Travel { face, face_lab, flop, flop_lab, lightness: flop_lab.l - face_lab.l, hue_deg, flop_index, warnings })
}

/// Hue travel the shorter way round, with a warning for each end that is near grey.
fn hue_travel_deg(ends: [(Geometry, Lab); 2], warnings: &mut Vec<Warning>) -> Option<f64> {
    let mut grey = false;
    for (geometry, lab) in ends {
        let chroma = lab.chroma();
        // Written so that a chroma that is not a number counts as grey.
        let has_hue = chroma >= GREY_CHROMA;
        grey |= !has_hue;
        if !has_hue || chroma < DOUBTFUL_CHROMA {
            let verdict = if has_hue { "is doubtful" } else { "means nothing" };
            warnings.push(Warning::new(format!(
                "{geometry} ({}) is near grey, chroma {chroma:.1}: its hue {verdict}",
                geometry.word()
            )));
        }
    }
    let [(_, face), (_, flop)] = ends;
    (!grey).then_some(turn_deg(face.hue_deg(), flop.hue_deg()))
}

/// From one hue angle to another the shorter way round, in -180..=180 degrees; both in 0..360.
pub(crate) fn turn_deg(from_deg: f64, to_deg: f64) -> f64 {
    let turned = to_deg - from_deg;
    if turned > 180.0 {
        turned - 360.0
    } else if turned < -180.0 {
        turned + 360.0
    } else {
        turned
    }
}

/// Flop index 2.69 (L15 - L110)^1.11 / L45^0.86 (Alman 1987, from memory).
fn flop_index(l15: f64, l45: f64, l110: f64, warnings: &mut Vec<Warning>) -> Option<f64> {
    if l15 < l110 {
        warnings.push(Warning::new(format!(
            "the flop (L* {l110:.1}) is lighter than the face (L* {l15:.1}): the flop index has no \
             meaning here"
        )));
        return None;
    }
    if l45 <= 0.0 {
        warnings.push(Warning::new(format!(
            "the flash is blacker than black (L* {l45:.1}): the flop index has no meaning here"
        )));
        return None;
    }
    Some(2.69 * math::pow(l15 - l110, 1.11) / math::pow(l45, 0.86))
}

impl Travel {
    /// The travel in a painter's words: `goes darker by 43 and travels 62 degrees towards violet`.
    pub fn words(&self) -> String {
        // Whole units: an instrument repeats no better, and an eye sees no less from angle to angle.
        let lightness = if self.lightness.abs() < 0.5 {
            "keeps its lightness".to_owned()
        } else if self.lightness < 0.0 {
            format!("goes darker by {:.0}", -self.lightness)
        } else {
            format!("goes lighter by {:.0}", self.lightness)
        };
        let Some(turn) = self.hue_deg else {
            return format!("{lightness}; too near grey for its hue to mean anything");
        };
        if turn.abs() < STILL_HUE_DEG {
            return format!("{lightness} and keeps its hue");
        }
        let degrees = turn.abs();
        if self.face_lab.chroma().min(self.flop_lab.chroma()) < DOUBTFUL_CHROMA {
            return format!("{lightness}; near grey, so its hue travel of {degrees:.0} degrees is doubtful");
        }
        let (from, to) = (hue_name(self.face_lab.hue_deg()), hue_name(self.flop_lab.hue_deg()));
        // Within one name, the name of the flop's hue would give no direction.
        let towards = if from == to { next_name(to, turn > 0.0) } else { to };
        format!("{lightness} and travels {degrees:.0} degrees towards {towards}")
    }
}

/// Hue names by the angle at which each begins (common practice, no source). The last runs on past
/// 360 degrees into the first.
const HUES: [(f64, &str); 8] = [
    (5.0, "red"),
    (45.0, "orange"),
    (78.0, "yellow"),
    (110.0, "green"),
    (180.0, "blue-green"),
    (225.0, "blue"),
    (290.0, "violet"),
    (335.0, "magenta"),
];

/// The plain name of a hue angle in 0..360 degrees.
pub fn hue_name(h_deg: f64) -> &'static str {
    HUES.iter().rev().find(|(from, _)| h_deg >= *from).map_or("magenta", |(_, name)| name)
}

/// The neighbour of a hue name, by rising or falling angle.
pub(crate) fn next_name(name: &str, rising: bool) -> &'static str {
    let names = || HUES.iter().map(|(_, name)| *name);
    let forward = names().cycle().skip_while(|other| *other != name).nth(1);
    let backward = names().rev().cycle().skip_while(|other| *other != name).nth(1);
    (if rising { forward } else { backward }).unwrap_or("magenta")
}
