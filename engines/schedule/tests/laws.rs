//! Laws that sums obey, their edges, and what is refused.

use proptest::prelude::*;
use schedule::risk::{MOST_SAMPLES, MOST_TASKS, sum};
use schedule::{Correlation, Outcome, RiskError, Shape, Spread, Task};

const BOTH: [Shape; 2] = [Shape::Triangular, Shape::Pert];

fn spread(low: f64, likely: f64, high: f64) -> Spread {
    Spread::new(low, likely, high).expect("three guesses that rise")
}

fn task(shape: Shape, low: f64, likely: f64, high: f64) -> Task {
    Task { spread: spread(low, likely, high), shape }
}

fn rho(rho: f64) -> Correlation {
    Correlation::new(rho).expect("a correlation from 0 to 1")
}

fn quantiles(outcome: &Outcome) -> [(f64, f64); 4] {
    [(0.1, outcome.p10), (0.5, outcome.p50), (0.8, outcome.p80), (0.95, outcome.p95)]
}

/// Ten tasks of several forms: skewed either way, even, at an end, fixed.
fn ten(shape: Shape) -> Vec<Task> {
    (0..10)
        .map(|n| {
            let n = f64::from(n);
            task(shape, n, n + n * 0.5, n + n * 0.5 + (9.0 - n) * 0.7)
        })
        .collect()
}

#[test]
fn invariant_wholly_tied_quantiles_add_up() {
    for shape in BOTH {
        let tasks = ten(shape);
        let tied = sum(&tasks, Correlation::FULL, 1_000, 1).unwrap();
        for (p, got) in quantiles(&tied) {
            let expect: f64 = tasks.iter().map(|task| task.spread.quantile(shape, p)).sum();
            assert!((got - expect).abs() < 1e-12 * expect, "{p}: {got} {expect}");
        }
    }
}

#[test]
fn invariant_alike_tasks_wholly_tied_are_one_large_task() {
    for shape in BOTH {
        let large = spread(12.0, 18.0, 60.0);
        let tied = sum(&[task(shape, 2.0, 3.0, 10.0); 6], Correlation::FULL, 1_000, 1).unwrap();
        assert!((tied.mean - large.mean(shape)).abs() < 1e-12);
        // The integral over the score is cut off where one number in 12 thousand million lies.
        assert!((tied.sd / large.sd(shape) - 1.0).abs() < 1e-4, "{} {}", tied.sd, large.sd(shape));
        for (p, got) in quantiles(&tied) {
            assert!((got - large.quantile(shape, p)).abs() < 1e-11);
        }
    }
}

#[test]
fn invariant_one_task_is_itself_at_any_correlation() {
    for shape in BOTH {
        let one = task(shape, 4.0, 6.0, 15.0);
        for (correlation, allowed) in [(0.0, 1e-12), (1.0, 1e-4), (0.4, 0.06)] {
            let got = sum(&[one], rho(correlation), 100_000, 3).unwrap();
            assert!((got.mean - one.spread.mean(shape)).abs() < 1e-12);
            assert!((got.sd - one.spread.sd(shape)).abs() < allowed, "{correlation} {got:?}");
            for (p, got) in quantiles(&got) {
                // Sampled: some four standard errors, 0.014 at P95.
                assert!((got - one.spread.quantile(shape, p)).abs() < allowed, "{correlation} {p}: {got}");
            }
        }
    }
}

#[test]
fn fixed_tasks_are_fixed_and_only_shift_the_others() {
    for shape in BOTH {
        for correlation in [0.0, 0.3, 1.0] {
            let fixed = [task(shape, 2.0, 2.0, 2.0), task(shape, 5.5, 5.5, 5.5)];
            let got = sum(&fixed, rho(correlation), 1_000, 1).unwrap();
            assert_eq!((got.mean, got.sd), (7.5, 0.0));
            assert!(quantiles(&got).iter().all(|(_, got)| *got == 7.5));

            let moving = [task(shape, 1.0, 2.0, 4.0), task(shape, 1.0, 3.0, 9.0)];
            let alone = sum(&moving, rho(correlation), 1_000, 1).unwrap();
            // Last, so that the others draw the same numbers.
            let shifted = sum(&[moving[0], moving[1], fixed[0]], rho(correlation), 1_000, 1).unwrap();
            assert!((shifted.sd - alone.sd).abs() < 1e-9);
            for ((_, alone), (_, shifted)) in quantiles(&alone).iter().zip(quantiles(&shifted)) {
                assert!((shifted - alone - 2.0).abs() < 1e-9, "{correlation}: {alone} {shifted}");
            }
        }
    }
}

/// The distribution of a sum of `n` uniform numbers, from 0 to 1 each (J. O. Irwin and P. Hall, both in
/// Biometrika 19, 1927): `sum over k of (-1)^k C(n, k) (x - k)^n / n!`.
fn irwin_hall(n: i32, x: f64) -> f64 {
    let mut sum = 0.0;
    let mut choose = 1.0;
    for k in 0..=n {
        if f64::from(k) > x {
            break;
        }
        let power = (0..n).map(|_| x - f64::from(k)).product::<f64>();
        sum += choose * power * if k % 2 == 0 { 1.0 } else { -1.0 };
        choose *= f64::from(n - k) / f64::from(k + 1);
    }
    sum / (1..=n).map(f64::from).product::<f64>()
}

/// Irwin and Hall 1927: an even triangular number is the sum of two uniform ones.
#[test]
fn published_sum_of_uniform_numbers() {
    for n in [2, 3, 5] {
        let tasks = vec![task(Shape::Triangular, 0.0, 1.0, 2.0); n as usize];
        let got = sum(&tasks, Correlation::NONE, 1_000, 1).unwrap();
        assert!((got.sd - (f64::from(n) / 6.0).sqrt()).abs() < 1e-12);
        for (p, got) in quantiles(&got) {
            assert!((irwin_hall(2 * n, got) - p).abs() < 1e-6, "{n} {p}: {}", irwin_hall(2 * n, got));
        }
    }
}

/// The expansion of E. A. Cornish and R. A. Fisher (Abramowitz and Stegun, Handbook of Mathematical
/// Functions, 1964, 26.2.49): an even sum's quantile is `z + (z^3 - 3 z) excess / 24` standard deviations from its
/// mean. An even triangular number has an excess of -0.6. What is left out is of the order of 1e-7; a task
/// of only eight lattice steps, as here, loses some of its excess and of its smoothness, worth 3e-5.
#[test]
fn published_expansion_for_five_hundred_tasks() {
    let got = sum(&[task(Shape::Triangular, 0.0, 1.0, 2.0); 500], Correlation::NONE, 1_000, 1).unwrap();
    let (sd, excess) = ((500.0_f64 / 6.0).sqrt(), -0.6 / 500.0);
    for ((p, got), z) in quantiles(&got).iter().zip([-1.281_551_565_545, 0.0, 0.841_621_233_573, 1.644_853_626_951]) {
        let expect = z + (z * z * z - 3.0 * z) * excess / 24.0;
        let at = (got - 500.0) / sd;
        assert!((at - expect).abs() < 5e-5, "{p}: {at} {expect}");
    }
}

#[test]
fn likely_at_either_end_is_a_mirror_image() {
    for shape in BOTH {
        let falling = sum(&[task(shape, 0.0, 0.0, 6.0); 3], Correlation::NONE, 1_000, 1).unwrap();
        let rising = sum(&[task(shape, 0.0, 6.0, 6.0); 3], Correlation::NONE, 1_000, 1).unwrap();
        assert!((falling.mean + rising.mean - 18.0).abs() < 1e-12 && (falling.sd - rising.sd).abs() < 1e-12);
        assert!((falling.p50 + rising.p50 - 18.0).abs() < 1e-9, "{} {}", falling.p50, rising.p50);
        // A step in the density at 0, and none of it lost.
        let sampled = sum(&[task(shape, 0.0, 0.0, 6.0); 3], rho(1e-9), 200_000, 5).unwrap();
        for ((p, exact), (_, sampled)) in quantiles(&falling).iter().zip(quantiles(&sampled)) {
            // Three standard errors at the thinnest of the four places are 0.03.
            assert!((exact - sampled).abs() < 0.03, "{p}: {exact} {sampled}");
        }
    }
}

#[test]
fn a_hundred_tasks_of_very_different_size_are_near_normal_and_keep_their_spread() {
    let tasks: Vec<Task> = (0..100)
        .map(|n| {
            let size = 0.1 + f64::from(n % 10);
            task(Shape::Pert, size, 1.5 * size, 3.0 * size)
        })
        .collect();
    let got = sum(&tasks, Correlation::NONE, 1_000, 1).unwrap();
    // The scores of a normal distribution; the sum of a hundred leaves a skewness of 0.07, worth 0.02.
    for ((_, got_at), score) in quantiles(&got).iter().zip([-1.281_551_565_5, 0.0, 0.841_621_233_6, 1.644_853_627]) {
        assert!(((got_at - got.mean) / got.sd - score).abs() < 0.025, "{score}: {}", (got_at - got.mean) / got.sd);
    }
}

fn in_threads<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> T {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads").install(work)
}

#[test]
fn invariant_one_thread_and_two_give_the_same_bits_and_another_seed_does_not() {
    let tasks = ten(Shape::Triangular);
    // Not a whole number of chunks.
    let draw = |seed| sum(&tasks, rho(0.3), 20_001, seed).unwrap();
    let alone = in_threads(1, || draw(7));
    assert_eq!(alone, in_threads(2, || draw(7)));
    let other = draw(8);
    assert!(alone.p50 != other.p50 && alone.sd != other.sd);
}

#[test]
fn what_is_out_of_range_is_refused_with_its_value() {
    assert_eq!(Spread::new(3.0, 2.0, 5.0), Err(RiskError::NotRising { low: 3.0, likely: 2.0, high: 5.0 }));
    assert_eq!(Spread::new(1.0, 6.0, 5.0), Err(RiskError::NotRising { low: 1.0, likely: 6.0, high: 5.0 }));
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1.1e9] {
        assert!(matches!(Spread::new(1.0, 2.0, bad), Err(RiskError::OutOfRange { what: "the high guess", .. })));
        assert!(matches!(Spread::new(bad, 2.0, 3.0), Err(RiskError::OutOfRange { what: "the low guess", .. })));
        assert!(Correlation::new(bad).is_err());
    }
    assert_eq!(Correlation::new(-0.1).unwrap_err().to_string(), "the correlation is -0.1; it must be from 0 to 1");
    let one = task(Shape::Pert, 1.0, 2.0, 3.0);
    for (tasks, samples) in [(0, 1_000), (MOST_TASKS + 1, 1_000), (1, 999), (1, MOST_SAMPLES + 1)] {
        let refused = sum(&vec![one; tasks], Correlation::NONE, samples, 1);
        assert!(matches!(refused, Err(RiskError::Count { .. })), "{tasks} {samples}");
    }
    let none = sum(&[], Correlation::NONE, 1_000, 1).unwrap_err();
    assert_eq!(none.to_string(), "0 tasks; there must be from 1 to 500");
}

#[test]
fn quantiles_beyond_the_ends_and_of_nothing() {
    for shape in BOTH {
        let task = spread(4.0, 6.0, 15.0);
        assert_eq!((task.quantile(shape, -1.0), task.quantile(shape, 0.0)), (4.0, 4.0));
        assert_eq!((task.quantile(shape, 1.0), task.quantile(shape, 7.0)), (15.0, 15.0));
        assert!(task.quantile(shape, f64::NAN).is_nan());
        assert_eq!(spread(3.0, 3.0, 3.0).quantile(shape, 0.9), 3.0);
    }
}

/// Our own figures, kept so that a change of the stream, of a chunk or of a table is seen.
#[test]
fn regression_bits_of_a_sum() {
    let drawn = sum(&ten(Shape::Pert), rho(0.3), 10_000, 42).unwrap();
    let bits = [drawn.sd, drawn.p10, drawn.p95].map(f64::to_bits);
    assert_eq!(bits, [4617849054507901685, 4633930304301649347, 4635214120944449815]);
}

fn any_spread() -> impl Strategy<Value = (f64, f64, f64)> {
    (0.0f64..50.0, 0.0f64..20.0, 0.0f64..30.0).prop_map(|(low, up, down)| (low, low + up, low + up + down))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn invariant_a_sum_rises_within_its_ends(
        guesses in proptest::collection::vec(any_spread(), 1..6), correlation in prop_oneof![Just(0.0), Just(1.0), 0.0f64..1.0],
        pert in any::<bool>(),
    ) {
        let shape = if pert { Shape::Pert } else { Shape::Triangular };
        let tasks: Vec<Task> = guesses.iter().map(|(low, likely, high)| task(shape, *low, *likely, *high)).collect();
        let got = sum(&tasks, rho(correlation), 2_000, 9).unwrap();
        let low: f64 = guesses.iter().map(|guess| guess.0).sum();
        let high: f64 = guesses.iter().map(|guess| guess.2).sum();
        let rising = [low - 1e-9, got.p10, got.p50, got.p80, got.p95, high + 1e-9];
        prop_assert!(rising.windows(2).all(|pair| pair[0] <= pair[1]), "{:?}", rising);
        prop_assert!(got.mean >= low - 1e-9 && got.mean <= high + 1e-9 && got.sd >= 0.0 && got.sd <= high - low);
    }

    #[test]
    fn invariant_twice_the_hours_is_twice_the_outcome(
        guesses in proptest::collection::vec(any_spread(), 2..5), correlation in prop_oneof![Just(0.0), Just(1.0), 0.0f64..1.0],
    ) {
        let of = |times: f64| {
            let tasks: Vec<Task> =
                guesses.iter().map(|(low, likely, high)| task(Shape::Pert, low * times, likely * times, high * times)).collect();
            sum(&tasks, rho(correlation), 2_000, 9).unwrap()
        };
        let (once, twice) = (of(1.0), of(2.0));
        // Doubling is exact in binary.
        prop_assert_eq!(twice.sd, 2.0 * once.sd);
        prop_assert_eq!(quantiles(&twice).map(|q| q.1), quantiles(&once).map(|q| 2.0 * q.1));
    }

    #[test]
    fn invariant_more_in_common_is_a_wider_sum(guesses in proptest::collection::vec(any_spread(), 2..6)) {
        let tasks: Vec<Task> = guesses.iter().map(|(low, likely, high)| task(Shape::Pert, *low, *likely, *high)).collect();
        let sds = [0.0, 0.3, 0.7, 1.0].map(|correlation| sum(&tasks, rho(correlation), 20_000, 9).unwrap().sd);
        // Two standard errors of a sampled standard deviation are 1 %.
        prop_assert!(sds.windows(2).all(|pair| pair[0] <= pair[1] * 1.015 + 1e-9), "{:?}", sds);
    }

    #[test]
    fn invariant_quantiles_rise(guess in any_spread(), p in 0.0f64..1.0, more in 0.0f64..1.0) {
        for shape in BOTH {
            let spread = spread(guess.0, guess.1, guess.2);
            let (here, there) = (spread.quantile(shape, p), spread.quantile(shape, p + more * (1.0 - p)));
            prop_assert!(spread.low() <= here && here <= there + 1e-9 && there <= spread.high());
        }
    }
}
