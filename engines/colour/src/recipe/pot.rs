//! Masses in the pot and fractions of the dry film.

use crate::pour::{BINDER_G_CM3, VOLATILE_G_CM3};
use crate::shelf::{Mix, Part, Shelf};

/// What a pot holds, as it was weighed from the tins.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pot {
    /// Grams of each part's toner, in the order of the mix.
    pub(crate) toners_g: Vec<f64>,
    /// Grams of binder; it counts as all solid, as toners without a stated share of solids do.
    pub(crate) binder_g: f64,
}

/// Mass of dry film per mass from the tin.
fn solids(shelf: &Shelf, toner: usize) -> f64 {
    shelf.toners().get(toner).and_then(|toner| toner.solids_fraction).unwrap_or(1.0)
}

impl Pot {
    /// So many grams of a mix, as poured.
    pub(crate) fn of(shelf: &Shelf, mix: &Mix, mass_g: f64) -> Self {
        let per_dry: Vec<f64> = mix.parts.iter().map(|p| p.fraction / solids(shelf, p.toner)).collect();
        let binder = (1.0 - mix.load()).max(0.0);
        let scale = mass_g / (per_dry.iter().sum::<f64>() + binder);
        Self { toners_g: per_dry.iter().map(|m| m * scale).collect(), binder_g: binder * scale }
    }

    /// The mix that this pot gives, of the same toners as `like`.
    pub(crate) fn mix(&self, shelf: &Shelf, like: &Mix) -> Mix {
        let dry: Vec<f64> = like.parts.iter().zip(&self.toners_g).map(|(p, g)| g * solids(shelf, p.toner)).collect();
        let total = dry.iter().sum::<f64>() + self.binder_g;
        let parts = like.parts.iter().zip(dry).map(|(p, dry)| Part { fraction: dry / total, ..*p }).collect();
        Mix { parts, ..like.clone() }
    }

    /// Grams in the pot.
    pub(crate) fn mass_g(&self) -> f64 {
        self.binder_g + self.toners_g.iter().sum::<f64>()
    }

    /// Both pots in one.
    pub(crate) fn plus(&self, other: &Self) -> Self {
        let toners_g = self.toners_g.iter().zip(&other.toners_g).map(|(a, b)| a + b).collect();
        Self { toners_g, binder_g: self.binder_g + other.binder_g }
    }

    /// Litres in the pot, as if nothing shrank by mixing.
    pub(crate) fn litres(&self, shelf: &Shelf, mix: &Mix) -> f64 {
        let toners = mix.parts.iter().zip(&self.toners_g).map(|(part, g)| {
            let dry = solids(shelf, part.toner);
            let density = shelf.toners().get(part.toner).map_or(BINDER_G_CM3, |toner| toner.density_g_cm3);
            g * (dry / density + (1.0 - dry) / VOLATILE_G_CM3)
        });
        (toners.sum::<f64>() + self.binder_g / BINDER_G_CM3) / 1000.0
    }

    /// Grams of dry film in the pot.
    pub(crate) fn dry_g(&self, shelf: &Shelf, mix: &Mix) -> f64 {
        self.binder_g + mix.parts.iter().zip(&self.toners_g).map(|(p, g)| g * solids(shelf, p.toner)).sum::<f64>()
    }

    /// Grams from the tin for so many grams of dry film.
    pub(crate) fn from_tin_g(shelf: &Shelf, toner: usize, dry_g: f64) -> f64 {
        dry_g / solids(shelf, toner)
    }
}
