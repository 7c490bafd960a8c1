//! What the record keeps of a paint that is mixed: toners learned, briefs, recipes, batches, sprayed cards, and
//! what the colour is for.
//!
//! These are the stored facts. [`crate::paintwork`] says how they hang together, and the colour engine what
//! they mean. Names of toners and primers are the shop's own, as they stand in the toner file.

mod briefed;
mod serves;

use base::Warning;
use serde::{Deserialize, Serialize};

use crate::ids::{EntryId, Hash};
use crate::what::GeometrySpectrum;

pub use briefed::{Briefed, Said, Wanted};
pub use serves::{ColourServes, Serve};

/// What the rest of a recipe is called where a toner's name could stand: no toner may have this name.
pub const BINDER: &str = "binder";

/// The most doubts that one entry keeps.
pub const MOST_DOUBTS: usize = 20;
/// The longest doubt kept, in characters.
pub const LONGEST_DOUBT: usize = 400;

/// Toners as they were learned from the shop's own sprayed panels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shelved {
    /// The shop's name for this shelf.
    pub name: String,
    /// The toner file, byte for byte.
    pub file: Hash,
    /// The files of panels that it was learned from, byte for byte.
    #[serde(default)]
    pub panels_files: Vec<KeptFile>,
    /// How many toners it holds.
    pub toners: u32,
    /// How many panels it was learned from.
    pub panels: u32,
    /// Mean CIEDE2000 between the panels as measured and as the learned toners predict them.
    pub mean_de00: f64,
    /// The CIEDE2000 that nine panels in ten stay under.
    pub p90_de00: f64,
    /// What was doubtful when they were learned.
    #[serde(default)]
    pub doubts: Vec<String>,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}

/// A file kept byte for byte under its hash.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptFile {
    /// Its name as it came.
    pub name: String,
    /// The bytes.
    pub hash: Hash,
}

/// A recipe: toners over a primer, found for a target.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Formulated {
    /// The shop's name for it.
    pub name: String,
    /// The entry of the measured paint it is to match.
    pub target: EntryId,
    /// The entry of the shelf it was found on.
    pub shelf: EntryId,
    /// What is to be other than the target, and how much each angle counts.
    #[serde(default)]
    pub brief: Brief,
    /// The brief it was found for, when the wish was kept as one; `brief` above is what it said then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub briefed: Option<EntryId>,
    /// Its toners; the binder is the rest.
    pub parts: Vec<RecipePart>,
    /// The dry film, all coats together, in um.
    pub film_um: f64,
    /// The primer below it, by its name on the shelf.
    pub primer: String,
    /// Coats until the primer no longer shows.
    pub coats: u32,
    /// Radiance factors that it is predicted to have, by geometry.
    pub predicted: Vec<GeometrySpectrum>,
    /// Mean CIEDE2000 between prediction and target over the angles, D65, 10 degree observer, unweighted.
    pub mean_de00: f64,
    /// The same angle by angle, under three lights.
    #[serde(default)]
    pub by_angle: Vec<AngleFit>,
    /// The recipe that this one corrects, from what its cards showed.
    #[serde(default)]
    pub after: Option<EntryId>,
    /// The cards it was corrected from.
    #[serde(default)]
    pub cards: Vec<EntryId>,
    /// What was doubtful when it was found.
    #[serde(default)]
    pub doubts: Vec<String>,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}

impl Formulated {
    /// The mass fraction of all toners together.
    pub fn load(&self) -> f64 {
        self.parts.iter().map(|part| part.fraction).sum()
    }

    /// The mass fraction of a toner, or of the binder, in the dry film.
    pub fn fraction(&self, toner: &str) -> Option<f64> {
        if toner == BINDER {
            return Some(1.0 - self.load());
        }
        self.parts.iter().find(|part| part.toner == toner).map(|part| part.fraction)
    }
}

/// One toner of a recipe.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecipePart {
    /// Its name on the shelf.
    pub toner: String,
    /// Its mass fraction of the dry film.
    pub fraction: f64,
}

/// How far a recipe is from its target at one angle: CIEDE2000, 10 degree observer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AngleFit {
    /// The geometry, such as `45as15`.
    pub geometry: String,
    /// Under daylight, D65.
    pub d65: f64,
    /// Under lamp light, A.
    pub a: f64,
    /// Under a shop's tubes, FL11.
    pub fl11: f64,
}

/// What the owner wants other than the measured paint, and how much each angle counts.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Brief {
    /// Changes to the target, by angle.
    #[serde(default)]
    pub edits: Vec<BriefEdit>,
    /// Weights of angles; those not named have the usual one.
    #[serde(default)]
    pub weights: Vec<AngleWeight>,
}

impl Brief {
    /// Whether the paint is wanted as it was measured.
    pub fn is_plain(&self) -> bool {
        self.edits.is_empty() && self.weights.is_empty()
    }
}

/// A change to the target at one angle, in CIELAB under D65 and the 10 degree observer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BriefEdit {
    /// The geometry.
    pub geometry: String,
    /// Lighter by so much L\*.
    pub dl: f64,
    /// Stronger by so much C\*.
    pub dc: f64,
    /// Turned by so much hue, in degrees.
    pub dh_deg: f64,
}

/// How much one angle counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AngleWeight {
    /// The geometry.
    pub geometry: String,
    /// Its weight; only its share of all weights matters.
    pub weight: f64,
}

/// A batch that was weighed out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mixed {
    /// The entry of its recipe.
    pub recipe: EntryId,
    /// The batch whose pot this was added to, when it corrects one.
    #[serde(default)]
    pub into: Option<EntryId>,
    /// What it is for: zone instances, or parts in words.
    pub parts_of_car: Vec<String>,
    /// How much was wanted, in g.
    pub wanted_g: f64,
    /// What the scale can show, in g.
    pub scale_g: f64,
    /// What was poured, in its order.
    pub steps: Vec<Poured>,
    /// How far the rounding to the scale moves the colour: mean CIEDE2000, as predicted.
    pub shift_de00: f64,
    /// Where the keep-sample stands; empty when none was kept.
    #[serde(default)]
    pub retained: String,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}

impl Mixed {
    /// What is in the pot from this batch, in g, as far as it was read off, else as it was wanted.
    pub fn poured_g(&self) -> f64 {
        self.steps.iter().map(Poured::grams).sum()
    }
}

/// One step of a batch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Poured {
    /// The toner's name on the shelf, or [`BINDER`].
    pub toner: String,
    /// How much was to be added, in g.
    pub wanted_g: f64,
    /// How much the scale showed, in g; `None` when nobody read it off.
    #[serde(default)]
    pub poured_g: Option<f64>,
    /// The tin's lot.
    #[serde(default)]
    pub lot: String,
}

impl Poured {
    /// What went in, in g: as read off, else as wanted.
    pub fn grams(&self) -> f64 {
        self.poured_g.unwrap_or(self.wanted_g)
    }
}

/// A card that was sprayed and measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Carded {
    /// What stands on its back.
    pub name: String,
    /// The entry of the recipe it was sprayed from.
    pub recipe: EntryId,
    /// The batch it was sprayed from; `None` for a small mix of its own.
    #[serde(default)]
    pub batch: Option<EntryId>,
    /// The instrument.
    #[serde(default)]
    pub instrument: String,
    /// The file it came from.
    pub file: String,
    /// The file itself, byte for byte.
    pub source: Hash,
    /// Radiance factors at 400 to 700 nm in steps of 10, by geometry.
    pub spectra: Vec<GeometrySpectrum>,
    /// Coats sprayed.
    pub coats: u32,
    /// The dry film of colour as the gauge read it, in um, if it was read.
    #[serde(default)]
    pub film_um: Option<f64>,
    /// Gun, pressure, distance and tip, in words.
    #[serde(default)]
    pub gun: String,
    /// Where it is kept, if it is a master card, sealed and dark.
    #[serde(default)]
    pub master: Option<String>,
    /// What was doubtful when it was read.
    #[serde(default)]
    pub doubts: Vec<String>,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}

impl Carded {
    /// Where it is kept, if it is a master card.
    pub fn master(&self) -> Option<&str> {
        self.master.as_deref()
    }
}

/// Doubts as an entry keeps them: the first [`MOST_DOUBTS`], each cut at [`LONGEST_DOUBT`] characters, the
/// last saying how many more there were.
pub fn kept_doubts(doubts: &[Warning]) -> Vec<String> {
    let cut =
        |doubt: &Warning| -> String { doubt.what.chars().filter(|c| !c.is_control()).take(LONGEST_DOUBT).collect() };
    if doubts.len() <= MOST_DOUBTS {
        return doubts.iter().map(cut).collect();
    }
    let mut kept: Vec<String> = doubts.iter().take(MOST_DOUBTS - 1).map(cut).collect();
    kept.push(format!("and {} more", doubts.len() - kept.len()));
    kept
}
