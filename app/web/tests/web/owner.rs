//! The owner's page: found, understood, answered; and everything that can come between.

use std::sync::{Arc, Mutex};

use axum::http::{Method, Request, header};
use job::car::Car;
use job::ids::{EntryId, Hash};
use job::question::{AnswerWay, Question, Standing};
use job::what::What;

use crate::support::form::{self, Form};
use crate::support::owner::{as_form, field, question, with};
use crate::support::{Answer, House, html};

/// What a page costs on first load may not be more than this.
const FIRST_LOAD: usize = 300_000;

async fn car_of(house: &House, id: job::ids::CarId) -> Arc<Car> {
    house.shop.car(id).await.unwrap()
}

#[track_caller]
fn whole(answer: &Answer) {
    let text = answer.text();
    assert_eq!(html::faults(&text), Vec::<String>::new());
    assert!(!text.contains("<script"), "a script on the owner's page");
}

#[tokio::test]
async fn an_owner_finds_the_question_understands_it_and_answers() {
    let house = House::open().await;
    let (car, asked) = house.asked_car("Grey two-door").await;
    let token = house.token(car).await;
    let page = house.get(&format!("/o/{token}")).await;
    page.says(
        200,
        &[
            "One question for you",
            "Grey two-door",
            "How far shall we go inside the left sill?",
            "rusted through over 310 by 46 mm",
            "1 sill membrane, left; 2 outer sill, left",
            "A. Let in patches",
            "4 to 12 hours, likely 7",
            "What it risks",
            "None of these: please ring me",
            "Please answer by Wednesday 2 December.",
            "silence is not a yes",
            "Closing the left sill",
            "Hours for the metal work",
            "The left sill is worse than hoped.",
            "1 photograph of 1 place",
        ],
    );
    whole(&page);
    // The bench's own words stay in the shop.
    assert!(!page.text().contains("Bench A"), "who wrote what is the shop's");

    let before = car_of(&house, car).await;
    let fields = with(&house.owners_form(&token, 1).await, "choice", "B");
    let given = house.answer(&token, &with(&fields, "words", "Keep what is sound, please.")).await;
    assert_eq!(given.status, 303, "{}", html::words(&given.text()));
    let thanks = house.get(given.header("location")).await;
    thanks.says(
        200,
        &["Thank you. Your answer is kept.", "B. Replace a section", "Nothing waits for you", "I have changed my mind"],
    );
    whole(&thanks);

    let after = car_of(&house, car).await;
    let thread = &after.threads()[0];
    let (entry, answer) = thread.answer().unwrap();
    assert_eq!((thread.standing(), entry.by.id, answer.way), (Standing::Answered, house.owner.id, AnswerWay::Link));
    assert_eq!((answer.choice.as_deref(), answer.words.as_str()), (Some("B"), "Keep what is sound, please."));
    // Exactly what was shown, and the record as it stood.
    let asked = before.entry_by_id(asked).unwrap();
    assert_eq!((answer.question, answer.version), (asked.id, asked.hash));
    assert_eq!((answer.shown.count, answer.shown.head), (before.count, before.head));
    assert_eq!(What::Asked(answer.shown.question.clone()), asked.what);
    assert_eq!(answer.shown.range, house.shop.told(&before).await.unwrap());
    // Sent twice, it is kept once.
    assert_eq!(house.answer(&token, &with(&fields, "words", "Keep what is sound, please.")).await.status, 303);
    assert_eq!(house.count(car).await, before.count + 1);
}

#[tokio::test]
async fn asking_to_be_rung_is_an_answer_and_nothing_chosen_is_none() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Rung").await;
    let token = house.token(car).await;
    let fields = house.owners_form(&token, 1).await;
    let empty = house.answer(&token, &with(&fields, "words", "I do not understand <b>B</b>.")).await;
    empty.says(422, &["Nothing was chosen", "I do not understand <b>B</b>."]);
    whole(&empty);
    let kept = html::filled(&empty.text(), "answer-1");
    assert_eq!(field(&kept, "words"), "I do not understand <b>B</b>.");
    assert_eq!(house.answer(&token, &with(&fields, "choice", "none")).await.status, 303);
    let record = car_of(&house, car).await;
    let thread = &record.threads()[0];
    let (_, answer) = thread.answer().unwrap();
    assert_eq!((answer.choice.as_deref(), answer.words.as_str()), (None, "Please ring me."));
    assert!(record.waits_for("Z03.L").is_some(), "none of these frees nothing");
    let odd = house.answer(&token, &with(&with(&fields, "choice", "Z"), "entry", &EntryId::fresh().to_string())).await;
    odd.says(422, &["is not one of the options"]);
}

#[tokio::test]
async fn of_two_answers_at_once_the_second_is_told_shown_the_first_and_can_change_it() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Two at once").await;
    let (mine, theirs) = (house.token(car).await, house.token(car).await);
    let first = with(&house.owners_form(&mine, 1).await, "choice", "A");
    let second = with(&with(&house.owners_form(&theirs, 1).await, "choice", "B"), "words", "I slept on it.");
    assert_eq!(house.answer(&mine, &first).await.status, 303);
    let told = house.answer(&theirs, &second).await;
    told.says(
        409,
        &["Another answer came first", "A. Let in patches", "Yours has not been kept", "Give this answer instead"],
    );
    whole(&told);
    assert_eq!(car_of(&house, car).await.threads()[0].answers.len(), 1);
    // The choice and the words are still marked; sent again on purpose it stands.
    let again = html::filled(&told.text(), "answer-1");
    assert_eq!((field(&again, "choice"), field(&again, "words")), ("B", "I slept on it."));
    assert_eq!(house.answer(&theirs, &again).await.status, 303);
    let record = car_of(&house, car).await;
    let thread = &record.threads()[0];
    let choices: Vec<_> = thread.answers.iter().map(|(_, a)| a.choice.as_deref()).collect();
    assert_eq!((choices, thread.answer().unwrap().1.choice.as_deref()), (vec![Some("A"), Some("B")], Some("B")));
    house.get(&format!("/o/{mine}")).await.says(200, &["B. Replace a section", "No longer stands"]);
}

#[tokio::test]
async fn a_changed_mind_is_a_further_answer() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Changed").await;
    let token = house.token(car).await;
    house.answer(&token, &with(&house.owners_form(&token, 1).await, "choice", "A")).await;
    let page = house.get(&format!("/o/{token}?change=1")).await;
    page.says(200, &["Your answer of", "What you choose now stands instead", "Give this answer instead"]);
    whole(&page);
    let fields = html::filled(&page.text(), "answer-1");
    assert_eq!(house.answer(&token, &with(&fields, "choice", "B")).await.status, 303);
    let record = car_of(&house, car).await;
    let thread = &record.threads()[0];
    let (_, stands) = thread.answer().unwrap();
    assert_eq!(stands.changes, Some(thread.answers[0].0.id));
    assert_eq!(thread.answers.len(), 2);
}

#[tokio::test]
async fn an_answer_after_the_question_was_taken_back_is_kept_as_words_and_said_so() {
    let house = House::open().await;
    let (car, asked) = house.asked_car("Too late").await;
    let token = house.token(car).await;
    let fields = with(&with(&house.owners_form(&token, 1).await, "choice", "B"), "words", "Let us do it well.");
    house.take_back(car, asked).await;
    let told = house.answer(&token, &fields).await;
    told.says(
        409,
        &[
            "The shop took this question back before your answer came",
            "asked too early",
            "Nothing is lost",
            "Nothing waits for you",
        ],
    );
    whole(&told);
    let record = car_of(&house, car).await;
    let thread = &record.threads()[0];
    assert_eq!((thread.standing(), thread.answers.len(), thread.wrote.len()), (Standing::Withdrawn, 0, 1));
    let (entry, wrote) = thread.wrote[0];
    assert_eq!((entry.by.id, wrote.choice.as_deref()), (house.owner.id, Some("B")));
    assert!(
        wrote.words.starts_with("Let us do it well.") && wrote.words.contains("Replace a section"),
        "{}",
        wrote.words
    );
    // A second touch of the button keeps nothing twice.
    assert_eq!(house.answer(&token, &fields).await.status, 409);
    assert_eq!(house.count(car).await, record.count);
    house
        .get(&format!("/cars/{car}/questions/1"))
        .await
        .says(200, &["What the owner wrote about it", "Let us do it well."]);
}

#[tokio::test]
async fn a_page_left_open_while_the_question_changed_shows_it_anew_with_the_choice_still_marked() {
    let house = House::open().await;
    let (car, asked) = house.asked_car("A week").await;
    let token = house.token(car).await;
    let fields = with(&with(&house.owners_form(&token, 1).await, "choice", "B"), "words", "The whole of it.");
    let anew = Question { ask: "The hole goes on: how far now?".into(), ..question(Vec::new()) };
    house.put_instead(car, What::Asked(anew), Some(asked)).await;
    let told = house.answer(&token, &fields).await;
    told.says(
        409,
        &["The shop changed this question since you opened the page", "The hole goes on: how far now?", "still marked"],
    );
    whole(&told);
    let record = car_of(&house, car).await;
    let thread = &record.threads()[0];
    assert_eq!((thread.standing(), thread.answers.len(), thread.wrote.len()), (Standing::Open, 0, 1));
    let again = html::filled(&told.text(), "answer-1");
    assert_eq!((field(&again, "choice"), field(&again, "words")), ("B", "The whole of it."));
    assert_eq!(house.answer(&token, &again).await.status, 303);
    assert_eq!(car_of(&house, car).await.threads()[0].standing(), Standing::Answered);
}

#[tokio::test]
async fn a_page_left_open_for_a_week_is_answered_with_the_figures_it_showed() {
    let house = House::open().await;
    let (car, _) = house.asked_car("A week of work").await;
    let token = house.token(car).await;
    let then = car_of(&house, car).await;
    let fields = with(&house.owners_form(&token, 1).await, "choice", "A");
    for zone in ["Z06.LF", "Z06.RF", "Z05.L"] {
        let found = Form::new()
            .pairs([("kind", "opened"), ("zone", zone), ("found", "holed"), ("through", "cut open")])
            .text("entry", EntryId::fresh())
            .text("who", house.bench.id);
        assert_eq!(house.keep(car, found).await.status, 303);
    }
    let now = car_of(&house, car).await;
    let (shown, today) = (house.shop.told(&then).await.unwrap(), house.shop.told(&now).await.unwrap());
    assert_ne!(shown, today, "the range has moved meanwhile, or this test shows nothing");
    assert_eq!(house.answer(&token, &fields).await.status, 303);
    let after = car_of(&house, car).await;
    let threads = after.threads();
    let (_, answer) = threads[0].answer().unwrap();
    assert_eq!((answer.shown.range, answer.shown.count, answer.shown.head), (shown, then.count, then.head));
}

#[tokio::test]
async fn what_was_not_shown_cannot_be_answered() {
    let house = House::open().await;
    let (car, asked) = house.asked_car("Forged").await;
    let (other, _) = house.asked_car("Another").await;
    let (token, theirs) = (house.token(car).await, house.token(other).await);
    let fields = with(&house.owners_form(&token, 1).await, "choice", "A");
    for (name, value) in [("shown", Hash::of(b"other").to_string()), ("seen", "1".into()), ("seen", "99999".into())] {
        let forged = with(&with(&fields, name, &value), "entry", &EntryId::fresh().to_string());
        let told = house.answer(&token, &forged).await;
        told.says(409, &["The figures of this question have changed", "Nothing is lost"]);
    }
    let broken = house.answer(&token, &with(&fields, "shown", "no hash")).await;
    broken.says(422, &["did not come through whole"]);
    // Another car's link answers nothing here.
    let before = house.count(car).await;
    let foreign = house.answer(&theirs, &fields).await;
    assert_eq!(foreign.status, 422, "{}", html::words(&foreign.text()));
    assert_eq!(house.count(car).await, before);
    assert!(car_of(&house, other).await.thread_of(asked).is_none());
}

#[tokio::test]
async fn a_link_that_ended_or_was_taken_back_says_so_and_keeps_nothing() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Secret coupe").await;
    let open = house.token(car).await;
    let fields = with(&house.owners_form(&open, 1).await, "choice", "A");
    let (ended, revoked) = (house.ended_token(car).await, house.revoked_token(car).await);
    let unknown = web::token::fresh();
    for (token, status, words) in [
        (&ended, 410, "The time of this link is over"),
        (&revoked, 410, "The shop took this link back"),
        (&unknown, 404, "This link is not known here"),
    ] {
        let page = house.get(&format!("/o/{token}")).await;
        page.says(status, &[words, "please ring the shop"]);
        whole(&page);
        assert!(!page.text().contains("Secret coupe") && !page.text().contains("href=\"/\""), "{}", page.text());
        let sent = house.answer(token, &fields).await;
        sent.says(status, &[words, "Nothing you typed has been kept", "ring the shop"]);
    }
    assert!(car_of(&house, car).await.threads()[0].answers.is_empty());
    // An owner who is no longer one is no longer let in.
    let mut left = house.owner.clone();
    left.active = false;
    house.shop.put_person(&left).await.unwrap();
    house.get(&format!("/o/{open}")).await.says(410, &["The shop took this link back"]);
}

#[tokio::test]
async fn wrong_links_are_slowed_like_sign_in_and_shut_nobody_out() {
    let house = House::locked().await;
    let lead = house.session(&house.lead, job::person::Role::Lead, jiff::SignedDuration::from_hours(1)).await;
    let made = house.post_as(&lead, "/cars/new", form::car("Slow", &house.lead)).await;
    let car = made.header("location").trim_start_matches("/cars/").parse().unwrap();
    let token = house.token(car).await;
    let mut last = house.get(&format!("/o/{}", web::token::fresh())).await;
    for _ in 0..6 {
        last = house.get(&format!("/o/{}", web::token::fresh())).await;
    }
    last.says(429, &["Too many wrong links", "wait"]);
    assert!(last.header("retry-after").parse::<u64>().unwrap() > 0);
    assert_eq!(last.header("cache-control"), "no-store");
    // What could never be a token is no attempt at one, and is not known either.
    for crooked in ["x", "0", &"f".repeat(63), &"F".repeat(64), "%00", "..%2f"] {
        assert_eq!(house.get(&format!("/o/{crooked}")).await.status, 404, "{crooked}");
    }
    assert_eq!(house.get(&format!("/o/{token}")).await.status, 200);
    let body = format!("person={}&passphrase=four+words+on+paper&role=lead", house.lead.id);
    assert_eq!(house.post_plain("/sign-in", "", &body).await.status, 303, "wrong links slow no sign-in");
}

#[tokio::test]
async fn an_owner_sees_placed_photographs_of_this_car_and_no_other() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Mine").await;
    let (other, _) = house.asked_car("Theirs").await;
    let unplaced = Form::new()
        .pairs([("kind", "photographed"), ("side", "left"), ("stage", "strip"), ("caption", "Somewhere")])
        .text("entry", EntryId::fresh())
        .text("who", house.bench.id)
        .file("photo", "a.jpg", form::jpeg(64, 48));
    assert_eq!(house.keep(car, unplaced).await.status, 303);
    let foreign = Form::new()
        .pairs([
            ("kind", "photographed"),
            ("side", "left"),
            ("stage", "strip"),
            ("caption", "Not yours"),
            ("zone", "Z01.R"),
        ])
        .text("entry", EntryId::fresh())
        .text("who", house.bench.id)
        .file("photo", "b.jpg", form::jpeg(80, 60));
    assert_eq!(house.keep(other, foreign).await.status, 303);
    let token = house.token(car).await;
    let picture = |hash: Hash| format!("/o/{token}/pictures/{hash}");
    for (of, photo) in [(car, "A hole with a rule"), (car, "Somewhere"), (other, "Not yours")] {
        let record = car_of(&house, of).await;
        let (_, photo) = record.photographs().find(|(_, p)| p.caption == photo).unwrap();
        for hash in [photo.picture, photo.thumb] {
            let answer = house.get(&picture(hash)).await;
            let wanted = if photo.caption == "A hole with a rule" { 200 } else { 404 };
            assert_eq!(answer.status.as_u16(), wanted, "{}", photo.caption);
            assert_eq!(answer.header("cache-control"), "no-store");
        }
    }
    let page = house.get(&format!("/o/{token}/photographs")).await;
    page.says(200, &["Outer sill, left", "A hole with a rule", "bare metal"]);
    whole(&page);
    assert!(!page.text().contains("Somewhere") && !page.text().contains("Not yours"));
}

#[tokio::test]
async fn a_photograph_that_is_gone_from_the_disk_leaves_words_in_its_place() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Gone").await;
    let token = house.token(car).await;
    let record = car_of(&house, car).await;
    let photo = record.photographs().map(|(_, p)| p.clone()).next().unwrap();
    let report = record.entries().iter().find(|e| matches!(e.what, What::Reported(_))).unwrap().seq;
    for hash in [photo.picture, photo.thumb] {
        house.delete_file(hash).await;
    }
    for path in ["".to_string(), "/photographs".into(), format!("/reports/{report}")] {
        let page = house.get(&format!("/o/{token}{path}")).await;
        page.says(200, &["gone from the shop", "A hole with a rule"]);
        whole(&page);
    }
    let answer = house.get(&format!("/o/{token}/pictures/{}", photo.thumb)).await;
    answer.says(404, &["no file of this photograph any more"]);
    let file = house.get(&format!("/cars/{car}/questions/1/question.html")).await;
    file.says(200, &["This photograph did not come with the file", "A hole with a rule"]);
    assert_eq!(house.answer(&token, &with(&house.owners_form(&token, 1).await, "choice", "A")).await.status, 303);
}

#[tokio::test]
async fn an_owner_reads_the_reports_and_the_dossier() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Told").await;
    let token = house.token(car).await;
    let seq = car_of(&house, car).await.entries().iter().find(|e| matches!(e.what, What::Reported(_))).unwrap().seq;
    let page = house.get(&format!("/o/{token}/reports/{seq}")).await;
    page.says(200, &["The left sill is worse than hoped.", "Right sill scoped", "690 to 1115 hours, likely 850"]);
    whole(&page);
    let pdf = house.get(&format!("/o/{token}/reports/{seq}/report.pdf")).await;
    assert_eq!(
        (pdf.header("content-type"), pdf.bytes.as_slice()),
        ("application/pdf", b"%PDF-1.7 a report".as_slice())
    );
    let dossier = house.get(&format!("/o/{token}/dossier.pdf")).await;
    assert!(dossier.bytes.starts_with(b"%PDF"), "{}", dossier.text());
    for nothing in ["/reports/1", "/reports/9999", "/reports/1/report.pdf", "/nothing", "/reports/x"] {
        let page = house.get(&format!("/o/{token}{nothing}")).await;
        page.says(404, &["Not shown"]);
        whole(&page);
        assert_eq!(page.header("referrer-policy"), "same-origin");
    }
}

#[tokio::test]
async fn an_owner_writes_to_the_shop_and_not_without_end() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Letters").await;
    let token = house.token(car).await;
    let path = format!("/o/{token}/write");
    let letter = |words: &str| Form::new().text("entry", EntryId::fresh()).text("words", words);
    house.post(&path, letter("  ")).await.says(422, &["Nothing was typed here"]);
    let long = "a".repeat(9_000);
    let refused = house.post(&path, letter(&long)).await;
    refused.says(422, &["9000 characters were typed"]);
    assert!(refused.text().contains(&long), "what was typed is still there");
    let sent = house.post(&path, letter("May I come on Friday? <i>Please</i>")).await;
    assert_eq!(sent.status, 303);
    house
        .get(sent.header("location"))
        .await
        .says(200, &["The shop has your message", "May I come on Friday? <i>Please</i>"]);
    house
        .get(&format!("/cars/{car}/questions"))
        .await
        .says(200, &["What the owner wrote besides", "May I come on Friday?"]);
    assert_eq!(house.post(&path, Form::new().text("words", "b".repeat(100_000))).await.status, 413);
    for n in 0..39 {
        assert_eq!(house.post(&path, letter(&format!("Letter {n}"))).await.status, 303);
    }
    let full = house.post(&path, letter("One too many")).await;
    full.says(422, &["40 answers and messages came today already", "ring the shop"]);
    assert!(full.text().contains("One too many"));
}

#[tokio::test]
async fn the_first_load_of_an_owners_page_is_small() {
    let house = House::open().await;
    let car = house.car("Small").await;
    let mut photographs = Vec::new();
    for n in 0..4 {
        let photo = Form::new()
            .pairs([("kind", "photographed"), ("zone", "Z01.L"), ("side", "left"), ("stage", "strip")])
            .text("caption", format!("Photograph {n}"))
            .text("entry", EntryId::fresh())
            .text("who", house.bench.id)
            .file("photo", "a.jpg", form::jpeg(2400 - n, 1800));
        assert_eq!(house.keep(car, photo).await.status, 303);
        photographs.push(car_of(&house, car).await.photographs().last().unwrap().0.id);
    }
    house.put(car, What::Asked(question(photographs))).await;
    let token = house.token(car).await;
    let page = house.get(&format!("/o/{token}")).await;
    let tags = html::tags(&page.text()).unwrap();
    let mut size = page.bytes.len();
    // Everything the page names outside of what is folded away, uncompressed, and the three fonts of the stylesheet.
    let named = tags.iter().filter(|t| !t.inside.iter().any(|i| i == "details"));
    let addresses: Vec<&str> = named
        .map(|t| if t.name == "link" { t.get("href") } else { t.get("src") })
        .filter(|address| address.starts_with('/'))
        .collect();
    assert_eq!(addresses.iter().filter(|a| a.contains("/pictures/")).count(), 2, "the rest is folded away");
    for address in addresses {
        size += house.get(address).await.bytes.len();
    }
    for font in ["barlow-latin-400-normal", "barlow-latin-600-normal", "barlow-condensed-latin-500-normal"] {
        let font = house.get(&format!("/ui/fonts/{font}.woff2")).await;
        size += if font.status == 200 { font.bytes.len() } else { 0 };
    }
    assert!(size < FIRST_LOAD, "{size} bytes");
}

/// What this process notes that could hold a token: whatever names an owner's path, and every long word.
static NOTED: Mutex<String> = Mutex::new(String::new());

/// A reader of the log that keeps it in [`NOTED`].
struct Noted;

impl tracing::field::Visit for Noted {
    fn record_debug(&mut self, field: &tracing::field::Field, value: &dyn std::fmt::Debug) {
        let text = format!("{}={value:?} ", field.name());
        let long = text.split(|c: char| !c.is_ascii_alphanumeric()).any(|word| word.len() >= 24);
        if long || text.contains("/o/") {
            NOTED.lock().unwrap().push_str(&text);
        }
    }
}

impl tracing::Subscriber for Noted {
    fn enabled(&self, _: &tracing::Metadata<'_>) -> bool {
        true
    }
    fn new_span(&self, span: &tracing::span::Attributes<'_>) -> tracing::span::Id {
        span.record(&mut Self);
        tracing::span::Id::from_u64(1)
    }
    fn record(&self, _: &tracing::span::Id, values: &tracing::span::Record<'_>) {
        values.record(&mut Self);
    }
    fn record_follows_from(&self, _: &tracing::span::Id, _: &tracing::span::Id) {}
    fn event(&self, event: &tracing::Event<'_>) {
        event.record(&mut Self);
    }
    fn enter(&self, _: &tracing::span::Id) {}
    fn exit(&self, _: &tracing::span::Id) {}
}

#[tokio::test]
async fn no_token_is_ever_noted_in_the_log() {
    // For the whole process: a reader for one thread is passed over where another test met the line first.
    tracing::subscriber::set_global_default(Noted).unwrap();
    tracing::callsite::rebuild_interest_cache();
    let house = House::open().await;
    let (car, _) = house.asked_car("Logged").await;
    let tokens = [house.token(car).await, house.revoked_token(car).await, web::token::fresh()];
    for token in &tokens {
        for path in ["", "/photographs", "/nothing", "//", "/pictures/short"] {
            house.get(&format!("/o/{token}{path}")).await;
        }
        house.get(&format!("/O/{token}")).await;
        house.get(&format!("//o/{token}")).await;
        house.ask_any(Method::DELETE, &format!("/o/{token}"), "").await;
        let path = format!("/o/{token}/answer");
        let foreign = as_form(&Vec::new()).request(&path, &[("origin", "https://elsewhere.example")]);
        assert_eq!(crate::support::send(&house.router, foreign).await.status, 403);
    }
    let text = NOTED.lock().unwrap().clone();
    assert!(
        text.contains("path=\"/o/-/photographs\""),
        "the log holds no requests, so this test shows nothing: {text}"
    );
    for token in &tokens {
        assert!(!text.contains(&token[..24]), "a token stands in the log");
    }
}

#[tokio::test]
async fn every_answer_below_a_link_has_its_fences() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Fenced").await;
    let token = house.token(car).await;
    let fields = house.owners_form(&token, 1).await;
    let mut answers = vec![
        house.get(&format!("/o/{token}")).await,
        house.get(&format!("/o/{token}/")).await,
        house.get(&format!("/o/{token}/dossier.pdf")).await,
        house.get("/o/").await,
        house.get("/o").await,
        house.answer(&token, &fields).await,
        house.answer(&token, &with(&fields, "choice", "A")).await,
        house.ask_any(Method::PUT, &format!("/o/{token}"), "").await,
        house.ask(Request::get(format!("/o/{token}")).header(header::COOKIE, "guidecoat_session=x")).await,
    ];
    let cross = as_form(&fields).request(&format!("/o/{token}/answer"), &[("sec-fetch-site", "cross-site")]);
    answers.push(crate::support::send(&house.router, cross).await);
    for (n, answer) in answers.iter().enumerate() {
        let policy = answer.header("content-security-policy");
        assert!(policy.starts_with("default-src 'none';") && !policy.contains("script"), "{n}: {policy}");
        assert_eq!(answer.header("referrer-policy"), "same-origin", "{n}");
        assert_eq!(answer.header("cache-control"), "no-store", "{n}");
        assert_eq!(answer.header("x-robots-tag"), "noindex, nofollow", "{n}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{n}");
        assert!(answer.headers.get("set-cookie").is_none(), "{n}: an owner's page sets a cookie");
        assert!(!answer.text().contains("href=\"/\""), "{n}: a way into the shop");
    }
    answers[9].says(403, &["sent from another site"]);
}
