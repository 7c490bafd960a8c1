//! The engine against outside figures: `reference/schedule`, each file with a `.toml` that says where it is from.

use schedule::risk::sum;
use schedule::{Correlation, Shape, Spread, Task};

/// Samples of ours: enough to see a wrong model, few enough for a program that is not optimised.
const SAMPLES: usize = 200_000;
const SEED: u64 = 20;

/// The rows of a reference file, without its heading.
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

fn shape(cell: &str) -> Shape {
    match cell {
        "triangular" => Shape::Triangular,
        "pert" => Shape::Pert,
        other => panic!("{other} is not a shape"),
    }
}

fn spread(low: f64, likely: f64, high: f64) -> Spread {
    Spread::new(low, likely, high).expect("three guesses that rise")
}

fn six(shape: Shape) -> Vec<Task> {
    let rows = rows(include_str!("../../../reference/schedule/six_items.csv"));
    assert_eq!(rows.len(), 6);
    rows.iter().map(|row| Task { spread: spread(number(&row[0]), number(&row[1]), number(&row[2])), shape }).collect()
}

#[test]
fn oracle_shapes_agree_with_scipy() {
    for row in rows(include_str!("../../../reference/schedule/distributions.csv")) {
        let (shape, spread) = (shape(&row[0]), spread(number(&row[1]), number(&row[2]), number(&row[3])));
        let quantile = |p| spread.quantile(shape, p);
        let got = [spread.mean(shape), spread.sd(shape), quantile(0.05), quantile(0.5), quantile(0.8), quantile(0.95)];
        for (got, cell) in got.iter().zip(&row[4..]) {
            assert!((got / number(cell) - 1.0).abs() < 1e-9, "{row:?}: {got}");
        }
    }
}

#[test]
fn oracle_pert_quantiles_agree_with_scipy() {
    for row in rows(include_str!("../../../reference/schedule/pert_quantiles.csv")) {
        let (mode, p, expect) = (number(&row[0]), number(&row[1]), number(&row[2]));
        let got = spread(0.0, mode, 1.0).quantile(Shape::Pert, p);
        let to_the_end = expect.min(1.0 - expect);
        assert!((got - expect).abs() <= 1e-9 * to_the_end, "{row:?}: {got}");
    }
}

#[test]
fn oracle_independent_sums_agree_with_numpy_by_convolution() {
    let rows = rows(include_str!("../../../reference/schedule/six_sums.csv"));
    let exact: Vec<_> = rows.iter().filter(|row| row[2] == "convolution").collect();
    assert_eq!(exact.len(), 2);
    for row in exact {
        let got = sum(&six(shape(&row[0])), Correlation::NONE, SAMPLES, SEED).unwrap();
        assert!((got.mean / number(&row[4]) - 1.0).abs() < 1e-9);
        assert!((got.sd / number(&row[5]) - 1.0).abs() < 1e-9);
        for (got, cell) in [got.p50, got.p80, got.p95].iter().zip(&row[6..]) {
            assert!((got - number(cell)).abs() < 1e-4, "{row:?}: {got}");
        }
    }
}

#[test]
fn oracle_sampled_sums_agree_with_numpy_within_three_standard_errors() {
    let rows = rows(include_str!("../../../reference/schedule/six_sums.csv"));
    let sampled: Vec<_> = rows.iter().filter(|row| row[2] == "sampling").collect();
    assert_eq!(sampled.len(), 3);
    for row in sampled {
        let (theirs, sd) = (number(&row[3]), number(&row[5]));
        let rho = Correlation::new(number(&row[1])).unwrap();
        let got = sum(&six(shape(&row[0])), rho, SAMPLES, SEED).unwrap();
        // What we work out without sampling has no error of its own.
        let ours_over_theirs = if rho == Correlation::NONE { 0.0 } else { theirs / SAMPLES as f64 };
        let together = |se: f64| 3.0 * se * (1.0 + ours_over_theirs).sqrt();
        assert!((got.mean - number(&row[4])).abs() < 3.0 * sd / theirs.sqrt(), "{row:?}: {got:?}");
        assert!((got.sd - sd).abs() < together(sd / (2.0 * theirs).sqrt()), "{row:?}: {got:?}");
        for (place, got) in [got.p50, got.p80, got.p95].iter().enumerate() {
            let (expect, se) = (number(&row[6 + place]), number(&row[9 + place]));
            assert!((got - expect).abs() < together(se), "{row:?}: {got}");
        }
    }
}

#[test]
fn worked_sum_of_the_trade_common_practice() {
    for row in rows(include_str!("../../../reference/schedule/worked_sum.csv")) {
        let [low, likely, high] = [number(&row[0]), number(&row[1]), number(&row[2])];
        // However the totals are split among six, PERT means add up to the same.
        let shares = [0.3, 0.25, 0.15, 0.12, 0.1, 0.08];
        let tasks = shares.map(|s| Task { spread: spread(low * s, likely * s, high * s), shape: Shape::Pert });
        for rho in [0.0, 0.5, 1.0] {
            let got = sum(&tasks, Correlation::new(rho).unwrap(), 1_000, SEED).unwrap();
            assert!((got.mean - number(&row[3])).abs() <= number(&row[4]), "{got:?}");
        }
    }
}
