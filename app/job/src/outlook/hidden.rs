//! The car's zones as the engine takes them: what they lean on, what was seen of them, and what it makes of their
//! chances.

use std::collections::BTreeMap;

use forecast::shell::{Cause, Fact, Lean, MOST_FACTOR, MOST_LEANS, Place, Room, Seen, Shell as Woven};

use super::evidence::Facts;
use super::odds::{self, Weighed, Why};
use super::shell::{Shell, Slot};
use super::{Known, OutlookError};
use crate::body::Side;
use crate::catalogue::Catalogue;

/// How often one wet path is as wet as the whole shell for that reason. Common practice, no source.
const PATH_FOLLOWS_SHELL: f64 = 0.5;
/// How often a path on one side is as wet as that path on the whole car for that reason. Common practice, no source.
const SIDE_FOLLOWS_PATH: f64 = 0.7;
/// A zone on two paths cannot lean on each as on one alone, and a rare one says more of a common one than the other way
/// round, so that the catalogue's factor would come out too small on the whole; this power of it comes out about.
const PATH_SHARE: f64 = 1.25;
/// How much of what a rotten zone says about the one opposite is its own kind's doing; the rest comes through the
/// wetness that both sides share. Fitted so that the catalogue's factor comes out about.
const OWN_KIND: f64 = 0.5;
/// Wetter than usual as often as drier.
const HALF: f64 = 0.5;
/// Before anything was seen: no chance is nearer to 0 or 1 than the engine takes.
const END: f64 = forecast::shell::CHANCE_END;

/// A car's zones woven together, with room for questions.
pub(super) struct Hidden {
    woven: Woven,
    room: Room,
}

/// Something that was seen, by where it stands in what the engine is told.
pub(super) enum Piece<'a> {
    /// A place known to be bad or sound, by its slot, and the entry that says so.
    Known { slot: usize, bad: bool, entry: u64 },
    /// A fact, and what it is for each slot that it bears on.
    Fact(Vec<(usize, Weighed<'a>)>),
}

/// What was seen of a shell, for the engine and in words.
pub(super) struct Told<'a> {
    pub(super) seen: Seen,
    /// Known places first, then facts, as the engine counts them.
    pub(super) pieces: Vec<Piece<'a>>,
}

impl Hidden {
    /// Weaves the zones of a shell together, each with the chance that the car's age, climate and history leave it.
    pub(super) fn of(shell: &Shell<'_>) -> Result<Self, OutlookError> {
        Self::coupled(shell, 1.0)
    }

    /// The same with the coupling taken down, 0..=1.
    pub(super) fn coupled(shell: &Shell<'_>, coupling: f64) -> Result<Self, OutlookError> {
        let mut causes = Causes::of(shell.catalogue);
        let places: Vec<Place> = shell
            .slots
            .iter()
            .enumerate()
            .map(|(place, slot)| Place { chance: before(slot), leans: causes.leans(place, slot) })
            .collect();
        let woven = Woven::new(&causes.all, &places, coupling)?;
        let room = woven.room();
        Ok(Self { woven, room })
    }

    /// The chance of every slot, between 0 and 1.
    pub(super) fn chances(&mut self, told: &Told<'_>) -> Result<Vec<f64>, OutlookError> {
        Ok(self.woven.chances(&told.seen, &mut self.room)?)
    }

    /// The same, for each piece as if just that had not been seen.
    pub(super) fn without_each(&mut self, told: &Told<'_>) -> Result<Vec<Vec<f64>>, OutlookError> {
        Ok(self.woven.without_each(&told.seen, &mut self.room)?)
    }

    /// Draws which slots are bad, all together; the slots of one draw side by side.
    pub(super) fn draw(&mut self, told: &Told<'_>, draws: usize, seed: u64) -> Result<Vec<bool>, OutlookError> {
        Ok(self.woven.draw(&told.seen, draws, seed, &mut self.room)?)
    }

    /// The engine and its room, for the value of looks.
    pub(super) fn engine(&mut self) -> (&Woven, &mut Room) {
        (&self.woven, &mut self.room)
    }

    /// Width and bytes of the network, for those who measure.
    #[cfg(test)]
    pub(super) fn size(&self) -> (usize, usize, usize) {
        let tree = self.woven.tree();
        (tree.width(), tree.entries(), tree.bytes())
    }
}

/// The chance of a slot before anything was seen on it.
fn before(slot: &Slot<'_>) -> f64 {
    let base = slot.zone.base_p;
    let odds = base / (1.0 - base) * slot.factors.iter().map(|factor| factor.ratio).product::<f64>();
    (odds / (1.0 + odds)).clamp(END, 1.0 - END)
}

/// The causes of a shell: how wet the whole of it was kept, each wet path of it, each side of each path, and what is
/// common to a zone and the one opposite.
struct Causes {
    all: Vec<Cause>,
    /// By zone, the causes of its paths: on the whole car, left, right.
    paths: BTreeMap<String, Vec<[usize; 3]>>,
    /// By pair of opposite slots, the lower first.
    pairs: BTreeMap<(usize, usize), usize>,
}

impl Causes {
    fn of(catalogue: &Catalogue) -> Self {
        let mut all = vec![Cause { wider: None, follows: 0.0, on: HALF }];
        let mut paths: BTreeMap<String, Vec<[usize; 3]>> = BTreeMap::new();
        for path in catalogue.paths() {
            let whole = all.len();
            all.push(Cause { wider: Some(0), follows: PATH_FOLLOWS_SHELL, on: HALF });
            for _side in 0..2 {
                all.push(Cause { wider: Some(whole), follows: SIDE_FOLLOWS_PATH, on: HALF });
            }
            for zone in &path.zones {
                paths.entry(zone.clone()).or_default().push([whole, whole + 1, whole + 2]);
            }
        }
        Self { all, paths, pairs: BTreeMap::new() }
    }

    fn leans(&mut self, place: usize, slot: &Slot<'_>) -> Vec<Lean> {
        let mut leans = Vec::new();
        if let Some(row) = slot.neighbour_rotten {
            let side = match slot.instance.side {
                Side::Centre => 0,
                Side::Left => 1,
                Side::Right => 2,
            };
            let factor = lean(row.odds_multiplier, PATH_SHARE);
            let paths = self.paths.get(&slot.zone.id).into_iter().flatten();
            leans.extend(paths.map(|causes| Lean { on: causes[side], factor }));
        }
        if let (Some(row), Some(opposite)) = (slot.opposite_rotten, slot.opposite) {
            let pair = (place.min(opposite), place.max(opposite));
            let on = *self.pairs.entry(pair).or_insert_with(|| {
                self.all.push(Cause { wider: None, follows: 0.0, on: HALF });
                self.all.len() - 1
            });
            leans.push(Lean { on, factor: lean(row.odds_multiplier, OWN_KIND) });
        }
        leans.truncate(MOST_LEANS);
        leans
    }
}

/// A power of one of the catalogue's factors, as the engine takes it.
fn lean(factor: f64, power: f64) -> f64 {
    base::math::exp(power * base::math::ln(factor.clamp(1.0, MOST_FACTOR))).min(MOST_FACTOR)
}

impl<'a> Told<'a> {
    /// What the record says of each slot, but for the slots' circumstances, which are in their chances already.
    pub(super) fn of(shell: &Shell<'a>, facts: &[Facts<'a>]) -> Self {
        let mut seen = Seen::default();
        let mut pieces = Vec::new();
        for (slot, fact) in facts.iter().enumerate() {
            // What was found rotten still tells about the rest once it has been made good.
            let known = match (fact.rotten, fact.known) {
                (Some(entry), _) => Some((true, entry)),
                (None, Known::FoundSound) => fact.known_by.map(|entry| (false, entry)),
                (None, _) => None,
            };
            if let Some((bad, entry)) = known {
                seen.known.push((slot, bad));
                pieces.push(Piece::Known { slot, bad, entry });
            }
        }
        // Rows of one evidence group that were answered in one entry are one fact, however many slots they bear on.
        let mut groups: BTreeMap<(&str, u64), Vec<(usize, Weighed<'a>)>> = BTreeMap::new();
        let mut alone = Vec::new();
        for slot in 0..shell.slots.len() {
            for weighed in odds::seen_there(shell, facts, slot) {
                match &weighed.why {
                    Why::Said(said) => {
                        groups.entry((&said.clue.evidence_group, said.entry)).or_default().push((slot, weighed));
                    }
                    _ => alone.push(vec![(slot, weighed)]),
                }
            }
        }
        for bears_on in groups.into_values().chain(alone) {
            let ratios = bears_on.iter().map(|(slot, weighed)| (*slot, weighed.ratio)).collect();
            seen.facts.push(Fact { bears_on: ratios });
            pieces.push(Piece::Fact(bears_on));
        }
        Self { seen, pieces }
    }
}
