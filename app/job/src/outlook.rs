//! What a shell probably hides, where to look next, and the hours it may take.
//!
//! Each zone's chance of needing metal starts from the catalogue's base rate and moves, as odds, by age,
//! climate and history, by one ratio for each evidence group, and by what was found next to it. "Not looked"
//! changes nothing; "looked, clear" lowers it. What was seen thin, holed or opened is known and is no longer
//! a chance. The rules are the trade's (common practice, no source); every figure is in the catalogue.
//!
//! Nothing here reads a clock: a car is as old as its last entry. Money is not here; it is multiplied late.

mod circumstances;
mod evidence;
mod movement;
mod next;
mod odds;
mod range;
mod shell;
mod trouble;
mod words;

use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::body::Instance;
use crate::car::Car;
use crate::catalogue::{Catalogue, Found};
use evidence::Facts;
use shell::Shell;

pub use forecast::odds::Chance;
pub use movement::{Movement, movements};
pub use next::{NextLook, next_looks};
pub use range::{FINDINGS_TOGETHER, HOURS_TOGETHER, Range, ZoneShare, range};
pub use schedule::Outcome;
pub use trouble::Trouble;
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
    /// What it multiplies the odds by; 1 for the base rate itself and for what is known.
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
    /// The chance in words.
    pub likelihood: Likelihood,
    /// Why, the base rate first.
    pub reasons: Vec<Reason>,
    /// Hours to open it, unless it is open, and to repair it, should it be bad; the mean. None once made good.
    pub stake_h: f64,
    /// The look that is worth most for its hours, if there is one left to take.
    pub look: Option<NextLook>,
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
}

impl Outlook {
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
    let mut zones = Vec::new();
    let mut troubles = Vec::new();
    for (place, (slot, fact)) in shell.slots.iter().zip(&facts).enumerate() {
        let weighed = odds::weigh(&shell, &facts, place);
        let chance = odds::chance(slot, fact, &weighed)?;
        let stake_h = match fact.known {
            Known::MadeGood => 0.0,
            _ => slot.hours_if_bad(fact),
        };
        zones.push(ZoneOutlook {
            instance: slot.instance,
            known: fact.known,
            opened: fact.opened,
            found: fact.found,
            chance,
            likelihood: Likelihood::of(&chance),
            reasons: odds::reasons(&shell, &facts, place, &weighed),
            stake_h,
            look: next::best(catalogue, slot, fact, &chance, stake_h),
        });
        troubles.extend(trouble::find(&shell, slot, fact)?);
    }
    Ok(Outlook { zones, troubles, unlisted: shell.unlisted })
}

/// The day of the last entry: the age of the car is counted to it.
fn last_day(car: &Car) -> Date {
    let last = car.entries().last().map(|entry| entry.when()).unwrap_or_default();
    last.to_zoned(TimeZone::UTC).date()
}

#[cfg(test)]
mod tests;
