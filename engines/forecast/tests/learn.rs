//! What is learned, against scipy (`reference/forecast`) and against itself.

use forecast::learn::{
    BINS, Calibration, Foretold, LearnError, MOST_LESSONS, MOST_ODDS, Opening, Rate, USUAL_WEIGHT, clue, means_without,
    rate,
};
use proptest::prelude::*;

fn rows(text: &str) -> Vec<Vec<String>> {
    let rows: Vec<Vec<String>> = csv::Reader::from_reader(text.as_bytes())
        .records()
        .map(|row| row.expect("a row").iter().map(str::to_owned).collect())
        .collect();
    assert!(!rows.is_empty());
    rows
}

fn number(cell: &str) -> f64 {
    cell.parse().expect("a number")
}

fn usual(p: f64) -> Rate {
    Rate::new(p, USUAL_WEIGHT).expect("a share")
}

/// `3.0+x2`: three times the odds, bad, twice.
fn openings(cell: &str) -> Vec<Opening> {
    let some = |text: &str| {
        let (odds, times) = text.rsplit_once('x').expect("how many");
        let bad = odds.ends_with('+');
        let opening = Opening { odds: number(odds.trim_end_matches(['+', '-'])), bad };
        vec![opening; times.parse().expect("a count")]
    };
    cell.split(' ').flat_map(some).collect()
}

#[test]
fn oracle_learned_rates_agree_with_scipy() {
    for row in rows(include_str!("../../../reference/forecast/learned.csv")) {
        let prior = Rate::new(number(&row[0]), number(&row[1])).unwrap();
        let opened = openings(&row[2]);
        let got = rate(prior, &opened).unwrap();
        for (got, cell) in [got.mean, got.p05, got.p95].iter().zip(&row[3..]) {
            assert!((got - number(cell)).abs() < 1e-9, "{row:?}: {got}");
        }
        let bad = opened.iter().filter(|opening| opening.bad).count();
        assert_eq!((got.lessons, got.so, got.before), (opened.len(), bad, prior));
        if opened.iter().all(|opening| opening.odds == 1.0) {
            // A clue is learned by the same rule.
            assert_eq!(clue(prior, bad as u32, (opened.len() - bad) as u32).unwrap(), got);
        }
    }
}

#[test]
fn oracle_intervals_agree_with_scipy() {
    for row in rows(include_str!("../../../reference/forecast/intervals.csv")) {
        let (bad, count): (usize, usize) = (row[0].parse().unwrap(), row[1].parse().unwrap());
        let zones: Vec<Foretold> = (0..count).map(|at| Foretold { p: 0.44, bad: at < bad }).collect();
        let bin = Calibration::of(&zones).unwrap().bins[4].zones.unwrap();
        assert_eq!((bin.bad, bin.count), (bad, count));
        assert!((bin.low - number(&row[2])).abs() < 1e-12 && (bin.high - number(&row[3])).abs() < 1e-12, "{row:?}");
    }
}

/// Odds of 1 take the closed form; odds next to 1 are integrated, and must come to the same.
#[test]
fn invariant_integral_and_closed_form_meet() {
    for (p, weight, bad, sound) in
        [(0.25, 8.0, 3, 5), (0.001, 1.0, 0, 1), (0.999, 8.0, 0, 30), (0.5, 1.0, 0, 0), (0.4, 10_000.0, 4_000, 6_000)]
    {
        let prior = Rate::new(p, weight).unwrap();
        let with = |odds: f64| -> Vec<Opening> {
            let sort = |bad, count| vec![Opening { odds, bad }; count];
            [sort(true, bad), sort(false, sound)].concat()
        };
        let (closed, integrated) = (rate(prior, &with(1.0)).unwrap(), rate(prior, &with(1.0 + 1e-15)).unwrap());
        assert!((closed.mean - integrated.mean).abs() < 1e-9, "{closed:?} {integrated:?}");
        assert!((closed.p05 - integrated.p05).abs() < 1e-9 && (closed.p95 - integrated.p95).abs() < 1e-9);
        let mean = (weight * p + bad as f64) / (weight + (bad + sound) as f64);
        assert!((closed.mean - mean).abs() < 1e-15);
    }
}

#[test]
fn what_was_expected_anyway_teaches_little() {
    let one = |odds, bad| rate(usual(0.3), &[Opening { odds, bad }]).unwrap().mean;
    // Bad in spite of everything that spoke against it teaches more than bad with everything for it.
    assert!(one(0.05, true) > one(1.0, true) && one(1.0, true) > one(20.0, true) && one(20.0, true) > 0.3);
    assert!(one(20.0, false) < one(1.0, false) && one(1.0, false) < one(0.05, false) && one(0.05, false) < 0.3);
    // So sure that it says nothing.
    assert!((one(MOST_ODDS, true) - 0.3).abs() < 1e-5);
    let nothing = rate(usual(0.3), &[]).unwrap();
    assert!((nothing.mean - 0.3).abs() < 1e-15 && nothing.p05 < 0.3 && nothing.p95 > 0.3);
}

#[test]
fn a_long_history_of_different_openings_is_learned() {
    // What is drawn from base rate 0.37 must be found again; a stream of our own, seeded, decides.
    let mut stream = base::stream::Stream::new(5, 0);
    let opening = |_| {
        let odds = base::math::exp(4.0 * stream.uniform() - 2.0);
        let chance = 0.37 * odds / (0.63 + 0.37 * odds);
        Opening { odds, bad: stream.uniform() < chance }
    };
    let opened: Vec<Opening> = (0..10_000).map(opening).collect();
    let got = rate(usual(0.2), &opened).unwrap();
    let sd = (got.p95 - got.p05) / (2.0 * 1.645);
    assert!(sd > 0.004 && sd < 0.007, "{got:?}");
    assert!((got.mean - 0.37).abs() < 4.0 * sd, "{got:?}");
}

#[test]
fn invariant_means_without_a_group_are_those_after_the_others() {
    let mut seed = 7_u64;
    let mut any = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 40) as f64 / (1_u64 << 24) as f64
    };
    // Few groups and many, small ones and large, guesses at the end of their range, odds of 1 among the others.
    for (p, weight, groups, most, spread) in [
        (0.001, 1.0, 2, 3, 4.0),
        (0.999, 8.0, 3, 40, 14.0),
        (0.3, 8.0, 60, 3, 2.0),
        (0.01, 8.0, 25, 5, 10.0),
        (0.5, 1.0, 1, 4, 1.0),
        (0.2, 10_000.0, 8, 4, 3.0),
    ] {
        let groups: Vec<Vec<Opening>> = (0..groups)
            .map(|_| {
                let count = 1 + (any() * f64::from(most)) as usize;
                let one = |_| Opening {
                    odds: if any() < 0.2 { 1.0 } else { base::math::exp(spread * (any() - 0.5)) },
                    bad: any() < 0.4,
                };
                (0..count).map(one).collect()
            })
            .collect();
        let prior = Rate::new(p, weight).unwrap();
        let means = means_without(prior, &groups).unwrap();
        for (place, mean) in means.iter().enumerate() {
            let others = [&groups[..place], &groups[place + 1..]].concat().concat();
            let wanted = rate(prior, &others).unwrap().mean;
            assert!((mean - wanted).abs() < 1e-9 * wanted.min(1.0 - wanted), "{p} {weight} {place}: {mean} {wanted}");
        }
    }
    assert_eq!(means_without(usual(0.25), &[]).unwrap(), [0.0; 0]);
    let odd = Opening { odds: 0.0, bad: true };
    assert!(matches!(means_without(usual(0.25), &[vec![odd]]), Err(LearnError::OutOfRange { .. })));
}

#[test]
fn a_calibration_sorts_by_tenths_and_scores() {
    let zones: Vec<Foretold> =
        [(0.0, false), (0.0999, true), (0.1, false), (0.3, true), (0.6, true), (0.7, false), (0.95, true), (1.0, true)]
            .map(|(p, bad)| Foretold { p, bad })
            .to_vec();
    let got = Calibration::of(&zones).unwrap();
    let counts = got.bins.map(|bin| bin.zones.map_or(0, |zones| zones.count));
    assert_eq!(counts, [2, 1, 0, 1, 0, 0, 1, 1, 0, 2]);
    assert_eq!((got.count, got.bins[2].zones), (8, None));
    assert_eq!((got.bins[0].from, got.bins[9].to), (0.0, 1.0));
    let last = got.bins[9].zones.unwrap();
    assert!((last.foretold - 0.975).abs() < 1e-15 && last.share == 1.0 && last.high == 1.0 && last.low < 0.6);
    // By hand: squares of what each missed by.
    let by_hand = (0.9001 * 0.9001 + 0.01 + 0.49 + 0.16 + 0.49 + 0.0025) / 8.0;
    assert!((got.brier.unwrap() - by_hand).abs() < 1e-12);
    let none = Calibration::of(&[]).unwrap();
    assert_eq!((none.count, none.brier), (0, None));
    assert!(none.bins.iter().all(|bin| bin.zones.is_none()));
}

#[test]
fn what_is_out_of_range_is_refused_with_its_value() {
    for bad in [f64::NAN, f64::INFINITY, -0.1, 1.1, 0.0, 1.0] {
        assert!(matches!(Rate::new(bad, 8.0), Err(LearnError::OutOfRange { what: "the share", .. })), "{bad}");
    }
    for bad in [f64::NAN, f64::INFINITY, -1.0, 0.5, 1e5] {
        assert!(matches!(Rate::new(0.5, bad), Err(LearnError::OutOfRange { what: "the weight", .. })), "{bad}");
    }
    for bad in [f64::NAN, f64::INFINITY, 0.0, -2.0, 2e6, 1e-7] {
        let opened = [Opening { odds: 1.0, bad: true }, Opening { odds: bad, bad: true }];
        assert!(matches!(rate(usual(0.5), &opened), Err(LearnError::OutOfRange { lesson: Some(2), .. })), "{bad}");
    }
    for bad in [f64::NAN, f64::INFINITY, -0.1, 1.1] {
        let zones = [Foretold { p: bad, bad: true }];
        assert!(matches!(Calibration::of(&zones), Err(LearnError::OutOfRange { lesson: Some(1), .. })), "{bad}");
    }
    let told = Calibration::of(&[Foretold { p: 1.5, bad: true }]).unwrap_err();
    assert_eq!(told.to_string(), "the chance foretold of lesson 1 is 1.5; it must be from 0 to 1");
    let told = Rate::new(1.5, 8.0).unwrap_err();
    assert_eq!(told.to_string(), "the share is 1.5; it must be from 0.001 to 0.999");

    let too_many = MOST_LESSONS + 1;
    let told = LearnError::TooMany { count: too_many, most: MOST_LESSONS };
    assert_eq!(rate(usual(0.5), &vec![Opening { odds: 1.0, bad: true }; too_many]), Err(told));
    assert_eq!(Calibration::of(&vec![Foretold { p: 0.5, bad: true }; too_many]), Err(told));
    assert_eq!(clue(usual(0.5), 100_000, 1), Err(told));
    assert!(clue(usual(0.5), u32::MAX, u32::MAX).is_err() && clue(usual(0.5), 60_000, 40_000).is_ok());
}

fn any_openings() -> impl Strategy<Value = Vec<Opening>> {
    let opening = (-13.0f64..13.0, any::<bool>()).prop_map(|(ln, bad)| Opening { odds: base::math::exp(ln), bad });
    proptest::collection::vec(opening, 0..40)
}

proptest! {
    #[test]
    fn invariant_a_rate_lies_in_its_range_and_moves_the_right_way(
        p in 0.001f64..0.999, weight in 1.0f64..100.0, opened in any_openings(), odds in 0.01f64..100.0,
    ) {
        let prior = Rate::new(p, weight).unwrap();
        let with = |more: Option<bool>| {
            let more = more.map(|bad| Opening { odds, bad });
            rate(prior, &opened.iter().copied().chain(more).collect::<Vec<_>>()).unwrap()
        };
        let (less, got, more) = (with(Some(false)), with(None), with(Some(true)));
        prop_assert!(0.0 <= got.p05 && got.p05 < got.p95 && got.p95 <= 1.0, "{:?}", got);
        prop_assert!(got.mean > 0.0 && got.mean < 1.0);
        prop_assert!(less.mean < got.mean && got.mean < more.mean, "{:?} {:?} {:?}", less, got, more);
        prop_assert!(less.p05 <= got.p05 + 1e-12 && got.p95 <= more.p95 + 1e-12);
    }

    /// Calling everything the other way round mirrors what is learned.
    #[test]
    fn invariant_bad_and_sound_are_mirrors(p in 0.001f64..0.999, weight in 1.0f64..100.0, opened in any_openings()) {
        let mirrored: Vec<Opening> = opened.iter().map(|o| Opening { odds: 1.0 / o.odds, bad: !o.bad }).collect();
        let one = rate(Rate::new(p, weight).unwrap(), &opened).unwrap();
        let other = rate(Rate::new(1.0 - p, weight).unwrap(), &mirrored).unwrap();
        prop_assert!((one.mean - (1.0 - other.mean)).abs() < 1e-9, "{:?} {:?}", one, other);
        prop_assert!((one.p05 - (1.0 - other.p95)).abs() < 1e-9 && (one.p95 - (1.0 - other.p05)).abs() < 1e-9);
    }

    #[test]
    fn invariant_bins_hold_every_zone(zones in proptest::collection::vec((0.0f64..=1.0, any::<bool>()), 0..200)) {
        let zones: Vec<Foretold> = zones.into_iter().map(|(p, bad)| Foretold { p, bad }).collect();
        let got = Calibration::of(&zones).unwrap();
        let inside = got.bins.iter().filter_map(|bin| bin.zones.map(|zones| (bin, zones)));
        let mut count = 0;
        for (bin, zones) in inside {
            count += zones.count;
            prop_assert!(bin.from <= zones.foretold + 1e-12 && zones.foretold <= bin.to + 1e-12);
            prop_assert!(0.0 <= zones.low && zones.low <= zones.share + 1e-12);
            prop_assert!(zones.share <= zones.high + 1e-12 && zones.high <= 1.0);
        }
        prop_assert_eq!((count, got.bins.len()), (zones.len(), BINS));
        prop_assert!(got.brier.is_none_or(|score| (0.0..=1.0).contains(&score)));
    }
}
