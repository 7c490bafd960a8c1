//! Figures of the shop's own that the checks let through, however odd: there is an answer, or the reason why not.

use std::collections::BTreeMap;

use job::catalogue::{Catalogue, STARTING_FILES};
use job::outlook::{history, movements, outlook, range, what_if};
use job::what::{How, Seen, Severity};

use super::record::{Record, look, opened};

fn starting(name: &str) -> &'static str {
    STARTING_FILES.iter().find(|(file, _)| *file == name).unwrap().1
}

/// A record with something of everything.
fn record() -> Record {
    Record::with([
        look("Z01.R", How::Eye, Seen::Bad(Severity::Pitted), &[("K01", true), ("K08", true)]),
        look("Z03.R", How::ScopeThere, Seen::Clear, &[("K49", false)]),
        look("Z14.L", How::Eye, Seen::Bad(Severity::Thin), &[("K13", true)]),
        opened("Z51.L", None),
        opened("Z02.L", Some(Severity::Holed)),
    ])
}

/// All that is worked out from a record, held to what must hold of any.
fn holds(record: &Record, catalogue: &Catalogue) {
    let car = record.fold();
    let told = outlook(&car, catalogue).unwrap();
    for zone in &told.zones {
        assert!((0.0..=1.0).contains(&zone.p), "{}: {}", zone.instance.id, zone.p);
        assert!(zone.chance.low <= zone.chance.likely && zone.chance.likely <= zone.chance.high);
        assert!(zone.reasons.iter().all(|reason| reason.ratio.is_finite() && reason.ratio > 0.0));
    }
    for look in &told.looks {
        assert!(look.gain_h.is_finite() && look.gain_h >= 0.0, "{}: {}", look.key, look.gain_h);
    }
    let range = range(&car, catalogue, &told).unwrap();
    assert!(range.outcome.mean.is_finite() && range.outcome.p10 <= range.outcome.p95);
    if let Some(first) = told.looks.first() {
        let follows = what_if(&car, catalogue, &first.key).unwrap().unwrap();
        for case in [&follows.clear, &follows.bad] {
            assert!(case.mean_h.1.is_finite() && case.zones.iter().all(|zone| zone.after.likely.is_finite()));
        }
    }
    assert!(!history(&car, catalogue).unwrap().is_empty());
    assert!(movements(&car, catalogue, 0).is_ok());
}

#[test]
fn factors_as_far_as_they_may_go_still_give_an_answer() {
    for far in ["1000", "1", "0.001"] {
        let mut changed = 0;
        let text: String = starting("modifiers.csv")
            .lines()
            .map(|line| {
                let mut cells: Vec<&str> = line.splitn(5, ',').collect();
                if cells[2].starts_with("neighbour_")
                    || cells[2].starts_with("opposite_")
                    || cells[2].contains("same_corner")
                {
                    cells[3] = far;
                    changed += 1;
                }
                cells.join(",") + "\n"
            })
            .collect();
        assert!(changed >= 6, "{changed}");
        // A cap below the multiplier is the shop's word too.
        match Catalogue::with_overrides(&[("modifiers.csv", text.as_bytes())]) {
            Ok(catalogue) => holds(&record(), &catalogue),
            Err(error) => assert!(error.to_string().contains("cap"), "{error}"),
        }
    }
}

#[test]
fn base_rates_at_their_ends_and_looks_that_tell_nothing_still_give_an_answer() {
    for base in ["0.001", "0.999"] {
        let header: Vec<&str> = starting("zones.csv").lines().next().unwrap().split(',').collect();
        let column = header.iter().position(|name| *name == "base_p").unwrap();
        let mut reader = csv::Reader::from_reader(starting("zones.csv").as_bytes());
        let mut out = csv::Writer::from_writer(Vec::new());
        out.write_record(&header).unwrap();
        for row in reader.records().map(Result::unwrap) {
            out.write_record(row.iter().enumerate().map(|(at, cell)| if at == column { base } else { cell })).unwrap();
        }
        let own = Catalogue::with_overrides(&[("zones.csv", &out.into_inner().unwrap())]).unwrap();
        holds(&record(), &own);
    }
    // Every sound zone shows pits, and clear says nothing.
    let mut reader = csv::Reader::from_reader(starting("looks.csv").as_bytes());
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(reader.headers().unwrap()).unwrap();
    for row in reader.records().map(Result::unwrap) {
        let cell = |(at, cell)| match at {
            1..=3 => "1",
            _ => cell,
        };
        out.write_record(row.iter().enumerate().map(cell)).unwrap();
    }
    let own = Catalogue::with_overrides(&[("looks.csv", &out.into_inner().unwrap())]).unwrap();
    holds(&record(), &own);
    // A look that is alike on sound and bad metal tells nothing, so none is advised.
    assert!(outlook(&record().fold(), &own).unwrap().worth_looking().next().is_none());
}

/// Every zone on two of twenty paths, no two zones on the same two: woven into one cloth.
#[test]
fn paths_woven_too_tightly_are_refused_with_the_width() {
    let mut paths: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    let pairs = (1..20).flat_map(|step| (0..20).map(move |at| (at, (at + step) % 20)));
    let mut seen = std::collections::BTreeSet::new();
    let apart = pairs.filter(|(a, b)| seen.insert((*a.min(b), *a.max(b))));
    for (zone, (a, b)) in (1..=66).zip(apart) {
        for path in [a, b] {
            paths.entry(path).or_default().push(format!("Z{zone:02}"));
        }
    }
    let mut text = "path_id,name,zones,reasoning,basis\n".to_owned();
    for (path, zones) in &paths {
        text += &format!("P{path:02},path {path},{},invented,invented\n", zones.join(" "));
    }
    let refused = Catalogue::with_overrides(&[("paths.csv", text.as_bytes())]).unwrap_err().to_string();
    assert!(refused.starts_with("paths.csv: ") && refused.contains("its width is"), "{refused}");
    // No paths at all are no trouble: then only opposite zones tell of each other.
    let none = Catalogue::with_overrides(&[("paths.csv", b"path_id,name,zones,reasoning,basis\n")]);
    match none {
        Ok(none) => holds(&record(), &none),
        Err(error) => assert!(error.to_string().contains("paths.csv"), "{error}"),
    }
}
