//! A sample as a picture.

/// The most bins.
const MOST_BINS: f64 = 60.0;
/// A sample narrower than this share of its size is one number.
const ROUNDING: f64 = 1e-9;

/// Middle of each bin and the share of the sample in it, for numbers that are sorted.
///
/// Equally wide bins, at most 60, with edges at whole multiples of 1, 2 or 5 times a power of ten, each from its lower
/// edge on; the shares add up to 1. Numbers that are all alike are one bin around themselves.
pub(crate) fn histogram(sorted: &[f64]) -> Vec<(f64, f64)> {
    let (Some(low), Some(high)) = (sorted.first(), sorted.last()) else { return Vec::new() };
    if high - low <= ROUNDING * high.abs().max(low.abs()) {
        return vec![(0.5 * (low + high), 1.0)];
    }
    // The ends may each cut a bin.
    let width = round_up((high - low) / (MOST_BINS - 2.0));
    let first = (low / width).floor();
    let bins = (high / width).floor() - first + 1.0;
    let mut counts = vec![0_u32; bins as usize];
    for number in sorted {
        let bin = ((number / width).floor() - first) as usize;
        if let Some(count) = counts.get_mut(bin) {
            *count += 1;
        }
    }
    let share = |count: u32| f64::from(count) / sorted.len() as f64;
    let middle = |bin: usize| (first + bin as f64 + 0.5) * width;
    counts.into_iter().enumerate().map(|(bin, count)| (middle(bin), share(count))).collect()
}

/// The least of 1, 2 and 5 times a power of ten that is not below `width`, which is above 0 and finite.
fn round_up(width: f64) -> f64 {
    let mut power = 1.0;
    while power > width {
        power /= 10.0;
    }
    while power * 10.0 <= width {
        power *= 10.0;
    }
    [1.0, 2.0, 5.0].into_iter().map(|times| times * power).find(|round| *round >= width).unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::{histogram, round_up};

    #[test]
    fn widths_are_round_and_never_narrower() {
        let given = [0.03, 0.1, 0.11, 1.0, 1.9, 3.0, 7.0, 1_000.0, 5_001.0];
        let expect = [0.05, 0.1, 0.2, 1.0, 2.0, 5.0, 10.0, 1_000.0, 10_000.0];
        for (given, expect) in given.into_iter().zip(expect) {
            assert!((round_up(given) / expect - 1.0_f64).abs() < 1e-14, "{given}: {}", round_up(given));
        }
    }

    #[test]
    fn counted_by_hand() {
        // 0 to 58: bins of 1 h, 59 of them.
        let got = histogram(&[0.0, 0.5, 1.0, 58.0]);
        assert_eq!(got.len(), 59);
        assert_eq!((got[0], got[1], got[2], got[58]), ((0.5, 0.5), (1.5, 0.25), (2.5, 0.0), (58.5, 0.25)));
        assert_eq!(histogram(&[7.5, 7.5]), [(7.5, 1.0)]);
        assert_eq!(histogram(&[0.0]), [(0.0, 1.0)]);
        assert_eq!(histogram(&[]), []);
    }

    #[test]
    fn invariant_nothing_is_lost_whatever_the_size() {
        for size in [1e-6, 0.37, 1.0, 83.0, 4e7] {
            for from in [0.0, 0.2, 1e3] {
                let sorted: Vec<f64> = (0..1_000).map(|n| size * (from + f64::from(n * n) / 1e6)).collect();
                let got = histogram(&sorted);
                assert!(got.len() > 20 && got.len() <= 60, "{size} {from}: {}", got.len());
                assert!((got.iter().map(|bin| bin.1).sum::<f64>() - 1.0).abs() < 1e-9);
                let middle: f64 = got.iter().map(|(hours, share)| hours * share).sum();
                let mean = sorted.iter().sum::<f64>() / 1e3;
                // No more than half a bin off.
                assert!((middle - mean).abs() <= 0.5 * (got[1].0 - got[0].0), "{middle} {mean}");
            }
        }
    }
}
