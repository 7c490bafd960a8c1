//! From what a driver says to what a person can act on.
//!
//! Sources of the codes: SQLite "Result and Error Codes" (sqlite.org/rescode.html); PostgreSQL 15 manual,
//! appendix A "PostgreSQL Error Codes".

use job::ports::StoreError;
use sqlx::error::DatabaseError;
use sqlx::migrate::MigrateError;
use sqlx::postgres::PgDatabaseError;

/// Our own words for something that does not fit; they travel as the driver's "cannot be decoded".
pub(crate) fn damaged(why: impl Into<String>) -> sqlx::Error {
    sqlx::Error::Decode(why.into().into())
}

/// Says what a driver's error means. `place` names the database without any password.
pub(crate) fn say(place: &str, error: sqlx::Error) -> StoreError {
    use sqlx::Error::{ColumnDecode, Configuration, Database, Decode, Io, Migrate, PoolTimedOut, Tls};
    match error {
        Database(e) if e.try_downcast_ref::<PgDatabaseError>().is_some() => postgres(place, &*e),
        Database(e) => sqlite(place, &*e),
        Decode(why) => StoreError::Damaged(format!("{place}: {why}")),
        ColumnDecode { index, source } => StoreError::Damaged(format!("{place}: column {index}: {source}")),
        Migrate(e) => migration(place, *e),
        PoolTimedOut => StoreError::Unreachable(format!("{place} gave no connection within 5 seconds")),
        Io(e) => StoreError::Unreachable(format!("{place}: {e}")),
        // The text of a configuration error may quote the address, and the address may hold a password.
        Configuration(_) => StoreError::Unreachable(format!("the address of {place} is not one")),
        Tls(_) => {
            StoreError::Unreachable(format!("{place} wants an encrypted connection, which this program cannot make"))
        }
        other => StoreError::Unreachable(format!("{place}: {other}")),
    }
}

fn migration(place: &str, error: MigrateError) -> StoreError {
    match error {
        MigrateError::VersionMissing(v) => {
            StoreError::Newer(format!("{place} has change {v}, which this version does not know"))
        }
        MigrateError::VersionMismatch(v) => {
            StoreError::Newer(format!("{place} has another change {v} than this version"))
        }
        other => StoreError::Damaged(format!("{place}: {other}")),
    }
}

fn sqlite(place: &str, error: &dyn DatabaseError) -> StoreError {
    let code: u32 = error.code().and_then(|code| code.parse().ok()).unwrap_or(0);
    let message = error.message();
    // The low byte is the kind of error, the rest says more about it.
    match (code & 0xff, code) {
        (5 | 6, _) => StoreError::Unreachable(format!("{place} is being written by another program")),
        // SQLITE_READONLY_DBMOVED
        (8, 1032) => StoreError::Unreachable(format!("{place} was moved or deleted while the program ran")),
        // SQLite gives the two files beside a protected one the same protection, and they outlive it.
        (8, _) => StoreError::ReadOnly(format!("{place} is write-protected, or {place}-wal or {place}-shm is")),
        // SQLITE_FULL, and SQLITE_IOERR_SHMSIZE: no room for the 32 kB of the file's own index.
        (13, _) | (_, 4874) => StoreError::Full(format!("the disk that holds {place}")),
        (10, _) => StoreError::Unreachable(format!("the disk that holds {place} failed: {message}")),
        (14, _) => StoreError::Unreachable(format!(
            "{place} cannot be opened; let the program read and write it and its folder"
        )),
        (26, _) => StoreError::Damaged(format!("{place} is not a database")),
        _ => StoreError::Damaged(format!("{place}: {message}")),
    }
}

fn postgres(place: &str, error: &dyn DatabaseError) -> StoreError {
    let code = error.code().unwrap_or_default();
    let message = error.message();
    let class = code.get(..2).unwrap_or_default();
    match (class, &*code) {
        (_, "25006") => StoreError::ReadOnly(format!("{place} only reads")),
        (_, "53100") => StoreError::Full(format!("the server of {place}")),
        ("28", _) => StoreError::Unreachable(format!("{place} refused the name or the password")),
        (_, "3D000") => StoreError::Unreachable(format!("the server of {place} has no database of that name")),
        (_, "42501") => StoreError::Unreachable(format!("{place} does not let this user do that: {message}")),
        (_, "57014" | "55P03") | ("40", _) => StoreError::Unreachable(format!("{place} is too busy")),
        ("08" | "53" | "57" | "58", _) => StoreError::Unreachable(format!("{place}: {message}")),
        _ => StoreError::Damaged(format!("{place}: {message}")),
    }
}
