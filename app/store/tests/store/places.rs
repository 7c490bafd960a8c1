//! Databases to test on, and entries to put in them.

use std::future::Future;
use std::sync::atomic::{AtomicU32, Ordering};

use jiff::Timestamp;
use job::event::{Event, Stored, encode};
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::person::{By, Person, Role};
use job::ports::Store;
use job::what::{MadeGood, What};
use sqlx::migrate::Migrator;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode};
use sqlx::{AssertSqlSafe, ConnectOptions, Connection, PgConnection, Row, SqliteConnection};
use store::Database;

/// The throw-away PostgreSQL server that `cargo xtask test` starts.
const SERVER: &str = "GUIDECOAT_TEST_POSTGRES";

/// One empty database of a test's own.
pub(crate) struct Place {
    /// Its address.
    pub(crate) url: String,
}

impl Place {
    /// Opens it; as often as a test likes.
    pub(crate) async fn open(&self) -> Database {
        Database::open(&self.url).await.expect("the test's own database opens")
    }

    /// Whether it is a SQLite file.
    pub(crate) fn is_file(&self) -> bool {
        self.url.starts_with("sqlite:")
    }

    /// Makes it as the version of the program with so many migrations made it.
    pub(crate) async fn as_version(&self, version: i64) {
        let early = |all: Migrator| {
            let migrations = all.iter().filter(|m| m.version <= version).cloned().collect::<Vec<_>>();
            Migrator { migrations: migrations.into(), ..all }
        };
        if let Some(path) = self.url.strip_prefix("sqlite:") {
            let options = SqliteConnectOptions::new().filename(path).create_if_missing(true);
            let mut connection = options.journal_mode(SqliteJournalMode::Wal).connect().await.unwrap();
            early(sqlx::migrate!("migrations/sqlite")).run_direct(None, &mut connection, false).await.unwrap();
            return connection.close().await.unwrap();
        }
        let mut connection = PgConnection::connect(&self.url).await.unwrap();
        early(sqlx::migrate!("migrations/postgres")).run_direct(None, &mut connection, false).await.unwrap();
        connection.close().await.unwrap();
    }

    /// Runs a statement behind the program's back; how many rows it changed.
    pub(crate) async fn meddle(&self, statement: &str) -> u64 {
        let statement = AssertSqlSafe(statement.to_owned());
        if let Some(path) = self.url.strip_prefix("sqlite:") {
            let mut connection = SqliteConnection::connect(path).await.unwrap();
            let done = sqlx::query(statement).execute(&mut connection).await.unwrap().rows_affected();
            connection.close().await.unwrap();
            return done;
        }
        let mut connection = PgConnection::connect(&self.url).await.unwrap();
        let done = sqlx::query(statement).execute(&mut connection).await.unwrap().rows_affected();
        connection.close().await.unwrap();
        done
    }

    /// Reads one number behind the program's back.
    pub(crate) async fn number(&self, query: &str) -> i64 {
        let query = AssertSqlSafe(query.to_owned());
        if let Some(path) = self.url.strip_prefix("sqlite:") {
            let mut connection = SqliteConnection::connect(path).await.unwrap();
            return sqlx::query(query).fetch_one(&mut connection).await.unwrap().get(0);
        }
        let mut connection = PgConnection::connect(&self.url).await.unwrap();
        sqlx::query(query).fetch_one(&mut connection).await.unwrap().get(0)
    }
}

/// Runs a case on a new SQLite file.
pub(crate) async fn on_sqlite<F: Future<Output = ()> + Send + 'static>(case: impl FnOnce(Place) -> F) {
    let folder = tempfile::tempdir().unwrap();
    case(Place { url: format!("sqlite:{}/shop.db", folder.path().display()) }).await;
}

/// Runs a case in a new schema of the PostgreSQL server, which is dropped whatever becomes of the case.
pub(crate) async fn on_postgres<F: Future<Output = ()> + Send + 'static>(case: impl FnOnce(Place) -> F) {
    static COUNT: AtomicU32 = AtomicU32::new(0);
    let Ok(server) = std::env::var(SERVER) else {
        panic!("{SERVER} is not set: these tests need a PostgreSQL server; `cargo xtask test` starts one");
    };
    let schema = format!("test_{}_{}", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed));
    let joint = if server.contains('?') { '&' } else { '?' };
    let mut connection =
        PgConnection::connect(&server).await.expect("the server that GUIDECOAT_TEST_POSTGRES names answers");
    sqlx::query(AssertSqlSafe(format!("CREATE SCHEMA {schema}"))).execute(&mut connection).await.unwrap();
    let outcome = tokio::spawn(case(Place { url: format!("{server}{joint}options[search_path]={schema}") })).await;
    sqlx::query(AssertSqlSafe(format!("DROP SCHEMA {schema} CASCADE"))).execute(&mut connection).await.unwrap();
    outcome.unwrap();
}

/// A person of no shop.
pub(crate) fn person(name: &str, role: Role) -> Person {
    Person { id: PersonId::fresh(), name: name.into(), role, passphrase: None, active: true }
}

/// An entry with this text at the place after `count` entries, the last of which has the hash `prev`.
pub(crate) fn entry(car: CarId, count: u64, prev: Hash, note: &str) -> Stored {
    let event = Event {
        car,
        seq: count + 1,
        at: Timestamp::UNIX_EPOCH,
        noted: None,
        by: By::from(&person("Bench A", Role::Bench)),
        entry: EntryId::fresh(),
        corrects: None,
        prev,
        what: What::MadeGood(MadeGood { zone: "Z01.L".into(), note: note.into() }),
    };
    encode(&event).unwrap()
}

/// A whole record with one entry for each text.
pub(crate) fn record(car: CarId, notes: &[&str]) -> Vec<Stored> {
    let mut prev = Hash::NONE;
    let mut events = Vec::new();
    for (count, note) in (0..).zip(notes) {
        let event = entry(car, count, prev, note);
        prev = event.hash;
        events.push(event);
    }
    events
}

/// Everything a car's record holds, a page at a time.
pub(crate) async fn all(database: &Database, car: CarId) -> Vec<Stored> {
    let mut events: Vec<Stored> = Vec::new();
    loop {
        let page = database.events(car, events.len() as u64 + 1, 700).await.unwrap();
        if page.is_empty() {
            return events;
        }
        events.extend(page);
    }
}
