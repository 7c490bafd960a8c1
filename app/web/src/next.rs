//! The Next look sheet: what is probably hidden, which look is worth most for its hours, and why.

use axum::extract::{Path, Query, State};
use job::body::{Body, View};
use job::car::Car;
use job::ids::CarId;
use job::outlook::{Known, Likelihood, NextLook, Outlook, Reason, Trouble, ZoneOutlook, in_ten, next_looks};
use job::person::Deed as May;
use job::validate::body;
use job::what::How;
use maud::{Markup, html};
use serde::Deserialize;

use crate::access::Access;
use crate::drawing::{self, Numbered};
use crate::fault::Fault;
use crate::layout::{CarPage, Deed, Ground, Sheet};
use crate::shell::{button, upper};
use crate::state::App;
use crate::{dimension, link};

/// How many looks are told in full, and numbered on the outline.
const TOLD: usize = 6;

#[derive(Deserialize)]
pub(crate) struct Ask {
    view: Option<String>,
}

/// What the parts of the sheet are drawn from.
struct Sight<'a> {
    app: &'a App,
    car: &'a Car,
    outlook: &'a Outlook,
    looks: &'a [(&'a ZoneOutlook, NextLook)],
    writes: bool,
}

/// The sheet.
pub(crate) async fn page(
    State(app): State<App>,
    access: Access,
    Path(id): Path<CarId>,
    Query(ask): Query<Ask>,
) -> Result<Markup, Fault> {
    let car = app.shop.car(id).await?;
    let outlook = app.shop.outlook(&car)?;
    let looks = next_looks(&outlook);
    let sight = Sight { app: &app, car: &car, outlook: &outlook, looks: &looks, writes: access.role.may(May::Write) };
    let outline = match body(&car.details) {
        Some(body) => Some((body, sight.view(body, ask.view.as_deref())?)),
        None => None,
    };
    let page = CarPage {
        app: &app,
        access: &access,
        car: &car,
        ground: Ground::Paper,
        sheet: Sheet::NextLook,
        title: "Next look",
        says: &sight.says(),
        legend: true,
        deed: match looks.first() {
            Some((zone, _)) if sight.writes => Deed::Go(link::look(id, &zone.instance.id), "Add the look"),
            _ => Deed::Go(link::shell(id), "Shell"),
        },
    };
    Ok(page.draw(html! {
        @if let Some((body, view)) = outline { (sight.map(body, view)) }
        (sight.worth())
        (sight.by_chance())
        (sight.troubles())
        (sight.known())
    }))
}

impl Sight<'_> {
    fn says(&self) -> String {
        let unknown = self.outlook.zones.iter().filter(|z| z.known == Known::NotKnown).count();
        match (self.outlook.zones.is_empty(), self.looks.first(), unknown) {
            (true, ..) => "This version does not know the body of this car, so it can guess nothing about it.".into(),
            (_, Some((zone, look)), _) => format!(
                "{} first. About {} decide about {} of work.",
                deed(look.how, &zone.instance.name()),
                worded(look.hours_h),
                worded(zone.stake_h)
            ),
            (_, None, 0) => "Every zone is known; there is nothing left to guess.".into(),
            (_, None, n) => format!("No look is worth its hours by these figures; {n} zones are still not known."),
        }
    }

    /// The view that was asked for, else of those that show the first look the one that shows most of the rest.
    fn view<'b>(&self, body: &'b Body, asked: Option<&str>) -> Result<&'b View, Fault> {
        if let Some(asked) = asked {
            return body.view(asked).ok_or(Fault::NotFound("view of this name"));
        }
        let shows = |v: &View, zone: &ZoneOutlook| v.patch(&zone.instance.id).is_some();
        let shown = |v: &View| {
            let first = self.looks.first().is_some_and(|(zone, _)| shows(v, zone));
            (first, self.looks.iter().take(TOLD).filter(|(zone, _)| shows(v, zone)).count())
        };
        let best = body.views().iter().reduce(|best, v| if shown(v) > shown(best) { v } else { best });
        best.ok_or(Fault::NotFound("view"))
    }

    /// Where a zone leads: to the form for a look, or to what is known where this device may only read.
    fn to(&self, zone: &str) -> String {
        if self.writes { link::look(self.car.id, zone) } else { link::zone(self.car.id, zone) }
    }

    fn map(&self, body: &Body, view: &View) -> Markup {
        let marks: Vec<Numbered> = self
            .looks
            .iter()
            .take(TOLD)
            .enumerate()
            .filter_map(|(n, (zone, _))| {
                let (x, y) = view.patch(&zone.instance.id)?.anchor;
                let (u_mm, v_mm) = view.place(x, y);
                Some(Numbered { number: n + 1, u_mm, v_mm })
            })
            .collect();
        html! {
            nav.row.views.no-print aria-label="View" {
                @for v in body.views() {
                    a.btn.main[v.id == view.id] href={ (link::shell(self.car.id)) "/next?view=" (v.id) } aria-current=[(v.id == view.id).then_some("true")] { (button(&v.id)) }
                }
            }
            (drawing::chances(view, self.car, self.outlook, &marks, &|zone| self.to(zone)))
            @if !marks.is_empty() { p.small.soft { "Circled numbers are the looks below." } }
            (drawing::stipple_key())
        }
    }

    fn worth(&self) -> Markup {
        let told = self.looks.iter().take(TOLD).enumerate();
        let rest = self.looks.get(TOLD..).unwrap_or_default();
        html! {
            @if !self.outlook.zones.is_empty() {
                section {
                    h2 { "Worth looking, best first" }
                    @if self.looks.is_empty() { div.wait { p { "None now. A look is listed when its answer may save more hours than it takes." } } }
                    @else { p.small { "What a look decides: of the hours at stake, to open and to repair, the range counts now what the chance makes of them. Seen thin or holed, all of them count; looked and clear, fewer do." } }
                    ol { @for (n, (zone, look)) in told { li.look { span.ball { (n + 1) } (self.row(zone, look)) } } }
                    @if !rest.is_empty() {
                        details {
                            summary { (count(rest.len(), "more look", "more looks")) " worth the hours" }
                            table {
                                thead { tr { th scope="col" { "Look" } th.r scope="col" { "Takes" } th.r scope="col" { "At stake" } } }
                                tbody {
                                    @for (zone, look) in rest {
                                        tr {
                                            th scope="row" { a href=(self.to(&zone.instance.id)) { (deed(look.how, &zone.instance.name())) } }
                                            td.r { (hours(look.hours_h)) }
                                            td.r { (hours(zone.stake_h)) }
                                        }
                                    }
                                }
                            }
                        }
                    }
                    (self.whose())
                }
            }
        }
    }

    /// Whose figures these are.
    fn whose(&self) -> Markup {
        let own = |file| self.app.shop.catalogue().is_shops_own(file);
        html! {
            p.small.soft {
                @if own("zones.csv") { "The chances begin with the shop's own figures for each zone. " }
                @else { "All of this is a starting guess until the shop's own figures replace it. " }
                @if !own("looks.csv") { "What a look is worth is a starting guess too. " }
                "Not looked is not clear: it changes nothing."
            }
        }
    }

    fn row(&self, zone: &ZoneOutlook, look: &NextLook) -> Markup {
        html! {
            div {
                h3 { a.touch href=(self.to(&zone.instance.id)) { (deed(look.how, &zone.instance.name())) } }
                dl.facts {
                    div { dt { "Takes" } dd { (hours(look.hours_h)) } }
                    div { dt { "Hours at stake" } dd { (hours(zone.stake_h)) } }
                    div { dt { "Counted now" } dd { (hours(zone.chance.likely * zone.stake_h)) } }
                    div { dt { "Chance" } dd { (upper(zone.likelihood.words())) ", " (in_ten(&zone.chance)) } }
                }
                (dimension::chance(&zone.chance))
            }
        }
    }

    /// Every zone that is not known, the likeliest first; what is not likely is folded away.
    fn by_chance(&self) -> Markup {
        let mut zones: Vec<&ZoneOutlook> = self.outlook.zones.iter().filter(|z| z.known == Known::NotKnown).collect();
        zones.sort_by(|a, b| b.chance.likely.total_cmp(&a.chance.likely));
        html! {
            @if !zones.is_empty() {
                section #chances {
                    h2 { "All zones by chance" }
                    p.small { "Not one of these is known. Open a row for the reasons: where the chance begins, and what moved its odds since." }
                    @for group in zones.chunk_by(|a, b| a.likelihood == b.likelihood) { (self.group(group)) }
                    @if !self.outlook.unlisted.is_empty() {
                        p.small {
                            "The shop's catalogue says nothing of: "
                            (self.outlook.unlisted.iter().map(|i| i.name()).collect::<Vec<_>>().join("; ")) "."
                        }
                    }
                }
            }
        }
    }

    fn group(&self, zones: &[&ZoneOutlook]) -> Markup {
        let Some(likelihood) = zones.first().map(|z| z.likelihood) else { return html! {} };
        let likely = matches!(likelihood, Likelihood::VeryLikely | Likelihood::Likely);
        html! {
            details.fold open[likely] {
                summary { (upper(likelihood.words())) span.soft { (count(zones.len(), "zone", "zones")) } }
                @for zone in zones { (self.guess(zone)) }
            }
        }
    }

    fn guess(&self, zone: &ZoneOutlook) -> Markup {
        html! {
            details.guess {
                summary {
                    span { b { (upper(&zone.instance.name())) } br; span.soft { (zone.likelihood.words()) ", " (in_ten(&zone.chance)) } }
                    (dimension::chance(&zone.chance))
                }
                (self.reasons(&zone.reasons))
                p {
                    a.touch href=(self.to(&zone.instance.id)) { @if self.writes { "Add a look" } @else { "See the zone" } }
                    @if let Some(look) = zone.look {
                        span.small.soft {
                            ". Best: " (look.how.words().to_lowercase()) ", " (hours(look.hours_h)) " against " (hours(zone.stake_h)) " at stake"
                            @if look.worth_h <= 0.0 { "; not worth its hours now" }
                        }
                    }
                }
            }
        }
    }

    fn reasons(&self, reasons: &[Reason]) -> Markup {
        html! { ul.plain-list.small { @for reason in reasons { li { (self.reason(reason)) } } } }
    }

    /// A reason, the entry it names a link, and which way it speaks.
    fn reason(&self, reason: &Reason) -> Markup {
        let named = reason.entry.map(|seq| (seq, format!("entry {seq}")));
        let parts = named.as_ref().and_then(|(seq, words)| Some((*seq, words, reason.say.split_once(words.as_str())?)));
        html! {
            @match parts {
                Some((seq, words, (before, after))) => { (before) a href=(link::entry(self.car.id, seq)) { (words) } (after) },
                None => (reason.say),
            }
            @if let Some(way) = way(reason.ratio) { ", " b { (way) } }
        }
    }

    fn troubles(&self) -> Markup {
        html! {
            @if !self.outlook.troubles.is_empty() {
                section #troubles {
                    h2 { "Knocks and earlier repairs" }
                    p.small { "Signs of them were seen. Each has a chance of its own; it does not move the chance of rust, and its hours are not in the range." }
                    @for trouble in &self.outlook.troubles { (self.trouble(trouble)) }
                }
            }
        }
    }

    fn trouble(&self, trouble: &Trouble) -> Markup {
        html! {
            details.guess {
                summary {
                    span {
                        b { (upper(&trouble.instance.name())) } br;
                        span.soft { (trouble.say) ": " (trouble.likelihood.short()) ", " (in_ten(&trouble.chance)) }
                    }
                    (dimension::chance(&trouble.chance))
                }
                (self.reasons(&trouble.reasons))
                p { a.touch href=(self.to(&trouble.instance.id)) { @if self.writes { "Add a look" } @else { "See the zone" } } }
            }
        }
    }

    fn known(&self) -> Markup {
        let zones: Vec<&ZoneOutlook> = self.outlook.zones.iter().filter(|z| z.known != Known::NotKnown).collect();
        html! {
            @if !zones.is_empty() {
                section #known {
                    h2 { "Known, so no longer a guess" }
                    details {
                        summary { (count(zones.len(), "zone", "zones")) " seen bad, opened, or made good" }
                        ul.plain-list {
                            @for zone in zones {
                                li {
                                    a.touch href=(link::zone(self.car.id, &zone.instance.id)) { (upper(&zone.instance.name())) }
                                    @for reason in &zone.reasons { ": " (self.reason(reason)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What to do, as one would say it at the bench.
fn deed(how: How, zone: &str) -> String {
    match how {
        How::Eye => format!("Look at the {zone}"),
        How::TapAndProbe => format!("Tap and probe the {zone}"),
        How::MagnetAndGauge => format!("Go over the {zone} with magnet and film gauge"),
        How::ScopeThere => format!("Scope into the {zone} through a hole that is there"),
        How::ScopeDrilled => format!("Drill 8 mm and scope into the {zone}"),
        How::CarpetLifted => format!("Lift carpet or trim over the {zone}"),
        How::PlateOff => format!("Take off the panel or plate before the {zone}"),
        How::BareMetal => format!("Take the {zone} to bare metal"),
    }
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
    fn every_way_of_looking_is_a_deed_with_the_zone_in_it() {
        for how in How::ALL {
            let said = deed(*how, "outer sill, left");
            assert!(said.contains("outer sill, left") && said.starts_with(char::is_uppercase), "{said}");
        }
    }
}
