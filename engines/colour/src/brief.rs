//! Wishes: a measured paint, changed at some of its angles.
//!
//! [`tell`] makes edits of plain words ([`Want`]), of the face or the flop of another paint, and of changes
//! by hand, and says in words what they do; [`wish`] makes of them what the search is given. [`of_picture`]
//! takes areas of a picture for a measurement, with all the doubt that deserves.
//!
//! An [`Edit`] moves lightness, chroma and hue at one angle (CIELCh, D65, 10 degrees). The wished spectrum
//! there is the measured one, multiplied by a smooth curve that is never negative: the exponential of
//! three broad bells over blue, green and red, found by Newton's method. So a wish stays near what the
//! donor's pigments can do, and keeps the donor's bands.
//!
//! [`wish`] refuses a colour that no surface has; [`possible`] pulls it back to the edge and says by how
//! much, and [`smooth`] gives the nearest wish that no film finds too sudden.
//!
//! Not done here: saying how much of a wish a shelf can reach; that is [`crate::recipe::curve`]'s. Reading
//! picture files.

mod another;
mod jump;
mod picture;
mod possible;
mod recolour;
mod told;
mod want;
mod words;

pub use another::{End, completed, of_another};
pub use jump::smooth;
pub use picture::{Area, PictureError, Pictured, Place, of_picture};
pub(crate) use possible::scaled;
pub use possible::{Possible, possible};
pub use told::{AngleTold, Asked, Told, tell};
pub use want::{Said, Want};

use base::Warning;

use self::jump::jumps;
use self::recolour::recoloured;

use crate::error::ColourError;
use crate::geometry::Geometry;
use crate::lab::{Lch, lab};
use crate::light::{Illuminant, Observer};
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
    /// A word that is no want.
    #[error("{text:?} is nothing one can ask for: must be one of {}", Want::keys())]
    Word {
        /// The word given.
        text: String,
    },
    /// An amount that is none.
    #[error("\"{want}\" is asked for by {value}: the amount must be 0 to 1")]
    Amount {
        /// Of what.
        want: Want,
        /// What came.
        value: f64,
    },
    /// The same words twice.
    #[error("\"{want}\" is asked for twice: say it once, by the amount that is meant")]
    SaidTwice {
        /// Which.
        want: Want,
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
    check(measured, edits)?;
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
        let wanted = edited(lch, edit);
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

/// Refuses edits where nobody measured, two at one angle, and changes out of range.
fn check(measured: &Measurement, edits: &[Edit]) -> Result<(), BriefError> {
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
    Ok(())
}

/// What an edit makes of a colour. A chroma that would fall below nothing ends at grey.
fn edited(before: Lch, edit: &Edit) -> Lch {
    Lch { l: before.l + edit.dl, c: (before.c + edit.dc).max(0.0), h_deg: before.h_deg + edit.dh_deg }
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
