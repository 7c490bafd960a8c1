//! Pictures of a car's paints, worked out once and kept at hand.

use std::sync::{Arc, Mutex, PoisonError};

use colour::preview::{Appearance, Scene};

use super::{Shop, ShopError};
use crate::car::Car;
use crate::ids::Hash;
use crate::paintwork::preview::{self, Painted, Wanted};

/// How many paints are kept over all directions, about 1 MB each, and how many in a light, 250 kB each.
const PAINTS: usize = 16;
const LIT: usize = 64;

/// What a picture hangs on: the record up to where it was drawn from, since a brief leads to other entries that may
/// have been corrected, and what is wanted.
type Key = (Hash, Wanted);

/// A paint over all directions, and its name.
type Known = Arc<(Appearance, String)>;

/// What was worked out lately.
#[derive(Default)]
pub(super) struct AtHand {
    paints: Few<Key, Known, PAINTS>,
    lit: Few<(Key, Scene), Arc<Painted>, LIT>,
}

/// At most so many values by key; the one that was asked for longest ago goes first.
struct Few<K, T, const MOST: usize>(Mutex<Vec<(K, T)>>);

impl<K, T, const MOST: usize> Default for Few<K, T, MOST> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<K: PartialEq, T: Clone, const MOST: usize> Few<K, T, MOST> {
    fn get(&self, key: &K) -> Option<T> {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let place = kept.iter().position(|(known, _)| known == key)?;
        let found = kept.remove(place);
        let value = found.1.clone();
        kept.push(found);
        Some(value)
    }

    fn put(&self, key: K, value: T) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        // Two may have worked out the same at once.
        kept.retain(|(known, _)| *known != key);
        if kept.len() >= MOST {
            kept.remove(0);
        }
        kept.push((key, value));
    }
}

impl Shop {
    /// A paint of a car in a light. It takes some milliseconds of both processors the first time.
    ///
    /// # Errors
    /// [`ShopError::Preview`] when there is no such paint or it cannot be shown as wanted; when the toner file of a
    /// recipe cannot be read.
    pub async fn painted(&self, car: &Car, wanted: &Wanted, scene: Scene) -> Result<Arc<Painted>, ShopError> {
        let key = (car.head, wanted.clone());
        let lit = (key.clone(), scene);
        if let Some(known) = self.previews.lit.get(&lit) {
            return Ok(known);
        }
        let known = match self.previews.paints.get(&key) {
            Some(known) => known,
            None => {
                let entry = preview::entry(car, wanted.subject)?;
                let shelf = match preview::recipe(car, entry)? {
                    Some((_, shelved)) => Some(self.shelf(shelved).await?),
                    None => None,
                };
                let made = Arc::new(preview::appearance(car, wanted, shelf.as_deref())?);
                self.previews.paints.put(key, made.clone());
                made
            }
        };
        let painted = Arc::new(preview::painted(&known, scene));
        self.previews.lit.put(lit, painted.clone());
        Ok(painted)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_one_asked_for_longest_ago_goes_first() {
        let few: Few<u8, &str, 2> = Few::default();
        few.put(1, "one");
        few.put(2, "two");
        assert_eq!(few.get(&1), Some("one"));
        few.put(3, "three");
        assert_eq!((few.get(&2), few.get(&1), few.get(&3)), (None, Some("one"), Some("three")));
        few.put(3, "again");
        assert_eq!((few.get(&1), few.get(&3)), (Some("one"), Some("again")));
    }
}
