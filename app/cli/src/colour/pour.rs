//! A recipe weighed out, and a pot brought back to it.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use colour::pour::{Amount, Grams, InPot, Order, PourError, Remedy, Step, remedy, steps};
use colour::{Mix, Shelf};
use job::mixing::BINDER;
use job::paintwork::engine;
use job::table::{Limits, Table};
use serde::Serialize;

use super::given;
use crate::answer::{Answer, columns, doubt, row};
use crate::file;
use crate::stop::Stop;

/// What is to be weighed out.
#[derive(Debug, Args)]
pub(crate) struct Wanted {
    /// The recipe; of several in the file the first.
    #[arg(value_name = "RECIPE.json")]
    recipe: PathBuf,
    /// The toners, as colour calibrate writes them.
    #[arg(long, value_name = "TONERS.json")]
    toners: PathBuf,
    /// How much, in g: 1 to 100000.
    #[arg(long, value_name = "G", allow_negative_numbers = true, required_unless_present = "litres")]
    mass_g: Option<f64>,
    /// How much, in litres as it stands in the pot, unthinned; in place of a mass.
    #[arg(long, value_name = "LITRES", allow_negative_numbers = true, conflicts_with = "mass_g")]
    litres: Option<f64>,
    /// The scale's step, in g: 0.001 to 1000.
    #[arg(long, value_name = "G", allow_negative_numbers = true)]
    scale_g: f64,
    /// The least of a toner that is worth weighing, in g; less is doubtful.
    #[arg(long, value_name = "G", default_value_t = 0.0, allow_negative_numbers = true)]
    smallest_dose_g: f64,
    /// What is really in the pot, when something went wrong: columns toner,grams.
    #[arg(long, value_name = "POURED.csv")]
    poured: Option<PathBuf>,
    /// The most the pot may hold in the end, in g; twice what is wanted when it is left out.
    #[arg(long, value_name = "G", allow_negative_numbers = true, requires = "poured")]
    pot_holds_g: Option<f64>,
}

/// How much a pot may grow by what brings it back, where nobody says how large it is.
const GROWTH: f64 = 2.0;

/// Weighs a recipe out, or says what brings a pot back to it.
///
/// # Errors
/// When something given is not as it should be, or the scale cannot show a dose.
pub(super) fn weighed_out(wanted: &Wanted) -> Result<Weighed, Stop> {
    let on_file = given::shelf(&wanted.toners)?;
    let shelf = &on_file.shelf;
    let (_, mix) = given::recipe(&wanted.recipe, shelf)?;
    let amount = wanted.litres.map_or(Amount::Grams(wanted.mass_g.unwrap_or(0.0)), Amount::Litres);
    let order = Order { amount, scale_g: wanted.scale_g, smallest_dose_g: wanted.smallest_dose_g };
    let refuse = |e: PourError| {
        let (amount, file) = match &e {
            PourError::Mass { .. } if wanted.litres.is_some() => ("--litres", None),
            PourError::Mass { .. } => ("--mass-g", None),
            PourError::Scale { .. } | PourError::Dose { .. } => ("--scale-g", None),
            PourError::SmallestDose { .. } => ("--smallest-dose-g", None),
            PourError::Limit { .. } => ("--pot-holds-g", None),
            PourError::Grams { .. } | PourError::Empty => ("", wanted.poured.as_deref()),
            PourError::Parts { .. }
            | PourError::Twice { .. }
            | PourError::Load { .. }
            | PourError::Film { .. }
            | PourError::Recipe(_) => ("", Some(wanted.recipe.as_path())),
        };
        file.map_or_else(|| Stop::input(format!("{amount}: {e}")), |file| given::about(file)(&e))
    };
    let pour = steps(shelf, &mix, &order).map_err(refuse)?;
    doubt(&pour.warnings);
    let fresh = Weighed {
        steps: told(shelf, &pour.steps),
        predicted_shift_de00: pour.shift.mean_de00,
        litres: pour.litres,
        remedy: None,
    };
    let Some(path) = &wanted.poured else { return Ok(fresh) };
    let poured_g = in_pot(path, shelf)?;
    // What stands in the file is in the pot; the rest of the pour is still to come.
    let to_come: Vec<&Step> =
        pour.steps.iter().filter(|step| poured_g.iter().all(|(toner, _)| *toner != step.toner)).collect();
    let to_come_g: Vec<Grams> = to_come.iter().map(|step| (step.toner, step.add_g)).collect();
    let held_g: f64 = poured_g.iter().map(|(_, grams)| grams).sum();
    let limit_g = wanted.pot_holds_g.unwrap_or((GROWTH * pour.wanted_g).max(held_g));
    let pot = InPot { poured_g: &poured_g, to_come_g: &to_come_g, scale_g: wanted.scale_g, limit_g };
    Ok(match remedy(shelf, &mix, &pot).map_err(refuse)? {
        Remedy::Fine { shift } => {
            let mut total_g = held_g;
            let steps = to_come.into_iter().map(|step| {
                total_g += step.add_g;
                Step { total_g, ..*step }
            });
            let steps: Vec<Step> = steps.collect();
            let cure =
                Cure { what: "fine", why: "nobody sees it: go on as planned".into(), before_de00: shift.mean_de00 };
            Weighed { steps: told(shelf, &steps), predicted_shift_de00: shift.mean_de00, remedy: Some(cure), ..fresh }
        }
        Remedy::Add { steps, total_g, exact, before, after } => {
            let back = if exact { "to the recipe, but for the scale's step" } else { "as near as nobody sees" };
            let why = format!("brings it back {back}; {total_g:.1} g are in the pot then");
            Weighed {
                steps: told(shelf, &steps),
                predicted_shift_de00: after.mean_de00,
                remedy: Some(Cure { what: "add", why, before_de00: before.mean_de00 }),
                ..fresh
            }
        }
        Remedy::StartAgain { why, shift } => {
            Weighed { remedy: Some(Cure { what: "start again", why, before_de00: shift.mean_de00 }), ..fresh }
        }
    })
}

/// Grams in the pot, by toner.
fn in_pot(path: &Path, shelf: &Shelf) -> Result<Vec<Grams>, Stop> {
    let table = Table::read(&file::name(path), &file::read(path)?, &Limits::USUAL).map_err(Stop::input)?;
    let toner = table.column("toner").map_err(Stop::input)?;
    let named = GRAMS.into_iter().find(|name| table.optional_column(name).is_some()).unwrap_or("grams");
    let grams = table.column(named).map_err(Stop::input)?;
    doubt(table.warnings());
    doubt(table.unknown_columns(&["toner", named]));
    let mut pot = Vec::new();
    for row in table.rows() {
        let name = row.text(&toner).map_err(Stop::input)?;
        let place = if name == BINDER { None } else { Some(shelf.toner(name)) };
        let place = match place {
            Some(None) => {
                let known: Vec<&str> = shelf.toners().iter().map(|toner| toner.name.as_str()).collect();
                return Err(Stop::input(row.refuse(&toner, format!("{BINDER} or one of {}", known.join(", ")))));
            }
            Some(found) => found,
            None => None,
        };
        pot.push((place, row.f64(&grams, 0.0..=100_000.0).map_err(Stop::input)?));
    }
    Ok(pot)
}

/// Names of the column of grams.
const GRAMS: [&str; 6] = ["grams", "g", "poured_g", "mass_g", "add_g", "in_pot_g"];

/// A pour, or what is still to be poured.
#[derive(Debug, Serialize)]
pub(super) struct Weighed {
    steps: Vec<Told>,
    predicted_shift_de00: f64,
    litres: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    remedy: Option<Cure>,
}

#[derive(Debug, Serialize)]
struct Told {
    toner: String,
    add_g: f64,
    total_g: f64,
    exact_g: f64,
}

/// What becomes of a pot that something went wrong with.
#[derive(Debug, Serialize)]
struct Cure {
    what: &'static str,
    why: String,
    before_de00: f64,
}

fn told(shelf: &Shelf, steps: &[Step]) -> Vec<Told> {
    let told = |step: &Step| Told {
        toner: engine::step(shelf, step.toner, step.add_g).toner,
        add_g: step.add_g,
        total_g: step.total_g,
        exact_g: step.exact_g,
    };
    steps.iter().map(told).collect()
}

impl Answer for Weighed {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        if let Some(cure) = &self.remedy {
            writeln!(out, "{}: {} (without it {:.2} off the recipe)", cure.what, cure.why, cure.before_de00)?;
        }
        let mut rows = vec![row!["toner", "add, g", "scale shows, g"]];
        let grams = |g: f64| format!("{:.decimals$}", g, decimals = self.decimals());
        rows.extend(self.steps.iter().map(|step| row![step.toner, grams(step.add_g), grams(step.total_g)]));
        columns(out, &rows)?;
        let litres = self.litres;
        writeln!(out, "{litres:.3} litres unthinned; rounding moves the colour by {:.2}", self.predicted_shift_de00)
    }
}

impl Weighed {
    /// As many decimals as the doses have, up to three.
    fn decimals(&self) -> usize {
        let whole = |factor: f64| {
            let off = |g: f64| (g * factor - (g * factor).round()).abs() < 1e-6;
            self.steps.iter().all(|step| off(step.add_g) && off(step.total_g))
        };
        [1.0, 10.0, 100.0].into_iter().position(whole).unwrap_or(3)
    }
}

/// What was weighed out of a mix for a record: doses by toner, and what rounding them does to the colour.
///
/// # Errors
/// As [`steps`].
pub(crate) fn doses(shelf: &Shelf, mix: &Mix, mass_g: f64, scale_g: f64) -> Result<(Vec<Grams>, f64), PourError> {
    let order = Order { amount: Amount::Grams(mass_g), scale_g, smallest_dose_g: 0.0 };
    let pour = steps(shelf, mix, &order)?;
    Ok((pour.steps.iter().map(|step| (step.toner, step.add_g)).collect(), pour.shift.mean_de00))
}
