//! What a car's events add up to. Every sheet and the dossier are drawn from this.

use std::collections::BTreeMap;

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
        let mut car = Self {
            id: event.car,
            details: details.clone(),
            stage: Stage::Intake,
            count: 0,
            head: Hash::NONE,
            entries: Vec::new(),
            places: BTreeMap::new(),
            zones: BTreeMap::new(),
        };
        car.push(event, first.hash);
        for stored in events {
            car.take(stored)?;
        }
        Ok(car)
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
        self.push(event, stored.hash);
        Ok(())
    }

    fn push(&mut self, event: Event, hash: Hash) {
        self.count = event.seq;
        self.head = hash;
        let corrects = event.corrects.and_then(|id| self.places.get(&id).copied());
        let rank = corrects.and_then(|seq| self.entry(seq)).map_or(event.seq, |old| old.rank);
        let mut touched: Vec<String> = event.what.zone().map(str::to_owned).into_iter().collect();
        if let What::Withdrawn(withdrawn) = &event.what
            && let Some(seq) = self.places.get(&withdrawn.entry).copied()
        {
            touched.extend(self.supersede(seq, event.seq));
        }
        if let Some(seq) = corrects {
            touched.extend(self.supersede(seq, event.seq));
        }
        if let Some(zone) = event.what.zone() {
            self.zones.entry(zone.to_owned()).or_default().entries.push(event.seq);
        }
        match &event.what {
            What::CarOpened(details) | What::CarChanged(details) => self.details = details.clone(),
            What::StageReached(reached) => self.stage = reached.stage,
            _ => {}
        }
        self.places.insert(event.entry, event.seq);
        self.entries.push(Entry {
            seq: event.seq,
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
        for zone in touched {
            self.refold(&zone);
        }
    }

    /// Marks an entry as no longer counting; returns the zone it was about.
    fn supersede(&mut self, seq: u64, by: u64) -> Option<String> {
        let entry = self.entries.get_mut(index(seq)?)?;
        entry.superseded_by = Some(by);
        entry.what.zone().map(str::to_owned)
    }

    /// Works a zone's state out again from the entries that count, in the order in which they count.
    fn refold(&mut self, id: &str) {
        let Some(zone) = self.zones.get(id) else { return };
        let mut counting: Vec<&Entry> =
            zone.entries.iter().filter_map(|seq| self.entry(*seq)).filter(|e| e.counts()).collect();
        counting.sort_by_key(|e| (e.rank, e.seq));
        let (mut state, mut opened) = (ZoneState::NotLooked, false);
        for entry in counting {
            match &entry.what {
                What::Looked(look) => match look.seen {
                    Seen::NotLooked => {}
                    Seen::Clear => state = ZoneState::Clear,
                    Seen::Bad(severity) => state = ZoneState::Bad(severity),
                },
                What::Opened(found) => {
                    opened = true;
                    state = found.found.map_or(ZoneState::Clear, ZoneState::Bad);
                }
                What::MadeGood(_) => {
                    opened = true;
                    state = ZoneState::MadeGood;
                }
                _ => {}
            }
        }
        if let Some(zone) = self.zones.get_mut(id) {
            zone.state = state;
            zone.opened = opened;
        }
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

    /// The last entry that can set a zone's state and came after `base`.
    pub fn changed_since(&self, instance: &str, base: u64) -> Option<&Entry> {
        self.about(instance).rev().find(|e| e.seq > base && e.what.sets_state())
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
