//! The Next look sheet: what to look into first, the outline by chance, and why.

use job::ids::CarId;
use job::outlook::{Known, in_ten};
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
    let forecast = house.shop.forecast(&house.shop.car(car).await.unwrap()).await.unwrap();
    let look = forecast.outlook.worth_looking().next().unwrap();
    let words = html::words(&text);
    let says = words.split("Next look").nth(2).unwrap_or_default();
    let first = format!("{}{}.", look.say[..1].to_uppercase(), &look.say[1..]);
    assert!(says.contains(&first) && says.contains(" decide") && says.contains(" of work."), "{first}: {says}");
    assert!(words.contains("starting guess until the shop's own figures replace it"), "{words}");
    assert!(!words.contains('%'), "a chance is never a bare percent");
    for wanted in ["Tells about:", "Takes", "Hours at stake", "Expected to save", "Left after its hours", "Most for it"]
    {
        assert!(words.contains(wanted), "{wanted}: {words}");
    }
    for zone in &look.reaches {
        assert!(text.contains(&format!("/cars/{car}/add?zone={}&amp;kind=look#look", zone.id)), "{}", zone.id);
    }
    assert!(text.contains(&format!("/cars/{car}/next?what={}", look.key)), "{}", look.key);
    assert!(text.contains("href=\"/learned\""));
    let tags = html::tags(&text).unwrap();
    let filled = |with: &str| {
        let zone = |t: &&html::Tag| t.name == "path" && t.inside.iter().any(|i| i == "a");
        tags.iter().filter(zone).filter(|t| t.get("fill").starts_with(with)).count()
    };
    assert_eq!(filled("url(#bad"), 0, "hatch is a finding, and nothing was found");
    assert!(filled("url(#may") > 5, "{}", filled("url(#may"));
}

#[tokio::test]
async fn the_looks_are_told_best_first_and_those_not_worth_their_hours_are_folded() {
    let house = House::open().await;
    let car = house.full_car("Looked at here and there").await;
    let forecast = house.shop.forecast(&house.shop.car(car).await.unwrap()).await.unwrap();
    let words = html::words(&sheet(&house, car, "").await);
    let worth = forecast.outlook.first_choices();
    let all = forecast.outlook.worth_looking().count();
    let not = forecast.outlook.looks.len() - all;
    assert!(words.contains(&format!("{} other ways of seeing the same zones", all - worth.len())), "{words}");
    assert!(worth.len() > 2 && not > 10, "{} {not}", worth.len());
    assert!(words.contains(&format!("{not} looks not worth the hours now")), "{words}");
    let places: Vec<usize> = worth.iter().take(3).map(|look| words.find(&look.say[1..]).unwrap()).collect();
    assert!(places.is_sorted(), "{places:?}");
    match forecast.outlook.pair {
        Some(pair) => {
            let (first, second) = (&forecast.outlook.looks[pair.first], &forecast.outlook.looks[pair.second]);
            assert!(words.contains(&format!("{}, and {}: together", &first.say[1..], second.say)), "{words}");
        }
        None => assert!(!words.contains("worth most together"), "{words}"),
    }
}

#[tokio::test]
async fn what_if_shows_both_answers_and_what_they_move() {
    let house = House::open().await;
    let car = house.car("Unseen").await;
    let folded = house.shop.car(car).await.unwrap();
    let forecast = house.shop.forecast(&folded).await.unwrap();
    let look = forecast.outlook.worth_looking().next().unwrap();
    let what_if = house.shop.what_if(&folded, &look.key).await.unwrap().unwrap();
    let page = house.get(&format!("/cars/{car}/next?what={}", look.key)).await;
    page.says(
        200,
        &["What if?", "If it shows clear", "If it shows bad", "Mean hours of metal:", "Nothing here is kept"],
    );
    let (text, words) = (page.text(), html::words(&page.text()));
    assert_eq!(html::faults(&text), Vec::<String>::new());
    assert!(!words.contains('%') && !text.contains("<script>"), "{words}");
    assert!(what_if.clear.mean_h.1 < what_if.clear.mean_h.0 && what_if.bad.mean_h.1 > what_if.bad.mean_h.0);
    for case in [&what_if.clear, &what_if.bad] {
        assert!(!case.zones.is_empty());
        for zone in &case.zones {
            let then = format!("now {}, then {}", in_ten(&zone.before), in_ten(&zone.after));
            assert!(words.contains(&then), "{then} in {words}");
        }
        assert!(case.next.as_ref().is_none_or(|next| words.contains(next)), "{:?}", case.next);
    }
    let drawn = what_if.clear.zones.len() + what_if.bad.zones.len();
    assert_eq!(text.matches("<path class=\"was\"").count(), drawn, "each shows where it stood");
}

#[tokio::test]
async fn two_entries_that_contradict_each_other_are_named_and_linked() {
    let house = House::open().await;
    let car = house.car("Bad, then clear").await;
    for (how, result) in [("eye", "bad"), ("scope_there", "clear")] {
        let form = form::Form::new()
            .text("kind", "looked")
            .text("entry", job::ids::EntryId::fresh())
            .text("who", house.bench.id)
            .pairs([("zone", "Z02.L"), ("how", how), ("result", result), ("severity", "holed")]);
        assert_eq!(house.keep(car, form).await.status, 303);
    }
    let text = sheet(&house, car, "").await;
    let words = html::words(&text);
    assert!(words.contains("Two entries cannot both be right"), "{words}");
    assert!(words.contains("The later one counts; look again , or correct the one that is wrong."), "{words}");
    for seq in [2, 3] {
        assert!(text.contains(&format!("<a href=\"/cars/{car}/entries/{seq}\">entry {seq}</a>")), "{seq}");
    }
    assert_eq!(text.matches("note stop").count(), 0, "it is no reason to stop");
}

#[tokio::test]
async fn a_zone_says_what_its_own_signs_alone_would_make_of_it() {
    let house = House::open().await;
    let car = house.full_car("Looked at here and there").await;
    let forecast = house.shop.forecast(&house.shop.car(car).await.unwrap()).await.unwrap();
    let words = html::words(&sheet(&house, car, "").await);
    let open = forecast.outlook.zones.iter().filter(|zone| zone.known == Known::NotKnown);
    let differ: Vec<_> = open.filter(|zone| in_ten(&zone.alone) != in_ten(&zone.chance)).collect();
    assert!(!differ.is_empty());
    let said = words.matches("By its own signs alone:").count();
    assert_eq!(said, differ.len());
    let (alone, together) = (in_ten(&differ[0].alone), in_ten(&differ[0].chance));
    let wanted = format!("By its own signs alone: {alone}; what its neighbours share makes it {together}.");
    assert!(words.contains(&wanted), "{wanted}");
}

#[tokio::test]
async fn every_zone_that_is_not_known_is_listed_once_with_its_reasons() {
    let house = House::open().await;
    let car = house.full_car("Looked at here and there").await;
    let forecast = house.shop.forecast(&house.shop.car(car).await.unwrap()).await.unwrap();
    let thought = &forecast.outlook;
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
