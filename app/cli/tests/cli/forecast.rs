//! `forecast odds`, `forecast look`, `forecast range`, `forecast learned`, `car hours`, `schedule risk`.

use std::fmt::Write;

use serde_json::Value;

use crate::bench::{Bench, Look, Ran, entry, post};

const HEAD: &str = "name,low,likely,high,shape\n";

fn risk(bench: &Bench, rows: &str, more: &[&str]) -> Ran {
    let file = bench.file("tasks.csv", format!("{HEAD}{rows}"));
    bench.run(&[&["schedule", "risk", file, "--json"], more].concat())
}

fn figure(answer: &Value, key: &str) -> f64 {
    answer[key].as_f64().unwrap_or_else(|| panic!("{key}: {answer}"))
}

#[test]
fn the_keys_of_the_contract_are_there_and_rise() {
    let bench = Bench::new();
    let answer = risk(&bench, "sill off,4,6,15,pert\nsill on,8,12,20,triangular\n", &[]).json();
    assert!(figure(&answer, "sd") > 0.0);
    let quantiles = ["p10", "p50", "p80", "p95"].map(|key| figure(&answer, key));
    assert!(quantiles.is_sorted() && quantiles[0] > 12.0 && quantiles[3] < 35.0, "{answer}");
    // (4 + 4 x 6 + 15) / 6 + (8 + 12 + 20) / 3, whatever was drawn.
    assert!((figure(&answer, "mean") - (43.0 / 6.0 + 40.0 / 3.0)).abs() < 1e-9);
    assert_eq!(risk(&bench, "sill off,4,6,15,pert\nsill on,8,12,20,triangular\n", &[]).json(), answer);
    let defaults = ["--samples", "200000", "--rho", "0.3", "--seed", "1"];
    assert_eq!(risk(&bench, "sill off,4,6,15,pert\nsill on,8,12,20,triangular\n", &defaults).json(), answer);
}

/// One triangular task from 0 to 10 with its top at 0 has the quantile 10 (1 - sqrt(1 - p)) and the standard
/// deviation 10 / sqrt(18); a fixed task beside it only moves it.
#[test]
fn invariant_without_correlation_the_answer_is_the_closed_form() {
    let bench = Bench::new();
    let answer = risk(&bench, "a,0,0,10,triangular\nb,5,5,5,pert\n", &["--rho", "0"]).json();
    assert_eq!(answer["exact"], true);
    for (key, p) in [("p10", 0.1_f64), ("p50", 0.5), ("p80", 0.8), ("p95", 0.95)] {
        assert!((figure(&answer, key) - (5.0 + 10.0 * (1.0 - (1.0 - p).sqrt()))).abs() < 1e-3, "{key}: {answer}");
    }
    assert!((figure(&answer, "sd") - 10.0 / 18.0_f64.sqrt()).abs() < 1e-3, "{answer}");
    let few = risk(&bench, "a,0,0,10,triangular\nb,5,5,5,pert\n", &["--rho", "0", "--samples", "1000"]).json();
    assert_eq!(few, answer);
}

/// Against sums worked out elsewhere, by convolution and by sampling; source and method stand in the `.toml` beside
/// each file.
#[test]
fn oracle_six_items_by_convolution_and_by_sampling() {
    const ITEMS: &str = include_str!("../../../../reference/schedule/six_items.csv");
    const SUMS: &str = include_str!("../../../../reference/schedule/six_sums.csv");
    let bench = Bench::new();
    let mut compared = 0;
    for line in SUMS.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (shape, rho, expected) = (cells[0], cells[1], &cells[6..9]);
        let rows: String = ITEMS.lines().skip(1).map(|item| format!("item,{item},{shape}\n")).collect();
        let answer = risk(&bench, &rows, &["--rho", rho, "--samples", "400000"]).json();
        for (place, key) in ["p50", "p80", "p95"].into_iter().enumerate() {
            let error = (figure(&answer, key) - expected[place].parse::<f64>().unwrap()).abs();
            // A convolution is known to its cell, 0.0013 wide. Of a sampled sum the standard error is given for its
            // own number of samples; ours are fewer. One case in a million differs by more than five of both.
            let of_ours = |se: f64| se * (cells[3].parse::<f64>().unwrap() / 400_000.0).sqrt();
            let allowed =
                cells[9 + place].parse::<f64>().map_or(0.0013, |se| 5.0 * (se * se + of_ours(se) * of_ours(se)).sqrt());
            assert!(error <= allowed, "{line}: {key} is off by {error}, {allowed} allowed");
            compared += 1;
        }
    }
    assert_eq!(compared, 15);
}

#[test]
fn tasks_that_are_none_say_file_row_column_value_and_what_would_be_right() {
    let bench = Bench::new();
    risk(&bench, "a,5,4,9,pert\n", &[]).refused(2, &["tasks.csv", "row 2", "likely", "\"4\"", "at least the low"]);
    risk(&bench, "a,1,2,3,pert\nb,1,4,3,pert\n", &[]).refused(2, &["row 3", "column high", "\"3\"", "likely"]);
    risk(&bench, "a,NaN,2,3,pert\n", &[]).refused(2, &["row 2", "column low", "NaN", "a number"]);
    risk(&bench, "a,1,inf,3,pert\n", &[]).refused(2, &["row 2", "column likely", "inf"]);
    risk(&bench, "a,-1,2,3,pert\n", &[]).refused(2, &["row 2", "column low", "-1"]);
    risk(&bench, "a,1,2,1e12,pert\n", &[]).refused(2, &["row 2", "column high", "1e12", "1000000"]);
    risk(&bench, "a,1,,3,pert\n", &[]).refused(2, &["row 2", "column likely", "nothing"]);
    risk(&bench, ",1,2,3,pert\n", &[]).refused(2, &["row 2", "column name", "nothing"]);
    risk(&bench, "a,1,2,3,normal\n", &[]).refused(2, &["row 2", "column shape", "normal", "triangular or pert"]);
    risk(&bench, "a,1,2,3\n", &[]).refused(2, &["row 2", "4 cells", "5"]);
    risk(&bench, "", &[]).refused(2, &["tasks.csv", "no row"]);
    let empty = bench.file("empty.csv", "");
    bench.run(&["schedule", "risk", empty]).refused(2, &["empty.csv", "empty"]);
    let other = bench.file("other.csv", "name,low,high,shape\na,1,2,pert\n");
    bench.run(&["schedule", "risk", other]).refused(2, &["other.csv", "likely", "missing"]);
    bench.run(&["schedule", "risk", "nowhere.csv"]).refused(2, &["nowhere.csv"]);
    let extra = bench.file("extra.csv", "name,low,likely,high,shape,who\na,1,2,3,pert,Bench A\n");
    let ran = bench.run(&["schedule", "risk", extra, "--json"]);
    assert!(ran.err.contains("who is not used"), "{}", ran.err);
    assert_eq!(ran.json()["tasks"], 1);
}

#[test]
fn more_tasks_than_are_added() {
    let bench = Bench::new();
    risk(&bench, &"a,1,2,3,pert\n".repeat(501), &[]).refused(2, &["tasks.csv", "row 502", "at most 500", "501"]);
    assert_eq!(risk(&bench, &"a,1,2,3,pert\n".repeat(500), &["--samples", "1000"]).json()["tasks"], 500);
    let mut rows = String::new();
    for row in 0..1_000_000 {
        writeln!(rows, "t{row},1,2,3,pert").unwrap();
    }
    risk(&bench, &rows, &[]).refused(2, &["tasks.csv", "at most 500", "1000000"]);
}

#[test]
fn flags_outside_their_limits() {
    let bench = Bench::new();
    let refused = |more: &[&str], words: &[&str]| risk(&bench, "a,1,2,3,pert\n", more).refused(2, words);
    refused(&["--rho", "1.2"], &["--rho", "1.2", "from 0 to 1"]);
    refused(&["--rho", "-0.1"], &["--rho", "-0.1", "from 0 to 1"]);
    refused(&["--rho", "NaN"], &["--rho", "NaN"]);
    refused(&["--rho", "some"], &["--rho", "some"]);
    refused(&["--samples", "10"], &["--samples", "10", "1000", "5000000"]);
    refused(&["--samples", "5000001"], &["--samples", "5000001"]);
    refused(&["--samples", "-5"], &["-5"]);
    refused(&["--seed", "x"], &["--seed", "x"]);
}

#[test]
fn odds_and_range_of_a_car_follow_its_record() {
    let bench = Bench::with_lead();
    let (car, who) = (bench.car(), bench.lead());
    let odds = || bench.run(&["forecast", "odds", &car, "--json"]).json();
    let zone = |odds: &Value, id: &str| {
        let zones = odds["zones"].as_array().unwrap();
        zones.iter().find(|zone| zone["zone"] == id).cloned().unwrap_or_else(|| panic!("{id}"))
    };
    let before = odds();
    assert!(before["zones"].as_array().unwrap().len() > 100);
    for one in before["zones"].as_array().unwrap() {
        let ends = ["low", "likely", "high"].map(|end| one["chance"][end].as_f64().unwrap());
        assert!(ends.is_sorted() && ends[0] >= 0.02 && ends[2] <= 0.98, "{one}");
        assert!(!one["words"].as_str().unwrap().is_empty() && !one["reasons"].as_array().unwrap().is_empty(), "{one}");
    }
    assert!(!before["next_looks"].as_array().unwrap().is_empty());
    {
        let server = bench.serve();
        let look = Look { entry: &entry(1), base: 1, zone: "Z01.L", result: "clear", who: &who };
        assert_eq!(post(&server.address, &car, &look).unwrap().0, 201);
    }
    let likely = |odds: &Value| zone(odds, "Z01.L")["chance"]["likely"].as_f64().unwrap();
    assert!(likely(&odds()) < likely(&before), "a clear look lowers the chance");

    let range = bench.run(&["forecast", "range", &car, "--json"]).json();
    let quantiles = ["p10_h", "p50_h", "p80_h", "p95_h"].map(|key| figure(&range, key));
    assert!(quantiles.is_sorted() && quantiles[0] > 0.0, "{range}");
    let shares: f64 = range["zones"].as_array().unwrap().iter().map(|zone| figure(zone, "share")).sum();
    assert!((shares - 1.0).abs() < 1e-6, "{shares}");
    let moved = range["moved"].as_array().unwrap();
    assert_eq!((moved.len(), moved[0]["entry"].as_u64(), moved[0]["zone"].as_str()), (1, Some(2), Some("Z01.L")));
    assert!(figure(&moved[0], "after_h") < figure(&moved[0], "before_h"));
    let since = bench.run(&["forecast", "range", &car, "--since", "2", "--json"]).json();
    assert_eq!(since["moved"].as_array().map(Vec::len), Some(0));
    assert_eq!(since["p50_h"], range["p50_h"]);

    for table in ["odds", "range"] {
        let read = bench.run(&["forecast", table, &car]);
        assert!(read.code == 0 && read.out.contains("Z01.L"), "{read:?}");
    }
    bench.run(&["forecast", "range", &car, "--since", "9"]).refused(2, &["--since", "9", "1 to 2"]);
    bench.run(&["forecast", "range", &car, "--since", "0"]).refused(2, &["--since", "0"]);
    bench.run(&["forecast", "odds", &entry(7)]).refused(2, &["no car"]);
    bench.run(&["forecast", "odds", "x"]).refused(2, &["\"x\""]);
}

#[test]
fn looks_are_ranked_and_say_what_would_follow() {
    let bench = Bench::with_lead();
    let car = bench.car();
    let answer = bench.run(&["forecast", "look", &car, "--json"]).json();
    let looks = answer["looks"].as_array().unwrap();
    let worth: Vec<f64> = looks.iter().map(|look| figure(look, "worth_hours")).collect();
    assert!(worth.is_sorted_by(|a, b| a >= b) && worth[0] > 0.0, "{worth:?}");
    for look in looks {
        let less = figure(look, "gain_hours") - figure(&look["hours"], "likely");
        assert!((less - figure(look, "worth_hours")).abs() < 1e-9 && figure(look, "stake_hours") > 0.0, "{look}");
        assert!(!look["reaches"].as_array().unwrap().is_empty(), "{look}");
        assert!(look["for"].as_array().unwrap().len() <= 3 && look["against"].as_array().unwrap().len() <= 3, "{look}");
    }
    // The car is outdoors on salted roads: something speaks for rot.
    assert!(!looks[0]["for"].as_array().unwrap().is_empty(), "{}", looks[0]);
    let key = looks[0]["key"].as_str().unwrap();
    assert_eq!((&answer["what_if"], &answer["contradictions"]), (&Value::Null, &Value::Array(Vec::new())));

    let asked = bench.run(&["forecast", "look", &car, "--what", key, "--json"]).json()["what_if"].clone();
    assert_eq!(asked["look"]["key"], key);
    let mean = |case: &str, then: &str| figure(&asked[case], then);
    assert!(mean("clear", "mean_hours_after") < mean("clear", "mean_hours_before"), "{asked}");
    assert!(mean("bad", "mean_hours_after") > mean("clear", "mean_hours_after"), "{asked}");
    for moved in asked["clear"]["zones"].as_array().unwrap().iter().filter(|zone| zone["reached"] == true) {
        assert!(figure(&moved["after"], "likely") < figure(&moved["before"], "likely"), "{moved}");
    }
    for more in [&[][..], &["--what", key]] {
        let read = bench.run(&[&["forecast", "look", &car], more].concat());
        assert!(read.code == 0 && read.out.contains(looks[0]["say"].as_str().unwrap()), "{read:?}");
    }
    bench.run(&["forecast", "look", &car, "--what", "W99"]).refused(2, &["--what", "\"W99\"", key]);
    bench.run(&["forecast", "look", &entry(7)]).refused(2, &["no car"]);
}

/// Two looks at one place that cannot both be right are named, the later one counts.
#[test]
fn looks_that_contradict_each_other_are_named() {
    let bench = Bench::with_lead();
    let (car, who) = (bench.car(), bench.lead());
    {
        let server = bench.serve();
        for (base, result) in [(1, "thin"), (2, "clear")] {
            let look = Look { entry: &entry(base), base, zone: "Z01.L", result, who: &who };
            assert_eq!(post(&server.address, &car, &look).unwrap().0, 201);
        }
    }
    let answer = bench.run(&["forecast", "look", &car, "--json"]).json();
    let told = &answer["contradictions"][0];
    assert_eq!((told["zone"].as_str(), &told["earlier"], &told["later"]), (Some("Z01.L"), &2.into(), &3.into()));
    assert!(bench.run(&["forecast", "look", &car]).out.contains("cannot both be right"));
}

#[test]
fn a_shop_without_history_has_learned_nothing() {
    let bench = Bench::with_lead();
    let empty = bench.run(&["forecast", "learned", "--json"]).json();
    let car = bench.car();
    let answer = bench.run(&["forecast", "learned", "--json"]).json();
    assert_eq!(answer, empty);
    for list in ["cars", "rates", "clues", "calibration"] {
        assert_eq!(answer[list].as_array().map(Vec::len), Some(0), "{list}");
    }
    assert_eq!((&answer["brier"]["zones"], &answer["brier"]["learned"]), (&0.into(), &Value::Null));
    assert_eq!((&answer["hours"]["pieces"], figure(&answer["hours"], "median")), (&0.into(), 1.0));
    assert!(bench.run(&["forecast", "learned"]).out.contains("No real car has taught anything"));
    let range = bench.run(&["forecast", "range", &car, "--json"]).json();
    assert_eq!((&range["pace"]["pieces"], &range["money"], &range["past"]), (&0.into(), &Value::Null, &Value::Null));
    let parts: f64 = range["parts"].as_array().unwrap().iter().map(|part| figure(part, "mean")).sum();
    assert!((parts - figure(&range["whole"], "mean")).abs() < 1e-6 * parts, "{range}");
    let shares: f64 = range["density"].as_array().unwrap().iter().map(|bin| figure(bin, "share")).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
}

/// A zone that became known on one car moves the base rate by which the next one is judged, and a car never teaches
/// itself.
#[test]
fn one_car_teaches_the_next() {
    let bench = Bench::with_lead();
    let (first, who) = (bench.car(), bench.lead());
    let second = bench.car();
    let before = bench.run(&["forecast", "odds", &second, "--json"]).json();
    {
        let server = bench.serve();
        let look = Look { entry: &entry(1), base: 1, zone: "Z52", result: "thin", who: &who };
        assert_eq!(post(&server.address, &first, &look).unwrap().0, 201);
    }
    let learned = bench.run(&["forecast", "learned", "--json"]).json();
    let rate = &learned["rates"][0];
    assert_eq!((rate["zone"].as_str(), &rate["opened"], &rate["bad"]), (Some("Z52"), &1.into(), &1.into()));
    assert!(figure(rate, "now") > figure(rate, "start"), "{rate}");
    assert_eq!((rate["taught_by"][0]["car"].as_str(), &rate["taught_by"][0]["entry"]), (Some(&*first), &2.into()));
    assert_eq!((&learned["brier"]["zones"], &learned["cars"][0]["bad"]), (&1.into(), &1.into()));
    assert_eq!(learned["brier"]["starting_guesses"], learned["brier"]["learned"], "it had no other car to learn from");
    let roof = |odds: &Value| {
        let zone = odds["zones"].as_array().unwrap().iter().find(|zone| zone["zone"] == "Z52").cloned().unwrap();
        figure(&zone["alone"], "likely")
    };
    let after = bench.run(&["forecast", "odds", &second, "--json"]).json();
    assert!(roof(&after) > roof(&before), "{} {}", roof(&after), roof(&before));
    let read = bench.run(&["forecast", "learned"]);
    assert!(read.code == 0 && read.out.contains("1.2") && read.out.contains("Brier"), "{read:?}");
    let none = bench.run(&["forecast", "learned", "--invented"]);
    assert!(none.out.contains("No invented car") && none.out.contains("Not counted: 1"), "{none:?}");
}

#[test]
fn hours_are_put_down_and_added() {
    let bench = Bench::with_lead();
    let car = bench.car();
    let put = |more: &[&str]| bench.run(&[&["car", "hours", &car, "--by", "Lead", "--json"], more].concat());
    let first = put(&["--zone", "Z03.R", "--part", "opening", "--hours", "2.5"]).json();
    assert_eq!((first["entry"].as_u64(), figure(&first, "so_far_h")), (Some(2), 2.5));
    assert_eq!(figure(&put(&["--zone", "Z03.R", "--part", "metal", "--hours", "4"]).json(), "so_far_h"), 6.5);
    assert_eq!(figure(&put(&["--part", "other", "--hours", "10"]).json(), "so_far_h"), 16.5);
    assert_eq!(figure(&bench.run(&["forecast", "range", &car, "--json"]).json(), "worked_h"), 16.5);
    put(&["--zone", "Z99", "--part", "metal", "--hours", "1"]).refused(2, &["Z99"]);
    put(&["--part", "metal", "--hours", "0"]).refused(2, &["hours"]);
    put(&["--part", "metal", "--hours", "-1"]).refused(2, &["hours"]);
    put(&["--part", "metal", "--hours", "NaN"]).refused(2, &["hours"]);
    put(&["--part", "metal", "--hours", "201"]).refused(2, &["hours", "200"]);
    put(&["--part", "welding", "--hours", "1"]).refused(2, &["welding", "metal"]);
    assert_eq!(bench.record(&car).len(), 4);
}
