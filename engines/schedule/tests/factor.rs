//! The shop's own factor: against scipy, its laws, and what is refused.

use proptest::prelude::*;
use schedule::factor::{MOST_PIECES, START_PIECE_SD_LOG, START_SD_LOG, calibration, factor};
use schedule::{Done, Outcome, RiskError, Shop};

fn rows(text: &str) -> Vec<Vec<String>> {
    csv::Reader::from_reader(text.as_bytes())
        .records()
        .map(|row| row.expect("a row").iter().map(str::to_owned).collect())
        .collect()
}

fn number(cell: &str) -> f64 {
    cell.parse().expect("a number")
}

fn done(foretold_mean_h: f64, foretold_sd_log: f64, worked_h: f64) -> Done {
    Done { foretold_mean_h, foretold_sd_log, worked_h }
}

// Oracle: scipy's numerical integration of starting guess times likelihood, see reference/schedule/factor.toml.
#[test]
fn oracle_the_factor_agrees_with_scipys_integral() {
    let rows = rows(include_str!("../../../reference/schedule/factor.csv"));
    assert_eq!(rows.len(), 8);
    let mut pieces = Vec::new();
    for row in &rows {
        if !row[0].is_empty() {
            pieces.push(done(number(&row[0]), number(&row[1]), number(&row[2])));
        }
        let got = factor(&pieces).unwrap();
        assert_eq!(got.pieces, pieces.len());
        for (got, cell) in [got.mean_log, got.sd_log, got.piece_sd_log, got.p10, got.p90].iter().zip(&row[3..8]) {
            assert!((got - number(cell)).abs() < 1e-6, "{row:?}: {got}");
        }
        assert!((base::math::ln(got.median) - got.mean_log).abs() < 1e-14);
        let fell = calibration(&pieces).unwrap().pieces;
        if let Some(last) = fell.last() {
            assert!((last.quantile - number(&row[8])).abs() < 1e-11, "{row:?}: {}", last.quantile);
        }
    }
}

// Oracle: scipy's binomial distribution, see reference/schedule/binomial.toml.
#[test]
fn oracle_expected_counts_agree_with_scipys_binomial() {
    let rows = rows(include_str!("../../../reference/schedule/binomial.csv"));
    assert_eq!(rows.len(), 27);
    for three in rows.chunks(3) {
        let pieces = vec![done(10.0, 0.3, 9.0); number(&three[0][0]) as usize];
        let got = calibration(&pieces).unwrap();
        for (over, row) in got.over.iter().zip(three) {
            assert_eq!(over.quantile, number(&row[1]));
            assert!((over.expected - number(&row[2])).abs() < 1e-9, "{row:?}: {over:?}");
            assert_eq!((over.low as f64, over.high as f64), (number(&row[3]), number(&row[4])), "{row:?}");
        }
    }
}

#[test]
fn before_anything_is_finished_it_is_the_starting_guess() {
    let got = factor(&[]).unwrap();
    assert_eq!((got.pieces, got.mean_log, got.median), (0, 0.0, 1.0));
    assert!((got.sd_log - START_SD_LOG).abs() < 1e-15 && (got.piece_sd_log - START_PIECE_SD_LOG).abs() < 1e-15);
    assert_eq!(got.shop(), Shop::new(0.0, got.sd_log).unwrap());
    let kept = calibration(&[]).unwrap();
    assert!(kept.pieces.is_empty() && kept.over.iter().all(|over| (over.count, over.high) == (0, 0)));
}

#[test]
fn counts_by_hand() {
    // Median 10: at it, far below, far above, and just above P90, whose score is 1.2816.
    let mean = 10.0 * base::math::exp(0.5 * 0.04);
    let at = |score: f64| done(mean, 0.2, 10.0 * base::math::exp(0.2 * score));
    let got = calibration(&[at(0.001), at(-3.0), at(4.0), at(1.29), at(1.27)]).unwrap();
    assert_eq!(got.over.map(|over| over.count), [4, 4, 2]);
    assert!((got.pieces[0].quantile - 0.5).abs() < 1e-3 && got.pieces[1].quantile < 0.002);
}

#[test]
fn what_was_foretold_as_an_outcome_is_the_log_normal_of_its_mean_and_sd() {
    let outcome = Outcome { mean: 20.0, sd: 6.0, p10: 0.0, p50: 0.0, p80: 0.0, p95: 0.0 };
    let got = Done::of(&outcome, 30.0);
    assert_eq!((got.foretold_mean_h, got.worked_h), (20.0, 30.0));
    // Back again: sd = mean sqrt(exp(s^2) - 1).
    let sd = 20.0 * (base::math::exp(got.foretold_sd_log * got.foretold_sd_log) - 1.0).sqrt();
    assert!((sd - 6.0).abs() < 1e-12);
}

#[test]
fn a_shop_that_is_always_a_third_slower_comes_to_it() {
    // Worked a third more than the median, every time: the pieces outweigh the starting guess.
    let median = |mean: f64, sd: f64| mean * base::math::exp(-0.5 * sd * sd);
    let piece = |n: u32| {
        let (mean, sd) = (5.0 + f64::from(n), 0.1 + 0.001 * f64::from(n % 100));
        done(mean, sd, median(mean, sd) * 4.0 / 3.0)
    };
    let pieces: Vec<Done> = (0..MOST_PIECES as u32).map(piece).collect();
    let mut before = f64::INFINITY;
    for count in [0, 1, 10, 100, 1_000, 10_000] {
        let got = factor(&pieces[..count]).unwrap();
        assert!(got.p10 < got.median && got.median < got.p90 && got.sd_log < before, "{count}: {got:?}");
        before = got.sd_log;
        let weight = count as f64 / (4.0 + count as f64);
        assert!((got.mean_log - weight * base::math::ln(4.0 / 3.0)).abs() < 1e-12);
    }
    assert!((factor(&pieces).unwrap().median - 4.0 / 3.0).abs() < 1e-3);
}

#[test]
fn what_cannot_be_is_refused_with_its_place() {
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e6] {
        for piece in [done(bad, 0.3, 5.0), done(5.0, 0.3, bad)] {
            let pieces = [done(5.0, 0.3, 5.0), piece];
            assert!(matches!(factor(&pieces), Err(RiskError::Piece { piece: 1, .. })), "{bad}");
            assert!(matches!(calibration(&pieces), Err(RiskError::Piece { piece: 1, .. })), "{bad}");
        }
    }
    for bad in [0.0, -0.1, 2.1, f64::NAN] {
        assert!(factor(&[done(5.0, bad, 5.0)]).is_err(), "{bad}");
    }
    let slip = factor(&[done(40.0, 0.3, 4_100.0)]).unwrap_err();
    assert!(slip.to_string().starts_with("the hours worked over the foretold median of finished piece 0 is 107."));
    let negative = factor(&[done(40.0, 0.3, -4.0)]).unwrap_err().to_string();
    assert_eq!(negative, "the hours worked of finished piece 0 is -4; it must be from 0.01 to 100000");
    assert!(factor(&vec![done(5.0, 0.3, 5.0); MOST_PIECES + 1]).is_err());
    let impossible = Outcome { mean: 0.0, sd: 0.0, p10: 0.0, p50: 0.0, p80: 0.0, p95: 0.0 };
    assert!(factor(&[Done::of(&impossible, 3.0)]).is_err());
}

fn any_pieces() -> impl Strategy<Value = Vec<Done>> {
    let piece = (1.0f64..1_000.0, 0.01f64..1.0, 0.02f64..30.0);
    proptest::collection::vec(piece.prop_map(|(mean, sd, times)| done(mean, sd, mean * times)), 0..30)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn invariant_more_hours_worked_is_a_larger_factor(pieces in any_pieces(), more in 1.01f64..1.5) {
        let slower: Vec<Done> = pieces.iter().map(|piece| Done { worked_h: piece.worked_h * more, ..*piece }).collect();
        let (before, after) = (factor(&pieces).unwrap(), factor(&slower).unwrap());
        // Every logarithm moves by the same: the mean by as much as the pieces weigh.
        let weight = pieces.len() as f64 / (4.0 + pieces.len() as f64);
        prop_assert!((after.mean_log - before.mean_log - weight * base::math::ln(more)).abs() < 1e-12);
        let (before, after) = (calibration(&pieces).unwrap(), calibration(&slower).unwrap());
        for (before, after) in before.over.iter().zip(&after.over) {
            prop_assert!(before.count <= after.count && before.low <= before.high && before.high <= pieces.len());
        }
        prop_assert!(before.pieces.iter().zip(&after.pieces).all(|(before, after)| before.quantile <= after.quantile));
    }

    #[test]
    fn invariant_the_order_of_the_pieces_does_not_matter(pieces in any_pieces()) {
        let back: Vec<Done> = pieces.iter().rev().copied().collect();
        let (one, other) = (factor(&pieces).unwrap(), factor(&back).unwrap());
        prop_assert!((one.mean_log - other.mean_log).abs() < 1e-12 && (one.p90 / other.p90 - 1.0).abs() < 1e-12);
        // A shop that fits a range, whatever the pieces.
        prop_assert_eq!(one.shop(), Shop::new(one.mean_log, one.sd_log).unwrap());
    }
}
