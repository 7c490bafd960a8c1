//! `car question`, `car answer`: asked, answered, changed, taken back.

use serde_json::{Value, json};

use crate::bench::Bench;

/// A shop with a lead, an owner and a car.
fn shop() -> (Bench, String) {
    let bench = Bench::with_lead();
    bench.run(&["people", "add", "Owner", "--role", "owner", "--json"]).json();
    let car = bench.car();
    (bench, car)
}

/// A drafted question, as it is printed.
fn draft(bench: &Bench, car: &str) -> Value {
    bench.run(&["car", "question", "draft", car, "Z03.L", "Z01.L", "--json"]).json()
}

fn keep(bench: &Bench, car: &str, question: &Value, more: &[&str]) -> crate::bench::Ran {
    let file = bench.file("question.json", question.to_string());
    let line = ["car", "question", "keep", car, file, "--by", "Lead", "--json"];
    bench.run(&[&line[..], more].concat())
}

fn answer(bench: &Bench, car: &str, more: &[&str]) -> crate::bench::Ran {
    let line = ["car", "answer", car, "1", "--way", "telephone", "--by", "Lead", "--json"];
    bench.run(&[&line[..], more].concat())
}

fn list(bench: &Bench, car: &str) -> Value {
    bench.run(&["car", "question", "list", car, "--json"]).json()["questions"].clone()
}

#[test]
fn a_question_is_drafted_kept_sent_answered_and_answered_with_another_mind() {
    let (bench, car) = shop();
    assert_eq!(list(&bench, &car), json!([]));
    let drafted = draft(&bench, &car);
    assert_eq!(drafted["zones"], json!(["Z03.L", "Z01.L"]));
    assert_eq!(drafted["sent"], false);
    assert_eq!(drafted["options"].as_array().map(Vec::len), Some(3));
    for option in drafted["options"].as_array().unwrap() {
        let hours = |end: &str| option["hours"][end].as_f64().unwrap();
        assert!(0.0 < hours("low") && hours("low") <= hours("likely") && hours("likely") <= hours("high"), "{option}");
    }
    // For editing, without --json: the same value, in lines.
    let for_editing = bench.run(&["car", "question", "draft", &car, "Z03.L", "Z01.L"]);
    assert!(for_editing.out.lines().count() > 20);
    assert_eq!(for_editing.json(), drafted);

    let kept = keep(&bench, &car, &drafted, &[]).json();
    assert_eq!((kept["number"].as_u64(), kept["standing"].as_str()), (Some(1), Some("draft")));
    answer(&bench, &car, &["--option", "A"]).refused(2, &["question 1", "draft", "send"]);

    let mut edited = drafted.clone();
    edited["ask"] = "Patch the left sill, or replace it?".into();
    let sent = keep(&bench, &car, &edited, &["--send", "--changes", "1"]).json();
    assert_eq!((sent["number"].as_u64(), sent["standing"].as_str()), (Some(1), Some("open")));
    let one = &list(&bench, &car)[0];
    assert_eq!((one["waits"].as_bool(), one["versions"].as_array().map(Vec::len)), (Some(true), Some(2)));
    assert_eq!(one["question"]["ask"], edited["ask"]);

    let first = answer(&bench, &car, &["--option", "a", "--words", "The patches will do."]).json();
    assert_eq!((first["choice"].as_str(), first["way"].as_str()), (Some("A"), Some("telephone")));
    answer(&bench, &car, &["--option", "B"]).refused(2, &["question 1", "already", "option A", "--changes"]);
    answer(&bench, &car, &["--option", "B", "--changes"]).json();
    let one = &list(&bench, &car)[0];
    let answers = one["answers"].as_array().unwrap();
    assert_eq!((one["standing"].as_str(), one["waits"].as_bool()), (Some("answered"), Some(false)));
    assert_eq!(answers.len(), 2);
    assert_eq!((answers[0]["stands"].as_bool(), answers[1]["stands"].as_bool()), (Some(false), Some(true)));
    assert_eq!(bench.run(&["car", "verify", &car, "--json"]).json()["intact"], true);
}

/// The record holds what was shown word for word, and where the record stood then.
#[test]
fn an_answer_holds_exactly_what_was_shown() {
    let (bench, car) = shop();
    let sent = keep(&bench, &car, &draft(&bench, &car), &["--send"]).json();
    answer(&bench, &car, &["--option", "C"]).json();
    let lines = bench.record(&car);
    let data = |line: &String| serde_json::from_str::<Value>(line).unwrap()["data"].clone();
    let (asked, answered) = (data(&lines[1]), data(&lines[2]));
    assert_eq!(answered["shown"]["question"], asked);
    assert_eq!(answered["shown"]["head"], sent["head"]);
    assert_eq!(answered["version"], sent["head"]);
    assert_eq!(answered["shown"]["count"], sent["events"]);
    assert!(answered["shown"]["range"]["p50_h"].as_f64().unwrap() > 0.0);
}

#[test]
fn none_of_these_needs_words_and_lets_the_work_wait() {
    let (bench, car) = shop();
    keep(&bench, &car, &draft(&bench, &car), &["--send"]).json();
    answer(&bench, &car, &["--none"]).refused(2, &["--words"]);
    answer(&bench, &car, &["--none", "--option", "A"]).refused(2, &["--option", "--none"]);
    answer(&bench, &car, &[]).refused(2, &["--option"]);
    answer(&bench, &car, &["--none", "--words", " "]).refused(2, &["words"]);
    let given = answer(&bench, &car, &["--none", "--words", "Neither. Ring me."]).json();
    assert!(given["choice"].is_null());
    let one = &list(&bench, &car)[0];
    assert_eq!((one["standing"].as_str(), one["waits"].as_bool()), (Some("answered"), Some(true)));
}

#[test]
fn a_question_that_is_none_is_refused_with_its_file_and_what_would_be_right() {
    let (bench, car) = shop();
    let drafted = draft(&bench, &car);
    let refused = |change: &dyn Fn(&mut Value), words: &[&str]| {
        let mut question = drafted.clone();
        change(&mut question);
        keep(&bench, &car, &question, &["--send"]).refused(2, &[&["question.json"], words].concat());
    };
    refused(&|q| q["options"] = json!([q["options"][0]]), &["only one option", "two or three"]);
    refused(&|q| q["options"] = json!([]), &["no option", "two or three"]);
    refused(&|q| q["options"][1]["hours"]["low"] = json!(900.0), &["option B", "900", "at most likely"]);
    refused(&|q| q["options"][1]["key"] = json!("A"), &["letter", "B"]);
    refused(&|q| q["options"][0]["hours"]["high"] = json!(1e9), &["5000"]);
    refused(&|q| q["options"][0]["hours"]["high"] = json!("many"), &["many", "line 1"]);
    refused(&|q| q["zones"] = json!(["Z99.L"]), &["Z99.L", "not a zone"]);
    refused(&|q| q["zones"] = json!(["Z01.L", "Z99.L"]), &["Z99.L", "not a zone"]);
    refused(&|q| q["zones"] = json!([]), &["0 zones"]);
    refused(&|q| q["ask"] = json!(""), &["ask", "nothing"]);
    refused(&|q| q["by"] = json!("tomorrow"), &["line 1", "car question draft"]);
    refused(&|q| q["photographs"] = json!([crate::bench::entry(5)]), &["photograph"]);
    refused(&|q| *q = json!([1, 2]), &["car question draft"]);
    assert_eq!(bench.record(&car).len(), 1);

    let file = bench.file("question.json", "{\"zones\": [");
    let line = ["car", "question", "keep", &car, file, "--by", "Lead"];
    bench.run(&line).refused(2, &["question.json", "line 1", "column"]);
    let file = bench.file("question.json", " ".repeat(2 << 20));
    bench.run(&["car", "question", "keep", &car, file, "--by", "Lead"]).refused(2, &["question.json", "2097152"]);
    bench.run(&["car", "question", "keep", &car, "nowhere.json", "--by", "Lead"]).refused(2, &["nowhere.json"]);
    keep(&bench, &car, &drafted, &["--changes", "3"]).refused(2, &["no question 3", "none yet"]);
    bench.run(&["car", "question", "draft", &car, "Z01.L", "Z99"]).refused(2, &["Z99", "Z03.L"]);
    bench.run(&["car", "question", "draft", &car]).refused(2, &["ZONE"]);
}

#[test]
fn a_key_that_is_not_used_is_a_doubt_and_whether_it_is_sent_is_said_by_the_flag() {
    let (bench, car) = shop();
    let mut question = draft(&bench, &car);
    question["price"] = json!(100);
    question["options"][1]["colour"] = json!("green");
    question["sent"] = json!(true);
    let ran = keep(&bench, &car, &question, &[]);
    assert_eq!(ran.json()["standing"], "draft");
    assert!(ran.err.contains("the key price is not used"), "{}", ran.err);
    assert!(ran.err.contains("the key options.2.colour is not used"), "{}", ran.err);
    assert_eq!(ran.err.lines().count(), 2, "{}", ran.err);
}

#[test]
fn a_question_that_was_taken_back_is_not_answered_or_changed() {
    let (bench, car) = shop();
    let question = draft(&bench, &car);
    keep(&bench, &car, &question, &["--send"]).json();
    let withdraw =
        |number, why| bench.run(&["car", "question", "withdraw", &car, number, "--why", why, "--by", "Lead", "--json"]);
    withdraw("1", " ").refused(2, &["why"]);
    withdraw("2", "No longer.").refused(2, &["no question 2", "question 1"]);
    assert_eq!(withdraw("1", "The wing is bought new.").json()["standing"], "taken back");
    let count = bench.record(&car).len();
    answer(&bench, &car, &["--option", "A"]).refused(2, &["question 1", "taken back", "Lead"]);
    keep(&bench, &car, &question, &["--changes", "1"]).refused(2, &["already corrected or taken out"]);
    withdraw("1", "Again.").refused(2, &["already corrected or taken out"]);
    assert_eq!(bench.record(&car).len(), count);
}

#[test]
fn an_answer_to_an_earlier_version_does_not_answer_the_new_one() {
    let (bench, car) = shop();
    let mut question = draft(&bench, &car);
    keep(&bench, &car, &question, &["--send"]).json();
    answer(&bench, &car, &["--option", "A"]).json();
    question["found"] = json!("More was found.");
    let anew = keep(&bench, &car, &question, &["--send", "--changes", "1"]).json();
    assert_eq!(anew["standing"], "open");
    answer(&bench, &car, &["--option", "B", "--changes"]).refused(2, &["--changes", "no answer yet"]);
    answer(&bench, &car, &["--option", "B"]).json();
    let one = &list(&bench, &car)[0];
    assert_eq!((one["standing"].as_str(), one["answers"].as_array().map(Vec::len)), (Some("answered"), Some(2)));
}

#[test]
fn an_answer_that_cannot_be_is_refused() {
    let (bench, car) = shop();
    answer(&bench, &car, &["--option", "A"]).refused(2, &["no question 1", "none yet"]);
    keep(&bench, &car, &draft(&bench, &car), &["--send"]).json();
    answer(&bench, &car, &["--option", "D"]).refused(2, &["\"D\"", "not one of the options"]);
    let line = ["car", "answer", &car, "1", "--option", "A", "--by"];
    // The owner answers on the owner's own page, and nobody else there.
    bench.run(&[&line[..], &["Lead", "--way", "link"]].concat()).refused(2, &["link", "telephone"]);
    bench.run(&[&line[..], &["Owner", "--way", "mail"]].concat()).refused(2, &["choose who is writing"]);
    bench.run(&[&line[..], &["Nobody", "--way", "mail"]].concat()).refused(2, &["Nobody"]);
    assert_eq!(bench.record(&car).len(), 2);
}
