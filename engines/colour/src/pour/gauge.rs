//! How far what is in a pot is from its recipe.

use crate::difference::ciede2000;
use crate::film::{Bench, Prediction};
use crate::lab::Lab;
use crate::light::Illuminant;
use crate::recipe::{Pot, lab_at};
use crate::shelf::{Mix, Part, Shelf};

/// So many grams of a toner, by its place on the shelf; `None` is the binder.
pub type Grams = (Option<usize>, f64);

/// A change of colour: CIEDE2000 under D65 for the 10 degree observer, over the six angles, each as predicted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// The mean over the angles.
    pub mean_de00: f64,
    /// At the angle where it is largest.
    pub worst_de00: f64,
}

/// A recipe and its colour, for pots of its toners and of others that got into them.
pub(super) struct Gauge<'a> {
    pub(super) shelf: &'a Shelf,
    /// The recipe; toners of the pots that it does not name follow with fraction 0.
    pub(super) mix: Mix,
    bench: Bench,
    wanted: [Lab; 6],
}

impl<'a> Gauge<'a> {
    /// For a mix that was checked, and pots of these toners.
    pub(super) fn new(shelf: &'a Shelf, mix: &Mix, pots: &[&[Grams]]) -> Self {
        let mut mix = mix.clone();
        for toner in pots.iter().flat_map(|pot| pot.iter()).filter(|(_, grams)| *grams > 0.0).filter_map(|(t, _)| *t) {
            if mix.parts.iter().all(|part| part.toner != toner) {
                mix.parts.push(Part { toner, fraction: 0.0 });
            }
        }
        let bench = Bench::new(shelf);
        let wanted = labs(&bench.predict(&mix));
        Self { shelf, mix, bench, wanted }
    }

    /// The recipe as so many grams in the pot.
    pub(super) fn recipe(&self, mass_g: f64) -> Pot {
        Pot::of(self.shelf, &self.mix, mass_g)
    }

    /// A pot of all that stands in these lists.
    pub(super) fn pot(&self, lists: &[&[Grams]]) -> Pot {
        let sum = |toner: Option<usize>| {
            let poured = lists.iter().flat_map(|list| list.iter());
            poured.filter(|(t, _)| *t == toner).map(|(_, grams)| grams).sum::<f64>()
        };
        Pot { toners_g: self.mix.parts.iter().map(|part| sum(Some(part.toner))).collect(), binder_g: sum(None) }
    }

    /// How far the film of a pot that is not empty is from the recipe's.
    pub(super) fn shift(&self, pot: &Pot) -> Shift {
        let film = labs(&self.bench.predict(&pot.mix(self.shelf, &self.mix)));
        let apart = self.wanted.iter().zip(film).map(|(wanted, found)| ciede2000(*wanted, found));
        let (sum, worst) = apart.fold((0.0, 0.0_f64), |(sum, worst), de00| (sum + de00, worst.max(de00)));
        Shift { mean_de00: sum / 6.0, worst_de00: worst }
    }
}

fn labs(prediction: &Prediction) -> [Lab; 6] {
    std::array::from_fn(|at| lab_at(prediction, at, Illuminant::D65))
}
