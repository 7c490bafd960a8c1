//! Panel work: what replacing a whole zone takes, operation by operation, for the cross-check of the two books.

use super::line::{Item, Line};
use super::{Catalogue, Zone};
use crate::table::TableError;
use crate::words::worded;

worded! {
    /// What of a zone an operation goes by.
    pub enum GoesBy {
        /// Metres of seam.
        SeamM = "seam_m", "metres of seam";
        /// Square metres of outer face.
        AreaM2 = "area_m2", "square metres";
        /// The cavity it closes, where it closes one.
        Cavity = "cavity", "each cavity";
        /// The zone itself.
        Zone = "zone", "each zone";
    }
}

/// One operation of replacing a whole zone.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelWork {
    /// The operation.
    pub op_id: String,
    /// What of the zone it goes by.
    pub of: GoesBy,
    /// How much of the operation each of that takes, in what the operation's rate is for.
    pub times: f64,
    /// Why, in words.
    pub reasoning: String,
    /// Where the row comes from.
    pub basis: String,
}

impl Item for PanelWork {
    const COLUMNS: &'static [&'static str] = &["op_id", "of", "times", "reasoning", "basis"];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        let of: Vec<(&str, GoesBy)> = GoesBy::ALL.iter().map(|of| (of.key(), *of)).collect();
        Ok(Self {
            op_id: line.text("op_id")?,
            of: line.word("of", &of)?,
            times: line.number("times", 0.0..=1000.0)?,
            reasoning: line.text("reasoning")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        &self.op_id
    }
}

/// One zone as a whole panel in both books.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoBooks<'a> {
    /// The zone.
    pub zone: &'a Zone,
    /// Likely hours to replace it, from the zone's own row: the book that is used.
    pub by_zone_h: f64,
    /// Likely hours to replace it, from the rates of the operations.
    pub by_operations_h: f64,
}

/// Books that differ by more than this share of the zone's own hours are a question to ask. Common practice, no source.
pub const ASK_OVER: f64 = 0.4;

impl TwoBooks<'_> {
    /// By what share of the zone's own hours the other book is higher, or lower where negative.
    pub fn differs(&self) -> f64 {
        self.by_operations_h / self.by_zone_h - 1.0
    }
}

impl Catalogue {
    /// Every zone in both books, by id; they are never added, only compared.
    pub fn two_books(&self) -> impl Iterator<Item = TwoBooks<'_>> {
        self.zones().map(|zone| {
            let hours = |work: &PanelWork| {
                let much = match work.of {
                    GoesBy::SeamM => zone.seam_m,
                    GoesBy::AreaM2 => zone.area_m2,
                    GoesBy::Cavity if zone.cavity.is_empty() => 0.0,
                    GoesBy::Cavity | GoesBy::Zone => 1.0,
                };
                work.times * much * self.operation(&work.op_id).map_or(0.0, |operation| operation.rate_h().likely)
            };
            let by_operations_h = self.panel_work.values().map(hours).sum();
            TwoBooks { zone, by_zone_h: zone.hours.full.likely, by_operations_h }
        })
    }
}
