//! What may go into a row, and what a row means when it comes back.
//!
//! A value that no row of ours can hold is an error of the kind "damaged", with the value in it.

use std::fmt::Display;
use std::str::FromStr;

use jiff::Timestamp;
use job::event::{MAX_EVENT_BYTES, Stored};
use job::ids::{CarId, Hash};
use job::person::{Person, Role};
use job::ports::{Head, OwnerLink, StoreError, Visit};

use crate::errors::damaged;
use crate::{MAX_APPEND, MAX_PAGE};

/// `seq, entry, hash, body` of one event.
pub(crate) type EventRow = (i64, String, Vec<u8>, String);
/// `id, name, role, passphrase, active` of one person.
pub(crate) type PersonRow = (String, String, String, Option<String>, bool);

/// `token, car, person, made, made_by, expires, revoked` of one owner's link.
pub(crate) type LinkRow = (Vec<u8>, String, String, i64, String, i64, Option<i64>);
/// `at, car, person, link, what` of one visit.
pub(crate) type VisitRow = (i64, Option<String>, Option<String>, Option<Vec<u8>>, String);

/// Checks a batch before anything is written; the place of its first event, if there is one.
pub(crate) fn batch(events: &[Stored]) -> Result<Option<u64>, StoreError> {
    let refuse = |why: String| Err(StoreError::Refused(why));
    let Some(first) = events.first() else { return Ok(None) };
    if events.len() > MAX_APPEND {
        return refuse(format!("{} entries were to be kept at once; at most {MAX_APPEND} are", events.len()));
    }
    for (after, event) in (0..).zip(events) {
        let place = first.seq.saturating_add(after);
        if event.seq != place || place == 0 {
            return refuse(format!("entry {} was to be kept at place {place}; places count from 1", event.seq));
        }
        if event.body.len() > MAX_EVENT_BYTES {
            return refuse(format!("entry {place} has {} bytes; at most {MAX_EVENT_BYTES} are kept", event.body.len()));
        }
        if Hash::of(event.body.as_bytes()) != event.hash {
            return refuse(format!("entry {place} was to be kept under {}, which is not its hash", event.hash));
        }
        without_nul(&format!("entry {place}"), &event.body)?;
    }
    Ok(Some(first.seq))
}

/// Refuses the character NUL, which PostgreSQL cannot keep in a text; SQLite follows, so that a record can
/// always move from one to the other. JSON never holds one: it is written as an escape.
pub(crate) fn without_nul(what: &str, text: &str) -> Result<(), StoreError> {
    match text.find('\0') {
        None => Ok(()),
        Some(at) => Err(StoreError::Refused(format!("{what} holds the character NUL at byte {at}, which no text has"))),
    }
}

pub(crate) fn stored(car: CarId, (seq, entry, hash, body): EventRow) -> Result<Stored, sqlx::Error> {
    let seq = count(seq)?;
    let wrong = |e| match e {
        sqlx::Error::Decode(why) => damaged(format!("entry {seq} of car {car}: {why}")),
        other => other,
    };
    Ok(Stored { seq, entry: id(&entry).map_err(wrong)?, hash: digest(&hash).map_err(wrong)?, body })
}

pub(crate) fn head(car: CarId, seq: i64, hash: &[u8]) -> Result<Head, sqlx::Error> {
    Ok(Head { car, count: count(seq)?, hash: digest(hash)? })
}

pub(crate) fn person((key, name, role_key, passphrase, active): PersonRow) -> Result<Person, sqlx::Error> {
    Ok(Person { id: id(&key)?, name, role: role(&role_key)?, passphrase, active })
}

pub(crate) fn link((token, car, person, made, made_by, expires, revoked): LinkRow) -> Result<OwnerLink, sqlx::Error> {
    Ok(OwnerLink {
        token: digest(&token)?,
        car: id(&car)?,
        person: id(&person)?,
        made: moment(made)?,
        made_by: id(&made_by)?,
        expires: moment(expires)?,
        revoked: revoked.map(moment).transpose()?,
    })
}

pub(crate) fn visit((at, car, person, link, what): VisitRow) -> Result<Visit, sqlx::Error> {
    Ok(Visit {
        at: moment(at)?,
        car: car.as_deref().map(id).transpose()?,
        person: person.as_deref().map(id).transpose()?,
        link: link.as_deref().map(digest).transpose()?,
        what,
    })
}

/// A moment as a row has it: microseconds since 1970-01-01 UTC.
pub(crate) fn moment(us: i64) -> Result<Timestamp, sqlx::Error> {
    Timestamp::from_microsecond(us).map_err(|e| damaged(e.to_string()))
}

pub(crate) fn id<T: FromStr<Err: Display>>(text: &str) -> Result<T, sqlx::Error> {
    text.parse().map_err(|e: T::Err| damaged(e.to_string()))
}

pub(crate) fn role(key: &str) -> Result<Role, sqlx::Error> {
    Role::from_key(key).ok_or_else(|| damaged(format!("\"{key}\" is no role")))
}

/// A hash of 32 bytes, by way of its digits: a [`Hash`] is made from bytes only by hashing them.
pub(crate) fn digest(bytes: &[u8]) -> Result<Hash, sqlx::Error> {
    let digit = |half: u8| char::from_digit(u32::from(half), 16).unwrap_or('?');
    let digits: String = bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect();
    id(&digits)
}

/// A place in a record as it is counted.
pub(crate) fn count(seq: i64) -> Result<u64, sqlx::Error> {
    u64::try_from(seq).map_err(|_| damaged(format!("{seq} is no place in a record")))
}

/// A place in a record as a row has it.
pub(crate) fn place(seq: u64) -> Result<i64, sqlx::Error> {
    i64::try_from(seq).map_err(|_| damaged(format!("{seq} is no place in a record")))
}

/// The number of rows to ask for.
pub(crate) fn page(limit: u32) -> i64 {
    i64::from(limit.min(MAX_PAGE))
}
