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
    /// Share of sound zones, 0 to 1, that show pits when looked at like this.
    pub sound_pitted: f64,
    /// Hours for one such look.
    pub hours: Spread,
    /// Ids of the only zones that can be looked at like this without opening them; empty for all.
    pub zones: Vec<String>,
    /// Why, in words.
    pub reasoning: String,
    /// Where the row comes from.
    pub basis: String,
}

/// How often a look gives one of its answers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tell {
    /// Chance of it, 0 to 1, when the zone is sound.
    pub sound: f64,
    /// Chance of it, 0 to 1, when the zone needs metal.
    pub bad: f64,
}

/// How often a look gives each of its answers; those of a sound zone sum to 1, and those of a bad one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tells {
    /// Nothing was found.
    pub clear: Tell,
    /// Pits were seen.
    pub pitted: Tell,
    /// It was seen thin or holed, which a sound zone never is.
    pub bad: Tell,
}

impl WayOfLooking {
    /// How often such a look gives each of its answers: what the two ratios and [`Self::sound_pitted`] leave open
    /// for neither, because the three of a zone sum to 1.
    pub fn tells(&self) -> Tells {
        let clear = Tell { sound: 1.0 - self.sound_pitted, bad: self.ratio_clear * (1.0 - self.sound_pitted) };
        let pitted = Tell { sound: self.sound_pitted, bad: self.ratio_pitted * self.sound_pitted };
        // The last bits of a sum that was checked to be at most 1.
        let bad = Tell { sound: 0.0, bad: (1.0 - clear.bad - pitted.bad).max(0.0) };
        Tells { clear, pitted, bad }
    }

    /// Whether a zone can be looked at like this without opening it.
    pub fn suits(&self, zone_id: &str) -> bool {
        self.zones.is_empty() || self.zones.iter().any(|id| id == zone_id)
    }
}

impl Item for WayOfLooking {
    const COLUMNS: &'static [&'static str] = &[
        "how",
        "ratio_clear",
        "ratio_pitted",
        "sound_pitted",
        "low_h",
        "likely_h",
        "high_h",
        "zones",
        "reasoning",
        "basis",
    ];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        let ways: Vec<(&str, How)> = How::ALL.iter().map(|how| (how.key(), *how)).collect();
        let way = Self {
            how: line.word("how", &ways)?,
            ratio_clear: line.number("ratio_clear", 0.001..=1.0)?,
            ratio_pitted: line.number("ratio_pitted", 1.0..=1000.0)?,
            sound_pitted: line.number("sound_pitted", 0.0..=1.0)?,
            hours: line.spread(["low_h", "likely_h", "high_h"], 0.0..=200.0)?,
            zones: line.ids("zones")?,
            reasoning: line.text("reasoning")?,
            basis: line.text("basis")?,
        };
        // A bad zone looks clear or pitted at most always.
        let both = way.ratio_clear * (1.0 - way.sound_pitted) + way.ratio_pitted * way.sound_pitted;
        if both > 1.0 {
            let wanted = format!(
                "a share with which a bad zone is seen clear or pitted no more than always: \
                 ratio_clear x (1 - sound_pitted) + ratio_pitted x sound_pitted is at most 1 (now {both:.3})"
            );
            return Err(line.refuse("sound_pitted", wanted));
        }
        Ok(way)
    }

    fn id(&self) -> &str {
        self.how.key()
    }
}
