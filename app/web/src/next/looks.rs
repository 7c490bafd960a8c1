//! The looks that are worth their hours, the best two together, and those that are not worth them now.

use job::catalogue::Spread;
use job::outlook::{NextLook, ZoneOutlook, in_ten};
use maud::{Markup, html};

use super::{Sight, TOLD, count, hours};
use crate::shell::upper;
use crate::{dimension, link};

/// For how many of the zones that a look reaches the reasons are told.
const EXPLAINED: usize = 2;
/// How many looks are listed below those told in full, and how many that are not worth their hours.
const LISTED: usize = 30;

impl Sight<'_> {
    pub(super) fn worth(&self) -> Markup {
        let told = self.looks.iter().take(TOLD).enumerate();
        let rest = self.looks.get(TOLD..).unwrap_or_default();
        html! {
            @if !self.outlook().zones.is_empty() {
                section #looks {
                    h2 { "Worth looking, best first" }
                    @if self.looks.is_empty() {
                        div.wait { p { "None now. A look is listed when its answer is expected to save more hours than it takes." } }
                    } @else {
                        p.small { "A look saves hours where its answer turns a wrong plan into a right one: metal planned where none is needed, or a bad place left closed and put right after paint. What it is expected to save counts the five zones with the most hours at stake of those it tells about, and every zone that they inform." }
                    }
                    ol { @for (n, look) in told { li.look { span.ball { (n + 1) } (self.look(look, n == 0)) } } }
                    (self.pair())
                    @if !rest.is_empty() {
                        details.fold {
                            summary { (count(rest.len(), "more look", "more looks")) " worth the hours" }
                            (self.table(rest))
                        }
                    }
                    (self.other_ways())
                    (self.not_worth())
                    (self.whose())
                }
            }
        }
    }

    fn look(&self, look: &NextLook, open: bool) -> Markup {
        let zones: Vec<&ZoneOutlook> =
            look.reaches.iter().filter_map(|zone| self.outlook().zone(&zone.id)).take(EXPLAINED).collect();
        let first = look.reaches.first().map(|zone| self.to(&zone.id)).unwrap_or_default();
        html! {
            div {
                h3 { a.touch href=(first) { (upper(&look.say)) } }
                p.small {
                    "Tells about: "
                    @for (n, zone) in look.reaches.iter().enumerate() { @if n > 0 { "; " } (self.zone(zone)) }
                    "."
                }
                dl.facts {
                    div { dt { "Takes" } dd { (takes(look.hours)) } }
                    div { dt { "Hours at stake" } dd { (hours(look.stake_h)) } }
                    div { dt { "Expected to save" } dd { (hours(look.gain_h)) } }
                    div { dt { "Left after its hours" } dd { (hours(look.worth_h)) } }
                }
                details.fold open[open] {
                    summary { "Why" }
                    @for zone in &zones { (self.why(zone)) }
                    @if look.reaches.len() > EXPLAINED { p.small.soft { "Told are the " (EXPLAINED) " zones with the most hours at stake." } }
                }
                p { a.btn href=(link::what_if(self.car.id, &look.key)) { "What if?" } }
            }
        }
    }

    /// The strongest reasons of one zone, for and against.
    fn why(&self, zone: &ZoneOutlook) -> Markup {
        let (most_for, most_against) = (zone.most_for(), zone.most_against());
        html! {
            div.why {
                p { b { (upper(&zone.instance.name())) } ": " (zone.likelihood.words()) ", " (in_ten(&zone.chance)) }
                (dimension::chance(&zone.chance))
                @if !most_for.is_empty() { p.small.soft { "Most for it" } (self.reasons(most_for)) }
                @if !most_against.is_empty() { p.small.soft { "Most against it" } (self.reasons(most_against)) }
                @if zone.most_for().is_empty() && zone.most_against().is_empty() { (self.reasons(&zone.reasons)) }
            }
        }
    }

    fn pair(&self) -> Markup {
        let looks = &self.outlook().looks;
        let both = self.outlook().pair.and_then(|pair| Some((pair, looks.get(pair.first)?, looks.get(pair.second)?)));
        html! {
            @if let Some((pair, first, second)) = both {
                div.note #pair {
                    h3 { "The two that are worth most together" }
                    p { (upper(&first.say)) ", and " (second.say) ": together " (takes_both(first.hours, second.hours)) ", expected to save " (hours(pair.gain_h)) "; " (hours(pair.worth_h)) " are left after their hours." }
                }
            }
        }
    }

    fn other_ways(&self) -> Markup {
        let chosen = |look: &NextLook| self.looks.iter().any(|choice| choice.key == look.key);
        let looks: Vec<&NextLook> = self.outlook().worth_looking().filter(|look| !chosen(look)).collect();
        html! {
            @if !looks.is_empty() {
                details.fold {
                    summary { (count(looks.len(), "other way", "other ways")) " of seeing the same zones" }
                    p.small { "Each is worth its hours as long as none of the looks above has been taken." }
                    (self.table(&looks))
                }
            }
        }
    }

    fn not_worth(&self) -> Markup {
        let looks: Vec<&NextLook> = self.outlook().looks.iter().filter(|look| look.worth_h <= 0.0).collect();
        html! {
            @if !looks.is_empty() {
                details.fold {
                    summary { (count(looks.len(), "look", "looks")) " not worth the hours now" }
                    p.small { "Their answers are expected to save less than they take. That changes as others are taken." }
                    (self.table(&looks))
                }
            }
        }
    }

    fn table(&self, looks: &[&NextLook]) -> Markup {
        html! {
            table {
                thead { tr { th scope="col" { "Look" } th.r scope="col" { "Takes" } th.r scope="col" { "At stake" } th.r scope="col" { "Saves" } } }
                tbody {
                    @for look in looks.iter().take(LISTED) {
                        tr {
                            th scope="row" {
                                @if look.worth_h > 0.0 { a href=(link::what_if(self.car.id, &look.key)) { (upper(&look.say)) } }
                                @else if let Some(zone) = look.reaches.first() { a href=(self.to(&zone.id)) { (upper(&look.say)) } }
                            }
                            td.r { (hours(look.hours.likely)) }
                            td.r { (hours(look.stake_h)) }
                            td.r { (hours(look.gain_h)) }
                        }
                    }
                }
            }
            @if looks.len() > LISTED { p.small.soft { "And " (looks.len() - LISTED) " more, worth less." } }
        }
    }

    /// Whose figures these are.
    fn whose(&self) -> Markup {
        let own = |file| self.app.shop.catalogue().is_shops_own(file);
        html! {
            p.small.soft {
                @if self.taught.zones > 0 {
                    "The chances begin with what this shop has learned from "
                    (count(self.taught.zones, "opened zone", "opened zones")) " of " (count(self.taught.cars, "other car", "other cars"))
                    @if own("zones.csv") { ", over the shop's own figures. " } @else { ", and with starting guesses where it has learned nothing yet. " }
                } @else if own("zones.csv") { "The chances begin with the shop's own figures for each zone. " }
                @else { "All of this is a starting guess until the shop's own figures replace it. " }
                @if !own("looks.csv") { "How well a look tells is a starting guess too. " }
                "Not looked is not clear: it changes nothing. "
                a.touch href="/learned" { "What this shop has found" }
            }
        }
    }
}

/// Hours of a look as a range.
pub(super) fn takes(of: Spread) -> String {
    // A figure and its unit stay on one line.
    format!("{} to {}, likely {}", hours(of.low), hours(of.high), hours(of.likely))
        .replace(" h", "\u{a0}h")
        .replace(" min", "\u{a0}min")
}

fn takes_both(one: Spread, other: Spread) -> String {
    format!("about {}", hours(one.likely + other.likely))
}
