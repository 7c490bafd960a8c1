//! Every zone that is not known by its chance, with its reasons.

use job::outlook::{Known, Likelihood, NextLook, ZoneOutlook, in_ten};
use maud::{Markup, html};

use super::{Sight, count, hours};
use crate::dimension;
use crate::shell::upper;

impl Sight<'_> {
    /// Every zone that is not known, the likeliest first; what is not likely is folded away.
    pub(super) fn by_chance(&self) -> Markup {
        let mut zones: Vec<&ZoneOutlook> = self.outlook().zones.iter().filter(|z| z.known == Known::NotKnown).collect();
        zones.sort_by(|a, b| b.chance.likely.total_cmp(&a.chance.likely));
        html! {
            @if !zones.is_empty() {
                section #chances {
                    h2 { "All zones by chance" }
                    p.small { "Not one of these is known. Open a row for the reasons: where the chance begins, and what moved its odds since. Zones on one wet path, and a zone and the one opposite, inform each other." }
                    @for group in zones.chunk_by(|a, b| a.likelihood == b.likelihood) { (self.group(group)) }
                    @if !self.outlook().unlisted.is_empty() {
                        p.small {
                            "The shop's catalogue says nothing of: "
                            (self.outlook().unlisted.iter().map(|i| i.name()).collect::<Vec<_>>().join("; ")) "."
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
                @if let Some(alone) = alone(zone) { p.small { (alone) } }
                p {
                    a.touch href=(self.to(&zone.instance.id)) { @if self.writes { "Add a look" } @else { "See the zone" } }
                    @if let Some(look) = self.best(zone) {
                        span.small.soft {
                            ". Best: " (look.say) ", " (hours(look.hours.likely)) " against " (hours(look.stake_h)) " at stake"
                            @if look.worth_h <= 0.0 { "; not worth its hours now" }
                        }
                    }
                }
            }
        }
    }

    /// The look worth most of those that tell about a zone.
    fn best(&self, zone: &ZoneOutlook) -> Option<&NextLook> {
        self.outlook().looks.iter().find(|look| look.reaches.iter().any(|reached| reached.id == zone.instance.id))
    }
}

/// What the odds rules alone make of a zone, where what its neighbours share makes something else of it.
fn alone(zone: &ZoneOutlook) -> Option<String> {
    let (alone, together) = (in_ten(&zone.alone), in_ten(&zone.chance));
    (alone != together)
        .then(|| format!("By its own signs alone: {alone}; what its neighbours share makes it {together}."))
}
