//! Cases about pictures, people and sessions.

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::{Timestamp, ToSpan};
use job::ids::{Hash, PersonId};
use job::person::Role;
use job::ports::{Session, Store, StoreError};
use store::MAX_BLOB_BYTES;

use crate::places::{Place, person};

pub(crate) async fn the_same_bytes_twice_are_kept_once(place: Place) {
    let database = Arc::new(place.open().await);
    let photo: Vec<u8> = (0..3_000_000_u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    for bytes in [&photo[..], b"", b"\0\xff\r\n"] {
        let hash = Hash::of(bytes);
        database.put_blob(hash, bytes).await.unwrap();
        database.put_blob(hash, bytes).await.unwrap();
        assert_eq!(database.blob(hash).await.unwrap().as_deref(), Some(bytes));
    }
    assert_eq!(place.number("SELECT count(*) FROM blobs").await, 3);
    // Five tabs at once.
    let mut writers = tokio::task::JoinSet::new();
    for _ in 0..5 {
        let database = database.clone();
        writers.spawn(async move { database.put_blob(Hash::of(b"one"), b"one").await });
    }
    assert_eq!(writers.join_all().await, vec![Ok(()); 5]);
    assert_eq!(place.number("SELECT count(*) FROM blobs").await, 4);
}

pub(crate) async fn bytes_under_a_wrong_hash_are_refused(place: Place) {
    let database = place.open().await;
    let wrong = Hash::of(b"other");
    assert!(matches!(database.put_blob(wrong, b"bytes").await, Err(StoreError::Refused(why)) if why.contains("hash")));
    let huge = vec![0; MAX_BLOB_BYTES + 1];
    assert!(matches!(database.put_blob(wrong, &huge).await, Err(StoreError::Refused(why)) if why.contains("at most")));
    assert_eq!(database.blob(wrong).await.unwrap(), None);
}

pub(crate) async fn hashes_of_blobs_come_in_pages(place: Place) {
    let database = place.open().await;
    let mut expected = BTreeSet::new();
    for n in 0..60_u8 {
        let hash = Hash::of(&[n]);
        database.put_blob(hash, &[n]).await.unwrap();
        expected.insert(hash);
    }
    let (mut found, mut after) = (Vec::new(), None);
    loop {
        let page = database.blob_hashes(after, 7).await.unwrap();
        assert!(page.len() <= 7);
        let Some(last) = page.last() else { break };
        after = Some(*last);
        found.extend(page);
    }
    assert_eq!(found, expected.into_iter().collect::<Vec<_>>());
}

pub(crate) async fn people_keep_their_order_and_change(place: Place) {
    let database = place.open().await;
    let mut people = vec![person("Zoë", Role::Lead), person("Åsa", Role::Painter), person("Bench A", Role::Bench)];
    for one in &people {
        database.put_person(one).await.unwrap();
    }
    assert_eq!(database.people().await.unwrap(), people);
    people[0].name = "Painter 'the eye'".into();
    people[0].role = Role::Owner;
    people[0].passphrase = Some("$argon2id$v=19$m=19456,t=2,p=1$AAAA$BBBB".into());
    people[0].active = false;
    database.put_person(&people[0]).await.unwrap();
    assert_eq!(database.people().await.unwrap(), people);
    people[0].passphrase = None;
    people[0].active = true;
    database.put_person(&people[0]).await.unwrap();
    people.push(person("Bench A", Role::Bench));
    database.put_person(&people[3]).await.unwrap();
    assert_eq!(database.people().await.unwrap(), people);
}

pub(crate) async fn sessions_end(place: Place) {
    let database = place.open().await;
    let (lead, bench) = (person("Lead", Role::Lead), person("Bench A", Role::Bench));
    database.put_person(&lead).await.unwrap();
    database.put_person(&bench).await.unwrap();
    let now: Timestamp = "2031-03-01T08:00:00.123456Z".parse().unwrap();
    let token = |text: &str| Hash::of(text.as_bytes());
    let tablet = Session { token: token("tablet"), person: lead.id, role: Role::Lead, expires: now + 1.hour() };
    let phone = Session { token: token("phone"), person: lead.id, role: Role::Bench, expires: now + 2.hours() };
    let bench = Session { token: token("bench"), person: bench.id, role: Role::Bench, expires: now + 3.hours() };
    for one in [&tablet, &phone, &bench] {
        database.put_session(one, now).await.unwrap();
        assert_eq!(database.session(one.token, now).await.unwrap().as_ref(), Some(one));
    }
    // At its last moment it holds; a microsecond later it does not.
    assert_eq!(database.session(tablet.token, tablet.expires).await.unwrap().as_ref(), Some(&tablet));
    assert_eq!(database.session(tablet.token, tablet.expires + 1.microsecond()).await.unwrap(), None);
    // Signing in again with the same token replaces; whatever has run out is dropped by the way.
    let longer = Session { expires: now + 5.hours(), role: Role::Painter, ..bench.clone() };
    database.put_session(&longer, now + 90.minutes()).await.unwrap();
    assert_eq!(database.session(bench.token, now + 4.hours()).await.unwrap(), Some(longer));
    assert_eq!(database.session(tablet.token, now).await.unwrap(), None, "it had run out and was dropped");
    database.drop_session(bench.token).await.unwrap();
    database.drop_session(bench.token).await.unwrap();
    assert_eq!(database.session(bench.token, now).await.unwrap(), None);
    database.put_session(&bench, now).await.unwrap();
    database.drop_sessions_of(lead.id).await.unwrap();
    assert_eq!(database.session(phone.token, now).await.unwrap(), None);
    assert_eq!(database.session(bench.token, now).await.unwrap(), Some(bench));
    assert_eq!(place.number("SELECT count(*) FROM sessions").await, 1);
}

pub(crate) async fn a_session_needs_its_person(place: Place) {
    let database = place.open().await;
    let (token, person) = (Hash::of(b"token"), PersonId::fresh());
    let session = Session { token, person, role: Role::Lead, expires: Timestamp::MAX };
    assert!(matches!(database.put_session(&session, Timestamp::UNIX_EPOCH).await, Err(StoreError::Damaged(_))));
    assert_eq!(database.session(token, Timestamp::UNIX_EPOCH).await.unwrap(), None);
}
