//! `forecast marginals`: networks from files, asked alone.

use std::collections::BTreeMap;
use std::fmt::Write;

use serde_json::Value;

use crate::bench::{Bench, Ran};

/// One parent with three states, one of which has a name with "=" in it.
const SILL: &str = "network sill { }
variable wet { type discrete [ 3 ] { dry, damp, >=soaked }; }
variable rust { type discrete [ 2 ] { no, yes }; }
probability ( wet ) { table 0.5, 0.25, 0.25; }
probability ( rust | wet ) {
  (dry) 1.0, 0.0;
  (damp) 0.5, 0.5;
  (>=soaked) 0.25, 0.75;
}
";

fn asked(bench: &Bench, text: impl AsRef<[u8]>, evidence: &[&str]) -> Ran {
    let file = bench.file("net.bif", text);
    bench.run(&[&["forecast", "marginals", file, "--json"], evidence].concat())
}

fn figure(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value}"))
}

#[test]
fn the_keys_of_the_contract_are_there() {
    let bench = Bench::new();
    let answer = asked(&bench, SILL, &["--evidence", "rust=yes"]).json();
    // 0.25 x 0.5 + 0.25 x 0.75
    assert!((figure(&answer["p_evidence"]) - 0.3125).abs() < 1e-12, "{answer}");
    assert!((figure(&answer["marginals"]["wet"][">=soaked"]) - 0.6).abs() < 1e-12, "{answer}");
    assert_eq!((figure(&answer["marginals"]["rust"]["yes"]), figure(&answer["marginals"]["wet"]["dry"])), (1.0, 0.0));
    assert_eq!(answer["width"], 1);
    let both = asked(&bench, SILL, &["--evidence", "wet=>=soaked, rust=yes"]).json();
    assert!((figure(&both["p_evidence"]) - 0.1875).abs() < 1e-12, "{both}");
    assert_eq!(asked(&bench, SILL, &["--evidence", "rust=yes", "--evidence", "wet=>=soaked"]).json(), both);
    assert!((figure(&asked(&bench, SILL, &[]).json()["p_evidence"]) - 1.0).abs() < 1e-12);
    let read = bench.run(&["forecast", "marginals", "net.bif", "--evidence", "rust=yes"]);
    assert!(read.code == 0 && read.out.contains("0.600000") && read.out.contains("given"), "{read:?}");
}

/// Against another library; source and tolerance stand in the `.toml` beside the file.
#[test]
fn oracle_published_networks_given_evidence() {
    const MARGINALS: &str = include_str!("../../../../reference/forecast/marginals.csv");
    let bench = Bench::new();
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/forecast");
    let mut answers: BTreeMap<(&str, &str), Value> = BTreeMap::new();
    for line in MARGINALS.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let [network, evidence, variable, state, p, p_evidence] = cells.as_slice() else { panic!("{line}") };
        let answer = answers.entry((*network, *evidence)).or_insert_with(|| {
            let file = format!("{folder}/{network}.bif");
            bench.run(&["forecast", "marginals", &file, "--evidence", &evidence.replace(' ', ","), "--json"]).json()
        });
        let off = |value: &Value, wanted: &str| (figure(value) - wanted.parse::<f64>().expect(wanted)).abs();
        assert!(off(&answer["marginals"][variable][state], p) < 1e-9, "{line}");
        assert!(off(&answer["p_evidence"], p_evidence) < 1e-9, "{line}");
    }
    assert_eq!(answers.len(), 14);
}

#[test]
fn a_file_that_is_not_the_format_is_refused_where_it_goes_wrong() {
    let bench = Bench::new();
    let refused = |from: &str, to: &str, words: &[&str]| {
        assert!(SILL.contains(from), "{from}");
        asked(&bench, SILL.replacen(from, to, 1), &[]).refused(2, &[&["net.bif"], words].concat());
    };
    refused("0.25, 0.75;", "0.25, x;", &["line 8", "column 20", "x", "right would be"]);
    refused("0.25, 0.75;", "0.25, 1.75;", &["line 8", "1.75"]);
    refused("0.25, 0.75;", "0.25, 0.95;", &["line 8", "1.2", "sum of 1"]);
    refused("rust | wet", "rust | damp", &["line 5", "damp"]);
    refused("(damp) 0.5, 0.5;", "", &["line 9", "no row for \"damp\""]);
    refused("table 0.5, 0.25, 0.25", "table 0.5, 0.5", &["line 4", "2 probabilities", "3"]);
    asked(&bench, "", &[]).refused(2, &["net.bif", "line 1", "network"]);
    asked(&bench, b"network s { }\nvariable \xFF", &[]).refused(2, &["net.bif", "line 2, column 10", "0xff", "UTF-8"]);
    asked(&bench, "network n { }\n".repeat(720_000), &[]).refused(2, &["net.bif", "10000000 bytes"]);
    bench.run(&["forecast", "marginals", "nowhere.bif"]).refused(2, &["nowhere.bif"]);
    bench.run(&["forecast", "marginals", "."]).refused(2, &["folder"]);
    bench.run(&["forecast", "marginals"]).refused(2, &["NET.bif"]);
    let circle =
        "network n { } variable a { type discrete [ 2 ] { x, y }; } variable b { type discrete [ 2 ] { x, y }; }
probability ( a | b ) { (x) 0.5, 0.5; (y) 0.5, 0.5; } probability ( b | a ) { (x) 0.5, 0.5; (y) 0.5, 0.5; }";
    asked(&bench, circle, &[]).refused(2, &["net.bif", "circle"]);
}

#[test]
fn evidence_that_names_nothing_or_cannot_happen_is_refused() {
    let bench = Bench::new();
    let refused = |evidence: &str, words: &[&str]| {
        asked(&bench, SILL, &["--evidence", evidence]).refused(2, &[&["--evidence"], words].concat());
    };
    refused("damp=yes", &["\"damp\"", "wet, rust"]);
    refused("rust=maybe", &["\"rust\"", "\"maybe\"", "no, yes"]);
    refused("rust=>=7.5", &["\">=7.5\""]);
    refused("rust", &["\"rust\"", "VARIABLE=STATE"]);
    refused("rust=yes,", &["\"\"", "VARIABLE=STATE"]);
    refused("rust=yes,rust=no", &["\"rust\"", "twice"]);
    refused("wet=dry,rust=yes", &["cannot happen", "0"]);
    let long = "x".repeat(3000);
    let told = asked(&bench, SILL, &["--evidence", &format!("{long}=yes")]);
    assert!(told.code == 2 && told.err.len() < 300, "{told:?}");
}

/// Each variable waits for three far ones, so that the tables stay small and the cliques do not.
#[test]
fn a_network_too_tightly_woven_is_refused_with_its_width() {
    let bench = Bench::new();
    let mut text = String::from("network knot { }\n");
    for place in 0..60 {
        writeln!(text, "variable v{place} {{ type discrete [ 3 ] {{ a, b, c }}; }}").unwrap();
    }
    for place in 0..60_usize {
        let parents = [7, 11, 16].iter().filter_map(|back| place.checked_sub(*back));
        let names: Vec<String> = parents.map(|parent| format!("v{parent}")).collect();
        let given = if names.is_empty() { String::new() } else { format!("| {} ", names.join(", ")) };
        writeln!(text, "probability ( v{place} {given}) {{ default 0.25, 0.25, 0.5; }}").unwrap();
    }
    asked(&bench, &text, &[]).refused(2, &["net.bif", "width", "fit"]);
}
