//! Files that are not what they should be: each is refused in one line that says where and what.

use std::fmt::Write;

use crate::bench::{Bench, pack};

fn heading() -> String {
    let names: Vec<String> = (400..=700).step_by(10).map(|nm| nm.to_string()).collect();
    format!("name,{}", names.join(","))
}

fn spectra(bench: &Bench, bytes: impl AsRef<[u8]>) -> crate::bench::Ran {
    let file = bench.file("spectra.csv", bytes);
    bench.run(&["colour", "lab", file, "--illuminant", "D65", "--observer", "10", "--json"])
}

fn pairs(bench: &Bench, bytes: impl AsRef<[u8]>) -> crate::bench::Ran {
    let file = bench.file("pairs.csv", bytes);
    bench.run(&["colour", "difference", file, "--json"])
}

#[test]
fn an_empty_file_and_one_with_a_heading_only() {
    let bench = Bench::new();
    pairs(&bench, "").refused(2, &["pairs.csv", "empty"]);
    pairs(&bench, " \r\n \n").refused(2, &["pairs.csv", "empty"]);
    pairs(&bench, "L1,a1,b1,L2,a2,b2\n").refused(2, &["pairs.csv", "no row"]);
}

#[test]
fn a_file_cut_short() {
    let bench = Bench::new();
    pairs(&bench, "L1,a1,b1,L2,a2,b2\n50,0,0,51,0,0\n50,0,0,5").refused(2, &["pairs.csv", "row 3", "4 cells", "6"]);
    pairs(&bench, "L1,a1,b1,L2,a2,b2\n50,0,0,51,0,\"0\n").refused(2, &["row 2", "never closed"]);
}

#[test]
fn a_byte_order_mark_and_lines_that_end_in_crlf_are_no_trouble() {
    let bench = Bench::new();
    let ran = pairs(&bench, b"\xEF\xBB\xBFL1,a1,b1,L2,a2,b2\r\n50,2.6772,-79.7751,50,0,-82.7485\r\n");
    assert_eq!(ran.err, "");
    assert!((ran.json()["de00"][0].as_f64().unwrap() - 2.0425).abs() < 1e-4);
}

#[test]
fn a_wrong_separator() {
    let bench = Bench::new();
    pairs(&bench, "L1|a1|b1|L2|a2|b2\n50|0|0|51|0|0\n").refused(2, &["pairs.csv", "L1", "missing"]);
    pairs(&bench, "L1,a1;b1,L2,a2,b2\n50,0,0,51,0,0\n").refused(2, &["row 1", "commas", "semicolons"]);
    pairs(&bench, "L1,a1,b1,L2,a2,b2\n50;0;0;51;0;0\n").refused(2, &["row 2", "1 cell"]);
}

#[test]
fn a_cell_that_is_no_number() {
    let bench = Bench::new();
    pairs(&bench, "L1,a1,b1,L2,a2,b2\n50,NaN,0,51,0,0\n").refused(2, &["pairs.csv", "row 2", "column a1", "NaN"]);
    pairs(&bench, "L1,a1,b1,L2,a2,b2\n50,,0,51,0,0\n").refused(2, &["row 2", "column a1", "nothing", "a number"]);
    pairs(&bench, "L1,a1,b1,L2,a2,b2\n50,0,0,1e999,0,0\n").refused(2, &["row 2", "column L2", "1e999"]);
    pairs(&bench, "L1,a1,b1,L2,a2,b2\n50,0,0,5000,0,0\n").refused(2, &["row 2", "column L2", "5000", "200"]);
}

#[test]
fn a_missing_wavelength() {
    let bench = Bench::new();
    let text = format!("{}\ngrey{}\n", heading().replace(",550", ""), ",0.5".repeat(30));
    spectra(&bench, text).refused(2, &["spectra.csv", "550", "missing"]);
}

#[test]
fn a_negative_reflectance_and_one_in_percent() {
    let bench = Bench::new();
    let row = |value: &str| format!("{}\ngrey,{value}{}\n", heading(), ",0.5".repeat(30));
    spectra(&bench, row("-0.2")).refused(2, &["spectra.csv", "row 2", "column 400", "-0.2", "at least 0"]);
    spectra(&bench, row("50.2")).refused(2, &["row 2", "column 400", "50.2", "divide by 100"]);
    spectra(&bench, row("NaN")).refused(2, &["row 2", "column 400", "NaN"]);
    let doubtful = spectra(&bench, row("-0.004"));
    assert!(doubtful.err.starts_with("doubtful: ") && doubtful.err.contains("below zero"), "{}", doubtful.err);
    assert_eq!(doubtful.json()["rows"][0]["name"], "grey");
}

#[test]
fn a_file_that_is_no_text_no_file_or_not_there() {
    let bench = Bench::new();
    pairs(&bench, b"\xFF\xFEL\x001\x00").refused(2, &["pairs.csv", "row 1", "UTF-8"]);
    bench.run(&["colour", "difference", "."]).refused(2, &["folder"]);
    bench.run(&["colour", "difference", "nowhere.csv"]).refused(2, &["nowhere.csv"]);
}

#[test]
fn more_rows_than_are_taken() {
    let bench = Bench::new();
    let mut text = String::from("film_um\n");
    for row in 0..1_000_000 {
        writeln!(text, "{}", 80 + row % 7).unwrap();
    }
    let file = bench.file("readings.csv", &text);
    bench.run(&["coating", "accept", file, "--nominal", "80"]).refused(2, &["readings.csv", "1000000", "100000"]);
    // The limit of a table, reached with rows that are not even looked at.
    let long = bench.file("long.csv", "1\n".repeat(2_000_002));
    bench.run(&["coating", "accept", long, "--nominal", "80"]).refused(2, &["long.csv", "2000000"]);
}

#[test]
fn a_command_line_that_cannot_be_read_is_one_line() {
    let bench = Bench::new();
    bench.run(&[]).refused(2, &["--help"]);
    bench.run(&["car"]).refused(2, &["--help"]);
    bench.run(&["paint"]).refused(2, &["paint"]);
    bench.run(&["coating", "dew", "--air", "18"]).refused(2, &["--rh", "--panel"]);
    bench.run(&["colour", "lab", "x.csv", "--illuminant", "D50"]).refused(2, &["D50", "FL11"]);
    bench.run(&["car", "verify", "x.zip", "--head", "12"]).refused(2, &["64 hexadecimal digits"]);
    bench.run(&["people", "add", "Somebody", "--role", "boss"]).refused(2, &["boss", "painter"]);
    bench.run(&["serve", "--timezone", "Mars/North"]).refused(2, &["Mars/North"]);
}

#[test]
fn a_catalogue_of_the_shop_s_own_that_does_not_hold_together() {
    let bench = Bench::with_lead();
    std::fs::create_dir(bench.path("own")).unwrap();
    std::fs::write(bench.path("own/instruments.csv"), "instrument_id,name\nfilm_gauge,gauge\n").unwrap();
    bench.run(&["car", "list", "--catalogue", "own"]).refused(2, &["own", "instruments.csv", "missing"]);
    std::fs::rename(bench.path("own/instruments.csv"), bench.path("own/spanners.csv")).unwrap();
    bench.run(&["car", "list", "--catalogue", "own"]).refused(2, &["spanners.csv", "zones.csv"]);
    bench.run(&["car", "list", "--catalogue", "nowhere"]).refused(2, &["nowhere"]);
}

#[test]
fn a_zip_that_is_none_or_another() {
    let bench = Bench::with_lead();
    for deed in ["import", "verify"] {
        let file = bench.file("car.zip", "this is no ZIP");
        bench.run(&["car", deed, file]).refused(2, &["car.zip", "not a ZIP"]);
        let file = bench.file("car.zip", "");
        bench.run(&["car", deed, file]).refused(2, &["car.zip"]);
        pack(&bench.path("car.zip"), &[("letter.txt", b"dear shop")]);
        bench.run(&["car", deed, "car.zip"]).refused(2, &["car.zip", "car.json"]);
    }
    bench.run(&["restore", "car.zip", "--database", "sqlite:other.sqlite"]).refused(2, &["car.zip", "shop.json"]);
}

#[test]
fn a_zip_with_a_name_that_leads_outside() {
    let bench = Bench::with_lead();
    pack(&bench.path("car.zip"), &[("car.json", b"{}"), ("../../escaped.txt", b"gone")]);
    bench.run(&["car", "import", "car.zip"]).refused(2, &["../../escaped.txt", "outside"]);
    bench.run(&["car", "verify", "car.zip"]).refused(2, &["../../escaped.txt", "outside"]);
    assert!(!bench.path("../escaped.txt").exists() && !bench.path("../../escaped.txt").exists());
    assert_eq!(bench.run(&["car", "list", "--json"]).json()["cars"].as_array().map(Vec::len), Some(0));
}

#[test]
fn a_zip_that_unpacks_to_far_more_than_it_weighs() {
    let bench = Bench::with_lead();
    let blanks = vec![b' '; 16 * 1024 * 1024];
    pack(&bench.path("bomb.zip"), &[("car.json", &blanks)]);
    assert!(std::fs::metadata(bench.path("bomb.zip")).unwrap().len() < 100_000);
    bench.run(&["car", "import", "bomb.zip"]).refused(2, &["bomb.zip", "unpacks to more than"]);

    let id = bench.car();
    bench.run(&["car", "export", &id, "car.zip"]);
    let car = crate::bench::unpack(&bench.path("car.zip"), "car.json");
    pack(&bench.path("bomb.zip"), &[("car.json", car.as_bytes()), ("events.jsonl", &blanks)]);
    bench.run(&["car", "verify", "bomb.zip"]).refused(2, &["bomb.zip", "line 1", "past what one record may hold"]);
}
