//! What would follow if a look were taken and showed clear, or bad.

use std::sync::Arc;

use job::car::Car;
use job::outlook::{Case, Moves, in_ten};
use maud::{Markup, html};

use super::{first_of, hours, looks::takes};
use crate::access::Access;
use crate::drawing;
use crate::fault::Fault;
use crate::layout::{CarPage, Deed, Ground, Sheet};
use crate::shell::upper;
use crate::state::App;
use crate::{dimension, link};
use job::car::ZoneState;
use job::person::Deed as May;
use job::what::Severity;

/// Both answers beside each other.
pub(super) async fn page(app: &App, access: &Access, car: &Arc<Car>, key: &str) -> Result<Markup, Fault> {
    let (of, asked) = (car.clone(), key.to_owned());
    let found = app.aside(move |shop| async move { shop.what_if(&of, &asked).await }).await?;
    let what_if = found.ok_or(Fault::NotFound("look that would still tell something"))?;
    let look = &what_if.look;
    let writes = access.role.may(May::Write);
    let to = look.reaches.first().map(
        |zone| {
            if writes { link::look(car.id, &zone.id) } else { link::zone(car.id, &zone.id) }
        },
    );
    let page = CarPage {
        app,
        access,
        car,
        ground: Ground::Paper,
        sheet: Sheet::NextLook,
        title: "What if?",
        says: &first_of(look),
        legend: false,
        deed: Deed::Go(link::next(car.id), "Next look"),
    };
    let bad = match look.reaches.len() {
        1 => "It is seen thin or holed.",
        _ => "The likeliest of its zones is seen thin or holed; nothing is said of the others.",
    };
    let clear = match look.reaches.len() {
        1 => "Nothing is found there.",
        _ => "Nothing is found in any of its zones.",
    };
    Ok(page.draw(html! {
        dl.facts {
            div { dt { "Takes" } dd { (takes(look.hours)) } }
            div { dt { "Hours at stake" } dd { (hours(look.stake_h)) } }
            div { dt { "Expected to save" } dd { (hours(look.gain_h)) } }
            div { dt { "Left after its hours" } dd { @if look.worth_h > 0.0 { (hours(look.worth_h)) } @else { "none: not worth its hours now" } } }
        }
        div.two.whatif {
            (card(car, "If it shows clear", clear, ZoneState::Clear, &what_if.clear))
            (card(car, "If it shows bad", bad, ZoneState::Bad(Severity::Thin), &what_if.bad))
        }
        p.small.soft { "Drawn: the chance as it would be; the hollow lozenge is where it stands now. Nothing here is kept: it is a guess about an answer that nobody has." }
        p.row.no-print {
            @if let Some(to) = to { a.btn.main href=(to) { @if writes { "Add the look" } @else { "See the zone" } } }
            a.btn href=(link::next(car.id)) { "Back to Next look" }
        }
    }))
}

fn card(car: &Car, heading: &str, says: &str, state: ZoneState, case: &Case) -> Markup {
    let (before_h, after_h) = case.mean_h;
    html! {
        section.opt.stack {
            h2 { (drawing::mark(state, false)) " " (heading) }
            p.small.soft { (says) }
            p { "Mean hours of metal: " (hours(before_h)) " now, " b { (hours(after_h)) } " then" @if let Some(moved) = moved(before_h, after_h) { ", " (moved) } "." }
            p { @match &case.next { Some(next) => { "Then look next: " b { (next) } "." }, None => "Then no other look is worth its hours." } }
            @if case.zones.is_empty() { p { "No zone would move." } }
            ul { @for zone in &case.zones { li.moves { (row(car, zone)) } } }
        }
    }
}

fn row(car: &Car, zone: &Moves) -> Markup {
    html! {
        p {
            a.touch href=(link::zone(car.id, &zone.instance.id)) { (upper(&zone.instance.name())) }
            @if !zone.reached { span.small.soft { " moves with it" } }
            br;
            span.soft.small { "now " (in_ten(&zone.before)) ", then " b { (in_ten(&zone.after)) } }
        }
        (dimension::moved(&zone.before, &zone.after))
    }
}

/// By how much a mean moves, in words; `None` where nobody would speak of it.
fn moved(before_h: f64, after_h: f64) -> Option<String> {
    let by = after_h - before_h;
    match by {
        by if by.abs() < 0.5 => None,
        by if by < 0.0 => Some(format!("{} fewer", hours(-by))),
        by => Some(format!("{} more", hours(by))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mean_that_moves_is_said_in_words() {
        assert_eq!(moved(100.0, 100.2), None);
        assert_eq!(moved(100.0, 88.0).as_deref(), Some("12 h fewer"));
        assert_eq!(moved(100.0, 123.0).as_deref(), Some("23 h more"));
    }
}
