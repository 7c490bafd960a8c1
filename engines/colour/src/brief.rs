//! Wishes: a measured paint, changed at some of its angles.
//!
//! An [`Edit`] moves lightness, chroma and hue at one angle (CIELCh, D65, 10 degrees). The wished spectrum
//! there is the measured one, multiplied by a smooth curve that is never negative: the exponential of
//! three broad bells over blue, green and red, found by Newton's method. So a wish stays near what the
//! donor's pigments can do, and keeps the donor's bands.
//!
//! Not done here: saying how much of a wish a shelf can reach; that is the search's.

use base::{Warning, lane};

use crate::error::ColourError;
use crate::geometry::Geometry;
use crate::lab::{Lab, Lch, lab};
use crate::light::{Illuminant, Observer, table, white};
use crate::measurement::Measurement;
use crate::recipe::{RecipeError, Wish};
use crate::spectrum::Spectrum;

/// A change wanted at one angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edit {
    /// Where.
    pub geometry: Geometry,
    /// Change of lightness L\*, -200 to 200.
    pub dl: f64,
    /// Change of chroma C\*ab, -200 to 200.
    pub dc: f64,
    /// Change of hue angle h_ab in degrees, -360 to 360.
    pub dh_deg: f64,
}

/// A wish and what is doubtful about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Brief {
    /// What is wanted.
    pub wish: Wish,
    /// What is doubtful.
    pub warnings: Vec<Warning>,
}

/// Why a brief gives no wish.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BriefError {
    /// An edit at an angle that nobody measured.
    #[error("the brief changes {geometry}, and the target holds no spectrum at it")]
    NoAngle {
        /// Where.
        geometry: Geometry,
    },
    /// Two edits at one angle.
    #[error("the brief changes {geometry} twice: put both changes into one")]
    Twice {
        /// Where.
        geometry: Geometry,
    },
    /// A change out of its range.
    #[error("{what} at {geometry} is {value}: it must be {low} to {high}")]
    Range {
        /// dL, dC or dh.
        what: &'static str,
        /// Where.
        geometry: Geometry,
        /// What came.
        value: f64,
        /// The lowest allowed.
        low: f64,
        /// The highest allowed.
        high: f64,
    },
    /// A colour that no surface has.
    #[error(
        "the brief wants L* {l:.1}, C* {c:.1}, h {h_deg:.0} at {geometry}: no reflectance from 0 to {most} \
         gives that colour; ask for less"
    )]
    Outside {
        /// Where.
        geometry: Geometry,
        /// Wanted lightness.
        l: f64,
        /// Wanted chroma.
        c: f64,
        /// Wanted hue angle.
        h_deg: f64,
        /// The highest radiance factor a spectrum may hold.
        most: f64,
    },
    /// No weight, or a wrong one.
    #[error(transparent)]
    Wish(#[from] RecipeError),
    /// A measurement that is none.
    #[error(transparent)]
    Colour(#[from] ColourError),
}

/// The wish for a measured paint changed by some edits, at most one for each angle.
///
/// `weights` says how much each angle counts; none means the usual weights. An angle that is changed is
/// wanted for its colour by daylight alone; the others for their whole spectrum.
///
/// # Errors
/// [`BriefError`] when an edit names an angle that was not measured or comes twice, asks for a colour that
/// no surface has, or when no angle has a weight.
pub fn wish(measured: &Measurement, edits: &[Edit], weights: Option<&[(Geometry, f64)]>) -> Result<Brief, BriefError> {
    for (i, edit) in edits.iter().enumerate() {
        let geometry = edit.geometry;
        if measured.at(geometry).is_none() {
            return Err(BriefError::NoAngle { geometry });
        }
        if edits.iter().take(i).any(|other| other.geometry == geometry) {
            return Err(BriefError::Twice { geometry });
        }
        for (what, value, most) in [("dL", edit.dl, 200.0), ("dC", edit.dc, 200.0), ("dh", edit.dh_deg, 360.0)] {
            if !(-most..=most).contains(&value) {
                return Err(BriefError::Range { what, geometry, value, low: -most, high: most });
            }
        }
    }
    let mut warnings = Vec::new();
    let mut by_angle = Vec::new();
    let mut moved = Vec::new();
    for (geometry, donor) in measured.by_angle() {
        let before = lab(donor, Illuminant::D65, Observer::Deg10);
        let edit = edits.iter().find(|edit| edit.geometry == *geometry);
        let Some(edit) = edit.filter(|edit| edit.dl != 0.0 || edit.dc != 0.0 || edit.dh_deg != 0.0) else {
            by_angle.push((*geometry, *donor));
            moved.push((*geometry, before, before));
            continue;
        };
        let lch = before.lch();
        if lch.c + edit.dc < 0.0 {
            warnings.push(Warning::new(format!(
                "{geometry}: chroma is {:.1} and cannot fall by {:.1}; grey is wanted",
                lch.c, -edit.dc
            )));
        }
        let wanted = Lch { l: lch.l + edit.dl, c: (lch.c + edit.dc).max(0.0), h_deg: lch.h_deg + edit.dh_deg };
        let spectrum = recoloured(donor, wanted.lab()).ok_or(BriefError::Outside {
            geometry: *geometry,
            l: wanted.l,
            c: wanted.c,
            h_deg: wanted.h_deg.rem_euclid(360.0),
            most: Spectrum::HIGHEST,
        })?;
        let highest = spectrum.values().iter().copied().fold(0.0, f64::max);
        if geometry.aspecular_deg() >= 45 && highest > 1.0 {
            warnings.push(Warning::new(format!(
                "{geometry}: the wish needs a radiance factor of {highest:.1}; away from gloss a paint stays under 1"
            )));
        }
        by_angle.push((*geometry, spectrum));
        moved.push((*geometry, before, wanted.lab()));
    }
    warnings.extend(jumps(&moved));
    let mut wish = Wish::same_as(&Measurement::new(by_angle)?);
    if let Some(weights) = weights {
        wish.weights = weights.to_vec();
    }
    let changed = |geometry: &Geometry| moved.iter().any(|(g, before, after)| g == geometry && before != after);
    wish.spectral.retain(|geometry| !changed(geometry));
    wish.check()?;
    Ok(Brief { wish, warnings })
}

/// CIELAB difference by degree of angle between two neighbours from which a change looks like a jump
/// (our choice: a face and a flop 65 degrees apart can part by 65 and no paint does more).
const JUMP_PER_DEG: f64 = 1.0;

/// Where a change sets in more suddenly than a film's lobes allow.
fn jumps(moved: &[(Geometry, Lab, Lab)]) -> Vec<Warning> {
    let mut warnings = Vec::new();
    for pair in moved.windows(2) {
        let [(one, from_one, to_one), (two, from_two, to_two)] = pair else { continue };
        let apart = f64::from(two.aspecular_deg() - one.aspecular_deg());
        let by = |f: fn(&Lab) -> f64| (f(to_two) - f(from_two)) - (f(to_one) - f(from_one));
        let (l, a, b) = (by(|lab| lab.l), by(|lab| lab.a), by(|lab| lab.b));
        let jump = (l * l + a * a + b * b).sqrt();
        if jump > JUMP_PER_DEG * apart {
            warnings.push(Warning::new(format!(
                "the wish changes by {jump:.0} (CIELAB) between {one} and {two}: a film spreads over its \
                 angles and will hardly do that"
            )));
        }
    }
    warnings
}

/// Most steps of Newton's method, and the colour difference at which it has arrived.
const MOST_STEPS: usize = 60;
const ARRIVED: f64 = 1e-6;
/// A donor's spectrum is lifted to this before it is multiplied: nothing times anything is nothing.
const DARKEST: f64 = 5e-4;

/// A smooth spectrum near the donor's with this colour (D65, 10 degrees); none when there is none.
fn recoloured(donor: &Spectrum, wanted: Lab) -> Option<Spectrum> {
    let base = donor.values().map(|value| value.max(DARKEST));
    // Broad bells at 450, 545 and 620 nm: about where Z, Y and X of the observer lie.
    let bells: [[f64; 31]; 3] = [450.0, 545.0, 620.0].map(|at| {
        std::array::from_fn(|i| {
            let off = (400.0 + 10.0 * i as f64 - at) / 60.0;
            lane::exp(-off * off)
        })
    });
    let curve = |k: [f64; 3]| -> [f64; 31] {
        std::array::from_fn(|i| base[i] * lane::exp(k[0] * bells[0][i] + k[1] * bells[1][i] + k[2] * bells[2][i]))
    };
    let (weights, white) = (table(Illuminant::D65, Observer::Deg10), white(Illuminant::D65, Observer::Deg10));
    let off = |spectrum: &[f64; 31]| {
        let xyz = crate::light::weigh(spectrum, weights);
        let lab = Lab::from_xyz(xyz, white);
        [lab.l - wanted.l, lab.a - wanted.a, lab.b - wanted.b]
    };
    let length = |v: [f64; 3]| (v[0] * v[0] + v[1] * v[1] + v[2] * v[2]).sqrt();
    let mut k = [0.0; 3];
    let mut now = off(&curve(k));
    for _ in 0..MOST_STEPS {
        if length(now) < ARRIVED {
            let spectrum = Spectrum::new(curve(k)).ok()?;
            return Some(spectrum);
        }
        let mut slopes = [[0.0; 3]; 3];
        const STEP: f64 = 1e-5;
        for axis in 0..3 {
            let mut moved = k;
            moved[axis] += STEP;
            let there = off(&curve(moved));
            for row in 0..3 {
                slopes[row][axis] = (there[row] - now[row]) / STEP;
            }
        }
        let step = solve3(slopes, now)?;
        // Halved until it comes nearer.
        let mut part = 1.0;
        loop {
            let trial: [f64; 3] = std::array::from_fn(|i| k[i] - (part * step[i]).clamp(-2.0, 2.0));
            let there = off(&curve(trial));
            if length(there) < length(now) {
                (k, now) = (trial, there);
                break;
            }
            part *= 0.5;
            if part < 1e-6 {
                return None;
            }
        }
    }
    None
}

/// Solves A x = b by Cramer's rule; none when A is singular.
fn solve3(a: [[f64; 3]; 3], b: [f64; 3]) -> Option<[f64; 3]> {
    let det = |m: [[f64; 3]; 3]| {
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
            + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    };
    let whole = det(a);
    if whole.is_nan() || whole.abs() < 1e-12 {
        return None;
    }
    Some(std::array::from_fn(|axis| {
        let mut m = a;
        for (row, b) in m.iter_mut().zip(b) {
            row[axis] = b;
        }
        det(m) / whole
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use base::math;

    fn copper() -> Measurement {
        let at = |level: f64, violet: f64| {
            Spectrum::new(std::array::from_fn(|i| {
                let x = i as f64 / 30.0;
                level * (0.1 + 0.9 * x * x * x) + violet * math::exp(-(x * 6.0) * (x * 6.0))
            }))
            .unwrap()
        };
        let rows = [0.9, 0.9, 0.7, 0.35, 0.25, 0.25].into_iter().zip([0.0, 0.0, 0.0, 0.02, 0.10, 0.15]);
        let by_angle = Geometry::ALL.into_iter().zip(rows).map(|(g, (level, violet))| (g, at(level, violet)));
        Measurement::new(by_angle.collect()).unwrap()
    }

    fn edit(geometry: Geometry, dl: f64, dc: f64, dh_deg: f64) -> Edit {
        Edit { geometry, dl, dc, dh_deg }
    }

    #[test]
    fn invariant_the_wish_has_the_colour_asked_for() {
        let measured = copper();
        for (dl, dc, dh_deg) in [(0.0, 0.0, 60.0), (8.0, 10.0, -30.0), (-6.0, -4.0, 120.0), (0.0, 3.0, 0.0)] {
            for geometry in [Geometry::As15, Geometry::As45, Geometry::As75, Geometry::As110] {
                let brief = wish(&measured, &[edit(geometry, dl, dc, dh_deg)], None).unwrap();
                let colour = |m: &Measurement| lab(m.at(geometry).unwrap(), Illuminant::D65, Observer::Deg10).lch();
                let (before, after) = (colour(&measured), colour(&brief.wish.target));
                assert!((after.l - before.l - dl).abs() < 1e-5);
                assert!((after.c - before.c - dc).abs() < 1e-5);
                let turned = (after.h_deg - before.h_deg - dh_deg + 180.0).rem_euclid(360.0) - 180.0;
                assert!(turned.abs() < 1e-4);
                let spectrum = brief.wish.target.at(geometry).unwrap().values();
                assert!(spectrum.iter().all(|v| *v >= 0.0));
                assert!(!brief.wish.spectral.contains(&geometry));
                assert_eq!(brief.wish.spectral.len(), 5);
            }
        }
    }

    #[test]
    fn no_edit_is_the_paint_itself() {
        let measured = copper();
        let brief = wish(&measured, &[edit(Geometry::As75, 0.0, 0.0, 0.0)], None).unwrap();
        assert_eq!(brief.wish, Wish::same_as(&measured));
        assert!(brief.warnings.is_empty());
    }

    #[test]
    fn refuses_what_cannot_be() {
        let full = copper();
        let five = Measurement::new(full.by_angle()[1..].to_vec()).unwrap();
        assert_eq!(
            wish(&five, &[edit(Geometry::AsMinus15, 1.0, 0.0, 0.0)], None),
            Err(BriefError::NoAngle { geometry: Geometry::AsMinus15 })
        );
        let twice = [edit(Geometry::As45, 1.0, 0.0, 0.0), edit(Geometry::As45, 0.0, 1.0, 0.0)];
        assert_eq!(wish(&full, &twice, None), Err(BriefError::Twice { geometry: Geometry::As45 }));
        for bad in [edit(Geometry::As45, f64::NAN, 0.0, 0.0), edit(Geometry::As45, 0.0, 1e9, 0.0)] {
            assert!(matches!(wish(&full, &[bad], None), Err(BriefError::Range { .. })));
        }
        for beyond in [edit(Geometry::As45, 180.0, 0.0, 0.0), edit(Geometry::As45, -100.0, 0.0, 0.0)] {
            assert!(matches!(wish(&full, &[beyond], None), Err(BriefError::Outside { .. })), "{beyond:?}");
        }
        let weightless = Geometry::ALL.map(|g| (g, 0.0));
        assert_eq!(wish(&full, &[], Some(&weightless)), Err(BriefError::Wish(RecipeError::NoWeight)));
        assert_eq!(wish(&full, &[], Some(&[])), Err(BriefError::Wish(RecipeError::NoWeight)));
    }

    #[test]
    fn warns_of_a_jump_and_of_less_than_grey() {
        let brief = wish(&copper(), &[edit(Geometry::As25, -30.0, 0.0, 0.0)], None).unwrap();
        assert!(brief.warnings.iter().any(|w| w.what.contains("between 45as15 and 45as25")), "{:?}", brief.warnings);
        let brief = wish(&copper(), &[edit(Geometry::As110, 0.0, -90.0, 0.0)], None).unwrap();
        assert!(brief.warnings.iter().any(|w| w.what.contains("grey is wanted")), "{:?}", brief.warnings);
    }
}
