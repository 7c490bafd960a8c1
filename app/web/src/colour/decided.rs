//! The colour of the car: what the owner chose, what is mixed of it now, the parts and days it must serve; or the
//! day by which it must be decided, and what waits for it.

use axum::extract::{Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use jiff::civil::Date;
use job::car::Car;
use job::colour::Illuminant;
use job::ids::{CarId, EntryId};
use job::mixing::{ColourServes, Serve};
use job::paintwork::decided::{CarColour, ColourWaits, Since, car_colour, colour_waits};
use job::paintwork::{self, engine};
use job::person::Deed;
use job::validate::{FieldError, instances};
use job::what::What;
use maud::{Markup, html};

use super::swatches::{self, CAUTION};
use super::{Part, keeping, parts};
use crate::access::Access;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed as Bar, Ground, Sheet, when, who_picks};
use crate::shell::upper;
use crate::state::App;
use crate::typed::Typed;
use crate::{entries, field, link};

/// How a day is written in the lines of parts.
const DAY: &str = "%-d %B %Y";
/// The most lines of parts that are read; one more is refused by the record.
const MOST_LINES: usize = 200;

/// Gives the zone that a name stands for.
pub(crate) type Zones<'a> = &'a dyn Fn(&str) -> Option<String>;

/// The zone instance that somebody named in words, if it is one.
pub(crate) fn zone_named(car: &Car, name: &str) -> Option<String> {
    let same = |other: &str| other.eq_ignore_ascii_case(name);
    instances(&car.details).into_iter().find(|zone| same(&zone.id) || same(&zone.name())).map(|zone| zone.id.clone())
}

fn part(car: &Car, serve: &Serve) -> String {
    upper(&paintwork::part_words(car, &serve.part))
}

/// Parts and days as lines that [`read_serves`] reads back.
pub(crate) fn serves_text(car: &Car, serves: &[Serve]) -> String {
    let line = |serve: &Serve| match serve.on {
        Some(on) => format!("{}, {on}", part(car, serve)),
        None => part(car, serve),
    };
    serves.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// Parts and days as people read them.
pub(crate) fn serves_lines(car: &Car, serves: &[Serve]) -> Vec<String> {
    let line = |serve: &Serve| match serve.on {
        Some(on) => format!("{}, {}", part(car, serve), on.strftime(DAY)),
        None => format!("{}, day not fixed", part(car, serve)),
    };
    serves.iter().map(line).collect()
}

/// Reads lines of a part, or of a part, a comma and a day.
pub(crate) fn read_serves(text: &str, zone: Zones<'_>) -> Result<Vec<Serve>, FieldError> {
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    lines.take(MOST_LINES).map(|line| serve(line, zone)).collect()
}

fn serve(line: &str, zone: Zones<'_>) -> Result<Serve, FieldError> {
    let part = |words: &str| zone(words).unwrap_or_else(|| words.to_owned());
    // The names of zones have commas of their own: "Outer sill, left".
    let Some((words, day)) = line.rsplit_once(',') else { return Ok(Serve { part: part(line), on: None }) };
    let (words, day) = (words.trim(), day.trim());
    if !day.contains(|c: char| c.is_ascii_digit()) {
        return Ok(Serve { part: part(line), on: None });
    }
    let on = day.parse::<Date>().or_else(|_| Date::strptime("%d %B %Y", day)).map_err(|_| {
        let short: String = line.chars().take(80).collect();
        let right = "After the comma comes a day, such as 2026-12-02, or nothing.";
        FieldError::new("serves", format!("\"{short}\" does not end in a day"), right)
    })?;
    Ok(Serve { part: part(words), on: Some(on) })
}

/// The field of the parts and days.
pub(crate) fn serves_field(typed: &str, errors: &[FieldError]) -> Markup {
    let hint = "One line each: the part, and after a comma the day on which it is to be sprayed, such as Left door, 2026-12-02. Without a day while it is not fixed.";
    field::note("serves", "Parts and days the colour must serve", hint, typed, errors)
}

pub(super) fn today(app: &App) -> Date {
    Timestamp::now().to_zoned(app.zone.clone()).date()
}

/// How far off a day is, in words.
fn off(on: Date, today: Date) -> String {
    let days = on.since((jiff::Unit::Day, today)).map_or(0, |span| span.get_days());
    match days {
        0 => "today".into(),
        1 => "tomorrow".into(),
        -1 => "yesterday".into(),
        days if days < 0 => format!("{} days ago", -days),
        days => format!("in {days} days"),
    }
}

/// One note where work of colour would start, while the colour is not decided; nothing when nothing waits.
pub(crate) fn waits(app: &App, car: &Car) -> Markup {
    let today = today(app);
    html! {
        @if let Some(waits) = colour_waits(car) {
            p.note.stop[waits.is_past(today)] {
                b { a.touch href=(link::question(car.id, waits.number)) { (waits.say(today)) "." } }
                @if waits.is_past(today) { " The day is past, and the colour is not decided: ring the owner." }
            }
        }
    }
}

/// The colour of the car as a part of a page: decided, waited for, or not asked yet.
pub(crate) fn block(app: &App, access: &Access, car: &Car) -> Markup {
    let waits = colour_waits(car);
    let decided = car_colour(car);
    let lead = access.role.may(Deed::Manage);
    html! {
        section #car-colour {
            h2 { "The car's colour" }
            @if let Some(waits) = &waits { (waited_for(app, car, waits)) }
            @match &decided {
                Some(colour) => (chosen(app, car, colour)),
                None if waits.is_none() => p { "It is not decided, and the owner has not been asked." },
                None => {}
            }
            p.row.no-print {
                @if decided.is_some() { a.btn href=(link::colour(car.id, "decided")) { "Parts and days it must serve" } }
                @if lead && waits.is_none() && paintwork::recipes(car).len() > 1 {
                    a.btn href=(link::colour(car.id, "ask")) { @if decided.is_some() { "Ask about it anew" } @else { "Ask the owner" } }
                }
            }
        }
    }
}

fn waited_for(app: &App, car: &Car, waiting: &ColourWaits<'_>) -> Markup {
    html! {
        (waits(app, car))
        @if !waiting.waits.is_empty() {
            p { "Until then this waits:" }
            ul.plain-list { @for line in waiting.waits { li { (line) } } }
        }
    }
}

/// What the owner chose, and what is to be mixed of it now.
fn chosen(app: &App, car: &Car, colour: &CarColour<'_>) -> Markup {
    let (now_entry, now) = colour.now;
    let corrected = now_entry.seq != colour.recipe.0.seq;
    let today = today(app);
    html! {
        p { b { (now.name) ", over " (colour.primer) "." } }
        @if colour.since != Since::AsChosen { p.note { b { "Take care: " } (colour.since.words()) "." } }
        @if let Ok(predicted) = engine::predicted(now) {
            (swatches::strip(&predicted, Illuminant::D65))
            p.small { "As predicted, overcast day. " (CAUTION) }
        }
        dl.facts {
            div { dt { "Chosen" } dd {
                (colour.choice.key) ". " (colour.choice.title) ", " (when(app, colour.decided)) ", "
                (colour.answer.way.words()) ", " (colour.answered.by.name) ": "
                a.touch href=(link::question(car.id, colour.number)) { "question " (colour.number) }
            } }
            div { dt { "To be mixed" } dd {
                a.touch href=(link::recipe(car.id, now_entry.seq)) { (now.name) }
                @if corrected { ", corrected from cards since it was chosen" } @else { ", as it was chosen" }
            } }
            div { dt { "Primer below it" } dd { (colour.primer) @if now.primer != colour.primer { ". The corrected recipe says " (now.primer) ": settle which before the last primer" } } }
            div { dt { "Coats" } dd { (now.coats) } }
            div { dt { "Card" } dd {
                @match colour.card {
                    Some((entry, card)) => {
                        a.touch href=(link::entry(car.id, entry.seq)) { (card.name) }
                        @match card.master() { Some(place) => { ", sealed master card: " (place) } None => ", not kept as a master card" }
                    }
                    None => "none was shown when it was chosen: spray one before the car",
                }
            } }
        }
        h3 { "What it must serve" }
        @if colour.serves.is_empty() { p { "No part has been named yet." } }
        @else {
            ul.plain-list {
                @for serve in &colour.serves {
                    li {
                        (part(car, serve))
                        @match serve.on { Some(on) => { ", " (on.strftime(DAY)) " (" (off(on, today)) ")" } None => ", day not fixed" }
                    }
                }
            }
        }
    }
}

/// What a page of one recipe says beside the colour that was decided; nothing when it is that, or none was.
pub(crate) fn other_recipe(car: &Car, seq: u64) -> Markup {
    let colour = car_colour(car);
    let other = colour.as_ref().filter(|colour| colour.now.0.seq != seq);
    html! {
        @if let Some(colour) = other {
            p.note { b { "Not the recipe of the car's colour." } " That is " a.touch href=(link::recipe(car.id, colour.now.0.seq)) { (colour.now.1.name) } ", by the answer to question " (colour.number) "." }
        }
    }
}

/// The page.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let mut typed = Typed::from_pairs(
        pairs.iter().filter(|(name, _)| name == "kept").take(1).map(|(n, v)| (n.as_str(), v.clone())),
    );
    let serves = car_colour(&car).map(|colour| colour.serves).unwrap_or_else(|| told(&car));
    typed.set("serves", serves_text(&car, &serves));
    Ok(draw(&app, &access, &car, &typed, &[]))
}

/// The parts that were told before any colour was chosen.
pub(crate) fn told(car: &Car) -> Vec<Serve> {
    let told = car.told(|what| match what {
        What::ColourServes(serves) => Some(&serves.serves),
        _ => None,
    });
    told.last().map(|(_, serves)| (*serves).clone()).unwrap_or_default()
}

fn draw(app: &App, access: &Access, car: &Car, typed: &Typed, errors: &[FieldError]) -> Markup {
    let says = match (car_colour(car), colour_waits(car)) {
        (Some(colour), _) => format!("{}, chosen on {}.", colour.choice.title, when(app, colour.decided)),
        (None, Some(waits)) => format!("{}.", waits.say(today(app))),
        (None, None) => "It is not decided, and the owner has not been asked.".into(),
    };
    let may = access.role.may(Deed::Write);
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Grey,
        sheet: Sheet::Colour,
        title: "The car's colour",
        says: &says,
        legend: false,
        deed: if may {
            Bar::Send("serves-form", "Keep")
        } else {
            Bar::Go(format!("{}/colour", link::shell(car.id)), "Colour")
        },
    };
    page.draw(html! {
        (parts(car.id, Part::Target))
        (entries::flash(app, car, typed.get("kept").parse().ok()))
        (field::problems(errors))
        (block(app, access, car))
        @if may {
            form.stack-l.no-print #serves-form method="post" action=(link::colour(car.id, "decided")) enctype="multipart/form-data" {
                h2 { "Change what it must serve" }
                p { "The whole list as it stands from now on, parts sprayed already included. What stood before stays in the record." }
                input type="hidden" name="entry" value=(EntryId::fresh());
                (field::complaint("entry", errors))
                (serves_field(typed.get("serves"), errors))
                (field::note("note", "Note", "Why it changed, if it did.", typed.get("note"), errors))
                (field::complaint("who", errors))
                (who_picks(access, Some(typed.get("who")).filter(|who| !who.is_empty())))
                button.main { "Keep these parts and days" }
            }
        }
    })
}

/// Keeps the parts and days.
pub(crate) async fn keep(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    form: Multipart,
) -> Result<Response, Fault> {
    access.may(Deed::Write)?;
    let typed = Typed::read(form).await?;
    let car = app.shop.car(id).await?;
    let refuse = |errors: &[FieldError]| {
        Ok((StatusCode::UNPROCESSABLE_ENTITY, draw(&app, &access, &car, &typed, errors)).into_response())
    };
    let zone = |name: &str| zone_named(&car, name);
    let serves = match read_serves(typed.get("serves"), &zone) {
        Ok(serves) => serves,
        Err(error) => return refuse(&[error]),
    };
    let what = What::ColourServes(ColourServes { serves, note: typed.get("note").into() });
    match keeping::keep(&app, id, &typed, what).await? {
        Ok(kept) => Ok(kept.go(&format!("{}?kept={}", link::colour(id, "decided"), kept.seq))),
        Err(errors) => refuse(&errors),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_of_parts_and_days_are_read_or_refused() {
        let zone = |name: &str| (name == "Outer sill, left").then(|| "Z01.L".to_owned());
        let read = |text: &str| read_serves(text, &zone);
        let (on, serve) = ("2026-03-02".parse().ok(), |part: &str, on| Serve { part: part.into(), on });
        assert_eq!(
            read("Outer sill, left, 2026-03-02\n\n  Bonnet \nOuter sill, left\nDoors, shuts\nRoof, 2 March 2026")
                .unwrap(),
            [
                serve("Z01.L", on),
                serve("Bonnet", None),
                serve("Z01.L", None),
                serve("Doors, shuts", None),
                serve("Roof", on)
            ]
        );
        for wrong in ["Roof, 2026-02-30", "Roof, 31.12.", "Roof, day 3"] {
            let error = read(wrong).unwrap_err();
            assert!(error.field == "serves" && error.say.contains(wrong), "{error:?}");
        }
        assert_eq!(read(" \n ").unwrap(), []);
    }
}
