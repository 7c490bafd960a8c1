//! What the record says about each zone, from the entries that count.

use std::collections::BTreeMap;

use super::Known;
use super::shell::Shell;
use crate::car::Car;
use crate::catalogue::{Clue, Found};
use crate::validate::zone_of;
use crate::what::{How, Look, Seen, Severity, What};

/// One clue that was looked for, and what it says about a zone.
#[derive(Debug, Clone, Copy)]
pub(super) struct Said<'a> {
    pub(super) clue: &'a Clue,
    pub(super) there: bool,
    pub(super) entry: u64,
}

impl Said<'_> {
    /// By how much it multiplies the odds.
    pub(super) fn ratio(&self) -> f64 {
        if self.there { self.clue.lr_if_seen() } else { self.clue.lr_if_absent() }
    }

    /// Whether it speaks against trouble.
    pub(super) fn lowers(&self) -> bool {
        self.ratio() < 1.0
    }
}

/// A look at a zone that neither proved it bad nor opened it.
#[derive(Debug, Clone)]
pub(super) struct Looked<'a> {
    /// False when pits were seen.
    pub(super) clear: bool,
    /// What it answered about this very zone to the same effect: one fact with the look itself.
    pub(super) answers: Vec<Said<'a>>,
    pub(super) entry: u64,
}

/// What the record says about one zone.
#[derive(Debug, Clone)]
pub(super) struct Facts<'a> {
    pub(super) known: Known,
    /// The entry that made it known.
    pub(super) known_by: Option<u64>,
    pub(super) found: Found,
    pub(super) opened: bool,
    /// The entry in which it was found rotten, also once it has been made good.
    pub(super) rotten: Option<u64>,
    /// The entry in which it was opened and found with pits only.
    pub(super) opened_pitted: Option<u64>,
    /// The latest look of each way.
    pub(super) looked: BTreeMap<How, Looked<'a>>,
    /// The latest answer to each clue about it.
    pub(super) said: Vec<Said<'a>>,
}

impl<'a> Facts<'a> {
    const NONE: Self = Self {
        known: Known::NotKnown,
        known_by: None,
        found: Found::NotOpened,
        opened: false,
        rotten: None,
        opened_pitted: None,
        looked: BTreeMap::new(),
        said: Vec::new(),
    };

    /// Nothing said of any of this many slots.
    #[cfg(test)]
    pub(super) fn none(slots: usize) -> Vec<Self> {
        vec![Self::NONE; slots]
    }

    /// What a car's record says about every slot of its shell.
    pub(super) fn gather(shell: &Shell<'a>, car: &Car) -> Vec<Self> {
        let mut all = vec![Self::NONE; shell.slots.len()];
        for (entry, what) in car.told(Some) {
            let place = what.zone().and_then(|zone| shell.find(zone));
            let Some(facts) = place.and_then(|place| all.get_mut(place)) else { continue };
            match what {
                What::Looked(look) if look.seen != Seen::NotLooked => {
                    facts.look(look, entry.seq, shell);
                    spread_clues(&mut all, look, entry.seq, shell);
                }
                What::Opened(opened) => facts.open(opened.found, entry.seq),
                What::MadeGood(_) => facts.make_good(entry.seq),
                _ => {}
            }
        }
        all
    }

    fn look(&mut self, look: &Look, entry: u64, shell: &Shell<'a>) {
        let clear = match look.seen {
            Seen::NotLooked => return,
            Seen::Bad(severity @ (Severity::Thin | Severity::Holed)) => return self.needs_metal(severity, entry),
            Seen::Bad(Severity::Pitted) => false,
            Seen::Clear => true,
        };
        let stays = clear && matches!(self.known, Known::FoundSound | Known::MadeGood);
        if !stays {
            self.doubt(if clear { Found::NotOpened } else { Found::Pitted });
        }
        let rows = look.clues.iter().flat_map(|seen| shell.rows_of(&seen.clue).iter().map(|clue| (*clue, seen.there)));
        let answers = rows
            .filter(|(clue, _)| clue.prior_p.is_none() && clue.target_zone == zone_of(&look.zone))
            .map(|(clue, there)| Said { clue, there, entry })
            .filter(|said| said.lowers() == clear)
            .collect();
        self.looked.insert(look.how, Looked { clear, answers, entry });
    }

    fn open(&mut self, found: Option<Severity>, entry: u64) {
        self.opened = true;
        match found {
            Some(severity @ (Severity::Thin | Severity::Holed)) => self.needs_metal(severity, entry),
            Some(Severity::Pitted) => {
                self.doubt(Found::Pitted);
                self.opened_pitted = Some(entry);
            }
            None => {
                self.doubt(Found::NotOpened);
                self.known = Known::FoundSound;
                self.known_by = Some(entry);
            }
        }
    }

    fn make_good(&mut self, entry: u64) {
        self.opened = true;
        self.known = Known::MadeGood;
        self.known_by = Some(entry);
        self.found = Found::NotOpened;
        self.opened_pitted = None;
        self.looked.clear();
    }

    fn needs_metal(&mut self, severity: Severity, entry: u64) {
        self.known = Known::NeedsMetal;
        self.known_by = Some(entry);
        self.found = severity.into();
        self.rotten = Some(entry);
    }

    /// What was known no longer is: somebody saw otherwise since.
    fn doubt(&mut self, found: Found) {
        self.known = Known::NotKnown;
        self.known_by = None;
        self.found = found;
        self.rotten = None;
        self.opened_pitted = None;
    }

    /// As if it were looked at next and seen clear.
    pub(super) fn suppose_clear(&mut self, how: How, entry: u64) {
        self.doubt(Found::NotOpened);
        self.looked.insert(how, Looked { clear: true, answers: Vec::new(), entry });
    }

    /// As if it were looked at next and seen thin or holed, nobody knows which.
    pub(super) fn suppose_bad(&mut self, entry: u64) {
        self.known = Known::NeedsMetal;
        self.known_by = Some(entry);
        self.rotten = Some(entry);
    }

    fn say(&mut self, said: Said<'a>) {
        match self.said.iter_mut().find(|old| old.clue.id == said.clue.id) {
            Some(old) => *old = said,
            None => self.said.push(said),
        }
    }
}

/// Takes each clue of a look to every zone that its observation speaks about.
fn spread_clues<'a>(all: &mut [Facts<'a>], look: &Look, entry: u64, shell: &Shell<'a>) {
    let Some(from) = shell.find(&look.zone).and_then(|place| shell.slots.get(place)) else { return };
    for seen in &look.clues {
        for clue in shell.rows_of(&seen.clue) {
            for place in shell.targets(&clue.target_zone, from.instance) {
                if let Some(facts) = all.get_mut(place) {
                    facts.say(Said { clue, there: seen.there, entry });
                }
            }
        }
    }
}
