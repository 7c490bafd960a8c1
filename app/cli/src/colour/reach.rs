//! How near a set of toners comes to a wish while more and more of it is asked for.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::PathBuf;

use clap::Args;
use colour::Shelf;
use colour::recipe::{Ask, Curve, Limits, Line, MOST_IN_RECIPE, Point, curve};
use job::paintwork::engine;
use job::recipe_file::RecipeFile;
use serde::Serialize;

use super::recipe::{AUTO, Recipes, missing, primers, toners};
use super::work::watched;
use super::{era, given};
use crate::answer::{Answer, columns, doubt};
use crate::file;
use crate::shop::Everywhere;
use crate::stop::Stop;

/// What is wished for, and from what it is to be mixed.
#[derive(Debug, Args)]
pub(crate) struct Wanted {
    /// The toners, as colour calibrate writes them.
    #[arg(long, value_name = "TONERS.json")]
    toners: PathBuf,
    /// The paint the wish starts from: columns [target_id,]geometry,400,410 ... 700; a perfect white is 1.
    #[arg(long, value_name = "DONOR.csv")]
    target: PathBuf,
    /// Which measurement of the file, where it holds several.
    #[arg(long, value_name = "ID")]
    id: Option<String>,
    /// The wish, as colour brief writes it.
    #[arg(long, value_name = "BRIEF.json")]
    brief: PathBuf,
    /// The most toners of each line of the curve, rising, 1 to 6.
    #[arg(long, value_name = "COUNTS", value_delimiter = ',', default_values_t = [2, 3, 4, 6], value_parser = toners)]
    sizes: Vec<usize>,
    /// The most toners in one recipe, 1 to 6; sizes over it are held to it.
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
    /// A file to write the answer to as well; its recipes are read as those of colour recipe are.
    #[arg(long, value_name = "REACH.json")]
    out: Option<PathBuf>,
}

/// Works out the curve.
///
/// # Errors
/// When something given is not as it should be, or no toner is left to use.
pub(super) fn reached(wanted: &Wanted, everywhere: &Everywhere) -> Result<Reached, Stop> {
    if let Some(out) = &wanted.out {
        file::writable(out)?;
    }
    if !wanted.sizes.is_sorted_by(|one, other| one < other) {
        let sizes = wanted.sizes.iter().map(usize::to_string).collect::<Vec<_>>().join(",");
        return Err(Stop::input(format!("--sizes: {sizes} do not rise; write them as 2,3,4,6")));
    }
    let on_file = given::shelf(&wanted.toners)?;
    let shelf = &on_file.shelf;
    let target = given::target(&wanted.target, wanted.id.as_deref())?;
    // Refuses what cannot be, and tells what is doubtful.
    let refuse = given::about(&wanted.brief);
    let (_, brief) = target.brief(Some(&wanted.brief))?;
    let wished = engine::wish(&target.measurement, &brief).map_err(|e| refuse(&e))?;
    doubt(&wished.warnings);
    let wish = wished.wish;
    let edits = engine::edits(&brief.edits).map_err(|e| refuse(&e))?;
    let limits = Limits {
        max_toners: wanted.max_toners,
        substrates: primers(shelf, &wanted.primer, &wanted.toners)?,
        out_of_stock: missing(&on_file, &wanted.out_of_stock, wanted.there_in, &wanted.toners, everywhere)?,
        ..Limits::usual(shelf)
    };
    let ask = Ask {
        donor: &target.measurement,
        edits: &edits,
        weights: Some(&wish.weights),
        sizes: &wanted.sizes,
        by_colour: target.is_picture(),
    };
    let found = watched("looking how near", |watch| curve(shelf, &ask, &limits, watch))?.map_err(|e| refuse(&e))?;
    target.doubt(&found.found.warnings);
    let reached = Reached::of(shelf, &found, target.name);
    if let Some(out) = &wanted.out {
        let mut text = serde_json::to_vec_pretty(&reached).map_err(Stop::failed)?;
        text.push(b'\n');
        file::write(out, &text)?;
    }
    Ok(reached)
}

/// The curve, and the recipes for the whole wish.
#[derive(Debug, Serialize)]
pub(crate) struct Reached {
    lines: Vec<Told>,
    #[serde(flatten)]
    recipes: Recipes,
    warnings: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Told {
    most: usize,
    points: Vec<At>,
}

#[derive(Debug, Serialize)]
struct At {
    part: f64,
    mean_de00: f64,
    weighted_de00: f64,
    worst_de00: f64,
    worst_at: i16,
    by_angle: BTreeMap<String, f64>,
    recipe: RecipeFile,
}

impl Reached {
    fn of(shelf: &Shelf, curve: &Curve, target: String) -> Self {
        let at = |point: &Point| At {
            part: point.part,
            mean_de00: point.mean_de00,
            weighted_de00: point.weighted_de00,
            worst_de00: point.worst_de00,
            worst_at: point.worst_at.aspecular_deg(),
            by_angle: point.by_angle.iter().map(|(g, de00)| (g.aspecular_deg().to_string(), *de00)).collect(),
            recipe: RecipeFile::of(shelf, &point.mix, None, None),
        };
        let line = |line: &Line| Told { most: line.most, points: line.points.iter().map(at).collect() };
        Self {
            lines: curve.lines.iter().map(line).collect(),
            recipes: Recipes::of(shelf, &curve.found, target),
            warnings: curve.found.warnings.iter().map(ToString::to_string).collect(),
        }
    }
}

impl Answer for Reached {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "mean dE00, by the angles' weights, of the nearest mix to a part of the wish")?;
        let parts: Vec<f64> = self.lines.iter().flat_map(|line| &line.points).map(|point| point.part).collect();
        let mut known: Vec<f64> = Vec::new();
        parts.iter().for_each(|part| {
            if !known.contains(part) {
                known.push(*part)
            }
        });
        let heading = known.iter().map(|part| format!("{:.0} %", part * 100.0));
        let mut rows = vec![std::iter::once("toners".to_owned()).chain(heading).chain(["worst at".into()]).collect()];
        for line in &self.lines {
            let cell = |part: &f64| {
                let point = line.points.iter().find(|point| point.part == *part);
                point.map_or_else(String::new, |point| format!("{:.2}", point.weighted_de00))
            };
            let worst = line
                .points
                .last()
                .map_or_else(String::new, |point| format!("{:.1} at {}", point.worst_de00, point.worst_at));
            let most = format!("up to {}", line.most);
            rows.push(std::iter::once(most).chain(known.iter().map(cell)).chain([worst]).collect());
        }
        columns(out, &rows)?;
        writeln!(out)?;
        self.recipes.table(out)
    }
}
