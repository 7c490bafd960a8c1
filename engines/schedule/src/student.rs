//! Student's t distribution with a whole number of degrees of freedom.

use base::math;

/// Halvings of the search for a score; the last ones change nothing any more.
const HALVINGS: u32 = 70;

/// The number that the share `p`, 0.5..1, of the distribution lies below, with 1 or more degrees of freedom.
///
/// By halving, from the finite sums for the chance of lying within `-t..=t` (M. Abramowitz and I. A. Stegun, Handbook
/// of Mathematical Functions, 1964, 26.7.3 and 26.7.4); relative error under 1e-11 up to 10 000 degrees of freedom.
pub(crate) fn score(p: f64, freedom: u32) -> f64 {
    let inside = 2.0 * p - 1.0;
    let (mut low, mut high) = (0.0, 1.0);
    while within(high, freedom) < inside && high < 1e9 {
        (low, high) = (high, 2.0 * high);
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if within(middle, freedom) < inside {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Chance of lying within `-t..=t`, `t` 0 or more.
fn within(t: f64, freedom: u32) -> f64 {
    let root = f64::from(freedom).sqrt();
    let length = math::hypot(t, root);
    let (sine, cosine) = (t / length, root / length);
    let squared = cosine * cosine;
    // 1 + 1/2 c^2 + 3/8 c^4 + ... for even, c + 2/3 c^3 + 8/15 c^5 + ... for odd degrees.
    let even = freedom.is_multiple_of(2);
    let mut term = if even { 1.0 } else { cosine };
    let mut sum = if freedom == 1 { 0.0 } else { term };
    let mut place = if even { 2 } else { 3 };
    while place < freedom {
        term *= squared * f64::from(place - 1) / f64::from(place);
        sum += term;
        place += 2;
    }
    if even { sine * sum } else { std::f64::consts::FRAC_2_PI * (math::atan2(t, root) + sine * sum) }
}
