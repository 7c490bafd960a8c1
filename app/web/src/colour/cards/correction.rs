//! What cards say of their recipe: first the gun, then the toners, and the corrected recipe beside the old one.

use axum::extract::{Multipart, Path, State};
use axum::response::Response;
use job::car::Car;
use job::colour::card::{Correction, Sprayed, correct};
use job::colour::recipe::{Limits, Wish};
use job::colour::{Geometry, Shelf};
use job::ids::{CarId, EntryId};
use job::mixing::{BINDER, Carded};
use job::paintwork::engine::{self, About};
use job::paintwork::{self, Told};
use job::person::Deed;
use job::validate::FieldError;
use job::what::What;
use maud::{Markup, html};

use super::{recipe_asked, refused};
use crate::access::Access;
use crate::colour::formula::Formula;
use crate::colour::{keeping, swatches};
use crate::fault::{Fault, sentence};
use crate::layout::who_picks;
use crate::shell::upper;
use crate::state::App;
use crate::typed::Typed;
use crate::{field, link};

/// The most cards that count towards one correction.
const MOST: usize = 20;

/// A correction that was worked out.
pub(super) struct Worked {
    /// The places of the cards' entries.
    cards: Vec<u64>,
    /// What was wanted.
    wish: Wish,
    /// Grams in the pot, if it goes into one.
    pot_g: Option<f64>,
    result: Result<Correction, FieldError>,
}

/// Works a correction out from the cards that were ticked, or from all.
pub(super) async fn work(
    app: &App,
    formula: &Formula<'_>,
    wish: Wish,
    cards: &[Told<'_, Carded>],
    typed: &Typed,
) -> Result<Worked, Fault> {
    let ticked: Vec<u64> = typed.all("card").filter_map(|seq| seq.parse().ok()).collect();
    let chosen: Vec<_> = cards.iter().filter(|(entry, _)| ticked.contains(&entry.seq)).take(MOST).collect();
    let places = chosen.iter().map(|(entry, _)| entry.seq).collect();
    let (pot_g, measured) = match (typed.number_if_any("pot", "mass in the pot"), measurements(&chosen)) {
        (Ok(pot_g), Ok(measured)) => (pot_g, measured),
        (Err(error), _) => return Ok(Worked { cards: places, wish, pot_g: None, result: Err(error) }),
        (_, Err(error)) => return Ok(Worked { cards: places, wish, pot_g: None, result: Err(error) }),
    };
    let (toners, mix) = (formula.toners.clone(), formula.mix.clone());
    let coats = u8::try_from(formula.recipe.coats).unwrap_or(u8::MAX);
    let own_toners = typed.get("own") == "1";
    let wished = wish.clone();
    let permit = app.heavy.acquire().await.map_err(|e| Fault::Internal(e.to_string()))?;
    let result = tokio::task::spawn_blocking(move || {
        let mut limits = Limits { substrates: vec![mix.substrate], ..Limits::usual(&toners.shelf) };
        if own_toners {
            limits.max_toners = mix.parts.len().clamp(1, limits.max_toners);
        }
        let sprayed = Sprayed { mix: &mix, coats, wish: &wished, cards: &measured, limits: &limits, pot_g };
        correct(&toners.shelf, &sprayed)
    })
    .await
    .map_err(|e| Fault::Internal(e.to_string()))?;
    drop(permit);
    let field = if result.as_ref().is_err_and(|e| e.to_string().contains("pot")) { "pot" } else { "card" };
    let result = result.map_err(|e| FieldError::new(field, e.to_string(), ""));
    Ok(Worked { cards: places, wish, pot_g, result })
}

fn measurements(cards: &[&Told<'_, Carded>]) -> Result<Vec<job::colour::Measurement>, FieldError> {
    if cards.is_empty() {
        return Err(FieldError::new("card", "no card was ticked", "Tick the cards that count."));
    }
    let one = |(_, card): &&Told<'_, Carded>| engine::carded(card);
    cards.iter().map(one).collect::<Result<_, _>>().map_err(|e| FieldError::new("card", e.to_string(), ""))
}

/// The form that asks for a correction.
pub(super) fn ask(car: &Car, formula: &Formula<'_>, cards: &[Told<'_, Carded>], typed: &Typed) -> Markup {
    let fresh = typed.get("work").is_empty();
    let ticked = |seq: u64| fresh || typed.all("card").any(|card| card == seq.to_string());
    html! {
        section #ask.no-print {
            h2 { "Correct the recipe from its cards" }
            form #ask-form.stack-l action={ (link::colour(car.id, "cards")) "#correction" } {
                input type="hidden" name="recipe" value=(formula.entry.seq);
                input type="hidden" name="work" value="1";
                fieldset {
                    legend { "Cards that count" }
                    p.hint { "Two cards of one pot tell the colour from the spraying; leave out any that ran or were sprayed otherwise." }
                    div.picks.side {
                        @for (entry, card) in cards.iter().rev().take(MOST) {
                            label.pick { input type="checkbox" name="card" value=(entry.seq) checked[ticked(entry.seq)]; span { b { (card.name) } small { (card.coats) " coats" } } }
                        }
                    }
                }
                (field::Text { id: "pot", name: "pot", label: "If it goes into a pot: how much is in it", hint: "Left empty, it is a new mix.", value: typed.get("pot"), unit: "g", errors: &[] }.draw())
                label.pick { input type="checkbox" name="own" value="1" checked[typed.get("own") == "1"]; span { b { "Only the toners of this recipe" } small { "else one more may come in, where it gains enough" } } }
                button.main { "Work out the correction" }
            }
        }
    }
}

/// What the cards say.
pub(super) fn shown(
    access: &Access,
    car: &Car,
    formula: &Formula<'_>,
    worked: &Worked,
    typed: &Typed,
    errors: &[FieldError],
) -> Markup {
    let done = match &worked.result {
        Ok(done) => done,
        Err(e) => {
            return html! { section #correction { h2 { "No correction" } div.note.stop.stack role="alert" { p { (sentence(&e.say)) " " (e.right) } } } };
        }
    };
    html! {
        section #correction {
            h2 { "What the cards say" }
            div.note.stop.stack { @for words in &done.advice { p { b { (sentence(words)) } } } }
            @for warning in &done.warnings { p.note { b { "Mind: " } (sentence(&warning.what)) } }
            section {
                h2 { "First the gun" }
                @if done.gun.is_empty() { p { "No gun setting alone explains the difference: it lies in the mix, or it is small." } }
                @for cause in &done.gun { p.note { (sentence(&cause.words)) } }
            }
            section {
                h2 { "Then the toners" }
                (beside(formula, done))
                (expected(done))
            }
            @if let (Some(pot_g), Some(add)) = (worked.pot_g, &done.add_to_pot_g) { (into_pot(formula.shelf(), pot_g, add)) }
            @if let Some(predicted) = predicted(done) {
                section.light { h3 { "Wanted left, corrected recipe as predicted right, overcast day" } (swatches::split(&worked.wish.target, &predicted, ["wanted", "corrected recipe"], job::colour::Illuminant::D65)) }
                p.small { (swatches::CAUTION) }
            }
            @if access.role.may(Deed::Write) { (keep_form(access, car, formula, worked, typed, errors)) }
        }
    }
}

fn predicted(done: &Correction) -> Option<job::colour::Measurement> {
    job::paint::of_spectra("the prediction", &engine::spectra(&done.recipe.predicted)).ok()
}

fn percent(fraction: f64) -> String {
    let places = if fraction < 0.1 { 2 } else { 1 };
    format!("{:.places$} %", fraction * 100.0)
}

/// The two recipes side by side.
fn beside(formula: &Formula<'_>, done: &Correction) -> Markup {
    let shelf = formula.shelf();
    let new = engine::parts(&done.recipe.mix, shelf);
    let fraction = |name: &str| new.iter().find(|part| part.toner == name).map(|part| part.fraction);
    let mut rows: Vec<(&str, Option<f64>, Option<f64>)> = formula
        .recipe
        .parts
        .iter()
        .map(|part| (part.toner.as_str(), Some(part.fraction), fraction(&part.toner)))
        .collect();
    let known = |name: &str| formula.recipe.parts.iter().any(|part| part.toner == name);
    rows.extend(
        new.iter().filter(|part| !known(&part.toner)).map(|part| (part.toner.as_str(), None, Some(part.fraction))),
    );
    let rest = 1.0 - done.recipe.mix.load();
    rows.push((BINDER, formula.recipe.fraction(BINDER), Some(rest)));
    let change = |old: Option<f64>, new: Option<f64>| match (old, new) {
        (Some(old), Some(new)) if old > 0.0 => {
            let by = (new / old - 1.0) * 100.0;
            match by {
                by if by.abs() < 0.5 => "as it was".to_owned(),
                by if by > 0.0 => format!("{by:.0} % more"),
                by => format!("{:.0} % less", -by),
            }
        }
        (None, Some(_)) => "new".to_owned(),
        _ => "left out".to_owned(),
    };
    html! {
        div.scroll tabindex="0" role="group" aria-label="The recipe before and after" {
            table {
                caption { "Of the dry film" }
                thead { tr { th scope="col" { "Toner" } th.r scope="col" { "was" } th.r scope="col" { "becomes" } th scope="col" { "change" } } }
                tbody {
                    @for (name, old, new) in &rows {
                        tr { th scope="row" { (upper(name)) } td.r { (old.map_or_else(|| "none".into(), percent)) } td.r { (new.map_or_else(|| "none".into(), percent)) } td { (change(*old, *new)) } }
                    }
                    tr { th scope="row" { "Film, in " (done.recipe.coats) " coats" } td.r { (format!("{:.1}", formula.recipe.film_um)) } td.r { (format!("{:.1}", done.recipe.mix.film_um)) } td { "\u{b5}m" } }
                }
            }
        }
    }
}

/// What is to be expected after the correction, angle by angle.
fn expected(done: &Correction) -> Markup {
    let angles = &done.recipe.fit.by_angle;
    let word = |geometry: Geometry| format!("{} {}", swatches::degrees(geometry), geometry.word());
    html! {
        p {
            "The cards are " b { (format!("{:.1}", done.card_de00)) } " from what is wanted"
            @if let Some(apart) = done.apart_de00 { ", and " (format!("{apart:.1}")) " from each other" }
            "; after the correction " b { (format!("{:.1}", done.recipe.fit.mean_de00)) } " is to be expected, if the gun does what it did."
        }
        details {
            summary { "Expected difference, angle by angle" }
            div.scroll tabindex="0" role="group" aria-label="Expected difference by angle" {
                table {
                    thead { tr { th scope="col" { "Angle" } @for head in ["Overcast day", "Filament lamp", "Shop tube"] { th.r scope="col" { (head) } } } }
                    tbody { @for (geometry, fit) in angles { tr { th scope="row" { (word(*geometry)) } @for value in fit { td.r { (format!("{value:.1}")) } } } } }
                }
            }
        }
    }
}

fn name(shelf: &Shelf, toner: Option<usize>) -> &str {
    toner.map_or(BINDER, |place| shelf.toners().get(place).map_or("?", |toner| &toner.name))
}

fn into_pot(shelf: &Shelf, pot_g: f64, add: &[(Option<usize>, f64)]) -> Markup {
    let total: f64 = add.iter().map(|(_, grams)| grams).sum();
    html! {
        section {
        h2 { "Into the pot" }
        table {
            caption { "Add to the " (format!("{pot_g:.0}")) " g that are in it" }
            tbody {
                @for (toner, grams) in add { tr { th scope="row" { (upper(name(shelf, *toner))) } td.r { (format!("{grams:.2}")) " g" } } }
                tr { th scope="row" { "Together" } td.r { b { (format!("{total:.1}")) " g" } } }
            }
        }
        p.small { "Rounded to the scale when it is weighed out. Thinner and hardener that are in the pot already are not counted." }
        }
    }
}

fn keep_form(
    access: &Access,
    car: &Car,
    formula: &Formula<'_>,
    worked: &Worked,
    typed: &Typed,
    errors: &[FieldError],
) -> Markup {
    let usual = format!("{}, corrected", formula.recipe.name);
    let called = if typed.get("called").is_empty() { usual.as_str() } else { typed.get("called") };
    html! {
        section.no-print {
        h2 { "Keep the corrected recipe" }
        form #keep.stack-l method="post" action={ (link::colour(car.id, "cards")) "/recipe" } enctype="multipart/form-data" {
            input type="hidden" name="entry" value=(EntryId::fresh());
            input type="hidden" name="recipe" value=(formula.entry.seq);
            input type="hidden" name="work" value="1";
            @for card in &worked.cards { input type="hidden" name="card" value=(card); }
            @for name in ["pot", "own"] { @if !typed.get(name).is_empty() { input type="hidden" name=(name) value=(typed.get(name)); } }
            (field::Text { id: "called", name: "called", label: "Name of the corrected recipe", hint: "", value: called, unit: "", errors }.draw())
            (field::note_with_id("why", "why", "Note", "", typed.get("why"), errors))
            (who_picks(access, Some(typed.get("who")).filter(|who| !who.is_empty())))
            button.main { "Keep the corrected recipe" }
        }
        }
    }
}

/// Keeps a corrected recipe: worked out again from the same cards, so that what is kept is what was shown.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let Some(seq) = recipe_asked(&car, &typed)? else {
        let error = FieldError::new("recipe", "no recipe was chosen", "Choose the recipe, then its cards.");
        return refused(&app, &access, &car, &typed, &[error]).await;
    };
    let formula = Formula::find(&app, &car, seq).await?;
    let cards = paintwork::cards_of(&car, formula.entry.id);
    let worked = work(&app, &formula, formula.wish(&car)?, &cards, &typed).await?;
    let done = match worked.result {
        Ok(done) => done,
        Err(error) => return refused(&app, &access, &car, &typed, &[error]).await,
    };
    let named = |seq: &u64| car.entry(*seq).map(|entry| entry.id);
    let about = About {
        name: typed.get("called").into(),
        target: formula.recipe.target,
        shelf: formula.recipe.shelf,
        brief: formula.recipe.brief.clone(),
        briefed: formula.recipe.briefed,
        after: Some(formula.entry.id),
        cards: worked.cards.iter().filter_map(named).collect(),
        doubts: done.warnings.clone(),
        note: typed.get("why").into(),
    };
    let what = What::Formulated(engine::formulated(formula.shelf(), &done.recipe, about));
    match keeping::keep(&app, id, &typed, what).await? {
        Ok(kept) => Ok(kept.go(&onward(&car, &cards, &worked.cards, worked.pot_g, kept.seq))),
        Err(errors) => refused(&app, &access, &car, &typed, &errors).await,
    }
}

/// The next thing to do with a corrected recipe: weigh it out, into the pot where there is one.
fn onward(car: &Car, cards: &[Told<'_, Carded>], chosen: &[u64], pot_g: Option<f64>, recipe: u64) -> String {
    let pour = format!("{}?recipe={recipe}&kept={recipe}", link::colour(car.id, "pour"));
    let Some(pot_g) = pot_g else { return pour };
    let of = cards.iter().filter(|(entry, _)| chosen.contains(&entry.seq));
    let batch = of.filter_map(|(_, card)| car.standing(card.batch?)).map(|entry| entry.seq).next_back();
    match batch {
        Some(batch) => format!("{pour}&into={batch}&pot={pot_g}"),
        None => pour,
    }
}
