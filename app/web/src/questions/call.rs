//! An answer that came by telephone, by mail or face to face, written down by the shop.

use axum::extract::{Multipart, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use job::car::Car;
use job::ids::{CarId, EntryId};
use job::person::Deed;
use job::question::{AnswerWay, Thread};
use job::shop::{Late, Replied, Reply, ShopError, digest};
use job::validate::FieldError;
use maud::{Markup, html};

use super::one;
use crate::access::Access;
use crate::fault::Fault;
use crate::layout::{when, who_picks};
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// The ways in which the shop writes an answer down.
const WAYS: [AnswerWay; 3] = [AnswerWay::Telephone, AnswerWay::Mail, AnswerWay::InPerson];

/// The form as it was typed, with what is wrong.
pub(super) struct Refused<'a> {
    pub(super) typed: &'a Typed,
    pub(super) errors: &'a [FieldError],
}

static BLANK: std::sync::LazyLock<Typed> = std::sync::LazyLock::new(Typed::default);

/// The form under a question that was asked.
pub(super) async fn form(
    app: &App,
    access: &Access,
    car: &Car,
    thread: &Thread<'_>,
    refused: Option<&Refused<'_>>,
) -> Result<Markup, Fault> {
    let Some((asked, question)) = thread.asked() else { return Ok(html! {}) };
    let shown = app.shop.shown(car, question).await?;
    let stands = thread.answer();
    let (typed, errors) = refused.map_or((&*BLANK, &[][..]), |r| (r.typed, r.errors));
    Ok(html! {
        details.opt.no-print #call open[refused.is_some()] {
            summary { @if stands.is_some() { "Write down a changed mind" } @else { "Write down an answer by telephone, by mail or in person" } }
            form.stack-l #call-form method="post" action={ (link::question(car.id, thread.number)) "/answer" } enctype="multipart/form-data" {
                @if let Some((entry, _)) = stands {
                    p { "The answer of " (when(app, entry.at)) " stays as it is: " (entry.what.say()) ". This one stands from now on." }
                    input type="hidden" name="changes" value=(entry.id);
                }
                input type="hidden" name="entry" value=(Some(typed.get("entry")).filter(|e| !e.is_empty()).map_or_else(|| EntryId::fresh().to_string(), String::from));
                input type="hidden" name="question" value=(asked.id);
                input type="hidden" name="seen" value=(car.count);
                input type="hidden" name="shown" value=(digest(&shown));
                (field::complaint("question", errors))
                p { "Read the question and the hours of every option as they stand above; they are kept with the answer." }
                (field::complaint("way", errors))
                (field::radios("How it came", "way", &WAYS, Some(typed.get("way")), |w| (w.key(), w.words())))
                fieldset {
                    legend { "What the owner chose" }
                    (field::complaint("choice", errors))
                    div.picks {
                        @for option in &question.options {
                            label.pick { input type="radio" name="choice" value=(option.key) checked[typed.get("choice") == option.key]; span { b { (option.key) ". " (option.title) } small { (option.hours_say()) } } }
                        }
                        label.pick { input type="radio" name="choice" value="none" checked[typed.get("choice") == "none"]; span { b { "None of these" } small { "the work still waits" } } }
                    }
                }
                (field::note_with_id("call-words", "words", "In the owner's own words", "What was said, and anything promised. Needed when it is none of these.", typed.get("words"), errors))
                (field::complaint("who", errors))
                (who_picks(access, Some(typed.get("who")).filter(|w| !w.is_empty())))
                p.small { "Once kept it is locked. A changed mind is a further answer." }
                button.main { "Keep this answer" }
            }
        }
    })
}

/// Keeps it.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path((id, number)): Path<(CarId, usize)>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let mut typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    one::thread(&car, number)?;
    let refuse = async |car: &Car, typed: &Typed, errors: &[FieldError], status: StatusCode| {
        let page = one::draw(&app, &access, car, number, None, Some(&Refused { typed, errors })).await?;
        Ok((status, page).into_response())
    };
    let reply = match reply(&typed) {
        Ok(reply) => reply,
        Err(errors) => return refuse(&car, &typed, &errors, StatusCode::UNPROCESSABLE_ENTITY).await,
    };
    let error = match app.shop.answer(id, &reply, Timestamp::now()).await {
        Ok(Replied::Kept(kept)) => {
            let go = format!("{}?kept={}", link::question(id, number), kept.seq);
            return Ok(Redirect::to(&go).into_response());
        }
        Ok(Replied::Overtaken(first)) => {
            let say = format!("an answer came meanwhile, {}: {}", when(&app, first.at), first.what.say());
            FieldError::new("question", say, "If the owner has changed that, send this again: both stay to be read.")
        }
        Ok(Replied::Late { why: Late::TakenBack(_), .. }) => FieldError::new(
            "question",
            "the question was taken back meanwhile",
            "Ask it anew if it still has to be asked.",
        ),
        Ok(Replied::Late { .. }) => {
            let say = "the question, or the hours shown with it, changed while this page was open";
            FieldError::new("question", say, "Read it to the owner as it stands now, then send this again.")
        }
        Err(ShopError::Invalid(errors)) => {
            return refuse(&car, &typed, &errors, StatusCode::UNPROCESSABLE_ENTITY).await;
        }
        Err(ShopError::NoSuchPerson(_)) => {
            let errors = [FieldError::new("who", "nobody was picked who may write here", "Pick who is writing.")];
            return refuse(&car, &typed, &errors, StatusCode::UNPROCESSABLE_ENTITY).await;
        }
        Err(e) => return Err(e.into()),
    };
    let now = app.shop.car(id).await?;
    typed.set("entry", String::new());
    refuse(&now, &typed, &[error], StatusCode::CONFLICT).await
}

fn reply(typed: &Typed) -> Result<Reply, Vec<FieldError>> {
    let mut errors = Vec::new();
    let by = typed
        .get("who")
        .parse()
        .map_err(|_| errors.push(FieldError::new("who", "nobody was picked", "Pick who is writing.")));
    let way = WAYS.into_iter().find(|w| w.key() == typed.get("way"));
    if way.is_none() {
        errors.push(FieldError::new("way", "nothing was chosen", "Choose how the answer came."));
    }
    let choice = chosen(typed).map_err(|e| errors.push(e));
    let page = page(typed).map_err(|e| errors.push(e));
    match (by, way, choice, page) {
        (Ok(by), Some(way), Ok(choice), Ok((entry, question, seen, digest))) => Ok(Reply {
            entry,
            by,
            question,
            seen,
            digest,
            choice,
            way,
            words: typed.get("words").into(),
            changes: typed.get("changes").parse().ok(),
        }),
        _ => Err(errors),
    }
}

/// The option that was marked, or none of these.
pub(crate) fn chosen(typed: &Typed) -> Result<Option<String>, FieldError> {
    match typed.get("choice") {
        "" => Err(FieldError::new("choice", "nothing was chosen", "Choose one, or \"none of these\".")),
        "none" => Ok(None),
        key => Ok(Some(key.chars().take(8).collect())),
    }
}

/// What the page carried unseen: the entry's name, the question, and what was shown.
pub(crate) fn page(typed: &Typed) -> Result<(EntryId, EntryId, u64, job::ids::Hash), FieldError> {
    let wrong = || FieldError::new("question", "the form did not come through whole", "Open the page again.");
    Ok((
        typed.get("entry").parse().map_err(|_| wrong())?,
        typed.get("question").parse().map_err(|_| wrong())?,
        typed.get("seen").parse().map_err(|_| wrong())?,
        typed.get("shown").parse().map_err(|_| wrong())?,
    ))
}
