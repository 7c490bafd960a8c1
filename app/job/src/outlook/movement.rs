//! What moved the hours, entry by entry.

use std::collections::BTreeMap;
use std::ops::ControlFlow;

use super::evidence::Facts;
use super::range::decided;
use super::replayed::Replayed;
use super::shell::Shell;
use super::{Known, OutlookError};
use crate::car::Car;
use crate::catalogue::Catalogue;
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
    let mut shell = Replayed::new(car, catalogue)?;
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
        let after_h = match shell.at(then) {
            Ok((facts, chances)) => mean_h(&shell.shell, &facts, &chances, &decided(then)),
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
        | What::Briefed(_)
        | What::Formulated(_)
        | What::Mixed(_)
        | What::Carded(_)
        | What::ColourServes(_)
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

/// Mean metal hours still to do at these chances, with the shop's own factor.
pub(super) fn mean_h(
    shell: &Shell<'_>,
    facts: &[Facts<'_>],
    chances: &[f64],
    decided: &BTreeMap<String, Hours>,
) -> f64 {
    let mut sum_h = 0.0;
    for ((slot, fact), chance) in shell.slots.iter().zip(facts).zip(chances) {
        let hours_h = slot.hours_if_bad(fact);
        sum_h += match (fact.known, decided.get(&slot.instance.id)) {
            (Known::MadeGood, _) | (Known::FoundSound, None) => 0.0,
            (_, Some(hours)) => pert_mean(hours),
            (Known::NeedsMetal, None) => hours_h,
            (Known::NotKnown, None) => chance * hours_h,
        };
    }
    sum_h * shell.catalogue.pace().shop().mean()
}

fn pert_mean(hours: &Hours) -> f64 {
    (hours.low + 4.0 * hours.likely + hours.high) / 6.0
}
