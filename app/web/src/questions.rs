//! The Questions sheet: what has to go to the owner, what is asked, what was answered, and what the owner wrote.

mod call;
pub(crate) mod form;
pub(crate) mod looks;
mod one;
pub(crate) mod options;
pub(crate) mod place;

use axum::extract::{Path, Query, State};
use job::ask::{self, Finding};
use job::body::Side;
use job::car::{Car, Entry};
use job::ids::CarId;
use job::paintwork;
use job::person::Deed;
use job::question::{Question, Shown, Standing, Thread};
use job::validate::instance;
use job::what::{Photograph, What};
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::colour::decided;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when};
use crate::shell::upper;
use crate::state::App;
use crate::{entries, link};

pub(crate) use call::{chosen, keep as call, page as carried};
pub(crate) use form::{keep, page as new};
pub(crate) use one::{page as one, range, thread, what_was_shown, withdraw};

#[derive(Deserialize)]
pub(crate) struct After {
    kept: Option<u64>,
}

/// The sheet.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(after): Query<After>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let forecast = app.forecast(&car).await?;
    let findings = ask::findings(&car, &forecast.outlook);
    let unasked: Vec<&Finding<'_>> = findings.iter().filter(|f| f.question.is_none()).collect();
    let threads = car.threads();
    let messages: Vec<(&Entry, &str)> = messages(&car);
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::Questions,
        title: "Questions",
        says: &says(&threads, unasked.len()),
        legend: false,
        deed: Bar::Go(link::shell(id), "Shell"),
    };
    let lead = access.role.may(Deed::Manage);
    let shell = link::shell(id);
    Ok(page.draw(html! {
        (entries::flash(&app, &car, after.kept))
        @if !unasked.is_empty() {
            section {
                h2 { "Past the limit, and the owner has not been asked" }
                p { "The limit of this car is " (format!("{:.1}", car.details.ask_limit_h()).trim_end_matches(".0")) " hours for a single finding. The work there waits." }
                @for (side, words) in [(Side::Left, "Left side"), (Side::Right, "Right side"), (Side::Centre, "Middle")] {
                    @let here: Vec<_> = unasked.iter().filter(|f| f.zone.side == side).collect();
                    @if !here.is_empty() { (unasked_form(&shell, words, &here, lead)) }
                }
            }
        }
        @for (standing, heading) in [
            (Standing::Draft, "Drafts: the owner has not seen them"),
            (Standing::Open, "Asked, and not answered"),
            (Standing::Answered, "Answered"),
            (Standing::Withdrawn, "Taken back"),
        ] {
            @let here: Vec<_> = threads.iter().filter(|t| t.standing() == standing).collect();
            @if !here.is_empty() {
                section {
                    h2 { (heading) }
                    @for thread in here { (card(&app, &car, thread)) }
                }
            }
        }
        @if threads.is_empty() && unasked.is_empty() {
            div.wait { p { "No finding passes the limit, and nothing has been asked. A question can also be begun from the page of a zone." } }
        }
        @if !messages.is_empty() {
            section {
                h2 { "What the owner wrote besides" }
                @for (entry, words) in messages { (message(&app, entry, words)) }
            }
        }
        @if lead && paintwork::recipes(&car).len() > 1 && paintwork::decided::colour_waits(&car).is_none() {
            section {
                h2 { @if paintwork::decided::car_colour(&car).is_some() { "The colour is decided" } @else { "The colour is not decided" } }
                p { a.btn href=(link::colour(id, "ask")) { "Ask about the colour" } }
            }
        }
        section {
            h2 { "The owner" }
            ul.index {
                @if lead { li { a href={ (shell) "/links" } { "Links to the owner's page, and who opened what" } } }
                @if lead { li { a href={ (shell) "/reports/new" } { "Write the fortnight report" } } }
                @for entry in car.counting().rev().filter(|e| matches!(e.what, What::Reported(_))).take(12) {
                    li { a href={ (shell) "/reports/" (entry.seq) } { "Report: " (entry.what.say()) span.say { (when(&app, entry.when())) } } }
                }
            }
            p.small.soft { "An answer by telephone, by mail or face to face is written down on the page of its question. It is locked like any other: a changed mind is a further answer." }
        }
    }))
}

fn says(threads: &[Thread<'_>], unasked: usize) -> String {
    let open = threads.iter().filter(|t| t.standing() == Standing::Open).count();
    let drafts = threads.iter().filter(|t| t.standing() == Standing::Draft).count();
    let count = |n: usize, one: &str, many: &str| match n {
        0 => None,
        1 => Some(format!("one {one}")),
        n => Some(format!("{n} {many}")),
    };
    let parts: Vec<String> = [
        count(unasked, "finding has to go to the owner", "findings have to go to the owner"),
        count(drafts, "draft is not sent", "drafts are not sent"),
        count(open, "question waits for an answer", "questions wait for an answer"),
    ]
    .into_iter()
    .flatten()
    .collect();
    match parts.as_slice() {
        [] => "Nothing waits for the owner.".into(),
        parts => format!("{}.", upper(&parts.join("; "))),
    }
}

fn unasked_form(shell: &str, side: &str, findings: &[&&Finding<'_>], lead: bool) -> Markup {
    html! {
        form.stack action={ (shell) "/questions/new" } {
            fieldset {
                legend { (side) }
                div.picks {
                    @for finding in findings {
                        label.pick {
                            input type="checkbox" name="zone" value=(finding.zone.id) checked[findings.len() == 1];
                            span {
                                b { (upper(&finding.zone.name())) }
                                small { (finding.entry.what.say()) ", entry " (finding.entry.seq) "; about " (format!("{:.0}", finding.hours)) " hours" }
                            }
                        }
                    }
                }
            }
            @if lead {
                button { "Draft a question" }
                @if findings.len() > 1 { p.hint { "Tick what the owner should decide together." } }
            }
        }
    }
}

fn card(app: &App, car: &Car, thread: &Thread<'_>) -> Markup {
    let Some((entry, question)) = thread.latest() else { return html! {} };
    html! {
        article.opt.stack id={ "q" (thread.number) } {
            h3 { a.touch href=(link::question(car.id, thread.number)) { "Question " (thread.number) ": " (question.ask) } }
            p { (stands(app, car, thread)) }
            @if matches!(thread.standing(), Standing::Draft | Standing::Open) && !question.waits.is_empty() {
                p.small { "Waits: " (question.waits.join("; ")) "." }
            }
            p.small.soft {
                (upper(&about(car, question))) ". "
                @if thread.versions.len() > 1 { (thread.versions.len()) " versions; the last of " } @else { "Of " }
                (when(app, entry.when())) ", " (entry.by.name)
                @if thread.answers.len() > 1 { ". " (thread.answers.len()) " answers" }
                "."
            }
        }
    }
}

/// Where a question stands, in one sentence.
pub(crate) fn stands(app: &App, car: &Car, thread: &Thread<'_>) -> String {
    let by = |q: &Question| q.by.strftime("%-d %B %Y").to_string();
    match (thread.standing(), thread.asked(), thread.answer()) {
        (Standing::Withdrawn, ..) => {
            let latest = thread.latest().and_then(|(entry, _)| entry.superseded_by).and_then(|seq| car.entry(seq));
            match latest {
                Some(entry) => {
                    format!("Taken back on {}: {}.", when(app, entry.at), entry.what.say().trim_end_matches('.'))
                }
                None => "Taken back.".into(),
            }
        }
        (Standing::Answered, _, Some((entry, answer))) => {
            let said = match answer.chosen() {
                Some(option) => format!("{}. {}", option.key, option.title),
                None => "none of these; the work still waits".into(),
            };
            format!(
                "Answered {} on {}: {said}. Locked at entry {}.",
                answer.way.words(),
                when(app, entry.at),
                entry.seq
            )
        }
        (_, Some((entry, q)), _) => {
            format!("Asked on {}; an answer is needed by {}. No answer is not a yes.", when(app, entry.at), by(q))
        }
        _ => "A draft. The owner has not seen it.".into(),
    }
}

/// The names of zones, one after the other.
pub(crate) fn names(car: &Car, zones: &[String]) -> String {
    let known = |id: &String| instance(&car.details, id).map_or_else(|| id.clone(), |i| i.name());
    zones.iter().map(known).collect::<Vec<_>>().join("; ")
}

/// What a question is about, in words.
pub(crate) fn about(car: &Car, question: &Question) -> String {
    if question.is_of_colour() { "the colour of the car".into() } else { names(car, &question.zones) }
}

/// What the owner wrote that belongs to no question.
pub(crate) fn messages(car: &Car) -> Vec<(&Entry, &str)> {
    let of = |entry: &'_ Entry| match &entry.what {
        What::OwnerWrote(wrote) => wrote.question.and_then(|id| car.thread_of(id)).is_none(),
        _ => false,
    };
    car.entries()
        .iter()
        .rev()
        .filter(|entry| of(entry))
        .filter_map(|entry| match &entry.what {
            What::OwnerWrote(wrote) => Some((entry, wrote.words.as_str())),
            _ => None,
        })
        .collect()
}

/// Words of the owner, as they came.
pub(crate) fn message(app: &App, entry: &Entry, words: &str) -> Markup {
    html! {
        div.entry {
            @for line in words.lines().filter(|l| !l.trim().is_empty()) { p { (line) } }
            p.soft.small { (entry.by.name) ", " (when(app, entry.at)) ", entry " (entry.seq) }
        }
    }
}

/// A question as the owner reads it, on a page of the shop.
pub(crate) fn read(app: &App, car: &Car, question: &Question, shown: &Shown) -> Markup {
    let colour = question.is_of_colour();
    let from = |seen: looks::Seen| Some(format!("{}?{}", link::colour(car.id, "panel.png"), seen.query()));
    let pictures: Vec<_> = photographs(car, question);
    html! {
        p { b { (question.ask) } }
        p { (question.found) }
        @if colour {
            (looks::reading())
            @if !pictures.is_empty() { h3 { "Photographs of the cards" } div.thumbs { @for (entry, photo) in &pictures { (thumb(app, car, entry, photo)) } } }
            (looks::liked(car, question, &from))
        } @else {
            div.two {
                div.thumbs { @for (entry, photo) in &pictures { (thumb(app, car, entry, photo)) } }
                (place::figure(car, &question.zones))
            }
        }
        (options::cards(question, &shown.money, |option| if colour { looks::option(car, question, option, &from) } else { html! {} }))
        @if !question.waits.is_empty() {
            p { b { "What waits for the answer" } }
            ul.plain-list { @for line in &question.waits { li { (line) } } }
        }
        (serves(car, question))
        p { b { "Please answer by " (question.by.strftime("%A %-d %B")) "." } " If there is no answer, the work there does not go on." }
    }
}

/// The parts and days that the colour in question must serve.
pub(crate) fn serves(car: &Car, question: &Question) -> Markup {
    html! {
        @if !question.serves.is_empty() {
            p { b { "What the colour is for" } }
            ul.plain-list { @for line in decided::serves_lines(car, &question.serves) { li { (line) } } }
        }
    }
}

/// The photographs that go with a question and are still in the record.
pub(crate) fn photographs<'a>(car: &'a Car, question: &Question) -> Vec<(&'a Entry, &'a Photograph)> {
    // A card has no place on the car; every other photograph for the owner has one.
    let placed = !question.is_of_colour();
    let of = |entry: &'a Entry| match &entry.what {
        What::Photographed(photo) if photo.zone.is_some() || !placed => Some((entry, photo)),
        _ => None,
    };
    question.photographs.iter().filter_map(|id| of(latest(car, car.entry_by_id(*id)?)?)).collect()
}

/// An entry, or the correction that stands in its place; nothing once it was taken out.
fn latest<'a>(car: &'a Car, entry: &'a Entry) -> Option<&'a Entry> {
    let mut entry = entry;
    while let Some(by) = entry.superseded_by {
        entry = car.entry(by).filter(|later| later.corrects == Some(entry.seq))?;
    }
    Some(entry)
}

fn thumb(app: &App, car: &Car, entry: &Entry, photo: &Photograph) -> Markup {
    html! {
        figure.photo {
            a href=(link::picture(car.id, photo.picture)) {
                img src=(link::picture(car.id, photo.thumb)) alt=(photo.caption) loading="lazy" width="480" height="360";
            }
            figcaption { (photo.caption) ", " (when(app, entry.when())) }
        }
    }
}
