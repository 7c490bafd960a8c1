//! Keeping what a Colour page made as an entry of the record.

use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use job::ids::{CarId, EntryId, PersonId};
use job::shop::{Draft, ShopError};
use job::validate::FieldError;
use job::what::What;

use crate::access::remember;
use crate::fault::Fault;
use crate::state::App;
use crate::typed::Typed;

/// An entry that was kept: its place in the record, and who wrote it.
pub(crate) struct Kept {
    pub(crate) seq: u64,
    by: PersonId,
}

impl Kept {
    /// On to another page; this device remembers who wrote.
    pub(crate) fn go(&self, to: &str) -> Response {
        (remember(self.by), Redirect::to(to)).into_response()
    }
}

/// Keeps an entry from a form with the fields `who` and `entry`; the inner error is what stands at its fields.
pub(crate) async fn keep(
    app: &App,
    car: CarId,
    typed: &Typed,
    what: What,
) -> Result<Result<Kept, Vec<FieldError>>, Fault> {
    let nobody = |say: &str| Ok(Err(vec![FieldError::new("who", say, "Pick who is writing.")]));
    let (Ok(by), Ok(entry)) = (typed.get("who").parse(), typed.get("entry").parse::<EntryId>()) else {
        return nobody("nobody was picked");
    };
    keep_draft(app, car, &Draft { entry, base: None, by, noted: None, corrects: None, keep_both: false, what }).await
}

/// Keeps an entry whose form was read already, a correction of another among them.
pub(crate) async fn keep_draft(app: &App, car: CarId, draft: &Draft) -> Result<Result<Kept, Vec<FieldError>>, Fault> {
    let wrong = |field, say: String, right: &str| Ok(Err(vec![FieldError::new(field, say, right)]));
    match app.shop.keep(car, draft, Timestamp::now()).await {
        Ok(kept) => Ok(Ok(Kept { seq: kept.seq, by: draft.by })),
        Err(ShopError::Invalid(errors)) => Ok(Err(errors)),
        Err(ShopError::NoSuchPerson(_)) => {
            wrong("who", "nobody was picked who may write here".into(), "Pick who is writing.")
        }
        Err(ShopError::AlreadySuperseded(seq)) => {
            let say = format!("entry {seq} was already corrected or taken out");
            wrong("corrects", say, "Open what stands there now, and correct that.")
        }
        Err(e) => Err(e.into()),
    }
}
