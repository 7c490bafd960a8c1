//! Colour from plain files: differences, CIELAB, the travel of a paint by angle, what is wanted of it, its picture,
//! and paint from toners to card.

pub(crate) mod asked;
mod brief;
pub(crate) mod calibrate;
mod correct;
mod era;
mod film;
mod given;
pub(crate) mod pour;
mod preview;
mod reach;
pub(crate) mod recipe;
mod sample;
mod work;

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use colour::{Illuminant, Lab, Measurement, Observer, Spectrum, ciede2000_many, lab, travel, tristimulus};
use job::paint;
use job::table::{Table, spectra};
use serde::Serialize;

use crate::answer::{Answer, columns, doubt, row, say};
use crate::file::{self, TABLE};
use crate::shop::Everywhere;
use crate::stop::Stop;

/// Colour from spectra.
#[derive(Debug, Subcommand)]
pub(crate) enum Colour {
    /// CIEDE2000 between pairs of CIELAB colours, a pair a row.
    Difference {
        /// Columns L1,a1,b1,L2,a2,b2.
        #[arg(value_name = "PAIRS.csv")]
        pairs: PathBuf,
    },
    /// XYZ and CIELAB of spectra, a spectrum a row.
    Lab {
        /// Columns name,400,410 ... 700; a perfect white is 1.
        #[arg(value_name = "SPECTRA.csv")]
        spectra: PathBuf,
        #[command(flatten)]
        seen: Seen,
    },
    /// What each paint of a multi-angle measurement does from face to flop.
    Travel {
        /// Columns [name,]geometry,400,410 ... 700; a perfect white is 1.
        #[arg(value_name = "MEASUREMENT.csv")]
        measurement: PathBuf,
        #[command(flatten)]
        seen: Seen,
    },
    /// What a film of known absorption, scattering and flakes looks like from any angle.
    Film {
        /// Wavelengths, film, what is in it, what is under it, and the geometries.
        #[arg(value_name = "FILM.json")]
        film: PathBuf,
    },
    /// Learn toners from sprayed panels.
    Calibrate {
        /// A folder with toners.csv, panels.csv, measurements.csv and substrate.csv.
        #[arg(value_name = "LAB_DIR")]
        lab: PathBuf,
        /// The file to write the toners to.
        #[arg(long, value_name = "TONERS.json")]
        out: PathBuf,
    },
    /// Take colours from a picture, where no instrument was at hand: a picture is not a measurement.
    Sample(sample::Wanted),
    /// Say what is wanted of a measured paint and what is not, angle by angle.
    Brief(brief::Wanted),
    /// How near the toners come to a wish while more and more of it is asked for.
    Reach(reach::Wanted),
    /// Find recipes for a measured paint.
    Recipe(recipe::Wanted),
    /// What in a recipe was not there in a car's year, and what softens that.
    Era(era::Wanted),
    /// Draw a paint on a curved panel as a PNG: not a proof.
    Preview(preview::Wanted),
    /// Correct a recipe from its sprayed cards.
    Correct(correct::Wanted),
    /// Weigh a recipe out, or bring a pot back to it.
    Pour(pour::Wanted),
}

/// Under which light, by whom.
#[derive(Debug, Clone, Copy, Args)]
pub(crate) struct Seen {
    /// The light: D65, A or FL11.
    #[arg(long, value_name = "LIGHT", default_value = "D65")]
    illuminant: Illuminant,
    /// The observer, in degrees: 2 or 10.
    #[arg(long, value_name = "DEGREES", default_value = "10")]
    observer: Observer,
}

impl Colour {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        let json = everywhere.json;
        match self {
            Self::Difference { pairs } => say(&difference(&pairs)?, json),
            Self::Lab { spectra, seen } => say(&labs(&spectra, seen)?, json),
            Self::Travel { measurement, seen } => say(&travels(&measurement, seen)?, json),
            Self::Film { film } => say(&film::seen(&film)?, json),
            Self::Calibrate { lab, out } => say(&calibrate::learned(&lab, &out)?, json),
            Self::Sample(wanted) => say(&sample::sampled(&wanted)?, json),
            Self::Brief(wanted) => say(&brief::told(&wanted)?, json),
            Self::Reach(wanted) => say(&reach::reached(&wanted, everywhere)?, json),
            Self::Recipe(wanted) => say(&recipe::recipes(&wanted, everywhere)?, json),
            Self::Era(wanted) => say(&era::judged(&wanted, &everywhere.catalogue()?)?, json),
            Self::Preview(wanted) => say(&preview::shown(&wanted)?, json),
            Self::Correct(wanted) => say(&correct::corrected(&wanted)?, json),
            Self::Pour(wanted) => say(&pour::weighed_out(&wanted)?, json),
        }
    }
}

/// CIEDE2000 by pair, in the file's order.
#[derive(Debug, Serialize)]
struct Differences {
    de00: Vec<f64>,
}

/// L* of paint: a white is 100, flake beside the gloss may go past it.
const LIGHTNESS: std::ops::RangeInclusive<f64> = -1.0..=200.0;
/// a* and b* of anything that can be seen.
const OPPONENT: std::ops::RangeInclusive<f64> = -200.0..=200.0;

fn difference(path: &Path) -> Result<Differences, Stop> {
    let table = Table::read(&file::name(path), &file::read(path)?, &TABLE).map_err(Stop::input)?;
    let names = ["L1", "a1", "b1", "L2", "a2", "b2"];
    let mut found = Vec::new();
    for name in names {
        found.push(table.column(name).map_err(Stop::input)?);
    }
    let Ok([l1, a1, b1, l2, a2, b2]) = <[_; 6]>::try_from(found) else { return Err(Stop::failed("six columns")) };
    doubt(table.warnings());
    doubt(table.unknown_columns(&names));
    let (mut first, mut second) = (Vec::with_capacity(table.rows().len()), Vec::with_capacity(table.rows().len()));
    for row in table.rows() {
        let read = |l, a, b| -> Result<Lab, _> {
            Ok(Lab { l: row.f64(l, LIGHTNESS)?, a: row.f64(a, OPPONENT)?, b: row.f64(b, OPPONENT)? })
        };
        first.push(read(&l1, &a1, &b1).map_err(|e: job::table::TableError| Stop::input(e))?);
        second.push(read(&l2, &a2, &b2).map_err(|e: job::table::TableError| Stop::input(e))?);
    }
    Ok(Differences { de00: ciede2000_many(&first, &second).map_err(Stop::input)? })
}

impl Answer for Differences {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{:>8}  {:>8}", "pair", "dE00")?;
        for (index, de00) in self.de00.iter().enumerate() {
            writeln!(out, "{:>8}  {de00:>8.4}", index + 1)?;
        }
        Ok(())
    }
}

/// XYZ and CIELAB by spectrum, in the file's order.
#[derive(Debug, Serialize)]
struct Labs {
    rows: Vec<Coloured>,
}

#[derive(Debug, Serialize)]
struct Coloured {
    name: String,
    #[serde(rename = "X")]
    x: f64,
    #[serde(rename = "Y")]
    y: f64,
    #[serde(rename = "Z")]
    z: f64,
    #[serde(rename = "L")]
    l: f64,
    a: f64,
    b: f64,
}

fn coloured(name: String, spectrum: &Spectrum, seen: Seen) -> Coloured {
    let xyz = tristimulus(spectrum, seen.illuminant, seen.observer);
    let Lab { l, a, b } = lab(spectrum, seen.illuminant, seen.observer);
    Coloured { name, x: xyz.x, y: xyz.y, z: xyz.z, l, a, b }
}

fn labs(path: &Path, seen: Seen) -> Result<Labs, Stop> {
    let name = file::name(path);
    let (named, warnings) = spectra::named(&name, &file::read(path)?, &TABLE).map_err(Stop::input)?;
    doubt(warnings);
    let mut rows = Vec::with_capacity(named.len());
    for found in named {
        let place = |e: &dyn std::fmt::Display| format!("{name}, row {}: {e}", found.row);
        let spectrum = Spectrum::new(found.values).map_err(|e| Stop::input(place(&e)))?;
        doubt(spectrum.warnings().iter().map(|w| place(w)));
        rows.push(coloured(found.name, &spectrum, seen));
    }
    Ok(Labs { rows })
}

impl Answer for Labs {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let mut rows = vec![row!["name", "X", "Y", "Z", "L*", "a*", "b*"]];
        rows.extend(self.rows.iter().map(|r| {
            let figures = [r.x, r.y, r.z, r.l, r.a, r.b].map(|v| format!("{v:.3}"));
            std::iter::once(r.name.clone()).chain(figures).collect()
        }));
        columns(out, &rows)
    }
}

/// Each paint of a file, from face to flop.
#[derive(Debug, Serialize)]
struct Travels {
    paints: Vec<Travelled>,
}

#[derive(Debug, Serialize)]
struct Travelled {
    name: String,
    by_angle: Vec<Coloured>,
    words: String,
    lightness: Option<f64>,
    hue_deg: Option<f64>,
    flop_index: Option<f64>,
}

fn travels(path: &Path, seen: Seen) -> Result<Travels, Stop> {
    let name = file::name(path);
    let (found, warnings) = paint::read(&name, &file::read(path)?).map_err(Stop::input)?;
    doubt(warnings);
    let mut paints = Vec::new();
    for found in found {
        let mut angles = Vec::new();
        for spectrum in &found.spectra {
            let geometry = spectrum.geometry.parse().map_err(|e| Stop::input(format!("{name}: {e}")))?;
            let values = Spectrum::from_slice(&spectrum.values).map_err(|e| Stop::input(format!("{name}: {e}")))?;
            angles.push((geometry, values));
        }
        let measurement = Measurement::new(angles).map_err(|e| Stop::input(format!("{name}: {e}")))?;
        doubt(measurement.warnings().iter().map(|w| format!("{name}: {w}")));
        let by_angle = measurement.by_angle().iter().map(|(g, s)| coloured(g.to_string(), s, seen)).collect();
        let travel = travel(&measurement, seen.illuminant, seen.observer);
        if let Ok(travel) = &travel {
            doubt(travel.warnings.iter().map(|w| format!("{name}: {w}")));
        }
        paints.push(Travelled {
            name: found.name,
            by_angle,
            words: travel.as_ref().map_or_else(ToString::to_string, colour::Travel::words),
            lightness: travel.as_ref().ok().map(|t| t.lightness),
            hue_deg: travel.as_ref().ok().and_then(|t| t.hue_deg),
            flop_index: travel.as_ref().ok().and_then(|t| t.flop_index),
        });
    }
    Ok(Travels { paints })
}

impl Answer for Travels {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        for (index, paint) in self.paints.iter().enumerate() {
            if index > 0 {
                writeln!(out)?;
            }
            let name = if paint.name.is_empty() { "this paint" } else { &paint.name };
            writeln!(out, "{name} {}", paint.words)?;
            let mut rows = vec![row!["angle", "L*", "a*", "b*"]];
            rows.extend(
                paint
                    .by_angle
                    .iter()
                    .map(|c| row![c.name, format!("{:.1}", c.l), format!("{:.1}", c.a), format!("{:.1}", c.b)]),
            );
            columns(out, &rows)?;
        }
        Ok(())
    }
}
