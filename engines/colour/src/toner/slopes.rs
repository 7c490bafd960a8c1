//! What a panel's look depends on: one row of the unknowns for every angle and wavelength.

use base::math;

use super::fit::DATA_SD;
use super::layout::{Band, Layout, part};
use super::tangents::{STEP, Tangents, along};
use crate::film::bench::{Bench, Composition, ReadyPart};
use crate::film::sums::{
    ABSORB, DIM_IN, DIM_OUT, FIRST, FLAKE_ABSORB, FLAKE_DIFFUSE, LN_FILM, MIRROR, PHASE, Response, SCATTER, SUMS, Sums,
    TURNED,
};
use crate::shelf::{FLAKE_NODES, Mix, TonerKind};

/// A panel as it lies: of the list with its own film and lie, or one that nobody has sprayed yet.
#[derive(Clone, Copy)]
pub(super) struct Laid<'a> {
    pub(super) mix: &'a Mix,
    pub(super) lie: f64,
    pub(super) index: Option<usize>,
}

/// One residual's dependence on the unknowns.
pub(super) type Row = Vec<(usize, f64)>;

/// A change of the prediction by view and wavelength.
type Change = Box<[[f64; 31]; 6]>;

/// Radiance factors of a panel at some views and wavelengths, and what their lightness depends on, in units
/// of [`DATA_SD`].
pub(super) fn sensitivities(
    layout: &Layout,
    theta: &[f64],
    laid: Laid<'_>,
    asked: &[(usize, usize)],
    bench: &mut Bench,
    tangents: &Tangents,
) -> Vec<(f64, Row)> {
    let Laid { mix, lie, index } = laid;
    let sums = Sums::of(&bench.composition(mix, lie));
    let response = bench.respond(&sums, mix.film_um, mix.substrate);
    let plain = plain(layout, laid, bench, tangents, &sums, &response);
    let composition = bench.composition(mix, lie);
    asked
        .iter()
        .map(|&(v, wl)| {
            let beta = response.value[v][wl];
            // d lightness / d beta, over the standard deviation.
            let root = base::lane::cbrt(beta.max(-0.001) + 0.002);
            let rate = 100.0 / (3.0 * root * root) / DATA_SD;
            let path = &bench.views.paths[v];
            let clear = layout.clear(wl);
            let through = 1.0 / path.light.mu + 1.0 / path.view.mu;
            let mut row: Row = Vec::with_capacity(64);
            row.push((clear, -beta * math::exp(theta[clear]) * through));
            spectra(&mut row, Seen { layout, theta, mix, composition: &composition, tangents, v, wl }, &response.by[v]);
            if let Some(index) = index {
                row.push((layout.film(index), response.by[v][LN_FILM][wl]));
            }
            row.extend(plain.iter().map(|(k, change)| (*k, change[v][wl])));
            row.iter_mut().for_each(|(_, slope)| *slope *= rate);
            (beta, row)
        })
        .collect()
}

/// Figures that are the same at every wavelength, by differences of the sums: those are cheap, the film's
/// equations are not.
fn plain(
    layout: &Layout,
    laid: Laid<'_>,
    bench: &mut Bench,
    tangents: &Tangents,
    sums: &Sums,
    response: &Response,
) -> Vec<(usize, Change)> {
    let Laid { mix, lie, index } = laid;
    let mut all = Vec::new();
    for part in mix.parts.iter().filter(|p| p.fraction > 0.0) {
        for (which, pigment, flake) in &tangents.plain[part.toner] {
            let kept_pigment = std::mem::replace(&mut bench.pigments[part.toner], pigment.clone());
            let kept_flake = std::mem::replace(&mut bench.flakes[part.toner], flake.clone());
            let moved = Sums::of(&bench.composition(mix, lie));
            bench.pigments[part.toner] = kept_pigment;
            bench.flakes[part.toner] = kept_flake;
            all.push((layout.scalar(part.toner, *which), along(response, sums, &moved, STEP)));
        }
    }
    if mix.parts.iter().any(|p| layout.flake(p.toner)) {
        let load = |bench: &mut Bench, factor: f64| {
            for part in &mix.parts {
                if let Some(flake) = &mut bench.flakes[part.toner] {
                    flake.loading *= factor;
                }
            }
        };
        load(bench, 1.0 + STEP);
        let moved = Sums::of(&bench.composition(mix, lie));
        load(bench, 1.0 / (1.0 + STEP));
        all.push((layout.loading, along(response, sums, &moved, STEP)));
        if let Some(index) = index {
            let moved = Sums::of(&bench.composition(mix, lie * (1.0 + STEP)));
            all.push((layout.lie(index), along(response, sums, &moved, STEP)));
        }
    }
    all
}

/// One view and wavelength of a mix.
struct Seen<'a> {
    layout: &'a Layout,
    theta: &'a [f64],
    mix: &'a Mix,
    composition: &'a Composition<'a>,
    tangents: &'a Tangents,
    v: usize,
    wl: usize,
}

/// Adds what the toners' spectra do.
fn spectra(row: &mut Row, seen: Seen<'_>, by: &[[f64; 31]; SUMS]) {
    let mut flakes = seen.composition.flakes.iter();
    for (part, (pigment, _)) in seen.mix.parts.iter().zip(&seen.composition.pigments) {
        let (c, toner, wl) = (part.fraction, part.toner, seen.wl);
        let Seen { layout, theta, .. } = seen;
        if layout.flake(toner) {
            // Every flake toner has its flakes, in the order of the parts.
            if let Some(ready) = flakes.next().filter(|_| c > 0.0) {
                match layout.kinds[toner] {
                    TonerKind::Pearl => pearl(row, &seen, toner, ready, by),
                    _ => metal(row, &seen, toner, ready, by),
                }
            }
        } else if c > 0.0 {
            let ka = layout.band(toner, Band::Absorb, wl);
            row.push((ka, by[ABSORB][wl] * c * math::exp(theta[ka])));
            let ks = layout.band(toner, Band::Return, wl);
            let d = by[SCATTER][wl] + by[TURNED][wl] * pigment.turned + by[PHASE][wl] * pigment.phase[seen.v];
            row.push((ks, d * c / (1.0 + pigment.crowding * c) * math::exp(theta[ks])));
        }
    }
}

/// Rise of a part of 1 with the logarithm of its odds.
fn rise(log_odds: f64) -> f64 {
    let p = part(log_odds);
    p * (1.0 - p)
}

/// An opaque flake: what it does not reflect it absorbs, so its extinction stays.
fn metal(row: &mut Row, seen: &Seen<'_>, toner: usize, ready: &ReadyPart<'_>, by: &[[f64; 31]; SUMS]) {
    let (v, wl) = (seen.v, seen.wl);
    let k = seen.layout.band(toner, Band::Return, wl);
    let d = by[FIRST][wl] * ready.first[v].value
        + (by[MIRROR][wl] + by[FLAKE_DIFFUSE][wl] - by[FLAKE_ABSORB][wl]) * ready.area.value;
    row.push((k, d * rise(seen.theta[k])));
}

/// A clear flake, whose square-on reflectance at one wavelength is seen at others.
fn pearl(row: &mut Row, seen: &Seen<'_>, toner: usize, ready: &ReadyPart<'_>, by: &[[f64; 31]; SUMS]) {
    let (v, wl) = (seen.v, seen.wl);
    let maps = &seen.tangents.maps[toner];
    let (area, dim_in, dim_out) = (ready.area.value, ready.dim_in.value, ready.dim_out[v].value);
    let k = seen.layout.band(toner, Band::Absorb, wl);
    let d = by[DIM_IN][wl] * dim_in + by[DIM_OUT][wl] * dim_out + by[FLAKE_ABSORB][wl] * area;
    row.push((k, d * rise(seen.theta[k])));
    let weights = [
        (&maps.first[v], by[FIRST][wl] * ready.first[v].value),
        (&maps.out[v], by[DIM_OUT][wl] * dim_out),
        (&maps.light, by[DIM_IN][wl] * dim_in + by[MIRROR][wl] * area),
        (&maps.diffuse, by[FLAKE_DIFFUSE][wl] * area),
    ];
    for node in 0..FLAKE_NODES {
        let d: f64 = weights.iter().map(|(map, weight)| map[wl][node] * weight).sum();
        if d != 0.0 {
            let k = seen.layout.band(toner, Band::Return, node);
            row.push((k, d * rise(seen.theta[k])));
        }
    }
}
