//! Transcendental functions from one `libm`, so that results repeat bit for bit on every machine.
//!
//! The versions in the standard library call whatever the operating system offers and differ in the
//! last bits from machine to machine; `clippy.toml` bans them. Square roots, like the four basic
//! operations, are exactly rounded everywhere (IEEE 754), so `f64::sqrt` is free to use.
//!
//! Angles are in radians. Out-of-domain arguments give NaN or an infinity as IEEE 754 says; checking
//! the domain is the caller's job, at its constructors.

/// e to the power `x`.
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Natural logarithm of `x`; domain `x > 0`.
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// `x` to the power `y`; domain `x >= 0`, or `y` a whole number.
pub fn pow(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// Sine of `x` radians.
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// Cosine of `x` radians.
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Angle in radians, in -pi..=pi, of the point (`x`, `y`); 0 at the origin.
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// Length of the vector (`x`, `y`), without overflow on the way.
pub fn hypot(x: f64, y: f64) -> f64 {
    libm::hypot(x, y)
}

/// `x` to the seventh power, by multiplication: CIEDE2000 needs it, and `pow` would be slower.
pub fn pow7(x: f64) -> f64 {
    let x2 = x * x;
    let x3 = x2 * x;
    x3 * x3 * x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn invariant_inverse_pairs() {
        for i in 1..=1000 {
            let x = f64::from(i) * 0.037;
            assert!((ln(exp(x)) - x).abs() < 1e-13);
            assert!((hypot(sin(x), cos(x)) - 1.0).abs() < 1e-15);
            assert!((pow(x, 7.0) / pow7(x) - 1.0).abs() < 1e-14);
        }
    }

    #[test]
    fn published_values() {
        // Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, chapter 4 and table 1.1.
        assert!((exp(2.0) - 7.389_056_098_930_65).abs() < 2e-15);
        assert!((ln(3.0) - 1.098_612_288_668_11).abs() < 1e-15);
        assert!((sin(1.0) - 0.841_470_984_807_897).abs() < 1e-15);
        assert!((cos(1.0) - 0.540_302_305_868_140).abs() < 1e-15);
        assert!((atan2(1.0, 1.0) - std::f64::consts::FRAC_PI_4).abs() < 1e-16);
        assert_eq!(atan2(0.0, 0.0), 0.0);
    }
}
