//! Cases about opening a database, and about one that was meddled with.

use jiff::Timestamp;
use job::chain::verify;
use job::ids::{CarId, Hash};
use job::person::Role;
use job::ports::{Appended, OwnerLink, Store, StoreError};
use store::Database;

use crate::places::{Place, all, person, record};

pub(crate) async fn an_empty_database_answers(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    assert_eq!(database.heads().await.unwrap(), []);
    assert_eq!(database.head(car).await.unwrap(), None);
    assert_eq!(database.events(car, 1, 100).await.unwrap(), []);
    assert_eq!(database.blob(Hash::of(b"")).await.unwrap(), None);
    assert_eq!(database.blob_hashes(None, 100).await.unwrap(), []);
    assert_eq!(database.people().await.unwrap(), []);
    assert_eq!(database.session(Hash::NONE, Timestamp::UNIX_EPOCH).await.unwrap(), None);
    assert_eq!(database.link(Hash::NONE).await.unwrap(), None);
    assert_eq!(database.links_of(car).await.unwrap(), []);
    assert_eq!(database.visits(None, 100).await.unwrap(), []);
    assert_eq!(database.append(car, &[]).await.unwrap(), Appended::Kept);
    assert_eq!(database.head(car).await.unwrap(), None);
}

/// Several processes start at the same moment on a database that is not there yet.
pub(crate) async fn opened_by_many_at_once(place: Place) {
    let mut openers = tokio::task::JoinSet::new();
    for n in 0..8 {
        let url = place.url.clone();
        openers.spawn(async move {
            let database = Database::open(&url).await?;
            database.put_person(&person(&format!("Bench {n}"), Role::Bench)).await
        });
    }
    assert_eq!(openers.join_all().await, vec![Ok(()); 8]);
    assert_eq!(place.open().await.people().await.unwrap().len(), 8);
}

pub(crate) async fn what_is_kept_is_there_after_reopening(place: Place) {
    let car = CarId::fresh();
    let events = record(car, &["one", "two"]);
    let database = place.open().await;
    database.append(car, &events).await.unwrap();
    database.put_blob(Hash::of(b"picture"), b"picture").await.unwrap();
    database.close().await;
    assert!(matches!(database.heads().await, Err(StoreError::Unreachable(_))), "it is closed");
    let database = place.open().await;
    assert_eq!(all(&database, car).await, events);
    assert_eq!(database.blob(Hash::of(b"picture")).await.unwrap().as_deref(), Some(&b"picture"[..]));
}

/// As the first version left it: no links, no visits.
pub(crate) async fn an_older_database_gains_the_tables_and_keeps_the_rest(place: Place) {
    place.as_version(1).await;
    let (car, lead) = (CarId::fresh(), person("Lead", Role::Lead));
    let events = record(car, &["one", "two"]);
    place
        .meddle(&format!("INSERT INTO people (id, name, role, active) VALUES ('{}', 'Lead', 'lead', TRUE)", lead.id))
        .await;
    for event in &events {
        let hash = if place.is_file() { format!("x'{}'", event.hash) } else { format!("'\\x{}'", event.hash) };
        let values = format!("'{car}', {}, '{}', {hash}, '{}'", event.seq, event.entry, event.body);
        place.meddle(&format!("INSERT INTO events (car, seq, entry, hash, body) VALUES ({values})")).await;
    }
    let database = place.open().await;
    assert_eq!(all(&database, car).await, events);
    assert_eq!(database.people().await.unwrap(), std::slice::from_ref(&lead));
    assert_eq!(database.links_of(car).await.unwrap(), []);
    assert_eq!(database.visits(None, 10).await.unwrap(), []);
    let (token, made) = (Hash::of(b"token"), Timestamp::UNIX_EPOCH);
    let link = OwnerLink { token, car, person: lead.id, made, made_by: lead.id, expires: made, revoked: None };
    database.put_link(&link).await.unwrap();
    assert_eq!(place.open().await.link(token).await.unwrap(), Some(link));
    assert_eq!(place.number("SELECT max(version) FROM _sqlx_migrations").await, 2);
}

/// The new version is started by several processes at the same moment.
pub(crate) async fn an_older_database_is_opened_by_many_at_once(place: Place) {
    place.as_version(1).await;
    opened_by_many_at_once(place).await;
}

pub(crate) async fn a_newer_database_is_refused(place: Place) {
    place.open().await.close().await;
    let future = "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
                  SELECT 9999, 'of the future', success, checksum, 0 FROM _sqlx_migrations WHERE version = 1";
    place.meddle(future).await;
    let refused = Database::open(&place.url).await.unwrap_err();
    assert!(matches!(&refused, StoreError::Newer(why) if why.contains("change 9999")), "{refused}");
}

pub(crate) async fn a_changed_migration_is_refused(place: Place) {
    place.open().await.close().await;
    let other = if place.is_file() { "x'00'" } else { "'\\x00'" };
    place.meddle(&format!("UPDATE _sqlx_migrations SET checksum = {other}")).await;
    let refused = Database::open(&place.url).await.unwrap_err();
    assert!(matches!(&refused, StoreError::Newer(why) if why.contains("another change 1")), "{refused}");
}

/// The store does not judge: it hands out the text as it stands, and the chain names the place.
pub(crate) async fn an_altered_text_is_handed_out_for_the_chain_to_find(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let events = record(car, &["clear", "holed", "clear"]);
    database.append(car, &events).await.unwrap();
    assert_eq!(place.meddle("UPDATE events SET body = replace(body, 'holed', 'sound') WHERE seq = 2").await, 1);
    let back = all(&database, car).await;
    assert_eq!(back[1].hash, events[1].hash);
    assert_ne!(back[1].body, events[1].body);
    assert_eq!(verify(&back, None).broken.map(|broken| broken.at), Some(2));
}

pub(crate) async fn a_damaged_row_says_where(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    database.append(car, &record(car, &["one", "two"])).await.unwrap();
    place.meddle("UPDATE events SET entry = 'no such thing' WHERE seq = 2").await;
    let refused = database.events(car, 1, 10).await.unwrap_err();
    let expected = format!("entry 2 of car {car}: \"no such thing\"");
    assert!(matches!(&refused, StoreError::Damaged(why) if why.contains(&expected)), "{refused}");
    // What comes before it can still be read.
    assert_eq!(database.events(car, 1, 1).await.unwrap().len(), 1);
    database.put_person(&person("Lead", Role::Lead)).await.unwrap();
    place.meddle("UPDATE people SET role = 'king'").await;
    assert!(matches!(database.people().await, Err(StoreError::Damaged(why)) if why.contains("\"king\"")));
}

pub(crate) async fn tables_of_another_program_are_refused(place: Place) {
    place.open().await.close().await;
    place.meddle("DROP TABLE events").await;
    place.meddle("CREATE TABLE events (title TEXT)").await;
    let refused = place.open().await.heads().await.unwrap_err();
    assert!(matches!(&refused, StoreError::Damaged(why) if why.contains("car")), "{refused}");
}
