//! Events: what happened to a car, in the exact text in which it is stored.
//!
//! An event is one line of JSON. Its hash is taken over those bytes, so the text is written once and never
//! re-encoded: a record read from a database, a ZIP or a printed line is compared byte for byte. Each event
//! names its kind and that kind's version; [`decode`] lifts older versions to the types of today, and keeps
//! an event of a newer version as [`What::Newer`], so that nothing is lost by opening it here.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use crate::ids::{CarId, EntryId, Hash};
use crate::person::By;
use crate::what::What;

/// The most bytes one stored event may have.
pub const MAX_EVENT_BYTES: usize = 256 * 1024;

/// One thing that happened to one car.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// The car.
    pub car: CarId,
    /// Its place in the car's record, from 1.
    pub seq: u64,
    /// When it was kept.
    pub at: Timestamp,
    /// When it was typed, if that was on a device that kept it for later.
    pub noted: Option<Timestamp>,
    /// Who wrote it.
    pub by: By,
    /// The entry's own identifier; the same entry sent twice is kept once.
    pub entry: EntryId,
    /// The entry that this one corrects.
    pub corrects: Option<EntryId>,
    /// The hash of the event before, [`Hash::NONE`] for the first.
    pub prev: Hash,
    /// What happened.
    pub what: What,
}

/// An event as the store holds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stored {
    /// Its place in the car's record, from 1.
    pub seq: u64,
    /// The entry's identifier, repeated beside the text so that the store can refuse a second copy.
    pub entry: EntryId,
    /// SHA-256 of `body`.
    pub hash: Hash,
    /// The exact text.
    pub body: String,
}

/// Why a stored text is not an event.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("entry {seq}: {why}")]
pub struct DecodeError {
    /// The place in the record where the text stands.
    pub seq: u64,
    /// What is wrong with it.
    pub why: String,
}

#[derive(Serialize)]
struct Out<'a> {
    kind: &'a str,
    v: u32,
    car: CarId,
    seq: u64,
    at: Timestamp,
    #[serde(skip_serializing_if = "Option::is_none")]
    noted: Option<Timestamp>,
    by: &'a By,
    entry: EntryId,
    #[serde(skip_serializing_if = "Option::is_none")]
    corrects: Option<EntryId>,
    prev: Hash,
    data: Box<RawValue>,
}

#[derive(Deserialize)]
struct In<'a> {
    kind: &'a str,
    v: u32,
    car: CarId,
    seq: u64,
    at: Timestamp,
    #[serde(default)]
    noted: Option<Timestamp>,
    by: By,
    entry: EntryId,
    #[serde(default)]
    corrects: Option<EntryId>,
    prev: Hash,
    #[serde(borrow)]
    data: &'a RawValue,
}

/// Writes an event as the text that is stored and hashed.
///
/// # Errors
/// When the event is longer than [`MAX_EVENT_BYTES`], was written by a newer program and so cannot be
/// written again here, or holds a figure that JSON cannot carry, such as one that is not a number.
pub fn encode(event: &Event) -> Result<Stored, DecodeError> {
    let refuse = |why: String| DecodeError { seq: event.seq, why };
    let (kind, v, data) = event.what.to_data().map_err(refuse)?;
    let out = Out {
        kind,
        v,
        car: event.car,
        seq: event.seq,
        at: event.at,
        noted: event.noted,
        by: &event.by,
        entry: event.entry,
        corrects: event.corrects,
        prev: event.prev,
        data,
    };
    let body = serde_json::to_string(&out).map_err(|e| refuse(e.to_string()))?;
    if body.len() > MAX_EVENT_BYTES {
        return Err(refuse(format!("is {} bytes long; at most {MAX_EVENT_BYTES} are kept in one entry", body.len())));
    }
    let stored = Stored { seq: event.seq, entry: event.entry, hash: Hash::of(body.as_bytes()), body };
    // What is kept is kept for good, so it is read once before: JSON writes a figure that is not a number as
    // null, and a record with such an entry could never be opened again.
    match decode(&stored) {
        Ok(read) if read == *event => Ok(stored),
        Ok(_) => Err(refuse("holds something that would not read back as it was written".into())),
        Err(e) => Err(refuse(format!("could not be read back: {}", e.why))),
    }
}

/// The entry that a text names, read without the rest of it.
pub(crate) fn entry_of(body: &str) -> Option<EntryId> {
    #[derive(Deserialize)]
    struct Named {
        entry: EntryId,
    }
    serde_json::from_str::<Named>(body).ok().map(|named| named.entry)
}

/// Reads a stored text.
///
/// # Errors
/// When the text is not an event of any version this program knows how to read. A newer version is no
/// error: it comes back as [`What::Newer`].
pub fn decode(stored: &Stored) -> Result<Event, DecodeError> {
    let seq = stored.seq;
    let read: In<'_> = serde_json::from_str(&stored.body)
        .map_err(|e| DecodeError { seq, why: format!("the text is not an event ({e})") })?;
    if read.seq != seq {
        return Err(DecodeError { seq, why: format!("the text says it is entry {}", read.seq) });
    }
    if read.entry != stored.entry {
        return Err(DecodeError { seq, why: "the text names another entry than the store does".into() });
    }
    let what = What::from_data(read.kind, read.v, read.data.get())
        .map_err(|why| DecodeError { seq, why: format!("\"{}\": {why}", read.kind) })?;
    Ok(Event {
        car: read.car,
        seq,
        at: read.at,
        noted: read.noted,
        by: read.by,
        entry: read.entry,
        corrects: read.corrects,
        prev: read.prev,
        what,
    })
}
