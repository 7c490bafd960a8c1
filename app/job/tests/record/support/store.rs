//! A store in memory that keeps what the port promises, counts what is written, and can be meddled with.

use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard};

use async_trait::async_trait;
use jiff::Timestamp;
use job::event::Stored;
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::person::Person;
use job::ports::{Appended, Head, MOST_VISITS, OwnerLink, Session, Store, StoreError, Visit};

#[derive(Default)]
struct Held {
    cars: Vec<CarId>,
    events: BTreeMap<CarId, Vec<Stored>>,
    entries: BTreeMap<EntryId, (CarId, u64)>,
    blobs: BTreeMap<Hash, Arc<[u8]>>,
    people: Vec<Person>,
    sessions: Vec<Session>,
    links: Vec<OwnerLink>,
    visits: Vec<Visit>,
}

/// A store in memory.
#[derive(Default)]
pub(crate) struct Memory {
    held: Mutex<Held>,
    writes: AtomicUsize,
    turned_away: AtomicUsize,
    crowded: AtomicBool,
}

impl Memory {
    fn held(&self) -> MutexGuard<'_, Held> {
        self.held.lock().unwrap()
    }

    /// How often something was written.
    pub(crate) fn writes(&self) -> usize {
        self.writes.load(Ordering::Relaxed)
    }

    /// How many writers found their place taken.
    pub(crate) fn turned_away(&self) -> usize {
        self.turned_away.load(Ordering::Relaxed)
    }

    /// From now on somebody else is always first.
    pub(crate) fn crowd(&self) {
        self.crowded.store(true, Ordering::Relaxed);
    }

    /// A car's whole record.
    pub(crate) fn record(&self, car: CarId) -> Vec<Stored> {
        self.held().events.get(&car).cloned().unwrap_or_default()
    }

    /// Puts another record in its place, behind the program's back.
    pub(crate) fn replace(&self, car: CarId, events: &[Stored]) {
        let mut held = self.held();
        held.entries.retain(|_, (of, _)| *of != car);
        held.entries.extend(events.iter().map(|e| (e.entry, (car, e.seq))));
        held.events.insert(car, events.to_vec());
    }

    /// Puts other bytes in a picture's place, or none, behind the program's back.
    pub(crate) fn meddle(&self, hash: Hash, bytes: Option<&[u8]>) {
        let mut held = self.held();
        match bytes {
            Some(bytes) => held.blobs.insert(hash, bytes.into()),
            None => held.blobs.remove(&hash),
        };
    }

    /// Every picture and file, by hash.
    pub(crate) fn blobs(&self) -> BTreeMap<Hash, Arc<[u8]>> {
        self.held().blobs.clone()
    }
}

#[async_trait]
impl Store for Memory {
    async fn heads(&self) -> Result<Vec<Head>, StoreError> {
        let held = self.held();
        Ok(held.cars.iter().filter_map(|car| head(*car, held.events.get(car)?)).collect())
    }

    async fn head(&self, car: CarId) -> Result<Option<Head>, StoreError> {
        // Others get a turn between every two steps, as with a real database.
        tokio::task::yield_now().await;
        Ok(self.held().events.get(&car).and_then(|events| head(car, events)))
    }

    async fn events(&self, car: CarId, from: u64, limit: u32) -> Result<Vec<Stored>, StoreError> {
        tokio::task::yield_now().await;
        let held = self.held();
        let events = held.events.get(&car).into_iter().flatten();
        Ok(events.filter(|e| e.seq >= from).take(limit as usize).cloned().collect())
    }

    async fn append(&self, car: CarId, events: &[Stored]) -> Result<Appended, StoreError> {
        tokio::task::yield_now().await;
        let mut held = self.held();
        let next = held.events.get(&car).map_or(0, Vec::len) as u64 + 1;
        let Some(first) = events.first() else { return Ok(Appended::Kept) };
        if first.seq > next {
            return Err(StoreError::Damaged(format!("entry {} would leave a gap after {}", first.seq, next - 1)));
        }
        for (place, event) in (next..).zip(events) {
            match held.entries.get(&event.entry) {
                Some((owner, seq)) if *owner == car => return Ok(Appended::Known(*seq)),
                Some(_) => return Err(StoreError::Damaged("the entry is another car's".into())),
                None => {}
            }
            if event.seq != place || self.crowded.load(Ordering::Relaxed) {
                self.turned_away.fetch_add(1, Ordering::Relaxed);
                return Ok(Appended::Taken);
            }
        }
        self.writes.fetch_add(1, Ordering::Relaxed);
        held.entries.extend(events.iter().map(|e| (e.entry, (car, e.seq))));
        if !held.cars.contains(&car) {
            held.cars.push(car);
        }
        held.events.entry(car).or_default().extend_from_slice(events);
        Ok(Appended::Kept)
    }

    async fn put_blob(&self, hash: Hash, bytes: &[u8]) -> Result<(), StoreError> {
        if Hash::of(bytes) != hash {
            return Err(StoreError::Damaged("that is not its hash".into()));
        }
        self.writes.fetch_add(1, Ordering::Relaxed);
        self.held().blobs.insert(hash, bytes.into());
        Ok(())
    }

    async fn blob(&self, hash: Hash) -> Result<Option<Arc<[u8]>>, StoreError> {
        tokio::task::yield_now().await;
        Ok(self.held().blobs.get(&hash).cloned())
    }

    async fn blob_hashes(&self, after: Option<Hash>, limit: u32) -> Result<Vec<Hash>, StoreError> {
        let held = self.held();
        Ok(held.blobs.keys().filter(|h| after.is_none_or(|a| **h > a)).take(limit as usize).copied().collect())
    }

    async fn people(&self) -> Result<Vec<Person>, StoreError> {
        Ok(self.held().people.clone())
    }

    async fn put_person(&self, person: &Person) -> Result<(), StoreError> {
        self.writes.fetch_add(1, Ordering::Relaxed);
        let people = &mut self.held().people;
        match people.iter_mut().find(|p| p.id == person.id) {
            Some(known) => *known = person.clone(),
            None => people.push(person.clone()),
        }
        Ok(())
    }

    async fn put_session(&self, session: &Session, now: Timestamp) -> Result<(), StoreError> {
        let sessions = &mut self.held().sessions;
        sessions.retain(|s| s.expires >= now && s.token != session.token);
        sessions.push(session.clone());
        Ok(())
    }

    async fn session(&self, token: Hash, now: Timestamp) -> Result<Option<Session>, StoreError> {
        Ok(self.held().sessions.iter().find(|s| s.token == token && s.expires >= now).cloned())
    }

    async fn drop_session(&self, token: Hash) -> Result<(), StoreError> {
        self.held().sessions.retain(|s| s.token != token);
        Ok(())
    }

    async fn drop_sessions_of(&self, person: PersonId) -> Result<(), StoreError> {
        self.held().sessions.retain(|s| s.person != person);
        Ok(())
    }

    async fn put_link(&self, link: &OwnerLink) -> Result<(), StoreError> {
        let links = &mut self.held().links;
        if links.iter().any(|known| known.token == link.token) {
            return Err(StoreError::Refused("a link with this token is there already".into()));
        }
        links.push(link.clone());
        Ok(())
    }

    async fn link(&self, token: Hash) -> Result<Option<OwnerLink>, StoreError> {
        Ok(self.held().links.iter().find(|link| link.token == token).cloned())
    }

    async fn links_of(&self, car: CarId) -> Result<Vec<OwnerLink>, StoreError> {
        let mut links: Vec<_> = self.held().links.iter().filter(|link| link.car == car).cloned().collect();
        links.sort_by_key(|link| Reverse(link.made));
        Ok(links)
    }

    async fn revoke_link(&self, token: Hash, at: Timestamp) -> Result<(), StoreError> {
        let links = &mut self.held().links;
        if let Some(link) = links.iter_mut().find(|link| link.token == token) {
            link.revoked.get_or_insert(at);
        }
        Ok(())
    }

    async fn put_visit(&self, visit: &Visit) -> Result<(), StoreError> {
        let visits = &mut self.held().visits;
        visits.push(visit.clone());
        let old = visits.len().saturating_sub(MOST_VISITS as usize);
        visits.drain(..old);
        Ok(())
    }

    async fn visits(&self, car: Option<CarId>, limit: u32) -> Result<Vec<Visit>, StoreError> {
        let held = self.held();
        let visits = held.visits.iter().rev().filter(|visit| car.is_none() || visit.car == car);
        Ok(visits.take(limit as usize).cloned().collect())
    }
}

fn head(car: CarId, events: &[Stored]) -> Option<Head> {
    let last = events.last()?;
    Some(Head { car, count: last.seq, hash: last.hash })
}
