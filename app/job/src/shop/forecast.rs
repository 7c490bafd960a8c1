//! What is thought of a car's shell, worked out once for each state of its record and of what the shop has learned.

use std::sync::{Arc, PoisonError};

use super::lately::Lately;
use super::{Shop, ShopError};
use crate::ask;
use crate::car::Car;
use crate::catalogue::Taught;
use crate::ids::{CarId, Hash};
use crate::outlook::{Movement, Outlook, Point, Range, WhatIf, history, movements, outlook, range, what_if};
use crate::question::RangeSaid;

/// What is thought of a car's shell, by the catalogue with what other cars taught.
#[derive(Debug)]
pub struct Forecast {
    /// What it hides, and where to look.
    pub outlook: Outlook,
    /// The hours.
    pub range: Range,
    /// The catalogue it was worked out by, and what it learned.
    pub taught: Arc<Taught>,
}

/// Forecasts and histories by car, each for one state of the record and one of what was learned.
#[derive(Default)]
pub(super) struct AtHand {
    forecasts: Lately<(Of, Arc<Forecast>)>,
    histories: Lately<(Of, Arc<Vec<Point>>)>,
}

/// What something was worked out from.
struct Of {
    count: u64,
    head: Hash,
    taught: Arc<Taught>,
}

impl Of {
    fn new(car: &Car, taught: &Arc<Taught>) -> Self {
        Self { count: car.count, head: car.head, taught: taught.clone() }
    }

    /// What was learned is the same only if nothing was learned anew: it is kept at hand by what taught it.
    fn is(&self, other: &Self) -> bool {
        (self.count, self.head) == (other.count, other.head) && Arc::ptr_eq(&self.taught, &other.taught)
    }
}

/// What is kept for this car, if it was worked out from the same.
fn kept<T>(lately: &mut Lately<(Of, Arc<T>)>, car: CarId, of: &Of) -> Option<Arc<T>> {
    lately.get(car).filter(|(known, _)| known.is(of)).map(|(_, kept)| kept.clone())
}

impl Shop {
    /// What is thought of a car's shell.
    ///
    /// # Errors
    /// When the store cannot be read, or the catalogue or a record holds a figure that cannot be.
    pub async fn forecast(&self, car: &Car) -> Result<Arc<Forecast>, ShopError> {
        let taught = self.taught(car.id).await?;
        let of = Of::new(car, &taught);
        let known = kept(&mut self.forecasts.lock().unwrap_or_else(PoisonError::into_inner).forecasts, car.id, &of);
        if let Some(known) = known {
            return Ok(known);
        }
        let outlook = outlook(car, &taught.catalogue)?;
        let range = range(car, &taught.catalogue, &outlook)?;
        let new = Arc::new(Forecast { outlook, range, taught });
        let mut at_hand = self.forecasts.lock().unwrap_or_else(PoisonError::into_inner);
        at_hand.forecasts.put(car.id, (of, new.clone()));
        Ok(new)
    }

    /// How a car's range moved and narrowed.
    ///
    /// # Errors
    /// As [`Shop::forecast`].
    pub async fn history(&self, car: &Car) -> Result<Arc<Vec<Point>>, ShopError> {
        let taught = self.taught(car.id).await?;
        let of = Of::new(car, &taught);
        let known = kept(&mut self.forecasts.lock().unwrap_or_else(PoisonError::into_inner).histories, car.id, &of);
        if let Some(known) = known {
            return Ok(known);
        }
        let mut points = history(car, &taught.catalogue)?;
        // The last one is drawn less often than the range beside it, and would differ from it in its last figures.
        if let Some(last) = points.last_mut() {
            last.outcome = self.forecast(car).await?.range.outcome;
        }
        let new = Arc::new(points);
        let mut at_hand = self.forecasts.lock().unwrap_or_else(PoisonError::into_inner);
        at_hand.histories.put(car.id, (of, new.clone()));
        Ok(new)
    }

    /// What would follow from a look; `None` where no look of this key would tell anything.
    ///
    /// # Errors
    /// As [`Shop::forecast`].
    pub async fn what_if(&self, car: &Car, key: &str) -> Result<Option<WhatIf>, ShopError> {
        Ok(what_if(car, &self.taught(car.id).await?.catalogue, key)?)
    }

    /// What moved the hours since an entry.
    ///
    /// # Errors
    /// As [`Shop::forecast`].
    pub async fn movements(&self, car: &Car, since: u64) -> Result<Vec<Movement>, ShopError> {
        Ok(movements(car, &self.taught(car.id).await?.catalogue, since)?)
    }

    /// The range of the whole shell as it is told today.
    ///
    /// # Errors
    /// As [`Shop::forecast`].
    pub async fn told(&self, car: &Car) -> Result<RangeSaid, ShopError> {
        let taught = self.taught(car.id).await?;
        let of = Of::new(car, &taught);
        let known = kept(&mut self.forecasts.lock().unwrap_or_else(PoisonError::into_inner).forecasts, car.id, &of);
        match known {
            Some(known) => Ok(ask::said(&known.range)),
            // Looks need not be valued for a range.
            None => Ok(ask::told(car, &taught.catalogue)?),
        }
    }
}
