//! What the use cases need from outside: a place to keep things.

use std::sync::Arc;

use async_trait::async_trait;
use jiff::Timestamp;

use crate::event::Stored;
use crate::ids::{CarId, Hash, PersonId};
use crate::person::{Person, Role};

/// How far a car's record has got.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// The car.
    pub car: CarId,
    /// How many events its record holds.
    pub count: u64,
    /// The hash of the last one.
    pub hash: Hash,
}

/// What became of an attempt to append.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Appended {
    /// All of it is kept.
    Kept,
    /// Somebody else took that place in the record first; nothing was written.
    Taken,
    /// The entry was kept before, at this place; nothing was written.
    Known(u64),
}

/// A device that is signed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// SHA-256 of the token in the cookie; the token itself is kept nowhere.
    pub token: Hash,
    /// Who signed in.
    pub person: PersonId,
    /// What this device may do.
    pub role: Role,
    /// When it ends.
    pub expires: Timestamp,
}

/// The way in for one owner to the page of one car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnerLink {
    /// SHA-256 of the token in the address; the token itself is shown once and kept nowhere.
    pub token: Hash,
    /// The only car it reaches.
    pub car: CarId,
    /// The owner it was made for.
    pub person: PersonId,
    /// When it was made.
    pub made: Timestamp,
    /// Who made it.
    pub made_by: PersonId,
    /// When it ends.
    pub expires: Timestamp,
    /// When it was taken back, if it was.
    pub revoked: Option<Timestamp>,
}

/// Somebody opened something that leaves the shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Visit {
    /// When.
    pub at: Timestamp,
    /// The car it belongs to; `None` for the whole shop.
    pub car: Option<CarId>,
    /// The person, as far as known.
    pub person: Option<PersonId>,
    /// The hash of the owner's link it came through, if it did.
    pub link: Option<Hash>,
    /// What was opened, in words.
    pub what: String,
}

/// Why the store could not do what was asked. Details are for the log; the words are for people.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StoreError {
    /// The database cannot be reached or opened.
    #[error("the shop's database cannot be reached ({0}). Nothing was written; what you typed is still on the page")]
    Unreachable(String),
    /// The database refuses to be written.
    #[error(
        "the shop's database can be read but not written ({0}). Nothing was written; give the program the right to write its file, then send again"
    )]
    ReadOnly(String),
    /// There is no room left.
    #[error("there is no room left for the shop's database ({0}). Nothing was written; make room, then send again")]
    Full(String),
    /// The database belongs to a newer program.
    #[error(
        "the shop's database was written by a newer version of this program ({0}); use that version or a later one"
    )]
    Newer(String),
    /// What was handed over is not fit to be kept.
    #[error("this cannot be kept: {0}. Nothing was written")]
    Refused(String),
    /// What is kept cannot be read.
    #[error("what the database holds cannot be read ({0})")]
    Damaged(String),
}

/// How many visits are kept, for the whole shop.
pub const MOST_VISITS: u32 = 20_000;

/// Where the shop's records, pictures, people, sessions and owners' links are kept.
///
/// Blobs are written before the events that name them, so a reader never meets an event without its picture.
#[async_trait]
pub trait Store: Send + Sync {
    /// How far every car's record has got, oldest car first.
    async fn heads(&self) -> Result<Vec<Head>, StoreError>;
    /// How far one car's record has got.
    async fn head(&self, car: CarId) -> Result<Option<Head>, StoreError>;
    /// Up to `limit` events of a car from the place `from` (counting from 1), in order.
    async fn events(&self, car: CarId, from: u64, limit: u32) -> Result<Vec<Stored>, StoreError>;
    /// Appends events, all or none. The store itself refuses a second event at one place and a second copy
    /// of one entry.
    async fn append(&self, car: CarId, events: &[Stored]) -> Result<Appended, StoreError>;

    /// Keeps bytes under their hash; the same bytes twice are kept once.
    async fn put_blob(&self, hash: Hash, bytes: &[u8]) -> Result<(), StoreError>;
    /// The bytes with this hash.
    async fn blob(&self, hash: Hash) -> Result<Option<Arc<[u8]>>, StoreError>;
    /// The hashes after `after` in order, at most `limit`.
    async fn blob_hashes(&self, after: Option<Hash>, limit: u32) -> Result<Vec<Hash>, StoreError>;

    /// Everybody, in the order they were entered, those who have left included.
    async fn people(&self) -> Result<Vec<Person>, StoreError>;
    /// Enters a person or changes one.
    async fn put_person(&self, person: &Person) -> Result<(), StoreError>;

    /// Keeps a session and drops those that ended before `now`.
    async fn put_session(&self, session: &Session, now: Timestamp) -> Result<(), StoreError>;
    /// The session with this token, unless it ended before `now`.
    async fn session(&self, token: Hash, now: Timestamp) -> Result<Option<Session>, StoreError>;
    /// Ends a session.
    async fn drop_session(&self, token: Hash) -> Result<(), StoreError>;
    /// Ends every session of a person.
    async fn drop_sessions_of(&self, person: PersonId) -> Result<(), StoreError>;

    /// Keeps a new owner's link.
    async fn put_link(&self, link: &OwnerLink) -> Result<(), StoreError>;
    /// The link with this token, also when it has ended or was taken back.
    async fn link(&self, token: Hash) -> Result<Option<OwnerLink>, StoreError>;
    /// The links of a car, the newest first.
    async fn links_of(&self, car: CarId) -> Result<Vec<OwnerLink>, StoreError>;
    /// Takes a link back, from `at` on; one that was taken back stays as it was.
    async fn revoke_link(&self, token: Hash, at: Timestamp) -> Result<(), StoreError>;

    /// Notes that somebody opened something; only the latest [`MOST_VISITS`] are kept.
    async fn put_visit(&self, visit: &Visit) -> Result<(), StoreError>;
    /// The latest visits to a car, or with `None` of the whole shop, the newest first, at most `limit`.
    async fn visits(&self, car: Option<CarId>, limit: u32) -> Result<Vec<Visit>, StoreError>;
}
