//! The engine against outside figures: `reference/coating`, each file with a `.toml` that says where it is from.

use coating::acceptance::{Rule, judge};
use coating::climate::{Air, Limits, dew_point_c, may_spray};
use coating::quantity::{Coat, quantity};

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

#[test]
fn oracle_dew_point_agrees_with_psychrolib() {
    // The three-coefficient form leaves up to 0.034 against the full equations.
    const TOLERANCE_C: f64 = 0.04;
    let rows = rows(include_str!("../../../reference/coating/dew_point.csv"));
    assert_eq!(rows.len(), 499);
    let mut worst_c: f64 = 0.0;
    for row in &rows {
        let air = Air { temperature_c: number(&row[0]), rh_pct: number(&row[1]) };
        let off_c = dew_point_c(air).unwrap() - number(&row[2]);
        assert!(off_c.abs() <= TOLERANCE_C, "{air:?} is off by {off_c}");
        worst_c = worst_c.max(off_c.abs());
    }
    // A form that agreed far better than its coefficients allow would not be the form it says it is.
    assert!(worst_c > 0.02, "{worst_c}");
}

#[test]
fn worked_figures_of_the_trade_common_practice() {
    let mut seen = std::collections::BTreeSet::new();
    for row in rows(include_str!("../../../reference/coating/worked_figures.csv")) {
        let got = if row[0] == "dew_point_c" {
            dew_point_c(Air { temperature_c: number(&row[1]), rh_pct: number(&row[2]) }).unwrap()
        } else {
            let quantity = quantity(&Coat {
                area_m2: number(&row[1]),
                dft_um: number(&row[2]),
                solids_pct: number(&row[3]),
                transfer: number(&row[4]),
            })
            .unwrap();
            match row[0].as_str() {
                "coverage_m2_l" => quantity.coverage_m2_l,
                "litres" => quantity.litres,
                "wet_um" => quantity.wet_um,
                other => panic!("{other} is not a figure of this engine"),
            }
        };
        // The allowance for binary fractions: 7.5 +- 0.05 must hold at 7.55 too.
        assert!((got - number(&row[5])).abs() <= number(&row[6]) + 1e-12, "{row:?}: {got}");
        seen.insert(row[0].clone());
    }
    assert_eq!(seen.len(), 4);
}

#[test]
fn worked_climate_of_the_trade_common_practice() {
    let air = Air { temperature_c: 18.0, rh_pct: 70.0 };
    let told = may_spray(air, 15.0, &Limits::USUAL).unwrap();
    assert!(!told.spray);
    assert!(told.why.starts_with("the panel is 2.6 \u{b0}C above the dew point of 12.4 \u{b0}C; 3.0 is needed"));
    // "Steel must be 15.4 or more": a tenth is as far as the trade writes it.
    assert!(!may_spray(air, 15.4, &Limits::USUAL).unwrap().spray);
    assert!(may_spray(air, 15.5, &Limits::USUAL).unwrap().spray);
}

#[test]
fn published_spreading_rates() {
    for row in rows(include_str!("../../../reference/coating/spreading.csv")) {
        let coat = Coat {
            area_m2: number(&row[0]),
            dft_um: number(&row[1]),
            solids_pct: number(&row[2]),
            transfer: 1.0 - number(&row[3]),
        };
        // The file counts litres before thinning and the wet film after it.
        let thinned = Coat { solids_pct: coat.solids_pct / (1.0 + number(&row[4])), ..coat };
        let unthinned = quantity(&coat).unwrap();
        for (got, cell) in [
            (unthinned.coverage_m2_l, &row[5]),
            (quantity(&thinned).unwrap().wet_um, &row[6]),
            (unthinned.litres, &row[7]),
        ] {
            let decimals = cell.split_once('.').map_or(0, |(_, tail)| tail.len() as i32);
            let half_step = 0.5 / (0..decimals).map(|_| 10.0).product::<f64>();
            assert!((got - number(cell)).abs() <= half_step + 1e-12, "{row:?}: {got}");
        }
    }
}

#[test]
fn published_film_rule_at_its_edges() {
    for row in rows(include_str!("../../../reference/coating/film_acceptance.csv")) {
        let readings: Vec<f64> = row[1].split(' ').map(number).collect();
        let rule = Rule { nominal_um: number(&row[0]), agreed_max_um: None };
        let film = judge(&readings, &rule).unwrap();
        assert!((film.mean_um - number(&row[2])).abs() < 1e-9, "{row:?}: {}", film.mean_um);
        assert_eq!(film.below, row[3].parse::<usize>().unwrap(), "{row:?}");
        assert_eq!(film.accept, row[4] == "yes", "{row:?}: {}", film.why);
    }
}
