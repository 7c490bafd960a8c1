//! Smooth shapes that the invented toners are made of.

use base::math;

/// Bands from 400 to 700 nm, 10 nm apart.
pub const WAVELENGTHS: usize = 31;

/// One number for each band.
pub type Spectrum = [f64; WAVELENGTHS];

/// The wavelength of a band, counted from 0.
pub fn wavelength_nm(band: usize) -> f64 {
    400.0 + 10.0 * band as f64
}

/// A function of the wavelength in nm, band by band.
pub(super) fn spectrum(of: impl Fn(f64) -> f64) -> Spectrum {
    std::array::from_fn(|band| of(wavelength_nm(band)))
}

/// From 1 at short wavelengths to 0 at long ones about an edge.
pub(super) fn below(lambda_nm: f64, edge_nm: f64, width_nm: f64) -> f64 {
    1.0 / (1.0 + math::exp((lambda_nm - edge_nm) / width_nm))
}

/// A bell of height 1.
pub(super) fn bell(lambda_nm: f64, centre_nm: f64, width_nm: f64) -> f64 {
    let x = (lambda_nm - centre_nm) / width_nm;
    math::exp(-0.5 * x * x)
}

/// The power law by which small particles scatter less at long wavelengths; 1 at 550 nm.
pub(super) fn fading(lambda_nm: f64, power: f64) -> f64 {
    math::pow(550.0 / lambda_nm, power)
}
