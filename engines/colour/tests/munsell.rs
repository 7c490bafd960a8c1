//! Munsell value against published figures and another library.

use colour::ColourError;
use colour::munsell::{value_of_y, y_of_value};

fn rows() -> impl Iterator<Item = [f64; 3]> {
    include_str!("../../../reference/colour/munsell.csv").lines().skip(1).map(|line| {
        let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().expect("a number")).collect();
        [cells[0], cells[1], cells[2]]
    })
}

/// ASTM D1535, table of value against Y (from memory, as printed to the digits given).
#[test]
fn published_greys() {
    for (value, y, half_digit) in [(3.0, 6.391, 5e-4), (5.0, 19.272, 5e-4), (8.0, 57.62, 5e-3), (10.0, 100.0, 5e-10)] {
        let found = y_of_value(value).unwrap();
        assert!((found - y).abs() < half_digit, "N{value}: {found} for {y}");
    }
}

/// Newhall, Nickerson and Judd 1943 counted from smoked magnesium oxide, which reflects 0.975 of the light:
/// today's quintic is theirs times that (ASTM D1535, from memory). Coefficients of five digits allow 1e-4
/// of Y and a little.
#[test]
fn published_first_scale_over_magnesium_oxide() {
    for [value, _, first] in rows() {
        let found = y_of_value(value).unwrap();
        assert!((found - 0.975 * first).abs() < 2e-4 * first.max(1.0), "{value}: {found} for {}", 0.975 * first);
    }
}

#[test]
fn oracle_colour_science() {
    let mut seen = 0;
    for [value, y, _] in rows() {
        // Nine decimals in the file.
        assert!((y_of_value(value).unwrap() - y).abs() < 1e-9);
        assert!((value_of_y(y).unwrap() - value).abs() < 1e-8);
        seen += 1;
    }
    assert_eq!(seen, 21);
}

#[test]
fn invariant_there_and_back_and_always_rising() {
    let mut last = -1.0;
    for step in 0..=10_000 {
        let value = f64::from(step) / 1000.0;
        let y = y_of_value(value).unwrap();
        assert!(y > last, "{value}");
        last = y;
        assert!((value_of_y(y.min(100.0)).unwrap() - value).abs() < 1e-12, "{value}");
    }
    assert_eq!(value_of_y(0.0), Ok(0.0));
}

#[test]
fn refuses_what_is_no_grey() {
    for bad in [-0.1, 10.1, f64::NAN] {
        assert!(matches!(y_of_value(bad), Err(ColourError::OutOfRange { .. })));
    }
    for bad in [-0.1, 100.1, f64::INFINITY] {
        assert!(matches!(value_of_y(bad), Err(ColourError::OutOfRange { .. })));
    }
}
