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
    assert!((140..=180).contains(&kinds.values().sum::<usize>()), "{kinds:?}");
    for (kind, least) in
        [("looked", 50), ("read", 12), ("photographed", 24), ("opened", 5), ("made_good", 4), ("worked", 9)]
    {
        assert!(kinds[kind] >= least, "{kind}: {kinds:?}");
    }
    for (kind, count) in [("colour_measured", 2), ("climate_read", 4), ("film_judged", 4), ("withdrawn", 1)] {
        assert_eq!(kinds[kind], count, "{kind}");
    }
    for (kind, count) in [("shelf", 1), ("recipe", 2), ("batch", 2), ("card", 3)] {
        assert_eq!(kinds[kind], count, "{kind}");
    }
    for (kind, count) in [("question", 7), ("answer", 5), ("owner_wrote", 1), ("report", 5)] {
        assert_eq!(kinds[kind], count, "{kind}");
    }
    let zones = unpack(&zip, "zones.csv");
    let count = |state: &str| zones.lines().filter(|line| line.contains(state)).count();
    assert_eq!(zones.lines().count() - 1, 116);
    assert!((50..=65).contains(&count(",not looked,")), "{} not looked", count(",not looked,"));
    assert_eq!(count("made good"), 4);
    assert!(count("holed") >= 10 && count("looked: clear") >= 20);
    the_owner_was_asked_first(&bench, first["car"].as_str().unwrap(), &record);

    the_colour_was_worked_out(&bench, &record);
    the_shop_has_learned(&bench, &first["car"]);

    let report = std::fs::read(bench.path("demo-out/report.pdf")).unwrap();
    assert!(report.starts_with(b"%PDF-"));
    assert!(record.lines().last().unwrap().contains(&job::ids::Hash::of(&report).to_string()));
    let range: Value = serde_json::from_slice(&std::fs::read(bench.path("demo-out/range.json")).unwrap()).unwrap();
    let quantiles = ["p10_h", "p50_h", "p80_h", "p95_h"].map(|key| range[key].as_f64().unwrap());
    assert!(quantiles.is_sorted() && quantiles[0] > 100.0, "{range}");
}

/// Finding, question, answer, made good, in that order; a changed question, a changed mind, one open, one draft.
fn the_owner_was_asked_first(bench: &Bench, car: &str, record: &str) {
    let list = ["car", "question", "list", car, "--json", "--database", "sqlite:demo-out/shop.sqlite"];
    let questions = bench.run(&list).json()["questions"].clone();
    let questions = questions.as_array().expect("a list");
    let standing: Vec<&str> = questions.iter().map(|one| one["standing"].as_str().expect("text")).collect();
    assert_eq!(standing, ["answered", "answered", "answered", "answered", "open", "draft"]);
    let sill = &questions[3];
    assert_eq!(
        (sill["versions"].as_array().map(Vec::len), sill["answers"].as_array().map(Vec::len)),
        (Some(2), Some(2))
    );
    assert_ne!(sill["answers"][0]["choice"], sill["answers"][1]["choice"]);
    for one in questions.iter().filter(|one| one["standing"] != "draft") {
        assert!(!one["question"]["photographs"].as_array().expect("a list").is_empty(), "{one}");
    }
    let entries: Vec<Value> = record.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let mut asked = 0;
    for made in entries.iter().filter(|entry| entry["kind"] == "made_good") {
        let zone = &made["data"]["zone"];
        let about = |one: &&Value| one["question"]["zones"].as_array().expect("a list").contains(zone);
        let Some(question) = questions.iter().find(about) else { continue };
        asked += 1;
        let answered = question["answers"].as_array().expect("a list").last().expect("an answer")["entry"]
            .as_u64()
            .expect("a place");
        let first = question["versions"][0].as_u64().expect("a place");
        let found = entries.iter().find(|entry| {
            matches!(entry["kind"].as_str(), Some("looked" | "opened")) && entry["data"]["zone"] == *zone
        });
        assert!(found.expect("a finding")["seq"].as_u64().expect("a place") < first, "{zone}");
        assert!(first < answered && answered < made["seq"].as_u64().expect("a place"), "{zone}");
    }
    assert_eq!(asked, 3);
    // No finding past the limit was forgotten.
    let odds = ["forecast", "odds", car, "--json", "--database", "sqlite:demo-out/shop.sqlite"];
    let odds = bench.run(&odds).json();
    let waits = odds["zones"].as_array().expect("a list").iter().filter_map(|zone| zone["waits"].as_str());
    assert!(waits.clone().count() >= 6 && waits.clone().all(|why| why.contains("question")));
}

/// Two cars were finished before this one; they teach it and each other, and no real car.
fn the_shop_has_learned(bench: &Bench, car: &Value) {
    let asked = |more: &[&str]| {
        let learned = ["forecast", "learned", "--json", "--database", "sqlite:demo-out/shop.sqlite"];
        bench.run(&[&learned[..], more].concat()).json()
    };
    let real = asked(&[]);
    assert_eq!((real["cars"].as_array().map(Vec::len), &real["others"]), (Some(0), &3.into()));
    let learned = asked(&["--invented"]);
    let cars = learned["cars"].as_array().expect("a list");
    assert_eq!((cars.len(), &cars[0]["car"]), (3, car));
    assert!(
        cars.iter().all(|car| car["zones"].as_u64() >= Some(20) && car["finished"].as_u64() >= Some(4)),
        "{cars:?}"
    );
    assert!(learned["clues"].as_array().expect("a list").iter().any(|clue| clue["bad"]["looked"].as_u64() >= Some(3)));
    let brier = |key: &str| learned["brier"][key].as_f64().expect("a number");
    assert!(brier("learned") < brier("starting_guesses") && brier("starting_guesses") < 0.25, "{}", learned["brier"]);
    let hours = &learned["hours"];
    assert!(hours["p10"].as_f64() > Some(1.0) && hours["pieces"].as_u64() >= Some(30), "{hours}");
}

/// The kept recipe is the first that was found and meets the brief; its stored cards are its own; the correction
/// and the pot follow from them.
fn the_colour_was_worked_out(bench: &Bench, record: &str) {
    let found: Value =
        serde_json::from_slice(&std::fs::read(bench.path("demo-out/recipe.json")).expect("a file")).expect("JSON");
    let best = &found["recipes"][0];
    assert!(best["predicted"]["mean_de00"].as_f64().expect("a number") < 1.2, "{best}");
    assert!(
        job::shelf_file::read("toners.json", &std::fs::read(bench.path("demo-out/toners.json")).expect("a file"))
            .is_ok()
    );
    let entries: Vec<Value> = record.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let of = |kind: &str| entries.iter().filter(|e| e["kind"] == kind).map(|e| &e["data"]).collect::<Vec<_>>();
    let (recipes, batches, cards) = (of("recipe"), of("batch"), of("card"));
    for part in recipes[0]["parts"].as_array().expect("a list") {
        assert_eq!(best["fractions"][part["toner"].as_str().expect("text")], part["fraction"]);
    }
    assert_eq!(recipes[1]["cards"].as_array().map(Vec::len), Some(2));
    assert_eq!((&batches[0]["into"], batches[1]["into"].is_string()), (&Value::Null, true));
    assert!(cards[2]["master"].is_string() && cards[0]["master"].is_null());
    let spectra =
        |value: &Value| -> Vec<job::what::GeometrySpectrum> { serde_json::from_value(value.clone()).expect("spectra") };
    let measured = |value: &Value| job::paint::of_spectra("demo", &spectra(value)).expect("a measurement");
    for (card, recipe) in [(0, 0), (1, 0), (2, 1)] {
        let (predicted, card) = (measured(&recipes[recipe]["predicted"]), measured(&cards[card]["spectra"]));
        let apart = predicted.differences(&card, colour::Illuminant::D65, colour::Observer::Deg10);
        let mean = apart.iter().map(|(_, d)| d.de00).sum::<f64>() / apart.len() as f64;
        assert!(
            mean < 3.0,
            "{mean}: the stored cards are of another recipe; demo/README.md says how to make them anew"
        );
    }
}

/// Serving, it says the address of the owner's page beside its own, and the address leads there.
#[test]
fn the_owner_s_page_is_named_beside_the_program_s_address() {
    use std::io::{BufRead, BufReader, Read, Write};
    let bench = Bench::new();
    let mut command = bench.command(&["demo", "--listen", "127.0.0.1:0", "--json"]);
    let mut child = command.stdout(std::process::Stdio::piped()).spawn().expect("the program");
    let lines: Vec<String> =
        BufReader::new(child.stdout.as_mut().unwrap()).lines().take(3).map(|line| line.unwrap()).collect();
    let answered = lines[1].strip_prefix("listening on http://").and_then(|address| {
        let path = lines[2].strip_prefix(&format!("the owner's page is http://{address}"))?;
        let mut stream = std::net::TcpStream::connect(address).ok()?;
        write!(stream, "GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n").ok()?;
        let mut page = String::new();
        stream.read_to_string(&mut page).ok()?;
        Some(page)
    });
    let _ = child.kill();
    let _ = child.wait();
    let page = answered.unwrap_or_else(|| panic!("{lines:?}"));
    assert!(
        page.starts_with("HTTP/1.1 200") && page.contains("How far shall we go with the rear glass frame"),
        "{page}"
    );
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
