//! Questions and answers: asked, answered once, changed in the open, and never by silence.

use job::car::ZoneState;
use job::ids::{EntryId, Hash};
use job::question::{Answer, AnswerWay, Hours, OwnerWrote, Question, Standing};
use job::shop::{Draft, ShopError};
use job::what::{MadeGood, Severity, What};

use crate::support::{Desk, answered, asked, bad, opened, photographed, reported, stage, withdraws};

/// A desk with a question in its record.
async fn asking(sent: bool) -> (Desk, EntryId) {
    let desk = Desk::open().await;
    desk.keep(opened("Z03.L", Some(Severity::Holed))).await;
    let question = desk.keep(What::Asked(asked(sent))).await;
    (desk, question)
}

async fn version(desk: &Desk, entry: EntryId) -> Hash {
    desk.shop.car(desk.car).await.unwrap().entry_by_id(entry).unwrap().hash
}

/// An answer as the owner's own page sends it.
async fn on_the_page(desk: &Desk, question: EntryId, choice: Option<&str>) -> Draft {
    let what = answered(question, version(desk, question).await, choice, AnswerWay::Link);
    Draft { by: desk.owner, ..desk.draft(What::Answered(what)) }
}

fn with(draft: &Draft, change: impl Fn(&mut Answer)) -> Draft {
    let What::Answered(mut answer) = draft.what.clone() else { panic!("an answer") };
    change(&mut answer);
    Draft { entry: EntryId::fresh(), what: What::Answered(answer), ..draft.clone() }
}

fn fields(refused: Result<job::shop::Kept, ShopError>) -> Vec<&'static str> {
    match refused {
        Err(ShopError::Invalid(errors)) => errors.iter().map(|e| e.field).collect(),
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn work_waits_from_the_finding_until_an_option_is_chosen_and_silence_is_no_answer() {
    let (desk, question) = asking(false).await;
    let car = desk.shop.car(desk.car).await.unwrap();
    assert_eq!(car.threads()[0].standing(), Standing::Draft);
    assert!(car.waits_for("Z03.L").is_some() && car.waits_for("Z01.L").is_some() && car.waits_for("Z03.R").is_none());

    let sent = Draft { corrects: Some(question), ..desk.draft(What::Asked(asked(true))) };
    desk.send(&sent).await.unwrap();
    let car = desk.shop.car(desk.car).await.unwrap();
    let threads = car.threads();
    assert_eq!((threads.len(), threads[0].versions.len(), threads[0].standing()), (1, 2, Standing::Open));
    assert!(car.waits_for("Z03.L").is_some());

    // None of these is an answer, and frees nothing.
    desk.send(&on_the_page(&desk, sent.entry, None).await).await.unwrap();
    let car = desk.shop.car(desk.car).await.unwrap();
    assert_eq!(car.threads()[0].standing(), Standing::Answered);
    assert!(car.waits_for("Z03.L").is_some() && car.decided("Z03.L").is_none());

    let first = car.threads()[0].answer().unwrap().0.id;
    let second = with(&on_the_page(&desk, sent.entry, Some("B")).await, |a| a.changes = Some(first));
    desk.send(&second).await.unwrap();
    let car = desk.shop.car(desk.car).await.unwrap();
    assert!(car.waits_for("Z03.L").is_none());
    assert_eq!(car.decided("Z03.L"), Some(Hours { low: 9.0, likely: 14.0, high: 22.5 }));
    assert_eq!(car.decided("Z01.L").map(|h| h.high), Some(0.0), "it is contained in the first zone's hours");
    assert_eq!(car.decided("Z03.R"), None);
    assert_eq!(car.threads()[0].answers.len(), 2, "a changed mind leaves both to be seen");

    // Once the first zone is made good, the hours stand on what is left.
    desk.keep(What::MadeGood(MadeGood { zone: "Z03.L".into(), note: "Let in.".into() })).await;
    let car = desk.shop.car(desk.car).await.unwrap();
    assert_eq!(car.decided("Z01.L").map(|h| h.high), Some(22.5));
}

#[tokio::test]
async fn an_answer_is_locked() {
    let (desk, question) = asking(true).await;
    let answer = on_the_page(&desk, question, Some("A")).await;
    desk.send(&answer).await.unwrap();
    let again = with(&answer, |a| a.choice = Some("B".into()));
    for draft in [Draft { corrects: Some(answer.entry), ..again.clone() }, desk.draft(withdraws(answer.entry))] {
        let refused = desk.send(&draft).await.unwrap_err();
        assert!(matches!(refused, ShopError::Locked(4)), "{refused:?}");
    }
    // Sent twice, it is kept once.
    assert!(desk.send(&answer).await.unwrap().repeat);
    let car = desk.shop.car(desk.car).await.unwrap();
    let threads = car.threads();
    let (entry, stands) = threads[0].answer().unwrap();
    assert_eq!(
        (entry.seq, stands.choice.as_deref(), stands.shown.question.ask.as_str()),
        (4, Some("A"), asked(true).ask.as_str())
    );
}

#[tokio::test]
async fn of_two_answers_at_once_the_second_is_told_of_the_first() {
    let (desk, question) = asking(true).await;
    let (a, b) = (on_the_page(&desk, question, Some("A")).await, on_the_page(&desk, question, Some("B")).await);
    let (one, two) = tokio::join!(desk.send(&a), desk.send(&b));
    let told = match (one, two) {
        (Ok(_), Err(ShopError::Overtaken(theirs))) | (Err(ShopError::Overtaken(theirs)), Ok(_)) => theirs,
        other => panic!("{other:?}"),
    };
    let car = desk.shop.car(desk.car).await.unwrap();
    assert_eq!(car.threads()[0].answers.len(), 1);
    assert_eq!(car.threads()[0].answer().unwrap().0.id, told.id);
    // Knowing it, a change is a further answer; naming another one than stands is not.
    let wrong = with(&b, |a| a.changes = Some(question));
    assert!(matches!(desk.send(&wrong).await, Err(ShopError::Overtaken(_))));
    desk.send(&with(&b, |a| a.changes = Some(told.id))).await.unwrap();
}

#[tokio::test]
async fn an_answer_to_a_question_taken_back_is_refused_and_the_words_can_still_be_kept() {
    let (desk, question) = asking(true).await;
    let answer = on_the_page(&desk, question, Some("A")).await;
    let back = desk.keep(withdraws(question)).await;
    match desk.send(&answer).await {
        Err(ShopError::TakenBack(by)) => assert_eq!(by.id, back),
        other => panic!("{other:?}"),
    }
    let words = OwnerWrote { question: Some(question), choice: Some("A".into()), words: "I chose A.".into() };
    desk.send(&Draft { by: desk.owner, ..desk.draft(What::OwnerWrote(words)) }).await.unwrap();
    let car = desk.shop.car(desk.car).await.unwrap();
    let thread = &car.threads()[0];
    assert_eq!((thread.standing(), thread.wrote.len(), thread.answers.len()), (Standing::Withdrawn, 1, 0));
    assert!(car.waits_for("Z03.L").is_none(), "nothing waits for a question that was taken back");
}

#[tokio::test]
async fn a_question_asked_anew_wants_a_new_answer() {
    let (desk, question) = asking(true).await;
    let old = on_the_page(&desk, question, Some("A")).await;
    desk.send(&old).await.unwrap();
    let changed = Question { ask: "The hole goes on: how far now?".into(), ..asked(true) };
    let anew = Draft { corrects: Some(question), ..desk.draft(What::Asked(changed.clone())) };
    desk.send(&anew).await.unwrap();
    let car = desk.shop.car(desk.car).await.unwrap();
    assert_eq!((car.threads()[0].standing(), car.threads()[0].answers.len()), (Standing::Open, 1));
    assert!(car.waits_for("Z03.L").is_some() && car.decided("Z03.L").is_none());
    match desk.send(&with(&old, |a| a.choice = Some("B".into()))).await {
        Err(ShopError::AskedAnew(entry)) => assert_eq!(entry.id, anew.entry),
        other => panic!("{other:?}"),
    }
    let to_the_new = with(&on_the_page(&desk, anew.entry, Some("B")).await, |a| a.shown.question = changed.clone());
    desk.send(&to_the_new).await.unwrap();
}

#[tokio::test]
async fn only_the_owner_answers_on_the_owners_page_and_only_the_shop_writes_down_a_call() {
    let (desk, question) = asking(true).await;
    let page = on_the_page(&desk, question, Some("A")).await;
    let refused = desk.send(&Draft { by: desk.bench, ..page.clone() }).await;
    assert!(matches!(refused, Err(ShopError::NoSuchPerson(_))));
    let call = with(&page, |a| a.way = AnswerWay::Telephone);
    assert!(matches!(desk.send(&call).await, Err(ShopError::NoSuchPerson(_))));
    desk.send(&Draft { by: desk.lead, ..call }).await.unwrap();
    for what in [
        What::Asked(asked(true)),
        bad("Z01.L", Severity::Thin),
        What::MadeGood(MadeGood { zone: "Z03.L".into(), note: "Done.".into() }),
    ] {
        let refused = desk.send(&Draft { by: desk.owner, ..desk.draft(what) }).await;
        assert!(matches!(refused, Err(ShopError::NoSuchPerson(_))), "an owner writes nothing else");
    }
}

#[tokio::test]
async fn a_question_has_two_or_three_options_and_an_option_runs_from_low_to_high() {
    let desk = Desk::open().await;
    let send = async |change: fn(&mut Question)| {
        let mut question = asked(true);
        change(&mut question);
        fields(desk.send(&desk.draft(What::Asked(question))).await)
    };
    assert_eq!(send(|q| q.options.truncate(1)).await, ["options"]);
    assert_eq!(send(|q| q.options.clear()).await, ["options"]);
    assert_eq!(send(|q| q.options = [q.options.clone(), q.options.clone()].concat()).await[0], "options");
    assert_eq!(send(|q| q.options[1].hours.low = 30.0).await, ["hours_b"]);
    assert_eq!(send(|q| q.options[0].hours.high = f64::NAN).await, ["hours_a"]);
    assert_eq!(send(|q| q.options[0].key = "Z".into()).await, ["title_a"]);
    assert_eq!(send(|q| q.options[0].title = " ".into()).await, ["title_a"]);
    assert_eq!(send(|q| q.zones.clear()).await, ["zones"]);
    assert_eq!(send(|q| q.zones[1] = "Z99".into()).await, ["zones"]);
    assert_eq!(send(|q| q.ask = String::new()).await, ["ask"]);
    assert_eq!(send(|q| q.photographs = vec![EntryId::fresh()]).await, ["photographs"]);
    assert_eq!(desk.count().await, 1, "nothing was kept");
}

#[tokio::test]
async fn photographs_for_the_owner_have_a_place() {
    let desk = Desk::open().await;
    desk.photograph("Z03.L", b"picture").await;
    desk.shop.keep_file(b"other").await.unwrap();
    let unplaced = desk.keep(photographed(None, b"other", b"thumb")).await;
    let question = Question { photographs: vec![unplaced], ..asked(true) };
    assert_eq!(fields(desk.send(&desk.draft(What::Asked(question))).await), ["photographs"]);
    desk.shop.keep_file(b"pdf").await.unwrap();
    let mut report = reported(b"pdf");
    report.photographs = vec![unplaced];
    assert_eq!(fields(desk.send(&desk.draft(What::Reported(report))).await), ["photographs"]);
}

#[tokio::test]
async fn an_answer_says_what_was_shown_and_names_one_of_the_options() {
    let (desk, question) = asking(true).await;
    let right = on_the_page(&desk, question, Some("A")).await;
    for wrong in [
        with(&right, |a| a.choice = Some("C".into())),
        with(&right, |a| a.shown.question.options[0].hours.high = 99.0),
        with(&right, |a| a.version = Hash::of(b"other")),
        with(&right, |a| a.question = EntryId::fresh()),
        with(&right, |a| (a.choice, a.words) = (None, String::new())),
    ] {
        assert!(matches!(desk.send(&wrong).await, Err(ShopError::Invalid(_))));
    }
    let (draft, entry) = asking(false).await;
    let early = on_the_page(&draft, entry, Some("A")).await;
    assert_eq!(fields(draft.send(&early).await)[0], "question", "nobody was asked");
}

#[tokio::test]
async fn a_report_that_says_nothing_or_ends_before_it_begins_is_refused() {
    let desk = Desk::open().await;
    desk.shop.keep_file(b"pdf").await.unwrap();
    let mut report = reported(b"pdf");
    (report.from, report.to) = (report.to, report.from);
    assert_eq!(fields(desk.send(&desk.draft(What::Reported(report))).await), ["to"]);
    let mut report = reported(b"pdf");
    for part in [&mut report.done, &mut report.found, &mut report.changed, &mut report.need, &mut report.next] {
        part.clear();
    }
    assert_eq!(fields(desk.send(&desk.draft(What::Reported(report))).await), ["done"]);
    let without = desk.send(&desk.draft(What::Reported(reported(b"never kept")))).await;
    assert_eq!(fields(without), ["photo"], "a report names a page that is kept");
    desk.keep(What::Reported(reported(b"pdf"))).await;
    let verdict = desk.shop.verify(desk.car, None).await.unwrap();
    assert!(verdict.intact());
    desk.store.meddle(Hash::of(b"pdf"), Some(b"another page"));
    assert!(!desk.shop.verify(desk.car, None).await.unwrap().intact(), "an altered page breaks the check");
}

#[tokio::test]
async fn a_car_comes_about_again_as_it_stood() {
    let (desk, question) = asking(true).await;
    desk.send(&on_the_page(&desk, question, Some("A")).await).await.unwrap();
    let look = desk.keep(bad("Z01.L", Severity::Thin)).await;
    desk.keep(stage(job::details::Stage::Metal)).await;
    desk.keep(withdraws(look)).await;
    let car = desk.shop.car(desk.car).await.unwrap();
    assert_eq!(car.state("Z01.L"), ZoneState::NotLooked);
    let then = car.at(6);
    assert_eq!(
        (then.count, then.stage, then.state("Z01.L")),
        (6, job::details::Stage::Metal, ZoneState::Bad(Severity::Thin))
    );
    assert_eq!(then.head, car.entry(6).unwrap().hash);
    assert_eq!(car.at(3).threads()[0].standing(), Standing::Open);
    let whole = car.at(99);
    assert_eq!((whole.count, whole.head, whole.state("Z01.L")), (car.count, car.head, ZoneState::NotLooked));
}
