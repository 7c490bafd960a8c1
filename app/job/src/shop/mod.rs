//! The use cases: what the pages and the command line can ask for. Both call these and nothing below them.

mod backup;
mod forecast;
mod keep;
mod lately;
mod lessons;
mod owner;
mod parcel_io;
mod preview;
mod shelf;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use crate::car::{Car, Entry};
use crate::catalogue::Catalogue;
use crate::chain::{Break, Checker, Verdict};
use crate::event::Stored;
use crate::ids::{CarId, Hash, PersonId};
use crate::outlook::OutlookError;
use crate::paintwork::preview::PreviewError;
use crate::parcel::ParcelError;
use crate::person::Person;
use crate::ports::{Store, StoreError};
use crate::shelf_file::{ShelfFile, ShelfFileError};
use crate::validate::FieldError;

pub use backup::{BackupError, Restored};
pub use forecast::Forecast;
pub use keep::{Draft, Kept};
pub use lessons::Learned;
pub use owner::{Guest, LINK_DAYS, Late, LinkError, NewLink, Replied, Reply, USUAL_LINK_DAYS, digest};
pub use parcel_io::Imported;

/// How many events are asked of the store at once.
const PAGE: u32 = 1000;
/// How many folded cars are kept at hand.
const AT_HAND: usize = 64;

/// Why a use case could not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum ShopError {
    /// No such car.
    #[error("there is no car {0} in this shop")]
    NoSuchCar(CarId),
    /// No such person, or one who has left.
    #[error("nobody who works here has the identifier {0}: choose who is writing")]
    NoSuchPerson(PersonId),
    /// No such entry to correct or take out.
    #[error("the entry to be corrected is not in this car's record")]
    NoSuchEntry,
    /// The entry to be corrected was corrected already.
    #[error("entry {0} was already corrected or taken out: correct the later one")]
    AlreadySuperseded(u64),
    /// Something typed cannot be kept.
    #[error("{}", .0.first().map_or("nothing was kept", |e| e.say.as_str()))]
    Invalid(Vec<FieldError>),
    /// Answers, and what an owner wrote, stay as they came.
    #[error("entry {0} came from the owner and is locked: it stays as it is. A changed mind is a further answer")]
    Locked(u64),
    /// The question was taken back before the answer came. The words are kept as a message of the owner.
    #[error("this question was taken back before your answer came, so it cannot count as one")]
    TakenBack(Box<Entry>),
    /// The question was changed since it was shown.
    #[error("the question was changed since it was shown: read it again, then answer")]
    AskedAnew(Box<Entry>),
    /// Somebody else changed the same zone, or the same details, meanwhile. Nothing typed is lost: it can be kept as well.
    #[error("{} changed the same thing while you were writing", .0.by.name)]
    Overtaken(Box<Entry>),
    /// The record holds entries of a newer program.
    #[error(
        "entry {seq} of this car was written by a newer version of this program. It can be looked at here; to add to it, use the newer version"
    )]
    Newer {
        /// The first such entry.
        seq: u64,
    },
    /// The record is broken.
    #[error("the record of this car is broken at entry {}: {}", .0.at, .0.why)]
    Broken(Break),
    /// Too many people wrote at the same moment.
    #[error("so many people are writing to this car at once that yours found no place; send it again")]
    Crowded,
    /// The catalogue holds a figure that cannot be reckoned with.
    #[error(transparent)]
    Outlook(#[from] OutlookError),
    /// The toner file that an entry names is no toner file.
    #[error(transparent)]
    Shelf(#[from] ShelfFileError),
    /// A paint that cannot be shown on a panel.
    #[error(transparent)]
    Preview(#[from] PreviewError),
    /// A ZIP could not be read or written.
    #[error(transparent)]
    Parcel(#[from] ParcelError),
    /// The store could not do it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// How many toner files are kept at hand; a shop works from one, and looks back at a few.
const SHELVES: usize = 8;

/// One shop: its store, its catalogue, and the cars at hand.
pub struct Shop {
    store: Arc<dyn Store>,
    catalogue: Catalogue,
    at_hand: Mutex<BTreeMap<CarId, Arc<Car>>>,
    shelves: Mutex<BTreeMap<Hash, Arc<ShelfFile>>>,
    lessons: Mutex<lessons::AtHand>,
    forecasts: Mutex<forecast::AtHand>,
    previews: preview::AtHand,
}

impl Shop {
    /// A shop over a store, with the catalogue it works by.
    pub fn new(store: Arc<dyn Store>, catalogue: Catalogue) -> Self {
        Self {
            store,
            catalogue,
            at_hand: Mutex::default(),
            shelves: Mutex::default(),
            lessons: Mutex::default(),
            forecasts: Mutex::default(),
            previews: preview::AtHand::default(),
        }
    }

    /// The catalogue this shop works by.
    pub fn catalogue(&self) -> &Catalogue {
        &self.catalogue
    }

    /// The store, for sessions and sign-in.
    pub fn store(&self) -> &dyn Store {
        &*self.store
    }

    /// Every car, oldest first. A car whose record is broken comes back as the error, so that the others still show.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub async fn cars(&self) -> Result<Vec<(CarId, Result<Arc<Car>, ShopError>)>, ShopError> {
        let mut cars = Vec::new();
        for head in self.store.heads().await? {
            cars.push((head.car, self.car(head.car).await));
        }
        Ok(cars)
    }

    /// A car, folded up to its latest entry. Only entries that are new since last time are read.
    ///
    /// # Errors
    /// When there is no such car, its record is broken, or the store cannot be read.
    pub async fn car(&self, id: CarId) -> Result<Arc<Car>, ShopError> {
        let head = self.store.head(id).await?.ok_or(ShopError::NoSuchCar(id))?;
        let known = self.at_hand.lock().unwrap_or_else(PoisonError::into_inner).get(&id).cloned();
        let known = known.filter(|car| car.count <= head.count);
        if let Some(car) = known.as_ref().filter(|car| car.count == head.count && car.head == head.hash) {
            return Ok(car.clone());
        }
        let folded = match known {
            // A record that was restored over may share a length and not a history: then it is read afresh.
            Some(car) if car.count < head.count => match self.fold_on(Some((*car).clone()), id, head.count).await {
                Err(ShopError::Broken(_)) => self.fold_on(None, id, head.count).await?,
                other => other?,
            },
            _ => self.fold_on(None, id, head.count).await?,
        };
        let car = Arc::new(folded);
        let mut at_hand = self.at_hand.lock().unwrap_or_else(PoisonError::into_inner);
        at_hand.insert(id, car.clone());
        if at_hand.len() > AT_HAND {
            let oldest = at_hand.keys().find(|other| **other != id).copied();
            oldest.map(|other| at_hand.remove(&other));
        }
        Ok(car)
    }

    async fn fold_on(&self, car: Option<Car>, id: CarId, count: u64) -> Result<Car, ShopError> {
        let mut car = car;
        loop {
            let from = car.as_ref().map_or(1, |car| car.count + 1);
            let page = self.store.events(id, from, PAGE).await?;
            let last = page.is_empty();
            for stored in &page {
                match &mut car {
                    Some(car) => car.take(stored).map_err(ShopError::Broken)?,
                    none => *none = Some(Car::fold([stored]).map_err(ShopError::Broken)?),
                }
            }
            match car {
                Some(car) if last || car.count >= count => return Ok(car),
                None if last => return Err(ShopError::Broken(Break { at: 1, why: "the record is empty".into() })),
                _ => {}
            }
        }
    }

    /// The bytes of a picture or file.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub async fn blob(&self, hash: Hash) -> Result<Option<Arc<[u8]>>, ShopError> {
        Ok(self.store.blob(hash).await?)
    }

    /// One event of a car as it is stored.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub async fn stored(&self, id: CarId, seq: u64) -> Result<Option<Stored>, ShopError> {
        Ok(self.store.events(id, seq, 1).await?.into_iter().find(|s| s.seq == seq))
    }

    /// Everybody of the shop, those who have left included.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub async fn people(&self) -> Result<Vec<Person>, ShopError> {
        Ok(self.store.people().await?)
    }

    /// Checks a car's record from its first entry: every link, every text, every picture.
    ///
    /// `expected` is a head hash printed earlier that the record must still hold.
    ///
    /// # Errors
    /// When there is no such car or the store cannot be read; a broken record is a verdict, not an error.
    pub async fn verify(&self, id: CarId, expected: Option<Hash>) -> Result<Verdict, ShopError> {
        let head = self.store.head(id).await?.ok_or(ShopError::NoSuchCar(id))?;
        let mut checker = Checker::new(expected);
        let mut from = 1;
        loop {
            let page = self.store.events(id, from, PAGE).await?;
            let Some(last) = page.last() else { break };
            from = last.seq + 1;
            for stored in &page {
                checker.take(stored);
                if let Some(why) = self.missing_blob(stored).await? {
                    checker.missing(stored.seq, why);
                }
            }
        }
        let verdict = checker.finish();
        Ok(if verdict.intact() && verdict.events < head.count {
            let why = format!("the record counts {} entries and holds {}", head.count, verdict.events);
            Verdict { broken: Some(Break { at: verdict.events + 1, why }), ..verdict }
        } else {
            verdict
        })
    }

    async fn missing_blob(&self, stored: &Stored) -> Result<Option<String>, ShopError> {
        let Ok(event) = crate::event::decode(stored) else { return Ok(None) };
        for hash in event.what.blobs() {
            match self.store.blob(hash).await? {
                None => return Ok(Some("a picture or file it names is missing".into())),
                Some(bytes) if Hash::of(&bytes) != hash => {
                    return Ok(Some("a picture or file it names was altered".into()));
                }
                Some(_) => {}
            }
        }
        Ok(None)
    }
}
