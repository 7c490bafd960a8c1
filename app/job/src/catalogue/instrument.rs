//! Instruments and how far their readings can be trusted.

use super::line::{Item, Line};
use crate::table::TableError;

/// An instrument and its usual precision.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Id, such as `film_gauge`.
    pub id: String,
    /// What it is.
    pub name: String,
    /// What it reads.
    pub measures: Quantity,
    /// The part of its plus-or-minus that does not grow with the reading, in the quantity's unit.
    pub precision_abs: f64,
    /// The part that does, in percent of the reading.
    pub precision_rel_pct: f64,
    /// What to mind; empty if nothing is said.
    pub note: String,
    /// Where the row comes from.
    pub basis: String,
}

impl Instrument {
    /// The plus-or-minus of one reading, in the unit of the quantity.
    pub fn precision_at(&self, reading: f64) -> f64 {
        self.precision_abs + self.precision_rel_pct / 100.0 * reading.abs()
    }
}

/// What an instrument reads, and in which unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Quantity {
    /// Dry film in um.
    FilmUm,
    /// Wet film in um.
    WetFilmUm,
    /// Thickness of a wall in mm.
    WallMm,
    /// Depth of a pit in mm.
    PitMm,
    /// Width of a gap in mm.
    GapMm,
    /// Step between two panels in mm.
    FlushMm,
    /// Length or distance in mm.
    LengthMm,
    /// Angle in degrees.
    AngleDeg,
    /// Temperature of the air in deg C.
    AirC,
    /// Temperature of the panel in deg C.
    PanelC,
    /// Relative humidity in percent.
    RhPct,
    /// Mass in g.
    MassG,
    /// Difference between two colours.
    ColourDe,
}

impl Quantity {
    /// Every quantity.
    pub const ALL: [Self; 13] = [
        Self::FilmUm,
        Self::WetFilmUm,
        Self::WallMm,
        Self::PitMm,
        Self::GapMm,
        Self::FlushMm,
        Self::LengthMm,
        Self::AngleDeg,
        Self::AirC,
        Self::PanelC,
        Self::RhPct,
        Self::MassG,
        Self::ColourDe,
    ];

    /// The word that files use, its unit last.
    pub fn id(self) -> &'static str {
        match self {
            Self::FilmUm => "film_um",
            Self::WetFilmUm => "wet_film_um",
            Self::WallMm => "wall_mm",
            Self::PitMm => "pit_mm",
            Self::GapMm => "gap_mm",
            Self::FlushMm => "flush_mm",
            Self::LengthMm => "length_mm",
            Self::AngleDeg => "angle_deg",
            Self::AirC => "air_c",
            Self::PanelC => "panel_c",
            Self::RhPct => "rh_pct",
            Self::MassG => "mass_g",
            Self::ColourDe => "colour_de",
        }
    }

    /// The quantity that this word stands for.
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|quantity| quantity.id() == id)
    }
}

impl Item for Instrument {
    const COLUMNS: &'static [&'static str] =
        &["instrument_id", "name", "measures", "precision_abs", "precision_rel_pct", "note", "basis"];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        Ok(Self {
            id: line.text("instrument_id")?,
            name: line.text("name")?,
            measures: line.word("measures", &Quantity::ALL.map(|q| (q.id(), q)))?,
            precision_abs: line.number("precision_abs", 0.0..=1000.0)?,
            precision_rel_pct: line.number("precision_rel_pct", 0.0..=100.0)?,
            note: line.note("note")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        &self.id
    }
}
