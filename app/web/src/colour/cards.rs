//! Sprayed cards: measured and kept, held against what is wanted, and what they say of the recipe.

mod correction;
mod import;

use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use job::car::{Car, Entry};
use job::colour::card::drift;
use job::colour::{Illuminant, Measurement};
use job::ids::CarId;
use job::mixing::Carded;
use job::paintwork::{self, Told, engine};
use job::person::Deed;
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};

use super::formula::{self, Formula};
use super::{Part, parts, swatches};
use crate::access::Access;
use crate::fault::{Fault, sentence};
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when};
use crate::state::App;
use crate::typed::Typed;
use crate::{entries, field, link};

pub(crate) use correction::keep;
pub(crate) use import::{import, signed};

/// The page of one recipe's cards; without a recipe, of all cards.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let mut typed = Typed::from_pairs(pairs.iter().take(100).map(|(name, value)| (name.as_str(), value.clone())));
    if !typed.get("corrects").is_empty() {
        import::refill(&car, &mut typed)?;
    }
    draw(&app, &access, &car, &typed, &[]).await
}

/// The page again, with what is wrong.
async fn refused(
    app: &App,
    access: &Access,
    car: &Car,
    typed: &Typed,
    errors: &[FieldError],
) -> Result<Response, Fault> {
    let page = draw(app, access, car, typed, errors).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

/// The place of the recipe asked for: named, or the one that the batch asked for was mixed from.
fn recipe_asked(car: &Car, typed: &Typed) -> Result<Option<u64>, Fault> {
    let place = |name: &str, what: &'static str| match typed.get(name) {
        "" => Ok(None),
        text => text.parse::<u64>().map(Some).map_err(|_| Fault::NotFound(what)),
    };
    if let Some(recipe) = place("recipe", "recipe")? {
        return Ok(Some(recipe));
    }
    let Some(batch) = place("batch", "batch")? else { return Ok(None) };
    match car.entry(batch).map(|entry| &entry.what) {
        Some(What::Mixed(mixed)) => Ok(paintwork::recipe_of(car, mixed.recipe).map(|(entry, _)| entry.seq)),
        _ => Err(Fault::NotFound("batch")),
    }
}

async fn draw(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Result<Markup, Fault> {
    let asked = recipe_asked(car, typed)?;
    let only = || match paintwork::recipes(car)[..] {
        [(entry, _)] => Some(entry.seq),
        _ => None,
    };
    let formula = match asked.or_else(only) {
        Some(seq) => Some(Formula::find(app, car, seq).await?),
        None => None,
    };
    let kept = typed.get("kept").parse().ok();
    let may = access.role.may(Deed::Write);
    let Some(formula) = formula else {
        let says = match paintwork::cards(car).len() {
            0 => "No card has been kept for this car.",
            1 => "One card of this car is kept.",
            _ => "These cards of this car are kept.",
        };
        let deed = Bar::Go(link::colour(car.id, "recipes"), "Recipes");
        return Ok(sheet(app, access, car, says, deed).draw(html! {
            (parts(car.id, Part::Cards))
            (entries::flash(app, car, kept))
            (field::problems(&field::at_their_place(errors, &[])))
            (formula::chooser(car, "cards", None, "Its cards"))
            (all(app, car))
        }));
    };
    let cards = paintwork::cards_of(car, formula.entry.id);
    let wish = formula.wish(car)?;
    let correction = match typed.get("work") {
        "1" => Some(correction::work(app, &formula, wish.clone(), &cards, typed).await?),
        _ => None,
    };
    let says = says(&formula, &cards, &wish.target);
    let errors = &field::at_their_place(errors, if may { &import::FIELDS } else { &[] });
    let deed =
        if may { Bar::Go("#import".into(), "Import") } else { Bar::Go(link::colour(car.id, "batches"), "Batches") };
    Ok(sheet(app, access, car, &says, deed).draw(html! {
        (parts(car.id, Part::Cards))
        (entries::flash(app, car, kept))
        (field::problems(errors))
        @if paintwork::recipes(car).len() > 1 { (formula::chooser(car, "cards", Some(formula.entry.seq), "Its cards")) }
        @if let Some(done) = &correction { (correction::shown(access, car, &formula, done, typed, errors)) }
        @for card in cards.iter().rev() { (one(app, car, &formula, card, &wish.target)) }
        @if cards.is_empty() { div.wait { p { "Spray a card with the gun, grey and clear of the car, let it dry, measure it at every angle of the target, and import it here." } } }
        @else if may { (correction::ask(car, &formula, &cards, typed)) }
        @if may { (import::form(access, car, &formula, typed, errors)) }
        p.row.no-print {
            a.btn href={ (link::colour(car.id, "recipes")) "/" (formula.entry.seq) } { "The recipe" }
            a.btn href={ (link::colour(car.id, "pour")) "?recipe=" (formula.entry.seq) } { "Weigh it out" }
            a.btn href={ (link::colour(car.id, "batches")) } { "Batches" }
        }
    }))
}

fn sheet<'a>(app: &'a App, access: &'a Access, car: &'a Car, says: &'a str, deed: Bar) -> CarPage<'a> {
    CarPage { app, access, car, ground: Ground::Grey, sheet: Sheet::Colour, title: "Cards", says, legend: false, deed }
}

fn says(formula: &Formula<'_>, cards: &[Told<'_, Carded>], wanted: &Measurement) -> String {
    let name = &formula.recipe.name;
    let nearest = cards
        .iter()
        .filter_map(|(_, card)| Some((drift(wanted, &engine::carded(card).ok()?).ok()?.mean_de00, &card.name)))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    match (cards.len(), nearest) {
        (0, _) => sentence(&format!("{name}: no card has been sprayed from it yet")),
        (1, Some((de00, _))) => sentence(&format!("{name}: one card, {de00:.1} from what is wanted")),
        (n, Some((de00, card))) => {
            sentence(&format!("{name}: {n} cards, the nearest ({card}) {de00:.1} from what is wanted"))
        }
        (n, None) => sentence(&format!("{name}: {n} cards, none at an angle of the target")),
    }
}

/// One card beside what is wanted.
fn one(app: &App, car: &Car, formula: &Formula<'_>, told: &Told<'_, Carded>, wanted: &Measurement) -> Markup {
    let (entry, card) = *told;
    let names = ["wanted", "card"];
    html! {
        section id={ "card-" (entry.seq) } {
            h2 { (card.name) }
            @match engine::carded(card) {
                Err(e) => p.note { (sentence(&e.to_string())) },
                Ok(measured) => {
                    @let found = drift(wanted, &measured);
                    @match &found {
                        Ok(drift) => p { b { (sentence(&drift.words.first().cloned().unwrap_or_default())) } },
                        Err(e) => p.note { (sentence(&e.to_string())) },
                    }
                    section.light { h3 { "Wanted left, card right, overcast day" } (swatches::split(wanted, &measured, names, Illuminant::D65)) }
                    details {
                        summary { "Under the other lights, and which way it differs" }
                        @for light in [Illuminant::A, Illuminant::Fl11] {
                            section.light { h3 { (swatches::light_words(light).0) } (swatches::split(wanted, &measured, names, light)) }
                        }
                        @if let Ok(drift) = &found { ul.plain-list { @for words in drift.words.iter().skip(1) { li { (words) } } } }
                        @if let Some(from) = from_prediction(formula, &measured) {
                            p.small { "From what was predicted of the recipe: " (format!("{from:.1}")) " on average." }
                        }
                    }
                }
            }
            (facts(app, car, entry, card))
            @for doubt in &card.doubts { p.note { b { "When it was read: " } (doubt) } }
        }
    }
}

fn from_prediction(formula: &Formula<'_>, measured: &Measurement) -> Option<f64> {
    let predicted = engine::predicted(formula.recipe).ok()?;
    Some(drift(&predicted, measured).ok()?.mean_de00)
}

/// Everything else that is known of a card.
pub(super) fn facts(app: &App, car: &Car, entry: &Entry, card: &Carded) -> Markup {
    let batch = card.batch.and_then(|id| car.standing(id));
    let number = |seq: u64| paintwork::batches(car).iter().find(|b| b.entry.seq == seq).map(|b| b.number);
    html! {
        dl.facts {
            div { dt { "Sprayed from" } dd {
                @match batch {
                    Some(batch) => a.touch href={ (link::colour(car.id, "batches")) "#batch-" (batch.seq) } {
                        @match number(batch.seq) { Some(n) => { "batch " (n) } None => { "entry " (batch.seq) } }
                    },
                    None => "a small mix of its own",
                }
            } }
            div { dt { "Coats" } dd { (card.coats) } }
            div { dt { "Film by the gauge" } dd { @match card.film_um { Some(film) => { (film) " \u{b5}m" } None => "not read" } } }
            @if !card.gun.is_empty() { div { dt { "Gun" } dd { (card.gun) } } }
            @if let Some(place) = card.master() { div { dt { "Sealed master card" } dd { "kept: " (place) } } }
            div { dt { "Measured" } dd { (when(app, entry.when())) ", " (entry.by.name) } }
        }
        @if !card.note.is_empty() { p { (card.note) } }
        p.small.no-print {
            a.touch href=(link::entry(car.id, entry.seq)) { "Entry " (entry.seq) } ", "
            a.touch href={ (link::shell(car.id)) "/colour/" (entry.seq) ".csv" } download { "its spectra as CSV" }
            @if entry.counts() { ", " a.touch href={ (link::colour(car.id, "cards")) "?corrects=" (entry.seq) "#import" } { "correct this" } }
        }
    }
}

/// Every card of the car as a table.
pub(super) fn all(app: &App, car: &Car) -> Markup {
    let cards = paintwork::cards(car);
    html! {
        @if !cards.is_empty() {
            section #cards {
                h2 { "Cards" }
                div.scroll tabindex="0" role="group" aria-label="Cards" {
                    table {
                        thead { tr { @for head in ["Card", "Recipe", "Measured", "Kept"] { th scope="col" { (head) } } } }
                        tbody {
                            @for (entry, card) in cards.iter().rev() {
                                tr {
                                    th scope="row" { a href={ (link::colour(car.id, "cards")) "?recipe=" (recipe_place(car, card)) "#card-" (entry.seq) } { (card.name) } }
                                    td { (paintwork::recipe_of(car, card.recipe).map_or("taken out", |(_, recipe)| recipe.name.as_str())) }
                                    td { (when(app, entry.when())) }
                                    td { @match card.master() { Some(place) => { "sealed master: " (place) } None => "not as a master" } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn recipe_place(car: &Car, card: &Carded) -> String {
    paintwork::recipe_of(car, card.recipe).map_or_else(String::new, |(entry, _)| entry.seq.to_string())
}
