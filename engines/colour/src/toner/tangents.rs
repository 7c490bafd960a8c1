//! How the sums of a mix move with its toners' figures.

use super::layout::{Layout, plain as plain_figures};
use crate::film::bench::{Bench, ReadyFlake, ReadyPigment};
use crate::film::flakes::Facing;
use crate::film::sums::{
    BACK_AGAIN, DIM_OUT, FIRST, LOBE, LOBE_BACK, LOBE_MORE, PHASE, RETURNED, RETURNED_MORE, Response, SLANT, Sums,
};
use crate::shelf::{FLAKE_NODES, TonerKind};

/// Step of the differences on plain figures.
pub(super) const STEP: f64 = 1e-4;

/// Change of the prediction along a change of the sums.
pub(super) fn along(response: &Response, from: &Sums, to: &Sums, step: f64) -> Box<[[f64; 31]; 6]> {
    let mut out = Box::new([[0.0; 31]; 6]);
    let k = 1.0 / step;
    for (v, rows) in out.iter_mut().enumerate() {
        let by = &response.by[v];
        for (wl, slot) in rows.iter_mut().enumerate() {
            let mut d = 0.0;
            // The shared sums come first among the derivatives.
            for (slopes, (to, from)) in by.iter().zip(to.shared.iter().zip(&from.shared)) {
                d += slopes[wl] * (to[wl] - from[wl]);
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
pub(super) struct Maps {
    pub(super) first: Vec<Vec<[f64; FLAKE_NODES]>>,
    pub(super) out: Vec<Vec<[f64; FLAKE_NODES]>>,
    pub(super) light: Vec<[f64; FLAKE_NODES]>,
    pub(super) diffuse: Vec<[f64; FLAKE_NODES]>,
}

/// A plain figure, and its toner one step along it.
type Moved = (usize, ReadyPigment, Option<ReadyFlake>);

/// What the toners' unknowns do, worked out once for all panels.
pub(super) struct Tangents {
    /// By toner; empty but for travelling flakes.
    pub(super) maps: Vec<Maps>,
    /// By toner, each plain figure with the toner made ready one [`STEP`] along it.
    pub(super) plain: Vec<Vec<Moved>>,
}

impl Tangents {
    pub(super) fn new(layout: &Layout, theta: &[f64], bench: &Bench) -> Self {
        let toners = layout.kinds.len();
        let mut maps = Vec::new();
        let mut plain: Vec<Vec<Moved>> = Vec::new();
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
                        let pigment = ReadyPigment::new(bench.views, &optics);
                        let flake = optics.flake.as_ref().map(|f| ReadyFlake::new(bench.views, f));
                        (*which, pigment, flake)
                    })
                    .collect(),
            );
        }
        Self { maps, plain }
    }
}
