//! What a shell probably hides, where to look next, and the hours it may take.
//!
//! Each zone's chance of needing metal starts from the catalogue's base rate and moves, as odds, by age,
//! climate and history and by one ratio for each fact that bears on it. Zones on one wet path, and a zone and the one
//! opposite, lean on common causes, so that whatever is learned of one informs the others, in a network whose
//! answers are exact ([`forecast::shell`]). "Not looked" changes nothing; "looked, clear" lowers a chance. What was
//! seen thin, holed or opened is known and is no longer a chance. The rules are the trade's (common practice, no
//! source); every figure is in the catalogue.
//!
//! Nothing here reads a clock: a car is as old as its last entry. Money is not here; it is multiplied late.

mod circumstances;
mod contradiction;
mod evidence;
mod hidden;
mod history;
mod movement;
mod next;
mod odds;
mod range;
mod reasons;
mod replayed;
mod shell;
mod trouble;
mod what_if;
mod words;

use std::collections::BTreeSet;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::body::{BodyStyle, Instance};
use crate::car::Car;
use crate::catalogue::{Catalogue, Found};
use crate::details::{Aim, CarDetails, Climate, Fitted, Kept};
use evidence::Facts;
use forecast::odds::strength;
use hidden::{Hidden, Told};
use reasons::Moved;
use shell::Shell;

pub use forecast::odds::Chance;
pub use history::{Point, history};
pub use movement::{Movement, movements};
pub use next::{NextLook, Pair};
pub(crate) use range::hours_of_a_zone;
pub use range::{HOURS_TOGETHER, Past, Range, SEVERITY_TOGETHER, ZoneShare, range};
pub(crate) use replayed::Replayed;
pub use schedule::Outcome;
pub use schedule::factor::Factor;
pub use trouble::Trouble;
pub use what_if::{Case, Moves, WhatIf, what_if};
pub use words::{Likelihood, in_ten};

/// A figure of the catalogue or of the record that the engines refuse; the checks on entry prevent it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OutlookError {
    /// The odds of a zone cannot be worked out.
    #[error("the chance of {zone} cannot be worked out: {why}")]
    Odds {
        /// The zone instance.
        zone: String,
        /// What the engine says.
        why: forecast::OddsError,
    },
    /// Hours that do not rise from low to high.
    #[error("the hours of {zone} cannot be used: {why}")]
    Hours {
        /// The zone, or the zone instance where an owner decided.
        zone: String,
        /// What the engine says.
        why: schedule::RiskError,
    },
    /// The shell cannot be woven together.
    #[error("the shell cannot be worked out: {0}")]
    Shell(#[from] forecast::shell::ShellError),
    /// The looks cannot be valued.
    #[error("the looks cannot be valued: {0}")]
    Looks(#[from] forecast::look::LookError),
    /// The range cannot be worked out.
    #[error("the range cannot be worked out: {0}")]
    Range(#[from] schedule::RiskError),
}

/// What is known of a zone for certain, as far as the trade calls anything certain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Known {
    /// Nothing: there is only a chance.
    NotKnown,
    /// It was seen thin or holed, as [`ZoneOutlook::found`] says, so it needs metal.
    NeedsMetal,
    /// It was opened and is sound.
    FoundSound,
    /// It was made good, and no hours are left.
    MadeGood,
}

/// One thing that moved a chance.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// In words, with what it multiplies the odds by.
    pub say: String,
    /// What it multiplies the odds by: those there are, over those there would be without it; 1 for the base rate
    /// itself and for what is known.
    pub ratio: f64,
    /// The entry it comes from, if it comes from one.
    pub entry: Option<u64>,
}

/// What is thought of one zone.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneOutlook {
    /// The zone instance.
    pub instance: &'static Instance,
    /// What is known for certain.
    pub known: Known,
    /// Whether it has been opened.
    pub opened: bool,
    /// What was found, for the kind of repair.
    pub found: Found,
    /// The chance that it needs metal; of what is known, 0.98 or 0.02, since nothing is certain.
    pub chance: Chance,
    /// The probability behind the chance, neither rounded nor kept from the ends; 1 or 0 of what is known.
    pub p: f64,
    /// The same by the odds rules alone, where zones do not inform each other but through what is known next door.
    pub alone: Chance,
    /// The chance in words.
    pub likelihood: Likelihood,
    /// Why: the base rate first, then the car's life, then what was seen, the strongest first.
    pub reasons: Vec<Reason>,
    /// Hours to open it, unless it is open, and to repair it, should it be bad; the mean. None once made good.
    pub stake_h: f64,
}

impl ZoneOutlook {
    /// The three strongest reasons for its needing metal, the strongest first.
    pub fn most_for(&self) -> Vec<&Reason> {
        self.strongest(|reason| reason.ratio > 1.0)
    }

    /// The three strongest reasons against it, the strongest first.
    pub fn most_against(&self) -> Vec<&Reason> {
        self.strongest(|reason| reason.ratio < 1.0)
    }

    fn strongest(&self, side: impl Fn(&Reason) -> bool) -> Vec<&Reason> {
        let mut reasons: Vec<&Reason> = self.reasons.iter().filter(|reason| side(reason)).collect();
        reasons.sort_by(|a, b| strength(b.ratio).total_cmp(&strength(a.ratio)));
        reasons.truncate(3);
        reasons
    }
}

/// What is thought of a whole shell.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// Every zone, in the order of the body.
    pub zones: Vec<ZoneOutlook>,
    /// Earlier impacts and bad repairs of which a sign was seen.
    pub troubles: Vec<Trouble>,
    /// Zones of the body of which the shop's own catalogue says nothing.
    pub unlisted: Vec<&'static Instance>,
    /// Looks that would tell something, the most worth first; those not worth their hours have no worth above 0.
    pub looks: Vec<NextLook>,
    /// The two looks that are worth most together, where they are worth more than the best alone.
    pub pair: Option<Pair>,
    /// Looks at one zone that cannot both be right.
    pub contradictions: Vec<Contradiction>,
}

/// A zone seen bad in one entry and clear in a later one, or the other way round, with nothing made good between.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contradiction {
    /// The zone.
    pub instance: &'static Instance,
    /// The entry that no longer counts.
    pub earlier: u64,
    /// The entry that counts.
    pub later: u64,
    /// What each said, in words.
    pub say: String,
}

impl Outlook {
    /// The looks that are worth their hours, the most worth first.
    pub fn worth_looking(&self) -> impl Iterator<Item = &NextLook> {
        self.looks.iter().take_while(|look| look.worth_h > 0.0)
    }

    /// Of the looks that are worth their hours those to choose from: each tells of a zone of which no better one tells.
    /// The others are other ways of seeing the same.
    pub fn first_choices(&self) -> Vec<&NextLook> {
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        let anew = |look: &&NextLook| {
            let before = seen.len();
            seen.extend(look.reaches.iter().map(|zone| zone.id.as_str()));
            seen.len() > before
        };
        self.worth_looking().filter(anew).collect()
    }

    /// What is thought of this zone instance.
    pub fn zone(&self, instance: &str) -> Option<&ZoneOutlook> {
        self.zones.iter().find(|zone| zone.instance.id == instance)
    }
}

/// What a car's record says about its hidden metal, as of its last entry.
///
/// Fails only where the catalogue or the record holds a figure that the checks on entry refuse.
pub fn outlook(car: &Car, catalogue: &Catalogue) -> Result<Outlook, OutlookError> {
    let shell = Shell::new(catalogue, &car.details, last_day(car))?;
    let facts = Facts::gather(&shell, car);
    let told = Told::of(&shell, &facts);
    let mut hidden = Hidden::of(&shell)?;
    let chances = hidden.chances(&told)?;
    let without = hidden.without_each(&told)?;
    let zones = zones(&shell, &facts, &Moved { told: &told, chances: &chances, without: &without })?;
    let (looks, pair) = next::looks(&shell, &facts, &mut hidden, &told, &range::decided(car))?;
    let troubles = trouble::find(&shell, &facts)?;
    let contradictions = contradiction::find(&shell, car);
    Ok(Outlook { zones, troubles, unlisted: shell.unlisted, looks, pair, contradictions })
}

/// The same, but only the zones and without the reasons for what was seen: what hours are worked out from.
///
/// Fails as [`outlook`] does.
pub fn zones_only(car: &Car, catalogue: &Catalogue) -> Result<Outlook, OutlookError> {
    let mut shell = Replayed::new(car, catalogue)?;
    let zones = shell.zones(car)?;
    let unlisted = shell.shell.unlisted;
    let (looks, pair, contradictions) = (Vec::new(), None, Vec::new());
    Ok(Outlook { zones, troubles: Vec::new(), unlisted, looks, pair, contradictions })
}

fn zones(shell: &Shell<'_>, facts: &[Facts<'_>], moved: &Moved<'_>) -> Result<Vec<ZoneOutlook>, OutlookError> {
    let of = |(place, (slot, fact)): (usize, (&shell::Slot<'_>, &Facts<'_>))| {
        let alone = odds::alone(shell, facts, place)?;
        let p = moved.chances.get(place).copied().unwrap_or_default();
        let (chance, p) = match fact.known {
            Known::NotKnown => (Chance::around(p), p),
            Known::NeedsMetal => (alone, 1.0),
            Known::FoundSound | Known::MadeGood => (alone, 0.0),
        };
        Ok(ZoneOutlook {
            instance: slot.instance,
            known: fact.known,
            opened: fact.opened,
            found: fact.found,
            chance,
            p,
            alone,
            likelihood: Likelihood::of(&chance),
            reasons: reasons::reasons(shell, facts, place, moved),
            stake_h: match fact.known {
                Known::MadeGood => 0.0,
                _ => slot.hours_if_bad(fact),
            },
        })
    };
    shell.slots.iter().zip(facts).enumerate().map(of).collect()
}

/// Whether every body style can be worked out by this catalogue, with all that may be fitted.
pub(crate) fn can_weave(catalogue: &Catalogue) -> Result<(), OutlookError> {
    for style in BodyStyle::ALL {
        let details = CarDetails {
            title: String::new(),
            body: style.id().into(),
            year: 1960,
            climate: Climate::TemperateSalted,
            kept: Kept::Unknown,
            fitted: Fitted::ALL.iter().copied().collect(),
            aim: Aim::SoundDriver,
            history: Default::default(),
            budget_h: None,
            ask_over_h: None,
            rates: None,
            note: String::new(),
            invented: true,
        };
        Hidden::of(&Shell::new(catalogue, &details, Date::constant(2000, 1, 1))?)?;
    }
    Ok(())
}

/// The day of the last entry: the age of the car is counted to it.
fn last_day(car: &Car) -> Date {
    let last = car.entries().last().map(|entry| entry.when()).unwrap_or_default();
    last.to_zoned(TimeZone::UTC).date()
}

#[cfg(test)]
mod tests;
