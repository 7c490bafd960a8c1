//! One radiance-factor curve.

use base::Warning;

use crate::error::ColourError;

/// The 31 wavelengths of every spectrum: 400 to 700 nm in steps of 10.
pub const WAVELENGTHS_NM: [u16; 31] = [
    400, 410, 420, 430, 440, 450, 460, 470, 480, 490, 500, 510, 520, 530, 540, 550, 560, 570, 580, 590, 600, 610, 620,
    630, 640, 650, 660, 670, 680, 690, 700,
];

/// Lowest radiance factor accepted: an instrument's zero may drift a little below nothing.
const LOWEST: f64 = -0.05;
/// Highest radiance factor accepted. Bright flake near gloss returns 3 times what a diffuser would;
/// a reading in percent lies far above 5 for all but the blackest paint.
const HIGHEST: f64 = 5.0;

/// Radiance factors at [`WAVELENGTHS_NM`], a perfect diffuser being 1.
///
/// Every value is finite and lies in -0.05..=5. Near gloss an effect paint sends back more than a
/// diffuser would, so values above 1 are usual there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spectrum([f64; 31]);

impl Spectrum {
    /// Highest radiance factor accepted.
    pub(crate) const HIGHEST: f64 = HIGHEST;

    /// Makes a spectrum from 31 radiance factors.
    ///
    /// # Errors
    /// [`ColourError::RadianceFactor`] when a value is not a number or lies outside -0.05..=5.
    pub fn new(radiance_factors: [f64; 31]) -> Result<Self, ColourError> {
        for (&value, wavelength_nm) in radiance_factors.iter().zip(WAVELENGTHS_NM) {
            if !(LOWEST..=HIGHEST).contains(&value) {
                return Err(ColourError::RadianceFactor { wavelength_nm, value, low: LOWEST, high: HIGHEST });
            }
        }
        Ok(Self(radiance_factors))
    }

    /// Makes a spectrum from a slice, as a row of a file gives it.
    ///
    /// # Errors
    /// [`ColourError::SpectrumLength`] when there are not 31 values, else as [`Spectrum::new`].
    ///
    /// ```
    /// assert!(colour::Spectrum::from_slice(&[0.5; 30]).is_err());
    /// ```
    pub fn from_slice(radiance_factors: &[f64]) -> Result<Self, ColourError> {
        let values = radiance_factors.try_into().map_err(|_| ColourError::SpectrumLength {
            found: radiance_factors.len(),
            expected: WAVELENGTHS_NM.len(),
        })?;
        Self::new(values)
    }

    /// A computed spectrum, brought within what a spectrum may hold; what is not a number becomes 0.
    pub(crate) fn clamped(radiance_factors: &[f64; 31]) -> Self {
        Self(radiance_factors.map(|value| if value.is_nan() { 0.0 } else { value.clamp(LOWEST, HIGHEST) }))
    }

    /// The radiance factors, in the order of [`WAVELENGTHS_NM`].
    pub fn values(&self) -> &[f64; 31] {
        &self.0
    }

    /// What is doubtful about this spectrum: values below nothing.
    pub fn warnings(&self) -> Vec<Warning> {
        let below = self.0.iter().filter(|value| **value < 0.0).count();
        if below == 0 {
            return Vec::new();
        }
        let lowest = self.0.iter().copied().fold(0.0, f64::min);
        vec![Warning::new(format!(
            "{below} of 31 radiance factors lie below zero, the lowest at {lowest}: the instrument's \
             zero may have drifted"
        ))]
    }
}

#[cfg(test)]
mod tests {
    use super::{Spectrum, WAVELENGTHS_NM};
    use crate::error::ColourError;

    #[test]
    fn wavelengths_run_from_400_to_700_in_tens() {
        for (i, wavelength_nm) in WAVELENGTHS_NM.into_iter().enumerate() {
            assert_eq!(usize::from(wavelength_nm), 400 + 10 * i);
        }
    }

    #[test]
    fn refuses_what_no_paint_can_give() {
        for bad in [f64::NAN, f64::INFINITY, -0.06, 5.1, 45.0] {
            let mut values = [0.5; 31];
            values[7] = bad;
            let Err(ColourError::RadianceFactor { wavelength_nm, .. }) = Spectrum::new(values) else {
                panic!("{bad} was accepted");
            };
            assert_eq!(wavelength_nm, 470);
        }
    }

    #[test]
    fn warns_of_a_drifted_zero_only() {
        assert!(Spectrum::new([0.0; 31]).unwrap().warnings().is_empty());
        let mut values = [0.02; 31];
        values[0] = -0.003;
        let warnings = Spectrum::new(values).unwrap().warnings();
        assert_eq!(warnings.len(), 1);
        assert!(warnings[0].what.contains("-0.003"), "{}", warnings[0]);
    }
}
