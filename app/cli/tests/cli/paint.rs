//! `colour film`, `colour calibrate`, `colour recipe`, `colour correct`, `colour pour`.

use std::process::Stdio;

use serde_json::Value;

use crate::bench::Bench;

const DONOR: &str = include_str!("../../../../demo/colour/donor.csv");
const CARDS: [&str; 2] =
    [include_str!("../../../../demo/colour/card-1.csv"), include_str!("../../../../demo/colour/card-2.csv")];
const BRIEF: &str = include_str!("../../../../demo/colour/brief.json");
const LAB: [(&str, &str); 4] = [
    ("toners.csv", include_str!("../../../../demo/toners/toners.csv")),
    ("panels.csv", include_str!("../../../../demo/toners/panels.csv")),
    ("measurements.csv", include_str!("../../../../demo/toners/measurements.csv")),
    ("substrate.csv", include_str!("../../../../demo/toners/substrate.csv")),
];

/// A plain film that other tests change.
const FILM: &str = r#"{"wavelengths_nm":[450,550,650],"thickness_um":15,"ka_per_um":[0.05,0.02,0.01],
"ks_per_um":[0.1,0.1,0.1],"flakes":[{"area_per_um":0.2,"slope_sd":0.15,"tail_weight":0.1,"R":[0.8,0.8,0.8],
"A":[0.2,0.2,0.2]}],"under":[0.2,0.2,0.2],"geometries":[{"incidence_deg":45,"aspecular_deg":15},
{"incidence_deg":45,"aspecular_deg":-15},{"incidence_deg":45,"aspecular_deg":110}]}"#;

fn film(bench: &Bench, text: &str) -> crate::bench::Ran {
    let file = bench.file("film.json", text);
    bench.run(&["colour", "film", file, "--json"])
}

/// A lab folder with some text of its files changed.
fn lab(bench: &Bench, changes: &[(&str, &str, &str)]) {
    let _ = std::fs::create_dir(bench.path("lab"));
    for (name, text) in LAB {
        let mut text = text.to_string();
        for (_, from, to) in changes.iter().filter(|(file, ..)| *file == name) {
            assert!(text.contains(from), "{name} does not hold {from}");
            text = text.replacen(from, to, 1);
        }
        std::fs::write(bench.path("lab").join(name), text).expect("a file");
    }
}

/// Toners learned from two pigments, quickly: the first panels of the demo's that hold nothing else.
pub(crate) fn few_toners(bench: &Bench) -> Value {
    let keep = ["titanium white", "carbon black"];
    let [toners, panels, measurements, substrate] = LAB.map(|(_, text)| text);
    let mut lines = panels.lines();
    let heading: Vec<&str> = lines.next().expect("a heading").split(',').collect();
    let fixed = ["panel_id", "series", "binder", "dft_um_gauge", "substrate"];
    let kept: Vec<usize> =
        (0..heading.len()).filter(|i| fixed.contains(&heading[*i]) || keep.contains(&heading[*i])).collect();
    let pick = |cells: &[&str]| kept.iter().map(|i| cells[*i]).collect::<Vec<_>>().join(",");
    let mut chosen = Vec::new();
    let mut table = pick(&heading) + "\n";
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        let other = |i: &usize| !kept.contains(i) && cells[*i].parse::<f64>().is_ok_and(|share| share > 0.0);
        if !(0..cells.len()).any(|i| other(&i)) {
            chosen.push(cells[0]);
            table += &(pick(&cells) + "\n");
        }
    }
    let only = |text: &str, names: &[&str]| {
        let rows = text.lines().skip(1).filter(|line| names.contains(&line.split(',').next().unwrap_or_default()));
        std::iter::once(text.lines().next().unwrap_or_default()).chain(rows).collect::<Vec<_>>().join("\n")
    };
    let _ = std::fs::create_dir(bench.path("few"));
    for (name, text) in [
        ("toners.csv", only(toners, &keep)),
        ("panels.csv", table),
        ("measurements.csv", only(measurements, &chosen)),
        ("substrate.csv", substrate.to_string()),
    ] {
        std::fs::write(bench.path("few").join(name), text).expect("a file");
    }
    bench.run(&["colour", "calibrate", "few", "--out", "few.json", "--json"]).json()
}

/// The measurement of one panel as a target.
pub(crate) fn panel(id: &str) -> String {
    let (heading, rows) = LAB[2].1.split_once('\n').expect("a heading");
    let rows: Vec<&str> = rows.lines().filter(|line| line.starts_with(&format!("{id},"))).collect();
    format!("{}\n{}\n", heading.replace("panel_id", "target_id"), rows.join("\n"))
}

#[test]
fn a_film_is_brighter_at_the_face_and_brightest_where_no_light_is_lost() {
    let bench = Bench::new();
    let found = film(&bench, FILM).json();
    let by = |geometry: usize, nm: usize| found["radiance_factor"][geometry][nm].as_f64().expect("a number");
    assert!(by(0, 1) > 3.0 * by(2, 1), "{found}");
    assert!((0..3).all(|geometry| by(geometry, 0) < by(geometry, 1) && by(geometry, 1) < by(geometry, 2)), "{found}");
    let table = bench.run(&["colour", "film", "film.json"]);
    assert!(table.out.contains("45as110") && table.out.contains("450"), "{}", table.out);
}

/// Seen from the other side of the plane the film is the same; a clear coat that keeps light makes it darker.
#[test]
fn invariant_a_film_is_alike_on_both_sides_and_darker_under_a_clear_coat_that_keeps_light() {
    let bench = Bench::new();
    let turned = FILM.replacen("\"aspecular_deg\":15}", "\"aspecular_deg\":15,\"azimuth_deg\":360}", 1);
    assert_eq!(film(&bench, FILM).json(), film(&bench, FILM).json());
    let (plain, turned) = (film(&bench, FILM).json(), film(&bench, &turned).json());
    let first = |value: &Value| value["radiance_factor"][0][0].as_f64().expect("a number");
    assert!((first(&plain) - first(&turned)).abs() < 1e-9);
    let clear = "\"clear\":{\"thickness_um\":40,\"absorption_per_um\":[0.002,0.002,0.002]},\"under\"";
    let under = film(&bench, &FILM.replacen("\"under\"", clear, 1)).json();
    assert!(first(&under) < first(&plain) * 0.9, "{under}");
}

#[test]
fn a_film_file_that_is_not_right_is_refused_with_its_key() {
    let bench = Bench::new();
    let refused = |from: &str, to: &str, words: &[&str]| {
        assert!(FILM.contains(from), "{from}");
        film(&bench, &FILM.replacen(from, to, 1)).refused(2, words);
    };
    refused("\"thickness_um\":15", "\"thickness_um\":0", &["film.json", "key thickness_um", "0 found", "0.001"]);
    refused("[0.05,0.02,0.01]", "[0.05,0.02]", &["key ka_per_um", "a list of 2", "3 numbers"]);
    refused("[0.05,0.02,0.01]", "[0.05,-0.02,0.01]", &["key ka_per_um.2", "-0.02", "0 to 10000"]);
    refused("\"A\":[0.2,0.2,0.2]", "\"A\":[0.2,0.3,0.2]", &["key flakes.1.A", "R leaves over"]);
    refused("\"under\":[0.2,0.2,0.2]", "\"under\":[0.2,0.2,1.2]", &["key under.3", "1.2", "0 to 1"]);
    refused("\"under\"", "\"below\"", &["key under", "missing"]);
    refused("\"aspecular_deg\":110", "\"aspecular_deg\":150", &["key geometries.3.aspecular_deg", "150", "-44 to 134"]);
    refused("\"incidence_deg\":45", "\"incidence_deg\":90", &["key geometries.1.incidence_deg", "90", "0 to 89"]);
    refused("[450,550,650]", "[]", &["key wavelengths_nm", "1 to 2000"]);
    refused("\"thickness_um\":15", "\"thickness_um\":", &["film.json", "row", "not JSON"]);
    let odd = film(&bench, &FILM.replacen("\"under\"", "\"colour\":1,\"under\"", 1));
    assert!(odd.err.contains("the key colour is not used"), "{}", odd.err);
    odd.json();
    let long = format!("[{}]", vec!["500"; 2_001].join(","));
    film(&bench, &FILM.replacen("[450,550,650]", &long, 1)).refused(2, &["wavelengths_nm", "2001", "at most 2000"]);
}

/// Toners learned from the demo's panels, a recipe that meets the brief, two cards, a correction and a pour.
#[test]
fn regression_a_paint_from_its_panels_to_the_scale() {
    let bench = Bench::new();
    lab(&bench, &[]);
    let learned = bench.run(&["colour", "calibrate", "lab", "--out", "toners.json", "--json"]).json();
    assert_eq!((learned["toners"].as_u64(), learned["panels"].as_u64()), (Some(16), Some(90)));
    let mean = learned["mean_de00"].as_f64().expect("a number");
    assert!(mean < 1.0 && learned["p90_de00"].as_f64().expect("a number") < 1.5, "{learned}");
    assert_eq!(learned["by_toner"].as_object().map(serde_json::Map::len), Some(16));
    let worst = learned["worst_panels"].as_array().expect("a list");
    assert!(worst[0]["de00"].as_f64() >= worst[1]["de00"].as_f64() && worst[0]["panel_id"].is_string());
    let toners: Value =
        serde_json::from_slice(&std::fs::read(bench.path("toners.json")).expect("a file")).expect("JSON");
    assert_eq!((toners["format"].as_str(), toners["version"].as_u64()), (Some("guidecoat toners"), Some(1)));
    // What to spray next is told, and travels with the toners.
    let next = learned["next"].as_array().expect("a list");
    assert!((1..=5).contains(&next.len()) && next[0]["unsure"].as_f64() >= next[next.len() - 1]["unsure"].as_f64());
    assert_eq!(toners["panels"]["next"], learned["next"]);
    assert!(
        learned["warnings"].is_array() && toners["panels"]["by_toner"].as_array().is_some_and(|all| all.len() == 16)
    );

    bench.file("donor.csv", DONOR);
    bench.file("brief.json", BRIEF);
    let recipe = ["colour", "recipe", "--toners", "toners.json", "--target", "donor.csv", "--brief", "brief.json"];
    let found = bench.run(&[&recipe[..], &["--out", "recipe.json", "--json"]].concat()).json();
    let best = &found["recipes"][0];
    assert!(best["predicted"]["mean_de00"].as_f64().expect("a number") < 1.2, "{best}");
    assert_eq!(best["predicted"]["by_angle"].as_object().map(serde_json::Map::len), Some(6));
    let sum: f64 = best["fractions"].as_object().expect("a map").values().filter_map(Value::as_f64).sum();
    assert!(sum > 0.05 && sum < 0.9 && best["coats"].as_u64() >= Some(1), "{best}");
    assert!(toners["substrates"].as_array().expect("a list").iter().any(|p| p["name"] == best["primer"]));
    let kept: Value = serde_json::from_slice(&std::fs::read(bench.path("recipe.json")).expect("a file")).expect("JSON");
    assert_eq!(kept, found);
    // The same line gives the same answer.
    assert_eq!(bench.run(&[&recipe[..], &["--json"]].concat()).json(), found);
    let grey = bench.run(&[&recipe[..], &["--json", "--primer", "N5", "--max-toners", "2"]].concat()).json();
    for recipe in grey["recipes"].as_array().expect("a list") {
        assert_eq!(recipe["primer"], "N5");
        assert!(recipe["fractions"].as_object().expect("a map").len() <= 2);
    }
    let without = bench.run(&[&recipe[..], &["--json", "--out-of-stock", "copper mica"]].concat()).json();
    assert!(without["recipes"][0]["fractions"].get("copper mica").is_none());

    for (name, text) in [("card-1.csv", CARDS[0]), ("card-2.csv", CARDS[1])] {
        bench.file(name, text);
    }
    let correct = [
        "colour",
        "correct",
        "--toners",
        "toners.json",
        "--recipe",
        "recipe.json",
        "--target",
        "donor.csv",
        "--brief",
        "brief.json",
        "--card",
        "card-1.csv",
    ];
    let alone = bench.run(&[&correct[..], &["--json"]].concat()).json();
    assert!(alone.get("add_to_pot_g").is_none(), "{alone}");
    assert!(alone["warnings"].to_string().contains("one card"), "{alone}");
    let both = bench.run(&[&correct[..], &["--card", "card-2.csv", "--pot-g", "500", "--json"]].concat()).json();
    assert!(both["fractions"].is_object() && both["dft_um"].is_number() && both["primer"].is_string(), "{both}");
    let add: Vec<f64> = both["add_to_pot_g"].as_object().expect("a map").values().filter_map(Value::as_f64).collect();
    assert!(!add.is_empty() && add.iter().all(|grams| *grams > 0.0 && *grams < 500.0), "{both}");
    bench.file("corrected.json", both.to_string());

    let pour = ["colour", "pour", "corrected.json", "--toners", "toners.json", "--mass-g", "500", "--scale-g", "0.1"];
    let poured = bench.run(&[&pour[..], &["--json"]].concat());
    assert_eq!(poured.err, "", "a corrected recipe is read without a doubt");
    let poured = poured.json();
    let steps = poured["steps"].as_array().expect("a list");
    assert!(steps.iter().any(|step| step["toner"] == "binder"));
    let mut total = 0.0;
    for step in steps {
        let add = step["add_g"].as_f64().expect("a number");
        total += add;
        assert!((add * 10.0 - (add * 10.0).round()).abs() < 1e-6, "{step}");
        assert!((step["total_g"].as_f64().expect("a number") - total).abs() < 1e-6, "{step}");
    }
    assert!((total - 500.0).abs() <= 0.1 + 1e-9);
    assert!(poured["predicted_shift_de00"].as_f64().expect("a number") < 0.3, "{poured}");
    let table = bench.run(&pour);
    assert!(table.out.contains("scale shows") && table.out.contains("binder"), "{}", table.out);
}

#[test]
fn a_pot_with_too_much_in_it_is_brought_back_or_given_up() {
    let bench = Bench::new();
    few_toners(&bench);
    bench.file("r.json", r#"{"fractions":{"titanium white":0.2,"carbon black":0.004},"dft_um":30,"primer":"N5"}"#);
    let pour = ["colour", "pour", "r.json", "--toners", "few.json", "--scale-g", "0.1", "--json"];
    let by = |more: &[&str]| bench.run(&[&pour[..], more].concat());
    let fine = by(&["--mass-g", "500"]).json();
    assert!(fine.get("remedy").is_none());
    // Twice the black, everything else as it should be.
    bench.file("pot.csv", "toner,grams\nbinder,398\ntitanium white,100\ncarbon black,4\n");
    let add = by(&["--mass-g", "500", "--poured", "pot.csv", "--pot-holds-g", "1200"]).json();
    assert_eq!(add["remedy"]["what"], "add", "{add}");
    assert!(add["steps"].as_array().expect("a list").iter().all(|step| step["toner"] != "carbon black"), "{add}");
    assert!(add["predicted_shift_de00"].as_f64() < add["remedy"]["before_de00"].as_f64());
    let small = by(&["--mass-g", "500", "--poured", "pot.csv", "--pot-holds-g", "510"]).json();
    assert_eq!(small["remedy"]["what"], "start again", "{small}");
    // Half of it is in, and right so far: the rest is still to come.
    bench.file("half.csv", "toner,grams\nbinder,398\n");
    let half = by(&["--mass-g", "500", "--poured", "half.csv"]).json();
    assert_eq!((half["remedy"]["what"].as_str(), half["steps"].as_array().map(Vec::len)), (Some("fine"), Some(2)));
    assert!((half["steps"][1]["total_g"].as_f64().expect("a number") - 500.0).abs() < 0.2, "{half}");
    let litres = by(&["--litres", "0.5"]).json();
    assert!((litres["litres"].as_f64().expect("a number") - 0.5).abs() < 0.01, "{litres}");

    by(&["--mass-g", "0"]).refused(2, &["--mass-g", "0 g", "1 g to 100 kg"]);
    by(&["--mass-g", "-5"]).refused(2, &["--mass-g", "-5"]);
    by(&["--mass-g", "NaN"]).refused(2, &["--mass-g", "NaN"]);
    by(&[]).refused(2, &["--mass-g"]);
    by(&["--mass-g", "10"]).refused(2, &["--scale-g", "carbon black", "0.04", "mix at least"]);
    bench
        .run(&["colour", "pour", "r.json", "--toners", "few.json", "--mass-g", "500", "--scale-g", "0"])
        .refused(2, &["--scale-g", "0.001 to 1000"]);
    bench.file("pot.csv", "toner,grams\nblue,398\n");
    by(&["--mass-g", "500", "--poured", "pot.csv"])
        .refused(2, &["pot.csv", "row 2", "column toner", "blue", "carbon black"]);
    bench.file("pot.csv", "toner,grams\nbinder,-1\n");
    by(&["--mass-g", "500", "--poured", "pot.csv"]).refused(2, &["pot.csv", "row 2", "column grams", "-1"]);
    bench.file("pot.csv", "toner\nbinder\n");
    by(&["--mass-g", "500", "--poured", "pot.csv"]).refused(2, &["pot.csv", "grams", "missing"]);
    bench.file("r.json", r#"{"fractions":{"titanium white":0.7,"carbon black":0.4},"dft_um":30,"primer":"N5"}"#);
    by(&["--mass-g", "500"]).refused(2, &["r.json", "fractions", "1.1"]);
    bench.file("r.json", r#"{"fractions":{"leaf green":0.2},"dft_um":30,"primer":"N5"}"#);
    by(&["--mass-g", "500"]).refused(2, &["r.json", "leaf green", "not on the shelf", "carbon black"]);
    bench.file("r.json", r#"{"fractions":{"carbon black":0.1},"dft_um":30,"primer":"lime"}"#);
    by(&["--mass-g", "500"]).refused(2, &["r.json", "primer", "lime", "N5"]);
    bench.file("r.json", r#"{"recipes":[]}"#);
    by(&["--mass-g", "500"]).refused(2, &["r.json", "recipes", "at least one"]);
}

#[test]
fn panels_that_do_not_hang_together_are_refused_and_nothing_is_written() {
    let bench = Bench::new();
    let refused = |changes: &[(&str, &str, &str)], words: &[&str]| {
        lab(&bench, changes);
        bench.run(&["colour", "calibrate", "lab", "--out", "toners.json", "--json"]).refused(2, words);
        assert!(!bench.path("toners.json").exists());
        let left = std::fs::read_dir(bench.folder()).expect("a folder").count();
        assert_eq!(left, 1, "nothing half-written");
    };
    refused(&[("panels.csv", "0.70000,25.1", "0.60000,25.1")], &["panels.csv", "row 2", "binder", "0.7"]);
    refused(&[("panels.csv", "0.70000,25.1", "0.70000,0")], &["panels.csv", "row 2", "dft_um_gauge", "0"]);
    refused(&[("panels.csv", "25.1,black", "25.1,ebony")], &["panels.csv", "row 2", "substrate", "ebony", "white"]);
    refused(
        &[("toners.csv", "titanium white,solid", "titanium white,paste")],
        &["toners.csv", "row 2", "kind", "paste"],
    );
    refused(&[("measurements.csv", "P001,45as25", "P001,45as26")], &["measurements.csv", "row 4", "45as26"]);
    refused(
        &[("measurements.csv", "P001,45as25,0.", "P001,45as25,56.")],
        &["measurements.csv", "row 4", "divide by 100"],
    );
    refused(&[("panels.csv", "titanium white", "titan white")], &["panels.csv", "titan white", "toners.csv"]);
    // Without the dark primers nobody can tell scattering from what shines through.
    lab(&bench, &[]);
    let panels: String = LAB[1]
        .1
        .lines()
        .map(|line| line.strip_suffix(",black").map_or(line.to_string(), |rest| format!("{rest},white")) + "\n")
        .collect();
    std::fs::write(bench.path("lab/panels.csv"), panels).expect("a file");
    bench
        .run(&["colour", "calibrate", "lab", "--out", "toners.json"])
        .refused(2, &["panels.csv", "substrate", "black"]);
    std::fs::remove_file(bench.path("lab/panels.csv")).expect("a file");
    bench.run(&["colour", "calibrate", "lab", "--out", "toners.json"]).refused(2, &["panels.csv", "cannot be opened"]);
    bench.run(&["colour", "calibrate", "nowhere", "--out", "toners.json"]).refused(2, &["nowhere", "toners.csv"]);
    bench.run(&["colour", "calibrate", "lab", "--out", "lab"]).refused(2, &["lab", "folder"]);
    bench.run(&["colour", "calibrate", "lab", "--out", "no/toners.json"]).refused(2, &["no/toners.json"]);
    assert!(!bench.path("toners.json").exists());
}

#[test]
fn angles_may_have_a_plus_and_those_that_changed_places_are_doubtful() {
    let bench = Bench::new();
    few_toners(&bench);
    let target = panel("P001").replace("45as15", "45as+15");
    bench.file("target.csv", target);
    let line = ["colour", "recipe", "--toners", "few.json", "--target", "target.csv", "--json"];
    let found = bench.run(&line).json();
    assert!(found["recipes"][0]["predicted"]["mean_de00"].as_f64().expect("a number") < 1.0, "{found}");

    let swapped = DONOR.replace("45as75", "45as-75").replace("45as15", "45as75").replace("45as-75", "45as15");
    bench.file("donor.csv", swapped);
    let doubtful = bench.run(&["colour", "recipe", "--toners", "few.json", "--target", "donor.csv", "--json"]);
    assert!(doubtful.err.contains("order of lightness"), "{}", doubtful.err);
    let verdict = doubtful.json()["reachable"]["verdict"].clone();
    assert_eq!(verdict, "not reachable with these toners");
}

#[test]
fn what_a_recipe_is_wanted_for_must_be_said_rightly() {
    let bench = Bench::new();
    few_toners(&bench);
    let (one, two) = (panel("P001"), panel("P003"));
    let both = format!("{one}{}", two.split_once('\n').expect("a heading").1);
    bench.file("two.csv", &both);
    bench.file("one.csv", &one);
    let line = |more: &[&str]| {
        bench.run(&[&["colour", "recipe", "--toners", "few.json", "--json", "--out", "out.json"][..], more].concat())
    };
    line(&["--target", "two.csv"]).refused(2, &["--id", "two.csv", "P001, P003"]);
    line(&["--target", "two.csv", "--id", "T07"]).refused(2, &["--id", "T07", "P001, P003"]);
    let chosen = line(&["--target", "two.csv", "--id", "P003"]);
    chosen.json();
    std::fs::remove_file(bench.path("out.json")).expect("it was written");
    line(&["--target", "one.csv", "--primer", "lime"]).refused(2, &["--primer", "lime", "N5", "auto"]);
    line(&["--target", "one.csv", "--out-of-stock", "lime"]).refused(2, &["--out-of-stock", "lime", "carbon black"]);
    line(&["--target", "one.csv", "--max-toners", "7"]).refused(2, &["--max-toners", "7", "1 to 6"]);
    line(&["--target", "one.csv", "--max-toners", "0"]).refused(2, &["--max-toners", "0", "1 to 6"]);
    let all = ["--out-of-stock", "carbon black", "--out-of-stock", "titanium white"];
    line(&[&["--target", "one.csv"][..], &all].concat()).refused(2, &["no toner may be used"]);

    let brief = |text: &str, words: &[&str]| {
        bench.file("brief.json", text);
        line(&["--target", "one.csv", "--brief", "brief.json"]).refused(2, words);
    };
    brief(r#"{"edits":[{"angle":60,"dL":1}]}"#, &["brief.json", "edits.1.angle", "60", "75"]);
    brief(r#"{"edits":[{"dL":1}]}"#, &["brief.json", "edits.1.angle", "missing"]);
    brief(r#"{"edits":[{"angle":75,"dL":"dark"}]}"#, &["edits.1.dL", "dark", "a number"]);
    brief(r#"{"edits":[{"angle":75,"dL":1},{"angle":75,"dC":1}]}"#, &["edits.2.angle", "each angle once"]);
    brief(r#"{"edits":[{"angle":75,"dL":200}]}"#, &["brief.json", "no reflectance"]);
    brief(r#"{"weights":{"15":-1}}"#, &["weights.15", "-1", "0 to"]);
    brief(r#"{"weights":{}}"#, &["weights", "at least one angle"]);
    brief(r#"{"weights":{"-15":0,"15":0,"25":0,"45":0,"75":0,"110":0}}"#, &["weights", "over 0"]);
    assert!(!bench.path("out.json").exists(), "nothing is written for what was refused");
    bench.file("brief.json", r#"{"colour":"red","edits":[{"angle":75,"dL":1,"db":2}]}"#);
    let odd = line(&["--target", "one.csv", "--brief", "brief.json"]);
    assert!(odd.err.contains("the key colour is not used") && odd.err.contains("edits.1.db"), "{}", odd.err);
    odd.json();

    let bad = |text: String, words: &[&str]| {
        bench.file("bad.csv", text);
        line(&["--target", "bad.csv"]).refused(2, words);
    };
    bad(one.replace("45as25", "45as20"), &["bad.csv", "row 4", "geometry", "45as20", "45as25"]);
    bad(one.replacen(",0.", ",12.", 1), &["bad.csv", "row 2", "column 400", "divide by 100"]);
    bad(one.replacen("450", "455", 1), &["bad.csv", "450", "missing"]);
    let bright = line(&["--target", bench.file("bright.csv", one.replacen("45as-15,0.", "45as-15,1.", 1))]);
    bright.json();

    let old = std::fs::read_to_string(bench.path("few.json")).expect("a file");
    for (from, to, words) in [
        ("\"version\":1", "\"version\":0", ["version 0", "Learn the toners again"]),
        ("\"version\":1", "\"version\":2", ["version 2", "later"]),
        ("guidecoat toners", "paint", ["old.json", "no toner file"]),
        ("\"kind\":\"solid\"", "\"kind\":\"paste\"", ["toners.1.kind", "paste"]),
    ] {
        bench.file("old.json", old.replacen(from, to, 1));
        bench.run(&["colour", "recipe", "--toners", "old.json", "--target", "one.csv"]).refused(2, &words);
    }
}

/// A solid needs no more than one angle, and the answer says what one angle cannot tell.
#[test]
fn one_angle_is_enough_for_a_solid_and_doubtful() {
    let bench = Bench::new();
    few_toners(&bench);
    let all = panel("P001");
    let lines: Vec<&str> = all.lines().filter(|l| l.starts_with("target_id") || l.contains("45as45")).collect();
    for (name, geometry) in [("plain.csv", "45as45"), ("45-0.csv", "45:0"), ("sphere.csv", "de:8")] {
        bench.file(name, lines.join("\n").replace("45as45", geometry) + "\n");
        let ran = bench.run(&["colour", "recipe", "--toners", "few.json", "--target", name, "--json"]);
        assert!(ran.err.contains("doubtful"), "{name}: {}", ran.err);
        assert!(ran.json()["recipes"][0]["predicted"]["mean_de00"].as_f64().expect("a number") < 1.0);
    }
}

#[test]
fn cards_that_say_nothing_of_the_recipe_are_refused() {
    let bench = Bench::new();
    few_toners(&bench);
    bench.file("one.csv", panel("P001"));
    bench.file("r.json", r#"{"fractions":{"titanium white":0.3},"dft_um":25,"primer":"black"}"#);
    let line = |more: &[&str]| {
        let fixed =
            ["colour", "correct", "--toners", "few.json", "--recipe", "r.json", "--target", "one.csv", "--json"];
        bench.run(&[&fixed[..], more].concat())
    };
    line(&[]).refused(2, &["--card"]);
    line(&["--card", "nowhere.csv"]).refused(2, &["nowhere.csv"]);
    line(&["--card", "one.csv", "--pot-g", "0"]).refused(2, &["--pot-g", "0", "1 000 000"]);
    line(&["--card", "one.csv", "--pot-g", "-3"]).refused(2, &["--pot-g", "-3"]);
    let corrected = line(&["--card", "one.csv", "--card", "one.csv"]).json();
    assert!(corrected["predicted"]["mean_de00"].as_f64().expect("a number") < 0.5, "{corrected}");
    let heading = panel("P001").lines().next().expect("a heading").to_string();
    bench.file("empty.csv", heading);
    line(&["--card", "empty.csv"]).refused(2, &["empty.csv", "no row"]);
}

/// Waits until a process has a handler of its own for the interrupt, as it has from just before long work
/// begins: bit 1 of the caught signals that Linux tells of it.
#[cfg(target_os = "linux")]
fn until_it_listens(process: u32) {
    let listens = || {
        let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
        let caught = status.lines().find_map(|line| line.strip_prefix("SigCgt:"));
        caught.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok()).is_some_and(|mask| mask & 2 != 0)
    };
    for _ in 0..60_000 {
        if listens() {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
    panic!("the program never listened for ctrl-c");
}

/// Ctrl-c ends the learning with what was learned so far, and says so.
#[cfg(target_os = "linux")]
#[test]
fn ctrl_c_stops_with_the_best_so_far() {
    let bench = Bench::new();
    lab(&bench, &[]);
    let mut command = bench.command(&["colour", "calibrate", "lab", "--out", "toners.json", "--json"]);
    let child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program");
    until_it_listens(child.id());
    let asked = std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status().expect("kill");
    assert!(asked.success());
    let ended = child.wait_with_output().expect("an end");
    assert_eq!(ended.status.code(), Some(0), "{ended:?}");
    let answer: Value = serde_json::from_slice(&ended.stdout).expect("JSON");
    assert_eq!(answer["stopped"], true, "{answer}");
    assert!(bench.path("toners.json").exists());
    assert!(String::from_utf8_lossy(&ended.stderr).contains("as far as they were learned"));
}
