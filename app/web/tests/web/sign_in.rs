//! Signing in.

use axum::http::header;
use job::person::Role;

use crate::support::{Answer, House, PASSPHRASE, html};

async fn attempt(house: &House, person: impl std::fmt::Display, passphrase: &str, role: &str, next: &str) -> Answer {
    let passphrase = passphrase.replace(' ', "+");
    house.post_plain("/sign-in", "", &format!("person={person}&passphrase={passphrase}&role={role}&next={next}")).await
}

fn cookie(answer: &Answer) -> String {
    let set = answer.headers.get(header::SET_COOKIE).and_then(|v| v.to_str().ok()).unwrap_or_default();
    set.split(';').next().unwrap_or_default().to_string()
}

#[tokio::test]
async fn the_right_passphrase_opens_the_shop_to_this_device() {
    let house = House::locked().await;
    let answer = attempt(&house, house.lead.id, PASSPHRASE, "lead", "/people").await;
    assert_eq!((answer.status.as_u16(), answer.header("location")), (303, "/people"));
    let set = answer.header("set-cookie");
    assert!(set.contains("HttpOnly") && set.contains("SameSite=Strict") && set.contains("Max-Age="), "{set}");
    let token = cookie(&answer);
    assert_eq!(token.len(), "guidecoat_session=".len() + 64, "256 random bits");
    house.get_as(&token, "/cars/new").await.says(200, &["New car"]);
    let again = attempt(&house, house.lead.id, PASSPHRASE, "lead", "/").await;
    assert_ne!(cookie(&again), token);
    // The token itself is kept nowhere.
    let file = std::fs::read(house.folder.path().join("t.sqlite")).unwrap();
    let log = std::fs::read(house.folder.path().join("t.sqlite-wal")).unwrap_or_default();
    let secret = token.trim_start_matches("guidecoat_session=").as_bytes();
    for bytes in [file, log] {
        assert!(!bytes.windows(secret.len()).any(|w| w == secret));
        assert!(!bytes.windows(PASSPHRASE.len()).any(|w| w == PASSPHRASE.as_bytes()));
    }
}

#[tokio::test]
async fn a_wrong_passphrase_is_refused_and_slowed_after_four() {
    let house = House::locked().await;
    for _ in 0..4 {
        attempt(&house, house.lead.id, "not these words", "lead", "/").await.says(401, &["not the one kept"]);
    }
    // The fifth is still looked at; it is what begins the wait.
    attempt(&house, house.lead.id, "not these words", "lead", "/").await.says(401, &[]);
    let slowed = attempt(&house, house.lead.id, PASSPHRASE, "lead", "/").await;
    slowed.says(429, &["Too many wrong attempts", "wait"]);
    assert!(slowed.header("retry-after").parse::<u32>().is_ok_and(|s| s > 0));
    assert!(slowed.headers.get(header::SET_COOKIE).is_none());
}

#[tokio::test]
async fn somebody_unknown_or_without_a_passphrase_cannot_sign_in() {
    let house = House::locked().await;
    for person in [
        house.painter.id.to_string(),
        house.owner.id.to_string(),
        job::ids::PersonId::fresh().to_string(),
        "nobody".into(),
    ] {
        attempt(&house, person, PASSPHRASE, "lead", "/").await.says(401, &[]);
    }
}

#[tokio::test]
async fn a_device_may_be_given_less_than_its_person_but_never_more() {
    let house = House::locked().await;
    for (person, role, manages, reads) in [
        (&house.lead, Role::Bench, false, true),
        (&house.lead, Role::Painter, false, true),
        (&house.lead, Role::Owner, true, true),
        (&house.bench, Role::Lead, false, true),
        (&house.bench, Role::Owner, false, true),
    ] {
        let answer = attempt(&house, person.id, PASSPHRASE, role.key(), "/").await;
        assert_eq!(answer.status, 303);
        let token = cookie(&answer);
        assert_eq!(house.get_as(&token, "/cars/new").await.status == 200, manages, "{} as {}", person.name, role.key());
        assert_eq!(house.get_as(&token, "/").await.status == 200, reads, "{} as {}", person.name, role.key());
    }
    attempt(&house, house.bench.id, PASSPHRASE, "king", "/").await.says(422, &[]);
}

#[tokio::test]
async fn the_way_on_cannot_lead_off_the_site() {
    let house = House::locked().await;
    for next in [
        "//elsewhere.example",
        "https://elsewhere.example",
        "/%5Celsewhere.example",
        "%5C%5Celsewhere.example",
        "/%09/elsewhere.example",
        "/%0D%0A/elsewhere.example",
        "/%0A/elsewhere.example",
        "%09//elsewhere.example",
        "javascript:alert(1)",
    ] {
        let answer = attempt(&house, house.lead.id, PASSPHRASE, "lead", next).await;
        assert_eq!((answer.status.as_u16(), answer.header("location")), (303, "/"), "{next}");
        let page = house.get(&format!("/sign-in?next={next}")).await;
        let field = html::tags(&page.text()).unwrap().into_iter().find(|t| t.get("name") == "next").unwrap();
        assert_eq!(field.get("value"), "/", "{next}");
    }
    let inside = attempt(&house, house.lead.id, PASSPHRASE, "lead", "/cars/new?a=b%26c").await;
    assert_eq!(inside.header("location"), "/cars/new?a=b&c");
}

#[tokio::test]
async fn people_are_entered_changed_and_refused_in_words() {
    let house = House::open().await;
    let enter = |body: String| {
        let house = &house;
        async move { house.post_plain("/people", "", &body).await }
    };
    enter("name=&role=bench".into()).await.says(422, &["Not kept yet"]);
    enter("name=bench+a&role=bench".into()).await.says(422, &["works here already"]);
    enter("name=Bench+B&role=bench&passphrase=short".into()).await.says(422, &["at least 12"]);
    let refused = enter(format!("id={}&name=&role=painter", house.bench.id)).await;
    refused.says(422, &["Not kept yet"]);
    assert_eq!(html::faults(&refused.text()), Vec::<String>::new());
    assert_eq!(enter("name=Bench+B&role=bench".into()).await.status, 303);
    house.get("/people").await.says(200, &["Bench B"]);
    enter(format!("name={}&role=bench", "x".repeat(61))).await.says(422, &[]);
    // The first passphrase locks the shop, and the lead is asked to sign in at once.
    let first = enter(format!("id={}&name=Lead&role=lead&passphrase=four+words+on+paper", house.lead.id)).await;
    assert_eq!(first.status, 303);
    assert_eq!(house.get("/people").await.status, 303);
    assert_eq!(attempt(&house, house.lead.id, PASSPHRASE, "lead", "/").await.status, 303);
}

#[tokio::test]
async fn attempts_sent_all_at_once_do_not_slip_past_the_wait() {
    let house = House::locked().await;
    let mut all = tokio::task::JoinSet::new();
    for _ in 0..24 {
        let router = house.router.clone();
        let body = format!("person={}&passphrase=not+these+words&role=lead", house.lead.id);
        let request = axum::http::Request::post("/sign-in")
            .header(header::HOST, crate::support::HOST)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(axum::body::Body::from(body));
        all.spawn(async move { crate::support::send(&router, request.unwrap()).await.status.as_u16() });
    }
    let statuses = all.join_all().await;
    let looked_at = statuses.iter().filter(|s| **s == 401).count();
    assert!((5..=7).contains(&looked_at), "{statuses:?}");
    assert_eq!(looked_at + statuses.iter().filter(|s| **s == 429).count(), 24);
}
