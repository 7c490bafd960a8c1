//! Backup and restore of the whole shop, while it runs.
//!
//! | file | holds |
//! |---|---|
//! | `shop.json` | format, version, how far each record had got, how many people |
//! | `people.jsonl` | everybody, with their passphrases as argon2 strings |
//! | `cars/<id>.jsonl` | each car's events, byte for byte |
//! | `files/<hash>` | every picture and file |
//!
//! A record only grows, and pictures are kept before the entries that name them. So the heads are read first,
//! then the events up to them, then every picture: whatever is written meanwhile, the copy is whole. The same
//! file restores into either database. Sessions are not copied: every device signs in again. Nor are owners' links
//! and visits: a link that was taken back since must not come to life again.

use std::collections::BTreeSet;
use std::io::{Read, Seek, Write};

use serde::{Deserialize, Serialize};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use super::{PAGE, Shop, ShopError};
use crate::car::Car;
use crate::event::{Stored, decode};
use crate::ids::{CarId, Hash, PersonId};
use crate::parcel::{LinesError, read_lines};
use crate::person::{Person, Role};
use crate::ports::{Appended, Head, StoreError};

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
    people: usize,
    cars: Vec<CarLine>,
}

/// How far a car's record had got: without it, a record cut short would pass for a whole one.
#[derive(Serialize, Deserialize)]
struct CarLine {
    car: CarId,
    events: u64,
    head: Hash,
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
        let heads = self.store().heads().await?;
        let people = self.store().people().await?;
        let cars = heads.iter().map(|Head { car, count, hash }| CarLine { car: *car, events: *count, head: *hash });
        let manifest =
            Manifest { format: FORMAT.into(), version: u64::from(VERSION), people: people.len(), cars: cars.collect() };
        put(&mut zip, "shop.json", serde_json::to_string(&manifest).map_err(|e| failed(&e))?.as_bytes(), packed)?;
        let mut lines = String::new();
        for Person { id, name, role, passphrase, active } in people {
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
        let mut copy = Copy::open(reader, file)?;
        // Everything is read and checked before the first byte is written: half a shop would stand in the way
        // of the next attempt.
        let people = copy.people()?;
        let records = copy.records()?;
        copy.check_files(&records)?;
        let mut done = Restored { cars: 0, events: 0, people: 0, files: 0 };
        for name in copy.files() {
            let (hash, bytes) = copy.file(&name)?;
            self.store().put_blob(hash, &bytes).await?;
            done.files += 1;
        }
        for person in people {
            self.store().put_person(&person).await?;
            done.people += 1;
        }
        for (car, events) in records {
            if self.store().append(car, &events).await? != Appended::Kept {
                return Err(copy.failed(format!("car {car} could not be placed")));
            }
            done.cars += 1;
            done.events += events.len() as u64;
        }
        Ok(done)
    }
}

/// A backup, opened for reading.
struct Copy<'a, R: Read + Seek> {
    file: &'a str,
    zip: ZipArchive<R>,
    manifest: Manifest,
}

impl<'a, R: Read + Seek> Copy<'a, R> {
    fn open(reader: R, file: &'a str) -> Result<Self, BackupError> {
        let failed = |why: String| BackupError::File { file: file.into(), why };
        let mut zip =
            ZipArchive::new(reader).map_err(|e| failed(format!("this is not a backup that can be read ({e})")))?;
        let text = part(&mut zip, "shop.json").map_err(failed)?;
        // The version is read first, on its own: a newer format may have changed everything else.
        let told: serde_json::Value = serde_json::from_slice(&text).map_err(|e| failed(format!("shop.json: {e}")))?;
        if told["format"] != FORMAT {
            return Err(failed(format!("shop.json names the format {}, not \"{FORMAT}\"", told["format"])));
        }
        let found = told["version"].as_u64().unwrap_or(u64::MAX);
        if found > u64::from(VERSION) {
            return Err(BackupError::Newer { file: file.into(), found });
        }
        let manifest = serde_json::from_slice(&text).map_err(|e| failed(format!("shop.json: {e}")))?;
        Ok(Self { file, zip, manifest })
    }

    fn failed(&self, why: String) -> BackupError {
        BackupError::File { file: self.file.into(), why }
    }

    fn people(&mut self) -> Result<Vec<Person>, BackupError> {
        let text = part(&mut self.zip, "people.jsonl").map_err(|why| self.failed(why))?;
        let mut people = Vec::new();
        for line in text.split(|b| *b == b'\n').filter(|l| !l.is_empty()) {
            let PersonLine { id, name, role, passphrase, active } =
                serde_json::from_slice(line).map_err(|e| self.failed(format!("people.jsonl: {e}")))?;
            people.push(Person { id, name, role, passphrase, active });
        }
        if people.len() != self.manifest.people {
            let why = format!("shop.json says {} people; people.jsonl holds {}", self.manifest.people, people.len());
            return Err(self.failed(why));
        }
        Ok(people)
    }

    fn records(&mut self) -> Result<Vec<(CarId, Vec<Stored>)>, BackupError> {
        let mut records = Vec::new();
        for told in &self.manifest.cars {
            let name = format!("cars/{}.jsonl", told.car);
            let failed = |why: String| BackupError::File { file: self.file.into(), why: format!("{name}: {why}") };
            let text = self.zip.by_name(&name).map_err(|e| failed(e.to_string()))?;
            let events = read_lines(text).map_err(|e| match e {
                LinesError::TooLong(line) => failed(format!("line {line} is past what one record may hold")),
                LinesError::Unreadable(why) => failed(why),
            })?;
            let car = Car::fold(&events).map_err(|b| failed(format!("broken at entry {}: {}", b.at, b.why)))?;
            if (car.id, car.count, car.head) != (told.car, told.events, told.head) {
                return Err(failed(format!(
                    "shop.json says {} entries, the last with another hash; the record holds {}",
                    told.events, car.count
                )));
            }
            records.push((car.id, events));
        }
        Ok(records)
    }

    fn files(&self) -> Vec<String> {
        self.zip.file_names().filter(|name| name.starts_with("files/")).map(String::from).collect()
    }

    fn file(&mut self, name: &str) -> Result<(Hash, Vec<u8>), BackupError> {
        let bytes = part(&mut self.zip, name).map_err(|why| self.failed(why))?;
        let hash = Hash::of(&bytes);
        if name.strip_prefix("files/") != Some(&hash.to_string()) {
            return Err(self.failed(format!("{name} was altered: its hash is another")));
        }
        Ok((hash, bytes))
    }

    fn check_files(&mut self, records: &[(CarId, Vec<Stored>)]) -> Result<(), BackupError> {
        let mut here = BTreeSet::new();
        for name in self.files() {
            here.insert(self.file(&name)?.0);
        }
        for (car, events) in records {
            let named = events.iter().filter_map(|s| decode(s).ok()).flat_map(|e| e.what.blobs());
            if let Some(gone) = named.into_iter().find(|hash| !here.contains(hash)) {
                return Err(self.failed(format!("files/{gone} is missing, which the record of car {car} names")));
            }
        }
        Ok(())
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
