//! Several cards of one pot as one.

use base::Warning;

use crate::geometry::Geometry;
use crate::light::{Illuminant, Observer};
use crate::measurement::Measurement;
use crate::recipe::Wish;
use crate::spectrum::Spectrum;

/// What one reading of a card is off by, as CIEDE2000 (starting guess).
const INSTRUMENT_DE00: f64 = 0.2;

/// Several cards as one.
pub(super) struct Average {
    pub(super) measurement: Measurement,
    pub(super) count: usize,
    /// Mean difference of two cards.
    pub(super) apart_de00: Option<f64>,
    pub(super) from_wish_de00: f64,
    missing: Vec<Geometry>,
}

impl Average {
    /// The mean spectra at each wanted angle over the cards that have it.
    pub(super) fn of(wish: &Wish, cards: &[Measurement]) -> Self {
        let mut by_angle = Vec::new();
        let mut missing = Vec::new();
        for (geometry, _) in wish.target.by_angle() {
            let spectra: Vec<&Spectrum> = cards.iter().filter_map(|card| card.at(*geometry)).collect();
            if spectra.is_empty() {
                missing.push(*geometry);
                continue;
            }
            let mean =
                std::array::from_fn(|i| spectra.iter().map(|s| s.values()[i]).sum::<f64>() / spectra.len() as f64);
            by_angle.push((*geometry, Spectrum::clamped(&mean)));
        }
        let mean_of = |differences: Vec<f64>| {
            (!differences.is_empty()).then(|| differences.iter().sum::<f64>() / differences.len() as f64)
        };
        let between = |one: &Measurement, two: &Measurement| {
            one.differences(two, Illuminant::D65, Observer::Deg10).iter().map(|(_, d)| d.de00).collect::<Vec<_>>()
        };
        let mut apart = Vec::new();
        for (i, one) in cards.iter().enumerate() {
            for two in cards.iter().skip(i + 1) {
                apart.extend(mean_of(between(one, two)));
            }
        }
        // Each card shares an angle with the wish, so there is one; the wish stands in where there is none.
        let measurement = Measurement::new(by_angle).unwrap_or_else(|_| wish.target.clone());
        let from_wish_de00 = mean_of(between(&wish.target, &measurement)).unwrap_or(0.0);
        Self { apart_de00: mean_of(apart), from_wish_de00, missing, count: cards.len(), measurement }
    }

    /// How much of a correction to carry out, 0 to 1: all of it when the card is far from the wish, little
    /// when it is as near as an instrument can tell.
    pub(super) fn trust(&self) -> f64 {
        let signal = self.from_wish_de00 * self.from_wish_de00;
        let noise = INSTRUMENT_DE00 * INSTRUMENT_DE00 / self.count as f64;
        signal / (signal + noise)
    }

    pub(super) fn warnings(&self) -> Vec<Warning> {
        let mut warnings = self.measurement.warnings();
        for geometry in &self.missing {
            warnings.push(Warning::new(format!("no card was measured at {geometry}: nothing is learned there")));
        }
        warnings
    }
}
