//! Doses that the scale can show, chosen for the colour.
//!
//! Each toner may be rounded down or up; the binder takes what is left of the total. All of these choices
//! are predicted and the nearest in colour wins: two toners that are both short by a little can hold the
//! hue where each one's own nearest dose would turn it.

use super::gauge::{Gauge, Shift};
use crate::recipe::Pot;

/// Parts of a scale's step that are rounding errors of the computer.
const NOTHING: f64 = 1e-6;

/// What is to be added to what is there.
pub(super) struct Doses<'a> {
    /// What is in the pot already.
    pub(super) held: &'a Pot,
    /// What is to be added, exactly; of [`crate::MOST_PARTS`] toners at most.
    pub(super) add: &'a Pot,
    /// The scale's step, in g.
    pub(super) scale_g: f64,
    /// The most that may be added altogether, in g.
    pub(super) most_g: f64,
}

/// Doses in whole steps of the scale, and the shift that they make.
pub(super) struct Rounded {
    pub(super) toners: Vec<u64>,
    pub(super) binder: u64,
    pub(super) shift: Shift,
}

/// So many steps of a scale, in g, as it shows them: to a microgram.
pub(super) fn grams(steps: u64, scale_g: f64) -> f64 {
    (steps as f64 * scale_g * 1e6).round() / 1e6
}

impl Doses<'_> {
    /// The doses that shift the colour least, on average over the angles, among those whose total is within
    /// one step of the exact one. `None` when what may be added altogether is less than that.
    pub(super) fn round(&self, gauge: &Gauge<'_>) -> Option<Rounded> {
        let low: Vec<u64> = self.add.toners_g.iter().map(|g| (g / self.scale_g + NOTHING).floor() as u64).collect();
        let between = |i: usize| self.add.toners_g[i] / self.scale_g - low[i] as f64 > NOTHING;
        let loose: Vec<usize> = (0..low.len()).filter(|i| between(*i)).collect();
        let mut best: Option<Rounded> = None;
        for choice in 0..1_u32 << loose.len().min(crate::MOST_PARTS) {
            let mut toners = low.clone();
            for (bit, i) in loose.iter().enumerate() {
                toners[*i] += u64::from(choice >> bit & 1);
            }
            for total in self.totals() {
                let Some(binder) = total.checked_sub(toners.iter().sum()) else { continue };
                if binder > 0 && self.add.binder_g <= NOTHING * self.scale_g {
                    continue;
                }
                let shift = gauge.shift(&self.filled(&toners, binder));
                let key = |shift: &Shift| (shift.mean_de00, shift.worst_de00);
                if best.as_ref().is_none_or(|best| key(&shift) < key(&best.shift)) {
                    best = Some(Rounded { toners: toners.clone(), binder, shift });
                }
            }
        }
        best
    }

    /// Totals within one step of the exact one, in steps, the nearest first.
    fn totals(&self) -> impl Iterator<Item = u64> {
        let exact = self.add.mass_g() / self.scale_g;
        let most = self.most_g / self.scale_g + NOTHING;
        let nearest = exact.round();
        let other = if exact < nearest { -1.0 } else { 1.0 };
        [nearest, nearest + other, nearest - other]
            .into_iter()
            .filter(move |total| *total >= 0.0 && *total <= most && (total - exact).abs() <= 1.0 + NOTHING)
            .map(|total| total as u64)
    }

    fn filled(&self, toners: &[u64], binder: u64) -> Pot {
        let held = self.held.toners_g.iter().zip(toners);
        Pot {
            toners_g: held.map(|(held_g, steps)| held_g + *steps as f64 * self.scale_g).collect(),
            binder_g: self.held.binder_g + binder as f64 * self.scale_g,
        }
    }
}
