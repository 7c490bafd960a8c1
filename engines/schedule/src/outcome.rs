//! What a sum of uncertain numbers comes to.

/// Mean, standard deviation and the numbers that 10, 50, 80 and 95 of a hundred outcomes stay below, in
/// the unit of what was added.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// Mean, worked out, not from the sample.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// One outcome in ten is lower.
    pub p10: f64,
    /// As often lower as higher.
    pub p50: f64,
    /// Four outcomes in five are lower.
    pub p80: f64,
    /// Nineteen outcomes in twenty are lower.
    pub p95: f64,
}

impl Outcome {
    /// With each quantile as `at` gives it.
    pub(crate) fn with(mean: f64, sd: f64, at: impl Fn(f64) -> f64) -> Self {
        Self { mean, sd, p10: at(0.1), p50: at(0.5), p80: at(0.8), p95: at(0.95) }
    }

    /// With the quantiles of a sample, which is put into another order. Each is the smallest number that
    /// at least its share of the sample does not exceed (type 1 of Hyndman and Fan, Sample quantiles in
    /// statistical packages, The American Statistician 50(4), 1996).
    pub(crate) fn of_sample(mean: f64, sd: f64, sample: &mut [f64]) -> Self {
        let rank = |p: f64| rank(p, sample.len());
        let [i10, i50, i80, i95] = [0.1, 0.5, 0.8, 0.95].map(rank);
        let (below, p50, above) = sample.select_nth_unstable_by(i50, f64::total_cmp);
        let p50 = *p50;
        let p10 = nth(below, i10, p50);
        let p80 = nth(above, i80 - i50 - 1, p50);
        let p95 = nth(above, i95 - i50 - 1, p50);
        Self { mean, sd, p10, p50, p80, p95 }
    }
}

/// The place, from 0, of the number that the share `p` of `count` sorted ones does not exceed.
pub(crate) fn rank(p: f64, count: usize) -> usize {
    ((p * count as f64).ceil() as usize).saturating_sub(1)
}

/// The number of this rank; a place that is not there takes its neighbour.
fn nth(sample: &mut [f64], rank: usize, otherwise: f64) -> f64 {
    if rank >= sample.len() {
        return otherwise;
    }
    *sample.select_nth_unstable_by(rank, f64::total_cmp).1
}

/// Standard deviation from the sums of the differences from any fixed number and of their squares.
pub(crate) fn sd_of(count: usize, sum: f64, squares: f64) -> f64 {
    let count = count as f64;
    ((squares - sum * sum / count) / (count - 1.0)).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::{Outcome, sd_of};

    #[test]
    fn quantiles_of_a_thousand_numbers_are_counted_off() {
        let mut sample: Vec<f64> = (1..=1_000).map(f64::from).rev().collect();
        let got = Outcome::of_sample(0.0, 0.0, &mut sample);
        assert_eq!((got.p10, got.p50, got.p80, got.p95), (100.0, 500.0, 800.0, 950.0));
        // One more moves every rank up to the next whole one.
        let mut sample: Vec<f64> = (1..=1_001).map(f64::from).collect();
        let got = Outcome::of_sample(0.0, 0.0, &mut sample);
        assert_eq!((got.p10, got.p50, got.p80, got.p95), (101.0, 501.0, 801.0, 951.0));
    }

    #[test]
    fn the_standard_deviation_does_not_depend_on_where_it_is_counted_from() {
        // 1, 2, 3, 4 by hand: 5/3 is the variance.
        for from in [0.0, 2.5, -7.0] {
            let differences = [1.0, 2.0, 3.0, 4.0].map(|x| x - from);
            let squares = differences.iter().map(|d| d * d).sum();
            assert!((sd_of(4, differences.iter().sum(), squares) - (5.0_f64 / 3.0).sqrt()).abs() < 1e-12);
        }
    }
}
