//! Recipes that were just found, side by side: each as split swatches by angle and light, then kept as an entry.

use std::sync::Arc;

use axum::response::Response;
use job::catalogue::Catalogue;
use job::colour::recipe::{self, Found, Limits, Line, Reach, Recipe, Wish};
use job::colour::{Measurement, Watch};
use job::ids::{CarId, EntryId};
use job::mixing::{Brief, MOST_DOUBTS, kept_doubts};
use job::paintwork::engine::{self, About};
use job::shelf_file::ShelfFile;
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};

use super::recipes::nearness;
use super::swatches::{self, as_measured, degrees, one_place};
use super::work::{Outcome, Shown};
use super::{curve, era, keeping};
use crate::fault::{Fault, sentence};
use crate::layout::who_picks;
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// What was searched for.
pub(crate) struct Asked {
    /// The measured paint it is for.
    pub(crate) target: EntryId,
    /// The address of the page where it can be asked otherwise.
    pub(crate) again: String,
    pub(crate) target_name: String,
    /// The kept brief that the wish comes from.
    pub(crate) briefed: Option<EntryId>,
    pub(crate) shelf: EntryId,
    pub(crate) file: Arc<ShelfFile>,
    pub(crate) brief: Brief,
    pub(crate) wish: Wish,
    /// What is doubtful about the wish.
    pub(crate) doubts: Vec<String>,
}

/// What was searched for, and what was found.
pub(crate) struct Searched {
    pub(crate) asked: Asked,
    pub(crate) found: Found,
    /// How near recipes come to parts of the wish, where that was asked; else empty.
    pub(crate) lines: Vec<Line>,
}

impl Searched {
    /// The curve alone, with what it says first.
    pub(crate) fn curve(&self) -> Markup {
        html! {
            @if let Some(says) = curve::says(&self.lines) { p.says { (says) } }
            (curve::section(&self.lines))
        }
    }
}

/// The search itself.
pub(crate) fn search(asked: Asked, limits: &Limits, watch: Watch<'_>) -> Result<Outcome, String> {
    let found = recipe::search(&asked.file.shelf, &asked.wish, limits, watch).map_err(|e| e.to_string())?;
    Ok(Outcome::Recipes(Box::new(Searched { asked, found, lines: Vec::new() })))
}

/// What recipes are called on the page.
const LETTERS: [&str; 20] =
    ["A", "B", "C", "D", "E", "F", "G", "H", "I", "J", "K", "L", "M", "N", "O", "P", "Q", "R", "S", "T"];

/// The recipes side by side, each with the form that keeps it.
pub(crate) fn page(shown: &Shown<'_>, searched: &Searched) -> Markup {
    let Searched { asked, found, lines } = searched;
    let says = match (found.recipes.first(), &found.reachable) {
        (None, _) => "Stopped before any recipe was found.".to_string(),
        (Some(_), Reach::NotReachable { .. }) => "Not reachable with these toners.".to_string(),
        (Some(best), _) => {
            format!(
                "{} toners come within {} of the wish on average.",
                best.mix.parts.len(),
                one_place(best.fit.mean_de00)
            )
        }
    };
    let curve = curve::says(lines);
    let year = shown.car.details.year;
    let body = html! {
        (field::problems(shown.errors))
        p.row.no-print { a.btn href=(asked.again) { "Ask otherwise" } }
        @if let Some(curve) = curve { p { b { (curve) } } }
        (reach(found))
        (curve::section(lines))
        @if found.stopped { p.note { b { "Stopped early: " } "these are the best up to then." } }
        section {
            h2 { "Wish left, recipe right" }
            p { "For " (asked.target_name) @if asked.brief.is_plain() { ", as it was measured." } @else { ", changed as asked." } }
            div.recipes {
                @for (recipe, letter) in found.recipes.iter().zip(LETTERS) {
                    div { (one(asked, recipe, letter)) (then(shown.app.shop.catalogue(), asked, recipe, year)) }
                }
            }
            @if !found.recipes.is_empty() { (swatches::reading()) }
        }
        @let doubts = doubts(searched);
        @if !doubts.is_empty() {
            section { h2 { "Doubtful" } ul.plain-list { @for doubt in doubts { li { (sentence(&doubt)) } } } }
        }
        @if !found.recipes.is_empty() { (keep_form(shown, searched)) }
    };
    shown.page("Recipes, not kept yet", &says, body)
}

fn doubts(searched: &Searched) -> Vec<String> {
    let mut doubts = searched.asked.doubts.clone();
    doubts.extend(kept_doubts(&searched.found.warnings));
    doubts
}

/// Whether the shelf can make it, and what it lacks, plainly.
fn reach(found: &Found) -> Markup {
    let list = |misses: &[recipe::Miss]| {
        html! {
            ul.plain-list {
                @for miss in misses { li { (degrees(miss.geometry)) " " (miss.geometry.word()) ": " b { (one_place(miss.de00)) } ". " (sentence(lacks(&miss.missing))) } }
            }
        }
    };
    html! {
        @match &found.reachable {
            Reach::Within => {}
            Reach::Near { misses } if misses.is_empty() => {}
            Reach::Near { misses } => div.note.stack { p { b { "Near, not quite. " } "What the best recipe lacks:" } (list(misses)) },
            Reach::NotReachable { misses } => div.note.stop.stack {
                h2 { "Not reachable with these toners" }
                p { "The recipes below are the nearest. What is missing:" }
                (list(misses))
                p { "Ask for less, put a missing toner on the shelf, or leave the wish where it differs." }
            },
        }
    }
}

/// What the engine says is missing, without the name of the angle that stands before it here.
fn lacks(missing: &str) -> &str {
    missing.split(" (").next().unwrap_or(missing)
}

fn one(asked: &Asked, recipe: &Recipe, letter: &str) -> Markup {
    let shelf = &asked.file.shelf;
    let primer = shelf.substrates().get(recipe.mix.substrate).map_or("", |primer| primer.name.as_str());
    let by_angle = recipe.fit.by_angle.iter().map(|(geometry, [d65, ..])| (*geometry, *d65));
    html! {
            h3 { (letter) ". " (toners(recipe.mix.parts.len())) }
            p { (nearness(recipe.fit.mean_de00, by_angle)) }
            @if let Some(predicted) = as_measured(&recipe.predicted) { (lights(&asked.wish.target, &predicted, letter)) }
            dl.facts {
                div { dt { "Primer" } dd { (primer) } }
                div { dt { "Coats" } dd { (recipe.coats) } }
                div { dt { "Dry film" } dd { (format!("{:.0}", recipe.mix.film_um)) " \u{b5}m" } }
                div { dt { "Toner in the film" } dd { (percent(recipe.load)) } }
            }
            (shares(recipe.mix.parts.iter().map(|part| (shelf.toners().get(part.toner).map_or("", |t| t.name.as_str()), part.fraction))))
            p { (hiding_words(recipe)) }
            p { (metamerism_words(recipe.metamerism)) }
            @if let Some(slip) = touchiest(recipe) { p { (slip) } }
            details {
                summary { "What a slip does" }
                ul.rows { @for slip in &recipe.sensitivity { li { (sentence(&slip.what).trim_end_matches('.')) span.num { (one_place(slip.de00)) } } } }
            }
    }
}

/// Whether a recipe would have looked right in the car's year.
fn then(catalogue: &Catalogue, asked: &Asked, recipe: &Recipe, year: u16) -> Markup {
    let predicted = as_measured(&recipe.predicted);
    let judged = predicted.map(|seen| job::era::judge(catalogue, &asked.file, &recipe.mix.parts, &seen, year));
    html! {
        @if let Some(era) = judged {
            details {
                summary { "Would it have looked right in " (year) "?" }
                (era::notes(&era))
            }
        }
    }
}

/// Names one after the other: "a, b and c".
pub(crate) fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// A recipe beside what is wanted, under each light.
fn lights(wish: &Measurement, predicted: &Measurement, letter: &str) -> Markup {
    swatches::pairs(wish, predicted, ["wish", &format!("recipe {letter}")])
}

pub(crate) fn toners(count: usize) -> String {
    if count == 1 { "1 toner".into() } else { format!("{count} toners") }
}

pub(crate) fn percent(fraction: f64) -> String {
    let value = fraction * 100.0;
    if value < 1.0 { format!("{value:.2} %") } else { format!("{value:.1} %") }
}

/// The share of each toner in the dry film, and of the binder.
pub(crate) fn shares<'a>(parts: impl Iterator<Item = (&'a str, f64)>) -> Markup {
    let parts: Vec<(&str, f64)> = parts.collect();
    let load: f64 = parts.iter().map(|(_, fraction)| fraction).sum();
    html! {
        table {
            caption { "Share of the dry film" }
            tbody {
                @for (name, fraction) in &parts { tr { th scope="row" { (name) } td.r { (percent(*fraction)) } } }
                tr { th scope="row" { "binder" } td.r { (percent(1.0 - load)) } }
            }
        }
    }
}

/// The slip that shows most, in words.
fn touchiest(recipe: &Recipe) -> Option<String> {
    let most = recipe.sensitivity.iter().max_by(|a, b| a.de00.total_cmp(&b.de00))?;
    Some(format!(
        "{} shifts it by {}: no slip does more.",
        sentence(&most.what).trim_end_matches('.'),
        one_place(most.de00)
    ))
}

fn hiding_words(recipe: &Recipe) -> String {
    if recipe.hiding.hides() {
        return format!("Hides in {} coats.", recipe.coats);
    }
    format!(
        "Does not hide in {} coats: one more moves it by {}. Primer and coats are part of the colour.",
        recipe.coats,
        one_place(recipe.hiding.de00_max)
    )
}

/// How a match by day holds under lamp and tube. The bounds are those of a difference (our choice).
pub(crate) fn metamerism_words([lamp, tube]: [f64; 2]) -> String {
    let says = |value: f64| match value {
        v if v < 0.5 => "holds",
        v if v < 1.5 => "shifts a little",
        _ => "parts",
    };
    let (one, other) = (says(lamp), says(tube));
    let figures = format!("{} and {}", one_place(lamp), one_place(tube));
    if one == other {
        format!("A match by day {one} under lamp and tube ({figures}).")
    } else {
        format!("A match by day {one} under the lamp and {other} under the tube ({figures}).")
    }
}

/// One form keeps whichever recipe is picked.
fn keep_form(shown: &Shown<'_>, searched: &Searched) -> Markup {
    let Searched { asked, found, .. } = searched;
    let picked = if shown.typed.get("recipe").is_empty() { "0" } else { shown.typed.get("recipe") };
    let name = if shown.typed.get("name").is_empty() { asked.target_name.as_str() } else { shown.typed.get("name") };
    html! {
        section #keep.no-print {
            h2 { "Keep a recipe" }
            form.stack-l method="post" action={ (link::work(shown.car.id, shown.piece.id)) "/keep" } enctype="multipart/form-data" {
                input type="hidden" name="entry" value=(EntryId::fresh());
                fieldset.err[field::is_wrong("recipe", shown.errors)] {
                    legend { "Which?" }
                    (field::complaint("recipe", shown.errors))
                    div.picks.side {
                        @for (n, (recipe, letter)) in found.recipes.iter().zip(LETTERS).enumerate() {
                            label.pick {
                                input type="radio" name="recipe" value=(n) checked[picked == n.to_string()];
                                span { b { (letter) } small { (toners(recipe.mix.parts.len())) ", " (one_place(recipe.fit.mean_de00)) } }
                            }
                        }
                    }
                }
                (field::Text { id: "name", name: "name", label: "Name", hint: "", value: name, unit: "", errors: shown.errors }.draw())
                (field::note("note", "Note", "Why this one.", shown.typed.get("note"), shown.errors))
                (field::complaint("who", shown.errors))
                (who_picks(shown.access, Some(shown.typed.get("who")).filter(|who| !who.is_empty())))
                button.main { "Keep this recipe" }
            }
        }
    }
}

/// Keeps the recipe that was picked.
pub(crate) async fn keep(
    app: &App,
    car: CarId,
    typed: &Typed,
    searched: &Searched,
) -> Result<Result<Response, Vec<FieldError>>, Fault> {
    let Searched { asked, found, .. } = searched;
    let picked = typed.get("recipe").parse::<usize>().ok().and_then(|n| found.recipes.get(n));
    let Some(recipe) = picked else {
        return Ok(Err(vec![FieldError::new("recipe", "no recipe was picked", "Pick the one to keep.")]));
    };
    let about = About {
        name: typed.get("name").into(),
        target: asked.target,
        shelf: asked.shelf,
        brief: asked.brief.clone(),
        briefed: asked.briefed,
        after: None,
        cards: Vec::new(),
        doubts: Vec::new(),
        note: typed.get("note").into(),
    };
    let mut formulated = engine::formulated(&asked.file.shelf, recipe, about);
    formulated.doubts = doubts(searched);
    formulated.doubts.truncate(MOST_DOUBTS);
    let kept = keeping::keep(app, car, typed, What::Formulated(formulated)).await?;
    Ok(kept.map(|kept| kept.go(&format!("{}?kept={}", link::recipe(car, kept.seq), kept.seq))))
}
