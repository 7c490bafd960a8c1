//! Faces of flakes whose colour comes from interference.

use base::{math, normal};

use crate::flake::Face;
use crate::interface::INDEX;

/// Thicknesses over which a face is averaged: normal scores of even chances.
const THICKNESSES: usize = 9;

/// A clear core between two thin films of high index.
pub(super) struct Mica {
    /// Index of the thin films.
    pub(super) film_index: f64,
    /// Optical thickness of a film at upright incidence.
    pub(super) optical_nm: f64,
    /// Its scatter from flake to flake, as a share.
    pub(super) scatter: f64,
}

impl Mica {
    /// Reflectance of a flake whose two films do not interfere with each other, the core being of
    /// uneven thickness. Each film by Airy's formula (Born and Wolf, Principles of Optics, section
    /// 7.6, from memory), with the upright amplitude at the film's faces.
    pub(super) fn reflectance(&self, lambda_nm: f64, cosine: f64) -> f64 {
        let amplitude = (self.film_index - INDEX) / (self.film_index + INDEX);
        let once = amplitude * amplitude;
        let mean = over_thicknesses(self.scatter, |factor| {
            let phase = phase(self.film_index, self.optical_nm * factor, lambda_nm, cosine);
            let sine = math::sin(phase);
            let contrast = 4.0 * once * sine * sine / ((1.0 - once) * (1.0 - once));
            contrast / (1.0 + contrast)
        });
        2.0 * mean / (1.0 + mean)
    }
}

/// A mirror behind a spacer of low index and a thin absorber: opaque, and its colour travels.
pub(super) struct Travel {
    pub(super) spacer_index: f64,
    pub(super) optical_nm: f64,
    pub(super) scatter: f64,
    /// Depth of the dark bands and their sharpness.
    pub(super) depth: f64,
    pub(super) sharpness: f64,
}

impl Travel {
    /// What the flake does: it keeps what it does not send back.
    pub(super) fn face(&self, lambda_nm: f64, cosine: f64) -> Face {
        let kept = over_thicknesses(self.scatter, |factor| {
            let turn = math::cos(phase(self.spacer_index, self.optical_nm * factor, lambda_nm, cosine));
            1.0 / (1.0 + self.sharpness * turn * turn)
        });
        let reflectance = 0.82 * (1.0 - self.depth * kept);
        Face { reflectance, absorptance: 1.0 - reflectance }
    }
}

/// Half the phase between light from the two faces of a film, by Snell's law from the binder.
fn phase(index: f64, optical_nm: f64, lambda_nm: f64, cosine: f64) -> f64 {
    let sine2 = (1.0 - cosine * cosine) * (INDEX / index) * (INDEX / index);
    let within = (1.0 - sine2).max(0.0).sqrt();
    2.0 * std::f64::consts::PI * optical_nm * within / lambda_nm
}

fn over_thicknesses(scatter: f64, of: impl Fn(f64) -> f64) -> f64 {
    let sum: f64 = (0..THICKNESSES)
        .map(|i| normal::score((i as f64 + 0.5) / THICKNESSES as f64))
        .map(|score| of(1.0 + scatter * score))
        .sum();
    sum / THICKNESSES as f64
}
