//! What a mix comes to before the film's equations: a handful of sums by wavelength, and how the result
//! depends on each of them.

use super::bench::{Bench, Composition, Prediction};
use super::channels::{Inside, Matter, Toward};
use super::lane::{Jet, LANES, Pack, Real};

/// Sums that do not depend on the view, in the order of their derivatives.
pub(crate) const SHARED: usize = 7;
/// Directions of the derivatives: the shared sums, the lobe sent back, ln film; then per view the first
/// scattering, the flakes' extinction, the mirrored flakes, and the chains' lobe.
pub(crate) const SUMS: usize = 18;
pub(crate) const ABSORB: usize = 0;
pub(crate) const SCATTER: usize = 1;
pub(crate) const TURNED: usize = 2;
pub(crate) const DIM_IN: usize = 3;
pub(crate) const FLAKE_ABSORB: usize = 4;
pub(crate) const MIRROR: usize = 5;
pub(crate) const FLAKE_DIFFUSE: usize = 6;
pub(crate) const LOBE_BACK: usize = 7;
pub(crate) const LN_FILM: usize = 8;
pub(crate) const PHASE: usize = 9;
pub(crate) const DIM_OUT: usize = 10;
pub(crate) const FIRST: usize = 11;
pub(crate) const LOBE: usize = 12;
pub(crate) const BACK_AGAIN: usize = 13;
pub(crate) const SLANT: usize = 14;
pub(crate) const RETURNED: usize = 15;
pub(crate) const LOBE_MORE: usize = 16;
pub(crate) const RETURNED_MORE: usize = 17;

/// A mix as the equations see it.
#[derive(Debug, Clone)]
pub(crate) struct Sums {
    pub(crate) shared: [[f64; 31]; SHARED],
    pub(crate) lobe_back: f64,
    pub(crate) back_again: f64,
    pub(crate) slant: f64,
    pub(crate) phase: [[f64; 31]; 6],
    pub(crate) dim_out: [[f64; 31]; 6],
    pub(crate) first: [[f64; 31]; 6],
    pub(crate) lobe: [[f64; 2]; 6],
    pub(crate) returned: [[f64; 2]; 6],
}

fn add(to: &mut [f64; 31], wave: &[Pack; 4], factor: f64) {
    for (i, slot) in to.iter_mut().enumerate() {
        *slot += wave[i / LANES].0[i % LANES] * factor;
    }
}

impl Sums {
    pub(crate) fn of(mix: &Composition<'_>) -> Self {
        let mut sums = Self {
            shared: [[0.0; 31]; SHARED],
            lobe_back: mix.surface.back.value,
            back_again: mix.surface.back_again.value,
            slant: mix.surface.slant.value,
            phase: [[0.0; 31]; 6],
            dim_out: [[0.0; 31]; 6],
            first: [[0.0; 31]; 6],
            lobe: mix.lobe.map(|l| l.map(|l| l.value)),
            returned: mix.surface.returned.map(|l| l.map(|l| l.value)),
        };
        for (pigment, fraction) in &mix.pigments {
            let c = fraction.value;
            let scatter = c / (1.0 + pigment.crowding * c);
            add(&mut sums.shared[ABSORB], &pigment.absorb, c);
            add(&mut sums.shared[SCATTER], &pigment.scatter, scatter);
            add(&mut sums.shared[TURNED], &pigment.scatter, scatter * pigment.turned);
            for (row, p) in sums.phase.iter_mut().zip(pigment.phase) {
                add(row, &pigment.scatter, scatter * p);
            }
        }
        for part in &mix.flakes {
            let flake = part.flake;
            add(&mut sums.shared[DIM_IN], &flake.stops_in, part.dim_in.value);
            add(&mut sums.shared[FLAKE_ABSORB], &flake.absorb, part.area.value);
            add(&mut sums.shared[MIRROR], &flake.mirror, part.area.value);
            add(&mut sums.shared[FLAKE_DIFFUSE], &flake.diffuse, part.area.value);
            for v in 0..6 {
                add(&mut sums.dim_out[v], &flake.stops_out[v], part.dim_out[v].value);
                add(&mut sums.first[v], &flake.first[v], part.first[v].value);
            }
        }
        sums
    }
}

/// A prediction with its derivatives by the sums, `[view][sum][wavelength]`.
pub(crate) struct Response {
    pub(crate) value: Prediction,
    pub(crate) by: Box<[[[f64; 31]; SUMS]; 6]>,
}

impl Bench {
    /// The film's equations on sums, over a primer.
    pub(crate) fn respond(&self, sums: &Sums, film_um: f64, substrate: usize) -> Response {
        type J = Jet<SUMS>;
        let mut value = [[0.0; 31]; 6];
        let mut by = Box::new([[[0.0; 31]; SUMS]; 6]);
        for chunk in 0..4 {
            let pack = |row: &[f64; 31]| Pack(std::array::from_fn(|i| row[(chunk * LANES + i).min(30)]));
            let seed = |row: &[f64; 31], d: usize| J::seed(pack(row), d);
            let mut film = J::of(film_um);
            film.along[LN_FILM] = Pack::of(film_um);
            let s = &sums.shared;
            let m = Matter {
                absorb: seed(&s[ABSORB], ABSORB),
                scatter: seed(&s[SCATTER], SCATTER),
                turned: seed(&s[TURNED], TURNED),
                dim: seed(&s[DIM_IN], DIM_IN),
                flake_absorb: seed(&s[FLAKE_ABSORB], FLAKE_ABSORB),
                mirror: seed(&s[MIRROR], MIRROR),
                flake_diffuse: seed(&s[FLAKE_DIFFUSE], FLAKE_DIFFUSE),
                ground: J::lanes(self.ground(substrate, chunk)),
                film,
                lobe_back: J::seed(Pack::of(sums.lobe_back), LOBE_BACK),
                lobe_back_again: J::seed(Pack::of(sums.back_again), BACK_AGAIN),
                slant: J::seed(Pack::of(sums.slant), SLANT),
                clear_diffuse: self.clear.diffuse[chunk],
                clear_lobe: self.clear.lobe[chunk],
                mu: self.views.paths[0].light.mu,
            };
            let inside = Inside::solve(m);
            for view in 0..6 {
                let beta = inside.toward(&Toward {
                    phase: seed(&sums.phase[view], PHASE),
                    dim: seed(&sums.dim_out[view], DIM_OUT),
                    first: seed(&sums.first[view], FIRST),
                    lobe: [LOBE, LOBE_MORE].map(|d| J::seed(Pack::of(sums.lobe[view][usize::from(d == LOBE_MORE)]), d)),
                    returned: [RETURNED, RETURNED_MORE]
                        .map(|d| J::seed(Pack::of(sums.returned[view][usize::from(d == RETURNED_MORE)]), d)),
                    crossing: self.clear.crossing[view][chunk],
                    mu: self.views.paths[view].view.mu,
                });
                for lane in 0..LANES {
                    let wl = chunk * LANES + lane;
                    if wl < 31 {
                        value[view][wl] = beta.value.0[lane];
                        for (d, along) in beta.along.iter().enumerate() {
                            by[view][d][wl] = along.0[lane];
                        }
                    }
                }
            }
        }
        Response { value, by }
    }
}
