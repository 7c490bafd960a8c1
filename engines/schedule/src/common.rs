//! What the items of a range have in common.

use base::math;

use crate::error::within;
use crate::{Correlation, RiskError};

/// What items of a [`range`](crate::range::range) have in common besides the findings themselves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Common {
    /// How bad it is where it is there: a car that needs a fuller repair in one place needs it in others.
    pub severity: Correlation,
    /// How long the work takes once it is known: the same rust, the same car.
    pub hours: Correlation,
    /// What this shop's hours are of the guesses, all of them alike.
    pub shop: Shop,
}

/// The shop's own factor on all hours: log-normal, since it multiplies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shop {
    mean_log: f64,
    sd_log: f64,
}

impl Shop {
    /// The guesses as they are.
    pub const ONE: Self = Self { mean_log: 0.0, sd_log: 0.0 };

    /// From mean and standard deviation of the factor's natural logarithm, -5..=5 and 0..=2; a standard deviation of
    /// 0 is a fixed factor. Fails outside.
    pub fn new(mean_log: f64, sd_log: f64) -> Result<Self, RiskError> {
        within("the mean logarithm of the shop's factor", mean_log, -5.0..=5.0)?;
        within("the standard deviation of the logarithm of the shop's factor", sd_log, 0.0..=2.0)?;
        Ok(Self { mean_log, sd_log })
    }

    /// Mean of the factor's natural logarithm.
    pub fn mean_log(&self) -> f64 {
        self.mean_log
    }

    /// Standard deviation of the factor's natural logarithm.
    pub fn sd_log(&self) -> f64 {
        self.sd_log
    }

    /// Mean of the factor itself, `exp(mean_log + sd_log^2 / 2)`.
    pub fn mean(&self) -> f64 {
        math::exp(self.mean_log + 0.5 * self.sd_log * self.sd_log)
    }

    /// The factor at a normal score.
    pub(crate) fn at(&self, score: f64) -> f64 {
        math::exp(self.mean_log + self.sd_log * score)
    }
}
