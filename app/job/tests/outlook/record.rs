//! A record written by hand: a car of 50 years from salted roads, and short words for what happens to it.

use std::sync::OnceLock;

use jiff::Timestamp;
use job::car::Car;
use job::catalogue::Catalogue;
use job::details::{Aim, CarDetails, Climate, Kept};
use job::event::{Event, Stored, encode};
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::outlook::{Outlook, ZoneOutlook, outlook, zones_only};
use job::person::{By, Role};
use job::what::{ClueSeen, How, Look, MadeGood, Opened, Seen, Severity, What, Withdrawn};
use uuid::Uuid;

/// The trade's starting guesses.
pub(crate) fn catalogue() -> &'static Catalogue {
    static ONCE: OnceLock<Catalogue> = OnceLock::new();
    ONCE.get_or_init(|| Catalogue::starting_guesses().unwrap())
}

pub(crate) fn details() -> CarDetails {
    CarDetails {
        title: "Car 1".into(),
        body: "two_door_closed".into(),
        year: 1976,
        climate: Climate::TemperateSalted,
        kept: Kept::Outdoors,
        fitted: Default::default(),
        aim: Aim::FineDriver,
        history: Default::default(),
        budget_h: None,
        ask_over_h: None,
        rates: None,
        note: String::new(),
        invented: true,
    }
}

/// A look, and the clues it answered.
pub(crate) fn look(zone: &str, how: How, seen: Seen, clues: &[(&str, bool)]) -> What {
    let clues = clues.iter().map(|(clue, there)| ClueSeen { clue: (*clue).into(), there: *there }).collect();
    What::Looked(Look { zone: zone.into(), how, seen, clues, note: String::new() })
}

pub(crate) fn opened(zone: &str, found: Option<Severity>) -> What {
    let note = String::new();
    What::Opened(Opened { zone: zone.into(), found, through: "the skin".into(), extent_mm: None, note })
}

pub(crate) fn made_good(zone: &str) -> What {
    What::MadeGood(MadeGood { zone: zone.into(), note: "Let in 1.0 mm.".into() })
}

pub(crate) struct Record {
    events: Vec<Stored>,
    car: CarId,
}

impl Record {
    pub(crate) fn new() -> Self {
        Self::of(details())
    }

    pub(crate) fn of(details: CarDetails) -> Self {
        let mut record = Self { events: Vec::new(), car: CarId(Uuid::from_u128(1 << 64)) };
        record.add(What::CarOpened(details));
        record
    }

    /// A record with these entries.
    pub(crate) fn with(entries: impl IntoIterator<Item = What>) -> Self {
        let mut record = Self::new();
        for what in entries {
            record.add(what);
        }
        record
    }

    fn id(seq: u64) -> EntryId {
        EntryId(Uuid::from_u128(u128::from(seq)))
    }

    pub(crate) fn count(&self) -> u64 {
        self.events.len() as u64
    }

    /// Adds an entry and tells its place.
    pub(crate) fn add(&mut self, what: What) -> u64 {
        self.push(what, None)
    }

    pub(crate) fn correct(&mut self, seq: u64, what: What) -> u64 {
        self.push(what, Some(Self::id(seq)))
    }

    pub(crate) fn withdraw(&mut self, seq: u64) -> u64 {
        self.add(What::Withdrawn(Withdrawn { entry: Self::id(seq), why: "Wrong car.".into() }))
    }

    fn push(&mut self, what: What, corrects: Option<EntryId>) -> u64 {
        let seq = self.count() + 1;
        let at: Timestamp = "2026-03-02T07:30:00Z".parse().unwrap();
        let by = By { id: PersonId(Uuid::from_u128(0xb)), name: "Bench A".into(), role: Role::Bench };
        let prev = self.events.last().map_or(Hash::NONE, |e| e.hash);
        let event = Event { car: self.car, seq, at, noted: None, by, entry: Self::id(seq), corrects, prev, what };
        self.events.push(encode(&event).unwrap());
        seq
    }

    pub(crate) fn fold(&self) -> Car {
        Car::fold(&self.events).unwrap()
    }

    pub(crate) fn outlook(&self) -> Outlook {
        outlook(&self.fold(), catalogue()).unwrap()
    }

    /// The chance of a zone by the odds rules alone, in which zones tell of each other only through what is known
    /// next door.
    pub(crate) fn alone(&self, zone: &str) -> f64 {
        zone_of(&self.zones(), zone).alone.likely
    }

    /// The zones without the looks, which is quicker.
    pub(crate) fn zones(&self) -> Outlook {
        zones_only(&self.fold(), catalogue()).unwrap()
    }

    /// The likely chance of a zone.
    pub(crate) fn p(&self, zone: &str) -> f64 {
        zone_of(&self.zones(), zone).chance.likely
    }
}

pub(crate) fn zone_of(outlook: &Outlook, zone: &str) -> ZoneOutlook {
    outlook.zone(zone).unwrap().clone()
}

/// The odds that a chance stands for.
pub(crate) fn odds(p: f64) -> f64 {
    p / (1.0 - p)
}

/// Whether two numbers are the same but for what floating point leaves.
pub(crate) fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}
