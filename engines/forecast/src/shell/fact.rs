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
/// Rounds of weighing one fact; a handful is usual.
const ROUNDS: usize = 60;
/// How near to its ratio a fact is weighed, in parts of the ratio.
const NEAR: f64 = 1e-11;

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
        let weights = self.fit(fact, room)?;
        room.weighed.0.insert(key, weights.clone());
        Ok(weights)
    }

    /// Iterative proportional fitting: each weight in turn is set so that its place stands where the fact alone should
    /// bring it, until none moves (W. E. Deming and F. F. Stephan, Annals of Mathematical Statistics 11(4), 1940).
    fn fit(&self, fact: &Fact, room: &mut Room) -> Result<Vec<f64>, ShellError> {
        let odds = |p: f64| p / (1.0 - p);
        let mut weights: Vec<f64> = fact.bears_on.iter().map(|(_, ratio)| *ratio).collect();
        for _ in 0..ROUNDS {
            let mut evidence = Evidence::none(&self.network);
            for ((place, _), weight) in fact.bears_on.iter().zip(&weights) {
                evidence.likely(self.variable(*place, String::new)?, &[1.0, *weight])?;
            }
            let chances = self.marginals(&evidence, room)?;
            let mut off = 0.0_f64;
            for ((place, ratio), weight) in fact.bears_on.iter().zip(weights.iter_mut()) {
                let step = ratio * odds(self.chances[*place]) / odds(chances[*place]);
                off = off.max(math::ln(step).abs());
                *weight *= step;
            }
            if off < NEAR {
                break;
            }
        }
        Ok(weights)
    }
}
