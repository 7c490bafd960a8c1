//! Who is asking, and what they may do.
//!
//! A shop on one computer needs no passphrase: while nobody has one and nobody outside can reach the program,
//! whoever sits there acts as the lead. As soon as anybody has a passphrase, every device signs in.
//!
//! An owner's link is no session: it opens the pages below `/o/` alone, and this file knows nothing of it.

use axum::extract::{FromRequestParts, OriginalUri, Request, State};
use axum::http::request::Parts;
use axum::http::uri::Authority;
use axum::http::{HeaderMap, HeaderName, Method, StatusCode, Uri, header};
use axum::middleware::Next;
use axum::response::{AppendHeaders, IntoResponse, Redirect, Response};
use jiff::Timestamp;
use job::ids::{Hash, PersonId};
use job::person::{Deed, Person, Role};
use job::ports::Session;

use crate::fault::Fault;
use crate::state::App;

/// The cookie that holds a session's token.
pub(crate) const SESSION: &str = "guidecoat_session";
/// The cookie that remembers who writes on this device.
pub(crate) const WHO: &str = "guidecoat_who";

/// The header that makes this device remember who wrote, for a year.
pub(crate) fn remember(by: PersonId) -> AppendHeaders<[(HeaderName, String); 1]> {
    AppendHeaders([(header::SET_COOKIE, format!("{WHO}={by}; Path=/; HttpOnly; SameSite=Lax; Max-Age=31536000"))])
}

/// Who is asking.
#[derive(Debug, Clone)]
pub(crate) struct Access {
    pub(crate) role: Role,
    pub(crate) session: Option<Session>,
    /// The person picked on this device.
    pub(crate) who: Option<PersonId>,
    /// Everybody who may write.
    pub(crate) writers: Vec<Person>,
}

impl Access {
    /// The name of the person picked on this device.
    pub(crate) fn who_name(&self) -> Option<&str> {
        self.writers.iter().find(|p| Some(p.id) == self.who).map(|p| p.name.as_str())
    }

    /// Refuses when this device may not do `deed`.
    pub(crate) fn may(&self, deed: Deed) -> Result<(), Fault> {
        if self.role.may(deed) { Ok(()) } else { Err(Fault::NotAllowed { role: self.role }) }
    }
}

impl FromRequestParts<App> for Access {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Response> {
        let people = app.shop.people().await.map_err(|e| Fault::from(e).into_response())?;
        let session = session(&parts.headers, app).await.map_err(IntoResponse::into_response)?;
        // Somebody may have left, or been given less to do, since this device was signed in.
        let signed = session.and_then(|session| {
            let person = people.iter().find(|p| p.id == session.person && p.active)?;
            Some(Session { role: if person.role == Role::Lead { session.role } else { person.role }, ..session })
        });
        // What an address for the outside leads to may well arrive from this computer itself.
        let outside = !app.loopback || app.public_url.is_some();
        let locked = outside || people.iter().any(|p| p.passphrase.is_some() && p.active);
        let role = match &signed {
            Some(session) => session.role,
            None if locked => return Err(sign_in(parts)),
            None => Role::Lead,
        };
        let who = cookie(&parts.headers, WHO).and_then(|id| id.parse().ok()).or(signed.as_ref().map(|s| s.person));
        let writers = people.into_iter().filter(|p| p.active && p.role != Role::Owner).collect();
        let access = Self { role, session: signed, who, writers };
        access.may(Deed::See).map_err(IntoResponse::into_response)?;
        Ok(access)
    }
}

async fn session(headers: &HeaderMap, app: &App) -> Result<Option<Session>, Fault> {
    let Some(token) = cookie(headers, SESSION) else { return Ok(None) };
    let held = app.shop.store().session(Hash::of(token.as_bytes()), Timestamp::now()).await;
    held.map_err(|e| Fault::from(job::shop::ShopError::from(e)))
}

fn sign_in(parts: &Parts) -> Response {
    if wants_json(&parts.headers) {
        let say = serde_json::json!({ "say": "This device is not signed in. Sign in, then send again." });
        return (StatusCode::UNAUTHORIZED, axum::Json(say)).into_response();
    }
    if parts.method != Method::GET {
        return Fault::SignedOut.into_response();
    }
    // Inside a nested router the address has lost its front part; the whole of it is kept beside the request.
    let whole = parts.extensions.get::<OriginalUri>().map_or(&parts.uri, |original| &original.0);
    let next = whole.path_and_query().map_or("/", |p| p.as_str());
    Redirect::to(&format!("/sign-in?next={}", crate::link::escape(next))).into_response()
}

/// Whether the asker is an island that reads JSON rather than a page.
pub(crate) fn wants_json(headers: &HeaderMap) -> bool {
    headers.get(header::ACCEPT).and_then(|v| v.to_str().ok()).is_some_and(|v| v.contains("application/json"))
}

/// The value of a cookie.
pub(crate) fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find_map(|(key, value)| (key == name).then_some(value))
}

/// Refuses a request that another site sent, or that reached this computer under a foreign name.
///
/// A page elsewhere could post a form here, or point a name of its own at 127.0.0.1; neither is answered.
pub(crate) async fn same_site(State(app): State<App>, request: Request, next: Next) -> Response {
    let headers = request.headers();
    let host = headers.get(header::HOST).and_then(|v| v.to_str().ok()).unwrap_or_default();
    if !host_is_ours(&app, host) {
        return Fault::ForeignHost(host.chars().take(100).collect()).into_response();
    }
    let reads = matches!(*request.method(), Method::GET | Method::HEAD | Method::OPTIONS);
    if !reads && !sent_from_here(&app, headers, host) {
        return Fault::ForeignSite.into_response();
    }
    next.run(request).await
}

fn host_is_ours(app: &App, host: &str) -> bool {
    let name = host.rsplit_once(':').map_or(host, |(name, port)| if port.ends_with(']') { host } else { name });
    let loopback = matches!(name, "127.0.0.1" | "localhost" | "[::1]");
    let public = public(app).is_some_and(|public| public.host().eq_ignore_ascii_case(name));
    loopback
        || public
        || (!app.loopback && app.hosts.is_empty())
        || app.hosts.iter().any(|h| h.eq_ignore_ascii_case(name))
}

/// The name under which owners reach this program from outside.
fn public(app: &App) -> Option<Authority> {
    app.public_url.as_deref()?.parse::<Uri>().ok()?.authority().cloned()
}

/// What ends a cookie of this request: over an encrypted address it must never go out in the clear.
pub(crate) fn secure(app: &App, headers: &HeaderMap) -> &'static str {
    let host = headers.get(header::HOST).and_then(|v| v.to_str().ok()).unwrap_or_default();
    let encrypted = app.public_url.as_deref().is_some_and(|url| url.starts_with("https://"));
    let outside = encrypted && public(app).is_some_and(|public| public.as_str().eq_ignore_ascii_case(host));
    if outside { "; Secure" } else { "" }
}

fn sent_from_here(app: &App, headers: &HeaderMap, host: &str) -> bool {
    if let Some(site) = headers.get("sec-fetch-site").and_then(|v| v.to_str().ok()) {
        return matches!(site, "same-origin" | "none");
    }
    match headers.get(header::ORIGIN).and_then(|v| v.to_str().ok()) {
        Some(origin) => {
            let of = origin.parse::<Uri>().ok().and_then(|o| o.authority().cloned());
            // What stands between may have changed the name under which it asks here.
            of.is_some_and(|of| of.as_str() == host || public(app) == Some(of))
        }
        // A program at a terminal sends neither; a browser that posts a form sends at least one of them.
        None => true,
    }
}
