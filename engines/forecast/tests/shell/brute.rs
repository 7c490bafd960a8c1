//! Small shells drawn from a seed, and everything about them added up one combination after another.

use base::stream::Stream;
use forecast::shell::{Cause, Fact, Lean, Place, Seen, Shell};

/// A shell before it is made ready.
pub(crate) struct Plan {
    pub(crate) causes: Vec<Cause>,
    pub(crate) places: Vec<Place>,
}

/// Whole numbers and fractions from a seed.
pub(crate) struct Dice(Stream);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(Stream::new(seed, 0))
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.0.uniform() * n as f64) as usize
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.uniform()
    }

    /// As often below 1 as above.
    pub(crate) fn ratio(&mut self, most: f64) -> f64 {
        let ratio = self.between(1.0, most);
        if self.below(2) == 0 { ratio } else { 1.0 / ratio }
    }
}

/// Up to four causes, some of which follow wider ones, and up to six places that lean on up to three of them.
pub(crate) fn plan(dice: &mut Dice) -> Plan {
    let causes: Vec<Cause> = (0..1 + dice.below(4))
        .map(|number| Cause {
            wider: (number > 0 && dice.below(3) > 0).then(|| dice.below(number)),
            follows: dice.between(0.0, 1.0),
            on: dice.between(0.02, 0.98),
        })
        .collect();
    let places = (0..2 + dice.below(5))
        .map(|_| {
            let mut on: Vec<usize> = (0..causes.len()).filter(|_| dice.below(5) < 3).collect();
            on.truncate(3);
            let leans = on.into_iter().map(|on| Lean { on, factor: dice.between(1.0, 6.0) }).collect();
            Place { chance: dice.between(0.002, 0.998), leans }
        })
        .collect();
    Plan { causes, places }
}

impl Plan {
    pub(crate) fn shell(&self, coupling: f64) -> Shell {
        Shell::new(&self.causes, &self.places, coupling).expect("a shell")
    }
}

/// Some places known, and facts that bear on one place or on several, each place once.
pub(crate) fn seen(dice: &mut Dice, places: usize) -> Seen {
    let known = (0..places).filter_map(|place| (dice.below(5) == 0).then_some((place, dice.below(2) == 0))).collect();
    let facts = (0..dice.below(4)).map(|_| fact(dice, places)).collect();
    Seen { known, facts }
}

pub(crate) fn fact(dice: &mut Dice, places: usize) -> Fact {
    let mut on: Vec<usize> = (0..places).filter(|_| dice.below(2) == 0).collect();
    if on.is_empty() {
        on.push(dice.below(places));
    }
    Fact { bears_on: on.into_iter().map(|place| (place, dice.ratio(20.0))).collect() }
}

/// How often each combination of sound and bad places is met; place `n` is bad where bit `n` is set.
///
/// How causes hang together is written anew here; the chance of a place given its causes is the shell's own, and
/// other tests hold it to what it must be.
pub(crate) fn joint(plan: &Plan, shell: &Shell) -> Vec<f64> {
    let (causes, places) = (plan.causes.len(), plan.places.len());
    let mut joint = vec![0.0; 1 << places];
    for on in 0..1_usize << causes {
        let is_on = |cause: usize| on >> cause & 1 == 1;
        let mut met = 1.0;
        for (number, cause) in plan.causes.iter().enumerate() {
            let by_itself = if is_on(number) { cause.on } else { 1.0 - cause.on };
            met *= match cause.wider {
                None => by_itself,
                Some(wider) if is_on(wider) == is_on(number) => cause.follows + (1.0 - cause.follows) * by_itself,
                Some(_) => (1.0 - cause.follows) * by_itself,
            };
        }
        for (bad, sum) in joint.iter_mut().enumerate() {
            let mut all = met;
            for place in 0..places {
                let table = &shell.network().tables()[causes + place];
                let row = table.parents.iter().fold(0, |row, parent| 2 * row + usize::from(is_on(*parent)));
                all *= table.rows[2 * row + (bad >> place & 1)];
            }
            *sum += all;
        }
    }
    joint
}

/// The chance of each place under a joint that need not sum to 1.
pub(crate) fn chances(joint: &[f64], places: usize) -> Vec<f64> {
    let all: f64 = joint.iter().sum();
    let bad = |place: usize| joint.iter().enumerate().filter(|(bad, _)| bad >> place & 1 == 1).map(|(_, p)| p).sum();
    (0..places).map(bad).map(|bad: f64| bad / all).collect()
}

/// Multiplies the weight of all combinations in which a place is bad.
fn weigh(joint: &mut [f64], place: usize, weight: f64) {
    joint.iter_mut().enumerate().filter(|(bad, _)| bad >> place & 1 == 1).for_each(|(_, p)| *p *= weight);
}

/// The joint once all has been seen. What a fact weighs is found by iterative proportional fitting over the joint before
/// anything was seen: one place after another is brought to its ratio until all stand there (W. E. Deming and F. F.
/// Stephan, Annals of Mathematical Statistics 11(4), 1940).
pub(crate) fn told(before: &[f64], seen: &Seen, places: usize) -> Vec<f64> {
    let odds = |p: f64| p / (1.0 - p);
    let first = chances(before, places);
    let mut joint = before.to_vec();
    for fact in &seen.facts {
        let mut alone = before.to_vec();
        let mut weights = vec![1.0; places];
        for _round in 0..2_000 {
            let mut off = 0.0_f64;
            for (place, ratio) in &fact.bears_on {
                let step = ratio * odds(first[*place]) / odds(chances(&alone, places)[*place]);
                weigh(&mut alone, *place, step);
                weights[*place] *= step;
                off = off.max((step - 1.0).abs());
            }
            if off < 1e-13 {
                break;
            }
        }
        weights.iter().enumerate().for_each(|(place, weight)| weigh(&mut joint, place, *weight));
    }
    for (place, is_bad) in &seen.known {
        for (bad, p) in joint.iter_mut().enumerate() {
            if (bad >> place & 1 == 1) != *is_bad {
                *p = 0.0;
            }
        }
    }
    joint
}
