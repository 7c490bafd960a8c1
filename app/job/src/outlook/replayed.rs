//! One car's shell at several points of its record, woven together anew only when the car's details change.

use jiff::civil::Date;
use schedule::Findings;

use super::evidence::Facts;
use super::hidden::{Hidden, Told};
use super::reasons::Moved;
use super::shell::Shell;
use super::{OutlookError, ZoneOutlook, last_day, zones};
use crate::car::Car;
use crate::catalogue::Catalogue;
use crate::details::CarDetails;

/// A car's shell, ready for the record as it stood at any entry. The car's age is that of its last entry throughout,
/// so that a new year is no news.
pub(crate) struct Replayed<'a> {
    catalogue: &'a Catalogue,
    details: CarDetails,
    on: Date,
    pub(super) shell: Shell<'a>,
    hidden: Hidden,
}

impl<'a> Replayed<'a> {
    pub(crate) fn new(car: &Car, catalogue: &'a Catalogue) -> Result<Self, OutlookError> {
        let on = last_day(car);
        let shell = Shell::new(catalogue, &car.details, on)?;
        let hidden = Hidden::of(&shell)?;
        Ok(Self { catalogue, details: car.details.clone(), on, shell, hidden })
    }

    /// What the record says of each slot.
    fn facts(&mut self, car: &Car) -> Result<Vec<Facts<'a>>, OutlookError> {
        if self.details != car.details {
            self.shell = Shell::new(self.catalogue, &car.details, self.on)?;
            self.hidden = Hidden::of(&self.shell)?;
            self.details = car.details.clone();
        }
        Ok(Facts::gather(&self.shell, car))
    }

    /// The same, and the chance of each slot, neither rounded nor kept from the ends.
    pub(super) fn at(&mut self, car: &Car) -> Result<(Vec<Facts<'a>>, Vec<f64>), OutlookError> {
        let facts = self.facts(car)?;
        let chances = self.hidden.chances(&Told::of(&self.shell, &facts))?;
        Ok((facts, chances))
    }

    /// The chance of each zone instance.
    pub(crate) fn chances(&mut self, car: &Car) -> Result<Vec<(&'static str, f64)>, OutlookError> {
        let (_, chances) = self.at(car)?;
        Ok(self.shell.slots.iter().map(|slot| slot.instance.id.as_str()).zip(chances).collect())
    }

    /// What is thought of each zone, without the reasons for what was seen.
    pub(super) fn zones(&mut self, car: &Car) -> Result<Vec<ZoneOutlook>, OutlookError> {
        let (facts, chances) = self.at(car)?;
        let told = Told::of(&self.shell, &facts);
        zones(&self.shell, &facts, &Moved { told: &told, chances: &chances, without: &[] })
    }

    /// Which zones are bad in each of so many draws, all together; a column for each slot.
    pub(super) fn findings(&mut self, car: &Car, samples: usize, seed: u64) -> Result<Findings, OutlookError> {
        let facts = self.facts(car)?;
        let drawn = self.hidden.draw(&Told::of(&self.shell, &facts), samples, seed)?;
        let slots = self.shell.slots.len();
        let mut columns = vec![vec![0_u64; samples.div_ceil(64)]; slots];
        for (sample, bad) in drawn.chunks_exact(slots.max(1)).enumerate() {
            for (column, bad) in columns.iter_mut().zip(bad) {
                column[sample / 64] |= u64::from(*bad) << (sample % 64);
            }
        }
        Ok(Findings::new(samples, columns)?)
    }
}
