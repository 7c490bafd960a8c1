//! Cases about a car's record.

use std::sync::Arc;

use job::chain::verify;
use job::event::{MAX_EVENT_BYTES, Stored};
use job::ids::{CarId, EntryId, Hash};
use job::person::{Person, Role};
use job::ports::{Appended, Head, Store, StoreError};
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use store::{MAX_APPEND, MAX_PAGE};

use crate::places::{Place, all, entry, person, record};

/// Texts as people write them: several scripts, marks that combine, quotes, line ends, escapes, long.
pub(crate) async fn what_is_appended_comes_back_byte_for_byte(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let long = "länger ".repeat(32_000);
    assert!(long.len() > MAX_EVENT_BYTES * 9 / 10);
    let notes = [
        "",
        " leading and trailing ",
        "it's \"quoted\" \\ and ; -- not SQL",
        "Schweller links durchgerostet, 40×60",
        "e\u{301} is not \u{e9}",
        "錆びた",
        "ржавчина",
        "🛠️🚗👩‍🏭",
        "\u{202e}right to left\u{202c}",
        "two\nlines\tand a tab",
        "\r\n",
        "\u{0}\u{1}\u{7f}\u{feff}",
        "$1 ?1 :name %s {}",
        &long,
    ];
    let events = record(car, &notes);
    assert_eq!(database.append(car, &events).await.unwrap(), Appended::Kept);
    let back = all(&database, car).await;
    assert_eq!(back, events);
    let verdict = verify(&back, events.last().map(|e| e.hash));
    assert!(verdict.intact(), "{verdict:?}");
    assert_eq!(verdict.events, notes.len() as u64);
}

/// Whatever the text, JSON or not: what comes back is what went in. NUL is the exception, in a case of its own.
pub(crate) async fn invariant_any_text_comes_back_byte_for_byte(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let mut runner = TestRunner::deterministic();
    let text = proptest::collection::vec(proptest::char::any().prop_filter("NUL", |c| *c != '\0'), 0..400);
    let events: Vec<Stored> = (1..=400)
        .map(|seq| {
            let body: String = text.new_tree(&mut runner).unwrap().current().into_iter().collect();
            Stored { seq, entry: EntryId::fresh(), hash: Hash::of(body.as_bytes()), body }
        })
        .collect();
    assert_eq!(database.append(car, &events).await.unwrap(), Appended::Kept);
    let back = all(&database, car).await;
    assert_eq!(back.len(), events.len());
    for (back, went) in back.iter().zip(&events) {
        assert_eq!(back.body.as_bytes(), went.body.as_bytes());
        assert_eq!(back, went);
    }
}

pub(crate) async fn a_text_with_nul_is_refused(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let body = "a\0b".to_string();
    let event = Stored { seq: 1, entry: EntryId::fresh(), hash: Hash::of(body.as_bytes()), body };
    let refused = database.append(car, &[event]).await.unwrap_err();
    assert!(matches!(&refused, StoreError::Refused(why) if why.contains("NUL at byte 1")), "{refused}");
    let phrase = Person { passphrase: Some("\0".into()), ..person("A", Role::Lead) };
    for nobody in [person("A\0", Role::Lead), phrase] {
        assert!(matches!(database.put_person(&nobody).await, Err(StoreError::Refused(why)) if why.contains("NUL")));
    }
    assert_eq!(database.heads().await.unwrap(), []);
    assert_eq!(database.people().await.unwrap(), []);
}

pub(crate) async fn two_writers_at_one_place_and_one_is_told(place: Place) {
    let (first, second) = (place.open().await, place.open().await);
    let car = CarId::fresh();
    let (mine, theirs) = (entry(car, 0, Hash::NONE, "mine"), entry(car, 0, Hash::NONE, "theirs"));
    assert_eq!(first.append(car, std::slice::from_ref(&mine)).await.unwrap(), Appended::Kept);
    assert_eq!(second.append(car, &[theirs]).await.unwrap(), Appended::Taken);
    assert_eq!(all(&second, car).await, [mine]);
}

/// Two processes' worth of connections, ten writers on each, five entries a writer.
pub(crate) async fn invariant_twenty_writers_at_once_lose_nothing(place: Place) {
    let processes = [Arc::new(place.open().await), Arc::new(place.open().await)];
    let car = CarId::fresh();
    let mut writers = tokio::task::JoinSet::new();
    for writer in 0..20 {
        let database = processes[writer % 2].clone();
        writers.spawn(async move {
            let mut turned_away = 0;
            for round in 0..5 {
                let note = format!("writer {writer}, round {round}");
                loop {
                    let head = database.head(car).await.unwrap();
                    let (count, prev) = head.map_or((0, Hash::NONE), |head| (head.count, head.hash));
                    match database.append(car, &[entry(car, count, prev, &note)]).await.unwrap() {
                        Appended::Kept => break,
                        Appended::Taken => turned_away += 1,
                        Appended::Known(seq) => panic!("a new entry was known at {seq}"),
                    }
                    assert!(turned_away < 10_000, "no writer gets anywhere");
                }
            }
            turned_away
        });
    }
    let turned_away: u32 = writers.join_all().await.into_iter().sum();
    assert!(turned_away > 0, "the writers never met, so this showed nothing");
    let events = all(&processes[0], car).await;
    let verdict = verify(&events, None);
    assert!(verdict.intact(), "{verdict:?}");
    assert_eq!(verdict.events, 100);
    for writer in 0..20 {
        for round in 0..5 {
            let note = format!("\"writer {writer}, round {round}\"");
            assert_eq!(events.iter().filter(|e| e.body.contains(&note)).count(), 1, "{note}");
        }
    }
}

/// A phone on a bad line sends again before the first answer is there.
pub(crate) async fn one_entry_sent_by_twenty_at_once_is_kept_once(place: Place) {
    let database = Arc::new(place.open().await);
    let car = CarId::fresh();
    let event = entry(car, 0, Hash::NONE, "sent again and again");
    let mut senders = tokio::task::JoinSet::new();
    for _ in 0..20 {
        let (database, event) = (database.clone(), event.clone());
        senders.spawn(async move { database.append(car, &[event]).await.unwrap() });
    }
    let answers = senders.join_all().await;
    assert_eq!(answers.iter().filter(|answer| **answer == Appended::Kept).count(), 1);
    assert_eq!(answers.iter().filter(|answer| **answer == Appended::Known(1)).count(), 19);
    assert_eq!(all(&database, car).await, [event]);
}

pub(crate) async fn an_entry_sent_twice_is_kept_once(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let events = record(car, &["one", "two", "three"]);
    database.append(car, &events).await.unwrap();
    // The same again at its own place, then placed anew at the end.
    assert_eq!(database.append(car, &events[1..2]).await.unwrap(), Appended::Known(2));
    let anew = Stored { seq: 4, ..events[1].clone() };
    assert_eq!(database.append(car, &[anew]).await.unwrap(), Appended::Known(2));
    // Behind a new entry in one batch: nothing of the batch is kept.
    let new = entry(car, 3, events[2].hash, "new");
    let again = Stored { seq: 5, ..events[0].clone() };
    assert_eq!(database.append(car, &[new, again]).await.unwrap(), Appended::Known(1));
    assert_eq!(all(&database, car).await, events);
}

pub(crate) async fn an_entry_of_another_car_is_refused(place: Place) {
    let database = place.open().await;
    let (one, other) = (CarId::fresh(), CarId::fresh());
    let event = entry(one, 0, Hash::NONE, "of one car");
    database.append(one, std::slice::from_ref(&event)).await.unwrap();
    let refused = database.append(other, &[event]).await.unwrap_err();
    assert!(matches!(&refused, StoreError::Damaged(why) if why.contains(&one.to_string())), "{refused}");
    assert_eq!(database.head(other).await.unwrap(), None);
}

pub(crate) async fn several_events_are_kept_whole_or_not_at_all(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let first = record(car, &["one", "two"]);
    database.append(car, &first).await.unwrap();
    // The last of three is known already, so the two new ones before it are not kept either.
    let three = entry(car, 2, first[1].hash, "three");
    let four = entry(car, 3, three.hash, "four");
    let known = Stored { seq: 5, ..first[0].clone() };
    assert_eq!(database.append(car, &[three.clone(), four.clone(), known]).await.unwrap(), Appended::Known(1));
    assert_eq!(all(&database, car).await, first);
    // Somebody else took place 3 while three and four were on their way.
    let theirs = entry(car, 2, first[1].hash, "theirs");
    assert_eq!(database.append(car, std::slice::from_ref(&theirs)).await.unwrap(), Appended::Kept);
    assert_eq!(database.append(car, &[three, four]).await.unwrap(), Appended::Taken);
    assert_eq!(all(&database, car).await, [&first[..], &[theirs]].concat());
}

pub(crate) async fn a_gap_is_refused(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let events = record(car, &["one", "two", "three", "four"]);
    let refused = database.append(car, &events[1..]).await.unwrap_err();
    assert!(matches!(&refused, StoreError::Damaged(why) if why.contains("gap after entry 0")), "{refused}");
    database.append(car, &events[..1]).await.unwrap();
    let refused = database.append(car, &events[2..]).await.unwrap_err();
    assert!(matches!(&refused, StoreError::Damaged(why) if why.contains("gap after entry 1")), "{refused}");
    assert_eq!(all(&database, car).await, events[..1]);
    // The place that is next is still free.
    assert_eq!(database.append(car, &events[1..]).await.unwrap(), Appended::Kept);
}

/// Somebody cut an entry out of the database: another must not slip into its place.
pub(crate) async fn a_hole_is_not_filled(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let events = record(car, &["one", "two", "three"]);
    database.append(car, &events).await.unwrap();
    assert_eq!(place.meddle("DELETE FROM events WHERE seq = 2").await, 1);
    let other = entry(car, 1, events[0].hash, "another story");
    assert_eq!(database.append(car, &[other]).await.unwrap(), Appended::Taken);
    let left = database.events(car, 1, 10).await.unwrap();
    assert_eq!(left, [events[0].clone(), events[2].clone()]);
    assert_eq!(verify(&left, None).broken.map(|broken| broken.at), Some(2));
}

pub(crate) async fn a_batch_that_does_not_fit_is_refused(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let good = record(car, &["one", "two"]);
    let refused = async |events: &[Stored]| match database.append(car, events).await {
        Err(StoreError::Damaged(why) | StoreError::Refused(why)) => why,
        other => panic!("{other:?}"),
    };
    assert!(refused(&[good[0].clone(), good[0].clone()]).await.contains("at place 2"));
    assert!(refused(&[good[1].clone(), good[0].clone()]).await.contains("at place 3"));
    assert!(refused(&[Stored { seq: 0, ..good[0].clone() }]).await.contains("count from 1"));
    assert!(refused(&[Stored { seq: u64::MAX, ..good[0].clone() }]).await.contains("gap"));
    assert!(refused(&[Stored { hash: Hash::of(b"x"), ..good[0].clone() }]).await.contains("not its hash"));
    let body = "x".repeat(MAX_EVENT_BYTES + 1);
    assert!(refused(&[Stored { hash: Hash::of(body.as_bytes()), body, ..good[0].clone() }]).await.contains("bytes"));
    assert!(refused(&vec![good[0].clone(); MAX_APPEND + 1]).await.contains("at most"));
    assert_eq!(database.heads().await.unwrap(), []);
}

pub(crate) async fn pages_are_bounded_and_in_order(place: Place) {
    let database = place.open().await;
    let (car, other) = (CarId::fresh(), CarId::fresh());
    let most = MAX_PAGE as usize;
    let events = record(car, &vec!["a look"; most + 10]);
    database.append(car, &events).await.unwrap();
    database.append(other, &record(other, &["of another car"])).await.unwrap();
    assert_eq!(database.events(car, 1, u32::MAX).await.unwrap(), events[..most]);
    assert_eq!(database.events(car, 11, 5).await.unwrap(), events[10..15]);
    assert_eq!(database.events(car, 0, 1).await.unwrap(), events[..1]);
    assert_eq!(database.events(car, 1, 0).await.unwrap(), []);
    assert_eq!(database.events(car, u64::from(MAX_PAGE) + 11, 5).await.unwrap(), []);
    assert_eq!(database.events(car, u64::MAX, 5).await.unwrap(), []);
    assert_eq!(all(&database, car).await, events);
}

pub(crate) async fn heads_are_listed_oldest_car_first(place: Place) {
    let database = place.open().await;
    let mut expected = Vec::new();
    for count in [3, 1, 2] {
        let car = CarId::fresh();
        let events = record(car, &["a", "b", "c"][..count]);
        expected.push(Head { car, count: count as u64, hash: events[count - 1].hash });
        database.append(car, &events).await.unwrap();
    }
    assert_eq!(database.heads().await.unwrap(), expected);
    // A car opened earlier at another shop and brought here last still comes first.
    let older: CarId = "00000000-0000-7000-8000-000000000000".parse().unwrap();
    let events = record(older, &["brought"]);
    database.append(older, &events).await.unwrap();
    expected.insert(0, Head { car: older, count: 1, hash: events[0].hash });
    assert_eq!(database.heads().await.unwrap(), expected);
    for head in expected {
        assert_eq!(database.head(head.car).await.unwrap(), Some(head));
    }
}
