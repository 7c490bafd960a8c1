//! What a shelf was learned from, how well, and what to spray next to learn most.
//!
//! It is the calibration's own report, word for word, so that nobody has to work it out again from the panels.
//! Everything but the counts and the two overall figures may be missing from a file.

use std::collections::BTreeMap;

use base::Warning;
use colour::{Calibration, MOST_TONERS, NextPanel, Panels, Shelf};
use serde::Serialize;

use super::LONGEST_NAME;
use crate::json::{JsonError, Node};
use crate::mixing::{LONGEST_DOUBT, MOST_DOUBTS, kept_doubts};

/// The most files a shelf says it was learned from.
const MOST_FILES: usize = 12;
/// The most panels that are named because they fit worst.
pub const MOST_WORST: usize = 8;
/// The most panels that are named to be sprayed next.
pub const MOST_NEXT: usize = 5;
/// The longest name of a panel, in characters; a longer one is cut where it is written.
const LONGEST_PANEL: usize = 200;
/// A film that can be sprayed, in um.
const FILM_UM: std::ops::RangeInclusive<f64> = 0.5..=500.0;
/// Any CIEDE2000 there can be.
const DE00: std::ops::RangeInclusive<f64> = 0.0..=200.0;

/// What a shelf was learned from, and how well.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Learned {
    /// How many panels.
    pub count: u32,
    /// Mean CIEDE2000 between the panels as measured and as predicted.
    pub mean_de00: f64,
    /// The CIEDE2000 that nine in ten stay under.
    pub p90_de00: f64,
    /// The names of the files.
    pub files: Vec<String>,
    /// How well each toner is known, in the order of the shelf; empty where the file does not say.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub by_toner: Vec<TonerKnown>,
    /// The panels that the toners explain worst, the worst first, at most [`MOST_WORST`].
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub worst: Vec<OddPanel>,
    /// The panels that would teach most, best first, at most [`MOST_NEXT`].
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub next: Vec<ToSpray>,
}

/// How well a toner is known.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TonerKnown {
    /// Its name on the shelf.
    pub name: String,
    /// Panels it stands on.
    pub panels: u32,
    /// Mean CIEDE2000 over them, D65, 10 degree observer.
    pub mean_de00: f64,
    /// What is doubtful about it, in words.
    pub doubts: Vec<String>,
}

/// A panel that the toners do not explain well.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OddPanel {
    /// Its name.
    pub panel: String,
    /// Mean CIEDE2000 over its angles, D65, 10 degree observer.
    pub mean_de00: f64,
}

/// A panel that nobody has sprayed yet and that would teach much.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToSpray {
    /// The toner it is about.
    pub toner: String,
    /// What it is, in words, such as "alone over the dark primer".
    pub words: String,
    /// How unsure its lightness is as things stand, in L\*, root mean square over angles and wavelengths.
    pub unsure: f64,
    /// Mass fractions of the dry film by toner; the binder is the rest.
    pub fractions: BTreeMap<String, f64>,
    /// The dry film, in um.
    pub film_um: f64,
    /// The primer below it, by its name on the shelf.
    pub primer: String,
}

impl Learned {
    /// What a calibration says of itself; `files` are the names of what it was learned from.
    pub fn of(panels: &Panels, calibration: &Calibration, files: Vec<String>) -> Self {
        let shelf = &calibration.shelf;
        let known = |fit: &colour::TonerFit| {
            Some(TonerKnown {
                name: shelf.toners().get(fit.toner)?.name.clone(),
                panels: count(fit.panels),
                mean_de00: fit.mean_de00,
                doubts: kept_doubts(&fit.warnings),
            })
        };
        let mut worst: Vec<OddPanel> = calibration
            .fits
            .iter()
            .filter_map(|fit| Some((panels.panels().get(fit.panel)?, fit.mean_de00)))
            .map(|(panel, mean_de00)| OddPanel { panel: cut(&panel.name), mean_de00 })
            .collect();
        worst.sort_by(|a, b| b.mean_de00.total_cmp(&a.mean_de00));
        worst.truncate(MOST_WORST);
        Self {
            count: count(panels.panels().len()),
            mean_de00: calibration.mean_de00,
            p90_de00: calibration.p90_de00,
            files,
            by_toner: calibration.by_toner.iter().filter_map(known).collect(),
            worst,
            next: calibration.next.iter().filter_map(|next| to_spray(next, shelf)).take(MOST_NEXT).collect(),
        }
    }
}

fn to_spray(next: &NextPanel, shelf: &Shelf) -> Option<ToSpray> {
    let toner = |place: usize| shelf.toners().get(place).map(|toner| toner.name.clone());
    let fractions = next.mix.parts.iter().map(|part| Some((toner(part.toner)?, part.fraction)));
    Some(ToSpray {
        toner: toner(next.toner)?,
        words: next.words.chars().take(LONGEST_DOUBT).collect(),
        unsure: next.unsure,
        fractions: fractions.collect::<Option<_>>()?,
        film_um: next.mix.film_um,
        primer: shelf.substrates().get(next.mix.substrate)?.name.clone(),
    })
}

fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

fn cut(name: &str) -> String {
    name.chars().filter(|c| !c.is_control()).take(LONGEST_PANEL).collect()
}

/// Reads what [`Learned`] writes; every name must be on the shelf.
pub(super) fn read(node: &Node<'_>, shelf: &Shelf, doubts: &mut Vec<Warning>) -> Result<Learned, JsonError> {
    doubts.extend(node.unused(&["count", "mean_de00", "p90_de00", "files", "by_toner", "worst", "next"]));
    let files = all(node, "files", MOST_FILES, |file| Ok(file.text(200)?.to_owned()))?;
    let by_toner = all(node, "by_toner", MOST_TONERS, |toner| {
        doubts.extend(toner.unused(&["name", "panels", "mean_de00", "doubts"]));
        Ok(TonerKnown {
            name: toner_of(&toner.need("name", "a name")?, shelf)?,
            panels: toner.need("panels", "a number of panels")?.whole(0..=2_000)?,
            mean_de00: toner.need("mean_de00", "a number")?.number(DE00)?,
            doubts: all(toner, "doubts", MOST_DOUBTS, |doubt| Ok(doubt.text(LONGEST_DOUBT)?.to_owned()))?,
        })
    })?;
    let worst = all(node, "worst", MOST_WORST, |panel| {
        doubts.extend(panel.unused(&["panel", "mean_de00"]));
        Ok(OddPanel {
            panel: panel.need("panel", "a panel's name")?.text(LONGEST_PANEL)?.to_owned(),
            mean_de00: panel.need("mean_de00", "a number")?.number(DE00)?,
        })
    })?;
    let next = all(node, "next", MOST_NEXT, |panel| {
        doubts.extend(panel.unused(&["toner", "words", "unsure", "fractions", "film_um", "primer"]));
        let fractions = panel.need("fractions", "an object of mass fractions by toner")?;
        let mut mix = BTreeMap::new();
        for (toner, fraction) in fractions.entries(MOST_TONERS)? {
            mix.insert(on_shelf(toner, &fraction, shelf)?, fraction.number(0.0..=1.0)?);
        }
        if mix.values().sum::<f64>() > 1.0 + 1e-6 {
            return Err(fractions.refuse("fractions that add up to at most 1, the binder being the rest"));
        }
        let primer = panel.need("primer", "a primer's name")?;
        let on = primer.text(LONGEST_NAME)?;
        if shelf.substrate(on).is_none() {
            return Err(primer.refuse("a primer of this file"));
        }
        Ok(ToSpray {
            toner: toner_of(&panel.need("toner", "a toner's name")?, shelf)?,
            words: panel.need("words", "what it is, in words")?.text(LONGEST_DOUBT)?.to_owned(),
            unsure: panel.need("unsure", "a number")?.number(0.0..=f64::MAX)?,
            fractions: mix,
            film_um: panel.need("film_um", "a number")?.number(FILM_UM)?,
            primer: on.to_owned(),
        })
    })?;
    Ok(Learned {
        count: node.need("count", "a number of panels")?.whole(1..=2_000)?,
        mean_de00: node.need("mean_de00", "a number")?.number(DE00)?,
        p90_de00: node.need("p90_de00", "a number")?.number(DE00)?,
        files,
        by_toner,
        worst,
        next,
    })
}

/// Each of a list under a key; nothing where there is no such key.
fn all<T>(
    node: &Node<'_>,
    key: &str,
    most: usize,
    each: impl FnMut(&Node<'_>) -> Result<T, JsonError>,
) -> Result<Vec<T>, JsonError> {
    match node.get(key)? {
        Some(list) => list.list(most)?.iter().map(each).collect(),
        None => Ok(Vec::new()),
    }
}

fn toner_of(node: &Node<'_>, shelf: &Shelf) -> Result<String, JsonError> {
    on_shelf(node.text(LONGEST_NAME)?, node, shelf)
}

fn on_shelf(toner: &str, at: &Node<'_>, shelf: &Shelf) -> Result<String, JsonError> {
    shelf.toner(toner).map(|_| toner.to_owned()).ok_or_else(|| at.refuse("a toner of this file"))
}
