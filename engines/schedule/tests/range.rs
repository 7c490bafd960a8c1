//! Laws that ranges obey, their edges, and what is refused.

use base::stream::Stream;
use proptest::prelude::*;
use schedule::range::{MOST_ITEMS, mean, range};
use schedule::risk::sum;
use schedule::{
    Common, Correlation, Findings, Item, MOST_COLUMNS, MOST_DRAWS, Outcome, Part, Ranged, RiskError, Shape, Shop,
    Spread, Task, Way,
};

fn spread(low: f64, likely: f64, high: f64) -> Spread {
    Spread::new(low, likely, high).expect("three guesses that rise")
}

fn fixed(hours: f64) -> Spread {
    spread(hours, hours, hours)
}

fn rho(rho: f64) -> Correlation {
    Correlation::new(rho).expect("a correlation from 0 to 1")
}

fn common(severity: f64, hours: f64) -> Common {
    Common { severity: rho(severity), hours: rho(hours), shop: Shop::ONE }
}

fn with_shop(severity: f64, hours: f64, mean_log: f64, sd_log: f64) -> Common {
    Common { shop: Shop::new(mean_log, sd_log).expect("a factor"), ..common(severity, hours) }
}

fn quantiles(outcome: &Outcome) -> [(f64, f64); 4] {
    [(0.1, outcome.p10), (0.5, outcome.p50), (0.8, outcome.p80), (0.95, outcome.p95)]
}

fn way(weight: f64, parts: &[(usize, Spread)]) -> Way {
    let parts = parts.iter().map(|(stage, hours)| Part { stage: *stage, hours: *hours }).collect();
    Way::new(weight, parts).expect("a way")
}

fn always(hours: Spread) -> Item {
    Item::always(vec![way(1.0, &[(0, hours)])]).expect("an item")
}

fn drawn(column: usize, chance: f64, hours: Spread) -> Item {
    Item::drawn(column, chance, vec![way(1.0, &[(0, hours)])]).expect("an item")
}

/// Findings that have nothing in common.
fn apart(samples: usize, chances: &[f64], seed: u64) -> Findings {
    let mut stream = Stream::new(seed, 3);
    let columns: Vec<Vec<bool>> =
        chances.iter().map(|chance| (0..samples).map(|_| stream.uniform() < *chance).collect()).collect();
    Findings::of_flags(samples, &columns).expect("as many flags as samples")
}

fn certain(items: &[Item], samples: usize, common: Common, seed: u64) -> Ranged {
    range(items, &Findings::none(samples).expect("samples"), common, seed).expect("a range")
}

fn in_threads<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> T {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads").install(work)
}

/// Three items in two stages, two of which hang on findings.
fn three() -> Vec<Item> {
    let harder = way(1.0, &[(0, spread(1.0, 2.0, 4.0)), (1, spread(6.0, 9.0, 20.0))]);
    let ways = vec![way(3.0, &[(1, spread(1.0, 2.0, 5.0))]), harder];
    vec![
        always(spread(2.0, 3.0, 7.0)),
        Item::drawn(0, 0.5, ways).expect("an item"),
        drawn(1, 0.2, spread(3.0, 4.0, 9.0)),
    ]
}

#[test]
fn invariant_one_thread_and_two_give_the_same_bits_and_another_seed_does_not() {
    // Not a whole number of chunks or words.
    let findings = apart(20_001, &[0.5, 0.2], 1);
    let draw = |seed| range(&three(), &findings, with_shop(0.2, 0.3, 0.1, 0.2), seed).unwrap();
    let alone = in_threads(1, || draw(7));
    assert_eq!(alone, in_threads(2, || draw(7)));
    let other = draw(8);
    assert!(alone.outcome.p80 != other.outcome.p80 && alone.share != other.share);
    assert_eq!((alone.outcome.mean, alone.means), (other.outcome.mean, other.means));
}

#[test]
fn invariant_common_factors_are_spread_evenly_and_shifted_by_the_seed() {
    let part = spread(2.0, 3.0, 7.0);
    let items = [always(part), Item::always(vec![way(1.0, &[(0, part), (0, part)])]).unwrap()];
    // Wholly tied, nothing but the common factor is left: three times one task.
    let draw = |seed| certain(&items, 4_096, common(1.0, 1.0), seed).outcome;
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
    let spreads = [spread(2.0, 3.0, 7.0), spread(1.0, 4.0, 5.0), spread(0.0, 0.0, 6.0), fixed(4.0)];
    let items = spreads.map(always);
    let tasks = spreads.map(|spread| Task { spread, shape: Shape::Pert });
    const SAMPLES: usize = 100_000;
    for hours in [0.0, 0.4, 1.0] {
        let got = certain(&items, SAMPLES, common(0.7, hours), 11).outcome;
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
    type Weighed = (f64, [f64; 3]);
    let described: [(f64, &[Weighed]); 3] = [
        (0.3, &[(5.0, [2.0, 3.0, 5.0]), (3.5, [7.0, 12.0, 19.0]), (1.5, [12.0, 20.0, 34.0])]),
        (0.72, &[(1.0, [1.0, 2.0, 4.0]), (1.0, [3.0, 4.0, 9.0])]),
        (0.1, &[(1.0, [10.0, 20.0, 30.0])]),
    ];
    let mut closed_mean = 0.0;
    let mut closed_variance = 0.0;
    let mut items = Vec::new();
    for (column, (chance, ways)) in described.iter().enumerate() {
        let ways: Vec<(f64, Spread)> = ways.iter().map(|(w, [l, m, h])| (*w, spread(*l, *m, *h))).collect();
        let weights: f64 = ways.iter().map(|way| way.0).sum();
        // Moments of the hours once it is there, over its ways.
        let over_ways =
            |moment: &dyn Fn(&Spread) -> f64| ways.iter().map(|w| w.0 / weights * moment(&w.1)).sum::<f64>();
        let first = over_ways(&|s| s.mean(Shape::Pert));
        let second = over_ways(&|s| s.mean(Shape::Pert) * s.mean(Shape::Pert) + s.sd(Shape::Pert) * s.sd(Shape::Pert));
        closed_mean += chance * first;
        closed_variance += chance * second - chance * chance * first * first;
        let ways = ways.iter().map(|(weight, hours)| way(*weight, &[(0, *hours)])).collect();
        items.push(Item::drawn(column, *chance, ways).unwrap());
    }
    assert!((mean(&items, Shop::ONE) - closed_mean).abs() < 1e-12);
    let findings = apart(SAMPLES, &described.map(|item| item.0), 2);
    let got = range(&items, &findings, common(0.0, 0.0), 4).unwrap();
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
    let item = || Item::always(vec![way(7.0, &[(0, fixed(0.0))]), way(3.0, &[(0, fixed(10.0))])]).unwrap();
    // Wholly tied, the harder way is taken of both or of neither: 20 in three cars of ten.
    let tied = certain(&[item(), item()], 200_000, common(1.0, 0.0), 1);
    assert_eq!(
        (tied.outcome.p50, tied.outcome.p80, tied.quantile(0.699), tied.quantile(0.701)),
        (0.0, 20.0, 0.0, 20.0)
    );
    // A common factor spread evenly counts it off almost exactly: the variance by hand is 120 - 36.
    assert!((tied.outcome.sd - 84.0_f64.sqrt()).abs() < 2e-3, "{}", tied.outcome.sd);
    // Not tied: 0 in 49 of a hundred, 10 in 42, 20 in 9.
    let loose = certain(&[item(), item()], 20_000, common(0.0, 0.0), 1);
    assert_eq!((loose.quantile(0.47), loose.quantile(0.51), loose.quantile(0.93)), (0.0, 10.0, 20.0));
}

#[test]
fn each_sample_takes_what_its_findings_say() {
    // One finding in the first half of the samples, another in the second, and an item on each and on both.
    const SAMPLES: usize = 1_000;
    let first: Vec<bool> = (0..SAMPLES).map(|sample| sample < 500).collect();
    let second: Vec<bool> = first.iter().map(|there| !there).collect();
    let findings = Findings::of_flags(SAMPLES, &[first, second]).unwrap();
    let items = [drawn(0, 0.5, fixed(3.0)), drawn(1, 0.5, fixed(4.0)), drawn(0, 0.5, fixed(2.0)), always(fixed(1.0))];
    let got = range(&items, &findings, common(0.3, 0.3), 1).unwrap();
    // 1 + 3 + 2 or 1 + 4, never anything else.
    assert_eq!((got.outcome.mean, got.quantile(0.0), got.outcome.p50, got.quantile(1.0)), (5.5, 5.0, 5.0, 6.0));
    assert_eq!((got.past(4.9), got.past(5.0), got.past(5.5), got.past(6.0)), (1.0, 0.5, 0.5, 0.0));
    // Against each other: 3 and 2 rise with the sum, 4 falls.
    for (share, expect) in got.share.iter().zip([3.0, -4.0, 2.0, 0.0]) {
        assert!((share - expect).abs() < 1e-9, "{:?}", got.share);
    }
    let told: Vec<(f64, f64)> = got.density.iter().copied().filter(|bin| bin.1 > 0.0).collect();
    assert_eq!(told.iter().map(|bin| bin.1).collect::<Vec<f64>>(), [0.5, 0.5]);
}

#[test]
fn the_order_of_the_samples_is_no_factor() {
    // A finding in the first half of the samples: nothing that is even over the samples may go along with it.
    const SAMPLES: usize = 8_192;
    let first: Vec<bool> = (0..SAMPLES).map(|sample| sample < SAMPLES / 2).collect();
    let findings = Findings::of_flags(SAMPLES, &[first]).unwrap();
    let hours = spread(0.0, 10.0, 20.0);
    for (severity, pace, shop) in [(1.0, 1.0, 0.0), (0.0, 0.0, 0.5)] {
        let items = [always(hours), drawn(0, 0.5, fixed(30.0))];
        let got = range(&items, &findings, with_shop(severity, pace, 0.0, shop), 3).unwrap().outcome;
        let own = hours.sd(Shape::Pert) * hours.sd(Shape::Pert);
        let (square, mean) = (base::math::exp(shop * shop), base::math::exp(0.5 * shop * shop));
        // E[(x + y)^2] with y = 30 in half of all, times E[s^2].
        let raw = own + 100.0 + 450.0 + 2.0 * 10.0 * 15.0;
        let expect = (raw * square * square - 625.0 * mean * mean).sqrt();
        assert!((got.sd / expect - 1.0).abs() < 0.03, "{severity} {pace} {shop}: {} {expect}", got.sd);
    }
}

#[test]
fn what_never_happens_and_what_never_varies_owe_nothing() {
    let items = [drawn(0, 0.0, spread(1.0, 2.0, 9.0)), always(fixed(5.0)), drawn(1, 0.5, spread(1.0, 2.0, 3.0))];
    let findings = apart(2_000, &[0.0, 0.5], 1);
    let got = range(&items, &findings, common(0.3, 0.3), 1).unwrap();
    assert_eq!(got.share[0], 0.0);
    assert!(got.share[1].abs() < 1e-9 && (got.share[2] - 1.0).abs() < 1e-9, "{:?}", got.share);
    let still = range(&items[..2], &findings, common(0.3, 0.3), 1).unwrap();
    assert_eq!((&still.share, still.outcome.p10, still.outcome.p95), (&vec![0.0, 0.0], 5.0, 5.0));
    assert_eq!((still.outcome.sd, still.density), (0.0, vec![(5.0, 1.0)]));
    // A fixed factor may round, and rounding is no variation.
    let stages = [(0, fixed(0.1)), (1, fixed(0.7)), (2, fixed(13.3))];
    let items = [always(fixed(0.3)), Item::always(vec![way(1.0, &stages)]).unwrap()];
    let still = certain(&items, 2_000, with_shop(0.3, 0.3, 0.77, 0.0), 1);
    assert_eq!((still.share, still.density.len()), (vec![0.0, 0.0], 1));
}

#[test]
fn invariant_a_fixed_factor_stretches_and_an_uncertain_one_widens() {
    let findings = apart(8_192, &[0.5, 0.2], 1);
    let of = |mean_log, sd_log| range(&three(), &findings, with_shop(0.2, 0.3, mean_log, sd_log), 5).unwrap();
    let (plain, twice) = (of(0.0, 0.0), of(std::f64::consts::LN_2, 0.0));
    for ((p, plain), (_, twice)) in quantiles(&plain.outcome).iter().zip(quantiles(&twice.outcome)) {
        assert!((twice / plain - 2.0).abs() < 1e-12, "{p}");
        assert_eq!(plain.to_bits(), of(0.0, 0.0).quantile(*p).to_bits());
    }
    assert!((twice.outcome.mean / plain.outcome.mean - 2.0).abs() < 1e-12);
    for (plain, twice) in plain.share.iter().zip(&twice.share) {
        assert!((plain - twice).abs() < 1e-9);
    }
    // The money stretches with the hours.
    let (before, after) = (plain.money(&[40.0, 55.0]).unwrap(), twice.money(&[40.0, 55.0]).unwrap());
    for ((p, before), (_, after)) in quantiles(&before).iter().zip(quantiles(&after)) {
        assert!((after / before - 2.0).abs() < 1e-12, "{p}");
    }
    let (sure, unsure) = (of(0.0, 0.1).outcome, of(0.0, 0.4).outcome);
    assert!(plain.outcome.sd < sure.sd && sure.sd < unsure.sd && sure.p95 < unsure.p95 && unsure.p10 < sure.p10);
    assert!((unsure.mean / plain.outcome.mean - base::math::exp(0.08)).abs() < 1e-12);
}

#[test]
fn money_is_hours_at_their_rates() {
    let findings = apart(8_192, &[0.5, 0.2], 1);
    let got = range(&three(), &findings, with_shop(0.2, 0.3, 0.1, 0.2), 5).unwrap();
    // One stage: the hours, times that rate, sample by sample.
    let plain = [always(spread(2.0, 3.0, 7.0)), drawn(1, 0.2, spread(3.0, 4.0, 9.0))];
    let hours = range(&plain, &findings, common(0.2, 0.3), 5).unwrap();
    let money = hours.money(&[50.0]).unwrap();
    for ((_, money), (_, hours)) in quantiles(&money).iter().zip(quantiles(&hours.outcome)) {
        assert!((money / hours - 50.0).abs() < 1e-9);
    }
    assert!((money.sd / hours.outcome.sd - 50.0).abs() < 1e-9 && (money.mean - 50.0 * hours.outcome.mean).abs() < 1e-9);
    // A stage that costs nothing leaves the other at its rate; both together have the mean of each at its own.
    let (second, both) = (got.money(&[0.0, 55.0]).unwrap(), got.money(&[40.0, 55.0]).unwrap());
    for ((_, money), (_, hours)) in quantiles(&second).iter().zip(quantiles(&got.stages[1])) {
        assert!((money - 55.0 * hours).abs() < 1e-9);
    }
    assert!((both.mean - 40.0 * got.stages[0].mean - second.mean).abs() < 1e-9, "{}", both.mean);
    assert_eq!(got.money(&[0.0, 0.0]).unwrap().p95, 0.0);
    assert_eq!(got.money(&[1.0]).unwrap_err().to_string(), "1 hourly rates; there must be from 2 to 2");
    assert!(got.money(&[1.0, -2.0]).is_err() && got.money(&[f64::NAN, 1.0]).is_err());
}

#[test]
fn what_is_out_of_range_is_refused_with_its_value() {
    let one = || vec![way(1.0, &[(0, spread(1.0, 2.0, 3.0))])];
    let part = |stage, low| Part { stage, hours: spread(low, 2.0, 3.0) };
    assert!(Way::new(-1.0, vec![part(0, 1.0)]).is_err() && Way::new(f64::NAN, vec![part(0, 1.0)]).is_err());
    assert!(Way::new(1.0, vec![]).is_err() && Way::new(1.0, vec![part(0, 1.0); 21]).is_err());
    assert!(Way::new(1.0, vec![part(20, 1.0)]).is_err() && Way::new(1.0, vec![part(19, 1.0)]).is_ok());
    let negative = Way::new(1.0, vec![part(0, -0.5)]).unwrap_err().to_string();
    assert_eq!(negative, "the low guess of a part's hours is -0.5; it must be from 0 to 1000000000");
    assert!(Item::drawn(0, 1.5, one()).is_err() && Item::drawn(0, f64::NAN, one()).is_err());
    assert!(Item::always(vec![]).is_err() && Item::always(vec![way(1.0, &[(0, fixed(1.0))]); 11]).is_err());
    let weightless = Item::always(vec![way(0.0, &[(0, fixed(1.0))]); 3]);
    assert_eq!(weightless, Err(RiskError::NoWeight { sum: 0.0 }));
    assert!(Shop::new(5.1, 0.0).is_err() && Shop::new(0.0, -0.1).is_err() && Shop::new(f64::NAN, 0.1).is_err());

    assert!(Findings::none(999).is_err() && Findings::none(MOST_DRAWS + 1).is_err() && Findings::none(1_000).is_ok());
    assert!(Findings::new(1_000, vec![vec![0; 16]; MOST_COLUMNS + 1]).is_err());
    let short = Findings::new(1_000, vec![vec![0; 16], vec![0; 15]]).unwrap_err().to_string();
    assert_eq!(short, "column 1 of the findings holds 15 words; it must hold 16");
    let long = Findings::of_flags(1_000, &[vec![true; 1_001]]).unwrap_err().to_string();
    assert_eq!(long, "column 0 of the findings holds 1001 flags; it must hold 1000");

    let none = Findings::none(1_000).unwrap();
    assert!(range(&[], &none, common(0.0, 0.0), 1).is_err());
    assert!(range(&vec![always(fixed(1.0)); MOST_ITEMS + 1], &none, common(0.0, 0.0), 1).is_err());
    let missing = range(&[always(fixed(1.0)), drawn(2, 0.5, fixed(1.0))], &none, common(0.0, 0.0), 1);
    assert_eq!(missing, Err(RiskError::NoColumn { item: 1, column: 2, columns: 0 }));
    let half = apart(8_192, &[0.5], 1);
    for (chance, fits) in [(0.5, true), (0.49, true), (0.4, false), (0.0, false), (1.0, false)] {
        let got = range(&[drawn(0, chance, fixed(1.0))], &half, common(0.0, 0.0), 1);
        assert_eq!(got.is_ok(), fits, "{chance}");
        assert!(fits || matches!(got, Err(RiskError::Contradicted { item: 0, .. })));
    }
}

#[test]
fn findings_are_read_as_they_were_given() {
    // 1 000 samples end within a word: what lies past them counts for nothing.
    let all = Findings::new(1_000, vec![vec![u64::MAX; 16], vec![0; 16]]).unwrap();
    assert_eq!((all.samples(), all.columns()), (1_000, 2));
    assert_eq!((all.frequency(0), all.frequency(1), all.frequency(2)), (Some(1.0), Some(0.0), None));
    assert_eq!(all, Findings::of_flags(1_000, &[vec![true; 1_000], vec![false; 1_000]]).unwrap());
    let mut words = vec![0; 16];
    words[1] = 1 << 3;
    let flags = (0..1_000).map(|sample| sample == 67).collect();
    assert_eq!(Findings::new(1_000, vec![words]).unwrap(), Findings::of_flags(1_000, &[flags]).unwrap());
}

#[test]
fn quantiles_and_limits_beyond_the_ends_and_of_nothing() {
    let got = certain(&[always(spread(4.0, 6.0, 15.0))], 2_000, common(0.0, 0.0), 1);
    assert_eq!((got.past(3.9), got.past(15.1), got.past(f64::INFINITY), got.past(-1.0)), (1.0, 0.0, 0.0, 1.0));
    assert!(got.past(f64::NAN).is_nan() && got.quantile(f64::NAN).is_nan());
    assert_eq!((got.quantile(-1.0), got.quantile(7.0)), (got.quantile(0.0), got.quantile(1.0)));
}

/// Our own figures, kept so that a change of the stream, of a chunk or of a table is seen.
#[test]
fn regression_bits_of_a_range() {
    let got = range(&three(), &apart(10_000, &[0.5, 0.2], 42), with_shop(0.2, 0.3, 0.1, 0.2), 42).unwrap();
    let money = got.money(&[40.0, 55.0]).unwrap();
    let bits = [got.outcome.sd, got.outcome.p80, got.share[1], got.stages[1].p95, money.p95].map(f64::to_bits);
    assert_eq!(
        bits,
        [4617900502997825337, 4622159524244059442, 4604772275360884361, 4622821731862857224, 4651620118470219983]
    );
}

fn any_items() -> impl Strategy<Value = Vec<(f64, f64, usize)>> {
    proptest::collection::vec((0.02f64..0.98, 0.1f64..30.0, 0usize..4), 1..8)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn invariant_shares_means_stages_and_the_picture_add_up(
        described in any_items(), severity in 0.0f64..1.0, hours in 0.0f64..1.0, mean_log in -1.0f64..1.0,
        sd_log in 0.0f64..0.6,
    ) {
        let chances: Vec<f64> = described.iter().map(|item| item.0).collect();
        let item = |(column, (chance, size, stage)): (usize, &(f64, f64, usize))| {
            let parts = [(*stage, spread(*size, 1.5 * size, 4.0 * size)), (1, fixed(*size))];
            Item::drawn(column, *chance, vec![way(2.0, &parts[..1]), way(1.0, &parts)]).unwrap()
        };
        let items: Vec<Item> = described.iter().enumerate().map(item).collect();
        let got = range(&items, &apart(2_000, &chances, 6), with_shop(severity, hours, mean_log, sd_log), 3).unwrap();
        let mean = got.outcome.mean;
        prop_assert!((got.share.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        prop_assert!((got.means.iter().sum::<f64>() / mean - 1.0).abs() < 1e-12);
        prop_assert!((got.stages.iter().map(|stage| stage.mean).sum::<f64>() / mean - 1.0).abs() < 1e-12);
        prop_assert!((got.density.iter().map(|bin| bin.1).sum::<f64>() - 1.0).abs() < 1e-9);
        prop_assert!(got.density.len() <= 60 && got.density.windows(2).all(|two| two[0].0 < two[1].0));
        let points: Vec<f64> = (0..=50).map(|step| got.quantile(f64::from(step) / 50.0)).collect();
        prop_assert!(points.windows(2).all(|two| two[0] <= two[1] && got.past(two[0]) >= got.past(two[1])));
        for p in [0.1, 0.5, 0.8, 0.95] {
            // At most the share above is past a quantile, and with it no less.
            prop_assert!(got.past(got.quantile(p)) <= 1.0 - p + 1e-12);
        }
        let picked = [got.outcome.p10, got.outcome.p50, got.outcome.p80, got.outcome.p95];
        prop_assert_eq!(picked, [0.1, 0.5, 0.8, 0.95].map(|p| got.quantile(p)));
    }

    #[test]
    fn invariant_more_hours_of_one_item_are_more_hours_of_the_whole(
        described in any_items(), more in 0.01f64..10.0, pick in any::<proptest::sample::Index>(),
    ) {
        let chances: Vec<f64> = described.iter().map(|item| item.0).collect();
        let of = |added: &dyn Fn(usize) -> f64| {
            let item = |(column, (chance, size, _)): (usize, &(f64, f64, usize))| {
                let size = size + added(column);
                drawn(column, *chance, spread(size, 1.5 * size, 4.0 * size))
            };
            let items: Vec<Item> = described.iter().enumerate().map(item).collect();
            range(&items, &apart(2_000, &chances, 6), with_shop(0.3, 0.3, 0.1, 0.2), 3).unwrap()
        };
        let picked = pick.index(described.len());
        let (before, after) = (of(&|_| 0.0), of(&|column| if column == picked { more } else { 0.0 }));
        prop_assert!(before.outcome.mean < after.outcome.mean);
        for step in 0..=20 {
            let p = f64::from(step) / 20.0;
            prop_assert!(before.quantile(p) <= after.quantile(p) * (1.0 + 1e-12));
            let limit = before.quantile(p);
            prop_assert!(before.past(limit) <= after.past(limit) + 1e-12);
        }
    }
}
