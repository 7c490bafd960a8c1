//! How much numbers have in common.

use crate::RiskError;
use crate::error::within;

/// Correlation of the normal scores of any two numbers, 0..=1: 0 is nothing in common, 1 wholly tied.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Correlation(f64);

impl Correlation {
    /// Nothing in common.
    pub const NONE: Self = Self(0.0);
    /// Wholly tied: all are low together and high together.
    pub const FULL: Self = Self(1.0);

    /// Fails outside 0..=1. Below 0 many numbers cannot all oppose each other equally.
    pub fn new(rho: f64) -> Result<Self, RiskError> {
        within("the correlation", rho, 0.0..=1.0)?;
        // Minus zero is zero.
        Ok(Self(rho + 0.0))
    }

    /// The number itself, 0..=1.
    pub fn get(self) -> f64 {
        self.0
    }

    /// What the common factor and a number's own factor are multiplied by, so that their sum has
    /// variance 1 and any two sums this correlation.
    pub(crate) fn loadings(self) -> (f64, f64) {
        (self.0.sqrt(), (1.0 - self.0).sqrt())
    }
}
