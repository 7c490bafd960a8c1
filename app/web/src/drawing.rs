//! The outline as the pages draw it: the one body model with links, and the hatching that says what is known.

use job::body::{Instance, StrokeKind, View};
use job::car::{Car, ZoneState};
use job::outlook::{Likelihood, Outlook, in_ten};
use job::validate::instance;
use job::what::Severity;
use maud::{Markup, PreEscaped, html};

use crate::link;

/// Class and fill of a zone in a state.
pub(crate) fn look(state: ZoneState) -> (&'static str, Option<&'static str>) {
    match state {
        ZoneState::NotLooked => ("none", None),
        ZoneState::Clear => ("clear", None),
        ZoneState::Bad(Severity::Pitted) => ("bad", Some("url(#bad1)")),
        ZoneState::Bad(Severity::Thin) => ("bad", Some("url(#bad2)")),
        ZoneState::Bad(Severity::Holed) => ("bad", Some("url(#bad3)")),
        ZoneState::MadeGood => ("made", None),
    }
}

/// The stipple of a zone that nobody has looked at, by its chance; the lowest has none.
fn stipple(likelihood: Likelihood) -> Option<&'static str> {
    match likelihood {
        Likelihood::VeryUnlikely => None,
        Likelihood::Unlikely => Some("url(#may1)"),
        Likelihood::May => Some("url(#may2)"),
        Likelihood::Likely => Some("url(#may3)"),
        Likelihood::VeryLikely => Some("url(#may4)"),
    }
}

/// The hatches and stipples, once a page.
pub(crate) fn patterns() -> Markup {
    // Pattern fills are attributes: set from a stylesheet, browsers drop them.
    PreEscaped(
        concat!(
            r##"<svg width="0" height="0" aria-hidden="true" focusable="false" class="defs"><defs>"##,
            r##"<pattern id="bad1" width="16" height="16" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="16" height="16" class="paper"/><path d="M0 0V16" class="h" stroke-width="1.1"/></pattern>"##,
            r##"<pattern id="bad2" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="8" height="8" class="paper"/><path d="M0 0V8" class="h" stroke-width="1.5"/></pattern>"##,
            r##"<pattern id="bad3" width="4" height="4" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="4" height="4" class="paper"/><path d="M0 0V4" class="h" stroke-width="1.8"/></pattern>"##,
            r##"<pattern id="may1" width="16" height="16" patternUnits="userSpaceOnUse"><rect width="16" height="16" class="paper"/><circle cx="4" cy="4" r="1.1" class="dot"/><circle cx="12" cy="12" r="1.1" class="dot"/></pattern>"##,
            r##"<pattern id="may2" width="11" height="11" patternUnits="userSpaceOnUse"><rect width="11" height="11" class="paper"/><circle cx="2.75" cy="2.75" r="1.25" class="dot"/><circle cx="8.25" cy="8.25" r="1.25" class="dot"/></pattern>"##,
            r##"<pattern id="may3" width="8" height="8" patternUnits="userSpaceOnUse"><rect width="8" height="8" class="paper"/><circle cx="2" cy="2" r="1.4" class="dot"/><circle cx="6" cy="6" r="1.4" class="dot"/></pattern>"##,
            r##"<pattern id="may4" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" class="paper"/><circle cx="1.5" cy="1.5" r="1.55" class="dot"/><circle cx="4.5" cy="4.5" r="1.55" class="dot"/></pattern>"##,
            r##"<pattern id="past" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" class="paper"/><path d="M0 0V6" class="h" stroke-width="1.2"/></pattern>"##,
            "</defs></svg>"
        )
        .into(),
    )
}

/// A small square in the hatching of a state, for lists and choices.
pub(crate) fn mark(state: ZoneState, named: bool) -> Markup {
    let (class, fill) = look(state);
    html! {
        svg.mark viewBox="0 0 48 30" role=[named.then_some("img")] aria-label=[named.then_some(state.words())]
            aria-hidden=[(!named).then_some("true")] {
            rect x="2" y="2" width="44" height="26" class={ "zs " (class) } fill=[fill] {}
        }
    }
}

/// The states in the order of the legend.
pub(crate) const STATES: [ZoneState; 6] = [
    ZoneState::NotLooked,
    ZoneState::Clear,
    ZoneState::Bad(Severity::Pitted),
    ZoneState::Bad(Severity::Thin),
    ZoneState::Bad(Severity::Holed),
    ZoneState::MadeGood,
];

/// What the hatching means.
pub(crate) fn legend() -> Markup {
    html! {
        section {
            h2 { "Hatching" }
            ul.key { @for state in STATES { li { (mark(state, false)) span { (state.words()) } } } }
        }
    }
}

/// What the stipple means, beside a map by chance.
pub(crate) fn stipple_key() -> Markup {
    html! {
        ul.key.side {
            @for likelihood in Likelihood::ALL {
                @let fill = stipple(*likelihood);
                li {
                    svg.mark viewBox="0 0 48 30" aria-hidden="true" {
                        rect x="2" y="2" width="44" height="26" class={ "zs " @if fill.is_some() { "may" } @else { "none" } } fill=[fill] {}
                    }
                    span { (likelihood.words()) }
                }
            }
        }
        p.small { b { "Hatch is a finding, stipple is a guess." } " Dots lie only where nobody has looked, and not looked is not clear." }
    }
}

/// A numbered place on the outline.
pub(crate) struct Numbered {
    /// Its number.
    pub(crate) number: usize,
    /// To the right, mm of the view.
    pub(crate) u_mm: f64,
    /// Upward, mm of the view.
    pub(crate) v_mm: f64,
}

/// What is drawn on top of a view.
pub(crate) struct Drawn<'a> {
    /// The car.
    pub(crate) car: &'a Car,
    /// The zone that is chosen.
    pub(crate) on: Option<&'a str>,
    /// Numbered places.
    pub(crate) marks: &'a [Numbered],
    /// Whether zones lead to their pages.
    pub(crate) links: bool,
}

/// One view of the car, every zone hatched by its state and leading to its page.
pub(crate) fn map(view: &View, drawn: &Drawn<'_>) -> Markup {
    html! { figure.pan.map { (plot(view, drawn)) } }
}

/// One view of the car, as wide as what it stands in.
pub(crate) fn plot(view: &View, drawn: &Drawn<'_>) -> Markup {
    let car = drawn.car;
    let shade = |zone: &Instance| {
        let state = car.state(&zone.id);
        let (class, fill) = look(state);
        let to = drawn.links.then(|| link::zone(car.id, &zone.id));
        Shade { class, fill, says: state.words().into(), to, on: drawn.on == Some(zone.id.as_str()) }
    };
    draw(view, car, drawn.marks, &shade)
}

/// One view of the car by chance: what nobody has looked at is dashed and stippled, what was seen is hatched.
/// Each zone leads to where `to` says.
pub(crate) fn chances(
    view: &View,
    car: &Car,
    outlook: &Outlook,
    marks: &[Numbered],
    to: &dyn Fn(&str) -> String,
) -> Markup {
    let shade = |zone: &Instance| {
        let state = car.state(&zone.id);
        let (mut class, mut fill) = look(state);
        let mut says = state.words().to_string();
        if let Some(thought) = outlook.zone(&zone.id).filter(|_| state == ZoneState::NotLooked) {
            says = format!("{says}; {}, {}", thought.likelihood.words(), in_ten(&thought.chance));
            fill = stipple(thought.likelihood);
            class = if fill.is_some() { "may" } else { class };
        }
        Shade { class, fill, says, to: Some(to(&zone.id)), on: false }
    };
    html! { figure.pan.map { (draw(view, car, marks, &shade)) } }
}

/// How one zone is drawn.
struct Shade {
    class: &'static str,
    fill: Option<&'static str>,
    /// What is said of it after its name.
    says: String,
    /// Where it leads.
    to: Option<String>,
    /// Whether it is the chosen one.
    on: bool,
}

impl Shade {
    fn wrap(&self, zone: &Instance, d: &str) -> Markup {
        let says = format!("{}: {}", zone.name(), self.says);
        let class = format!("z {}{}", self.class, if self.on { " on" } else { "" });
        let inner = html! { path d=(d) fill=[self.fill] fill-rule="evenodd" { title { (says) } } };
        html! {
            @match &self.to {
                Some(to) => a class=(class) href=(to) aria-label=(says) data-zone=(zone.id) { (inner) },
                None => g class=(class) { (inner) },
            }
        }
    }
}

fn draw(view: &View, car: &Car, marks: &[Numbered], shade: &dyn Fn(&Instance) -> Shade) -> Markup {
    let here = |id: &str| instance(&car.details, id);
    let (u0, v1) = view.place(0.0, 0.0);
    let spots: Vec<(f64, f64)> = marks.iter().map(|m| view.at(m.u_mm, m.v_mm)).collect();
    html! {
        svg.plot viewBox={ "0 0 " (round(view.width)) " " (round(view.height)) } role="group"
            aria-label={ (view.caption) ", " (car.details.title) }
            data-view=(view.id) data-u0=(round(u0)) data-v1=(round(v1)) data-mm-per-px=(format!("{:.4}", 1.0 / view.px_per_mm())) {
            @for stroke in view.under() { (line(stroke)) }
            @for patch in &view.patches {
                @if let Some(zone) = here(&patch.instance) { (shade(zone).wrap(zone, &patch.d)) }
            }
            @for stroke in view.over() { (line(stroke)) }
            @for patch in &view.patches {
                @if let (Some(label), Some(_)) = (&patch.label, here(&patch.instance)) {
                    // A number would lie on the name; the list beside the drawing still has it.
                    @if !spots.iter().any(|(x, y)| (x - label.x).abs() < 40.0 && (y - label.y).abs() < 20.0) {
                        (text(label, car.state(&patch.instance)))
                    }
                }
            }
            @for callout in &view.callouts {
                @if let Some(zone) = here(&callout.instance) {
                    @let [(x1, y1), (x2, y2)] = callout.leader;
                    @let [x, y, w, h] = callout.rect;
                    path.d.hair d={ "M" (round(x1)) " " (round(y1)) "L" (round(x2)) " " (round(y2)) } {}
                    circle.solid cx=(round(x1)) cy=(round(y1)) r="2.5" {}
                    (shade(zone).wrap(zone, &format!("M{x:.1} {y:.1}h{w:.1}v{h:.1}h{:.1}Z", -w)))
                    (text(&callout.label, car.state(&callout.instance)))
                }
            }
            @for (mark, (x, y)) in marks.iter().zip(&spots) {
                g.spot { circle cx=(round(*x)) cy=(round(*y)) r="12" {} text.t.b.mid x=(round(*x)) y=(round(y + 5.0)) { (mark.number) } }
            }
        }
    }
}

fn line(stroke: &job::body::Stroke) -> Markup {
    let class = match (stroke.kind, stroke.weight) {
        (StrokeKind::Ghost, _) => "d hair",
        (StrokeKind::Ground | StrokeKind::Centre, _) => "d hair",
        (StrokeKind::Fitting, _) if stroke.closed => "d thin fitting",
        (_, 0 | 1) => "d thin",
        (_, 2) => "d thin",
        _ => "d",
    };
    html! { path class=(class) d=(stroke.d) {} }
}

fn text(label: &job::body::Label, state: ZoneState) -> Markup {
    let class = if state == ZoneState::MadeGood { "t mid on-ink" } else { "t mid" };
    html! {
        @for (y, words) in label.baselines() {
            text class=(class) x=(round(label.x)) y=(round(y)) { (words) }
        }
    }
}

fn round(value: f64) -> String {
    format!("{:.1}", value)
}
