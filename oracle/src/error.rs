use thiserror::Error;

/// A value that no paint film, lamp or card can have.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum Error {
    /// A number lies outside what it can be.
    #[error("{what} is {value}; it must lie within {low} to {high}")]
    OutOfRange {
        /// The quantity, with its unit.
        what: &'static str,
        /// What was given.
        value: f64,
        /// The lowest that is possible.
        low: f64,
        /// The highest that is possible.
        high: f64,
    },
    /// A flake would send back and keep more light than falls on it.
    #[error("at wavelength {wavelength} (counted from 0) a flake reflects and absorbs {sum} of the light; at most 1")]
    TooMuchLight {
        /// Which wavelength, counted from 0.
        wavelength: usize,
        /// Reflectance plus absorptance.
        sum: f64,
    },
    /// A list has more or fewer entries than it may have.
    #[error("{count} {what}; there must be {low} to {high}")]
    Count {
        /// What is counted.
        what: &'static str,
        /// How many there were.
        count: usize,
        /// The fewest.
        low: usize,
        /// The most.
        high: usize,
    },
    /// The shop has no toner of this name.
    #[error("no toner is called {0:?}")]
    UnknownToner(String),
    /// The shop has no primer or card of this name.
    #[error("no substrate is called {0:?}")]
    UnknownSubstrate(String),
    /// The toners add up to more than the whole film.
    #[error("the toners make up {0} of the dry film; at most 0.95")]
    TooMuchToner(f64),
}

/// Passes a number on if it lies within the range.
pub(crate) fn within(what: &'static str, value: f64, low: f64, high: f64) -> Result<f64, Error> {
    // Written so that NaN fails too.
    if value >= low && value <= high { Ok(value) } else { Err(Error::OutOfRange { what, value, low, high }) }
}

/// Passes a count on if it lies within the range.
pub(crate) fn counted(what: &'static str, count: usize, low: usize, high: usize) -> Result<usize, Error> {
    if (low..=high).contains(&count) { Ok(count) } else { Err(Error::Count { what, count, low, high }) }
}
