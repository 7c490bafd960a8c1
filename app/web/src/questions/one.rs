//! One question: as the owner reads it, every version, every answer, and what can be done with it.

use axum::extract::{Multipart, Path, Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use job::car::{Car, Entry};
use job::ids::{CarId, EntryId};
use job::person::Deed;
use job::question::{Answer, Question, Standing, Thread};
use job::shop::Draft;
use job::what::{What, Withdrawn};
use maud::{Markup, html};

use super::{After, call, options, stands};
use crate::access::Access;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when, who_picks};
use crate::state::App;
use crate::typed::Typed;
use crate::{entries, link};

/// The question with this number.
pub(crate) fn thread(car: &Car, number: usize) -> Result<Thread<'_>, Fault> {
    car.threads().into_iter().find(|t| t.number == number).ok_or(Fault::NotFound("question of this number"))
}

/// Its page.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path((id, number)): Path<(CarId, usize)>,
    Query(after): Query<After>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    draw(&app, &access, &car, number, after.kept, None).await
}

/// Draws the page; `refused` is the form of a call as it was typed, with what is wrong.
pub(super) async fn draw(
    app: &App,
    access: &Access,
    car: &Car,
    number: usize,
    kept: Option<u64>,
    refused: Option<&call::Refused<'_>>,
) -> Result<Markup, Fault> {
    let thread = thread(car, number)?;
    let (_, latest) = thread.latest().ok_or(Fault::NotFound("question"))?;
    let standing = thread.standing();
    let read = thread.asked().map_or(latest, |(_, asked)| asked);
    let shown = app.shop.shown(car, read).await?;
    let form = match standing {
        Standing::Open | Standing::Answered if access.role.may(Deed::Manage) => {
            call::form(app, access, car, &thread, refused).await?
        }
        _ => html! {},
    };
    let page = CarPage {
        app,
        access,
        car,
        ground: if latest.is_of_colour() { Ground::Grey } else { Ground::Paper },
        sheet: Sheet::Questions,
        title: &format!("Question {number}"),
        says: &latest.ask,
        legend: false,
        deed: Bar::Go(format!("{}/questions", link::shell(car.id)), "Questions"),
    };
    let address = link::question(car.id, number);
    let lead = access.role.may(Deed::Manage);
    let unsent_change = thread.asked().is_some() && !latest.sent && standing != Standing::Withdrawn;
    Ok(page.draw(html! {
        (entries::flash(app, car, kept))
        @if let Some(refused) = refused { (crate::field::problems(refused.errors)) }
        div.wait[standing == Standing::Draft].note[standing != Standing::Draft] {
            p { b { (stands(app, car, &thread)) } }
            @if unsent_change { p { "There is a later draft of it, which the owner has not seen." } }
        }
        @if latest.is_of_colour() { p.no-print { a.touch href=(link::colour(car.id, "decided")) { "The car's colour" } } }
        @if lead && standing != Standing::Withdrawn {
            p.row.no-print {
                a.btn.main[standing == Standing::Draft] href={ (link::shell(car.id)) "/questions/new?corrects=" (number) } {
                    @if standing == Standing::Draft { "Change it or send it" } @else { "Change it: a new version" }
                }
                @if thread.asked().is_some() { a.btn href={ (address) "/question.html" } download { "The question as a file to send by mail" } }
                a.btn href={ (link::shell(car.id)) "/links" } { "The owner's links" }
            }
        }
        section {
            h2 { @if standing == Standing::Draft { "As the owner will read it" } @else { "As the owner reads it" } }
            (super::read(app, car, if standing == Standing::Draft { latest } else { read }, &shown))
            p.small.soft { "Beside it the owner sees the range of the whole shell: " (range(&shown.range)) "." }
        }
        @if !thread.answers.is_empty() {
            section {
                h2 { "Answers" }
                @for (entry, answer) in thread.answers.iter().rev() { (answered(app, car, entry, answer)) }
            }
        }
        @if !thread.wrote.is_empty() {
            section {
                h2 { "What the owner wrote about it" }
                @for (entry, wrote) in thread.wrote.iter().rev() { (super::message(app, entry, &wrote.words)) }
            }
        }
        (form)
        @if lead && standing != Standing::Withdrawn { (withdraw_form(access, &address)) }
        @if thread.versions.len() > 1 {
            section {
                h2 { "Versions" }
                @for (n, (entry, question)) in thread.versions.iter().enumerate() { (version(app, car, n + 1, entry, question)) }
            }
        }
    }))
}

/// A range as it is told.
pub(crate) fn range(said: &job::question::RangeSaid) -> String {
    format!("{:.0} to {:.0} hours, likely {:.0}", said.p10_h, said.p95_h, said.p50_h)
}

fn version(app: &App, car: &Car, number: usize, entry: &Entry, question: &Question) -> Markup {
    html! {
        details.opt {
            summary { "Version " (number) span.soft { @if question.sent { "sent " } @else { "draft of " } (when(app, entry.at)) } }
            p { b { (question.ask) } }
            p { (question.found) }
            ul.plain-list {
                @for option in &question.options { li { (option.key) ". " (option.title) ": " (option.hours_say()) "." } }
            }
            p.small.soft { "By " (entry.by.name) ", needed by " (question.by) ", " a href=(link::entry(car.id, entry.seq)) { "entry " (entry.seq) } }
        }
    }
}

/// An answer, locked, with exactly what was shown.
fn answered(app: &App, car: &Car, entry: &Entry, answer: &Answer) -> Markup {
    html! {
        article.opt.stack {
            h3 { (entry.what.say()) }
            @if !answer.words.is_empty() { @for line in answer.words.lines() { p { (line) } } }
            p.small { "Locked at " a.touch href=(link::entry(car.id, entry.seq)) { "entry " (entry.seq) } ", " (when(app, entry.at)) ", written by " (entry.by.name) "."
                @if let Some(old) = answer.changes.and_then(|id| car.entry_by_id(id)) { " It changes the answer of entry " (old.seq) "." }
            }
            (what_was_shown(answer))
        }
    }
}

/// Exactly what was in view when an answer was given.
pub(crate) fn what_was_shown(answer: &Answer) -> Markup {
    let shown = &answer.shown;
    html! {
        details {
            summary { "Exactly what was shown" }
            p { b { (shown.question.ask) } }
            p { (shown.question.found) }
            (options::cards(&shown.question, &shown.money, |_| html! {}))
            @if shown.question.is_of_colour() { p.small { "With each option stood its pictures on a curved panel, worked out from its recipe as the record holds it, and the words that they are no proof." } }
            p.small { "The range of the whole shell beside it: " (range(&shown.range)) ". Answer needed by " (shown.question.by.strftime("%-d %B %Y")) "." }
            p.small { "The record then held " (shown.count) " entries; its head:" }
            p.chain.small { (shown.head) }
        }
    }
}

fn withdraw_form(access: &Access, address: &str) -> Markup {
    html! {
        details.no-print {
            summary { "Take this question back" }
            form.stack-l method="post" action={ (address) "/withdraw" } enctype="multipart/form-data" {
                p { "It stays in the record with its answers, and nothing waits for it any more. An owner who answers after that is told, and the words are kept." }
                input type="hidden" name="entry" value=(EntryId::fresh());
                div.field { label for="why" { "Why" } div.in { input #why name="why" required maxlength="200"; } }
                (who_picks(access, None))
                button { "Take it back" }
            }
        }
    }
}

/// Takes a question back.
pub(crate) async fn withdraw(
    State(app): State<App>,
    access: Access,
    Path((id, number)): Path<(CarId, usize)>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Manage)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let thread = thread(&car, number)?;
    let (question, _) = thread.latest().ok_or(Fault::NotFound("question"))?;
    let missing = |what: &str| Fault::Bad(format!("Nothing was kept: {what}. Go back and send it again."));
    let draft = Draft {
        entry: typed.get("entry").parse().map_err(|_| missing("the page was not complete"))?,
        base: None,
        by: typed.get("who").parse().map_err(|_| missing("nobody was picked who is writing"))?,
        noted: None,
        corrects: None,
        keep_both: false,
        what: What::Withdrawn(Withdrawn { entry: question.id, why: typed.get("why").into() }),
    };
    let kept = app.shop.keep(id, &draft, Timestamp::now()).await?;
    Ok(Redirect::to(&format!("{}?kept={}", link::question(id, number), kept.seq)).into_response())
}
