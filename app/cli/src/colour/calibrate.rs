//! Toners learned from sprayed panels.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::Path;

use base::Warning;
use colour::{Calibration, Panels};
use job::panels::{self, LabFile, LabFiles};
use job::pigment::Pigments;
use job::shelf_file::{self, Learned, ShelfFile, ToSpray};
use serde::Serialize;

use super::work::watched;
use crate::answer::{Answer, columns, doubt, row};
use crate::file;
use crate::stop::Stop;

/// How many of the panels that fit worst are told.
const WORST: usize = 10;

/// Learns the toners of a lab folder and writes them.
///
/// # Errors
/// When a file of the folder is missing or not as it should be, or the toners cannot be written.
pub(super) fn learned(folder: &Path, out: &Path) -> Result<Taught, Stop> {
    file::writable(out)?;
    let (panels, pigments) = read(folder)?;
    let calibration = watched("learning the toners", |watch| colour::calibrate(&panels, watch))?;
    let calibration = calibration.map_err(|e| Stop::input(format!("{}: {e}", file::name(folder))))?;
    if calibration.stopped {
        doubt(["stopped before it was done; these are the toners as far as they were learned"]);
    }
    let shelf = shelf(&panels, &calibration, pigments);
    file::write(out, shelf_file::write(&shelf).as_bytes())?;
    // What is doubtful about the panels was told when they were read.
    let said = panels.warnings();
    let fresh = |warning: &&Warning| !said.contains(warning);
    doubt(calibration.warnings.iter().filter(fresh));
    let next = shelf.learned.map(|learned| learned.next).unwrap_or_default();
    Ok(Taught::of(&panels, &calibration, next, file::name(out)))
}

/// The panels of a lab folder, and the pigments of its toners.
fn read(folder: &Path) -> Result<(Panels, Pigments), Stop> {
    if !folder.is_dir() {
        let four = panels::NAMES.join(", ");
        return Err(Stop::input(format!("{}: no such folder; needed: one with {four}", file::name(folder))));
    }
    let [toners, panels, measurements, substrate] = panels::NAMES.map(|name| {
        let path = folder.join(name);
        Ok::<_, Stop>((file::name(&path), file::read(&path)?))
    });
    let (toners, panels, measurements, substrate) = (toners?, panels?, measurements?, substrate?);
    let files = LabFiles {
        toners: given(&toners),
        panels: given(&panels),
        measurements: given(&measurements),
        substrate: given(&substrate),
    };
    let (lab, doubts) = panels::read(&files).map_err(Stop::input)?;
    doubt(doubts);
    Ok((lab.panels, lab.pigments))
}

fn given((name, bytes): &(String, Vec<u8>)) -> LabFile<'_> {
    LabFile { name, bytes }
}

/// The toner file of a calibration.
pub(crate) fn shelf(panels: &Panels, calibration: &Calibration, pigments: Pigments) -> ShelfFile {
    let learned = Learned::of(panels, calibration, panels::NAMES.map(String::from).to_vec());
    ShelfFile { shelf: calibration.shelf.clone(), learned: Some(learned), pigments }
}

/// What was learned, and how well.
#[derive(Debug, Serialize)]
pub(super) struct Taught {
    file: String,
    toners: usize,
    panels: usize,
    mean_de00: f64,
    p90_de00: f64,
    by_toner: BTreeMap<String, ByToner>,
    worst_panels: Vec<Worst>,
    next: Vec<ToSpray>,
    warnings: Vec<String>,
    stopped: bool,
}

#[derive(Debug, Serialize)]
struct ByToner {
    mean_de00: f64,
    panels: usize,
    doubts: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Worst {
    panel_id: String,
    de00: f64,
}

impl Taught {
    fn of(panels: &Panels, calibration: &Calibration, next: Vec<ToSpray>, file: String) -> Self {
        let by_toner = calibration.by_toner.iter().filter_map(|fit| {
            let name = calibration.shelf.toners().get(fit.toner)?.name.clone();
            let doubts = fit.warnings.iter().map(ToString::to_string).collect();
            Some((name, ByToner { mean_de00: fit.mean_de00, panels: fit.panels, doubts }))
        });
        let mut worst: Vec<Worst> = calibration
            .fits
            .iter()
            .filter_map(|fit| Some((panels.panels().get(fit.panel)?, fit)))
            .map(|(panel, fit)| Worst { panel_id: panel.name.clone(), de00: fit.mean_de00 })
            .collect();
        worst.sort_by(|a, b| b.de00.total_cmp(&a.de00));
        worst.truncate(WORST);
        Self {
            file,
            toners: calibration.shelf.toners().len(),
            panels: panels.panels().len(),
            mean_de00: calibration.mean_de00,
            p90_de00: calibration.p90_de00,
            by_toner: by_toner.collect(),
            worst_panels: worst,
            next,
            warnings: calibration.warnings.iter().map(ToString::to_string).collect(),
            stopped: calibration.stopped,
        }
    }
}

impl Answer for Taught {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(
            out,
            "{} toners from {} panels: mean dE00 {:.2}, nine in ten under {:.2}; written to {}\n",
            self.toners, self.panels, self.mean_de00, self.p90_de00, self.file
        )?;
        let mut rows = vec![row!["toner", "panels", "mean dE00"]];
        rows.extend(self.by_toner.iter().map(|(name, fit)| row![name, fit.panels, format!("{:.2}", fit.mean_de00)]));
        columns(out, &rows)?;
        writeln!(out)?;
        let mut rows = vec![row!["worst panels", "dE00"]];
        rows.extend(self.worst_panels.iter().map(|worst| row![worst.panel_id, format!("{:.2}", worst.de00)]));
        columns(out, &rows)?;
        for (name, fit) in &self.by_toner {
            for doubt in &fit.doubts {
                writeln!(out, "{name}: {doubt}")?;
            }
        }
        if self.next.is_empty() {
            return Ok(());
        }
        writeln!(out, "\nSpray next, in g dry matter of 100 g dry film")?;
        let mut rows = vec![row!["panel", "toners", "film um", "primer", "unsure, L*"]];
        for panel in &self.next {
            let toners: Vec<String> =
                panel.fractions.iter().map(|(toner, part)| format!("{:.2} {toner}", 100.0 * part)).collect();
            let name = format!("{}, {}", panel.toner, panel.words);
            let film = format!("{:.0}", panel.film_um);
            rows.push(row![name, toners.join(" + "), film, panel.primer, format!("{:.1}", panel.unsure)]);
        }
        columns(out, &rows)
    }
}
