//! A shape from 0 to 1.

use crate::Shape;
use crate::beta::Beta;

/// A shape stretched to run from 0 to 1, known by where its mode lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Unit {
    /// Mode, 0..=1.
    Triangular(f64),
    Pert(Beta),
}

impl Unit {
    pub(crate) fn new(shape: Shape, mode: f64) -> Self {
        match shape {
            Shape::Triangular => Self::Triangular(mode),
            Shape::Pert => Self::Pert(Beta::with_mode(mode)),
        }
    }

    /// The same seen from the other end.
    pub(crate) fn mirrored(&self) -> Self {
        match self {
            Self::Triangular(mode) => Self::Triangular(1.0 - mode),
            Self::Pert(beta) => Self::Pert(beta.mirrored()),
        }
    }

    /// The quantile of `p`, 0..=0.5; the upper half is the lower half of the mirror image, so that
    /// both tails keep their digits. A guess near the answer saves time.
    pub(crate) fn quantile_low(&self, p: f64, guess: Option<f64>) -> f64 {
        match self {
            Self::Triangular(mode) if p <= *mode => (p * mode).sqrt(),
            Self::Triangular(mode) => 1.0 - ((1.0 - p) * (1.0 - mode)).sqrt(),
            Self::Pert(beta) => beta.quantile_low(p, guess.unwrap_or_else(|| beta.guess_low(p))),
        }
    }

    /// The mean of `max(x - X, 0)`, `x` in 0..=1: the integral of the distribution function up to `x`.
    pub(crate) fn shortfall(&self, x: f64) -> f64 {
        match self {
            Self::Triangular(mode) if x <= *mode && *mode > 0.0 => x * x * x / (3.0 * mode),
            Self::Triangular(mode) => {
                // From the other end: the mean distance, and the excess on top of it. The mode is below 1 here.
                let left = 1.0 - x;
                x - (1.0 + mode) / 3.0 + left * left * left / (3.0 * (1.0 - mode))
            }
            Self::Pert(beta) => beta.shortfall(x),
        }
    }
}
