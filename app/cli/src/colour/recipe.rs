//! Recipes for a paint, from the shop's own toners.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use colour::recipe::{Found, Limits, MOST_IN_RECIPE, Reach, Recipe, search};
use colour::{Geometry, Shelf};
use job::era::not_there;
use job::mixing::BINDER;
use job::paintwork::engine;
use job::recipe_file::{Predicted, RecipeFile};
use job::shelf_file::ShelfFile;
use serde::Serialize;

use super::work::watched;
use super::{era, given};
use crate::answer::{Answer, columns, doubt, row};
use crate::file;
use crate::shop::Everywhere;
use crate::stop::Stop;

/// What a recipe is wanted for, and from what.
#[derive(Debug, Args)]
pub(crate) struct Wanted {
    /// The toners, as colour calibrate writes them.
    #[arg(long, value_name = "TONERS.json")]
    toners: PathBuf,
    /// Columns [target_id,]geometry,400,410 ... 700; a perfect white is 1.
    #[arg(long, value_name = "TARGET.csv")]
    target: PathBuf,
    /// Which measurement of the file, where it holds several.
    #[arg(long, value_name = "ID")]
    id: Option<String>,
    /// What is to be other than the target, and how much each angle counts.
    #[arg(long, value_name = "BRIEF.json")]
    brief: Option<PathBuf>,
    /// The most toners in one recipe, 1 to 6.
    #[arg(long, value_name = "COUNT", default_value_t = MOST_IN_RECIPE, value_parser = toners)]
    max_toners: usize,
    /// The primer below, by its name in the toner file; auto tries them all.
    #[arg(long, value_name = "NAME", default_value = AUTO)]
    primer: String,
    /// A toner that is not to be used, by its name; may be given again.
    #[arg(long, value_name = "TONER")]
    out_of_stock: Vec<String>,
    /// Leave out toners that were not there on cars of this year, as far as the catalogue knows.
    #[arg(long, value_name = "YEAR", value_parser = era::year())]
    there_in: Option<u16>,
    /// A file to write the recipes to as well.
    #[arg(long, value_name = "RECIPE.json")]
    out: Option<PathBuf>,
}

/// The word for any primer.
pub(super) const AUTO: &str = "auto";

pub(super) fn toners(text: &str) -> Result<usize, String> {
    let count = text.parse().ok().filter(|count| (1..=MOST_IN_RECIPE).contains(count));
    count.ok_or_else(|| format!("a whole number from 1 to {MOST_IN_RECIPE} is needed"))
}

/// Searches for recipes.
///
/// # Errors
/// When something given is not as it should be, or no toner is left to use.
pub(super) fn recipes(wanted: &Wanted, everywhere: &Everywhere) -> Result<Recipes, Stop> {
    if let Some(out) = &wanted.out {
        file::writable(out)?;
    }
    let on_file = given::shelf(&wanted.toners)?;
    let shelf = &on_file.shelf;
    let target = given::target(&wanted.target, wanted.id.as_deref())?;
    let wish = target.wish(wanted.brief.as_deref())?;
    let limits = Limits {
        max_toners: wanted.max_toners,
        substrates: primers(shelf, &wanted.primer, &wanted.toners)?,
        out_of_stock: missing(&on_file, &wanted.out_of_stock, wanted.there_in, &wanted.toners, everywhere)?,
        ..Limits::usual(shelf)
    };
    let found = watched("looking for recipes", |watch| search(shelf, &wish, &limits, watch))?;
    let found = found.map_err(|e| given::about(wanted.brief.as_deref().unwrap_or(&wanted.target))(&e))?;
    if found.recipes.is_empty() {
        return Err(Stop::failed("stopped before there was any recipe"));
    }
    target.doubt(&found.warnings);
    let recipes = Recipes::of(shelf, &found, target.name);
    if let Some(out) = &wanted.out {
        let mut text = serde_json::to_vec_pretty(&recipes).map_err(Stop::failed)?;
        text.push(b'\n');
        file::write(out, &text)?;
    }
    Ok(recipes)
}

/// The places of the primers that may lie below.
pub(super) fn primers(shelf: &Shelf, name: &str, file: &Path) -> Result<Vec<usize>, Stop> {
    if name == AUTO {
        return Ok((0..shelf.substrates().len()).collect());
    }
    let names: Vec<&str> = shelf.substrates().iter().map(|primer| primer.name.as_str()).collect();
    let place = shelf.substrate(name);
    let (file, names) = (file::name(file), names.join(", "));
    place.map(|place| vec![place]).ok_or_else(|| {
        Stop::input(format!("--primer: \"{name}\" is not in {file}; it has {names}, and auto tries them all"))
    })
}

/// The places of the toners that may not be used: those out of stock, and those that were not there in a year.
pub(super) fn missing(
    on_file: &ShelfFile,
    names: &[String],
    there_in: Option<u16>,
    file: &Path,
    everywhere: &Everywhere,
) -> Result<Vec<usize>, Stop> {
    let shelf = &on_file.shelf;
    let mut places = Vec::new();
    for name in names {
        places.push(shelf.toner(name).ok_or_else(|| {
            let known: Vec<&str> = shelf.toners().iter().map(|toner| toner.name.as_str()).collect();
            let (file, known) = (file::name(file), known.join(", "));
            Stop::input(format!("--out-of-stock: \"{name}\" is not in {file}; it has {known}"))
        })?);
    }
    if let Some(year) = there_in {
        let later = not_there(&everywhere.catalogue()?, on_file, year);
        if !later.is_empty() {
            let names: Vec<&str> = later.iter().map(|toner| toner.name.as_str()).collect();
            doubt([format!("not there in {year} and left out: {}", names.join(", "))]);
        }
        places.extend(
            later.into_iter().map(|toner| toner.toner).filter(|place| !places.contains(place)).collect::<Vec<_>>(),
        );
    }
    Ok(places)
}

/// Recipes, best first.
#[derive(Debug, Serialize)]
pub(crate) struct Recipes {
    recipes: Vec<Told>,
    reachable: Reachable,
    stopped: bool,
    evaluations: u64,
    #[serde(skip)]
    target: String,
}

#[derive(Debug, Serialize)]
struct Reachable {
    verdict: &'static str,
    misses: Vec<Missed>,
}

#[derive(Debug, Serialize)]
struct Missed {
    angle: String,
    de00: f64,
    words: String,
}

impl Recipes {
    /// What a search found, named by what it was for.
    pub(crate) fn of(shelf: &Shelf, found: &Found, target: String) -> Self {
        let (verdict, misses) = match &found.reachable {
            Reach::Within => ("within reach", &[][..]),
            Reach::Near { misses } => ("nearly within reach", misses.as_slice()),
            Reach::NotReachable { misses } => ("not reachable with these toners", misses.as_slice()),
        };
        let misses = misses.iter().map(|miss| Missed {
            angle: miss.geometry.aspecular_deg().to_string(),
            de00: miss.de00,
            words: miss.missing.clone(),
        });
        Self {
            recipes: found.recipes.iter().map(|recipe| Told::of(shelf, recipe)).collect(),
            reachable: Reachable { verdict, misses: misses.collect() },
            stopped: found.stopped,
            evaluations: found.evaluations,
            target,
        }
    }
}

/// One recipe: what a recipe file holds, and what the engine knows besides.
#[derive(Debug, Serialize)]
pub(super) struct Told {
    #[serde(flatten)]
    recipe: RecipeFile,
    predicted: TellPredicted,
    load: f64,
    metamerism: BTreeMap<&'static str, f64>,
    hiding: Hides,
    sensitivity: Vec<Slip>,
}

/// CIEDE2000 by the angle's degrees, as a recipe file holds it, and under the other two lights.
#[derive(Debug, Serialize)]
struct TellPredicted {
    #[serde(flatten)]
    d65: Predicted,
    lights: BTreeMap<&'static str, BTreeMap<String, f64>>,
}

#[derive(Debug, Serialize)]
struct Hides {
    hides: bool,
    de00_max: f64,
    contrast_ratio: f64,
}

#[derive(Debug, Serialize)]
struct Slip {
    what: String,
    de00: f64,
}

impl Told {
    pub(super) fn of(shelf: &Shelf, recipe: &Recipe) -> Self {
        let mut on_file = engine::found(shelf, recipe);
        let d65 = on_file.predicted.take().unwrap_or(Predicted { mean_de00: recipe.fit.mean_de00, by_angle: vec![] });
        let angle = |geometry: &Geometry| geometry.aspecular_deg().to_string();
        let under = |pick: fn(&[f64; 3]) -> f64| {
            recipe.fit.by_angle.iter().map(|(geometry, by_light)| (angle(geometry), pick(by_light))).collect()
        };
        let [to_a, to_fl11] = recipe.metamerism;
        let hiding = recipe.hiding;
        Self {
            recipe: on_file,
            predicted: TellPredicted {
                d65,
                lights: BTreeMap::from([("A", under(|[_, a, _]| *a)), ("FL11", under(|[_, _, fl11]| *fl11))]),
            },
            load: recipe.load,
            metamerism: BTreeMap::from([("A", to_a), ("FL11", to_fl11)]),
            hiding: Hides { hides: hiding.hides(), de00_max: hiding.de00_max, contrast_ratio: hiding.contrast_ratio },
            sensitivity: recipe.sensitivity.iter().map(|s| Slip { what: s.what.clone(), de00: s.de00 }).collect(),
        }
    }

    /// Writes it for people, under a heading.
    pub(super) fn write(&self, out: &mut dyn Write, heading: &str) -> io::Result<()> {
        let file = &self.recipe;
        let coats = file.coats.map_or_else(String::new, |coats| format!(" in {coats} coats"));
        writeln!(
            out,
            "{heading}: mean dE00 {:.2}; {:.1} um{coats} over {}",
            self.predicted.d65.mean_de00, file.dft_um, file.primer
        )?;
        let percent = |fraction: f64| format!("{:.3}", fraction * 100.0);
        let mut rows = vec![row!["toner", "% of the dry film"]];
        rows.extend(file.fractions.iter().map(|(toner, fraction)| row![toner, percent(*fraction)]));
        rows.push(row![BINDER, percent(1.0 - self.load)]);
        columns(out, &rows)?;
        let mut rows = vec![row!["angle", "dE00 D65", "A", "FL11"]];
        for (geometry, d65) in &self.predicted.d65.by_angle {
            let angle = geometry.aspecular_deg().to_string();
            let under = |light| self.predicted.lights.get(light).and_then(|by| by.get(&angle)).copied();
            let cell = |de00: Option<f64>| de00.map_or_else(String::new, |de00| format!("{de00:.2}"));
            rows.push(row![geometry, format!("{d65:.2}"), cell(under("A")), cell(under("FL11"))]);
        }
        columns(out, &rows)?;
        let hides = if self.hiding.hides { "hides" } else { "does not hide" };
        let at = |light| self.metamerism.get(light).copied().unwrap_or(0.0);
        writeln!(
            out,
            "{hides} (contrast ratio {:.3}, one coat more {:.2}); metamerism {:.2} to lamp A, {:.2} to FL11",
            self.hiding.contrast_ratio,
            self.hiding.de00_max,
            at("A"),
            at("FL11")
        )?;
        let slips: Vec<String> = self.sensitivity.iter().map(|s| format!("{} {:.2}", s.what, s.de00)).collect();
        writeln!(out, "dE00 of slips: {}", slips.join("; "))
    }
}

impl Answer for Recipes {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let what = if self.target.is_empty() { String::new() } else { format!(" for {}", self.target) };
        writeln!(out, "{}{what}", self.reachable.verdict)?;
        for miss in &self.reachable.misses {
            writeln!(out, "  {}: {:.1}, {}", miss.angle, miss.de00, miss.words)?;
        }
        for (number, recipe) in (1..).zip(&self.recipes) {
            writeln!(out)?;
            recipe.write(out, &format!("recipe {number}"))?;
        }
        Ok(())
    }
}
