//! A low, likely and high guess, and the two shapes it is drawn as.

use crate::RiskError;
use crate::error::within;
use crate::unit::Unit;

/// The largest size of a guess, in either direction.
const LARGEST: f64 = 1e9;

/// How the space between low, likely and high is filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Straight up from low to likely, straight down to high.
    Triangular,
    /// The beta distribution of PERT: shape numbers `1 + 4 (likely - low) / (high - low)` and
    /// `1 + 4 (high - likely) / (high - low)`, mean `(low + 4 likely + high) / 6`.
    Pert,
}

/// A low, likely and high guess in any unit, `low <= likely <= high`, each within -1e9..=1e9.
///
/// All three may be equal: a fixed number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    low: f64,
    likely: f64,
    high: f64,
}

impl Spread {
    /// Fails if a guess is not a number, is larger than 1e9, or the three fall.
    pub fn new(low: f64, likely: f64, high: f64) -> Result<Self, RiskError> {
        for (what, value) in [("the low guess", low), ("the likely guess", likely), ("the high guess", high)] {
            within(what, value, -LARGEST..=LARGEST)?;
        }
        if low > likely || likely > high {
            return Err(RiskError::NotRising { low, likely, high });
        }
        Ok(Self { low, likely, high })
    }

    /// The low guess.
    pub fn low(&self) -> f64 {
        self.low
    }

    /// The likely guess: where the shape is highest, not its middle.
    pub fn likely(&self) -> f64 {
        self.likely
    }

    /// The high guess.
    pub fn high(&self) -> f64 {
        self.high
    }

    /// Mean of the shape.
    pub fn mean(&self, shape: Shape) -> f64 {
        match shape {
            Shape::Triangular => (self.low + self.likely + self.high) / 3.0,
            Shape::Pert => (self.low + 4.0 * self.likely + self.high) / 6.0,
        }
    }

    /// Standard deviation of the shape. For PERT that of the beta distribution,
    /// `sqrt((mean - low) (high - mean) / 7)`, which is not the rule of thumb `(high - low) / 6`.
    ///
    /// ```
    /// use schedule::{Shape, Spread};
    /// let task = Spread::new(4.0, 6.0, 15.0)?;
    /// assert_eq!(format!("{:.4}", task.sd(Shape::Pert)), "1.8825");
    /// # Ok::<(), schedule::RiskError>(())
    /// ```
    pub fn sd(&self, shape: Shape) -> f64 {
        match shape {
            Shape::Triangular => {
                // The usual sum of squares and products, written so that nothing cancels.
                let (up, down) = (self.likely - self.low, self.high - self.likely);
                ((up * up + up * down + down * down) / 18.0).sqrt()
            }
            Shape::Pert => {
                let mean = self.mean(shape);
                // Rounding may leave the mean of a fixed number outside it.
                ((mean - self.low).max(0.0) * (self.high - mean).max(0.0) / 7.0).sqrt()
            }
        }
    }

    /// The number that the share `p` of the shape lies below; `p` is moved into 0..=1, NaN gives NaN.
    ///
    /// ```
    /// use schedule::{Shape, Spread};
    /// let task = Spread::new(4.0, 6.0, 15.0)?;
    /// assert_eq!(format!("{:.4}", task.quantile(Shape::Triangular, 0.8)), "10.5503");
    /// # Ok::<(), schedule::RiskError>(())
    /// ```
    pub fn quantile(&self, shape: Shape, p: f64) -> f64 {
        if p.is_nan() {
            return p;
        }
        let p = p.clamp(0.0, 1.0);
        let unit = Unit::new(shape, self.mode());
        self.at(if p <= 0.5 { unit.quantile_low(p, None) } else { 1.0 - unit.mirrored().quantile_low(1.0 - p, None) })
    }

    pub(crate) fn is_fixed(&self) -> bool {
        self.low == self.high
    }

    pub(crate) fn width(&self) -> f64 {
        self.high - self.low
    }

    /// Where the likely guess lies between the others, 0..=1; a half for a fixed number.
    pub(crate) fn mode(&self) -> f64 {
        if self.is_fixed() { 0.5 } else { ((self.likely - self.low) / self.width()).clamp(0.0, 1.0) }
    }

    /// The number that lies `unit` of the way from low to high.
    pub(crate) fn at(&self, unit: f64) -> f64 {
        (self.low + self.width() * unit).clamp(self.low, self.high)
    }
}
