//! One step a screen, to be read from two metres, and what to do when too much went in.

use job::validate::FieldError;
use maud::{Markup, html};

use super::Pour;
use super::ask::{View, Went, figure};
use super::plan::{Line, Plan};
use super::weigh::{Cure, Told, name};
use crate::colour::swatches::near;
use crate::fault::Fault;
use crate::layout::hand;
use crate::shell::upper;
use crate::{field, link};

/// Steps and whether they are done, as a bar.
fn bar(plan: &Plan) -> Markup {
    let (now, all) = (plan.done + 1, plan.lines.len());
    html! {
        ol.steps aria-label={ "Step " (now) " of " (all) } {
            @for n in 0..all { li.done[n < plan.done].now[n == plan.done] {} }
        }
    }
}

/// What stands on top of every screen of a pour.
fn head(pour: &Pour<'_>, plan: &Plan, view: View) -> Markup {
    let turned = pour.ask.turned();
    html! {
        (bar(plan))
        div.row.between {
            b { "Step " (plan.done + 1) " of " (plan.lines.len()) }
            a.btn href=(pour.at(View::Sheet, &pour.ask.went)) { "Leave" }
            a.btn href=(turned.at(pour.car.id, view, &pour.ask.went)) { @if pour.ask.dark { "Light" } @else { "Dark" } }
        }
    }
}

/// The screen of the next step.
pub(super) fn page(pour: &Pour<'_>, plan: &Plan) -> Markup {
    let Some(line) = plan.next() else { return html! {} };
    let ask = pour.ask;
    let places = plan.places();
    let mut poured = ask.went.clone();
    poured.push(Went { grams: None, anew: false });
    let back = ask.went.split_last().map(|(_, before)| before);
    let title = format!("Step {} of {}", plan.done + 1, plan.lines.len());
    hand(
        &title,
        ask.dark,
        html! {
            (head(pour, plan, View::Step))
            h1.read { (upper(&line.name)) }
            p.read.lab { (advice(line, plan)) }
            div.nums {
                div { p.lab { "Pour in" } p.big { (format!("{:.places$}", line.add_g)) " " small { "g" } } }
                div { p.lab { "Stop when the scale reads" } p.big { (format!("{:.places$}", line.total_g)) " " small { "g" } } }
            }
            div.go {
                @match back {
                    Some(before) => a.btn href=(pour.at(View::Step, before)) { "Back" },
                    None => a.btn href=(pour.at(View::Sheet, &[])) { "Back" },
                }
                a.btn href=(pour.at(View::Over, &ask.went)) { "Too much went in" }
                a.btn.main href=(pour.at(View::Step, &poured)) { "Poured" }
            }
        },
    )
}

/// What a painter would say over somebody's shoulder.
fn advice(line: &Line, plan: &Plan) -> String {
    let first = if plan.done == 0 { "Pot on the scale, scale at zero. " } else { "" };
    let remedy = if line.remedy { "To bring it back. " } else { "" };
    let words =
        if line.toner.is_none() { "The clear part of the mix." } else { "Stir the tin. The last gram drop by drop." };
    format!("{first}{remedy}{words}")
}

/// Too much went in: what the scale reads, and what brings it back.
pub(super) async fn over(pour: &Pour<'_>, plan: &Plan) -> Result<Markup, Fault> {
    let Some(line) = plan.next() else { return Ok(html! {}) };
    let reads = match pour.ask.typed.get("reads") {
        "" => None,
        _ => Some(grams_in(pour, plan, line)),
    };
    let (grams, remedy) = match reads {
        None => return Ok(reading(pour, plan, line, &[])),
        Some(Err(error)) => return Ok(reading(pour, plan, line, &[error])),
        Some(Ok(grams)) => {
            let (toners, mix) = (pour.formula.toners.clone(), pour.formula.mix.clone());
            let planned = plan.clone();
            match pour.heavy(move || planned.if_so_much(grams, &toners.shelf, &mix)).await? {
                Ok(remedy) => (grams, remedy),
                Err(error) => {
                    let error = FieldError { field: "reads", ..error };
                    return Ok(reading(pour, plan, line, &[error]));
                }
            }
        }
    };
    Ok(told(pour, plan, line, grams, &remedy))
}

/// How much of the step is in, by what the scale reads.
fn grams_in(pour: &Pour<'_>, plan: &Plan, line: &Line) -> Result<f64, FieldError> {
    let reads = pour.ask.typed.number("reads", "scale's reading")?;
    let before = line.total_g - line.add_g;
    let places = plan.places();
    if reads < before - 1e-9 {
        let say = format!("the scale cannot read {reads} g: it read {before:.places$} g before this step");
        return Err(FieldError::new("reads", say, "Type what it shows now, the whole of it."));
    }
    if reads > 200_000.0 {
        return Err(FieldError::new("reads", format!("{reads} g was typed"), "Type what the scale shows, in g."));
    }
    Ok(reads - before)
}

/// Asks what the scale reads.
fn reading(pour: &Pour<'_>, plan: &Plan, line: &Line, errors: &[FieldError]) -> Markup {
    let places = plan.places();
    hand(
        "Too much went in",
        pour.ask.dark,
        html! {
            (head(pour, plan, View::Over))
            h1.read { (upper(&line.name)) }
            p.read.lab { "It should have read " (format!("{:.places$}", line.total_g)) " g." }
            form.stack-l #over action=(link::colour(pour.car.id, "pour")) {
                @for (name, value) in pour.ask.fields(View::Over, &pour.ask.went) { input type="hidden" name=(name) value=(value); }
                div.field.err[field::is_wrong("reads", errors)] {
                    label.read.lab for="reads" { "What does the scale read now?" }
                    (field::complaint("reads", errors))
                    div.in { input.reads #reads name="reads" value=(pour.ask.typed.get("reads")) inputmode="decimal" autocomplete="off" required; span.unit { "g" } }
                }
            }
            div.go {
                a.btn href=(pour.at(View::Step, &pour.ask.went)) { "Back" }
                button.main form="over" { "How to bring it back" }
            }
        },
    )
}

/// What brings it back, or why nothing does.
fn told(pour: &Pour<'_>, plan: &Plan, line: &Line, grams: f64, remedy: &Told) -> Markup {
    let places = plan.places();
    let shelf = pour.formula.shelf();
    let with = |anew: bool| {
        let mut went = pour.ask.went.clone();
        // To a tenth of a milligram, as the address holds it.
        went.push(Went { grams: figure(grams).parse().ok(), anew });
        went
    };
    let more_g = grams - line.add_g;
    let what = if more_g >= 0.0 {
        format!("{more_g:.places$} g too much of {}.", line.name)
    } else {
        format!("{:.places$} g of {} are still missing.", -more_g, line.name)
    };
    let back = pour.at(View::Step, &pour.ask.went);
    let as_it_is = pour.at(View::Step, &with(false));
    let title = match &remedy.cure {
        Cure::StartAgain(_) => "Start again",
        _ => "How to bring it back",
    };
    hand(
        title,
        pour.ask.dark,
        html! {
            (head(pour, plan, View::Over))
            p.read.lab { (what) }
            @match &remedy.cure {
                Cure::Fine => {
                    h1.read { "No harm done" }
                    p.read.lab { "Poured on as planned, the colour stays within what anybody sees: " (format!("{:.1}", remedy.before.worst_de00)) " off at its worst angle." }
                }
                Cure::StartAgain(why) => {
                    h1.read { "Start again" }
                    p.says { (why) }
                    p.says { "Poured on as planned, the colour would be " (format!("{:.1}", remedy.before.mean_de00)) " off: " (near(remedy.before.mean_de00)) "." }
                }
                Cure::Add(steps) => {
                    @let total: f64 = steps.iter().map(|(_, grams)| grams).sum();
                    h1.read { "It can be brought back" }
                    p.says { "Pour what is left in these steps instead. The pot becomes " b { (format!("{:.0}", plan.in_pot_g() + grams + total)) " g" } ". Poured on as planned, the colour would be " (format!("{:.1}", remedy.before.mean_de00)) " off (" (near(remedy.before.mean_de00)) "); this way " (format!("{:.1}", remedy.after.mean_de00)) "." }
                    table.weigh {
                        tbody { @for (toner, grams) in steps { tr { th scope="row" { (upper(name(shelf, *toner))) } td.r { (format!("{grams:.places$}")) " g" } } } }
                    }
                }
            }
            div.go {
                @match &remedy.cure {
                    Cure::Add(_) => {
                        a.btn href=(back) { "Back" }
                        a.btn href=(as_it_is) { "Leave it as it is" }
                        a.btn.main href=(pour.at(View::Step, &with(true))) { "Bring it back" }
                    }
                    Cure::Fine => {
                        a.btn href=(back) { "Back" }
                        a.btn.main href=(as_it_is) { "Next step" }
                    }
                    Cure::StartAgain(_) => {
                        a.btn href=(back) { "Back" }
                        a.btn href=(as_it_is) { "Go on all the same" }
                        a.btn.main href=(pour.at(View::Sheet, &[])) { "Start again" }
                    }
                }
            }
        },
    )
}
