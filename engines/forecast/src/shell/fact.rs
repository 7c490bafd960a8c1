//! Facts that bear on places without settling them.

use std::collections::BTreeMap;

use base::math;

use super::{Room, Seen, Shell, ShellError, within};
use crate::network::Evidence;

/// One thing that was seen, and what it does to the odds of each place it bears on.
///
/// The ratios are what the fact alone does to each of them. Where such places also inform each other through a common
/// cause, the fact is weighed so that it does no more than that: it is one fact, however many places it
/// bears on.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// Places, each once, with the factor on its odds, 0.001..=1000.
    pub bears_on: Vec<(usize, f64)>,
}

/// The most that one fact may multiply odds by.
const MOST_RATIO: f64 = 1_000.0;
/// Rounds of weighing one fact; a dozen is usual.
const ROUNDS: usize = 100;
/// How near to its ratio a fact is weighed, in parts of it.
const NEAR: f64 = 1e-10;
/// How near it must be after the last round; what is further off is no answer. A chance is then off by a quarter of
/// this at most, from its own fact.
const NEAR_ENOUGH: f64 = 1e-6;

/// The largest logarithm of a weight that is tried: far above any that is wanted, and still a number.
const MOST_WEIGHT: f64 = 100.0;
/// The part of a step below which another way is taken.
const LEAST_STEP: f64 = 1.0 / 64.0;

/// Weights of facts that bear on several places, by the fact.
#[derive(Default)]
pub(super) struct Weighed(BTreeMap<Vec<(usize, u64)>, Vec<f64>>);

impl Shell {
    /// What each fact multiplies the odds of each of its places by before they inform each other.
    pub(super) fn weights(&self, seen: &Seen, room: &mut Room) -> Result<Vec<Vec<f64>>, ShellError> {
        seen.facts.iter().enumerate().map(|(number, fact)| self.weigh(number, fact, room)).collect()
    }

    fn weigh(&self, number: usize, fact: &Fact, room: &mut Room) -> Result<Vec<f64>, ShellError> {
        let of = || format!("fact {number}");
        for (at, (place, ratio)) in fact.bears_on.iter().enumerate() {
            self.variable(*place, of)?;
            within("a ratio", of, *ratio, 1.0 / MOST_RATIO, MOST_RATIO)?;
            if fact.bears_on.iter().take(at).any(|(before, _)| before == place) {
                return Err(ShellError::NoSuch { of: of(), what: "place", number: *place });
            }
        }
        if fact.bears_on.len() < 2 {
            return Ok(fact.bears_on.iter().map(|(_, ratio)| *ratio).collect());
        }
        let key: Vec<(usize, u64)> = fact.bears_on.iter().map(|(place, ratio)| (*place, ratio.to_bits())).collect();
        if let Some(weights) = room.weighed.0.get(&key) {
            return Ok(weights.clone());
        }
        let weights = self.fit(number, fact, room)?;
        room.weighed.0.insert(key, weights.clone());
        Ok(weights)
    }

    /// Moves the weights until each place stands where the fact alone should bring it. Near the answer each weight does
    /// nearly its own share, and what the others add is learned from step to step (C. G. Broyden, A class of methods
    /// for solving nonlinear simultaneous equations, Mathematics of Computation 19(92), 1965). Fails when after
    /// [`ROUNDS`] the worst place is further off than [`NEAR_ENOUGH`].
    fn fit(&self, number: usize, fact: &Fact, room: &mut Room) -> Result<Vec<f64>, ShellError> {
        let count = fact.bears_on.len();
        let mut weights: Vec<f64> = fact.bears_on.iter().map(|(_, ratio)| math::ln(*ratio)).collect();
        let mut off = self.off(fact, &weights, room)?;
        // How far each weight is moved by how far each place is off.
        let mut moves = each_its_own(count);
        let mut whole = 1.0;
        for _ in 0..ROUNDS {
            if largest(&off) < NEAR {
                break;
            }
            let step: Vec<f64> = moves.iter().map(|row| whole * dot(row, &off)).collect();
            let tried: Vec<f64> = weights.iter().zip(&step).map(|(weight, step)| weight + step).collect();
            // Places that lean on the same causes pull each other along, so that all the steps at once may be too far.
            let then = if largest(&tried) < MOST_WEIGHT { Some(self.off(fact, &tried, room)?) } else { None };
            let Some(then) = then.filter(|then| dot(then, then) < dot(&off, &off)) else {
                whole *= 0.5;
                if whole < LEAST_STEP {
                    // What was learned leads nowhere.
                    (moves, whole) = (each_its_own(count), 1.0);
                    off = self.one_by_one(fact, &mut weights, room)?;
                }
                continue;
            };
            let came: Vec<f64> = off.iter().zip(&then).map(|(off, then)| off - then).collect();
            learn(&mut moves, &step, &came);
            (weights, off, whole) = (tried, then, 1.0);
        }
        let off = largest(&off);
        if off <= NEAR_ENOUGH {
            Ok(weights.into_iter().map(math::exp).collect())
        } else {
            Err(ShellError::Unsettled { fact: number, rounds: ROUNDS, off, most: NEAR_ENOUGH })
        }
    }

    /// Moves one weight after the other so far that its place stands where it should: slow, but always nearer (W. E.
    /// Deming and F. F. Stephan, On a least squares adjustment of a sampled frequency table when the expected marginal
    /// totals are known, Annals of Mathematical Statistics 11(4), 1940). Gives how far off each place is then.
    fn one_by_one(&self, fact: &Fact, weights: &mut [f64], room: &mut Room) -> Result<Vec<f64>, ShellError> {
        for place in 0..weights.len() {
            let off = self.off(fact, weights, room)?;
            if let (Some(weight), Some(off)) = (weights.get_mut(place), off.get(place)) {
                *weight = (*weight + off).clamp(-MOST_WEIGHT, MOST_WEIGHT);
            }
        }
        self.off(fact, weights, room)
    }

    /// By how much, in logarithms of odds, each place of a fact falls short of where the fact alone should bring it.
    fn off(&self, fact: &Fact, weights: &[f64], room: &mut Room) -> Result<Vec<f64>, ShellError> {
        let mut evidence = Evidence::none(&self.network);
        for ((place, _), weight) in fact.bears_on.iter().zip(weights) {
            evidence.likely(self.variable(*place, String::new)?, &[1.0, math::exp(*weight)])?;
        }
        let posterior = self.tree.update(&evidence, &mut room.work)?;
        let off = |(place, ratio): &(usize, f64)| {
            let before = self.chances[*place];
            let odds = match posterior.marginal(self.causes + place) {
                [sound, bad] => bad / sound,
                _ => 1.0,
            };
            math::ln(ratio * before / (1.0 - before) / odds)
        };
        Ok(fact.bears_on.iter().map(off).collect())
    }
}

fn each_its_own(count: usize) -> Vec<Vec<f64>> {
    (0..count).map(|row| (0..count).map(|column| if row == column { 1.0 } else { 0.0 }).collect()).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The largest, whatever its sign; no number where one of them is none.
fn largest(off: &[f64]) -> f64 {
    off.iter().fold(0.0, |most: f64, off| if off.abs() > most || off.is_nan() { off.abs() } else { most })
}

/// Broyden's update: after it, `moves` would have made `step` out of what that step brought.
fn learn(moves: &mut [Vec<f64>], step: &[f64], came: &[f64]) {
    let expected: Vec<f64> = moves.iter().map(|row| dot(row, came)).collect();
    let size = dot(step, &expected);
    if size.abs() < 1e-30 {
        return;
    }
    let back: Vec<f64> = (0..step.len())
        .map(|column| step.iter().zip(moves.iter()).map(|(step, row)| step * row[column]).sum())
        .collect();
    for ((row, step), expected) in moves.iter_mut().zip(step).zip(&expected) {
        let missing = (step - expected) / size;
        row.iter_mut().zip(&back).for_each(|(moves, back)| *moves += missing * back);
    }
}

#[cfg(test)]
mod tests {
    use super::largest;

    #[test]
    fn what_is_no_number_is_never_near() {
        assert_eq!(largest(&[0.5, -2.0, 1.0]), 2.0);
        for off in [[f64::NAN, 1.0], [1.0, f64::NAN]] {
            assert!(largest(&off).is_nan());
        }
    }
}
