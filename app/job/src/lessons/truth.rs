//! When the truth about a zone became known, and what clues had said about it until then.

use std::collections::BTreeMap;

use crate::body::Instance;
use crate::car::{Car, Entry};
use crate::catalogue::{Catalogue, Clue};
use crate::validate::{instance, instances, place_of};
use crate::what::{Look, Seen, Severity, What};

/// What became known of a zone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Truth {
    /// Where in the record the entry stands, or its first version, that first told it.
    pub(super) first: u64,
    /// The entry that says how it is.
    pub(super) entry: u64,
    /// Whether it is thin or holed; `None` where it was opened and only pitted.
    pub(super) bad: Option<bool>,
    /// Whether it was opened, not only seen.
    opened: bool,
    /// Clue rows that aim at it and were looked for before it was known, and whether each was there.
    pub(super) clues: BTreeMap<String, bool>,
}

/// What is on record of one zone while its entries are gone through.
#[derive(Default)]
struct Told {
    truth: Option<Truth>,
    /// Made good: what is found there later is new metal.
    closed: bool,
    clues: BTreeMap<String, bool>,
}

impl Told {
    /// What an opening or a look that saw it thin or holed tells.
    fn tell(&mut self, entry: &Entry, place: u64, bad: Option<bool>, opened: bool) {
        if self.closed {
            return;
        }
        match &mut self.truth {
            Some(truth) => {
                (truth.entry, truth.bad) = (entry.seq, bad);
                truth.opened |= opened;
            }
            none => {
                *none = Some(Truth { first: place, entry: entry.seq, bad, opened, clues: self.clues.clone() });
            }
        }
    }

    /// A look that saw it neither thin nor holed: it speaks against an earlier look, not against an opening.
    fn unsettle(&mut self) {
        if self.truth.as_ref().is_some_and(|truth| !truth.opened) && !self.closed {
            self.truth = None;
        }
    }
}

/// What became known of the zones of a car, by instance, from the entries that count.
pub(super) fn truths(car: &Car, catalogue: &Catalogue) -> BTreeMap<String, Truth> {
    let all = instances(&car.details);
    let rows = rows(catalogue);
    let mut zones: BTreeMap<String, Told> = BTreeMap::new();
    let picked = car.told(|what| match what {
        What::Looked(look) if look.seen == Seen::NotLooked => None,
        What::Looked(_) | What::Opened(_) | What::MadeGood(_) => Some(what),
        _ => None,
    });
    for (entry, what) in picked {
        let Some(from) = what.zone().and_then(|zone| instance(&car.details, zone)) else { continue };
        let zone = zones.entry(from.id.clone()).or_default();
        match what {
            What::Looked(look) => {
                match look.seen {
                    Seen::Bad(Severity::Thin | Severity::Holed) => {
                        zone.tell(entry, entry.first_version(), Some(true), false);
                    }
                    _ => zone.unsettle(),
                }
                // After the truth: what one ticks while looking at the hole foretold nothing about it.
                for (id, clue, there) in said(look, catalogue, &rows, &all, from) {
                    zones.entry(id.to_owned()).or_default().clues.insert(clue.id.clone(), there);
                }
            }
            What::Opened(opened) => {
                let bad = match opened.found {
                    None => Some(false),
                    Some(Severity::Pitted) => None,
                    Some(Severity::Thin | Severity::Holed) => Some(true),
                };
                zone.tell(entry, entry.first_version(), bad, true);
            }
            _ => zone.closed = true,
        }
    }
    zones.into_iter().filter_map(|(id, told)| Some((id, told.truth?))).collect()
}

/// The clue rows by observation: evidence group and text.
type Rows<'a> = BTreeMap<(&'a str, &'a str), Vec<&'a Clue>>;

/// Only rows about metal: whether there was an impact or an old repair is not told by a hole.
fn rows(catalogue: &Catalogue) -> Rows<'_> {
    let mut rows: Rows<'_> = BTreeMap::new();
    for clue in catalogue.clues().filter(|clue| clue.prior_p.is_none()) {
        rows.entry((&clue.evidence_group, &clue.clue)).or_default().push(clue);
    }
    rows
}

/// What the clues of a look say about each zone instance that they aim at: the one in the very same place if
/// there is one, else those on its side; a look on the centre line speaks about both sides.
fn said<'a>(
    look: &Look,
    catalogue: &Catalogue,
    rows: &Rows<'a>,
    all: &[&'static Instance],
    from: &Instance,
) -> Vec<(&'static str, &'a Clue, bool)> {
    let mut said = Vec::new();
    for seen in &look.clues {
        let Some(named) = catalogue.clue(&seen.clue) else { continue };
        let of_it = rows.get(&(named.evidence_group.as_str(), named.clue.as_str()));
        for clue in of_it.into_iter().flatten() {
            let near = |to: &&&'static Instance| to.zone == clue.target_zone && from.side.meets(to.side);
            let near: Vec<&'static Instance> = all.iter().filter(near).copied().collect();
            let same = |to: &&&'static Instance| place_of(&to.id) == place_of(&from.id);
            let exact = near.iter().find(same).copied();
            let to: Vec<&'static Instance> = exact.map_or(near, |exact| vec![exact]);
            said.extend(to.into_iter().map(|to| (to.id.as_str(), *clue, seen.there)));
        }
    }
    said
}
