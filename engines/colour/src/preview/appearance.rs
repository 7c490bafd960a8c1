//! One paint without its gloss, over light, view and the azimuth between them.

use std::f64::consts::PI;

use base::{Warning, math};

use crate::film::around::{Around, Slant};
use crate::film::interface::{INDEX, Path, Ray, fresnel};
use crate::measurement::Measurement;
use crate::shelf::{Mix, Shelf};

/// Angles from the normal at which light and view are tabulated: 0 to 90 degrees in even steps.
pub(super) const THETAS: usize = 17;
/// Azimuths at which the view is tabulated: 0 (on the light's side) to 180 degrees in even steps.
pub(super) const PHIS: usize = 25;
/// Step of the angles from the normal, in degrees.
pub(super) const THETA_STEP: f64 = 90.0 / (THETAS - 1) as f64;
/// Step of the azimuths, in degrees.
pub(super) const PHI_STEP: f64 = 180.0 / (PHIS - 1) as f64;

/// Most threads that fill a table.
const MOST_THREADS: usize = 8;

/// Radiance factors of a paint by direction, the mirror reflection of its surface left out.
#[derive(Debug, Clone)]
pub struct Appearance {
    /// By light, view and azimuth, over what the surface lets through on both ways.
    pub(super) table: Vec<[f32; 31]>,
    /// Whether a clear surface of index 1.5 lies on top; a bare diffuser has none.
    pub(super) glossy: bool,
    /// What is doubtful about it.
    pub warnings: Vec<Warning>,
}

/// The angle of a node from the normal, in degrees.
pub(super) fn theta_deg(node: usize) -> f64 {
    THETA_STEP * node as f64
}

/// What the surface lets through at an angle of this cosine.
pub(super) fn passes(cos: f64) -> f64 {
    1.0 - fresnel(cos, 1.0, INDEX)
}

/// The place of a light, a view and an azimuth in the table.
pub(super) fn place(light: usize, view: usize, azimuth: usize) -> usize {
    (light * THETAS + view) * PHIS + azimuth
}

impl Appearance {
    /// A mix on a shelf, by the film model.
    pub fn of_mix(shelf: &Shelf, mix: &Mix) -> Self {
        let around = Around::new(shelf, mix);
        let slants: Vec<Slant> = (0..THETAS).map(|node| around.slant(theta_deg(node))).collect();
        let row = |light: usize| {
            let lit = around.lit(&slants[light]);
            let mut row = Vec::with_capacity(THETAS * PHIS);
            for view in &slants {
                for azimuth in 0..PHIS {
                    row.push(around.toward(&lit, view, PHI_STEP * azimuth as f64).map(|value| value as f32));
                }
            }
            row
        };
        Self { table: by_light(row), glossy: true, warnings: Vec::new() }
    }

    /// A measured paint: what it showed at its measured angles, laid over the tilt of the flakes that mirror
    /// the light into the view.
    ///
    /// An opaque film of flakes sends back `pi R D / (4 (mu_i + mu_v))` of first order, `D` hanging on that
    /// tilt alone; so the measured radiance factor, times `mu_i + mu_v` over what the surface lets through,
    /// is taken as a function of the tilt, monotone between the measured angles (Fritsch and Carlson, SIAM
    /// J. Numer. Anal. 17, 1980, from memory) and even beyond them. It gives the measurement back at every
    /// measured angle but -15 degrees, whose flakes are tilted nearly as those of 15; -15 is used where 15
    /// is missing.
    pub fn of_measurement(measured: &Measurement) -> Self {
        let mut known: Vec<(f64, [f64; 31])> = Vec::new();
        let has = |angle: i16| measured.by_angle().iter().any(|(g, _)| g.aspecular_deg() == angle);
        for (geometry, spectrum) in measured.by_angle() {
            let angle = geometry.aspecular_deg();
            if angle < 0 && has(-angle) {
                continue;
            }
            let path = Path::aspecular(45.0, f64::from(angle));
            let scale = (path.light.mu + path.view.mu) / (path.light.passes * path.view.passes);
            known.push((tilt_deg(&path), spectrum.values().map(|value| value.max(0.0) * scale)));
        }
        known.sort_by(|a, b| a.0.total_cmp(&b.0));
        let curve = Curve::through(known);
        let rays: Vec<Ray> = (0..THETAS).map(|node| Ray::at(theta_deg(node), 0.0)).collect();
        let row = |light: usize| {
            let mut row = Vec::with_capacity(THETAS * PHIS);
            for (view, ray) in rays.iter().enumerate() {
                let over = 1.0 / (rays[light].mu + ray.mu);
                for azimuth in 0..PHIS {
                    let path = Path::new(rays[light], Ray::at(theta_deg(view), PHI_STEP * azimuth as f64));
                    row.push(curve.at(tilt_deg(&path)).map(|value| (value * over) as f32));
                }
            }
            row
        };
        let angles = measured.by_angle().len();
        let mut warnings = vec![Warning::new(
            "a measured paint is known at its measured angles; between and beyond them the picture is an interpolation",
        )];
        if angles < 3 {
            warnings.push(Warning::new(format!(
                "only {angles} of 6 angles measured: what the picture shows of its travel from face to flop is a guess"
            )));
        }
        Self { table: by_light(row), glossy: true, warnings }
    }

    /// A perfect diffuser without gloss: radiance factor 1 from everywhere to everywhere.
    pub fn diffuser() -> Self {
        Self { table: vec![[1.0; 31]; THETAS * THETAS * PHIS], glossy: false, warnings: Vec::new() }
    }

    /// Radiance factors by wavelength at a node: light and view in steps of 5.625 degrees from the normal,
    /// azimuth in steps of 7.5 degrees, 0 being a view on the light's own side. `None` off the table.
    pub fn at(&self, light: usize, view: usize, azimuth: usize) -> Option<[f64; 31]> {
        if light >= THETAS || view >= THETAS || azimuth >= PHIS {
            return None;
        }
        let through = if self.glossy {
            [light, view].map(|node| passes(math::cos(theta_deg(node).to_radians()))).iter().product()
        } else {
            1.0
        };
        self.table.get(place(light, view, azimuth)).map(|row| row.map(|value| f64::from(value) * through))
    }
}

/// Fills a table light by light, on several threads; each row stands at its own place.
fn by_light(row: impl Fn(usize) -> Vec<[f32; 31]> + Sync) -> Vec<[f32; 31]> {
    super::sphere::side_by_side(THETAS, MOST_THREADS, row).concat()
}

/// Tilt of the flakes that mirror a light into a view, in degrees.
fn tilt_deg(path: &Path) -> f64 {
    math::atan2(path.tan2.max(0.0).sqrt(), 1.0) * 180.0 / PI
}

/// A monotone curve through spectra by tilt, even beyond its ends.
struct Curve {
    known: Vec<(f64, [f64; 31])>,
    slopes: Vec<[f64; 31]>,
}

impl Curve {
    fn through(known: Vec<(f64, [f64; 31])>) -> Self {
        let chord = |k: usize, i: usize| -> f64 {
            match (known.get(k), known.get(k + 1)) {
                (Some((a, y)), Some((b, z))) => (z[i] - y[i]) / (b - a),
                _ => 0.0,
            }
        };
        let step = |k: usize| known.get(k + 1).map_or(0.0, |next| next.0 - known[k].0);
        let slopes = (0..known.len())
            .map(|k| {
                std::array::from_fn(|i| {
                    // Even beyond the ends, so flat there.
                    if k == 0 || k + 1 == known.len() {
                        return 0.0;
                    }
                    let (before, after) = (chord(k - 1, i), chord(k, i));
                    if before * after <= 0.0 {
                        return 0.0;
                    }
                    // The harmonic mean, weighted by the steps, keeps each piece monotone.
                    let (h, g) = (step(k - 1), step(k));
                    let (w, v) = (2.0 * g + h, g + 2.0 * h);
                    (w + v) / (w / before + v / after)
                })
            })
            .collect();
        Self { known, slopes }
    }

    fn at(&self, tilt: f64) -> [f64; 31] {
        let after = self.known.partition_point(|(known, _)| *known <= tilt);
        let (Some(low), Some((b, z))) = (after.checked_sub(1), self.known.get(after)) else {
            let end = if after == 0 { self.known.first() } else { self.known.last() };
            return end.map_or([0.0; 31], |(_, spectrum)| *spectrum);
        };
        let (a, y) = &self.known[low];
        let (h, t) = (b - a, (tilt - a) / (b - a));
        let (m, n) = (&self.slopes[low], &self.slopes[after]);
        std::array::from_fn(|i| {
            let s = 1.0 - t;
            // Hermite's cubic.
            let value = y[i] * (1.0 + 2.0 * t) * s * s
                + z[i] * t * t * (3.0 - 2.0 * t)
                + h * (m[i] * t * s * s - n[i] * t * t * s);
            value.max(0.0)
        })
    }
}
