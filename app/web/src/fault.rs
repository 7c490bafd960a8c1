//! What went wrong, as a page that says what happened, what to do, and where to go on.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use job::person::Role;
use job::ports::StoreError;
use job::shop::{BackupError, ShopError};
use maud::html;

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
            Self::ForeignHost(host) => (
                StatusCode::MISDIRECTED_REQUEST,
                format!("This computer was addressed as \"{host}\", which is not its name. Use the address that the program printed when it started."),
            ),
            Self::ForeignSite => (
                StatusCode::FORBIDDEN,
                "The form was sent from another site, so nothing was kept. Open the page here and send it again.".into(),
            ),
            Self::Bad(say) => (StatusCode::UNPROCESSABLE_ENTITY, say.clone()),
            Self::TooLarge(say) => (StatusCode::PAYLOAD_TOO_LARGE, say.clone()),
            Self::Shop(e) => (shop_status(e), sentence(&e.to_string())),
            Self::Dossier(say) => (StatusCode::INTERNAL_SERVER_ERROR, format!("The dossier could not be drawn: {say}")),
            Self::Internal(say) => (StatusCode::INTERNAL_SERVER_ERROR, sentence(say)),
        }
    }
}

fn shop_status(e: &ShopError) -> StatusCode {
    match e {
        ShopError::NoSuchCar(_) => StatusCode::NOT_FOUND,
        ShopError::NoSuchEntry | ShopError::NoSuchPerson(_) | ShopError::Invalid(_) | ShopError::Parcel(_) => {
            StatusCode::UNPROCESSABLE_ENTITY
        }
        ShopError::AlreadySuperseded(_) | ShopError::Overtaken(_) | ShopError::Newer { .. } => StatusCode::CONFLICT,
        ShopError::Crowded => StatusCode::SERVICE_UNAVAILABLE,
        ShopError::Broken(_) => StatusCode::INTERNAL_SERVER_ERROR,
        ShopError::Store(StoreError::Full(_)) => StatusCode::INSUFFICIENT_STORAGE,
        ShopError::Store(_) => StatusCode::SERVICE_UNAVAILABLE,
    }
}

/// A message as a sentence: it begins large and ends with a stop.
pub(crate) fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_uppercase().collect::<String>()).unwrap_or_default();
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
        let page = layout::bare("Not done", html! {
            div.note.stop.stack role="alert" {
                h2 { (say) }
                p { "What is in the record is as it was." }
                p.row { a.btn.main href="/" { "To the cars" } }
            }
        });
        (status, page).into_response()
    }
}
