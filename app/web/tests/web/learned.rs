//! What this shop has found: the rates its own opened zones taught, and how well it foretold them.

use job::ids::{CarId, EntryId};
use job::lessons::scores;
use job::person::Role;

use crate::support::form::Form;
use crate::support::{House, html};

async fn kept(house: &House, car: CarId, kind: &str, fields: &[(&str, &str)]) {
    let form = Form::new()
        .text("kind", kind)
        .text("entry", EntryId::fresh())
        .text("who", house.bench.id)
        .pairs(fields.iter().copied());
    let answer = house.keep(car, form).await;
    assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
}

async fn opened(house: &House, car: CarId, zone: &str, found: &str) {
    kept(house, car, "opened", &[("zone", zone), ("found", found), ("through", "8 mm hole")]).await;
}

async fn page(house: &House, ask: &str) -> String {
    let page = house.get(&format!("/learned{ask}")).await;
    page.says(200, &["What this shop has found"]);
    let text = page.text();
    assert_eq!(html::faults(&text), Vec::<String>::new());
    assert!(!html::words(&text).contains('%'), "no bare percentage");
    text
}

#[tokio::test]
async fn a_shop_that_opened_nothing_says_so_and_what_would_teach_it() {
    let house = House::open().await;
    house.car("Unseen").await;
    let words = html::words(&page(&house, "").await);
    for wanted in [
        "Nothing yet: no zone was opened.",
        "every figure is a starting guess",
        "A car never teaches itself.",
        "No zone with hours put down was made good yet.",
    ] {
        assert!(words.contains(wanted), "{wanted} in {words}");
    }
    assert!(!words.contains("Were the chances right?") && !words.contains("Invented cars"));
    let cars = house.get("/").await.text();
    assert!(cars.contains("href=\"/learned\""), "the list of cars leads here");
}

#[tokio::test]
async fn opened_zones_teach_their_rates_and_name_the_cars_and_entries() {
    let house = House::open().await;
    let (one, other) = (house.car("The first").await, house.car("The second").await);
    opened(&house, one, "Z02.L", "holed").await;
    opened(&house, one, "Z02.R", "thin").await;
    opened(&house, other, "Z02.L", "sound").await;
    opened(&house, other, "Z52", "sound").await;
    let text = page(&house, "").await;
    let words = html::words(&text);
    assert!(words.contains("4 zones became known of 2 cars: 2 needed metal, 2 did not."), "{words}");
    let lessons = house.shop.lessons().await.unwrap();
    let taught = house.shop.catalogue().taught(&lessons);
    let sill = taught.rates.iter().find(|rate| rate.zone_id == "Z02").unwrap();
    assert_eq!((sill.opened, sill.bad), (3, 2));
    assert!(words.contains("3 known, 2 bad. Guess about"), "{words}");
    assert_eq!(text.matches("<details class=\"guess\">").count(), taught.rates.len());
    for (car, seq, title) in [(one, 2, "The first"), (one, 3, "The first"), (other, 2, "The second")] {
        assert!(text.contains(&format!("/cars/{car}/entries/{seq}\">entry {seq}<")), "{title} {seq}");
    }
    assert!(words.contains("The first , inner sill, left: bad") || words.contains(": bad , foretold"), "{words}");
    // The picture has its figures in a table, and the score stands beside that of the guesses.
    let kept = scores(&lessons, house.shop.catalogue()).unwrap();
    assert!(text.contains("<circle") && words.contains("Of the zones called so likely"));
    let score =
        format!("{:.3} by the starting guesses, {:.3} with", kept.start.brier.unwrap(), kept.learned.brier.unwrap());
    assert!(words.contains(&score), "{score} in {words}");
    // What the other car taught is said on this one's sheets.
    let next = html::words(&house.get(&format!("/cars/{one}/next")).await.text());
    assert!(next.contains("from 2 opened zones of 1 other car"), "{next}");
}

#[tokio::test]
async fn a_clue_that_was_looked_for_first_is_counted_with_what_was_found() {
    let house = House::open().await;
    let car = house.car("Clues").await;
    let catalogue = house.shop.catalogue();
    let clue = catalogue
        .observations_for("Z01")
        .into_iter()
        .find(|o| catalogue.clue(&o.id).is_some_and(|c| c.target_zone == "Z01" && c.prior_p.is_none()))
        .unwrap();
    let look = [
        ("zone", "Z01.L"),
        ("how", "eye"),
        ("result", "not_looked"),
        ("clue", clue.id.as_str()),
        ("offered", &clue.id),
    ];
    // A look that could not see it says nothing; one that found pits carries its clues.
    let look = look.map(|(name, value)| if name == "result" { (name, "bad") } else { (name, value) });
    kept(&house, car, "looked", &[&look[..], &[("severity", "pitted")]].concat()).await;
    opened(&house, car, "Z01.L", "holed").await;
    let words = html::words(&page(&house, "").await);
    assert!(
        words.contains("How often each clue was right") && words.contains("There over bad metal : 1 of 1."),
        "{words}"
    );
}

#[tokio::test]
async fn finished_zones_with_hours_teach_the_shops_factor() {
    let house = House::open().await;
    let car = house.car("Finished").await;
    for zone in ["Z01.L", "Z01.R", "Z02.L"] {
        opened(&house, car, zone, "holed").await;
        kept(&house, car, "worked", &[("zone", zone), ("part", "metal"), ("hours", "30")]).await;
        kept(&house, car, "made_good", &[("zone", zone), ("note", "let in")]).await;
    }
    let text = page(&house, "").await;
    let words = html::words(&text);
    assert!(words.contains("From 3 finished zones: beside what the catalogue says this shop takes"), "{words}");
    let factor = job::pace::pace(&house.shop.finished().await.unwrap()).factor;
    assert!(factor.median > 1.03, "30 h is more than each was foretold: {}", factor.median);
    let said = format!("the factor is {:.2} to {:.2}, likely {:.2}", factor.p10, factor.p90, factor.median);
    assert!(words.contains(&said), "{said} in {words}");
    for row in ["P10 ", "P50 ", "P90 "] {
        assert!(words.contains(row), "{row} in {words}");
    }
    assert!(words.contains("of 3 about 0.3") && words.contains("about one zone in ten"), "{words}");
}

#[tokio::test]
async fn invented_cars_stand_apart_and_other_kinds_are_not_there() {
    let house = House::open().await;
    let real = house.car("Real").await;
    let mut details = house.shop.car(real).await.unwrap().details.clone();
    (details.title, details.invented) = ("Made up".into(), true);
    let invented = house.shop.open_car(details, house.lead.id, jiff::Timestamp::now()).await.unwrap();
    opened(&house, real, "Z01.L", "sound").await;
    opened(&house, invented, "Z01.L", "holed").await;
    let words = html::words(&page(&house, "").await);
    assert!(
        words.contains("1 zone became known of 1 car: 0 needed metal, 1 did not.") && words.contains("Invented cars")
    );
    let words = html::words(&page(&house, "?cars=invented").await);
    assert!(words.contains("1 zone became known of 1 car: 1 needed metal, 0 did not."), "{words}");
    assert!(words.contains("What they teach is used for invented cars alone."));
    house.get("/learned?cars=other").await.says(404, &[]);
}

#[tokio::test]
async fn lead_and_bench_may_read_it_and_an_owner_may_not() {
    let house = House::locked().await;
    let hour = jiff::SignedDuration::from_hours(1);
    for (person, role, status) in
        [(&house.lead, Role::Lead, 200), (&house.bench, Role::Bench, 200), (&house.owner, Role::Owner, 403)]
    {
        let session = house.session(person, role, hour).await;
        assert_eq!(house.get_as(&session, "/learned").await.status, status, "{role:?}");
    }
    assert_eq!(house.get("/learned").await.status, 303, "nobody signed in");
}
