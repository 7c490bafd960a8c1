//! A shop over a store in memory, with people and one car, as somebody would sit down at it.

use std::sync::Arc;

use jiff::{Timestamp, ToSpan};
use job::catalogue::Catalogue;
use job::ids::{CarId, EntryId, PersonId};
use job::person::{Person, Role};
use job::shop::{Draft, Kept, Shop, ShopError};
use job::what::What;

use super::{Memory, details};

/// So many minutes into the morning.
pub(crate) fn at(minutes: i64) -> Timestamp {
    let start: Timestamp = "2026-03-02T07:30:00Z".parse().unwrap();
    start + minutes.minutes()
}

/// A shop with nothing in it.
pub(crate) fn shop_over(store: &Arc<Memory>) -> Shop {
    Shop::new(store.clone(), Catalogue::starting_guesses().unwrap())
}

/// A shop with its people and one car.
pub(crate) struct Desk {
    pub(crate) store: Arc<Memory>,
    pub(crate) shop: Shop,
    pub(crate) lead: PersonId,
    pub(crate) bench: PersonId,
    pub(crate) owner: PersonId,
    pub(crate) left: PersonId,
    pub(crate) car: CarId,
}

impl Desk {
    pub(crate) async fn open() -> Self {
        let store = Arc::new(Memory::default());
        let shop = shop_over(&store);
        let mut ids = Vec::new();
        for (name, role, active) in [
            ("Lead", Role::Lead, true),
            ("Bench A", Role::Bench, true),
            ("Owner", Role::Owner, true),
            ("Painter", Role::Painter, false),
        ] {
            let id = PersonId::fresh();
            shop.put_person(&Person { id, name: name.into(), role, passphrase: None, active }).await.unwrap();
            ids.push(id);
        }
        let car = shop.open_car(details("Car 1"), ids[0], at(0)).await.unwrap();
        Self { store, shop, lead: ids[0], bench: ids[1], owner: ids[2], left: ids[3], car }
    }

    /// An entry as the bench types it.
    pub(crate) fn draft(&self, what: What) -> Draft {
        Draft {
            entry: EntryId::fresh(),
            base: None,
            by: self.bench,
            noted: None,
            corrects: None,
            keep_both: false,
            what,
        }
    }

    pub(crate) async fn send(&self, draft: &Draft) -> Result<Kept, ShopError> {
        self.shop.keep(self.car, draft, at(1)).await
    }

    /// Keeps an entry that must be kept.
    pub(crate) async fn keep(&self, what: What) -> EntryId {
        let draft = self.draft(what);
        self.send(&draft).await.unwrap();
        draft.entry
    }

    /// Keeps a photograph with its picture and thumb.
    pub(crate) async fn photograph(&self, zone: &str, picture: &[u8]) -> EntryId {
        self.shop.keep_file(picture).await.unwrap();
        self.shop.keep_file(b"thumb").await.unwrap();
        self.keep(super::photographed(Some(zone), picture, b"thumb")).await
    }

    /// How many entries the record holds.
    pub(crate) async fn count(&self) -> u64 {
        self.shop.car(self.car).await.unwrap().count
    }
}
