//! Why no value exists.

use std::ops::RangeInclusive;

/// Why no value exists; carries the offending value and what is allowed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CoatingError {
    /// A number lies outside the range in which the formula holds, or is not a number.
    #[error("{what} is {value} {unit}; it must be from {low} to {high} {unit}")]
    OutOfRange {
        /// What the number is.
        what: &'static str,
        /// Its value.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// The least allowed.
        low: f64,
        /// The most allowed.
        high: f64,
    },
    /// There are too few or too many film readings.
    #[error("{count} film readings; there must be from 1 to {most}")]
    ReadingCount {
        /// How many there are.
        count: usize,
        /// The most allowed.
        most: usize,
    },
}

/// Fails unless `value` lies in `allowed`; NaN and infinities never do.
pub(crate) fn within(
    what: &'static str,
    unit: &'static str,
    value: f64,
    allowed: RangeInclusive<f64>,
) -> Result<(), CoatingError> {
    if allowed.contains(&value) {
        return Ok(());
    }
    Err(CoatingError::OutOfRange { what, value, unit, low: *allowed.start(), high: *allowed.end() })
}
