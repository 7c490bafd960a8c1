//! What can go to the owner and what can come back.

use std::ops::RangeInclusive;

use super::{FieldError, LONG, SHORT, colour, instance, number, short, text};
use crate::car::Car;
use crate::ids::EntryId;
use crate::question::{Answer, Choice, Question, Report};
use crate::what::What;

/// An open question is no question: two or three things that can be done.
const OPTIONS: RangeInclusive<usize> = 2..=3;
/// Recipes that one question about the colour may offer.
pub(super) const RECIPES: RangeInclusive<usize> = 2..=4;
/// The most zones one question may be about.
const MOST_ZONES: usize = 12;
/// The most photographs that go with one question or report.
const MOST_PHOTOGRAPHS: usize = 12;
/// The most lines one part of a report may have, and the most kinds of work that wait for an answer.
const MOST_LINES: usize = 30;
/// The hours an option may have.
const HOURS: (f64, f64) = (0.0, 5_000.0);

pub(super) fn question(errors: &mut Vec<FieldError>, question: &Question, car: Option<&Car>) {
    text(errors, "ask", &question.ask, SHORT, true);
    text(errors, "found", &question.found, 2_000, true);
    if question.is_of_colour() {
        colour::question(errors, question, car);
    } else {
        of_zones(errors, question, car);
    }
    for (place, option) in question.options.iter().enumerate() {
        choice(errors, option, place);
    }
    lines(errors, "waits", &question.waits);
    photographs(errors, &question.photographs, car, !question.is_of_colour());
    if let (Some(finding), Some(car)) = (question.finding, car)
        && car.entry_by_id(finding).is_none()
    {
        errors.push(FieldError::new(
            "finding",
            "the finding is not in this car's record",
            "Begin from its zone again.",
        ));
    }
}

/// What only a question about zones has, and what it has not.
fn of_zones(errors: &mut Vec<FieldError>, question: &Question, car: Option<&Car>) {
    if question.zones.is_empty() || question.zones.len() > MOST_ZONES {
        let say = format!("the question is about {} zones", question.zones.len());
        errors.push(FieldError::new("zones", say, format!("Choose 1 to {MOST_ZONES} zones.")));
    }
    for zone in question.zones.iter().skip(1) {
        if car.is_some_and(|car| instance(&car.details, zone).is_none()) {
            let say = format!("\"{}\" is not a zone of this body", short(zone));
            errors.push(FieldError::new("zones", say, "Choose zones from the outline or the list."));
        }
    }
    if let Some(say) = count(question.options.len(), OPTIONS) {
        errors.push(FieldError::new("options", say, "Give the owner two or three things that can be done."));
    }
    if question.options.iter().any(|option| option.card.is_some()) || !question.serves.is_empty() {
        let say = "cards, or parts for a colour, came with a question about zones";
        errors.push(FieldError::new("options", say, "Name a recipe in each option, or leave them out."));
    }
}

/// What is wrong with the number of options, if anything is.
pub(super) fn count(options: usize, allowed: RangeInclusive<usize>) -> Option<String> {
    match options {
        n if allowed.contains(&n) => None,
        0 => Some("no option was given".into()),
        1 => Some("only one option was given: that is no question".into()),
        n => Some(format!("{n} options were given")),
    }
}

/// The fields of the options, by their place.
const FIELDS: [[&str; 4]; 4] = [
    ["title_a", "means_a", "risks_a", "hours_a"],
    ["title_b", "means_b", "risks_b", "hours_b"],
    ["title_c", "means_c", "risks_c", "hours_c"],
    ["title_d", "means_d", "risks_d", "hours_d"],
];

/// The letters of the options, by their place.
const LETTERS: [&str; 4] = ["A", "B", "C", "D"];

fn choice(errors: &mut Vec<FieldError>, option: &Choice, place: usize) {
    let Some([title, means, risks, hours]) = FIELDS.get(place) else { return };
    let key = LETTERS.get(place).copied().unwrap_or_default();
    if option.key != key {
        let say = format!("option {} has the letter \"{}\"", place + 1, short(&option.key));
        errors.push(FieldError::new(title, say, format!("Its letter is {key}.")));
    }
    text(errors, title, &option.title, 120, true);
    text(errors, means, &option.means, 1_000, false);
    text(errors, risks, &option.risks, 1_000, false);
    let h = option.hours;
    for (name, value) in [("low hours", h.low), ("likely hours", h.likely), ("high hours", h.high)] {
        number(errors, hours, name, value, HOURS, "h");
    }
    if h.low > h.likely || h.likely > h.high {
        let plain = super::plain;
        let say = format!("option {key} has {} low, {} likely, {} high", plain(h.low), plain(h.likely), plain(h.high));
        errors.push(FieldError::new(hours, say, "Low is at most likely, and likely at most high."));
    }
}

pub(super) fn answer(errors: &mut Vec<FieldError>, answer: &Answer, car: Option<&Car>) {
    text(errors, "words", &answer.words, 4_000, answer.choice.is_none());
    for line in &answer.shown.money {
        text(errors, "words", line, SHORT, false);
    }
    let Some(asked) = car.and_then(|car| car.entry_by_id(answer.question)) else {
        errors.push(FieldError::new("question", "the question is not in this car's record", "Open the page again."));
        return;
    };
    let What::Asked(question) = &asked.what else {
        let say = format!("entry {} is no question", asked.seq);
        errors.push(FieldError::new("question", say, "Open the page again."));
        return;
    };
    if !question.sent {
        errors.push(FieldError::new("question", "the question is a draft that nobody was asked", "Send it first."));
    }
    if asked.hash != answer.version || answer.shown.question != *question {
        let say = "what was shown is not the question as it stands in the record";
        errors.push(FieldError::new("question", say, "Open the page again."));
    }
    if let Some(key) = &answer.choice
        && question.option(key).is_none()
    {
        let say = format!("\"{}\" is not one of the options", short(key));
        errors.push(FieldError::new("choice", say, "Choose one of the letters shown, or none of these."));
    }
}

pub(super) fn report(errors: &mut Vec<FieldError>, report: &Report, car: Option<&Car>) {
    text(errors, "says", &report.says, SHORT, true);
    if report.from > report.to {
        let say = format!("it begins on {} and ends on {}", report.from, report.to);
        errors.push(FieldError::new("to", say, "The last day comes after the first."));
    }
    for (field, part) in [
        ("done", &report.done),
        ("found", &report.found),
        ("changed", &report.changed),
        ("need", &report.need),
        ("next", &report.next),
    ] {
        lines(errors, field, part);
    }
    if [&report.done, &report.found, &report.changed, &report.need, &report.next].iter().all(|part| part.is_empty()) {
        errors.push(FieldError::new("done", "the report says nothing", "Write at least one line."));
    }
    photographs(errors, &report.photographs, car, true);
}

fn lines(errors: &mut Vec<FieldError>, field: &'static str, lines: &[String]) {
    if lines.len() > MOST_LINES {
        let say = format!("{} lines were typed", lines.len());
        errors.push(FieldError::new(field, say, format!("At most {MOST_LINES} are taken.")));
    }
    for line in lines.iter().take(MOST_LINES) {
        text(errors, field, line, LONG.min(400), true);
    }
}

/// Photographs for the owner have a place: those without are listed as unplaced and stay in the shop. Only a
/// card, which a question about the colour shows, has no place on the car.
fn photographs(errors: &mut Vec<FieldError>, ids: &[EntryId], car: Option<&Car>, placed: bool) {
    if ids.len() > MOST_PHOTOGRAPHS {
        let say = format!("{} photographs were chosen", ids.len());
        errors.push(FieldError::new("photographs", say, format!("At most {MOST_PHOTOGRAPHS} go with it.")));
    }
    let Some(car) = car else { return };
    for id in ids {
        let wrong = match car.entry_by_id(*id).map(|entry| &entry.what) {
            Some(What::Photographed(photo)) if photo.zone.is_some() || !placed => continue,
            Some(What::Photographed(_)) => "a photograph has no zone yet",
            _ => "a photograph is not in this car's record",
        };
        errors.push(FieldError::new("photographs", wrong, "Choose photographs with a zone and a caption."));
    }
}
