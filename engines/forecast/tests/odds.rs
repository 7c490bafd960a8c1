//! The odds rules: worked figures, and laws they obey.

use forecast::OddsError;
use forecast::odds::{HIGH_TIMES, LEAST, LOW_TIMES, MOST, MOST_RATIOS, chance, strongest};
use proptest::collection::vec;
use proptest::prelude::*;

#[test]
fn worked_figures_of_the_trade_common_practice() {
    let text = include_str!("../../../reference/forecast/odds.csv");
    let mut figures = 0;
    for row in csv::Reader::from_reader(text.as_bytes()).records() {
        let row = row.unwrap();
        let ratios: Vec<f64> = row[1].split(' ').map(|ratio| ratio.parse().unwrap()).collect();
        let got = chance(row[0].parse().unwrap(), &ratios).unwrap();
        for (got, cell) in [(got.low, &row[2]), (got.likely, &row[3]), (got.high, &row[4])] {
            if cell.is_empty() {
                continue;
            }
            assert!((got - cell.parse::<f64>().unwrap()).abs() <= 0.005, "{row:?}: {got}");
            figures += 1;
        }
    }
    assert_eq!(figures, 5);
}

#[test]
fn without_evidence_the_base_rate_stands() {
    let none = chance(0.25, &[]).unwrap();
    assert!((none.likely - 0.25).abs() < 1e-15);
    // A third times 0.4 and 2.5, by hand: odds 2/15 and 5/6.
    assert!((none.low - 2.0 / 17.0).abs() < 1e-15 && (none.high - 5.0 / 11.0).abs() < 1e-15);
}

#[test]
fn ends_of_the_range_come_from_the_odds_before_they_are_clamped() {
    // Odds 999: even the low end, odds 400, is past the clamp.
    let sure = chance(0.999, &[]).unwrap();
    assert_eq!((sure.low, sure.likely, sure.high), (MOST, MOST, MOST));
    // Odds 60: the likely end is clamped, the low end is 24 to 1 and not 0.4 times the clamped 49.
    let nearly = chance(0.5, &[60.0]).unwrap();
    assert!((nearly.low - 0.96).abs() < 1e-12 && nearly.likely == MOST);
    assert_eq!(chance(0.001, &[0.001]).unwrap().high, LEAST);
    assert!(chance(0.999, &[1000.0; MOST_RATIOS]).unwrap().low == MOST);
    assert!(chance(0.001, &[0.001; MOST_RATIOS]).unwrap().high == LEAST);
}

#[test]
fn numbers_outside_the_range_are_refused() {
    for base_p in [0.0, 0.0009, 0.9991, 1.0, -0.5, f64::NAN, f64::INFINITY] {
        assert!(matches!(chance(base_p, &[]), Err(OddsError::OutOfRange { what: "the base rate", .. })), "{base_p}");
    }
    for ratio in [0.0, -2.0, 1_001.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(chance(0.5, &[2.0, ratio]), Err(OddsError::OutOfRange { what: "a ratio", .. })), "{ratio}");
    }
    let many = chance(0.5, &[1.0; MOST_RATIOS + 1]).unwrap_err();
    assert_eq!(many.to_string(), "101 ratios; there may be 100 at most");
    assert_eq!(chance(1.5, &[]).unwrap_err().to_string(), "the base rate is 1.5; it must be from 0.001 to 0.999");
}

#[test]
fn the_strongest_ratio_counts_either_way() {
    assert_eq!(strongest(&[1.5, 0.2, 3.0]), Some(1));
    assert_eq!(strongest(&[4.0, 0.25, 4.0]), Some(0));
    assert_eq!(strongest(&[0.25, 4.0]), Some(0));
    assert_eq!(strongest(&[1.0]), Some(0));
    assert_eq!(strongest(&[]), None);
    assert_eq!(strongest(&[f64::NAN, 0.0, -5.0, f64::INFINITY, 1.1]), Some(4));
    assert_eq!(strongest(&[f64::NAN]), None);
}

fn ratio() -> impl Strategy<Value = f64> {
    0.02f64..50.0
}

proptest! {
    #[test]
    fn invariant_a_stronger_ratio_never_lowers_the_chance(
        base_p in 0.001f64..=0.999, ratios in vec(ratio(), 1..8), place in 0usize..8, times in 1.0f64..20.0,
    ) {
        let before = chance(base_p, &ratios).unwrap();
        let mut more = ratios;
        let place = place % more.len();
        more[place] *= times;
        let after = chance(base_p, &more).unwrap();
        // Multiplying in another place may round the last digit the other way.
        let not_below = |after: f64, before: f64| after >= before - 1e-12;
        prop_assert!(not_below(after.low, before.low));
        prop_assert!(not_below(after.likely, before.likely));
        prop_assert!(not_below(after.high, before.high));
    }

    #[test]
    fn invariant_the_order_of_the_ratios_does_not_matter(
        base_p in 0.001f64..=0.999, ratios in vec(ratio(), 0..8).prop_shuffle(),
    ) {
        let mut sorted = ratios.clone();
        sorted.sort_by(f64::total_cmp);
        let (one, other) = (chance(base_p, &ratios).unwrap(), chance(base_p, &sorted).unwrap());
        prop_assert!((one.likely - other.likely).abs() < 1e-12);
        prop_assert!((one.low - other.low).abs() < 1e-12 && (one.high - other.high).abs() < 1e-12);
    }

    #[test]
    fn invariant_the_three_rise_and_keep_to_the_ends(base_p in 0.001f64..=0.999, ratios in vec(ratio(), 0..8)) {
        let found = chance(base_p, &ratios).unwrap();
        prop_assert!(LEAST <= found.low && found.low <= found.likely);
        prop_assert!(found.likely <= found.high && found.high <= MOST);
    }

    #[test]
    fn invariant_a_ratio_and_its_inverse_cancel_and_the_range_is_one_of_odds(
        base_p in 0.1f64..0.9, ratio in 0.5f64..2.0,
    ) {
        let found = chance(base_p, &[ratio, 1.0 / ratio]).unwrap();
        prop_assert!((found.likely - base_p).abs() < 1e-12);
        let odds = |p: f64| p / (1.0 - p);
        prop_assert!((odds(found.low) / odds(found.likely) - LOW_TIMES).abs() < 1e-9);
        prop_assert!((odds(found.high) / odds(found.likely) - HIGH_TIMES).abs() < 1e-9);
    }

    #[test]
    fn invariant_the_strongest_moves_odds_most(ratios in vec(ratio(), 1..12)) {
        let place = strongest(&ratios).unwrap();
        let moves = |ratio: f64| (chance(0.5, &[ratio]).unwrap().likely - 0.5).abs();
        prop_assert!(ratios.iter().all(|ratio| moves(*ratio) <= moves(ratios[place]) + 1e-12));
    }
}
