//! What a calibration expects before any panel speaks: smooth spectra, and figures near the usual ones.

use super::Panels;
use super::envelope::Envelope;
use super::layout::{AREA, Band, CROWDING, EDGE, FILM_INDEX, FORWARD, Layout, SLOPE, TAIL_WEIGHT, WIDENING, log_odds};
use crate::shelf::{FLAKE_NODES, TonerKind};

/// What is expected of the unknowns before any panel speaks.
pub(super) struct Prior {
    centre: Vec<f64>,
    precision: Vec<f64>,
    /// Runs of neighbouring unknowns whose second differences are small: (indices, precision).
    smooth: Vec<([usize; 3], f64)>,
}

impl Prior {
    pub(super) fn new(layout: &Layout, panels: &Panels, start: &[f64]) -> Self {
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

    pub(super) fn cost(&self, theta: &[f64]) -> f64 {
        let own = theta.iter().zip(&self.centre).zip(&self.precision).map(|((t, c), p)| p * (t - c) * (t - c));
        let bends = self.smooth.iter().map(|([a, b, c], p)| {
            let bend = theta[*a] - 2.0 * theta[*b] + theta[*c];
            p * bend * bend
        });
        own.sum::<f64>() + bends.sum::<f64>()
    }

    pub(super) fn add(&self, theta: &[f64], normal: &mut Envelope, slope: &mut [f64]) {
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
