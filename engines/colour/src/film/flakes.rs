//! Flakes seen along a direction: which part of them faces it, and what those reflect.

use std::f64::consts::PI;

use base::math;

use super::interface::INDEX;
use crate::shelf::FLAKE_NODES;
use crate::spectrum::WAVELENGTHS_NM;

/// First wavelength of a flake's reflectance, in nm, and the step.
const FIRST_NM: f64 = 400.0;
const STEP_NM: f64 = 10.0;

/// How far a flake's colour has travelled at an angle of incidence: the wavelength whose square-on
/// reflectance it shows, over the light's own.
///
/// The light inside an interference film of index `film_index` runs at cos = sqrt(1 - (1.5 sin d / n)^2)
/// and its fringes move by that cosine (Bragg's law for a thin film).
pub(crate) fn stretch(cos_incidence: f64, film_index: Option<f64>) -> f64 {
    let Some(n) = film_index else { return 1.0 };
    let sin2 = (1.0 - cos_incidence * cos_incidence).max(0.0) * (INDEX / n) * (INDEX / n);
    // Past the film's own critical angle nothing more happens.
    1.0 / (1.0 - sin2).max(0.05).sqrt()
}

/// Where a stretched wavelength falls among the nodes: index, and weight of the next one.
pub(crate) fn node(wavelength_nm: f64, stretch: f64) -> (usize, f64) {
    let place = ((wavelength_nm * stretch - FIRST_NM) / STEP_NM).clamp(0.0, (FLAKE_NODES - 1) as f64 - 1e-9);
    let index = place as usize;
    (index, place - index as f64)
}

/// Angles of incidence that stand for a whole population of flakes, with weights that add up to 1.
#[derive(Debug, Clone)]
pub(crate) struct Facing(pub(crate) Vec<(f64, f64)>);

impl Facing {
    /// One angle.
    pub(crate) fn one(cos_incidence: f64) -> Self {
        Self(vec![(cos_incidence, 1.0)])
    }

    /// Flakes of slope `sd` along a ray of cosine `mu` inside, by the area they show to it.
    pub(crate) fn along(mu: f64, sd: f64) -> Self {
        const TILTS: usize = 5;
        const TURNS: usize = 6;
        let ray = [(1.0 - mu * mu).max(0.0).sqrt(), 0.0, mu];
        let mut all = Vec::with_capacity(TILTS * TURNS);
        for i in 0..TILTS {
            let u = (i as f64 + 0.5) / TILTS as f64;
            let tan = sd * (-2.0 * math::ln(1.0 - u)).sqrt();
            let cos = 1.0 / (1.0 + tan * tan).sqrt();
            for k in 0..TURNS {
                let turn = PI * (k as f64 + 0.5) / TURNS as f64;
                let facing = (tan * cos * math::cos(turn) * ray[0] + cos * ray[2]).abs();
                all.push((facing, facing / cos));
            }
        }
        let sum: f64 = all.iter().map(|f| f.1).sum();
        all.iter_mut().for_each(|f| f.1 /= sum);
        Self(all)
    }

    /// Evenly diffuse light on flakes that lie flat.
    pub(crate) fn diffuse() -> Self {
        const STEPS: usize = 8;
        // The flux through a plane is uniform in the squared sine.
        Self((0..STEPS).map(|i| ((1.0 - (i as f64 + 0.5) / STEPS as f64).sqrt(), 1.0 / STEPS as f64)).collect())
    }

    /// The weight of every node of the square-on reflectance, by wavelength: a linear map.
    pub(crate) fn map(&self, film_index: Option<f64>) -> Vec<[f64; FLAKE_NODES]> {
        let shifts: Vec<(f64, f64)> = self.0.iter().map(|(cos, w)| (stretch(*cos, film_index), *w)).collect();
        WAVELENGTHS_NM
            .iter()
            .map(|nm| {
                let mut row = [0.0; FLAKE_NODES];
                for (shift, weight) in &shifts {
                    let (index, part) = node(f64::from(*nm), *shift);
                    row[index] += weight * (1.0 - part);
                    row[index + 1] += weight * part;
                }
                row
            })
            .collect()
    }

    /// Mean reflectance by wavelength.
    pub(crate) fn reflectance(&self, square_on: &[f64; FLAKE_NODES], film_index: Option<f64>) -> [f64; 31] {
        let mut out = [0.0; 31];
        for (cos, weight) in &self.0 {
            let shift = stretch(*cos, film_index);
            for (value, nm) in out.iter_mut().zip(WAVELENGTHS_NM) {
                let (index, part) = node(f64::from(nm), shift);
                *value += weight * (square_on[index] * (1.0 - part) + square_on[index + 1] * part);
            }
        }
        out
    }
}
