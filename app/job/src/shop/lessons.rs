//! What the shop's own cars have taught it.

use std::collections::BTreeMap;
use std::sync::{Arc, PoisonError};

use super::{Shop, ShopError};
use crate::catalogue::Taught;
use crate::ids::{CarId, Hash};
use crate::lessons::{Lesson, lessons, without};
use crate::pace::{Finished, finished, pace};
use crate::ports::Head;

/// What one car taught when its record had this head.
pub(super) struct OfCar {
    count: u64,
    hash: Hash,
    learned: Arc<Learned>,
}

/// What is learned from one car.
struct Learned {
    lessons: Vec<Lesson>,
    finished: Vec<Finished>,
}

impl Learned {
    /// Whether anything is learned from it, for invented cars or for real ones.
    fn of_kind(&self, invented: bool) -> bool {
        self.lessons.iter().any(|lesson| lesson.invented == invented)
            || self.finished.iter().any(|one| one.invented == invented)
    }
}

impl OfCar {
    fn is_of(&self, head: &Head) -> bool {
        (self.count, self.hash) == (head.count, head.hash)
    }
}

/// How many catalogues with what other cars taught are kept at hand.
const TAUGHT: usize = 16;

/// Which cars taught, and how far their records had got.
type Heads = Vec<(CarId, u64, Hash)>;

/// Catalogues that were taught, and the heads of the records that taught them.
#[derive(Default)]
pub(super) struct AtHand {
    cars: BTreeMap<CarId, OfCar>,
    taught: BTreeMap<CarId, (Heads, Arc<Taught>)>,
}

impl Shop {
    /// What all cars of the shop teach. Only cars whose record has grown are gone through again; one whose record
    /// is broken teaches nothing.
    ///
    /// # Errors
    /// When the store cannot be read, or the catalogue holds a figure that cannot be reckoned with.
    pub async fn lessons(&self) -> Result<Arc<Vec<Lesson>>, ShopError> {
        let mut all = Vec::new();
        for (_, of_car) in self.learned_by_car(None).await? {
            all.extend(of_car.lessons.iter().cloned());
        }
        Ok(Arc::new(all))
    }

    /// The finished zones of all cars of the shop that have hours put down.
    ///
    /// # Errors
    /// As [`Shop::lessons`].
    pub async fn finished(&self) -> Result<Vec<Finished>, ShopError> {
        let by_car = self.learned_by_car(None).await?;
        Ok(by_car.iter().flat_map(|(_, of_car)| of_car.finished.iter().cloned()).collect())
    }

    /// The catalogue with what the other cars of the shop taught, and the factor on hours that their finished zones
    /// give. Invented cars teach invented cars only.
    ///
    /// # Errors
    /// As [`Shop::lessons`], and when there is no such car or its record is broken.
    pub async fn taught(&self, except: CarId) -> Result<Arc<Taught>, ShopError> {
        let invented = self.car(except).await?.details.invented;
        let mut by_car = self.learned_by_car(Some(except)).await?;
        by_car.retain(|(_, of_car)| of_car.of_kind(invented));
        let heads: Heads = by_car.iter().map(|(head, _)| (head.car, head.count, head.hash)).collect();
        {
            let at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some((_, taught)) = at_hand.taught.get(&except).filter(|(of, _)| *of == heads) {
                return Ok(taught.clone());
            }
        }
        let mut others: Vec<Lesson> = by_car.iter().flat_map(|(_, of_car)| of_car.lessons.iter().cloned()).collect();
        others.retain(|lesson| lesson.invented == invented);
        let mut finished: Vec<Finished> =
            by_car.iter().flat_map(|(_, of_car)| of_car.finished.iter().cloned()).collect();
        finished.retain(|one| one.invented == invented && one.car != except);
        let mut taught = self.catalogue.taught(&without(&others, except));
        taught.catalogue = taught.catalogue.with_pace(pace(&finished).factor);
        let taught = Arc::new(taught);
        let mut at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
        if at_hand.taught.len() >= TAUGHT && !at_hand.taught.contains_key(&except) {
            at_hand.taught.pop_first();
        }
        at_hand.taught.insert(except, (heads, taught.clone()));
        Ok(taught)
    }

    /// What each car teaches, but one: the car that somebody works on grows with every entry, and is not asked for
    /// when it is looked at itself.
    async fn learned_by_car(&self, except: Option<CarId>) -> Result<Vec<(Head, Arc<Learned>)>, ShopError> {
        let heads = self.store.heads().await?;
        let mut all = Vec::new();
        for head in heads.iter().filter(|head| Some(head.car) != except) {
            let known = {
                let at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
                at_hand.cars.get(&head.car).filter(|of| of.is_of(head)).map(|of| of.learned.clone())
            };
            let of_car = match known {
                Some(known) => known,
                None => {
                    let car = match self.car(head.car).await {
                        Ok(car) => car,
                        Err(ShopError::Broken(_)) => continue,
                        Err(other) => return Err(other),
                    };
                    let (lessons, finished) = (lessons(&car, &self.catalogue)?, finished(&car, &self.catalogue)?);
                    let learned = Arc::new(Learned { lessons, finished });
                    let of_car = OfCar { count: car.count, hash: car.head, learned: learned.clone() };
                    let mut at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
                    at_hand.cars.insert(head.car, of_car);
                    learned
                }
            };
            all.push((*head, of_car));
        }
        Ok(all)
    }
}
