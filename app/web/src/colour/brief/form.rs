//! The form of a brief: plain words first, then each angle by hand.

use job::car::Car;
use job::colour::{Geometry, Illuminant, Lab, Measurement, hue_name, lab};
use job::ids::EntryId;
use job::mixing::Wanted;
use job::paint;
use job::paintwork::briefs::Telling;
use job::paintwork::{Told, engine};
use job::person::Deed;
use job::validate::FieldError;
use job::what::Measured;
use maud::{Markup, html};

use super::ask::{AMOUNTS, STEPS, USUAL_AMOUNT, WEIGHTS, much, weight_field};
use super::only_then;
use crate::access::Access;
use crate::colour::recipes::EDITS;
use crate::colour::swatches::{OBSERVER, degrees};
use crate::fault::sentence;
use crate::layout::who_picks;
use crate::typed::Typed;
use crate::{field, link};

/// The fields that can be wrong and are on this page.
pub(super) const FIELDS: [&str; 6] = ["words", "edits", "name", "why", "who", "note"];
/// How far the sliders go to either side: L\*, C\*, degrees of hue.
const REACH: [f64; 3] = [25.0, 40.0, 90.0];
/// A chroma below which a hue has no name.
const GREY: f64 = 5.0;

/// The form; `telling` is what it comes to, where it comes to something.
pub(super) fn form(
    access: &Access,
    car: &Car,
    donor: &Told<'_, Measured>,
    telling: Option<&Telling>,
    typed: &Typed,
    errors: &[FieldError],
) -> Markup {
    let may = access.role.may(Deed::Write);
    let action = link::colour(car.id, "brief");
    let measured = telling.map(|telling| telling.donor.clone()).or_else(|| paint::measurement(donor.1).ok());
    html! {
        form #brief.stack-l.no-print method="get" action=(action) data-brief {
            input type="hidden" name="donor" value=(donor.0.seq);
            @for name in ["face_of", "flop_of"] { @if !typed.get(name).is_empty() { input type="hidden" name=(name) value=(typed.get(name)); } }
            section {
                h2 { "What to keep, what to take away" }
                fieldset.err[field::is_wrong("words", errors)] {
                    legend { "In plain words" }
                    (field::complaint("words", errors))
                    div.picks.side { @for want in Wanted::ALL { (word(*want, typed)) } }
                }
            }
            fieldset.err[field::is_wrong("edits", errors)] {
                legend { "Each angle by hand" }
                (field::complaint("edits", errors))
                @if let Some(measured) = &measured {
                    @for (geometry, names) in EDITS { @if measured.at(geometry).is_some() { (angle(measured, geometry, names, typed, errors)) } }
                }
            }
            p.row { button formnovalidate { "Show it" } a.btn href={ (action) "?donor=" (donor.0.seq) } { "As the donor again" } }
            @if may {
                section #near {
                    h2 { "How near can we get?" }
                    p { "With the toners of this car's shelf, from the donor as it is to the whole wish. It takes some seconds; nothing is kept until you say so." }
                    (only_then(car, typed))
                    label.pick {
                        input type="checkbox" name="near" value="1" checked[typed.is("near", "1")];
                        span { b { "Show the curve while I change the brief" } small { "it follows above, soon after you let go" } }
                    }
                    p.row { button formaction={ (action) "/near" } formmethod="post" formenctype="multipart/form-data" formnovalidate { "How near can we get" } }
                }
                section #keep {
                    h2 { "Keep this brief" }
                    div.stack-l {
                        input type="hidden" name="entry" value=(EntryId::fresh());
                        (field::Text { id: "name", name: "name", label: "Name", hint: "Left empty, it is called after the donor.", value: typed.get("name"), unit: "", errors }.draw())
                        (field::note("why", "Why, for the record", "What is liked about the donor, and what is not.", typed.get("why"), errors))
                        (field::complaint("who", errors))
                        (who_picks(access, Some(typed.get("who")).filter(|who| !who.is_empty())))
                        p.row { button.main formaction=(action) formmethod="post" formenctype="multipart/form-data" { "Keep this brief" } }
                    }
                }
            }
        }
    }
}

fn word(want: Wanted, typed: &Typed) -> Markup {
    let (key, name) = (want.key(), much(want));
    let sent = typed.get(&name);
    let amount = sent.parse().unwrap_or(USUAL_AMOUNT);
    let usual = AMOUNTS.iter().any(|(known, _)| *known == amount);
    let full = engine::want(want).full();
    html! {
        div.want {
            label.pick {
                input type="checkbox" name="want" value=(key) checked[typed.is("want", key)];
                span { b { (sentence(want.words()).trim_end_matches('.')) } small { (full) } }
            }
            @if want != Wanted::KeepFace {
                div.field {
                    select name=(name) aria-label={ (want.words()) ": how much?" } {
                        @if !usual { option value=(sent) selected { (format!("{:.0} % of it", amount * 100.0)) } }
                        @for (value, words) in AMOUNTS { option value=(value) selected[value == amount] { (words) } }
                    }
                }
            }
        }
    }
}

fn angle(
    donor: &Measurement,
    geometry: Geometry,
    names: [&'static str; 3],
    typed: &Typed,
    errors: &[FieldError],
) -> Markup {
    let weight = weight_field(geometry);
    let weighed = typed.get(weight);
    let fields = names.iter().chain([&weight]);
    let changed = fields.clone().any(|name| !matches!(typed.get(name), "" | "0") || field::is_wrong(name, errors));
    let open = changed || (names.iter().chain([&weight]).any(|name| field::is_wrong(name, errors)));
    let [dl, dc, dh] = names;
    let [down, up] = hues(donor, geometry);
    html! {
        details id={ "by-hand-" (geometry.aspecular_deg()) } open[open] {
            summary { (degrees(geometry)) " " (geometry.word()) }
            div.tray.stack {
                (slider(dl, "Lightness", ["darker", "lighter", "as the donor"], "", 0, typed, errors))
                (slider(dc, "Strength of colour", ["greyer", "stronger", "as the donor"], "", 1, typed, errors))
                (slider(dh, "Hue", [&down, &up, "as the donor"], "\u{b0}", 2, typed, errors))
                div.field.err[field::is_wrong(weight, errors)] {
                    label for=(weight) { "This angle counts" }
                    (field::complaint(weight, errors))
                    select id=(weight) name=(weight) {
                        @for (value, words) in WEIGHTS { option value=(value) selected[value == weighed] { (words) } }
                        @if !WEIGHTS.iter().any(|(value, _)| *value == weighed) { option value=(weighed) selected { (weighed) " times as much as usual" } }
                    }
                }
            }
        }
    }
}

/// Which way the hue turns at an angle, falling and rising, in words.
fn hues(donor: &Measurement, geometry: Geometry) -> [String; 2] {
    let colour: Option<Lab> = donor.at(geometry).map(|spectrum| lab(spectrum, Illuminant::D65, OBSERVER));
    match colour.filter(|colour| colour.chroma() >= GREY) {
        Some(colour) => {
            let own = hue_name(colour.hue_deg());
            let next = |by: f64| {
                let mut steps =
                    (1..=36).map(|step| hue_name((colour.hue_deg() + by * f64::from(step)).rem_euclid(360.0)));
                steps.find(|name| *name != own).unwrap_or(own)
            };
            [next(-5.0), next(5.0)].map(|name| format!("towards {name}"))
        }
        None => ["one way round".into(), "the other way round".into()],
    }
}

fn slider(
    name: &'static str,
    label: &str,
    [low, high, none]: [&str; 3],
    unit: &str,
    which: usize,
    typed: &Typed,
    errors: &[FieldError],
) -> Markup {
    let value: f64 =
        typed.get(name).replace(',', ".").parse().ok().filter(|value: &f64| value.is_finite()).unwrap_or(0.0);
    // A slider that ends short of its value would change it unasked.
    let most = REACH.get(which).map_or(value.abs(), |most| value.abs().ceil().max(*most));
    let step = STEPS.get(which).copied().unwrap_or(1.0);
    let amount = (value.abs() * 100.0).round() / 100.0;
    let words = match value {
        _ if amount == 0.0 => none.to_owned(),
        v if v < 0.0 => format!("{amount}{unit} {low}"),
        _ => format!("{amount}{unit} {high}"),
    };
    html! {
        div.field.err[field::is_wrong(name, errors)] {
            label for=(name) { (label) } output for=(name) { (words) }
            (field::complaint(name, errors))
            input id=(name) type="range" name=(name) min=(-most) max=(most) step=(step) value=(value)
                data-low-word=(low) data-high-word=(high) data-none-word=(none) data-unit=(unit);
            span.ends.small { span { (low) } span { (high) } }
        }
    }
}
