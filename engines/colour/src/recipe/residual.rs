//! How far a film is from what is wanted, as one vector for a least-squares solver.
//!
//! For each wanted angle the vector holds the CIEDE2000 split under D65, A and FL11 for the 10 degree
//! observer, and, where the spectrum itself is wanted, 31 differences of cube roots.

use base::lane;

use super::split::{Reference, Split};
use super::wish::Wish;
use crate::film::Prediction;
use crate::lab::Lab;
use crate::light::{Illuminant, Observer, Xyz, table, white};

/// Lights by three colour differences.
const COLOURS: usize = 9;
/// The weights of nine sums, padded to whole vector registers.
const LANES: usize = 10;

/// What share each light has in the square of a difference: daylight half, a lamp and a tube the rest
/// (our choice).
const LIGHTS: [f64; 3] = [0.5, 0.25, 0.25];
/// The same at an angle whose colour was edited: what the wish is under other lights is a guess there.
const LIGHTS_EDITED: [f64; 3] = [0.9, 0.05, 0.05];
/// Weight of the spectral differences, in units of L\* over the root mean square of cube roots
/// (0.3, our choice: enough to choose between recipes of one colour).
const SPECTRAL: f64 = 0.3;
/// Radiance factor below which differences stop growing as cube roots would make them.
const DARK: f64 = 0.002;

/// The vector's shape and what it is measured from.
#[derive(Debug, Clone)]
pub(crate) struct Aim {
    angles: Vec<Angle>,
    rows: usize,
    weights: Box<[[f64; LANES]; 31]>,
    whites: [Xyz; 3],
}

#[derive(Debug, Clone)]
struct Angle {
    /// Its place in [`Geometry::ALL`].
    at: usize,
    references: [Reference; 3],
    /// Roots of the weights of the lights.
    lights: [f64; 3],
    /// Cube roots of the wanted spectrum and the weight of their differences, where wanted.
    roots: Option<([f64; 31], f64)>,
}

impl Aim {
    /// From a wish that was checked; angles without weight are left out.
    pub(crate) fn new(wish: &Wish) -> Self {
        let mut weights = Box::new([[0.0; LANES]; 31]);
        for (light, illuminant) in Illuminant::ALL.into_iter().enumerate() {
            for (out, row) in weights.iter_mut().zip(table(illuminant, Observer::Deg10)) {
                for (axis, weight) in row.iter().enumerate() {
                    out[3 * light + axis] = *weight;
                }
            }
        }
        let whites = Illuminant::ALL.map(|illuminant| white(illuminant, Observer::Deg10));
        let total: f64 = wish.weights.iter().map(|(_, weight)| weight).sum();
        let mut angles = Vec::new();
        for (geometry, weight) in &wish.weights {
            let Some(spectrum) = wish.target.at(*geometry).filter(|_| *weight > 0.0) else { continue };
            let share = weight / total;
            let whole = wish.spectral.contains(geometry);
            let sums = weigh(spectrum.values(), &weights);
            let labs: [Lab; 3] = std::array::from_fn(|i| Lab::from_xyz(xyz(&sums, i), whites[i]));
            let lights = if whole { LIGHTS } else { LIGHTS_EDITED };
            angles.push(Angle {
                at: geometry.place(),
                references: labs.map(Reference::new),
                lights: lights.map(|light| (light * share).sqrt()),
                roots: whole.then(|| {
                    let scale = SPECTRAL * 100.0 * (share / 31.0).sqrt();
                    (spectrum.values().map(|value| scale * root(value).0), scale)
                }),
            });
        }
        let rows = angles.iter().map(|angle| COLOURS + angle.roots.map_or(0, |_| 31)).sum();
        Self { angles, rows, weights, whites }
    }

    /// The length of the vector.
    pub(crate) fn rows(&self) -> usize {
        self.rows
    }

    /// The vector alone; `out` has [`Aim::rows`] places.
    pub(crate) fn residual(&self, value: &Prediction, out: &mut [f64]) {
        self.walk(value, &[], out, &mut []);
    }

    /// The vector and, for each slope of the spectra, its slope: `columns` has [`Aim::rows`] places
    /// for each.
    pub(crate) fn slopes(&self, value: &Prediction, slopes: &[&Prediction], out: &mut [f64], columns: &mut [f64]) {
        self.walk(value, slopes, out, columns);
    }

    fn walk(&self, value: &Prediction, slopes: &[&Prediction], out: &mut [f64], columns: &mut [f64]) {
        let mut row = 0;
        for angle in &self.angles {
            let spectrum = &value[angle.at];
            let splits = self.splits(angle, &weigh(spectrum, &self.weights));
            for (light, split) in splits.iter().enumerate() {
                for part in 0..3 {
                    out[row + 3 * light + part] = split.value[part];
                }
            }
            for (slope, column) in slopes.iter().zip(columns.chunks_exact_mut(self.rows)) {
                let sums = weigh(&slope[angle.at], &self.weights);
                for (light, split) in splits.iter().enumerate() {
                    for (part, by) in split.slope.iter().enumerate() {
                        let along: f64 = (0..3).map(|axis| by[axis] * sums[3 * light + axis]).sum();
                        column[row + 3 * light + part] = along;
                    }
                }
            }
            row += COLOURS;
            if let Some((roots, scale)) = &angle.roots {
                let mut steep = [0.0; 31];
                for ((out, by), (value, wanted)) in
                    out[row..row + 31].iter_mut().zip(&mut steep).zip(spectrum.iter().zip(roots))
                {
                    let (root, slope) = root(*value);
                    *out = scale * root - wanted;
                    *by = scale * slope;
                }
                for (slope, column) in slopes.iter().zip(columns.chunks_exact_mut(self.rows)) {
                    for ((out, by), slope) in column[row..row + 31].iter_mut().zip(&steep).zip(&slope[angle.at]) {
                        *out = by * slope;
                    }
                }
                row += 31;
            }
        }
    }

    /// The weighted split under each light, and its slope by X, Y and Z.
    fn splits(&self, angle: &Angle, sums: &[f64; LANES]) -> [Split; 3] {
        std::array::from_fn(|light| {
            let (lab, by) = lab_and_slope(xyz(sums, light), self.whites[light]);
            let weight = angle.lights[light];
            let split = angle.references[light].split(lab);
            Split {
                value: split.value.map(|value| weight * value),
                slope: split.slope.map(|[l, a, b]| {
                    // L* = 116 f(Y) - 16, a* = 500 (f(X) - f(Y)), b* = 200 (f(Y) - f(Z)).
                    let x = 500.0 * a * by[0];
                    let y = (116.0 * l - 500.0 * a + 200.0 * b) * by[1];
                    let z = -200.0 * b * by[2];
                    [weight * x, weight * y, weight * z]
                }),
            }
        })
    }
}

/// Nine weighted sums of a spectrum: X, Y and Z under three lights.
#[inline]
fn weigh(spectrum: &[f64; 31], weights: &[[f64; LANES]; 31]) -> [f64; LANES] {
    let mut sums = [0.0; LANES];
    for (value, weights) in spectrum.iter().zip(weights) {
        for (sum, weight) in sums.iter_mut().zip(weights) {
            *sum += weight * value;
        }
    }
    sums
}

fn xyz(sums: &[f64; LANES], light: usize) -> Xyz {
    Xyz { x: sums[3 * light], y: sums[3 * light + 1], z: sums[3 * light + 2] }
}

/// CIELAB, and the slopes of f(X/X_n), f(Y/Y_n), f(Z/Z_n) by X, Y and Z.
fn lab_and_slope(xyz: Xyz, white: Xyz) -> (Lab, [f64; 3]) {
    // CIE 15:2018, 8.2.1: a straight line below (24/116)^3.
    let f = |value: f64, white: f64| {
        let ratio = value / white;
        if ratio > 24.0 * 24.0 * 24.0 / (116.0 * 116.0 * 116.0) {
            let root = lane::cbrt(ratio);
            (root, 1.0 / (3.0 * root * root * white))
        } else {
            (841.0 / 108.0 * ratio + 16.0 / 116.0, 841.0 / 108.0 / white)
        }
    };
    let ((fx, dx), (fy, dy), (fz, dz)) = (f(xyz.x, white.x), f(xyz.y, white.y), f(xyz.z, white.z));
    (Lab { l: 116.0 * fy - 16.0, a: 500.0 * (fx - fy), b: 200.0 * (fy - fz) }, [dx, dy, dz])
}

/// Cube root of a radiance factor and its slope, both levelling out below [`DARK`].
#[inline]
fn root(value: f64) -> (f64, f64) {
    let lifted = value + DARK;
    let dark = lifted < DARK * 0.5;
    let root = lane::cbrt(if dark { DARK * 0.5 } else { lifted });
    (root, if dark { 0.0 } else { 1.0 / (3.0 * root * root) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::difference::ciede2000;
    use crate::geometry::Geometry;
    use crate::lab::lab;
    use crate::measurement::Measurement;
    use crate::spectrum::Spectrum;
    use base::stream::Stream;

    fn spectra(random: &mut Stream) -> Prediction {
        std::array::from_fn(|_| {
            let (low, high, at) = (random.uniform() * 0.3, random.uniform(), 31.0 * random.uniform());
            std::array::from_fn(|i| {
                0.01 + low + high * base::lane::exp(-((i as f64 - at) / 6.0) * ((i as f64 - at) / 6.0))
            })
        })
    }

    fn wish(spectra: &Prediction, spectral: Vec<Geometry>) -> Wish {
        let by_angle = Geometry::ALL.into_iter().map(|g| (g, Spectrum::new(spectra[g.place()]).unwrap()));
        let weights = Geometry::ALL.into_iter().zip([0.10, 0.15, 0.20, 0.25, 0.20, 0.10]).collect();
        Wish { target: Measurement::new(by_angle.collect()).unwrap(), weights, spectral }
    }

    #[test]
    fn invariant_its_square_is_the_weighted_square_of_ciede2000() {
        let mut random = Stream::new(11, 0);
        for _ in 0..200 {
            let (target, film) = (spectra(&mut random), spectra(&mut random));
            let wish = wish(&target, vec![]);
            let aim = Aim::new(&wish);
            assert_eq!(aim.rows(), 54);
            let mut out = vec![0.0; aim.rows()];
            aim.residual(&film, &mut out);
            let found: f64 = out.iter().map(|x| x * x).sum();
            let mut expected = 0.0;
            for (geometry, weight) in &wish.weights {
                for (illuminant, light) in Illuminant::ALL.into_iter().zip(LIGHTS_EDITED) {
                    let sample = Spectrum::new(film[geometry.place()]).unwrap();
                    let at = |s: &Spectrum| lab(s, illuminant, Observer::Deg10);
                    let de00 = ciede2000(at(wish.target.at(*geometry).unwrap()), at(&sample));
                    expected += weight * light * de00 * de00;
                }
            }
            assert!((found / expected - 1.0).abs() < 1e-9, "{found} {expected}");
        }
    }

    #[test]
    fn invariant_its_slopes_are_those_of_finite_differences() {
        let mut random = Stream::new(12, 0);
        for _ in 0..50 {
            let (target, film, along) = (spectra(&mut random), spectra(&mut random), spectra(&mut random));
            let aim = Aim::new(&wish(&target, Geometry::ALL.to_vec()));
            assert_eq!(aim.rows(), 240);
            let rows = aim.rows();
            let (mut out, mut column) = (vec![0.0; rows], vec![0.0; rows]);
            aim.slopes(&film, &[&along], &mut out, &mut column);
            let moved = |by: f64| {
                let mut film = film;
                for (values, along) in film.iter_mut().zip(&along) {
                    for (value, along) in values.iter_mut().zip(along) {
                        *value += by * along;
                    }
                }
                let mut out = vec![0.0; rows];
                aim.residual(&film, &mut out);
                out
            };
            let (up, down) = (moved(1e-6), moved(-1e-6));
            for row in 0..rows {
                let slope = (up[row] - down[row]) / 2e-6;
                assert!((slope - column[row]).abs() < 1e-4 * (1.0 + slope.abs()), "{row}: {slope} {}", column[row]);
            }
        }
    }
}
