//! Export and import of one car.

use std::collections::BTreeSet;
use std::io::{Read, Seek, Write};

use super::{PAGE, Shop, ShopError};
use crate::event::decode;
use crate::ids::{CarId, Hash};
use crate::parcel::{Parcel, ParcelError, ParcelWriter};
use crate::ports::Appended;

/// What an import did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Imported {
    /// The car.
    pub car: CarId,
    /// How many entries its record now holds.
    pub events: u64,
    /// How many of them are new in this shop.
    pub new: u64,
}

impl Shop {
    /// Writes a car as one ZIP of open files.
    ///
    /// # Errors
    /// When there is no such car, or something cannot be read or written.
    pub async fn export<W: Write + Seek + Send>(&self, id: CarId, out: W) -> Result<W, ShopError> {
        let car = self.car(id).await?;
        let mut events = Vec::new();
        while (events.len() as u64) < car.count {
            let page = self.store.events(id, events.len() as u64 + 1, PAGE).await?;
            if page.is_empty() {
                break;
            }
            events.extend(page);
        }
        events.truncate(usize::try_from(car.count).unwrap_or(usize::MAX));
        let mut writer = ParcelWriter::start(out, &car, &events)?;
        for hash in writer.wanted() {
            // A picture that is gone is left out: the copy then fails its check at that entry, as it should.
            if let Some(bytes) = self.store.blob(hash).await? {
                writer.add(hash, &bytes)?;
            }
        }
        Ok(writer.finish()?)
    }

    /// Takes a car in from a ZIP. A car this shop holds already is extended when the ZIP continues its record.
    ///
    /// # Errors
    /// When the ZIP is not a whole, unbroken car, or its record parts from the one held here. Nothing of it
    /// is in the record then.
    pub async fn import<R: Read + Seek + Send>(&self, reader: R, file: &str) -> Result<Imported, ShopError> {
        let mut parcel = Parcel::open(reader, file)?;
        let verdict = parcel.verify(None)?;
        if let Some(broken) = verdict.broken {
            return Err(ParcelError::Broken { file: file.into(), broken }.into());
        }
        let id = parcel.car();
        let held = match self.store.head(id).await? {
            None => 0,
            Some(head) => self.in_common(id, head.count, parcel.events(), file).await?,
        };
        let events = parcel.events().len() as u64;
        let new = parcel.events().get(usize::try_from(held).unwrap_or(usize::MAX)..).unwrap_or_default().to_vec();
        if !new.is_empty() {
            // Folding once proves that this program can show what it is about to take in.
            crate::car::Car::fold(parcel.events())
                .map_err(|broken| ParcelError::Broken { file: file.into(), broken })?;
            let named: BTreeSet<Hash> =
                new.iter().filter_map(|s| decode(s).ok()).flat_map(|e| e.what.blobs()).collect();
            while let Some((hash, bytes)) = parcel.next_file()? {
                if named.contains(&hash) {
                    self.store.put_blob(hash, &bytes).await?;
                }
            }
            if self.store.append(id, &new).await? != Appended::Kept {
                return Err(ShopError::Crowded);
            }
        }
        Ok(Imported { car: id, events: events.max(held), new: new.len() as u64 })
    }

    /// How many events this shop holds of a record that must not part from `events`.
    async fn in_common(
        &self,
        id: CarId,
        count: u64,
        events: &[crate::event::Stored],
        file: &str,
    ) -> Result<u64, ShopError> {
        let mut from = 1;
        while from <= count {
            let page = self.store.events(id, from, PAGE).await?;
            if page.is_empty() {
                break;
            }
            for ours in &page {
                let theirs = usize::try_from(ours.seq - 1).ok().and_then(|i| events.get(i));
                if theirs.is_some_and(|theirs| theirs.hash != ours.hash) {
                    return Err(ParcelError::Parted { file: file.into(), at: ours.seq }.into());
                }
                from = ours.seq + 1;
            }
        }
        Ok(count)
    }
}
