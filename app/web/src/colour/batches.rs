//! Batches by part of the car: what went where, its cards, lots and keep-sample, and how far it drifted.

mod drift;
pub(super) mod form;
mod put_right;

use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use job::car::Car;
use job::ids::CarId;
use job::mixing::Mixed;
use job::paintwork::{self, Batch, Told};
use job::person::Deed;
use job::validate::FieldError;
use maud::{Markup, html};

use super::{Part, cards, decided};
use crate::access::Access;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when};
use crate::shell::upper;
use crate::state::App;
use crate::typed::Typed;
use crate::{entries, field, link};

pub(crate) use put_right::put_right;

/// The page of all batches.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let mut typed = Typed::from_pairs(pairs.iter().take(100).map(|(name, value)| (name.as_str(), value.clone())));
    if !typed.get("corrects").is_empty() {
        put_right::refill(&car, &mut typed)?;
    }
    draw(&app, &access, &car, &typed, &[])
}

/// The page again, with what is wrong.
fn refused(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Result<Response, Fault> {
    Ok((StatusCode::UNPROCESSABLE_ENTITY, draw(app, access, car, typed, errors)?).into_response())
}

fn draw(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Result<Markup, Fault> {
    let batches = paintwork::batches(car);
    let parts = paintwork::batches_by_part(car);
    let may = access.role.may(Deed::Write);
    let says = match batches.len() {
        0 => "No batch has been weighed out for this car.".to_owned(),
        1 => "One batch was weighed out.".to_owned(),
        n => format!("{n} batches were weighed out, for {} parts of the car.", parts.len()),
    };
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: "Batches",
        says: &says,
        legend: false,
        deed: Bar::Go(link::colour(car.id, "pour"), "Weigh out"),
    };
    let put_right = put_right::form(access, car, typed, errors)?;
    let shown: &[&str] = if put_right.is_some() { &put_right::FIELDS } else { &[] };
    let errors = &field::at_their_place(errors, shown);
    let beside = drift::two(car, typed)?;
    Ok(page.draw(html! {
        (super::parts(car.id, Part::Batches))
        (entries::flash(app, car, typed.get("kept").parse().ok()))
        (field::problems(errors))
        (decided::waits(app, car))
        @if let Some(form) = put_right { (form) }
        @if batches.is_empty() {
            div.wait.stack {
                p { "A batch is kept at the end of a pour: what went in, from which tins, and for which parts." }
                p { a.btn.main href=(link::colour(car.id, "pour")) { "Weigh out a recipe" } }
            }
        } @else { (by_part(&batches, &parts)) }
        @for batch in batches.iter().rev() { (one(app, car, batch, may)) }
        (drift::drifts(app, car))
        (masters(app, car))
        (cards::all(app, car))
        (beside)
    }))
}

fn by_part(batches: &[Batch<'_>], parts: &[(String, Vec<usize>)]) -> Markup {
    let anchor = |number: usize| batches.iter().find(|b| b.number == number).map_or(0, |b| b.entry.seq);
    html! {
        section {
            h2 { "Where each batch went" }
            table {
                thead { tr { th scope="col" { "Part of the car" } th scope="col" { "Batch" } } }
                tbody {
                    @for (part, numbers) in parts {
                        tr {
                            th scope="row" { (upper(part)) }
                            td { @for (n, number) in numbers.iter().enumerate() { @if n > 0 { ", " } a.touch href={ "#batch-" (anchor(*number)) } { "batch " (number) } } }
                        }
                    }
                }
            }
        }
    }
}

fn one(app: &App, car: &Car, batch: &Batch<'_>, may: bool) -> Markup {
    let Batch { entry, mixed, recipe, .. } = batch;
    html! {
        section id={ "batch-" (entry.seq) } {
            h2 { "Batch " (batch.number) }
            (facts(app, car, batch))
            details {
                summary { "What went in, and its lots" }
                (poured(&format!("Batch {}", batch.number), mixed))
                @for (added, what) in &batch.additions { (poured(&format!("Added {}", when(app, added.when())), what)) }
            }
            @if !mixed.note.is_empty() { p { (mixed.note) } }
            @for (added, what) in &batch.additions {
                p.small { (when(app, added.when())) ": " (added.what.say()) ". " (what.note) " " a.touch href=(link::entry(car.id, added.seq)) { "Entry " (added.seq) } }
            }
            @if batch.cards.is_empty() { p { b { "No card was sprayed from it." } } }
            @else { h3 { "Its cards" } @for (card_entry, card) in &batch.cards { div.entry { p { b { (card.name) } } (cards::facts(app, car, card_entry, card)) } } }
            p.row.no-print {
                @if may {
                    a.btn href={ (link::colour(car.id, "cards")) "?batch=" (entry.seq) "&then=batches#import" } { "Check the keep-sample now" }
                    @if let Some((recipe, _)) = recipe { a.btn href={ (link::colour(car.id, "pour")) "?recipe=" (recipe.seq) "&into=" (entry.seq) } { "Add to this pot" } }
                    a.btn href={ (link::colour(car.id, "batches")) "?corrects=" (entry.seq) "#correct" } { "Correct this" }
                }
                a.touch href=(link::entry(car.id, entry.seq)) { "Entry " (entry.seq) }
            }
        }
    }
}

fn facts(app: &App, car: &Car, batch: &Batch<'_>) -> Markup {
    let Batch { entry, mixed, recipe, .. } = batch;
    let parts: Vec<String> = mixed.parts_of_car.iter().map(|part| paintwork::part_words(car, part)).collect();
    html! {
        dl.facts {
            div { dt { "For" } dd { (parts.join(", ")) } }
            div { dt { "Recipe" } dd {
                @match recipe {
                    Some((recipe, named)) => a.touch href={ (link::colour(car.id, "recipes")) "/" (recipe.seq) } { (named.name) },
                    None => "taken out of the record",
                }
            } }
            div { dt { "Mixed" } dd { (when(app, entry.when())) ", " (entry.by.name) } }
            div { dt { "In the pot" } dd { (format!("{:.1}", batch.pot_g().iter().map(|(_, grams)| grams).sum::<f64>())) " g" } }
            div { dt { "Keep-sample" } dd { @if mixed.retained.is_empty() { "none kept" } @else { (mixed.retained) } } }
            div { dt { "Shift by what was poured" } dd { (format!("{:.2}", mixed.shift_de00)) " CIEDE2000, predicted" } }
        }
    }
}

fn poured(caption: &str, mixed: &Mixed) -> Markup {
    html! {
        div.scroll tabindex="0" role="group" aria-label=(caption) {
            table {
                caption { (caption) }
                thead { tr { th scope="col" { "Toner" } th.r scope="col" { "wanted" } th.r scope="col" { "went in" } th scope="col" { "lot" } } }
                tbody {
                    @for step in &mixed.steps {
                        tr {
                            th scope="row" { (upper(&step.toner)) }
                            td.r { (format!("{:.2}", step.wanted_g)) " g" }
                            td.r { @match step.poured_g { Some(grams) => { (format!("{grams:.2}")) " g" } None => "as wanted" } }
                            td { @if step.lot.is_empty() { "not noted" } @else { (step.lot) } }
                        }
                    }
                }
            }
        }
    }
}

fn masters(app: &App, car: &Car) -> Markup {
    let masters = paintwork::masters(car);
    html! {
        @if !masters.is_empty() {
            section {
                h2 { "Sealed master cards" }
                table {
                    thead { tr { th scope="col" { "Card" } th scope="col" { "Kept" } th scope="col" { "Measured" } } }
                    tbody { @for (entry, card, place) in &masters { tr { th scope="row" { a href=(link::entry(car.id, entry.seq)) { (card.name) } } td { (place) } td { (when(app, entry.when())) } } } }
                }
                p.small { "Kept dark and dry, a card stays what it was; measure it again before it is used to judge a batch months later (common practice, no source)." }
            }
        }
    }
}

/// The batch at a place of the record, if one stands there.
pub(super) fn at<'a>(car: &'a Car, seq: &str) -> Result<Told<'a, Mixed>, Fault> {
    let entry = seq.parse().ok().and_then(|seq| car.entry(seq)).ok_or(Fault::NotFound("batch"))?;
    match &entry.what {
        job::what::What::Mixed(mixed) => Ok((entry, mixed)),
        _ => Err(Fault::NotFound("batch")),
    }
}
