//! Laws that sums and ranges obey, their edges, and what is refused.

use proptest::prelude::*;
use schedule::range::{mean, range};
use schedule::risk::{MOST_SAMPLES, MOST_TASKS, sum};
use schedule::{Correlation, Correlations, Item, Outcome, RiskError, Shape, Spread, Task, Way};

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

fn common(finding: f64, hours: f64) -> Correlations {
    Correlations { finding: rho(finding), hours: rho(hours) }
}

fn quantiles(outcome: &Outcome) -> [(f64, f64); 4] {
    [(0.1, outcome.p10), (0.5, outcome.p50), (0.8, outcome.p80), (0.95, outcome.p95)]
}

fn one_way(chance: f64, parts: Vec<Spread>) -> Item {
    let way = Way::new(1.0, parts).expect("a way");
    Item::new(chance, vec![way]).expect("an item")
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
    let items = [one_way(0.5, vec![spread(1.0, 2.0, 5.0)]), one_way(0.2, vec![spread(3.0, 4.0, 9.0)])];
    // Not a whole number of chunks.
    let draw =
        |seed| (sum(&tasks, rho(0.3), 20_001, seed).unwrap(), range(&items, common(0.2, 0.3), 20_001, seed).unwrap());
    let alone = in_threads(1, || draw(7));
    assert_eq!(alone, in_threads(2, || draw(7)));
    let other = draw(8);
    assert!(alone.0.p50 != other.0.p50 && alone.0.sd != other.0.sd);
    assert!(alone.1.outcome.p80 != other.1.outcome.p80 && alone.1.share != other.1.share);
}

#[test]
fn invariant_common_factors_are_spread_evenly_and_shifted_by_the_seed() {
    let part = spread(2.0, 3.0, 7.0);
    let items = [one_way(1.0, vec![part]), one_way(1.0, vec![part, part])];
    // Wholly tied, nothing but the common factor is left: three times one task.
    let draw = |seed| range(&items, common(1.0, 1.0), 4_096, seed).unwrap().outcome;
    let (one, other) = (draw(1), draw(2));
    assert!(one.p50 != other.p50 && one.p95 != other.p95);
    for got in [one, other] {
        // Independent samples would have a standard error of 0.09 at P95; here two ranks are worth 0.013.
        for (p, got) in quantiles(&got) {
            assert!((got - 3.0 * part.quantile(Shape::Pert, p)).abs() < 0.02, "{p}: {got}");
        }
    }
}

#[test]
fn invariant_certain_items_are_a_sum_of_pert_tasks() {
    let spreads = [spread(2.0, 3.0, 7.0), spread(1.0, 4.0, 5.0), spread(0.0, 0.0, 6.0), spread(4.0, 4.0, 4.0)];
    let items: Vec<Item> = spreads.iter().map(|spread| one_way(1.0, vec![*spread])).collect();
    let tasks: Vec<Task> = spreads.iter().map(|spread| Task { spread: *spread, shape: Shape::Pert }).collect();
    const SAMPLES: usize = 100_000;
    for hours in [0.0, 0.4, 1.0] {
        // What is certain is found whatever findings have in common.
        let got = range(&items, common(0.7, hours), SAMPLES, 11).unwrap().outcome;
        let expect = sum(&tasks, rho(hours), 1_000_000, 12).unwrap();
        assert!((got.mean - expect.mean).abs() < 1e-12);
        let (root, sd) = ((SAMPLES as f64).sqrt(), expect.sd);
        assert!((got.sd - sd).abs() < 3.0 * sd / (2.0_f64.sqrt() * root) + 1e-3, "{hours}");
        // sqrt(p (1 - p)) over the normal density at the four places; a twentieth more for the million samples,
        // a tenth for a sum that is not quite normal.
        for (((p, got), (_, expect)), error) in
            quantiles(&got).iter().zip(quantiles(&expect)).zip([1.709, 1.253, 1.429, 2.113])
        {
            let allowed = 3.0 * 1.15 * error * sd / root;
            assert!((got - expect).abs() < allowed, "{hours} {p}: {got} instead of {expect}, {allowed} allowed");
        }
    }
}

#[test]
fn invariant_independent_findings_have_the_variance_of_the_closed_form() {
    const SAMPLES: usize = 200_000;
    let ways = |list: &[(f64, [f64; 3])]| -> Vec<(f64, Spread)> {
        list.iter().map(|(weight, [low, likely, high])| (*weight, spread(*low, *likely, *high))).collect()
    };
    let described = [
        (0.3, ways(&[(5.0, [2.0, 3.0, 5.0]), (3.5, [7.0, 12.0, 19.0]), (1.5, [12.0, 20.0, 34.0])])),
        (0.72, ways(&[(1.0, [1.0, 2.0, 4.0]), (1.0, [3.0, 4.0, 9.0])])),
        (0.1, ways(&[(1.0, [10.0, 20.0, 30.0])])),
    ];
    let mut closed_mean = 0.0;
    let mut closed_variance = 0.0;
    let mut items = Vec::new();
    for (chance, ways) in &described {
        let weights: f64 = ways.iter().map(|way| way.0).sum();
        // Moments of the hours once it is there, over its ways.
        let over_ways =
            |moment: &dyn Fn(&Spread) -> f64| ways.iter().map(|w| w.0 / weights * moment(&w.1)).sum::<f64>();
        let first = over_ways(&|s| s.mean(Shape::Pert));
        let second = over_ways(&|s| s.mean(Shape::Pert) * s.mean(Shape::Pert) + s.sd(Shape::Pert) * s.sd(Shape::Pert));
        closed_mean += chance * first;
        closed_variance += chance * second - chance * chance * first * first;
        items.push(Item::new(*chance, ways.iter().map(|w| Way::new(w.0, vec![w.1]).unwrap()).collect()).unwrap());
    }
    assert!((mean(&items) - closed_mean).abs() < 1e-12);
    let got = range(&items, common(0.0, 0.0), SAMPLES, 4).unwrap();
    assert!((got.outcome.mean - closed_mean).abs() < 1e-12);
    // A kurtosis of up to 6 makes the standard error of a variance sqrt(5 / samples) of it.
    let off = got.outcome.sd * got.outcome.sd / closed_variance - 1.0;
    assert!(off.abs() < 3.0 * (5.0 / SAMPLES as f64).sqrt(), "{off}");
    // Independent items: each owes its own variance.
    let own = 0.1 * (20.0 * 20.0 + 400.0 / 28.0) - 0.01 * 400.0;
    assert!((got.share[2] - own / closed_variance).abs() < 0.01, "{} {}", got.share[2], own / closed_variance);
}

#[test]
fn a_car_that_is_worse_needs_fuller_repairs() {
    let fixed = |hours| vec![spread(hours, hours, hours)];
    let ways = vec![Way::new(7.0, fixed(0.0)).unwrap(), Way::new(3.0, fixed(10.0)).unwrap()];
    let items = [Item::new(1.0, ways).unwrap(), one_way(0.1, fixed(100.0))];
    // Wholly tied, the second is there only in the worst tenth, within the worst three tenths that take
    // the first's harder way: 0 in seven cars of ten, 10 in two, 110 in one.
    let tied = range(&items, common(1.0, 0.0), 200_000, 1).unwrap();
    assert_eq!((tied.outcome.p50, tied.outcome.p80, tied.outcome.p95), (0.0, 10.0, 110.0));
    assert!((tied.outcome.mean - 13.0).abs() < 1e-12);
    // The variance by hand, 20 + 1 210 - 169; a common factor spread evenly counts it off almost exactly.
    assert!((tied.outcome.sd - 1_061.0_f64.sqrt()).abs() < 2e-3, "{}", tied.outcome.sd);
    // Not tied: 0 in 63 of a hundred, 10 in 27, 100 in 7, both in 3.
    let loose = range(&items, common(0.0, 0.0), 20_000, 1).unwrap();
    assert_eq!((loose.outcome.p80, loose.outcome.p95), (10.0, 100.0));
}

#[test]
fn what_never_happens_and_what_never_varies_owe_nothing() {
    let items = [
        one_way(0.0, vec![spread(1.0, 2.0, 9.0)]),
        one_way(1.0, vec![spread(5.0, 5.0, 5.0)]),
        one_way(0.5, vec![spread(1.0, 2.0, 3.0)]),
    ];
    let got = range(&items, common(0.3, 0.3), 2_000, 1).unwrap();
    assert_eq!(got.share[0], 0.0);
    assert!(got.share[1].abs() < 1e-9 && (got.share[2] - 1.0).abs() < 1e-9, "{:?}", got.share);
    let still = range(&items[..2], common(0.3, 0.3), 2_000, 1).unwrap();
    assert_eq!((still.share, still.outcome.p10, still.outcome.p95), (vec![0.0, 0.0], 5.0, 5.0));
    assert_eq!(still.outcome.sd, 0.0);
}

#[test]
fn what_is_out_of_range_is_refused_with_its_value() {
    assert_eq!(Spread::new(3.0, 2.0, 5.0), Err(RiskError::NotRising { low: 3.0, likely: 2.0, high: 5.0 }));
    assert_eq!(Spread::new(1.0, 6.0, 5.0), Err(RiskError::NotRising { low: 1.0, likely: 6.0, high: 5.0 }));
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1.1e9] {
        assert!(matches!(Spread::new(1.0, 2.0, bad), Err(RiskError::OutOfRange { what: "the high guess", .. })));
        assert!(matches!(Spread::new(bad, 2.0, 3.0), Err(RiskError::OutOfRange { what: "the low guess", .. })));
        assert!(Correlation::new(bad).is_err() && Way::new(bad, vec![spread(1.0, 1.0, 1.0)]).is_err());
    }
    assert_eq!(Correlation::new(-0.1).unwrap_err().to_string(), "the correlation is -0.1; it must be from 0 to 1");
    let one = task(Shape::Pert, 1.0, 2.0, 3.0);
    for (tasks, samples) in [(0, 1_000), (MOST_TASKS + 1, 1_000), (1, 999), (1, MOST_SAMPLES + 1)] {
        let refused = sum(&vec![one; tasks], Correlation::NONE, samples, 1);
        assert!(matches!(refused, Err(RiskError::Count { .. })), "{tasks} {samples}");
    }
    let none = sum(&[], Correlation::NONE, 1_000, 1).unwrap_err();
    assert_eq!(none.to_string(), "0 tasks; there must be from 1 to 500");

    let way = |weight| Way::new(weight, vec![spread(1.0, 2.0, 3.0)]).unwrap();
    assert!(Way::new(-1.0, vec![]).is_err() && Way::new(1.0, vec![]).is_err());
    assert!(Way::new(1.0, vec![spread(0.0, 0.0, 0.0); 21]).is_err());
    assert!(Item::new(1.5, vec![way(1.0)]).is_err() && Item::new(f64::NAN, vec![way(1.0)]).is_err());
    assert!(Item::new(0.5, vec![]).is_err() && Item::new(0.5, vec![way(1.0); 11]).is_err());
    assert_eq!(Item::new(0.5, vec![way(0.0); 3]), Err(RiskError::NoWeight { sum: 0.0 }));
    assert!(range(&[], common(0.0, 0.0), 1_000, 1).is_err());
    assert!(range(&[Item::new(0.5, vec![way(1.0)]).unwrap()], common(0.0, 0.0), 10, 1).is_err());
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
fn regression_bits_of_a_sum_and_a_range() {
    let drawn = sum(&ten(Shape::Pert), rho(0.3), 10_000, 42).unwrap();
    let item = |chance| one_way(chance, vec![spread(1.0, 2.0, 5.0), spread(0.5, 1.0, 1.5)]);
    let ranged = range(&[item(0.9), item(0.4)], common(0.2, 0.3), 10_000, 42).unwrap();
    let bits =
        [drawn.sd, drawn.p10, drawn.p95, ranged.outcome.sd, ranged.outcome.p80, ranged.share[0]].map(f64::to_bits);
    assert_eq!(
        bits,
        [
            4617849054507901685,
            4633930304301649347,
            4635214120944449815,
            4612304364415755469,
            4618922795752057238,
            4600593857597277586
        ]
    );
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

    #[test]
    fn invariant_shares_add_up_to_one(
        chances in proptest::collection::vec(0.02f64..0.98, 1..8), finding in 0.0f64..1.0, hours in 0.0f64..1.0,
    ) {
        let items: Vec<Item> = chances.iter().map(|chance| one_way(*chance, vec![spread(2.0, 3.0, 7.0)])).collect();
        let got = range(&items, common(finding, hours), 2_000, 3).unwrap();
        prop_assert!((got.share.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        prop_assert!(got.outcome.p10 <= got.outcome.p50 && got.outcome.p80 <= got.outcome.p95);
    }
}
