//! Quantiles by normal score, tabulated.

use base::normal;

use crate::unit::Unit;

/// Scores run from minus this to plus this; beyond it lies one number in 12 thousand million.
const REACH: f64 = 6.5;

/// A rising function of the normal score at `NODES` equal steps, straight between them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Table<const NODES: usize>(Box<[f64; NODES]>);

impl<const NODES: usize> Table<NODES> {
    /// Zero everywhere.
    pub(crate) fn zero() -> Self {
        Self(Box::new([0.0; NODES]))
    }

    /// The quantile of `unit` whose chance is that of a normal number below the score.
    pub(crate) fn of(unit: &Unit) -> Self {
        let mut table = Self::zero();
        let mirrored = unit.mirrored();
        let (mut low_guess, mut high_guess) = (None, None);
        // Outwards from the middle, each node a guess at its neighbour.
        for node in (0..=NODES / 2).rev() {
            let p = normal::below(score_at::<NODES>(node)).min(0.5);
            let (low, high) = (unit.quantile_low(p, low_guess), mirrored.quantile_low(p, high_guess));
            (low_guess, high_guess) = (Some(low), Some(high));
            table.0[node] = low;
            table.0[NODES - 1 - node] = 1.0 - high;
        }
        table
    }

    /// That of `1 - X` where this one is of `X`.
    pub(crate) fn mirrored(&self) -> Self {
        let mut table = Self::zero();
        for (mirrored, value) in table.0.iter_mut().zip(self.0.iter().rev()) {
            *mirrored = 1.0 - value;
        }
        table
    }

    /// Adds `low + width * unit`, `unit` mixed from two tables.
    pub(crate) fn add(&mut self, low: f64, width: f64, unit: (&Self, &Self), second: f64) {
        for ((sum, a), b) in self.0.iter_mut().zip(unit.0.0.iter()).zip(unit.1.0.iter()) {
            *sum += low + width * (a + (b - a) * second);
        }
    }

    /// The value at a score; beyond the ends that of the end.
    #[inline]
    pub(crate) fn at(&self, score: f64) -> f64 {
        self.read(Self::place(score))
    }

    /// Where a score lies, the same in every table of this many nodes: the node before it, and how far it is on
    /// towards the next.
    #[inline]
    pub(crate) fn place(score: f64) -> (usize, f64) {
        let place = ((score + REACH) * ((NODES - 1) as f64 / (2.0 * REACH))).clamp(0.0, (NODES - 1) as f64);
        let node = (place as usize).min(NODES - 2);
        (node, place - node as f64)
    }

    /// The value at a [`Table::place`].
    #[inline]
    pub(crate) fn read(&self, (node, along): (usize, f64)) -> f64 {
        let (left, right) = (self.0[node], self.0[node + 1]);
        left + (right - left) * along
    }

    /// The nodes' scores and values.
    pub(crate) fn nodes(&self) -> impl Iterator<Item = (f64, f64)> {
        self.0.iter().enumerate().map(|(node, value)| (score_at::<NODES>(node), *value))
    }
}

fn score_at<const NODES: usize>(node: usize) -> f64 {
    -REACH + 2.0 * REACH * node as f64 / (NODES - 1) as f64
}
