//! The chance of every zone to need metal, and why.

use std::io::{self, Write};

use job::ask;
use job::car::Car;
use job::ids::CarId;
use job::outlook::in_ten;
use job::shop::Shop;
use serde::Serialize;

use super::{Ends, Why, joined, whys};
use crate::answer::{Answer, columns, row};
use crate::stop::Stop;

#[derive(Debug, Serialize)]
pub(super) struct Odds {
    car: CarId,
    events: u64,
    zones: Vec<Zone>,
    troubles: Vec<Trouble>,
    next_looks: Vec<Look>,
    contradictions: Vec<String>,
    not_in_the_catalogue: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Zone {
    zone: String,
    name: String,
    state: &'static str,
    chance: Ends,
    /// By the odds rules alone, without what the wet paths share.
    alone: Ends,
    words: &'static str,
    in_ten: String,
    hours: f64,
    reasons: Vec<Why>,
    waits: Option<String>,
}

#[derive(Debug, Serialize)]
struct Trouble {
    zone: String,
    trouble: String,
    chance: Ends,
    words: &'static str,
    reasons: Vec<Why>,
}

#[derive(Debug, Serialize)]
struct Look {
    key: String,
    say: String,
    /// The zone it reaches that has the most hours at stake.
    zone: String,
    name: String,
    how: &'static str,
    hours: f64,
    worth_hours: f64,
}

impl Odds {
    pub(super) async fn of(shop: &Shop, car: &Car) -> Result<Self, Stop> {
        let forecast = shop.forecast(car).await?;
        let outlook = &forecast.outlook;
        let waiting = ask::waiting(car, outlook);
        let waits = |id: &str| waiting.iter().find(|(place, _)| place.id == id).map(|(_, waits)| waits.say());
        let looks = outlook.worth_looking().filter_map(|look| {
            let first = look.reaches.first()?;
            Some(Look {
                key: look.key.clone(),
                say: look.say.clone(),
                zone: first.id.clone(),
                name: first.name(),
                how: look.how.key(),
                hours: look.hours.likely,
                worth_hours: look.worth_h,
            })
        });
        let zones = outlook.zones.iter().map(|zone| Zone {
            zone: zone.instance.id.clone(),
            name: zone.instance.name(),
            state: car.state(&zone.instance.id).words(),
            chance: zone.chance.into(),
            alone: zone.alone.into(),
            words: zone.likelihood.words(),
            in_ten: in_ten(&zone.chance),
            hours: zone.stake_h,
            reasons: whys(&zone.reasons),
            waits: waits(&zone.instance.id),
        });
        let troubles = outlook.troubles.iter().map(|trouble| Trouble {
            zone: trouble.instance.id.clone(),
            trouble: trouble.say.clone(),
            chance: trouble.chance.into(),
            words: trouble.likelihood.short(),
            reasons: whys(&trouble.reasons),
        });
        Ok(Self {
            car: car.id,
            events: car.count,
            next_looks: looks.collect(),
            zones: zones.collect(),
            troubles: troubles.collect(),
            contradictions: outlook
                .contradictions
                .iter()
                .map(|c| format!("{}: {}", c.instance.name(), c.say))
                .collect(),
            not_in_the_catalogue: outlook.unlisted.iter().map(|place| place.id.clone()).collect(),
        })
    }
}

/// How many of the next looks a table names.
const LOOKS_SHOWN: usize = 10;

impl Answer for Odds {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let mut rows = vec![row!["zone", "name", "state", "needs metal", "in words", "hours if bad", "because"]];
        rows.extend(self.zones.iter().map(|zone| {
            // The base rate stands first; it is told where nothing else is known.
            let because = match zone.reasons.as_slice() {
                [only] => only.say.clone(),
                reasons => joined(reasons.get(1..).unwrap_or_default()),
            };
            let hours = format!("{:.0}", zone.hours);
            row![zone.zone, zone.name, zone.state, zone.in_ten, zone.words, hours, because]
        }));
        columns(out, &rows)?;
        if !self.troubles.is_empty() {
            writeln!(out)?;
            let mut rows = vec![row!["zone", "trouble", "in words"]];
            rows.extend(self.troubles.iter().map(|t| row![t.zone, t.trouble, t.words]));
            columns(out, &rows)?;
        }
        if !self.next_looks.is_empty() {
            writeln!(out)?;
            let mut rows = vec![row!["look next", "hours", "worth, hours"]];
            rows.extend(
                self.next_looks
                    .iter()
                    .take(LOOKS_SHOWN)
                    .map(|look| row![look.say, format!("{:.1}", look.hours), format!("{:.1}", look.worth_hours)]),
            );
            columns(out, &rows)?;
        }
        if !self.contradictions.is_empty() {
            writeln!(out, "\nlooks that cannot both be right; the later one counts:")?;
            self.contradictions.iter().try_for_each(|told| writeln!(out, "{told}"))?;
        }
        writeln!(out, "\nHours and chances are starting guesses of the trade until the shop's own replace them.")
    }
}
