//! What is to be weighed, and all of its steps as a table that prints.

use job::validate::FieldError;
use maud::{Markup, html};

use super::Pour;
use super::ask::{View, Went};
use super::plan::Plan;
use crate::layout::Deed as Bar;
use crate::shell::upper;
use crate::{field, link};

/// The form that asks how much.
pub(super) fn form(pour: &Pour<'_>, errors: &[FieldError]) -> Markup {
    let (ask, formula) = (pour.ask, pour.formula);
    let held: f64 = pour.into.map_or(0.0, |batch| batch.pot_g().iter().map(|(_, grams)| grams).sum());
    let left = if ask.typed.get("pot").is_empty() { format!("{held:.0}") } else { ask.typed.get("pot").to_owned() };
    let text = |name: &'static str, label: &str, hint: &str, unit: &str, usual: &str| {
        let value = if ask.typed.get(name).is_empty() { usual } else { ask.typed.get(name) };
        field::Text { id: name, name, label, hint, value, unit, errors }.draw()
    };
    let says = match pour.into {
        None => format!("{}: how much is to be mixed?", formula.recipe.name),
        Some(batch) => format!("{}, into the pot of batch {}.", formula.recipe.name, batch.number),
    };
    let body = html! {
        form #weigh.stack-l action=(link::colour(pour.car.id, "pour")) {
            input type="hidden" name="recipe" value=(formula.entry.seq);
            @if let Some(batch) = pour.into {
                input type="hidden" name="into" value=(batch.entry.seq);
                (field::complaint("into", errors))
                (text("amount", "Left in the pot", "What was sprayed already is gone; weigh the pot and take off its own weight.", "g", &left))
            } @else {
                (text("amount", "How much", "The Coats sheet works litres out from area and film.", "g or L", ""))
                fieldset {
                    legend { "In" }
                    div.picks.side {
                        @for (unit, words) in [("g", "grams"), ("l", "litres")] {
                            label.pick { input type="radio" name="unit" value=(unit) checked[ask.typed.get("unit") == unit || (unit == "g" && ask.typed.get("unit").is_empty())]; span { (words) } }
                        }
                    }
                }
            }
            div.three {
                (text("scale", "The scale shows steps of", "", "g", "0.1"))
                (text("least", "Smallest dose", "Under it a step of the scale counts too much.", "g", "1"))
                (text("holds", "The pot holds", "Left empty: half as much again.", "g", ""))
            }
            button.main.wide { "Work it out" }
        }
        p.note { "A toner of 0.8 g on a scale of 0.1 g may be 12 percent wrong before anything else: rather mix 300 to 500 g at once. Scale level and checked, toners stirred twice a day (common practice, no source)." }
    };
    let shown: &[&str] = match pour.into {
        Some(_) => &["amount", "scale", "least", "holds", "into"],
        None => &["amount", "scale", "least", "holds"],
    };
    let errors = field::at_their_place(errors, shown);
    pour.sheet("Pour", &says, Bar::Send("weigh", "Work it out"), &errors, body)
}

/// All steps.
pub(super) fn table(pour: &Pour<'_>, plan: &Plan) -> Markup {
    let (ask, formula) = (pour.ask, pour.formula);
    let places = plan.places();
    let total = plan.lines.last().map_or(0.0, |line| line.total_g);
    let says = format!("{}: {total:.places$} g in {} steps.", formula.recipe.name, plan.lines.len());
    let first = pour.at(View::Step, &ask.went);
    let told = vec![Went { grams: None, anew: false }; plan.lines.len().saturating_sub(plan.done)];
    let all: Vec<Went> = ask.went.iter().copied().chain(told).collect();
    let begin = match (plan.lines.is_empty(), plan.next()) {
        (true, _) => None,
        (_, None) => Some("All is in"),
        _ if plan.done > 0 => Some("Go on"),
        _ => Some("Begin"),
    };
    let deed = match begin {
        Some(words) => Bar::Go(first.clone(), words),
        None => Bar::Go(link::colour(pour.car.id, "batches"), "Batches"),
    };
    let body = html! {
        @if pour.into.is_some() { p.note { "Put the pot on the scale and set it to zero: the figures below are what is added." } }
        @for warning in &plan.warnings { p.note { b { "Mind: " } (crate::fault::sentence(warning)) } }
        div.scroll tabindex="0" role="group" aria-label="Steps" {
            table.weigh {
                caption { (formula.recipe.name) ", film " (format!("{:.0}", formula.recipe.film_um)) " \u{b5}m in " (formula.recipe.coats) " coats over " (formula.recipe.primer) }
                thead { tr { th scope="col" { "" } th scope="col" { "Toner" } th.r scope="col" { "add" } th.r scope="col" { "scale shows" } th scope="col" { "in" } th.paper scope="col" { "really in, g" } th.paper scope="col" { "lot" } } }
                tbody {
                    @for (n, line) in plan.lines.iter().enumerate() {
                        tr.sel[n == plan.done && plan.done > 0] {
                            td { (n + 1) }
                            th scope="row" { (upper(&line.name)) @if line.remedy { " " span.small.soft { "remedy" } } }
                            td.r { (format!("{:.places$}", line.add_g)) " g" }
                            td.r { (format!("{:.places$}", line.total_g)) " g" }
                            td { @match line.went { None => { span.tick {} } Some(Went { grams: None, .. }) => "in", Some(Went { grams: Some(grams), .. }) => { (format!("{grams:.places$}")) " g" } } }
                            td.paper {} td.paper {}
                        }
                    }
                }
            }
        }
        p.small { "Rounding to the scale moves the colour by " (format!("{:.2}", plan.shift.mean_de00)) " CIEDE2000, as predicted. Nothing under 0.5 is seen side by side (common practice, no source)." }
        p.row.no-print {
            @if let Some(words) = begin { a.btn.main href=(first) { (words) ", one step a screen" } }
            @if plan.next().is_some() { a.btn href=(pour.at(View::Done, &all)) { "It was poured from this sheet, as told" } }
            a.btn href={ (link::colour(pour.car.id, "pour")) "?recipe=" (formula.entry.seq) } { "Another amount" }
        }
        p.small.no-print { "The sheet prints; lots and what really went in can be written beside it and typed at the end." }
    };
    pour.sheet("Pour", &says, deed, &[], body)
}
