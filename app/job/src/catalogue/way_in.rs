//! Ways in: one act that shows several zones at once.

use super::Spread;
use super::line::{Item, Line};
use crate::table::TableError;
use crate::what::How;

/// One act that shows several zones at once, and the hours it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct WayIn {
    /// Id, such as `W01`.
    pub id: String,
    /// What is done, as an order: "scope into the sill through its drain slots".
    pub act: String,
    /// How the zones are looked at then: how far its answers can be trusted.
    pub how: How,
    /// Ids of the zones it shows. The act gives the access, so they need not be those of the way of looking.
    pub zones: Vec<String>,
    /// Whether it is done on each side.
    pub sides: Sides,
    /// Hours for doing it once.
    pub hours: Spread,
    /// Why, in words.
    pub reasoning: String,
    /// Where the row comes from.
    pub basis: String,
}

/// On which sides of the car an act is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// On each side; it shows the instances of that side and those on the centre line.
    Each,
    /// Once for the car; it shows every instance.
    Once,
}

impl Item for WayIn {
    const COLUMNS: &'static [&'static str] =
        &["way_id", "act", "how", "zones", "sides", "low_h", "likely_h", "high_h", "reasoning", "basis"];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        let ways: Vec<(&str, How)> = How::ALL.iter().map(|how| (how.key(), *how)).collect();
        Ok(Self {
            id: line.text("way_id")?,
            act: line.text("act")?,
            how: line.word("how", &ways)?,
            zones: line.several("zones", 1..=MOST_ZONES)?,
            sides: line.word("sides", &[("each", Sides::Each), ("once", Sides::Once)])?,
            hours: line.spread(["low_h", "likely_h", "high_h"], 0.0..=200.0)?,
            reasoning: line.text("reasoning")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        &self.id
    }
}

/// The most zones one act may show: every answer of each doubles the work of valuing it.
const MOST_ZONES: usize = 5;
