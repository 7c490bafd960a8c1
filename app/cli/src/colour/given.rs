//! What the commands on paint are given: toners, a target, a brief, a recipe, cards.

use std::fmt::Display;
use std::path::{Path, PathBuf};

use base::Warning;
use colour::recipe::Wish;
use colour::{Measurement, Mix, Shelf, WAVELENGTHS_NM};
use job::mixing::Brief;
use job::paint::{self, Found};
use job::paintwork::engine;
use job::recipe_file::{self, RecipeFile};
use job::shelf_file::{self, ShelfFile};

use crate::answer::doubt;
use crate::file;
use crate::stop::Stop;

/// How many names a message lists.
const NAMES: usize = 40;

/// The toners in a file.
///
/// # Errors
/// When it is no toner file that this program reads.
pub(super) fn shelf(path: &Path) -> Result<ShelfFile, Stop> {
    let (shelf, doubts) = shelf_file::read(&file::name(path), &file::read(path)?).map_err(Stop::input)?;
    doubt(doubts);
    Ok(shelf)
}

/// A paint that was measured, and what was doubted about it.
pub(super) struct Target {
    /// The file it came from.
    pub(super) file: String,
    /// Its name there; empty when it has none.
    pub(super) name: String,
    /// Its spectra.
    pub(super) measurement: Measurement,
    told: Vec<Warning>,
}

/// What the name of a paint begins with that colour sample took from a picture.
pub(super) const PICTURE: &str = "picture: ";

/// The measurement of a file, or the one of that name where it holds several.
///
/// # Errors
/// When the file holds no measurement, several and no name is given, or none of that name.
pub(super) fn target(path: &Path, id: Option<&str>) -> Result<Target, Stop> {
    let named = file::name(path);
    let (all, doubts) = paint::read(&named, &file::read(path)?).map_err(Stop::input)?;
    let names: Vec<&str> = all.iter().map(|found| found.name.as_str()).filter(|name| !name.is_empty()).collect();
    let has = listed(&names);
    let chosen = match (id.map(str::trim), all.as_slice()) {
        (None, [only]) => only,
        (None, _) => return Err(Stop::input(format!("--id: {named} holds several measurements; name one of {has}"))),
        (Some(id), all) => all.iter().find(|found| found.name == id).ok_or_else(|| {
            Stop::input(if names.is_empty() {
                format!("--id: \"{id}\" given, and {named} has no column target_id; leave --id out")
            } else {
                format!("--id: no measurement in {named} is called \"{id}\"; it has {has}")
            })
        })?,
    };
    // Doubts about the other measurements of the file are somebody else's.
    let other = |doubt: &Warning| names.iter().any(|n| *n != chosen.name && doubt.what.starts_with(&format!("{n}: ")));
    let told: Vec<Warning> = doubts.into_iter().filter(|doubt| !other(doubt)).collect();
    doubt(&told);
    let measurement = measurement(&named, chosen)?;
    Ok(Target { file: named, name: chosen.name.clone(), measurement, told })
}

/// The one measurement of a file that a flag names.
///
/// # Errors
/// When the file holds none, or several.
pub(super) fn only(flag: &str, path: &Path) -> Result<Target, Stop> {
    target(path, None).map_err(|stop| match stop {
        Stop::Input(why) if why.starts_with("--id: ") => {
            Stop::input(format!("{flag}: {} holds several measurements; needed: a file with one", file::name(path)))
        }
        other => other,
    })
}

/// A measurement as a table that every command reads.
pub(super) fn table(name: &str, measurement: &Measurement) -> String {
    // A name is one cell, whatever stands in it.
    let name: String = name.chars().map(|c| if c.is_control() || c == ',' || c == '"' { ' ' } else { c }).collect();
    let mut text = String::from(if name.is_empty() { "geometry" } else { "name,geometry" });
    WAVELENGTHS_NM.iter().for_each(|nm| text += &format!(",{nm}"));
    text.push('\n');
    for (geometry, spectrum) in measurement.by_angle() {
        if !name.is_empty() {
            text += &format!("{name},");
        }
        text += &geometry.to_string();
        spectrum.values().iter().for_each(|value| text += &format!(",{value}"));
        text.push('\n');
    }
    text
}

/// Up to [`NAMES`] names, and how many more there are.
fn listed(names: &[&str]) -> String {
    let shown = names.iter().take(NAMES).copied().collect::<Vec<_>>().join(", ");
    match names.len().saturating_sub(NAMES) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}

fn measurement(file: &str, found: &Found) -> Result<Measurement, Stop> {
    paint::of_spectra(file, &found.spectra).map_err(|e| Stop::input(format!("{file}: {e}")))
}

impl Target {
    /// What is wanted: this paint, changed as a brief says.
    ///
    /// # Errors
    /// When the brief is not as it should be, or asks for what this paint was not measured for.
    pub(super) fn wish(&self, brief: Option<&Path>) -> Result<Wish, Stop> {
        let (named, brief) = self.brief(brief)?;
        let wished = engine::wish(&self.measurement, &brief).map_err(|e| Stop::input(format!("{named}: {e}")))?;
        doubt(&wished.warnings);
        let mut wish = wished.wish;
        if self.is_picture() {
            doubt(["a picture is not a measurement: only its colours are wanted, its spectra are invented"]);
            wish.spectral.clear();
        }
        Ok(wish)
    }

    /// The brief of a file, or an empty one, and the name of the file that a refusal is about.
    ///
    /// # Errors
    /// When the file is no brief.
    pub(super) fn brief(&self, brief: Option<&Path>) -> Result<(String, Brief), Stop> {
        Ok(match brief {
            Some(path) => {
                let named = file::name(path);
                let (brief, doubts) = recipe_file::brief(&named, &file::read(path)?).map_err(Stop::input)?;
                doubt(doubts);
                (named, brief)
            }
            None => (self.file.clone(), Brief::default()),
        })
    }

    /// Whether it was sampled from a picture.
    pub(super) fn is_picture(&self) -> bool {
        self.name.starts_with(PICTURE.trim_end())
    }

    /// Tells doubts, but for those already told of this target.
    pub(super) fn doubt(&self, doubts: &[Warning]) {
        doubt(doubts.iter().filter(|doubt| !self.told.iter().any(|told| told.what.ends_with(&doubt.what))));
    }
}

/// The first recipe of a file, as it stands there and as a mix on the shelf.
///
/// # Errors
/// When the file holds no recipe, or the shelf lacks one of its toners or its primer.
pub(super) fn recipe(path: &Path, shelf: &Shelf) -> Result<(RecipeFile, Mix), Stop> {
    let named = file::name(path);
    let (recipes, doubts) = recipe_file::read(&named, &file::read(path)?).map_err(Stop::input)?;
    doubt(doubts);
    let first = recipes.into_iter().next().ok_or_else(|| Stop::input(format!("{named}: there is no recipe in it")))?;
    let mix = first.mix(&named, shelf).map_err(Stop::input)?;
    Ok((first, mix))
}

/// Every card in some files: a file may hold several.
///
/// # Errors
/// When one of them holds no measurement.
pub(super) fn cards(paths: &[PathBuf]) -> Result<Vec<Measurement>, Stop> {
    let mut cards = Vec::new();
    for path in paths {
        let named = file::name(path);
        let (found, doubts) = paint::read(&named, &file::read(path)?).map_err(Stop::input)?;
        doubt(doubts.iter().map(|d| format!("{named}: {d}")));
        for found in &found {
            cards.push(measurement(&named, found)?);
        }
    }
    Ok(cards)
}

/// A refusal by the engine, with the file it is about in front.
pub(super) fn about(file: &Path) -> impl Fn(&dyn Display) -> Stop {
    let named = file::name(file);
    move |why| Stop::input(format!("{named}: {why}"))
}
