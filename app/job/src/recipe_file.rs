//! Recipes and briefs as plain files: what the command line prints, and what it takes back.
//!
//! ```json
//! {"fractions": {"copper mica": 0.18, "carbon black": 0.002}, "dft_um": 16.5, "primer": "N4", "coats": 4,
//!  "predicted": {"mean_de00": 0.84, "by_angle": {"15": 0.6, "110": 1.1}}}
//! ```
//!
//! Fractions are mass fractions of the dry film; the binder is the rest. A file is one recipe, or
//! `{"recipes": [...]}` with the best first.

mod brief;

use base::Warning;
use colour::{Geometry, Mix, Part, Shelf};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use crate::json::{ANY, Document, JsonError, Node};
use crate::mixing::BINDER;
use crate::table::shown;
use crate::validate::MOST_PARTS;

pub use brief::{brief, geometry};

/// The largest recipe file or brief that is read.
pub const MOST_BYTES: usize = 1024 * 1024;
/// The most recipes in one file.
pub const MOST_RECIPES: usize = 100;

/// Keys that this program writes into a recipe for people and other programs, and does not need back.
const WRITTEN_ONLY: [&str; 12] = [
    "name",
    "load",
    "cost",
    "hiding",
    "metamerism",
    "sensitivity",
    "add_to_pot_g",
    "gun",
    "advice",
    "warnings",
    "reachable",
    "stopped",
];

/// Why a file is no recipe for this shelf.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RecipeFileError {
    /// The file is not JSON, or a key holds something else than it needs.
    #[error(transparent)]
    Json(#[from] JsonError),
    /// The fractions do not leave room for each other.
    #[error("{}, key {}: the fractions add up to {sum}; needed: at most 1, the binder being the rest", shown(.file), shown(.key))]
    Sum {
        /// The file.
        file: String,
        /// The key.
        key: String,
        /// What they add up to.
        sum: String,
    },
    /// Toners or a primer that the shelf does not have.
    #[error("{}: {what} {} not on the shelf; it has {}", shown(.file), shown(.missing), shown(.known))]
    NotOnShelf {
        /// The file.
        file: String,
        /// "the toner", "the toners" or "the primer".
        what: &'static str,
        /// The names that are missing, and "is" or "are".
        missing: String,
        /// The names it has.
        known: String,
    },
}

/// One recipe of a file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecipeFile {
    /// Mass fractions of the dry film by toner, in the file's order of names.
    #[serde(serialize_with = "as_map")]
    pub fractions: Vec<(String, f64)>,
    /// Dry film, all coats together, in um.
    pub dft_um: f64,
    /// The primer's name.
    pub primer: String,
    /// Coats until it hides, if the file says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub coats: Option<u32>,
    /// What the model says of it, if the file says so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub predicted: Option<Predicted>,
}

/// How far a recipe is from its target: CIEDE2000, D65, 10 degree observer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Predicted {
    /// The mean over the angles, unweighted.
    pub mean_de00: f64,
    /// Angle by angle.
    #[serde(serialize_with = "by_angle")]
    pub by_angle: Vec<(Geometry, f64)>,
}

fn as_map<S: Serializer>(fractions: &[(String, f64)], to: S) -> Result<S::Ok, S::Error> {
    let mut map = to.serialize_map(Some(fractions.len()))?;
    for (toner, fraction) in fractions {
        map.serialize_entry(toner, fraction)?;
    }
    map.end()
}

fn by_angle<S: Serializer>(angles: &[(Geometry, f64)], to: S) -> Result<S::Ok, S::Error> {
    let mut map = to.serialize_map(Some(angles.len()))?;
    for (geometry, de00) in angles {
        map.serialize_entry(&geometry.aspecular_deg().to_string(), de00)?;
    }
    map.end()
}

impl RecipeFile {
    /// The recipe of a mix on a shelf. A toner or primer that the shelf does not have is left out; a mix that
    /// the engine made has none.
    pub fn of(shelf: &Shelf, mix: &Mix, coats: Option<u32>, predicted: Option<Predicted>) -> Self {
        let toner = |part: &Part| Some((shelf.toners().get(part.toner)?.name.clone(), part.fraction));
        Self {
            fractions: mix.parts.iter().filter_map(toner).collect(),
            dft_um: mix.film_um,
            primer: shelf.substrates().get(mix.substrate).map(|primer| primer.name.clone()).unwrap_or_default(),
            coats,
            predicted,
        }
    }

    /// The mix on a shelf; `file` is the name that messages give.
    ///
    /// # Errors
    /// When the shelf lacks a toner or the primer; the message names them, and what the shelf has.
    pub fn mix(&self, file: &str, shelf: &Shelf) -> Result<Mix, RecipeFileError> {
        let on_shelf = |names: Vec<&str>| names.join(", ");
        let missing: Vec<&str> = self
            .fractions
            .iter()
            .map(|(toner, _)| toner.as_str())
            .filter(|toner| shelf.toner(toner).is_none())
            .collect();
        if !missing.is_empty() {
            let (what, verb) = if missing.len() == 1 { ("the toner", "is") } else { ("the toners", "are") };
            return Err(RecipeFileError::NotOnShelf {
                file: file.into(),
                what,
                missing: format!("{} {verb}", missing.join(", ")),
                known: on_shelf(shelf.toners().iter().map(|toner| toner.name.as_str()).collect()),
            });
        }
        let substrate = shelf.substrate(&self.primer).ok_or_else(|| RecipeFileError::NotOnShelf {
            file: file.into(),
            what: "the primer",
            missing: format!("{} is", self.primer),
            known: on_shelf(shelf.substrates().iter().map(|primer| primer.name.as_str()).collect()),
        })?;
        let part = |(toner, fraction): &(String, f64)| Some(Part { toner: shelf.toner(toner)?, fraction: *fraction });
        Ok(Mix { parts: self.fractions.iter().filter_map(part).collect(), film_um: self.dft_um, substrate })
    }
}

/// Reads the recipes of a file, at least one, with a warning for every key that is not used.
///
/// # Errors
/// When it is neither a recipe nor a list of them; the message names the key.
pub fn read(file: &str, bytes: &[u8]) -> Result<(Vec<RecipeFile>, Vec<Warning>), RecipeFileError> {
    let document = Document::read(file, bytes, MOST_BYTES)?;
    let root = document.root();
    let mut doubts = Vec::new();
    let Some(list) = root.get("recipes")? else {
        return Ok((vec![recipe(&root, &mut doubts)?], doubts));
    };
    let nodes = list.list(MOST_RECIPES)?;
    if nodes.is_empty() {
        return Err(list.refuse("at least one recipe").into());
    }
    let recipes = nodes.iter().map(|node| recipe(node, &mut doubts)).collect::<Result<_, _>>()?;
    Ok((recipes, doubts))
}

fn recipe(node: &Node<'_>, doubts: &mut Vec<Warning>) -> Result<RecipeFile, RecipeFileError> {
    let known = ["fractions", "dft_um", "primer", "coats", "predicted"];
    let known: Vec<&str> = known.into_iter().chain(WRITTEN_ONLY).collect();
    doubts.extend(node.unused(&known));
    let fractions = node.need("fractions", "an object: {toner: mass fraction}")?;
    Ok(RecipeFile {
        fractions: parts(&fractions)?,
        dft_um: node.need("dft_um", "the dry film in um")?.number(0.5..=500.0)?,
        primer: node.need("primer", "the name of a primer in the toner file")?.text(120)?.to_owned(),
        coats: node.get("coats")?.map(|coats| coats.whole(1..=40)).transpose()?,
        predicted: node.get("predicted")?.map(|node| predicted(&node)).transpose()?,
    })
}

fn parts(node: &Node<'_>) -> Result<Vec<(String, f64)>, RecipeFileError> {
    let mut parts = Vec::new();
    let (mut sum, mut binder) = (0.0, None);
    // One more than toners: the binder may be told as well.
    for (toner, node) in node.entries(MOST_PARTS + 1)? {
        let fraction = node.number(0.0..=1.0)?;
        if toner == BINDER {
            binder = Some((node, fraction));
        } else if fraction > 0.0 {
            sum += fraction;
            parts.push((toner.to_owned(), fraction));
        }
    }
    if parts.is_empty() {
        return Err(node.refuse("at least one toner with a fraction over 0").into());
    }
    if sum > 1.0 + 1e-9 {
        let (file, key) = (node.file().into(), node.key().into());
        return Err(RecipeFileError::Sum { file, key, sum: format!("{sum:.4}") });
    }
    if let Some((node, fraction)) = binder
        && (fraction + sum - 1.0).abs() > 0.001
    {
        return Err(node.refuse(format!("what the toners leave over, {:.4}", 1.0 - sum)).into());
    }
    Ok(parts)
}

fn predicted(node: &Node<'_>) -> Result<Predicted, JsonError> {
    let mut angles = Vec::new();
    if let Some(by_angle) = node.get("by_angle")? {
        for (angle, node) in by_angle.entries(Geometry::ALL.len())? {
            let Some(geometry) = geometry(angle) else {
                return Err(node.refuse(format!("as key one of {}", brief::angles())));
            };
            angles.push((geometry, node.number(ANY)?));
        }
    }
    angles.sort_by_key(|(geometry, _)| *geometry);
    Ok(Predicted { mean_de00: node.need("mean_de00", "a number")?.number(ANY)?, by_angle: angles })
}
