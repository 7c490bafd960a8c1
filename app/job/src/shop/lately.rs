//! What was worked out for the cars that were asked for lately.

use std::collections::BTreeMap;

use crate::ids::CarId;

/// For how many cars it is kept. One figure for all that is worked out: a forecast counts only together with the very
/// catalogue it was worked out by, so to keep one longer than the other would be of no use.
const CARS: usize = 32;

/// One thing for each car; the one that was asked for longest ago goes first.
pub(super) struct Lately<T> {
    turn: u64,
    cars: BTreeMap<CarId, (u64, T)>,
}

impl<T> Default for Lately<T> {
    fn default() -> Self {
        Self { turn: 0, cars: BTreeMap::new() }
    }
}

impl<T> Lately<T> {
    /// What is kept for a car.
    pub(super) fn get(&mut self, car: CarId) -> Option<&T> {
        self.turn += 1;
        let (turn, kept) = self.cars.get_mut(&car)?;
        *turn = self.turn;
        Some(kept)
    }

    /// Keeps this for a car, in place of what was kept for it before.
    pub(super) fn put(&mut self, car: CarId, new: T) {
        self.turn += 1;
        if self.cars.len() >= CARS && !self.cars.contains_key(&car) {
            let longest_ago = self.cars.iter().min_by_key(|(_, (turn, _))| *turn).map(|(car, _)| *car);
            longest_ago.map(|car| self.cars.remove(&car));
        }
        self.cars.insert(car, (self.turn, new));
    }
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;

    #[test]
    fn the_one_asked_for_longest_ago_goes_first() {
        let car = |n: u128| CarId(Uuid::from_u128(n));
        let mut lately = Lately::default();
        let all = CARS as u128;
        (0..all).for_each(|n| lately.put(car(n), n));
        assert_eq!(lately.get(car(0)), Some(&0));
        // Kept anew, it takes no other's place.
        lately.put(car(2), 200);
        lately.put(car(all), all);
        lately.put(car(all + 1), all + 1);
        let gone: Vec<u128> = (0..all + 2).filter(|n| lately.get(car(*n)).is_none()).collect();
        assert_eq!(gone, [1, 3]);
        assert_eq!(lately.get(car(2)), Some(&200));
        assert_eq!(lately.cars.len(), CARS);
    }
}
