//! Climate at a panel, litres for a coat, film readings accepted or not.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Subcommand;
use coating::climate::{Air, Limits, may_spray};
use coating::quantity::{Coat, quantity};
use job::coats;
use job::table::readings;
use serde::Serialize;

use crate::answer::{Answer, columns, doubt, row, say};
use crate::file::{self, TABLE};
use crate::shop::Everywhere;
use crate::stop::Stop;

/// Climate, litres and film.
#[derive(Debug, Subcommand)]
pub(crate) enum Coating {
    /// Dew point, margin of the panel above it, and whether this is a moment to spray.
    Dew {
        /// Air, in deg C.
        #[arg(long, value_name = "DEG_C", allow_negative_numbers = true)]
        air: f64,
        /// Relative humidity, in percent.
        #[arg(long, value_name = "PERCENT", allow_negative_numbers = true)]
        rh: f64,
        /// Surface of the panel, in deg C.
        #[arg(long, value_name = "DEG_C", allow_negative_numbers = true)]
        panel: f64,
        /// A layer of the catalogue, such as L02, whose own limits count as well.
        #[arg(long, value_name = "LAYER")]
        product: Option<String>,
    },
    /// Litres ready to spray, without reserve, and the wet film.
    Litres {
        /// Area, in m2.
        #[arg(long, value_name = "M2", allow_negative_numbers = true)]
        area: f64,
        /// Dry film of all coats together, in um.
        #[arg(long, value_name = "UM", allow_negative_numbers = true)]
        dft: f64,
        /// Volume solids ready to spray, in percent.
        #[arg(long, value_name = "PERCENT", allow_negative_numbers = true)]
        solids: f64,
        /// Share of the sprayed solids that stays on the panel, 0.05 to 1.
        #[arg(long, value_name = "SHARE", allow_negative_numbers = true)]
        transfer: f64,
    },
    /// Whether film readings agree with the film that was wanted.
    Accept {
        /// One reading in um a row.
        #[arg(value_name = "READINGS.csv")]
        readings: PathBuf,
        /// Nominal dry film, in um.
        #[arg(long, value_name = "UM", allow_negative_numbers = true)]
        nominal: f64,
    },
}

impl Coating {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        let json = everywhere.json;
        match self {
            Self::Dew { air, rh, panel, product } => {
                let limits = limits(everywhere, product.as_deref())?;
                let decision =
                    may_spray(Air { temperature_c: air, rh_pct: rh }, panel, &limits).map_err(Stop::input)?;
                doubt(&decision.warnings);
                let (dew_point_c, margin_c) = (decision.dew_point_c, decision.margin_c);
                say(&Dew { dew_point_c, margin_c, spray: decision.spray, why: decision.why }, json)
            }
            Self::Litres { area, dft, solids, transfer } => {
                let coat = Coat { area_m2: area, dft_um: dft, solids_pct: solids, transfer };
                let taken = quantity(&coat).map_err(Stop::input)?;
                let answer = Litres { litres: taken.litres, wet_um: taken.wet_um, coverage_m2_l: taken.coverage_m2_l };
                say(&answer, json)
            }
            Self::Accept { readings, nominal } => say(&accept(&readings, nominal)?, json),
        }
    }
}

/// The usual limits, or those of a layer of the catalogue.
fn limits(everywhere: &Everywhere, product: Option<&str>) -> Result<Limits, Stop> {
    let Some(id) = product else { return Ok(coats::limits(None)) };
    let catalogue = everywhere.catalogue()?;
    match catalogue.layer(id) {
        Some(layer) => Ok(coats::limits(Some(layer))),
        None => {
            let known: Vec<&str> = catalogue.layers().map(|l| l.id.as_str()).collect();
            let known = known.join(", ");
            Err(Stop::input(format!("--product: \"{id}\" is no layer of the catalogue; it has {known}")))
        }
    }
}

#[derive(Debug, Serialize)]
struct Dew {
    dew_point_c: f64,
    margin_c: f64,
    spray: bool,
    why: String,
}

impl Answer for Dew {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{}: {}", if self.spray { "Yes" } else { "Not yet" }, self.why)?;
        columns(
            out,
            &[
                row!["dew point, deg C", "margin, deg C"],
                row![format!("{:.1}", self.dew_point_c), format!("{:.1}", self.margin_c)],
            ],
        )
    }
}

#[derive(Debug, Serialize)]
struct Litres {
    litres: f64,
    wet_um: f64,
    coverage_m2_l: f64,
}

impl Answer for Litres {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(
            out,
            &[
                row!["litres ready to spray", "wet film, um", "m2 a litre covers"],
                row![
                    format!("{:.2}", self.litres),
                    format!("{:.0}", self.wet_um),
                    format!("{:.1}", self.coverage_m2_l)
                ],
            ],
        )
    }
}

#[derive(Debug, Serialize)]
struct Accept {
    accept: bool,
    mean_um: f64,
    below: usize,
    why: String,
}

fn accept(path: &Path, nominal_um: f64) -> Result<Accept, Stop> {
    let name = file::name(path);
    let read = readings::read(&name, &file::read(path)?, &TABLE).map_err(Stop::input)?;
    doubt(&read.warnings);
    let judged = coats::judge_film(&read.film_um, nominal_um);
    let judged = judged.map_err(|(field, why)| match field {
        "nominal_um" => Stop::input(format!("--nominal: {why}")),
        _ => Stop::input(format!("{name}: {why}")),
    })?;
    doubt(&judged.warnings);
    Ok(Accept { accept: judged.accept, mean_um: judged.mean_um, below: judged.below, why: judged.why })
}

impl Answer for Accept {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{}: {}", if self.accept { "Accepted" } else { "Not accepted" }, self.why)?;
        columns(out, &[row!["mean, um", "under nominal"], row![format!("{:.1}", self.mean_um), self.below]])
    }
}
