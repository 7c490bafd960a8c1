//! Owner's links on the shop's side: made, shown once, taken back, ended; where they work; and who opened what.

use axum::body::Body;
use axum::http::{Request, header};
use jiff::tz::TimeZone;
use job::ids::{CarId, Hash, PersonId};
use job::person::Role;
use web::{App, Setting};

use crate::support::form::Form;
use crate::support::{Answer, HOST, House, html, send};

fn wanted(house: &House, owner: PersonId, days: &str) -> Form {
    Form::new().text("owner", owner).text("days", days).text("who", house.lead.id)
}

async fn make(house: &House, car: CarId, days: &str) -> Answer {
    house.post(&format!("/cars/{car}/links"), wanted(house, house.owner.id, days)).await
}

/// The address that a page shows once.
fn shown(page: &Answer) -> String {
    let tags = html::tags(&page.text()).unwrap();
    tags.iter().find(|t| t.get("id") == "address").map(|t| t.get("value").to_string()).unwrap_or_default()
}

#[tokio::test]
async fn a_link_is_shown_once_and_its_token_is_kept_nowhere() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Linked").await;
    let sheet = house.get(&format!("/cars/{car}/links")).await;
    sheet.says(200, &["Nobody outside the shop can see this car.", "From 1 to 366 days", "None has been made"]);
    assert_eq!(html::faults(&sheet.text()), Vec::<String>::new());
    let made = make(&house, car, "60").await;
    made.says(200, &["shown only here, and only once", "One link leads"]);
    assert_eq!(html::faults(&made.text()), Vec::<String>::new());
    assert_eq!(made.header("cache-control"), "no-store");
    let address = shown(&made);
    let token = address.strip_prefix(&format!("http://{HOST}/o/")).unwrap().to_string();
    assert_eq!(token.len(), 64);
    assert_eq!(house.get(&format!("/o/{token}")).await.status, 200);
    let again = house.get(&format!("/cars/{car}/links")).await;
    assert!(!again.text().contains(&token));
    for file in std::fs::read_dir(house.folder.path()).unwrap() {
        let bytes = std::fs::read(file.unwrap().path()).unwrap();
        assert!(
            !bytes.windows(token.len()).any(|window| window == token.as_bytes()),
            "the token stands in the database"
        );
    }
    let links = house.shop.links(car).await.unwrap();
    assert_eq!((links.len(), links[0].token), (1, Hash::of(token.as_bytes())));
    assert_eq!(links[0].expires.duration_since(links[0].made).as_hours(), 60 * 24);
}

#[tokio::test]
async fn what_cannot_be_a_link_is_refused_at_its_field() {
    let house = House::open().await;
    let car = house.car("Refused").await;
    let path = format!("/cars/{car}/links");
    for (days, words) in [
        ("0", "0 days were asked for"),
        ("367", "367 days were asked for"),
        ("2.5", "\"2.5\" was typed for the number of days"),
        ("soon", "\"soon\" was typed for the number of days"),
        ("-1", "\"-1\" was typed for the number of days"),
        ("", "The number of days is missing"),
    ] {
        let page = make(&house, car, days).await;
        page.says(422, &[words]);
        assert_eq!(html::faults(&page.text()), Vec::<String>::new());
    }
    for person in [house.lead.id, PersonId::fresh()] {
        house
            .post(&path, wanted(&house, person, "60"))
            .await
            .says(422, &["Nobody was picked who is entered as an owner"]);
    }
    let owner_writes = Form::new().text("owner", house.owner.id).text("days", "60").text("who", house.owner.id);
    house.post(&path, owner_writes).await.says(422, &["Nobody was picked who may write here"]);
    house.post(&path, Form::new()).await.says(422, &["Pick the owner of this car."]);
    assert!(house.shop.links(car).await.unwrap().is_empty());
    // Without anybody entered as an owner there is a way to enter one.
    let mut left = house.owner.clone();
    left.active = false;
    house.shop.put_person(&left).await.unwrap();
    house.get(&path).await.says(200, &["Nobody is entered as an owner", "Enter the owner"]);
}

#[tokio::test]
async fn no_more_than_twenty_links_of_a_car_are_open_at_once() {
    let house = House::open().await;
    let car = house.car("Many").await;
    for _ in 0..20 {
        assert_eq!(make(&house, car, "1").await.status, 200);
    }
    make(&house, car, "1").await.says(422, &["20 links of this car are open already", "Take one back first."]);
}

#[tokio::test]
async fn a_link_taken_back_leads_nowhere_and_only_its_own_car_can_take_it_back() {
    let house = House::open().await;
    let (car, other) = (house.car("One").await, house.car("Other").await);
    let token = shown(&make(&house, car, "60").await).rsplit('/').next().unwrap().to_string();
    let hash = Hash::of(token.as_bytes());
    let revoke = |car: CarId| format!("/cars/{car}/links/revoke");
    house.post(&revoke(other), Form::new().text("link", hash)).await.says(422, &["has no such link"]);
    assert_eq!(house.get(&format!("/o/{token}")).await.status, 200);
    assert_eq!(house.post(&revoke(car), Form::new().text("link", hash)).await.status, 303);
    assert_eq!(house.get(&format!("/o/{token}")).await.status, 410);
    house
        .get(&format!("/cars/{car}/links"))
        .await
        .says(200, &["taken back", "Nobody outside the shop can see this car."]);
    for nothing in ["", "x", &Hash::of(b"nothing").to_string()] {
        assert_eq!(house.post(&revoke(car), Form::new().text("link", nothing)).await.status, 422);
    }
}

#[tokio::test]
async fn who_opened_what_leaves_the_shop_can_be_read() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Watched").await;
    let token = house.token(car).await;
    for path in [
        format!("/o/{token}"),
        format!("/o/{token}/photographs"),
        format!("/o/{token}/dossier.pdf"),
        format!("/cars/{car}/export.zip"),
        format!("/cars/{car}/questions/1/question.html"),
        "/backup.zip".into(),
    ] {
        assert_eq!(house.get(&path).await.status, 200, "{path}");
    }
    let who = format!("guidecoat_who={}", house.painter.id);
    assert_eq!(house.get_as(&who, &format!("/cars/{car}/dossier.pdf")).await.status, 200);
    let visits = house.shop.visits(None, 20).await.unwrap();
    let told: Vec<_> = visits.iter().rev().map(|v| (v.what.as_str(), v.person, v.link.is_some())).collect();
    let (owner, nobody) = (Some(house.owner.id), None);
    assert_eq!(
        told,
        [
            ("the owner's page", owner, true),
            ("the owner's photographs", owner, true),
            ("the dossier", owner, true),
            ("the whole car as a ZIP", nobody, false),
            ("question 1 as a file", nobody, false),
            ("a copy of everything", nobody, false),
            ("the dossier", Some(house.painter.id), false),
        ]
    );
    assert!(visits.iter().all(|v| (v.car == Some(car)) == (v.what != "a copy of everything")));
    let sheet = house.get(&format!("/cars/{car}/links")).await;
    sheet.says(200, &["Who opened what", "Owner, through a link", "the whole car as a ZIP", "Painter"]);
    house.get("/people").await.says(200, &["Who opened what leaves the shop", "a copy of everything"]);
    let locked = House::locked().await;
    let bench = locked.session(&locked.bench, Role::Bench, jiff::SignedDuration::from_hours(1)).await;
    assert!(!locked.get_as(&bench, "/people").await.text().contains("Who opened what"));
}

#[tokio::test]
async fn a_link_works_where_the_program_is_reached_and_the_page_says_where_that_is() {
    let house = House::open().await;
    let (car, _) = house.asked_car("Outside").await;
    let inside = house.get(&format!("/cars/{car}/links")).await;
    inside.says(200, &["works only where this computer can be reached", "--public-url", "send the question as a file"]);

    // Behind an address for the outside, on a computer that listens for itself alone.
    let public_url = Some("https://shop.example".to_string());
    let shop = house.shop.clone();
    let setting = Setting { shop, zone: TimeZone::UTC, loopback: true, hosts: Vec::new(), public_url };
    let router = web::router(App::new(setting));
    let get = |host: &'static str, path: String, cookie: String| {
        let router = router.clone();
        async move {
            let request = Request::get(path).header(header::HOST, host).header(header::COOKIE, cookie);
            send(&router, request.body(Body::empty()).unwrap()).await
        }
    };
    let token = house.token(car).await;
    let none = String::new;
    get("shop.example", format!("/o/{token}"), none()).await.says(200, &["One question for you"]);
    get("elsewhere.example", format!("/o/{token}"), none()).await.says(421, &["which is not its name"]);
    // What comes in that way may look like this computer, so nobody is the lead without signing in.
    for host in ["shop.example", HOST] {
        assert_eq!(get(host, format!("/cars/{car}"), none()).await.status, 303, "{host}");
        assert_eq!(get(host, "/backup.zip".into(), none()).await.status, 303, "{host}");
    }
    let lead = house.session(&house.lead, Role::Lead, jiff::SignedDuration::from_hours(1)).await;
    let page = get(HOST, format!("/cars/{car}/links"), lead.clone()).await;
    page.says(200, &["Links begin with https://shop.example"]);
    let form = wanted(&house, house.owner.id, "60");
    let made = send(&router, form.request(&format!("/cars/{car}/links"), &[("cookie", &lead)])).await;
    assert!(shown(&made).starts_with("https://shop.example/o/"), "{}", shown(&made));

    // An answer sent from that address, though whatever stands between asks here under another name.
    let fields = house.owners_form(&token, 1).await;
    let answer = |origin: &'static str| {
        let form = crate::support::owner::as_form(&crate::support::owner::with(&fields, "choice", "A"));
        form.request(&format!("/o/{token}/answer"), &[("origin", origin)])
    };
    assert_eq!(send(&router, answer("https://elsewhere.example")).await.status, 403);
    assert_eq!(send(&router, answer("https://shop.example")).await.status, 303);
}

#[tokio::test]
async fn a_link_opens_no_other_door() {
    let house = House::locked().await;
    let lead = house.session(&house.lead, Role::Lead, jiff::SignedDuration::from_hours(1)).await;
    let made = house.post_as(&lead, "/cars/new", crate::support::form::car("Shut", &house.lead)).await;
    let car: CarId = made.header("location").trim_start_matches("/cars/").parse().unwrap();
    let token = house.token(car).await;
    let session = format!("guidecoat_session={token}");
    for path in ["/".to_string(), format!("/cars/{car}"), format!("/cars/{car}/dossier.pdf"), "/people".into()] {
        assert_eq!(house.get_as(&session, &path).await.status, 303, "{path}: the token is no session");
        assert_eq!(house.get(&format!("{path}?token={token}")).await.status, 303, "{path}");
    }
    // And a session is no token.
    let session = lead.strip_prefix("guidecoat_session=").unwrap();
    assert_eq!(house.get(&format!("/o/{session}")).await.status, 404);
}
