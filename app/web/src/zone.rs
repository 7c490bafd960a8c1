//! One zone: where it is, what is known, everything written about it.

use std::collections::BTreeMap;

use axum::extract::{Path, Query, State};
use jiff::SignedDuration;
use job::car::{Car, Entry};
use job::ids::CarId;
use job::validate::{body, instance, zone_of};
use job::what::{Photograph, What};
use job::worked::Part;
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::drawing::{self, Drawn, Numbered};
use crate::fault::Fault;
use crate::layout::{CarPage, Deed, Ground, Sheet, when};
use crate::next::hours;
use crate::shell::upper;
use crate::state::App;
use crate::{entries, link};

/// The entry that was just kept.
#[derive(Deserialize)]
pub(crate) struct After {
    kept: Option<u64>,
}

/// The page of a zone.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path((id, zone)): Path<(CarId, String)>,
    Query(after): Query<After>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let place = instance(&car.details, &zone).ok_or(Fault::NotFound("zone of this car"))?;
    let view = body(&car.details).and_then(|b| b.best_view(&zone));
    let known = app.shop.catalogue().zone(zone_of(&zone));
    let photos = photographs(&car, &zone);
    let add = |kind: &str| format!("{}/add?zone={zone}&kind={kind}#{kind}", link::shell(id));
    let marks: Vec<Numbered> = photos
        .iter()
        .filter_map(|(number, _, photo)| {
            let mark = photo.mark.as_ref().filter(|m| view.is_some_and(|v| v.id == m.view))?;
            Some(Numbered { number: *number, u_mm: mark.u_mm, v_mm: mark.v_mm })
        })
        .collect();
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::Shell,
        title: &upper(&place.name()),
        says: &upper(&format!("{}.", car.state(&zone).words())),
        legend: true,
        deed: Deed::Go(add("look"), "Add"),
    };
    Ok(page.draw(html! {
        (entries::flash(&app, &car, after.kept))
        @if let Some(thread) = car.waits_for(&zone) {
            div.wait { p { b { "Work here waits for the owner. " } a href=(link::question(id, thread.number)) { "Question " (thread.number) } ": " (crate::questions::stands(&app, &car, &thread)) } }
        }
        p.row.no-print {
            a.btn.main href=(add("look")) { "Add a look" }
            a.btn href=(add("reading")) { "Add a reading" }
            a.btn href=(add("photograph")) { "Add a photograph" }
            a.btn href=(add("opened")) { "Opened, and found" }
            a.btn href=(add("made-good")) { "Made good" }
            a.btn href=(add("worked")) { "Hours worked" }
            @if access.role.may(job::person::Deed::Manage) && car.waits_for(&zone).is_none() && matches!(car.state(&zone), job::car::ZoneState::Bad(_)) {
                a.btn href={ (link::shell(id)) "/questions/new?zone=" (zone) } { "Ask the owner" }
            }
        }
        @if let Some(view) = view { (drawing::map(view, &Drawn { car: &car, on: Some(&zone), marks: &marks, links: true })) }
        @if !photos.is_empty() {
            section {
                h2 { "Photographs" }
                ul.thumbs { @for (number, entry, photo) in &photos { li { (figure(&app, &car, *number, entry, photo)) } } }
            }
        }
        @if let Some(parts) = car.worked_by_zone().get(&Some(zone.as_str())) { (worked(parts)) }
        section {
            h2 { "What was written" }
            @if car.about(&zone).next().is_none() {
                div.wait { p { "Nobody has written about this zone. It stays dashed until somebody looks." } }
            } @else {
                ol.stack { @for entry in car.about(&zone).rev() { li { (row(&app, &car, entry)) } } }
            }
        }
        @if let Some(known) = known { (trade(known)) }
    }))
}

/// Hours that were worked on it, by part.
fn worked(parts: &BTreeMap<Part, f64>) -> Markup {
    html! {
        section {
            h2 { "Hours worked on it" }
            dl.facts {
                @for (part, h) in parts { div { dt { (part.words()) } dd { (hours(*h)) } } }
                @if parts.len() > 1 { div { dt { "Together" } dd { (hours(parts.values().sum())) } } }
            }
        }
    }
}

/// What the catalogue says of a zone of every car.
fn trade(known: &job::catalogue::Zone) -> Markup {
    html! {
        section {
            h2 { "What the trade says of it" }
            p.small.soft { "Starting guesses of this shop's catalogue, for every car of the kind; not findings on this one." }
            dl.facts {
                div { dt { "In the way" } dd { (known.remove_to_see) } }
                div { dt { "New wall, usual" } dd { (known.gauge_mm.low) " to " (known.gauge_mm.high) " mm" } }
                div { dt { "Carries load" } dd { (class_words(known.structural_class)) } }
            }
            p { (upper(&known.mechanism)) "." }
            @if known.structural_class == job::catalogue::StructuralClass::S1 {
                p.note { "This zone carries load. Plan the order with a competent person and check local rules before cutting or welding." }
            }
            @if !known.hazard_note.is_empty() { p.note { (upper(&known.hazard_note)) "." } }
        }
    }
}

/// A structural class in words.
pub(crate) fn class_words(class: job::catalogue::StructuralClass) -> &'static str {
    use job::catalogue::StructuralClass::{S1, S2, S3};
    match class {
        S1 => "yes: main load path",
        S2 => "some",
        S3 => "skin only",
    }
}

fn photographs<'a>(car: &'a Car, zone: &str) -> Vec<(usize, &'a Entry, &'a Photograph)> {
    car.photographs()
        .enumerate()
        .filter(|(_, (_, photo))| photo.zone.as_deref() == Some(zone))
        .map(|(n, (entry, photo))| (n + 1, entry, photo))
        .collect()
}

/// A small picture with its number, place, stage, date and person.
pub(crate) fn figure(app: &App, car: &Car, number: usize, entry: &Entry, photo: &Photograph) -> Markup {
    html! {
        figure.photo {
            a href=(link::picture(car.id, photo.picture)) {
                img src=(link::picture(car.id, photo.thumb)) alt=(photo.caption) loading="lazy"
                    width=(photo.width_px.min(480)) height=(thumb_height(photo));
            }
            figcaption {
                b { (number) } " " (photo.caption) br;
                span.soft {
                    (photo.side.words()) ", " (photo.stage.words()) ", " (entry.by.name) ", " (when(app, entry.when())) " "
                    a.touch href=(link::entry(car.id, entry.seq)) { "entry " (entry.seq) }
                }
            }
        }
    }
}

fn thumb_height(photo: &Photograph) -> u32 {
    let (w, h) = (u64::from(photo.width_px.max(1)), u64::from(photo.height_px));
    u32::try_from(h * w.min(480) / w).unwrap_or(360)
}

/// One entry as a row, struck through when it no longer counts.
pub(crate) fn row(app: &App, car: &Car, entry: &Entry) -> Markup {
    let limit = match &entry.what {
        What::Read(reading) => reading.limit.as_ref().map(|l| (reading.quantity.show(l.value), l.source.clone())),
        _ => None,
    };
    html! {
        div.entry.gone[!entry.counts()] {
            p {
                a.touch href=(link::entry(car.id, entry.seq)) { b { (entry.seq) } }
                " " b { (entry.what.kind_words()) }
                @if entry.what.say() != entry.what.kind_words() {
                    ": " @if entry.counts() { (entry.what.say()) } @else { s { (entry.what.say()) } }
                }
            }
            @if !entry.what.note().is_empty() { p { (upper(entry.what.note())) } }
            @if let Some((value, source)) = limit { p.small { "Judged against " (value) ", " (source) "." } }
            p.soft.small {
                (entry.by.name) ", " (when(app, entry.when()))
                @if let Some(place) = place(car, entry) { ", " (place) }
                @if let What::Read(reading) = &entry.what { ", with " (reading.instrument) }
                @if let Some(by) = entry.superseded_by { ". Superseded by " a.touch href=(link::entry(car.id, by)) { "entry " (by) } "." }
                @else if entry.corrects.is_some() { ". Corrects entry " (entry.corrects.unwrap_or_default()) "." }
                @if waited(entry) { ". It waited on the device until " (when(app, entry.at)) "." }
            }
        }
    }
}

/// Whether an entry waited for a signal: a form sent at once is under way for a moment too.
fn waited(entry: &Entry) -> bool {
    entry.noted.is_some_and(|noted| entry.at.duration_since(noted) > SignedDuration::from_mins(2))
}

/// The zone an entry is about, in words.
pub(crate) fn place(car: &Car, entry: &Entry) -> Option<String> {
    entry.what.zone().and_then(|zone| instance(&car.details, zone)).map(|i| i.name())
}
