//! Other sites, other names, and sessions that have had their time.

use axum::body::Body;
use axum::http::{Request, header};
use jiff::SignedDuration;
use job::person::Role;

use crate::support::form::{self, Form};
use crate::support::{HOST, House, html, router, send};

const HOUR: SignedDuration = SignedDuration::from_hours(1);

#[tokio::test]
async fn a_form_sent_from_another_site_keeps_nothing() {
    let house = House::open().await;
    let car = house.car("Kept whole").await;
    let path = format!("/cars/{car}/entries");
    for foreign in [
        [("origin", "https://elsewhere.example")],
        [("origin", "null")],
        [("origin", "http://127.0.0.1:9999")],
        [("origin", "not an address")],
        [("sec-fetch-site", "cross-site")],
        [("sec-fetch-site", "same-site")],
    ] {
        let request = form::entry("looked", &house.bench).request(&path, &foreign);
        send(&house.router, request).await.says(403, &["sent from another site", "nothing was kept"]);
    }
    // The browser's own word on where a form comes from outweighs an origin that looks right.
    let both = [("origin", "http://127.0.0.1:8017"), ("sec-fetch-site", "cross-site")];
    send(&house.router, form::entry("looked", &house.bench).request(&path, &both)).await.says(403, &[]);
    assert_eq!(house.count(car).await, 1);
    for own in [("origin", "http://127.0.0.1:8017"), ("sec-fetch-site", "same-origin")] {
        let answer = send(&house.router, form::entry("looked", &house.bench).request(&path, &[own])).await;
        assert_eq!(answer.status, 303);
    }
    assert_eq!(house.count(car).await, 3);
}

#[tokio::test]
async fn a_foreign_name_for_this_computer_is_not_answered() {
    let house = House::open().await;
    let named = |host: &str| Request::get("/").header(header::HOST, host).body(Body::empty()).unwrap();
    for host in [
        "elsewhere.example",
        "elsewhere.example:8017",
        "127.0.0.1.elsewhere.example",
        "localhost.elsewhere.example",
        "",
        "[::2]:8017",
    ] {
        send(&house.router, named(host)).await.says(421, &["which is not its name"]);
    }
    let without = Request::get("/").body(Body::empty()).unwrap();
    send(&house.router, without).await.says(421, &[]);
    for host in ["127.0.0.1:8017", "localhost:8017", "localhost", "[::1]:8017", "[::1]"] {
        send(&house.router, named(host)).await.says(200, &["Cars"]);
    }
    let hostile = send(&house.router, named("<script>x</script>")).await;
    assert!(!hostile.text().contains("<script>x"), "{}", hostile.text());
}

#[tokio::test]
async fn an_address_that_others_can_reach_asks_for_a_passphrase_even_before_one_is_set() {
    let house = House::with(None, false).await;
    let answer = house.get("/").await;
    assert_eq!((answer.status.as_u16(), answer.header("location")), (303, "/sign-in?next=/"));
    let request = Request::get("/").header(header::HOST, "the-shop.example").body(Body::empty()).unwrap();
    assert_eq!(send(&house.router, request).await.status, 303, "any name, when none is given");
}

#[tokio::test]
async fn a_session_ends_when_its_time_is_over_and_when_it_is_signed_out() {
    let house = House::locked().await;
    let over = house.session(&house.lead, Role::Lead, SignedDuration::from_secs(-1)).await;
    assert_eq!(house.get_as(&over, "/").await.status, 303);
    let cookie = house.session(&house.lead, Role::Lead, HOUR).await;
    assert_eq!(house.get_as(&cookie, "/").await.status, 200);
    // Another process over the same database knows the session too.
    let other = house.restarted().await;
    let request = Request::get("/").header(header::HOST, HOST).header(header::COOKIE, &cookie).body(Body::empty());
    assert_eq!(send(&other, request.unwrap()).await.status, 200);
    let out = house.post_plain("/sign-out", &cookie, "").await;
    assert_eq!(out.status, 303);
    let gone: Vec<_> = out.headers.get_all("set-cookie").iter().filter_map(|v| v.to_str().ok()).collect();
    assert!(gone.iter().any(|c| c.starts_with("guidecoat_session=;") && c.contains("Max-Age=0")), "{gone:?}");
    assert_eq!(house.get_as(&cookie, "/").await.status, 303, "the token itself no longer works");
}

#[tokio::test]
async fn somebody_who_left_or_was_given_less_loses_it_at_once() {
    let house = House::locked().await;
    let mut second = house.bench.clone();
    second.role = Role::Lead;
    house.shop.put_person(&second).await.unwrap();
    let cookie = house.session(&second, Role::Lead, HOUR).await;
    assert_eq!(house.get_as(&cookie, "/cars/new").await.status, 200);
    house.shop.put_person(&house.bench).await.unwrap();
    let after = house.get_as(&cookie, "/cars/new").await.status.as_u16();
    assert!([303, 403].contains(&after), "a lead who is bench again still leads: {after}");
    let cookie = house.session(&house.bench, Role::Bench, HOUR).await;
    let mut gone = house.bench.clone();
    gone.active = false;
    house.shop.put_person(&gone).await.unwrap();
    assert_eq!(house.get_as(&cookie, "/").await.status, 303);
}

#[tokio::test]
async fn a_changed_passphrase_signs_every_device_of_that_person_out() {
    let house = House::locked().await;
    let lead = house.session(&house.lead, Role::Lead, HOUR).await;
    let lost = house.session(&house.bench, Role::Bench, HOUR).await;
    let body = format!("id={}&name=Bench+A&role=bench&passphrase=quite+another+one", house.bench.id);
    assert_eq!(house.post_plain("/people", &lead, &body).await.status, 303);
    assert_eq!(house.get_as(&lost, "/").await.status, 303);
    assert_eq!(house.get_as(&lead, "/").await.status, 200);
}

#[tokio::test]
async fn what_was_typed_is_not_thrown_away_when_a_session_is_over() {
    let house = House::open().await;
    let car = house.car("Long note").await;
    let mut lead = house.lead.clone();
    lead.passphrase = Some(web::passphrase::hash("four words on paper").unwrap());
    house.shop.put_person(&lead).await.unwrap();
    let path = format!("/cars/{car}/entries");
    // A redirect would replace the form; a page that says so leaves it one step back.
    house.post(&path, form::entry("looked", &house.bench)).await.says(401, &["not signed in", "Nothing was kept"]);
    let answer = house.post_json(&path, form::entry("looked", &house.bench)).await;
    assert_eq!(answer.status, 401);
    assert!(answer.json()["say"].as_str().is_some_and(|say| say.contains("not signed in")));
    assert_eq!(house.count(car).await, 1);
}

#[tokio::test]
async fn the_way_to_sign_in_leads_back_to_the_page_that_was_asked_for() {
    let house = House::locked().await;
    for path in ["/people", "/cars/01890000-0000-7000-8000-000000000000/coats?air=18&rh=70"] {
        let answer = house.get(path).await;
        let address = answer.header("location").to_string();
        assert!(address.starts_with("/sign-in?next=/"), "{address}");
        let page = house.get(&address).await;
        let next = html::tags(&page.text()).unwrap().into_iter().find(|t| t.get("name") == "next").unwrap();
        assert_eq!(next.get("value"), path);
    }
}

#[tokio::test]
async fn a_bench_device_cannot_take_entries_out() {
    let house = House::locked().await;
    let lead = house.session(&house.lead, Role::Lead, HOUR).await;
    let bench = house.session(&house.bench, Role::Bench, HOUR).await;
    let answer = house.post_as(&lead, "/cars/new", form::car("One", &house.lead)).await;
    let path = format!("{}/entries", answer.header("location"));
    assert_eq!(house.post_as(&bench, &path, form::entry("looked", &house.bench)).await.status, 303);
    let car = answer.header("location").trim_start_matches("/cars/").parse().unwrap();
    let entry = house.shop.car(car).await.unwrap().entry(2).unwrap().id;
    let out = |by: &job::person::Person| {
        Form::new()
            .pairs([("kind", "withdrawn"), ("why", "wrong car")])
            .text("entry", job::ids::EntryId::fresh())
            .text("withdraws", entry)
            .text("who", by.id)
    };
    assert_eq!(house.post_as(&bench, &path, out(&house.bench)).await.status, 403);
    assert_eq!(house.post_as(&lead, &path, out(&house.lead)).await.status, 303);
}

#[tokio::test]
async fn names_given_at_the_start_are_the_only_ones_answered() {
    let house = House::open().await;
    let shop = house.shop.clone();
    let app = web::App::new(web::Setting {
        shop,
        zone: jiff::tz::TimeZone::UTC,
        loopback: false,
        hosts: vec!["the-shop.example".into()],
        public_url: None,
    });
    let named = web::router(app);
    let ask = |host: &str| Request::get("/sign-in").header(header::HOST, host).body(Body::empty()).unwrap();
    assert_eq!(send(&named, ask("The-Shop.example:8017")).await.status, 200);
    assert_eq!(send(&named, ask("other.example")).await.status, 421);
    assert_eq!(send(&router(house.shop.clone(), true), ask("the-shop.example")).await.status, 421);
}
