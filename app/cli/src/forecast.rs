//! What a shell probably hides, and the hours it may take, from a car's record.

use std::io::{self, Write};

use clap::Subcommand;
use job::ask;
use job::car::Car;
use job::fortnight;
use job::ids::CarId;
use job::outlook::{self, Chance, Movement, Outlook, Reason, in_ten};
use job::shop::Shop;
use job::validate::instance;
use serde::Serialize;

use crate::answer::{Answer, columns, row, say};
use crate::shop::{Everywhere, Missing, wait};
use crate::stop::Stop;

/// What a shell probably hides, and the hours it may take.
#[derive(Debug, Subcommand)]
pub(crate) enum Forecast {
    /// The chance of every zone to need metal, why, and where to look next.
    Odds {
        /// The car.
        id: CarId,
    },
    /// The metal hours of the whole shell as a range, by zone, and what moved it.
    Range {
        /// The car.
        id: CarId,
        /// The entry since which movements are told; without it, the last report, or the first entry.
        #[arg(long, value_name = "ENTRY")]
        since: Option<u64>,
    },
}

impl Forecast {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        wait(async {
            let shop = everywhere.shop(Missing::Refuse).await?;
            match self {
                Self::Odds { id } => say(&Odds::of(&shop, &*shop.car(id).await?)?, everywhere.json),
                Self::Range { id, since } => say(&Range::of(&shop, &*shop.car(id).await?, since)?, everywhere.json),
            }
        })
    }
}

/// Low, likely and high, each 0 to 1.
#[derive(Debug, Serialize)]
struct Ends {
    low: f64,
    likely: f64,
    high: f64,
}

impl From<Chance> for Ends {
    fn from(chance: Chance) -> Self {
        Self { low: chance.low, likely: chance.likely, high: chance.high }
    }
}

#[derive(Debug, Serialize)]
struct Odds {
    car: CarId,
    events: u64,
    zones: Vec<Zone>,
    troubles: Vec<Trouble>,
    next_looks: Vec<Look>,
    not_in_the_catalogue: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Zone {
    zone: String,
    name: String,
    state: &'static str,
    chance: Ends,
    words: &'static str,
    in_ten: String,
    hours: f64,
    reasons: Vec<Why>,
    waits: Option<String>,
}

#[derive(Debug, Serialize)]
struct Why {
    say: String,
    ratio: f64,
    entry: Option<u64>,
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
    zone: String,
    name: String,
    how: &'static str,
    hours: f64,
    worth_hours: f64,
}

fn whys(reasons: &[Reason]) -> Vec<Why> {
    reasons.iter().map(|r| Why { say: r.say.clone(), ratio: r.ratio, entry: r.entry }).collect()
}

impl Odds {
    fn of(shop: &Shop, car: &Car) -> Result<Self, Stop> {
        let outlook = outlook::outlook(car, shop.catalogue())?;
        let waiting = ask::waiting(car, &outlook);
        let waits = |id: &str| waiting.iter().find(|(place, _)| place.id == id).map(|(_, waits)| waits.say());
        let looks = outlook::next_looks(&outlook).into_iter().map(|(zone, look)| Look {
            zone: zone.instance.id.clone(),
            name: zone.instance.name(),
            how: look.how.key(),
            hours: look.hours_h,
            worth_hours: look.worth_h,
        });
        let zones = outlook.zones.iter().map(|zone| Zone {
            zone: zone.instance.id.clone(),
            name: zone.instance.name(),
            state: car.state(&zone.instance.id).words(),
            chance: zone.chance.into(),
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
            let because: Vec<&str> = zone.reasons.iter().skip(1).map(|why| why.say.as_str()).collect();
            let because = match (because.as_slice(), zone.reasons.first()) {
                ([], Some(only)) => only.say.clone(),
                _ => because.join("; "),
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
            let mut rows = vec![row!["look next", "name", "how", "hours", "worth, hours"]];
            rows.extend(self.next_looks.iter().take(LOOKS_SHOWN).map(|look| {
                row![look.zone, look.name, look.how, format!("{:.1}", look.hours), format!("{:.1}", look.worth_hours)]
            }));
            columns(out, &rows)?;
        }
        writeln!(out, "\nHours and chances are starting guesses of the trade until the shop's own replace them.")
    }
}

/// The range of a shell, for people and for programs.
#[derive(Debug, Serialize)]
pub(crate) struct Range {
    car: CarId,
    events: u64,
    p10_h: f64,
    p50_h: f64,
    p80_h: f64,
    p95_h: f64,
    mean_h: f64,
    sd_h: f64,
    known_h: f64,
    guessed_h: f64,
    budget_h: Option<f64>,
    ask_over_h: f64,
    money: Option<String>,
    zones: Vec<Share>,
    since: u64,
    moved: Vec<Moved>,
    notes: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Share {
    zone: String,
    name: String,
    mean_h: f64,
    share: f64,
}

#[derive(Debug, Serialize)]
struct Moved {
    entry: u64,
    zone: Option<String>,
    what: String,
    before_h: f64,
    after_h: f64,
}

impl Range {
    /// The range of a car's shell, and what moved it after the entry `since`.
    ///
    /// # Errors
    /// When the record has no such entry, or holds a figure that cannot be used.
    pub(crate) fn of(shop: &Shop, car: &Car, since: Option<u64>) -> Result<Self, Stop> {
        let catalogue = shop.catalogue();
        let since = since.unwrap_or_else(|| fortnight::last(car).map_or(1, |(entry, _)| entry.seq));
        if !(1..=car.count).contains(&since) {
            return Err(Stop::input(format!("--since: {since} is no entry of this car; it has 1 to {}", car.count)));
        }
        let outlook: Outlook = outlook::outlook(car, catalogue)?;
        let range = outlook::range(car, catalogue, &outlook)?;
        let moved = outlook::movements(car, catalogue, since)?;
        let name = |id: &str| instance(&car.details, id).map_or_else(String::new, |place| place.name());
        let outcome = range.outcome;
        let hours = job::question::Hours { low: outcome.p10, likely: outcome.p50, high: outcome.p95 };
        let shares = range.by_zone.into_iter().map(|share| Share {
            name: name(&share.zone),
            zone: share.zone,
            mean_h: share.mean_h,
            share: share.share,
        });
        Ok(Self {
            car: car.id,
            events: car.count,
            p10_h: outcome.p10,
            p50_h: outcome.p50,
            p80_h: outcome.p80,
            p95_h: outcome.p95,
            mean_h: outcome.mean,
            sd_h: outcome.sd,
            known_h: range.known_h,
            guessed_h: range.guessed_h,
            budget_h: car.details.budget_h,
            ask_over_h: car.details.ask_limit_h(),
            money: car.details.rates.as_ref().map(|rates| ask::money(hours, rates)),
            zones: shares.collect(),
            since,
            moved: moved.iter().map(|m| Moved::of(car, m)).collect(),
            notes: range.notes,
        })
    }
}

impl Moved {
    fn of(car: &Car, moved: &Movement) -> Self {
        let what = car.entry(moved.seq).map(|entry| entry.what.say()).unwrap_or_default();
        let (zone, before_h, after_h) = (moved.zone.clone(), moved.before_h, moved.after_h);
        Self { entry: moved.seq, zone, what, before_h, after_h }
    }
}

/// How many zones and movements a table names, the weightiest first.
const ROWS_SHOWN: usize = 20;

impl Answer for Range {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let hours = |h: f64| format!("{h:.0}");
        let figures = [self.p10_h, self.p50_h, self.p80_h, self.p95_h].map(hours);
        columns(out, &[row!["P10, hours", "P50", "P80", "P95"], figures.to_vec()])?;
        if let Some(money) = &self.money {
            writeln!(out, "at the bench rate: {money}")?;
        }
        if let Some(budget_h) = self.budget_h {
            writeln!(out, "hours the owner has in mind: {budget_h:.0}")?;
        }
        writeln!(out, "stop and ask over {:.1} hours for one finding\n", self.ask_over_h)?;
        let mut zones: Vec<&Share> = self.zones.iter().collect();
        zones.sort_by(|a, b| b.share.total_cmp(&a.share));
        let mut rows = vec![row!["zone", "name", "mean hours", "share of the width, %"]];
        rows.extend(zones.iter().take(ROWS_SHOWN).map(|zone| {
            row![zone.zone, zone.name, format!("{:.1}", zone.mean_h), format!("{:.1}", zone.share * 100.0)]
        }));
        columns(out, &rows)?;
        if !self.moved.is_empty() {
            writeln!(out, "\nmoved since entry {}:", self.since)?;
            let mut moved: Vec<&Moved> = self.moved.iter().collect();
            moved.sort_by(|a, b| (b.after_h - b.before_h).abs().total_cmp(&(a.after_h - a.before_h).abs()));
            let mut rows = vec![row!["entry", "zone", "what", "hours"]];
            rows.extend(moved.iter().take(ROWS_SHOWN).map(|m| {
                row![m.entry, m.zone.as_deref().unwrap_or_default(), m.what, format!("{:+.1}", m.after_h - m.before_h)]
            }));
            columns(out, &rows)?;
        }
        writeln!(out)?;
        self.notes.iter().try_for_each(|note| writeln!(out, "{note}"))
    }
}
