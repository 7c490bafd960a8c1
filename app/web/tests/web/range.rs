//! The Range sheet: the hours in words and drawn, what was agreed, what moved them, and what has to be asked.

use jiff::Timestamp;
use jiff::civil::date;
use job::ask;
use job::event::{Event, encode};
use job::ids::{CarId, EntryId, Hash};
use job::person::By;
use job::question::{RangeSaid, Report};
use job::shop::Draft;
use job::what::What;

use crate::support::form::{self, Form};
use crate::support::{House, html};

async fn sheet(house: &House, car: CarId) -> String {
    let page = house.get(&format!("/cars/{car}/range")).await;
    page.says(200, &["Range", "How it was worked out, and what is not in it", "What the owner was told"]);
    let text = page.text();
    assert_eq!(html::faults(&text), Vec::<String>::new());
    text
}

async fn said(house: &House, car: CarId) -> RangeSaid {
    let folded = house.shop.car(car).await.unwrap();
    ask::said(&house.shop.forecast(&folded).await.unwrap().range)
}

/// A car with more in its form than the usual one.
async fn car(house: &House, more: &[(&str, &str)]) -> CarId {
    let form = form::car("Agreed", &house.lead).pairs(more.iter().copied());
    house.post("/cars/new", form).await.header("location").trim_start_matches("/cars/").parse().unwrap()
}

fn opened(house: &House, zone: &str, found: &str) -> Form {
    Form::new().text("kind", "opened").text("entry", EntryId::fresh()).text("who", house.bench.id).pairs([
        ("zone", zone),
        ("found", found),
        ("through", "8 mm hole"),
    ])
}

#[tokio::test]
async fn the_range_is_one_sentence_first_and_its_figures_stand_in_words_too() {
    let house = House::open().await;
    let car = house.car("Nothing agreed").await;
    let (text, said) = (sheet(&house, car).await, said(&house, car).await);
    let words = html::words(&text);
    let sentence = format!("{:.0} to {:.0} hours still to do, likely {:.0}.", said.p10_h, said.p95_h, said.p50_h);
    assert!(words.contains(&sentence), "{sentence} in {words}");
    for h in [said.p10_h, said.p50_h, said.p80_h, said.p95_h] {
        assert!(text.contains(&format!("<td class=\"r\">{h:.0} h</td>")), "{h}");
    }
    for wanted in [
        "No hours have been agreed",
        "None has been found",
        "The owner has not been told a range yet",
        "The whole job, by its parts",
        "The ends do not add up to those of the whole",
        "No rates are put down for this car",
        "Hours worked so far None are put down.",
    ] {
        assert!(words.contains(wanted), "{wanted} in {words}");
    }
    assert!(!words.contains("at the shop's rates,") && !words.contains('%') && !text.contains("fill=\"url(#past)\""));
}

#[tokio::test]
async fn what_was_agreed_is_drawn_and_its_chance_said_in_words() {
    let house = House::open().await;
    let plain = house.car("To learn its range").await;
    let usual = said(&house, plain).await;
    // The hours do not depend on what was agreed, but each car draws its own sample; so well inside and outside.
    let within = car(&house, &[("budget_h", &format!("{:.0}", usual.p95_h * 3.0))]).await;
    let words = html::words(&sheet(&house, within).await);
    assert!(words.contains("Less than one chance in twenty of passing"), "{words}");
    let past = car(&house, &[("budget_h", "10")]).await;
    let text = sheet(&house, past).await;
    let words = html::words(&text);
    assert!(words.contains("More than nine chances in ten of passing the 10 agreed"), "{words}");
    assert!(text.contains("fill=\"url(#past)\"") && words.contains("agreed 10 h"));
    let even = car(&house, &[("budget_h", &format!("{:.0}", usual.p50_h))]).await;
    let words = html::words(&sheet(&house, even).await);
    assert!(words.contains("About an even chance of passing") && words.contains("about 5 in 10"), "{words}");
}

#[tokio::test]
async fn money_is_beside_the_hours_only_where_the_shop_entered_rates() {
    let house = House::open().await;
    let car = car(&house, &[("currency", "EUR"), ("rate_bench", "62"), ("rate_painter", "70")]).await;
    let words = html::words(&sheet(&house, car).await);
    let folded = house.shop.car(car).await.unwrap();
    let forecast = house.shop.forecast(&folded).await.unwrap();
    let money = forecast.range.money.unwrap();
    assert!(money.p10 > 10_000.0 && money.p95 > money.p10, "{money:?}");
    for wanted in [
        "What is still to do, at the shop's rates, EUR",
        "The rates are multiplied last: 62 for a bench hour, 70 for a painter's. Materials are not in it.",
    ] {
        assert!(words.contains(wanted), "{wanted} in {words}");
    }
    // Three figures, each in a cell of its own.
    for sum in [money.p10, money.p50, money.p95] {
        let size = if sum >= 100_000.0 { 1_000.0 } else { 100.0 };
        assert!(words.contains(&format!(" {:.0} ", (sum / size).round() * size)), "{sum} in {words}");
    }
}

#[tokio::test]
async fn materials_by_the_hour_are_in_the_money_where_the_shop_reckons_them() {
    let house = House::open().await;
    let rates = [("currency", "EUR"), ("rate_bench", "62"), ("rate_painter", "70")];
    let with = car(&house, &[&rates[..], &[("rate_materials", "9.5")]].concat()).await;
    let words = html::words(&sheet(&house, with).await);
    assert!(words.contains("70 for a painter's, and 9.5 of materials with each."), "{words}");
    let negative = form::car("Wrong", &house.lead).pairs(rates).text("rate_materials", "-1");
    house.post("/cars/new", negative).await.says(422, &["Not kept yet"]);
}

#[tokio::test]
async fn the_parts_of_the_job_and_the_whole_are_a_table() {
    let house = House::open().await;
    let car = house.car("All of it").await;
    let text = sheet(&house, car).await;
    let forecast = house.shop.forecast(&house.shop.car(car).await.unwrap()).await.unwrap();
    assert!(forecast.range.parts.len() > 4, "{:?}", forecast.range.parts);
    let tags = html::tags(&text).unwrap();
    for words in forecast.range.parts.iter().map(|(part, _)| part.words()).chain(["The whole"]) {
        assert!(tags.iter().any(|t| t.name == "th" && t.text == words), "{words}");
    }
    assert!(forecast.range.whole.p50 > forecast.range.outcome.p50);
    // Beside it the same panels by the other book, those that differ most first.
    let words = html::words(&text);
    assert!(words.contains("Two books The hours of a whole panel stand in two books"), "{words}");
    let here = |id: &str| forecast.range.by_zone.iter().any(|zone| zone.zone.starts_with(id));
    let apart = |two: &job::catalogue::TwoBooks<'_>| {
        let times = two.by_operations_h / two.by_zone_h;
        times.max(1.0 / times)
    };
    let books = forecast.taught.catalogue.two_books().filter(|two| here(&two.zone.id));
    let first = books.max_by(|a, b| apart(a).total_cmp(&apart(b))).unwrap().zone.name.to_lowercase();
    let row = words.split("So the operations say").nth(1).unwrap().to_lowercase();
    assert!(row.trim_start().starts_with(&first), "{first}: {row}");
}

#[tokio::test]
async fn what_narrows_it_is_named_and_how_it_narrowed_is_drawn_with_its_figures() {
    let house = House::open().await;
    let car = house.car("Narrowing").await;
    let words = html::words(&sheet(&house, car).await);
    assert!(words.contains("The look that tells most about it:") && !words.contains("How it narrowed"), "{words}");
    for zone in ["Z02.L", "Z02.R", "Z01.L"] {
        assert_eq!(house.keep(car, opened(&house, zone, "sound")).await.status, 303);
    }
    let text = sheet(&house, car).await;
    let folded = house.shop.car(car).await.unwrap();
    let points = house.shop.history(&folded).await.unwrap();
    assert_eq!(points.iter().map(|p| p.seq).collect::<Vec<_>>(), [1, 2, 3, 4]);
    let words = html::words(&text);
    assert!(words.contains("How it narrowed From P10 to P95 it was"), "{words}");
    for point in points.iter() {
        assert!(text.contains(&format!("<a href=\"/cars/{car}/entries/{}\">Entry {}</a>", point.seq, point.seq)));
        assert!(words.contains(&format!(" {:.0} h ", point.outcome.p95)), "{:.0} in {words}", point.outcome.p95);
    }
    assert!(text.contains("fill=\"url(#may1)\""), "the band is a guess, so it is stippled");
}

#[tokio::test]
async fn a_finding_past_the_limit_stops_and_leads_to_its_question() {
    let house = House::open().await;
    let car = house.car("Worse than thought").await;
    assert_eq!(house.keep(car, opened(&house, "Z02.L", "holed")).await.status, 303);
    let text = sheet(&house, car).await;
    let words = html::words(&text);
    assert!(words.contains("One finding is over the 8 h for a single finding"), "{words}");
    assert!(text.contains(&format!("/cars/{car}/questions/new?zone=Z02.L")));
    assert_eq!(text.matches("note stop").count(), 1, "one thick box a page");
    assert_eq!(house.get(&format!("/cars/{car}/questions/new?zone=Z02.L")).await.status, 200);
}

#[tokio::test]
async fn what_moved_since_the_owner_was_told_is_told_with_its_entries() {
    let house = House::open().await;
    let car = house.car("Told once").await;
    assert_eq!(house.keep(car, opened(&house, "Z01.L", "holed")).await.status, 303);
    let told = said(&house, car).await;
    let what = What::Reported(Report {
        from: date(2026, 3, 1),
        to: date(2026, 3, 14),
        says: "A fortnight.".into(),
        done: vec!["Left sill opened".into()],
        found: Vec::new(),
        changed: Vec::new(),
        need: Vec::new(),
        next: Vec::new(),
        photographs: Vec::new(),
        range: told,
        pdf: house.shop.keep_file(b"%PDF-").await.unwrap(),
    });
    let draft = Draft {
        entry: EntryId::fresh(),
        base: None,
        by: house.lead.id,
        noted: None,
        corrects: None,
        keep_both: false,
        what,
    };
    house.shop.keep(car, &draft, Timestamp::now()).await.unwrap();
    let words = html::words(&sheet(&house, car).await);
    assert!(
        words.contains("report to 14 Mar 2026") && words.contains("No entry since then moved the hours"),
        "{words}"
    );
    assert_eq!(house.keep(car, opened(&house, "Z03.R", "sound")).await.status, 303);
    let text = sheet(&house, car).await;
    let folded = house.shop.car(car).await.unwrap();
    let moved = house.shop.movements(&folded, 3).await.unwrap();
    assert_eq!(moved.iter().map(|m| m.seq).collect::<Vec<_>>(), [4]);
    assert!(moved[0].after_h < moved[0].before_h);
    let words = html::words(&text);
    assert!(words.contains("What moved since the owner was told") && words.contains("\u{2212}"), "{words}");
    assert!(text.contains(&format!("<a href=\"/cars/{car}/entries/4\">")) && !words.contains("No entry since"));
}

#[tokio::test]
async fn a_body_that_this_version_does_not_know_gets_sheets_that_say_so() {
    let house = House::open().await;
    let known = house.car("Known").await;
    let mut details = house.shop.car(known).await.unwrap().details.clone();
    details.body = "a_later_body".into();
    // The forms refuse it; a later version of the program would have kept it.
    let car = CarId::fresh();
    let event = Event {
        car,
        seq: 1,
        at: Timestamp::now(),
        noted: None,
        by: By::from(&house.lead),
        entry: EntryId::fresh(),
        corrects: None,
        prev: Hash::NONE,
        what: What::CarOpened(details),
    };
    house.shop.store().append(car, &[encode(&event).unwrap()]).await.unwrap();
    for sheet in ["next", "range"] {
        let page = house.get(&format!("/cars/{car}/{sheet}")).await;
        page.says(200, &["does not know the body of this car"]);
        assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    }
}
