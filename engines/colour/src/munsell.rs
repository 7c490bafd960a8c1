//! Lightness of the Munsell greys.
//!
//! ASTM D1535 gives the luminous reflectance Y of a Munsell value V by a quintic, for CIE illuminant C
//! and the 2 degree observer and with Y = 100 for a perfect diffuser (coefficients from memory; equal to
//! those of two public implementations). Greys for judging how a paint hides are named by value: N3 is
//! Y 6.391, N5 is 19.272, N8 is 57.62.

use crate::error::ColourError;

/// Luminous reflectance Y, 0 to 100, of a Munsell value.
///
/// # Errors
/// [`ColourError::OutOfRange`] when the value lies outside 0..=10.
///
/// ```
/// assert!((colour::munsell::y_of_value(5.0)? - 19.272).abs() < 5e-4);
/// # Ok::<(), colour::ColourError>(())
/// ```
pub fn y_of_value(value: f64) -> Result<f64, ColourError> {
    ColourError::within("Munsell value", value, 0.0, 10.0, "")?;
    Ok(quintic(value))
}

/// Munsell value, 0 to 10, of a luminous reflectance Y.
///
/// The quintic rises all the way, so that halving the interval finds the one value.
///
/// # Errors
/// [`ColourError::OutOfRange`] when Y lies outside 0..=100.
///
/// ```
/// assert!((colour::munsell::value_of_y(57.62)? - 8.0).abs() < 1e-4);
/// # Ok::<(), colour::ColourError>(())
/// ```
pub fn value_of_y(y: f64) -> Result<f64, ColourError> {
    ColourError::within("luminous reflectance", y, 0.0, 100.0, "")?;
    let (mut low, mut high) = (0.0, 10.0);
    // 10 / 2^56 is less than the spacing of numbers near 5.
    for _ in 0..56 {
        let middle = 0.5 * (low + high);
        if quintic(middle) < y {
            low = middle;
        } else {
            high = middle;
        }
    }
    // Black itself is the lower end; all else is met from above.
    Ok(if y == 0.0 { 0.0 } else { high })
}

/// ASTM D1535, equation 2 (from memory).
fn quintic(v: f64) -> f64 {
    v * (1.1914 + v * (-0.225_33 + v * (0.233_52 + v * (-0.020_484 + v * 0.000_819_39))))
}
