//! A base coat with a mid coat over it: tinted, pearl, or both.
//!
//! The mid coat is solved as a film of its own. Under it the base counts as an even, diffuse ground with
//! the reflectance that its own diffuse light shows, and whatever the base does beyond that, its flakes'
//! face, is added through the mid coat, dimmed straight on both ways. So the join is exact for a base
//! that is an even diffuser, and for a clear mid coat over any base; what passes between the flakes of a
//! base and those of a mid coat more than once is left out. `oracle/` says how far that holds.

use super::bench::{Bench, Composition, Prediction, store};
use super::channels::Inside;
use super::interface::DIFFUSE_BACK;
use super::lane::{Pack, Real};
use crate::shelf::Mix;

impl Bench {
    /// What a base looks like with a mid coat over it; the mid coat's own primer does not count.
    pub fn predict_layers(&self, base: &Mix, mid: &Mix) -> Prediction {
        let (lower, upper) = (self.composition(base, 1.0), self.composition(mid, 1.0));
        let mut out = [[0.0; 31]; 6];
        for chunk in 0..4 {
            let (mut matter, phase) = self.matter::<Pack>(&upper, chunk, Pack::of(0.0));
            let absorbed = (matter.absorb + matter.flake_absorb) * mid.film_um;
            let under = self.base(&lower, base.substrate, chunk, absorbed);
            matter.ground = under.ground;
            let inside = Inside::solve(matter);
            for (view, phase) in phase.into_iter().enumerate() {
                let sight = self.sight(&upper, chunk, view, phase);
                let beyond = under.beyond[view] * inside.straight(&sight);
                let beta = (inside.toward(&sight) + beyond).positive();
                store(&mut out[view], chunk, &beta);
            }
        }
        out
    }

    /// A base under a mid coat that absorbs this much, as an optical depth: light that the surface sends
    /// back to the base crosses the mid coat twice more.
    fn base(&self, mix: &Composition<'_>, substrate: usize, chunk: usize, absorbed: Pack) -> Under {
        let (mut matter, phase) = self.matter::<Pack>(mix, chunk, self.ground(substrate, chunk));
        matter.clear_diffuse = matter.clear_diffuse * (absorbed * -4.0).exp();
        matter.clear_lobe = matter.clear_lobe * (absorbed * -2.0 * (1.0 / matter.mu)).exp();
        let back = matter.clear_diffuse * DIFFUSE_BACK;
        let inside = Inside::solve(matter);
        let mut total = [Pack::of(0.0); 6];
        let mut even = Pack::of(0.0);
        for (view, phase) in phase.into_iter().enumerate() {
            let sight = self.sight(mix, chunk, view, phase);
            let [mirrored, diffuse] = inside.parts_toward(&sight);
            total[view] = mirrored + diffuse;
            even = even + diffuse / self.clear.crossing[view][chunk] * (1.0 / 6.0);
        }
        // An even diffuser G below the surface shows G / (1 - k2 G).
        let ground = even / (Pack::of(1.0) + back * even);
        let beyond = std::array::from_fn(|view| total[view] - even * self.clear.crossing[view][chunk]);
        Under { ground, beyond }
    }
}

/// A base as a mid coat sees it, at eight wavelengths.
struct Under {
    /// Its diffuse reflectance from inside.
    ground: Pack,
    /// What it shows beyond that, by view.
    beyond: [Pack; 6],
}
