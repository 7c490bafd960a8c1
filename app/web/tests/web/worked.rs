//! Hours worked: how they are put down, where they show, and what cannot be kept.

use job::ids::EntryId;

use crate::support::form::{self, Form};
use crate::support::{House, html};

fn hours(house: &House, zone: &str, part: &str, hours: &str) -> Form {
    Form::new().text("kind", "worked").text("entry", EntryId::fresh()).text("who", house.bench.id).pairs([
        ("zone", zone),
        ("part", part),
        ("hours", hours),
        ("note", "two of us"),
    ])
}

#[tokio::test]
async fn hours_of_a_zone_and_of_the_whole_car_are_kept_and_shown() {
    let house = House::open().await;
    let car = house.car("Worked on").await;
    let of_zone = house.keep(car, hours(&house, "Z01.L", "metal", "6.5")).await;
    assert_eq!(of_zone.header("location"), format!("/cars/{car}/zones/Z01.L?kept=2"));
    let of_car = house.keep(car, hours(&house, "", "coat", "3,25")).await;
    assert_eq!(of_car.header("location"), format!("/cars/{car}/record?kept=3"));
    assert_eq!(house.shop.car(car).await.unwrap().worked_h(None), 9.75);
    let zone = house.get(&format!("/cars/{car}/zones/Z01.L")).await;
    zone.says(200, &["Hours worked on it Metal 6.5 h", "6.5 h: Metal", "Two of us"]);
    assert_eq!(html::faults(&zone.text()), Vec::<String>::new());
    house.get(&format!("/cars/{car}/record?kind=worked")).await.says(200, &["6.5 h: Metal", "3.25 h: Coats"]);
    house.get(&format!("/cars/{car}/range")).await.says(200, &["Hours worked so far", "Metal 6.5 h", "Together 9.8 h"]);
    let elsewhere = html::words(&house.get(&format!("/cars/{car}/zones/Z01.R")).await.text());
    assert!(!elsewhere.contains("Hours worked on it"), "{elsewhere}");
}

#[tokio::test]
async fn the_form_stands_on_the_add_sheet_and_needs_no_zone() {
    let house = House::open().await;
    let car = house.car("Worked on").await;
    let page = house.get(&format!("/cars/{car}/add?kind=worked")).await;
    page.says(200, &["Hours worked", "What did they go into?", "no zone: the car as a whole"]);
    let tags = html::tags(&page.text()).unwrap();
    let select = tags.iter().find(|t| t.get("id") == "zone-worked").unwrap();
    assert!(!select.has("required"));
    assert_eq!(html::faults(&page.text()), Vec::<String>::new());
}

#[tokio::test]
async fn hours_that_cannot_be_are_refused_at_their_field_and_can_be_corrected() {
    let house = House::open().await;
    let car = house.car("Worked on").await;
    for (part, h, words) in [
        ("", "2", "Choose what the hours went into."),
        ("lunch", "2", "Choose what the hours went into."),
        ("metal", "", "hours"),
        ("metal", "a few", "hours"),
        ("metal", "0", "hours"),
        ("metal", "-1", "hours"),
        ("metal", "201", "hours"),
        ("metal", "NaN", "hours"),
    ] {
        let page = house.keep(car, hours(&house, "Z01.L", part, h)).await;
        page.says(422, &["Not kept yet", words, "two of us"]);
        assert_eq!(html::faults(&page.text()), Vec::<String>::new(), "{part} {h}");
    }
    house.keep(car, hours(&house, "Z99.L", "metal", "2")).await.says(422, &["Not kept yet"]);
    assert_eq!(house.count(car).await, 1);
    assert_eq!(house.keep(car, form::entry("worked", &house.bench)).await.status, 303);
    let page = house.get(&format!("/cars/{car}/add?corrects=2")).await;
    page.says(200, &["This corrects entry 2"]);
    let filled = html::filled(&page.text(), "form-worked");
    assert!(filled.contains(&("hours".into(), "6.5".into())) && filled.contains(&("part".into(), "metal".into())));
}
