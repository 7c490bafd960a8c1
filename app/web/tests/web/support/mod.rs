//! A shop with its people, and a way to ask it for pages.

pub(crate) mod form;
pub(crate) mod html;
pub(crate) mod mixing;
pub(crate) mod owner;
pub(crate) mod paint;

use std::net::SocketAddr;
use std::sync::Arc;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::ConnectInfo;
use axum::http::{HeaderMap, Method, Request, StatusCode, header};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use job::catalogue::Catalogue;
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::person::{Person, Role};
use job::ports::Session;
use job::shop::Shop;
use store::Database;
use tempfile::TempDir;
use tower::ServiceExt;
use web::{App, Setting};

use form::Form;

/// The most bytes a test reads of one answer.
const MOST: usize = 64 * 1024 * 1024;
/// The passphrase of the lead of a locked shop.
pub(crate) const PASSPHRASE: &str = "four words on paper";
/// The name under which the shop is asked.
pub(crate) const HOST: &str = "127.0.0.1:8017";

/// One shop with a database of its own, and one person of every role.
pub(crate) struct House {
    pub(crate) shop: Arc<Shop>,
    pub(crate) router: Router,
    pub(crate) lead: Person,
    pub(crate) bench: Person,
    pub(crate) painter: Person,
    pub(crate) owner: Person,
    pub(crate) folder: TempDir,
}

/// What came back.
pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) bytes: Vec<u8>,
}

impl Answer {
    pub(crate) fn text(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }

    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|v| v.to_str().ok()).unwrap_or_default()
    }

    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.bytes).unwrap_or_else(|e| panic!("{e}: {}", self.text()))
    }

    /// Fails with the whole page when the status is another, or when the page lacks one of the `words`.
    #[track_caller]
    pub(crate) fn says(&self, status: u16, words: &[&str]) -> &Self {
        let text = html::words(&self.text());
        assert_eq!(self.status.as_u16(), status, "{text}");
        for word in words {
            assert!(text.contains(word), "\"{word}\" is missing in: {text}");
        }
        self
    }
}

fn person(name: &str, role: Role, passphrase: Option<&str>) -> Person {
    let passphrase = passphrase.map(|p| web::passphrase::hash(p).unwrap());
    Person { id: PersonId::fresh(), name: name.into(), role, passphrase, active: true }
}

impl House {
    /// A shop on one computer, without passphrases: whoever sits there is the lead.
    pub(crate) async fn open() -> Self {
        Self::with(None, true).await
    }

    /// A shop that asks every device for a passphrase.
    pub(crate) async fn locked() -> Self {
        Self::with(Some(PASSPHRASE), true).await
    }

    pub(crate) async fn with(passphrase: Option<&str>, loopback: bool) -> Self {
        let folder = TempDir::new().unwrap();
        let url = format!("sqlite:{}", folder.path().join("t.sqlite").display());
        let store = Arc::new(Database::open(&url).await.unwrap());
        let shop = Arc::new(Shop::new(store, Catalogue::starting_guesses().unwrap()));
        let lead = person("Lead", Role::Lead, passphrase);
        let bench = person("Bench A", Role::Bench, passphrase);
        let painter = person("Painter", Role::Painter, None);
        let owner = person("Owner", Role::Owner, passphrase);
        for person in [&lead, &bench, &painter, &owner] {
            shop.put_person(person).await.unwrap();
        }
        let router = router(shop.clone(), loopback);
        Self { shop, router, lead, bench, painter, owner, folder }
    }

    /// The same database under a program that has just been started.
    pub(crate) async fn restarted(&self) -> Router {
        let url = format!("sqlite:{}", self.folder.path().join("t.sqlite").display());
        let store = Arc::new(Database::open(&url).await.unwrap());
        router(Arc::new(Shop::new(store, Catalogue::starting_guesses().unwrap())), true)
    }

    /// Signs a device in behind the sign-in page; gives the cookie.
    pub(crate) async fn session(&self, person: &Person, role: Role, lasts: SignedDuration) -> String {
        let token = format!("{}{}", EntryId::fresh(), EntryId::fresh());
        let now = Timestamp::now();
        let session = Session { token: Hash::of(token.as_bytes()), person: person.id, role, expires: now + lasts };
        self.shop.store().put_session(&session, now - SignedDuration::from_hours(48)).await.unwrap();
        format!("guidecoat_session={token}")
    }

    pub(crate) async fn get(&self, path: &str) -> Answer {
        self.ask(Request::get(path)).await
    }

    pub(crate) async fn get_as(&self, cookie: &str, path: &str) -> Answer {
        self.ask(Request::get(path).header(header::COOKIE, cookie)).await
    }

    pub(crate) async fn post(&self, path: &str, form: Form) -> Answer {
        send(&self.router, form.request(path, &[])).await
    }

    pub(crate) async fn post_as(&self, cookie: &str, path: &str, form: Form) -> Answer {
        send(&self.router, form.request(path, &[("cookie", cookie)])).await
    }

    /// As the islands send it.
    pub(crate) async fn post_json(&self, path: &str, form: Form) -> Answer {
        send(&self.router, form.request(path, &[("accept", "application/json")])).await
    }

    /// A form without files, as a browser sends it when nothing else is said.
    pub(crate) async fn post_plain(&self, path: &str, cookie: &str, body: &str) -> Answer {
        let request = Request::post(path)
            .header(header::HOST, HOST)
            .header(header::COOKIE, cookie)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(body.to_string()));
        send(&self.router, request.unwrap()).await
    }

    pub(crate) async fn ask(&self, request: axum::http::request::Builder) -> Answer {
        let request = request.header(header::HOST, HOST).body(Body::empty()).unwrap();
        send(&self.router, request).await
    }

    pub(crate) async fn ask_any(&self, method: Method, path: &str, cookie: &str) -> Answer {
        self.ask(Request::builder().method(method).uri(path).header(header::COOKIE, cookie)).await
    }

    /// A car without any entry but its opening, made through the form.
    pub(crate) async fn car(&self, title: &str) -> CarId {
        let answer = self.post("/cars/new", form::car(title, &self.lead)).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", html::words(&answer.text()));
        answer.header("location").trim_start_matches("/cars/").parse().unwrap()
    }

    /// A car with one entry of every kind, made through the forms.
    pub(crate) async fn full_car(&self, title: &str) -> CarId {
        let car = self.car(title).await;
        for form in form::one_of_each(&self.bench) {
            let answer = self.keep(car, form).await;
            assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", html::words(&answer.text()));
        }
        let measured = Form::new().text("entry", EntryId::fresh()).text("who", self.painter.id).file(
            "file",
            "m.csv",
            form::spectra(&["first", "second"]).into_bytes(),
        );
        let answer = self.post(&format!("/cars/{car}/colour"), measured).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", html::words(&answer.text()));
        car
    }

    pub(crate) async fn keep(&self, car: CarId, form: Form) -> Answer {
        self.post(&format!("/cars/{car}/entries"), form).await
    }

    /// How many entries a car's record holds.
    pub(crate) async fn count(&self, car: CarId) -> u64 {
        self.shop.car(car).await.unwrap().count
    }
}

pub(crate) fn router(shop: Arc<Shop>, loopback: bool) -> Router {
    web::router(App::new(Setting { shop, zone: TimeZone::UTC, loopback, hosts: Vec::new(), public_url: None }))
}

/// Asks a router as a browser on this computer would.
pub(crate) async fn send(router: &Router, mut request: Request<Body>) -> Answer {
    request.extensions_mut().insert(ConnectInfo(SocketAddr::from(([127, 0, 0, 1], 40_000))));
    let response = router.clone().oneshot(request).await.unwrap();
    let (parts, body) = response.into_parts();
    let bytes = to_bytes(body, MOST).await.unwrap().to_vec();
    Answer { status: parts.status, headers: parts.headers, bytes }
}
