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
    assert!((145..=190).contains(&kinds.values().sum::<usize>()), "{kinds:?}");
    for (kind, least) in
        [("looked", 50), ("read", 12), ("photographed", 24), ("opened", 5), ("made_good", 4), ("worked", 9)]
    {
        assert!(kinds[kind] >= least, "{kind}: {kinds:?}");
    }
    for (kind, count) in [("colour_measured", 2), ("climate_read", 4), ("film_judged", 4), ("withdrawn", 1)] {
        assert_eq!(kinds[kind], count, "{kind}");
    }
    for (kind, count) in [("shelf", 1), ("brief", 1), ("recipe", 3), ("batch", 2), ("card", 3), ("colour_serves", 1)] {
        assert_eq!(kinds[kind], count, "{kind}");
    }
    for (kind, count) in [("question", 8), ("answer", 6), ("owner_wrote", 1), ("report", 5)] {
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
    the_owner_chose_the_colour(&bench, first["car"].as_str().unwrap(), &record);
    the_pictures_are_those_of_the_files(&bench);
    the_shop_has_learned(&bench, &first["car"]);

    let report = std::fs::read(bench.path("demo-out/report.pdf")).unwrap();
    assert!(report.starts_with(b"%PDF-"));
    assert!(record.lines().last().unwrap().contains(&job::ids::Hash::of(&report).to_string()));
    let range: Value = serde_json::from_slice(&std::fs::read(bench.path("demo-out/range.json")).unwrap()).unwrap();
    let quantiles = ["p10_h", "p50_h", "p80_h", "p95_h"].map(|key| range[key].as_f64().unwrap());
    assert!(quantiles.is_sorted() && quantiles[0] > 100.0, "{range}");
    another_wish_goes_the_same_way(&bench, first["car"].as_str().unwrap(), &record);
}

/// Finding, question, answer, made good, in that order; a changed question, a changed mind, one open, one draft.
fn the_owner_was_asked_first(bench: &Bench, car: &str, record: &str) {
    let list = ["car", "question", "list", car, "--json", "--database", "sqlite:demo-out/shop.sqlite"];
    let questions = bench.run(&list).json()["questions"].clone();
    let questions = questions.as_array().expect("a list");
    let standing: Vec<&str> = questions.iter().map(|one| one["standing"].as_str().expect("text")).collect();
    assert_eq!(standing, ["answered", "answered", "answered", "answered", "answered", "open", "draft"]);
    let sill = &questions[3];
    assert_eq!(
        (sill["versions"].as_array().map(Vec::len), sill["answers"].as_array().map(Vec::len)),
        (Some(2), Some(2))
    );
    assert_ne!(sill["answers"][0]["choice"], sill["answers"][1]["choice"]);
    let of_zones = |one: &&Value| one["question"]["zones"].as_array().is_some_and(|zones| !zones.is_empty());
    assert_eq!(questions.iter().filter(|one| !of_zones(one)).count(), 1, "one is about the colour");
    for one in questions.iter().filter(of_zones).filter(|one| one["standing"] != "draft") {
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
    assert_eq!(recipes[2]["cards"].as_array().map(Vec::len), Some(2));
    assert_eq!((&batches[0]["into"], batches[1]["into"].is_string()), (&Value::Null, true));
    assert!(cards[2]["master"].is_string() && cards[0]["master"].is_null());
    let spectra =
        |value: &Value| -> Vec<job::what::GeometrySpectrum> { serde_json::from_value(value.clone()).expect("spectra") };
    let measured = |value: &Value| job::paint::of_spectra("demo", &spectra(value)).expect("a measurement");
    // In order of time: the recipe, the one of three toners, the correction.
    for (card, recipe) in [(0, 0), (1, 0), (2, 2)] {
        let (predicted, card) = (measured(&recipes[recipe]["predicted"]), measured(&cards[card]["spectra"]));
        let apart = predicted.differences(&card, colour::Illuminant::D65, colour::Observer::Deg10);
        let mean = apart.iter().map(|(_, d)| d.de00).sum::<f64>() / apart.len() as f64;
        assert!(
            mean < 3.0,
            "{mean}: the stored cards are of another recipe; demo/README.md says how to make them anew"
        );
    }
}

/// A brief in the owner's words, recipes for it, two of them to choose from by a day, the answer before that day,
/// and what the colour is for since.
fn the_owner_chose_the_colour(bench: &Bench, car: &str, record: &str) {
    let entries: Vec<Value> = record.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let of = |kind: &str| entries.iter().filter(|e| e["kind"] == kind).collect::<Vec<_>>();
    let brief = of("brief")[0];
    assert!(brief["data"]["why"].as_str().expect("text").contains("violet"), "{brief}");
    assert!(of("recipe").iter().all(|recipe| recipe["data"]["briefed"] == brief["entry"]));
    // The stored edits are those of demo/colour/brief.json, from which the cards were made.
    let stored: Value = serde_json::from_str(include_str!("../../../../demo/colour/brief.json")).expect("JSON");
    let edits = brief["data"]["brief"]["edits"].as_array().expect("a list");
    assert_eq!(edits.len(), stored["edits"].as_array().expect("a list").len());
    for (kept, filed) in edits.iter().zip(stored["edits"].as_array().expect("a list")) {
        assert_eq!(kept["geometry"], format!("45as{}", filed["angle"]).as_str());
        assert_eq!((&kept["dl"], &kept["dc"], &kept["dh_deg"]), (&filed["dL"], &filed["dC"], &filed["dh"]));
    }
    let line = ["car", "colour", car, "--json", "--database", "sqlite:demo-out/shop.sqlite"];
    let colour = bench.run(&line).json();
    let decided = &colour["decided"];
    assert_eq!((&decided["option"], &colour["waits"]), (&"A".into(), &Value::Null));
    assert_eq!(decided["recipe"], of("recipe")[2]["seq"], "the corrected one, as on the card");
    assert_eq!((decided["mix"].as_u64(), decided["card"].is_u64()), (decided["recipe"].as_u64(), true));
    let serves = decided["serves"].as_array().expect("a list");
    assert!(serves.len() == 3 && serves.iter().all(|serve| serve["on"].is_string()), "{decided}");
    assert_eq!(serves[0]["on"], "2026-06-03", "as it was put off after the answer");
    assert_eq!(colour["briefs"][0]["recipes"].as_array().map(Vec::len), Some(3));
    let answers = of("answer");
    let answer = answers.last().expect("an answer");
    let shown = &answer["data"]["shown"]["question"];
    assert_eq!(shown["options"].as_array().map(Vec::len), Some(2));
    assert!(answer["at"].as_str() < Some("2026-04-14") && shown["by"] == "2026-04-14");
    assert!(!shown["waits"].as_array().expect("a list").is_empty());
}

/// `car brief`, `car serves`, `car question draft --recipe`, `car colour`: a second wish in the same shop, kept,
/// asked by a day, and put down for what it must serve.
fn another_wish_goes_the_same_way(bench: &Bench, car: &str, record: &str) {
    let entries: Vec<Value> = record.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let seq = |kind: &str, nth: usize| {
        let found = entries.iter().filter(|entry| entry["kind"] == kind).nth(nth).expect(kind);
        found["seq"].as_u64().expect("a place").to_string()
    };
    let run = |words: &[&str]| bench.run(&[words, &["--json", "--database", "sqlite:demo-out/shop.sqlite"]].concat());
    let (donor, plain, corrected) = (seq("colour_measured", 0), seq("recipe", 1), seq("recipe", 2));
    let brief = |more: &[&str]| run(&[&["car", "brief", car, "--name", "Darker", "--by", "Lead"][..], more].concat());
    let kept =
        brief(&["--donor", &donor, "--say", "deepen-flop=0.5", "--edit", "15:0,-2,0", "--why", "Quieter."]).json();
    let edits = kept["edits"].as_array().expect("a list");
    assert!(edits.iter().any(|edit| edit["geometry"] == "45as15" && edit["dc"] == -2.0), "{kept}");
    brief(&["--donor", &plain]).refused(2, &["--donor", &donor, "no measured paint"]);
    brief(&["--donor", &donor, "--edit", "75:900,0,0"]).refused(2, &["--edit", "-200 to 200"]);

    let part = ["--part", "boot lid=2026-06-12", "--part", "outside"];
    let put = run(&[&["car", "serves", car, "--by", "Lead"][..], &part].concat()).json();
    assert_eq!((&put["serves"][0]["on"], &put["serves"][1]["on"]), (&"2026-06-12".into(), &Value::Null));
    let bad = ["car", "serves", car, "--by", "Lead", "--part", "boot lid=tomorrow"];
    run(&bad).refused(2, &["--part", "tomorrow", "2026-05-20"]);

    let draft = |recipes: &[&str]| {
        let named: Vec<&str> = recipes.iter().flat_map(|recipe| ["--recipe", recipe]).collect();
        run(&[&["car", "question", "draft", car][..], &named].concat())
    };
    let mut question = draft(&[&corrected, &plain]).json();
    assert_eq!((question["serves"].as_array().map(Vec::len), question["sent"].as_bool()), (Some(2), Some(false)));
    let options = question["options"].as_array().expect("a list");
    assert!(options[0]["card"].is_string() && options[1].get("card").is_none_or(Value::is_null), "{question}");
    assert!(options[0]["means"].as_str().expect("text").contains("1969"), "the car's year: {question}");
    draft(&[&plain]).refused(2, &["--recipe", "two to four"]);
    draft(&[&plain, "1"]).refused(2, &["--recipe", "entry 1", &plain]);
    run(&["car", "question", "draft", car, "Z03.L", "--recipe", &plain]).refused(2, &["--recipe"]);
    question["by"] = "2026-05-01".into();
    let file = bench.file("colour.json", question.to_string());
    run(&["car", "question", "keep", car, file, "--by", "Lead", "--send"]).json();

    let colour = run(&["car", "colour", car]).json();
    assert_eq!(colour["waits"]["by"], "2026-05-01");
    assert!(colour["waits"]["say"].as_str().expect("text").contains("1 May 2026"), "{colour}");
    assert_eq!(colour["decided"]["serves"], put["serves"], "what was decided stands until it is decided anew");
    assert_eq!(colour["briefs"].as_array().map(Vec::len), Some(2));
    let table = bench.run(&["car", "colour", car, "--database", "sqlite:demo-out/shop.sqlite"]);
    assert!(table.out.contains("boot lid") && table.out.contains("Waits for the colour"), "{table:?}");
}

/// What the demo drew through the shop is what the command line draws from its files, byte for byte.
fn the_pictures_are_those_of_the_files(bench: &Bench) {
    bench.file("donor.csv", include_str!("../../../../demo/colour/donor.csv"));
    bench.file("brief.json", include_str!("../../../../demo/colour/brief.json"));
    let recipe = ["--toners", "demo-out/toners.json", "--recipe", "demo-out/recipe.json"];
    for (name, more) in [
        ("donor", &["--measured", "donor.csv"][..]),
        ("wish", &["--measured", "donor.csv", "--brief", "brief.json"]),
        ("recipe", &recipe),
    ] {
        bench.run(&[&["colour", "preview", "drawn.png"][..], more].concat());
        let file = format!("demo-out/preview-{name}.png");
        let [drawn, written] = ["drawn.png", &file].map(|name| std::fs::read(bench.path(name)).expect("a picture"));
        assert!(drawn == written, "{file}");
    }
    let era = ["colour", "era", "demo-out/recipe.json", "--toners", "demo-out/toners.json", "--year", "1969", "--json"];
    let judged = bench.run(&era).json();
    let not_yet = judged["notes"].as_array().expect("a list").iter().filter(|note| note["was"] == "not yet");
    assert!(not_yet.clone().count() >= 1 && judged["not_there"].to_string().contains("mica"), "{judged}");
    assert!(not_yet.clone().all(|note| note["basis"].as_str().is_some_and(|basis| !basis.is_empty())));
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
