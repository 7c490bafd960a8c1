//! The factors that all items of a sample share.

use base::normal::Scores;
use base::stream::Stream;

use crate::Common;

/// Of every sample, what the common factors add to each item's own numbers, and the shop's factor.
pub(super) struct Factors {
    /// The common part of the scores for how bad it is.
    pub(super) severity: Vec<f64>,
    /// The common part of the scores of the hours.
    pub(super) pace: Vec<f64>,
    /// What all hours are multiplied by.
    pub(super) shop: Vec<f64>,
}

/// The factors, spread evenly rather than thrown: much of the range comes from these three, and an even spread of
/// them takes most of the chance out of its quantiles.
///
/// A lattice of rank 1 by the square roots of 2 and 3 (R. D. Richtmyer, The evaluation of definite integrals, and a
/// quasi-Monte-Carlo method based on the properties of algebraic numbers, Los Alamos report LA-1342, 1951), shifted
/// at random (R. Cranley and T. N. L. Patterson, Randomization of number theoretic methods for multiple integration,
/// SIAM Journal on Numerical Analysis 13(6), 1976), as normal scores. Its points are dealt to the samples at random, so
/// that findings whose samples come in some order of their own do not go along with it.
pub(super) fn factors(samples: usize, common: Common, scores: &Scores, seed: u64) -> Factors {
    const SQRT_3: f64 = 1.732_050_807_568_877_2;
    let mut stream = Stream::new(seed, u64::MAX);
    let shift = [stream.uniform(), stream.uniform(), stream.uniform()];
    // Never 0, whose score is infinite.
    let score = |place: f64| scores.at(place.fract().max(f64::EPSILON));
    let (severe, _) = common.severity.loadings();
    let (slow, _) = common.hours.loadings();
    let points = dealt(samples, &mut stream);
    let at = |of: &dyn Fn(f64) -> f64| points.iter().map(|point| of(f64::from(*point))).collect();
    Factors {
        pace: at(&|point| slow * score(point / samples as f64 + shift[0])),
        shop: if common.shop.sd_log() == 0.0 {
            vec![common.shop.at(0.0); samples]
        } else {
            at(&|point| common.shop.at(score(point * std::f64::consts::SQRT_2 + shift[1])))
        },
        severity: at(&|point| severe * score(point * SQRT_3 + shift[2])),
    }
}

/// The numbers below `count` in an order by chance (R. A. Fisher and F. Yates, Statistical tables, 1938, as D. E. Knuth
/// has it, The Art of Computer Programming 2, algorithm P).
fn dealt(count: usize, stream: &mut Stream) -> Vec<u32> {
    let mut points: Vec<u32> = (0..).take(count).collect();
    for last in (1..count).rev() {
        let other = (stream.uniform() * (last + 1) as f64) as usize;
        points.swap(last, other.min(last));
    }
    points
}

#[cfg(test)]
mod tests {
    use super::{dealt, factors};
    use crate::{Common, Correlation, Shop};
    use base::normal::{self, Scores};
    use base::stream::Stream;

    #[test]
    fn dealing_loses_nothing_and_leaves_no_order() {
        let mut points = dealt(10_000, &mut Stream::new(1, 2));
        let product: f64 = points.iter().enumerate().map(|(place, point)| place as f64 * f64::from(*point)).sum();
        let (mean, square) = (4_999.5, (1e8 - 1.0) / 12.0);
        // The correlation of place and point has the standard error 1 / sqrt(n).
        assert!((product / 1e4 - mean * mean).abs() / square < 4.0 / 100.0);
        points.sort_unstable();
        assert!(points.into_iter().eq(0..10_000));
    }

    #[test]
    fn invariant_the_three_factors_are_even_and_have_nothing_in_common() {
        const SAMPLES: usize = 4_096;
        let common =
            Common { severity: Correlation::FULL, hours: Correlation::FULL, shop: Shop::new(0.3, 0.5).unwrap() };
        let got = factors(SAMPLES, common, &Scores::new(), 5);
        let shop: Vec<f64> = got.shop.iter().map(|factor| (base::math::ln(*factor) - 0.3) / 0.5).collect();
        let three = [&got.pace, &shop, &got.severity];
        for (place, factor) in three.iter().enumerate() {
            let mut chances: Vec<f64> = factor.iter().map(|score| normal::below(*score)).collect();
            chances.sort_unstable_by(f64::total_cmp);
            // Thrown, the farthest would be some 1.2 / sqrt(4096) = 0.02 off.
            let off = |(rank, chance): (usize, &f64)| (chance - (rank as f64 + 0.5) / SAMPLES as f64).abs();
            let farthest = chances.iter().enumerate().map(off).fold(0.0, f64::max);
            assert!(farthest < 0.002, "{place}: {farthest}");
            let next = three[(place + 1) % 3];
            let product: f64 = factor.iter().zip(next).map(|(a, b)| a * b).sum::<f64>() / SAMPLES as f64;
            // Thrown, 1 / sqrt(4096) = 0.016.
            assert!(product.abs() < 0.01, "{place}: {product}");
        }
    }
}
