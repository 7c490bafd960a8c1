//! Ways of looking: what each one's answer is worth, and what it costs.

use super::Spread;
use super::line::{Item, Line};
use crate::table::TableError;
use crate::what::How;

/// What one way of looking says about a zone, and the hours it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct WayOfLooking {
    /// The way.
    pub how: How,
    /// By how much a clear look multiplies the odds that the zone needs metal.
    pub ratio_clear: f64,
    /// By how much seeing pits multiplies them.
    pub ratio_pitted: f64,
    /// Hours for one such look.
    pub hours: Spread,
    /// Ids of the only zones that can be looked at like this without opening them; empty for all.
    pub zones: Vec<String>,
    /// Why, in words.
    pub reasoning: String,
    /// Where the row comes from.
    pub basis: String,
}

impl WayOfLooking {
    /// Whether a zone can be looked at like this without opening it.
    pub fn suits(&self, zone_id: &str) -> bool {
        self.zones.is_empty() || self.zones.iter().any(|id| id == zone_id)
    }
}

impl Item for WayOfLooking {
    const COLUMNS: &'static [&'static str] =
        &["how", "ratio_clear", "ratio_pitted", "low_h", "likely_h", "high_h", "zones", "reasoning", "basis"];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        let ways: Vec<(&str, How)> = How::ALL.iter().map(|how| (how.key(), *how)).collect();
        Ok(Self {
            how: line.word("how", &ways)?,
            ratio_clear: line.number("ratio_clear", 0.001..=1.0)?,
            ratio_pitted: line.number("ratio_pitted", 1.0..=1000.0)?,
            hours: line.spread(["low_h", "likely_h", "high_h"], 0.0..=200.0)?,
            zones: line.ids("zones")?,
            reasoning: line.text("reasoning")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        self.how.key()
    }
}
