//! `people add`, `people list`, `people passphrase`, and the door that asks for one.

use crate::bench::Bench;

#[test]
fn people_are_entered_and_listed() {
    let bench = Bench::new();
    bench.run(&["people", "list"]).refused(3, &["guidecoat.sqlite", "--database"]);
    let added = bench.run(&["people", "add", "Bench A", "--role", "bench", "--json"]).json();
    assert_eq!((added["name"].as_str(), added["role"].as_str()), (Some("Bench A"), Some("bench")));
    assert_eq!(added["passphrase"], false);
    bench.run(&["people", "add", " bench a", "--role", "painter"]).refused(2, &["name", "bench a", "already"]);
    bench.run(&["people", "add", "", "--role", "painter"]).refused(2, &["name"]);
    let listed = bench.run(&["--json", "people", "list"]).json();
    assert_eq!(listed["people"].as_array().map(Vec::len), Some(1));
    assert_eq!(listed["people"][0]["id"], added["id"]);
}

#[test]
fn a_passphrase_is_read_from_standard_input_and_never_shown() {
    let bench = Bench::new();
    let words = "four words on paper";
    let add = ["people", "add", "Lead", "--role", "lead", "--passphrase-stdin", "--json"];
    bench.run_with(&add, "short\n").refused(2, &["standard input", "12"]);
    let added = bench.run_with(&add, &format!("{words}\n"));
    assert_eq!(added.json()["passphrase"], true);
    assert!(!added.out.contains(words) && !added.err.contains(words));

    bench.run(&["people", "add", "Bench A", "--role", "bench"]);
    bench.run_with(&["people", "passphrase", "Nobody"], "four other words here").refused(2, &["Nobody", "Bench A"]);
    let changed = bench.run_with(&["people", "passphrase", "bench a", "--json"], "four other words here\r\n");
    assert_eq!(changed.json()["passphrase"], true);
}

#[test]
fn an_address_that_others_can_reach_needs_a_lead_with_a_passphrase() {
    let bench = Bench::with_lead();
    bench.run(&["serve", "--listen", "0.0.0.0:0"]).refused(2, &["0.0.0.0:0", "people passphrase", "people add"]);
    bench.run(&["people", "add", "Bench A", "--role", "bench"]);
    bench.run_with(&["people", "passphrase", "Bench A"], "four words on paper");
    bench.run(&["serve", "--listen", "0.0.0.0:0"]).refused(2, &["no lead has a passphrase"]);
}
