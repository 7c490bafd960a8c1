//! Branch-free functions with a stated error, for loops over slices.
//!
//! Each is a fixed sequence of additions, multiplications, divisions and selections, so that the
//! compiler can run several arguments side by side, and so that the result is the same on every
//! machine, vector unit or not. [`crate::math`] is the careful version with the full domain.

/// `1.5 * 2^52`: adding and subtracting it rounds a small `f64` to a whole number, which is then
/// also found in the low bits of the sum.
const ROUND: f64 = 6_755_399_441_055_744.0;

/// e to the power `x`, for `x` in -708..=709; arguments outside are moved to that edge.
///
/// Relative error under 1e-14 (the Taylor remainder `(ln 2 / 2)^12 / 12!` is 6e-15). NaN gives NaN.
///
/// ```
/// assert!((base::lane::exp(1.0) - std::f64::consts::E).abs() < 1e-13);
/// ```
#[inline]
pub fn exp(x: f64) -> f64 {
    // ln 2 in two parts (the first with 32 trailing zero bits), as in the fdlibm sources, 1993.
    const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
    const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;

    let x = if x < -708.0 { -708.0 } else { x };
    let x = if x > 709.0 { 709.0 } else { x };
    let shifted = x * std::f64::consts::LOG2_E + ROUND;
    let n = shifted - ROUND;
    let r = (x - n * LN2_HIGH) - n * LN2_LOW;
    // Taylor's series to r^11, summed by pairs (Estrin's scheme), which waits less than Horner's.
    let r2 = r * r;
    let r4 = r2 * r2;
    let low = (1.0 + r) + r2 * (0.5 + r * (1.0 / 6.0));
    let middle = (1.0 / 24.0 + r * (1.0 / 120.0)) + r2 * (1.0 / 720.0 + r * (1.0 / 5_040.0));
    let high = (1.0 / 40_320.0 + r * (1.0 / 362_880.0)) + r2 * (1.0 / 3_628_800.0 + r * (1.0 / 39_916_800.0));
    let series = low + r4 * (middle + r4 * high);
    let two_to_n = f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52));
    series * two_to_n
}

/// Cube root of a positive normal number, exact at 1.
///
/// Relative error under 4e-16. Zero, negative and subnormal arguments give a meaningless finite
/// number: select another branch for them. NaN gives NaN.
///
/// A third of the exponent bits gives a first guess within about 5 %; each of the three steps of
/// Halley's method cubes the relative error.
///
/// ```
/// assert_eq!(base::lane::cbrt(1.0), 1.0);
/// assert!((base::lane::cbrt(27.0) - 3.0).abs() < 2e-15);
/// ```
#[inline]
pub fn cbrt(x: f64) -> f64 {
    let high = x.to_bits() >> 32;
    // 0x5555_5556 / 2^32 is a third; the constant restores the two thirds of the exponent's bias
    // (682 << 20) less a small shift that balances the error of reading mantissa bits as a logarithm.
    let third = (high * 0x5555_5556) >> 32;
    let guess = f64::from_bits((third + 0x2A9F_7893) << 32);
    let first = halley(guess, x);
    let second = halley(first, x);
    halley(second, x)
}

/// One step of Halley's method for `t * t * t = x`, written as a correction so that a converged `t`
/// keeps its last bit.
#[inline]
fn halley(t: f64, x: f64) -> f64 {
    let cube = t * t * t;
    t + t * ((x - cube) / (2.0 * cube + x))
}

/// Sine of an angle in radians, for -1.1..=1.1.
///
/// Absolute error under 4e-12 (the Taylor remainder `1.1^15 / 15!`). NaN gives NaN.
#[inline]
pub fn sin_small(x: f64) -> f64 {
    let x2 = x * x;
    let x4 = x2 * x2;
    let low = 1.0 - x2 * (1.0 / 6.0);
    let middle = 1.0 / 120.0 - x2 * (1.0 / 5_040.0);
    let high = 1.0 / 362_880.0 - x2 * (1.0 / 39_916_800.0);
    let series = low + x4 * (middle + x4 * (high + x4 * (1.0 / 6_227_020_800.0)));
    series * x
}

#[cfg(test)]
mod tests {
    use super::{cbrt, exp, sin_small};
    use crate::math;

    /// Largest error over a fine walk through `low..=high`, both ends included.
    fn worst(low: f64, high: f64, error: impl Fn(f64) -> f64) -> f64 {
        (0..=200_000).map(|i| error(low + (high - low) * f64::from(i) / 200_000.0)).fold(0.0, f64::max)
    }

    // Oracle: the `libm` crate, a port of the C library of the musl project.
    #[test]
    fn oracle_exp_agrees_with_libm() {
        let found = worst(-700.0, 700.0, |x| (exp(x) / math::exp(x) - 1.0).abs());
        assert!(found < 1e-14, "{found:e}");
        let near_zero = worst(-1.0, 1.0, |x| (exp(x) / math::exp(x) - 1.0).abs());
        assert!(near_zero < 1e-14, "{near_zero:e}");
    }

    #[test]
    fn exp_keeps_to_its_edges() {
        assert_eq!(exp(0.0), 1.0);
        assert_eq!(exp(-1e300), exp(-708.0));
        assert_eq!(exp(f64::INFINITY), exp(709.0));
        assert!(exp(f64::NAN).is_nan());
    }

    // Oracle: the `libm` crate, as above.
    #[test]
    fn oracle_cbrt_agrees_with_libm() {
        for (low, high) in [(1e-3, 2.0), (1.0, 8.0), (1e-300, 1e-299), (1e299, 1e300)] {
            let found = worst(low, high, |x| (cbrt(x) / libm::cbrt(x) - 1.0).abs());
            assert!(found < 4e-16, "{low:e}..{high:e}: {found:e}");
        }
        assert_eq!(cbrt(1.0), 1.0);
        assert!(cbrt(f64::NAN).is_nan());
    }

    // Oracle: the `libm` crate, as above.
    #[test]
    fn oracle_sin_small_agrees_with_libm() {
        let found = worst(-1.1, 1.1, |x| (sin_small(x) - math::sin(x)).abs());
        assert!(found < 4e-12, "{found:e}");
    }
}
