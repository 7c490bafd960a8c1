//! `colour sample`, `colour brief`, `colour reach`, `colour era`, `colour preview`: from what is meant to a picture.

use serde_json::Value;

use crate::bench::{Bench, Ran};
use crate::paint::{few_toners, panel};

const DONOR: &str = include_str!("../../../../demo/colour/donor.csv");
const BRIEF: &str = include_str!("../../../../demo/colour/brief.json");
const WORDS: [&str; 4] = ["--say", "keep-face", "--say", "lose-hue-travel=0.9"];

/// The donor at some of its angles.
fn donor_at(angles: &[&str]) -> String {
    let kept = |line: &&str| angles.iter().any(|angle| line.split(',').any(|cell| cell == *angle));
    let rows = DONOR.lines().skip(1).filter(kept);
    std::iter::once(DONOR.lines().next().expect("a heading")).chain(rows).collect::<Vec<_>>().join("\n") + "\n"
}

/// The donor with every factor changed by what `change` makes of its place.
fn donor_changed(change: impl Fn(usize, f64) -> f64) -> String {
    let mut count = 0;
    let mut text = format!("{}\n", DONOR.lines().next().expect("a heading"));
    for line in DONOR.lines().skip(1) {
        let cells: Vec<String> = line
            .split(',')
            .map(|cell| match cell.parse::<f64>() {
                Ok(value) => {
                    count += 1;
                    change(count, value).to_string()
                }
                Err(_) => cell.to_owned(),
            })
            .collect();
        text += &(cells.join(",") + "\n");
    }
    text
}

fn brief(bench: &Bench, donor: &str, more: &[&str]) -> Ran {
    let donor = bench.file("donor.csv", donor);
    bench.run(&[&["colour", "brief", "--donor", donor, "--json"][..], more].concat())
}

fn show(bench: &Bench, out: &str, more: &[&str]) -> Ran {
    bench.run(&[&["colour", "preview", out, "--size", "160x90", "--json"][..], more].concat())
}

fn picture(bench: &Bench, name: &str) -> image::RgbImage {
    image::open(bench.path(name)).expect("a picture").to_rgb8()
}

fn chroma(value: &Value) -> f64 {
    value["C"].as_f64().expect("a number")
}

/// The brief that the demo's recipes are for is what plain words make of its donor.
#[test]
fn a_brief_keeps_the_face_and_takes_the_violet_out_of_the_flop() {
    let bench = Bench::new();
    let told = brief(&bench, DONOR, &[&WORDS[..], &["--edit", "45:0,0,-10", "--out", "brief.json"]].concat()).json();
    let sentence = told["sentence"].as_str().unwrap();
    assert!(sentence.contains("face") && sentence.contains("violet"), "{sentence}");
    let by_angle = told["by_angle"].as_array().unwrap();
    assert_eq!(by_angle.len(), 6);
    for angle in by_angle {
        let face = angle["angle"].as_i64().unwrap() <= 25;
        assert_eq!(face, angle["before"] == angle["after"], "{angle}");
    }
    // In the wish the flop has nearly the face's hue: a tenth of 80 degrees is left. It has no less colour.
    let hue = |place: usize| by_angle[place]["after"]["h"].as_f64().unwrap();
    let turn = (hue(5) - hue(1) + 180.0).rem_euclid(360.0) - 180.0;
    assert!((5.0..11.0).contains(&turn.abs()), "{turn}");
    assert!(chroma(&by_angle[5]["after"]) > chroma(&by_angle[5]["before"]) - 0.1);
    assert_eq!((told["lent"].as_array().map(Vec::len), told["picture"].as_bool()), (Some(0), Some(false)));
    let written: Value = serde_json::from_slice(&std::fs::read(bench.path("brief.json")).unwrap()).unwrap();
    assert_eq!(written["edits"], told["edits"]);
    let kept: Value = serde_json::from_str(BRIEF).unwrap();
    assert_eq!(written, kept, "demo/colour/brief.json is another brief; demo/README.md says how it is made");
    let table = bench.run(&["colour", "brief", "--donor", "donor.csv", "--say", "quieter=0.5", "--weight", "110=0.5"]);
    assert!(table.code == 0 && table.out.contains("110") && table.out.contains("weight"), "{table:?}");
}

#[test]
fn words_and_changes_that_cannot_be_are_refused_at_their_flag() {
    let bench = Bench::new();
    let refused = |more: &[&str], words: &[&str]| brief(&bench, DONOR, more).refused(2, words);
    refused(&["--say", "no-violet"], &["--say", "no-violet", "lose-hue-travel"]);
    refused(&["--say", "quieter=2"], &["--say", "0 to 1"]);
    refused(&["--say", "quieter", "--say", "quieter=0.5"], &["--say", "twice"]);
    refused(&["--edit", "60:0,0,10"], &["--edit", "-15, 15, 25, 45, 75, 110"]);
    refused(&["--edit", "75:0,0"], &["--edit", "75:0,-5,40"]);
    refused(&["--edit", "75:0,0,1", "--edit", "75:0,0,2"], &["--edit", "45as75", "twice"]);
    let none: Vec<&str> =
        ["-15=0", "15=0", "25=0", "45=0", "75=0", "110=0"].iter().flat_map(|w| ["--weight", w]).collect();
    refused(&none, &["--weight"]);
    refused(&["--out", "nowhere/brief.json"], &["nowhere/brief.json"]);
    refused(&["--flop-of", "nothing.csv"], &["nothing.csv"]);
    assert!(!bench.path("brief.json").exists());
}

/// What no surface has is pulled back by `colour brief`, which says so; as a brief of somebody's own it is refused.
#[test]
fn a_brief_that_asks_for_the_impossible_is_brought_back_or_refused() {
    let bench = Bench::new();
    let told = brief(&bench, DONOR, &["--edit", "45:0,150,0", "--edit", "75:90,0,0", "--out", "held.json"]).json();
    assert!(!told["warnings"].as_array().unwrap().is_empty());
    let wanted = &told["edits"].as_array().unwrap()[0];
    assert!(wanted["dC"].as_f64().unwrap() < 150.0, "{wanted}");
    show(&bench, "held.png", &["--measured", "donor.csv", "--brief", "held.json"]).json();
    let asked = bench.file("asked.json", r#"{"edits":[{"angle":45,"dC":150}]}"#);
    let line = ["--measured", "donor.csv", "--brief", asked];
    show(&bench, "asked.png", &line).refused(2, &["asked.json", "45as45", "ask for less"]);
    assert!(!bench.path("asked.png").exists());
}

#[test]
fn few_angles_a_noisy_one_and_a_missing_band() {
    let bench = Bench::new();
    for angles in [&["45as15", "45as45", "45as110"][..], &["45as25", "45as75"]] {
        let told = brief(&bench, &donor_at(angles), &WORDS).json();
        assert_eq!(told["by_angle"].as_array().map(Vec::len), Some(angles.len()));
        let shown = show(&bench, "few.png", &["--measured", "donor.csv"]).json();
        assert!(shown["panel_pixels"].as_u64() > Some(1_000), "{shown}");
        assert!(!shown["warnings"].as_array().unwrap().is_empty());
    }
    // One angle, and the flop of another paint: the angles are lent, and can be written.
    bench.file("other.csv", donor_at(&["45as15", "45as75", "45as110"]));
    let chip = donor_at(&["45as15"]);
    let told = brief(&bench, &chip, &["--flop-of", "other.csv", "--completed", "whole.csv"]).json();
    assert_eq!(told["lent"], serde_json::json!(["45as75", "45as110"]));
    let again = bench.run(&["colour", "travel", "whole.csv", "--json"]).json();
    assert_eq!(again["paints"][0]["by_angle"].as_array().map(Vec::len), Some(3));
    assert!(brief(&bench, &chip, &["--flop-of", "other.csv"]).json()["warnings"].to_string().contains("--completed"));
    // Noise of 5 percent, up and down: an answer.
    let noisy = donor_changed(|place, value| value * (1.0 + 0.05 * [1.0, -1.0, 0.4, -0.7][place % 4]));
    assert_eq!(brief(&bench, &noisy, &WORDS).json()["by_angle"].as_array().map(Vec::len), Some(6));
    show(&bench, "noisy.png", &["--measured", "donor.csv"]).json();
    // A band that is missing, and one that is no number.
    let heading = DONOR.lines().next().unwrap();
    let place = heading.split(',').position(|cell| cell == "550").unwrap();
    let without = |line: &str| {
        let cells = line.split(',').enumerate().filter(|(i, _)| *i != place).map(|(_, cell)| cell);
        cells.collect::<Vec<_>>().join(",")
    };
    let missing = DONOR.lines().map(without).collect::<Vec<_>>().join("\n");
    brief(&bench, &missing, &WORDS).refused(2, &["donor.csv", "550"]);
    let line = show(&bench, "missing.png", &["--measured", "donor.csv"]);
    line.refused(2, &["donor.csv", "550"]);
    let line = DONOR.lines().nth(1).unwrap();
    let cells: Vec<&str> = line.split(',').enumerate().map(|(i, cell)| if i == place { "" } else { cell }).collect();
    brief(&bench, &DONOR.replacen(line, &cells.join(","), 1), &WORDS).refused(2, &["donor.csv", "550"]);
}

/// Two halves of a split picture are those of the paints alone; the same line gives the same bytes.
#[test]
fn invariant_a_split_picture_is_two_halves_of_whole_ones() {
    let bench = Bench::new();
    bench.file("donor.csv", DONOR);
    bench.file("brief.json", BRIEF);
    let light = ["--light", "lamp", "--turn", "-25.5", "--tilt", "-10"];
    let drawn = |out: &str, more: &[&str]| show(&bench, out, &[&light[..], more].concat()).json();
    let told = drawn("donor.png", &["--measured", "donor.csv"]);
    assert_eq!(
        (&told["file"], told["width"].as_u64(), told["height"].as_u64(), &told["light"]),
        (&"donor.png".into(), Some(160), Some(90), &"lamp".into())
    );
    assert_eq!((told["turn_deg"].as_f64(), told["tilt_deg"].as_f64()), (Some(-25.5), Some(-10.0)));
    assert!(told["note"].as_str().unwrap().contains("Not a proof"));
    assert!(told["outside_screen"].as_u64() <= told["panel_pixels"].as_u64());
    drawn("wish.png", &["--measured", "donor.csv", "--brief", "brief.json"]);
    drawn("split.png", &["--measured", "donor.csv", "--brief", "brief.json", "--beside", "donor.csv"]);
    let [donor, wish, split] = ["donor.png", "wish.png", "split.png"].map(|name| picture(&bench, name));
    let mut other = 0;
    for (x, y, pixel) in split.enumerate_pixels() {
        let from = if x < 80 { &wish } else { &donor };
        assert_eq!(pixel, from.get_pixel(x, y), "{x} {y}");
        other += usize::from(wish.get_pixel(x, y) != donor.get_pixel(x, y));
    }
    assert!(other > 1_000, "the wish is not the donor: {other}");
    // The corner is the neutral grey of L* 50 (IEC 61966-2-1: code 119).
    assert_eq!(split.get_pixel(0, 0).0, [119; 3]);
    drawn("again.png", &["--measured", "donor.csv"]);
    assert_eq!(std::fs::read(bench.path("again.png")).unwrap(), std::fs::read(bench.path("donor.png")).unwrap());
    // Its back shows nothing, and that is said.
    let back = show(&bench, "back.png", &["--measured", "donor.csv", "--turn", "180"]);
    assert!(back.json()["panel_pixels"] == 0 && back.err.contains("nothing of it is seen"), "{back:?}");
}

#[test]
fn a_picture_that_cannot_be_drawn_leaves_nothing_behind() {
    let bench = Bench::new();
    bench.file("donor.csv", DONOR);
    bench.file("old.png", "old");
    let refused = |out: &str, more: &[&str], words: &[&str]| show(&bench, out, more).refused(2, words);
    let measured = ["--measured", "donor.csv"];
    let with = |more: &[&'static str]| [&measured[..], more].concat();
    refused("a.png", &[], &["--measured"]);
    refused("a.png", &["--recipe", "r.json"], &["--toners"]);
    refused("a.png", &with(&["--light", "moon"]), &["--light", "overcast"]);
    refused("a.png", &with(&["--turn", "190"]), &["--turn", "-180 to 180"]);
    refused("a.png", &with(&["--tilt", "NaN"]), &["--tilt", "-180 to 180"]);
    refused("a.png", &with(&["--over", "N4"]), &["--recipe"]);
    refused("a.png", &with(&["--coat-less"]), &["--recipe"]);
    refused("a.png", &with(&["--beside", "recipe.json"]), &["--beside", "--toners"]);
    refused("a.png", &with(&["--beside", "nothing.csv"]), &["nothing.csv"]);
    refused("nowhere/a.png", &measured, &["nowhere/a.png"]);
    for size in ["0x0", "15x90", "4000x90", "160", "160x90x3", "x"] {
        let line = ["colour", "preview", "a.png", "--measured", "donor.csv", "--size", size];
        bench.run(&line).refused(2, &["--size", "960x540"]);
    }
    refused("old.png", &["--measured", "nothing.csv"], &["nothing.csv"]);
    assert_eq!(std::fs::read(bench.path("old.png")).unwrap(), b"old");
    let left = std::fs::read_dir(bench.folder()).unwrap();
    let mut left: Vec<String> = left.map(|file| file.unwrap().file_name().to_string_lossy().into_owned()).collect();
    left.sort();
    assert_eq!(left, ["donor.csv", "old.png"]);
}

/// Two toners, a grey that both reach and a wish past it: the curve, its recipes, their era and their picture.
#[test]
fn toners_reach_a_wish_or_say_how_far_it_is() {
    let bench = Bench::new();
    few_toners(&bench);
    let target = bench.file("grey.csv", panel("P002"));
    let brief = bench.file("brief.json", r#"{"edits":[{"angle":45,"dC":25,"dh":60}]}"#);
    let line = ["colour", "reach", "--toners", "few.json", "--target", target, "--brief", brief, "--sizes", "1,2"];
    let told = bench.run(&[&line[..], &["--primer", "N4", "--out", "reach.json", "--json"]].concat()).json();
    let lines = told["lines"].as_array().unwrap();
    assert_eq!((lines.len(), lines[0]["most"].as_u64()), (2, Some(1)));
    let points = |line: usize| lines[line]["points"].as_array().unwrap();
    let parts: Vec<f64> = points(0).iter().map(|point| point["part"].as_f64().unwrap()).collect();
    assert_eq!(parts, [0.0, 0.25, 0.5, 0.75, 1.0]);
    let far = |point: &Value| point["weighted_de00"].as_f64().unwrap();
    for (one, two) in points(0).iter().zip(points(1)) {
        assert!(far(two) <= far(one) + 1e-9, "more toners come as near: {one} {two}");
        assert!(one["recipe"]["fractions"].as_object().map(serde_json::Map::len) == Some(1), "{one}");
    }
    assert!(far(&points(1)[4]) > far(&points(1)[0]) + 1.0, "greys cannot follow a hue");
    assert_eq!(told["reachable"]["verdict"], "not reachable with these toners");
    assert!(!told["reachable"]["misses"].as_array().unwrap().is_empty());
    let table = bench.run(&line);
    assert!(table.out.contains("100 %") && table.out.contains("up to 2"), "{table:?}");

    // What it wrote is read as recipes are.
    let era = ["colour", "era", "reach.json", "--toners", "few.json", "--json", "--year"];
    let judged = bench.run(&[&era[..], &["1969"]].concat()).json();
    assert!(judged["words"].as_str().is_some_and(|words| words.contains("1969")), "{judged}");
    assert_eq!((judged["unknown"].as_array().map(Vec::len), judged["year"].as_u64()), (Some(0), Some(1969)));
    bench.run(&[&era[..], &["1890"]].concat()).refused(2, &["--year", "1920"]);
    let shown = |out: &str, more: &[&str]| {
        show(&bench, out, &[&["--toners", "few.json", "--recipe", "reach.json"][..], more].concat())
    };
    shown("plain.png", &[]).json();
    shown("less.png", &["--coat-less"]).json();
    shown("over.png", &["--over", "white"]).json();
    shown("beside.png", &["--over", "white", "--coat-less", "--beside", "reach.json", "--mark"]).json();
    let [plain, less, over, beside] =
        ["plain.png", "less.png", "over.png", "beside.png"].map(|name| picture(&bench, name));
    assert!(plain != less && plain != over && less != over);
    assert_eq!(beside.get_pixel(120, 45), plain.get_pixel(120, 45));
    shown("a.png", &["--over", "pink"]).refused(2, &["--over", "pink", "N4"]);
}

#[test]
fn a_reach_that_cannot_be_asked_is_refused() {
    let bench = Bench::new();
    few_toners(&bench);
    bench.file("grey.csv", panel("P002"));
    bench.file("brief.json", "{}");
    let reach = |more: &[&str]| {
        let line = ["colour", "reach", "--toners", "few.json", "--target", "grey.csv", "--brief", "brief.json"];
        bench.run(&[&line[..], more].concat())
    };
    reach(&["--sizes", "3,2"]).refused(2, &["--sizes", "rise"]);
    reach(&["--sizes", "2,2"]).refused(2, &["--sizes", "rise"]);
    reach(&["--sizes", "0,7"]).refused(2, &["--sizes", "1 to 6"]);
    reach(&["--primer", "pink"]).refused(2, &["--primer", "pink"]);
    reach(&["--out-of-stock", "carbon black", "--out-of-stock", "titanium white"]).refused(2, &["no toner"]);
    reach(&["--there-in", "1700"]).refused(2, &["--there-in", "1920"]);
    bench.file("brief.json", r#"{"edits":[{"angle":75,"dL":500}]}"#);
    reach(&[]).refused(2, &["brief.json", "dL", "500"]);
}

/// A picture of three plain areas, drawn for the test.
fn areas(codes: [[u8; 3]; 3]) -> Vec<u8> {
    let drawn = image::RgbImage::from_fn(300, 100, |x, _| image::Rgb(codes[(x / 100) as usize]));
    let mut bytes = std::io::Cursor::new(Vec::new());
    drawn.write_to(&mut bytes, image::ImageFormat::Png).expect("a picture");
    bytes.into_inner()
}

/// The picture's codes come out as colours of sRGB (IEC 61966-2-1): a neutral code is a neutral colour.
#[test]
fn colours_of_a_picture_are_taken_and_marked_as_no_measurement() {
    let bench = Bench::new();
    bench.file("seen.png", areas([[200, 120, 70], [128, 128, 128], [60, 40, 50]]));
    let marks = ["--face", "0.17,0.5", "--flash", "0.5,0.5", "--flop", "0.83,0.5", "--out", "seen.csv"];
    let ran = bench.run(&[&["colour", "sample", "seen.png", "--json"][..], &marks].concat());
    assert!(ran.err.contains("not a measurement"), "{}", ran.err);
    let told = ran.json();
    let taken = told["areas"].as_array().unwrap();
    assert_eq!(taken.len(), 3);
    // The picture is kept as JPEG before it is sampled, which moves a code by a few at most.
    for (area, codes) in taken.iter().zip([[200.0, 120.0, 70.0], [128.0; 3], [60.0, 40.0, 50.0]]) {
        for (found, wanted) in area["rgb"].as_array().unwrap().iter().zip(codes) {
            assert!((found.as_f64().unwrap() - wanted).abs() < 4.0, "{area}");
        }
    }
    let grey = &taken[1];
    assert!(grey["a"].as_f64().unwrap().abs() < 2.0 && grey["b"].as_f64().unwrap().abs() < 2.0, "{grey}");
    // L* of code 128 is 53.6 (CIE 15 and IEC 61966-2-1, by hand).
    assert!((grey["L"].as_f64().unwrap() - 53.6).abs() < 1.5, "{grey}");
    let travel = bench.run(&["colour", "travel", "seen.csv", "--json"]).json();
    assert_eq!(travel["paints"][0]["by_angle"].as_array().map(Vec::len), Some(3));
    // It stays known as a picture wherever it goes.
    let told = bench.run(&["colour", "brief", "--donor", "seen.csv", "--say", "quieter=0.3", "--json"]).json();
    assert_eq!(told["picture"], true);
    let shown = show(&bench, "seen-panel.png", &["--measured", "seen.csv"]);
    assert!(shown.code == 0 && shown.err.contains("not a measurement"), "{shown:?}");
}

#[test]
fn a_picture_that_shows_no_colour_is_refused() {
    let bench = Bench::new();
    bench.file("black.png", areas([[0; 3]; 3]));
    bench.file("bright.png", areas([[255; 3], [128; 3], [60; 3]]));
    bench.file("words.png", "these are words");
    let sample =
        |file: &str, more: &[&str]| bench.run(&[&["colour", "sample", file, "--out", "seen.csv"][..], more].concat());
    let marks = ["--face", "0.17,0.5", "--flop", "0.83,0.5"];
    sample("black.png", &marks).refused(2, &["black.png", "black", "more light"]);
    sample("bright.png", &marks).refused(2, &["bright.png", "face", "burnt out"]);
    sample("words.png", &marks).refused(2, &["words.png"]);
    sample("nothing.png", &marks).refused(2, &["nothing.png"]);
    sample("bright.png", &[]).refused(2, &["--face", "--flash", "--flop"]);
    sample("bright.png", &["--flop", "1.2,0.5"]).refused(2, &["--flop", "0 to 1"]);
    sample("bright.png", &["--flop", "0.5"]).refused(2, &["--flop", "0.4,0.55"]);
    sample("bright.png", &["--flop", "0.8,0.5", "--radius", "0.9"]).refused(2, &["--radius", "0.25"]);
    assert!(!bench.path("seen.csv").exists());
}
