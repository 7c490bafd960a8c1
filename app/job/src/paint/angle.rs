//! The angles a file names, and whether they stand in the order in which paint gets darker.

use colour::{Geometry, Illuminant, Measurement, Observer};

/// The geometries that a file may name.
pub(crate) const KNOWN: &str = "45as-15, 45as15, 45as25, 45as45, 45as75, 45as110, 45:0, de:8";

/// A geometry as a file names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Angle {
    /// The angle it stands for.
    pub geometry: Geometry,
    /// What such a reading cannot tell, in words, if it is not one of the six.
    pub lost: Option<&'static str>,
}

/// Reads the name of a geometry: one of the six, or one of an instrument with a single angle.
///
/// Light at 45 degrees and view straight on is 45 degrees from the mirror, so `45:0` is `45as45`. A sphere
/// with specular excluded, `de:8`, stands in for it where no flake makes a difference. Specular included is
/// not taken: the gloss is in the reading.
pub fn angle(text: &str) -> Option<Angle> {
    let text = text.trim();
    if let Ok(geometry) = text.parse() {
        return Some(Angle { geometry, lost: None });
    }
    let lost = match text.to_ascii_lowercase().as_str() {
        "45:0" | "45/0" | "0:45" | "0/45" => {
            "45:0 is the reading at 45 degrees alone: enough for a solid colour; face and flop of a flake stay unknown"
        }
        "de:8" | "de/8" | "8:de" | "8/de" => {
            "a sphere's reading is taken for the one at 45 degrees: near enough for a solid colour; \
             of a flake it mixes face and flop, and neither can be matched from it"
        }
        _ => return None,
    };
    Some(Angle { geometry: Geometry::As45, lost: Some(lost) })
}

/// How much lighter a later angle may be before the order is broken: noise, and hue that travels, in L\*.
const SLACK: f64 = 2.0;

/// Says that an effect paint's angles seem to have changed places, and which two if changing one pair back
/// would mend it.
///
/// From 15 to 110 degrees from the mirror an effect paint gets darker, since ever fewer flakes are tilted
/// enough to shine there (common practice; ASTM E2194 orders its angles by it). Beyond gloss, at -15, it is
/// about as light as at 15, so that those two cannot be told apart. A paint whose L\* differs by less than
/// `least_range` over its angles is not judged.
pub fn disorder(measurement: &Measurement, least_range: f64) -> Option<String> {
    let light: Vec<(Geometry, f64)> = measurement
        .labs(Illuminant::D65, Observer::Deg10)
        .into_iter()
        .map(|(geometry, lab)| (geometry, lab.l))
        .collect();
    let (low, high) = light.iter().fold((f64::MAX, f64::MIN), |(low, high), (_, l)| (low.min(*l), high.max(*l)));
    if high - low < least_range || is_in_order(&light) {
        return None;
    }
    let why = "the usual order of lightness is broken: from 15 to 110 degrees a flake gets darker";
    let mut mends: Vec<(f64, Geometry, Geometry)> = Vec::new();
    for (place, (one, _)) in light.iter().enumerate() {
        for (other_place, (other, _)) in light.iter().enumerate().skip(place + 1) {
            let mut mended = light.clone();
            swap(&mut mended, place, other_place);
            if is_in_order(&mended) {
                mends.push((beyond_gloss(&mended), *one, *other));
            }
        }
    }
    mends.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(match mends.first() {
        Some((_, one, other)) => format!("{why}. It reads as if {one} and {other} had changed places"),
        None => format!("{why}. Are the angles named rightly?"),
    })
}

fn swap(light: &mut [(Geometry, f64)], one: usize, other: usize) {
    let value = |light: &[(Geometry, f64)], place: usize| light.get(place).map(|(_, l)| *l);
    let (Some(first), Some(second)) = (value(light, one), value(light, other)) else { return };
    for (place, l) in [(one, second), (other, first)] {
        if let Some(slot) = light.get_mut(place) {
            slot.1 = l;
        }
    }
}

/// Whether lightness falls from 15 to 110, and -15 is no darker than 45.
fn is_in_order(light: &[(Geometry, f64)]) -> bool {
    let at = |geometry: Geometry| light.iter().find(|(g, _)| *g == geometry).map(|(_, l)| *l);
    let falls = light
        .iter()
        .filter(|(geometry, _)| *geometry != Geometry::AsMinus15)
        .is_sorted_by(|(_, earlier), (_, later)| *later <= *earlier + SLACK);
    let gloss = match (at(Geometry::AsMinus15), at(Geometry::As45)) {
        (Some(beyond), Some(flash)) => beyond >= flash - SLACK,
        _ => true,
    };
    falls && gloss
}

/// How far the reading beyond gloss is from the one beside it, the sign of a wrong mend.
fn beyond_gloss(light: &[(Geometry, f64)]) -> f64 {
    let at = |geometry: Geometry| light.iter().find(|(g, _)| *g == geometry).map(|(_, l)| *l);
    match (at(Geometry::AsMinus15), at(Geometry::As15)) {
        (Some(beyond), Some(face)) => (beyond - face).abs(),
        _ => 0.0,
    }
}
