//! The zones of one car with everything about them that no entry changes.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use schedule::{Shape, Spread};

use super::OutlookError;
use super::circumstances::{Circumstances, Factor, acting};
use super::evidence::Facts;
use crate::body::{Instance, Side};
use crate::catalogue::{self, Catalogue, Clue, Found, Modifier, Zone};
use crate::details::{CarDetails, Fitted};
use crate::validate::{instances, place_of};

/// One zone instance and what stands about it in the catalogue.
pub(super) struct Slot<'a> {
    pub(super) instance: &'static Instance,
    pub(super) zone: &'a Zone,
    /// What age, climate and history do to it.
    pub(super) factors: Vec<Factor>,
    /// Slots of each neighbouring zone that lie on the same side.
    pub(super) neighbours: Vec<Vec<usize>>,
    /// The same place on the other side.
    pub(super) opposite: Option<usize>,
    pub(super) neighbour_rotten: Option<&'a Modifier>,
    pub(super) neighbour_sound: Option<&'a Modifier>,
    pub(super) opposite_rotten: Option<&'a Modifier>,
    /// Mean hours to open it.
    open_h: f64,
    /// Mean hours to repair it, by what was found.
    repair_h: BTreeMap<Found, f64>,
}

impl Slot<'_> {
    /// Mean hours to open it, unless it is open, and to repair it.
    pub(super) fn hours_if_bad(&self, facts: &Facts<'_>) -> f64 {
        self.hours_to_open(facts) + self.repair_h.get(&facts.found).copied().unwrap_or_default()
    }

    /// Mean hours to open it; none where it is open.
    pub(super) fn hours_to_open(&self, facts: &Facts<'_>) -> f64 {
        if facts.opened { 0.0 } else { self.open_h }
    }

    /// Whether a zone on `side` can be next to this one or say something about it.
    fn shares_side(&self, side: Side) -> bool {
        self.instance.side.meets(side)
    }
}

/// The zones of one car, with the ways from one to another.
pub(super) struct Shell<'a> {
    pub(super) catalogue: &'a Catalogue,
    pub(super) circumstances: Circumstances,
    pub(super) slots: Vec<Slot<'a>>,
    pub(super) unlisted: Vec<&'static Instance>,
    fitted: BTreeSet<Fitted>,
    by_instance: BTreeMap<&'static str, usize>,
    by_zone: BTreeMap<&'static str, Vec<usize>>,
    rows: BTreeMap<(&'a str, &'a str), Vec<&'a Clue>>,
}

impl<'a> Shell<'a> {
    pub(super) fn new(catalogue: &'a Catalogue, details: &CarDetails, on: Date) -> Result<Self, OutlookError> {
        let mut shell = Self {
            catalogue,
            circumstances: Circumstances::of(details, on),
            slots: Vec::new(),
            unlisted: Vec::new(),
            fitted: details.fitted.clone(),
            by_instance: BTreeMap::new(),
            by_zone: BTreeMap::new(),
            rows: BTreeMap::new(),
        };
        for clue in catalogue.clues() {
            shell.rows.entry((&clue.evidence_group, &clue.clue)).or_default().push(clue);
        }
        for instance in instances(details) {
            let Some(zone) = catalogue.zone(&instance.zone) else {
                shell.unlisted.push(instance);
                continue;
            };
            let place = shell.slots.len();
            shell.by_instance.insert(&instance.id, place);
            shell.by_zone.entry(&instance.zone).or_default().push(place);
            let slot = slot(catalogue, &shell.circumstances, instance, zone)?;
            shell.slots.push(slot);
        }
        shell.join();
        Ok(shell)
    }

    /// Finds for every slot its neighbours and its opposite.
    fn join(&mut self) {
        let ways: Vec<(Vec<Vec<usize>>, Option<usize>)> = self
            .slots
            .iter()
            .map(|slot| {
                let neighbours = slot.zone.neighbours.iter().map(|id| self.on_side(id, slot)).collect();
                let opposite = other_side(&slot.instance.id).and_then(|id| self.find(&id));
                (neighbours, opposite)
            })
            .collect();
        for (slot, (neighbours, opposite)) in self.slots.iter_mut().zip(ways) {
            slot.neighbours = neighbours;
            slot.opposite = opposite;
        }
    }

    /// Whether the car has what this needs; nothing is needed for `None`.
    pub(super) fn has(&self, needs: Option<Fitted>) -> bool {
        needs.is_none_or(|needs| self.fitted.contains(&needs))
    }

    /// The slots of a zone.
    pub(super) fn of_zone(&self, zone_id: &str) -> impl Iterator<Item = (usize, &Slot<'a>)> {
        self.by_zone.get(zone_id).into_iter().flatten().filter_map(|&place| Some((place, self.slots.get(place)?)))
    }

    fn on_side(&self, zone_id: &str, of: &Slot<'_>) -> Vec<usize> {
        self.of_zone(zone_id).filter(|(_, slot)| of.shares_side(slot.instance.side)).map(|(place, _)| place).collect()
    }

    /// The slot of a zone instance.
    pub(super) fn find(&self, instance: &str) -> Option<usize> {
        self.by_instance.get(instance).copied()
    }

    /// Every row of the observation that this clue names.
    pub(super) fn rows_of(&self, clue_id: &str) -> &[&'a Clue] {
        let of = |clue: &'a Clue| self.rows.get(&(clue.evidence_group.as_str(), clue.clue.as_str()));
        self.catalogue.clue(clue_id).and_then(of).map(Vec::as_slice).unwrap_or_default()
    }

    /// The instances of a zone that a look from `from` speaks about: the one in the very same place if there
    /// is one, else those on its side; a look on the centre line speaks about both sides.
    pub(super) fn targets(&self, zone_id: &str, from: &Instance) -> Vec<usize> {
        let from_place = place_of(&from.id);
        let near = |(_, slot): &(usize, &Slot<'_>)| slot.shares_side(from.side);
        let same = |slot: &Slot<'_>| place_of(&slot.instance.id) == from_place;
        let found: Vec<(usize, &Slot<'_>)> = self.of_zone(zone_id).filter(near).collect();
        let any_same = found.iter().any(|(_, slot)| same(slot));
        found.into_iter().filter(|(_, slot)| !any_same || same(slot)).map(|(place, _)| place).collect()
    }
}

fn slot<'a>(
    catalogue: &'a Catalogue,
    circumstances: &Circumstances,
    instance: &'static Instance,
    zone: &'a Zone,
) -> Result<Slot<'a>, OutlookError> {
    let acting = acting(catalogue, &zone.id, &zone.profile);
    let row = |factor: &str| acting.iter().find(|m| m.factor == factor).copied();
    let mean = |hours| spread(&zone.id, hours).map(|hours| hours.mean(Shape::Pert));
    let kinds = [mean(zone.hours.patch)?, mean(zone.hours.section)?, mean(zone.hours.full)?];
    let repair_h = Found::ALL
        .iter()
        .filter_map(|found| Some((*found, catalogue.repair(*found)?)))
        .map(|(found, mix)| (found, mix.shares().iter().zip(kinds).map(|(share, hours)| share * hours).sum()))
        .collect();
    Ok(Slot {
        instance,
        zone,
        factors: circumstances.factors(&acting),
        neighbours: Vec::new(),
        opposite: None,
        neighbour_rotten: row("neighbour_zone_confirmed_rotten"),
        neighbour_sound: row("neighbour_opened_and_sound"),
        opposite_rotten: row("opposite_side_confirmed_rotten"),
        open_h: mean(zone.hours.open)?,
        repair_h,
    })
}

/// Hours of the catalogue as the engine takes them.
pub(super) fn spread(zone: &str, hours: catalogue::Spread) -> Result<Spread, OutlookError> {
    Spread::new(hours.low, hours.likely, hours.high).map_err(|why| OutlookError::Hours { zone: zone.to_owned(), why })
}

/// The id of the same place on the other side: `Z06.RF` of `Z06.LF`.
fn other_side(id: &str) -> Option<String> {
    let (zone, place) = id.split_once('.')?;
    let other = match place.strip_prefix('L') {
        Some(rest) => format!("R{rest}"),
        None => format!("L{}", place.strip_prefix('R')?),
    };
    Some(format!("{zone}.{other}"))
}
