//! A record that was altered, cut off, reordered, or written by a newer program: the check says where.

use crate::bench::{Bench, Look, Ran, entry, pack, post, unpack};

/// A car of three entries, exported: its manifest and its lines.
fn exported(bench: &Bench) -> (String, Vec<String>) {
    let (car, who) = (bench.car(), bench.lead());
    {
        let server = bench.serve();
        for (count, zone) in [(1, "Z01.L"), (2, "Z52")] {
            let look = Look { entry: &entry(count), base: 3, zone, result: "clear", who: &who };
            assert_eq!(post(&server.address, &car, &look).expect("an answer").0, 201);
        }
    }
    let lines = bench.record(&car);
    assert_eq!(lines.len(), 3);
    (unpack(&bench.path("record.zip"), "car.json"), lines)
}

fn verify(bench: &Bench, manifest: &str, lines: &[String], more: &[&str]) -> Ran {
    let text = lines.iter().map(|l| format!("{l}\n")).collect::<String>();
    pack(&bench.path("again.zip"), &[("car.json", manifest.as_bytes()), ("events.jsonl", text.as_bytes())]);
    bench.run(&[&["car", "verify", "again.zip", "--json"], more].concat())
}

fn broken_at(ran: &Ran) -> u64 {
    assert_eq!(ran.code, 1, "{ran:?}");
    assert_eq!(ran.err.lines().count(), 1, "{ran:?}");
    let told: serde_json::Value = serde_json::from_str(&ran.out).expect("the answer comes all the same");
    assert_eq!(told["intact"], false);
    told["broken_at"].as_u64().expect("a place")
}

#[test]
fn a_whole_record_is_intact_and_holds_each_of_its_heads() {
    let bench = Bench::with_lead();
    let (manifest, lines) = exported(&bench);
    let whole = verify(&bench, &manifest, &lines, &[]).json();
    assert_eq!((whole["events"].as_u64(), whole["intact"].as_bool()), (Some(3), Some(true)));
    for line in &lines {
        let head = job::ids::Hash::of(line.as_bytes());
        assert_eq!(verify(&bench, &manifest, &lines, &["--head", &head.short_and_rest()]).json()["intact"], true);
    }
}

/// A hash as it is copied from paper: in groups.
trait Paper {
    fn short_and_rest(&self) -> String;
}

impl Paper for job::ids::Hash {
    fn short_and_rest(&self) -> String {
        format!("{} {}", self.short(), &self.to_string()[16..])
    }
}

#[test]
fn an_altered_entry_shows_where_it_stands() {
    let bench = Bench::with_lead();
    let (manifest, mut lines) = exported(&bench);
    lines[1] = lines[1].replace("rings", "dull!");
    assert_eq!(broken_at(&verify(&bench, &manifest, &lines, &[])), 3);
    bench
        .run(&["car", "import", "again.zip", "--database", "sqlite:other.sqlite"])
        .refused(1, &["again.zip", "entry 3"]);
}

#[test]
fn an_altered_last_entry_shows_against_the_manifest() {
    let bench = Bench::with_lead();
    let (manifest, mut lines) = exported(&bench);
    lines[2] = lines[2].replace("rings", "dull!");
    assert!(broken_at(&verify(&bench, &manifest, &lines, &[])) >= 3);
}

#[test]
fn an_entry_taken_out_or_moved_shows() {
    let bench = Bench::with_lead();
    let (manifest, lines) = exported(&bench);
    let without: Vec<String> = [&lines[..1], &lines[2..]].concat();
    assert_eq!(broken_at(&verify(&bench, &manifest, &without, &[])), 2);
    let moved = [lines[0].clone(), lines[2].clone(), lines[1].clone()];
    assert_eq!(broken_at(&verify(&bench, &manifest, &moved, &[])), 2);
}

#[test]
fn a_cut_off_tail_shows_against_a_printed_head() {
    let bench = Bench::with_lead();
    let (manifest, lines) = exported(&bench);
    let hash = |line: &String| job::ids::Hash::of(line.as_bytes()).to_string();
    // Whoever cut it off has made the manifest fit, too.
    let fitted = manifest.replace("\"events\": 3", "\"events\": 2").replace(&hash(&lines[2]), &hash(&lines[1]));
    assert_eq!(verify(&bench, &fitted, &lines[..2], &[]).json()["intact"], true, "nothing else can show it");
    assert_eq!(broken_at(&verify(&bench, &fitted, &lines[..2], &["--head", &hash(&lines[2])])), 3);
    assert_eq!(broken_at(&verify(&bench, &manifest, &lines[..2], &[])), 3);
}

#[test]
fn a_line_cut_short_is_a_break_and_not_a_crash() {
    let bench = Bench::with_lead();
    let (manifest, mut lines) = exported(&bench);
    let half = lines[2].len() / 2;
    lines[2].truncate(half);
    assert_eq!(broken_at(&verify(&bench, &manifest, &lines, &[])), 3);
    lines.truncate(0);
    assert!(broken_at(&verify(&bench, &manifest, &lines, &[])) <= 1);
}

#[test]
fn a_zip_of_a_newer_format_is_refused() {
    let bench = Bench::with_lead();
    let (manifest, lines) = exported(&bench);
    let newer = manifest.replace("\"version\": 1", "\"version\": 2");
    assert_ne!(newer, manifest);
    verify(&bench, &newer, &lines, &[]).refused(2, &["again.zip", "version 2", "up to version 1"]);
}
