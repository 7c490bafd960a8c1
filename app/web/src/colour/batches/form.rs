//! What is typed of a batch beside its figures: parts of the car, lots, the keep-sample.

use job::body::Instance;
use job::car::Car;
use job::mixing::Poured;
use job::paintwork;
use job::validate::{FieldError, instances};
use maud::{Markup, html};

use crate::access::Access;
use crate::field;
use crate::layout::who_picks;
use crate::shell::upper;
use crate::typed::Typed;

/// Parts of the outside that a painter speaks of; a zone of the shell can be ticked besides.
const PARTS: [&str; 14] = [
    "whole outside",
    "bonnet",
    "roof",
    "boot lid",
    "left front wing",
    "right front wing",
    "left door",
    "right door",
    "left rear quarter",
    "right rear quarter",
    "sills",
    "door shuts",
    "engine bay",
    "inside of the shell",
];

/// The fields of a batch: lots by step, parts, keep-sample, note, who.
pub(crate) fn fields(access: &Access, car: &Car, steps: &[Poured], typed: &Typed, errors: &[FieldError]) -> Markup {
    html! {
        (parts(car, typed, errors))
        fieldset {
            legend { "Lots, from the tins" }
            p.hint { "May be left empty. With them a drift can be traced to a tin." }
            (field::complaint("lot", errors))
            div.two { @for (n, toner) in tins(steps) { (field::Text { id: &format!("lot-{n}"), name: &format!("lot-{n}"), label: &upper(toner), hint: "", value: typed.get(&format!("lot-{n}")), unit: "", errors: &[] }.draw()) } }
        }
        (field::Text { id: "retained", name: "retained", label: "Where the keep-sample stands", hint: "A sealed jar, dated, such as shelf 2 by the mixing bench. Left empty when none is kept.", value: typed.get("retained"), unit: "", errors }.draw())
        (field::note("note", "Note", "", typed.get("note"), errors))
        (field::complaint("who", errors))
        (who_picks(access, Some(typed.get("who")).filter(|who| !who.is_empty())))
    }
}

/// Each tin once, with the first step that it was poured at.
fn tins(steps: &[Poured]) -> Vec<(usize, &str)> {
    let mut tins: Vec<(usize, &str)> = Vec::new();
    for (n, step) in steps.iter().enumerate() {
        if !tins.iter().any(|(_, toner)| *toner == step.toner) {
            tins.push((n, &step.toner));
        }
    }
    tins
}

/// Writes the lots that were typed into their steps.
pub(crate) fn take_lots(steps: &mut [Poured], typed: &Typed) {
    let lots: Vec<(String, String)> =
        tins(steps).iter().map(|(n, toner)| ((*toner).to_owned(), typed.get(&format!("lot-{n}")).to_owned())).collect();
    for step in steps {
        if let Some((_, lot)) = lots.iter().find(|(toner, _)| *toner == step.toner) {
            step.lot.clone_from(lot);
        }
    }
}

/// The parts of the car that were ticked or typed, each once.
pub(crate) fn parts_of_car(typed: &Typed) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for part in typed.all("part").chain(typed.get("other").lines()) {
        let part = part.trim();
        if !part.is_empty() && !parts.iter().any(|known| known == part) {
            parts.push(part.to_owned());
        }
    }
    parts
}

/// Puts parts back into the form: ticks where there is one to tick, words for the rest.
pub(crate) fn untake_parts(car: &Car, parts: &[String], typed: &mut Typed) {
    let (ticks, words): (Vec<&String>, Vec<&String>) = parts.iter().partition(|part| {
        PARTS.contains(&part.as_str()) || instances(&car.details).iter().any(|instance| instance.id == part.as_str())
    });
    typed.set_all("part", ticks.into_iter().cloned().collect());
    typed.set("other", words.into_iter().map(String::as_str).collect::<Vec<_>>().join("\n"));
}

fn parts(car: &Car, typed: &Typed, errors: &[FieldError]) -> Markup {
    let zones = instances(&car.details);
    let mut words: Vec<String> = PARTS.map(str::to_owned).to_vec();
    // Parts that this car was painted in before, by the names they were given.
    for (part, _) in paintwork::batches_by_part(car) {
        if !words.contains(&part) && !zones.iter().any(|zone| zone.name() == part) {
            words.push(part);
        }
    }
    let tick = |value: &str, label: &str| {
        html! { label.pick { input type="checkbox" name="part" value=(value) checked[typed.is("part", value)]; span { (label) } } }
    };
    let ticked = |zone: &&&Instance| typed.is("part", &zone.id);
    html! {
        fieldset {
            legend { "Which parts of the car is it for?" }
            (field::complaint("parts_of_car", errors))
            div.picks.side { @for part in &words { (tick(part, &upper(part))) } }
        }
        details open[zones.iter().any(|zone| ticked(&zone))] {
            summary { "Zones of the shell" }
            div.picks.side { @for zone in &zones { (tick(&zone.id, &upper(&zone.name()))) } }
        }
        (field::note("other", "Other parts, one a line", "", typed.get("other"), errors))
    }
}
