//! How strongly a place must lean on its causes for the factors the trade speaks of.

use std::collections::BTreeMap;

use base::math;

/// Rounds of fitting; each brings the factors about ten times nearer.
const ROUNDS: usize = 12;
/// More would make of a place a switch that its causes throw.
const MOST_LOADING: f64 = 6.0;

/// Loadings already worked out: the two sides of a car ask for the same ones.
#[derive(Default)]
pub(super) struct Loadings(BTreeMap<Vec<u64>, Vec<f64>>);

impl Loadings {
    /// The chance to be bad for every combination of the causes off and on, the last cause fastest. `causes` are the
    /// factors with how often each cause is on.
    ///
    /// Over all combinations it comes to `chance` exactly. The factors are met as nearly as causes that are only on or
    /// off can: a like place that shares the cause and turns out bad multiplies the odds by the factor.
    pub(super) fn chances(&mut self, chance: f64, causes: &[(f64, f64)]) -> Vec<f64> {
        let numbers = causes.iter().flat_map(|(factor, on)| [*factor, *on]);
        let key = std::iter::once(chance).chain(numbers).map(f64::to_bits).collect();
        self.0.entry(key).or_insert_with(|| fit(chance, causes)).clone()
    }
}

fn fit(chance: f64, causes: &[(f64, f64)]) -> Vec<f64> {
    let mut loadings: Vec<f64> = causes.iter().map(|(factor, _)| 3.0 * math::ln(*factor).sqrt()).collect();
    let mut level = math::ln(chance / (1.0 - chance));
    let mut bad = vec![chance];
    for round in 0..=ROUNDS {
        let all = combinations(&loadings, causes);
        level = level_for(chance, &all, level);
        bad = all.iter().map(|(score, _)| logistic(level + score)).collect();
        if round == ROUNDS {
            break;
        }
        for (of, (loading, (wanted, _))) in loadings.iter_mut().zip(causes).enumerate() {
            let got = factor(chance, &bad, causes, of);
            // The logarithm of the factor grows about with the square of the loading.
            let step = (math::ln(*wanted) / math::ln(got.max(1.0 + 1e-9))).sqrt();
            *loading = (*loading * step.clamp(0.25, 4.0)).min(MOST_LOADING);
        }
    }
    bad
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + math::exp(-x))
}

/// The score of every combination of causes off and on and how often it is met, the last cause fastest.
fn combinations(loadings: &[f64], causes: &[(f64, f64)]) -> Vec<(f64, f64)> {
    loadings.iter().zip(causes).fold(vec![(0.0, 1.0)], |all, (loading, (_, on))| {
        all.into_iter()
            .flat_map(|(score, share)| [(score, share * (1.0 - on)), (score + loading, share * on)])
            .collect()
    })
}

/// The level at which the chance over all combinations is the one wanted: Newton's method, kept between the ends
/// that enclose it.
fn level_for(chance: f64, all: &[(f64, f64)], from: f64) -> f64 {
    let most = all.iter().map(|(score, _)| *score).fold(0.0, f64::max);
    let centre = math::ln(chance / (1.0 - chance));
    let (mut low, mut high) = (centre - most, centre);
    let mut level = from.clamp(low, high);
    for _ in 0..60 {
        let (mut sum, mut slope) = (-chance, 0.0);
        for (score, share) in all {
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
fn factor(chance: f64, bad: &[f64], causes: &[(f64, f64)], of: usize) -> f64 {
    let is_on = |at: usize, cause: usize| at >> (causes.len() - 1 - cause) & 1 == 1;
    // The chance with the cause off and on, whatever the others are.
    let mut with = [0.0; 2];
    for (at, p) in bad.iter().enumerate() {
        let others = causes.iter().enumerate().filter(|(cause, _)| *cause != of);
        let share: f64 = others.map(|(cause, (_, on))| if is_on(at, cause) { *on } else { 1.0 - on }).product();
        with[usize::from(is_on(at, of))] += share * p;
    }
    let on = causes[of].1;
    let both = (1.0 - on) * with[0] * with[0] + on * with[1] * with[1];
    let then = both / chance;
    then / (1.0 - then) * (1.0 - chance) / chance
}

#[cfg(test)]
mod tests {
    use super::{combinations, factor, fit};

    #[test]
    fn invariant_a_chance_stays_and_its_factors_are_met() {
        for chance in [0.05, 0.1, 0.3, 0.5, 0.72, 0.9] {
            for causes in
                [vec![(1.8, 0.5)], vec![(5.0, 0.1)], vec![(1.8, 0.5); 2], vec![(1.8, 0.5), (1.8, 0.5), (1.5, 0.5)]]
            {
                let bad = fit(chance, &causes);
                let shares = combinations(&vec![0.0; causes.len()], &causes);
                let over_all: f64 = bad.iter().zip(&shares).map(|(p, (_, share))| p * share).sum();
                assert!((over_all - chance).abs() < 1e-12, "{chance} {causes:?}: {over_all}");
                for (of, (wanted, _)) in causes.iter().enumerate() {
                    let got = factor(chance, &bad, &causes, of);
                    // Several at once, or a rare cause for what is common, are more than causes of two levels can carry.
                    let near = [0.02, 0.12, 0.25][causes.len() - 1];
                    let rare = *wanted > 2.0 && chance > 0.1;
                    assert!(
                        rare && got < *wanted || (got / wanted - 1.0).abs() < near,
                        "{chance} {causes:?} {of}: {got}"
                    );
                }
            }
        }
    }
}
