//! A recipe beside the year of a car: what was not there then, and what softens that.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::PathBuf;

use clap::Args;
use colour::Bench;
use job::catalogue::Catalogue;
use job::era::{self, Was};
use job::paint;
use job::paintwork::engine;
use serde::Serialize;

use super::given;
use crate::answer::{Answer, columns, row};
use crate::file;
use crate::stop::Stop;

/// The years a car can be of, as in the record.
const YEARS: std::ops::RangeInclusive<i64> = 1920..=2010;

/// A recipe and a year.
#[derive(Debug, Args)]
pub(crate) struct Wanted {
    /// The recipe; of several in the file the first.
    #[arg(value_name = "RECIPE.json")]
    recipe: PathBuf,
    /// The toners, as colour calibrate writes them.
    #[arg(long, value_name = "TONERS.json")]
    toners: PathBuf,
    /// The car's year, 1920 to 2010.
    #[arg(long, value_name = "YEAR", value_parser = year())]
    year: u16,
}

/// A parser for a car's year.
pub(super) fn year() -> impl clap::builder::TypedValueParser<Value = u16> {
    clap::value_parser!(u16).range(YEARS)
}

/// Judges the recipe.
///
/// # Errors
/// When a file is not as it should be.
pub(super) fn judged(wanted: &Wanted, catalogue: &Catalogue) -> Result<Judged, Stop> {
    let on_file = given::shelf(&wanted.toners)?;
    let (_, mix) = given::recipe(&wanted.recipe, &on_file.shelf)?;
    let predicted = engine::spectra(&Bench::new(&on_file.shelf).predict(&mix));
    let predicted = paint::of_spectra(&file::name(&wanted.recipe), &predicted).map_err(Stop::input)?;
    let found = era::judge(catalogue, &on_file, &mix.parts, &predicted, wanted.year);
    let note = |note: &era::Note| {
        let (was, about) = match note.what {
            Was::NotYet(from) => ("not yet", Some(from)),
            Was::Rare(wide) => ("rare", Some(wide)),
            Was::Gone(to) => ("gone", Some(to)),
            Was::There => ("there", None),
        };
        Told {
            id: note.id.clone(),
            item: note.item.clone(),
            was,
            about,
            toners: note.toners.clone(),
            words: note.words.clone(),
            softened_by: note.softened_by.clone(),
            basis: note.basis.clone(),
            confidence: note.confidence.words(),
        }
    };
    let missing = era::not_there(catalogue, &on_file, wanted.year);
    Ok(Judged {
        year: found.year,
        words: found.words(),
        notes: found.notes.iter().map(note).collect(),
        unknown: found.unknown.clone(),
        undated: found.undated.iter().map(|(toner, pigment)| (toner.clone(), pigment.to_string())).collect(),
        look: Look {
            flop_index: found.look.flop_index,
            face_chroma: found.look.face_chroma,
            hue_travel_deg: found.look.hue_travel_deg,
            words: found.look.words.clone(),
        },
        not_there: missing.into_iter().map(|toner| toner.name).collect(),
    })
}

/// What the catalogue says of a recipe in a year.
#[derive(Debug, Serialize)]
pub(super) struct Judged {
    year: u16,
    words: String,
    notes: Vec<Told>,
    unknown: Vec<String>,
    undated: BTreeMap<String, String>,
    look: Look,
    not_there: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Told {
    id: String,
    item: String,
    was: &'static str,
    about: Option<u16>,
    toners: Vec<String>,
    words: String,
    softened_by: String,
    basis: String,
    confidence: &'static str,
}

#[derive(Debug, Serialize)]
struct Look {
    flop_index: Option<f64>,
    face_chroma: Option<f64>,
    hue_travel_deg: Option<f64>,
    words: Option<String>,
}

impl Answer for Judged {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{}\nAdvice, never a refusal.\n", self.words)?;
        let mut rows = vec![row!["row", "was", "about", "what", "of", "confidence"]];
        rows.extend(self.notes.iter().map(|note| {
            let about = note.about.map(|year| year.to_string()).unwrap_or_default();
            row![note.id, note.was, about, note.item, note.toners.join(", "), note.confidence]
        }));
        columns(out, &rows)?;
        for note in self.notes.iter().filter(|note| !note.softened_by.is_empty()) {
            writeln!(out, "{}: softened by {}", note.id, note.softened_by)?;
        }
        if !self.not_there.is_empty() {
            writeln!(out, "of these toners none was there in {}: {}", self.year, self.not_there.join(", "))?;
        }
        Ok(())
    }
}
