//! Photographs for the owner: those that have a place, by place and stage.

use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use job::car::Entry;
use job::ids::Hash;
use job::question::Thread;
use job::validate::{body, instance};
use job::what::Photograph;
use maud::{Markup, html};
use serde::Deserialize;

use super::{Visitor, frame};
use crate::fault::Fault;
use crate::questions;
use crate::shell::upper;
use crate::state::App;

/// How many photographs stand on one page.
const ON_A_PAGE: usize = 48;

/// The photographs that have a place, in the order of the body, then of the stages.
fn placed(visitor: &Visitor) -> Vec<(String, &Entry, &Photograph)> {
    let car = visitor.car();
    let order = |zone: &str| body(&car.details).and_then(|b| b.instances().iter().position(|i| i.id == zone));
    let mut placed: Vec<_> = car
        .photographs()
        .filter_map(|(entry, photo)| {
            let zone = photo.zone.as_deref()?;
            Some((instance(&car.details, zone)?.name(), order(zone), entry, photo))
        })
        .collect();
    placed.sort_by_key(|(_, order, entry, photo)| (*order, photo.stage, entry.seq));
    placed.into_iter().map(|(name, _, entry, photo)| (name, entry, photo)).collect()
}

/// One line on the owner's page.
pub(super) fn summary(visitor: &Visitor) -> Markup {
    let placed = placed(visitor);
    let mut places: Vec<&str> = placed.iter().map(|(name, ..)| name.as_str()).collect();
    places.dedup();
    html! {
        @if !placed.is_empty() {
            section {
                h2 { "Photographs" }
                p { (placed.len()) @if placed.len() == 1 { " photograph" } @else { " photographs" } " of " (places.len()) @if places.len() == 1 { " place" } @else { " places" } " on your car, each with its stage and date." }
                p { a.btn.wide href=(visitor.to("/photographs")) { "See the photographs" } }
            }
        }
    }
}

#[derive(Deserialize)]
pub(crate) struct Ask {
    #[serde(default)]
    from: usize,
}

/// All of them, so many on a page.
pub(crate) async fn page(State(app): State<App>, visitor: Visitor, Query(ask): Query<Ask>) -> Result<Markup, Fault> {
    visitor.opened(&app, "the owner's photographs").await;
    let placed = placed(&visitor);
    let shown: Vec<_> = placed.iter().skip(ask.from).take(ON_A_PAGE).collect();
    let mut groups: Vec<(&str, Vec<Markup>)> = Vec::new();
    for (name, entry, photo) in shown {
        let figure = super::photograph(&app, &visitor, entry, photo).await?;
        match groups.last_mut() {
            Some((last, figures)) if *last == name.as_str() => figures.push(figure),
            _ => groups.push((name, vec![figure])),
        }
    }
    let next = ask.from.saturating_add(ON_A_PAGE);
    let says = match placed.len() {
        0 => "There are none with a place yet.".to_string(),
        n => format!("{n} in all, by place on the car and by stage. Touch one to see it large."),
    };
    Ok(frame::page(
        visitor.car(),
        "Photographs",
        &says,
        html! {
            p { a.btn href=(visitor.to("")) { "Back to your page" } }
            @for (name, figures) in &groups {
                section { h2 { (upper(name)) } div.thumbs { @for figure in figures { (figure) } } }
            }
            @if next < placed.len() { p { a.btn.wide href={ (visitor.to("/photographs")) "?from=" (next) } { "More photographs" } } }
            @if ask.from > 0 { p { a.btn.wide href={ (visitor.to("/photographs")) "?from=" (ask.from.saturating_sub(ON_A_PAGE)) } { "Earlier photographs" } } }
        },
    ))
}

/// A picture of a photograph of this car that has a place, or that stands with a question that was sent; no other is
/// given out here.
pub(crate) async fn picture(
    State(app): State<App>,
    visitor: Visitor,
    Path((_, hash)): Path<(String, Hash)>,
) -> Result<Response, Fault> {
    let car = visitor.car();
    let is = |photo: &Photograph| photo.picture == hash || photo.thumb == hash;
    let placed = car.photographs().any(|(_, photo)| photo.zone.is_some() && is(photo));
    // A photograph of a card has no place; it goes with the question that it was sent with.
    let asked = |thread: &Thread<'_>| {
        let (_, question) = thread.asked().filter(|_| !thread.is_withdrawn())?;
        Some(questions::photographs(car, question).into_iter().any(|(_, photo)| is(photo)))
    };
    if !placed && !car.threads().iter().filter_map(asked).any(|named| named) {
        return Err(Fault::NotFound("picture of your car"));
    }
    let bytes = app.shop.blob(hash).await?.ok_or(Fault::NotFound("file of this photograph any more"))?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg")], bytes.to_vec()).into_response())
}
