//! The hours of a whole shell and of the job as ranges.

use std::io::{self, Write};

use job::car::Car;
use job::fortnight;
use job::ids::CarId;
use job::outlook::{Movement, Outcome};
use job::shop::Shop;
use job::validate::instance;
use serde::Serialize;

use crate::answer::{Answer, columns, row};
use crate::stop::Stop;

/// The range of a shell and of the job, for people and for programs.
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
    worked_h: f64,
    budget_h: Option<f64>,
    past: Option<Past>,
    ask_over_h: f64,
    parts: Vec<Part>,
    whole: Spread,
    money: Option<Money>,
    pace: Pace,
    zones: Vec<Share>,
    density: Vec<Bin>,
    history: Vec<Point>,
    since: u64,
    moved: Vec<Moved>,
    notes: Vec<String>,
}

/// Quantiles, in hours or in money.
#[derive(Debug, Serialize)]
struct Spread {
    p10: f64,
    p50: f64,
    p80: f64,
    p95: f64,
    mean: f64,
    sd: f64,
}

/// The hours agreed for metal, and the chance that it takes more.
#[derive(Debug, Serialize)]
struct Past {
    limit_h: f64,
    chance: f64,
}

#[derive(Debug, Serialize)]
struct Part {
    part: &'static str,
    words: &'static str,
    #[serde(flatten)]
    hours: Spread,
}

#[derive(Debug, Serialize)]
struct Money {
    currency: String,
    with_materials: bool,
    #[serde(flatten)]
    amounts: Spread,
}

/// The shop's own factor on hours.
#[derive(Debug, Serialize)]
struct Pace {
    median: f64,
    p10: f64,
    p90: f64,
    pieces: usize,
}

#[derive(Debug, Serialize)]
struct Share {
    zone: String,
    name: String,
    mean_h: f64,
    share: f64,
}

#[derive(Debug, Serialize)]
struct Bin {
    middle_h: f64,
    share: f64,
}

#[derive(Debug, Serialize)]
struct Point {
    entry: u64,
    when: jiff::Timestamp,
    #[serde(flatten)]
    hours: Spread,
}

#[derive(Debug, Serialize)]
struct Moved {
    entry: u64,
    zone: Option<String>,
    what: String,
    before_h: f64,
    after_h: f64,
}

impl From<&Outcome> for Spread {
    fn from(outcome: &Outcome) -> Self {
        let Outcome { mean, sd, p10, p50, p80, p95 } = *outcome;
        Self { p10, p50, p80, p95, mean, sd }
    }
}

impl Range {
    /// The range of a car's shell, and what moved it after the entry `since`.
    ///
    /// # Errors
    /// When the record has no such entry, or holds a figure that cannot be used.
    pub(crate) async fn of(shop: &Shop, car: &Car, since: Option<u64>) -> Result<Self, Stop> {
        let since = since.unwrap_or_else(|| fortnight::last(car).map_or(1, |(entry, _)| entry.seq));
        if !(1..=car.count).contains(&since) {
            return Err(Stop::input(format!("--since: {since} is no entry of this car; it has 1 to {}", car.count)));
        }
        let forecast = shop.forecast(car).await?;
        let range = &forecast.range;
        let moved = shop.movements(car, since).await?;
        let history = shop.history(car).await?;
        let name = |id: &str| instance(&car.details, id).map_or_else(String::new, |place| place.name());
        let shares = range.by_zone.iter().map(|share| Share {
            zone: share.zone.clone(),
            name: name(&share.zone),
            mean_h: share.mean_h,
            share: share.share,
        });
        let money = range.money.as_ref().zip(car.details.rates.as_ref());
        let outcome = range.outcome;
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
            worked_h: range.worked_h,
            budget_h: car.details.budget_h,
            past: range.past.map(|past| Past { limit_h: past.limit_h, chance: past.chance }),
            ask_over_h: car.details.ask_limit_h(),
            parts: range
                .parts
                .iter()
                .map(|(part, hours)| Part { part: part.key(), words: part.words(), hours: hours.into() })
                .collect(),
            whole: (&range.whole).into(),
            money: money.map(|(amounts, rates)| Money {
                currency: rates.currency.clone(),
                with_materials: rates.materials.is_some(),
                amounts: amounts.into(),
            }),
            pace: Pace {
                median: range.pace.median,
                p10: range.pace.p10,
                p90: range.pace.p90,
                pieces: range.pace.pieces,
            },
            zones: shares.collect(),
            density: range.density.iter().map(|(middle_h, share)| Bin { middle_h: *middle_h, share: *share }).collect(),
            history: history.iter().map(|p| Point { entry: p.seq, when: p.when, hours: (&p.outcome).into() }).collect(),
            since,
            moved: moved.iter().map(|m| Moved::of(car, m)).collect(),
            notes: range.notes.clone(),
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

impl Spread {
    fn row(&self, name: &str) -> Vec<String> {
        let figures = [self.p10, self.p50, self.p80, self.p95].map(|figure| format!("{figure:.0}"));
        std::iter::once(name.to_owned()).chain(figures).collect()
    }
}

impl Answer for Range {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let metal = Spread {
            p10: self.p10_h,
            p50: self.p50_h,
            p80: self.p80_h,
            p95: self.p95_h,
            mean: self.mean_h,
            sd: self.sd_h,
        };
        let mut rows =
            vec![row!["hours still to do", "P10", "P50", "P80", "P95"], metal.row("metal, opening included")];
        rows.extend(self.parts.iter().map(|part| part.hours.row(&format!("  {}", part.words.to_lowercase()))));
        rows.push(self.whole.row("the whole job"));
        if let Some(money) = &self.money {
            let materials = if money.with_materials { "with" } else { "without" };
            rows.push(money.amounts.row(&format!("at the shop's rates, {}, {materials} materials", money.currency)));
        }
        columns(out, &rows)?;
        if let Some(past) = &self.past {
            let in_ten = (past.chance * 10.0).round();
            let words = match in_ten {
                0.0 => "fewer than 1 in 10".into(),
                10.0 => "more than 9 in 10".into(),
                some => format!("about {some} in 10"),
            };
            writeln!(out, "\n{words} such shells take more metal than the {:.0} hours agreed", past.limit_h)?;
        }
        writeln!(out, "worked and put down so far: {:.1} hours", self.worked_h)?;
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
