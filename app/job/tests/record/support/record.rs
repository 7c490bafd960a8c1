//! A record written by hand, without a shop: every identifier and time is fixed.

use jiff::{Timestamp, ToSpan};
use job::car::Car;
use job::event::{Event, Stored, encode};
use job::ids::{CarId, EntryId, Hash};
use job::person::Role;
use job::what::What;
use uuid::Uuid;

use super::{by, details};

/// A record, event by event.
#[derive(Debug, Clone)]
pub(crate) struct Record {
    pub(crate) car: CarId,
    pub(crate) events: Vec<Stored>,
}

impl Record {
    /// An opened car.
    pub(crate) fn new() -> Self {
        let mut record = Self::empty(1);
        record.add(What::CarOpened(details("Car 1")));
        record
    }

    pub(crate) fn empty(car: u128) -> Self {
        Self { car: CarId(Uuid::from_u128(car << 64)), events: Vec::new() }
    }

    /// The identifier of the entry at a place.
    pub(crate) fn id(&self, seq: u64) -> EntryId {
        EntryId(Uuid::from_u128(self.car.0.as_u128() + u128::from(seq)))
    }

    pub(crate) fn head(&self) -> Hash {
        self.events.last().map_or(Hash::NONE, |e| e.hash)
    }

    /// The event that would come next.
    pub(crate) fn next(&self, what: What, corrects: Option<EntryId>) -> Event {
        let seq = self.events.len() as u64 + 1;
        let start: Timestamp = "2026-03-02T07:30:00Z".parse().unwrap();
        Event {
            car: self.car,
            seq,
            at: start + i64::try_from(seq).unwrap().minutes(),
            noted: None,
            by: by("Bench A", Role::Bench),
            entry: self.id(seq),
            corrects,
            prev: self.head(),
            what,
        }
    }

    pub(crate) fn add(&mut self, what: What) -> EntryId {
        self.push(&self.next(what, None))
    }

    pub(crate) fn correct(&mut self, entry: EntryId, what: What) -> EntryId {
        self.push(&self.next(what, Some(entry)))
    }

    pub(crate) fn push(&mut self, event: &Event) -> EntryId {
        self.events.push(encode(event).unwrap());
        event.entry
    }

    pub(crate) fn fold(&self) -> Car {
        Car::fold(&self.events).unwrap()
    }
}

/// A text of some other program's making, with the hash that fits it.
pub(crate) fn stored(seq: u64, entry: EntryId, body: String) -> Stored {
    Stored { seq, entry, hash: Hash::of(body.as_bytes()), body }
}
