//! The chain: each event names the hash of the one before, so nothing can be altered or taken out unseen.
//!
//! Cutting off the tail leaves a shorter chain that is itself whole. That is why the head hash and the count
//! are printed in the dossier: [`verify`] takes such a printed head and asks whether the record still holds it.

use std::collections::BTreeSet;

use crate::event::{Stored, decode};
use crate::ids::{CarId, EntryId, Hash};

/// What a check of a record found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// How many events the record holds.
    pub events: u64,
    /// The hash of the last one, as far as the record is whole.
    pub head: Hash,
    /// The first break, if there is one.
    pub broken: Option<Break>,
}

impl Verdict {
    /// Whether nothing is broken.
    pub fn intact(&self) -> bool {
        self.broken.is_none()
    }
}

/// Where and how a record is broken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Break {
    /// The entry at which it shows.
    pub at: u64,
    /// What is wrong, in words.
    pub why: String,
}

/// Checks a chain link by link, one event at a time.
#[derive(Debug, Clone)]
pub struct Checker {
    car: Option<CarId>,
    entries: BTreeSet<EntryId>,
    count: u64,
    head: Hash,
    broken: Option<Break>,
    expected: Option<Hash>,
    met: bool,
}

impl Checker {
    /// Starts at an empty record. `expected` is a head hash printed earlier that the record must still hold.
    pub fn new(expected: Option<Hash>) -> Self {
        Self {
            car: None,
            entries: BTreeSet::new(),
            count: 0,
            head: Hash::NONE,
            broken: None,
            expected,
            met: expected.is_none(),
        }
    }

    /// Checks the next event. After the first break the rest is only counted.
    pub fn take(&mut self, stored: &Stored) {
        self.count += 1;
        if self.broken.is_some() {
            return;
        }
        match self.link(stored) {
            Ok(()) => {
                self.head = stored.hash;
                self.met |= self.expected == Some(stored.hash);
            }
            Err(why) => self.broken = Some(Break { at: self.count, why }),
        }
    }

    fn link(&mut self, stored: &Stored) -> Result<(), String> {
        if stored.seq != self.count {
            return Err(format!(
                "entry {} stands where entry {} should: one is missing or out of order",
                stored.seq, self.count
            ));
        }
        if Hash::of(stored.body.as_bytes()) != stored.hash {
            return Err("the text was altered: its hash is not the one kept beside it".into());
        }
        let event = decode(stored).map_err(|e| e.why)?;
        if event.prev != self.head {
            return Err("it does not follow the entry before it: one was altered, added or taken out".into());
        }
        if *self.car.get_or_insert(event.car) != event.car {
            return Err("it belongs to another car".into());
        }
        if !self.entries.insert(event.entry) {
            return Err("the same entry was kept before".into());
        }
        Ok(())
    }

    /// The car that the record is about, once its first event was whole.
    pub fn car(&self) -> Option<CarId> {
        self.car
    }

    /// Notes that something an event refers to is missing or altered.
    pub fn missing(&mut self, at: u64, why: String) {
        if self.broken.as_ref().is_none_or(|broken| at < broken.at) {
            self.broken = Some(Break { at, why });
        }
    }

    /// The verdict after the last event.
    pub fn finish(self) -> Verdict {
        let broken = self.broken.or_else(|| {
            (!self.met).then(|| Break {
                at: self.count + 1,
                why: "the printed head is nowhere in this record: entries were cut off or altered since it was printed"
                    .into(),
            })
        });
        Verdict { events: self.count, head: self.head, broken }
    }
}

/// Checks a whole record at once.
pub fn verify<'a>(events: impl IntoIterator<Item = &'a Stored>, expected: Option<Hash>) -> Verdict {
    let mut checker = Checker::new(expected);
    for stored in events {
        checker.take(stored);
    }
    checker.finish()
}
