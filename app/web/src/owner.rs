//! The owner's page: one link, one car. Decisions and results, in large calm type, without a session or a script.

mod answer;
pub(crate) mod colour;
mod fence;
mod frame;
mod photographs;
mod question;
mod report;

use std::net::SocketAddr;

use axum::extract::{ConnectInfo, FromRequestParts, Query, RawPathParams, State};
use axum::http::header;
use axum::http::request::Parts;
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use job::car::{Car, Entry};
use job::colour::{Illuminant, Observer, travel};
use job::fortnight;
use job::ids::{EntryId, Hash};
use job::paintwork::decided::{car_colour, colour_waits};
use job::question::{Answer, Hours, RangeSaid, Standing, Thread};
use job::shop::{Guest, LinkError};
use job::validate::FieldError;
use job::what::{Photograph, What};
use maud::{Markup, html};
use serde::Deserialize;

use crate::fault::Fault;
use crate::layout::when;
use crate::state::App;
use crate::typed::Typed;
use crate::{audit, dimension, field, questions, token};

pub(crate) use answer::{answer, write};
pub(crate) use fence::{fences, path_for_the_log};
pub(crate) use photographs::{page as photographs, picture};
pub(crate) use report::{page as report, pdf as report_pdf};

/// Somebody who came through a link that still leads here.
pub(crate) struct Visitor {
    pub(crate) guest: Guest,
    token: String,
}

impl Visitor {
    pub(crate) fn car(&self) -> &Car {
        &self.guest.car
    }

    /// An address below the owner's page.
    fn to(&self, path: &str) -> String {
        format!("/o/{}{path}", self.token)
    }

    async fn opened(&self, app: &App, what: &str) {
        audit::opened(app, Some(self.guest.car.id), audit::By::Link(&self.guest.link), what).await;
    }
}

impl FromRequestParts<App> for Visitor {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Fault> {
        let path = RawPathParams::from_request_parts(parts, app).await.map_err(|_| Fault::Link(LinkError::Unknown))?;
        let token = path.iter().find(|(name, _)| *name == "token").map(|(_, value)| value.to_string());
        // What cannot be a token is a slip of the finger or a crawler, and costs no look into the store.
        let token = token.filter(|t| token::is_one(t)).ok_or(Fault::Link(LinkError::Unknown))?;
        let now = Timestamp::now();
        match app.shop.open_link(&token, now).await {
            Ok(guest) => Ok(Self { guest, token }),
            Err(LinkError::Unknown) => Err(wrong(parts, app, now)),
            Err(e) => Err(Fault::Link(e)),
        }
    }
}

/// A token that nobody made. Whoever tries many has to wait, as at sign-in. One that is right is let in all the
/// same: 256 bits are guessed at no speed, and an owner may share an address with somebody who tries.
fn wrong(parts: &Parts, app: &App, now: Timestamp) -> Fault {
    let from = parts.extensions.get::<ConnectInfo<SocketAddr>>().map(|ConnectInfo(from)| from.ip());
    let Some(from) = from else { return Fault::Link(LinkError::Unknown) };
    let wait_s = app.wrong_links.wait_s(from, now);
    if wait_s > 0 {
        return Fault::Wait(wait_s);
    }
    app.wrong_links.wrong(from, now);
    tracing::warn!(%from, "a link that nobody made");
    Fault::Link(LinkError::Unknown)
}

#[derive(Deserialize, Default)]
pub(crate) struct Ask {
    /// The answer that was just kept.
    given: Option<u64>,
    /// The message that was just kept.
    wrote: Option<u64>,
    /// The number of the question whose answer is to be changed.
    change: Option<usize>,
}

/// What stands on the page besides the car.
#[derive(Default)]
struct Beside<'a> {
    /// What has just happened, on top.
    news: Option<Markup>,
    /// The number of a question that is answered and shown again, for a change of mind.
    change: Option<usize>,
    /// The number of the question whose form comes back as it was typed, or 0 for the message.
    back: Option<usize>,
    /// What was typed.
    typed: Option<&'a Typed>,
    /// What is wrong with it.
    errors: &'a [FieldError],
}

/// The page.
pub(crate) async fn page(State(app): State<App>, visitor: Visitor, Query(ask): Query<Ask>) -> Result<Markup, Fault> {
    visitor.opened(&app, "the owner's page").await;
    let car = visitor.car();
    let news = kept(&app, car, ask.given.or(ask.wrote));
    draw(&app, &visitor, &Beside { news, change: ask.change, ..Beside::default() }).await
}

/// The words of thanks after an answer or a message.
fn kept(app: &App, car: &Car, seq: Option<u64>) -> Option<Markup> {
    let entry = car.entry(seq?)?;
    let at = when(app, entry.at);
    match &entry.what {
        What::Answered(answer) => Some(html! {
            h2 { "Thank you. Your answer is kept." }
            p { b { (said(answer)) } }
            p { "Kept on " (at) " with exactly what this page showed you. You can change your mind below; both answers stay on record." }
        }),
        What::OwnerWrote(_) => Some(html! {
            h2 { "Thank you. The shop has your message." }
            p { "Kept on " (at) "." }
        }),
        _ => None,
    }
}

/// An answer in one line.
fn said(answer: &Answer) -> String {
    match answer.chosen() {
        Some(option) => format!("{}. {}", option.key, option.title),
        None => "None of these".into(),
    }
}

async fn draw(app: &App, visitor: &Visitor, beside: &Beside<'_>) -> Result<Markup, Fault> {
    let car = visitor.car();
    let threads = car.threads();
    let range = app.shop.told(car).await?;
    let asked = |t: &&Thread<'_>| t.standing() == Standing::Open || Some(t.number) == beside.change.or(beside.back);
    let open: Vec<&Thread<'_>> =
        threads.iter().filter(asked).filter(|t| t.standing() != Standing::Withdrawn && t.asked().is_some()).collect();
    let mut forms = Vec::new();
    for thread in &open {
        forms.push(question::form(app, visitor, thread, range, beside).await?);
    }
    let waiting = open.iter().filter(|t| t.standing() == Standing::Open).count();
    let (title, says) = match beside.change {
        Some(_) => (
            "Change your answer".into(),
            "Your answer so far stays on record; what you choose now stands instead.".into(),
        ),
        None => head(car, waiting),
    };
    let page = if colour::is_asked(&open) { frame::grey } else { frame::page };
    Ok(page(
        car,
        &title,
        &says,
        html! {
            @if let Some(news) = &beside.news { div.note.stop.stack role="status" { (news) } }
            @for form in &forms { (form) }
            (colour::yours(app, visitor))
            (report::news(visitor))
            (hours(car, range))
            (photographs::summary(visitor))
            (measured(car))
            (answers(app, visitor, &threads))
            (letters(app, visitor, beside))
            section {
                h2 { "More about your car" }
                ul.index {
                    @if car.photographs().any(|(_, p)| p.zone.is_some()) { li { a href=(visitor.to("/photographs")) { "All photographs, by place" } } }
                    li { a href=(visitor.to("/dossier.pdf")) { "The dossier so far, as a PDF to print or keep" } }
                }
                p.small.soft { "This link was made for " (visitor.guest.owner.name) " and works until " (when(app, visitor.guest.link.expires)) ". Please do not pass it on: whoever has it can answer for you." }
            }
        },
    ))
}

fn head(car: &Car, waiting: usize) -> (String, String) {
    let title = &car.details.title;
    match waiting {
        0 => (
            "Nothing waits for you".into(),
            format!("About your car, {title}. The shop will ask here when something has to be decided."),
        ),
        1 => ("One question for you".into(), format!("About your car, {title}. It takes about two minutes.")),
        n => (
            format!("{n} questions for you"),
            format!("About your car, {title}. The work there waits for your answers."),
        ),
    }
}

/// The range in words and drawn, with the hours that were agreed and what was told before.
fn hours(car: &Car, now: RangeSaid) -> Markup {
    let told = fortnight::last(car).map(|(_, report)| report);
    let most = now.p95_h.max(car.details.budget_h.unwrap_or(0.0)).max(1.0);
    let scale_h = dimension::scale(most);
    html! {
        section {
            h2 { "Hours for the metal work" }
            p { "The whole shell, as far as is known today: " b { (questions::range(&now)) } "." }
            (dimension::hours(Hours { low: now.p10_h, likely: now.p50_h, high: now.p95_h }, scale_h, car.details.budget_h))
            @if let Some(report) = told {
                p { "In the report of " (report.to.strftime("%-d %B")) ": " (questions::range(&report.range)) "." }
            }
            @if let Some(hours) = car.details.budget_h { p.small.soft { "The heavy upright is what was agreed: " (format!("{hours:.0}")) " hours." } }
            p.small.soft { "Of ten cars like yours, one would need fewer hours than the first figure; of twenty, one would need more than the last." }
        }
    }
}

/// The colour in words, when one was measured and none is chosen or asked about. Swatches need a grey page, and
/// stand in the dossier.
fn measured(car: &Car) -> Markup {
    let last = car.measurements().last();
    let last = last.filter(|_| car_colour(car).is_none() && colour_waits(car).is_none_or(|waits| !waits.sent));
    html! {
        @if let Some((_, measured)) = last {
            section {
                h2 { "The colour" }
                @let words = job::paint::measurement(measured).ok().and_then(|p| travel(&p, Illuminant::D65, Observer::Deg10).ok()).map(|t| t.words());
                p {
                    b { (measured.name) } " has been measured at " (measured.spectra.len()) " angles"
                    @if let Some(words) = words { ": it " (words) } "."
                    " It is drawn, angle by angle, in the dossier."
                }
            }
        }
    }
}

/// Everything that was answered so far, locked, with what was shown.
fn answers(app: &App, visitor: &Visitor, threads: &[Thread<'_>]) -> Markup {
    let given: Vec<&Thread<'_>> =
        threads.iter().rev().filter(|t| !t.answers.is_empty() || t.is_withdrawn() && t.asked().is_some()).collect();
    html! {
        @if !given.is_empty() {
            section {
                h2 { "Your answers so far" }
                @for thread in given { (answered(app, visitor, thread)) }
            }
        }
    }
}

fn answered(app: &App, visitor: &Visitor, thread: &Thread<'_>) -> Markup {
    let stands = thread.answer().map(|(entry, _)| entry.seq);
    let ask = thread.asked().map_or("", |(_, question)| question.ask.as_str());
    html! {
        article.opt.stack {
            h3 { "Question " (thread.number) ": " (ask) }
            @if thread.is_withdrawn() { p { b { "The shop took this question back." } " Nothing waits for it any more." } }
            @for (entry, answer) in thread.answers.iter().rev() {
                div {
                    p { b { (said(answer)) } ", " (answer.way.words()) ", " (when(app, entry.at)) @if Some(entry.seq) != stands { ". No longer stands" } "." }
                    @for line in answer.words.lines().filter(|l| !l.trim().is_empty()) { p { (line) } }
                    (questions::what_was_shown(answer))
                }
            }
            @if thread.standing() == Standing::Answered {
                p { a.btn href={ (visitor.to("")) "?change=" (thread.number) "#q" (thread.number) } { "I have changed my mind" } }
            }
        }
    }
}

/// What the owner wrote, and the form to write again.
fn letters(app: &App, visitor: &Visitor, beside: &Beside<'_>) -> Markup {
    let all = visitor.car().entries().iter().rev();
    let wrote: Vec<(&Entry, &str)> = all
        .filter_map(|entry| match &entry.what {
            What::OwnerWrote(wrote) => Some((entry, wrote.words.as_str())),
            _ => None,
        })
        .take(20)
        .collect();
    let typed = beside.typed.filter(|_| beside.back == Some(0)).map_or("", |t| t.get("words"));
    let errors = if beside.back == Some(0) { beside.errors } else { &[] };
    html! {
        section #write {
            h2 { "Write to the shop" }
            form.stack #write-form method="post" action=(visitor.to("/write")) enctype="multipart/form-data" {
                input type="hidden" name="entry" value=(EntryId::fresh());
                (field::note_with_id("letter", "words", "Your words", "They are kept with the date. For anything urgent, please ring.", typed, errors))
                button.wide { "Send these words" }
            }
            @if !wrote.is_empty() {
                details {
                    summary { "What you wrote so far" }
                    @for (entry, words) in wrote {
                        div.entry {
                            @for line in words.lines().filter(|l| !l.trim().is_empty()) { p { (line) } }
                            p.soft.small { (when(app, entry.at)) }
                        }
                    }
                }
            }
        }
    }
}

/// The whole car as it stands in the record, to print or keep.
pub(crate) async fn dossier(State(app): State<App>, visitor: Visitor) -> Result<Response, Fault> {
    visitor.opened(&app, "the dossier").await;
    let _permit = app.heavy.acquire().await.map_err(|e| Fault::Internal(e.to_string()))?;
    let pdf = crate::print::dossier(&app.shop, visitor.car().id, &app.zone, Timestamp::now())
        .await
        .map_err(|e| Fault::Dossier(e.to_string()))?;
    let name = "inline; filename=\"dossier.pdf\"";
    Ok(([(header::CONTENT_TYPE, "application/pdf"), (header::CONTENT_DISPOSITION, name)], pdf).into_response())
}

/// A photograph for the owner: small, with a way to the whole picture; words where its file is gone.
async fn photograph(app: &App, visitor: &Visitor, entry: &Entry, photo: &Photograph) -> Result<Markup, Fault> {
    let there = app.shop.blob(photo.thumb).await?.is_some();
    let address = |hash: Hash| visitor.to(&format!("/pictures/{hash}"));
    let (width, height) = small(photo);
    Ok(html! {
        figure.photo {
            @if there {
                a href=(address(photo.picture)) {
                    img src=(address(photo.thumb)) alt=(photo.caption) loading="lazy" width=(width) height=(height);
                }
            } @else {
                div.wait { p { "The file of this photograph is gone from the shop's computer. What it showed:" } }
            }
            figcaption { (photo.caption) ", " (photo.stage.words().to_lowercase()) ", " (when(app, entry.when())) }
        }
    })
}

/// Width and height of the small picture, in px.
fn small(photo: &Photograph) -> (u32, u32) {
    let (w, h) = (u64::from(photo.width_px.max(1)), u64::from(photo.height_px.max(1)));
    let longer = w.max(h);
    let most = u64::from(job::photograph::THUMB_PX).min(longer);
    let px = |side: u64| u32::try_from((side * most / longer).max(1)).unwrap_or(480);
    (px(w), px(h))
}
