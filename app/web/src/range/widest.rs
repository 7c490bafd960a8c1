//! The zones that move the range most, and the look that tells most about them.

use job::outlook::{self, Known, NextLook, ZoneShare};
use maud::{Markup, html};

use super::Sight;
use super::words::part;
use crate::link;
use crate::next::hours;
use crate::shell::upper;

/// How many zones are told.
const WIDEST: usize = 8;

impl Sight<'_> {
    /// The zones to which most of the width is owed.
    pub(super) fn widest(&self) -> Markup {
        let mut zones: Vec<&ZoneShare> = self.range().by_zone.iter().filter(|z| z.share > 0.0).collect();
        zones.sort_by(|a, b| b.share.total_cmp(&a.share));
        zones.truncate(WIDEST);
        let together: f64 = zones.iter().map(|z| z.share).sum();
        let most = zones.first().map_or(1.0, |z| z.share);
        html! {
            @if !zones.is_empty() {
                section #widest {
                    h2 { "What moves it most" }
                    @if zones.len() > 1 {
                        p {
                            @if most < 0.1 { "No zone moves it much by itself: they go together. " }
                            "Of the spread, " (part(together)) " is owed to these " (zones.len()) " of " (self.range().by_zone.len()) " zones."
                        }
                    }
                    table {
                        thead { tr { th scope="col" { "Zone" } th.r scope="col" { "Mean" } th scope="col" { "Of the spread" } th.wide-only scope="col" { span.soft { "least to most" } } } }
                        tbody { @for zone in &zones { (self.wide(zone, most)) } }
                    }
                    (self.narrows())
                    p { a.touch href={ (link::next(self.car.id)) "#looks" } { "Which look is worth most for its hours" } }
                }
            }
        }
    }

    fn wide(&self, zone: &ZoneShare, most: f64) -> Markup {
        let thought = self.outlook().zone(&zone.zone);
        let end = 4.0 + 190.0 * zone.share / most;
        html! {
            tr {
                th scope="row" {
                    a href=(link::zone(self.car.id, &zone.zone)) { (self.name(&zone.zone)) }
                    br;
                    span.soft.small {
                        @match thought {
                            Some(z) if z.known == Known::NotKnown => { (z.likelihood.words()) ", " (outlook::in_ten(&z.chance)) },
                            _ => "known or decided",
                        }
                    }
                }
                td.r { (hours(zone.mean_h)) }
                td { (part(zone.share)) }
                td.wide-only {
                    svg width="200" height="24" viewBox="0 0 200 24" aria-hidden="true" {
                        path.d.hair d="M4 0V24" {}
                        path.d.cut d=(format!("M4 12H{end:.1}")) {}
                        path.d d=(format!("M{end:.1} 4V20")) {}
                    }
                }
            }
        }
    }

    /// The look that tells about the zones to which most of the spread is owed.
    fn narrows(&self) -> Markup {
        let share = |look: &NextLook| -> f64 {
            let reached = |zone: &&ZoneShare| look.reaches.iter().any(|instance| instance.id == zone.zone);
            self.range().by_zone.iter().filter(reached).map(|zone| zone.share).sum()
        };
        let looks = self.outlook().looks.iter().map(|look| (look, share(look)));
        // Of two that tell as much the one worth more stands first.
        let best = looks.reduce(|best, one| if one.1 > best.1 + 1e-9 { one } else { best });
        html! {
            @if let Some((look, share)) = best.filter(|(_, share)| *share > 0.0) {
                p {
                    "The look that tells most about it: " a.touch href=(link::what_if(self.car.id, &look.key)) { (look.say) } ", "
                    (hours(look.hours.likely)) ". " (upper(part(share))) " of the spread is owed to what it reaches."
                }
            }
        }
    }
}
