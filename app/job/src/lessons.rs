//! What a car's record teaches: every zone whose truth became known, what had been foretold of it, and what the
//! clues had said.
//!
//! A zone that was opened and found thin, holed or sound teaches; so does one that was seen thin or holed without
//! being opened, since seen is seen, unless a later look there says otherwise. Opened and pitted teaches nothing:
//! whether such a zone takes metal is decided at the bench and cannot be told from the record. Nor does what is
//! opened after it was made good: that is new metal.

mod score;
mod truth;

use std::collections::BTreeMap;
use std::ops::ControlFlow;

use crate::car::Car;
use crate::catalogue::Catalogue;
use crate::ids::CarId;
use crate::outlook::{OutlookError, Replayed};
use crate::validate::zone_of;
use truth::{Truth, truths};

pub use score::{Scores, scores};

/// One zone of one car whose truth became known.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// The car.
    pub car: CarId,
    /// Whether that car exists nowhere.
    pub invented: bool,
    /// The entry that says what was found.
    pub entry: u64,
    /// The zone, such as `Z01`.
    pub zone_id: String,
    /// The zone instance, such as `Z01.L`.
    pub instance: String,
    /// The chance, 0 to 1, that it needs metal, as the starting guesses had it just before it became known.
    pub foretold: f64,
    /// Whether it was thin or holed.
    pub bad: bool,
    /// The clue rows that aim at it and were looked for before, and whether each was there.
    pub clues: Vec<(String, bool)>,
}

/// What a car's record teaches, in the order in which its zones became known.
///
/// `catalogue` is the one without anything learned, so that what was foretold does not change with what the shop
/// learns later. Fails as [`outlook`](crate::outlook::outlook) does.
pub fn lessons(car: &Car, catalogue: &Catalogue) -> Result<Vec<Lesson>, OutlookError> {
    let mut known: Vec<(String, Truth)> = truths(car, catalogue).into_iter().collect();
    known.sort_by_key(|(_, truth)| (truth.first, truth.entry));
    let foretold = foretold(car, catalogue, &known)?;
    let lesson = |(instance, truth): (String, Truth)| {
        Some(Lesson {
            car: car.id,
            invented: car.details.invented,
            entry: truth.entry,
            zone_id: zone_of(&instance).to_owned(),
            foretold: *foretold.get(&instance)?,
            bad: truth.bad?,
            clues: truth.clues.into_iter().collect(),
            instance,
        })
    };
    Ok(known.into_iter().filter_map(lesson).collect())
}

/// The chance of each zone as it stood before the entry that first told its truth. The record comes about again
/// once for all of them.
fn foretold(
    car: &Car,
    catalogue: &Catalogue,
    known: &[(String, Truth)],
) -> Result<BTreeMap<String, f64>, OutlookError> {
    // The first entry opens the car, so there is one before every other.
    let mut wanted: BTreeMap<u64, Vec<&str>> = BTreeMap::new();
    for (instance, truth) in known.iter().filter(|(_, truth)| truth.bad.is_some()) {
        wanted.entry(truth.first.saturating_sub(1)).or_default().push(instance);
    }
    let Some(last) = wanted.keys().next_back().copied() else { return Ok(BTreeMap::new()) };
    let mut shell = Replayed::new(car, catalogue)?;
    let mut chances = BTreeMap::new();
    let mut trouble = None;
    car.replay(|then| {
        if let Some(instances) = wanted.get(&then.count) {
            match shell.chances(then) {
                Ok(all) => {
                    let asked = all.into_iter().filter(|(id, _)| instances.contains(id));
                    chances.extend(asked.map(|(id, p)| (id.to_owned(), p)));
                }
                Err(error) => trouble = Some(error),
            }
        }
        if trouble.is_some() || then.count >= last { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    });
    trouble.map_or(Ok(chances), Err)
}

/// The lessons about one zone: which cars taught it, and by which entries.
pub fn taught_by<'a>(lessons: &'a [Lesson], zone_id: &str) -> Vec<&'a Lesson> {
    lessons.iter().filter(|lesson| lesson.zone_id == zone_id).collect()
}
