//! Changes that set in more suddenly than a film can follow, and the nearest that do not.

use base::Warning;

use super::{BriefError, Edit, check, edited};
use crate::geometry::Geometry;
use crate::lab::Lab;
use crate::light::{Illuminant, Observer};
use crate::measurement::Measurement;
use crate::travel::turn_deg;

/// CIELAB difference by degree of angle between two neighbours from which a change looks like a jump
/// (our choice: a face and a flop 65 degrees apart can part by 65 and no paint does more).
const JUMP_PER_DEG: f64 = 1.0;

/// Where a change sets in more suddenly than a film's lobes allow.
pub(super) fn jumps(moved: &[(Geometry, Lab, Lab)]) -> Vec<Warning> {
    let mut warnings = Vec::new();
    for pair in moved.windows(2) {
        let [(one, from_one, to_one), (two, from_two, to_two)] = pair else { continue };
        let apart = f64::from(two.aspecular_deg() - one.aspecular_deg());
        let jump = length(less(less(vector(to_two), vector(from_two)), less(vector(to_one), vector(from_one))));
        if jump > JUMP_PER_DEG * apart {
            warnings.push(Warning::new(format!(
                "the wish changes by {jump:.0} (CIELAB) between {one} and {two}: a film spreads over its \
                 angles and will hardly do that"
            )));
        }
    }
    warnings
}

/// How often every pair is mended at most; six angles need some hundreds.
const MOST_ROUNDS: usize = 5000;
/// What a changed angle may fall short of the smooth wish, in CIELAB.
const ARRIVED: f64 = 1e-6;
/// Part of the allowed change between neighbours that is used, so that rounding makes no jump again.
const MARGIN: f64 = 0.99;

/// The nearest wish whose changes no film finds too sudden, by the sum of squares in CIELAB; none when the
/// edits are smooth already. Angles to `keep` stay as the edits have them.
///
/// Boyle and Dykstra's alternating projections (Lect. Notes Stat. 37, 1986, from memory) onto the balls
/// that bound the change between neighbours. Where two angles are kept and jump against each other, the
/// jump stays.
///
/// # Errors
/// [`BriefError`] as for [`super::wish`], but for colours that no surface has.
pub fn smooth(donor: &Measurement, edits: &[Edit], keep: &[Geometry]) -> Result<Option<Vec<Edit>>, BriefError> {
    check(donor, edits)?;
    let before: Vec<(Geometry, Lab)> = donor.labs(Illuminant::D65, Observer::Deg10);
    let after = |(geometry, before): &(Geometry, Lab)| {
        let edit = edits.iter().find(|edit| edit.geometry == *geometry);
        edit.map_or(*before, |edit| edited(before.lch(), edit).lab())
    };
    let moved: Vec<_> = before.iter().map(|at| (at.0, at.1, after(at))).collect();
    if jumps(&moved).is_empty() {
        return Ok(None);
    }
    let mut changes: Vec<[f64; 3]> = moved.iter().map(|(_, from, to)| less(vector(to), vector(from))).collect();
    project(&mut changes, &moved, keep);
    let smoother = moved.iter().zip(&changes).filter_map(|((geometry, from, to), change)| {
        if length(less(*change, less(vector(to), vector(from)))) < 100.0 * ARRIVED {
            return edits.iter().copied().find(|edit| edit.geometry == *geometry);
        }
        let [l, a, b] = [from.l + change[0], from.a + change[1], from.b + change[2]];
        edit_between(*geometry, *from, Lab { l, a, b })
    });
    Ok(Some(smoother.collect()))
}

/// Brings the changes to the nearest ones without a jump.
fn project(changes: &mut [[f64; 3]], moved: &[(Geometry, Lab, Lab)], keep: &[Geometry]) {
    let most: Vec<f64> = moved
        .windows(2)
        .map(|pair| match pair {
            [(one, ..), (two, ..)] => MARGIN * JUMP_PER_DEG * f64::from(two.aspecular_deg() - one.aspecular_deg()),
            _ => 0.0,
        })
        .collect();
    let pinned: Vec<bool> = moved.iter().map(|(geometry, ..)| keep.contains(geometry)).collect();
    // What each pair has moved its two angles by so far: taken back before the pair is mended again.
    let mut owed = vec![[[0.0; 3]; 2]; most.len()];
    for _ in 0..MOST_ROUNDS {
        let mut moved_by: f64 = 0.0;
        for (((pair, pinned), most), owed) in (0..).zip(pinned.windows(2)).zip(&most).zip(&mut owed) {
            let Some([one, two]) = changes.get_mut(pair..pair + 2) else { continue };
            let (start_one, start_two) = (less(*one, owed[0]), less(*two, owed[1]));
            let apart = less(start_two, start_one);
            // The part of the way between the two that is too much.
            let over = (1.0 - most / length(apart).max(*most)).max(0.0);
            let (share_one, share_two) = match pinned {
                [false, false] => (0.5, 0.5),
                [true, false] => (0.0, 1.0),
                [false, true] => (1.0, 0.0),
                _ => (0.0, 0.0),
            };
            owed[0] = apart.map(|axis| share_one * over * axis);
            owed[1] = apart.map(|axis| -share_two * over * axis);
            let (now_one, now_two) = (plus(start_one, owed[0]), plus(start_two, owed[1]));
            moved_by = moved_by.max(length(less(now_one, *one))).max(length(less(now_two, *two)));
            (*one, *two) = (now_one, now_two);
        }
        if moved_by < ARRIVED {
            break;
        }
    }
}

/// The edit that carries one colour to another; none when they are the same. An exact grey has no hue to
/// turn to.
pub(super) fn edit_between(geometry: Geometry, from: Lab, to: Lab) -> Option<Edit> {
    let (from, to) = (from.lch(), to.lch());
    let dh_deg = if to.c > 0.0 { turn_deg(from.h_deg, to.h_deg) } else { 0.0 };
    let edit = Edit { geometry, dl: to.l - from.l, dc: to.c - from.c, dh_deg };
    (edit.dl != 0.0 || edit.dc != 0.0 || edit.dh_deg != 0.0).then_some(edit)
}

fn vector(lab: &Lab) -> [f64; 3] {
    [lab.l, lab.a, lab.b]
}

fn plus(one: [f64; 3], two: [f64; 3]) -> [f64; 3] {
    std::array::from_fn(|axis| one[axis] + two[axis])
}

fn less(one: [f64; 3], two: [f64; 3]) -> [f64; 3] {
    std::array::from_fn(|axis| one[axis] - two[axis])
}

pub(super) fn length(v: [f64; 3]) -> f64 {
    (v[0] * v[0] + v[1] * v[1] + v[2] * v[2]).sqrt()
}
