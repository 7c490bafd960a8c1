//! What a car's events add up to. Every sheet and the dossier are drawn from this.

use std::collections::BTreeMap;
use std::ops::ControlFlow;

use jiff::Timestamp;

use crate::chain::Break;
use crate::details::{CarDetails, Stage};
use crate::event::{Event, Stored, decode};
use crate::ids::{CarId, EntryId, Hash};
use crate::person::By;
use crate::what::{Measured, Photograph, Quantity, Reading, Seen, Severity, What};

/// What is known of one zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum ZoneState {
    /// Nobody has looked, or nobody could see.
    #[default]
    NotLooked,
    /// Somebody looked and found nothing.
    Clear,
    /// Somebody looked and it is bad.
    Bad(Severity),
    /// It was opened and made good.
    MadeGood,
}

impl ZoneState {
    /// The words a person reads.
    pub fn words(self) -> &'static str {
        match self {
            Self::NotLooked => "not looked",
            Self::Clear => "looked: clear",
            Self::Bad(Severity::Pitted) => "looked: bad, pitted",
            Self::Bad(Severity::Thin) => "looked: bad, thin",
            Self::Bad(Severity::Holed) => "looked: bad, holed",
            Self::MadeGood => "opened and made good",
        }
    }
}

/// One entry of the record, with what later entries did to it.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its place in the record, from 1.
    pub seq: u64,
    /// When it was kept.
    pub at: Timestamp,
    /// When it was typed, if earlier, on a device without signal.
    pub noted: Option<Timestamp>,
    /// Who wrote it.
    pub by: By,
    /// Its identifier.
    pub id: EntryId,
    /// The hash of its stored text.
    pub hash: Hash,
    /// What happened.
    pub what: What,
    /// The place of the entry it corrects.
    pub corrects: Option<u64>,
    /// The place of the entry that stands instead of it, or that took it out.
    pub superseded_by: Option<u64>,
    /// Where it counts in the order of events: a correction counts where the first version stood.
    rank: u64,
}

impl Entry {
    /// The place in the record of its first version: its own, unless it is a correction.
    pub fn first_version(&self) -> u64 {
        self.rank
    }

    /// When it was noted: on the device if it waited there, else when it was kept.
    pub fn when(&self) -> Timestamp {
        self.noted.unwrap_or(self.at)
    }

    /// Whether it still counts.
    pub fn counts(&self) -> bool {
        self.superseded_by.is_none()
    }
}

/// One zone of one car.
#[derive(Debug, Clone, Default)]
pub struct Zone {
    /// What is known of it.
    pub state: ZoneState,
    /// Whether it has been opened.
    pub opened: bool,
    /// Places in the record of everything written about it, superseded entries included.
    pub entries: Vec<u64>,
}

impl Zone {
    fn learn(&mut self, what: &What) {
        match what {
            What::Looked(look) => match look.seen {
                Seen::NotLooked => {}
                Seen::Clear => self.state = ZoneState::Clear,
                Seen::Bad(severity) => self.state = ZoneState::Bad(severity),
            },
            What::Opened(found) => {
                self.opened = true;
                self.state = found.found.map_or(ZoneState::Clear, ZoneState::Bad);
            }
            What::MadeGood(_) => {
                self.opened = true;
                self.state = ZoneState::MadeGood;
            }
            _ => {}
        }
    }
}

/// One car, folded from its record up to [`Car::count`].
#[derive(Debug, Clone)]
pub struct Car {
    /// The car.
    pub id: CarId,
    /// What is known of it besides the shell.
    pub details: CarDetails,
    /// The stage the job has reached.
    pub stage: Stage,
    /// How many events its record holds.
    pub count: u64,
    /// The hash of the last one.
    pub head: Hash,
    entries: Vec<Entry>,
    places: BTreeMap<EntryId, u64>,
    zones: BTreeMap<String, Zone>,
}

impl Car {
    /// Folds a record from its first event.
    ///
    /// # Errors
    /// Where the chain breaks or an event cannot be read, and when it does not begin with a car.
    pub fn fold<'a>(events: impl IntoIterator<Item = &'a Stored>) -> Result<Self, Break> {
        let mut events = events.into_iter();
        let first = events.next().ok_or(Break { at: 0, why: "the record is empty".into() })?;
        let event = read(first, 1, Hash::NONE)?;
        let What::CarOpened(details) = &event.what else {
            return Err(Break { at: 1, why: "a record begins with the car being opened; this one does not".into() });
        };
        let mut car = Self::blank(event.car, details.clone());
        car.push(event, first.hash);
        for stored in events {
            car.take(stored)?;
        }
        Ok(car)
    }

    fn blank(id: CarId, details: CarDetails) -> Self {
        Self {
            id,
            details,
            stage: Stage::Intake,
            count: 0,
            head: Hash::NONE,
            entries: Vec::new(),
            places: BTreeMap::new(),
            zones: BTreeMap::new(),
        }
    }

    /// Lets the car come about again, entry by entry, and shows it to `after` as it stood after each one,
    /// until that says stop.
    pub fn replay(&self, mut after: impl FnMut(&Self) -> ControlFlow<()>) {
        let mut car = Self::blank(self.id, self.details.clone());
        for entry in &self.entries {
            let event = Event {
                car: self.id,
                seq: entry.seq,
                at: entry.at,
                noted: entry.noted,
                by: entry.by.clone(),
                entry: entry.id,
                corrects: entry.corrects.and_then(|seq| self.entry(seq)).map(|old| old.id),
                prev: car.head,
                what: entry.what.clone(),
            };
            car.push(event, entry.hash);
            if after(&car).is_break() {
                return;
            }
        }
    }

    /// The car as it stood when its record held `count` entries (at least one, at most all).
    pub fn at(&self, count: u64) -> Self {
        let mut then = None;
        self.replay(|car| {
            if car.count < count.clamp(1, self.count) {
                return ControlFlow::Continue(());
            }
            then = Some(car.clone());
            ControlFlow::Break(())
        });
        then.unwrap_or_else(|| self.clone())
    }

    /// Adds the next event.
    ///
    /// # Errors
    /// When it does not follow, was altered, or cannot be read; the car is unchanged then.
    pub fn take(&mut self, stored: &Stored) -> Result<(), Break> {
        let event = read(stored, self.count + 1, self.head)?;
        if event.car != self.id {
            return Err(Break { at: stored.seq, why: "it belongs to another car".into() });
        }
        if self.places.contains_key(&event.entry) {
            return Err(Break { at: stored.seq, why: "the same entry was kept before".into() });
        }
        self.push(event, stored.hash);
        Ok(())
    }

    fn push(&mut self, event: Event, hash: Hash) {
        let seq = event.seq;
        self.count = seq;
        self.head = hash;
        let place = |id: &EntryId| self.places.get(id).copied();
        let corrects = event.corrects.as_ref().and_then(place);
        let withdraws = match &event.what {
            What::Withdrawn(withdrawn) => place(&withdrawn.entry),
            _ => None,
        };
        let rank = corrects.and_then(|old| self.entry(old)).map_or(seq, |old| old.rank);
        self.places.insert(event.entry, seq);
        self.entries.push(Entry {
            seq,
            at: event.at,
            noted: event.noted,
            by: event.by,
            id: event.entry,
            hash,
            what: event.what,
            corrects,
            superseded_by: None,
            rank,
        });
        let Some(entry) = self.entries.last() else { return };
        if let Some(id) = entry.what.zone() {
            let zone = match self.zones.get_mut(id) {
                Some(zone) => zone,
                None => self.zones.entry(id.to_owned()).or_default(),
            };
            zone.entries.push(seq);
            // Nothing ranks after a new entry, so what it says is simply the latest; see below for a correction.
            zone.learn(&entry.what);
        }
        learn(&mut self.details, &mut self.stage, &entry.what);
        for old in [corrects, withdraws].into_iter().flatten() {
            self.supersede(old, seq);
        }
    }

    /// Takes an entry out of what counts, and works out again what it and its successor are about.
    fn supersede(&mut self, old: u64, by: u64) {
        let Some(entry) = index(old).and_then(|at| self.entries.get_mut(at)) else { return };
        entry.superseded_by = Some(by);
        let zones: Vec<String> =
            [old, by].into_iter().filter_map(|seq| Some(self.entry(seq)?.what.zone()?.to_owned())).collect();
        for id in zones {
            self.refold(&id);
        }
        if [old, by].into_iter().filter_map(|seq| self.entry(seq)).any(|e| about_the_car(&e.what)) {
            self.refold_car();
        }
    }

    /// Works a zone's state out again from the entries that count, in the order in which they count.
    fn refold(&mut self, id: &str) {
        let Some(zone) = self.zones.get(id) else { return };
        let mut again = Zone::default();
        for entry in in_order(zone.entries.iter().filter_map(|seq| self.entry(*seq))) {
            again.learn(&entry.what);
        }
        if let Some(zone) = self.zones.get_mut(id) {
            zone.state = again.state;
            zone.opened = again.opened;
        }
    }

    /// Works details and stage out again. A record always begins with the car being opened, so that stands
    /// first even if it was itself taken out.
    fn refold_car(&mut self) {
        let (mut details, mut stage) = (self.details.clone(), Stage::Intake);
        if let Some(first) = self.entries.first() {
            learn(&mut details, &mut stage, &first.what);
        }
        for entry in in_order(self.entries.iter().filter(|e| about_the_car(&e.what))) {
            learn(&mut details, &mut stage, &entry.what);
        }
        self.details = details;
        self.stage = stage;
    }

    /// Every entry, in order, superseded ones included.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The entry at this place, from 1.
    pub fn entry(&self, seq: u64) -> Option<&Entry> {
        self.entries.get(index(seq)?)
    }

    /// The entry with this identifier.
    pub fn entry_by_id(&self, id: EntryId) -> Option<&Entry> {
        self.entry(*self.places.get(&id)?)
    }

    /// The entry that stands for the one with this identifier: itself, or its last correction; `None` when it
    /// was taken out or is not in this record.
    pub fn standing(&self, id: EntryId) -> Option<&Entry> {
        let mut entry = self.entry_by_id(id)?;
        // What supersedes comes later, so this ends.
        while let Some(by) = entry.superseded_by {
            entry = self.entry(by).filter(|later| later.corrects == Some(entry.seq))?;
        }
        Some(entry)
    }

    /// The entries that count and hold what `pick` picks, a correction where its first version stood.
    pub fn told<'a, T>(&'a self, pick: impl Fn(&'a What) -> Option<T>) -> Vec<(&'a Entry, T)> {
        let mut told: Vec<(&Entry, T)> = self.counting().filter_map(|e| Some((e, pick(&e.what)?))).collect();
        told.sort_by_key(|(e, _)| (e.rank, e.seq));
        told
    }

    /// What is known of a zone instance; of one that nobody wrote about, nothing.
    pub fn zone(&self, instance: &str) -> Option<&Zone> {
        self.zones.get(instance)
    }

    /// The state of a zone instance.
    pub fn state(&self, instance: &str) -> ZoneState {
        self.zones.get(instance).map_or(ZoneState::NotLooked, |zone| zone.state)
    }

    /// The state of every zone that somebody wrote about.
    pub fn states(&self) -> impl Iterator<Item = (&str, ZoneState)> {
        self.zones.iter().map(|(id, zone)| (id.as_str(), zone.state))
    }

    /// Everything written about a zone, in order, superseded entries included.
    pub fn about<'a>(&'a self, instance: &str) -> impl DoubleEndedIterator<Item = &'a Entry> {
        self.zones.get(instance).into_iter().flat_map(|zone| &zone.entries).filter_map(|seq| self.entry(*seq))
    }

    /// The entries that can set a zone's state and came after `base`, the latest first.
    pub fn changed_since(&self, instance: &str, base: u64) -> impl Iterator<Item = &Entry> {
        self.about(instance).rev().take_while(move |e| e.seq > base).filter(|e| e.what.sets_state())
    }

    /// The entries that still count.
    pub fn counting(&self) -> impl DoubleEndedIterator<Item = &Entry> {
        self.entries.iter().filter(|e| e.counts())
    }

    /// Photographs that still count, numbered from 1 in the order they came.
    pub fn photographs(&self) -> impl Iterator<Item = (&Entry, &Photograph)> {
        self.counting().filter_map(|e| match &e.what {
            What::Photographed(photo) => Some((e, photo)),
            _ => None,
        })
    }

    /// Readings that still count.
    pub fn readings(&self) -> impl Iterator<Item = (&Entry, &Reading)> {
        self.counting().filter_map(|e| match &e.what {
            What::Read(reading) => Some((e, reading)),
            _ => None,
        })
    }

    /// Film readings of a zone that still count, in um.
    pub fn film_um(&self, instance: &str) -> Vec<f64> {
        self.readings()
            .filter(|(_, r)| r.zone == instance && r.quantity == Quantity::Film)
            .map(|(_, r)| r.value)
            .collect()
    }

    /// Paint measurements that still count.
    pub fn measurements(&self) -> impl Iterator<Item = (&Entry, &Measured)> {
        self.counting().filter_map(|e| match &e.what {
            What::Measured(measured) => Some((e, measured)),
            _ => None,
        })
    }

    /// The first entry written by a newer program, if there is one: this program then reads and does not write.
    pub fn newer(&self) -> Option<&Entry> {
        self.entries.iter().find(|e| matches!(e.what, What::Newer { .. }))
    }
}

/// What an entry says about the car as a whole.
fn learn(details: &mut CarDetails, stage: &mut Stage, what: &What) {
    match what {
        What::CarOpened(told) | What::CarChanged(told) => *details = told.clone(),
        What::StageReached(reached) => *stage = reached.stage,
        _ => {}
    }
}

fn about_the_car(what: &What) -> bool {
    matches!(what, What::CarOpened(_) | What::CarChanged(_) | What::StageReached(_))
}

/// The entries that count, a correction where its first version stood.
fn in_order<'a>(entries: impl Iterator<Item = &'a Entry>) -> Vec<&'a Entry> {
    let mut counting: Vec<&Entry> = entries.filter(|e| e.counts()).collect();
    counting.sort_by_key(|e| (e.rank, e.seq));
    counting
}

fn index(seq: u64) -> Option<usize> {
    usize::try_from(seq.checked_sub(1)?).ok()
}

fn read(stored: &Stored, seq: u64, prev: Hash) -> Result<Event, Break> {
    let refuse = |why: &str| Break { at: stored.seq, why: why.into() };
    if stored.seq != seq {
        return Err(Break { at: seq, why: format!("entry {} stands where entry {seq} should", stored.seq) });
    }
    if Hash::of(stored.body.as_bytes()) != stored.hash {
        return Err(refuse("the text was altered: its hash is not the one kept beside it"));
    }
    let event = decode(stored).map_err(|e| Break { at: e.seq, why: e.why })?;
    if event.prev != prev {
        return Err(refuse("it does not follow the entry before it: one was altered, added or taken out"));
    }
    Ok(event)
}
