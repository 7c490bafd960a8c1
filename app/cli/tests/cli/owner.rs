//! `car link`, `car report`, and the details that the owner's side needs.

use serde_json::Value;

use crate::bench::{Bench, Look, entry, post};

fn shop() -> (Bench, String) {
    let bench = Bench::with_lead();
    bench.run(&["people", "add", "Owner", "--role", "owner", "--json"]).json();
    let car = bench.car();
    (bench, car)
}

#[test]
fn a_link_is_shown_once_listed_without_its_address_and_taken_back() {
    let (bench, car) = shop();
    let make = |more: &[&str]| {
        let line = ["car", "link", "make", &car, "--owner", "Owner", "--by", "Lead", "--json"];
        bench.run(&[&line[..], more].concat())
    };
    let made = make(&["--public-url", "https://shop.example/"]).json();
    let address = made["address"].as_str().unwrap();
    let token = address.strip_prefix("https://shop.example/o/").unwrap();
    assert_eq!(token.len(), 64);
    let list = || bench.run(&["car", "link", "list", &car, "--json"]);
    let listed = list();
    assert!(!listed.out.contains(token));
    let links = &listed.json()["links"];
    assert_eq!((links[0]["link"].as_str(), links[0]["state"].as_str()), (made["link"].as_str(), Some("open")));
    let database = std::fs::read(bench.path("guidecoat.sqlite")).unwrap();
    assert!(!database.windows(64).any(|bytes| bytes == token.as_bytes()), "the token is in the database");

    let other = make(&[]);
    assert!(other.err.contains("doubtful") && other.err.contains("--public-url"), "{}", other.err);
    assert!(other.json()["address"].as_str().unwrap().starts_with("http://127.0.0.1:8017/o/"));
    let revoke = |link: &str| bench.run(&["car", "link", "revoke", &car, link, "--json"]);
    revoke("5f").refused(2, &["5f", "link list"]);
    revoke("zzzzzzzz").refused(2, &["zzzzzzzz"]);
    revoke("").refused(2, &["link list"]);
    let left = revoke(made["link"].as_str().unwrap()).json();
    let state = |n: usize| left["links"][n]["state"].as_str().unwrap().to_string();
    assert_eq!((state(0), state(1)), ("open".into(), "taken back".into()));
}

#[test]
fn a_link_that_cannot_be_is_refused() {
    let (bench, car) = shop();
    let make = |owner: &str, more: &[&str]| {
        let line = ["car", "link", "make", &car, "--owner", owner, "--by", "Lead"];
        bench.run(&[&line[..], more].concat())
    };
    make("Lead", &["--public-url", "https://shop.example"]).refused(2, &["owner"]);
    make("Nobody", &[]).refused(2, &["Nobody"]);
    make("Owner", &["--days", "0", "--public-url", "https://shop.example"]).refused(2, &["0 days", "366"]);
    make("Owner", &["--days", "367", "--public-url", "https://shop.example"]).refused(2, &["367 days", "366"]);
    make("Owner", &["--days", "-1"]).refused(2, &["-1"]);
    make("Owner", &["--public-url", "shop.example"]).refused(2, &["--public-url", "shop.example", "https://"]);
    make("Owner", &["--public-url", "https://shop.example/?a=1"]).refused(2, &["--public-url", "after the host"]);
    assert_eq!(bench.run(&["car", "link", "list", &car, "--json"]).json()["links"].as_array().map(Vec::len), Some(0));
    bench.run(&["car", "link", "list", &entry(7)]).refused(2, &["no car"]);
}

/// A proxy in front of a program that only this computer can reach lets everybody in.
#[test]
fn a_public_address_needs_a_lead_with_a_passphrase() {
    let bench = Bench::with_lead();
    let serve = ["serve", "--listen", "127.0.0.1:0", "--public-url", "https://shop.example"];
    bench.run(&serve).refused(2, &["--public-url", "https://shop.example", "people passphrase"]);
    bench.run(&["serve", "--public-url", "ftp://shop.example"]).refused(2, &["--public-url", "http://"]);
}

#[test]
fn the_details_take_what_the_owner_agreed_to() {
    let bench = Bench::with_lead();
    let new = |more: &[&str]| {
        let line = ["car", "new", "--title", "Green", "--year", "1971", "--climate", "dry_inland"];
        let rest = ["--kept", "unknown", "--aim", "show", "--by", "Lead", "--json"];
        bench.run(&[&line[..], &rest[..], more].concat())
    };
    let told = ["--history", "wax_history_proved,factory_drains_open_all", "--budget-h", "120.5", "--ask-over-h", "6"];
    let car = new(&told).json()["car"].as_str().unwrap().to_string();
    let first: Value = serde_json::from_str(&bench.record(&car)[0]).unwrap();
    let data = &first["data"];
    assert_eq!((data["budget_h"].as_f64(), data["ask_over_h"].as_f64()), (Some(120.5), Some(6.0)));
    assert_eq!(data["history"].as_array().map(Vec::len), Some(2));
    new(&["--budget-h", "0"]).refused(2, &["budget_h", "0 h", "20000"]);
    new(&["--budget-h", "NaN"]).refused(2, &["budget_h", "NaN"]);
    new(&["--ask-over-h", "-3"]).refused(2, &["ask_over_h", "-3 h"]);
    new(&["--history", "rumour"]).refused(2, &["rumour", "wax_history_proved"]);
}

#[test]
fn a_report_is_drafted_edited_printed_and_kept() {
    let (bench, car) = shop();
    let who = bench.lead();
    {
        let server = bench.serve();
        let look = Look { entry: &entry(1), base: 1, zone: "Z01.L", result: "bad", who: &who };
        assert_eq!(post(&server.address, &car, &look).unwrap().0, 201);
    }
    let report = |more: &[&str]| bench.run(&[&["car", "report", &car, "--json"], more].concat());
    let mut drafted = report(&[]).json();
    assert!(drafted["entry"].is_null());
    for part in ["says", "done", "found", "changed", "need", "next", "photographs", "range", "from", "to"] {
        assert!(!drafted[part].is_null(), "{part}: {drafted}");
    }
    assert!(drafted["found"][0].as_str().unwrap().contains("pitted"), "{drafted}");
    assert_eq!(bench.record(&car).len(), 2);

    drafted["says"] = "The left sill is pitted.".into();
    drafted["range"]["p50_h"] = 1.0.into();
    let file = bench.file("report.json", drafted.to_string());
    let kept = report(&["--edited", file, "--pdf", "report.pdf", "--keep", "--by", "Lead"]).json();
    assert_eq!((kept["entry"].as_u64(), &kept["says"]), (Some(3), &drafted["says"]));
    assert_ne!(kept["range"]["p50_h"], 1.0, "the range is the record's, whatever the file says");
    let printed = std::fs::read(bench.path("report.pdf")).unwrap();
    assert!(printed.starts_with(b"%PDF-"));
    assert_eq!(kept["pdf"], job::ids::Hash::of(&printed).to_string());
    assert_eq!(bench.run(&["car", "verify", &car, "--json"]).json()["intact"], true);
}

#[test]
fn a_report_that_cannot_be_is_refused_and_nothing_is_kept() {
    let (bench, car) = shop();
    let report = |more: &[&str]| bench.run(&[&["car", "report", &car], more].concat());
    report(&["--from", "2026-03-15", "--to", "2026-03-02"]).refused(2, &["--from", "2026-03-15", "2026-03-02"]);
    report(&["--from", "soon"]).refused(2, &["--from", "soon"]);
    report(&["--keep"]).refused(2, &["--by"]);
    report(&["--by", "Lead"]).refused(2, &["--keep"]);
    report(&["--keep", "--by", "Nobody"]).refused(2, &["Nobody"]);
    let file = bench.file("report.json", "{}");
    report(&["--edited", file]).refused(2, &["report.json", "car report"]);
    let mut drafted = bench.run(&["car", "report", &car, "--json"]).json();
    drafted["says"] = "".into();
    let file = bench.file("report.json", drafted.to_string());
    report(&["--edited", file, "--keep", "--by", "Lead", "--pdf", "r.pdf"]).refused(2, &["report.json", "says"]);
    report(&["--pdf", "nowhere/r.pdf"]).refused(2, &["nowhere/r.pdf"]);
    assert!(!bench.path("r.pdf").exists());
    assert_eq!(bench.record(&car).len(), 1);
}
