//! What the shop's own cars have taught it.

use std::collections::BTreeMap;
use std::sync::{Arc, PoisonError};

use forecast::learn::LearnError;

use super::lately::Lately;
use super::{Shop, ShopError};
use crate::catalogue::Taught;
use crate::ids::{CarId, Hash};
use crate::lessons::{Lesson, Scores, lessons, scores};
use crate::pace::{Finished, Pace, finished, pace};
use crate::ports::Head;

/// What the shop's real cars, or its invented ones, have taught together.
#[derive(Debug)]
pub struct Learned {
    /// Every zone whose truth became known, the oldest car's first.
    pub lessons: Vec<Lesson>,
    /// Every finished zone that has hours put down, the oldest car's first.
    pub finished: Vec<Finished>,
    /// What all of them say of rates and clues. A car is worked out without its own: see [`Shop::taught`].
    pub taught: Taught,
    /// How well the zones had been foretold, or why that cannot be told.
    pub scores: Result<Scores, LearnError>,
    /// What all of them say of the shop's hours.
    pub pace: Pace,
    /// How many cars of the other kind taught something.
    pub others: usize,
    by: Teachers,
}

/// What one car teaches.
#[derive(Debug, PartialEq)]
struct OneCar {
    lessons: Vec<Lesson>,
    finished: Vec<Finished>,
}

impl OneCar {
    /// Whether anything is learned from it, for invented cars or for real ones.
    fn of_kind(&self, invented: bool) -> bool {
        self.lessons.iter().any(|lesson| lesson.invented == invented)
            || self.finished.iter().any(|one| one.invented == invented)
    }
}

/// What one car taught when its record had got this far.
struct OfCar {
    count: u64,
    hash: Hash,
    teaches: Arc<OneCar>,
}

impl OfCar {
    fn is_of(&self, head: &Head) -> bool {
        (self.count, self.hash) == (head.count, head.hash)
    }
}

/// The cars that teach, oldest first. What a car teaches stays the very same until it teaches something else, however
/// its record grows.
type Teachers = Vec<Arc<OneCar>>;

fn same(one: &Teachers, other: &Teachers) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(one, other)| Arc::ptr_eq(one, other))
}

fn lessons_of(teachers: &Teachers) -> Vec<Lesson> {
    teachers.iter().flat_map(|one| one.lessons.iter().cloned()).collect()
}

fn finished_of(teachers: &Teachers) -> Vec<Finished> {
    teachers.iter().flat_map(|one| one.finished.iter().cloned()).collect()
}

/// What was learned, each with what taught it.
#[derive(Default)]
pub(super) struct AtHand {
    cars: BTreeMap<CarId, OfCar>,
    lessons: Option<(Teachers, Arc<Vec<Lesson>>)>,
    /// From real cars and from invented ones.
    real: Option<Arc<Learned>>,
    invented: Option<Arc<Learned>>,
    taught: Lately<(Teachers, Arc<Taught>)>,
}

impl AtHand {
    fn learned(&mut self, invented: bool) -> &mut Option<Arc<Learned>> {
        if invented { &mut self.invented } else { &mut self.real }
    }
}

impl Shop {
    /// What all cars of the shop teach. Only cars whose record has grown are gone through again; one whose record
    /// is broken teaches nothing.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub async fn lessons(&self) -> Result<Arc<Vec<Lesson>>, ShopError> {
        let by = self.teachers(None).await?;
        let mut at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, known)) = at_hand.lessons.as_ref().filter(|(of, _)| same(of, &by)) {
            return Ok(known.clone());
        }
        let all = Arc::new(lessons_of(&by));
        at_hand.lessons = Some((by, all.clone()));
        Ok(all)
    }

    /// The finished zones of all cars of the shop that have hours put down.
    ///
    /// # Errors
    /// As [`Shop::lessons`].
    pub async fn finished(&self) -> Result<Vec<Finished>, ShopError> {
        Ok(finished_of(&self.teachers(None).await?))
    }

    /// What the real cars of the shop, or the invented ones, teach together; worked out again only when one of them
    /// teaches something else.
    ///
    /// # Errors
    /// As [`Shop::lessons`].
    pub async fn learned(&self, invented: bool) -> Result<Arc<Learned>, ShopError> {
        let all = self.teachers(None).await?;
        let others = all.iter().filter(|one| one.of_kind(!invented)).count();
        let by: Teachers = all.into_iter().filter(|one| one.of_kind(invented)).collect();
        {
            let mut at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
            let known = at_hand.learned(invented).as_ref();
            if let Some(known) = known.filter(|known| known.others == others && same(&known.by, &by)) {
                return Ok(known.clone());
            }
        }
        let (lessons, finished) = (lessons_of(&by), finished_of(&by));
        let taught = self.catalogue.taught(&lessons);
        let (scores, pace) = (scores(&lessons, &self.catalogue), pace(&finished));
        let learned = Arc::new(Learned { lessons, finished, taught, scores, pace, others, by });
        let mut at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
        *at_hand.learned(invented) = Some(learned.clone());
        Ok(learned)
    }

    /// The catalogue with what the other cars of the shop taught, and the factor on hours that their finished zones
    /// give. Invented cars teach invented cars only. It is the very same until one of them teaches something else.
    ///
    /// # Errors
    /// As [`Shop::lessons`], and when there is no such car or its record is broken.
    pub async fn taught(&self, except: CarId) -> Result<Arc<Taught>, ShopError> {
        let invented = self.car(except).await?.details.invented;
        let mut by = self.teachers(Some(except)).await?;
        by.retain(|one| one.of_kind(invented));
        {
            let mut at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some((_, taught)) = at_hand.taught.get(except).filter(|(of, _)| same(of, &by)) {
                return Ok(taught.clone());
            }
        }
        let mut taught = self.catalogue.taught(&lessons_of(&by));
        taught.catalogue = taught.catalogue.with_pace(pace(&finished_of(&by)).factor);
        let taught = Arc::new(taught);
        let mut at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
        at_hand.taught.put(except, (by, taught.clone()));
        Ok(taught)
    }

    /// What each car teaches, but one: the car that somebody works on grows with every entry, and is not asked for
    /// when it is looked at itself.
    async fn teachers(&self, except: Option<CarId>) -> Result<Teachers, ShopError> {
        let heads = self.store.heads().await?;
        let mut all = Vec::new();
        for head in heads.iter().filter(|head| Some(head.car) != except) {
            let known = {
                let at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
                at_hand.cars.get(&head.car).filter(|of| of.is_of(head)).map(|of| of.teaches.clone())
            };
            all.push(match known {
                Some(known) => known,
                None => match self.gone_through(head.car).await {
                    Ok(teaches) => teaches,
                    Err(ShopError::Broken(_)) => continue,
                    Err(other) => return Err(other),
                },
            });
        }
        Ok(all)
    }

    /// What a car teaches whose record has grown.
    async fn gone_through(&self, id: CarId) -> Result<Arc<OneCar>, ShopError> {
        let car = self.car(id).await?;
        // A car of which nothing can be worked out teaches nothing, like a broken record. Its own pages say why; the
        // pages of the other cars are none the worse.
        let new = OneCar {
            lessons: lessons(&car, &self.catalogue).unwrap_or_default(),
            finished: finished(&car, &self.catalogue).unwrap_or_default(),
        };
        let mut at_hand = self.lessons.lock().unwrap_or_else(PoisonError::into_inner);
        // A photograph teaches nothing: then what was worked out for the other cars stands.
        let before = at_hand.cars.get(&id).map(|of| of.teaches.clone()).filter(|before| **before == new);
        let teaches = before.unwrap_or_else(|| Arc::new(new));
        at_hand.cars.insert(id, OfCar { count: car.count, hash: car.head, teaches: teaches.clone() });
        Ok(teaches)
    }
}
