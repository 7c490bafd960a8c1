//! `colour difference`, `colour lab`, `colour travel`.

use std::fmt::Write;

use crate::bench::Bench;

const SHARMA: &str = include_str!("../../../../reference/colour/sharma2005.csv");
const CHECKER: &str = include_str!("../../../../reference/colour/colorchecker_spectra.csv");
const CHECKER_LAB: &str = include_str!("../../../../reference/colour/colorchecker_lab.csv");
const DONOR: &str = include_str!("../../../../demo/colour/donor.csv");

/// Sharma, Wu and Dalal (2005), table 1: four decimals, so half of the last plus the printed rounding.
#[test]
fn published_ciede2000_pairs_through_the_command_line() {
    let bench = Bench::new();
    let pairs = bench.file("pairs.csv", SHARMA);
    let ran = bench.run(&["colour", "difference", pairs, "--json"]);
    assert!(ran.err.contains("the column pair is not used"), "{}", ran.err);
    let found = ran.json();
    let found = found["de00"].as_array().unwrap();
    let wanted: Vec<f64> = SHARMA.lines().skip(1).map(|l| l.rsplit(',').next().unwrap().parse().unwrap()).collect();
    assert_eq!(found.len(), 34);
    for (found, wanted) in found.iter().zip(wanted) {
        assert!((found.as_f64().unwrap() - wanted).abs() < 1e-4, "{found} {wanted}");
    }
}

/// The 24 chart spectra by colour-science, ASTM E308; within 1e-4 as its file was rounded.
#[test]
fn oracle_colorchecker_through_the_command_line() {
    let bench = Bench::new();
    let spectra = bench.file("spectra.csv", CHECKER);
    let mut compared = 0;
    for (light, observer) in [("D65", "2"), ("D65", "10"), ("A", "2"), ("A", "10"), ("FL11", "2"), ("FL11", "10")] {
        let line = ["colour", "lab", spectra, "--illuminant", light, "--observer", observer, "--json"];
        let found = bench.run(&line).json();
        for row in found["rows"].as_array().unwrap() {
            let name = row["name"].as_str().unwrap();
            let start = format!("{name},{light},{observer},");
            let wanted = CHECKER_LAB.lines().find_map(|l| l.strip_prefix(&start)).expect(name);
            let wanted: Vec<f64> = wanted.split(',').map(|v| v.parse().unwrap()).collect();
            for (key, wanted) in ["X", "Y", "Z", "L", "a", "b"].iter().zip(wanted) {
                let found = row[key].as_f64().unwrap();
                assert!((found - wanted).abs() < 1e-4, "{name} {light} {observer} {key}: {found} {wanted}");
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 24 * 6 * 6);
}

#[test]
fn invariant_a_perfect_white_is_exactly_white() {
    let bench = Bench::new();
    let heading: Vec<String> = (400..=700).step_by(10).map(|nm| nm.to_string()).collect();
    let white = format!("name,{}\ntile{}\n", heading.join(","), ",1".repeat(31));
    let spectra = bench.file("white.csv", white);
    let found = bench.run(&["--json", "colour", "lab", spectra, "--illuminant", "FL11", "--observer", "2"]).json();
    let row = &found["rows"][0];
    assert_eq!((row["L"].as_f64(), row["a"].as_f64(), row["b"].as_f64()), (Some(100.0), Some(0.0), Some(0.0)));
}

#[test]
fn travel_says_what_the_demo_s_donor_does() {
    let bench = Bench::new();
    let file = bench.file("donor.csv", DONOR);
    let found = bench.run(&["colour", "travel", file, "--json"]).json();
    let paint = &found["paints"][0];
    assert_eq!(paint["by_angle"].as_array().map(Vec::len), Some(6));
    let words = paint["words"].as_str().unwrap();
    assert!(words.contains("darker") && words.contains("towards"), "{words}");
    assert!(paint["hue_deg"].as_f64().unwrap().abs() > 40.0);

    let table = bench.run(&["colour", "travel", file]);
    assert_eq!(table.code, 0);
    assert!(table.out.contains("45as110"), "{}", table.out);
}

#[test]
fn a_table_with_semicolons_and_decimal_commas_is_read_and_named() {
    let bench = Bench::new();
    let pairs = bench.file("pairs.csv", "L1;a1;b1;L2;a2;b2\r\n50,0;2,6772;-79,7751;50,0;0,0;-82,7485\r\n");
    let ran = bench.run(&["colour", "difference", pairs, "--json"]);
    assert!(ran.err.contains("semicolons") && ran.err.contains("decimal comma"), "{}", ran.err);
    assert!((ran.json()["de00"][0].as_f64().unwrap() - 2.0425).abs() < 1e-4);
}

#[test]
fn a_million_pairs_are_answered_in_the_order_they_came() {
    let bench = Bench::new();
    let mut text = String::from("L1,a1,b1,L2,a2,b2\n");
    for row in 0..1_000_000 {
        writeln!(text, "50,{},0,50,{},0", row % 100, row % 100 + i32::from(row == 765_432)).unwrap();
    }
    let pairs = bench.file("pairs.csv", text);
    let found = bench.run(&["colour", "difference", pairs, "--json"]).json();
    let found = found["de00"].as_array().unwrap();
    assert_eq!(found.len(), 1_000_000);
    let differing: Vec<usize> = (0..found.len()).filter(|i| found[*i].as_f64() != Some(0.0)).collect();
    assert_eq!(differing, [765_432]);
}
