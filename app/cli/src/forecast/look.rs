//! Where to look next, and what would follow.

use std::io::{self, Write};

use job::car::Car;
use job::ids::CarId;
use job::outlook::{Case, NextLook, Outlook, in_ten};
use job::shop::Shop;
use serde::Serialize;

use super::{Ends, Why, joined, whys};
use crate::answer::{Answer, columns, row};
use crate::stop::Stop;

/// How many looks a table names, and how many keys a refusal.
const SHOWN: usize = 15;
const KEYS_TOLD: usize = 5;

#[derive(Debug, Serialize)]
pub(super) struct Looks {
    car: CarId,
    events: u64,
    looks: Vec<Look>,
    pair: Option<Pair>,
    contradictions: Vec<Contradiction>,
    what_if: Option<WhatIf>,
}

#[derive(Debug, Serialize)]
struct Look {
    key: String,
    say: String,
    how: &'static str,
    hours: Hours,
    stake_hours: f64,
    gain_hours: f64,
    worth_hours: f64,
    /// Whether it tells of a zone of which no better look tells.
    first_choice: bool,
    reaches: Vec<Reached>,
    /// Why the zone with the most hours at stake is thought of as it is.
    #[serde(rename = "for")]
    most_for: Vec<Why>,
    against: Vec<Why>,
}

#[derive(Debug, Serialize)]
struct Hours {
    low: f64,
    likely: f64,
    high: f64,
}

#[derive(Debug, Serialize)]
struct Reached {
    zone: String,
    name: String,
    in_ten: String,
}

#[derive(Debug, Serialize)]
struct Pair {
    first: String,
    second: String,
    say: String,
    gain_hours: f64,
    worth_hours: f64,
}

#[derive(Debug, Serialize)]
struct Contradiction {
    zone: String,
    name: String,
    earlier: u64,
    later: u64,
    say: String,
}

#[derive(Debug, Serialize)]
struct WhatIf {
    look: Look,
    clear: Follows,
    bad: Follows,
}

#[derive(Debug, Serialize)]
struct Follows {
    zones: Vec<Moves>,
    mean_hours_before: f64,
    mean_hours_after: f64,
    next: Option<String>,
}

#[derive(Debug, Serialize)]
struct Moves {
    zone: String,
    name: String,
    reached: bool,
    before: Ends,
    after: Ends,
    in_ten_before: String,
    in_ten_after: String,
}

impl Looks {
    /// Every look of a car, and what would follow from the one of this key.
    pub(super) async fn of(shop: &Shop, car: &Car, what: Option<&str>) -> Result<Self, Stop> {
        let forecast = shop.forecast(car).await?;
        let outlook = &forecast.outlook;
        let what_if = match what {
            None => None,
            Some(key) => {
                let found = shop.what_if(car, key).await?.ok_or_else(|| no_such(key, outlook))?;
                let choice = outlook.first_choices().iter().any(|look| look.key == found.look.key);
                let look = look(&found.look, outlook, choice);
                Some(WhatIf { look, clear: (&found.clear).into(), bad: (&found.bad).into() })
            }
        };
        let pair = outlook.pair.and_then(|pair| {
            let (first, second) = (outlook.looks.get(pair.first)?, outlook.looks.get(pair.second)?);
            Some(Pair {
                first: first.key.clone(),
                second: second.key.clone(),
                say: format!("{}; {}", first.say, second.say),
                gain_hours: pair.gain_h,
                worth_hours: pair.worth_h,
            })
        });
        let contradictions = outlook.contradictions.iter().map(|c| Contradiction {
            zone: c.instance.id.clone(),
            name: c.instance.name(),
            earlier: c.earlier,
            later: c.later,
            say: c.say.clone(),
        });
        let choices: Vec<&str> = outlook.first_choices().iter().map(|look| look.key.as_str()).collect();
        Ok(Self {
            car: car.id,
            events: car.count,
            looks: outlook.looks.iter().map(|next| look(next, outlook, choices.contains(&next.key.as_str()))).collect(),
            pair,
            contradictions: contradictions.collect(),
            what_if,
        })
    }
}

fn no_such(key: &str, outlook: &Outlook) -> Stop {
    let some: Vec<&str> = outlook.looks.iter().take(KEYS_TOLD).map(|look| look.key.as_str()).collect();
    let right =
        if some.is_empty() { "nothing is left to look at".into() } else { format!("such as {}", some.join(", ")) };
    Stop::input(format!("--what: no look of the key \"{key}\" would tell anything here; {right}"))
}

fn look(look: &NextLook, outlook: &Outlook, first_choice: bool) -> Look {
    let first = look.reaches.first().and_then(|place| outlook.zone(&place.id));
    let reached = look.reaches.iter().map(|place| Reached {
        zone: place.id.clone(),
        name: place.name(),
        in_ten: outlook.zone(&place.id).map(|zone| in_ten(&zone.chance)).unwrap_or_default(),
    });
    Look {
        key: look.key.clone(),
        say: look.say.clone(),
        how: look.how.key(),
        hours: Hours { low: look.hours.low, likely: look.hours.likely, high: look.hours.high },
        stake_hours: look.stake_h,
        gain_hours: look.gain_h,
        worth_hours: look.worth_h,
        first_choice,
        reaches: reached.collect(),
        most_for: first.map(|zone| whys(zone.most_for())).unwrap_or_default(),
        against: first.map(|zone| whys(zone.most_against())).unwrap_or_default(),
    }
}

impl From<&Case> for Follows {
    fn from(case: &Case) -> Self {
        let zones = case.zones.iter().map(|zone| Moves {
            zone: zone.instance.id.clone(),
            name: zone.instance.name(),
            reached: zone.reached,
            before: zone.before.into(),
            after: zone.after.into(),
            in_ten_before: in_ten(&zone.before),
            in_ten_after: in_ten(&zone.after),
        });
        let (mean_hours_before, mean_hours_after) = case.mean_h;
        Self { zones: zones.collect(), mean_hours_before, mean_hours_after, next: case.next.clone() }
    }
}

impl Answer for Looks {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        if let Some(what_if) = &self.what_if {
            return what_if.table(out);
        }
        let one = |hours: f64| format!("{hours:.1}");
        let worth: Vec<&Look> = self.looks.iter().filter(|look| look.first_choice).take(SHOWN).collect();
        if worth.is_empty() {
            writeln!(out, "No look is worth its hours now: none would change what is planned by enough.")?;
        } else {
            let mut rows =
                vec![row!["look", "key", "hours", "at stake", "saves", "worth", "most likely bad", "because"]];
            rows.extend(worth.iter().map(|look| {
                let told = look.reaches.first().map(|zone| format!("{}: {}", zone.name, zone.in_ten));
                let because = joined(if look.most_for.is_empty() { &look.against } else { &look.most_for });
                let figures = [look.hours.likely, look.stake_hours, look.gain_hours, look.worth_hours].map(one);
                let [hours, stake, gain, worth] = figures;
                row![look.say, look.key, hours, stake, gain, worth, told.unwrap_or_default(), because]
            }));
            columns(out, &rows)?;
        }
        if let Some(pair) = &self.pair {
            writeln!(out, "\nbest two together, worth {:.1} hours: {}", pair.worth_hours, pair.say)?;
        }
        if !self.contradictions.is_empty() {
            writeln!(out, "\nlooks that cannot both be right; the later one counts:")?;
            self.contradictions.iter().try_for_each(|told| writeln!(out, "{}: {}", told.name, told.say))?;
        }
        writeln!(out, "\nA look is worth the hours it may save over the whole shell, less its own. Starting guesses.")
    }
}

impl WhatIf {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let look = &self.look;
        writeln!(out, "{}: {:.1} hours, worth {:.1}", look.say, look.hours.likely, look.worth_hours)?;
        for (answer, follows) in
            [("every zone it reaches is clear", &self.clear), ("the likeliest one is bad", &self.bad)]
        {
            let (before, after) = (follows.mean_hours_before, follows.mean_hours_after);
            writeln!(out, "\nif {answer}: mean metal hours {before:.0}, then {after:.0}")?;
            let mut rows = vec![row!["zone", "name", "now", "then"]];
            rows.extend(follows.zones.iter().map(|m| row![m.zone, m.name, m.in_ten_before, m.in_ten_after]));
            columns(out, &rows)?;
            if let Some(next) = &follows.next {
                writeln!(out, "then look: {next}")?;
            }
        }
        Ok(())
    }
}
