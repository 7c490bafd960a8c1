//! A paint under a light, by the direction that its surface faces.

use std::sync::LazyLock;

use base::math;

use super::appearance::{Appearance, PHI_STEP, PHIS, THETA_STEP, THETAS, passes, place, theta_deg};
use super::scene::{Lights, Scene};
use crate::film::interface::{INDEX, fresnel};

/// Texels along each side of the map.
pub const SIDE: usize = 144;
/// The part of the map's width that the hemisphere facing the eye fills; around it lies a margin for
/// interpolation.
pub const INNER: f64 = 0.94;
/// The soft light changes slowly with the surface: so many points along each side are enough for it.
const SOFT_SIDE: usize = 25;
/// How far behind the edge of the hemisphere the margin goes on.
const BEHIND: f64 = -0.2;
/// Most threads that work out a map.
const MOST_THREADS: usize = 8;

/// The mirror image of a lamp in the clear surface, as a spherical Gaussian: the surface sends
/// `F(n.z) rgb exp(k (r.l - 1))` to the eye, `r` being the eye's direction mirrored in the normal `n` and
/// `F` Fresnel's reflectance for an index of 1.5.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glint {
    /// Unit vector `l` towards the lamp: x to the right, y up, z to the eye.
    pub toward: [f64; 3],
    /// Sharpness `k`.
    pub sharpness: f64,
    /// Linear screen primaries.
    pub rgb: [f64; 3],
}

/// What a paint sends to the eye by the direction its surface faces, in the screen's linear primaries, 1
/// being the brightest it shows.
///
/// The map is Lambert's equal-area projection of the hemisphere facing the eye: a unit normal `n` lies at
/// `(n.x, n.y) / sqrt(1 + n.z)`, which fills the unit disc, and that disc fills [`INNER`] of the width.
#[derive(Debug, Clone)]
pub struct Sphere {
    texels: Vec<[f32; 3]>,
    glints: Vec<Glint>,
    glossy: bool,
}

/// A scene with everything about it that does not depend on the paint.
struct Ready {
    lights: Lights,
    glints: Vec<Glint>,
    /// Soft light by node of the coarse map, then by light angle and azimuth, weighted for the integral.
    soft: Vec<[f32; 2]>,
    /// What a perfect mirror shows at each texel: linear primaries.
    mirrored: Vec<[f32; 3]>,
}

static READY: [LazyLock<Ready>; 5] = [
    LazyLock::new(|| Ready::new(Scene::Sun)),
    LazyLock::new(|| Ready::new(Scene::Overcast)),
    LazyLock::new(|| Ready::new(Scene::Lamp)),
    LazyLock::new(|| Ready::new(Scene::Tube)),
    LazyLock::new(|| Ready::new(Scene::Furnace)),
];

/// The normal at a place of the map, -1 to 1 in both; beyond the hemisphere the nearest that the margin has.
fn normal(u: f64, v: f64) -> [f64; 3] {
    let most = 1.0 - BEHIND;
    let square = u * u + v * v;
    let shrink = if square > most { (most / square).sqrt() } else { 1.0 };
    let (u, v, z) = (u * shrink, v * shrink, 1.0 - square.min(most));
    let out = (1.0 + z).sqrt();
    [u * out, v * out, z]
}

/// The place on the map of a texel's centre.
fn texel_place(index: usize, side: usize) -> f64 {
    ((index as f64 + 0.5) / side as f64 - 0.5) * 2.0 / INNER
}

/// Angle whose cosine this is, in degrees.
fn arc_deg(cos: f64) -> f64 {
    let cos = cos.clamp(-1.0, 1.0);
    math::atan2((1.0 - cos * cos).sqrt(), cos).to_degrees()
}

/// Runs a task for every index on several threads and gives the results in order.
pub(super) fn side_by_side<R: Send>(count: usize, most: usize, work: impl Fn(usize) -> R + Sync) -> Vec<R> {
    let threads = std::thread::available_parallelism().map_or(1, |n| n.get()).min(most).min(count.max(1));
    if threads <= 1 {
        return (0..count).map(work).collect();
    }
    let work = &work;
    std::thread::scope(|scope| {
        // Every so many-th each, so that slow ones are spread.
        let workers: Vec<_> = (0..threads)
            .map(|first| scope.spawn(move || (first..count).step_by(threads).map(work).collect::<Vec<R>>()))
            .collect();
        let mut parts: Vec<std::vec::IntoIter<R>> = Vec::with_capacity(threads);
        for worker in workers {
            match worker.join() {
                Ok(part) => parts.push(part.into_iter()),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        (0..count).filter_map(|i| parts.get_mut(i % threads)?.next()).collect()
    })
}

/// Lagrange's cubic through four of `count` even nodes around a place: the first node and the weights.
fn cubic(at: f64, count: usize) -> (usize, [f64; 4]) {
    let first = (at as usize).saturating_sub(1).min(count - 4);
    (first, lagrange(at - first as f64))
}

fn lagrange(t: f64) -> [f64; 4] {
    let (a, b, c, d) = (t, t - 1.0, t - 2.0, t - 3.0);
    [-b * c * d / 6.0, a * c * d / 2.0, -a * b * d / 2.0, a * b * c / 6.0]
}

/// The same for the azimuth, mirrored at both ends: nodes and weights.
fn turning(phi_deg: f64) -> ([usize; 4], [f64; 4]) {
    let at = (phi_deg / PHI_STEP).clamp(0.0, (PHIS - 1) as f64);
    let low = (at as usize).min(PHIS - 2) as isize;
    let last = (PHIS - 1) as isize;
    let nodes = std::array::from_fn(|i| {
        let node = (low - 1 + i as isize).abs();
        (if node > last { 2 * last - node } else { node }) as usize
    });
    (nodes, lagrange(at - low as f64 + 1.0))
}

/// Weights of the light's angles for an integral over the hemisphere (Simpson's rule), by which an even light
/// of 1 on a diffuser adds up to 1; the azimuths are even.
fn rings() -> [f64; THETAS] {
    let mut weights: [f64; THETAS] = std::array::from_fn(|node| {
        let angle = theta_deg(node).to_radians();
        let simpson = if node == 0 || node == THETAS - 1 {
            1.0
        } else if node % 2 == 1 {
            4.0
        } else {
            2.0
        };
        simpson * math::sin(angle) * math::cos(angle).max(0.0)
    });
    let sum: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|weight| *weight /= sum);
    weights
}

/// Two unit vectors across a normal, the first on the eye's side.
fn across(n: [f64; 3]) -> ([f64; 3], [f64; 3]) {
    let flat = math::hypot(n[0], n[1]);
    if flat < 1e-9 {
        return ([1.0, 0.0, 0.0], [0.0, 1.0, 0.0]);
    }
    let x = [-n[0] * n[2] / flat, -n[1] * n[2] / flat, flat];
    (x, [n[1] * x[2] - n[2] * x[1], n[2] * x[0] - n[0] * x[2], n[0] * x[1] - n[1] * x[0]])
}

impl Ready {
    fn new(scene: Scene) -> Self {
        let lights = Lights::new(scene);
        let white = |source: usize| -> [f64; 3] {
            let rows = lights.to_screen.get(source);
            std::array::from_fn(|c| rows.map_or(0.0, |rows| rows.iter().map(|row| row[c]).sum()))
        };
        let glints = lights
            .beams
            .iter()
            .map(|beam| {
                let sharpness = 1.0 / (beam.spread * beam.spread);
                // Such that the Gaussian, 2 pi / k in all, carries the beam's pi.
                let level = beam.strength * sharpness / 2.0;
                Glint { toward: beam.toward, sharpness, rgb: white(beam.source).map(|c| c * level) }
            })
            .collect();
        let rings = rings();
        let soft = side_by_side(SOFT_SIDE * SOFT_SIDE, MOST_THREADS, |node| {
            let n = normal(texel_place(node % SOFT_SIDE, SOFT_SIDE), texel_place(node / SOFT_SIDE, SOFT_SIDE));
            let (x, y) = across(n);
            let mut all = Vec::with_capacity(THETAS * PHIS);
            for (ring, weight) in rings.iter().enumerate() {
                let angle = theta_deg(ring).to_radians();
                let (sin, cos) = (math::sin(angle), math::cos(angle));
                for turn in 0..PHIS {
                    let angle = (PHI_STEP * turn as f64).to_radians();
                    let (a, b) = (sin * math::cos(angle), sin * math::sin(angle));
                    let from = |b: f64| std::array::from_fn(|i| a * x[i] + b * y[i] + cos * n[i]);
                    // Both sides of the plane of view at once; the ends of the turn count for half.
                    let part = weight / (2 * (PHIS - 1)) as f64 * if turn % (PHIS - 1) == 0 { 0.5 } else { 1.0 };
                    let (one, other) = (lights.soft(from(b)), lights.soft(from(-b)));
                    all.push([(part * (one[0] + other[0])) as f32, (part * (one[1] + other[1])) as f32]);
                }
            }
            all
        })
        .concat();
        let mirrored = side_by_side(SIDE, MOST_THREADS, |row| {
            let place = |column: usize| normal(texel_place(column, SIDE), texel_place(row, SIDE));
            let shown = |n: [f64; 3]| -> [f32; 3] {
                let by_source = lights.soft([2.0 * n[2] * n[0], 2.0 * n[2] * n[1], 2.0 * n[2] * n[2] - 1.0]);
                let (one, other) = (white(0), white(1));
                std::array::from_fn(|c| (by_source[0] * one[c] + by_source[1] * other[c]) as f32)
            };
            (0..SIDE).map(|column| shown(place(column))).collect::<Vec<_>>()
        })
        .concat();
        Self { lights, glints, soft, mirrored }
    }

    fn of(scene: Scene) -> &'static Self {
        &READY[scene as usize]
    }
}

/// An appearance seen through the spectrum of one source: linear primaries by node.
fn through(appearance: &Appearance, to_screen: &[[f64; 3]; 31]) -> Vec<[f32; 3]> {
    let one = |row: &[f32; 31]| {
        let mut rgb = [0.0; 3];
        for (factor, weights) in row.iter().zip(to_screen) {
            for (sum, weight) in rgb.iter_mut().zip(weights) {
                *sum += f64::from(*factor) * weight;
            }
        }
        rgb.map(|value| value as f32)
    };
    appearance.table.iter().map(one).collect()
}

fn add(sum: &mut [f64; 3], rgb: [f32; 3], by: f64) {
    for (sum, value) in sum.iter_mut().zip(rgb) {
        *sum += f64::from(value) * by;
    }
}

impl Sphere {
    /// Works out a paint under a light.
    pub fn new(appearance: &Appearance, scene: Scene) -> Self {
        let ready = Ready::of(scene);
        let tables: Vec<Vec<[f32; 3]>> =
            ready.lights.to_screen.iter().map(|to_screen| through(appearance, to_screen)).collect();
        let pass = |cos: f64| if appearance.glossy { passes(cos.clamp(0.0, 1.0)) } else { 1.0 };
        let soft = soft_light(ready, &tables, &pass);
        let texels = side_by_side(SIDE, MOST_THREADS, |row| {
            let v = texel_place(row, SIDE);
            (0..SIDE)
                .map(|column| {
                    let u = texel_place(column, SIDE);
                    let n = normal(u, v);
                    let mut rgb = upsampled(&soft, u, v);
                    for (sum, value) in rgb.iter_mut().zip(direct_light(ready, &tables, n, &pass)) {
                        *sum += value;
                    }
                    let out = pass(n[2]);
                    let mirror = if appearance.glossy { fresnel(n[2].max(0.0), 1.0, INDEX) } else { 0.0 };
                    let mirrored = ready.mirrored[row * SIDE + column];
                    std::array::from_fn(|c| (rgb[c] * out + mirror * f64::from(mirrored[c])) as f32)
                })
                .collect::<Vec<[f32; 3]>>()
        })
        .concat();
        let glints = if appearance.glossy { ready.glints.clone() } else { Vec::new() };
        Self { texels, glints, glossy: appearance.glossy }
    }

    /// The map, [`SIDE`] rows of as many texels, the lowest row first.
    pub fn texels(&self) -> &[[f32; 3]] {
        &self.texels
    }

    /// The lamps' mirror images, to be added.
    pub fn glints(&self) -> &[Glint] {
        &self.glints
    }

    /// What a surface of this unit normal sends to the eye, in linear primaries; one that faces away sends
    /// what the edge of the hemisphere does.
    pub fn at(&self, n: [f64; 3]) -> [f64; 3] {
        let z = n[2].max(BEHIND);
        let s = 1.0 / (1.0 + z).sqrt();
        let place = |x: f64| ((x * s * 0.5 * INNER + 0.5) * SIDE as f64 - 0.5).clamp(0.0, (SIDE - 1) as f64 - 1e-6);
        let (x, y) = (place(n[0]), place(n[1]));
        let (column, row) = (x as usize, y as usize);
        let (a, b) = (x - column as f64, y - row as f64);
        let mut rgb = [0.0; 3];
        let first = row * SIDE + column;
        for (index, weight) in [
            (first, (1.0 - a) * (1.0 - b)),
            (first + 1, a * (1.0 - b)),
            (first + SIDE, (1.0 - a) * b),
            (first + SIDE + 1, a * b),
        ] {
            add(&mut rgb, self.texels.get(index).copied().unwrap_or_default(), weight);
        }
        if self.glossy && !self.glints.is_empty() {
            let mirrored = [2.0 * n[2] * n[0], 2.0 * n[2] * n[1], 2.0 * n[2] * n[2] - 1.0];
            let mut reflectance = None;
            for glint in &self.glints {
                let cos: f64 = mirrored.iter().zip(glint.toward).map(|(a, b)| a * b).sum();
                let power = glint.sharpness * (cos - 1.0);
                if power < -20.0 {
                    continue;
                }
                let f = *reflectance.get_or_insert_with(|| fresnel(n[2].clamp(0.0, 1.0), 1.0, INDEX));
                let level = f * base::lane::exp(power);
                for (sum, value) in rgb.iter_mut().zip(glint.rgb) {
                    *sum += level * value;
                }
            }
        }
        rgb
    }
}

/// What the soft light makes of the paint, by node of the coarse map, over what the surface lets out.
fn soft_light(ready: &Ready, tables: &[Vec<[f32; 3]>], pass: &(impl Fn(f64) -> f64 + Sync)) -> Vec<[f64; 3]> {
    let into: [f64; THETAS] = std::array::from_fn(|node| pass(math::cos(theta_deg(node).to_radians())));
    side_by_side(SOFT_SIDE * SOFT_SIDE, MOST_THREADS, |node| {
        let n = normal(texel_place(node % SOFT_SIDE, SOFT_SIDE), texel_place(node / SOFT_SIDE, SOFT_SIDE));
        let (first, weights) = cubic(arc_deg(n[2].max(0.0)) / THETA_STEP, THETAS);
        let from = &ready.soft[node * THETAS * PHIS..(node + 1) * THETAS * PHIS];
        let mut rgb = [0.0; 3];
        for (source, table) in tables.iter().enumerate() {
            for (light, into) in into.iter().enumerate() {
                for (tap, weight) in weights.iter().enumerate() {
                    let row = &table[place(light, first + tap, 0)..place(light, first + tap, 0) + PHIS];
                    let mut sum = [0.0_f32; 3];
                    for (factor, level) in row.iter().zip(&from[light * PHIS..(light + 1) * PHIS]) {
                        for (sum, factor) in sum.iter_mut().zip(factor) {
                            *sum += factor * level[source];
                        }
                    }
                    add(&mut rgb, sum, into * weight);
                }
            }
        }
        rgb
    })
}

/// What the beams make of the paint at a normal, over what the surface lets out.
fn direct_light(ready: &Ready, tables: &[Vec<[f32; 3]>], n: [f64; 3], pass: &impl Fn(f64) -> f64) -> [f64; 3] {
    let mut rgb = [0.0; 3];
    let cos_view = n[2].max(0.0);
    let sin_view = (1.0 - cos_view * cos_view).sqrt();
    let (first_view, view) = cubic(arc_deg(cos_view) / THETA_STEP, THETAS);
    for beam in &ready.lights.beams {
        let Some(table) = tables.get(beam.source) else { continue };
        let cos: f64 = n.iter().zip(beam.toward).map(|(a, b)| a * b).sum();
        if cos <= 0.0 {
            continue;
        }
        let sin = (1.0 - cos * cos).max(0.0).sqrt();
        let flat = sin * sin_view;
        let phi = if flat < 1e-9 { 0.0 } else { arc_deg((beam.toward[2] - cos * cos_view) / flat) };
        let (first_light, light) = cubic(arc_deg(cos) / THETA_STEP, THETAS);
        let (nodes, turn) = turning(phi);
        let mut seen = [0.0; 3];
        for (i, light) in light.iter().enumerate() {
            for (j, view) in view.iter().enumerate() {
                let row = place(first_light + i, first_view + j, 0);
                for (node, turn) in nodes.iter().zip(turn) {
                    add(&mut seen, table[row + node], light * view * turn);
                }
            }
        }
        let level = beam.strength * cos * pass(cos);
        for (sum, seen) in rgb.iter_mut().zip(seen) {
            *sum += seen * level;
        }
    }
    rgb
}

/// The coarse map at a place of the fine one.
fn upsampled(soft: &[[f64; 3]], u: f64, v: f64) -> [f64; 3] {
    let at = |place: f64| ((place * INNER / 2.0 + 0.5) * SOFT_SIDE as f64 - 0.5).clamp(0.0, (SOFT_SIDE - 1) as f64);
    let ((column, across), (row, up)) = (cubic(at(u), SOFT_SIDE), cubic(at(v), SOFT_SIDE));
    let mut rgb = [0.0; 3];
    for (j, up) in up.iter().enumerate() {
        for (i, across) in across.iter().enumerate() {
            let node = soft[(row + j) * SOFT_SIDE + column + i];
            for (sum, value) in rgb.iter_mut().zip(node) {
                *sum += value * up * across;
            }
        }
    }
    rgb
}
