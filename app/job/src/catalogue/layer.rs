//! Coating layers: solids, films, windows and limits of each kind of coat.

use super::Spread;
use super::line::{Item, Line};
use crate::table::TableError;

/// One kind of coat. The product's own data sheet wins over every number here.
#[derive(Debug, Clone, PartialEq)]
pub struct CoatingLayer {
    /// Id, such as `L02`.
    pub id: String,
    /// What it is.
    pub name: String,
    /// Usual mixing, in words.
    pub mix: String,
    /// Volume solids ready to spray, in percent.
    pub solids_pct: Spread,
    /// Density ready to spray, in kg per litre.
    pub density_kg_l: f64,
    /// Dry film of all its coats, in um.
    pub dft_um: Spread,
    /// Usual number of coats.
    pub coats: usize,
    /// Flash time between coats at 20 deg C, in minutes.
    pub flash_min: f64,
    /// Hours at 20 deg C before it can be sanded or handled.
    pub dry_h: f64,
    /// Hours before the next layer may go on.
    pub recoat_min_h: f64,
    /// Hours after which it must be abraded first; `None` where there is no end.
    pub recoat_max_h: Option<f64>,
    /// Coldest surface it may go on, in deg C.
    pub surface_min_c: f64,
    /// Dampest air it may go on in, in percent relative humidity.
    pub rh_max_pct: f64,
    /// Share of the sprayed solids that stays on a flat panel.
    pub transfer_flat: f64,
    /// Share of the sprayed solids that stays in jambs and bays.
    pub transfer_jambs: f64,
    /// Pot life at 20 deg C, in hours; `None` where it does not set in the pot.
    pub pot_life_h: Option<f64>,
    /// What can hurt.
    pub hazard: String,
    /// What to mind; empty if nothing is said.
    pub note: String,
    /// Where the row comes from.
    pub basis: String,
}

impl Item for CoatingLayer {
    const COLUMNS: &'static [&'static str] = &[
        "layer_id",
        "layer",
        "mix",
        "solids_low_pct",
        "solids_typical_pct",
        "solids_high_pct",
        "density_kg_l",
        "dft_low_um",
        "dft_typical_um",
        "dft_high_um",
        "coats",
        "flash_min",
        "dry_h",
        "recoat_min_h",
        "recoat_max_h",
        "surface_min_c",
        "rh_max_pct",
        "transfer_flat",
        "transfer_jambs",
        "pot_life_h",
        "hazard",
        "note",
        "basis",
    ];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        let recoat_min_h = line.number("recoat_min_h", HOURS)?;
        let recoat_max_h = line.optional_number("recoat_max_h", HOURS)?;
        if recoat_max_h.is_some_and(|most| most < recoat_min_h) {
            return Err(line.refuse("recoat_max_h", format!("at least the recoat_min_h of {recoat_min_h}, or nothing")));
        }
        Ok(Self {
            id: line.text("layer_id")?,
            name: line.text("layer")?,
            mix: line.text("mix")?,
            solids_pct: line.spread(["solids_low_pct", "solids_typical_pct", "solids_high_pct"], 1.0..=100.0)?,
            density_kg_l: line.number("density_kg_l", 0.5..=5.0)?,
            dft_um: line.spread(["dft_low_um", "dft_typical_um", "dft_high_um"], 0.0..=10_000.0)?,
            coats: line.whole("coats", 1..=30)?,
            flash_min: line.number("flash_min", 0.0..=1440.0)?,
            dry_h: line.number("dry_h", HOURS)?,
            recoat_min_h,
            recoat_max_h,
            surface_min_c: line.number("surface_min_c", -20.0..=60.0)?,
            rh_max_pct: line.number("rh_max_pct", 1.0..=100.0)?,
            transfer_flat: line.number("transfer_flat", 0.05..=1.0)?,
            transfer_jambs: line.number("transfer_jambs", 0.05..=1.0)?,
            pot_life_h: line.optional_number("pot_life_h", HOURS)?,
            hazard: line.text("hazard")?,
            note: line.note("note")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        &self.id
    }
}

/// A year; a longer time is a slip of the finger.
const HOURS: std::ops::RangeInclusive<f64> = 0.0..=8760.0;
