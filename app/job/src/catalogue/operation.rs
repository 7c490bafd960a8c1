//! Operations: the steps of the job, with rates, waits and what must come first.

use super::Spread;
use super::line::{Item, Line};
use crate::table::TableError;

/// One step of the job.
#[derive(Debug, Clone, PartialEq)]
pub struct Operation {
    /// Id, such as `O42`.
    pub id: String,
    /// The stage of the job it belongs to.
    pub phase: String,
    /// What is done.
    pub what: String,
    /// The place or tool it occupies.
    pub resource: String,
    /// Who does it.
    pub role: String,
    /// The unit of `rate`, such as `h per m2`.
    pub unit: String,
    /// Time for one unit.
    pub rate: Spread,
    /// Hours that must pass afterwards at 20 deg C (cure, dry).
    pub wait_min_h: f64,
    /// Hours after which it is too late for the next coat or step; `None` where there is no end.
    pub wait_max_h: Option<f64>,
    /// What must be done before: each inner list is a choice of which one is enough.
    pub after: Vec<Vec<String>>,
    /// What is signed before work goes on; empty if nothing is.
    pub hold_point: String,
    /// The rule of the trade; empty if none is given.
    pub rule: String,
    /// What can hurt; empty if nothing is said.
    pub hazard: String,
    /// Where the row comes from.
    pub basis: String,
}

impl Operation {
    /// Hours for one unit; some operations are rated in minutes.
    pub fn rate_h(&self) -> Spread {
        let unit_h = if self.unit.starts_with("min ") { 1.0 / 60.0 } else { 1.0 };
        Spread { low: unit_h * self.rate.low, likely: unit_h * self.rate.likely, high: unit_h * self.rate.high }
    }
}

impl Item for Operation {
    const COLUMNS: &'static [&'static str] = &[
        "op_id",
        "phase",
        "operation",
        "resource",
        "role",
        "unit",
        "low",
        "likely",
        "high",
        "wait_min_h",
        "wait_max_h",
        "after",
        "hold_point",
        "rule",
        "hazard",
        "basis",
    ];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        let wait_min_h = line.number("wait_min_h", WAIT_H)?;
        let wait_max_h = line.optional_number("wait_max_h", WAIT_H)?;
        if wait_max_h.is_some_and(|most| most < wait_min_h) {
            return Err(line.refuse("wait_max_h", format!("at least the wait_min_h of {wait_min_h}, or nothing")));
        }
        Ok(Self {
            id: line.text("op_id")?,
            phase: line.text("phase")?,
            what: line.text("operation")?,
            resource: line.text("resource")?,
            role: line.text("role")?,
            unit: line.text("unit")?,
            rate: line.spread(["low", "likely", "high"], 0.0..=2000.0)?,
            wait_min_h,
            wait_max_h,
            after: line.ids("after")?.iter().map(|choice| choice.split('|').map(str::to_owned).collect()).collect(),
            hold_point: line.note("hold_point")?,
            rule: line.note("rule")?,
            hazard: line.note("hazard")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        &self.id
    }
}

/// A year; a longer wait is a slip of the finger.
const WAIT_H: std::ops::RangeInclusive<f64> = 0.0..=8760.0;
