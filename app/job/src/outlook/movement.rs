//! What moved the hours, entry by entry.

use std::ops::ControlFlow;

use super::evidence::Facts;
use super::hidden::{Hidden, Told};
use super::range::decided;
use super::shell::Shell;
use super::{Known, OutlookError, last_day};
use crate::car::Car;
use crate::catalogue::Catalogue;
use crate::details::CarDetails;
use crate::question::Hours;
use crate::what::What;

/// One entry and what it did to the mean hours of the whole shell.
#[derive(Debug, Clone, PartialEq)]
pub struct Movement {
    /// The entry.
    pub seq: u64,
    /// The zone instance it is about, if it is about one.
    pub zone: Option<String>,
    /// Mean hours before it.
    pub before_h: f64,
    /// Mean hours after it.
    pub after_h: f64,
}

impl Movement {
    /// By how many hours it moved the mean, up or down.
    pub fn size_h(&self) -> f64 {
        (self.after_h - self.before_h).abs()
    }
}

/// Less than this is no movement that anybody would speak of, in hours.
const LEAST_H: f64 = 0.05;

/// The entries after `since` that moved the mean hours, in the order in which they were kept.
///
/// Each is told as it worked when it was kept; a look that was put right later is told, and so is its
/// correction. The car's age is that of its last entry throughout, so that a new year is no news.
/// Fails as [`outlook`](super::outlook) does.
pub fn movements(car: &Car, catalogue: &Catalogue, since: u64) -> Result<Vec<Movement>, OutlookError> {
    let mut counter = Counter::new(car, catalogue)?;
    let mut movements = Vec::new();
    let mut before_h = None;
    let mut trouble = None;
    car.replay(|then| {
        let Some(entry) = then.entry(then.count).filter(|_| then.count >= since) else {
            return ControlFlow::Continue(());
        };
        if before_h.is_some() && !can_move(&entry.what) {
            return ControlFlow::Continue(());
        }
        let after_h = match counter.mean_h(then) {
            Ok(after_h) => after_h,
            Err(error) => {
                trouble = Some(error);
                return ControlFlow::Break(());
            }
        };
        if let Some(before_h) = before_h.replace(after_h)
            && (after_h - before_h).abs() >= LEAST_H
        {
            let zone = then.entry(then.count).and_then(|entry| about(then, &entry.what));
            movements.push(Movement { seq: then.count, zone, before_h, after_h });
        }
        ControlFlow::Continue(())
    });
    trouble.map_or(Ok(movements), Err)
}

/// Kinds of entry that can move the hours; a correction is of the kind it corrects.
pub(super) fn can_move(what: &What) -> bool {
    match what {
        What::CarChanged(_)
        | What::Looked(_)
        | What::Opened(_)
        | What::MadeGood(_)
        | What::Asked(_)
        | What::Answered(_)
        | What::Withdrawn(_) => true,
        What::CarOpened(_)
        | What::StageReached(_)
        | What::Read(_)
        | What::Photographed(_)
        | What::Worked(_)
        | What::Measured(_)
        | What::Shelved(_)
        | What::Formulated(_)
        | What::Mixed(_)
        | What::Carded(_)
        | What::ClimateRead(_)
        | What::FilmJudged(_)
        | What::OwnerWrote(_)
        | What::Reported(_)
        | What::Newer { .. } => false,
    }
}

/// The zone an entry is about; of an answer that of its question, of a withdrawal that of what it took out.
fn about(car: &Car, what: &What) -> Option<String> {
    match what {
        What::Answered(answer) => answer.shown.question.zones.first().cloned(),
        What::Withdrawn(withdrawn) => car.entry_by_id(withdrawn.entry)?.what.zone().map(str::to_owned),
        other => other.zone().map(str::to_owned),
    }
}

/// Works out the mean again and again over one shell, which is built anew only when the details change.
struct Counter<'a> {
    catalogue: &'a Catalogue,
    details: CarDetails,
    shell: Shell<'a>,
    hidden: Hidden,
    on: jiff::civil::Date,
}

impl<'a> Counter<'a> {
    fn new(car: &Car, catalogue: &'a Catalogue) -> Result<Self, OutlookError> {
        let on = last_day(car);
        let shell = Shell::new(catalogue, &car.details, on)?;
        let hidden = Hidden::of(&shell)?;
        Ok(Self { catalogue, details: car.details.clone(), shell, hidden, on })
    }

    fn mean_h(&mut self, car: &Car) -> Result<f64, OutlookError> {
        if self.details != car.details {
            self.shell = Shell::new(self.catalogue, &car.details, self.on)?;
            self.hidden = Hidden::of(&self.shell)?;
            self.details = car.details.clone();
        }
        let facts = Facts::gather(&self.shell, car);
        let decided = decided(car);
        let chances = self.hidden.chances(&Told::of(&self.shell, &facts))?;
        let mut sum_h = 0.0;
        for ((slot, fact), chance) in self.shell.slots.iter().zip(&facts).zip(chances) {
            let hours_h = slot.hours_if_bad(fact);
            sum_h += match (fact.known, decided.get(&slot.instance.id)) {
                (Known::MadeGood, _) | (Known::FoundSound, None) => 0.0,
                (_, Some(hours)) => pert_mean(hours),
                (Known::NeedsMetal, None) => hours_h,
                (Known::NotKnown, None) => chance * hours_h,
            };
        }
        Ok(sum_h * self.catalogue.pace().shop().mean())
    }
}

fn pert_mean(hours: &Hours) -> f64 {
    (hours.low + 4.0 * hours.likely + hours.high) / 6.0
}
