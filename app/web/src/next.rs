//! The Next look sheet: what is probably hidden, which look is worth most for its hours, why, and what would follow from
//! its answers.

mod chances;
mod looks;
mod notes;
mod what_if;

use axum::extract::{Path, Query, State};
use job::body::{Body, Instance, View};
use job::car::Car;
use job::ids::CarId;
use job::outlook::{Known, NextLook, Outlook, Reason};
use job::person::Deed as May;
use job::shop::Forecast;
use job::validate::body;
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::drawing::{self, Numbered};
use crate::fault::Fault;
use crate::layout::{CarPage, Deed, Ground, Sheet};
use crate::learned::{self, Taught};
use crate::link;
use crate::shell::{button, upper};
use crate::state::App;

/// How many looks are told in full, and numbered on the outline.
const TOLD: usize = 6;

#[derive(Deserialize)]
pub(crate) struct Ask {
    view: Option<String>,
    what: Option<String>,
}

/// What the parts of the sheet are drawn from.
struct Sight<'a> {
    app: &'a App,
    car: &'a Car,
    forecast: &'a Forecast,
    /// Looks that are worth their hours, the most worth first.
    looks: Vec<&'a NextLook>,
    /// From how much the figures were learned.
    taught: Taught,
    writes: bool,
}

/// The sheet, or what would follow from one look.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(ask): Query<Ask>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    if let Some(key) = &ask.what {
        return what_if::page(&app, &access, &car, key).await;
    }
    let forecast = app.forecast(&car).await?;
    let sight = Sight {
        app: &app,
        car: &car,
        forecast: &forecast,
        looks: forecast.outlook.first_choices(),
        taught: learned::taught(&app.shop.lessons().await?, &car),
        writes: access.role.may(May::Write),
    };
    let outline = match body(&car.details) {
        Some(body) => Some((body, sight.view(body, ask.view.as_deref())?)),
        None => None,
    };
    let first = sight.looks.first().and_then(|look| look.reaches.first());
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::NextLook,
        title: "Next look",
        says: &sight.says(),
        legend: true,
        deed: match first {
            Some(zone) if sight.writes => Deed::Go(link::look(id, &zone.id), "Add the look"),
            _ => Deed::Go(link::shell(id), "Shell"),
        },
    };
    Ok(page.draw(html! {
        (sight.contradictions())
        @if let Some((body, view)) = outline { (sight.map(body, view)) }
        (sight.worth())
        (sight.by_chance())
        (sight.troubles())
        (sight.known())
    }))
}

impl Sight<'_> {
    fn outlook(&self) -> &Outlook {
        &self.forecast.outlook
    }

    fn says(&self) -> String {
        let unknown = self.outlook().zones.iter().filter(|z| z.known == Known::NotKnown).count();
        match (self.outlook().zones.is_empty(), self.looks.first(), unknown) {
            (true, ..) => "This version does not know the body of this car, so it can guess nothing about it.".into(),
            (_, Some(look), _) => first_of(look),
            (_, None, 0) => "Every zone is known; there is nothing left to guess.".into(),
            (_, None, n) => format!("No look is worth its hours by these figures; {n} zones are still not known."),
        }
    }

    /// The view that was asked for, else of those that show the first look the one that shows most of the rest.
    fn view<'b>(&self, body: &'b Body, asked: Option<&str>) -> Result<&'b View, Fault> {
        if let Some(asked) = asked {
            return body.view(asked).ok_or(Fault::NotFound("view of this name"));
        }
        let shown = |v: &View| {
            let first = self.looks.first().is_some_and(|look| place(v, look).is_some());
            (first, self.looks.iter().take(TOLD).filter(|look| place(v, look).is_some()).count())
        };
        let best = body.views().iter().reduce(|best, v| if shown(v) > shown(best) { v } else { best });
        best.ok_or(Fault::NotFound("view"))
    }

    /// Where a zone leads: to the form for a look, or to what is known where this device may only read.
    fn to(&self, zone: &str) -> String {
        if self.writes { link::look(self.car.id, zone) } else { link::zone(self.car.id, zone) }
    }

    fn map(&self, body: &Body, view: &View) -> Markup {
        let told = self.looks.iter().take(TOLD).enumerate();
        let marks: Vec<Numbered> = told
            .filter_map(|(n, look)| {
                let (x, y) = place(view, look)?;
                let (u_mm, v_mm) = view.place(x, y);
                Some(Numbered { number: n + 1, u_mm, v_mm })
            })
            .collect();
        html! {
            nav.row.views.no-print aria-label="View" {
                @for v in body.views() {
                    a.btn.main[v.id == view.id] href={ (link::next(self.car.id)) "?view=" (v.id) } aria-current=[(v.id == view.id).then_some("true")] { (button(&v.id)) }
                }
            }
            (drawing::chances(view, self.car, self.outlook(), &marks, &|zone| self.to(zone)))
            @if !marks.is_empty() { p.small.soft { "Circled numbers are the looks below." } }
            (drawing::stipple_key())
        }
    }

    /// A zone's name that leads where the zone leads.
    fn zone(&self, zone: &Instance) -> Markup {
        html! { a.touch href=(self.to(&zone.id)) { (zone.name()) } }
    }

    fn reasons<'r>(&self, reasons: impl IntoIterator<Item = &'r Reason>) -> Markup {
        html! { ul.plain-list.small { @for reason in reasons { li { (self.reason(reason)) } } } }
    }

    /// A reason, the entry it names a link, and which way it speaks.
    fn reason(&self, reason: &Reason) -> Markup {
        html! {
            (self.linked(&reason.say, reason.entry))
            @if let Some(way) = way(reason.ratio) { ", " b { (way) } }
        }
    }

    /// Words in which an entry is named, its name a link.
    fn linked(&self, say: &str, entry: Option<u64>) -> Markup {
        let named = entry.map(|seq| (seq, format!("entry {seq}")));
        let parts = named.as_ref().and_then(|(seq, words)| Some((*seq, words, say.split_once(words.as_str())?)));
        html! {
            @match parts {
                Some((seq, words, (before, after))) => { (before) a href=(link::entry(self.car.id, seq)) { (words) } (after) },
                None => (say),
            }
        }
    }
}

/// A look in one sentence: what to do, and what its hours decide.
fn first_of(look: &NextLook) -> String {
    let hours = worded(look.hours.likely);
    let decides = if hours.starts_with("1 ") { "decides" } else { "decide" };
    format!("{}. About {hours} {decides} about {} of work.", upper(&look.say), worded(look.stake_h))
}

/// Where a look stands on a view: at the first of its zones that is there.
fn place(view: &View, look: &NextLook) -> Option<(f64, f64)> {
    look.reaches.iter().find_map(|zone| view.patch(&zone.id)).map(|patch| patch.anchor)
}

/// Which way a ratio speaks, and how loudly.
fn way(ratio: f64) -> Option<&'static str> {
    let way = match ratio {
        r if r >= 5.0 => "strongly for",
        r if r >= 2.0 => "for",
        r if r > 1.0 => "weakly for",
        1.0 => return None,
        r if r > 0.5 => "weakly against",
        r if r > 0.2 => "against",
        _ => "strongly against",
    };
    Some(way)
}

/// Hours as they are said: minutes below one hour, one decimal below ten, whole above; nobody knows more.
pub(crate) fn hours(h: f64) -> String {
    match h {
        h if h < 0.99 => format!("{:.0} min", h * 60.0),
        h if h < 9.95 => format!("{} h", format!("{h:.1}").trim_end_matches(".0")),
        h => format!("{h:.0} h"),
    }
}

/// Hours in a sentence.
fn worded(h: f64) -> String {
    let short = hours(h);
    match short.split_once(' ') {
        Some((figure, "min")) => format!("{figure} minutes"),
        Some(("1", _)) => "1 hour".into(),
        Some((figure, _)) => format!("{figure} hours"),
        None => short,
    }
}

fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use job::catalogue::Spread;
    use job::what::How;

    use super::*;

    #[test]
    fn ratios_speak_for_or_against_and_as_loudly_both_ways() {
        let ways = [15.0, 3.3, 1.4, 1.0, 0.7, 0.3, 0.05].map(way);
        let said = ["strongly for", "for", "weakly for", "", "weakly against", "against", "strongly against"];
        assert_eq!(ways.map(Option::unwrap_or_default), said);
    }

    #[test]
    fn hours_are_said_no_finer_than_anybody_knows_them() {
        assert_eq!([0.25, 1.0, 9.96, 41.7].map(hours), ["15 min", "1 h", "10 h", "42 h"]);
        assert_eq!([0.2, 1.0, 1.5].map(worded), ["12 minutes", "1 hour", "1.5 hours"]);
    }

    #[test]
    fn a_look_is_one_sentence_with_its_hours_and_theirs() {
        let look = |likely| NextLook {
            key: "W01.left".into(),
            say: "scope into the sill through its drain slots, left".into(),
            how: How::ScopeThere,
            reaches: Vec::new(),
            hours: Spread { low: 0.5, likely, high: 2.0 },
            stake_h: 58.3,
            gain_h: 9.0,
            worth_h: 8.0,
        };
        let first = "Scope into the sill through its drain slots, left. About 1 hour decides about 58 hours of work.";
        assert_eq!(first_of(&look(1.0)), first);
        assert!(first_of(&look(0.75)).contains("About 45 minutes decide about"));
    }
}
