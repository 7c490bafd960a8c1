//! What comes back through the owner's page: an answer, or words.

use axum::extract::{Multipart, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use job::ids::EntryId;
use job::question::{AnswerWay, OwnerWrote};
use job::shop::{Late, Replied, Reply, ShopError};
use job::validate::FieldError;
use maud::{Markup, html};

use super::{Beside, Visitor, draw};
use crate::fault::Fault;
use crate::layout::when;
use crate::questions;
use crate::state::App;
use crate::typed::Typed;

/// What stands for words when an owner asks to be rung and leaves the box empty: the line that was ticked.
const RING: &str = "Please ring me.";

/// Keeps an answer, or shows the page again with why not and everything that was typed.
pub(crate) async fn answer(State(app): State<App>, visitor: Visitor, form: Multipart) -> Result<Response, Fault> {
    let typed = Typed::read(form).await?;
    let number = typed.get("number").parse().ok();
    let reply = match reply(&typed, &visitor) {
        Ok(reply) => reply,
        Err(errors) => return again(&app, &visitor, &typed, number, &errors, StatusCode::UNPROCESSABLE_ENTITY).await,
    };
    match app.shop.answer(visitor.car().id, &reply, Timestamp::now()).await {
        Ok(Replied::Kept(kept)) => Ok(Redirect::to(&format!("{}?given={}", visitor.to(""), kept.seq)).into_response()),
        Ok(Replied::Overtaken(first)) => {
            let say = format!("another answer came first, on {}: {}", when(&app, first.at), first.what.say());
            let right =
                "Yours has not been kept. If it should stand instead, give it again below; both stay on record.";
            let error = FieldError::new("", say, right);
            again(&app, &visitor, &typed, number, &[error], StatusCode::CONFLICT).await
        }
        Ok(Replied::Late { why, .. }) => {
            let visitor = afresh(&app, visitor).await?;
            let late =
                Beside { news: Some(too_late(&app, &why)), back: number, typed: Some(&typed), ..Beside::default() };
            let page = draw(&app, &visitor, &late).await?;
            Ok((StatusCode::CONFLICT, page).into_response())
        }
        Err(ShopError::Invalid(errors)) => {
            again(&app, &visitor, &typed, number, &errors, StatusCode::UNPROCESSABLE_ENTITY).await
        }
        Err(e) => {
            let (status, say) = Fault::from(e).say();
            again(&app, &visitor, &typed, number, &[FieldError::new("", say, "")], status).await
        }
    }
}

fn reply(typed: &Typed, visitor: &Visitor) -> Result<Reply, Vec<FieldError>> {
    let mut errors = Vec::new();
    let choice = questions::chosen(typed).map_err(|e| errors.push(e));
    let page = questions::carried(typed).map_err(|e| errors.push(e));
    let (Ok(choice), Ok((entry, question, seen, digest))) = (choice, page) else { return Err(errors) };
    let words = match typed.get("words") {
        "" if choice.is_none() => RING,
        words => words,
    };
    Ok(Reply {
        entry,
        by: visitor.guest.owner.id,
        question,
        seen,
        digest,
        choice,
        way: AnswerWay::Link,
        words: words.into(),
        changes: typed.get("changes").parse().ok(),
    })
}

fn too_late(app: &App, why: &Late) -> Markup {
    html! {
        h2 {
            @match why {
                Late::TakenBack(_) => "The shop took this question back before your answer came",
                Late::AskedAnew(_) => "The shop changed this question since you opened the page",
                Late::NotAsShown => "The figures of this question have changed since you opened the page",
            }
        }
        @match why {
            Late::TakenBack(by) => p { "It was taken back on " (when(app, by.at)) ": " (by.what.say().trim_end_matches('.')) ". So your answer cannot count as one." },
            _ => p { "So your answer cannot count yet. The question stands below as it is now, with your choice still marked. Please read it again, then give your answer." },
        }
        p { "Nothing is lost: what you chose and wrote is kept as a message to the shop." }
    }
}

/// The car as it stands now: the record grew by the message.
async fn afresh(app: &App, visitor: Visitor) -> Result<Visitor, Fault> {
    let car = app.shop.car(visitor.guest.car.id).await?;
    Ok(Visitor { guest: job::shop::Guest { car, ..visitor.guest }, ..visitor })
}

async fn again(
    app: &App,
    visitor: &Visitor,
    typed: &Typed,
    number: Option<usize>,
    errors: &[FieldError],
    status: StatusCode,
) -> Result<Response, Fault> {
    // Somebody else may have answered meanwhile: the page is drawn from the record as it is now.
    let car = app.shop.car(visitor.guest.car.id).await?;
    let visitor = Visitor { guest: job::shop::Guest { car, ..visitor.guest.clone() }, token: visitor.token.clone() };
    let beside = Beside { back: number, typed: Some(typed), errors, ..Beside::default() };
    Ok((status, draw(app, &visitor, &beside).await?).into_response())
}

/// Keeps what the owner writes to the shop.
pub(crate) async fn write(State(app): State<App>, visitor: Visitor, form: Multipart) -> Result<Response, Fault> {
    let typed = Typed::read(form).await?;
    let entry = typed.get("entry").parse().unwrap_or_else(|_| EntryId::fresh());
    let wrote = OwnerWrote { question: None, choice: None, words: typed.get("words").into() };
    let owner = visitor.guest.owner.id;
    match app.shop.owner_wrote(visitor.car().id, owner, entry, wrote, Timestamp::now()).await {
        Ok(kept) => Ok(Redirect::to(&format!("{}?wrote={}", visitor.to(""), kept.seq)).into_response()),
        Err(ShopError::Invalid(errors)) => {
            again(&app, &visitor, &typed, Some(0), &errors, StatusCode::UNPROCESSABLE_ENTITY).await
        }
        Err(e) => {
            let (status, say) = Fault::from(e).say();
            again(&app, &visitor, &typed, Some(0), &[FieldError::new("words", say, "")], status).await
        }
    }
}
