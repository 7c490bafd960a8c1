//! Backup and restore of the whole shop, while it runs.
//!
//! | file | holds |
//! |---|---|
//! | `shop.json` | format, version, how many cars and people |
//! | `people.jsonl` | everybody, with their passphrases as argon2 strings |
//! | `cars/<id>.jsonl` | each car's events, byte for byte |
//! | `files/<hash>` | every picture and file |
//!
//! A record only grows, and pictures are kept before the entries that name them. So the heads are read first,
//! then the events up to them, then every picture: whatever is written meanwhile, the copy is whole. The same
//! file restores into either database. Sessions are not copied: every device signs in again.

use std::io::{BufRead, BufReader, Read, Seek, Write};

use serde::{Deserialize, Serialize};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use super::{PAGE, Shop, ShopError};
use crate::car::Car;
use crate::event::{MAX_EVENT_BYTES, Stored, entry_of};
use crate::ids::{CarId, Hash, PersonId};
use crate::parcel::MAX_EVENTS;
use crate::person::{Person, Role};
use crate::ports::{Appended, StoreError};

const FORMAT: &str = "guidecoat shop";
const VERSION: u32 = 1;
/// The most bytes one file in a backup may unpack to.
const MAX_FILE_BYTES: u64 = 64 * 1024 * 1024;

/// Why a backup could not be written or restored.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// The file cannot be read or written.
    #[error("{file}: {why}")]
    File {
        /// The file.
        file: String,
        /// What is wrong.
        why: String,
    },
    /// Written by a newer program.
    #[error("{file}: version {found} of the backup format; this program reads up to version {VERSION}")]
    Newer {
        /// The file.
        file: String,
        /// The version found.
        found: u64,
    },
    /// The database already holds a shop.
    #[error(
        "the database already holds {cars} cars and {people} people. A backup is restored only into an empty one, so that nothing can be lost: choose another with --database"
    )]
    NotEmpty {
        /// Cars it holds.
        cars: usize,
        /// People it holds.
        people: usize,
    },
    /// The shop could not be read or written.
    #[error(transparent)]
    Shop(#[from] ShopError),
}

impl From<StoreError> for BackupError {
    fn from(e: StoreError) -> Self {
        Self::Shop(e.into())
    }
}

/// What a backup holds or a restore brought back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Restored {
    /// Cars.
    pub cars: u64,
    /// Entries of all cars.
    pub events: u64,
    /// People.
    pub people: u64,
    /// Pictures and files.
    pub files: u64,
}

#[derive(Serialize, Deserialize)]
struct Manifest {
    format: String,
    version: u64,
}

#[derive(Serialize, Deserialize)]
struct PersonLine {
    id: PersonId,
    name: String,
    role: Role,
    passphrase: Option<String>,
    active: bool,
}

impl Shop {
    /// Writes the whole shop to `out`, while others go on working.
    ///
    /// # Errors
    /// When the shop cannot be read or `out` cannot be written.
    pub async fn backup<W: Write + Seek + Send>(&self, out: W, file: &str) -> Result<Restored, BackupError> {
        let failed = |e: &dyn std::fmt::Display| BackupError::File {
            file: file.into(),
            why: format!("cannot be written ({e})"),
        };
        let packed = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated).large_file(true);
        let flat = SimpleFileOptions::default().compression_method(CompressionMethod::Stored).large_file(true);
        let mut zip = ZipWriter::new(out);
        let mut done = Restored { cars: 0, events: 0, people: 0, files: 0 };
        let put = |zip: &mut ZipWriter<W>, name: &str, bytes: &[u8], options| {
            zip.start_file(name, options).map_err(|e| failed(&e))?;
            zip.write_all(bytes).map_err(|e| failed(&e))
        };
        let manifest = Manifest { format: FORMAT.into(), version: u64::from(VERSION) };
        let heads = self.store().heads().await?;
        put(&mut zip, "shop.json", serde_json::to_string(&manifest).map_err(|e| failed(&e))?.as_bytes(), packed)?;
        let mut lines = String::new();
        for Person { id, name, role, passphrase, active } in self.store().people().await? {
            let line = PersonLine { id, name, role, passphrase, active };
            lines += &serde_json::to_string(&line).map_err(|e| failed(&e))?;
            lines.push('\n');
            done.people += 1;
        }
        put(&mut zip, "people.jsonl", lines.as_bytes(), packed)?;
        for head in heads {
            put(&mut zip, &format!("cars/{}.jsonl", head.car), b"", packed)?;
            let mut from = 1;
            while from <= head.count {
                let page = self.store().events(head.car, from, PAGE).await?;
                let Some(last) = page.last() else { break };
                from = last.seq + 1;
                for stored in page.iter().filter(|s| s.seq <= head.count) {
                    zip.write_all(stored.body.as_bytes())
                        .and_then(|()| zip.write_all(b"\n"))
                        .map_err(|e| failed(&e))?;
                    done.events += 1;
                }
            }
            done.cars += 1;
        }
        let mut after = None;
        loop {
            let hashes = self.store().blob_hashes(after, PAGE).await?;
            let Some(last) = hashes.last() else { break };
            after = Some(*last);
            for hash in hashes {
                if let Some(bytes) = self.store().blob(hash).await? {
                    put(&mut zip, &format!("files/{hash}"), &bytes, flat)?;
                    done.files += 1;
                }
            }
        }
        zip.finish().map_err(|e| failed(&e))?.flush().map_err(|e| failed(&e))?;
        Ok(done)
    }

    /// Brings a shop back from a backup, into an empty database.
    ///
    /// # Errors
    /// When the database is not empty, the file is no backup, or a record in it is broken. Every record is
    /// checked before the first is written.
    pub async fn restore<R: Read + Seek + Send>(&self, reader: R, file: &str) -> Result<Restored, BackupError> {
        let (cars, people) = (self.store().heads().await?.len(), self.store().people().await?.len());
        if cars + people > 0 {
            return Err(BackupError::NotEmpty { cars, people });
        }
        let failed = |why: String| BackupError::File { file: file.into(), why };
        let mut zip =
            ZipArchive::new(reader).map_err(|e| failed(format!("this is not a backup that can be read ({e})")))?;
        let text = part(&mut zip, "shop.json").map_err(failed)?;
        let manifest: Manifest = serde_json::from_slice(&text).map_err(|e| failed(format!("shop.json: {e}")))?;
        if manifest.format != FORMAT {
            return Err(failed(format!("shop.json names the format \"{}\", not \"{FORMAT}\"", manifest.format)));
        }
        if manifest.version > u64::from(VERSION) {
            return Err(BackupError::Newer { file: file.into(), found: manifest.version });
        }
        let names: Vec<String> = zip.file_names().map(String::from).collect();
        let mut records = Vec::new();
        for name in names.iter().filter(|n| n.starts_with("cars/")) {
            records.push(record(&mut zip, name).map_err(failed)?);
        }
        let mut done = Restored { cars: 0, events: 0, people: 0, files: 0 };
        for name in &names {
            let Some(hash) = name.strip_prefix("files/").and_then(|h| h.parse::<Hash>().ok()) else { continue };
            let bytes = part(&mut zip, name).map_err(failed)?;
            if Hash::of(&bytes) != hash {
                return Err(failed(format!("{name} was altered: its hash is another")));
            }
            self.store().put_blob(hash, &bytes).await?;
            done.files += 1;
        }
        let people = part(&mut zip, "people.jsonl").map_err(failed)?;
        for line in people.split(|b| *b == b'\n').filter(|l| !l.is_empty()) {
            let PersonLine { id, name, role, passphrase, active } =
                serde_json::from_slice(line).map_err(|e| failed(format!("people.jsonl: {e}")))?;
            self.store().put_person(&Person { id, name, role, passphrase, active }).await?;
            done.people += 1;
        }
        for (car, events) in records {
            if self.store().append(car, &events).await? != Appended::Kept {
                return Err(failed(format!("car {car} could not be placed")));
            }
            done.cars += 1;
            done.events += events.len() as u64;
        }
        Ok(done)
    }
}

fn part<R: Read + Seek>(zip: &mut ZipArchive<R>, name: &str) -> Result<Vec<u8>, String> {
    let entry = zip.by_name(name).map_err(|e| format!("{name}: {e}"))?;
    let mut bytes = Vec::new();
    entry.take(MAX_FILE_BYTES + 1).read_to_end(&mut bytes).map_err(|e| format!("{name}: {e}"))?;
    if bytes.len() as u64 > MAX_FILE_BYTES {
        return Err(format!("{name} unpacks to more than {} MB", MAX_FILE_BYTES / (1024 * 1024)));
    }
    Ok(bytes)
}

fn record<R: Read + Seek>(zip: &mut ZipArchive<R>, name: &str) -> Result<(CarId, Vec<Stored>), String> {
    let mut lines = BufReader::new(zip.by_name(name).map_err(|e| format!("{name}: {e}"))?);
    let mut events = Vec::new();
    loop {
        let mut line = Vec::new();
        let read = lines.by_ref().take(MAX_EVENT_BYTES as u64 + 2).read_until(b'\n', &mut line);
        if read.map_err(|e| format!("{name}: {e}"))? == 0 {
            break;
        }
        if line.pop_if(|b| *b == b'\n').is_none() || events.len() as u64 >= MAX_EVENTS {
            return Err(format!("{name}: line {} is cut off or past what a record may hold", events.len() + 1));
        }
        let body = String::from_utf8(line).map_err(|_| format!("{name}: line {} is not UTF-8", events.len() + 1))?;
        let entry = entry_of(&body).ok_or_else(|| format!("{name}: line {} is no entry", events.len() + 1))?;
        events.push(Stored { seq: events.len() as u64 + 1, entry, hash: Hash::of(body.as_bytes()), body });
    }
    let car = Car::fold(&events).map_err(|broken| format!("{name}: broken at entry {}: {}", broken.at, broken.why))?;
    Ok((car.id, events))
}
