//! What several tests need: rules for integrals over the views, and rows of the reference data.

// A helper that fails is a test that fails.
#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;
use std::path::Path;

use base::math;
use oracle::{Estimate, Face, Film, Flake, Geometry, Layer, Medium, Photons, Pigment, Slopes, View, simulate};

/// Nodes and weights of Gauss and Legendre's rule for the integral from 0 to 1.
pub(crate) fn gauss(count: usize) -> Vec<(f64, f64)> {
    (1..=count)
        .map(|i| {
            let mut x = math::cos(PI * (i as f64 - 0.25) / (count as f64 + 0.5));
            let mut slope = 1.0;
            // Newton's steps from a guess good to three digits.
            for _ in 0..8 {
                let (mut before, mut value) = (1.0, x);
                for k in 2..=count {
                    let k = k as f64;
                    (before, value) = (value, ((2.0 * k - 1.0) * x * value - (k - 1.0) * before) / k);
                }
                slope = count as f64 * (x * value - before) / (x * x - 1.0);
                x -= value / slope;
            }
            (0.5 * (1.0 + x), 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// Share of the light at `incidence_rad` that comes back out of a film that sends as much to every
/// azimuth, without the mirror reflection, and an upper bound of its standard error.
pub(crate) fn returned(film: &Film<1>, incidence_rad: f64, rings: usize, photons: Photons) -> (f64, f64) {
    let rule = gauss(rings);
    let view = |mu: f64| View::at(math::atan2((1.0 - mu * mu).sqrt(), mu), 1.0).unwrap();
    let views = rule.iter().map(|(mu, _)| view(*mu)).collect();
    let found = simulate(film, &Geometry::new(incidence_rad, views).unwrap(), photons).unwrap();
    let sum = |part: fn(&Estimate) -> f64| found.iter().zip(&rule).map(|(f, (mu, w))| 2.0 * mu * w * part(&f[0])).sum();
    (sum(|estimate| estimate.value), sum(|estimate| estimate.standard_error))
}

/// A film of one layer.
pub(crate) fn film<const N: usize>(medium: Medium<N>, film_um: f64, ground: [f64; N]) -> Film<N> {
    Film::new(vec![Layer::new(medium, film_um).unwrap()], ground).unwrap()
}

/// A medium with one pigment and no flakes.
pub(crate) fn pigmented(absorption: f64, scattering: f64, asymmetry: f64) -> Medium<1> {
    Medium::new([absorption], vec![Pigment::new([scattering], asymmetry).unwrap()], Vec::new()).unwrap()
}

/// Flakes that do the same at every incidence.
pub(crate) fn flake(area_per_um: f64, slope_sd: f64, reflectance: f64, absorptance: f64) -> Flake<1> {
    Flake::plain(area_per_um, Slopes::new(slope_sd, 0.0).unwrap(), [Face { reflectance, absorptance }]).unwrap()
}

/// The six views of the trade's instruments.
pub(crate) fn six() -> Geometry {
    Geometry::forty_five(&[-15.0, 15.0, 25.0, 45.0, 75.0, 110.0]).unwrap()
}

/// The numbers of a file in reference/colour, row by row.
pub(crate) fn reference(name: &str) -> Vec<Vec<f64>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../reference/colour").join(name);
    let text = std::fs::read_to_string(path).unwrap();
    text.lines().skip(1).map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect()).collect()
}
