//! A film and a geometry worked out once, for all photons.

use base::{lane, normal};

use crate::film::{Film, Layer};
use crate::flake::{Faces, between};
use crate::geometry::Geometry;
use crate::interface::{INDEX, inside, reflectance};
use crate::slopes::Lobe;

/// Steps of a ray's cosine in a table of extinction by flakes.
const STEPS: usize = 192;
/// A face's mean is taken over this many slopes each way, out to this many standard deviations.
const SLOPES: usize = 16;
const WIDEST: f64 = 4.0;

/// One layer between two depths.
pub(crate) struct Stratum<'a, const N: usize> {
    pub(crate) top_um: f64,
    pub(crate) bottom_um: f64,
    pub(crate) pigments: Vec<(&'a [f64; N], f64)>,
    pub(crate) flakes: Vec<FlakeLobe<'a, N>>,
    /// Extinction by absorption and pigments, per um.
    plain: [f64; N],
    /// Extinction by flakes per um of path, by the cosine of the ray; empty without flakes.
    by_flakes: Vec<[f64; N]>,
}

/// The core or the tail of one sort of flakes.
pub(crate) struct FlakeLobe<'a, const N: usize> {
    pub(crate) area_per_um: f64,
    pub(crate) lobe: Lobe,
    pub(crate) faces: &'a Faces<N>,
    /// A middling reflectance, above zero where any incidence reflects; it weighs the choice of what
    /// a photon meets and nothing else.
    pub(crate) middling: [f64; N],
}

impl<'a, const N: usize> Stratum<'a, N> {
    fn new(layer: &'a Layer<N>, top_um: f64) -> Self {
        let medium = layer.medium();
        let pigments: Vec<_> = medium.pigments().iter().map(|p| (p.scattering_per_um(), p.asymmetry())).collect();
        let mut plain = *medium.absorption_per_um();
        for (scattering, _) in &pigments {
            plain.iter_mut().zip(*scattering).for_each(|(sum, part)| *sum += part);
        }
        let flakes: Vec<FlakeLobe<'_, N>> = medium
            .flakes()
            .iter()
            .filter(|flake| flake.area_per_um() > 0.0)
            .flat_map(|flake| {
                flake.slopes().lobes().map(|(share, lobe)| FlakeLobe {
                    area_per_um: share * flake.area_per_um(),
                    lobe,
                    faces: flake.faces(),
                    middling: middling(flake.faces()),
                })
            })
            .collect();
        let nodes = if flakes.is_empty() { 0 } else { STEPS + 1 };
        let by_flakes = (0..nodes)
            .map(|node| {
                let mu = node as f64 / STEPS as f64;
                let mut sum = [0.0; N];
                for flake in &flakes {
                    let area = flake.area_per_um * flake.lobe.seen(mu);
                    let stopped = mean_stopped(flake, mu);
                    sum.iter_mut().zip(stopped).for_each(|(sum, stopped)| *sum += area * stopped);
                }
                sum
            })
            .collect();
        Self { top_um, bottom_um: top_um + layer.thickness_um(), pigments, flakes, plain, by_flakes }
    }

    /// Extinction per um of path of a ray at the cosine `mu`, 0 to 1.
    #[inline]
    pub(crate) fn extinction(&self, mu: f64) -> [f64; N] {
        if self.by_flakes.is_empty() {
            return self.plain;
        }
        let mut sum = between(&self.by_flakes, mu);
        sum.iter_mut().zip(&self.plain).for_each(|(sum, plain)| *sum += plain);
        sum
    }
}

fn middling<const N: usize>(faces: &Faces<N>) -> [f64; N] {
    let mut sum = [0.0; N];
    for part in 0..8 {
        let reflected = faces.reflected((part as f64 + 0.5) / 8.0);
        sum.iter_mut().zip(reflected).for_each(|(sum, reflected)| *sum += reflected / 8.0);
    }
    sum
}

/// Mean of what a flake stops of a ray at cosine `mu`, over the area that flakes turn to it.
fn mean_stopped<const N: usize>(flake: &FlakeLobe<'_, N>, mu: f64) -> [f64; N] {
    if flake.faces.are_plain() {
        return flake.faces.stopped(1.0);
    }
    let sine = (1.0 - mu * mu).max(0.0).sqrt();
    let step = 2.0 * WIDEST / SLOPES as f64;
    let (mut area, mut sum) = (0.0, [0.0; N]);
    for along in 0..2 * SLOPES {
        let z_along = -WIDEST + (along as f64 + 0.5) * step / 2.0;
        let turned = (mu - flake.lobe.sd * z_along * sine).abs() * normal::density(z_along);
        // Slopes across the ray's plane count the same either way.
        for across in 0..SLOPES / 2 {
            let z_across = (across as f64 + 0.5) * step;
            let slope2 = flake.lobe.sd * flake.lobe.sd * (z_along * z_along + z_across * z_across);
            let up = 1.0 / (1.0 + slope2).sqrt();
            let weight = turned * normal::density(z_across);
            let incidence = (mu - flake.lobe.sd * z_along * sine).abs() * up;
            area += weight;
            let stopped = flake.faces.stopped(incidence.min(1.0));
            sum.iter_mut().zip(stopped).for_each(|(sum, stopped)| *sum += weight * stopped);
        }
    }
    sum.map(|sum| sum / area)
}

/// A view as the film sees it.
pub(crate) struct Eye<const N: usize> {
    /// Unit vector towards the eye, inside the film.
    pub(crate) toward: [f64; 3],
    /// Radiance factor outside per pi times radiance inside and unit flux into the film:
    /// transmittances of the surface in and out, over the square of the index.
    pub(crate) gain: f64,
    /// Extinction per um of depth in each stratum.
    pub(crate) per_depth: Vec<[f64; N]>,
    /// Transmittance from the top of each stratum to the surface; the last is that of the ground.
    pub(crate) clear: Vec<[f64; N]>,
}

/// Everything that photons share.
pub(crate) struct Scene<'a, const N: usize> {
    pub(crate) strata: Vec<Stratum<'a, N>>,
    pub(crate) ground: &'a [f64; N],
    pub(crate) eyes: Vec<Eye<N>>,
    /// Unit vector of the light's travel, inside the film.
    pub(crate) light: [f64; 3],
}

impl<'a, const N: usize> Scene<'a, N> {
    pub(crate) fn new(film: &'a Film<N>, geometry: &Geometry) -> Self {
        let mut strata: Vec<Stratum<'a, N>> = Vec::with_capacity(film.layers().len());
        for layer in film.layers() {
            let top_um = strata.last().map_or(0.0, |above| above.bottom_um);
            strata.push(Stratum::new(layer, top_um));
        }
        let light = geometry.light();
        let let_in = 1.0 - reflectance(-light[2], INDEX);
        let eyes = geometry
            .views()
            .iter()
            .map(|view| {
                let outside = view.vector();
                let let_out = 1.0 - reflectance(outside[2], INDEX);
                let toward = inside(outside);
                let per_depth: Vec<[f64; N]> =
                    strata.iter().map(|s| s.extinction(toward[2]).map(|per_um| per_um / toward[2])).collect();
                let mut clear = vec![[1.0; N]];
                for (stratum, per_depth) in strata.iter().zip(&per_depth) {
                    let thickness = stratum.bottom_um - stratum.top_um;
                    let mut below = clear[clear.len() - 1];
                    below.iter_mut().zip(per_depth).for_each(|(below, e)| *below *= lane::exp(-e * thickness));
                    clear.push(below);
                }
                Eye { toward, gain: let_in * let_out / (INDEX * INDEX), per_depth, clear }
            })
            .collect();
        Self { strata, ground: film.ground(), eyes, light: inside(light) }
    }
}
