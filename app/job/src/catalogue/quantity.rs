//! Quantities: how much of each operation a car takes, besides what the zone hours hold.

use super::Spread;
use super::line::{Item, Line};
use crate::table::TableError;
use crate::worked::Part;

/// How much of one operation a car takes.
#[derive(Debug, Clone, PartialEq)]
pub struct JobQuantity {
    /// The operation.
    pub op_id: String,
    /// The part of the job it belongs to; never opening or metal, which are in the zone hours.
    pub stage: Part,
    /// How much of it, in what the operation's rate is for: cars, m2, m, cards.
    pub quantity: Spread,
    /// Why, in words.
    pub reasoning: String,
    /// Where the row comes from.
    pub basis: String,
}

impl Item for JobQuantity {
    const COLUMNS: &'static [&'static str] =
        &["op_id", "stage", "quantity_low", "quantity_likely", "quantity_high", "reasoning", "basis"];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        let outside_zone_hours = |part: &&Part| !matches!(part, Part::Opening | Part::Metal);
        let stages: Vec<(&str, Part)> =
            Part::ALL.iter().filter(outside_zone_hours).map(|part| (part.key(), *part)).collect();
        Ok(Self {
            op_id: line.text("op_id")?,
            stage: line.word("stage", &stages)?,
            quantity: line.spread(["quantity_low", "quantity_likely", "quantity_high"], 0.0..=2000.0)?,
            reasoning: line.text("reasoning")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        &self.op_id
    }
}
