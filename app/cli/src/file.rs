//! Files in and out: read up to a limit, written whole or not at all.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use job::table::Limits;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::answer::doubt;
use crate::stop::Stop;

/// Tables given on the command line may be long: 512 MB and two million rows.
pub(crate) const TABLE: Limits = Limits { bytes: 512 * 1024 * 1024, rows: 2_000_000, columns: 64, cell_bytes: 4096 };

/// The name of a file as messages give it.
pub(crate) fn name(path: &Path) -> String {
    path.display().to_string()
}

/// Reads a table's file whole, up to [`TABLE`]'s limit.
///
/// # Errors
/// When it cannot be read or is larger.
pub(crate) fn read(path: &Path) -> Result<Vec<u8>, Stop> {
    read_most(path, TABLE.bytes)
}

/// Reads a file whole, up to this many bytes.
///
/// # Errors
/// When it cannot be read or is larger.
pub(crate) fn read_most(path: &Path, most: usize) -> Result<Vec<u8>, Stop> {
    let refuse = |why: &dyn std::fmt::Display| Stop::input(format!("{}: {why}", name(path)));
    let file = open(path)?;
    let mut bytes = Vec::new();
    file.take(most as u64 + 1).read_to_end(&mut bytes).map_err(|e| refuse(&format!("cannot be read ({e})")))?;
    if bytes.len() > most {
        return Err(refuse(&format!("larger than {most} bytes, which is the most that is read")));
    }
    Ok(bytes)
}

/// A value from a JSON file that people edit, up to a megabyte.
///
/// # Errors
/// When it cannot be read, is longer, or is something else than `wanted`.
pub(crate) fn json<T: Serialize + DeserializeOwned>(path: &Path, wanted: &str) -> Result<T, Stop> {
    const MOST: usize = 1 << 20;
    let named = name(path);
    let bytes = read(path)?;
    if bytes.len() > MOST {
        return Err(Stop::input(format!("{named}: {} bytes; at most {MOST} are read", bytes.len())));
    }
    let refuse = |e: serde_json::Error| Stop::input(format!("{named}: {e}; needed: {wanted}"));
    let value: T = serde_json::from_slice(&bytes).map_err(refuse)?;
    let (given, taken) =
        (serde_json::from_slice(&bytes).map_err(refuse)?, serde_json::to_value(&value).map_err(refuse)?);
    let mut unused = Vec::new();
    find_unused("", &given, &taken, &mut unused);
    doubt(unused.iter().map(|key| format!("{named}: the key {key} is not used")));
    Ok(value)
}

/// The keys of `given` that are not in what was `taken` from it.
fn find_unused(path: &str, given: &Value, taken: &Value, unused: &mut Vec<String>) {
    match (given, taken) {
        (Value::Object(given), Value::Object(taken)) => {
            for (key, value) in given {
                match taken.get(key) {
                    Some(taken) => find_unused(&format!("{path}{key}."), value, taken, unused),
                    None => unused.push(format!("{path}{key}")),
                }
            }
        }
        (Value::Array(given), Value::Array(taken)) => {
            for (index, (value, taken)) in given.iter().zip(taken).enumerate() {
                find_unused(&format!("{path}{}.", index + 1), value, taken, unused);
            }
        }
        _ => {}
    }
}

/// Writes a file, whole or not at all.
///
/// # Errors
/// When it cannot be written.
pub(crate) fn write(path: &Path, bytes: &[u8]) -> Result<(), Stop> {
    let mut part = Part::begin(path)?;
    let mut out = part.take()?;
    out.write_all(bytes).map_err(|e| Stop::failed(format!("{}: cannot be written ({e})", name(path))))?;
    part.keep(out)
}

/// Whether a file could be written here, found out before long work is begun for it.
///
/// # Errors
/// When it could not.
pub(crate) fn writable(path: &Path) -> Result<(), Stop> {
    Part::begin(path).map(drop)
}

/// Opens a file for reading.
///
/// # Errors
/// When it cannot be opened or is a folder.
pub(crate) fn open(path: &Path) -> Result<File, Stop> {
    let refuse = |why: &dyn std::fmt::Display| Stop::input(format!("{}: {why}", name(path)));
    let file = File::open(path).map_err(|e| refuse(&format!("cannot be opened ({e})")))?;
    if file.metadata().is_ok_and(|m| m.is_dir()) {
        return Err(refuse(&"this is a folder; name a file"));
    }
    Ok(file)
}

/// A file being written beside the one it will become, so that nobody ever meets half of it.
///
/// Dropped before [`Part::keep`], it is taken away again.
pub(crate) struct Part {
    target: PathBuf,
    beside: PathBuf,
    file: Option<File>,
}

impl Part {
    /// Begins the file that will be `target`.
    ///
    /// # Errors
    /// When its folder cannot be written.
    pub(crate) fn begin(target: &Path) -> Result<Self, Stop> {
        let refuse = |why: &dyn std::fmt::Display| Stop::input(format!("{}: {why}", name(target)));
        let Some(last) = target.file_name() else { return Err(refuse(&"this names no file")) };
        if target.is_dir() {
            return Err(refuse(&"this is a folder; name a file"));
        }
        let beside = target.with_file_name(format!(".{}.{}.part", last.to_string_lossy(), std::process::id()));
        let file = File::create(&beside).map_err(|e| refuse(&format!("cannot be written ({e})")))?;
        Ok(Self { target: target.to_owned(), beside, file: Some(file) })
    }

    /// The file to write to.
    ///
    /// # Errors
    /// When it was taken before.
    pub(crate) fn take(&mut self) -> Result<File, Stop> {
        self.file.take().ok_or_else(|| Stop::failed("a file was asked for twice"))
    }

    /// Puts the finished file in its place. What stood there is replaced in one step.
    ///
    /// # Errors
    /// When it cannot be brought to the disk or put in place.
    pub(crate) fn keep(self, finished: File) -> Result<(), Stop> {
        let placed = finished.sync_all().and_then(|()| fs::rename(&self.beside, &self.target));
        placed.map_err(|e| Stop::failed(format!("{}: cannot be written ({e})", name(&self.target))))
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        // After `keep` there is nothing left to take away.
        let _ = fs::remove_file(&self.beside);
    }
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use super::Part;

    #[test]
    fn what_is_not_kept_leaves_nothing_behind() {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("car.zip");
        std::fs::write(&target, "old").unwrap();
        {
            let mut part = Part::begin(&target).unwrap();
            part.take().unwrap().write_all(b"half").unwrap();
        }
        assert_eq!(std::fs::read(&target).unwrap(), b"old");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);

        let mut part = Part::begin(&target).unwrap();
        let mut file = part.take().unwrap();
        file.write_all(b"whole").unwrap();
        part.keep(file).unwrap();
        assert_eq!(std::fs::read(&target).unwrap(), b"whole");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
