//! Links to one car's page, and answers with exactly what was shown.

use jiff::SignedDuration;
use job::ids::{EntryId, Hash, PersonId};
use job::person::{Person, Role};
use job::ports::Visit;
use job::question::{AnswerWay, OwnerWrote, Standing};
use job::shop::{Late, LinkError, NewLink, Replied, Reply, ShopError, USUAL_LINK_DAYS, digest};
use job::what::{Severity, What};

use crate::support::{Desk, asked, at, bad, opened, withdraws};

const TOKEN: &str = "a token of a test";

fn wanted(desk: &Desk) -> NewLink {
    NewLink { token: Hash::of(TOKEN.as_bytes()), owner: desk.owner, by: desk.lead, days: USUAL_LINK_DAYS }
}

fn field(refused: Result<impl std::fmt::Debug, ShopError>) -> &'static str {
    match refused {
        Err(ShopError::Invalid(errors)) => errors[0].field,
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn a_link_opens_one_car_until_its_time_is_over_or_it_is_taken_back() {
    let desk = Desk::open().await;
    let made = desk.shop.make_link(desk.car, wanted(&desk), at(0)).await.unwrap();
    assert_eq!(made.expires, at(0) + SignedDuration::from_hours(60 * 24));
    let guest = desk.shop.open_link(TOKEN, at(1)).await.unwrap();
    assert_eq!((guest.car.id, guest.owner.id, guest.link), (desk.car, desk.owner, made.clone()));
    assert!(matches!(desk.shop.open_link("another", at(1)).await, Err(LinkError::Unknown)));
    let just_before = made.expires - SignedDuration::from_millis(1);
    assert!(desk.shop.open_link(TOKEN, just_before).await.is_ok());
    assert!(matches!(desk.shop.open_link(TOKEN, made.expires).await, Err(LinkError::Ended)));
    let elsewhere = desk.shop.revoke_link(job::ids::CarId::fresh(), made.token, at(2)).await;
    assert_eq!(field(elsewhere), "link");
    desk.shop.revoke_link(desk.car, made.token, at(2)).await.unwrap();
    assert!(matches!(desk.shop.open_link(TOKEN, at(2)).await, Err(LinkError::TakenBack)));
    assert_eq!(desk.shop.links(desk.car).await.unwrap().len(), 1, "it stays to be read");
}

#[tokio::test]
async fn no_word_of_a_refused_link_names_a_car() {
    for error in [LinkError::Unknown, LinkError::Ended, LinkError::TakenBack] {
        let say = error.to_string();
        assert!(say.contains("sk the shop") && !say.contains("car"), "{say}");
    }
}

#[tokio::test]
async fn a_link_is_for_an_owner_from_somebody_of_the_shop_and_for_one_day_to_a_year() {
    let desk = Desk::open().await;
    let make = async |change: fn(&mut NewLink, &Desk)| {
        let mut new = wanted(&desk);
        change(&mut new, &desk);
        desk.shop.make_link(desk.car, new, at(0)).await
    };
    assert_eq!(field(make(|l, _| l.days = 0).await), "days");
    assert_eq!(field(make(|l, _| l.days = 367).await), "days");
    assert_eq!(field(make(|l, desk| l.owner = desk.lead).await), "owner");
    assert_eq!(field(make(|l, _| l.owner = PersonId::fresh()).await), "owner");
    for nobody in [|l: &mut NewLink, desk: &Desk| l.by = desk.owner, |l: &mut NewLink, desk: &Desk| l.by = desk.left] {
        assert!(matches!(make(nobody).await, Err(ShopError::NoSuchPerson(_))));
    }
    let nowhere = desk.shop.make_link(job::ids::CarId::fresh(), wanted(&desk), at(0)).await;
    assert!(matches!(nowhere, Err(ShopError::NoSuchCar(_))));
    make(|l, _| l.days = 366).await.unwrap();
    // Whoever is no longer an owner is no longer let in.
    let gone = Person { id: desk.owner, name: "Owner".into(), role: Role::Bench, passphrase: None, active: true };
    desk.shop.put_person(&gone).await.unwrap();
    assert!(matches!(desk.shop.open_link(TOKEN, at(1)).await, Err(LinkError::TakenBack)));
}

#[tokio::test]
async fn visits_are_noted() {
    let desk = Desk::open().await;
    let visit = Visit { at: at(1), car: Some(desk.car), person: None, link: None, what: "the dossier".into() };
    desk.shop.note_visit(&visit).await.unwrap();
    assert_eq!(desk.shop.visits(Some(desk.car), 10).await.unwrap(), [visit]);
}

/// A desk with a question that was asked, and an answer as the owner's page of that moment sends it.
async fn answering() -> (Desk, EntryId, Reply) {
    let desk = Desk::open().await;
    desk.keep(opened("Z03.L", Some(Severity::Holed))).await;
    let question = desk.keep(What::Asked(asked(true))).await;
    let car = desk.shop.car(desk.car).await.unwrap();
    let reply = Reply {
        entry: EntryId::fresh(),
        by: desk.owner,
        question,
        seen: car.count,
        digest: digest(&desk.shop.shown(&car, &asked(true)).await.unwrap()),
        choice: Some("B".into()),
        way: AnswerWay::Link,
        words: "Do it well.".into(),
        changes: None,
    };
    (desk, question, reply)
}

#[tokio::test]
async fn an_answer_holds_the_range_and_the_head_that_were_shown_whatever_came_since() {
    let (desk, _, reply) = answering().await;
    let then = desk.shop.car(desk.car).await.unwrap();
    for zone in ["Z01.L", "Z01.R", "Z02.L", "Z02.R"] {
        desk.keep(bad(zone, Severity::Holed)).await;
    }
    let now = desk.shop.car(desk.car).await.unwrap();
    assert_ne!(desk.shop.told(&then).await.unwrap(), desk.shop.told(&now).await.unwrap(), "or this shows nothing");
    let kept = desk.shop.answer(desk.car, &reply, at(9)).await.unwrap();
    assert!(matches!(kept, Replied::Kept(kept) if !kept.repeat));
    let car = desk.shop.car(desk.car).await.unwrap();
    let threads = car.threads();
    let (entry, answer) = threads[0].answer().unwrap();
    assert_eq!((answer.shown.range, answer.shown.head), (desk.shop.told(&then).await.unwrap(), then.head));
    assert_eq!((answer.shown.count, entry.by.id, entry.by.role), (then.count, desk.owner, Role::Owner));
    let again = desk.shop.answer(desk.car, &reply, at(9)).await.unwrap();
    assert!(matches!(again, Replied::Kept(kept) if kept.repeat));
}

#[tokio::test]
async fn what_came_too_late_is_kept_as_words_of_the_owner_and_once() {
    let (desk, question, reply) = answering().await;
    desk.keep(withdraws(question)).await;
    for repeat in [false, true] {
        match desk.shop.answer(desk.car, &reply, at(9)).await.unwrap() {
            Replied::Late { why: Late::TakenBack(_), wrote: Some(wrote) } => assert_eq!(wrote.repeat, repeat),
            other => panic!("{other:?}"),
        }
    }
    let car = desk.shop.car(desk.car).await.unwrap();
    let thread = &car.threads()[0];
    let words = &thread.wrote[0].1.words;
    assert_eq!((thread.standing(), thread.wrote.len()), (Standing::Withdrawn, 1));
    assert!(words.starts_with("Do it well.") && words.contains("Option B was chosen: Way B."), "{words}");

    // What the shop typed on a page that was overtaken stays on that page.
    let call = Reply { way: AnswerWay::Telephone, by: desk.lead, entry: EntryId::fresh(), ..reply };
    let late = desk.shop.answer(desk.car, &call, at(9)).await.unwrap();
    assert!(matches!(late, Replied::Late { why: Late::TakenBack(_), wrote: None }));
    assert_eq!(desk.count().await, car.count);
}

#[tokio::test]
async fn what_was_not_shown_is_no_answer() {
    let (desk, _, reply) = answering().await;
    for forged in [Reply { digest: Hash::of(b"x"), ..reply.clone() }, Reply { seen: 1, ..reply.clone() }] {
        let forged = Reply { entry: EntryId::fresh(), ..forged };
        let late = desk.shop.answer(desk.car, &forged, at(9)).await.unwrap();
        assert!(matches!(late, Replied::Late { why: Late::NotAsShown, wrote: Some(_) }));
    }
    let car = desk.shop.car(desk.car).await.unwrap();
    assert!(car.threads()[0].answers.is_empty());
    let opening = Reply { question: car.entries()[0].id, ..reply.clone() };
    assert!(matches!(desk.shop.answer(desk.car, &opening, at(9)).await, Err(ShopError::NoSuchEntry)));
    let nobody = Reply { by: desk.lead, ..reply };
    assert!(matches!(desk.shop.answer(desk.car, &nobody, at(9)).await, Err(ShopError::NoSuchPerson(_))));
}

#[tokio::test]
async fn an_owner_fills_no_record_in_a_day() {
    let desk = Desk::open().await;
    let write = async |n: i64, minutes: i64| {
        let wrote = OwnerWrote { question: None, choice: None, words: format!("Letter {n}") };
        desk.shop.owner_wrote(desk.car, desk.owner, EntryId::fresh(), wrote, at(minutes)).await
    };
    for n in 0..40 {
        write(n, n).await.unwrap();
    }
    assert_eq!(field(write(40, 41).await), "words");
    write(41, 24 * 60 + 1).await.unwrap();
}
