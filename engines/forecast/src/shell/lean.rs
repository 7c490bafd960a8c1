//! How strongly a place must lean on its causes for the factors the trade speaks of.
//!
//! A factor may be more than any leaning can do. Where a place is bad with probability p and leans on one cause that is
//! on in half of all cars, the most that the cause can do is to be a switch: the place is bad only with the cause on (p
//! up to a half), which is a factor of 2 (1 - p) / (1 - 2 p), or always bad with it on (p above it). So a place that is
//! bad in 0.05 of all cars comes to 2.1 at most and one at 0.9 to 1.14, whatever is asked for. Several causes share
//! that room. Below 0.6 of the most, one cause meets its factor within 0.1 %; of several none is overshot by more than
//! 2 %, and each comes to 1.05 at least where 1.3 or more is asked for and the place is sound in a tenth of all cars or
//! more (the tests below). Nothing is refused for it: a factor that is not met says less than the shop believes.

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
    /// The chance to be bad for every combination of the causes off and on, the last cause fastest. `shares` says how
    /// often each combination is met; together they are 1.
    ///
    /// Over all combinations it comes to `chance` exactly. The factors are met as nearly as causes that are only on or
    /// off can, and may fall short (see the head of this file): a like place that shares the cause and turns out bad
    /// multiplies the odds by the factor.
    pub(super) fn chances(&mut self, chance: f64, factors: &[f64], shares: &[f64]) -> Vec<f64> {
        let numbers = factors.iter().chain(shares);
        let key = std::iter::once(&chance).chain(numbers).map(|number| number.to_bits()).collect();
        self.0.entry(key).or_insert_with(|| fit(chance, factors, shares)).clone()
    }
}

fn fit(chance: f64, factors: &[f64], shares: &[f64]) -> Vec<f64> {
    let mut loadings: Vec<f64> = factors.iter().map(|factor| 3.0 * math::ln(*factor).sqrt()).collect();
    let mut level = math::ln(chance / (1.0 - chance));
    let mut bad = vec![chance];
    for round in 0..=ROUNDS {
        let scores = scores(&loadings);
        level = level_for(chance, &scores, shares, level);
        bad = scores.iter().map(|score| logistic(level + score)).collect();
        if round == ROUNDS {
            break;
        }
        for (of, (loading, wanted)) in loadings.iter_mut().zip(factors).enumerate() {
            let got = factor(chance, &bad, shares, factors.len() - 1 - of);
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

/// The score of every combination of causes off and on, the last cause fastest.
fn scores(loadings: &[f64]) -> Vec<f64> {
    loadings.iter().fold(vec![0.0], |all, loading| all.into_iter().flat_map(|score| [score, score + loading]).collect())
}

/// The level at which the chance over all combinations is the one wanted: Newton's method, kept between the ends
/// that enclose it.
fn level_for(chance: f64, scores: &[f64], shares: &[f64], from: f64) -> f64 {
    let most = scores.iter().copied().fold(0.0, f64::max);
    let centre = math::ln(chance / (1.0 - chance));
    let (mut low, mut high) = (centre - most, centre);
    let mut level = from.clamp(low, high);
    for _ in 0..60 {
        let (mut sum, mut slope) = (-chance, 0.0);
        for (score, share) in scores.iter().zip(shares) {
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

/// By what factor the odds rise when a like place that shares only one cause is bad: that which is `bit` places before
/// the last.
fn factor(chance: f64, bad: &[f64], shares: &[f64], bit: usize) -> f64 {
    // How often the cause is off and on, and how often that and the place bad.
    let (mut met, mut met_bad) = ([0.0; 2], [0.0; 2]);
    for (at, (p, share)) in bad.iter().zip(shares).enumerate() {
        let on = at >> bit & 1;
        met[on] += share;
        met_bad[on] += share * p;
    }
    // Given the cause, two places that share no other are bad independently of each other.
    let both = |on: usize| if met[on] > 0.0 { met_bad[on] * met_bad[on] / met[on] } else { 0.0 };
    let then = (both(0) + both(1)) / chance;
    then / (1.0 - then) * (1.0 - chance) / chance
}

#[cfg(test)]
mod tests {
    use super::{factor, fit};

    /// Causes that do not depend on each other, each on so often.
    fn shares(on: &[f64]) -> Vec<f64> {
        on.iter()
            .fold(vec![1.0], |all, on| all.into_iter().flat_map(|share| [share * (1.0 - on), share * on]).collect())
    }

    /// The factor of each cause that the fit comes to; the chance over all is checked on the way.
    fn fitted(chance: f64, factors: &[f64], shares: &[f64]) -> Vec<f64> {
        let bad = fit(chance, factors, shares);
        let over_all: f64 = bad.iter().zip(shares).map(|(p, share)| p * share).sum();
        assert!((over_all - chance).abs() < 1e-12, "{chance} {factors:?}: {over_all}");
        (0..factors.len()).map(|of| factor(chance, &bad, shares, factors.len() - 1 - of)).collect()
    }

    #[test]
    fn invariant_the_factor_of_one_cause_is_met_wherever_it_can_be() {
        for on in [0.1, 0.25, 0.5, 0.8] {
            for chance in [0.001, 0.05, 0.1, 0.3, 0.5, 0.72, 0.9, 0.999] {
                for wanted in [1.01, 1.3, 1.8, 2.5, 5.0, 10.0] {
                    let got = fitted(chance, &[wanted], &shares(&[on]))[0];
                    // The most that such a cause can do: a place that only ever is bad with it on, or always then.
                    let switch = [chance / on, (chance - on) / (1.0 - on)];
                    let both =
                        if switch[0] <= 1.0 { chance * switch[0] } else { on + (1.0 - on) * switch[1] * switch[1] };
                    let then = both / chance;
                    let most = then / (1.0 - then) * (1.0 - chance) / chance;
                    assert!(got <= wanted.min(most) * (1.0 + 1e-3), "{on} {chance} {wanted}: {got} of {most}");
                    if wanted < 0.6 * most {
                        assert!((got / wanted - 1.0).abs() < 1e-3, "{on} {chance} {wanted}: {got} of {most}");
                    }
                }
            }
        }
    }

    /// Several causes share the room that one would have alone, so a place that is seldom sound cannot meet the
    /// factors of all; none is overshot, and the one that should be stronger is
    /// never the weaker.
    #[test]
    fn invariant_of_several_causes_none_is_overshot_and_the_stronger_stays_the_stronger() {
        for chance in [0.05, 0.1, 0.3, 0.5, 0.72, 0.9] {
            for factors in [&[1.8, 1.8][..], &[1.5, 1.8], &[1.8, 1.8, 1.5], &[2.0, 2.0, 1.58], &[1.3, 1.3, 1.3, 1.3]] {
                let got = fitted(chance, factors, &shares(&vec![0.5; factors.len()]));
                for (got, wanted) in got.iter().zip(factors) {
                    assert!(*got > 1.05 && *got < wanted * 1.02, "{chance} {factors:?}: {got}");
                    // Where bad is rare there is room for all of them.
                    assert!(chance > 0.1 || (got / wanted - 1.0).abs() < 0.02, "{chance} {factors:?}: {got}");
                }
                for (a, wanted_a) in got.iter().zip(factors) {
                    for (b, wanted_b) in got.iter().zip(factors) {
                        assert!(wanted_a < wanted_b || a > &(b - 1e-9), "{chance} {factors:?}: {got:?}");
                    }
                }
            }
        }
    }

    /// Our own figures, those that the description of `Lean::factor` gives.
    #[test]
    fn regression_how_far_two_causes_meet_a_factor() {
        for (chance, expect) in [(0.3, 1.80), (0.5, 1.66), (0.72, 1.57), (0.9, 1.14)] {
            for got in fitted(chance, &[1.8, 1.8], &shares(&[0.5, 0.5])) {
                assert!((got - expect).abs() < 0.005, "{chance}: {got}");
            }
        }
    }

    #[test]
    fn invariant_causes_that_go_together_leave_the_chance_what_it_was() {
        // Both on, or both off, in seven cases of ten.
        for chance in [0.02, 0.3, 0.72] {
            let got = fitted(chance, &[1.8, 1.8], &[0.35, 0.15, 0.15, 0.35]);
            assert!((got[0] / got[1] - 1.0).abs() < 1e-9 && got[0] > 1.3 && got[0] < 1.84, "{chance}: {got:?}");
        }
    }
}
