//! Entering people, and whose devices stay signed in.

use jiff::ToSpan;
use job::ids::{Hash, PersonId};
use job::person::{Deed, Person, Role};
use job::ports::{Session, Store};
use job::shop::ShopError;

use crate::support::{Desk, at};

fn person(name: &str, role: Role, passphrase: Option<&str>) -> Person {
    Person { id: PersonId::fresh(), name: name.into(), role, passphrase: passphrase.map(String::from), active: true }
}

fn fields(refused: Result<(), ShopError>) -> Vec<&'static str> {
    match refused {
        Err(ShopError::Invalid(errors)) => errors.iter().map(|e| e.field).collect(),
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn a_name_is_needed_and_tells_people_apart() {
    let desk = Desk::open().await;
    for name in ["", "  ", &"x".repeat(61), "Bench A", " bench a ", "a\u{7}b"] {
        assert_eq!(fields(desk.shop.put_person(&person(name, Role::Bench, None)).await), ["name"], "{name:?}");
    }
    // Somebody who has left does not keep the name from others.
    desk.shop.put_person(&person("Painter", Role::Painter, None)).await.unwrap();
    assert_eq!(desk.shop.people().await.unwrap().len(), 5);
}

#[tokio::test]
async fn the_last_lead_who_can_sign_in_stays_while_others_need_one() {
    let desk = Desk::open().await;
    let lead = Person { id: desk.lead, ..person("Lead", Role::Lead, Some("argon2")) };
    desk.shop.put_person(&lead).await.unwrap();
    desk.shop.put_person(&person("Bench B", Role::Bench, Some("argon2"))).await.unwrap();
    for gone in [
        Person { role: Role::Bench, ..lead.clone() },
        Person { active: false, ..lead.clone() },
        Person { passphrase: None, ..lead.clone() },
    ] {
        assert_eq!(fields(desk.shop.put_person(&gone).await), ["role"]);
    }
    desk.shop.put_person(&person("Lead 2", Role::Lead, Some("argon2"))).await.unwrap();
    desk.shop.put_person(&Person { active: false, ..lead }).await.unwrap();
}

/// A session holds the role of the day it was opened, so it must not outlive a change of role or passphrase.
#[tokio::test]
async fn a_device_is_signed_out_when_its_person_changes() {
    let desk = Desk::open().await;
    let before = person("Lead 2", Role::Lead, Some("old"));
    let signed_in = async |after: Person| {
        desk.shop.put_person(&before).await.unwrap();
        let token = Hash::of(b"token");
        let session = Session { token, person: before.id, role: Role::Lead, expires: at(0) + 9.hours() };
        desk.store.put_session(&session, at(0)).await.unwrap();
        desk.shop.put_person(&after).await.unwrap();
        desk.store.session(token, at(0)).await.unwrap().is_some()
    };
    assert!(signed_in(before.clone()).await);
    assert!(signed_in(Person { name: "Lead 3".into(), ..before.clone() }).await);
    assert!(!signed_in(Person { role: Role::Bench, ..before.clone() }).await);
    assert!(!signed_in(Person { passphrase: Some("new".into()), ..before.clone() }).await);
    assert!(!signed_in(Person { passphrase: None, ..before.clone() }).await);
    assert!(!signed_in(Person { active: false, ..before.clone() }).await);
}

#[test]
fn what_each_role_may_do() {
    for (role, may) in [
        (Role::Lead, [true, true, true]),
        (Role::Bench, [true, true, false]),
        (Role::Painter, [true, true, false]),
        (Role::Owner, [false, false, false]),
    ] {
        assert_eq!([Deed::See, Deed::Write, Deed::Manage].map(|deed| role.may(deed)), may, "{role:?}");
    }
}
