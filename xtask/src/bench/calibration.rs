//! Learning toners from panels, as the command line does it, and beside it the same fit by a general library.

use std::path::Path;
use std::process::Command;

use anyhow::{Context, Result};

use super::report::{Row, duration, three_digits};
use super::rivals::{self, CALIBRATION};
use super::{solids, whole};
use crate::command;
use crate::workspace::Workspace;

const PANELS: &str = "demo/toners";
const ALL: &str = "16 toners learned from 90 panels (`colour calibrate`)";
const LIMIT_S: f64 = 20.0;
const RUNS: usize = 3;
/// Under this key both sides say how well they fit: CIEDE2000 between measured and computed, D65, 10 degrees.
const FIT: &str = "mean_de00";

/// Both rows. The rival fits what holds no flakes: the flakes' half of the film's equations is not written again
/// for it.
pub(super) fn rows(workspace: &Workspace, binary: &Path, scratch: &Path) -> [Row; 2] {
    let all = learn(binary, &workspace.root.join(PANELS), &scratch.join("all.json"));
    let solids = compared(workspace, binary, scratch)
        .unwrap_or_else(|error| Row::not_measured("the solid toners alone, from their panels", "", &error));
    [whole::row(ALL, LIMIT_S, all), solids]
}

fn learn(binary: &Path, panels: &Path, out: &Path) -> Result<f64> {
    std::fs::create_dir_all(out.parent().context("no folder to write to")?)?;
    whole::timed(&mut calibrate(binary, panels, out))
}

fn calibrate(binary: &Path, panels: &Path, out: &Path) -> Command {
    let mut command = Command::new(binary);
    command.args(["colour", "calibrate", "--json"]).arg(panels).arg("--out").arg(out);
    command
}

fn compared(workspace: &Workspace, binary: &Path, scratch: &Path) -> Result<Row> {
    let (folder, out) = (scratch.join("solids"), scratch.join("solids.json"));
    let (toners, panels) = solids::write(&workspace.root.join(PANELS), &folder)?;
    let times: Result<Vec<f64>> = (0..RUNS).map(|_| learn(binary, &folder, &out)).collect();
    let times = times?;
    let fastest = times.iter().copied().fold(f64::INFINITY, f64::min);
    let said = command::output(&mut calibrate(binary, &folder, &out))?;
    let ours = rivals::rate(&said, FIT).context("the program did not print how well it fits")?;
    let work = format!("{toners} solid toners learned from the {panels} panels that hold no others");
    let mut row = Row::time(work, whole::median(times), None);
    row.measured = format!("{}, {}", row.measured, fit(ours));
    match rival(workspace, &folder) {
        Ok((seconds, theirs)) => {
            row.rival = format!("{}: {}, {}", CALIBRATION.name, duration(seconds), fit(theirs));
            row.ratio = three_digits(seconds / fastest);
        }
        Err(error) => row.rival = Row::not_measured("", "", &error).measured,
    }
    Ok(row)
}

fn fit(mean_de00: f64) -> String {
    format!("mean dE00 {}", three_digits(mean_de00))
}

/// Seconds of the rival's fastest fit and how well it fits.
fn rival(workspace: &Workspace, folder: &Path) -> Result<(f64, f64)> {
    let mut best = f64::INFINITY;
    let mut mean_de00 = f64::NAN;
    for _ in 0..RUNS {
        let said = CALIBRATION.says(workspace, &[folder.as_os_str()])?;
        let read =
            |key| rivals::rate(&said, key).with_context(|| format!("{} did not print {key}", CALIBRATION.script));
        best = best.min(1.0 / read(CALIBRATION.key)?);
        mean_de00 = read(FIT)?;
    }
    Ok((best, mean_de00))
}
