//! Keeping an entry: once, in order, told of what others wrote, and never half.

use std::sync::Arc;

use job::car::ZoneState;
use job::details::Stage;
use job::event::encode;
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::person::{Person, Role};
use job::shop::{Draft, ShopError};
use job::what::{Severity, What};

use crate::support::{
    Desk, Record, at, bad, clear, details, film, made_good, measured, opened, photographed, shop_over, stage, stored,
    withdraws,
};

#[tokio::test]
async fn an_entry_sent_twice_is_kept_once() {
    let desk = Desk::open().await;
    let draft = desk.draft(clear("Z01.L"));
    let first = desk.send(&draft).await.unwrap();
    assert_eq!((first.seq, first.repeat), (2, false));
    desk.keep(bad("Z01.L", Severity::Thin)).await;
    let again = desk.send(&draft).await.unwrap();
    assert_eq!((again.seq, again.repeat), (2, true));
    // Another process, which has not read this car yet, says the same.
    let again = shop_over(&desk.store).keep(desk.car, &draft, at(9)).await.unwrap();
    assert_eq!((again.seq, again.repeat), (2, true));
    assert_eq!(desk.count().await, 3);
}

/// Somebody goes back in the browser, changes a word and sends the form again: it has its old name.
#[tokio::test]
async fn other_words_under_a_used_name_are_an_entry_of_their_own_and_kept_once() {
    let desk = Desk::open().await;
    let first = desk.draft(film("Z01.L", 100.0));
    let other = Draft { what: film("Z01.L", 140.0), ..first.clone() };
    assert_eq!(desk.send(&first).await.unwrap().seq, 2);
    let kept = desk.send(&other).await.unwrap();
    assert_eq!((kept.seq, kept.repeat), (3, false));
    let again = desk.send(&other).await.unwrap();
    assert_eq!((again.seq, again.repeat), (3, true));
    assert_eq!(desk.send(&first).await.unwrap().seq, 2);
    assert_eq!(desk.count().await, 3);
}

#[tokio::test]
async fn a_correction_is_of_the_same_kind_and_the_details_are_never_taken_out() {
    let desk = Desk::open().await;
    let look = desk.keep(clear("Z01.L")).await;
    let other_kind = Draft { corrects: Some(look), ..desk.draft(film("Z01.L", 100.0)) };
    let opening = shop_over(&desk.store).car(desk.car).await.unwrap().entry(1).unwrap().id;
    for draft in [other_kind, desk.draft(withdraws(opening))] {
        let refused = desk.send(&draft).await.unwrap_err();
        assert!(matches!(refused, ShopError::Invalid(_)), "{refused}");
    }
    assert!(shop_over(&desk.store).car(desk.car).await.unwrap().entries().iter().all(|e| e.counts()));
}

/// A device whose clock runs ahead.
#[tokio::test]
async fn a_time_typed_after_it_arrived_is_left_out() {
    let desk = Desk::open().await;
    let draft = Draft { noted: Some(at(500)), ..desk.draft(film("Z01.L", 100.0)) };
    let kept = shop_over(&desk.store).keep(desk.car, &draft, at(9)).await.unwrap();
    let car = shop_over(&desk.store).car(desk.car).await.unwrap();
    assert_eq!(car.entry(kept.seq).unwrap().noted, None);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_same_entry_sent_from_all_sides_at_once_is_kept_once() {
    let desk = Arc::new(Desk::open().await);
    let draft = desk.draft(clear("Z01.L"));
    let mut senders = tokio::task::JoinSet::new();
    for _ in 0..20 {
        let (desk, draft) = (desk.clone(), draft.clone());
        senders.spawn(async move { desk.send(&draft).await.unwrap() });
    }
    let kept = senders.join_all().await;
    assert!(kept.iter().all(|k| k.seq == 2));
    assert_eq!(kept.iter().filter(|k| !k.repeat).count(), 1);
    assert_eq!(desk.count().await, 2);
}

/// Two processes over one store, ten writers on each, five rounds.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn invariant_twenty_writers_at_once_lose_nothing() {
    let desk = Desk::open().await;
    let processes = [Arc::new(shop_over(&desk.store)), Arc::new(shop_over(&desk.store))];
    for _ in 0..5 {
        let mut writers = tokio::task::JoinSet::new();
        for writer in 0..20 {
            let (shop, car) = (processes[writer % 2].clone(), desk.car);
            let zone = ["Z01.L", "Z01.R", "Z02.L"][writer % 3];
            let draft = desk.draft(film(zone, 100.0 + writer as f64));
            writers.spawn(async move { (draft.entry, shop.keep(car, &draft, at(1)).await.unwrap().seq) });
        }
        let kept = writers.join_all().await;
        let car = desk.shop.car(desk.car).await.unwrap();
        for (entry, seq) in kept {
            assert_eq!(car.entry_by_id(entry).map(|e| e.seq), Some(seq));
        }
    }
    assert!(desk.store.turned_away() > 0, "the writers never met, so this showed nothing");
    let verdict = desk.shop.verify(desk.car, None).await.unwrap();
    assert_eq!((verdict.events, verdict.broken), (101, None));
}

#[tokio::test]
async fn a_writer_who_never_gets_a_turn_is_told_and_nothing_is_written() {
    let desk = Desk::open().await;
    let writes = desk.store.writes();
    desk.store.crowd();
    let refused = desk.send(&desk.draft(clear("Z01.L"))).await.unwrap_err();
    assert!(matches!(refused, ShopError::Crowded), "{refused}");
    assert_eq!(desk.store.writes(), writes);
}

/// The bench began to write at `base`; the lead has written `theirs` since.
async fn while_another_wrote(theirs: What, ours: What, keep_both: bool) -> (Desk, Result<u64, ShopError>) {
    let desk = Desk::open().await;
    let base = Some(desk.count().await);
    let theirs = Draft { by: desk.lead, ..desk.draft(theirs) };
    desk.send(&theirs).await.unwrap();
    let ours = Draft { base, keep_both, ..desk.draft(ours) };
    let sent = desk.send(&ours).await.map(|k| k.seq);
    (desk, sent)
}

#[tokio::test]
async fn a_state_set_meanwhile_on_the_same_zone_is_shown_first() {
    let (desk, sent) = while_another_wrote(bad("Z01.L", Severity::Holed), clear("Z01.L"), false).await;
    match sent.unwrap_err() {
        ShopError::Overtaken(theirs) => {
            assert_eq!((theirs.seq, theirs.by.name.as_str()), (2, "Lead"));
            assert_eq!(theirs.what, bad("Z01.L", Severity::Holed));
        }
        other => panic!("{other}"),
    }
    assert_eq!(desk.count().await, 2);
    for ours in [opened("Z01.L", None), made_good("Z01.L")] {
        let (_, sent) = while_another_wrote(opened("Z01.L", Some(Severity::Thin)), ours, false).await;
        assert!(matches!(sent, Err(ShopError::Overtaken(_))));
    }
}

#[tokio::test]
async fn both_are_kept_when_the_writer_says_so() {
    let (desk, sent) = while_another_wrote(bad("Z01.L", Severity::Holed), clear("Z01.L"), true).await;
    assert_eq!(sent.unwrap(), 3);
    let car = desk.shop.car(desk.car).await.unwrap();
    assert_eq!((car.about("Z01.L").count(), car.state("Z01.L")), (2, ZoneState::Clear));
}

#[tokio::test]
async fn what_cannot_contradict_is_never_held_up() {
    let holed = || bad("Z01.L", Severity::Holed);
    for (theirs, ours) in [
        (holed(), clear("Z01.R")),
        (holed(), film("Z01.L", 120.0)),
        (film("Z01.L", 120.0), clear("Z01.L")),
        (holed(), stage(Stage::Metal)),
    ] {
        assert_eq!(while_another_wrote(theirs, ours, false).await.1.unwrap(), 3);
    }
    // A photograph neither.
    let desk = Desk::open().await;
    let base = Some(desk.count().await);
    desk.keep(holed()).await;
    for bytes in [b"picture".as_slice(), b"thumb"] {
        desk.shop.keep_file(bytes).await.unwrap();
    }
    let photograph = Draft { base, ..desk.draft(photographed(Some("Z01.L"), b"picture", b"thumb")) };
    assert_eq!(desk.send(&photograph).await.unwrap().seq, 3);
    // And without a base nothing is known of what the person had seen.
    let (_, sent) = while_another_wrote(holed(), film("Z01.L", 1.0), false).await;
    assert!(sent.is_ok());
    assert_eq!(desk.send(&desk.draft(clear("Z01.L"))).await.unwrap().seq, 4);
}

/// A phone without signal queues a look and then what was found behind it; both were begun on the same page.
#[tokio::test]
async fn entries_that_waited_on_one_phone_do_not_get_in_each_others_way() {
    let desk = Desk::open().await;
    let base = Some(desk.count().await);
    let waited = |minutes, what| Draft { base, noted: Some(at(minutes)), ..desk.draft(what) };
    desk.send(&waited(-20, bad("Z01.L", Severity::Thin))).await.unwrap();
    desk.send(&waited(-10, opened("Z01.L", Some(Severity::Holed)))).await.unwrap();
    assert_eq!(desk.shop.car(desk.car).await.unwrap().state("Z01.L"), ZoneState::Bad(Severity::Holed));
    // What somebody else wrote in between is still shown,
    let lead = Draft { by: desk.lead, noted: Some(at(-15)), ..desk.draft(clear("Z01.L")) };
    desk.send(&lead).await.unwrap();
    let refused = desk.send(&waited(-5, made_good("Z01.L"))).await;
    assert!(matches!(refused, Err(ShopError::Overtaken(theirs)) if theirs.seq == 4));
    // and so is one's own of a later time.
    let desk = Desk::open().await;
    let base = Some(desk.count().await);
    let waited = |minutes, what| Draft { base, noted: Some(at(minutes)), ..desk.draft(what) };
    desk.send(&waited(-10, clear("Z01.L"))).await.unwrap();
    assert!(matches!(desk.send(&waited(-20, made_good("Z01.L"))).await, Err(ShopError::Overtaken(_))));
}

#[tokio::test]
async fn only_who_works_here_may_write() {
    let desk = Desk::open().await;
    let writes = desk.store.writes();
    for nobody in [desk.owner, desk.left, PersonId::fresh()] {
        let refused = desk.send(&Draft { by: nobody, ..desk.draft(clear("Z01.L")) }).await;
        assert!(matches!(refused, Err(ShopError::NoSuchPerson(id)) if id == nobody));
        assert!(desk.shop.open_car(details("Car 2"), nobody, at(1)).await.is_err());
    }
    assert_eq!(desk.store.writes(), writes);
    let nowhere = CarId::fresh();
    let refused = desk.shop.keep(nowhere, &desk.draft(clear("Z01.L")), at(1)).await;
    assert!(matches!(refused, Err(ShopError::NoSuchCar(id)) if id == nowhere));
}

#[tokio::test]
async fn an_entry_keeps_the_name_and_role_of_its_day() {
    let desk = Desk::open().await;
    desk.keep(clear("Z01.L")).await;
    let renamed =
        Person { id: desk.bench, name: "Bench B".into(), role: Role::Painter, passphrase: None, active: true };
    desk.shop.put_person(&renamed).await.unwrap();
    desk.keep(clear("Z01.R")).await;
    let car = desk.shop.car(desk.car).await.unwrap();
    let by = |seq| car.entry(seq).map(|e| (e.by.name.clone(), e.by.role));
    assert_eq!(by(2), Some(("Bench A".into(), Role::Bench)));
    assert_eq!(by(3), Some(("Bench B".into(), Role::Painter)));
}

#[tokio::test]
async fn a_clock_set_back_does_not_turn_the_record_back() {
    let desk = Desk::open().await;
    for minutes in [10, 5, 20, -600] {
        desk.shop.keep(desk.car, &desk.draft(film("Z01.L", 90.0)), at(minutes)).await.unwrap();
    }
    let car = desk.shop.car(desk.car).await.unwrap();
    let times: Vec<_> = car.entries().iter().map(|e| e.at).collect();
    assert_eq!(times, [at(0), at(10), at(10), at(20), at(20)]);
}

#[tokio::test]
async fn an_entry_is_corrected_or_taken_out_once() {
    let desk = Desk::open().await;
    let wrong = desk.keep(clear("Z01.L")).await;
    let corrects = |entry, what| Draft { corrects: Some(entry), ..desk.draft(what) };
    desk.send(&corrects(wrong, bad("Z01.L", Severity::Thin))).await.unwrap();
    let writes = desk.store.writes();
    for again in [corrects(wrong, clear("Z01.L")), desk.draft(withdraws(wrong))] {
        assert!(matches!(desk.send(&again).await, Err(ShopError::AlreadySuperseded(2))));
    }
    let nothing = EntryId::fresh();
    for none in [corrects(nothing, clear("Z01.L")), desk.draft(withdraws(nothing))] {
        assert!(matches!(desk.send(&none).await, Err(ShopError::NoSuchEntry)));
    }
    assert_eq!(desk.store.writes(), writes);
    // What was taken out cannot be brought back by taking the taking-out out: that would change nothing.
    let other = desk.keep(clear("Z02.L")).await;
    let out = desk.keep(withdraws(other)).await;
    for back in [desk.draft(withdraws(out)), corrects(out, clear("Z02.L"))] {
        assert!(matches!(desk.send(&back).await, Err(ShopError::Invalid(e)) if e[0].field == "corrects"));
    }
}

#[tokio::test]
async fn an_entry_never_names_a_picture_that_is_not_kept() {
    let desk = Desk::open().await;
    let writes = desk.store.writes();
    for what in [photographed(Some("Z01.L"), b"never sent", b"nor this"), measured("Panel A", b"nor that")] {
        assert!(
            matches!(desk.send(&desk.draft(what)).await, Err(ShopError::Invalid(e)) if e[0].say.contains("did not come"))
        );
    }
    assert_eq!(desk.store.writes(), writes);
    desk.photograph("Z01.L", b"picture").await;
    assert_eq!(desk.shop.blob(Hash::of(b"picture")).await.unwrap().as_deref(), Some(b"picture".as_slice()));
    assert!(desk.shop.verify(desk.car, None).await.unwrap().intact());
}

#[tokio::test]
async fn a_car_with_an_entry_of_a_newer_program_is_only_read() {
    let desk = Desk::open().await;
    desk.keep(clear("Z01.L")).await;
    let mut record = Record { car: desk.car, events: desk.store.record(desk.car) };
    let event = record.next(made_good("Z01.L"), None);
    let body = encode(&event).unwrap().body.replacen("made_good", "polished", 1);
    record.events.push(stored(3, event.entry, body));
    desk.store.replace(desk.car, &record.events);
    let writes = desk.store.writes();
    let refused = desk.send(&desk.draft(clear("Z01.R"))).await.unwrap_err();
    assert!(matches!(refused, ShopError::Newer { seq: 3 }), "{refused}");
    assert_eq!(desk.store.writes(), writes);
    assert!(desk.shop.verify(desk.car, None).await.unwrap().intact());
    assert_eq!(desk.shop.car(desk.car).await.unwrap().state("Z01.L"), ZoneState::Clear);
}

#[tokio::test]
async fn an_entry_too_long_to_keep_is_refused_in_words_about_the_entry() {
    let desk = Desk::open().await;
    let mut long = measured("Panel A", b"source");
    desk.shop.keep_file(b"source").await.unwrap();
    if let What::Measured(measured) = &mut long {
        measured.doubts = vec!["x".repeat(1000); 300];
    }
    let refused = desk.send(&desk.draft(long)).await.unwrap_err();
    assert!(matches!(&refused, ShopError::Invalid(_)), "{refused}");
    assert!(refused.to_string().contains("bytes long"), "{refused}");
}
