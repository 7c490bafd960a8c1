//! Toners learned again: the panels of their shelf, and the cards that were sprayed with them since.

use colour::{CalibrateError, Panel, Panels, Part};
use jiff::tz::TimeZone;

use super::{cards, engine, recipe_of};
use crate::car::{Car, Entry};
use crate::mixing::{Carded, Formulated};

/// The toners and primers of a shelf by name, in its order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Names<'a> {
    /// Its toners.
    pub toners: Vec<&'a str>,
    /// Its primers.
    pub primers: Vec<&'a str>,
}

impl<'a> Names<'a> {
    /// The names that panels are told by.
    pub fn of_panels(panels: &'a Panels) -> Self {
        Self {
            toners: panels.toners().iter().map(|toner| toner.name.as_str()).collect(),
            primers: panels.substrates().iter().map(|primer| primer.name.as_str()).collect(),
        }
    }

    /// The names on a shelf.
    pub fn of_shelf(shelf: &'a colour::Shelf) -> Self {
        Self {
            toners: shelf.toners().iter().map(|toner| toner.name.as_str()).collect(),
            primers: shelf.substrates().iter().map(|primer| primer.name.as_str()).collect(),
        }
    }
}

/// The cards of a car that teach something about these toners, each as a panel "card of" its day in `zone`, with
/// the name on its back.
///
/// Its toners are those of the recipe, its film is what the gauge read, else the recipe's. A card is left out
/// whose recipe was taken out of the record, or has a toner or a primer that is not among these, or whose
/// spectra the engine does not take.
pub fn sprayed(car: &Car, names: &Names<'_>, zone: &TimeZone) -> Vec<Panel> {
    let panel = |(entry, card): (&Entry, &Carded)| {
        let (_, recipe) = recipe_of(car, card.recipe)?;
        let day = entry.when().to_zoned(zone.clone()).strftime("%-d %b %Y").to_string();
        Some(Panel {
            name: format!("card of {day}, {}", card.name),
            parts: parts(recipe, names)?,
            film_um: card.film_um.unwrap_or(recipe.film_um),
            substrate: names.primers.iter().position(|name| *name == recipe.primer)?,
            measured: engine::carded(card).ok()?,
        })
    };
    cards(car).into_iter().filter_map(panel).collect()
}

fn parts(recipe: &Formulated, names: &Names<'_>) -> Option<Vec<Part>> {
    let part = |part: &crate::mixing::RecipePart| {
        let toner = names.toners.iter().position(|name| *name == part.toner)?;
        Some(Part { toner, fraction: part.fraction })
    };
    recipe.parts.iter().map(part).collect()
}

/// The panels that a shelf was learned from, with the cards of a car that teach something about its toners
/// behind them.
///
/// # Errors
/// When together they are more than are learned from at once.
pub fn with_cards(car: &Car, panels: &Panels, zone: &TimeZone) -> Result<Panels, CalibrateError> {
    let cards = sprayed(car, &Names::of_panels(panels), zone);
    let all = panels.panels().iter().cloned().chain(cards).collect();
    Panels::new(panels.toners().to_vec(), panels.substrates().to_vec(), all)
}
