//! A folder of sprayed panels, as the colour engine learns toners from it.
//!
//! Four tables: `toners.csv` (toner, kind, density_g_cm3, max_mass_fraction; where a tin is not dry matter alone,
//! solids_mass_fraction; where its maker tells it, pigment: the Colour Index generic name), `panels.csv` (panel_id, a column of mass fractions of the dry film for each
//! toner, binder, dft_um_gauge, substrate), `measurements.csv` (panel_id, geometry, 400 to 700 nm) and
//! `substrate.csv` (substrate, 400 to 700 nm: diffuse reflectance seen from inside the film). Columns stand in
//! any order. What does not hang together is refused by file, row and column.

use std::collections::BTreeMap;

use base::Warning;
use colour::{
    CalibrateError, MOST_PANELS, MOST_SUBSTRATES, MOST_TONERS, Measurement, Panel, Panels, Part, Spectrum, Substrate,
    TonerInfo, TonerKind,
};

use crate::mixing::BINDER;
use crate::paint::{self, angle, disorder};
use crate::pigment::{self, Pigments};
use crate::shelf_file::kinds;
use crate::table::spectra::{self, MeasuredRows};
use crate::table::{Column, Limits, Row, Table, TableError, shown};

/// The files of a lab folder, in the order of [`LabFiles`].
pub const NAMES: [&str; 4] = ["toners.csv", "panels.csv", "measurements.csv", "substrate.csv"];

/// How much of each table is taken: 2 000 panels by six angles, and a column for each of 80 toners.
pub const LIMITS: Limits = Limits { bytes: 16 * 1024 * 1024, rows: 20_000, columns: 120, cell_bytes: 4096 };

/// What the fractions of a panel may miss one by: they were weighed and rounded.
const SUM_SLACK: f64 = 0.002;
/// A flake toner's least fraction that makes a panel an effect paint.
const FLAKE: f64 = 0.02;
/// An effect panel has at least this much L\* between its angles, or it is not judged.
const FLAKE_RANGE: f64 = 8.0;
/// A primer darker than this on average serves as the black background: N4 is 0.12, N5 is 0.19.
const DARK: f64 = 0.15;
/// How many doubts about panels are told one by one.
const MOST_DOUBTS: usize = 60;

/// One file as it came.
#[derive(Debug, Clone, Copy)]
pub struct LabFile<'a> {
    /// The name that messages give.
    pub name: &'a str,
    /// Its bytes.
    pub bytes: &'a [u8],
}

/// The four files of a lab folder.
#[derive(Debug, Clone, Copy)]
pub struct LabFiles<'a> {
    /// `toners.csv`.
    pub toners: LabFile<'a>,
    /// `panels.csv`.
    pub panels: LabFile<'a>,
    /// `measurements.csv`.
    pub measurements: LabFile<'a>,
    /// `substrate.csv`.
    pub substrate: LabFile<'a>,
}

/// Why the files make no set of panels.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PanelsError {
    /// A table cannot be read, or a cell does not fit the others.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A column that is no toner.
    #[error(
        "{}, heading: the column {} is no toner of {}; it has {}",
        shown(.file), shown(.column), shown(.toners), shown(.known)
    )]
    UnknownToner {
        /// The file of panels.
        file: String,
        /// The column.
        column: String,
        /// The file of toners.
        toners: String,
        /// The toners it names.
        known: String,
    },
    /// No panel over black.
    #[error(
        "{}, column substrate: no panel stands over a dark primer ({}); spray each toner over black as well as over white: without the black background nobody can tell what a toner scatters from what shines through",
        shown(.file), shown(.found)
    )]
    NoDark {
        /// The file of panels.
        file: String,
        /// The primers that were used.
        found: String,
    },
    /// The engine cannot learn from them.
    #[error("{}: {why}", shown(.file))]
    Calibrate {
        /// The file of panels.
        file: String,
        /// Why not.
        why: CalibrateError,
    },
}

/// Panels to learn from, with what the engine does not need to know of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Lab {
    /// What the engine learns from.
    pub panels: Panels,
    /// The series of each panel, such as masstone or let-down; empty where the file says nothing.
    pub series: Vec<String>,
    /// The pigments of the toners whose maker tells them; they go into the toner file.
    pub pigments: Pigments,
}

/// Reads a lab folder, with what was doubtful about it.
///
/// # Errors
/// [`PanelsError`], naming file, row and column.
pub fn read(files: &LabFiles<'_>) -> Result<(Lab, Vec<Warning>), PanelsError> {
    let mut doubts = Vec::new();
    let (toners, pigments) = toners(&files.toners, &mut doubts)?;
    let substrates = substrates(&files.substrate, &mut doubts)?;
    let mut readings = readings(&files.measurements, &mut doubts)?;
    let table = Table::read(files.panels.name, files.panels.bytes, &LIMITS)?;
    doubts.extend(table.warnings().iter().cloned());
    let sheet = Sheet::of(&table, files, &toners, &substrates)?;
    let rows = table.rows().len();
    if let Some(over) = table.rows().nth(MOST_PANELS) {
        return Err(over.refuse(&sheet.panel, format!("at most {MOST_PANELS} panels; the file has {rows}")).into());
    }
    let (mut panels, mut series): (Vec<Panel>, Vec<String>) = (Vec::new(), Vec::new());
    let mut odd = Vec::new();
    for row in table.rows() {
        let panel = sheet.panel(&row, &mut readings, &panels, &mut odd)?;
        series.push(sheet.series.as_ref().map_or(String::new(), |column| row.cell(column).to_owned()));
        panels.push(panel);
    }
    // Whatever is left was measured on a panel that nobody described.
    if let Some((name, row)) = readings.first_left() {
        return Err(TableError::Value {
            file: files.measurements.name.into(),
            row,
            column: "panel_id".into(),
            value: name,
            wanted: format!("a panel that {} describes", files.panels.name),
        }
        .into());
    }
    doubts.extend(few(odd));
    doubts.extend(light_only(&toners, &substrates, &panels));
    let dark = |panel: &Panel| substrates.get(panel.substrate).is_some_and(is_dark);
    if !panels.iter().any(dark) {
        let mut found: Vec<&str> = panels
            .iter()
            .filter_map(|panel| substrates.get(panel.substrate))
            .map(|primer| primer.name.as_str())
            .collect();
        found.sort_unstable();
        found.dedup();
        return Err(PanelsError::NoDark { file: files.panels.name.into(), found: found.join(", ") });
    }
    let panels = Panels::new(toners, substrates, panels)
        .map_err(|why| PanelsError::Calibrate { file: files.panels.name.into(), why })?;
    doubts.extend(panels.warnings());
    Ok((Lab { panels, series, pigments }, doubts))
}

fn toners(file: &LabFile<'_>, doubts: &mut Vec<Warning>) -> Result<(Vec<TonerInfo>, Pigments), TableError> {
    let table = Table::read(file.name, file.bytes, &LIMITS)?;
    let names = ["toner", "kind", "density_g_cm3", "max_mass_fraction"];
    let [name, kind, density, most] = names.map(|name| table.column(name));
    let (name, kind, density, most) = (name?, kind?, density?, most?);
    let solids = table.optional_column("solids_mass_fraction");
    let named = table.optional_column("pigment");
    doubts.extend(table.warnings().iter().cloned());
    doubts.extend(table.unknown_columns(&[&names[..], &["solids_mass_fraction", "pigment"]].concat()));
    let rows = table.rows().len();
    if let Some(over) = table.rows().nth(MOST_TONERS) {
        return Err(over.refuse(&name, format!("at most {MOST_TONERS} toners; the file has {rows}")));
    }
    let (mut toners, mut pigments): (Vec<TonerInfo>, Pigments) = (Vec::new(), Pigments::new());
    for row in table.rows() {
        let toner = row.text(&name)?;
        if RESERVED.iter().any(|word| word.eq_ignore_ascii_case(toner)) {
            return Err(row.refuse(&name, "another name: this one is a column of the panels"));
        }
        if toners.iter().any(|other| other.name.eq_ignore_ascii_case(toner)) {
            return Err(row.refuse(&name, "each toner once"));
        }
        if let Some(column) = &named
            && !row.cell(column).is_empty()
        {
            let known = row.cell(column).parse().map_err(|_| row.refuse(column, pigment::WANTED))?;
            pigments.insert(toner.to_owned(), known);
        }
        let word = row.text(&kind)?;
        let known = TonerKind::ALL.into_iter().find(|known| known.word().eq_ignore_ascii_case(word));
        toners.push(TonerInfo {
            name: toner.to_owned(),
            kind: known.ok_or_else(|| row.refuse(&kind, kinds()))?,
            density_g_cm3: row.f64(&density, 0.5..=25.0)?,
            max_fraction: row.f64(&most, 0.0001..=0.9)?,
            solids_fraction: match &solids {
                Some(column) => row.optional_f64(column, 0.01..=1.0)?,
                None => None,
            },
        });
    }
    Ok((toners, pigments))
}

fn substrates(file: &LabFile<'_>, doubts: &mut Vec<Warning>) -> Result<Vec<Substrate>, TableError> {
    let (found, warnings) = spectra::primers(file.name, file.bytes, &LIMITS)?;
    doubts.extend(warnings);
    let mut substrates: Vec<Substrate> = Vec::new();
    for primer in found {
        let refuse = |wanted: String| TableError::Value {
            file: file.name.into(),
            row: primer.row,
            column: "substrate".into(),
            value: primer.name.clone(),
            wanted,
        };
        if substrates.len() == MOST_SUBSTRATES {
            return Err(refuse(format!("at most {MOST_SUBSTRATES} primers")));
        }
        if substrates.iter().any(|other| other.name == primer.name) {
            return Err(refuse("each primer once".into()));
        }
        let reflectance = Spectrum::new(primer.values).map_err(|e| refuse(e.to_string()))?;
        substrates.push(Substrate { name: primer.name, reflectance });
    }
    Ok(substrates)
}

/// What was measured, until a panel claims it.
struct Readings {
    file: String,
    left: BTreeMap<String, MeasuredRows>,
    /// The most angles that any panel has.
    angles: usize,
}

impl Readings {
    /// The reading that stands first in the file of those that no panel claimed.
    fn first_left(&self) -> Option<(String, usize)> {
        let row = |rows: &MeasuredRows| rows.rows.first().map_or(0, |row| row.row);
        self.left.iter().min_by_key(|(_, rows)| row(rows)).map(|(name, rows)| (name.clone(), row(rows)))
    }
}

fn readings(file: &LabFile<'_>, doubts: &mut Vec<Warning>) -> Result<Readings, TableError> {
    let (groups, warnings) = spectra::panels(file.name, file.bytes, &LIMITS)?;
    doubts.extend(warnings);
    let angles = groups.iter().map(|group| group.rows.len()).max().unwrap_or(0);
    let left: BTreeMap<String, MeasuredRows> = groups.into_iter().map(|group| (group.id.clone(), group)).collect();
    Ok(Readings { file: file.name.into(), left, angles })
}

/// Columns of the panels that are no toner.
const RESERVED: [&str; 6] = ["panel_id", "series", BINDER, "dft_um_gauge", "substrate", "note"];

/// The table of panels, its columns found.
struct Sheet<'a> {
    panel: Column,
    series: Option<Column>,
    binder: Option<Column>,
    film: Column,
    substrate: Column,
    fractions: Vec<Column>,
    toners: &'a [TonerInfo],
    substrates: &'a [Substrate],
}

impl<'a> Sheet<'a> {
    fn of(
        table: &Table,
        files: &LabFiles<'_>,
        toners: &'a [TonerInfo],
        substrates: &'a [Substrate],
    ) -> Result<Self, PanelsError> {
        let known = |column: &str| {
            RESERVED.iter().any(|name| name.eq_ignore_ascii_case(column))
                || toners.iter().any(|toner| toner.name.eq_ignore_ascii_case(column))
        };
        if let Some(column) = table.heading().iter().find(|column| !known(column)) {
            let names: Vec<&str> = toners.iter().map(|toner| toner.name.as_str()).collect();
            return Err(PanelsError::UnknownToner {
                file: files.panels.name.into(),
                column: column.clone(),
                toners: files.toners.name.into(),
                known: names.join(", "),
            });
        }
        Ok(Self {
            panel: table.column("panel_id")?,
            series: table.optional_column("series"),
            binder: table.optional_column(BINDER),
            film: table.column("dft_um_gauge")?,
            substrate: table.column("substrate")?,
            fractions: toners.iter().map(|toner| table.column(&toner.name)).collect::<Result<_, _>>()?,
            toners,
            substrates,
        })
    }

    fn panel(
        &self,
        row: &Row<'_>,
        readings: &mut Readings,
        before: &[Panel],
        odd: &mut Vec<Warning>,
    ) -> Result<Panel, TableError> {
        let name = row.text(&self.panel)?.to_owned();
        if before.iter().any(|other| other.name == name) {
            return Err(row.refuse(&self.panel, "each panel once"));
        }
        let parts = self.parts(row)?;
        let film_um = row.f64(&self.film, 0.5..=500.0)?;
        let primer = row.text(&self.substrate)?;
        let substrate = self.substrates.iter().position(|known| known.name == primer).ok_or_else(|| {
            let names: Vec<&str> = self.substrates.iter().map(|known| known.name.as_str()).collect();
            row.refuse(&self.substrate, format!("one of {}", names.join(", ")))
        })?;
        let Some(rows) = readings.left.remove(&name) else {
            return Err(row.refuse(&self.panel, format!("a panel that {} has readings of", readings.file)));
        };
        if rows.rows.len() < readings.angles {
            let (has, most) = (rows.rows.len(), readings.angles);
            odd.push(Warning::new(format!("{name} was measured at {has} angles, others at {most}")));
        }
        let measured = measurement(&readings.file, &rows, odd)?;
        let flake = |part: &Part| {
            part.fraction >= FLAKE && self.toners.get(part.toner).is_some_and(|toner| toner.kind.is_flake())
        };
        if parts.iter().any(flake) {
            odd.extend(disorder(&measured, FLAKE_RANGE).map(|why| Warning::new(format!("{name}: {why}"))));
        }
        odd.extend(measured.warnings().into_iter().map(|doubt| Warning::new(format!("{name}: {doubt}"))));
        Ok(Panel { name, parts, film_um, substrate, measured })
    }

    /// The toners of one panel; with the binder they add up to one.
    fn parts(&self, row: &Row<'_>) -> Result<Vec<Part>, TableError> {
        let (mut parts, mut load) = (Vec::new(), 0.0);
        let mut last = &self.panel;
        for (toner, column) in self.fractions.iter().enumerate() {
            let fraction = row.optional_f64(column, 0.0..=1.0)?.unwrap_or(0.0);
            if fraction > 0.0 {
                parts.push(Part { toner, fraction });
                (load, last) = (load + fraction, column);
            }
        }
        if parts.is_empty() {
            return Err(row.refuse(&self.panel, "a panel with at least one toner"));
        }
        let rest = 1.0 - load;
        match &self.binder {
            Some(column) => {
                let binder = row.f64(column, 0.0..=1.0)?;
                if (binder - rest).abs() > SUM_SLACK {
                    let wanted = format!(
                        "what the toners leave over of 1, {rest:.4} (to {SUM_SLACK}): they are mass fractions of the dry film"
                    );
                    return Err(row.refuse(column, wanted));
                }
            }
            None if rest < -SUM_SLACK => {
                let wanted = format!("fractions that leave room for each other: they add up to {load:.4}, over 1");
                return Err(row.refuse(last, wanted));
            }
            None => {}
        }
        Ok(parts)
    }
}

fn measurement(file: &str, rows: &MeasuredRows, odd: &mut Vec<Warning>) -> Result<Measurement, TableError> {
    let mut angles = Vec::new();
    for reading in &rows.rows {
        let refuse = |column: &str, value: &str, wanted: String| TableError::Value {
            file: file.into(),
            row: reading.row,
            column: column.into(),
            value: value.into(),
            wanted,
        };
        let Some(angle) = angle(&reading.geometry) else {
            return Err(refuse("geometry", &reading.geometry, format!("one of {}", paint::KNOWN)));
        };
        let spectrum = Spectrum::new(reading.values).map_err(|e| refuse("400 to 700", &rows.id, e.to_string()))?;
        odd.extend(angle.lost.map(|lost| Warning::new(format!("{}: {lost}", rows.id))));
        angles.push((angle.geometry, spectrum));
    }
    let row = rows.rows.first().map_or(0, |row| row.row);
    Measurement::new(angles).map_err(|e| TableError::Value {
        file: file.into(),
        row,
        column: "geometry".into(),
        value: rows.id.clone(),
        wanted: format!("each angle once ({e})"),
    })
}

fn is_dark(primer: &Substrate) -> bool {
    let values = primer.reflectance.values();
    values.iter().sum::<f64>() / (values.len() as f64) < DARK
}

/// Toners that stand over light primers alone: what they scatter cannot be told.
fn light_only(toners: &[TonerInfo], substrates: &[Substrate], panels: &[Panel]) -> Vec<Warning> {
    let over_dark = |index: usize| {
        let has = |panel: &&Panel| panel.parts.iter().any(|part| part.toner == index);
        panels.iter().filter(has).any(|panel| substrates.get(panel.substrate).is_some_and(is_dark))
    };
    let light = (0..).zip(toners).filter(|(index, _)| !over_dark(*index));
    light.map(|(_, toner)| Warning::new(format!("{} stands on no panel over black; spray one", toner.name))).collect()
}

/// As many doubts as somebody reads, the last saying how many more there were.
fn few(mut doubts: Vec<Warning>) -> Vec<Warning> {
    let more = doubts.len().saturating_sub(MOST_DOUBTS);
    doubts.truncate(MOST_DOUBTS);
    if more > 0 {
        doubts.push(Warning::new(format!("and {more} doubts more about single panels")));
    }
    doubts
}
