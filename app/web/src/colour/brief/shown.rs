//! What a brief comes to: donor and wish side by side, what each angle does, what is doubtful.

use job::car::Car;
use job::colour::Geometry;
use job::mixing::BriefEdit;
use job::paint;
use job::paintwork::briefs::{Briefing, Telling};
use job::paintwork::preview::Subject;
use job::paintwork::{self, Told, engine};
use job::what::Measured;
use maud::{Markup, html};

use super::{ask, pick};
use crate::colour::panel::asked::{Look, Paint};
use crate::colour::panel::figure::Figure;
use crate::colour::swatches::{self, CAUTION};
use crate::fault::sentence;
use crate::link;

/// The part of the page that follows the form.
pub(super) fn told(car: &Car, donor: &Told<'_, Measured>, briefing: &Briefing, telling: &Telling) -> Markup {
    let told = &telling.told;
    html! {
        (donors(car, donor, briefing))
        p.says data-brief-said { (told.sentence) }
        (beside(&telling.donor, telling))
        @if let Some(smoother) = &told.smoother { (smoother_note(car, briefing, telling, &engine::kept_edits(smoother))) }
        (doubts(telling))
        (panels(car, donor, briefing))
    }
}

/// The donor by itself, where what is asked of it cannot be.
pub(super) fn donor_alone(car: &Car, donor: &Told<'_, Measured>) -> Markup {
    let (entry, measured) = donor;
    html! {
        section {
            h2 { (measured.name) ", as it was measured" }
            @match paint::measurement(measured) {
                Ok(paint) => { (swatches::single(&paint)) p.small { (CAUTION) } },
                Err(e) => p.note { (sentence(&e.to_string())) },
            }
            p { a.btn href={ (link::colour(car.id, "brief")) "?donor=" (entry.seq) } { "Start again from this paint" } }
        }
    }
}

/// What a measured paint is called where it is chosen.
fn called(told: &Told<'_, Measured>) -> (String, String) {
    let (entry, measured) = told;
    let picture = if measured.is_picture() { ", from a picture" } else { "" };
    (entry.seq.to_string(), format!("{}{picture}, entry {}", measured.name, entry.seq))
}

/// Which paint it starts from. A form of its own: with another paint, changes at single angles mean nothing.
fn donors(car: &Car, donor: &Told<'_, Measured>, briefing: &Briefing) -> Markup {
    let targets = paintwork::targets(car);
    let all = || targets.iter().rev().map(called);
    let seq = |id: Option<_>| id.and_then(|id| car.standing(id)).map(|entry| entry.seq.to_string());
    html! {
        form.row.filters.tray.no-print method="get" action=(link::colour(car.id, "brief")) {
            @for (name, value) in ask::words_pairs(briefing) { input type="hidden" name=(name) value=(value); }
            (pick::select("donor", "Start from", Some(&donor.0.seq.to_string()), &[], all()))
            @if targets.len() > 1 {
                (pick::select("face_of", "take the face of", seq(briefing.face_of).as_deref(), &[("", "itself".into())], all()))
                (pick::select("flop_of", "take the flop of", seq(briefing.flop_of).as_deref(), &[("", "itself".into())], all()))
            }
            button { "Start from these" }
        }
        @if donor.1.is_picture() { p.note { b { "A picture is not a measurement. " } "Its colours are a wish to start from: camera, light and screen have all had their part in them." } }
    }
}

/// Donor and wish by angle under the three lights, with the words of each angle.
pub(super) fn beside(donor: &job::colour::Measurement, telling: &Telling) -> Markup {
    html! {
        section {
            h2 { "Donor left, wish right" }
            (swatches::pairs(donor, &telling.wish.wish.target, ["donor", "wish"]))
            (swatches::reading())
            ul.plain-list { @for angle in &telling.told.angles { li { (angle.words) } } }
            @let missing: Vec<String> = Geometry::ALL.into_iter().filter(|g| donor.at(*g).is_none()).map(|g| format!("{} {}", swatches::degrees(g), g.word())).collect();
            @if !missing.is_empty() {
                p.note { b { "Not known: " } "the donor was not measured at " (missing.join(", ")) ". What the paint does there cannot be said, nor wished for." }
            }
        }
    }
}

fn smoother_note(car: &Car, briefing: &Briefing, telling: &Telling, smoother: &[BriefEdit]) -> Markup {
    let more = ask::between(&telling.briefed.brief.edits, smoother);
    let next = Briefing { by_hand: ask::added(&briefing.by_hand, &more), ..briefing.clone() };
    html! {
        div.note.stack {
            p { b { "Between neighbouring angles this wish jumps, " } "which no one paint does well. The nearest wish without a jump is within reach." }
            p.no-print { a.btn href={ (link::colour(car.id, "brief")) "?" (ask::query(&ask::pairs(car, &next))) } { "Take the smoother wish" } }
        }
    }
}

pub(super) fn doubts(telling: &Telling) -> Markup {
    let doubts = &telling.told.warnings;
    html! {
        @if !doubts.is_empty() {
            section { h2 { "Doubtful" } ul.plain-list { @for doubt in doubts { li { (sentence(&doubt.what)) } } } }
        }
    }
}

/// Donor and wish on a curved panel.
fn panels(car: &Car, donor: &Told<'_, Measured>, briefing: &Briefing) -> Markup {
    let look = Look::default();
    let query = ask::query(&ask::pairs(car, briefing));
    let figure = |paint: &Paint, name: &str| {
        Figure { car: car.id, left: paint, right: None, brief: &query, look: &look, name, says: &[] }.draw()
    };
    html! {
        section {
            h2 { "On a curved panel, overcast sky" }
            div.panels {
                (figure(&Paint::Entry(Subject::Measured(donor.0.seq)), "Donor"))
                (figure(&Paint::Wish, "Wish"))
            }
            p.small { "What lies between and beyond the measured angles is an interpolation." }
        }
    }
}
