//! Keeping an entry: checked, placed at the end of the record, and kept once however often it is sent.

use jiff::Timestamp;

use super::{Shop, ShopError};
use crate::car::{Car, Entry};
use crate::details::CarDetails;
use crate::event::{Event, Stored, encode};
use crate::ids::{CarId, EntryId, Hash, PersonId};
use crate::parcel::MAX_EVENTS;
use crate::person::{By, Person, Role};
use crate::photograph::Prepared;
use crate::ports::Appended;
use crate::question::{Answer, AnswerWay};
use crate::validate::{self, FieldError};
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
        let what = What::CarOpened(details);
        let by = self.writer(by, &what).await?;
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
        match self.store.append(car, &[write(&event)?]).await? {
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
        let by = self.writer(draft.by, &draft.what).await?;
        self.has_files(&draft.what).await?;
        for _ in 0..TRIES {
            let folded = self.car(car).await?;
            let entry = match name(&folded, draft) {
                Ok(entry) => entry,
                Err(seq) => return Ok(Kept { seq, repeat: true }),
            };
            self.admit(&folded, draft)?;
            let event = Event {
                car,
                seq: folded.count + 1,
                // A clock that was set back must not make the record run backwards.
                at: folded.entries().last().map_or(now, |last| now.max(last.at)),
                // A device whose clock runs ahead cannot have typed it after it arrived.
                noted: draft.noted.filter(|noted| *noted <= now),
                by: by.clone(),
                entry,
                corrects: draft.corrects,
                prev: folded.head,
                what: draft.what.clone(),
            };
            match self.store.append(car, &[write(&event)?]).await? {
                Appended::Kept => return Ok(Kept { seq: event.seq, repeat: false }),
                // The next round sees the other one, and whether it says the same.
                Appended::Taken | Appended::Known(_) => {}
            }
        }
        Err(ShopError::Crowded)
    }

    fn admit(&self, car: &Car, draft: &Draft) -> Result<(), ShopError> {
        if let Some(newer) = car.newer() {
            return Err(ShopError::Newer { seq: newer.seq });
        }
        if car.count >= MAX_EVENTS {
            let say = format!("the record of this car holds {MAX_EVENTS} entries, and no more are taken");
            return Err(invalid("entry", say, "Open the car anew and go on there."));
        }
        validate::check(&draft.what, Some(car), &self.catalogue).map_err(ShopError::Invalid)?;
        for id in draft.corrects.into_iter().chain(withdrawn(&draft.what)) {
            let old = car.entry_by_id(id).ok_or(ShopError::NoSuchEntry)?;
            if !old.counts() {
                return Err(ShopError::AlreadySuperseded(old.seq));
            }
            if matches!(old.what, What::Answered(_) | What::OwnerWrote(_)) {
                return Err(ShopError::Locked(old.seq));
            }
            if matches!(old.what, What::Withdrawn(_)) {
                let say = format!("entry {} took another one out, and that cannot be taken back", old.seq);
                return Err(invalid("corrects", say, "Enter again what was taken out."));
            }
            if draft.corrects == Some(id) && old.what.kind() != draft.what.kind() {
                let say = format!("entry {} is of another kind ({})", old.seq, old.what.kind_words().to_lowercase());
                return Err(invalid("corrects", say, "Open the entry and choose \"correct this\" again."));
            }
            if draft.corrects != Some(id) && matches!(old.what, What::CarOpened(_) | What::CarChanged(_)) {
                let say = format!("entry {} holds the details of the car, which it cannot be without", old.seq);
                return Err(invalid("withdraws", say, "Change its details instead."));
            }
        }
        if let What::Answered(answer) = &draft.what {
            return admit_answer(car, answer);
        }
        let (Some(base), false) = (draft.base, draft.keep_both) else { return Ok(()) };
        let details = |e: &&Entry| e.seq > base && matches!(e.what, What::CarChanged(_));
        if let (What::CarChanged(_), Some(theirs)) = (&draft.what, car.counting().rev().find(details)) {
            return Err(ShopError::Overtaken(Box::new(theirs.clone())));
        }
        let Some(zone) = draft.what.zone() else { return Ok(()) };
        if !draft.what.sets_state() {
            return Ok(());
        }
        // Two entries that waited on one phone have the same base; what somebody typed earlier is no surprise
        // to them.
        let own_earlier = |e: &&Entry| e.by.id == draft.by && e.noted.is_some() && e.noted <= draft.noted;
        match car.changed_since(zone, base).find(|e| !own_earlier(e)) {
            Some(theirs) => Err(ShopError::Overtaken(Box::new(theirs.clone()))),
            None => Ok(()),
        }
    }

    /// An entry never names a picture or file that is not kept: its record would not verify.
    async fn has_files(&self, what: &What) -> Result<(), ShopError> {
        for hash in what.blobs() {
            if self.store.blob(hash).await?.is_none() {
                return Err(invalid("photo", "the picture or file did not come with it", "Send it again."));
            }
        }
        Ok(())
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
        let known = people.iter().find(|p| p.id == person.id);
        self.store.put_person(person).await?;
        // A session remembers the role and was opened with the passphrase of its day.
        let same = |known: &Person| known.role == person.role && known.passphrase == person.passphrase;
        if !person.active || person.passphrase.is_none() || !known.is_none_or(same) {
            self.store.drop_sessions_of(person.id).await?;
        }
        Ok(())
    }

    /// Who may write this: an owner answers and writes to the shop, and nothing else; on the owner's own page
    /// nobody answers in the owner's place.
    async fn writer(&self, id: PersonId, what: &What) -> Result<By, ShopError> {
        let owners = match what {
            What::Answered(answer) => answer.way == AnswerWay::Link,
            What::OwnerWrote(_) => true,
            _ => false,
        };
        let people = self.people().await?;
        let person = people.iter().find(|p| p.id == id && p.active && (p.role == Role::Owner) == owners);
        person.map(By::from).ok_or(ShopError::NoSuchPerson(id))
    }
}

/// An answer counts when its question still stands as it was shown and nobody answered it meanwhile.
fn admit_answer(car: &Car, answer: &Answer) -> Result<(), ShopError> {
    let thread = car.thread_of(answer.question).ok_or(ShopError::NoSuchEntry)?;
    let (latest, _) = thread.latest().ok_or(ShopError::NoSuchEntry)?;
    if thread.is_withdrawn() {
        let by = latest.superseded_by.and_then(|seq| car.entry(seq)).unwrap_or(latest);
        return Err(ShopError::TakenBack(Box::new(by.clone())));
    }
    if let Some((asked, _)) = thread.asked().filter(|(asked, _)| asked.hash != answer.version) {
        return Err(ShopError::AskedAnew(Box::new(asked.clone())));
    }
    match thread.answer() {
        Some((stands, _)) if answer.changes != Some(stands.id) => Err(ShopError::Overtaken(Box::new(stands.clone()))),
        None if answer.changes.is_some() => Err(ShopError::NoSuchEntry),
        _ => Ok(()),
    }
}

fn write(event: &Event) -> Result<Stored, ShopError> {
    encode(event).map_err(|e| invalid("entry", format!("what was typed {}", e.why), "Say it in fewer words."))
}

pub(super) fn invalid(field: &'static str, say: impl Into<String>, right: &str) -> ShopError {
    ShopError::Invalid(vec![FieldError::new(field, say, right)])
}

/// The name under which a draft is to be kept; the place where it stands when it is in the record already.
///
/// Going back in a browser and sending the form again with other words gives an old name to a new entry. It is
/// no repeat, and nothing typed may be lost: it gets a name made from the old one and from what it says, so that
/// sending it twice still keeps it once.
fn name(car: &Car, draft: &Draft) -> Result<EntryId, u64> {
    let Some(known) = car.entry_by_id(draft.entry) else { return Ok(draft.entry) };
    if known.what == draft.what {
        return Err(known.seq);
    }
    let said = format!("{} {:?}", draft.entry, draft.what);
    let own = EntryId(uuid::Uuid::from_u128(Hash::of(said.as_bytes()).leading()));
    car.entry_by_id(own).map_or(Ok(own), |known| Err(known.seq))
}

fn withdrawn(what: &What) -> Option<EntryId> {
    match what {
        What::Withdrawn(withdrawn) => Some(withdrawn.entry),
        _ => None,
    }
}
