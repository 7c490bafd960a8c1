//! A coated flake on a grid of angles.

use super::flake::{CoatedFlake, FlakeOptics};

/// Angles in a table, equally spaced in the cosine of incidence from 0 to 1.
///
/// Reflectance is a smooth function of the cosine all the way to grazing incidence; of its square it is
/// not. Over flakes of every make in `tests/thin_film.rs` a table is within 2e-5 of the flake itself out to
/// 42 degrees, which is as far as light from air can meet one, and within 1e-3 beyond.
pub const TABLE_NODES: usize = 97;

/// Reflectance and absorptance of one flake at any angle, by interpolation.
#[derive(Debug, Clone, PartialEq)]
pub struct FlakeTable {
    nodes: Box<[FlakeOptics; TABLE_NODES]>,
}

impl FlakeTable {
    /// Works the flake out at every node.
    pub(super) fn new(flake: &CoatedFlake) -> Self {
        let nodes = std::array::from_fn(|i| {
            let cos = i as f64 / (TABLE_NODES - 1) as f64;
            flake.optics(cos * cos)
        });
        Self { nodes: Box::new(nodes) }
    }

    /// Reflectance by [`crate::WAVELENGTHS_NM`] for unpolarised light; `cos2` is the squared cosine of
    /// incidence on the flake inside the binder, and is taken into 0..=1.
    ///
    /// Not-a-number gives not-a-number.
    pub fn at(&self, cos2: f64) -> [f64; 31] {
        self.read(cos2, |optics| &optics.reflectance)
    }

    /// Absorptance, as [`FlakeTable::at`].
    pub fn absorptance_at(&self, cos2: f64) -> [f64; 31] {
        self.read(cos2, |optics| &optics.absorptance)
    }

    /// Mean reflectance over evenly diffuse light: twice the integral of reflectance times cosine over the
    /// cosine, by Simpson's rule on the nodes.
    pub fn diffuse_reflectance(&self) -> [f64; 31] {
        let step = 1.0 / (TABLE_NODES - 1) as f64;
        let mut mean = [0.0; 31];
        for (i, optics) in self.nodes.iter().enumerate() {
            let weight = match i {
                0 => 1.0,
                _ if i == TABLE_NODES - 1 => 1.0,
                _ if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            let share = 2.0 * (step * i as f64) * weight * step / 3.0;
            for (mean, reflectance) in mean.iter_mut().zip(&optics.reflectance) {
                *mean += share * reflectance;
            }
        }
        mean
    }

    /// The cubic through the four nearest nodes (Lagrange).
    fn read(&self, cos2: f64, part: impl Fn(&FlakeOptics) -> &[f64; 31]) -> [f64; 31] {
        let place = cos2.clamp(0.0, 1.0).sqrt() * (TABLE_NODES - 1) as f64;
        let first = (place as usize).saturating_sub(1).min(TABLE_NODES - 4);
        let x = place - first as f64;
        let weights = [
            -(x - 1.0) * (x - 2.0) * (x - 3.0) / 6.0,
            x * (x - 2.0) * (x - 3.0) / 2.0,
            -x * (x - 1.0) * (x - 3.0) / 2.0,
            x * (x - 1.0) * (x - 2.0) / 6.0,
        ];
        let mut found = [0.0; 31];
        for (optics, weight) in self.nodes.iter().skip(first).zip(weights) {
            for (found, value) in found.iter_mut().zip(part(optics)) {
                *found += weight * value;
            }
        }
        // A cubic may swing past what a part of the light can be.
        found.map(|value| if value.is_nan() { value } else { value.clamp(0.0, 1.0) })
    }
}
