//! What a surface can be, and changes pulled back to it.

use base::Warning;

use super::jump::length;
use super::recolour::recoloured;
use super::{BriefError, Edit, check, edited};
use crate::geometry::Geometry;
use crate::lab::{Lab, lab};
use crate::light::{Illuminant, Observer, Xyz, table, white};
use crate::measurement::Measurement;
use crate::spectrum::Spectrum;

/// Edits that a surface can follow.
#[derive(Debug, Clone, PartialEq)]
pub struct Possible {
    /// The edits, pulled back where they asked too much.
    pub edits: Vec<Edit>,
    /// Where, and by how much.
    pub warnings: Vec<Warning>,
}

/// The colour difference (CIELAB) up to which the edge of what is possible is sought.
const EDGE: f64 = 0.01;
/// Halvings until then: the longest way is some 700.
const MOST_HALVINGS: u32 = 20;
/// Part of the way to the edge that is kept, so that rounding does not lead beyond.
const INSIDE: f64 = 0.997;

/// Edits as near to those asked for as a surface can follow: each is scaled down until its colour is one
/// that some surface has and a smooth spectrum near the donor's gives.
///
/// Away from gloss (45 degrees and more) no surface sends back more than a perfect diffuser, unless the
/// donor itself was measured above that; near gloss a spectrum's highest value, 5, is the limit. Whatever
/// comes out is accepted by [`super::wish`].
///
/// # Errors
/// [`BriefError`] when an edit names an angle that was not measured, comes twice or is out of range.
pub fn possible(donor: &Measurement, edits: &[Edit]) -> Result<Possible, BriefError> {
    check(donor, edits)?;
    let mut possible = Possible { edits: Vec::new(), warnings: Vec::new() };
    for edit in edits {
        let Some(spectrum) = donor.at(edit.geometry) else { continue };
        let before = lab(spectrum, Illuminant::D65, Observer::Deg10);
        let most = most(edit.geometry, spectrum);
        let part = |part: f64| scaled(edit, part);
        let colour = |edit: &Edit| edited(before.lch(), edit).lab();
        let can = |edit: &Edit| {
            let wanted = colour(edit);
            surface_has(wanted, most) && recoloured(spectrum, wanted).is_some()
        };
        if (edit.dl, edit.dc, edit.dh_deg) == (0.0, 0.0, 0.0) || can(edit) {
            possible.edits.push(*edit);
            continue;
        }
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..MOST_HALVINGS {
            let middle = 0.5 * (low + high);
            if can(&part(middle)) {
                low = middle;
            } else {
                high = middle;
            }
            if apart(colour(&part(low)), colour(&part(high))) < EDGE {
                break;
            }
        }
        let held = part(low * INSIDE);
        let (wanted, had) = (colour(edit).lch(), colour(&held).lch());
        possible.warnings.push(Warning::new(format!(
            "{}: no surface like this one has L* {:.0}, C* {:.0} and hue {:.0} degrees; held at L* {:.0}, C* {:.0} \
             and hue {:.0}, short of the wish by {:.0} (CIELAB)",
            edit.geometry,
            wanted.l,
            wanted.c,
            wanted.h_deg,
            had.l,
            had.c,
            had.h_deg,
            apart(wanted.lab(), had.lab())
        )));
        // Where not even the first step can be gone, the edit itself stays out.
        if low > 0.0 && can(&held) {
            possible.edits.push(held);
        }
    }
    Ok(possible)
}

/// A part of an edit.
pub(crate) fn scaled(edit: &Edit, part: f64) -> Edit {
    Edit { geometry: edit.geometry, dl: part * edit.dl, dc: part * edit.dc, dh_deg: part * edit.dh_deg }
}

/// The highest radiance factor that a surface like this one can have at an angle.
fn most(geometry: Geometry, donor: &Spectrum) -> f64 {
    if geometry.aspecular_deg() >= 45 { donor.values().iter().copied().fold(1.0, f64::max) } else { Spectrum::HIGHEST }
}

fn apart(one: Lab, two: Lab) -> f64 {
    length([one.l - two.l, one.a - two.a, one.b - two.b])
}

/// Whether some spectrum from nothing to `most` has a colour (D65, 10 degrees).
///
/// The colours of all such spectra fill a zonotope whose edges are the 31 weight vectors (the object colour
/// solid; Schroedinger, Ann. Phys. 367(15), 1920, from memory). Each of its faces stands upright on the
/// cross product of two of them, so a colour lies inside when it does so along each of these.
fn surface_has(colour: Lab, most: f64) -> bool {
    let weights = table(Illuminant::D65, Observer::Deg10);
    let Xyz { x, y, z } = colour.to_xyz(white(Illuminant::D65, Observer::Deg10));
    // The solid's middle is half its white.
    let middle = white(Illuminant::D65, Observer::Deg10);
    let half = 0.5 * most;
    let from_middle = [x - half * middle.x, y - half * middle.y, z - half * middle.z];
    // Rounding takes a white, which lies at a corner, for outside.
    let slack = 1.0 + 1e-9;
    weights.iter().enumerate().all(|(i, one)| {
        weights.iter().skip(i + 1).all(|two| {
            let upright = cross(one, two);
            let reach: f64 = weights.iter().map(|weight| along(&upright, weight).abs()).sum();
            along(&upright, &from_middle).abs() <= slack * half * reach
        })
    })
}

fn along(one: &[f64; 3], two: &[f64; 3]) -> f64 {
    one[0] * two[0] + one[1] * two[1] + one[2] * two[2]
}

fn cross(one: &[f64; 3], two: &[f64; 3]) -> [f64; 3] {
    [one[1] * two[2] - one[2] * two[1], one[2] * two[0] - one[0] * two[2], one[0] * two[1] - one[1] * two[0]]
}
