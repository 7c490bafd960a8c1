//! Why nothing can be learned.

/// Why nothing can be learned; carries the offending value and what is allowed.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LearnError {
    /// A number lies outside its range, or is not a number.
    #[error("{what}{} is {value}; it must be from {low} to {high}", .lesson.map_or(String::new(), |n| format!(" of lesson {n}")))]
    OutOfRange {
        /// What the number is.
        what: &'static str,
        /// Of which lesson, from 1.
        lesson: Option<usize>,
        /// Its value.
        value: f64,
        /// The least allowed.
        low: f64,
        /// The most allowed.
        high: f64,
    },
    /// More lessons than are taken at once.
    #[error("{count} lessons; there may be {most} at most")]
    TooMany {
        /// How many there are.
        count: usize,
        /// The most allowed.
        most: usize,
    },
}
