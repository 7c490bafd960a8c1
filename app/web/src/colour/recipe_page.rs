//! One kept recipe: what it is to look like beside what it will, its toners, how it came about, where it goes on.

use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use job::car::{Car, Entry};
use job::ids::CarId;
use job::mixing::{BriefEdit, Formulated};
use job::paintwork::{self, briefs, engine};
use job::what::What;
use maud::{Markup, html};
use serde::Deserialize;

use super::found::{percent, shares, toners};
use super::recipes::nearness;
use super::swatches::{self, CAUTION, degrees, one_place};
use super::{Part, era, parts, signed};
use crate::access::Access;
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when};
use crate::state::App;
use crate::{entries, link};

#[derive(Deserialize)]
pub(crate) struct After {
    kept: Option<u64>,
}

fn find(car: &Car, seq: u64) -> Result<(&Entry, &Formulated), Fault> {
    let entry = car.entry(seq).ok_or(Fault::NotFound("recipe"))?;
    match &entry.what {
        What::Formulated(recipe) => Ok((entry, recipe)),
        _ => Err(Fault::NotFound("recipe")),
    }
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path((id, seq)): Path<(CarId, u64)>,
    Query(after): Query<After>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let (entry, recipe) = find(&car, seq)?;
    let era = then(&app, &car, recipe).await;
    let by_angle = recipe.by_angle.iter().filter_map(|fit| Some((fit.geometry.parse().ok()?, fit.d65)));
    let says = format!("{}, {}", toners(recipe.parts.len()), nearness(recipe.mean_de00, by_angle));
    let go = |page: &str| format!("{}?recipe={seq}", link::colour(id, page));
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: &recipe.name,
        says: &says,
        legend: false,
        deed: Bar::Go(go("pour"), "Pour"),
    };
    Ok(page.draw(html! {
        (parts(id, Part::Recipes))
        (entries::flash(&app, &car, after.kept))
        @if let Some(by) = entry.superseded_by {
            p.note { "This recipe no longer counts: see " a.touch href=(link::entry(id, by)) { "entry " (by) } "." }
        }
        p.row.no-print {
            a.btn.main href=(go("pour")) { "Pour it" }
            a.btn href=(go("cards")) { "Its cards" }
            a.btn href={ (link::colour(id, "panel")) "?" (panel_query(&car, seq, recipe)) } { "On the panel" }
            a.btn href={ (link::recipe(id, seq)) "/recipe.json" } download { "As a file" }
        }
        (beside(&car, recipe))
        (mixture(&car, recipe))
        @if let Some(era) = &era { (era::block(era)) }
        (history(&app, &car, entry, recipe))
        @if !recipe.doubts.is_empty() {
            section { h2 { "Doubtful" } ul.plain-list { @for doubt in &recipe.doubts { li { (sentence(doubt)) } } } }
        }
    }))
}

/// Whether it would have looked right in the car's year; nothing where its toners cannot be read.
async fn then(app: &App, car: &Car, recipe: &Formulated) -> Option<job::era::Era> {
    let (_, shelved) = paintwork::shelf_of(car, recipe.shelf)?;
    let file = app.shop.shelf(shelved).await.ok()?;
    job::era::of_recipe(app.shop.catalogue(), &file, recipe, car.details.year).ok()
}

/// What is wanted beside what is predicted, under each light.
fn beside(car: &Car, recipe: &Formulated) -> Markup {
    let target = paintwork::target_of(car, recipe.target);
    let wish = briefs::wish_of_recipe(car, recipe).ok();
    let brief = recipe.briefed.and_then(|id| paintwork::brief_of(car, id));
    let predicted = engine::predicted(recipe).ok();
    html! {
        section {
            h2 { @if wish.is_some() { "Wish left, recipe right" } @else { "As it is predicted" } }
            @match (wish, predicted) {
                (Some(wanted), Some(predicted)) => {
                    @if let Some((entry, briefed)) = brief {
                        p { "For the brief " a.touch href=(link::brief(car.id, entry.seq)) { (briefed.name) } "." }
                    }
                    @if let Some((entry, measured)) = target {
                        p { "For " a.touch href={ (link::shell(car.id)) "/colour?m=" (entry.seq) } { (measured.name) } @if recipe.brief.is_plain() { ", as it was measured." } @else { ", changed:" } }
                    }
                    (changes(&recipe.brief.edits))
                    (swatches::pairs(&wanted.wish.target, &predicted, ["wish", "recipe"]))
                    (swatches::reading())
                }
                (None, Some(predicted)) => {
                    p.note { "The paint that it is to match was taken out of the record." }
                    (swatches::single(&predicted))
                    p.small { (CAUTION) }
                }
                (_, None) => p.note { "Its prediction cannot be read by this version of the program." },
            }
        }
    }
}

/// The recipe beside what it is for, as the panel is asked for them.
fn panel_query(car: &Car, seq: u64, recipe: &Formulated) -> String {
    let brief =
        recipe.briefed.and_then(|id| paintwork::brief_of(car, id)).map(|(entry, _)| format!("what=b{}&", entry.seq));
    let target = paintwork::target_of(car, recipe.target).map(|(entry, _)| format!("what=m{}&", entry.seq));
    format!("{}what=r{seq}", brief.or(target).unwrap_or_default())
}

/// What was wanted other than measured, in words.
fn changes(edits: &[BriefEdit]) -> Markup {
    let by = |value: f64, more: &str, less: &str| {
        (value != 0.0).then(|| format!("{} by {:.1}", if value > 0.0 { more } else { less }, value.abs()))
    };
    html! {
        @if !edits.is_empty() {
            ul.plain-list {
                @for edit in edits {
                    @let hue = (edit.dh_deg != 0.0).then(|| format!("hue turned by {}\u{b0}", signed(edit.dh_deg, 0)));
                    @let words: Vec<String> = [by(edit.dl, "lighter", "darker"), by(edit.dc, "stronger", "greyer"), hue].into_iter().flatten().collect();
                    li { @match edit.geometry.parse() { Ok(geometry) => (degrees(geometry)), Err(_) => (edit.geometry) } ": " (words.join(", ")) "." }
                }
            }
        }
    }
}

fn mixture(car: &Car, recipe: &Formulated) -> Markup {
    let shelf = paintwork::shelf_of(car, recipe.shelf);
    html! {
        section {
            h2 { "What it is" }
            div.two {
                (shares(recipe.parts.iter().map(|part| (part.toner.as_str(), part.fraction))))
                dl.facts {
                    div { dt { "Primer" } dd { (recipe.primer) } }
                    div { dt { "Coats" } dd { (recipe.coats) } }
                    div { dt { "Dry film of colour" } dd { (format!("{:.0}", recipe.film_um)) " \u{b5}m" } }
                    div { dt { "Toner in the film" } dd { (percent(recipe.load())) } }
                    div { dt { "Shelf" } dd {
                        @match shelf {
                            Some((entry, shelved)) => a.touch href={ (link::colour(car.id, "toners")) "?shelf=" (entry.seq) } { (shelved.name) },
                            None => "taken out of the record",
                        }
                    } }
                }
            }
            @if !recipe.note.is_empty() { p { (recipe.note) } }
        }
    }
}

/// From the first form of the recipe to the last, with the cards and batches of this one.
fn history(app: &App, car: &Car, entry: &Entry, recipe: &Formulated) -> Markup {
    let mut chain = paintwork::chain(car, entry.id);
    chain.extend(paintwork::corrections_of(car, entry.id));
    let cards = paintwork::cards_of(car, entry.id).len();
    let batches = paintwork::batches_of(car, entry.id).len();
    let count = |n: usize, one: &str, many: &str| match n {
        0 => format!("no {one}"),
        1 => format!("1 {one}"),
        n => format!("{n} {many}"),
    };
    html! {
        section {
            h2 { "How it came about" }
            @if chain.len() > 1 {
                ol.rows {
                    @for (step, formula) in &chain {
                        li {
                            @if step.seq == entry.seq { b { (formula.name) ", this one" } }
                            @else { a.touch href=(link::recipe(car.id, step.seq)) { (formula.name) } }
                            span.small { (when(app, step.when())) ", " (step.by.name) "; " (one_place(formula.mean_de00)) " from the wish" @if !formula.cards.is_empty() { ", after " (count(formula.cards.len(), "card", "cards")) } }
                        }
                    }
                }
            } @else if recipe.after.is_some() {
                p { "It corrects a recipe that was taken out of the record." }
            }
            p {
                "Kept " (when(app, entry.when())) ", " (entry.by.name) ": " a.touch href=(link::entry(car.id, entry.seq)) { "entry " (entry.seq) } ". "
                "Sprayed on " (count(cards, "card", "cards")) ", mixed in " (count(batches, "batch", "batches")) "."
            }
        }
    }
}

/// The recipe as the command line takes it.
pub(crate) async fn file(
    State(app): State<App>,
    _access: Access,
    Path((id, seq)): Path<(CarId, u64)>,
) -> Result<Response, Fault> {
    let car = app.shop.car(id).await?;
    let (_, recipe) = find(&car, seq)?;
    let mut text = serde_json::to_string_pretty(&engine::recipe_file(recipe))
        .map_err(|e| Fault::Internal(format!("the recipe could not be written: {e}")))?;
    text.push('\n');
    let head = [
        (header::CONTENT_TYPE, "application/json"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"RECIPE.json\""),
    ];
    Ok((head, text).into_response())
}
