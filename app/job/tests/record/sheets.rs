//! The tables that leave with a car: read back by the `csv` crate, whatever was typed.

use job::details::CarDetails;
use job::paint;
use job::sheets::{readings_csv, spectra_csv, zones_csv};
use job::what::{Limit, Severity, What};
use proptest::prelude::*;

use crate::support::{Record, bad, clear, details, film, measured, opened, wall, withdraws};

fn rows(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
    reader.records().map(|row| row.unwrap().iter().map(String::from).collect()).collect()
}

#[test]
fn every_zone_of_the_car_is_listed_with_its_state() {
    let mut record = Record::empty(1);
    record.add(What::CarOpened(CarDetails { fitted: Default::default(), ..details("Car 1") }));
    record.add(bad("Z01.L", Severity::Holed));
    record.add(opened("Z01.R", None));
    record.add(film("Z01.R", 100.0));
    let rows = rows(&zones_csv(&record.fold()));
    assert_eq!(rows[0], ["instance", "zone", "name", "side", "state", "opened", "entries"]);
    assert_eq!(rows.len(), 1 + 116);
    let row = |id: &str| rows.iter().find(|row| row[0] == id).unwrap().clone();
    assert_eq!(row("Z01.L"), ["Z01.L", "Z01", "outer sill", "left", "looked: bad, holed", "no", "1"]);
    assert_eq!(row("Z01.R"), ["Z01.R", "Z01", "outer sill", "right", "looked: clear", "yes", "2"]);
    assert_eq!(row("Z02.L")[4..], ["not looked", "no", "0"]);
}

#[test]
fn readings_that_count_are_listed_with_instrument_and_limit() {
    let mut record = Record::new();
    record.add(wall("Z01.L", 0.52));
    let wrong = record.add(film("Z01.L", 9.0));
    record.add(withdraws(wrong));
    let rows = rows(&readings_csv(&record.fold()));
    assert_eq!(rows.len(), 2);
    let expected = [
        "2",
        "2026-03-02T07:32:00Z",
        "Bench A",
        "Z01.L",
        "wall_mm",
        "0.52",
        "mm",
        "0.025",
        "Gauge 1",
        "lower edge",
        "0.6",
        "Half of the wall when new",
        "",
    ];
    assert_eq!(rows[1], expected);
}

/// A reading with a text in every field that somebody types.
fn typed(text: &str) -> Record {
    let mut record = Record::new();
    let mut what = film("Z01.L", 100.0);
    if let What::Read(reading) = &mut what {
        reading.note = text.into();
        reading.place = text.into();
        reading.instrument = text.into();
        reading.limit = Some(Limit { value: 90.0, source: text.into() });
    }
    let mut event = record.next(what, None);
    event.by.name = text.into();
    record.push(&event);
    record
}

/// Spreadsheets take a cell that begins so for a formula and run it (OWASP, CSV injection, from memory).
#[test]
fn a_cell_that_a_spreadsheet_would_run_is_preceded_by_an_apostrophe() {
    for text in ["=1+1", "+1", "-1", "@A1", "\t=1", "\r=1", "\n=1", "=HYPERLINK(\"http://a.invalid\",\"b\")"] {
        let row = rows(&readings_csv(&typed(text).fold())).remove(1);
        for column in [2, 8, 9, 11, 12] {
            assert_eq!(row[column], format!("'{text}"));
        }
    }
    for text in ["a=b", "5 - 6 mm", "'quoted", ""] {
        assert_eq!(rows(&readings_csv(&typed(text).fold()))[1][12], text);
    }
}

proptest! {
    #[test]
    fn invariant_whatever_was_typed_stays_in_its_cell(text in r#"[a-z=+@,;"'\r\n\t -]{0,24}"#) {
        let rows = rows(&readings_csv(&typed(&text).fold()));
        prop_assert_eq!(rows.len(), 2);
        prop_assert_eq!(rows[1].len(), 13);
        for column in [2, 8, 9, 11, 12] {
            let cell = &rows[1][column];
            prop_assert_eq!(cell.strip_prefix('\'').unwrap_or(cell), text.strip_prefix('\'').unwrap_or(&text));
            prop_assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']));
        }
    }
}

#[test]
fn a_measurement_reads_back_as_it_was_kept() {
    for name in ["Panel A", "-3, \"dark\" flop", "=1"] {
        let mut record = Record::new();
        let what = measured(name, b"source");
        record.add(what.clone());
        record.add(clear("Z01.L"));
        let car = record.fold();
        let text = spectra_csv(&car, 2).unwrap();
        let (found, _) = paint::read("panel.csv", text.as_bytes()).unwrap();
        let What::Measured(measured) = what else { unreachable!() };
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].name.as_str(), &found[0].spectra), (name, &measured.spectra));
        assert_eq!(spectra_csv(&car, 1), None);
        assert_eq!(spectra_csv(&car, 3), None);
        assert_eq!(spectra_csv(&car, 9), None);
    }
}
