//! One database of either kind, and the statements that both understand.

use std::sync::Arc;
use std::time::Duration;

use async_trait::async_trait;
use jiff::Timestamp;
use job::event::Stored;
use job::ids::{CarId, Hash, PersonId};
use job::person::Person;
use job::ports::{Appended, Head, MOST_VISITS, OwnerLink, Session, Store, StoreError, Visit};
use sqlx::migrate::{Migrate, MigrateError, Migrator};
use sqlx::{Connection, Pool, Postgres, Sqlite};

use crate::errors::{damaged, say};
use crate::rows::{
    self, EventRow, LinkRow, PersonRow, VisitRow, batch, count, digest, head, id, link, moment, page, person, place,
    stored, visit, without_nul,
};
use crate::{postgres, sqlite};

/// The most rows one call of [`Store::events`] or [`Store::blob_hashes`] returns, whatever it was asked for: a
/// caller has reached the end when a page is empty, not when it is short.
pub const MAX_PAGE: u32 = 2_000;
/// The most events one [`Store::append`] takes.
pub const MAX_APPEND: usize = 50_000;
/// The most bytes one blob may have.
pub const MAX_BLOB_BYTES: usize = 64 * 1024 * 1024;
/// The most bytes that the words of one visit may have.
pub const MAX_VISIT_BYTES: usize = 4_000;
/// The most cars, the most people, and the most links of one car, that one database lists.
const MAX_LIST: i64 = 10_000;

/// How long anybody waits for a connection or for another writer.
pub(crate) const WAIT: Duration = Duration::from_secs(5);

/// The connections to one database, and how a writing transaction begins there.
#[derive(Debug)]
pub(crate) struct Pools<DB: sqlx::Database> {
    pub(crate) read: Pool<DB>,
    pub(crate) write: Pool<DB>,
    pub(crate) begin: &'static str,
}

#[derive(Debug)]
enum Kind {
    Sqlite(Pools<Sqlite>),
    Postgres(Pools<Postgres>),
}

/// The shop's database: a SQLite file, or one PostgreSQL database shared by several processes.
///
/// ```
/// # async fn example() -> Result<(), job::ports::StoreError> {
/// use job::ports::Store;
/// let database = store::Database::open("sqlite:shop.db").await?;
/// println!("{} cars", database.heads().await?.len());
/// # Ok(()) }
/// ```
#[derive(Debug)]
pub struct Database {
    kind: Kind,
    /// What to call it in an error; never holds a password.
    place: String,
}

/// Runs the same work on whichever pools this database has, and says what went wrong in words.
macro_rules! on {
    ($database:expr, $pools:ident => $work:expr) => {
        worded(
            &$database.place,
            match &$database.kind {
                Kind::Sqlite($pools) => $work,
                Kind::Postgres($pools) => $work,
            },
        )
    };
}

fn worded<T>(place: &str, done: Result<T, sqlx::Error>) -> Result<T, StoreError> {
    done.map_err(|error| say(place, error))
}

impl Database {
    /// Opens the database at `url` (`sqlite:PATH` or `postgres://...`) and brings its tables up to date.
    ///
    /// A SQLite file is made when there is none, but not its folder. A database that can only be read is opened
    /// for reading; every write then fails with [`StoreError::ReadOnly`], and so does opening one whose tables are
    /// of an older version.
    ///
    /// # Errors
    /// When it cannot be reached, has no room, is not a database of this program or belongs to a newer one. No
    /// error repeats the address, which may hold a password.
    pub async fn open(url: &str) -> Result<Self, StoreError> {
        if let Some(rest) = url.strip_prefix("sqlite:") {
            let path = rest.strip_prefix("//").unwrap_or(rest);
            return Ok(Self { kind: Kind::Sqlite(sqlite::open(path).await?), place: path.to_owned() });
        }
        if url.starts_with("postgres://") || url.starts_with("postgresql://") {
            return Ok(Self { kind: Kind::Postgres(postgres::open(url).await?), place: postgres::place(url)? });
        }
        Err(StoreError::Unreachable("the address is neither sqlite:PATH nor postgres://...".into()))
    }

    /// Ends every connection once it is idle; whoever asks afterwards gets an error.
    pub async fn close(&self) {
        match &self.kind {
            Kind::Sqlite(pools) => tokio::join!(pools.read.close(), pools.write.close()),
            Kind::Postgres(pools) => tokio::join!(pools.read.close(), pools.write.close()),
        };
    }
}

/// Refuses a list that was cut short, rather than showing it as if it were whole.
fn within_list(rows: usize) -> Result<(), sqlx::Error> {
    if i64::try_from(rows).is_ok_and(|rows| rows <= MAX_LIST) {
        return Ok(());
    }
    Err(damaged(format!("it holds more than {MAX_LIST} cars, people or links of one car")))
}

/// Brings the tables up to date. Writes nothing when they are, so that a database that can only be read opens.
pub(crate) async fn prepare<C>(connection: &mut C, migrations: &Migrator) -> Result<(), sqlx::Error>
where
    C: Migrate + Connection,
{
    let mut failed = damaged("its tables cannot be made");
    // SQLite has no lock for this: when two processes come to a change at the same moment one of them fails, and
    // finds it done when it looks again. So it may fail once for every change, and once more for their list.
    for _ in 0..migrations.iter().count() + 2 {
        let applied = connection.list_applied_migrations(&migrations.table_name).await.unwrap_or_default();
        let known = migrations.iter().map(|m| (m.version, &m.checksum));
        if applied.iter().map(|m| (m.version, &m.checksum)).eq(known) {
            return Ok(());
        }
        failed = match migrations.run_direct(None, connection, false).await {
            Ok(()) => return Ok(()),
            Err(MigrateError::Execute(error) | MigrateError::ExecuteMigration(error, _)) => error,
            Err(other) => sqlx::Error::Migrate(Box::new(other)),
        };
    }
    Err(failed)
}

#[async_trait]
impl Store for Database {
    async fn heads(&self) -> Result<Vec<Head>, StoreError> {
        // Steps from car to car along the unique places, instead of reading every event to find the last ones.
        const HEADS: &str = "
            WITH RECURSIVE cars(car, n) AS (
                SELECT min(car), 1 FROM events
                UNION ALL
                SELECT (SELECT min(e.car) FROM events e WHERE e.car > cars.car), n + 1
                FROM cars WHERE car IS NOT NULL AND n <= $1
            )
            SELECT e.car, e.seq, e.hash FROM cars JOIN events e
            ON e.car = cars.car AND e.seq = (SELECT max(l.seq) FROM events l WHERE l.car = cars.car)
            ORDER BY e.car";
        on!(self, pools => async {
            let rows: Vec<(String, i64, Vec<u8>)> =
                sqlx::query_as(HEADS).bind(MAX_LIST).fetch_all(&pools.read).await?;
            within_list(rows.len())?;
            rows.into_iter().map(|(car, seq, hash)| head(id(&car)?, seq, &hash)).collect()
        }.await)
    }

    async fn head(&self, car: CarId) -> Result<Option<Head>, StoreError> {
        on!(self, pools => async {
            let row: Option<(i64, Vec<u8>)> =
                sqlx::query_as("SELECT seq, hash FROM events WHERE car = $1 ORDER BY seq DESC LIMIT 1")
                    .bind(car.to_string()).fetch_optional(&pools.read).await?;
            row.map(|(seq, hash)| head(car, seq, &hash)).transpose()
        }.await)
    }

    async fn events(&self, car: CarId, from: u64, limit: u32) -> Result<Vec<Stored>, StoreError> {
        let Ok(from) = i64::try_from(from) else { return Ok(Vec::new()) };
        on!(self, pools => async {
            let rows: Vec<EventRow> = sqlx::query_as(
                "SELECT seq, entry, hash, body FROM events WHERE car = $1 AND seq >= $2 ORDER BY seq LIMIT $3")
                .bind(car.to_string()).bind(from).bind(page(limit)).fetch_all(&pools.read).await?;
            rows.into_iter().map(|row| stored(car, row)).collect()
        }.await)
    }

    async fn append(&self, car: CarId, events: &[Stored]) -> Result<Appended, StoreError> {
        let Some(first) = batch(events)? else { return Ok(Appended::Kept) };
        let car_text = car.to_string();
        on!(self, pools => async {
            let mut connection = pools.write.acquire().await?;
            let done = async {
                let mut tx = connection.begin_with(pools.begin).await?;
                let last: Option<i64> = sqlx::query_scalar("SELECT max(seq) FROM events WHERE car = $1")
                    .bind(&car_text).fetch_one(&mut *tx).await?;
                let next = count(last.unwrap_or(0))? + 1;
                if first > next {
                    return Err(damaged(format!("entry {first} of car {car} would leave a gap after entry {}", next - 1)));
                }
                for event in events {
                    // A place that is taken is not tried: where a row was cut out, the insert would fill the hole.
                    let placed = first == next && sqlx::query(
                        "INSERT INTO events (car, seq, entry, hash, body) VALUES ($1, $2, $3, $4, $5)
                         ON CONFLICT DO NOTHING")
                        .bind(&car_text).bind(place(event.seq)?).bind(event.entry.to_string())
                        .bind(&event.hash.bytes()[..]).bind(&event.body)
                        .execute(&mut *tx).await?.rows_affected() == 1;
                    if placed {
                        continue;
                    }
                    // Only now is it known that somebody else was there; a statement begun now sees what they wrote.
                    let known: Option<(String, i64)> = sqlx::query_as("SELECT car, seq FROM events WHERE entry = $1")
                        .bind(event.entry.to_string()).fetch_optional(&mut *tx).await?;
                    tx.rollback().await?;
                    return match known {
                        None => Ok(Appended::Taken),
                        Some((owner, seq)) if owner == car_text => Ok(Appended::Known(count(seq)?)),
                        Some((owner, _)) => {
                            Err(damaged(format!("entry {} of car {car} is kept in the record of car {owner}", event.entry)))
                        }
                    };
                }
                tx.commit().await?;
                Ok(Appended::Kept)
            }.await;
            if done.is_err() {
                // After a full disk SQLite has rolled back by itself and the driver does not know: begin afresh.
                connection.close_on_drop();
            }
            done
        }.await)
    }

    async fn put_blob(&self, hash: Hash, bytes: &[u8]) -> Result<(), StoreError> {
        if bytes.len() > MAX_BLOB_BYTES {
            return Err(StoreError::Refused(format!(
                "a file of {} bytes was to be kept; at most {MAX_BLOB_BYTES} are",
                bytes.len()
            )));
        }
        if Hash::of(bytes) != hash {
            return Err(StoreError::Refused(format!("a file was to be kept under {hash}, which is not its hash")));
        }
        on!(self, pools => sqlx::query("INSERT INTO blobs (hash, bytes) VALUES ($1, $2) ON CONFLICT DO NOTHING")
            .bind(&hash.bytes()[..]).bind(bytes).execute(&pools.write).await.map(|_| ()))
    }

    async fn blob(&self, hash: Hash) -> Result<Option<Arc<[u8]>>, StoreError> {
        let bytes: Option<Vec<u8>> = on!(self, pools =>
            sqlx::query_scalar("SELECT bytes FROM blobs WHERE hash = $1")
                .bind(&hash.bytes()[..]).fetch_optional(&pools.read).await)?;
        Ok(bytes.map(Arc::from))
    }

    async fn blob_hashes(&self, after: Option<Hash>, limit: u32) -> Result<Vec<Hash>, StoreError> {
        // Nothing sorts before the empty string of bytes.
        let after = after.map(|hash| hash.bytes().to_vec()).unwrap_or_default();
        on!(self, pools => async {
            let rows: Vec<Vec<u8>> =
                sqlx::query_scalar("SELECT hash FROM blobs WHERE hash > $1 ORDER BY hash LIMIT $2")
                    .bind(after).bind(page(limit)).fetch_all(&pools.read).await?;
            rows.iter().map(|bytes| digest(bytes)).collect()
        }.await)
    }

    async fn people(&self) -> Result<Vec<Person>, StoreError> {
        on!(self, pools => async {
            let rows: Vec<PersonRow> = sqlx::query_as(
                "SELECT id, name, role, passphrase, active FROM people ORDER BY position LIMIT $1")
                .bind(MAX_LIST + 1).fetch_all(&pools.read).await?;
            within_list(rows.len())?;
            rows.into_iter().map(person).collect()
        }.await)
    }

    async fn put_person(&self, person: &Person) -> Result<(), StoreError> {
        without_nul("a name", &person.name)?;
        without_nul("a passphrase", person.passphrase.as_deref().unwrap_or_default())?;
        on!(self, pools => sqlx::query(
            "INSERT INTO people (id, name, role, passphrase, active) VALUES ($1, $2, $3, $4, $5)
             ON CONFLICT (id) DO UPDATE SET name = excluded.name, role = excluded.role,
             passphrase = excluded.passphrase, active = excluded.active")
            .bind(person.id.to_string()).bind(&person.name).bind(person.role.key())
            .bind(&person.passphrase).bind(person.active)
            .execute(&pools.write).await.map(|_| ()))
    }

    async fn put_session(&self, session: &Session, now: Timestamp) -> Result<(), StoreError> {
        on!(self, pools => async {
            sqlx::query("DELETE FROM sessions WHERE expires < $1").bind(now.as_microsecond()).execute(&pools.write).await?;
            sqlx::query(
                "INSERT INTO sessions (token, person, role, expires) VALUES ($1, $2, $3, $4)
                 ON CONFLICT (token) DO UPDATE SET person = excluded.person, role = excluded.role,
                 expires = excluded.expires")
                .bind(&session.token.bytes()[..]).bind(session.person.to_string())
                .bind(session.role.key()).bind(session.expires.as_microsecond())
                .execute(&pools.write).await.map(|_| ())
        }.await)
    }

    async fn session(&self, token: Hash, now: Timestamp) -> Result<Option<Session>, StoreError> {
        on!(self, pools => async {
            let row: Option<(String, String, i64)> =
                sqlx::query_as("SELECT person, role, expires FROM sessions WHERE token = $1 AND expires >= $2")
                    .bind(&token.bytes()[..]).bind(now.as_microsecond()).fetch_optional(&pools.read).await?;
            row.map(|(person, role, expires)| {
                Ok(Session { token, person: id(&person)?, role: rows::role(&role)?, expires: moment(expires)? })
            }).transpose()
        }.await)
    }

    async fn drop_session(&self, token: Hash) -> Result<(), StoreError> {
        on!(self, pools => sqlx::query("DELETE FROM sessions WHERE token = $1")
            .bind(&token.bytes()[..]).execute(&pools.write).await.map(|_| ()))
    }

    async fn drop_sessions_of(&self, person: PersonId) -> Result<(), StoreError> {
        on!(self, pools => sqlx::query("DELETE FROM sessions WHERE person = $1")
            .bind(person.to_string()).execute(&pools.write).await.map(|_| ()))
    }

    async fn put_link(&self, link: &OwnerLink) -> Result<(), StoreError> {
        // A token is drawn once: a second link under it could bring one that was taken back to life again.
        let kept = on!(self, pools => sqlx::query(
            "INSERT INTO links (token, car, person, made, made_by, expires, revoked)
             VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT DO NOTHING")
            .bind(&link.token.bytes()[..]).bind(link.car.to_string()).bind(link.person.to_string())
            .bind(link.made.as_microsecond()).bind(link.made_by.to_string())
            .bind(link.expires.as_microsecond()).bind(link.revoked.map(Timestamp::as_microsecond))
            .execute(&pools.write).await.map(|done| done.rows_affected()))?;
        if kept == 1 {
            return Ok(());
        }
        Err(StoreError::Refused("a link with this token is there already; make a new one".into()))
    }

    async fn link(&self, token: Hash) -> Result<Option<OwnerLink>, StoreError> {
        on!(self, pools => async {
            let row: Option<LinkRow> = sqlx::query_as(
                "SELECT token, car, person, made, made_by, expires, revoked FROM links WHERE token = $1")
                .bind(&token.bytes()[..]).fetch_optional(&pools.read).await?;
            row.map(link).transpose()
        }.await)
    }

    async fn links_of(&self, car: CarId) -> Result<Vec<OwnerLink>, StoreError> {
        on!(self, pools => async {
            let rows: Vec<LinkRow> = sqlx::query_as(
                "SELECT token, car, person, made, made_by, expires, revoked FROM links
                 WHERE car = $1 ORDER BY made DESC, token LIMIT $2")
                .bind(car.to_string()).bind(MAX_LIST + 1).fetch_all(&pools.read).await?;
            within_list(rows.len())?;
            rows.into_iter().map(link).collect()
        }.await)
    }

    async fn revoke_link(&self, token: Hash, at: Timestamp) -> Result<(), StoreError> {
        on!(self, pools => sqlx::query("UPDATE links SET revoked = $2 WHERE token = $1 AND revoked IS NULL")
            .bind(&token.bytes()[..]).bind(at.as_microsecond()).execute(&pools.write).await.map(|_| ()))
    }

    async fn put_visit(&self, visit: &Visit) -> Result<(), StoreError> {
        without_nul("what was opened", &visit.what)?;
        if visit.what.len() > MAX_VISIT_BYTES {
            return Err(StoreError::Refused(format!(
                "what was opened was told in {} bytes; at most {MAX_VISIT_BYTES} are kept",
                visit.what.len()
            )));
        }
        on!(self, pools => async {
            let mut connection = pools.write.acquire().await?;
            let done = async {
                let mut tx = connection.begin_with(pools.begin).await?;
                let position: i64 = sqlx::query_scalar(
                    "INSERT INTO visits (at, car, person, link, what) VALUES ($1, $2, $3, $4, $5) RETURNING position")
                    .bind(visit.at.as_microsecond()).bind(visit.car.map(|car| car.to_string()))
                    .bind(visit.person.map(|person| person.to_string()))
                    .bind(visit.link.map(|link| link.bytes().to_vec())).bind(&visit.what)
                    .fetch_one(&mut *tx).await?;
                // By position, not by count: one look at the end of an index. Places that PostgreSQL skipped after
                // a failure count as visits, so there may be a few less than the most, never more.
                sqlx::query("DELETE FROM visits WHERE position <= $1")
                    .bind(position - i64::from(MOST_VISITS)).execute(&mut *tx).await?;
                tx.commit().await
            }.await;
            if done.is_err() {
                // As after a failed append: begin afresh.
                connection.close_on_drop();
            }
            done
        }.await)
    }

    async fn visits(&self, car: Option<CarId>, limit: u32) -> Result<Vec<Visit>, StoreError> {
        // One statement each: "car = $1 or none was asked for" would keep SQLite from using the index.
        const OF_CAR: &str =
            "SELECT at, car, person, link, what FROM visits WHERE car = $2 ORDER BY position DESC LIMIT $1";
        const OF_SHOP: &str = "SELECT at, car, person, link, what FROM visits ORDER BY position DESC LIMIT $1";
        let limit = i64::from(limit.min(MOST_VISITS));
        on!(self, pools => async {
            let rows: Vec<VisitRow> = match car {
                Some(car) => {
                    sqlx::query_as(OF_CAR).bind(limit).bind(car.to_string()).fetch_all(&pools.read).await?
                }
                None => sqlx::query_as(OF_SHOP).bind(limit).fetch_all(&pools.read).await?,
            };
            rows.into_iter().map(visit).collect()
        }.await)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::ids::EntryId;

    async fn on_a_file() -> (tempfile::TempDir, Database) {
        let folder = tempfile::tempdir().unwrap();
        let database = Database::open(&format!("sqlite:{}/shop.db", folder.path().display())).await.unwrap();
        (folder, database)
    }

    fn sqlite(database: &Database) -> &Pools<Sqlite> {
        match &database.kind {
            Kind::Sqlite(pools) => pools,
            Kind::Postgres(_) => panic!("opened as a file"),
        }
    }

    fn batch(from: u64, count: u64) -> Vec<Stored> {
        let body = "x".repeat(4_000);
        let hash = Hash::of(body.as_bytes());
        (from..from + count).map(|seq| Stored { seq, entry: EntryId::fresh(), hash, body: body.clone() }).collect()
    }

    /// What keeps an acknowledged entry through a power cut; a test cannot cut the power.
    #[tokio::test]
    async fn the_writer_waits_for_the_disk() {
        let (_folder, database) = on_a_file().await;
        let pools = sqlite(&database);
        let number =
            async |pool, pragma: &'static str| sqlx::query_scalar::<_, i64>(pragma).fetch_one(pool).await.unwrap();
        let mode: String = sqlx::query_scalar("PRAGMA journal_mode").fetch_one(&pools.write).await.unwrap();
        assert_eq!(mode, "wal");
        // 2 is FULL: sqlite.org/pragma.html#pragma_synchronous.
        assert_eq!(number(&pools.write, "PRAGMA synchronous").await, 2);
        assert_eq!(number(&pools.write, "PRAGMA foreign_keys").await, 1);
        assert_eq!(number(&pools.read, "PRAGMA query_only").await, 1);
        assert_eq!(pools.write.options().get_max_connections(), 1);
    }

    /// A limit on the file's pages stands in for the disk: SQLite answers both with SQLITE_FULL.
    #[tokio::test]
    async fn a_full_disk_loses_nothing_and_is_got_over() {
        let (_folder, database) = on_a_file().await;
        let car = CarId::fresh();
        assert_eq!(database.append(car, &batch(1, 3)).await.unwrap(), Appended::Kept);
        let pages: i64 = sqlx::query_scalar("PRAGMA page_count").fetch_one(&sqlite(&database).write).await.unwrap();
        let narrow = async || {
            let limit = format!("PRAGMA max_page_count = {}", pages + 8);
            sqlx::query(sqlx::AssertSqlSafe(limit)).execute(&sqlite(&database).write).await.unwrap();
        };
        narrow().await;
        let picture = vec![0; 100_000];
        let refused = database.put_blob(Hash::of(&picture), &picture).await.unwrap_err();
        assert!(matches!(refused, StoreError::Full(_)), "{refused}");
        let refused = database.append(car, &batch(4, 50)).await.unwrap_err();
        assert!(matches!(refused, StoreError::Full(_)), "{refused}");
        narrow().await;
        let refused = database.append(car, &batch(4, 2_000)).await.unwrap_err();
        assert!(matches!(refused, StoreError::Full(_)), "{refused}");
        assert_eq!(database.head(car).await.unwrap().map(|head| head.count), Some(3));
        // The next connection has no such limit: somebody has made room.
        assert_eq!(database.append(car, &batch(4, 50)).await.unwrap(), Appended::Kept);
        assert_eq!(database.events(car, 1, 100).await.unwrap().len(), 53);
    }
}
