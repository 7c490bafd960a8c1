//! Keeping an entry: checked, placed at the end of the record, and kept once however often it is sent.

use jiff::Timestamp;

use super::{Shop, ShopError};
use crate::car::Car;
use crate::chain::Break;
use crate::details::CarDetails;
use crate::event::{Event, encode};
use crate::ids::{CarId, EntryId, Hash, PersonId};
use crate::person::{By, Person, Role};
use crate::photograph::Prepared;
use crate::ports::Appended;
use crate::validate;
use crate::what::What;

/// How often an entry looks for a new place when somebody else took the one it wanted.
const TRIES: u32 = 32;

/// An entry as somebody typed it, before it has a place in the record.
#[derive(Debug, Clone)]
pub struct Draft {
    /// Its identifier, made where it was typed; sent twice, it is kept once.
    pub entry: EntryId,
    /// How many entries the record held when the person began to write, if known.
    pub base: Option<u64>,
    /// Who writes.
    pub by: PersonId,
    /// When it was typed, if on a device that had to wait.
    pub noted: Option<Timestamp>,
    /// The entry it corrects.
    pub corrects: Option<EntryId>,
    /// True when the person has seen what somebody else wrote meanwhile and wants both kept.
    pub keep_both: bool,
    /// What happened.
    pub what: What,
}

/// An entry that is in the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kept {
    /// Its place, from 1.
    pub seq: u64,
    /// True when it had been kept before and this was a repeat.
    pub repeat: bool,
}

impl Shop {
    /// Opens a car: the first entry of a new record.
    ///
    /// # Errors
    /// When a detail cannot be kept, the person is unknown, or the store cannot be written.
    pub async fn open_car(&self, details: CarDetails, by: PersonId, now: Timestamp) -> Result<CarId, ShopError> {
        let by = self.writer(by).await?;
        let what = What::CarOpened(details);
        validate::check(&what, None, &self.catalogue).map_err(ShopError::Invalid)?;
        let car = CarId::fresh();
        let event = Event {
            car,
            seq: 1,
            at: now,
            noted: None,
            by,
            entry: EntryId::fresh(),
            corrects: None,
            prev: Hash::NONE,
            what,
        };
        let stored = encode(&event).map_err(|e| ShopError::Broken(Break { at: e.seq, why: e.why }))?;
        match self.store.append(car, &[stored]).await? {
            Appended::Kept => Ok(car),
            Appended::Taken | Appended::Known(_) => Err(ShopError::Crowded),
        }
    }

    /// Keeps an entry at the end of a car's record.
    ///
    /// When somebody else wrote at the same moment it is placed after theirs, silently, unless theirs changed
    /// the same zone: then nothing is kept and [`ShopError::Overtaken`] says what they wrote.
    ///
    /// # Errors
    /// See [`ShopError`]. Whatever the error, the record is as it was.
    pub async fn keep(&self, car: CarId, draft: &Draft, now: Timestamp) -> Result<Kept, ShopError> {
        let by = self.writer(draft.by).await?;
        for _ in 0..TRIES {
            let folded = self.car(car).await?;
            if let Some(known) = folded.entry_by_id(draft.entry) {
                return Ok(Kept { seq: known.seq, repeat: true });
            }
            self.admit(&folded, draft)?;
            let event = Event {
                car,
                seq: folded.count + 1,
                // A clock that was set back must not make the record run backwards.
                at: folded.entries().last().map_or(now, |last| now.max(last.at)),
                noted: draft.noted,
                by: by.clone(),
                entry: draft.entry,
                corrects: draft.corrects,
                prev: folded.head,
                what: draft.what.clone(),
            };
            let stored = encode(&event).map_err(|e| ShopError::Broken(Break { at: e.seq, why: e.why }))?;
            match self.store.append(car, &[stored]).await? {
                Appended::Kept => return Ok(Kept { seq: event.seq, repeat: false }),
                Appended::Known(seq) => return Ok(Kept { seq, repeat: true }),
                Appended::Taken => {}
            }
        }
        Err(ShopError::Crowded)
    }

    fn admit(&self, car: &Car, draft: &Draft) -> Result<(), ShopError> {
        if let Some(newer) = car.newer() {
            return Err(ShopError::Newer { seq: newer.seq });
        }
        validate::check(&draft.what, Some(car), &self.catalogue).map_err(ShopError::Invalid)?;
        for id in draft.corrects.into_iter().chain(withdrawn(&draft.what)) {
            let old = car.entry_by_id(id).ok_or(ShopError::NoSuchEntry)?;
            if !old.counts() {
                return Err(ShopError::AlreadySuperseded(old.seq));
            }
        }
        let (Some(base), Some(zone), false) = (draft.base, draft.what.zone(), draft.keep_both) else { return Ok(()) };
        match car.changed_since(zone, base) {
            Some(theirs) if draft.what.sets_state() => Err(ShopError::Overtaken(Box::new(theirs.clone()))),
            _ => Ok(()),
        }
    }

    /// Keeps a picture and its thumb, before the entry that names them.
    ///
    /// # Errors
    /// When the store cannot be written.
    pub async fn keep_picture(&self, ready: &Prepared) -> Result<(Hash, Hash), ShopError> {
        Ok((self.keep_file(&ready.picture).await?, self.keep_file(&ready.thumb).await?))
    }

    /// Keeps a file, before the entry that names it.
    ///
    /// # Errors
    /// When the store cannot be written.
    pub async fn keep_file(&self, bytes: &[u8]) -> Result<Hash, ShopError> {
        let hash = Hash::of(bytes);
        self.store.put_blob(hash, bytes).await?;
        Ok(hash)
    }

    /// Enters a person or changes one.
    ///
    /// # Errors
    /// When the name cannot be kept, or nobody would be left to lead a shop that asks for passphrases.
    pub async fn put_person(&self, person: &Person) -> Result<(), ShopError> {
        let people = self.people().await?;
        validate::person(person, &people).map_err(ShopError::Invalid)?;
        self.store.put_person(person).await?;
        if !person.active || person.passphrase.is_none() {
            self.store.drop_sessions_of(person.id).await?;
        }
        Ok(())
    }

    async fn writer(&self, id: PersonId) -> Result<By, ShopError> {
        let people = self.people().await?;
        let person = people.iter().find(|p| p.id == id && p.active && p.role != Role::Owner);
        person.map(By::from).ok_or(ShopError::NoSuchPerson(id))
    }
}

fn withdrawn(what: &What) -> Option<EntryId> {
    match what {
        What::Withdrawn(withdrawn) => Some(withdrawn.entry),
        _ => None,
    }
}
