//! `docs/security.md` names tests; each of them is there. And two that stand nowhere else.

use std::path::Path;

use jiff::tz::TimeZone;
use web::{App, Setting};

use crate::support::form;
use crate::support::{HOST, House, PASSPHRASE, send};

/// Every Rust file of the application, as one text.
fn sources(folder: &Path, text: &mut String) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, text);
        } else if path.extension().is_some_and(|e| e == "rs") {
            text.push_str(&std::fs::read_to_string(&path).unwrap());
        }
    }
}

#[test]
fn every_test_that_the_security_page_names_is_there() {
    let mut text = String::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join(".."), &mut text);
    let page = include_str!("../../../../docs/security.md");
    let names: Vec<&str> = page.split('`').skip(1).step_by(2).filter(|n| n.matches('_').count() >= 3).collect();
    assert!(names.len() > 40, "{names:?}");
    let missing: Vec<_> = names.iter().filter(|name| !text.contains(&format!("fn {name}("))).collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[tokio::test]
async fn nothing_typed_is_read_as_sql() {
    let house = House::open().await;
    let hostile = "'); DROP TABLE events; --";
    let car = house.car(hostile).await;
    let look = form::entry("looked", &house.bench).text("place", hostile).text("note", format!("{hostile}\" OR 1=1"));
    assert_eq!(house.keep(car, look).await.status, 303);
    for path in [format!("/cars/{car}/record?kind=%27%20OR%201=1--&who=%27"), format!("/o/{}", "%27".repeat(21))] {
        assert!(!house.get(&path).await.status.is_server_error(), "{path}");
    }
    assert_eq!(house.count(car).await, 2);
    house.get("/").await.says(200, &[hostile]);
}

#[tokio::test]
async fn a_session_behind_an_encrypted_address_never_goes_out_in_the_clear() {
    let house = House::locked().await;
    for (url, host, secure) in [
        (Some("https://shop.example"), "shop.example", true),
        (Some("https://shop.example"), HOST, false),
        (Some("http://shop.example"), "shop.example", false),
        (None, HOST, false),
    ] {
        let public_url = url.map(String::from);
        let shop = house.shop.clone();
        let setting = Setting { shop, zone: TimeZone::UTC, loopback: true, hosts: Vec::new(), public_url };
        let body = format!("person={}&role=lead&passphrase={}", house.lead.id, PASSPHRASE.replace(' ', "+"));
        let request = axum::http::Request::post("/sign-in")
            .header("host", host)
            .header("content-type", "application/x-www-form-urlencoded")
            .body(axum::body::Body::from(body));
        let answer = send(&web::router(App::new(setting)), request.unwrap()).await;
        assert_eq!(answer.status, 303);
        assert_eq!(answer.header("set-cookie").ends_with("; Secure"), secure, "{url:?} {host}");
    }
}
