//! The Questions sheet: drafted from a finding, edited, sent, answered by telephone, taken back, sent as a file.

use job::ids::{CarId, EntryId};
use job::question::{AnswerWay, Standing};
use job::what::What;

use crate::support::form::{self, Form};
use crate::support::owner::{Fields, as_form, field, with};
use crate::support::{Answer, House, html};

#[track_caller]
fn whole(answer: &Answer) {
    assert_eq!(html::faults(&answer.text()), Vec::<String>::new());
}

fn opened(house: &House, zone: &str) -> Form {
    Form::new()
        .pairs([("kind", "opened"), ("zone", zone), ("found", "holed"), ("through", "cut open")])
        .text("entry", EntryId::fresh())
        .text("who", house.bench.id)
}

/// A car with three findings past the limit: two on the left, one on the right.
async fn bad_car(house: &House) -> CarId {
    let car = house.car("Past the limit").await;
    for zone in ["Z03.L", "Z01.L", "Z01.R"] {
        assert_eq!(house.keep(car, opened(house, zone)).await.status, 303);
    }
    assert_eq!(house.keep(car, form::entry("photographed", &house.bench)).await.status, 303);
    car
}

/// The form as it is drafted for these zones, with the lead as the one who writes.
async fn drafted(house: &House, car: CarId, query: &str) -> Fields {
    let page = house.get(&format!("/cars/{car}/questions/new?{query}")).await;
    assert_eq!(page.status, 200, "{}", html::words(&page.text()));
    whole(&page);
    with(&html::filled(&page.text(), "question-form"), "who", &house.lead.id.to_string())
}

async fn send(house: &House, car: CarId, what: &str, fields: &Fields) -> Answer {
    house.post(&format!("/cars/{car}/questions"), as_form(&with(fields, "do", what))).await
}

/// Drafts and sends a question about the left sill.
async fn sent(house: &House, car: CarId) {
    let fields = drafted(house, car, "zone=Z03.L&zone=Z01.L").await;
    let answer = send(house, car, "send", &fields).await;
    assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
}

#[tokio::test]
async fn a_finding_past_the_limit_becomes_a_question_and_its_work_waits() {
    let house = House::open().await;
    let car = bad_car(&house).await;
    let sheet = house.get(&format!("/cars/{car}/questions")).await;
    sheet.says(
        200,
        &[
            "findings have to go to the owner",
            "Left side",
            "Right side",
            "Sill membrane, left",
            "Tick what the owner should decide together",
        ],
    );
    whole(&sheet);
    house.get(&format!("/cars/{car}/zones/Z03.L")).await.says(200, &["Ask the owner"]);

    let fields = drafted(&house, car, "zone=Z03.L&zone=Z01.L").await;
    assert!(
        field(&fields, "ask").contains("sill membrane, left") && field(&fields, "found").contains("rusted through")
    );
    assert_eq!(fields.iter().filter(|(n, _)| n == "zones").count(), 2);
    assert_eq!(fields.iter().filter(|(n, _)| n == "photographs").count(), 1);
    let fields = with(&fields, "ask", "How far shall we go, <b>really</b>?");
    let preview = send(&house, car, "preview", &fields).await;
    preview.says(200, &["As the owner will read it", "How far shall we go, <b>really</b>?", "A. Let in patches"]);
    whole(&preview);
    let count = house.count(car).await;
    assert_eq!(html::filled(&preview.text(), "question-form").len(), fields.len(), "nothing typed is lost");

    let kept = send(&house, car, "draft", &fields).await;
    assert_eq!((kept.status.as_u16(), house.count(car).await), (303, count + 1));
    let page = house.get(kept.header("location")).await;
    page.says(200, &["Question 1", "A draft. The owner has not seen it.", "Change it or send it"]);
    whole(&page);
    let record = house.shop.car(car).await.unwrap();
    assert!(record.waits_for("Z03.L").is_some() && record.waits_for("Z01.R").is_none());
    house.get(&format!("/cars/{car}/zones/Z01.L")).await.says(200, &["Work here waits for the owner.", "Question 1"]);
    house.get(&format!("/cars/{car}")).await.says(200, &["Waits for the owner", "2 zones"]);

    let again = drafted(&house, car, "corrects=1").await;
    assert_eq!(send(&house, car, "send", &again).await.status, 303);
    let record = house.shop.car(car).await.unwrap();
    let threads = record.threads();
    assert_eq!((threads.len(), threads[0].versions.len(), threads[0].standing()), (1, 2, Standing::Open));
    let sheet = house.get(&format!("/cars/{car}/questions")).await;
    sheet.says(200, &["Asked, and not answered", "2 versions", "One finding has to go to the owner"]);
    whole(&sheet);
}

#[tokio::test]
async fn what_cannot_be_asked_is_said_at_its_field_and_nothing_typed_is_lost() {
    let house = House::open().await;
    let car = bad_car(&house).await;
    let fields = with(&drafted(&house, car, "zone=Z03.L").await, "found", "Typed with care.");
    let without = |fields: &Fields, letters: &[&str]| -> Fields {
        let gone = |name: &str| letters.iter().any(|l| name.ends_with(&format!("_{l}")));
        fields.iter().map(|(n, v)| (n.clone(), if gone(n) { String::new() } else { v.clone() })).collect()
    };
    let before = house.count(car).await;
    for (wrong, id, words) in [
        (without(&fields, &["b", "c"]), "e-options", "Only one option was given: that is no question"),
        (without(&fields, &["a", "b", "c"]), "e-options", "No option was given"),
        (with(&fields, "low_a", "99"), "e-hours_a", "Low is at most likely"),
        (with(&fields, "high_b", "1"), "e-hours_b", "Low is at most likely"),
        (with(&fields, "likely_c", "many"), "e-hours_c", "\"many\" was typed for the likely hours of option C"),
        (with(&fields, "high_a", "NaN"), "e-hours_a", "\"NaN\" was typed"),
        (with(&fields, "high_a", "1e9"), "e-hours_a", "Anything from 0 to 5000"),
        (with(&fields, "title_b", " "), "e-title_b", "Nothing was typed here"),
        (with(&fields, "ask", ""), "e-ask", "Nothing was typed here"),
        (with(&fields, "by", "soon"), "e-by", "\"soon\" was typed for the day"),
        (with(&fields, "by", "2026-02-30"), "e-by", "was typed for the day"),
        (with(&fields, "zones", "Z99"), "e-zone", "is not a zone of this body"),
        (with(&fields, "photographs", &EntryId::fresh().to_string()), "e-photographs", "not in this car's record"),
        (with(&fields, "waits", &"line\n".repeat(31)), "e-waits", "31 lines were typed"),
        (with(&fields, "who", ""), "e-who", "Nobody was picked"),
        (with(&fields, "who", &house.owner.id.to_string()), "e-who", "Nobody was picked who may write here"),
    ] {
        for what in ["draft", "send"] {
            let page = send(&house, car, what, &wrong).await;
            page.says(422, &[words, "Typed with care."]);
            whole(&page);
            assert!(page.text().contains(&format!("id=\"{id}\"")), "{id}: {}", html::words(&page.text()));
        }
    }
    assert_eq!(house.count(car).await, before, "nothing was kept");
    // Two options are enough, whichever of the three places they stand in.
    assert_eq!(send(&house, car, "send", &without(&fields, &["b"])).await.status, 303);
    let record = house.shop.car(car).await.unwrap();
    let threads = record.threads();
    let keys: Vec<_> = threads[0].latest().unwrap().1.options.iter().map(|o| o.key.as_str()).collect();
    assert_eq!(keys, ["A", "B"]);
}

#[tokio::test]
async fn a_changed_question_is_a_new_version_and_two_who_change_it_are_told() {
    let house = House::open().await;
    let car = bad_car(&house).await;
    sent(&house, car).await;
    let (mine, theirs) = (drafted(&house, car, "corrects=1").await, drafted(&house, car, "corrects=1").await);
    assert_eq!(send(&house, car, "send", &with(&mine, "ask", "Mine: how far?")).await.status, 303);
    let told = send(&house, car, "send", &with(&theirs, "ask", "Theirs: how far?")).await;
    told.says(409, &["changed this question meanwhile", "Theirs: how far?"]);
    whole(&told);
    let again = with(&html::filled(&told.text(), "question-form"), "who", &house.lead.id.to_string());
    assert_eq!(send(&house, car, "send", &again).await.status, 303);
    let record = house.shop.car(car).await.unwrap();
    let threads = record.threads();
    assert_eq!((threads.len(), threads[0].versions.len()), (1, 3));
    house.get(&format!("/cars/{car}/questions/1")).await.says(200, &["Versions", "Mine: how far?", "Theirs: how far?"]);

    let late = drafted(&house, car, "corrects=1").await;
    let back = Form::new().text("entry", EntryId::fresh()).text("who", house.lead.id).text("why", "Not needed");
    let path = format!("/cars/{car}/questions/1/withdraw");
    let answer = house.post(&path, back).await;
    assert_eq!(answer.status, 303);
    house.get(answer.header("location")).await.says(200, &["Taken back on", "Not needed"]);
    send(&house, car, "send", &late).await.says(409, &["taken back meanwhile", "asked as a new one"]);
    let back = |why: &str| Form::new().text("entry", EntryId::fresh()).text("who", house.lead.id).text("why", why);
    house.post(&path, back("")).await.says(422, &["Nothing was typed here"]);
    house.post(&path, back("Again")).await.says(409, &["already corrected or taken out"]);
    house.post(&path, Form::new().text("why", "Nobody")).await.says(422, &["Nothing was kept"]);
    let record = house.shop.car(car).await.unwrap();
    assert!(record.waits_for("Z03.L").is_none());
}

#[tokio::test]
async fn an_answer_by_telephone_is_written_down_locked_and_changed_by_a_further_one() {
    let house = House::open().await;
    let car = bad_car(&house).await;
    sent(&house, car).await;
    let path = format!("/cars/{car}/questions/1");
    let form = async || {
        let fields = html::filled(&house.get(&path).await.text(), "call-form");
        with(&with(&fields, "who", &house.lead.id.to_string()), "way", "telephone")
    };
    let post = async |fields: &Fields| house.post(&format!("{path}/answer"), as_form(fields)).await;
    let first = form().await;
    for (wrong, words) in [
        (with(&first, "choice", ""), "Nothing was chosen"),
        (with(&with(&first, "choice", "A"), "way", ""), "Nothing was chosen"),
        (with(&with(&first, "choice", "A"), "way", "link"), "Nothing was chosen"),
        (with(&with(&first, "choice", "A"), "who", ""), "Nobody was picked"),
        (with(&first, "choice", "none"), "Nothing was typed here"),
        (with(&with(&first, "choice", "A"), "seen", "x"), "did not come through whole"),
    ] {
        let page = post(&wrong).await;
        page.says(422, &[words]);
        whole(&page);
    }
    let second = form().await;
    let kept = post(&with(&with(&first, "choice", "A"), "words", "Patches will do.")).await;
    assert_eq!(kept.status, 303);
    let page = house.get(kept.header("location")).await;
    page.says(
        200,
        &[
            "Answered by telephone",
            "A. Let in patches",
            "Locked at entry",
            "Patches will do.",
            "Write down a changed mind",
        ],
    );
    whole(&page);
    let told = post(&with(&second, "choice", "B")).await;
    told.says(409, &["An answer came meanwhile"]);
    whole(&told);
    let again = with(&html::filled(&told.text(), "call-form"), "who", &house.lead.id.to_string());
    assert_eq!(field(&again, "choice"), "B");
    assert_eq!(post(&again).await.status, 303);
    let record = house.shop.car(car).await.unwrap();
    let thread = &record.threads()[0];
    let (_, stands) = thread.answer().unwrap();
    assert_eq!((thread.answers.len(), stands.choice.as_deref(), stands.way), (2, Some("B"), AnswerWay::Telephone));
    // Locked: neither corrected nor taken out, and nobody is offered to.
    let entry = thread.answers[0].0;
    let page = house.get(&format!("/cars/{car}/entries/{}", entry.seq)).await;
    assert!(!page.text().contains("Take this entry out"));
    let out = Form::new()
        .pairs([("kind", "withdrawn"), ("why", "Wrong")])
        .text("withdraws", entry.id)
        .text("entry", EntryId::fresh())
        .text("who", house.lead.id);
    let refused = house.keep(car, out).await;
    assert!(html::words(&refused.text()).contains("is locked"), "{}", html::words(&refused.text()));
    assert_eq!(house.count(car).await, record.count);
}

#[tokio::test]
async fn a_call_about_a_question_that_changed_or_was_taken_back_is_told() {
    let house = House::open().await;
    let car = bad_car(&house).await;
    sent(&house, car).await;
    let path = format!("/cars/{car}/questions/1");
    let fields = html::filled(&house.get(&path).await.text(), "call-form");
    let fields = with(&with(&with(&fields, "who", &house.lead.id.to_string()), "way", "mail"), "choice", "A");
    let anew = drafted(&house, car, "corrects=1").await;
    assert_eq!(send(&house, car, "send", &with(&anew, "ask", "And now?")).await.status, 303);
    let told = house.post(&format!("{path}/answer"), as_form(&fields)).await;
    told.says(409, &["changed while this page was open", "And now?"]);
    let count = house.count(car).await;
    let back = Form::new().text("entry", EntryId::fresh()).text("who", house.lead.id).text("why", "Not needed");
    house.post(&format!("{path}/withdraw"), back).await;
    house.post(&format!("{path}/answer"), as_form(&fields)).await.says(409, &["taken back meanwhile"]);
    assert_eq!(house.count(car).await, count + 1);
}

#[tokio::test]
async fn work_done_before_the_answer_is_kept_with_a_doubt() {
    let house = House::open().await;
    let car = bad_car(&house).await;
    sent(&house, car).await;
    let made = Form::new()
        .pairs([("kind", "made_good"), ("zone", "Z03.L"), ("note", "1.0 mm let in")])
        .text("entry", EntryId::fresh())
        .text("who", house.bench.id);
    let kept = house.keep(car, made).await;
    assert_eq!(kept.status, 303);
    let page = house.get(kept.header("location")).await;
    page.says(200, &["Doubtful:", "waits for the answer to question 1", "has not chosen an option"]);
}

#[tokio::test]
async fn the_question_file_is_whole_small_and_loads_nothing() {
    let house = House::open().await;
    let car = bad_car(&house).await;
    let draft = drafted(&house, car, "zone=Z03.L&zone=Z01.L").await;
    assert_eq!(send(&house, car, "draft", &draft).await.status, 303);
    let path = format!("/cars/{car}/questions/1/question.html");
    house.get(&path).await.says(422, &["This question is a draft"]);
    let again = drafted(&house, car, "corrects=1").await;
    assert_eq!(send(&house, car, "send", &again).await.status, 303);
    let file = house.get(&path).await;
    file.says(
        200,
        &[
            "Question 1",
            "A. Let in patches",
            "option A, B or C",
            "By mail, write:",
            "By telephone",
            "silence is not a yes",
            "1 sill membrane, left",
        ],
    );
    assert!(file.header("content-disposition").starts_with("attachment; filename=\"question-1.html\""));
    let (text, record) = (file.text(), house.shop.car(car).await.unwrap());
    assert!(text.contains(&record.head.to_string()), "the head of the record");
    assert!(file.bytes.len() < 1_000_000, "{} bytes", file.bytes.len());
    let tags = html::tags(&text).unwrap();
    let policy = tags.iter().find(|t| t.get("http-equiv") == "Content-Security-Policy").unwrap().get("content");
    assert!(policy.starts_with("default-src 'none'; style-src 'unsafe-inline'; img-src data:;"), "{policy}");
    let pictures: Vec<_> = tags.iter().filter(|t| t.name == "img").collect();
    assert!(pictures.len() == 1 && pictures[0].get("src").starts_with("data:image/jpeg;base64,/9j/"));
    for tag in &tags {
        assert!(!["script", "link", "iframe", "form", "a"].contains(&tag.name.as_str()), "<{}>", tag.name);
        for attribute in ["href", "action", "srcset", "data"] {
            assert!(!tag.has(attribute), "{attribute} in <{}>", tag.name);
        }
    }
    assert!(!text.contains("http:") && !text.contains("https:") && !text.contains("url(/"));
}

#[tokio::test]
async fn a_file_with_many_photographs_stays_under_a_megabyte() {
    let house = House::open().await;
    let car = bad_car(&house).await;
    // Noise is what a JPEG packs worst.
    let mut state = 1_u32;
    let noise = image::RgbImage::from_fn(480, 480, |_, _| {
        image::Rgb([(); 3].map(|()| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 24) as u8
        }))
    });
    let mut bytes = std::io::Cursor::new(Vec::new());
    noise.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    for n in 0..12 {
        let photo = Form::new()
            .pairs([("kind", "photographed"), ("zone", "Z03.L"), ("side", "left"), ("stage", "strip")])
            .text("caption", format!("Photograph {n}"))
            .text("entry", EntryId::fresh())
            .text("who", house.bench.id)
            .file("photo", "a.png", bytes.get_ref());
        assert_eq!(house.keep(car, photo).await.status, 303);
    }
    let record = house.shop.car(car).await.unwrap();
    let mut fields: Fields = drafted(&house, car, "zone=Z03.L").await;
    fields.retain(|(n, _)| n != "photographs");
    let all = record.photographs().filter(|(_, p)| p.caption.starts_with("Photograph"));
    fields.extend(all.map(|(entry, _)| ("photographs".to_string(), entry.id.to_string())));
    let kept = send(&house, car, "send", &fields).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let file = house.get(&format!("/cars/{car}/questions/1/question.html")).await;
    file.says(200, &["Photograph 0", "Photograph 11", "This photograph did not come with the file"]);
    assert!(file.bytes.len() < 1_000_000, "{} bytes", file.bytes.len());
}

#[tokio::test]
async fn what_is_not_there_is_said_in_words() {
    let house = House::open().await;
    let car = bad_car(&house).await;
    for path in [
        "questions/1",
        "questions/0",
        "questions/x",
        "questions/1/question.html",
        "questions/new?zone=Z99",
        "questions/new?corrects=1",
    ] {
        let page = house.get(&format!("/cars/{car}/{path}")).await;
        assert_eq!(page.status, 404, "{path}: {}", html::words(&page.text()));
    }
    let nowhere = house.get(&format!("/cars/{car}/questions/new")).await;
    assert_eq!(nowhere.header("location"), format!("/cars/{car}/questions"));
    let record = house.shop.car(car).await.unwrap();
    assert!(!record.entries().iter().any(|e| matches!(e.what, What::Asked(_))));
}
