//! How a zone that needs metal is repaired, by what was found.

use super::line::{Item, Line};
use crate::table::TableError;
use crate::what::Severity;
use crate::words::worded;

worded! {
    /// What is known of a zone when its repair is guessed at.
    pub enum Found {
        /// Nobody has seen it.
        NotOpened = "not opened", "not opened";
        /// Pits.
        Pitted = "pitted", "pitted";
        /// Wall wasted.
        Thin = "thin", "thin";
        /// Through.
        Holed = "holed", "holed";
    }
}

impl From<Severity> for Found {
    fn from(severity: Severity) -> Self {
        match severity {
            Severity::Pitted => Self::Pitted,
            Severity::Thin => Self::Thin,
            Severity::Holed => Self::Holed,
        }
    }
}

/// Out of how many repairs a patch, a section and a full panel are needed.
#[derive(Debug, Clone, PartialEq)]
pub struct RepairMix {
    /// What was found.
    pub found: Found,
    /// Share of patches.
    pub patch: f64,
    /// Share of sections.
    pub section: f64,
    /// Share of full panels.
    pub full: f64,
    /// Why, in words.
    pub reasoning: String,
    /// Where the row comes from.
    pub basis: String,
}

impl RepairMix {
    /// The shares of patch, section and full panel, which sum to 1.
    pub fn shares(&self) -> [f64; 3] {
        [self.patch, self.section, self.full]
    }
}

impl Item for RepairMix {
    const COLUMNS: &'static [&'static str] = &["found", "patch", "section", "full", "reasoning", "basis"];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        let found: Vec<(&str, Found)> = Found::ALL.iter().map(|found| (found.key(), *found)).collect();
        let mix = Self {
            found: line.word("found", &found)?,
            patch: line.number("patch", 0.0..=1.0)?,
            section: line.number("section", 0.0..=1.0)?,
            full: line.number("full", 0.0..=1.0)?,
            reasoning: line.text("reasoning")?,
            basis: line.text("basis")?,
        };
        let sum: f64 = mix.shares().iter().sum();
        // Shares are typed with two or three places; thirds need the room.
        if (sum - 1.0).abs() > 0.002 {
            return Err(line.refuse("full", format!("patch, section and full that sum to 1 (now {sum:.3})")));
        }
        Ok(mix)
    }

    fn id(&self) -> &str {
        self.found.key()
    }
}
