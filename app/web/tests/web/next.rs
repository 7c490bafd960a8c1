//! The Next look sheet: what to look into first, the outline by chance, and why.

use job::ids::CarId;
use job::outlook::{Known, next_looks, outlook};
use job::person::Role;
use job::validate::{body, instances};

use crate::support::{House, form, html};

/// The sheet and what is wrong with it as a page.
async fn sheet(house: &House, car: CarId, ask: &str) -> String {
    let page = house.get(&format!("/cars/{car}/next{ask}")).await;
    page.says(200, &["Next look", "Hatch is a finding, stipple is a guess.", "Not looked is not clear"]);
    let text = page.text();
    assert_eq!(html::faults(&text), Vec::<String>::new());
    text
}

#[tokio::test]
async fn a_car_nobody_has_looked_at_has_a_first_look_and_is_stippled_all_over() {
    let house = House::open().await;
    let car = house.car("Unseen").await;
    let text = sheet(&house, car, "").await;
    let folded = house.shop.car(car).await.unwrap();
    let thought = outlook(&folded, house.shop.catalogue()).unwrap();
    let (zone, _) = next_looks(&thought)[0];
    let words = html::words(&text);
    let says = words.split("Next look").nth(2).unwrap_or_default();
    assert!(says.contains(&zone.instance.name()) && says.contains(" decide"), "{says}");
    assert!(words.contains("starting guess until the shop's own figures replace it"), "{words}");
    assert!(!words.contains('%'), "a chance is never a bare percent");
    // Its zone is on the view that is shown first, numbered 1, and the row leads to the form for a look.
    let look = format!("/cars/{car}/add?zone={}&kind=look#look", zone.instance.id);
    let tags = html::tags(&text).unwrap();
    let leads = |inside: &str| {
        let there = |t: &&html::Tag| t.name == "a" && t.get("href") == look && t.inside.iter().any(|i| i == inside);
        tags.iter().filter(there).count()
    };
    assert!(leads("svg") >= 1 && leads("h3") == 1 && leads("details") == 1, "{look}");
    let filled = |with: &str| {
        let zone = |t: &&html::Tag| t.name == "path" && t.inside.iter().any(|i| i == "a");
        tags.iter().filter(zone).filter(|t| t.get("fill").starts_with(with)).count()
    };
    assert_eq!(filled("url(#bad"), 0, "hatch is a finding, and nothing was found");
    assert!(filled("url(#may") > 5, "{}", filled("url(#may"));
}

#[tokio::test]
async fn every_zone_that_is_not_known_is_listed_once_with_its_reasons() {
    let house = House::open().await;
    let car = house.full_car("Looked at here and there").await;
    let folded = house.shop.car(car).await.unwrap();
    let thought = outlook(&folded, house.shop.catalogue()).unwrap();
    let open = thought.zones.iter().filter(|z| z.known == Known::NotKnown).count();
    let known = thought.zones.len() - open;
    assert!(open > 100 && known >= 3, "{open} {known}");
    let text = sheet(&house, car, "").await;
    assert_eq!(text.matches("<details class=\"guess\">").count(), open + thought.troubles.len());
    let words = html::words(&text);
    assert!(words.contains(&format!("{known} zones seen bad, opened, or made good")), "{words}");
    // The look at Z01.L in entry 2 found it thin: what lies beside it says so and leads to that entry.
    assert!(words.contains("rotten next to it: outer sill, left"), "{words}");
    assert!(text.contains(&format!("<a href=\"/cars/{car}/entries/2\">entry 2</a>")));
    assert!(words.contains("starting guess for a 50-year-old shell"));
}

#[tokio::test]
async fn every_view_hatches_what_was_seen_and_stipples_only_what_was_not() {
    let house = House::open().await;
    let car = house.full_car("Looked at here and there").await;
    let folded = house.shop.car(car).await.unwrap();
    for view in body(&folded.details).unwrap().views() {
        let text = sheet(&house, car, &format!("?view={}", view.id)).await;
        for tag in html::tags(&text).unwrap().into_iter().filter(|t| !t.get("data-zone").is_empty()) {
            let state = folded.state(tag.get("data-zone"));
            let (class, label) = (tag.get("class"), tag.get("aria-label"));
            let not_looked = state == job::car::ZoneState::NotLooked;
            assert_eq!(class.contains("may") || class.contains("none"), not_looked, "{label}: {class}");
            assert_eq!(label.contains("need metal"), not_looked, "{label}");
        }
    }
    house.get(&format!("/cars/{car}/next?view=nowhere")).await.says(404, &[]);
}

#[tokio::test]
async fn a_car_of_which_all_is_known_has_nothing_left_to_guess() {
    let house = House::open().await;
    let car = house.car("All open").await;
    let folded = house.shop.car(car).await.unwrap();
    for zone in instances(&folded.details) {
        let form = form::Form::new()
            .text("kind", "opened")
            .text("entry", job::ids::EntryId::fresh())
            .text("who", house.bench.id)
            .pairs([("zone", zone.id.as_str()), ("found", "sound"), ("through", "skin off")]);
        assert_eq!(house.keep(car, form).await.status, 303);
    }
    let text = sheet(&house, car, "").await;
    let words = html::words(&text);
    assert!(words.contains("Every zone is known; there is nothing left to guess."), "{words}");
    assert!(!words.contains("All zones by chance") && !text.contains("fill=\"url(#may1)\" fill-rule"));
    let range = house.get(&format!("/cars/{car}/range")).await;
    range.says(200, &["By this record no metal work is left to do."]);
    assert_eq!(html::faults(&range.text()), Vec::<String>::new());
}

#[tokio::test]
async fn the_bench_may_look_here_and_an_owner_may_not() {
    let house = House::locked().await;
    let lead = house.session(&house.lead, Role::Lead, jiff::SignedDuration::from_hours(1)).await;
    let details = form::car("Roles", &house.lead);
    let answer = house.post_as(&lead, "/cars/new", details).await;
    let car = answer.header("location").to_owned();
    let bench = house.session(&house.bench, Role::Bench, jiff::SignedDuration::from_hours(1)).await;
    let owner = house.session(&house.owner, Role::Owner, jiff::SignedDuration::from_hours(1)).await;
    for sheet in ["next", "range"] {
        assert_eq!(house.get_as(&bench, &format!("{car}/{sheet}")).await.status, 200);
        assert_eq!(house.get_as(&owner, &format!("{car}/{sheet}")).await.status, 403);
        assert_eq!(house.get(&format!("{car}/{sheet}")).await.status, 303, "nobody signed in");
    }
}
