//! Smooth spectra of a given colour, found by Newton's method.

use base::lane;

use super::jump::length;
use crate::lab::{Lab, lab};
use crate::light::{Illuminant, Observer, table, weigh, white};
use crate::spectrum::Spectrum;

/// Most steps of Newton's method, and the colour difference at which it has arrived.
const MOST_STEPS: usize = 60;
const ARRIVED: f64 = 1e-6;
/// A donor's spectrum is lifted to this before it is multiplied: nothing times anything is nothing.
const DARKEST: f64 = 5e-4;
/// Stages of the way to a colour that is too far for one.
const STAGES: u32 = 12;

/// A smooth spectrum near the donor's with this colour (D65, 10 degrees); none when there is none.
pub(super) fn recoloured(donor: &Spectrum, wanted: Lab) -> Option<Spectrum> {
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
    let k = newton(&curve, [0.0; 3], wanted)
        .or_else(|| staged(&curve, [0.0; 3], lab(&Spectrum::clamped(&base), LIGHT, OBSERVER), wanted))?;
    Spectrum::new(curve(k)).ok()
}

const LIGHT: Illuminant = Illuminant::D65;
const OBSERVER: Observer = Observer::Deg10;

/// The figures for which a curve has a colour, coming from another colour in stages.
pub(super) fn staged(
    curve: &impl Fn([f64; 3]) -> [f64; 31],
    start: [f64; 3],
    from: Lab,
    wanted: Lab,
) -> Option<[f64; 3]> {
    let mut k = start;
    for stage in 1..=STAGES {
        let part = f64::from(stage) / f64::from(STAGES);
        let between = |from: f64, to: f64| from + part * (to - from);
        let at = Lab { l: between(from.l, wanted.l), a: between(from.a, wanted.a), b: between(from.b, wanted.b) };
        k = newton(curve, k, at)?;
    }
    Some(k)
}

/// The figures for which a curve has a colour (D65, 10 degrees); none when they are not found.
pub(super) fn newton(curve: &impl Fn([f64; 3]) -> [f64; 31], start: [f64; 3], wanted: Lab) -> Option<[f64; 3]> {
    let (weights, white) = (table(LIGHT, OBSERVER), white(LIGHT, OBSERVER));
    let off = |spectrum: &[f64; 31]| {
        let lab = Lab::from_xyz(weigh(spectrum, weights), white);
        [lab.l - wanted.l, lab.a - wanted.a, lab.b - wanted.b]
    };
    let mut k = start;
    let mut now = off(&curve(k));
    for _ in 0..MOST_STEPS {
        if length(now) < ARRIVED {
            return Some(k);
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
pub(super) fn solve3(a: [[f64; 3]; 3], b: [f64; 3]) -> Option<[f64; 3]> {
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
