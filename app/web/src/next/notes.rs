//! What stands beside the looks: entries that contradict each other, other troubles, and what is known.

use job::outlook::{Known, Trouble, ZoneOutlook, in_ten};
use maud::{Markup, html};

use super::{Sight, count};
use crate::shell::upper;
use crate::{dimension, link};

/// How many contradictions are told.
const CONTRADICTED: usize = 12;

impl Sight<'_> {
    /// Looks at one place that cannot both be right.
    pub(super) fn contradictions(&self) -> Markup {
        let all = &self.outlook().contradictions;
        html! {
            @if !all.is_empty() {
                div.note.stack #contradictions {
                    h2 { @if all.len() == 1 { "Two entries cannot both be right" } @else { (all.len()) " times two entries cannot both be right" } }
                    @for one in all.iter().take(CONTRADICTED) {
                        p {
                            a.touch href=(link::zone(self.car.id, &one.instance.id)) { b { (upper(&one.instance.name())) } } ": " (self.both(&one.say, one.earlier, one.later)) ". "
                            "The later one counts; " a.touch href=(self.to(&one.instance.id)) { "look again" } ", or correct the one that is wrong."
                        }
                    }
                    @if all.len() > CONTRADICTED { p { "And " (all.len() - CONTRADICTED) " more." } }
                }
            }
        }
    }

    /// What two entries say, both of them links.
    fn both(&self, say: &str, earlier: u64, later: u64) -> Markup {
        // The earlier one is told first.
        match say.split_once("; ") {
            Some((one, other)) => html! { (self.linked(one, Some(earlier))) "; " (self.linked(other, Some(later))) },
            None => html! { (say) },
        }
    }

    pub(super) fn troubles(&self) -> Markup {
        html! {
            @if !self.outlook().troubles.is_empty() {
                section #troubles {
                    h2 { "Knocks and earlier repairs" }
                    p.small { "Signs of them were seen, there or nearby. Each has a chance of its own; it does not move the chance of rust, and its hours are not in the range." }
                    @for trouble in &self.outlook().troubles { (self.trouble(trouble)) }
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
                        span.soft {
                            (trouble.say) ": " (trouble.likelihood.short()) ", " (in_ten(&trouble.chance))
                            @if !trouble.seen { ". Nothing seen there yet; likelier because of signs nearby" }
                        }
                    }
                    (dimension::chance(&trouble.chance))
                }
                (self.reasons(&trouble.reasons))
                p { a.touch href=(self.to(&trouble.instance.id)) { @if self.writes { "Add a look" } @else { "See the zone" } } }
            }
        }
    }

    pub(super) fn known(&self) -> Markup {
        let zones: Vec<&ZoneOutlook> = self.outlook().zones.iter().filter(|z| z.known != Known::NotKnown).collect();
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
