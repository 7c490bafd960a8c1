//! Where to look next: the hours a look may save, less the hours it takes.

use super::evidence::Facts;
use super::shell::Slot;
use super::{Chance, Known, Outlook, ZoneOutlook};
use crate::catalogue::Catalogue;
use crate::what::How;

/// A look that could be taken next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextLook {
    /// How.
    pub how: How,
    /// Likely hours for it.
    pub hours_h: f64,
    /// The chance that its answer changes the plan times the hours at stake, less its own hours.
    pub worth_h: f64,
}

/// The looks that are worth their hours, the most worth first. What is known is left out.
pub fn next_looks(outlook: &Outlook) -> Vec<(&ZoneOutlook, NextLook)> {
    let mut looks: Vec<(&ZoneOutlook, NextLook)> = outlook
        .zones
        .iter()
        .filter_map(|zone| Some((zone, zone.look?)))
        .filter(|(_, look)| look.worth_h > 0.0)
        .collect();
    looks.sort_by(|a, b| b.1.worth_h.total_cmp(&a.1.worth_h));
    looks
}

/// The look at a zone that is worth most, of those that suit it and say more than has been said.
///
/// The answer changes the plan when it turns out other than planned for, which has the smaller of the chances
/// for and against; and only as far as the look can be trusted, which is how far a clear one would lower the
/// odds beyond what earlier looks did.
pub(super) fn best(
    catalogue: &Catalogue,
    slot: &Slot<'_>,
    facts: &Facts<'_>,
    chance: &Chance,
    stake_h: f64,
) -> Option<NextLook> {
    if facts.known != Known::NotKnown || facts.opened {
        return None;
    }
    let done = facts.looked.keys().filter_map(|how| catalogue.look(*how)).map(|way| way.ratio_clear);
    let done = done.fold(1.0, f64::min);
    let other_than_planned = chance.likely.min(1.0 - chance.likely);
    catalogue
        .looks()
        .filter(|way| way.suits(&slot.zone.id) && way.ratio_clear < done)
        .map(|way| {
            let changes_the_plan = other_than_planned * (1.0 - way.ratio_clear / done);
            let worth_h = changes_the_plan * stake_h - way.hours.likely;
            NextLook { how: way.how, hours_h: way.hours.likely, worth_h }
        })
        .reduce(|best, look| if look.worth_h > best.worth_h { look } else { best })
}
