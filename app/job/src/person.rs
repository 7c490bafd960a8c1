//! People of the shop and what each role may do.

use serde::{Deserialize, Serialize};

use crate::ids::PersonId;
use crate::words::worded;

worded! {
    /// What somebody does in the shop. The shop enters its own people.
    pub enum Role {
        /// Answers for the car; may do everything.
        Lead = "lead", "Lead";
        /// Finds, cuts, welds, writes entries.
        Bench = "bench", "Bench";
        /// Measures colour, sprays, writes entries.
        Painter = "painter", "Painter";
        /// Owns a car. Named in the record; does not write in it.
        Owner = "owner", "Owner";
    }
}

/// Something a session may or may not do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Deed {
    /// See the cars and their sheets.
    See,
    /// Add entries, correct them, measure colour, note the climate.
    Write,
    /// Open a car, change its details, take an entry out, export, import, back up, manage people.
    Manage,
}

impl Role {
    /// Whether this role may do `deed`.
    pub fn may(self, deed: Deed) -> bool {
        match (self, deed) {
            (Self::Lead, _) => true,
            (Self::Bench | Self::Painter, Deed::See | Deed::Write) => true,
            (Self::Bench | Self::Painter, Deed::Manage) | (Self::Owner, _) => false,
        }
    }
}

/// One person of the shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    /// The identifier that sessions and entries carry.
    pub id: PersonId,
    /// The name as the shop wrote it.
    pub name: String,
    /// What this person does.
    pub role: Role,
    /// The passphrase as an argon2 string; without one this person cannot sign in.
    pub passphrase: Option<String>,
    /// False once the person has left; the name stays on what they wrote.
    pub active: bool,
}

/// Who wrote an entry, as known at that moment: it stays true when the person is renamed or leaves.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct By {
    /// The person's identifier.
    pub id: PersonId,
    /// The person's name at that time.
    pub name: String,
    /// The person's role at that time.
    pub role: Role,
}

impl From<&Person> for By {
    fn from(person: &Person) -> Self {
        Self { id: person.id, name: person.name.clone(), role: person.role }
    }
}
