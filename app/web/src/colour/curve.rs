//! How near the toners come while more and more of a wish is asked for: a curve, its figures, and what is missing.

use std::sync::Arc;

use job::car::Car;
use job::colour::brief::Edit;
use job::colour::recipe::{self, Limits, Line, PARTS, Point};
use job::colour::{Geometry, Measurement, Watch};
use job::ids::EntryId;
use job::mixing::Briefed;
use job::paint;
use job::paintwork::briefs::{self, Telling};
use job::paintwork::{Told, engine};
use job::validate::FieldError;
use job::what::Measured;
use maud::{Markup, html};

use super::brief::ask;
use super::era;
use super::found::{Asked, Searched, toners};
use super::recipes::toners_in_use;
use super::swatches::{degrees, one_place};
use super::work::{Outcome, Task};
use crate::fault::{Fault, sentence};
use crate::link;
use crate::state::App;

/// Most toners of each line of the curve.
const SIZES: [usize; 4] = [2, 3, 4, 6];
/// How many recipes are shown beside the curve.
const RECIPES: usize = 4;
/// A difference at which neighbouring panels of a flake still pass (common practice, no source): the dashed line.
const PASSES: f64 = 1.5;

/// Where the wish comes from.
pub(crate) enum From<'a> {
    /// A brief of the record.
    Kept(Told<'a, Briefed>),
    /// A form, not kept yet: the paint it starts from, and what it comes to.
    Form(&'a Told<'a, Measured>, &'a Telling),
}

/// All that the curve is asked of.
struct Wanted {
    donor: Measurement,
    edits: Vec<Edit>,
    weights: Vec<(Geometry, f64)>,
    sizes: Vec<usize>,
    asked: Asked,
}

/// The work, ready to begin.
struct Ready {
    wanted: Wanted,
    limits: Limits,
    name: String,
}

/// Begins the work; gives the address of its page.
pub(crate) async fn begin(
    app: &App,
    car: &Car,
    from: From<'_>,
    only_then: bool,
) -> Result<Result<String, Vec<FieldError>>, Fault> {
    let Ready { wanted, limits, name } = match ready(app, car, from, only_then).await? {
        Ok(ready) => ready,
        Err(error) => return Ok(Err(vec![error])),
    };
    Ok(match app.works.start(car.id, Task::Curve, name, move |watch| search(wanted, &limits, watch)) {
        Ok(work) => Ok(link::work(car.id, work)),
        Err(busy) => Err(vec![busy.error()]),
    })
}

/// How often the curve beside a form is looked for, in seconds.
const AGAIN: u32 = 1;

/// The curve beside the form that it follows: what is known of it, or how far the work is. Begun when nobody has asked
/// for just this yet.
pub(crate) async fn beside(app: &App, car: &Car, from: From<'_>, only_then: bool) -> Result<Markup, Fault> {
    let Ready { wanted, limits, name } = match ready(app, car, from, only_then).await? {
        Ok(ready) => ready,
        Err(error) => return Ok(html! { p.note { (sentence(&error.say)) } }),
    };
    let asks =
        format!("{} {} {:?} {:?} {only_then}", wanted.asked.shelf, wanted.asked.target, wanted.edits, wanted.weights);
    Ok(match app.works.follow(car.id, Task::Curve, name, asks, move |watch| search(wanted, &limits, watch)) {
        Err(busy) => html! { p.note { (sentence(&busy.error().say)) " The curve follows when it is done." } },
        Ok(piece) => html! {
            section aria-label="How near can we get" {
                (piece.beside(AGAIN, |outcome| match outcome {
                    Outcome::Recipes(searched) => searched.curve(),
                    Outcome::Toners(_) => html! {},
                }))
            }
        },
    })
}

async fn ready(app: &App, car: &Car, from: From<'_>, only_then: bool) -> Result<Result<Ready, FieldError>, Fault> {
    let (shelf, file) = match toners_in_use(app, car).await? {
        Ok(found) => found,
        Err(error) => return Ok(Err(error)),
    };
    let mut limits = Limits { how_many: RECIPES, ..Limits::usual(&file.shelf) };
    let mut doubts = Vec::new();
    if only_then {
        let (places, words) = era::left_out(app.shop.catalogue(), &file, car.details.year);
        limits.out_of_stock = places;
        doubts.push(sentence(&words));
    }
    let there = file.shelf.toners().len().saturating_sub(limits.out_of_stock.len()).max(1);
    let mut sizes: Vec<usize> = SIZES.into_iter().map(|size| size.min(there)).collect();
    sizes.dedup();
    let wanted = match wanted(car, from, shelf, file.clone(), sizes, doubts) {
        Ok(wanted) => wanted,
        Err(error) => return Ok(Err(error)),
    };
    let name = format!("for {}", wanted.asked.target_name);
    Ok(Ok(Ready { wanted, limits, name }))
}

fn wanted(
    car: &Car,
    from: From<'_>,
    shelf: EntryId,
    file: Arc<job::shelf_file::ShelfFile>,
    sizes: Vec<usize>,
    mut doubts: Vec<String>,
) -> Result<Wanted, FieldError> {
    let (briefed, wish, donor, kept) = match &from {
        From::Kept((entry, briefed)) => {
            let say = |e: briefs::WishError| FieldError::new("", e.to_string(), "");
            let (donor, wish) = (briefs::donor(car, briefed).map_err(say)?, briefs::wish(car, briefed).map_err(say)?);
            (*briefed, wish, donor, Some(*entry))
        }
        From::Form((_, measured), telling) => {
            // A recipe names its paint and what is other; which angles a second paint lent, only a kept brief says.
            let own = paint::measurement(measured).map_or(0, |own| own.by_angle().len());
            if own != telling.donor.by_angle().len() {
                let say = "a second paint lends this brief angles that the donor was not measured at";
                return Err(FieldError::new("", say, "Keep the brief first; then look how near the toners come."));
            }
            (&telling.briefed, telling.wish.clone(), telling.donor.clone(), None)
        }
    };
    let edits = engine::edits(&briefed.brief.edits).map_err(|e| FieldError::new("edits", e.to_string(), ""))?;
    doubts.extend(wish.warnings.iter().map(|doubt| sentence(&doubt.what)));
    let asked = Asked {
        target: briefed.donor,
        again: match kept {
            Some(entry) => link::brief(car.id, entry.seq),
            None => {
                let pairs = ask::pairs(car, &ask::again(car, briefed));
                format!("{}?{}", link::colour(car.id, "brief"), ask::query(&pairs))
            }
        },
        target_name: briefed.name.clone(),
        briefed: kept.map(|entry| entry.id),
        shelf,
        file,
        brief: briefed.brief.clone(),
        wish: wish.wish.clone(),
        doubts,
    };
    Ok(Wanted { donor, edits, weights: wish.wish.weights, sizes, asked })
}

fn search(wanted: Wanted, limits: &Limits, watch: Watch<'_>) -> Result<Outcome, String> {
    let Wanted { donor, edits, weights, sizes, asked } = wanted;
    // A picture's spectra are invented, and the wish leaves them out.
    let by_colour = asked.wish.spectral.is_empty();
    let ask = recipe::Ask { donor: &donor, edits: &edits, weights: Some(&weights), sizes: &sizes, by_colour };
    let curve = recipe::curve(&asked.file.shelf, &ask, limits, watch).map_err(|e| e.to_string())?;
    Ok(Outcome::Recipes(Box::new(Searched { asked, found: curve.found, lines: curve.lines })))
}

/// One sentence on how far the toners come.
pub(crate) fn says(lines: &[Line]) -> Option<String> {
    let full = |line: &Line| line.points.last().filter(|point| point.part >= 1.0).map(|point| point.worst_de00);
    let best = lines.iter().filter_map(|line| Some((line.most, full(line)?))).min_by(|a, b| a.1.total_cmp(&b.1))?;
    let (most, worst) = best;
    if worst <= PASSES {
        return Some(format!(
            "All of the wish can be had: {} come within {} at every angle.",
            toners(most),
            one_place(worst)
        ));
    }
    let passing =
        |line: &Line| line.points.iter().rev().find(|point| point.worst_de00 <= PASSES).map(|point| point.part);
    let part =
        lines.iter().filter_map(passing).fold(None, |most: Option<f64>, part| Some(most.map_or(part, |m| m.max(part))));
    Some(match part {
        Some(part) if part > 0.0 => format!(
            "{} of the wish can be had within {} at every angle; for all of it, {} is left at the worst.",
            part_words(part),
            one_place(PASSES),
            one_place(worst)
        ),
        Some(_) => format!(
            "The donor can be had within {} at every angle, and little of the wish: for all of it, {} is left at the worst.",
            one_place(PASSES),
            one_place(worst)
        ),
        None => format!(
            "Not even the donor can be had within {} at every angle with these toners; for all of the wish, {} is left at the worst.",
            one_place(PASSES),
            one_place(worst)
        ),
    })
}

fn part_words(part: f64) -> &'static str {
    match part {
        p if p < 0.125 => "Nothing",
        p if p < 0.375 => "A quarter",
        p if p < 0.625 => "Half",
        p if p < 0.875 => "Three quarters",
        _ => "All",
    }
}

/// The curve, its figures and how it is read.
pub(crate) fn section(lines: &[Line]) -> Markup {
    html! {
        @if lines.iter().any(|line| !line.points.is_empty()) {
            section {
                h2 { "How near can we get" }
                div.beside {
                    (chart(lines))
                    p { "Upright: the largest CIEDE2000 difference at any angle, overcast day. Along: how much of the wish is asked for. Dashed: " (one_place(PASSES)) ", which passes on neighbouring panels of a flake (common practice, no source). The thick line is the one with most toners." }
                }
                (table(lines))
                (by_angle(lines))
            }
        }
    }
}

const LEFT: f64 = 44.0;
const RIGHT: f64 = 350.0;
const TOP: f64 = 16.0;
const BOTTOM: f64 = 196.0;
/// How far the names of two lines must stand apart.
const APART: f64 = 18.0;

fn chart(lines: &[Line]) -> Markup {
    let most = lines.iter().flat_map(|line| &line.points).map(|point| point.worst_de00).fold(2.0 * PASSES, f64::max);
    let step = [1.0, 2.0, 4.0, 5.0, 10.0, 20.0, 50.0].into_iter().find(|step| most / step <= 5.0).unwrap_or(100.0);
    let top = (most / step).ceil() * step;
    let x = |part: f64| LEFT + part * (RIGHT - LEFT);
    let y = |de00: f64| BOTTOM - (de00 / top).clamp(0.0, 1.0) * (BOTTOM - TOP);
    let ticks = (0..=(top / step).round() as usize).map(|n| n as f64 * step);
    let largest = lines.iter().map(|line| line.most).max();
    let path = |line: &Line| {
        let point = |(n, point): (usize, &Point)| {
            format!("{}{:.1} {:.1}", if n == 0 { "M" } else { "L" }, x(point.part), y(point.worst_de00))
        };
        line.points.iter().enumerate().map(point).collect::<String>()
    };
    html! {
        svg.plot.curve viewBox="0 0 440 226" role="img" aria-label="How near recipes of several sizes come while more of the wish is asked for; the figures are in the table below" {
            @for tick in ticks {
                path.axis d=(format!("M{LEFT} {0:.1}H{RIGHT}", y(tick))) {}
                text.t.end x=(LEFT - 8.0) y=(format!("{:.1}", y(tick) + 5.0)) { (tick) }
            }
            path.before d=(format!("M{LEFT} {0:.1}H{RIGHT}", y(PASSES))) {}
            @for line in lines {
                path class=(if Some(line.most) == largest { "wish" } else { "reach" }) d=(path(line)) {}
                @for point in &line.points { circle.point cx=(format!("{:.1}", x(point.part))) cy=(format!("{:.1}", y(point.worst_de00))) r="4" {} }
            }
            @for (most, at) in names(lines, &y) { text.t x=(RIGHT + 10.0) y=(format!("{:.1}", at + 5.0)) { (toners(most)) } }
            text.t x=(LEFT) y="220" { "donor" }
            text.t.mid x=(format!("{:.1}", x(0.5))) y="220" { "half the wish" }
            text.t.end x=(RIGHT + 20.0) y="220" { "all of it" }
        }
    }
}

/// Where the name of each line stands: beside its end, moved apart where they would run into each other.
fn names(lines: &[Line], y: &dyn Fn(f64) -> f64) -> Vec<(usize, f64)> {
    let end = |line: &Line| Some((line.most, y(line.points.last()?.worst_de00)));
    let mut names: Vec<(usize, f64)> = lines.iter().filter_map(end).collect();
    names.sort_by(|a, b| a.1.total_cmp(&b.1));
    for n in 1..names.len() {
        let above = names.get(n - 1).map_or(f64::MIN, |(_, at)| *at);
        if let Some((_, at)) = names.get_mut(n) {
            *at = at.max(above + APART);
        }
    }
    // Back up from the foot, where the last one would stand below the drawing.
    let mut below = BOTTOM;
    for (_, at) in names.iter_mut().rev() {
        *at = at.min(below);
        below = *at - APART;
    }
    names
}

fn table(lines: &[Line]) -> Markup {
    let at = |line: &Line, part: f64| line.points.iter().find(|point| (point.part - part).abs() < 1e-9).cloned();
    html! {
        div.scroll tabindex="0" role="group" aria-label="The figures of the curve" {
            table {
                caption { "Largest difference at any angle; below it where, and the mean of all" }
                thead { tr { th scope="col" { "Of the wish" } @for line in lines { th.r scope="col" { "up to " (toners(line.most)) } } } }
                tbody {
                    @for part in PARTS {
                        tr {
                            th scope="row" { (asked_words(part)) }
                            @for line in lines {
                                td.r { @match at(line, part) {
                                    Some(point) => { (one_place(point.worst_de00)) br; span.small { (degrees(point.worst_at)) ", " (one_place(point.mean_de00)) } }
                                    None => "stopped before",
                                } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn asked_words(part: f64) -> &'static str {
    match part {
        p if p < 0.125 => "nothing: the donor",
        p if p < 0.375 => "a quarter",
        p if p < 0.625 => "half",
        p if p < 0.875 => "three quarters",
        _ => "all of it",
    }
}

fn by_angle(lines: &[Line]) -> Markup {
    let whole: Vec<(usize, &Point)> = lines
        .iter()
        .filter_map(|line| Some((line.most, line.points.last().filter(|point| point.part >= 1.0)?)))
        .collect();
    let angles: Vec<Geometry> =
        whole.first().map(|(_, point)| point.by_angle.iter().map(|(g, _)| *g).collect()).unwrap_or_default();
    html! {
        @if !whole.is_empty() {
            div.scroll tabindex="0" role="group" aria-label="What is left at each angle" {
                table {
                    caption { "What is left at each angle, for all of the wish" }
                    thead { tr { th scope="col" { "Angle" } @for (most, _) in &whole { th.r scope="col" { "up to " (toners(*most)) } } } }
                    tbody {
                        @for geometry in &angles {
                            tr {
                                th scope="row" { (degrees(*geometry)) " " (geometry.word()) }
                                @for (_, point) in &whole { td.r { @if let Some((_, de00)) = point.by_angle.iter().find(|(g, _)| g == geometry) { (one_place(*de00)) } } }
                            }
                        }
                    }
                }
            }
        }
    }
}
