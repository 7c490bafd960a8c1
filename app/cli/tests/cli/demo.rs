//! `demo`: one invented car, the same every time.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::bench::{Bench, unpack};

fn demo(bench: &Bench) -> Value {
    bench.run(&["demo", "--no-serve", "--json"]).json()
}

#[test]
fn regression_two_demos_are_the_same_and_tell_a_whole_story() {
    let (one, two) = (Bench::new(), Bench::new());
    let (first, second) = std::thread::scope(|scope| {
        let other = scope.spawn(|| demo(&two));
        (demo(&one), other.join().expect("the other demo"))
    });
    assert_eq!(first, second);
    for file in ["demo-out/dossier.pdf", "demo-out/car.zip"] {
        let (a, b) = (std::fs::read(one.path(file)).unwrap(), std::fs::read(two.path(file)).unwrap());
        assert!(a == b || file.ends_with("zip"), "{file} differs");
    }

    let zip = one.path("demo-out/car.zip");
    let verified = one.run(&["car", "verify", "demo-out/car.zip", "--json"]).json();
    assert_eq!((verified["intact"].as_bool(), &verified["head"]), (Some(true), &first["head"]));
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for line in unpack(&zip, "events.jsonl").lines() {
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

    // A demo that ran before is replaced; the same car comes again.
    assert_eq!(demo(&one), first);
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
}
