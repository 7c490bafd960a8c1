//! The beta distribution on 0..=1 whose two shape numbers add up to 6, which is what PERT draws.

use base::math;

/// A long sum stops here whatever its terms; at a half it needs about 45.
const MOST_TERMS: u32 = 200;
/// Steps of the search for a quantile; each at least halves what is left.
const MOST_STEPS: u32 = 200;

/// Beta distribution with shape numbers `a` and `6 - a`, `a` in 1..=5.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Beta {
    a: f64,
    b: f64,
    /// One over the beta function of `a` and `b`.
    scale: f64,
}

impl Beta {
    /// The one whose mode lies at `mode`, 0..=1.
    pub(crate) fn with_mode(mode: f64) -> Self {
        let (a, b) = (1.0 + 4.0 * mode, 5.0 - 4.0 * mode);
        // The parts below and above a half make up the whole.
        Self { a, b, scale: 1.0 / (part_below(a, b, 0.5) + part_below(b, a, 0.5)) }
    }

    /// The one of `1 - X`.
    pub(crate) fn mirrored(&self) -> Self {
        Self { a: self.b, b: self.a, scale: self.scale }
    }

    /// Chance of lying below `x`, 0..=1.
    pub(crate) fn below(&self, x: f64) -> f64 {
        if x <= 0.5 {
            self.scale * part_below(self.a, self.b, x)
        } else {
            1.0 - self.scale * part_below(self.b, self.a, 1.0 - x)
        }
    }

    /// What lies below `x` on average, shortfall included: the mean of `max(x - X, 0)`.
    ///
    /// From `I_x(a + 1, b) = I_x(a, b) - x^a (1 - x)^b / (a B(a, b))` (Abramowitz and Stegun 26.5.16).
    pub(crate) fn shortfall(&self, x: f64) -> f64 {
        let edge = power(x, self.a) * power(1.0 - x, self.b);
        (x - self.a / 6.0) * self.below(x) + self.scale * edge / 6.0
    }

    /// The number that `p` of the distribution lies below, `p` in 0..=0.5, found from `guess`.
    ///
    /// Newton's method on the logarithms of both, which is nearly straight in the tail, kept between
    /// the ends found so far; relative error about 1e-13.
    pub(crate) fn quantile_low(&self, p: f64, guess: f64) -> f64 {
        if p <= 0.0 {
            return 0.0;
        }
        let (mut low, mut high) = (0.0, 1.0);
        let mut x = guess;
        for _ in 0..MOST_STEPS {
            if !(x > low && x < high) {
                x = 0.5 * (low + high);
            }
            let below = self.below(x);
            if below < p {
                low = x;
            } else {
                high = x;
            }
            // d ln F / d ln x = x f(x) / F(x)
            let slope = self.scale * power(x, self.a) * power(1.0 - x, self.b - 1.0) / below;
            let step = math::ln(p / below) / slope;
            x *= math::exp(step);
            // The error left is of the order of the square of the step.
            if step.abs() < 1e-7 {
                break;
            }
        }
        x.clamp(low, high)
    }

    /// A first guess at [`Beta::quantile_low`]: the tail is a power.
    pub(crate) fn guess_low(&self, p: f64) -> f64 {
        power(p * self.a / self.scale, 1.0 / self.a).clamp(1e-300, 0.9)
    }
}

/// `x` to the power `y` for `x` in 0..=1 and `y` in 0..=6: a third of the time of the careful one, to
/// some 1e-13 where the result is not tiny.
fn power(x: f64, y: f64) -> f64 {
    if y == 0.0 { 1.0 } else { math::exp(y * math::ln(x)) }
}

/// The integral of `t^(a-1) (1-t)^(b-1)` from 0 to `x`, for `x` in 0..=0.5 and `a`, `b` in 1..=5.
///
/// `x^a (1/a + (1-b) x / (a+1) + (1-b)(2-b) x^2 / (2 (a+2)) + ...)`: Abramowitz and Stegun 26.5.4 with
/// 15.1.1, integrated term by term.
fn part_below(a: f64, b: f64, x: f64) -> f64 {
    let mut coefficient = 1.0;
    let mut sum = 1.0 / a;
    for n in 1..MOST_TERMS {
        let n = f64::from(n);
        coefficient *= (n - b) / n * x;
        let term = coefficient / (a + n);
        sum += term;
        if term.abs() <= 1e-17 * sum {
            break;
        }
    }
    power(x, a) * sum
}
