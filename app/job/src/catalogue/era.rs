//! When binders, effects and pigments came to cars and left them.

use super::line::{Item, Line};
use crate::table::TableError;

/// One dated binder, layering, effect or pigment. Dates are words, since most are spans.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EraPigment {
    /// Id, such as `E15`.
    pub id: String,
    /// What it is.
    pub item: String,
    /// `binder`, `layering`, `effect`, `pigment` or `primer`.
    pub kind: String,
    /// First general use on cars.
    pub first_use: String,
    /// Rare before this; empty if not known.
    pub rare_before: String,
    /// Gone from new cars about this time; empty if still in use.
    pub gone_about: String,
    /// Hue or effect.
    pub effect: String,
    /// What comes near it today; empty if nothing is said.
    pub today: String,
    /// Where the row comes from.
    pub basis: String,
    /// How far to trust the dates.
    pub confidence: Confidence,
}

/// How far to trust a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Confidence {
    /// A guess of the trade.
    Low,
    /// Told alike in several places.
    Medium,
    /// A dated document stands behind it.
    High,
}

impl Item for EraPigment {
    const COLUMNS: &'static [&'static str] =
        &["era_id", "item", "kind", "first_use", "rare_before", "gone_about", "effect", "today", "basis", "confidence"];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        Ok(Self {
            id: line.text("era_id")?,
            item: line.text("item")?,
            kind: line.text("kind")?,
            first_use: line.text("first_use")?,
            rare_before: line.note("rare_before")?,
            gone_about: line.note("gone_about")?,
            effect: line.text("effect")?,
            today: line.note("today")?,
            basis: line.text("basis")?,
            confidence: line.word(
                "confidence",
                &[("low", Confidence::Low), ("medium", Confidence::Medium), ("high", Confidence::High)],
            )?,
        })
    }

    fn id(&self) -> &str {
        &self.id
    }
}
