//! The pages: routes, handlers, markup and the embedded user interface.
//!
//! A handler does four things: it reads what was sent, asks whether that is allowed, calls one use case of
//! [`job::shop::Shop`], and draws. Every page works without scripts; the islands only make it easier.
//!
//! Not here: SQL, formulas, the PDF.

mod access;
mod add;
mod assets;
mod attempts;
mod audit;
mod cars;
mod coats;
mod colour;
mod dimension;
mod drawing;
mod entries;
mod entry_form;
mod fault;
mod field;
mod layout;
mod learned;
mod link;
mod links;
mod next;
mod owner;
pub mod passphrase;
mod people;
mod pictures;
pub mod print;
mod question_file;
mod questions;
mod range;
mod record;
mod reports;
mod shell;
mod sign_in;
mod state;
pub mod token;
mod typed;
mod zone;

use std::future::Future;
use std::net::SocketAddr;
use std::time::Duration;

use axum::body::Body;
use axum::extract::DefaultBodyLimit;
use axum::http::{HeaderName, HeaderValue, Request, StatusCode, header};
use axum::routing::{get, post};
use axum::{Router, middleware};
use tokio::net::TcpListener;
use tower::ServiceBuilder;
use tower_http::compression::CompressionLayer;
use tower_http::compression::predicate::{DefaultPredicate, NotForContentType, Predicate};
use tower_http::set_header::SetResponseHeaderLayer;
use tower_http::timeout::TimeoutLayer;
use tower_http::trace::TraceLayer;

pub use state::{App, Setting};

/// The most bytes one form may have, its photograph included.
const FORM_BYTES: usize = 42 * 1024 * 1024;
/// The most bytes a ZIP of a car may have when it is sent to a page; larger ones go in at the command line.
const ZIP_BYTES: usize = 512 * 1024 * 1024;
/// The most bytes a form of the owner's page may have.
const OWNER_BYTES: usize = 64 * 1024;
/// How long one answer may take.
const ANSWER: Duration = Duration::from_secs(120);

/// What a page may load: its own stylesheet, scripts, fonts and pictures, and nothing inline.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; font-src 'self'; \
    connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Every address of the program. The one table of who may go where is the handlers' own `access.may(..)`.
pub fn router(app: App) -> Router {
    let car = Router::new()
        .route("/", get(shell::page))
        .route("/zones/{zone}", get(zone::page))
        .route("/add", get(add::page))
        .route("/entries", post(entries::keep))
        .route("/entries/{seq}", get(entries::page))
        .route("/entries/{seq}/mark", get(entries::mark_page).post(entries::move_mark))
        .route("/map/{view}", get(entries::map_svg))
        .route("/pictures/{hash}", get(pictures::picture))
        .route("/colour", get(colour::page).post(colour::import))
        .route("/colour/{file}", get(colour::csv))
        .route("/colour/brief", get(colour::brief::page).post(colour::brief::keep))
        .route("/colour/brief/near", post(colour::brief::near))
        .route("/colour/brief/{seq}", get(colour::brief::one))
        .route("/colour/panel", get(colour::panel::page))
        .route("/colour/panel.png", get(colour::panel::drawn::png))
        .route("/colour/panel/mesh.bin", get(colour::panel::drawn::mesh))
        .route("/colour/panel/sphere.bin", get(colour::panel::drawn::sphere))
        .route("/colour/picture", post(colour::picture::take))
        .route("/colour/picture/{hash}", get(colour::picture::page).post(colour::picture::keep))
        .route("/colour/picture/{hash}/picture.jpg", get(colour::picture::jpeg))
        .route("/colour/ask", get(colour::ask::page).post(colour::ask::keep))
        .route("/colour/decided", get(colour::decided::page).post(colour::decided::keep))
        .route("/colour/toners", get(colour::toners::page).post(colour::toners::learn))
        .route("/colour/toners/{seq}/toners.json", get(colour::toners::file))
        .route("/colour/recipes", get(colour::recipes::page).post(colour::recipes::search))
        .route("/colour/recipes/{seq}", get(colour::recipe_page::page))
        .route("/colour/recipes/{seq}/recipe.json", get(colour::recipe_page::file))
        .route("/colour/work/{id}", get(colour::work::page))
        .route("/colour/work/{id}/stop", post(colour::work::stop))
        .route("/colour/work/{id}/keep", post(colour::work::keep))
        .route("/colour/pour", get(colour::pour::page).post(colour::pour::keep))
        .route("/colour/cards", get(colour::cards::page).post(colour::cards::import))
        .route("/colour/cards/recipe", post(colour::cards::keep))
        .route("/colour/batches", get(colour::batches::page).post(colour::batches::put_right))
        .route("/coats", get(coats::page))
        .route("/next", get(next::page))
        .route("/range", get(range::page))
        .route("/record", get(record::page))
        .route("/details", get(record::details_page).post(record::details))
        .route("/verify", get(record::verify))
        .route("/export.zip", get(record::export))
        .route("/dossier.pdf", get(record::dossier))
        .route("/questions", get(questions::page).post(questions::keep))
        .route("/questions/new", get(questions::new))
        .route("/questions/{number}", get(questions::one))
        .route("/questions/{number}/answer", post(questions::call))
        .route("/questions/{number}/withdraw", post(questions::withdraw))
        .route("/questions/{number}/question.html", get(question_file::file))
        .route("/reports", post(reports::keep))
        .route("/reports/new", get(reports::new))
        .route("/reports/{seq}", get(reports::page))
        .route("/reports/{seq}/report.pdf", get(reports::pdf))
        .route("/links", get(links::page).post(links::create))
        .route("/links/revoke", post(links::revoke));
    // One link, one car: these pages know no session, and the rest of the program knows no link.
    let owner = Router::new()
        .route("/", get(owner::page))
        .route("/answer", post(owner::answer))
        .route("/write", post(owner::write))
        .route("/photographs", get(owner::photographs))
        .route("/pictures/{hash}", get(owner::picture))
        .route("/colour", get(owner::colour::page))
        .route("/colour/panel.png", get(owner::colour::png))
        .route("/colour/mesh.bin", get(owner::colour::mesh))
        .route("/colour/sphere.bin", get(owner::colour::sphere))
        .route("/dossier.pdf", get(owner::dossier))
        .route("/reports/{seq}", get(owner::report))
        .route("/reports/{seq}/report.pdf", get(owner::report_pdf))
        .layer(DefaultBodyLimit::max(OWNER_BYTES));
    // ZIPs and PDFs are compressed inside, and whoever fetches one wants to know how long it is.
    let smaller = DefaultPredicate::new()
        .and(NotForContentType::const_new("application/zip"))
        .and(NotForContentType::const_new("application/pdf"));
    let fixed = |name: HeaderName, value: &'static str| {
        SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value))
    };
    Router::new()
        .route("/", get(cars::list))
        .route("/cars/new", get(cars::new).post(cars::open))
        .route("/cars/import", post(cars::import).layer(DefaultBodyLimit::max(ZIP_BYTES)))
        .nest("/cars/{car}", car)
        .nest("/o/{token}", owner)
        .route("/learned", get(learned::page))
        .route("/people", get(people::page).post(people::enter))
        .route("/backup.zip", get(record::backup))
        .route("/sign-in", get(sign_in::page).post(sign_in::sign_in))
        .route("/sign-out", post(sign_in::sign_out))
        .route("/ui/{*path}", get(assets::serve))
        .route("/sw.js", get(assets::serve_worker))
        .fallback(|| async { fault::Fault::NotFound("page") })
        .layer(
            ServiceBuilder::new()
                .layer(TraceLayer::new_for_http().make_span_with(span))
                .layer(fixed(header::CONTENT_SECURITY_POLICY, POLICY))
                .layer(fixed(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
                .layer(fixed(header::REFERRER_POLICY, "same-origin"))
                .layer(fixed(header::CACHE_CONTROL, "private, no-cache"))
                .layer(CompressionLayer::new().compress_when(smaller))
                .layer(middleware::from_fn(owner::fences))
                .layer(middleware::from_fn_with_state(app.clone(), access::same_site))
                .layer(middleware::from_fn(fault::in_words))
                .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, ANSWER))
                .layer(DefaultBodyLimit::max(FORM_BYTES)),
        )
        .with_state(app)
}

/// What the log says of a request: never what opens something to whoever reads it.
fn span(request: &Request<Body>) -> tracing::Span {
    let path = owner::path_for_the_log(request.uri().path());
    tracing::debug_span!("request", method = %request.method(), path)
}

/// Answers pages until the process ends.
///
/// # Errors
/// When the listener fails.
pub fn serve(listener: TcpListener, app: App) -> impl Future<Output = std::io::Result<()>> {
    serve_until(listener, app, std::future::pending())
}

/// Answers pages until `stop` resolves; answers under way are finished first.
///
/// # Errors
/// When the listener fails.
pub async fn serve_until(
    listener: TcpListener,
    app: App,
    stop: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    let service = router(app).into_make_service_with_connect_info::<SocketAddr>();
    axum::serve(listener, service).with_graceful_shutdown(stop).await
}
