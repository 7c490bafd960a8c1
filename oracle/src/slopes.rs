use base::stream::Stream;
use base::{lane, math, normal};

use crate::error::{Error, within};

/// The wide part of a coat's flakes lies this much less flat than the core.
const TAIL_TIMES: f64 = 2.1;
/// Draws before a tilt is taken as it stands; each is taken with a chance of about a half, so that
/// the limit is met once in 2^64 tilts.
const DRAWS: usize = 64;

/// How flakes lie: slopes along two directions, each normal about level, for a core and a wider tail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slopes {
    core_sd: f64,
    tail_weight: f64,
}

impl Slopes {
    /// Slopes (tangents of the tilt) of standard deviation `core_sd`, 0.005 to 1, for all flakes but
    /// a share `tail_weight`, 0 to 1, whose slopes are 2.1 times as wide.
    pub fn new(core_sd: f64, tail_weight: f64) -> Result<Self, Error> {
        let core_sd = within("standard deviation of flake slopes", core_sd, 0.005, 1.0)?;
        let tail_weight = within("share of flakes in the tail", tail_weight, 0.0, 1.0)?;
        Ok(Self { core_sd, tail_weight })
    }

    /// The core and the tail with their shares.
    pub(crate) fn lobes(self) -> impl Iterator<Item = (f64, Lobe)> {
        let core = (1.0 - self.tail_weight, Lobe { sd: self.core_sd });
        let tail = (self.tail_weight, Lobe { sd: TAIL_TIMES * self.core_sd });
        [core, tail].into_iter().filter(|(share, _)| *share > 0.0)
    }
}

/// Flakes whose slopes have one standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Lobe {
    pub(crate) sd: f64,
}

impl Lobe {
    /// Flake area per unit of projected area and steradian of its normal, at cosine `up` to the
    /// vertical: Beckmann's distribution of normals (P. Beckmann and A. Spizzichino, The Scattering
    /// of Electromagnetic Waves from Rough Surfaces, 1963).
    pub(crate) fn density(self, up: f64) -> f64 {
        let up2 = up * up;
        if up2 < 1e-6 {
            return 0.0;
        }
        let twice_variance = 2.0 * self.sd * self.sd;
        let tangent2 = (1.0 - up2) / up2;
        lane::exp(-tangent2 / twice_variance) / (std::f64::consts::PI * twice_variance * up2 * up2)
    }

    /// Flake area seen along a ray at cosine `mu` to the vertical, per unit of flake area seen from
    /// above, both faces counted: the mean of |cos t - p sin t| over a normal slope p.
    pub(crate) fn seen(self, mu: f64) -> f64 {
        let spread = self.sd * (1.0 - mu * mu).max(0.0).sqrt();
        if spread <= 0.0 {
            return mu.abs();
        }
        let x = mu.abs() / spread;
        mu.abs() * (1.0 - 2.0 * normal::below(-x)) + 2.0 * spread * normal::density(x)
    }

    /// The upward normal of a flake that a ray along the unit vector `ray` meets: drawn by the area
    /// that flakes turn towards the ray.
    pub(crate) fn meet(self, ray: [f64; 3], random: &mut Stream) -> [f64; 3] {
        let [x, y, z] = ray;
        let sine = math::hypot(x, y);
        // Slopes along the ray's azimuth and across it.
        let (along_x, along_y) = if sine > 0.0 { (x / sine, y / sine) } else { (1.0, 0.0) };
        let spread = self.sd * sine;
        // |cos - p sin| is at most |cos| + |p| sin: draw from that mixture, take by the ratio.
        let flat_share = z.abs() / (z.abs() + spread * (2.0 / std::f64::consts::PI).sqrt());
        let mut along = 0.0;
        for _ in 0..DRAWS {
            let size = if random.uniform() < flat_share {
                normal::score(random.uniform())
            } else {
                let side = if random.uniform() < 0.5 { -1.0 } else { 1.0 };
                side * (-2.0 * math::ln(random.uniform())).sqrt()
            };
            along = self.sd * size;
            let bound = z.abs() + along.abs() * sine;
            if random.uniform() * bound < (z - along * sine).abs() {
                break;
            }
        }
        let across = self.sd * normal::score(random.uniform());
        let slope_x = along * along_x - across * along_y;
        let slope_y = along * along_y + across * along_x;
        let up = 1.0 / (1.0 + slope_x * slope_x + slope_y * slope_y).sqrt();
        [-slope_x * up, -slope_y * up, up]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The law that makes the density one of projected area: the integral of D cos over all normals is 1.
    #[test]
    fn invariant_projected_area_of_all_normals_is_one() {
        for sd in [0.08, 0.2, 0.4] {
            let steps = 20_000;
            let width = 1.0 / f64::from(steps);
            let sum: f64 = (0..steps)
                .map(|i| (f64::from(i) + 0.5) * width)
                .map(|up| Lobe { sd }.density(up) * up * 2.0 * std::f64::consts::PI * width)
                .sum();
            assert!((sum - 1.0).abs() < 1e-3, "{sd}: {sum}");
        }
    }

    /// Drawn normals against the density they should have: mean of a function of the normal, and
    /// the same mean by quadrature over slopes.
    #[test]
    fn invariant_met_normals_follow_the_area_turned_to_the_ray() {
        let lobe = Lobe { sd: 0.25 };
        for mu in [-0.9_f64, 0.5, 0.1] {
            let sine = (1.0 - mu * mu).sqrt();
            let ray = [0.6 * sine, 0.8 * sine, mu];
            let mut random = Stream::new(3, 0);
            let count = 100_000;
            let (mut first, mut second) = (0.0, 0.0);
            for _ in 0..count {
                let met = lobe.meet(ray, &mut random);
                let slope = -(0.6 * met[0] + 0.8 * met[1]) / met[2];
                first += slope;
                second += slope * slope;
            }
            let (mut area, mut area_first, mut area_second) = (0.0, 0.0, 0.0);
            for i in -4000..4000 {
                let z = (f64::from(i) + 0.5) * 0.002;
                let slope = lobe.sd * z;
                let turned = (mu - slope * sine).abs() * normal::density(z) * 0.002;
                area += turned;
                area_first += turned * slope;
                area_second += turned * slope * slope;
            }
            let n = f64::from(count);
            // Four standard errors: the slopes have a standard deviation under 0.45.
            assert!((first / n - area_first / area).abs() < 4.0 * 0.45 / n.sqrt());
            assert!((second / n - area_second / area).abs() < 4.0 * 0.3 / n.sqrt());
            assert!((area - lobe.seen(mu)).abs() < 1e-6);
        }
    }
}
