//! A whole car as one ZIP of open files: JSON lines, CSV and pictures, that another installation opens.
//!
//! | file | holds |
//! |---|---|
//! | `car.json` | format, version, the car, count and head of its record |
//! | `events.jsonl` | every event, one a line, byte for byte as hashed |
//! | `photographs/`, `thumbs/`, `colour/`, `reports/` | the pictures, measurement files and printed reports the events name, by content |
//! | `zones.csv`, `readings.csv` | the same facts as tables, for other programs; not read back |
//!
//! Names of pictures are for people. On the way in, a file is known by the hash of its bytes and nothing is
//! ever written to a path that the ZIP names.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Read, Seek, Write};

use serde::{Deserialize, Serialize};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use crate::car::Car;
use crate::chain::{Break, Checker, Verdict};
use crate::event::{MAX_EVENT_BYTES, Stored, decode, entry_of};
use crate::ids::{CarId, EntryId, Hash};
use crate::what::What;

/// The format's name in `car.json`.
const FORMAT: &str = "guidecoat car";
/// The version this program writes, and the highest it reads.
const VERSION: u32 = 1;
/// The most files a ZIP may hold: two for every entry, and those that stand beside them.
const MAX_FILES: usize = 2 * MAX_EVENTS as usize + 16;
/// The most bytes one picture or file in it may unpack to.
const MAX_FILE_BYTES: u64 = 64 * 1024 * 1024;
/// The most events one record may hold.
pub const MAX_EVENTS: u64 = 50_000;
/// The most bytes the text of a record may unpack to; an entry is some 500 bytes, a measured paint 5 000.
const MAX_RECORD_BYTES: u64 = 256 * 1024 * 1024;
/// The most bytes all files together may unpack to: some 10 000 photographs.
const MAX_TOTAL_BYTES: u64 = 16 * 1024 * 1024 * 1024;

/// Why a ZIP is not a car that can be opened here.
#[derive(Debug, thiserror::Error)]
pub enum ParcelError {
    /// Not a ZIP, or damaged.
    #[error("{file}: this is not a ZIP file that can be read ({why}). Export the car again and copy the file whole")]
    NotZip {
        /// The file.
        file: String,
        /// What the reader said.
        why: String,
    },
    /// A ZIP of something else.
    #[error("{file}: {what} is missing or unreadable ({why}): this ZIP was not made by \"export\" of a car")]
    NotCar {
        /// The file.
        file: String,
        /// The part that is missing.
        what: &'static str,
        /// What is wrong.
        why: String,
    },
    /// From a newer program.
    #[error(
        "{file}: version {found} of the format; this program reads up to version {VERSION}. Use the version that wrote it, or a later one"
    )]
    Newer {
        /// The file.
        file: String,
        /// The version it says it has.
        found: u32,
    },
    /// A name inside that leads outside.
    #[error("{file}: it holds the name \"{name}\", which leads outside the ZIP. Nothing was taken from it")]
    Escapes {
        /// The file.
        file: String,
        /// The name.
        name: String,
    },
    /// More than this program unpacks.
    #[error("{file}: {what}. Nothing was taken from it")]
    TooLarge {
        /// The file.
        file: String,
        /// What is too large, and the limit.
        what: String,
    },
    /// The record inside is broken.
    #[error("{file}: the record is broken at entry {}: {}. Nothing was taken from it", .broken.at, .broken.why)]
    Broken {
        /// The file.
        file: String,
        /// Where and how.
        broken: Break,
    },
    /// This shop holds the same car with another history.
    #[error(
        "{file}: this shop already holds the car, and the two records part at entry {at}. Nothing was taken from it; keep the one you trust, and add what is missing by hand"
    )]
    Parted {
        /// The file.
        file: String,
        /// The first entry that differs.
        at: u64,
    },
    /// Reading or writing failed.
    #[error("{file}: {why}")]
    Io {
        /// The file.
        file: String,
        /// What failed.
        why: String,
    },
}

#[derive(Serialize, Deserialize)]
struct Manifest {
    format: String,
    version: u32,
    car: CarId,
    title: String,
    events: u64,
    head: Hash,
}

/// Writes a car's ZIP, file by file.
pub struct ParcelWriter<W: Write + Seek> {
    zip: ZipWriter<W>,
    names: BTreeMap<Hash, String>,
}

impl<W: Write + Seek> ParcelWriter<W> {
    /// Starts with the record itself.
    ///
    /// # Errors
    /// When `out` cannot be written.
    pub fn start(out: W, car: &Car, events: &[Stored]) -> Result<Self, ParcelError> {
        let mut writer = Self { zip: ZipWriter::new(out), names: names(car) };
        let manifest = Manifest {
            format: FORMAT.into(),
            version: VERSION,
            car: car.id,
            title: car.details.title.clone(),
            events: car.count,
            head: car.head,
        };
        let manifest = serde_json::to_string_pretty(&manifest).map_err(out_error)?;
        writer.text("car.json", manifest.as_bytes())?;
        let mut lines = String::new();
        for stored in events {
            lines.push_str(&stored.body);
            lines.push('\n');
        }
        writer.text("events.jsonl", lines.as_bytes())?;
        writer.text("zones.csv", crate::sheets::zones_csv(car).as_bytes())?;
        writer.text("readings.csv", crate::sheets::readings_csv(car).as_bytes())?;
        Ok(writer)
    }

    /// The hashes of the files still to be added.
    pub fn wanted(&self) -> Vec<Hash> {
        self.names.keys().copied().collect()
    }

    /// Adds one of them.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn add(&mut self, hash: Hash, bytes: &[u8]) -> Result<(), ParcelError> {
        let name = self.names.remove(&hash).unwrap_or_else(|| format!("files/{hash}"));
        // Pictures are packed already; packing them again only costs time.
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
        self.file(&name, bytes, options)
    }

    fn text(&mut self, name: &str, bytes: &[u8]) -> Result<(), ParcelError> {
        self.file(name, bytes, SimpleFileOptions::default().compression_method(CompressionMethod::Deflated))
    }

    fn file(&mut self, name: &str, bytes: &[u8], options: SimpleFileOptions) -> Result<(), ParcelError> {
        self.zip.start_file(name, options).map_err(out_error)?;
        self.zip.write_all(bytes).map_err(out_error)
    }

    /// Closes the ZIP and gives the writer back.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn finish(self) -> Result<W, ParcelError> {
        self.zip.finish().map_err(out_error)
    }
}

fn out_error(e: impl std::fmt::Display) -> ParcelError {
    ParcelError::Io { file: "the ZIP".into(), why: format!("cannot be written ({e})") }
}

/// A name for every file that the record names.
fn names(car: &Car) -> BTreeMap<Hash, String> {
    let mut names = BTreeMap::new();
    for entry in car.entries() {
        match &entry.what {
            What::Photographed(photo) => {
                let zone = plain_name(photo.zone.as_deref().unwrap_or("unplaced"));
                names.insert(photo.picture, format!("photographs/{:05}-{zone}.jpg", entry.seq));
                names.entry(photo.thumb).or_insert_with(|| format!("thumbs/{:05}-{zone}.jpg", entry.seq));
            }
            What::Measured(measured) => {
                let kind = if measured.is_picture() { "jpg" } else { "csv" };
                names.insert(measured.source, format!("colour/{:05}.{kind}", entry.seq));
            }
            What::Shelved(shelf) => {
                names.insert(shelf.file, format!("colour/{:05}-toners.json", entry.seq));
                for (number, kept) in (1..).zip(&shelf.panels_files) {
                    names.entry(kept.hash).or_insert_with(|| format!("colour/{:05}-panels-{number}.csv", entry.seq));
                }
            }
            What::Carded(card) => {
                names.insert(card.source, format!("colour/{:05}.csv", entry.seq));
            }
            What::Reported(report) => {
                names.insert(report.pdf, format!("reports/{:05}.pdf", entry.seq));
            }
            // A file that no name was thought of for travels all the same: without it the record does not verify.
            other => {
                for (number, hash) in (1..).zip(other.blobs()) {
                    names.entry(hash).or_insert_with(|| format!("files/{:05}-{number}", entry.seq));
                }
            }
        }
    }
    names
}

/// A zone as part of a file's name: a record that came from elsewhere may say anything.
fn plain_name(zone: &str) -> String {
    zone.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '.').take(20).collect()
}

/// A car's ZIP, opened and read as far as its record.
pub struct Parcel<R: Read + Seek> {
    file: String,
    zip: ZipArchive<R>,
    manifest: Manifest,
    events: Vec<Stored>,
    next: usize,
}

impl<R: Read + Seek> Parcel<R> {
    /// Opens a ZIP and reads its record. `file` is the name that messages use.
    ///
    /// # Errors
    /// When it is no ZIP, no car, too large, of a newer format, or holds a name that leads outside.
    pub fn open(reader: R, file: &str) -> Result<Self, ParcelError> {
        let named = file.to_owned();
        let mut zip =
            ZipArchive::new(reader).map_err(|e| ParcelError::NotZip { file: named.clone(), why: e.to_string() })?;
        if zip.len() > MAX_FILES {
            let what = format!("it holds {} files; at most {MAX_FILES} are read", zip.len());
            return Err(ParcelError::TooLarge { file: named, what });
        }
        for index in 0..zip.len() {
            let entry =
                zip.by_index_raw(index).map_err(|e| ParcelError::NotZip { file: named.clone(), why: e.to_string() })?;
            if entry.enclosed_name().is_none() {
                return Err(ParcelError::Escapes { file: named, name: entry.name().chars().take(120).collect() });
            }
        }
        let text = part(&mut zip, &named, "car.json", 64 * 1024)?;
        let not_car = |why: String| ParcelError::NotCar { file: named.clone(), what: "car.json", why };
        // The version is read first, on its own: a newer format may have changed everything else.
        let version = serde_json::from_slice::<serde_json::Value>(&text).map_err(|e| not_car(e.to_string()))?;
        if version["format"] != FORMAT {
            return Err(not_car("it names another format".into()));
        }
        let found = version["version"].as_u64().and_then(|v| u32::try_from(v).ok()).unwrap_or(u32::MAX);
        if found > VERSION {
            return Err(ParcelError::Newer { file: named, found });
        }
        let manifest: Manifest = serde_json::from_slice(&text).map_err(|e| not_car(e.to_string()))?;
        let events = events(&mut zip, &named)?;
        Ok(Self { file: named, zip, manifest, events, next: 0 })
    }

    /// The car inside.
    pub fn car(&self) -> CarId {
        self.manifest.car
    }

    /// Its record, in order.
    pub fn events(&self) -> &[Stored] {
        &self.events
    }

    /// The next picture or file inside, with its hash, until none is left.
    ///
    /// # Errors
    /// When one cannot be read or is too large.
    pub fn next_file(&mut self) -> Result<Option<(Hash, Vec<u8>)>, ParcelError> {
        while self.next < self.zip.len() {
            let name = self.zip.name_for_index(self.next).unwrap_or_default().to_owned();
            self.next += 1;
            if name.ends_with('/') || !name.contains('/') {
                continue;
            }
            let bytes = part(&mut self.zip, &self.file, &name, MAX_FILE_BYTES)?;
            return Ok(Some((Hash::of(&bytes), bytes)));
        }
        Ok(None)
    }

    /// Checks the record, its head against `car.json`, and that every file it names is there.
    ///
    /// # Errors
    /// When a file cannot be read; a broken record is a verdict, not an error.
    pub fn verify(&mut self, expected: Option<Hash>) -> Result<Verdict, ParcelError> {
        let mut present = BTreeSet::new();
        self.next = 0;
        let mut total = 0;
        while let Some((hash, bytes)) = self.next_file()? {
            present.insert(hash);
            total += bytes.len() as u64;
            if total > MAX_TOTAL_BYTES {
                let what = format!("it unpacks to more than {}", size(MAX_TOTAL_BYTES));
                return Err(ParcelError::TooLarge { file: self.file.clone(), what });
            }
        }
        self.next = 0;
        let mut checker = Checker::new(expected);
        for stored in &self.events {
            checker.take(stored);
            if let Ok(event) = decode(stored)
                && event.what.blobs().iter().any(|hash| !present.contains(hash))
            {
                checker.missing(stored.seq, "a picture or file it names is missing or was altered".into());
            }
        }
        let car = checker.car();
        let verdict = checker.finish();
        let broken = verdict.broken.clone().or_else(|| self.against_manifest(&verdict, car));
        Ok(Verdict { broken, ..verdict })
    }

    /// What `car.json` says otherwise than a record that is whole in itself.
    fn against_manifest(&self, verdict: &Verdict, car: Option<CarId>) -> Option<Break> {
        let (events, told) = (verdict.events, &self.manifest);
        let (at, why) = if events == 0 {
            (1, "the record is empty".to_owned())
        } else if events != told.events {
            (events.min(told.events) + 1, format!("car.json says {} entries; the record holds {events}", told.events))
        } else if verdict.head != told.head {
            (events, "car.json names another hash for the last entry".to_owned())
        } else if car != Some(told.car) {
            (1, "car.json names another car".to_owned())
        } else {
            return None;
        };
        Some(Break { at, why })
    }
}

/// Reads one file out of a ZIP, up to a limit, whatever size the ZIP claims for it.
fn part<R: Read + Seek>(zip: &mut ZipArchive<R>, file: &str, name: &str, limit: u64) -> Result<Vec<u8>, ParcelError> {
    let entry = zip.by_name(name).map_err(|e| match e {
        zip::result::ZipError::FileNotFound => {
            ParcelError::NotCar { file: file.into(), what: "car.json", why: "there is none".into() }
        }
        e => ParcelError::NotZip { file: file.into(), why: format!("{name}: {e}") },
    })?;
    let mut bytes = Vec::new();
    let read = entry.take(limit + 1).read_to_end(&mut bytes);
    read.map_err(|e| ParcelError::NotZip { file: file.into(), why: format!("{name}: {e}") })?;
    if bytes.len() as u64 > limit {
        let what = format!("{name} unpacks to more than {}", size(limit));
        return Err(ParcelError::TooLarge { file: file.into(), what });
    }
    Ok(bytes)
}

fn size(bytes: u64) -> String {
    const KB: u64 = 1024;
    match bytes {
        0..0x10_0000 => format!("{} KB", bytes / KB),
        0x10_0000..0x4000_0000 => format!("{} MB", bytes / (KB * KB)),
        _ => format!("{} GB", bytes / (KB * KB * KB)),
    }
}

fn events<R: Read + Seek>(zip: &mut ZipArchive<R>, file: &str) -> Result<Vec<Stored>, ParcelError> {
    let entry = zip.by_name("events.jsonl").map_err(|e| ParcelError::NotCar {
        file: file.into(),
        what: "events.jsonl",
        why: e.to_string(),
    })?;
    read_lines(entry).map_err(|e| match e {
        LinesError::TooLong(line) => ParcelError::TooLarge {
            file: file.into(),
            what: format!("line {line} of events.jsonl is past what one record may hold"),
        },
        LinesError::Unreadable(why) => ParcelError::NotCar { file: file.into(), what: "events.jsonl", why },
    })
}

/// Why lines of text are not a record.
pub(crate) enum LinesError {
    /// This line is longer than an entry can be, or one too many.
    TooLong(u64),
    /// The text cannot be read.
    Unreadable(String),
}

/// Reads a record from its lines. Whether they hang together is for the chain to say.
pub(crate) fn read_lines(text: impl Read) -> Result<Vec<Stored>, LinesError> {
    let mut lines = BufReader::new(text);
    let (mut events, mut total) = (Vec::new(), 0);
    loop {
        let seq = events.len() as u64 + 1;
        let mut line = Vec::new();
        let limit = MAX_EVENT_BYTES as u64 + 1;
        let read = lines.by_ref().take(limit).read_until(b'\n', &mut line);
        if read.map_err(|e| LinesError::Unreadable(e.to_string()))? == 0 {
            return Ok(events);
        }
        total += line.len() as u64;
        if line.pop_if(|byte| *byte == b'\n').is_none() && line.len() as u64 == limit
            || seq > MAX_EVENTS
            || total > MAX_RECORD_BYTES
        {
            return Err(LinesError::TooLong(seq));
        }
        let body = String::from_utf8(line).map_err(|_| LinesError::Unreadable(format!("line {seq} is not UTF-8")))?;
        // The entry's name is taken from the text itself; a text without one still counts, as a broken link.
        let entry = entry_of(&body).unwrap_or(EntryId(uuid::Uuid::nil()));
        events.push(Stored { seq, entry, hash: Hash::of(body.as_bytes()), body });
    }
}
