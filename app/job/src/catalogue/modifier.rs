//! Odds multipliers: what a car's age, climate and history do to the chance of trouble.

use super::line::{Item, Line};
use crate::table::TableError;

/// What one circumstance does to the odds of one profile of trouble.
#[derive(Debug, Clone, PartialEq)]
pub struct Modifier {
    /// Id, such as `M01`.
    pub id: String,
    /// The profile of trouble it acts on, such as `wet_box`.
    pub profile: String,
    /// The circumstance, such as `age_40yr`.
    pub factor: String,
    /// By how much it multiplies the odds.
    pub odds_multiplier: f64,
    /// Ids of the only zones it acts on, whatever their profile; empty for all zones of the profile.
    pub zones: Vec<String>,
    /// The most that several of it together may multiply the odds by, where there can be several.
    pub cap: Option<f64>,
    /// Why, in words.
    pub reasoning: String,
    /// Where the row comes from.
    pub basis: String,
}

impl Modifier {
    /// Whether it acts on this zone, which has this profile.
    pub fn acts_on(&self, zone_id: &str, profile: &str) -> bool {
        if self.zones.is_empty() { self.profile == profile } else { self.zones.iter().any(|id| id == zone_id) }
    }
}

impl Item for Modifier {
    const COLUMNS: &'static [&'static str] =
        &["modifier_id", "profile", "factor", "odds_multiplier", "zones", "cap", "reasoning", "basis"];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        Ok(Self {
            id: line.text("modifier_id")?,
            profile: line.text("profile")?,
            factor: line.text("factor")?,
            odds_multiplier: line.number("odds_multiplier", MULTIPLIER)?,
            zones: line.ids("zones")?,
            cap: line.optional_number("cap", MULTIPLIER)?,
            reasoning: line.text("reasoning")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        &self.id
    }
}

/// Nothing about a car makes trouble impossible or certain by itself.
const MULTIPLIER: std::ops::RangeInclusive<f64> = 0.001..=1000.0;
