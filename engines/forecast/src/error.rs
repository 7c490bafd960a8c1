//! Why no chance exists.

/// Why no chance exists; carries the offending value and what is allowed.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum OddsError {
    /// A number lies outside the range in which odds make sense, or is not a number.
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
    /// There are more ratios than any car gives rise to.
    #[error("{count} ratios; there may be {most} at most")]
    RatioCount {
        /// How many there are.
        count: usize,
        /// The most allowed.
        most: usize,
    },
}
