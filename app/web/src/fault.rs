//! What went wrong, as a page that says what happened, what to do, and where to go on.

use axum::extract::Request;
use axum::http::{Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use job::paintwork::preview::PreviewError;
use job::person::Role;
use job::ports::StoreError;
use job::shop::{BackupError, LinkError, ShopError};
use maud::html;

use crate::access::wants_json;
use crate::layout;

/// Why a request gets no page of its own.
#[derive(Debug)]
pub(crate) enum Fault {
    /// There is nothing at this address.
    NotFound(&'static str),
    /// This device may not do that.
    NotAllowed {
        /// What the device may do.
        role: Role,
    },
    /// Something was sent from a device that is not signed in, or no longer.
    SignedOut,
    /// The address is not this program's name.
    ForeignHost(String),
    /// The form was sent from another site.
    ForeignSite,
    /// The request itself is wrong.
    Bad(String),
    /// More was sent than is taken.
    TooLarge(String),
    /// A use case said no.
    Shop(ShopError),
    /// An owner's link leads nowhere.
    Link(LinkError),
    /// Too much was tried; so many seconds have to pass.
    Wait(i64),
    /// The dossier could not be drawn.
    Dossier(String),
    /// Something broke here.
    Internal(String),
}

impl From<ShopError> for Fault {
    fn from(e: ShopError) -> Self {
        Self::Shop(e)
    }
}

impl From<BackupError> for Fault {
    fn from(e: BackupError) -> Self {
        match e {
            BackupError::Shop(e) => Self::Shop(e),
            e => Self::Internal(e.to_string()),
        }
    }
}

impl Fault {
    /// The status and the sentence for people.
    pub(crate) fn say(&self) -> (StatusCode, String) {
        match self {
            Self::NotFound(what) => (StatusCode::NOT_FOUND, format!("There is no {what} at this address.")),
            Self::NotAllowed { role } => (
                StatusCode::FORBIDDEN,
                format!("This device is signed in as {}; that is for the lead to do.", role.words().to_lowercase()),
            ),
            Self::SignedOut => (
                StatusCode::UNAUTHORIZED,
                "This device is not signed in. Nothing was kept. Sign in, then load this page again: what you typed is sent once more.".into(),
            ),
            Self::ForeignHost(host) => (
                StatusCode::MISDIRECTED_REQUEST,
                format!(
                    "This computer was addressed as \"{host}\", which is not its name. Use the address that the program printed when it started."
                ),
            ),
            Self::ForeignSite => (
                StatusCode::FORBIDDEN,
                "The form was sent from another site, so nothing was kept. Open the page here and send it again."
                    .into(),
            ),
            Self::Bad(say) => (StatusCode::UNPROCESSABLE_ENTITY, say.clone()),
            Self::TooLarge(say) => (StatusCode::PAYLOAD_TOO_LARGE, say.clone()),
            Self::Shop(e) => (shop_status(e), sentence(&e.to_string())),
            Self::Link(e) => (link_status(e), sentence(&e.to_string())),
            Self::Wait(seconds) => (
                StatusCode::TOO_MANY_REQUESTS,
                format!("Too many wrong links were tried from here: wait {seconds} seconds, then try again."),
            ),
            Self::Dossier(say) => (StatusCode::INTERNAL_SERVER_ERROR, format!("The dossier could not be drawn: {say}")),
            Self::Internal(say) => (StatusCode::INTERNAL_SERVER_ERROR, sentence(say)),
        }
    }
}

fn link_status(e: &LinkError) -> StatusCode {
    match e {
        LinkError::Unknown => StatusCode::NOT_FOUND,
        LinkError::Ended | LinkError::TakenBack => StatusCode::GONE,
        LinkError::Shop(e) => shop_status(e),
    }
}

/// The words of a refusal, beside its page: below an owner's link they stand on a page of the owner's.
#[derive(Debug, Clone)]
pub(crate) struct Said(pub(crate) String);

fn shop_status(e: &ShopError) -> StatusCode {
    match e {
        ShopError::NoSuchCar(_) | ShopError::Preview(PreviewError::NotThere(_) | PreviewError::NoSubject(_)) => {
            StatusCode::NOT_FOUND
        }
        ShopError::Preview(_) => StatusCode::UNPROCESSABLE_ENTITY,
        ShopError::NoSuchEntry | ShopError::NoSuchPerson(_) | ShopError::Invalid(_) | ShopError::Parcel(_) => {
            StatusCode::UNPROCESSABLE_ENTITY
        }
        ShopError::AlreadySuperseded(_)
        | ShopError::Overtaken(_)
        | ShopError::Locked(_)
        | ShopError::TakenBack(_)
        | ShopError::AskedAnew(_)
        | ShopError::Newer { .. } => StatusCode::CONFLICT,
        ShopError::Crowded => StatusCode::SERVICE_UNAVAILABLE,
        ShopError::Broken(_) | ShopError::Outlook(_) | ShopError::Shelf(_) => StatusCode::INTERNAL_SERVER_ERROR,
        ShopError::Store(StoreError::Full(_)) => StatusCode::INSUFFICIENT_STORAGE,
        ShopError::Store(StoreError::Refused(_)) => StatusCode::UNPROCESSABLE_ENTITY,
        ShopError::Store(_) => StatusCode::SERVICE_UNAVAILABLE,
    }
}

/// A message as a sentence: it begins large, unless with the name of a file, and ends with a stop.
pub(crate) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let file = text.split([' ', ',', ':']).next().is_some_and(|word| word.trim_end_matches('.').contains('.'));
    let first =
        chars.next().map(|c| if file { c.into() } else { c.to_uppercase().collect::<String>() }).unwrap_or_default();
    let rest = chars.as_str();
    let stop = if rest.ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{first}{rest}{stop}")
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        let (status, say) = self.say();
        if status.is_server_error() {
            tracing::error!(%status, fault = ?self, "request failed");
        }
        let page = layout::bare(
            "Not done",
            html! {
                div.note.stop.stack role="alert" {
                    h2 { (&say) }
                    p { "What is in the record is as it was." }
                    p.row {
                    // A tab of its own: this page still holds what was typed.
                    @if matches!(self, Self::SignedOut) { a.btn.main href="/sign-in" target="_blank" { "Sign in, in another tab" } }
                    a.btn.main[!matches!(self, Self::SignedOut)] href="/" { "To the cars" }
                }
                }
            },
        );
        let mut response = (status, page).into_response();
        if let Self::Wait(seconds) = self {
            response.headers_mut().insert(header::RETRY_AFTER, seconds.into());
        }
        response.extensions_mut().insert(Said(say));
        response
    }
}

/// Says in words, on a page with a way onward, what the framework refuses before a handler sees it: an address
/// that cannot be read, a method that nobody takes, a form that is none.
pub(crate) async fn in_words(request: Request, next: Next) -> Response {
    let (reads, json) = (matches!(*request.method(), Method::GET | Method::HEAD), wants_json(request.headers()));
    let response = next.run(request).await;
    let status = response.status();
    let said =
        response.headers().get(header::CONTENT_TYPE).is_some_and(|kind| !kind.as_bytes().starts_with(b"text/plain"));
    if said || !(status.is_client_error() || status.is_server_error()) {
        return response;
    }
    let fault = match status {
        StatusCode::BAD_REQUEST | StatusCode::NOT_FOUND if reads => return Fault::NotFound("page").into_response(),
        StatusCode::METHOD_NOT_ALLOWED => Fault::Bad("This address does not take what was sent to it.".into()),
        StatusCode::SERVICE_UNAVAILABLE => Fault::Internal("this took too long and was given up".into()),
        _ => Fault::Bad(
            "The form did not come through as a page of this program sends it. Nothing was kept; open the page again."
                .into(),
        ),
    };
    let mut page = match json {
        true => axum::Json(serde_json::json!({ "say": fault.say().1 })).into_response(),
        false => fault.into_response(),
    };
    *page.status_mut() = status;
    if let Some(allow) = response.headers().get(header::ALLOW) {
        page.headers_mut().insert(header::ALLOW, allow.clone());
    }
    page
}
