//! Opening a SQLite file, for writing or, where that is all there is, for reading.

use std::path::Path;

use job::ports::StoreError;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sqlx::{ConnectOptions, Sqlite};

use crate::database::{Pools, WAIT, prepare};
use crate::errors;

static MIGRATIONS: sqlx::migrate::Migrator = sqlx::migrate!("migrations/sqlite");

/// Readers beside the one writer. In the write-ahead mode they wait for nobody.
const READERS: u32 = 4;

/// Opens the file at `path`, which is made when there is none.
pub(crate) async fn open(path: &str) -> Result<Pools<Sqlite>, StoreError> {
    look_around(Path::new(path))?;
    let writing = SqliteConnectOptions::new()
        .filename(path)
        .create_if_missing(true)
        .journal_mode(SqliteJournalMode::Wal)
        // With FULL every commit waits for the disk: a power cut loses nothing that was acknowledged.
        .synchronous(SqliteSynchronous::Full)
        .busy_timeout(WAIT)
        .foreign_keys(true);
    let reading = writing.clone().create_if_missing(false).pragma("query_only", "ON");
    let (writing, reading) = match ready(&writing).await {
        Ok(()) => (writing, reading),
        Err(error) if frozen(Path::new(path), &error) => {
            let frozen = SqliteConnectOptions::new().filename(path).read_only(true).immutable(true);
            ready(&frozen).await.map_err(|e| errors::say(path, e))?;
            (frozen.clone(), frozen)
        }
        Err(error) => return Err(errors::say(path, error)),
    };
    let pool = |most| SqlitePoolOptions::new().max_connections(most).acquire_timeout(WAIT);
    Ok(Pools {
        write: pool(1).connect_lazy_with(writing),
        read: pool(READERS).connect_lazy_with(reading),
        // Taking the write lock at once: a transaction that reads first and then wants to write could be
        // refused half-way.
        begin: "BEGIN IMMEDIATE",
    })
}

async fn ready(options: &SqliteConnectOptions) -> Result<(), sqlx::Error> {
    let mut connection = options.connect().await?;
    prepare(&mut connection, &MIGRATIONS).await?;
    sqlx::Connection::close(connection).await
}

/// Says what is wrong in words where SQLite would only say that it cannot open the file.
fn look_around(path: &Path) -> Result<(), StoreError> {
    let shown = path.display();
    let refuse = |why: String| Err(StoreError::Unreachable(why));
    if path.as_os_str().is_empty() || path == Path::new(":memory:") {
        return refuse("the address names no file; write sqlite:PATH".into());
    }
    if path.is_dir() {
        return refuse(format!("{shown} is a folder, not a file"));
    }
    match path.parent() {
        Some(folder) if folder != Path::new("") && !folder.is_dir() => {
            refuse(format!("there is no folder {}", folder.display()))
        }
        _ => Ok(()),
    }
}

/// Whether a file that could not be opened for writing can still be looked at: nobody can write beside it, and
/// no log holds entries that are not in the file yet.
fn frozen(path: &Path, error: &sqlx::Error) -> bool {
    const READONLY: u32 = 8;
    const CANTOPEN: u32 = 14;
    let code = error.as_database_error().and_then(|e| e.code()?.parse::<u32>().ok()).unwrap_or(0);
    let mut log = path.as_os_str().to_owned();
    log.push("-wal");
    let logged = std::fs::metadata(log).is_ok_and(|log| log.len() > 0);
    matches!(code & 0xff, READONLY | CANTOPEN) && path.is_file() && !logged
}
