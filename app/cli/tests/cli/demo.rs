//! `demo`: one invented car, the same every time.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::bench::{Bench, unpack};

fn demo(bench: &Bench) -> Value {
    bench.run(&["demo", "--no-serve", "--json"]).json()
}

/// Its record and its dossier are the same to the last byte; the second run replaces the first one's folder.
#[test]
fn regression_two_demos_are_the_same_and_tell_a_whole_story() {
    let bench = Bench::new();
    let first = demo(&bench);
    let dossier = std::fs::read(bench.path("demo-out/dossier.pdf")).unwrap();
    let record = unpack(&bench.path("demo-out/car.zip"), "events.jsonl");
    assert!(dossier.starts_with(b"%PDF-"));
    assert_eq!(demo(&bench), first);
    assert!(dossier == std::fs::read(bench.path("demo-out/dossier.pdf")).unwrap(), "two dossiers differ");
    assert_eq!(record, unpack(&bench.path("demo-out/car.zip"), "events.jsonl"));

    let zip = bench.path("demo-out/car.zip");
    let verified = bench.run(&["car", "verify", "demo-out/car.zip", "--json"]).json();
    assert_eq!((verified["intact"].as_bool(), &verified["head"]), (Some(true), &first["head"]));
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for line in record.lines() {
        let read: Value = serde_json::from_str(line).unwrap();
        *kinds.entry(read["kind"].as_str().unwrap().to_string()).or_default() += 1;
        assert_eq!(read["kind"] == "car_opened", read["data"]["invented"] == true);
    }
    assert!((90..=140).contains(&kinds.values().sum::<usize>()), "{kinds:?}");
    for (kind, least) in [("looked", 50), ("read", 12), ("photographed", 24), ("opened", 5), ("made_good", 2)] {
        assert!(kinds[kind] >= least, "{kind}: {kinds:?}");
    }
    for (kind, count) in [("colour_measured", 2), ("climate_read", 4), ("film_judged", 4), ("withdrawn", 1)] {
        assert_eq!(kinds[kind], count, "{kind}");
    }
    let zones = unpack(&zip, "zones.csv");
    let count = |state: &str| zones.lines().filter(|line| line.contains(state)).count();
    assert_eq!(zones.lines().count() - 1, 116);
    assert!((55..=65).contains(&count(",not looked,")), "{} not looked", count(",not looked,"));
    assert_eq!(count("made good"), 2);
    assert!(count("holed") >= 10 && count("looked: clear") >= 20);
}

#[test]
fn a_folder_that_is_not_a_demo_s_is_left_alone() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("mine")).unwrap();
    std::fs::write(bench.path("mine/shop.sqlite"), "mine").unwrap();
    bench.run(&["demo", "--no-serve", "--out", "mine"]).refused(2, &["mine", "--out"]);
    assert_eq!(std::fs::read(bench.path("mine/shop.sqlite")).unwrap(), b"mine");
    bench.file("letter.txt", "mine");
    bench.run(&["demo", "--no-serve", "--out", "letter.txt"]).refused(2, &["letter.txt"]);
    bench.run(&["demo", "--listen", "0.0.0.0:0"]).refused(2, &["--listen", "127.0.0.1"]);
    assert!(!bench.path("demo-out").exists());
}
