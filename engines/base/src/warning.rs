//! A doubt about data, in words.

use std::fmt;

/// A plain sentence about doubtful data whose value is nevertheless returned.
///
/// An error means that no value exists; a warning means that a value exists and somebody should
/// look at it. The sentence is meant for the person at the bench: no codes, the number and its unit.
///
/// ```
/// let doubt = base::Warning::new("film of 310 um is thicker than the gauge's range of 0 to 300 um");
/// assert!(doubt.what.contains("310 um"));
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// What is doubtful, as one plain sentence.
    pub what: String,
}

impl Warning {
    /// Makes a warning from a plain sentence.
    pub fn new(what: impl Into<String>) -> Self {
        Self { what: what.into() }
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)
    }
}
