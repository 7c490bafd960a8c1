//! One question on the owner's page: what was found, where, what can be done, and the answer.

use job::ask;
use job::ids::EntryId;
use job::question::{Question, RangeSaid, Thread};
use job::shop::digest;
use job::validate::FieldError;
use maud::{Markup, html};

use super::{Beside, Visitor, said};
use crate::fault::Fault;
use crate::layout::when;
use crate::questions::{self, looks, options, place};
use crate::state::App;
use crate::{field, typed::Typed};

/// How many of its photographs stand beside a question at once; the rest are behind one touch.
const PICTURES: usize = 2;

static BLANK: std::sync::LazyLock<Typed> = std::sync::LazyLock::new(Typed::default);

/// The question with its form; filled with what was typed when it comes back.
pub(super) async fn form(
    app: &App,
    visitor: &Visitor,
    thread: &Thread<'_>,
    range: RangeSaid,
    beside: &Beside<'_>,
) -> Result<Markup, Fault> {
    let car = visitor.car();
    let Some((asked, question)) = thread.asked() else { return Ok(html! {}) };
    let number = thread.number;
    let shown = ask::beside(car, question, range);
    let back = beside.back == Some(number);
    let (typed, errors): (&Typed, &[FieldError]) =
        if back { (beside.typed.unwrap_or(&BLANK), beside.errors) } else { (&BLANK, &[]) };
    let stands = thread.answer();
    let mut pictures = Vec::new();
    for (entry, photo) in questions::photographs(car, question) {
        pictures.push(super::photograph(app, visitor, entry, photo).await?);
    }
    let scale_h = options::scale(question);
    let of_colour = question.is_of_colour();
    let from = |seen: looks::Seen| Some(visitor.to(&format!("/colour/panel.png?{}", seen.query())));
    let id = |what: &str| format!("{what}-{number}");
    Ok(html! {
        section id={ "q" (number) } {
            h2 { (question.ask) }
            @if let Some((entry, answer)) = stands {
                p.note { "Your answer of " (when(app, entry.at)) " was: " b { (said(answer)) } ". It stays on record. What you choose now stands instead." }
            }
            p { (question.found) }
            @if of_colour {
                (looks::reading())
                @if !pictures.is_empty() { h3 { "Photographs of the cards" } div.two { @for picture in pictures.iter().take(PICTURES) { (picture) } } }
            } @else {
                div.two {
                    div.stack { @for picture in pictures.iter().take(PICTURES) { (picture) } }
                    (place::figure(car, &question.zones))
                }
            }
            @if pictures.len() > PICTURES {
                details { summary { @if pictures.len() == PICTURES + 1 { "One more photograph of it" } @else { (pictures.len() - PICTURES) " more photographs of it" } } div.stack { @for picture in &pictures[PICTURES..] { (picture) } } }
            }
            @if of_colour { (looks::liked(car, question, &from)) (super::colour::to_the_panels(visitor, number)) }
            form.stack-l id=(id("answer")) method="post" action=(visitor.to("/answer")) enctype="multipart/form-data" {
                @if back { (field::problems(errors)) }
                input type="hidden" name="entry" value=(EntryId::fresh());
                input type="hidden" name="number" value=(number);
                input type="hidden" name="question" value=(asked.id);
                input type="hidden" name="seen" value=(car.count);
                input type="hidden" name="shown" value=(digest(&shown));
                @if let Some((entry, _)) = stands { input type="hidden" name="changes" value=(entry.id); }
                (field::complaint("question", errors))
                fieldset {
                    legend { "Choose one" }
                    (field::complaint("choice", errors))
                    div.picks.opts {
                        @for option in &question.options {
                            div.opt.stack {
                                label.pick {
                                    input type="radio" name="choice" value=(option.key) checked[typed.get("choice") == option.key];
                                    span { b { (option.key) ". " (option.title) } }
                                }
                                @if of_colour { (looks::option(car, question, option, &from)) }
                                (options::body(option, &shown.money, scale_h))
                            }
                        }
                        div.opt.stack {
                            label.pick {
                                input type="radio" name="choice" value="none" checked[typed.get("choice") == "none"];
                                span { b { "None of these: please ring me" } }
                            }
                            p { @if of_colour { "The colour waits until we have talked." } @else { "The work there waits until we have talked." } }
                        }
                    }
                }
                (field::note_with_id(&id("words"), "words", "Anything to add? You may leave this empty.", "", typed.get("words"), errors))
                (questions::serves(car, question))
                (waits(question))
                button.main.wide { @if stands.is_some() { "Give this answer instead" } @else { "Give this answer" } }
                p.small.soft { "Your answer is kept with the date and exactly what this page shows you, hours and all. You can change your mind later; both answers stay on record." }
            }
        }
    })
}

fn waits(question: &Question) -> Markup {
    html! {
        div {
            p { b { "Please answer by " (question.by.strftime("%A %-d %B")) "." } @if question.is_of_colour() { " If you do not answer, no colour is mixed: silence is not a yes." } @else { " If you do not answer, we do not go on there: silence is not a yes." } }
            @if !question.waits.is_empty() {
                p { "Until then this waits:" }
                ul.plain-list { @for line in &question.waits { li { (line) } } }
            }
        }
    }
}
