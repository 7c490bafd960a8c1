//! What the gauge and the instrument make of a panel.

use base::normal;
use base::stream::Stream;

use super::spectra::Spectrum;

/// Name of each reading and its aspecular angle in degrees: light at 45 degrees, view in its plane.
pub const GEOMETRIES: [(&str, f64); 6] =
    [("45as-15", -15.0), ("45as15", 15.0), ("45as25", 25.0), ("45as45", 45.0), ("45as75", 75.0), ("45as110", 110.0)];

/// Standard deviations: of every reading, of all readings at one angle together, and in units of
/// radiance factor.
const READING_SD: f64 = 0.002;
const COMMON_SD: f64 = 0.003;
const FLOOR_SD: f64 = 0.0003;
/// The instrument shows nothing lower.
const LOWEST: f64 = 0.000_01;
const GAUGE_SD: f64 = 0.05;

/// The readings of a panel whose radiance factors are `exact`.
pub fn noisy(exact: &[Spectrum; 6], seed: u64) -> [Spectrum; 6] {
    let mut random = Stream::new(seed, 12);
    let mut normal = || normal::score(random.uniform());
    exact.map(|spectrum| {
        let gain = 1.0 + COMMON_SD * normal();
        spectrum.map(|value| (value * gain * (1.0 + READING_SD * normal()) + FLOOR_SD * normal()).max(LOWEST))
    })
}

/// What the film gauge shows for a film of this thickness; 5 % standard deviation.
pub fn gauge_um(film_um: f64, seed: u64) -> f64 {
    let mut random = Stream::new(seed, 13);
    film_um * (1.0 + GAUGE_SD * normal::score(random.uniform())).clamp(0.7, 1.3)
}
