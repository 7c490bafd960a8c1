//! Every address of the program: who may go there, and what is true of every answer.

use std::collections::BTreeSet;

use axum::http::Method;
use jiff::SignedDuration;
use job::ids::EntryId;
use job::person::Role;
use job::what::What;

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

const TABLE: [Row; 81] = [
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
    ("GET", "/cars/{car}/colour/brief", ALL),
    ("POST", "/cars/{car}/colour/brief", WRITE_POST),
    ("POST", "/cars/{car}/colour/brief/near", WRITE_POST),
    ("GET", "/cars/{car}/colour/brief/{seq}", ALL),
    ("GET", "/cars/{car}/colour/panel", ALL),
    // Without a paint to draw there is nothing to answer but words.
    ("GET", "/cars/{car}/colour/panel.png", [422, 303, 422, 422, 422, 403]),
    ("GET", "/cars/{car}/colour/panel/mesh.bin", ALL),
    ("GET", "/cars/{car}/colour/panel/sphere.bin", [422, 303, 422, 422, 422, 403]),
    ("POST", "/cars/{car}/colour/picture", WRITE_POST),
    ("GET", "/cars/{car}/colour/picture/{hash}", ALL),
    ("POST", "/cars/{car}/colour/picture/{hash}", WRITE_POST),
    ("GET", "/cars/{car}/colour/picture/{hash}/picture.jpg", ALL),
    ("GET", "/cars/{car}/colour/ask", MANAGE),
    ("POST", "/cars/{car}/colour/ask", MANAGE_POST),
    ("GET", "/cars/{car}/colour/decided", ALL),
    ("POST", "/cars/{car}/colour/decided", WRITE_POST),
    ("GET", "/cars/{car}/colour/toners", ALL),
    ("POST", "/cars/{car}/colour/toners", WRITE_POST),
    ("GET", "/cars/{car}/colour/toners/{seq}/toners.json", ALL),
    ("GET", "/cars/{car}/colour/recipes", ALL),
    ("POST", "/cars/{car}/colour/recipes", WRITE_POST),
    ("GET", "/cars/{car}/colour/recipes/{seq}", ALL),
    ("GET", "/cars/{car}/colour/recipes/{seq}/recipe.json", ALL),
    // Work that is gone: whoever may look at it is told so.
    ("GET", "/cars/{car}/colour/work/{id}", [404, 303, 404, 404, 404, 403]),
    ("POST", "/cars/{car}/colour/work/{id}/stop", [404, 401, 404, 404, 404, 403]),
    ("POST", "/cars/{car}/colour/work/{id}/keep", [404, 401, 404, 404, 404, 403]),
    ("GET", "/cars/{car}/colour/pour", ALL),
    ("POST", "/cars/{car}/colour/pour", WRITE_POST),
    ("GET", "/cars/{car}/colour/cards", ALL),
    ("POST", "/cars/{car}/colour/cards", WRITE_POST),
    ("POST", "/cars/{car}/colour/cards/recipe", WRITE_POST),
    ("GET", "/cars/{car}/colour/batches", ALL),
    ("POST", "/cars/{car}/colour/batches", WRITE_POST),
    ("GET", "/cars/{car}/coats", ALL),
    ("GET", "/cars/{car}/record", ALL),
    ("GET", "/cars/{car}/details", MANAGE),
    ("POST", "/cars/{car}/details", MANAGE_POST),
    ("GET", "/cars/{car}/verify", ALL),
    ("GET", "/cars/{car}/export.zip", MANAGE),
    ("GET", "/cars/{car}/dossier.pdf", ALL),
    ("GET", "/cars/{car}/next", ALL),
    ("GET", "/cars/{car}/range", ALL),
    ("GET", "/cars/{car}/questions", ALL),
    ("POST", "/cars/{car}/questions", MANAGE_POST),
    // Without a zone there is nothing to ask about: back to the sheet.
    ("GET", "/cars/{car}/questions/new", [303, 303, 403, 403, 303, 403]),
    ("GET", "/cars/{car}/questions/{number}", ALL),
    ("POST", "/cars/{car}/questions/{number}/answer", MANAGE_POST),
    ("POST", "/cars/{car}/questions/{number}/withdraw", MANAGE_POST),
    ("GET", "/cars/{car}/questions/{number}/question.html", MANAGE),
    ("POST", "/cars/{car}/reports", MANAGE_POST),
    ("GET", "/cars/{car}/reports/new", MANAGE),
    ("GET", "/cars/{car}/reports/{seq}", ALL),
    ("GET", "/cars/{car}/reports/{seq}/report.pdf", ALL),
    ("GET", "/cars/{car}/links", MANAGE),
    ("POST", "/cars/{car}/links", MANAGE_POST),
    ("POST", "/cars/{car}/links/revoke", MANAGE_POST),
    ("GET", "/learned", ALL),
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

/// A row below an owner's link: method, address, then the status for the link of this car, of another car, one that
/// ended, one that was taken back, and one that nobody made. The answers and pictures are those of this car.
type OwnersRow = (&'static str, &'static str, [u16; 5]);

/// Another car's link opens that car's page, and of this one nothing.
const OWN_PAGE: [u16; 5] = [200, 200, 410, 410, 404];
const THIS_CARS: [u16; 5] = [200, 404, 410, 410, 404];
const NO_COLOUR: [u16; 5] = [404, 404, 410, 410, 404];
const OWNER_POST: [u16; 5] = [422, 422, 410, 410, 404];

const OWNERS: [OwnersRow; 12] = [
    ("GET", "/o/{token}/", OWN_PAGE),
    ("POST", "/o/{token}/answer", OWNER_POST),
    ("POST", "/o/{token}/write", OWNER_POST),
    ("GET", "/o/{token}/photographs", OWN_PAGE),
    ("GET", "/o/{token}/pictures/{hash}", THIS_CARS),
    // This car asks about no colour, and gives none out: see the tests of the question about the colour.
    ("GET", "/o/{token}/colour", NO_COLOUR),
    ("GET", "/o/{token}/colour/panel.png", NO_COLOUR),
    ("GET", "/o/{token}/colour/sphere.bin", NO_COLOUR),
    ("GET", "/o/{token}/colour/mesh.bin", OWN_PAGE),
    ("GET", "/o/{token}/dossier.pdf", OWN_PAGE),
    ("GET", "/o/{token}/reports/{seq}", THIS_CARS),
    ("GET", "/o/{token}/reports/{seq}/report.pdf", THIS_CARS),
];

/// Method and address of every route in the text of the router.
fn routes() -> BTreeSet<(&'static str, String)> {
    let text: String = include_str!("../../src/lib.rs").split_whitespace().collect();
    let (before, after) = text.split_once("letcar=Router::new()").expect("the router of one car");
    assert!(!before.contains(".route("), "a route before the ones of a car");
    let (car, rest) = after.split_once(';').expect("its end");
    let (between, owner) = rest.split_once("letowner=Router::new()").expect("the router of an owner's page");
    assert!(!between.contains(".route("), "a route between the ones of a car and the owner's");
    let (owner, rest) = owner.split_once(';').expect("its end");
    assert!(rest.contains(".nest(\"/cars/{car}\",car)") && rest.contains(".nest(\"/o/{token}\",owner)"));
    assert_eq!(rest.matches(".nest(").count(), 2);
    let mut found = BTreeSet::new();
    for (prefix, text) in [("/cars/{car}", car), ("/o/{token}", owner), ("", rest)] {
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
    let shop = TABLE.iter().map(|(method, path, _)| (*method, path.to_string()));
    let told: BTreeSet<_> = shop.chain(OWNERS.iter().map(|(method, path, _)| (*method, path.to_string()))).collect();
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
    let attached = answer.header("content-disposition").starts_with("attachment");
    if kind.starts_with("text/html") {
        if !["private, no-cache", "no-store"].contains(&answer.header("cache-control")) {
            faults.push("a page that may be kept".into());
        }
        // The question as a file carries its style: it has to look right where nothing can be loaded.
        let own = |fault: &String| attached && fault == "inline <style>";
        faults.extend(html::faults(&answer.text()).into_iter().filter(|fault| !own(fault)));
    } else if answer.status.is_client_error() && !kind.starts_with("application/json") {
        faults.push(format!("a refusal that is no page: {}", answer.text()));
    }
    faults
}

async fn addresses(house: &House) -> impl Fn(&str) -> String + use<> {
    let car = house.full_car("One of everything").await;
    house.ask_and_report(car).await;
    let (toners, recipe, work) = (house.keep_toners(car).await, house.recipe(car).await, EntryId::fresh());
    let brief = house.brief(car).await;
    let folded = house.shop.car(car).await.unwrap();
    let report = folded.entries().iter().find(|e| matches!(e.what, What::Reported(_))).map(|e| e.seq).unwrap();
    let (photo, picture) = folded.photographs().map(|(entry, photo)| (entry.seq, photo.picture)).next().unwrap();
    let measured = folded.measurements().map(|(entry, _)| entry.seq).next().unwrap();
    move |path: &str| {
        path.replace("{car}/", &format!("{car}/"))
            .replace("{zone}", "Z01.L")
            .replace("{number}", "1")
            .replace("reports/{seq}", &format!("reports/{report}"))
            .replace("toners/{seq}", &format!("toners/{toners}"))
            .replace("recipes/{seq}", &format!("recipes/{recipe}"))
            .replace("brief/{seq}", &format!("brief/{brief}"))
            .replace("{id}", &work.to_string())
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
async fn an_owners_link_reaches_one_cars_page_and_nothing_else() {
    let house = House::locked().await;
    let ours = [house.car_as_lead("This one").await, house.car_as_lead("Another").await];
    for car in ours {
        // Pictures of the two differ: a file is known by its bytes.
        house.photograph_as_lead(car, if car == ours[0] { 320 } else { 322 }).await;
        house.ask_and_report(car).await;
    }
    let record = house.shop.car(ours[0]).await.unwrap();
    let picture = record.photographs().map(|(_, photo)| photo.picture).next().unwrap();
    // One report more, so that its place in the other record is no report.
    house.ask_and_report(ours[0]).await;
    let record = house.shop.car(ours[0]).await.unwrap();
    let report = record.entries().iter().rfind(|e| matches!(e.what, What::Reported(_))).map(|e| e.seq).unwrap();
    let tokens = [
        ("the link", house.token(ours[0]).await),
        ("another car's link", house.token(ours[1]).await),
        ("a link that ended", house.ended_token(ours[0]).await),
        ("a link that was taken back", house.revoked_token(ours[0]).await),
    ];
    let bench = house.session(&house.bench, Role::Bench, SignedDuration::from_hours(1)).await;
    let mut wrong = Vec::new();
    for (method, path, statuses) in OWNERS {
        let made_up = ("a link that nobody made", web::token::fresh());
        for ((name, token), wanted) in tokens.iter().chain([&made_up]).zip(statuses) {
            // So many made-up links would be slowed; that is tested elsewhere.
            let house_of = if *name == made_up.0 { &house.again() } else { &house.router };
            let address = path
                .replace("{token}", token)
                .replace("{hash}", &picture.to_string())
                .replace("{seq}", &report.to_string())
                .trim_end_matches('/')
                .to_string();
            // A session beside it changes nothing.
            let answer = house.ask_at(house_of, method, &address, &bench).await;
            if answer.status != wanted {
                let said = short(&answer);
                wrong.push(format!("{name}: {method} {path} gave {} instead of {wanted}: {said}", answer.status));
            }
            if name.starts_with("another") && answer.text().contains("This one") {
                wrong.push(format!("{name}: {method} {path} names the car"));
            }
            wrong.extend(owners_faults(&answer).into_iter().map(|f| format!("{name}: {method} {path}: {f}")));
        }
    }
    let made_up_work = EntryId::fresh().to_string();
    // With nothing but a link in hand, every address of the shop is as closed as without it.
    for (method, path, statuses) in TABLE {
        let (wanted, car) = (statuses[1], ours[0]);
        if PUBLIC[1] == wanted || wanted == 0 || path.starts_with("/sign-") {
            continue;
        }
        let address = path
            .replace("{car}/", &format!("{car}/"))
            .replace("{zone}", "Z01.L")
            .replace("{number}", "1")
            .replace("{seq}", "1")
            .replace("{id}", &made_up_work)
            .replace("{view}", "left.svg")
            .replace("{hash}", &picture.to_string())
            .replace("{file}", "1.csv");
        let address = if path == "/" { path.to_string() } else { address.trim_end_matches('/').to_string() };
        let cookie = format!("guidecoat_session={}", tokens[0].1);
        let answer = match method {
            "POST" => house.post_as(&cookie, &address, Form::new()).await,
            _ => house.get_as(&cookie, &address).await,
        };
        if answer.status != wanted {
            wrong.push(format!("a link as a session: {method} {path} gave {}: {}", answer.status, short(&answer)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What has to be true of every answer below an owner's link.
fn owners_faults(answer: &Answer) -> Vec<String> {
    let policy = "default-src 'none'; style-src 'self'; img-src 'self'; font-src 'self'; form-action 'self'; \
        base-uri 'none'; frame-ancestors 'none'";
    let mut faults = Vec::new();
    for (name, value) in [
        ("content-security-policy", policy),
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "same-origin"),
        ("cache-control", "no-store"),
        ("x-robots-tag", "noindex, nofollow"),
        ("set-cookie", ""),
    ] {
        if answer.header(name) != value {
            faults.push(format!("{name} is \"{}\"", answer.header(name)));
        }
    }
    if answer.header("content-type").starts_with("text/html") {
        faults.extend(html::faults(&answer.text()));
    } else if answer.status.is_client_error() {
        faults.push(format!("a refusal that is no page: {}", answer.text()));
    }
    faults
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
        format!("/cars/{car}/next?what=nothing"),
        format!("/cars/{car}/next?what=W01"),
        format!("/cars/{car}/next?what=tap_and_probe.Z99.L"),
        format!("/cars/{car}/next?what=%3Cscript%3E"),
        format!("/cars/{car}/next?what="),
        format!("/cars/{car}/nothing"),
        "/learned?cars=all".into(),
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
