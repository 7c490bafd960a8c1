//! What one pixel of the preview should show, worked out without any of the preview's tables.
//!
//! Lights, sky, quadrature, spectra at 1 nm and the way to the screen are written here a second time. From the
//! engine come only the film model ([`colour::radiance_factors`], judged elsewhere by Monte Carlo) and the
//! chromaticity of daylight. Numbers of the scenes repeat `src/preview/scene.rs`, whose choices they are.
//!
//! Spectra run over 400 to 700 nm in steps of 1; beyond, the ends are held, as E308 does. What a shelf holds
//! at 10 nm is interpolated by the cubics that E2022 assumes.

use std::f64::consts::PI;

use base::math;
use colour::preview::{Panel, Scene, View, WIDTH_MM};
use colour::{Direction, Mix, PlainFilm, PlainFlakes, Shelf, TAIL, daylight_chromaticity, radiance_factors};
use palette::convert::FromColorUnclamped;
use palette::white_point::D65;
use palette::{LinSrgb, Xyz};

use crate::csv::{number, rows};
use crate::plain::fresnel;

/// Wavelengths 400..=700.
const NM: usize = 301;

type Vector = [f64; 3];

/// X, Y and Z by wavelength; a perfect diffuser has Y = 100.
type Source = Vec<[f64; 3]>;

fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Nodes and weights of Gauss and Legendre on 0..1, by Newton's method on the polynomial.
fn gauss_legendre(count: usize) -> Vec<(f64, f64)> {
    let n = count as f64;
    (0..count)
        .map(|i| {
            let mut x = math::cos(PI * (i as f64 + 0.75) / (n + 0.5));
            let mut slope = 1.0;
            for _ in 0..20 {
                let (mut before, mut here) = (1.0, x);
                for k in 2..=count {
                    let k = k as f64;
                    (before, here) = (here, ((2.0 * k - 1.0) * x * here - (k - 1.0) * before) / k);
                }
                slope = n * (x * here - before) / (x * x - 1.0);
                x -= here / slope;
            }
            (0.5 * (1.0 + x), 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// Mean over the hemisphere about z by the cosine: Gauss and Legendre in the squared sine.
fn mean(f: impl Fn(Vector) -> f64) -> f64 {
    const TURNS: usize = 256;
    let mut sum = 0.0;
    for (sin2, weight) in gauss_legendre(96) {
        let (sin, cos) = (sin2.sqrt(), (1.0 - sin2).sqrt());
        for turn in 0..TURNS {
            let a = 2.0 * PI * turn as f64 / TURNS as f64;
            sum += weight * f([sin * math::cos(a), sin * math::sin(a), cos]);
        }
    }
    sum / TURNS as f64
}

/// A scene of its own, by the words of the preview.
pub(crate) struct Lights {
    sources: Vec<Source>,
    /// Towards, strength, spread of the mirror image; all of source 0.
    beams: Vec<(Vector, f64, f64)>,
    soft: Box<dyn Fn(Vector) -> [f64; 2] + Sync>,
    exposure: f64,
    /// The light on a card that faces the eye, by source.
    on_card: Vec<f64>,
}

fn toward(elevation_deg: f64, azimuth_deg: f64) -> Vector {
    let (e, a) = (elevation_deg.to_radians(), azimuth_deg.to_radians());
    [math::cos(e) * math::sin(a), math::sin(e), math::cos(e) * math::cos(a)]
}

/// The overcast sky of Moon and Spencer, a third as bright at the horizon as overhead; y is up.
fn overcast(from: Vector) -> f64 {
    (1.0 + 2.0 * from[1].max(0.0)) / 3.0
}

/// Type 12 of ISO 15469:2004, clear, over its zenith; y is up.
fn clear(sun: Vector) -> impl Fn(Vector) -> f64 + Sync {
    let around = |cos: f64| {
        let angle = math::atan2((1.0 - cos * cos).max(0.0).sqrt(), cos);
        1.0 + 10.0 * (math::exp(-3.0 * angle) - math::exp(-1.5 * PI)) + 0.45 * cos * cos
    };
    let up = |sine: f64| 1.0 - math::exp(-0.32 / sine.max(1e-6));
    move |from| up(from[1]) * around(dot(from, sun).clamp(-1.0, 1.0)) / (up(1.0) * around(sun[1]))
}

/// A sky that sheds `level` on level ground, ground of radiance `ground` below, and 0.14 either side of the
/// horizon in which they pass into each other: sky and ground.
fn outdoors(sky: impl Fn(Vector) -> f64 + Sync, level: f64, ground: f64) -> impl Fn(Vector) -> [f64; 2] + Sync {
    let zenith = level / mean(|[x, y, z]| sky([x, z, -y]));
    move |from| {
        let t = ((from[1] + 0.14) / 0.28).clamp(0.0, 1.0);
        let above = (3.0 - 2.0 * t) * t * t;
        [above * zenith * sky(from), (1.0 - above) * ground]
    }
}

impl Lights {
    pub(crate) fn new(scene: Scene) -> Self {
        let (sources, beams, soft, exposure): (_, _, Box<dyn Fn(Vector) -> [f64; 2] + Sync>, _) = match scene {
            Scene::Sun => {
                let sun = toward(45.0, -35.0);
                let both = outdoors(clear(sun), 0.14, 0.2 * (sun[1] + 0.14));
                let soft = move |from| {
                    let [sky, ground] = both(from);
                    [ground, sky]
                };
                (vec![daylight(5003.0), daylight(12_000.0)], vec![(sun, 1.0, 0.035)], Box::new(soft), 0.65)
            }
            Scene::Overcast => {
                let both = outdoors(overcast, 1.0, 0.2);
                let soft = move |from| [both(from).iter().sum(), 0.0];
                (vec![daylight(6504.0)], vec![], Box::new(soft), 0.65)
            }
            Scene::Lamp => (vec![lamp("A")], vec![(toward(35.0, -30.0), 1.0, 0.05)], Box::new(|_| [0.06, 0.0]), 0.65),
            Scene::Tube => {
                // Nine points along an arc of 1.12 about the view's upright plane, 50 degrees up.
                let beams = (0..9)
                    .map(|i| {
                        let along = 1.12 * (f64::from(i) - 4.0) / 9.0;
                        let [sin, cos] = [math::sin(along), math::cos(along)];
                        let [_, y, z] = toward(50.0, 0.0);
                        ([sin, cos * y, cos * z], 1.0 / 9.0, 0.087)
                    })
                    .collect();
                (vec![lamp("FL11")], beams, Box::new(|_| [0.25, 0.0]), 0.65)
            }
            Scene::Furnace => (vec![daylight(6504.0)], vec![], Box::new(|_| [1.0, 0.0]), 1.0),
        };
        let mut lights = Self { sources, beams, soft, exposure, on_card: vec![] };
        for source in 0..lights.sources.len() {
            let beams = lights.beams.iter().filter(|_| source == 0).map(|(l, strength, _)| strength * l[2].max(0.0));
            lights.on_card.push(beams.sum::<f64>() + mean(|from| (lights.soft)(from)[source]));
        }
        lights
    }

    /// What a perfect mirror facing `n` shows of the lamps, spread as the lacquer spreads it.
    fn lamps_mirrored(&self, n: Vector) -> f64 {
        let lamp = |(toward, strength, spread): &(Vector, f64, f64)| {
            let k = 1.0 / (spread * spread);
            strength * 0.5 * k * math::exp(k * (dot(mirrored(n), *toward) - 1.0))
        };
        self.beams.iter().map(lamp).sum()
    }

    /// Whether a clear surface facing `n` shows enough of a lamp to be seen, and not too much for the screen.
    pub(crate) fn glints(&self, n: Vector) -> bool {
        let all: f64 = self.on_card.iter().sum();
        (0.02..0.3).contains(&(fresnel(angle_deg(n[2])) * self.lamps_mirrored(n) / all))
    }

    /// XYZ of a source's own light.
    fn white(&self, source: usize) -> [f64; 3] {
        std::array::from_fn(|axis| self.sources[source].iter().map(|row| row[axis]).sum())
    }

    /// Adapted by Bradford from the scene's white, exposed, in the screen's linear primaries.
    fn screen(&self, xyz: [f64; 3]) -> [f64; 3] {
        // Lam 1985, as CIE 159:2004 prints it (from memory).
        let bradford = [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];
        let mut own = [0.0; 3];
        for (source, part) in self.on_card.iter().enumerate() {
            for (own, white) in own.iter_mut().zip(self.white(source)) {
                *own += white * part;
            }
        }
        // Wanted: the colour whose cones stand to the screen's as the seen ones to the scene's own.
        let cones = |v: Vector| bradford.map(|row| dot(row, v));
        let (seen, own, d65) = (cones(xyz), cones(own), cones([0.95047, 1.0, 1.08883]));
        let wanted: Vector = std::array::from_fn(|i| seen[i] / own[i] * d65[i] * self.exposure);
        let [x, y, z] = solve(bradford, wanted);
        let linear = LinSrgb::<f64>::from_color_unclamped(Xyz::<D65, f64>::new(x, y, z));
        [linear.red, linear.green, linear.blue]
    }
}

/// Cramer's rule.
fn solve(m: [Vector; 3], v: Vector) -> Vector {
    let det = |m: [Vector; 3]| {
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
            + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    };
    std::array::from_fn(|column| {
        let mut replaced = m;
        for (row, value) in replaced.iter_mut().zip(v) {
            row[column] = value;
        }
        det(replaced) / det(m)
    })
}

/// A column of the 1 nm table, as a light.
fn weighed(power: impl Fn(&[f64]) -> f64) -> Source {
    let mut out = vec![[0.0; 3]; NM];
    let mut luminance = 0.0;
    for row in rows("reference/colour/observer_and_lights.csv").iter().skip(1) {
        let row: Vec<f64> = row.iter().map(|cell| number(cell)).collect();
        let slot = &mut out[(row[0].clamp(400.0, 700.0) - 400.0) as usize];
        for axis in 0..3 {
            slot[axis] += power(&row) * row[1 + axis];
        }
        luminance += power(&row) * row[2];
    }
    out.iter_mut().flatten().for_each(|value| *value *= 100.0 / luminance);
    out
}

fn lamp(name: &str) -> Source {
    let column = if name == "A" { 4 } else { 5 };
    weighed(|row| row[column])
}

/// CIE 15.
fn daylight(cct_k: f64) -> Source {
    let (x, y) = daylight_chromaticity(cct_k).expect("a daylight");
    let m = 0.0241 + 0.2562 * x - 0.7341 * y;
    let m1 = (-1.3515 - 1.7703 * x + 5.9114 * y) / m;
    let m2 = (0.0300 - 31.4424 * x + 30.0717 * y) / m;
    weighed(|row| row[6] + m1 * row[7] + m2 * row[8])
}

/// From 10 nm to 1 nm by cubics through four points, by parabolas at the ends (ASTM E2022); never negative.
fn fine(values: &[f64]) -> Vec<f64> {
    (0..NM)
        .map(|i| {
            let interval = (i / 10).min(29);
            let nodes: Vec<usize> = match interval {
                0 => vec![0, 1, 2],
                29 => vec![28, 29, 30],
                k => vec![k - 1, k, k + 1, k + 2],
            };
            let at = i as f64 / 10.0;
            let term = |j: usize| -> f64 {
                let others = nodes.iter().filter(|k| **k != j);
                values[j] * others.map(|k| (at - *k as f64) / (j as f64 - *k as f64)).product::<f64>()
            };
            nodes.iter().map(|j| term(*j)).sum::<f64>().max(0.0)
        })
        .collect()
}

/// A flake whose reflectance by wavelength in nm and by the cosine of the ray inside its own film is known
/// in closed form, with the index of that film.
#[derive(Clone, Copy)]
pub(crate) struct Interference {
    pub(crate) index: f64,
    pub(crate) reflectance: fn(f64, f64) -> f64,
}

impl Interference {
    /// Reflectance where the ray meets the flake at this cosine, in a binder of index 1.5.
    fn at(&self, cos: f64) -> Vec<f64> {
        let sin = (1.0 - cos * cos).max(0.0).sqrt() * 1.5 / self.index;
        let inside = (1.0 - sin * sin).sqrt();
        (0..NM).map(|i| (self.reflectance)(400.0 + i as f64, inside)).collect()
    }
}

/// A paint ready for 1 nm.
pub(crate) struct Paint {
    film: PlainFilm,
    interference: Option<Interference>,
}

fn inside(polar_deg: f64, azimuth_deg: f64) -> Vector {
    let (p, a) = (polar_deg.to_radians(), azimuth_deg.to_radians());
    let sin = math::sin(p) / 1.5;
    [sin * math::cos(a), sin * math::sin(a), (1.0 - sin * sin).sqrt()]
}

impl Paint {
    /// A mix of evenly scattering pigments and at most one toner of flakes.
    pub(crate) fn new(shelf: &Shelf, mix: &Mix, interference: Option<Interference>) -> Self {
        let mut film = PlainFilm {
            film_um: mix.film_um,
            absorption_per_um: vec![0.0; NM],
            scattering_per_um: vec![0.0; NM],
            flakes: vec![],
            ground: fine(shelf.substrates()[mix.substrate].reflectance.values()),
            clear: fine(shelf.clear()),
        };
        for part in &mix.parts {
            let (optics, c) = (&shelf.toners()[part.toner].optics, part.fraction);
            assert_eq!(optics.forwardness, 0.0, "a film described directly scatters evenly");
            for (sum, k) in film.absorption_per_um.iter_mut().zip(fine(&optics.absorption)) {
                *sum += k * c;
            }
            for (sum, s) in film.scattering_per_um.iter_mut().zip(fine(&optics.scattering)) {
                *sum += s * c / (1.0 + optics.crowding * c);
            }
            if let Some(flake) = &optics.flake {
                let own = flake.slope_sd * (1.0 + flake.loading * c);
                let wider: f64 = mix.parts.iter().map(|p| shelf.toners()[p.toner].optics.widening * p.fraction).sum();
                film.flakes.push(PlainFlakes {
                    area_per_um: flake.area * c,
                    slope_sd: (own * own + wider).sqrt(),
                    tail_weight: flake.tail_weight,
                    reflectance: fine(&flake.reflectance[..31]),
                    absorptance: fine(&flake.absorptance),
                });
            }
        }
        Self { film, interference }
    }

    /// Radiance factors by view (from the normal, and azimuth from the light), in degrees.
    fn factors(&self, incidence_deg: f64, views: &[(f64, f64)]) -> Vec<Vec<f64>> {
        let directions: Vec<Direction> = views
            .iter()
            .map(|&(view, azimuth_deg)| Direction { incidence_deg, aspecular_deg: incidence_deg + view, azimuth_deg })
            .collect();
        let Some(interference) = self.interference else {
            return radiance_factors(&self.film, &directions).expect("a film");
        };
        // The film described directly has one reflectance for its flakes, whatever they face. So: the film
        // with the reflectance that they show to the light; of it, what one flake mirrors (exact, in closed
        // form) is taken out and put in again with the reflectance of just the flakes that mirror this light
        // into this view, and with the shadow that flakes throw on the view.
        let light = inside(incidence_deg, 0.0);
        let to_light = self.population(interference, light);
        let mut film = self.film.clone();
        film.flakes[0].reflectance.clone_from(&to_light);
        let mut all = radiance_factors(&film, &directions).expect("a film");
        let mut last: Option<(f64, Vec<f64>)> = None;
        for (found, (polar, azimuth)) in all.iter_mut().zip(views) {
            let view = inside(*polar, *azimuth);
            let (_, to_view) = match last.take() {
                Some(same) if same.0 == *polar => last.insert(same),
                _ => last.insert((*polar, self.population(interference, view))),
            };
            let sum: Vector = std::array::from_fn(|i| light[i] + view[i]);
            let half = sum.map(|s| s / dot(sum, sum).sqrt());
            let mirrors = interference.at(dot(half, light));
            let one = self.first_order(light, view, half, [&to_light, &to_light, &to_light]);
            let other = self.first_order(light, view, half, [&mirrors, &to_light, to_view]);
            let passes = (1.0 - fresnel(incidence_deg)) * (1.0 - fresnel(polar.abs()));
            for ((found, one), other) in found.iter_mut().zip(one).zip(other) {
                *found += (other - one) * passes;
            }
        }
        all
    }

    /// Mean reflectance that the flakes show along a ray, by the area that they show to it.
    fn population(&self, interference: Interference, ray: Vector) -> Vec<f64> {
        let flakes = &self.film.flakes[0];
        let across = math::hypot(ray[0], ray[1]);
        let mut sum = vec![0.0; NM];
        let mut all = 0.0;
        for (sd, share) in [(flakes.slope_sd, 1.0 - flakes.tail_weight), (TAIL * flakes.slope_sd, flakes.tail_weight)] {
            for (u, weight) in gauss_legendre(6) {
                let tan = sd * (-2.0 * math::ln(1.0 - u)).sqrt();
                for turn in 0..8 {
                    let turn = PI * (f64::from(turn) + 0.5) / 8.0;
                    // Not the unit normal: its length makes up for the flake's area over its plan.
                    let facing = (tan * math::cos(turn) * across + ray[2]).abs();
                    let weight = share * weight * facing;
                    all += weight;
                    let seen = interference.at(facing / (1.0 + tan * tan).sqrt());
                    sum.iter_mut().zip(seen).for_each(|(sum, r)| *sum += weight * r);
                }
            }
        }
        sum.iter().map(|value| value / all).collect()
    }

    /// `pi rho R D / (4 mu_i mu_v) (1 - e^{-tE}) / E / n^2`, without the surface's two passes; reflectance of
    /// the flakes that mirror, and of those that shade the light and the view.
    fn first_order(&self, light: Vector, view: Vector, half: Vector, [r, in_light, in_view]: [&[f64]; 3]) -> Vec<f64> {
        let (film, flakes) = (&self.film, &self.film.flakes[0]);
        let (mu_i, mu_v) = (light[2], view[2]);
        let cos2 = half[2] * half[2];
        let mixed = |f: &dyn Fn(f64) -> f64| {
            (1.0 - flakes.tail_weight) * f(flakes.slope_sd) + flakes.tail_weight * f(TAIL * flakes.slope_sd)
        };
        // Beckmann's density, Smith's shadowing.
        let density = mixed(&|s| math::exp(-(1.0 / cos2 - 1.0) / (2.0 * s * s)) / (2.0 * PI * s * s * cos2 * cos2));
        let shown = |mu: f64| {
            mixed(&|s| {
                let x = mu / (s * (2.0 * (1.0 - mu * mu).max(1e-12)).sqrt());
                let erfc = 2.0 * base::normal::below(-x * std::f64::consts::SQRT_2);
                math::exp(-x * x) / (x * PI.sqrt()) - erfc + 1.0
            })
        };
        let (shown_i, shown_v) = (shown(mu_i), shown(mu_v));
        (0..NM)
            .map(|i| {
                let stop = |r: f64, shown: f64| flakes.area_per_um * (r + flakes.absorptance[i]) * shown;
                let e = (film.absorption_per_um[i] + film.scattering_per_um[i]) * (1.0 / mu_i + 1.0 / mu_v)
                    + stop(in_light[i], shown_i)
                    + stop(in_view[i], shown_v);
                let clear = math::exp(-film.clear[i] * (1.0 / mu_i + 1.0 / mu_v));
                PI * flakes.area_per_um * r[i] * density / (4.0 * mu_i * mu_v) * (1.0 - math::exp(-film.film_um * e))
                    / e
                    * clear
                    / 2.25
            })
            .collect()
    }

    /// Linear screen primaries of surfaces with these normals, each in its own lights.
    pub(crate) fn seen(&self, pixels: &[(Vector, &Lights)], rings: usize, turns: usize) -> Vec<[f64; 3]> {
        let views: Vec<f64> = pixels.iter().map(|(n, _)| angle_deg(n[2])).collect();
        let mut by_pixel: Vec<[Vec<f64>; 2]> = vec![[vec![0.0; NM], vec![0.0; NM]]; pixels.len()];
        // The soft light: the same rings about every normal, both halves of the turn at once.
        let nodes = gauss_legendre(rings);
        let azimuths: Vec<f64> = (0..turns).map(|turn| 180.0 * (turn as f64 + 0.5) / turns as f64).collect();
        let threads = std::thread::available_parallelism().map_or(1, |n| n.get());
        let ring = |(sin2, weight): (f64, f64)| {
            let incidence = angle_deg((1.0 - sin2).sqrt());
            let mut part = vec![[vec![0.0; NM], vec![0.0; NM]]; pixels.len()];
            let around: Vec<(f64, f64)> =
                views.iter().flat_map(|view| azimuths.iter().map(|azimuth| (*view, *azimuth))).collect();
            let factors = self.factors(incidence, &around);
            for ((pixel, part), factors) in pixels.iter().zip(&mut part).zip(factors.chunks(turns)) {
                for (beta, azimuth) in factors.iter().zip(&azimuths) {
                    let one = (pixel.1.soft)(from(pixel.0, sin2, *azimuth));
                    let other = (pixel.1.soft)(from(pixel.0, sin2, -azimuth));
                    for (source, sum) in part.iter_mut().enumerate() {
                        let level = weight * (one[source] + other[source]) / (2.0 * turns as f64);
                        if level > 0.0 {
                            sum.iter_mut().zip(beta).for_each(|(sum, beta)| *sum += level * beta);
                        }
                    }
                }
            }
            part
        };
        let parts: Vec<_> = std::thread::scope(|scope| {
            let (nodes, ring) = (&nodes, &ring);
            let workers: Vec<_> = (0..threads)
                .map(|first| {
                    scope.spawn(move || nodes.iter().skip(first).step_by(threads).map(|n| ring(*n)).collect::<Vec<_>>())
                })
                .collect();
            workers.into_iter().flat_map(|worker| worker.join().expect("a ring")).collect()
        });
        for part in parts {
            for (sums, more) in by_pixel.iter_mut().flatten().zip(part.iter().flatten()) {
                sums.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
            }
        }
        let beams = |(n, lights): &(Vector, &Lights), view: f64, sum: &mut [f64]| {
            for (toward, strength, _) in &lights.beams {
                let cos = dot(*n, *toward);
                if cos <= math::cos(89.0_f64.to_radians()) {
                    continue;
                }
                // Azimuth between light and view about the normal.
                let across = |v: Vector| -> Vector { std::array::from_fn(|i| v[i] - dot(v, *n) * n[i]) };
                let (a, b) = (across(*toward), across([0.0, 0.0, 1.0]));
                let turn = angle_deg(dot(a, b) / (dot(a, a) * dot(b, b)).sqrt().max(1e-12));
                for (sum, beta) in sum.iter_mut().zip(&self.factors(angle_deg(cos), &[(view, turn)])[0]) {
                    *sum += strength * cos * beta;
                }
            }
        };
        let mut out = Vec::new();
        for ((pixel, view), mut light) in pixels.iter().zip(views).zip(by_pixel) {
            beams(pixel, view, &mut light[0]);
            let (n, lights) = pixel;
            let mut xyz = [0.0; 3];
            for (source, light) in lights.sources.iter().zip(&light) {
                for (weights, radiance) in source.iter().zip(light) {
                    for (sum, weight) in xyz.iter_mut().zip(weights) {
                        *sum += weight * radiance;
                    }
                }
            }
            // The clear surface mirrors the soft light, and the lamps with their spread.
            let mut level = (lights.soft)(mirrored(*n));
            level[0] += lights.lamps_mirrored(*n);
            for (source, level) in level.iter().enumerate().take(lights.sources.len()) {
                for (sum, white) in xyz.iter_mut().zip(lights.white(source)) {
                    *sum += fresnel(view) * level * white;
                }
            }
            out.push(lights.screen(xyz));
        }
        out
    }
}

/// The eye's direction mirrored in a surface.
fn mirrored(n: Vector) -> Vector {
    [2.0 * n[2] * n[0], 2.0 * n[2] * n[1], 2.0 * n[2] * n[2] - 1.0]
}

fn angle_deg(cos: f64) -> f64 {
    let cos = cos.clamp(-1.0, 1.0);
    math::atan2((1.0 - cos * cos).sqrt(), cos).to_degrees()
}

/// The direction at a squared sine from the normal, turned about it from the eye's side.
fn from(n: Vector, sin2: f64, azimuth_deg: f64) -> Vector {
    // The eye is at z; what of it lies across the normal, and the third axis.
    let x = [-n[2] * n[0], -n[2] * n[1], 1.0 - n[2] * n[2]];
    let length = dot(x, x).sqrt();
    let x = if length < 1e-9 { [1.0, 0.0, 0.0] } else { x.map(|v| v / length) };
    let y = [n[1] * x[2] - n[2] * x[1], n[2] * x[0] - n[0] * x[2], n[0] * x[1] - n[1] * x[0]];
    let (sin, cos) = (sin2.sqrt(), (1.0 - sin2).sqrt());
    let (a, b) = (sin * math::cos(azimuth_deg.to_radians()), sin * math::sin(azimuth_deg.to_radians()));
    std::array::from_fn(|i| a * x[i] + b * y[i] + cos * n[i])
}

/// A panel as a view turns it, to be met by rays.
pub(crate) struct Turned {
    view: View,
    /// Corners and their normals.
    triangles: Vec<[(Vector, Vector); 3]>,
}

impl Turned {
    pub(crate) fn new(panel: &Panel, view: View) -> Self {
        let (turn, tilt) = (view.turn_deg.to_radians(), view.tilt_deg.to_radians());
        let turned = |[x, y, z]: [f32; 3]| -> Vector {
            let [x, y, z] = [x, y, z].map(f64::from);
            let (x, z) = (math::cos(turn) * x + math::sin(turn) * z, math::cos(turn) * z - math::sin(turn) * x);
            [x, math::cos(tilt) * y - math::sin(tilt) * z, math::sin(tilt) * y + math::cos(tilt) * z]
        };
        let corners: Vec<(Vector, Vector)> =
            panel.positions.iter().zip(&panel.normals).map(|(p, n)| (turned(*p), turned(*n))).collect();
        Self { view, triangles: panel.triangles.iter().map(|t| t.map(|i| corners[i as usize])).collect() }
    }

    /// The normal that the eye meets through the middle of a pixel, by a ray against every triangle.
    pub(crate) fn hit(&self, column: usize, row: usize) -> Option<Vector> {
        let (width, height) = (self.view.width as f64, self.view.height as f64);
        let mm = WIDTH_MM / width;
        let (x, y) = ((column as f64 + 0.5 - width / 2.0) * mm, (height / 2.0 - row as f64 - 0.5) * mm);
        let mut nearest: Option<(f64, Vector)> = None;
        for [(a, l), (b, m), (c, n)] in &self.triangles {
            // a + s (b - a) + t (c - a) in the plane of the picture.
            let det = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]);
            let s = ((x - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (y - a[1])) / det;
            let t = ((b[0] - a[0]) * (y - a[1]) - (x - a[0]) * (b[1] - a[1])) / det;
            if !(s >= 0.0 && t >= 0.0 && s + t <= 1.0) {
                continue;
            }
            let depth = a[2] + s * (b[2] - a[2]) + t * (c[2] - a[2]);
            if nearest.is_none_or(|(other, _)| depth > other) {
                let normal: Vector = std::array::from_fn(|i| l[i] + s * (m[i] - l[i]) + t * (n[i] - l[i]));
                nearest = Some((depth, normal.map(|v| v / dot(normal, normal).sqrt())));
            }
        }
        nearest.map(|(_, normal)| normal).filter(|n| n[2] > 0.0)
    }
}
