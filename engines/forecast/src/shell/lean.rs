//! How strongly a place must lean on its causes for the factors the trade speaks of.

use std::collections::BTreeMap;

use base::math;

use super::{LEVELS, SHARES};

/// Rounds of fitting; each brings the factors about ten times nearer.
const ROUNDS: usize = 12;
/// More would make of a place a switch that its causes throw.
const MOST_LOADING: f64 = 3.0;

/// Loadings already worked out: the two sides of a car ask for the same ones.
#[derive(Default)]
pub(super) struct Loadings(BTreeMap<Vec<u64>, Vec<f64>>);

impl Loadings {
    /// The chance to be bad at every combination of the causes' levels, the last cause fastest.
    ///
    /// Over all levels it comes to `chance` exactly. The factors are met as nearly as three levels can: a like place
    /// that shares the cause and turns out bad multiplies the odds by the factor.
    pub(super) fn chances(&mut self, chance: f64, factors: &[f64]) -> Vec<f64> {
        let key = std::iter::once(chance).chain(factors.iter().copied()).map(f64::to_bits).collect();
        self.0.entry(key).or_insert_with(|| fit(chance, factors)).clone()
    }
}

fn fit(chance: f64, factors: &[f64]) -> Vec<f64> {
    if factors.is_empty() {
        return vec![chance];
    }
    let mut loadings: Vec<f64> = factors.iter().map(|factor| 1.5 * math::ln(*factor).sqrt()).collect();
    let mut level = math::ln(chance / (1.0 - chance));
    for _ in 0..ROUNDS {
        level = level_for(chance, &loadings, level);
        let chances = at_levels(level, &loadings);
        let got: Vec<f64> = (0..loadings.len()).map(|of| factor(chance, &chances, loadings.len(), of)).collect();
        for ((loading, got), wanted) in loadings.iter_mut().zip(got).zip(factors) {
            // The logarithm of the factor grows about with the square of the loading.
            let step = (math::ln(*wanted) / math::ln(got.max(1.0 + 1e-9))).sqrt();
            *loading = (*loading * step.clamp(0.25, 4.0)).min(MOST_LOADING);
        }
    }
    level = level_for(chance, &loadings, level);
    at_levels(level, &loadings)
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + math::exp(-x))
}

/// Scores of all combinations of levels and how often each is met.
fn combinations(loadings: &[f64]) -> Vec<(f64, f64)> {
    loadings.iter().fold(vec![(0.0, 1.0)], |all, loading| {
        let with = |(score, share): &(f64, f64)| {
            let (score, share) = (*score, *share);
            LEVELS.iter().zip(SHARES).map(move |(level, of)| (score + loading * level, share * of)).collect::<Vec<_>>()
        };
        all.iter().flat_map(with).collect()
    })
}

fn at_levels(level: f64, loadings: &[f64]) -> Vec<f64> {
    combinations(loadings).into_iter().map(|(score, _)| logistic(level + score)).collect()
}

/// The level at which the chance over all combinations is the one wanted: Newton's method, kept between the ends
/// that enclose it.
fn level_for(chance: f64, loadings: &[f64], from: f64) -> f64 {
    let all = combinations(loadings);
    let reach: f64 = loadings.iter().sum();
    let centre = math::ln(chance / (1.0 - chance));
    let (mut low, mut high) = (centre - reach, centre + reach);
    let mut level = from.clamp(low, high);
    for _ in 0..60 {
        let (mut sum, mut slope) = (-chance, 0.0);
        for (score, share) in &all {
            let p = logistic(level + score);
            sum += share * p;
            slope += share * p * (1.0 - p);
        }
        if sum.abs() < 1e-15 {
            break;
        }
        if sum > 0.0 {
            high = level
        } else {
            low = level
        }
        let next = level - sum / slope;
        level = if next > low && next < high { next } else { 0.5 * (low + high) };
    }
    level
}

/// By what factor the odds rise when a like place that shares only cause number `of` is bad.
fn factor(chance: f64, chances: &[f64], causes: usize, of: usize) -> f64 {
    let stride = LEVELS.len().pow((causes - 1 - of) as u32);
    let mut at_level = [0.0; LEVELS.len()];
    for (at, p) in chances.iter().enumerate() {
        let share: f64 = (0..causes)
            .filter(|cause| *cause != of)
            .map(|cause| SHARES[at / LEVELS.len().pow((causes - 1 - cause) as u32) % LEVELS.len()])
            .product();
        at_level[at / stride % LEVELS.len()] += share * p;
    }
    let both: f64 = at_level.iter().zip(SHARES).map(|(p, share)| share * p * p).sum();
    let then = both / chance;
    then / (1.0 - then) * (1.0 - chance) / chance
}

#[cfg(test)]
mod tests {
    use super::{SHARES, combinations, factor, fit};

    #[test]
    fn invariant_a_chance_stays_and_its_factors_are_met() {
        for chance in [0.01, 0.1, 0.3, 0.5, 0.72, 0.9] {
            for factors in [vec![2.0], vec![1.8, 1.8], vec![2.0, 2.0, 1.4]] {
                let chances = fit(chance, &factors);
                let shares = combinations(&vec![0.0; factors.len()]);
                let over_all: f64 = chances.iter().zip(&shares).map(|(p, (_, share))| p * share).sum();
                assert!((over_all - chance).abs() < 1e-12, "{chance} {factors:?}: {over_all}");
                for (of, wanted) in factors.iter().enumerate() {
                    let got = factor(chance, &chances, factors.len(), of);
                    // Three at once are more than three levels each can carry to the full.
                    let near = if factors.len() < 3 { 0.02 } else { 0.2 };
                    assert!((got / wanted - 1.0).abs() < near, "{chance} {factors:?} {of}: {got}");
                }
            }
        }
        assert_eq!(SHARES.iter().sum::<f64>(), 1.0);
    }
}
