//! Cases about owners' links, and about who opened what.

use std::io::Cursor;
use std::sync::Arc;

use jiff::{Timestamp, ToSpan};
use job::catalogue::Catalogue;
use job::ids::{CarId, Hash, PersonId};
use job::person::Role;
use job::ports::{MOST_VISITS, OwnerLink, Store, StoreError, Visit};
use job::shop::Shop;
use store::{Database, MAX_VISIT_BYTES};

use crate::places::{Place, on_sqlite, person};

fn noon() -> Timestamp {
    "2031-03-01T12:00:00.123456Z".parse().unwrap()
}

/// A link to a car for an owner whom the lead let in; both are entered by the way.
async fn link(database: &Database, car: CarId, token: &str) -> OwnerLink {
    let (owner, lead) = (person("Owner", Role::Owner), person("Lead", Role::Lead));
    database.put_person(&owner).await.unwrap();
    database.put_person(&lead).await.unwrap();
    let (token, made) = (Hash::of(token.as_bytes()), noon());
    OwnerLink { token, car, person: owner.id, made, made_by: lead.id, expires: made + 2160.hours(), revoked: None }
}

fn visit(car: CarId, minute: i64, what: &str) -> Visit {
    Visit { at: noon() + minute.minutes(), car: Some(car), person: None, link: None, what: what.into() }
}

fn told(visits: &[Visit]) -> Vec<&str> {
    visits.iter().map(|visit| visit.what.as_str()).collect()
}

pub(crate) async fn a_link_is_kept_and_found(place: Place) {
    let database = place.open().await;
    let link = link(&database, CarId::fresh(), "phone").await;
    assert_eq!(database.link(link.token).await.unwrap(), None);
    database.put_link(&link).await.unwrap();
    assert_eq!(database.link(link.token).await.unwrap().as_ref(), Some(&link));
    assert_eq!(database.link(Hash::of(b"guessed")).await.unwrap(), None);
    database.close().await;
    assert_eq!(place.open().await.link(link.token).await.unwrap(), Some(link), "after reopening");
}

/// The page has to say since when a link is dead, so the store does not hide it.
pub(crate) async fn an_ended_link_comes_back_with_its_dates(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let mut over = link(&database, car, "over").await;
    over.expires = over.made - 1.microsecond();
    database.put_link(&over).await.unwrap();
    assert_eq!(database.link(over.token).await.unwrap().as_ref(), Some(&over));
    database.revoke_link(over.token, noon() + 1.hour()).await.unwrap();
    over.revoked = Some(noon() + 1.hour());
    assert_eq!(database.link(over.token).await.unwrap().as_ref(), Some(&over));
    assert_eq!(database.links_of(car).await.unwrap(), [over]);
}

pub(crate) async fn a_link_revoked_twice_keeps_the_first_moment(place: Place) {
    let database = Arc::new(place.open().await);
    let car = CarId::fresh();
    let (one, other) = (link(&database, car, "one").await, link(&database, car, "other").await);
    database.put_link(&one).await.unwrap();
    database.put_link(&other).await.unwrap();
    let revoked = async |link: &OwnerLink| database.link(link.token).await.unwrap().unwrap().revoked;
    database.revoke_link(one.token, noon() + 2.hours()).await.unwrap();
    database.revoke_link(one.token, noon() + 1.hour()).await.unwrap();
    database.revoke_link(one.token, noon() + 3.hours()).await.unwrap();
    assert_eq!(revoked(&one).await, Some(noon() + 2.hours()));
    assert_eq!(revoked(&other).await, None);
    // Ten at once: one of them was first, and then it stays.
    let mut leads = tokio::task::JoinSet::new();
    for hour in 1..=10_i64 {
        let (database, token) = (database.clone(), other.token);
        leads.spawn(async move {
            database.revoke_link(token, noon() + hour.hours()).await.unwrap();
            database.link(token).await.unwrap().unwrap().revoked
        });
    }
    let seen = leads.join_all().await;
    assert!(seen[0].is_some() && seen.iter().all(|moment| *moment == seen[0]), "{seen:?}");
    // One that was never made is not there afterwards either.
    database.revoke_link(Hash::of(b"never made"), noon()).await.unwrap();
    assert_eq!(database.link(Hash::of(b"never made")).await.unwrap(), None);
}

pub(crate) async fn a_token_is_kept_once_and_never_comes_to_life_again(place: Place) {
    let database = Arc::new(place.open().await);
    let car = CarId::fresh();
    let first = link(&database, car, "token").await;
    database.put_link(&first).await.unwrap();
    database.revoke_link(first.token, noon()).await.unwrap();
    let again = OwnerLink { car: CarId::fresh(), ..first.clone() };
    for refused in [&first, &again] {
        assert!(matches!(database.put_link(refused).await, Err(StoreError::Refused(why)) if why.contains("already")));
    }
    assert_eq!(database.link(first.token).await.unwrap(), Some(OwnerLink { revoked: Some(noon()), ..first }));
    // Ten at once with one token: one is kept.
    let shared = link(&database, car, "shared").await;
    let mut makers = tokio::task::JoinSet::new();
    for _ in 0..10 {
        let (database, shared) = (database.clone(), shared.clone());
        makers.spawn(async move { database.put_link(&shared).await });
    }
    let kept = makers.join_all().await.into_iter().filter(Result::is_ok).count();
    assert_eq!((kept, database.links_of(car).await.unwrap().len()), (1, 2));
}

pub(crate) async fn links_of_a_car_come_newest_first_and_no_others(place: Place) {
    let database = Arc::new(place.open().await);
    let (car, other) = (CarId::fresh(), CarId::fresh());
    let mut links = Vec::new();
    for minute in [3_i64, 0, 2, 1] {
        let mut link = link(&database, car, &minute.to_string()).await;
        link.made = noon() + minute.minutes();
        links.push(link);
    }
    let stranger = link(&database, other, "of another car").await;
    // Two at once, and all of them: none is lost.
    let mut makers = tokio::task::JoinSet::new();
    for link in [&links[..], std::slice::from_ref(&stranger)].concat() {
        let database = database.clone();
        makers.spawn(async move { database.put_link(&link).await });
    }
    assert_eq!(makers.join_all().await, vec![Ok(()); 5]);
    links.sort_by_key(|link| std::cmp::Reverse(link.made));
    assert_eq!(database.links_of(car).await.unwrap(), links);
    assert_eq!(database.links_of(other).await.unwrap(), [stranger]);
    assert_eq!(database.links_of(CarId::fresh()).await.unwrap(), []);
}

pub(crate) async fn a_link_needs_its_people(place: Place) {
    let database = place.open().await;
    let whole = link(&database, CarId::fresh(), "token").await;
    let nobody = PersonId::fresh();
    for broken in [OwnerLink { person: nobody, ..whole.clone() }, OwnerLink { made_by: nobody, ..whole.clone() }] {
        assert!(matches!(database.put_link(&broken).await, Err(StoreError::Damaged(_))));
    }
    assert_eq!(database.link(whole.token).await.unwrap(), None);
    database.put_link(&whole).await.unwrap();
}

pub(crate) async fn visits_come_back_newest_first(place: Place) {
    let database = place.open().await;
    let (car, other) = (CarId::fresh(), CarId::fresh());
    assert_eq!(database.visits(None, 10).await.unwrap(), []);
    let link = Hash::of(b"a link that may be gone");
    let mut visits = vec![
        Visit { person: Some(PersonId::fresh()), link: Some(link), ..visit(car, 0, "the owner's page") },
        visit(other, 1, "the dossier of 'Car 2'"),
        visit(car, 2, "photograph 7, Tür links"),
        Visit { car: None, ..visit(car, 3, "the backup of the shop") },
        visit(car, 3, ""),
    ];
    for visit in &visits {
        database.put_visit(visit).await.unwrap();
    }
    visits.reverse();
    assert_eq!(database.visits(None, u32::MAX).await.unwrap(), visits);
    assert_eq!(database.visits(None, 2).await.unwrap(), visits[..2]);
    assert_eq!(database.visits(None, 0).await.unwrap(), []);
    let of_car = database.visits(Some(car), 10).await.unwrap();
    assert_eq!(told(&of_car), ["", "photograph 7, Tür links", "the owner's page"]);
    assert_eq!(database.visits(Some(car), 1).await.unwrap(), visits[..1]);
    assert_eq!(told(&database.visits(Some(other), 10).await.unwrap()), ["the dossier of 'Car 2'"]);
    assert_eq!(database.visits(Some(CarId::fresh()), 10).await.unwrap(), []);
}

pub(crate) async fn only_the_latest_visits_are_kept(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    // As many as are kept less two, behind the program's back: one by one would take too long.
    let many = MOST_VISITS - 2;
    place
        .meddle(&format!(
            "INSERT INTO visits (at, car, what)
             WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {many})
             SELECT i, '{car}', 'early ' || i FROM n ORDER BY i"
        ))
        .await;
    let oldest = "SELECT min(at) FROM visits";
    let count = "SELECT count(*) FROM visits";
    for (n, left, first) in [(1, many + 1, 1), (2, many + 2, 1), (3, MOST_VISITS, 2), (4, MOST_VISITS, 3)] {
        database.put_visit(&visit(car, n, &format!("late {n}"))).await.unwrap();
        assert_eq!((place.number(count).await, place.number(oldest).await), (i64::from(left), first), "late {n}");
    }
    let all = database.visits(None, u32::MAX).await.unwrap();
    assert_eq!(told(&all[..5]), ["late 4", "late 3", "late 2", "late 1", &format!("early {many}")]);
    assert_eq!(all.len(), MOST_VISITS as usize);
    // Twenty at once, by way of two programs.
    let databases = [Arc::new(database), Arc::new(place.open().await)];
    let mut visitors = tokio::task::JoinSet::new();
    for n in 0..20_i64 {
        let database = databases[n as usize % 2].clone();
        visitors.spawn(async move { database.put_visit(&visit(car, n, "at once")).await });
    }
    assert_eq!(visitors.join_all().await, vec![Ok(()); 20]);
    assert_eq!((place.number(count).await, place.number(oldest).await), (i64::from(MOST_VISITS), 23));
    assert!(databases[1].visits(Some(car), 20).await.unwrap().iter().all(|visit| visit.what == "at once"));
}

pub(crate) async fn a_visit_that_does_not_fit_is_refused(place: Place) {
    let database = place.open().await;
    let car = CarId::fresh();
    let long = "x".repeat(MAX_VISIT_BYTES);
    for (what, why) in [("page\0", "NUL"), (&format!("{long}x")[..], "at most")] {
        let refused = database.put_visit(&visit(car, 0, what)).await.unwrap_err();
        assert!(matches!(&refused, StoreError::Refused(said) if said.contains(why)), "{refused}");
    }
    assert_eq!(database.visits(None, 10).await.unwrap(), []);
    database.put_visit(&visit(car, 0, &long)).await.unwrap();
    place.meddle("UPDATE visits SET car = 'no such thing'").await;
    let refused = database.visits(None, 10).await.unwrap_err();
    assert!(matches!(&refused, StoreError::Damaged(why) if why.contains("no such thing")), "{refused}");
}

/// A link may have been taken back after the backup was made; restored with it, it would open the car again.
pub(crate) async fn a_backup_carries_people_but_no_links_and_no_visits(place: Place) {
    let database = Arc::new(place.open().await);
    let link = link(&database, CarId::fresh(), "phone").await;
    database.put_link(&link).await.unwrap();
    database.put_visit(&visit(link.car, 0, "the owner's page")).await.unwrap();
    let shop = |database| Shop::new(database, Catalogue::starting_guesses().unwrap());
    let mut copy = Cursor::new(Vec::new());
    shop(database.clone()).backup(&mut copy, "shop.zip").await.unwrap();
    on_sqlite(async move |elsewhere: Place| {
        let restored = Arc::new(elsewhere.open().await);
        shop(restored.clone()).restore(copy, "shop.zip").await.unwrap();
        assert_eq!(restored.people().await.unwrap(), database.people().await.unwrap());
        assert_eq!(restored.link(link.token).await.unwrap(), None);
        assert_eq!(restored.links_of(link.car).await.unwrap(), []);
        assert_eq!(restored.visits(None, 10).await.unwrap(), []);
        // The shop makes a new one there.
        restored.put_link(&link).await.unwrap();
    })
    .await;
}
