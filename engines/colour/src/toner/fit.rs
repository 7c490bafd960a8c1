//! The joint fit: damped least squares on everything at once.

use base::math;

use super::envelope::Envelope;
use super::layout::{
    AREA, Band, CROWDING, EDGE, FILM_INDEX, FORWARD, Layout, SCALARS, SLOPE, TAIL_WEIGHT, WIDENING, log_odds,
    plain as plain_figures,
};
use super::report::{Calibration, report};
use super::start::{lightness, start};
use super::{CalibrateError, Panel, Panels, Progress, Watch};
use crate::film::bench::{Bench, ReadyFlake, ReadyPigment};
use crate::film::flakes::Facing;
use crate::film::sums::{
    ABSORB, BACK_AGAIN, DIM_IN, DIM_OUT, FIRST, FLAKE_ABSORB, FLAKE_DIFFUSE, LN_FILM, LOBE, LOBE_BACK, LOBE_MORE, MIRROR, PHASE, RETURNED, RETURNED_MORE, Response,
    SCATTER, SHARED, SLANT, Sums, TURNED,
};
use crate::geometry::Geometry;
use crate::shelf::{FLAKE_NODES, Mix, TonerKind};

/// Most rounds of the fit.
const ROUNDS: u32 = 40;

/// What a residual is good to, in lightness units: the film model's own error rather than the
/// instrument's noise, and it is alike at neighbouring wavelengths.
const DATA_SD: f64 = 1.0;

/// Panels farther off than this many lightness units (root mean square) count less and less.
const ROBUST: f64 = 3.0;

/// Learns a shelf from its panels.
///
/// The same panels give the same shelf bit for bit. `watch` hears of every round and may stop the fit,
/// which then answers with what it has.
///
/// # Errors
/// [`CalibrateError::Shelf`] when the fit ends where no shelf can be (not expected).
pub fn calibrate(panels: &Panels, watch: Watch<'_>) -> Result<Calibration, CalibrateError> {
    let layout = Layout::new(panels);
    let mut theta = start(&layout, panels);
    let prior = Prior::new(&layout, panels, &theta);
    let mut normal = Envelope::new(layout.skyline(panels));
    let mut damping = 1e-3;
    let mut rounds = 0;
    let mut stopped = false;
    let mut cost = Problem { layout: &layout, panels, prior: &prior }.cost(&theta)?;
    while rounds < ROUNDS {
        rounds += 1;
        let problem = Problem { layout: &layout, panels, prior: &prior };
        let slope = problem.normal(&theta, &mut normal)?;
        let diagonal = normal.diagonal();
        let mut gained = 0.0;
        for _ in 0..6 {
            let extra: Vec<f64> = diagonal.iter().map(|d| damping * (d + 1e-3)).collect();
            let Some(factor) = normal.plus_diagonal(&extra).factor() else {
                damping *= 10.0;
                continue;
            };
            let step = factor.solve(slope.iter().map(|s| -s).collect());
            let tried: Vec<f64> = theta.iter().zip(&step).map(|(t, s)| t + s.clamp(-1.5, 1.5)).collect();
            let after = problem.cost(&tried)?;
            if after < cost {
                gained = (cost - after) / cost;
                theta = tried;
                cost = after;
                damping = (damping * 0.2).max(1e-9);
                break;
            }
            damping *= 6.0;
        }
        if !watch(Progress { done: rounds, of: ROUNDS, best: cost }) {
            stopped = true;
            break;
        }
        if gained < 1e-4 {
            break;
        }
    }
    report(&layout, panels, &theta, rounds, stopped)
}

/// What is expected of the unknowns before any panel speaks.
pub(crate) struct Prior {
    centre: Vec<f64>,
    precision: Vec<f64>,
    /// Runs of neighbouring unknowns whose second differences are small: (indices, precision).
    smooth: Vec<([usize; 3], f64)>,
}

impl Prior {
    fn new(layout: &Layout, panels: &Panels, start: &[f64]) -> Self {
        let mut centre = start.to_vec();
        let mut precision = vec![0.0; layout.len];
        let mut smooth = Vec::new();
        let weigh = |sd: f64| 1.0 / (sd * sd);
        for node in 0..31 {
            precision[layout.clear(node)] = weigh(1.0);
        }
        let runs = |count: usize, sd: f64, index: &dyn Fn(usize) -> usize, smooth: &mut Vec<_>| {
            for node in 1..count - 1 {
                smooth.push(([index(node - 1), index(node), index(node + 1)], weigh(sd)));
            }
        };
        runs(31, 0.05, &|k| layout.clear(k), &mut smooth);
        for (toner, info) in panels.toners.iter().enumerate() {
            let kind = info.kind;
            let (absorb, back) = match kind {
                TonerKind::Aluminium => (0.3, 0.02),
                TonerKind::Pearl => (0.15, 0.15),
                TonerKind::Solid | TonerKind::FlopAdjuster => (0.3, 0.2),
            };
            let count = if kind == TonerKind::Pearl { FLAKE_NODES } else { 31 };
            runs(31, absorb, &|k| layout.band(toner, Band::Absorb, k), &mut smooth);
            runs(count, back, &|k| layout.band(toner, Band::Return, k), &mut smooth);
            for node in 0..FLAKE_NODES {
                let (a, r) = (layout.band(toner, Band::Absorb, node), layout.band(toner, Band::Return, node));
                match kind {
                    TonerKind::Aluminium => {
                        precision[a] = weigh(1.0);
                        centre[r] = log_odds(0.87);
                        precision[r] = weigh(0.5);
                    }
                    TonerKind::Pearl => {
                        precision[a] = weigh(1.5);
                        precision[r] = weigh(3.0);
                    }
                    TonerKind::Solid | TonerKind::FlopAdjuster => {
                        precision[a] = weigh(4.0);
                        precision[r] = weigh(4.0);
                    }
                }
            }
            for (which, sd) in [
                (FORWARD, 1.0),
                (CROWDING, 1.2),
                (WIDENING, 1.2),
                (AREA, 2.0),
                (SLOPE, 1.0),
                (TAIL_WEIGHT, 1.0),
                (FILM_INDEX, 1.0),
                (EDGE, 1.5),
            ] {
                precision[layout.scalar(toner, which)] = weigh(sd);
            }
        }
        precision[layout.loading] = weigh(0.1);
        for panel in 0..panels.panels.len() {
            precision[layout.film(panel)] = weigh(0.05);
            precision[layout.lie(panel)] = weigh(0.04);
        }
        Self { centre, precision, smooth }
    }

    fn cost(&self, theta: &[f64]) -> f64 {
        let own = theta.iter().zip(&self.centre).zip(&self.precision).map(|((t, c), p)| p * (t - c) * (t - c));
        let bends = self.smooth.iter().map(|([a, b, c], p)| {
            let bend = theta[*a] - 2.0 * theta[*b] + theta[*c];
            p * bend * bend
        });
        own.sum::<f64>() + bends.sum::<f64>()
    }

    fn add(&self, theta: &[f64], normal: &mut Envelope, slope: &mut [f64]) {
        for (i, ((t, c), p)) in theta.iter().zip(&self.centre).zip(&self.precision).enumerate() {
            normal.add(i, i, *p);
            slope[i] += p * (t - c);
        }
        for (indices, p) in &self.smooth {
            let [a, b, c] = *indices;
            let row = [(a, 1.0), (b, -2.0), (c, 1.0)];
            let bend = theta[a] - 2.0 * theta[b] + theta[c];
            for (i, x) in row.iter().enumerate() {
                slope[x.0] += p * x.1 * bend;
                for y in &row[..=i] {
                    normal.add(x.0, y.0, p * x.1 * y.1);
                }
            }
        }
    }
}

struct Problem<'a> {
    layout: &'a Layout,
    panels: &'a Panels,
    prior: &'a Prior,
}

/// One residual's dependence on the unknowns.
type Row = Vec<(usize, f64)>;

impl Problem<'_> {
    fn mix(&self, theta: &[f64], index: usize) -> (Mix, f64) {
        let panel = &self.panels.panels[index];
        let film_um = panel.film_um * math::exp(theta[self.layout.film(index)]);
        let mix = Mix { parts: panel.parts.clone(), film_um, substrate: panel.substrate };
        (mix, math::exp(theta[self.layout.lie(index)]))
    }

    fn cost(&self, theta: &[f64]) -> Result<f64, CalibrateError> {
        let bench = self.layout.bench(theta, self.panels)?;
        let mut sum = self.prior.cost(theta);
        for (index, panel) in self.panels.panels.iter().enumerate() {
            let (mix, lie) = self.mix(theta, index);
            let predicted = bench.predict_sprayed(&mix, lie);
            let (mut squares, mut count) = (0.0, 0.0);
            for (geometry, spectrum) in panel.measured.by_angle() {
                let row = &predicted[view(*geometry)];
                for (beta, wanted) in row.iter().zip(spectrum.values()) {
                    let gap = (lightness(*beta) - lightness(*wanted)) / DATA_SD;
                    squares += gap * gap;
                    count += 1.0;
                }
            }
            sum += robust(squares, count);
        }
        Ok(sum)
    }

    /// Fills the normal matrix and gives half the gradient of the cost.
    fn normal(&self, theta: &[f64], normal: &mut Envelope) -> Result<Vec<f64>, CalibrateError> {
        normal.clear();
        let mut slope = vec![0.0; self.layout.len];
        self.prior.add(theta, normal, &mut slope);
        let mut bench = self.layout.bench(theta, self.panels)?;
        let tangents = Tangents::new(self.layout, theta, &bench);
        for (index, panel) in self.panels.panels.iter().enumerate() {
            let rows = self.rows(theta, index, panel, &mut bench, &tangents);
            let squares: f64 = rows.iter().map(|(gap, _)| gap * gap).sum();
            let weight = robust_weight(squares, rows.len() as f64);
            for (gap, row) in rows {
                for (i, (a, x)) in row.iter().enumerate() {
                    slope[*a] += weight * x * gap;
                    for (b, y) in &row[..=i] {
                        normal.add(*a, *b, weight * x * y);
                    }
                }
            }
        }
        Ok(slope)
    }

    /// Residuals of one panel and what they depend on.
    fn rows(
        &self,
        theta: &[f64],
        index: usize,
        panel: &Panel,
        bench: &mut Bench,
        tangents: &Tangents,
    ) -> Vec<(f64, Row)> {
        let layout = self.layout;
        let (mix, lie) = self.mix(theta, index);
        let sums = Sums::of(&bench.composition(&mix, lie));
        let response = bench.respond(&sums, mix.film_um, mix.substrate);
        // Plain figures, by differences of the sums: they are cheap, the film's equations are not.
        let mut plain: Vec<(usize, Box<[[f64; 31]; 6]>)> = Vec::new();
        for part in mix.parts.iter().filter(|p| p.fraction > 0.0) {
            for (which, pigment, flake, step) in &tangents.plain[part.toner] {
                let kept_pigment = std::mem::replace(&mut bench.pigments[part.toner], pigment.clone());
                let kept_flake = std::mem::replace(&mut bench.flakes[part.toner], flake.clone());
                let moved = Sums::of(&bench.composition(&mix, lie));
                bench.pigments[part.toner] = kept_pigment;
                bench.flakes[part.toner] = kept_flake;
                plain.push((layout.scalar(part.toner, *which), along(&response, &sums, &moved, *step)));
            }
        }
        let flaky = mix.parts.iter().any(|p| layout.flake(p.toner));
        if flaky {
            let swap = |bench: &mut Bench, factor: f64| {
                for part in &mix.parts {
                    if let Some(flake) = &mut bench.flakes[part.toner] {
                        flake.loading *= factor;
                    }
                }
            };
            swap(bench, 1.0 + STEP);
            let moved = Sums::of(&bench.composition(&mix, lie));
            swap(bench, 1.0 / (1.0 + STEP));
            plain.push((layout.loading, along(&response, &sums, &moved, STEP)));
            let moved = Sums::of(&bench.composition(&mix, lie * (1.0 + STEP)));
            plain.push((layout.lie(index), along(&response, &sums, &moved, STEP)));
        }
        let composition = bench.composition(&mix, lie);
        let mut rows = Vec::new();
        for (geometry, spectrum) in panel.measured.by_angle() {
            let v = view(*geometry);
            let by = &response.by[v];
            for wl in 0..31 {
                let beta = response.value[v][wl];
                // d lightness / d beta, over the standard deviation.
                let root = base::lane::cbrt(beta.max(-0.001) + 0.002);
                let rate = 100.0 / (3.0 * root * root) / DATA_SD;
                let gap = (lightness(beta) - lightness(spectrum.values()[wl])) / DATA_SD;
                let mut row: Row = Vec::with_capacity(48);
                let path = &bench.views.paths[v];
                let clear = layout.clear(wl);
                let through = 1.0 / path.light.mu + 1.0 / path.view.mu;
                row.push((clear, -rate * beta * math::exp(theta[clear]) * through));
                let mut flakes = composition.flakes.iter();
                for part in mix.parts.iter() {
                    let c = part.fraction;
                    let toner = part.toner;
                    let pigment = &bench.pigments[toner];
                    if layout.flake(toner) {
                        let Some(ready) = flakes.next() else { continue };
                        if c == 0.0 {
                            continue;
                        }
                        let maps = &tangents.maps[toner];
                        let opaque = layout.kinds[toner] == TonerKind::Aluminium;
                        let (area, dim_in, dim_out) = (ready.area.value, ready.dim_in.value, ready.dim_out[v].value);
                        if opaque {
                            let k = layout.band(toner, Band::Return, wl);
                            let d = by[FIRST][wl] * ready.first[v].value
                                + (by[MIRROR][wl] + by[FLAKE_DIFFUSE][wl] - by[FLAKE_ABSORB][wl]) * area;
                            row.push((k, rate * d * tangents.rise(layout, theta, toner, wl)));
                            continue;
                        }
                        let k = layout.band(toner, Band::Absorb, wl);
                        let a = super::layout::part(theta[k]);
                        let d = by[DIM_IN][wl] * dim_in + by[DIM_OUT][wl] * dim_out + by[FLAKE_ABSORB][wl] * area;
                        row.push((k, rate * d * a * (1.0 - a)));
                        let weigh = [
                            (&maps.first[v], by[FIRST][wl] * ready.first[v].value),
                            (&maps.out[v], by[DIM_OUT][wl] * dim_out),
                            (&maps.light, by[DIM_IN][wl] * dim_in + by[MIRROR][wl] * area),
                            (&maps.diffuse, by[FLAKE_DIFFUSE][wl] * area),
                        ];
                        for node in 0..FLAKE_NODES {
                            let d: f64 = weigh.iter().map(|(map, w)| map[wl][node] * w).sum();
                            if d != 0.0 {
                                let k = layout.band(toner, Band::Return, node);
                                row.push((k, rate * d * tangents.rise(layout, theta, toner, node)));
                            }
                        }
                    } else if c > 0.0 {
                        let ka = layout.band(toner, Band::Absorb, wl);
                        row.push((ka, rate * by[ABSORB][wl] * c * math::exp(theta[ka])));
                        let ks = layout.band(toner, Band::Return, wl);
                        let d = by[SCATTER][wl]
                            + by[TURNED][wl] * pigment.turned
                            + by[PHASE][wl] * pigment.phase[v];
                        row.push((ks, rate * d * c / (1.0 + pigment.crowding * c) * math::exp(theta[ks])));
                    }
                }
                row.push((layout.film(index), rate * by[LN_FILM][wl]));
                for (k, d) in &plain {
                    row.push((*k, rate * d[v][wl]));
                }
                rows.push((gap, row));
            }
        }
        rows
    }
}

/// Step of the differences on plain figures.
const STEP: f64 = 1e-4;

/// Change of the prediction along a change of the sums.
fn along(response: &Response, from: &Sums, to: &Sums, step: f64) -> Box<[[f64; 31]; 6]> {
    let mut out = Box::new([[0.0; 31]; 6]);
    let k = 1.0 / step;
    for (v, rows) in out.iter_mut().enumerate() {
        let by = &response.by[v];
        for (wl, slot) in rows.iter_mut().enumerate() {
            let mut d = 0.0;
            for s in 0..SHARED {
                d += by[s][wl] * (to.shared[s][wl] - from.shared[s][wl]);
            }
            d += by[LOBE_BACK][wl] * (to.lobe_back - from.lobe_back);
            d += by[BACK_AGAIN][wl] * (to.back_again - from.back_again);
            d += by[SLANT][wl] * (to.slant - from.slant);
            for (k, lobe, returned) in [(0, LOBE, RETURNED), (1, LOBE_MORE, RETURNED_MORE)] {
                d += by[lobe][wl] * (to.lobe[v][k] - from.lobe[v][k]);
                d += by[returned][wl] * (to.returned[v][k] - from.returned[v][k]);
            }
            d += by[PHASE][wl] * (to.phase[v][wl] - from.phase[v][wl]);
            d += by[DIM_OUT][wl] * (to.dim_out[v][wl] - from.dim_out[v][wl]);
            d += by[FIRST][wl] * (to.first[v][wl] - from.first[v][wl]);
            *slot = d * k;
        }
    }
    out
}

/// Linear maps from a flake's square-on reflectance to what each direction sees.
struct Maps {
    first: Vec<Vec<[f64; FLAKE_NODES]>>,
    out: Vec<Vec<[f64; FLAKE_NODES]>>,
    light: Vec<[f64; FLAKE_NODES]>,
    diffuse: Vec<[f64; FLAKE_NODES]>,
}

struct Tangents {
    maps: Vec<Maps>,
    plain: Vec<Vec<(usize, ReadyPigment, Option<ReadyFlake>, f64)>>,
}

impl Tangents {
    fn new(layout: &Layout, theta: &[f64], bench: &Bench) -> Self {
        let toners = layout.kinds.len();
        let mut maps = Vec::new();
        let mut plain: Vec<Vec<(usize, ReadyPigment, Option<ReadyFlake>, f64)>> = Vec::new();
        for toner in 0..toners {
            let optics = layout.optics(theta, toner);
            maps.push(match &optics.flake {
                Some(flake) if layout.kinds[toner] == TonerKind::Pearl => {
                    let sd = flake.slope_sd * (1.0 + flake.tail_weight * (crate::TAIL * crate::TAIL - 1.0)).sqrt();
                    let n = flake.film_index;
                    let paths = &bench.views.paths;
                    Maps {
                        first: paths.iter().map(|p| Facing::one(p.cos_incidence).map(n)).collect(),
                        out: paths.iter().map(|p| Facing::along(p.view.mu, sd).map(n)).collect(),
                        light: Facing::along(paths[0].light.mu, sd).map(n),
                        diffuse: Facing::diffuse().map(n),
                    }
                }
                _ => Maps { first: vec![], out: vec![], light: vec![], diffuse: vec![] },
            });
            let mut moved = theta.to_vec();
            plain.push(
                plain_figures(layout.kinds[toner])
                    .iter()
                    .map(|which| {
                        let at = layout.scalar(toner, *which);
                        moved[at] = theta[at] + STEP;
                        let optics = layout.optics(&moved, toner);
                        moved[at] = theta[at];
                        let pigment = ReadyPigment::new(&bench.views, &optics);
                        let flake = optics.flake.as_ref().map(|f| ReadyFlake::new(&bench.views, f));
                        (*which, pigment, flake, STEP)
                    })
                    .collect(),
            );
        }
        debug_assert!(plain.iter().all(|p| p.len() <= SCALARS));
        Self { maps, plain }
    }

    /// Rise of a flake's reflectance with its unknown.
    fn rise(&self, layout: &Layout, theta: &[f64], toner: usize, node: usize) -> f64 {
        let r = super::layout::part(theta[layout.band(toner, Band::Return, node)]);
        r * (1.0 - r)
    }
}

pub(crate) fn view(geometry: Geometry) -> usize {
    Geometry::ALL.iter().position(|g| *g == geometry).unwrap_or(0)
}

/// A panel's share of the cost: its squares, growing only with the logarithm far off.
fn robust(squares: f64, count: f64) -> f64 {
    let scale = ROBUST * ROBUST / (DATA_SD * DATA_SD) * count;
    scale * math::ln(1.0 + squares / scale)
}

fn robust_weight(squares: f64, count: f64) -> f64 {
    let scale = ROBUST * ROBUST / (DATA_SD * DATA_SD) * count;
    1.0 / (1.0 + squares / scale)
}
