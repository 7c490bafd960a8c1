//! Entries through the form: kept, sent twice, refused with everything typed still there, overtaken, corrected.

use std::collections::BTreeMap;

use job::ids::EntryId;
use job::what::{Seen, Severity, What};

use crate::support::form::{self, Form, KINDS, entry, jpeg};
use crate::support::{Answer, House, html};

fn location(answer: &Answer) -> &str {
    answer.header("location")
}

#[tokio::test]
async fn every_kind_is_kept_as_a_page_and_as_json_and_once_however_often_it_is_sent() {
    let house = House::open().await;
    let car = house.car("Every kind").await;
    let mut count = 1;
    for (kind, _) in KINDS {
        let form = entry(kind, &house.bench);
        let page = house.keep(car, form.clone()).await;
        assert_eq!(page.status, 303, "{kind}: {}", html::words(&page.text()));
        count += 1;
        assert_eq!(house.count(car).await, count, "{kind}");
        let onward = house.get(location(&page)).await;
        onward.says(200, &[&format!("Kept as entry {count}")]);
        let again = house.keep(car, form.clone()).await;
        assert_eq!((again.status.as_u16(), location(&again)), (303, location(&page)), "{kind}, sent twice");
        let path = format!("/cars/{car}/entries");
        let repeat = house.post_json(&path, form).await;
        assert_eq!((repeat.status.as_u16(), repeat.json()["kept"].as_u64()), (200, Some(count)), "{kind}, sent again");
        let json = house.post_json(&path, entry(kind, &house.bench)).await;
        count += 1;
        assert_eq!((json.status.as_u16(), json.json()["kept"].as_u64()), (201, Some(count)), "{kind}");
        assert_eq!(house.get(json.json()["go"].as_str().unwrap()).await.status, 200);
        assert!(json.header("set-cookie").contains("HttpOnly"), "{kind}");
        assert_eq!(house.count(car).await, count, "{kind}");
        house.get(&format!("/cars/{car}/entries/{count}")).await.says(200, &["Bench A", "In the chain"]);
    }
    assert!(house.shop.verify(car, None).await.unwrap().intact());
}

/// For every kind: one field spoilt, and words that the refusal says. The others have to be on the page still.
const SPOILT: [(&str, &str, &str, &str); 22] = [
    ("looked", "who", "", "Pick who is writing"),
    ("looked", "zone", "", "zone"),
    ("looked", "zone", "Z99.L", "not a zone of this body"),
    ("looked", "how", "smell", "not one of the choices"),
    ("looked", "result", "", "Choose what the look said"),
    ("looked", "severity", "", "how bad"),
    ("looked", "note", "bell \u{7}", "control character"),
    ("read", "quantity", "", "what you measured"),
    ("read", "value", "", "reading is missing"),
    ("read", "value", "thick", "Type a number"),
    ("read", "value", "NaN", "Type a number"),
    ("read", "value", "-1", "Anything from"),
    ("read", "value", "1e300", "Anything from"),
    ("read", "instrument", "", "no instrument"),
    ("read", "precision_abs", "", "precision"),
    ("read", "limit_source", "", "few words"),
    ("photographed", "caption", "", "few words"),
    ("photographed", "side", "", "side by hand"),
    ("opened", "found", "", "what was found"),
    ("opened", "width_mm", "", "width is missing"),
    ("opened", "length_mm", "9000", "Anything from"),
    ("made_good", "note", " ", "few words"),
];

fn fields_of(kind: &str, who: &str) -> BTreeMap<String, String> {
    let (_, fields) = KINDS.iter().find(|(k, _)| *k == kind).unwrap();
    let mut all: BTreeMap<_, _> = fields.iter().map(|(k, v)| (k.to_string(), v.to_string())).collect();
    all.insert("who".into(), who.into());
    all.insert("entry".into(), EntryId::fresh().to_string());
    all.insert("kind".into(), kind.into());
    all
}

fn as_form(fields: &BTreeMap<String, String>) -> Form {
    Form::new().pairs(fields.iter().map(|(k, v)| (k.as_str(), v.as_str())))
}

#[tokio::test]
async fn a_refused_form_still_holds_everything_that_was_typed() {
    let house = House::open().await;
    let car = house.car("Refused").await;
    for (kind, field, value, says) in SPOILT {
        let mut fields = fields_of(kind, &house.bench.id.to_string());
        fields.insert(field.into(), value.into());
        let mut form = as_form(&fields);
        if kind == "photographed" {
            form = form.file("photo", "a.jpg", jpeg(64, 48));
        }
        let answer = house.keep(car, form.clone()).await;
        answer.says(422, &["Not kept yet"]);
        assert!(html::words(&answer.text()).to_lowercase().contains(&says.to_lowercase()), "{kind}, {field}: {says}");
        assert_eq!(html::faults(&answer.text()), Vec::<String>::new(), "{kind} without {field}");
        let sent: Vec<_> = html::filled(&answer.text(), &format!("form-{kind}"));
        for (name, was) in fields
            .iter()
            .filter(|(name, was)| !was.trim().is_empty() && !(*name == field && (field == "zone" || field == "how")))
        {
            let there = sent.iter().any(|(n, v)| n == name && v.trim() == was.trim());
            assert!(there, "{kind} with {field} spoilt: {name}={was} is gone; {sent:?}");
        }
        let json = house.post_json(&format!("/cars/{car}/entries"), form).await;
        assert_eq!(json.status, 422);
        assert!(json.json()["errors"].as_array().is_some_and(|e| !e.is_empty()));
    }
    assert_eq!(house.count(car).await, 1, "nothing was kept");
}

#[tokio::test]
async fn a_photograph_is_kept_while_its_form_is_put_right() {
    let house = House::open().await;
    let car = house.car("Photograph").await;
    let mut fields = fields_of("photographed", &house.bench.id.to_string());
    fields.insert("caption".into(), String::new());
    let refused = house.keep(car, as_form(&fields).file("photo", "a.jpg", jpeg(400, 300))).await;
    refused.says(422, &["you need not send it again"]);
    let mut sent: BTreeMap<_, _> = html::filled(&refused.text(), "form-photographed").into_iter().collect();
    sent.insert("caption".into(), "Now with words".into());
    let answer = house.keep(car, as_form(&sent).file("photo", "", [])).await;
    assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
    let folded = house.shop.car(car).await.unwrap();
    let (_, photo) = folded.photographs().next().unwrap();
    assert_eq!((photo.width_px, photo.height_px, photo.caption.as_str()), (400, 300, "Now with words"));
    for hash in [photo.picture, photo.thumb] {
        let picture = house.get(&format!("/cars/{car}/pictures/{hash}")).await;
        assert_eq!((picture.status.as_u16(), picture.header("content-type")), (200, "image/jpeg"));
        assert!(picture.bytes.starts_with(&[0xff, 0xd8]));
    }
    assert!(house.shop.verify(car, None).await.unwrap().intact());
}

#[tokio::test]
async fn a_picture_that_was_never_sent_cannot_be_named() {
    let house = House::open().await;
    let car = house.car("No picture").await;
    let hash = "ab".repeat(32);
    let mut fields = fields_of("photographed", &house.bench.id.to_string());
    fields.extend(
        [("picture", hash.as_str()), ("thumb", &hash), ("width_px", "10"), ("height_px", "10")]
            .map(|(k, v)| (k.into(), v.into())),
    );
    house.keep(car, as_form(&fields)).await.says(422, &["did not come with it"]);
    assert_eq!(house.count(car).await, 1);
    assert!(house.shop.verify(car, None).await.unwrap().intact());
}

#[tokio::test]
async fn pictures_that_cannot_be_read_are_refused_in_words() {
    let house = House::open().await;
    let car = house.car("Bad pictures").await;
    let fields = fields_of("photographed", &house.bench.id.to_string());
    let mut half = jpeg(320, 200);
    half.truncate(300);
    for (name, bytes, status, says) in [
        ("IMG_1.HEIC", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic".to_vec(), 422, "choose JPEG"),
        ("notes.txt", b"not a picture".to_vec(), 422, "Not kept yet"),
        ("half.jpg", half, 422, "Not kept yet"),
        ("huge.jpg", vec![0; 41 * 1024 * 1024], 422, "40 MB"),
        ("huge.jpg", vec![0; 43 * 1024 * 1024], 413, "at most 40 MB"),
    ] {
        let answer = house.keep(car, as_form(&fields).file("photo", name, bytes)).await;
        answer.says(status, &[says]);
        assert_eq!(html::faults(&answer.text()), Vec::<String>::new(), "{name}");
        assert!(status != 422 || answer.text().contains("A hole with a rule"), "{name}: what was typed is gone");
    }
    house.keep(car, as_form(&fields)).await.says(422, &["No photograph came with it"]);
    assert_eq!(house.count(car).await, 1);
}

#[tokio::test]
async fn a_wall_of_52_mm_offers_to_take_0_52_and_takes_it() {
    let house = House::open().await;
    let car = house.car("52").await;
    let mut fields = fields_of("read", &house.bench.id.to_string());
    fields.insert("value".into(), "52".into());
    let refused = house.keep(car, as_form(&fields)).await;
    refused.says(422, &["52 mm was typed. Did you mean 0.52?", "Take 0.52"]);
    let button = html::tags(&refused.text())
        .unwrap()
        .into_iter()
        .find(|t| t.name == "button" && t.get("name") == "take")
        .unwrap();
    assert!(button.inside.iter().any(|t| t == "form"), "the button has to send the form");
    let sent: BTreeMap<_, _> = html::filled(&refused.text(), "form-read").into_iter().collect();
    let answer = house.keep(car, as_form(&sent).text("take", button.get("value"))).await;
    assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
    let folded = house.shop.car(car).await.unwrap();
    let (_, reading) = folded.readings().next().unwrap();
    assert_eq!(reading.value, 0.52);
    let comma = fields_of("read", &house.bench.id.to_string())
        .into_iter()
        .chain([("value".to_string(), "0,52".to_string())])
        .collect();
    assert_eq!(house.keep(car, as_form(&comma)).await.status, 303);
}

#[tokio::test]
async fn who_was_overtaken_sees_both_and_can_keep_both() {
    let house = House::open().await;
    let car = house.car("Overtaken").await;
    let theirs = fields_of("looked", &house.painter.id.to_string());
    assert_eq!(house.keep(car, as_form(&theirs)).await.status, 303);
    let mut mine = fields_of("looked", &house.bench.id.to_string());
    mine.extend(
        [("base", "1"), ("result", "clear"), ("note", "mine: \"sound\" <b>all over</b>"), ("severity", "")]
            .map(|(k, v)| (k.into(), v.into())),
    );
    let form = as_form(&mine).text("clue", "one").text("clue", "two");
    let page = house.keep(car, form.clone()).await;
    page.says(
        409,
        &[
            "Painter changed this zone while you were writing",
            "soft at the end",
            "mine: \"sound\" <b>all over</b>",
            "Keep both",
        ],
    );
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    let json = house.post_json(&format!("/cars/{car}/entries"), form).await;
    assert_eq!(json.status, 409);
    assert!(json.json()["theirs"].is_string() && json.json()["yours"].is_string());
    assert_eq!(house.count(car).await, 2);
    let both = html::filled(&page.text(), "both");
    assert_eq!(both.iter().filter(|(k, _)| k == "clue").count(), 2, "every value of a choice is sent on");
    let kept = house.keep(car, Form::new().pairs(both.iter().map(|(k, v)| (k.as_str(), v.as_str())))).await;
    assert_eq!(kept.status, 303, "{}", html::words(&kept.text()));
    let folded = house.shop.car(car).await.unwrap();
    assert_eq!(folded.count, 3);
    assert!(folded.entries().iter().skip(1).all(|e| e.counts()), "both count");
    // A zone that nobody else touched is kept in silence, however old the page is.
    let mut elsewhere = fields_of("looked", &house.bench.id.to_string());
    elsewhere.extend([("base", "1"), ("zone", "Z05.L")].map(|(k, v)| (k.into(), v.into())));
    assert_eq!(house.keep(car, as_form(&elsewhere)).await.status, 303);
}

#[tokio::test]
async fn an_entry_is_corrected_through_the_form_it_fills() {
    let house = House::open().await;
    let car = house.car("Corrected").await;
    for kind in ["looked", "read", "photographed", "opened", "made_good"] {
        house.keep(car, entry(kind, &house.bench)).await;
        let seq = house.count(car).await;
        house.get(&format!("/cars/{car}/entries/{seq}")).await.says(200, &["Correct this"]);
        let page = house.get(&format!("/cars/{car}/add?corrects={seq}")).await;
        page.says(200, &[&format!("This corrects entry {seq}")]);
        assert_eq!(html::faults(&page.text()), Vec::<String>::new());
        let mut sent = html::filled(&page.text(), &format!("form-{kind}"));
        sent.retain(|(name, _)| name != "who");
        let form = Form::new().pairs(sent.iter().map(|(k, v)| (k.as_str(), v.as_str()))).text("who", house.painter.id);
        let answer = house.keep(car, form).await;
        assert_eq!(answer.status, 303, "{kind}: {}", html::words(&answer.text()));
        let folded = house.shop.car(car).await.unwrap();
        let (old, new) = (folded.entry(seq).unwrap(), folded.entry(seq + 1).unwrap());
        assert_eq!((old.superseded_by, new.counts()), (Some(seq + 1), true));
        assert_eq!(old.what, new.what, "{kind}: a form that was not touched says the same again");
        house.get(&format!("/cars/{car}/entries/{seq}")).await.says(200, &["Superseded by"]);
    }
}

#[tokio::test]
async fn two_who_correct_one_entry_lose_nothing_typed() {
    let house = House::open().await;
    let car = house.car("Two tabs").await;
    house.keep(car, entry("looked", &house.bench)).await;
    let id = house.shop.car(car).await.unwrap().entry(2).unwrap().id;
    let correct = |note: &str| {
        let mut fields = fields_of("looked", &house.bench.id.to_string());
        fields.extend([("corrects".to_string(), id.to_string()), ("note".into(), note.into())]);
        as_form(&fields)
    };
    assert_eq!(house.keep(car, correct("the first")).await.status, 303);
    let second = house.keep(car, correct("the second, long and hard to type again")).await;
    second.says(409, &["already corrected", "the second, long and hard to type again"]);
    let sent = html::filled(&second.text(), "form-looked");
    let kept = house.keep(car, Form::new().pairs(sent.iter().map(|(k, v)| (k.as_str(), v.as_str())))).await;
    assert_eq!(kept.status, 303, "sent again it corrects the later one: {}", html::words(&kept.text()));
    let folded = house.shop.car(car).await.unwrap();
    let counting: Vec<_> = folded.counting().map(|e| e.seq).collect();
    assert_eq!(counting, [1, 4]);
}

#[tokio::test]
async fn an_entry_is_taken_out_and_the_zone_forgets_it() {
    let house = House::open().await;
    let car = house.car("Withdrawn").await;
    house.keep(car, entry("looked", &house.bench)).await;
    let out = |id: EntryId, why: &str| {
        Form::new()
            .pairs([("kind", "withdrawn"), ("why", why)])
            .text("entry", EntryId::fresh())
            .text("withdraws", id)
            .text("who", house.lead.id)
    };
    let folded = house.shop.car(car).await.unwrap();
    let (opened, look) = (folded.entry(1).unwrap().id, folded.entry(2).unwrap().id);
    assert_eq!(folded.state("Z01.L"), job::car::ZoneState::Bad(Severity::Thin));
    house.keep(car, out(look, "")).await.says(422, &["few words"]);
    house.keep(car, out(EntryId::fresh(), "no such entry")).await.says(422, &["not in this car's record"]);
    let opening = house.keep(car, out(opened, "the car itself")).await;
    assert!(opening.status.is_client_error(), "the opening of a car cannot be taken out: {}", opening.status);
    assert_eq!(house.keep(car, out(look, "wrong car")).await.status, 303);
    let folded = house.shop.car(car).await.unwrap();
    assert_eq!(folded.state("Z01.L"), job::car::ZoneState::NotLooked);
    house.get(&format!("/cars/{car}/zones/Z01.L")).await.says(200, &["Superseded by", "entry 3"]);
    house.keep(car, out(look, "again")).await.says(409, &["already"]);
}

#[tokio::test]
async fn one_kind_of_entry_cannot_correct_another() {
    let house = House::open().await;
    let car = house.car("Kinds").await;
    house.keep(car, entry("made_good", &house.bench)).await;
    let folded = house.shop.car(car).await.unwrap();
    for seq in [1, 2] {
        let mut fields = fields_of("looked", &house.bench.id.to_string());
        fields.insert("corrects".into(), folded.entry(seq).unwrap().id.to_string());
        let answer = house.keep(car, as_form(&fields)).await;
        assert!(answer.status.is_client_error(), "a look took entry {seq} out of what counts");
    }
    assert!(house.shop.car(car).await.unwrap().entries().iter().all(|e| e.counts()));
}

#[tokio::test]
async fn a_mark_is_moved_and_stays_inside_the_outline() {
    let house = House::open().await;
    let car = house.car("Mark").await;
    house.keep(car, entry("photographed", &house.bench)).await;
    let path = format!("/cars/{car}/entries/2/mark");
    let page = house.get(&format!("{path}?view=left")).await;
    page.says(200, &["Touch the outline"]);
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    let touch = |x: &str, y: &str, who: String| {
        Form::new().text("entry", EntryId::fresh()).pairs([("view", "left"), ("at.x", x), ("at.y", y)]).text("who", who)
    };
    let me = house.bench.id.to_string();
    assert_eq!(house.post(&path, touch("170", "40", me.clone())).await.status, 303);
    let folded = house.shop.car(car).await.unwrap();
    let What::Photographed(photo) = &folded.entry(3).unwrap().what else { panic!("a photograph") };
    let mark = photo.mark.as_ref().unwrap();
    let view = job::validate::body(&folded.details).unwrap().view("left").unwrap();
    let (x, _) = view.at(mark.u_mm, mark.v_mm);
    assert!(
        (x - view.width / 2.0).abs() < 1.0,
        "half-way along the picture is half-way along the view: {x} of {}",
        view.width
    );
    let path = format!("/cars/{car}/entries/3/mark");
    house.post(&path, touch("9999", "40", me.clone())).await.says(422, &["outside the outline"]);
    house.post(&path, touch("NaN", "1", me.clone())).await.says(422, &[]);
    house.post(&path, touch("inf", "1", me.clone())).await.says(422, &[]);
    house.post(&path, touch("x", "", me)).await.says(422, &["touch the outline again"]);
    house.post(&path, touch("1", "1", String::new())).await.says(422, &["Pick who is writing"]);
    assert_eq!(house.count(car).await, 3);
}

#[tokio::test]
async fn a_photograph_put_in_another_zone_takes_its_mark_along() {
    let house = House::open().await;
    let car = house.car("Mark follows").await;
    house.keep(car, entry("photographed", &house.bench)).await;
    let page = house.get(&format!("/cars/{car}/add?corrects=2")).await;
    let mut sent: BTreeMap<_, _> = html::filled(&page.text(), "form-photographed").into_iter().collect();
    sent.extend([("zone", "Z05.R"), ("side", "right")].map(|(k, v)| (k.into(), v.into())));
    sent.insert("who".into(), house.bench.id.to_string());
    let answer = house.keep(car, as_form(&sent)).await;
    assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
    let folded = house.shop.car(car).await.unwrap();
    let What::Photographed(photo) = &folded.entry(3).unwrap().what else { panic!("a photograph") };
    let (view, u, v) = job::validate::body(&folded.details).unwrap().centre("Z05.R").unwrap();
    let mark = photo.mark.as_ref().unwrap();
    assert_eq!((mark.view.as_str(), mark.u_mm, mark.v_mm), (view.id.as_str(), u, v));
}

#[tokio::test]
async fn clues_that_were_not_ticked_are_absent_only_when_said_so() {
    let house = House::open().await;
    let car = house.car("Clues").await;
    let page = house.get(&format!("/cars/{car}/add?zone=Z01.L&kind=look")).await;
    let offered: Vec<_> =
        html::filled(&page.text(), "form-looked").into_iter().filter(|(k, _)| k == "offered").map(|(_, v)| v).collect();
    assert!(offered.len() > 2, "the sill has clues");
    let look = |rest: bool| {
        let mut form = entry("looked", &house.bench);
        for clue in &offered {
            form = form.text("offered", clue);
        }
        form = form.text("clue", &offered[0]);
        if rest { form.text("rest_absent", "1") } else { form }
    };
    for (rest, seen, there) in [(false, 1, 1), (true, offered.len(), 1)] {
        assert_eq!(house.keep(car, look(rest)).await.status, 303);
        let folded = house.shop.car(car).await.unwrap();
        let What::Looked(kept) = &folded.entries().last().unwrap().what else { panic!("a look") };
        assert_eq!((kept.clues.len(), kept.clues.iter().filter(|c| c.there).count()), (seen, there));
        assert_eq!(kept.seen, Seen::Bad(Severity::Thin));
    }
}

#[tokio::test]
async fn details_are_changed_or_refused_with_everything_still_there() {
    let house = House::open().await;
    let car = house.car("Before").await;
    let path = format!("/cars/{car}/details");
    let page = house.get(&path).await;
    let mut sent: BTreeMap<_, _> = html::filled(&page.text(), "f").into_iter().collect();
    assert_eq!(sent.get("title").map(String::as_str), Some("Before"));
    sent.insert("who".into(), house.lead.id.to_string());
    sent.extend(
        [("title", "After"), ("year", "1066"), ("rate_bench", "60"), ("note", "kept in a barn")]
            .map(|(k, v)| (k.into(), v.into())),
    );
    let refused = house.post(&path, as_form(&sent)).await;
    refused.says(422, &["Not kept yet"]);
    assert_eq!(html::faults(&refused.text()), Vec::<String>::new());
    let again: BTreeMap<_, _> = html::filled(&refused.text(), "f").into_iter().collect();
    for name in ["title", "year", "rate_bench", "note", "who", "climate", "kept", "aim", "body"] {
        assert_eq!(again.get(name), sent.get(name), "{name}");
    }
    sent.extend([("year", "1971"), ("rate_bench", "")].map(|(k, v)| (k.into(), v.into())));
    assert_eq!(house.post(&path, as_form(&sent)).await.status, 303);
    assert_eq!(house.shop.car(car).await.unwrap().details.title, "After");
    // Sent again from the page drawn before that: somebody else may have written meanwhile, so it is shown first.
    sent.extend([("title".into(), "Other".into()), ("entry".into(), job::ids::EntryId::fresh().to_string())]);
    let overtaken = house.post(&path, as_form(&sent)).await;
    overtaken.says(422, &["changed the details while you were writing", "entry 2"]);
    let anew: BTreeMap<_, _> = html::filled(&overtaken.text(), "f").into_iter().collect();
    assert_eq!(anew.get("title").map(String::as_str), Some("Other"));
    assert_eq!(house.post(&path, as_form(&anew)).await.status, 303);
    assert_eq!(house.shop.car(car).await.unwrap().details.title, "Other");
    // A new car, refused the same way.
    let spoilt = form::car("", &house.lead).pairs([("note", "found in a field"), ("fitted", "sunroof")]);
    let refused = house.post("/cars/new", spoilt).await;
    refused.says(422, &["Not kept yet"]);
    assert_eq!(html::faults(&refused.text()), Vec::<String>::new());
    assert!(refused.text().contains("found in a field"));
    house.post("/cars/new", form::car("x", &house.owner)).await.says(422, &[]);
}
