//! The joint fit: damped least squares on everything at once.

use base::math;

use super::envelope::Envelope;
use super::layout::Layout;
use super::next;
use super::prior::Prior;
use super::report::{Calibration, Ending, fits, mean_of, report};
use super::slopes::{Laid, Row, sensitivities};
use super::start::{lightness, start};
use super::tangents::Tangents;
use super::{CalibrateError, Panel, Panels, Progress, Watch};
use crate::film::bench::Bench;
use crate::shelf::Mix;

/// Most rounds of the fit.
const ROUNDS: u32 = 40;

/// What a residual is good to, in lightness units: the film model's own error rather than the
/// instrument's noise, and it is alike at neighbouring wavelengths.
pub(super) const DATA_SD: f64 = 1.0;

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
        let best = mean_of(&fits(&layout, panels, &theta, &layout.bench(&theta, panels)?));
        if !watch(Progress { done: rounds, of: ROUNDS, best }) {
            stopped = true;
            break;
        }
        if gained < 1e-4 {
            break;
        }
    }
    let problem = Problem { layout: &layout, panels, prior: &prior };
    problem.normal(&theta, &mut normal)?;
    let unsure = match normal.factor() {
        Some(known) => next::unsure(&problem, &theta, &known)?,
        None => Vec::new(),
    };
    report(&layout, panels, &theta, Ending { rounds, stopped, unsure })
}

pub(super) struct Problem<'a> {
    pub(super) layout: &'a Layout,
    pub(super) panels: &'a Panels,
    prior: &'a Prior,
}

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
                let row = &predicted[geometry.place()];
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
        let (mix, lie) = self.mix(theta, index);
        let asked: Vec<(usize, usize)> = panel
            .measured
            .by_angle()
            .iter()
            .flat_map(|(geometry, _)| (0..31).map(|wl| (geometry.place(), wl)))
            .collect();
        let wanted = panel.measured.by_angle().iter().flat_map(|(_, spectrum)| spectrum.values());
        sensitivities(self.layout, theta, Laid { mix: &mix, lie, index: Some(index) }, &asked, bench, tangents)
            .into_iter()
            .zip(wanted)
            .map(|((beta, row), wanted)| ((lightness(beta) - lightness(*wanted)) / DATA_SD, row))
            .collect()
    }
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
