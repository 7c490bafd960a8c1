//! Over which primer, and in how many coats.

use super::search::Search;
use super::solve::{GLANCE, POLISH, Solved, Solver};
use crate::difference::ciede2000;
use crate::film::{Bench, Prediction};
use crate::lab::{Lab, lab};
use crate::light::{Illuminant, Observer};
use crate::shelf::{Mix, Shelf};
use crate::spectrum::Spectrum;

/// How well a film hides what is below.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hiding {
    /// The largest CIEDE2000 at any angle between this film and one with a coat more (D65, 10 degrees).
    pub de00_max: f64,
    /// Contrast ratio: Y at 45 degrees over the shelf's darkest primer by that over its lightest.
    pub contrast_ratio: f64,
}

/// Contrast ratio from which a film hides (ISO 6504-3 and ASTM D2805, from memory).
const HIDING_RATIO: f64 = 0.98;
/// Difference by one more coat under which a film hides (common practice, no source: 0.3 to 0.5).
const HIDING_DE00: f64 = 0.5;

impl Hiding {
    /// Whether one more coat and the primer's lightness make no difference: contrast ratio 0.98 or more,
    /// and at most 0.5 by one more coat at every angle.
    pub fn hides(&self) -> bool {
        self.contrast_ratio >= HIDING_RATIO && self.de00_max <= HIDING_DE00
    }
}

/// CIELAB of a prediction at one angle.
pub(crate) fn lab_at(prediction: &Prediction, at: usize, illuminant: Illuminant) -> Lab {
    lab(&spectrum(&prediction[at]), illuminant, Observer::Deg10)
}

/// A predicted spectrum as a measured one would be.
pub(crate) fn spectrum(values: &[f64; 31]) -> Spectrum {
    Spectrum::clamped(values)
}

/// How well a mix hides, sprayed in so many coats.
pub(crate) fn hiding(shelf: &Shelf, bench: &Bench, mix: &Mix, coats: u8) -> Hiding {
    let now = bench.predict(mix);
    let coats = f64::from(coats.max(1));
    let more = bench.predict(&Mix { film_um: mix.film_um * (coats + 1.0) / coats, ..mix.clone() });
    let at = |p: &Prediction, i: usize| lab_at(p, i, Illuminant::D65);
    let de00_max = (0..6).map(|i| ciede2000(at(&now, i), at(&more, i))).fold(0.0, f64::max);
    let [dark, light] = extremes(shelf).map(|substrate| {
        let over = bench.predict(&Mix { substrate, ..mix.clone() });
        luminance(&over[3])
    });
    Hiding { de00_max, contrast_ratio: if light > 0.0 { dark / light } else { 1.0 } }
}

fn luminance(values: &[f64; 31]) -> f64 {
    crate::light::tristimulus(&spectrum(values), Illuminant::D65, Observer::Deg10).y
}

/// The shelf's darkest and lightest primers.
fn extremes(shelf: &Shelf) -> [usize; 2] {
    let by = by_lightness(shelf, &(0..shelf.substrates().len()).collect::<Vec<_>>());
    [by.first().copied().unwrap_or(0), by.last().copied().unwrap_or(0)]
}

/// Primers from dark to light.
pub(crate) fn by_lightness(shelf: &Shelf, substrates: &[usize]) -> Vec<usize> {
    let y = |place: &usize| shelf.substrates().get(*place).map_or(0.0, |s| luminance(s.reflectance.values()));
    let mut list = substrates.to_vec();
    list.sort_by(|a, b| y(a).total_cmp(&y(b)).then(a.cmp(b)));
    list.dedup();
    list
}

/// A mix laid over a primer in whole coats.
#[derive(Debug, Clone)]
pub(crate) struct Laid {
    pub(crate) solved: Solved,
    pub(crate) coats: u8,
    pub(crate) hiding: Hiding,
}

/// What a coat more must gain in colour difference to be worth spraying (our choice).
const COAT_COST: f64 = 0.02;
/// Primers and coats solved to the end.
const TRIED_IN_FULL: usize = 3;

impl Laid {
    fn score(&self) -> f64 {
        self.solved.score() + COAT_COST * f64::from(self.coats)
    }
}

impl Search<'_> {
    /// Chooses primer and coats for a mix and solves it again there.
    ///
    /// Where the film hides within the coats allowed, the fewest that do so are best and the primer hardly
    /// matters; where it never hides, primer and coats are part of the recipe and every pair is tried.
    pub(crate) fn lay(&self, solver: &mut Solver, mix: &Mix) -> Option<Laid> {
        let coat_um = self.coat_um(mix);
        let counts: Vec<u8> = match self.limits.film_um {
            Some(film_um) => vec![(film_um / coat_um).round().clamp(1.0, 255.0) as u8],
            None => (2..=self.limits.max_coats).collect(),
        };
        let film_um = |coats: u8| self.limits.film_um.unwrap_or(coat_um * f64::from(coats));
        let enough = counts.iter().copied().find(|coats| {
            let film = Mix { film_um: film_um(*coats), ..mix.clone() };
            hiding(self.shelf, self.bench, &film, *coats).hides()
        });
        let mut tried = Vec::new();
        for &coats in counts.iter().filter(|coats| enough.is_none_or(|enough| **coats >= enough)) {
            for &substrate in &self.limits.substrates {
                if enough.is_some() && substrate != mix.substrate && self.limits.substrates.contains(&mix.substrate) {
                    continue;
                }
                let start = Mix { film_um: film_um(coats), substrate, ..mix.clone() };
                tried.push(self.laid(self.solve(solver, start, GLANCE), coats));
            }
        }
        let better = |a: &Laid, b: &Laid| a.score().total_cmp(&b.score());
        tried.sort_by(better);
        tried.truncate(TRIED_IN_FULL);
        let full = tried.into_iter().map(|laid| self.laid(self.solve(solver, laid.solved.mix, POLISH), laid.coats));
        full.min_by(better)
    }

    fn laid(&self, solved: Solved, coats: u8) -> Laid {
        let hiding = hiding(self.shelf, self.bench, &solved.mix, coats);
        Laid { solved, coats, hiding }
    }
}
