//! Why no outcome exists.

use std::ops::RangeInclusive;

/// Why no outcome exists; carries the offending value and what is allowed.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum RiskError {
    /// A number lies outside its range, or is not a number.
    #[error("{what} is {value}; it must be from {low} to {high}")]
    OutOfRange {
        /// What the number is.
        what: &'static str,
        /// Its value.
        value: f64,
        /// The least allowed.
        low: f64,
        /// The most allowed.
        high: f64,
    },
    /// The three guesses do not rise.
    #[error("low {low}, likely {likely} and high {high} must rise or stay the same, in that order")]
    NotRising {
        /// The low guess.
        low: f64,
        /// The likely guess.
        likely: f64,
        /// The high guess.
        high: f64,
    },
    /// There are too few or too many of something.
    #[error("{count} {what}; there must be from {least} to {most}")]
    Count {
        /// What is counted.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// The fewest allowed.
        least: usize,
        /// The most allowed.
        most: usize,
    },
    /// The ways of an item all have weight zero, so that none could be taken.
    #[error("the weights of an item's ways add up to {sum}; they must add up to more than 0")]
    NoWeight {
        /// What they add up to.
        sum: f64,
    },
    /// An item is there as a column of the findings says, and there is no such column.
    #[error("item {item} names column {column} of the findings, which have {columns}; columns count from 0")]
    NoColumn {
        /// The item's place, from 0.
        item: usize,
        /// The column it names.
        column: usize,
        /// How many columns there are.
        columns: usize,
    },
    /// A column of the findings has another length than its samples need.
    #[error("column {column} of the findings holds {length} {unit}; it must hold {needed}")]
    ColumnLength {
        /// The column's place, from 0.
        column: usize,
        /// How long it is.
        length: usize,
        /// Words of 64 samples, or flags.
        unit: &'static str,
        /// How long it must be.
        needed: usize,
    },
    /// The chance of an item and the samples it is there in do not belong together.
    #[error(
        "item {item} has the chance {chance} and is there in {found} of all samples; both must come from one forecast"
    )]
    Contradicted {
        /// The item's place, from 0.
        item: usize,
        /// Its exact chance.
        chance: f64,
        /// The share of the samples it is there in.
        found: f64,
    },
    /// A figure of a finished piece lies outside its range, or is not a number.
    #[error("{what} of finished piece {piece} is {value}; it must be from {low} to {high}")]
    Piece {
        /// The piece's place, from 0.
        piece: usize,
        /// What the figure is.
        what: &'static str,
        /// Its value.
        value: f64,
        /// The least allowed.
        low: f64,
        /// The most allowed.
        high: f64,
    },
}

/// Fails unless `value` lies in `allowed`; NaN and infinities never do.
pub(crate) fn within(what: &'static str, value: f64, allowed: RangeInclusive<f64>) -> Result<(), RiskError> {
    if allowed.contains(&value) {
        return Ok(());
    }
    Err(RiskError::OutOfRange { what, value, low: *allowed.start(), high: *allowed.end() })
}

/// Fails unless `count` lies in `allowed`.
pub(crate) fn counted(what: &'static str, count: usize, allowed: RangeInclusive<usize>) -> Result<(), RiskError> {
    if allowed.contains(&count) {
        return Ok(());
    }
    Err(RiskError::Count { what, count, least: *allowed.start(), most: *allowed.end() })
}
