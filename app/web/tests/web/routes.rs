//! Every address of the program: who may go there, and what is true of every answer.

use std::collections::BTreeSet;

use axum::http::Method;
use jiff::SignedDuration;
use job::person::Role;

use crate::support::form::Form;
use crate::support::{Answer, House, html};

/// A row: method, address as the router has it, then the status for an open shop, a device that is not signed in,
/// bench, painter, lead, and a session that could only be an owner's. Forms are sent empty: 422 means "let in".
type Row = (&'static str, &'static str, [u16; 6]);

const ALL: [u16; 6] = [200, 303, 200, 200, 200, 403];
const MANAGE: [u16; 6] = [200, 303, 403, 403, 200, 403];
const WRITE_POST: [u16; 6] = [422, 401, 422, 422, 422, 403];
const MANAGE_POST: [u16; 6] = [422, 401, 403, 403, 422, 403];
const PUBLIC: [u16; 6] = [200; 6];

const TABLE: [Row; 31] = [
    ("GET", "/", ALL),
    ("GET", "/cars/new", MANAGE),
    ("POST", "/cars/new", MANAGE_POST),
    ("POST", "/cars/import", MANAGE_POST),
    ("GET", "/cars/{car}/", ALL),
    ("GET", "/cars/{car}/zones/{zone}", ALL),
    ("GET", "/cars/{car}/add", ALL),
    ("POST", "/cars/{car}/entries", WRITE_POST),
    ("GET", "/cars/{car}/entries/{seq}", ALL),
    ("GET", "/cars/{car}/entries/{seq}/mark", ALL),
    // An empty form names no view to set the mark on.
    ("POST", "/cars/{car}/entries/{seq}/mark", [404, 401, 404, 404, 404, 403]),
    ("GET", "/cars/{car}/map/{view}", ALL),
    ("GET", "/cars/{car}/pictures/{hash}", ALL),
    ("GET", "/cars/{car}/colour", ALL),
    ("POST", "/cars/{car}/colour", WRITE_POST),
    ("GET", "/cars/{car}/colour/{file}", ALL),
    ("GET", "/cars/{car}/coats", ALL),
    ("GET", "/cars/{car}/record", ALL),
    ("GET", "/cars/{car}/details", MANAGE),
    ("POST", "/cars/{car}/details", MANAGE_POST),
    ("GET", "/cars/{car}/verify", ALL),
    ("GET", "/cars/{car}/export.zip", MANAGE),
    ("GET", "/cars/{car}/dossier.pdf", ALL),
    ("GET", "/people", ALL),
    ("POST", "/people", MANAGE_POST),
    ("GET", "/backup.zip", MANAGE),
    ("GET", "/sign-in", PUBLIC),
    ("POST", "/sign-in", [422; 6]),
    ("POST", "/sign-out", [303; 6]),
    ("GET", "/ui/{*path}", PUBLIC),
    // 404 where the build had no Node: what matters here is that nobody is turned away.
    ("GET", "/sw.js", [0; 6]),
];

/// Method and address of every route in the text of the router.
fn routes() -> BTreeSet<(&'static str, String)> {
    let text: String = include_str!("../../src/lib.rs").split_whitespace().collect();
    let (before, after) = text.split_once("letcar=Router::new()").expect("the router of one car");
    assert!(!before.contains(".route("), "a route before the ones of a car");
    let (car, rest) = after.split_once(';').expect("its end");
    assert!(rest.contains(".nest(\"/cars/{car}\",car)"));
    let mut found = BTreeSet::new();
    for (prefix, text) in [("/cars/{car}", car), ("", rest)] {
        for route in text.split(".route(\"").skip(1) {
            let (path, handlers) = route.split_once("\",").expect("an address and its handlers");
            for (method, word) in [("GET", "get("), ("POST", "post(")] {
                if handlers.starts_with(word) || handlers.contains(&format!(").{word}")) {
                    found.insert((method, format!("{prefix}{path}")));
                }
            }
            assert!(!["put(", "delete(", "patch(", "any("].iter().any(|m| handlers.contains(m)), "{path}");
        }
    }
    found
}

#[test]
fn the_table_holds_every_route() {
    let told: BTreeSet<_> = TABLE.iter().map(|(method, path, _)| (*method, path.to_string())).collect();
    assert_eq!(routes(), told);
}

async fn walk(house: &House, who: usize, name: &str, cookie: &str, fill: &dyn Fn(&str) -> String) -> Vec<String> {
    let mut wrong = Vec::new();
    for (method, path, statuses) in TABLE {
        let address = fill(path);
        let answer = match method {
            "POST" if ["/people", "/sign-in"].contains(&path) => {
                house.post_plain(&address, cookie, "name=&role=bench").await
            }
            "POST" => house.post_as(cookie, &address, Form::new()).await,
            _ => house.get_as(cookie, &address).await,
        };
        let (status, wanted) = (answer.status.as_u16(), statuses[who]);
        if status != wanted && !(wanted == 0 && [200, 404].contains(&status)) {
            wrong.push(format!("{name}: {method} {path} gave {status} instead of {wanted}: {}", short(&answer)));
        }
        wrong.extend(common_faults(&answer).into_iter().map(|fault| format!("{name}: {method} {path}: {fault}")));
    }
    wrong
}

fn short(answer: &Answer) -> String {
    html::words(&answer.text()).chars().take(200).collect()
}

/// What has to be true of every answer, whatever it says.
fn common_faults(answer: &Answer) -> Vec<String> {
    let policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; font-src 'self'; \
        connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";
    let mut faults = Vec::new();
    for (name, value) in
        [("content-security-policy", policy), ("x-content-type-options", "nosniff"), ("referrer-policy", "same-origin")]
    {
        if answer.header(name) != value {
            faults.push(format!("{name} is \"{}\"", answer.header(name)));
        }
    }
    if answer.header("cache-control").is_empty() {
        faults.push("no word on keeping a copy".into());
    }
    for cookie in answer.headers.get_all("set-cookie").iter().filter_map(|v| v.to_str().ok()) {
        if !(cookie.contains("HttpOnly") && cookie.contains("SameSite=") && cookie.contains("Path=/")) {
            faults.push(format!("a cookie with too few fences: {cookie}"));
        }
    }
    let kind = answer.header("content-type");
    if kind.starts_with("text/html") {
        if answer.header("cache-control") != "private, no-cache" {
            faults.push("a page that may be kept".into());
        }
        faults.extend(html::faults(&answer.text()));
    } else if answer.status.is_client_error() && !kind.starts_with("application/json") {
        faults.push(format!("a refusal that is no page: {}", answer.text()));
    }
    faults
}

async fn addresses(house: &House) -> impl Fn(&str) -> String + use<> {
    let car = house.full_car("One of everything").await;
    let folded = house.shop.car(car).await.unwrap();
    let (photo, picture) = folded.photographs().map(|(entry, photo)| (entry.seq, photo.picture)).next().unwrap();
    let measured = folded.measurements().map(|(entry, _)| entry.seq).next().unwrap();
    move |path: &str| {
        path.replace("{car}/", &format!("{car}/"))
            .replace("{zone}", "Z01.L")
            .replace("{seq}", &photo.to_string())
            .replace("{view}", "left.svg")
            .replace("{hash}", &picture.to_string())
            .replace("{file}", &format!("{measured}.csv"))
            .replace("{*path}", "guidecoat.css")
            .trim_end_matches('/')
            .to_string()
    }
}

#[tokio::test]
async fn an_open_shop_lets_whoever_sits_there_do_everything() {
    let house = House::open().await;
    let fill = addresses(&house).await;
    let wrong = walk(&house, 0, "open", "", &|p| if p == "/" { "/".into() } else { fill(p) }).await;
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[tokio::test]
async fn a_locked_shop_lets_everybody_do_what_their_role_may_and_no_more() {
    let house = House::open().await;
    let fill = addresses(&house).await;
    let mut lead = house.lead.clone();
    lead.passphrase = Some(web::passphrase::hash("four words on paper").unwrap());
    house.shop.put_person(&lead).await.unwrap();
    let fill = |p: &str| if p == "/" { "/".into() } else { fill(p) };
    let mut wrong = walk(&house, 1, "not signed in", "", &fill).await;
    let signed = [
        (2, "bench", &house.bench, Role::Bench),
        (3, "painter", &house.painter, Role::Painter),
        (4, "lead", &house.lead, Role::Lead),
        (5, "owner", &house.owner, Role::Owner),
    ];
    for (column, name, person, role) in signed {
        // Each address of the table may end the session, so every walk has one of its own, and sign-out comes late.
        let cookie = house.session(person, role, SignedDuration::from_hours(1)).await;
        wrong.extend(walk(&house, column, name, &cookie, &fill).await);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[tokio::test]
async fn what_is_not_there_leads_onward_in_words() {
    let house = House::open().await;
    let car = house.car("Empty").await;
    let nobody = job::ids::CarId::fresh();
    let hash = "0".repeat(64);
    let mut wrong = Vec::new();
    for path in [
        "/nothing".to_string(),
        "/cars/not-an-id".into(),
        "/cars/1".into(),
        format!("/cars/{nobody}"),
        format!("/cars/{nobody}/record"),
        format!("/cars/{nobody}/verify"),
        format!("/cars/{nobody}/dossier.pdf"),
        format!("/cars/{nobody}/export.zip"),
        format!("/cars/{car}?view=underneath"),
        format!("/cars/{car}/zones/Z99.L"),
        format!("/cars/{car}/zones/%3Cscript%3E"),
        format!("/cars/{car}/entries/0"),
        format!("/cars/{car}/entries/2"),
        format!("/cars/{car}/entries/{}", u64::MAX),
        format!("/cars/{car}/entries/x"),
        format!("/cars/{car}/entries/-1"),
        format!("/cars/{car}/entries/1/mark"),
        format!("/cars/{car}/add?corrects=9"),
        format!("/cars/{car}/map/left"),
        format!("/cars/{car}/map/sideways.svg"),
        format!("/cars/{car}/pictures/{hash}"),
        format!("/cars/{car}/pictures/short"),
        format!("/cars/{car}/colour?m=2"),
        format!("/cars/{car}/colour/1.csv"),
        format!("/cars/{car}/colour/x.csv"),
        format!("/cars/{car}/nothing"),
        "/ui/no-such.css".into(),
    ] {
        let answer = house.get(&path).await;
        if answer.status != 404 || !answer.text().contains("href=\"/\"") {
            wrong.push(format!("{path} gave {}: {}", answer.status, short(&answer)));
        }
        wrong.extend(common_faults(&answer).into_iter().map(|fault| format!("{path}: {fault}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[tokio::test]
async fn a_wrong_method_or_a_crooked_address_is_refused_as_a_page() {
    let house = House::open().await;
    let car = house.car("Empty").await;
    let mut wrong = Vec::new();
    for (method, path, status) in [
        (Method::DELETE, "/".to_string(), 405),
        (Method::PUT, format!("/cars/{car}"), 405),
        (Method::POST, "/backup.zip".into(), 405),
        (Method::GET, "/cars/import".into(), 405),
        (Method::GET, format!("/cars/{car}/record?before=yesterday"), 404),
        (Method::GET, format!("/cars/{car}/record?kept=-1"), 404),
        (Method::GET, format!("/cars/{car}/colour?m=x"), 404),
        (Method::GET, format!("/cars/{car}/add?corrects=x"), 404),
        (Method::POST, format!("/cars/{car}/entries"), 400),
        (Method::POST, "/sign-in".into(), 415),
    ] {
        let answer = house.ask_any(method.clone(), &path, "").await;
        if answer.status.as_u16() != status || !answer.text().contains("href=\"/\"") {
            wrong.push(format!("{method} {path} gave {}: {}", answer.status, short(&answer)));
        }
        wrong.extend(common_faults(&answer).into_iter().map(|fault| format!("{method} {path}: {fault}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
