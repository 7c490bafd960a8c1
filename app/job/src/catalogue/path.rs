//! Wet paths: zones that water reaches together.

use super::line::{Item, Line};
use crate::table::TableError;

/// Zones that water reaches together; on one side of the car they share how wet they were.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WetPath {
    /// Id, such as `P01`.
    pub id: String,
    /// The trade's name for it.
    pub name: String,
    /// Ids of its zones, two at least; no zone lies on more than two paths.
    pub zones: Vec<String>,
    /// Why, in words.
    pub reasoning: String,
    /// Where the row comes from.
    pub basis: String,
}

impl Item for WetPath {
    const COLUMNS: &'static [&'static str] = &["path_id", "name", "zones", "reasoning", "basis"];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        Ok(Self {
            id: line.text("path_id")?,
            name: line.text("name")?,
            zones: line.several("zones", 2..=MOST_ZONES)?,
            reasoning: line.text("reasoning")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        &self.id
    }
}

/// The most zones of one path: with more, wetness would be shared by the whole car.
const MOST_ZONES: usize = 20;
