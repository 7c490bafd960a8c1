//! How the range moved and narrowed, entry by entry, as a picture and in figures.

use job::outlook::Point;
use maud::{Markup, html};

use super::Sight;
use super::density::step;
use crate::fault::Fault;
use crate::link;
use crate::next::hours;
use crate::shell::upper;

/// Where the drawing has its figures, px of a box of 440 by 250.
const LEFT: f64 = 56.0;
const RIGHT: f64 = 430.0;
const TOP: f64 = 16.0;
const FLOOR: f64 = 200.0;
/// Narrower or wider by less than this is the same.
const SAME: f64 = 0.05;

impl Sight<'_> {
    pub(super) async fn narrowed(&self) -> Result<Markup, Fault> {
        let car = self.car.clone();
        let points = self.app.aside(move |shop| async move { shop.history(&car).await }).await?;
        let [first, .., last] = points.as_slice() else { return Ok(html! {}) };
        Ok(html! {
            section #narrowed {
                h2 { "How it narrowed" }
                p { (says(first, last)) }
                figure {
                    (draw(&points, self.car.details.budget_h))
                    figcaption { "From left to right the entries that could move it. Hours of metal, worked and still to do together: the dotted band is P10 to P95, the dots on a line the likely figure" @if self.car.details.budget_h.is_some() { "; the thick line is what was agreed" } ". Each is what the program of today makes of the record of then." }
                }
                details.fold {
                    summary { "The figures" }
                    div.scroll tabindex="0" role="group" aria-label="How it narrowed" {
                        table {
                            thead { tr { th scope="col" { "After" } th.r scope="col" { "P10" } th.r scope="col" { "P50" } th.r scope="col" { "P95" } } }
                            tbody { @for point in points.iter().rev() { (self.point(point)) } }
                        }
                    }
                }
            }
        })
    }

    fn point(&self, point: &Point) -> Markup {
        let entry = self.car.entry(point.seq);
        html! {
            tr {
                th scope="row" {
                    a href=(link::entry(self.car.id, point.seq)) { "Entry " (point.seq) }
                    br;
                    span.soft.small { @if let Some(entry) = entry { (upper(&entry.what.say())) ", " (self.day(entry)) } }
                }
                @for of in [p10, p50, p95] { td.r { (hours(of(point))) } }
            }
        }
    }
}

/// What was worked by then and what was still to do, together.
fn p10(point: &Point) -> f64 {
    point.worked_h + point.outcome.p10
}

fn p50(point: &Point) -> f64 {
    point.worked_h + point.outcome.p50
}

fn p95(point: &Point) -> f64 {
    point.worked_h + point.outcome.p95
}

fn width(point: &Point) -> f64 {
    p95(point) - p10(point)
}

fn says(first: &Point, last: &Point) -> String {
    let (before, after) = (width(first), width(last));
    let how = match after - before {
        by if by.abs() <= SAME * before.max(1.0) => "as wide",
        by if by < 0.0 => "narrower",
        _ => "wider",
    };
    let than = if how == "as wide" { "as" } else { "than" };
    format!(
        "From P10 to P95 it was {} wide after entry {} and is {} now: {how} {than} it was.",
        hours(before),
        first.seq,
        hours(after)
    )
}

fn draw(points: &[Point], agreed_h: Option<f64>) -> Markup {
    let most = points.iter().map(p95).fold(agreed_h.unwrap_or(1.0), f64::max).max(1.0);
    let step = step(most);
    let top = (most / step).ceil() * step;
    let last = points.len().saturating_sub(1).max(1);
    let x = |at: usize| LEFT + (RIGHT - LEFT) * at as f64 / last as f64;
    let y = |h: f64| FLOOR - (FLOOR - TOP) * h / top;
    let through = |of: fn(&Point) -> f64| -> Vec<String> {
        points.iter().enumerate().map(|(at, point)| format!("{:.1} {:.1}", x(at), y(of(point)))).collect()
    };
    let (lower, likely, upper) = (through(p10), through(p50), through(p95));
    let band: Vec<String> = lower.iter().chain(upper.iter().rev()).cloned().collect();
    let ticks: Vec<f64> =
        std::iter::successors(Some(0.0), |t| Some(t + step)).take_while(|t| *t <= top).take(12).collect();
    let words: Vec<String> = [points.first(), points.last()]
        .into_iter()
        .flatten()
        .map(|p| format!("after entry {} {:.0} to {:.0} hours, likely {:.0}", p.seq, p10(p), p95(p), p50(p)))
        .collect();
    html! {
        svg.plot.chart viewBox="0 0 440 250" role="img" aria-label=(format!("How the range narrowed: {}.", words.join("; "))) {
            @for tick in &ticks {
                path.d.hair d=(format!("M{LEFT} {:.1}H{RIGHT}", y(*tick))) {}
                text.t.end x="50" y=(format!("{:.1}", y(*tick) + 5.0)) { (format!("{tick:.0}")) @if tick == &0.0 { " h" } }
            }
            path d=(format!("M{}Z", band.join("L"))) fill="url(#may1)" {}
            path.d.thin d=(format!("M{}M{}", upper.join("L"), lower.join("L"))) {}
            @if let Some(agreed) = agreed_h { path.d.cut d=(format!("M{LEFT} {:.1}H{RIGHT}", y(agreed))) {} }
            path.d d=(format!("M{}", likely.join("L"))) {}
            @for (at, point) in points.iter().enumerate() { circle.solid cx=(format!("{:.1}", x(at))) cy=(format!("{:.1}", y(p50(point)))) r="4" {} }
            @if let [first, .., last] = points {
                text.t x=(format!("{LEFT}")) y="224" { "entry " (first.seq) }
                text.t.end x=(format!("{RIGHT}")) y="224" { "entry " (last.seq) }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;
    use job::outlook::Outcome;

    use super::*;

    fn point(seq: u64, p10: f64, p50: f64, p95: f64) -> Point {
        let outcome = Outcome { mean: p50, sd: 10.0, p10, p50, p80: p95, p95 };
        Point { seq, when: Timestamp::UNIX_EPOCH, outcome, worked_h: 0.0 }
    }

    #[test]
    fn it_says_whether_it_narrowed() {
        let (wide, narrow) = (point(1, 100.0, 200.0, 300.0), point(9, 150.0, 200.0, 250.0));
        assert!(says(&wide, &narrow).ends_with("200 h wide after entry 1 and is 100 h now: narrower than it was."));
        assert!(says(&narrow, &wide).contains("wider than it was"));
        assert!(says(&wide, &point(4, 101.0, 200.0, 300.0)).contains("as wide as it was"));
        assert!(says(&point(1, 0.0, 0.0, 0.0), &point(2, 0.0, 0.0, 0.0)).contains("as wide"));
    }

    #[test]
    fn the_picture_stays_in_its_box_and_stipples_the_band() {
        let points = [point(1, 100.0, 200.0, 300.0), point(3, 120.0, 210.0, 290.0), point(9, 150.0, 200.0, 250.0)];
        let drawn = draw(&points, Some(400.0)).into_string();
        assert!(drawn.contains("fill=\"url(#may1)\"") && drawn.contains("entry 9<"), "{drawn}");
        assert!(drawn.contains("M56.0 ") && drawn.contains("430.0 "), "{drawn}");
        assert!(drawn.contains("after entry 1 100 to 300 hours, likely 200"), "{drawn}");
    }
}
