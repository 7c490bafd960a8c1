//! Where the fit starts: each toner roughly, from the panels where it stands alone.

use base::math;

use super::layout::{AREA, Band, CROWDING, EDGE, FILM_INDEX, FORWARD, Layout, SLOPE, TAIL_WEIGHT, WIDENING, log_odds};
use super::{Panel, Panels};
use crate::film::interface::Path;
use crate::film::{PlainFilm, PlainFlakes, radiance};
use crate::shelf::{FLAKE_NODES, TonerKind};

/// First values of all unknowns.
pub(crate) fn start(layout: &Layout, panels: &Panels) -> Vec<f64> {
    let mut theta = vec![0.0; layout.len];
    for node in 0..31 {
        theta[layout.clear(node)] = math::ln(0.004);
    }
    theta[layout.loading] = math::ln(0.4);
    for (toner, info) in panels.toners.iter().enumerate() {
        let set = |theta: &mut Vec<f64>, which, value| theta[layout.scalar(toner, which)] = value;
        set(&mut theta, FORWARD, log_odds(0.35));
        set(&mut theta, CROWDING, math::ln(0.3));
        set(&mut theta, WIDENING, math::ln(if info.kind == TonerKind::FlopAdjuster { 0.05 } else { 0.003 }));
        set(&mut theta, AREA, math::ln(1.5));
        set(&mut theta, SLOPE, math::ln(0.13));
        set(&mut theta, TAIL_WEIGHT, log_odds(0.15));
        set(&mut theta, FILM_INDEX, log_odds(0.3));
        set(&mut theta, EDGE, math::ln(0.02));
        let alone: Vec<&Panel> = panels
            .panels
            .iter()
            .filter(|p| p.parts.iter().all(|part| part.toner == toner || part.fraction == 0.0))
            .collect();
        if info.kind.is_flake() {
            flake(layout, &mut theta, toner, info.kind, &alone, panels);
        } else {
            solid(layout, &mut theta, toner, &alone, panels);
        }
    }
    theta
}

fn fraction(panel: &Panel, toner: usize) -> f64 {
    panel.parts.iter().find(|p| p.toner == toner).map_or(0.0, |p| p.fraction)
}

/// Every pair of absorption and scattering on a grid, at every wavelength on its own.
fn solid(layout: &Layout, theta: &mut [f64], toner: usize, alone: &[&Panel], panels: &Panels) {
    const GRID: usize = 25;
    let level = |i: usize| math::exp(math::ln(1e-4) + (math::ln(30.0) - math::ln(1e-4)) * i as f64 / (GRID - 1) as f64);
    let path = [Path::aspecular(45.0, 45.0)];
    let n = GRID * GRID;
    let mut misfit = vec![vec![0.0; n]; 31];
    for panel in alone {
        let c = fraction(panel, toner);
        let Some(measured) = panel.measured.at(crate::geometry::Geometry::As45) else { continue };
        for (wl, row) in misfit.iter_mut().enumerate() {
            let ground = panels.substrates[panel.substrate].reflectance.values()[wl];
            let film = PlainFilm {
                film_um: panel.film_um,
                absorption_per_um: (0..n).map(|i| c * level(i / GRID)).collect(),
                scattering_per_um: (0..n).map(|i| c * level(i % GRID)).collect(),
                flakes: vec![],
                ground: vec![ground; n],
                clear: vec![],
            };
            let wanted = lightness(measured.values()[wl]);
            for (sum, beta) in row.iter_mut().zip(radiance(&film, &path).remove(0)) {
                *sum += (lightness(beta) - wanted) * (lightness(beta) - wanted);
            }
        }
    }
    for (wl, row) in misfit.iter().enumerate() {
        let best = row.iter().enumerate().fold((0, f64::INFINITY), |b, (i, m)| if *m < b.1 { (i, *m) } else { b }).0;
        let (ka, ks) = if alone.is_empty() { (0.1, 0.1) } else { (level(best / GRID), level(best % GRID)) };
        theta[layout.band(toner, Band::Absorb, wl)] = math::ln(ka);
        theta[layout.band(toner, Band::Return, wl)] = math::ln(ks);
    }
}

/// Area, slope and a flat reflectance on a grid, from the mean over the wavelengths.
fn flake(layout: &Layout, theta: &mut [f64], toner: usize, kind: TonerKind, alone: &[&Panel], panels: &Panels) {
    let flat: &[f64] = if kind == TonerKind::Aluminium { &[0.7, 0.8, 0.88] } else { &[0.03, 0.06] };
    let mut best = (f64::INFINITY, 1.5, 0.13, flat[0]);
    for area in [0.3, 0.5, 0.8, 1.2, 1.8, 2.7, 4.0, 6.0, 9.0, 13.0] {
        for slope in [0.07, 0.09, 0.12, 0.15, 0.19, 0.24] {
            for reflectance in flat {
                let mut misfit = 0.0;
                for panel in alone {
                    let film = PlainFilm {
                        film_um: panel.film_um,
                        absorption_per_um: vec![1e-6],
                        scattering_per_um: vec![1e-3],
                        flakes: vec![PlainFlakes {
                            area_per_um: area * fraction(panel, toner),
                            slope_sd: slope,
                            tail_weight: 0.15,
                            reflectance: vec![*reflectance],
                            absorptance: vec![if kind == TonerKind::Pearl { 0.02 } else { 1.0 - reflectance }],
                        }],
                        ground: vec![super::mean(panels.substrates[panel.substrate].reflectance.values())],
                        clear: vec![],
                    };
                    let angles = panel.measured.by_angle();
                    let paths: Vec<Path> =
                        angles.iter().map(|(g, _)| Path::aspecular(45.0, f64::from(g.aspecular_deg()))).collect();
                    for ((_, spectrum), beta) in angles.iter().zip(radiance(&film, &paths)) {
                        let gap = lightness(super::mean(spectrum.values())) - lightness(beta[0]);
                        misfit += gap * gap;
                    }
                }
                if misfit < best.0 {
                    best = (misfit, area, slope, *reflectance);
                }
            }
        }
    }
    theta[layout.scalar(toner, AREA)] = math::ln(best.1);
    theta[layout.scalar(toner, SLOPE)] = math::ln(best.2);
    for node in 0..FLAKE_NODES {
        theta[layout.band(toner, Band::Return, node)] = log_odds(best.3);
        theta[layout.band(toner, Band::Absorb, node)] = log_odds(0.03);
    }
}

/// A cube-root scale like lightness, with a floor that keeps the instrument's noise in the dark small.
pub(crate) fn lightness(beta: f64) -> f64 {
    100.0 * base::lane::cbrt(beta.max(-0.001) + 0.002)
}
