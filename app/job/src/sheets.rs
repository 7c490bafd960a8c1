//! The record's facts as plain tables, for other programs.
//!
//! Spreadsheets run a cell that begins with `=`, `+`, `-` or `@` as a formula, and anybody may type such a
//! note. In the tables that are never read back, a typed cell of that kind is preceded by an apostrophe.
//! [`spectra_csv`] is read back, so its cells stay as they were typed.

use crate::car::Car;
use crate::validate::{instances, zone_of};
use crate::what::What;

fn table(rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        // Writing rows of one length into memory cannot fail.
        let _ = writer.write_record(&row);
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

fn row(cells: &[&str]) -> Vec<String> {
    cells.iter().map(|cell| (*cell).to_string()).collect()
}

/// What somebody typed, so that no spreadsheet takes it for a formula. A tab or line end before the sign is
/// skipped by some of them, so a cell that begins with one is kept from running as well.
fn typed(text: &str) -> String {
    let runs = text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']);
    format!("{}{text}", if runs { "'" } else { "" })
}

/// Every zone of the car with its state.
pub fn zones_csv(car: &Car) -> String {
    let head = row(&["instance", "zone", "name", "side", "state", "opened", "entries"]);
    table(std::iter::once(head).chain(instances(&car.details).into_iter().map(|instance| {
        let zone = car.zone(&instance.id);
        vec![
            instance.id.clone(),
            zone_of(&instance.id).to_string(),
            instance.label.clone(),
            instance.position.to_string(),
            car.state(&instance.id).words().to_string(),
            if zone.is_some_and(|z| z.opened) { "yes" } else { "no" }.to_string(),
            zone.map_or(0, |z| z.entries.len()).to_string(),
        ]
    })))
}

/// Every reading that still counts, with its instrument, precision and limit.
pub fn readings_csv(car: &Car) -> String {
    let head = row(&[
        "entry",
        "when",
        "who",
        "instance",
        "quantity",
        "value",
        "unit",
        "good_to",
        "instrument",
        "place",
        "limit",
        "limit_source",
        "note",
    ]);
    table(std::iter::once(head).chain(car.readings().map(|(entry, reading)| {
        vec![
            entry.seq.to_string(),
            entry.when().to_string(),
            typed(&entry.by.name),
            typed(&reading.zone),
            reading.quantity.key().to_string(),
            reading.value.to_string(),
            reading.quantity.unit().to_string(),
            format!("{:.3}", reading.good_to()),
            typed(&reading.instrument),
            typed(&reading.place),
            reading.limit.as_ref().map(|l| l.value.to_string()).unwrap_or_default(),
            reading.limit.as_ref().map(|l| typed(&l.source)).unwrap_or_default(),
            typed(&reading.note),
        ]
    })))
}

/// The spectra of a measured paint, of a sprayed card or of a recipe as predicted, in the columns in which
/// they are read back.
pub fn spectra_csv(car: &Car, seq: u64) -> Option<String> {
    let (name, spectra) = match &car.entry(seq)?.what {
        What::Measured(measured) => (&measured.name, &measured.spectra),
        What::Carded(card) => (&card.name, &card.spectra),
        What::Formulated(recipe) => (&recipe.name, &recipe.predicted),
        _ => return None,
    };
    let head = ["id", "geometry"].into_iter().map(String::from).chain((0..31).map(|i| (400 + 10 * i).to_string()));
    Some(table(std::iter::once(head.collect()).chain(spectra.iter().map(|spectrum| {
        [name.clone(), spectrum.geometry.clone()]
            .into_iter()
            .chain(spectrum.values.iter().map(|v| v.to_string()))
            .collect()
    }))))
}
