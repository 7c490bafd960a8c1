//! Every zone can be reached: on a drawing, and in the list beside it.

use std::collections::BTreeSet;

use job::ids::CarId;
use job::validate::{body, instances};

use crate::support::{House, form, html};

async fn check(house: &House, car: CarId, wanted: usize) {
    let folded = house.shop.car(car).await.unwrap();
    let all: BTreeSet<String> = instances(&folded.details).iter().map(|i| i.id.clone()).collect();
    assert_eq!(all.len(), wanted);
    let zone_of = |href: &str| href.strip_prefix(&format!("/cars/{car}/zones/")).map(str::to_owned);
    let mut drawn = BTreeSet::new();
    let mut listed_beside = BTreeSet::new();
    for view in body(&folded.details).unwrap().views() {
        let page = house.get(&format!("/cars/{car}?view={}", view.id)).await;
        page.says(200, &[]);
        let tags = html::tags(&page.text()).unwrap();
        let links = |in_drawing: bool| {
            tags.iter()
                .filter(|t| t.name == "a" && t.inside.iter().any(|i| i == if in_drawing { "svg" } else { "table" }))
                .filter_map(|t| zone_of(t.get("href")))
                .collect::<BTreeSet<_>>()
        };
        let (here, beside) = (links(true), links(false));
        assert_eq!(here, beside, "view {}: the list beside the drawing holds what the drawing shows", view.id);
        for tag in tags.iter().filter(|t| t.name == "a" && t.inside.iter().any(|i| i == "svg")) {
            assert!(tag.get("aria-label").contains(": "), "a zone without a name in {}", view.id);
        }
        drawn.extend(here);
        listed_beside.extend(beside);
    }
    assert_eq!(drawn, all, "in some view");
    let page = house.get(&format!("/cars/{car}?list=all")).await;
    let rows: Vec<_> = html::tags(&page.text())
        .unwrap()
        .into_iter()
        .filter(|t| t.name == "a" && t.inside.iter().any(|i| i == "table"))
        .filter_map(|t| zone_of(t.get("href")))
        .collect();
    assert_eq!(rows.len(), wanted, "once each");
    assert_eq!(rows.into_iter().collect::<BTreeSet<_>>(), all, "in the list");
}

#[tokio::test]
async fn every_zone_instance_is_on_a_drawing_and_in_the_list() {
    let house = House::open().await;
    let plain = house.car("Without a sunroof").await;
    check(&house, plain, 116).await;
    let answer = house.post("/cars/new", form::car("With a sunroof", &house.lead).text("fitted", "sunroof")).await;
    let sunroof = answer.header("location").trim_start_matches("/cars/").parse().unwrap();
    check(&house, sunroof, 117).await;
}

#[tokio::test]
async fn every_zone_has_a_page_and_every_view_a_file() {
    let house = House::open().await;
    let car = house.full_car("One of everything").await;
    let folded = house.shop.car(car).await.unwrap();
    for instance in instances(&folded.details) {
        let page = house.get(&format!("/cars/{car}/zones/{}", instance.id)).await;
        page.says(200, &["What was written", "What the trade says of it"]);
        assert_eq!(html::faults(&page.text()), Vec::<String>::new(), "{}", instance.id);
    }
    for view in body(&folded.details).unwrap().views() {
        let file = house.get(&format!("/cars/{car}/map/{}.svg", view.id)).await;
        assert_eq!((file.status.as_u16(), file.header("content-type")), (200, "image/svg+xml"));
        html::tags(&file.text()).unwrap_or_else(|e| panic!("{}: {e}", view.id));
    }
}
