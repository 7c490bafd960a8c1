//! A shelf made ready for one set of angles: the forward model of any mix, fast.

use std::sync::LazyLock;

use super::channels::{Inside, MORE, MORE_RETURNED, Matter, THREE, Toward};
use super::flakes::Facing;
use super::interface::{Path, Returned, shadowing, tilt_density};
use super::lane::{DIRECTIONS, Factor, Jet, LANES, Pack, Real};
use crate::geometry::Geometry;
use crate::shelf::{Flake, Mix, Optics, Shelf, TAIL};

/// Radiance factors at the six angles of [`Geometry::ALL`], by wavelength.
pub type Prediction = [[f64; 31]; 6];

const VIEWS: usize = 6;
const CHUNKS: usize = 4;
pub(crate) type Wave = [Pack; CHUNKS];

/// Most toners in one mix.
pub const MOST_PARTS: usize = 7;

/// A prediction and how it changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Gradient {
    /// The prediction itself.
    pub value: Prediction,
    /// Change per unit mass fraction of each part, in the order of the mix.
    pub by_part: Vec<Prediction>,
    /// Change per unit of the logarithm of the film; zeros unless asked for.
    pub by_ln_film: Prediction,
    /// Change per unit of the logarithm of every flake's slope; zeros unless asked for.
    pub by_ln_slope: Prediction,
}

impl Default for Gradient {
    fn default() -> Self {
        let nought = [[0.0; 31]; VIEWS];
        Self { value: nought, by_part: Vec::new(), by_ln_film: nought, by_ln_slope: nought }
    }
}

/// A function of the slope, tabulated for straight-line interpolation.
#[derive(Debug, Clone)]
struct BySlope(Vec<f64>);

impl BySlope {
    const FIRST: f64 = 0.01;
    const STEP: f64 = 0.005;
    const NODES: usize = 500;

    fn new(f: impl Fn(f64) -> f64) -> Self {
        Self((0..Self::NODES).map(|i| f(Self::FIRST + Self::STEP * i as f64)).collect())
    }

    /// Every this many nodes, a function that is costly and smooth is worked out.
    const EVERY: usize = 4;

    /// The slopes where such a function is worked out.
    fn sparse_nodes() -> impl Iterator<Item = f64> {
        (0..=Self::NODES / Self::EVERY).map(|i| Self::FIRST + Self::STEP * (i * Self::EVERY) as f64)
    }

    /// As [`BySlope::new`] from the values at [`BySlope::sparse_nodes`].
    fn sparse(known: Vec<f64>) -> Self {
        Self(
            (0..Self::NODES)
                .map(|i| {
                    let (index, part) = (i / Self::EVERY, (i % Self::EVERY) as f64 / Self::EVERY as f64);
                    // Through the four nearest (Catmull and Rom 1974), the ends doubled.
                    let at = |k: usize| known[k.clamp(1, known.len()) - 1];
                    let (a, b, c, d) = (at(index), at(index + 1), at(index + 2), at(index + 3));
                    let curve = (2.0 * a - 5.0 * b + 4.0 * c - d) + part * (3.0 * (b - c) + d - a);
                    b + 0.5 * part * ((c - a) + part * curve)
                })
                .collect(),
        )
    }

    fn at(&self, slope: f64) -> (f64, f64) {
        let place = ((slope - Self::FIRST) / Self::STEP).clamp(0.0, (Self::NODES - 1) as f64 - 1e-6);
        let index = place as usize;
        let (low, high) = (self.0[index], self.0[index + 1]);
        (low + (high - low) * (place - index as f64), (high - low) / Self::STEP)
    }
}

/// A pigment ready for use.
#[derive(Debug, Clone)]
pub(crate) struct ReadyPigment {
    pub(crate) absorb: Wave,
    pub(crate) scatter: Wave,
    pub(crate) turned: f64,
    pub(crate) phase: [f64; VIEWS],
    pub(crate) crowding: f64,
    pub(crate) widening: f64,
}

/// Flakes ready for use.
#[derive(Debug, Clone)]
pub(crate) struct ReadyFlake {
    pub(crate) area: f64,
    pub(crate) slope_sd: f64,
    pub(crate) loading: f64,
    pub(crate) tail: f64,
    /// Reflectance of those that mirror the light into each view.
    pub(crate) first: [Wave; VIEWS],
    /// Reflectance plus absorptance along the light and along each view.
    pub(crate) stops_in: Wave,
    pub(crate) stops_out: [Wave; VIEWS],
    pub(crate) mirror: Wave,
    pub(crate) diffuse: Wave,
    pub(crate) absorb: Wave,
    /// Mean reflectance over the wavelengths, for the lobe of the chains.
    pub(crate) mean: f64,
}

/// Directions and the functions of slope along them, the same for every shelf.
#[derive(Debug, Clone)]
pub(crate) struct Views {
    pub(crate) paths: [Path; VIEWS],
    shadow_in: BySlope,
    shadow_out: Vec<BySlope>,
    back: BySlope,
    back_again: BySlope,
    slant: BySlope,
    returned: Vec<[BySlope; 2]>,
}

/// The one set of directions: constants of the surface that take some milliseconds to work out.
static SIX_VIEWS: LazyLock<Views> = LazyLock::new(Views::new);

impl Views {
    fn new() -> Self {
        let paths = Geometry::ALL.map(|g| Path::aspecular(45.0, f64::from(g.aspecular_deg())));
        let mu = paths[0].light.mu;
        let known: Vec<Returned> = BySlope::sparse_nodes().map(|s| Returned::new(mu, s)).collect();
        Self {
            shadow_in: BySlope::new(|s| shadowing(mu, s)),
            shadow_out: paths.iter().map(|p| BySlope::new(|s| shadowing(p.view.mu, s))).collect(),
            back: BySlope::sparse(known.iter().map(|r| r.back).collect()),
            back_again: BySlope::sparse(known.iter().map(|r| r.back_again).collect()),
            slant: BySlope::sparse(known.iter().map(|r| r.slant).collect()),
            returned: paths
                .iter()
                .map(|p| {
                    [1.0, MORE_RETURNED].map(|k| BySlope::sparse(known.iter().map(|r| r.toward(&p.view, k)).collect()))
                })
                .collect(),
            paths,
        }
    }
}

/// A shelf with everything that does not depend on the mix worked out.
#[derive(Debug, Clone)]
pub struct Bench {
    pub(crate) views: &'static Views,
    pub(crate) pigments: Vec<ReadyPigment>,
    pub(crate) flakes: Vec<Option<ReadyFlake>>,
    pub(crate) substrates: Vec<Wave>,
    pub(crate) clear: Clear,
}

/// What the clear coat passes.
#[derive(Debug, Clone)]
pub(crate) struct Clear {
    pub(crate) crossing: [Wave; VIEWS],
    pub(crate) diffuse: Wave,
    pub(crate) lobe: Wave,
}

/// Thirty-one values as four packs; the last lane repeats.
pub(crate) fn wave(values: &[f64; 31]) -> Wave {
    std::array::from_fn(|c| Pack(std::array::from_fn(|i| values[(c * LANES + i).min(30)])))
}

/// Henyey and Greenstein's phase function (Astrophys. J. 93, 1941), 1 for even scattering.
pub(super) fn phase(g: f64, cos_deflection: f64) -> f64 {
    let base = 1.0 + g * g - 2.0 * g * cos_deflection;
    (1.0 - g * g) / (base * base.sqrt())
}

/// The part that this phase function turns back at square incidence.
pub(super) fn turned(g: f64) -> f64 {
    if g.abs() < 1e-3 {
        return 0.5 - 0.75 * g;
    }
    (1.0 - g) / (2.0 * g) * ((1.0 + g) / (1.0 + g * g).sqrt() - 1.0)
}

impl ReadyPigment {
    pub(crate) fn new(views: &Views, optics: &Optics) -> Self {
        let g = optics.forwardness;
        Self {
            absorb: wave(&optics.absorption),
            scatter: wave(&optics.scattering),
            turned: turned(g) / (1.0 - g),
            phase: std::array::from_fn(|v| phase(g, views.paths[v].cos_deflection()) / (1.0 - g)),
            crowding: optics.crowding,
            widening: optics.widening,
        }
    }
}

impl ReadyFlake {
    pub(crate) fn new(views: &Views, flake: &Flake) -> Self {
        let seen = |facing: &Facing| wave(&facing.reflectance(&flake.reflectance, flake.film_index));
        let absorb = wave(&flake.absorptance);
        let sd = flake.slope_sd * (1.0 + flake.tail_weight * (TAIL * TAIL - 1.0)).sqrt();
        let along = |mu: f64| seen(&Facing::along(mu, sd));
        let plus = |a: Wave| -> Wave { std::array::from_fn(|c| a[c] + absorb[c]) };
        let mirror = along(views.paths[0].light.mu);
        let mean = flake.reflectance.iter().take(31).sum::<f64>() / 31.0;
        Self {
            area: flake.area,
            slope_sd: flake.slope_sd,
            loading: flake.loading,
            tail: flake.tail_weight,
            first: std::array::from_fn(|v| seen(&Facing::one(views.paths[v].cos_incidence))),
            stops_in: plus(mirror),
            stops_out: std::array::from_fn(|v| plus(along(views.paths[v].view.mu))),
            mirror,
            diffuse: seen(&Facing::diffuse()),
            absorb,
            mean,
        }
    }
}

impl Clear {
    pub(crate) fn new(views: &Views, depth: &[f64; 31]) -> Self {
        let pass = |k: f64| wave(&depth.map(|d| base::math::exp(-d * k)));
        let mu = views.paths[0].light.mu;
        Self {
            crossing: std::array::from_fn(|v| {
                let path = &views.paths[v];
                pass(1.0 / mu + 1.0 / path.view.mu).map(|p| p * path.crossing())
            }),
            diffuse: pass(4.0),
            lobe: pass(2.0 / mu),
        }
    }
}

/// The numbers of a mix that are the same at every wavelength.
pub(crate) struct Composition<'a> {
    pub(crate) pigments: Vec<(&'a ReadyPigment, Factor)>,
    pub(crate) flakes: Vec<ReadyPart<'a>>,
    pub(crate) surface: Surface,
    pub(crate) lobe: [[Factor; 2]; VIEWS],
    pub(crate) film: Factor,
}

/// What the surface does with the flakes' light.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Surface {
    pub(crate) back: Factor,
    pub(crate) back_again: Factor,
    pub(crate) slant: Factor,
    pub(crate) returned: [[Factor; 2]; VIEWS],
}

/// One flake toner of a mix.
pub(crate) struct ReadyPart<'a> {
    pub(crate) flake: &'a ReadyFlake,
    /// Area per um.
    pub(crate) area: Factor,
    pub(crate) dim_in: Factor,
    pub(crate) dim_out: [Factor; VIEWS],
    pub(crate) first: [Factor; VIEWS],
}

impl Bench {
    /// Makes a shelf ready.
    pub fn new(shelf: &Shelf) -> Self {
        let views: &'static Views = &SIX_VIEWS;
        Self {
            pigments: shelf.toners().iter().map(|t| ReadyPigment::new(views, &t.optics)).collect(),
            flakes: shelf.toners().iter().map(|t| t.optics.flake.as_ref().map(|f| ReadyFlake::new(views, f))).collect(),
            substrates: shelf.substrates().iter().map(|s| wave(s.reflectance.values())).collect(),
            clear: Clear::new(views, shelf.clear()),
            views,
        }
    }

    /// What a mix looks like at the six angles. Parts that are not on the shelf count as binder, and a
    /// primer that is not there as black.
    pub fn predict(&self, mix: &Mix) -> Prediction {
        self.predict_sprayed(mix, 1.0)
    }

    /// As [`Bench::predict`] with every flake's slope multiplied by `slope`, as a wetter or drier coat
    /// would.
    pub fn predict_sprayed(&self, mix: &Mix, slope: f64) -> Prediction {
        let composition = self.composition(mix, slope);
        let mut out = [[0.0; 31]; VIEWS];
        self.each::<Pack>(&composition, mix.substrate, |chunk, view, beta| {
            store(&mut out[view], chunk, &beta);
        });
        out
    }

    /// The prediction and its derivatives by the fractions; of at most [`MOST_PARTS`] parts.
    pub fn gradient(&self, mix: &Mix, out: &mut Gradient) {
        self.derive(mix, mix.parts.len().min(MOST_PARTS), out);
    }

    /// As [`Bench::gradient`], with those by film and slope.
    pub fn gradient_full(&self, mix: &Mix, out: &mut Gradient) {
        self.derive(mix, mix.parts.len().min(MOST_PARTS) + 2, out);
    }

    fn derive(&self, mix: &Mix, directions: usize, out: &mut Gradient) {
        match directions {
            0 | 1 => self.along::<1>(mix, out),
            2 => self.along::<2>(mix, out),
            3 => self.along::<3>(mix, out),
            4 => self.along::<4>(mix, out),
            5 => self.along::<5>(mix, out),
            6 => self.along::<6>(mix, out),
            7 => self.along::<7>(mix, out),
            8 => self.along::<8>(mix, out),
            _ => self.along::<DIRECTIONS>(mix, out),
        }
    }

    fn along<const D: usize>(&self, mix: &Mix, out: &mut Gradient) {
        let composition = self.composition(mix, 1.0);
        let parts = mix.parts.len();
        out.by_part.resize(parts, [[0.0; 31]; VIEWS]);
        self.each::<Jet<D>>(&composition, mix.substrate, |chunk, view, beta| {
            store(&mut out.value[view], chunk, &beta.value);
            for (direction, slope) in beta.along.iter().enumerate() {
                let to = match direction.checked_sub(parts) {
                    None => &mut out.by_part[direction],
                    Some(0) => &mut out.by_ln_film,
                    Some(_) => &mut out.by_ln_slope,
                };
                store(&mut to[view], chunk, slope);
            }
        });
    }

    /// Works out what is the same at every wavelength, with derivatives by part, then by ln film and ln
    /// slope.
    pub(crate) fn composition(&self, mix: &Mix, slope: f64) -> Composition<'_> {
        // Counted before any is left out, so that a derivative keeps its part's place in the mix.
        let parts = || mix.parts.iter().enumerate().filter(|(_, p)| p.toner < self.pigments.len());
        let count = mix.parts.len();
        let seed = |value: f64, direction: usize, rate: f64| {
            let mut factor = Factor::of(value);
            if let Some(d) = factor.along.get_mut(direction) {
                *d = rate;
            }
            factor
        };
        let mut wider = Factor::of(0.0);
        let mut load = Factor::of(0.0);
        for (i, part) in parts() {
            let q = self.pigments[part.toner].widening;
            wider = wider.plus(&seed(q * part.fraction, i, q));
            if self.flakes[part.toner].is_some() {
                load = load.plus(&seed(part.fraction, i, 1.0));
            }
        }
        let pigments = parts().map(|(i, part)| (&self.pigments[part.toner], seed(part.fraction, i, 1.0))).collect();
        let mut flakes = Vec::new();
        let (mut squares, mut weights) = (Factor::of(0.0), Factor::of(0.0));
        for (i, part) in parts() {
            let Some(flake) = &self.flakes[part.toner] else { continue };
            let own = flake.slope_sd * (1.0 + flake.loading * load.value);
            let own = load.through((own * own, 2.0 * own * flake.slope_sd * flake.loading));
            let square = wider.plus(&own).scaled(slope * slope);
            let root = square.value.sqrt();
            let mut sd = square.through((root, 0.5 / root));
            if let Some(d) = sd.along.get_mut(count + 1) {
                *d += root;
            }
            let area = seed(flake.area * part.fraction, i, flake.area);
            let mixed = |f: &dyn Fn(f64) -> (f64, f64)| {
                let (core, wide) = (f(sd.value), f(TAIL * sd.value));
                let w = flake.tail;
                sd.through(((1.0 - w) * core.0 + w * wide.0, (1.0 - w) * core.1 + w * TAIL * wide.1))
            };
            let dim = |table: &BySlope| {
                let lambda = mixed(&|s| table.at(s));
                area.times(&lambda.through((1.0 + 2.0 * lambda.value, 2.0)))
            };
            let weight = area.scaled(flake.mean);
            let spread = 1.0 + flake.tail * (TAIL * TAIL - 1.0);
            let sd2 = sd.through((sd.value * sd.value * spread, 2.0 * sd.value * spread));
            squares = squares.plus(&weight.times(&sd2));
            weights = weights.plus(&weight);
            flakes.push(ReadyPart {
                flake,
                area,
                dim_in: dim(&self.views.shadow_in),
                dim_out: std::array::from_fn(|v| dim(&self.views.shadow_out[v])),
                first: std::array::from_fn(|v| {
                    let path = &self.views.paths[v];
                    area.times(&mixed(&|s| tilt_density(path.tan2, path.cos_tilt, s)))
                }),
            });
        }
        let (sd, flaky) = if weights.value > 0.0 {
            let inverse = weights.through((1.0 / weights.value, -1.0 / (weights.value * weights.value)));
            let mean2 = squares.times(&inverse);
            (mean2.through((mean2.value.sqrt(), 0.5 / mean2.value.sqrt())), true)
        } else {
            (Factor::of(0.1), false)
        };
        let at = |table: &BySlope| if flaky { sd.through(table.at(sd.value)) } else { Factor::of(0.0) };
        let surface = Surface {
            back: at(&self.views.back),
            back_again: at(&self.views.back_again),
            slant: sd.through(self.views.slant.at(sd.value)),
            returned: std::array::from_fn(|v| std::array::from_fn(|k| at(&self.views.returned[v][k]))),
        };
        let lobe = std::array::from_fn(|v| {
            let path = &self.views.paths[v];
            [THREE, MORE].map(|k| {
                let wide = sd.scaled(k);
                if flaky { wide.through(tilt_density(path.tan2, path.cos_tilt, wide.value)) } else { Factor::of(0.0) }
            })
        });
        Composition { pigments, flakes, surface, lobe, film: seed(mix.film_um, count, mix.film_um) }
    }

    pub(crate) fn ground(&self, substrate: usize, chunk: usize) -> Pack {
        self.substrates.get(substrate).map_or(Pack::of(0.0), |s| s[chunk])
    }

    /// Runs the film's equations over chunks and views.
    #[inline(always)]
    fn each<T: Real>(&self, mix: &Composition<'_>, substrate: usize, mut take: impl FnMut(usize, usize, T)) {
        for chunk in 0..CHUNKS {
            let (matter, phase) = self.matter::<T>(mix, chunk, T::lanes(self.ground(substrate, chunk)));
            let inside = Inside::solve(matter);
            for (view, phase) in phase.into_iter().enumerate() {
                take(chunk, view, inside.toward(&self.sight(mix, chunk, view, phase)));
            }
        }
    }

    /// What a mix comes to at eight wavelengths, and its first scattering by view.
    #[inline(always)]
    pub(super) fn matter<T: Real>(&self, mix: &Composition<'_>, chunk: usize, ground: T) -> (Matter<T>, [T; VIEWS]) {
        let one = Pack::of(1.0);
        let zero = T::of(0.0);
        let mut m = Matter {
            absorb: zero,
            scatter: zero,
            turned: zero,
            dim: zero,
            flake_absorb: zero,
            mirror: zero,
            flake_diffuse: zero,
            ground,
            film: T::times(one, &mix.film),
            lobe_back: T::times(one, &mix.surface.back),
            lobe_back_again: T::times(one, &mix.surface.back_again),
            slant: T::times(one, &mix.surface.slant),
            clear_diffuse: self.clear.diffuse[chunk],
            clear_lobe: self.clear.lobe[chunk],
            mu: self.views.paths[0].light.mu,
        };
        let mut phase = [zero; VIEWS];
        for (pigment, fraction) in &mix.pigments {
            m.absorb = m.absorb + T::times(pigment.absorb[chunk], fraction);
            let c = fraction.value;
            let free = 1.0 + pigment.crowding * c;
            let scatter = T::times(pigment.scatter[chunk], &fraction.through((c / free, 1.0 / (free * free))));
            m.scatter = m.scatter + scatter;
            m.turned = m.turned + scatter * pigment.turned;
            for (sum, p) in phase.iter_mut().zip(pigment.phase) {
                *sum = *sum + scatter * p;
            }
        }
        for part in &mix.flakes {
            m.dim = m.dim + T::times(part.flake.stops_in[chunk], &part.dim_in);
            m.flake_absorb = m.flake_absorb + T::times(part.flake.absorb[chunk], &part.area);
            m.mirror = m.mirror + T::times(part.flake.mirror[chunk], &part.area);
            m.flake_diffuse = m.flake_diffuse + T::times(part.flake.diffuse[chunk], &part.area);
        }
        (m, phase)
    }

    /// What a view adds at eight wavelengths.
    #[inline(always)]
    pub(super) fn sight<T: Real>(&self, mix: &Composition<'_>, chunk: usize, view: usize, phase: T) -> Toward<T> {
        let one = Pack::of(1.0);
        let (mut dim, mut first) = (T::of(0.0), T::of(0.0));
        for part in &mix.flakes {
            dim = dim + T::times(part.flake.stops_out[view][chunk], &part.dim_out[view]);
            first = first + T::times(part.flake.first[view][chunk], &part.first[view]);
        }
        Toward {
            phase,
            dim,
            first,
            lobe: std::array::from_fn(|k| T::times(one, &mix.lobe[view][k])),
            returned: std::array::from_fn(|k| T::times(one, &mix.surface.returned[view][k])),
            crossing: self.clear.crossing[view][chunk],
            mu: self.views.paths[view].view.mu,
        }
    }
}

#[inline(always)]
pub(super) fn store(row: &mut [f64; 31], chunk: usize, pack: &Pack) {
    for (slot, value) in row.iter_mut().skip(chunk * LANES).zip(pack.0) {
        *slot = value;
    }
}
