//! Every page that can be reached by following links, for an empty car and for one with everything.

use std::collections::{BTreeSet, VecDeque};

use crate::support::{House, html};

/// More addresses than the two cars together have.
const MOST: usize = 3_000;

/// Follows every link, picture, script and stylesheet from the first page on. Gives how many were asked for.
async fn crawl(house: &House) -> usize {
    let mut seen = BTreeSet::from(["/".to_string()]);
    let mut waiting = VecDeque::from(["/".to_string()]);
    let mut wrong = Vec::new();
    while let Some(path) = waiting.pop_front() {
        let answer = house.get(&path).await;
        if answer.status != 200 {
            wrong.push(format!(
                "{path} gave {}: {}",
                answer.status,
                html::words(&answer.text()).chars().take(200).collect::<String>()
            ));
            continue;
        }
        if !answer.header("content-type").starts_with("text/html") {
            continue;
        }
        let text = answer.text();
        wrong.extend(html::faults(&text).into_iter().map(|fault| format!("{path}: {fault}")));
        for tag in html::tags(&text).unwrap_or_default() {
            for attribute in ["href", "src"] {
                let target = tag.get(attribute).split('#').next().unwrap_or_default().to_string();
                if target.is_empty() || (target == "/ui/guidecoat.js" || target == "/ui/mark.svg") {
                    continue;
                }
                if !target.starts_with('/') {
                    wrong.push(format!("{path} leads off the site: {target}"));
                } else if target != "/backup.zip" && seen.insert(target.clone()) {
                    waiting.push_back(target);
                }
            }
        }
        assert!(seen.len() < MOST, "too many pages: is an address growing? {path}");
    }
    assert!(wrong.is_empty(), "{} wrong\n{}", wrong.len(), wrong[..wrong.len().min(30)].join("\n"));
    seen.len()
}

#[tokio::test]
async fn every_page_of_a_shop_without_people_or_cars_stands() {
    let folder = tempfile::TempDir::new().unwrap();
    let url = format!("sqlite:{}", folder.path().join("t.sqlite").display());
    let store = std::sync::Arc::new(store::Database::open(&url).await.unwrap());
    let catalogue = job::catalogue::Catalogue::starting_guesses().unwrap();
    let shop = std::sync::Arc::new(job::shop::Shop::new(store, catalogue));
    let router = crate::support::router(shop, true);
    for path in ["/", "/people", "/cars/new"] {
        let request =
            axum::http::Request::get(path).header("host", crate::support::HOST).body(axum::body::Body::empty());
        let answer = crate::support::send(&router, request.unwrap()).await;
        answer.says(200, &[]);
        assert_eq!(html::faults(&answer.text()), Vec::<String>::new(), "{path}");
    }
}

#[tokio::test]
async fn every_link_of_an_empty_car_leads_to_a_page_that_stands() {
    let house = House::open().await;
    house.car("Empty").await;
    assert!(crawl(&house).await > 200);
}

#[tokio::test]
async fn every_link_of_a_car_with_everything_leads_to_a_page_that_stands() {
    let house = House::open().await;
    house.full_car("One of everything").await;
    assert!(crawl(&house).await > 200);
}

#[tokio::test]
async fn a_long_record_is_shown_page_by_page_with_its_filters() {
    let house = House::open().await;
    let car = house.car("Long").await;
    for n in 0..130 {
        let form = crate::support::form::entry("looked", &house.bench).text("note", format!("number {n}"));
        assert_eq!(house.keep(car, form).await.status, 303);
    }
    let first = house.get(&format!("/cars/{car}/record?kind=looked&who={}&zone=Z01.L", house.bench.id)).await;
    first.says(200, &["131 entries", "Older entries", "umber 129"]);
    let older = html::tags(&first.text()).unwrap().into_iter().find(|t| t.get("href").contains("before=")).unwrap();
    let second = house.get(older.get("href")).await;
    second.says(200, &["umber 0"]);
    assert!(!html::words(&second.text()).contains("Older entries"));
    assert!(!html::words(&second.text()).contains("Car opened :"), "the filter holds on the next page");
    house.get(&format!("/cars/{car}/record?kind=opened")).await.says(200, &["Nothing in this record matches"]);
}

#[tokio::test]
async fn roles_see_only_what_they_can_use() {
    use job::person::Role;
    let house = House::open().await;
    let car = house.full_car("Roles").await;
    let mut lead = house.lead.clone();
    lead.passphrase = Some(web::passphrase::hash("four words on paper").unwrap());
    house.shop.put_person(&lead).await.unwrap();
    let bench = house.session(&house.bench, Role::Bench, jiff::SignedDuration::from_hours(1)).await;
    for path in [
        "/".to_string(),
        "/people".into(),
        format!("/cars/{car}"),
        format!("/cars/{car}/record"),
        format!("/cars/{car}/entries/2"),
        format!("/cars/{car}/zones/Z01.L"),
    ] {
        let page = house.get_as(&bench, &path).await;
        page.says(200, &["Sign out"]);
        for tag in html::tags(&page.text()).unwrap().into_iter().filter(|t| t.name == "a") {
            let target = tag.get("href");
            if target.starts_with('/') && target.len() > 1 {
                let answer = house.get_as(&bench, target.split('#').next().unwrap()).await;
                assert_ne!(answer.status, 403, "{path} offers the bench {target}");
            }
        }
    }
}
