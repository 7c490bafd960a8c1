//! A recipe corrected from its sprayed cards.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::Args;
use colour::card::{CardError, Sprayed};
use colour::recipe::{FLAKE_COAT_UM, Limits, SOLID_COAT_UM};
use colour::{Mix, Shelf};
use job::mixing::BINDER;
use serde::Serialize;
use serde::ser::SerializeMap;

use super::given;
use super::recipe::Told;
use crate::answer::{Answer, columns, row};
use crate::stop::Stop;

/// What was sprayed, and what for.
#[derive(Debug, Args)]
pub(crate) struct Wanted {
    /// The toners, as colour calibrate writes them.
    #[arg(long, value_name = "TONERS.json")]
    toners: PathBuf,
    /// The recipe that was sprayed; of several in the file the first.
    #[arg(long, value_name = "RECIPE.json")]
    recipe: PathBuf,
    /// Columns [target_id,]geometry,400,410 ... 700; a perfect white is 1.
    #[arg(long, value_name = "TARGET.csv")]
    target: PathBuf,
    /// Which measurement of the file, where it holds several.
    #[arg(long, value_name = "ID")]
    id: Option<String>,
    /// A sprayed card, in the columns of the target; may be given again.
    #[arg(long, value_name = "CARD.csv", required = true)]
    card: Vec<PathBuf>,
    /// What is to be other than the target, as for colour recipe.
    #[arg(long, value_name = "BRIEF.json")]
    brief: Option<PathBuf>,
    /// What is in the pot, in g, when the correction goes into it.
    #[arg(long, value_name = "G", allow_negative_numbers = true)]
    pot_g: Option<f64>,
}

/// Corrects a recipe.
///
/// # Errors
/// When something given is not as it should be.
pub(super) fn corrected(wanted: &Wanted) -> Result<Corrected, Stop> {
    let on_file = given::shelf(&wanted.toners)?;
    let shelf = &on_file.shelf;
    let (recipe, mix) = given::recipe(&wanted.recipe, shelf)?;
    let target = given::target(&wanted.target, wanted.id.as_deref())?;
    let wish = target.wish(wanted.brief.as_deref())?;
    let cards = given::cards(&wanted.card)?;
    let coats = recipe.coats.and_then(|coats| u8::try_from(coats).ok()).unwrap_or_else(|| coats_of(shelf, &mix));
    let limits = Limits::usual(shelf);
    let sprayed = Sprayed { mix: &mix, coats, wish: &wish, cards: &cards, limits: &limits, pot_g: wanted.pot_g };
    let correction = colour::card::correct(shelf, &sprayed).map_err(|e| match &e {
        CardError::Pot { .. } => Stop::input(format!("--pot-g: {e}")),
        CardError::Cards { .. } | CardError::NoSharedAngle { .. } => Stop::input(format!("--card: {e}")),
        CardError::Film { .. } | CardError::Parts { .. } => given::about(&wanted.recipe)(&e),
        CardError::Recipe(_) => given::about(wanted.brief.as_deref().unwrap_or(&wanted.target))(&e),
    })?;
    target.doubt(&correction.warnings);
    let name = |toner: Option<usize>| {
        let toner = toner.and_then(|place| shelf.toners().get(place));
        toner.map_or(BINDER, |toner| toner.name.as_str()).to_owned()
    };
    let add = correction.add_to_pot_g.map(|add| Added(add.into_iter().map(|(t, g)| (name(t), g)).collect()));
    Ok(Corrected {
        recipe: Told::of(shelf, &correction.recipe),
        add_to_pot_g: wanted.pot_g.map(|_| add),
        gun: correction.gun.into_iter().map(|cause| cause.words).collect(),
        advice: correction.advice,
        warnings: correction.warnings.into_iter().map(|warning| warning.what).collect(),
        card_de00: correction.card_de00,
    })
}

/// The coats that a film usually takes, for a recipe that does not say.
pub(super) fn coats_of(shelf: &Shelf, mix: &Mix) -> u8 {
    let flakes = |toner: usize| shelf.toners().get(toner).is_some_and(|toner| toner.kind.is_flake());
    let coat_um = if mix.parts.iter().any(|part| flakes(part.toner)) { FLAKE_COAT_UM } else { SOLID_COAT_UM };
    // From 0.5 to 500 um of film, as a recipe file holds it.
    (mix.film_um / coat_um).ceil().clamp(1.0, 40.0) as u8
}

/// The least addition that a table shows, in g.
const SHOWN_G: f64 = 0.005;

/// A corrected recipe and what to do.
#[derive(Debug, Serialize)]
pub(super) struct Corrected {
    #[serde(flatten)]
    recipe: Told,
    /// Left out without a pot; null when the pot cannot be saved.
    #[serde(skip_serializing_if = "Option::is_none")]
    add_to_pot_g: Option<Option<Added>>,
    gun: Vec<String>,
    advice: Vec<String>,
    warnings: Vec<String>,
    #[serde(skip)]
    card_de00: f64,
}

/// Grams by toner, in the order in which they are added.
#[derive(Debug)]
struct Added(Vec<(String, f64)>);

impl Serialize for Added {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut map = to.serialize_map(Some(self.0.len()))?;
        for (toner, grams) in &self.0 {
            map.serialize_entry(toner, grams)?;
        }
        map.end()
    }
}

impl Answer for Corrected {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "the cards are {:.2} from what is wanted (mean dE00)", self.card_de00)?;
        self.gun.iter().try_for_each(|cause| writeln!(out, "at the gun: {cause}"))?;
        self.advice.iter().try_for_each(|advice| writeln!(out, "{advice}"))?;
        writeln!(out)?;
        self.recipe.write(out, "corrected")?;
        match &self.add_to_pot_g {
            Some(Some(Added(add))) if add.is_empty() => writeln!(out, "\nnothing to add to the pot"),
            Some(Some(Added(add))) => {
                writeln!(out)?;
                let mut rows = vec![row!["add to the pot", "g"]];
                rows.extend(
                    add.iter()
                        .filter(|(_, grams)| *grams >= SHOWN_G)
                        .map(|(toner, grams)| row![toner, format!("{grams:.2}")]),
                );
                columns(out, &rows)
            }
            Some(None) => writeln!(out, "\nthe pot cannot be saved by adding: mix anew"),
            None => Ok(()),
        }
    }
}
