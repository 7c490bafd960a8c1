//! The colours in question for the owner: the panel to be turned by hand, its pictures, and the colour once chosen.
//!
//! Given out here are the paints that a question names that was sent to the owner and not taken back, the paints
//! that they came from, and the recipe of the colour that was chosen. Nothing else of the car's paints.

use std::collections::BTreeSet;
use std::str::FromStr;

use axum::Extension;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use job::car::Car;
use job::colour::preview::Panel;
use job::paintwork::decided::{Since, car_colour, colour_questions};
use job::paintwork::preview::{self, Subject};
use job::question::{Question, Thread};
use job::what::What;
use maud::{Markup, html};

use super::{Visitor, frame};
use crate::colour::panel::asked::{Look, Paint};
use crate::colour::panel::drawn::{Easel, fields};
use crate::colour::swatches::CAUTION;
use crate::colour::{decided, panel};
use crate::fault::Fault;
use crate::layout::when;
use crate::questions::looks;
use crate::state::App;
use crate::typed::Typed;

/// The size of a panel to be turned, px.
const WIDTH: usize = 640;
const HEIGHT: usize = 360;
/// The largest picture that is drawn for an owner, px.
const LARGEST: [usize; 2] = [960, 720];
const SMALLEST: usize = 16;

/// A mark on an answer: this page may turn panels, and so may have the program's own script.
#[derive(Debug, Clone, Copy)]
pub(super) struct Turns;

/// The questions about the colour that the owner may see, as they were asked last.
fn asked(car: &Car) -> Vec<(usize, &Question)> {
    let seen = |thread: &Thread<'_>| !thread.is_withdrawn();
    let threads = colour_questions(car).into_iter().filter(seen);
    threads.filter_map(|thread| Some((thread.number, thread.asked()?.1))).filter(|(_, q)| q.is_of_colour()).collect()
}

/// Every paint that is given out.
fn given_out(car: &Car) -> BTreeSet<Subject> {
    let mut paints: BTreeSet<Subject> =
        asked(car).into_iter().flat_map(|(_, question)| looks::paints(car, question)).collect();
    if let Some(colour) = car_colour(car) {
        paints.extend([colour.recipe.0.seq, colour.now.0.seq].map(Subject::Recipe));
    }
    paints
}

/// The paint that a field of the address names, if it is given out.
fn paint(car: &Car, typed: &Typed, field: &str) -> Result<Option<Subject>, Fault> {
    let text = typed.get(field);
    if text.is_empty() {
        return Ok(None);
    }
    // Whatever is not given out is not there, whether the shop has it or not.
    let missing = || Fault::NotFound("picture of your car");
    let subject = Subject::from_str(text).map_err(|_| missing())?;
    if given_out(car).contains(&subject) { Ok(Some(subject)) } else { Err(missing()) }
}

/// How it is looked at. Primers and coats are the shop's to try.
fn look(typed: &Typed) -> Result<Look, Fault> {
    Ok(Look { over: None, less: false, ..Look::read(typed)? })
}

fn side(typed: &Typed, field: &str, usual: usize, most: usize) -> Result<usize, Fault> {
    match typed.get(field) {
        "" => Ok(usual),
        text => {
            let wrong = || Fault::Bad(format!("A picture is drawn with {SMALLEST} to {most} pixels a side."));
            text.parse().ok().filter(|side| (SMALLEST..=most).contains(side)).ok_or_else(wrong)
        }
    }
}

/// A picture of the panel.
pub(crate) async fn png(
    State(app): State<App>,
    visitor: Visitor,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Response, Fault> {
    let (typed, car) = (fields(&pairs), visitor.guest.car.clone());
    let left = paint(&car, &typed, "what")?.ok_or(Fault::NotFound("picture of your car"))?;
    let right = paint(&car, &typed, "with")?.unwrap_or(left);
    let look = look(&typed)?;
    let size = [side(&typed, "w", WIDTH, LARGEST[0])?, side(&typed, "h", HEIGHT, LARGEST[1])?];
    let bytes = Easel::with(&app, &car, move |easel| looks::draw(easel, [left, right], &look, size)).await?;
    Ok(([(header::CONTENT_TYPE, "image/png")], bytes).into_response())
}

/// A paint in a light, as the island reads it.
pub(crate) async fn sphere(
    State(app): State<App>,
    visitor: Visitor,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Response, Fault> {
    let (typed, car) = (fields(&pairs), visitor.guest.car.clone());
    let subject = paint(&car, &typed, "what")?.ok_or(Fault::NotFound("picture of your car"))?;
    let look = look(&typed)?;
    let work = move |easel: &Easel| {
        let painted = easel.paint(&Paint::Entry(subject), &look, &Typed::default())?;
        Ok(preview::sphere_bytes(&painted.sphere))
    };
    Ok(([(header::CONTENT_TYPE, "application/octet-stream")], Easel::with(&app, &car, work).await?).into_response())
}

/// The panel's shape.
pub(crate) async fn mesh(_visitor: Visitor) -> Response {
    ([(header::CONTENT_TYPE, "application/octet-stream")], preview::mesh_bytes(Panel::usual())).into_response()
}

/// One paint on the page.
struct Shown {
    subject: Subject,
    name: String,
    /// Its letter, for a recipe in question.
    key: Option<String>,
}

/// The paints of a question, or of the chosen colour while none is asked: what was liked first.
fn shown(car: &Car, number: Option<usize>) -> Vec<Shown> {
    let questions = asked(car);
    let question = questions.iter().find(|(n, _)| Some(*n) == number).or(questions.last());
    let measured = |seq: u64| match &car.entry(seq)?.what {
        What::Measured(measured) => Some(measured.name.clone()),
        _ => None,
    };
    let Some((_, question)) = question else { return Vec::new() };
    let option = |seq: u64| {
        question.options.iter().find(|option| looks::recipe(car, option).is_some_and(|(entry, _)| entry.seq == seq))
    };
    let paints = looks::paints(car, question).into_iter().filter_map(|subject| {
        let seq = subject.seq();
        Some(match option(seq) {
            Some(option) => Shown { subject, name: option.title.clone(), key: Some(option.key.clone()) },
            None => Shown { subject, name: measured(seq)?, key: None },
        })
    });
    paints.collect()
}

/// The page on which the panels are turned by hand; without scripts a form draws the pictures anew.
pub(crate) async fn page(
    State(app): State<App>,
    visitor: Visitor,
    Path(_): Path<String>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<impl IntoResponse, Fault> {
    let typed = fields(&pairs);
    let car = visitor.car();
    let look = look(&typed)?;
    let number = typed.get("question").parse().ok();
    let paints = shown(car, number);
    if paints.is_empty() {
        return Err(Fault::NotFound("colour in question"));
    }
    visitor.opened(&app, "the turning panels").await;
    let liked = paints.iter().find(|one| one.key.is_none()).map(|one| one.subject);
    let split = liked.filter(|_| typed.is("split", "1"));
    let figures = paints.iter().filter(|one| split.is_none_or(|liked| one.subject != liked));
    Ok((
        Extension(Turns),
        frame::turning(
            car,
            "Turn the panels",
            "Each colour on the same piece of a door. Turn it, and see what light does to it.",
            html! {
                p { a.btn href={ (visitor.to("")) @if let Some(number) = number { "#q" (number) } } { "Back to your page" } }
                @if split.is_some() { p { "On every panel, left: " b { "the paint that was liked" } ". Right: the colour named below." } }
                div.panels { @for one in figures { (figure(&visitor, one, split, &look)) } }
                (controls(&visitor, &look, liked.is_some(), split.is_some(), number))
                (looks::reading())
                (crate::colour::check_screen())
            },
        ),
    ))
}

fn figure(visitor: &Visitor, one: &Shown, split: Option<Subject>, look: &Look) -> Markup {
    let sphere = |subject: Subject| visitor.to(&format!("/colour/sphere.bin?what={subject}&{}", look.lit()));
    let (left, right) = (split.unwrap_or(one.subject), split.map(|_| one.subject));
    let with = right.map(|right| format!("&with={right}")).unwrap_or_default();
    let picture = visitor.to(&format!("/colour/panel.png?what={left}{with}&{}&w={WIDTH}&h={HEIGHT}", look.query()));
    let light = look.scene.words().to_lowercase();
    html! {
        figure.panel data-panel data-mesh=(visitor.to("/colour/mesh.bin")) data-sphere=(sphere(left))
            data-sphere-right=[right.map(sphere)] data-turn=(look.turn) data-tilt=(look.tilt) data-mark[look.mark] {
            img src=(picture) width=(WIDTH) height=(HEIGHT) alt={ (one.name) " on a curved panel, " (light) ", " (look.words()) };
            figcaption {
                @match &one.key {
                    Some(key) => b { (key) ". " (one.name) ". " },
                    None => { b { "The paint that was liked" } ": " (one.name) ". " }
                }
                (CAUTION)
            }
        }
    }
}

fn controls(visitor: &Visitor, look: &Look, liked: bool, split: bool, number: Option<usize>) -> Markup {
    html! {
        form #turn-it.panel-controls.tray method="get" action=(visitor.to("/colour")) data-panel-controls {
            @if let Some(number) = number { input type="hidden" name="question" value=(number); }
            (panel::hands(look))
            @if liked { label.pick { input type="checkbox" name="split" value="1" checked[split]; span { b { "The paint that was liked on the left half of each" } } } }
            (panel::show())
        }
    }
}

/// The way to the turning panels, beside a question.
pub(super) fn to_the_panels(visitor: &Visitor, number: usize) -> Markup {
    html! { p { a.btn.wide href=(visitor.to(&format!("/colour?question={number}"))) { "Turn the panels by hand" } } }
}

/// The colour that was chosen, once it was.
pub(super) fn yours(app: &App, visitor: &Visitor) -> Markup {
    let car = visitor.car();
    let Some(colour) = car_colour(car) else { return html! {} };
    let corrected = colour.now.0.seq != colour.recipe.0.seq;
    html! {
        section #your-colour {
            h2 { "Your colour" }
            p { b { (colour.choice.title) } ", chosen on " (when(app, colour.decided)) "." }
            dl.facts {
                div { dt { "Recipe" } dd { (colour.recipe.1.name) @if corrected { "; mixed as " (colour.now.1.name) ", corrected from sprayed cards so that it comes nearer" } } }
                div { dt { "Primer below it" } dd { (colour.primer) } }
                div { dt { "Card" } dd { @match colour.card { Some((_, card)) => (card.name), None => "none was sprayed when you chose" } } }
            }
            @if colour.since == Since::Corrected { p.note { "The shop has corrected the recipe in its record since you chose it." } }
            @if colour.since == Since::TakenOut { p.note.stop { "The shop has taken this recipe out of its record since you chose it, and has to ask you again." } }
            @if !colour.serves.is_empty() {
                p { b { "What it is for" } }
                ul.plain-list { @for line in decided::serves_lines(car, &colour.serves) { li { (line) } } }
            }
            @if !asked(car).is_empty() { (to_the_panels(visitor, colour.number)) }
        }
    }
}

/// Whether a question about the colour waits for the owner: then the page lies on neutral grey.
pub(super) fn is_asked(threads: &[&Thread<'_>]) -> bool {
    threads.iter().filter_map(|thread| thread.asked()).any(|(_, question)| question.is_of_colour())
}
