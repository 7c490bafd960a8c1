//! The smooth surface of a film: directions inside, what passes, and which flakes answer.

use std::f64::consts::PI;

use base::math;

use super::lane::{LANES, Pack, Real};

/// Refractive index of paint binders and clear coats (common practice, no source).
pub(crate) const INDEX: f64 = 1.5;

/// The part of evenly diffuse light inside a film of index 1.5 that its surface sends back:
/// 1 - (1 - k1) / n^2 with k1 = 0.0917780 for light from outside.
pub(crate) const DIFFUSE_BACK: f64 = 0.596_345_8;

/// Fresnel reflectance of unpolarised light on a smooth boundary, from index `from` to index `to`;
/// `cos` is the cosine of incidence in `from`. 1 beyond the critical angle.
pub(crate) fn fresnel(cos: f64, from: f64, to: f64) -> f64 {
    let sin2 = (from / to) * (from / to) * (1.0 - cos * cos);
    if sin2 >= 1.0 {
        return 1.0;
    }
    let inner = (1.0 - sin2).sqrt();
    let s = (from * cos - to * inner) / (from * cos + to * inner);
    let p = (to * cos - from * inner) / (to * cos + from * inner);
    0.5 * (s * s + p * p)
}

/// A direction outside the film and its continuation inside.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ray {
    /// Cosine to the normal, inside.
    pub(crate) mu: f64,
    /// Unit vector inside, pointing out of the film; z is the normal.
    pub(crate) unit: [f64; 3],
    /// What the surface lets through.
    pub(crate) passes: f64,
}

impl Ray {
    /// The ray at `polar_deg` from the normal and `azimuth_deg` around it.
    pub(crate) fn at(polar_deg: f64, azimuth_deg: f64) -> Self {
        let (polar, azimuth) = (polar_deg.to_radians(), azimuth_deg.to_radians());
        let sin = math::sin(polar) / INDEX;
        let mu = (1.0 - sin * sin).sqrt();
        Self {
            mu,
            unit: [sin * math::cos(azimuth), sin * math::sin(azimuth), mu],
            passes: 1.0 - fresnel(math::cos(polar), 1.0, INDEX),
        }
    }
}

/// Light in and view out, inside the film.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Path {
    /// The light.
    pub(crate) light: Ray,
    /// The view.
    pub(crate) view: Ray,
    /// Squared tangent of the tilt of the flakes that mirror the light into the view.
    pub(crate) tan2: f64,
    /// Cosine of that tilt.
    pub(crate) cos_tilt: f64,
    /// Cosine of incidence on those flakes.
    pub(crate) cos_incidence: f64,
}

impl Path {
    pub(crate) fn new(light: Ray, view: Ray) -> Self {
        let sum: [f64; 3] = std::array::from_fn(|i| light.unit[i] + view.unit[i]);
        let length = (sum[0] * sum[0] + sum[1] * sum[1] + sum[2] * sum[2]).sqrt();
        let half = sum.map(|s| s / length);
        let cos_tilt = half[2];
        let cos_incidence = (0..3).map(|i| half[i] * light.unit[i]).sum();
        Self { light, view, tan2: 1.0 / (cos_tilt * cos_tilt) - 1.0, cos_tilt, cos_incidence }
    }

    /// In the plane of incidence, the view counted from the mirror direction, positive towards the light.
    pub(crate) fn aspecular(incidence_deg: f64, aspecular_deg: f64) -> Self {
        // The light stands at +incidence in the plane, so its mirror direction at -incidence.
        Self::new(Ray::at(incidence_deg, 0.0), Ray::at(aspecular_deg - incidence_deg, 0.0))
    }

    /// Cosine of the deflection of light scattered from the one into the other (negative: turned back).
    pub(crate) fn cos_deflection(&self) -> f64 {
        -(0..3).map(|i| self.light.unit[i] * self.view.unit[i]).sum::<f64>()
    }

    /// Both boundary crossings of a radiance factor: T_i T_v / n^2.
    pub(crate) fn crossing(&self) -> f64 {
        self.light.passes * self.view.passes / (INDEX * INDEX)
    }
}

/// Density of flake normals per solid angle at a tilt, for slopes of standard deviation `sd`
/// (Beckmann and Spizzichino 1963): its projection on the plane integrates to 1. Also its derivative
/// with respect to `sd`.
pub(crate) fn tilt_density(tan2: f64, cos_tilt: f64, sd: f64) -> (f64, f64) {
    let s2 = sd * sd;
    let c2 = cos_tilt * cos_tilt;
    let density = math::exp(-tan2 / (2.0 * s2)) / (2.0 * PI * s2 * c2 * c2);
    (density, density * (tan2 / (s2 * sd) - 2.0 / sd))
}

/// How much more flake area than the flakes' plan a slanted ray meets, less one, halved: Smith's
/// function for Gaussian slopes (Smith, IEEE Trans. Antennas Propag. 15(5), 1967).
pub(crate) fn shadowing(mu: f64, sd: f64) -> f64 {
    let x = mu / (std::f64::consts::SQRT_2 * sd * (1.0 - mu * mu).max(1e-12).sqrt());
    if x > 4.0 {
        return 0.0;
    }
    let tail = math::exp(-x * x) / (x * PI.sqrt());
    // erf(x) - 1 = -2 P(Z > x sqrt 2).
    0.5 * (tail - 2.0 * base::normal::below(-x * std::f64::consts::SQRT_2))
}

/// Light that flakes mirrored against the surface from below and the surface sent back down: a bundle of
/// directions with weights, and what the flakes then do with it.
pub(crate) struct Returned {
    /// Directions the light comes down along, eight side by side, as unit vectors pointing back to where it
    /// came from, and how much comes along each.
    rays: Vec<([Pack; 3], Pack)>,
    sd: f64,
    /// The part of the flakes' light that the surface sends back.
    pub(crate) back: f64,
    /// The part it sends back when that light has met flakes again.
    pub(crate) back_again: f64,
    /// Mean of 1 / cosine along the returned light.
    pub(crate) slant: f64,
}

/// Tilts of flakes, as unit vectors, with the weight each has before it is seen from anywhere.
fn tilts(sd: f64, (steps, turns): (usize, usize)) -> Vec<([f64; 3], f64)> {
    let mut all = Vec::with_capacity(steps * turns);
    for i in 0..steps {
        // Equal steps in the distribution of tan: 1 - exp(-tan^2 / 2 s^2) uniform.
        let u = (i as f64 + 0.5) / steps as f64;
        let tan = sd * (-2.0 * math::ln(1.0 - u)).sqrt();
        let cos = 1.0 / (1.0 + tan * tan).sqrt();
        for k in 0..turns {
            let turn = 2.0 * PI * (k as f64 + 0.5) / turns as f64;
            let normal = [tan * cos * math::cos(turn), tan * cos * math::sin(turn), cos];
            // A facet's own area is larger than its plan by 1 / cos.
            all.push((normal, 1.0 / (cos * (steps * turns) as f64)));
        }
    }
    all
}

fn dot(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

impl Returned {
    /// Light along `mu` inside, flakes of slope `sd`.
    pub(crate) fn new(mu: f64, sd: f64) -> Self {
        Self::of(mu, sd, (16, 24), (8, 12))
    }

    /// As [`Returned::new`] from fewer tilts, for tables over many lights.
    pub(crate) fn coarse(mu: f64, sd: f64) -> Self {
        Self::of(mu, sd, (8, 16), (4, 8))
    }

    fn of(mu: f64, sd: f64, fine: (usize, usize), coarse: (usize, usize)) -> Self {
        let light = [(1.0 - mu * mu).sqrt(), 0.0, mu];
        let coarse = tilts(sd, coarse);
        let mut rays: Vec<([f64; 3], f64)> = Vec::new();
        let (mut all, mut back, mut again, mut up_again, mut slant) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (normal, area) in tilts(sd, fine) {
            let facing = dot(&normal, &light);
            let up: [f64; 3] = std::array::from_fn(|i| 2.0 * facing * normal[i] - light[i]);
            if facing <= 0.0 || up[2] <= 1e-3 {
                continue;
            }
            let weight = area * facing;
            all += weight;
            let sent_back = weight * fresnel(up[2], INDEX, 1.0);
            back += sent_back;
            slant += sent_back / up[2].max(0.1);
            // Coming down after the surface, the light comes from where a mirror would put it.
            let from = [-up[0], -up[1], up[2]];
            rays.push((from, sent_back));
            let (mut seen, mut kept) = (0.0, 0.0);
            for (normal, area) in &coarse {
                let facing = dot(normal, &from);
                let out = 2.0 * facing * normal[2] - from[2];
                if facing > 0.0 && out > 0.0 {
                    seen += area * facing;
                    kept += area * facing * fresnel(out, INDEX, 1.0);
                }
            }
            if seen > 0.0 {
                up_again += sent_back;
                again += sent_back * kept / seen;
            }
        }
        // The last pack is filled with rays that carry nothing.
        let packed = |chunk: &[([f64; 3], f64)]| {
            let ray = |i: usize| chunk.get(i).copied().unwrap_or(([0.0, 0.0, 1.0], 0.0));
            let from: [Pack; 3] = std::array::from_fn(|axis| Pack(std::array::from_fn(|i| ray(i).0[axis])));
            (from, Pack(std::array::from_fn(|i| ray(i).1 / back.max(1e-12) / ray(i).0[2].max(0.05))))
        };
        Self {
            rays: rays.chunks(LANES).map(packed).collect(),
            sd,
            back: back / all.max(1e-12),
            back_again: again / up_again.max(1e-12),
            slant: slant / back.max(1e-12),
        }
    }

    /// Radiance toward a view, times pi, for a unit of returned flux mirrored once more by flakes whose
    /// slopes are `wider` times as wide.
    pub(crate) fn toward(&self, view: &Ray, wider: f64) -> f64 {
        let s2 = self.sd * wider * (self.sd * wider);
        let mut sum = Pack::of(0.0);
        for (from, weight) in &self.rays {
            let both: [Pack; 3] = std::array::from_fn(|i| from[i] + Pack::of(view.unit[i]));
            let plan2 = both[0] * both[0] + both[1] * both[1];
            let up2 = both[2] * both[2];
            // As `tilt_density`: tan^2 is plan^2 / up^2 and cos^2 is up^2 / (plan^2 + up^2).
            let inverse_cos2 = (plan2 + up2) / up2;
            let density = (plan2 / up2 * (-0.5 / s2)).exp() * (inverse_cos2 * inverse_cos2);
            sum = sum + *weight * density;
        }
        sum.0.iter().sum::<f64>() / (2.0 * PI * s2) * PI / (4.0 * view.mu)
    }
}
