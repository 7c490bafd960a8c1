//! The toner file: a shelf as it was learned, in a text that other programs and later versions can read.
//!
//! ```json
//! {"format": "guidecoat toners", "version": 1,
//!  "toners": [{"name": "...", "kind": "solid", "density_g_cm3": 4.0, "max_fraction": 0.35,
//!              "solids_mass_fraction": null, "pigment": "PB15:3", "optics": {"absorption": [], "scattering": [], "...": 0}}],
//!  "substrates": [{"name": "black", "reflectance": []}],
//!  "clear": [],
//!  "panels": {"count": 90, "mean_de00": 1.2, "p90_de00": 2.4, "files": ["panels.csv"],
//!             "by_toner": [{"name": "...", "panels": 6, "mean_de00": 0.5, "doubts": []}],
//!             "worst": [{"panel": "P081", "mean_de00": 4.3}],
//!             "next": [{"toner": "...", "words": "alone over the dark primer", "unsure": 0.7,
//!                       "fractions": {"...": 0.18}, "film_um": 25.0, "primer": "black"}]}}
//! ```
//!
//! A toner's pigment is its Colour Index generic name; the key is missing where the shop does not know it.
//! Spectra have 31 figures, 400 to 700 nm by 10; a flake's reflectance has 51, 400 to 900 nm. Figures read
//! back bit for bit as they were written. The colour engine keeps plain data without any file format; all of
//! the crossing is in [`write()`] and [`read()`].

mod learned;

use base::Warning;
use colour::{Flake, MOST_SUBSTRATES, MOST_TONERS, Optics, Shelf, ShelfError, Spectrum, Substrate, Toner, TonerKind};
use serde::Serialize;

use crate::json::{ANY, Document, JsonError, Node};
use crate::mixing::BINDER;
use crate::pigment::{self, Pigment, Pigments};
use crate::table::shown;

pub use learned::{Learned, MOST_NEXT, MOST_WORST, OddPanel, ToSpray, TonerKnown};

/// What the file says it is.
pub const FORMAT: &str = "guidecoat toners";
/// The version of the file that this program writes, and the only one that it reads.
pub const VERSION: u32 = 1;
/// The largest file that is read; 80 toners and 40 primers with every digit need about 400 KB.
pub const MOST_BYTES: usize = 4 * 1024 * 1024;

/// The longest name of a toner or primer, in characters.
const LONGEST_NAME: usize = 120;

/// Why a file is no shelf.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ShelfFileError {
    /// The file is not JSON, or a key holds something else than it needs.
    #[error(transparent)]
    Json(#[from] JsonError),
    /// It is something else.
    #[error("{}: this is no toner file; it should begin with \"format\": \"{FORMAT}\"", shown(.file))]
    Format {
        /// The file.
        file: String,
    },
    /// From a newer program.
    #[error(
        "{}: version {found} of the toner file; this program reads version {VERSION}. Use the version of guidecoat that wrote it, or a later one",
        shown(.file)
    )]
    Newer {
        /// The file.
        file: String,
        /// The version it says it has.
        found: u32,
    },
    /// From before the first release.
    #[error(
        "{}: version {found} of the toner file; this program reads version {VERSION}. Learn the toners again from their panels",
        shown(.file)
    )]
    Older {
        /// The file.
        file: String,
        /// The version it says it has.
        found: u32,
    },
    /// Its figures make no shelf.
    #[error("{}: {shelf}", shown(.file))]
    Shelf {
        /// The file.
        file: String,
        /// What is wrong.
        shelf: ShelfError,
    },
}

/// What a toner file holds.
#[derive(Debug, Clone, PartialEq)]
pub struct ShelfFile {
    /// The toners, the primers, the clear coat.
    pub shelf: Shelf,
    /// What they were learned from, if the file says so.
    pub learned: Option<Learned>,
    /// The pigments of the toners whose maker tells them. The optics do not need them; the advice on what was
    /// there in a car's year does.
    pub pigments: Pigments,
}

#[derive(Serialize)]
struct Out<'a> {
    format: &'a str,
    version: u32,
    toners: Vec<TonerOut<'a>>,
    substrates: Vec<SubstrateOut<'a>>,
    clear: &'a [f64],
    #[serde(skip_serializing_if = "Option::is_none")]
    panels: Option<&'a Learned>,
}

#[derive(Serialize)]
struct TonerOut<'a> {
    name: &'a str,
    kind: &'a str,
    density_g_cm3: f64,
    max_fraction: f64,
    solids_mass_fraction: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pigment: Option<String>,
    optics: OpticsOut<'a>,
}

#[derive(Serialize)]
struct SubstrateOut<'a> {
    name: &'a str,
    reflectance: &'a [f64],
}

#[derive(Serialize)]
struct OpticsOut<'a> {
    absorption: &'a [f64],
    scattering: &'a [f64],
    forwardness: f64,
    crowding: f64,
    widening: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    flake: Option<FlakeOut<'a>>,
}

#[derive(Serialize)]
struct FlakeOut<'a> {
    area: f64,
    slope_sd: f64,
    loading: f64,
    tail_weight: f64,
    reflectance: &'a [f64],
    film_index: Option<f64>,
    absorptance: &'a [f64],
}

/// What a toner does to light, key by key; its counterpart is [`optics`].
fn optics_out(optics: &Optics) -> OpticsOut<'_> {
    OpticsOut {
        absorption: &optics.absorption,
        scattering: &optics.scattering,
        forwardness: optics.forwardness,
        crowding: optics.crowding,
        widening: optics.widening,
        flake: optics.flake.as_ref().map(|flake| FlakeOut {
            area: flake.area,
            slope_sd: flake.slope_sd,
            loading: flake.loading,
            tail_weight: flake.tail_weight,
            reflectance: &flake.reflectance,
            film_index: flake.film_index,
            absorptance: &flake.absorptance,
        }),
    }
}

fn optics(node: &Node<'_>, doubts: &mut Vec<Warning>) -> Result<Optics, JsonError> {
    doubts.extend(node.unused(&["absorption", "scattering", "forwardness", "crowding", "widening", "flake"]));
    Ok(Optics {
        absorption: spectrum(node, "absorption")?,
        scattering: spectrum(node, "scattering")?,
        forwardness: figure(node, "forwardness")?,
        crowding: figure(node, "crowding")?,
        widening: figure(node, "widening")?,
        flake: node.get("flake")?.map(|flake| flakes(&flake, doubts)).transpose()?,
    })
}

fn flakes(node: &Node<'_>, doubts: &mut Vec<Warning>) -> Result<Flake, JsonError> {
    doubts.extend(node.unused(&[
        "area",
        "slope_sd",
        "loading",
        "tail_weight",
        "reflectance",
        "film_index",
        "absorptance",
    ]));
    Ok(Flake {
        area: figure(node, "area")?,
        slope_sd: figure(node, "slope_sd")?,
        loading: figure(node, "loading")?,
        tail_weight: figure(node, "tail_weight")?,
        reflectance: node.need("reflectance", "a list of 51 numbers, 400 to 900 nm")?.numbers()?,
        film_index: node.get("film_index")?.map(|index| index.number(ANY)).transpose()?,
        absorptance: spectrum(node, "absorptance")?,
    })
}

/// The file's text, on one line.
pub fn write(file: &ShelfFile) -> String {
    let shelf = &file.shelf;
    let out = Out {
        format: FORMAT,
        version: VERSION,
        toners: shelf
            .toners()
            .iter()
            .map(|toner| TonerOut {
                name: &toner.name,
                kind: toner.kind.word(),
                density_g_cm3: toner.density_g_cm3,
                max_fraction: toner.max_fraction,
                solids_mass_fraction: toner.solids_fraction,
                pigment: file.pigments.get(&toner.name).map(Pigment::to_string),
                optics: optics_out(&toner.optics),
            })
            .collect(),
        substrates: shelf
            .substrates()
            .iter()
            .map(|primer| SubstrateOut { name: &primer.name, reflectance: primer.reflectance.values() })
            .collect(),
        clear: shelf.clear(),
        panels: file.learned.as_ref(),
    };
    // Texts and finite figures, which a shelf holds and nothing else, always become JSON.
    let mut text = serde_json::to_string(&out).unwrap_or_default();
    text.push('\n');
    text
}

/// Reads a toner file, with a warning for every key that is not used. `file` is the name that messages give.
///
/// # Errors
/// When it is no toner file, of another version, or its figures make no shelf; the message names the key.
pub fn read(file: &str, bytes: &[u8]) -> Result<(ShelfFile, Vec<Warning>), ShelfFileError> {
    let document = Document::read(file, bytes, MOST_BYTES)?;
    let root = document.root();
    version(&root)?;
    let mut doubts = root.unused(&["format", "version", "toners", "substrates", "clear", "panels"]);
    let (mut toners, mut pigments) = (Vec::new(), Pigments::new());
    for node in root.need("toners", "a list of toners")?.list(MOST_TONERS)? {
        let toner = toner(&node, &mut doubts)?;
        if let Some(pigment) = node.get("pigment")? {
            let known = pigment.text(20)?.parse().map_err(|_| pigment.refuse(pigment::WANTED))?;
            pigments.insert(toner.name.clone(), known);
        }
        toners.push(toner);
    }
    let mut substrates = Vec::new();
    for node in root.need("substrates", "a list of primers")?.list(MOST_SUBSTRATES)? {
        doubts.extend(node.unused(&["name", "reflectance"]));
        let reflectance = Spectrum::new(spectrum(&node, "reflectance")?)
            .map_err(|e| ShelfFileError::Shelf { file: file.into(), shelf: e.into() })?;
        substrates.push(Substrate { name: name(&node)?, reflectance });
    }
    let clear = spectrum(&root, "clear")?;
    let shelf =
        Shelf::new(toners, substrates, clear).map_err(|shelf| ShelfFileError::Shelf { file: file.into(), shelf })?;
    let learned = root.get("panels")?.map(|node| learned::read(&node, &shelf, &mut doubts)).transpose()?;
    Ok((ShelfFile { shelf, learned, pigments }, doubts))
}

fn version(root: &Node<'_>) -> Result<(), ShelfFileError> {
    let file = root.file().to_owned();
    let format = root.get("format")?;
    if format.and_then(|format| format.text(100).ok()) != Some(FORMAT) {
        return Err(ShelfFileError::Format { file });
    }
    match root.need("version", "1")?.whole(0..=u32::MAX)? {
        VERSION => Ok(()),
        found if found > VERSION => Err(ShelfFileError::Newer { file, found }),
        found => Err(ShelfFileError::Older { file, found }),
    }
}

fn toner(node: &Node<'_>, doubts: &mut Vec<Warning>) -> Result<Toner, JsonError> {
    doubts.extend(node.unused(&[
        "name",
        "kind",
        "density_g_cm3",
        "max_fraction",
        "solids_mass_fraction",
        "pigment",
        "optics",
    ]));
    let kind = node.need("kind", "what the toner is")?;
    let known = TonerKind::ALL.into_iter().find(|known| kind.text(40) == Ok(known.word()));
    Ok(Toner {
        name: name(node)?,
        kind: known.ok_or_else(|| kind.refuse(kinds()))?,
        density_g_cm3: figure(node, "density_g_cm3")?,
        max_fraction: figure(node, "max_fraction")?,
        solids_fraction: node.get("solids_mass_fraction")?.map(|solids| solids.number(ANY)).transpose()?,
        optics: optics(&node.need("optics", "what the toner does to light")?, doubts)?,
    })
}

/// "solid, aluminium, pearl or flop adjuster".
pub(crate) fn kinds() -> String {
    let [first, second, third, last] = TonerKind::ALL.map(TonerKind::word);
    format!("{first}, {second}, {third} or {last}")
}

fn name(node: &Node<'_>) -> Result<String, JsonError> {
    let name = node.need("name", "a name")?;
    let text = name.text(LONGEST_NAME)?;
    if text.eq_ignore_ascii_case(BINDER) {
        return Err(name.refuse("another name: the binder is what the toners leave over"));
    }
    Ok(text.to_owned())
}

fn spectrum(node: &Node<'_>, key: &str) -> Result<[f64; 31], JsonError> {
    node.need(key, "a list of 31 numbers, 400 to 700 nm")?.numbers()
}

fn figure(node: &Node<'_>, key: &str) -> Result<f64, JsonError> {
    node.need(key, "a number")?.number(ANY)
}
