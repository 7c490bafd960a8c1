//! The odds of one zone: every ratio that counts, and why it does.

use forecast::odds::{LEAST, MOST, chance, strongest};

use super::evidence::{Facts, Said};
use super::shell::{Shell, Slot};
use super::{Chance, Known, OutlookError};
use crate::catalogue::Modifier;
use crate::what::How;

/// One ratio that counts for a zone.
pub(super) struct Weighed<'a> {
    pub(super) ratio: f64,
    pub(super) why: Why<'a>,
}

/// Where a ratio comes from, so that words are made only where somebody reads them.
pub(super) enum Why<'a> {
    Said(Said<'a>),
    Looked { how: How, clear: bool, entry: u64 },
    OpenedPitted { entry: u64 },
}

/// What was seen of the slot itself, or bears on it; what was found next to it is not in it. None for what is known.
pub(super) fn seen_there<'a>(shell: &Shell<'a>, facts: &[Facts<'a>], place: usize) -> Vec<Weighed<'a>> {
    let Some(fact) = facts.get(place).filter(|fact| fact.known == Known::NotKnown) else { return Vec::new() };
    let mut rot: Vec<Said<'a>> = fact.said.iter().filter(|said| said.clue.prior_p.is_none()).copied().collect();
    let looked = by_looking(shell, fact);
    if let Some((_, answers)) = &looked {
        let same = |said: &Said<'_>| answers.iter().any(|a| a.clue.id == said.clue.id && a.there == said.there);
        rot.retain(|said| !same(said));
    }
    let said = one_of_each_group(&rot).into_iter().map(|said| Weighed { ratio: said.ratio(), why: Why::Said(said) });
    said.chain(looked.map(|(look, _)| look)).collect()
}

/// One fact counts once: of every evidence group the clue that says most, the first one on a tie.
pub(super) fn one_of_each_group<'a>(said: &[Said<'a>]) -> Vec<Said<'a>> {
    let mut groups: Vec<(&str, Vec<Said<'a>>)> = Vec::new();
    for one in said {
        let name = one.clue.evidence_group.as_str();
        match groups.iter_mut().find(|(group, _)| *group == name) {
            Some((_, members)) => members.push(*one),
            None => groups.push((name, vec![*one])),
        }
    }
    groups.sort_by_key(|(_, members)| members.iter().map(|said| said.entry).min());
    let strongest_of = |members: &Vec<Said<'a>>| {
        let ratios: Vec<f64> = members.iter().map(Said::ratio).collect();
        members.get(strongest(&ratios)?).copied()
    };
    groups.iter().filter_map(|(_, members)| strongest_of(members)).collect()
}

/// All looks at one zone are one fact: the strongest counts. A look and what it answered about this zone are
/// one fact too: where an answer says at least as much it counts instead, else the look counts for both, and
/// its answers come with it so that they can be left out.
fn by_looking<'f, 'a>(shell: &Shell<'_>, fact: &'f Facts<'a>) -> Option<(Weighed<'a>, &'f [Said<'a>])> {
    let ratio = |how: How, clear: bool| {
        shell.catalogue.look(how).map(|way| if clear { way.ratio_clear } else { way.ratio_pitted })
    };
    let looks = fact.looked.iter().filter_map(|(how, looked)| {
        let ratio = ratio(*how, looked.clear)?;
        let ratios: Vec<f64> = looked.answers.iter().map(Said::ratio).chain([ratio]).collect();
        let counts = strongest(&ratios) == Some(looked.answers.len());
        let why = Why::Looked { how: *how, clear: looked.clear, entry: looked.entry };
        counts.then_some((Weighed { ratio, why }, looked.answers.as_slice()))
    });
    // What an opening shows is bare metal from inside.
    let opened = fact.opened_pitted.and_then(|entry| {
        Some((Weighed { ratio: ratio(How::BareMetal, false)?, why: Why::OpenedPitted { entry } }, [].as_slice()))
    });
    let mut all: Vec<(Weighed<'a>, &[Said<'a>])> = looks.chain(opened).collect();
    let ratios: Vec<f64> = all.iter().map(|(look, _)| look.ratio).collect();
    strongest(&ratios).map(|at| all.swap_remove(at))
}

/// What looks at a slot itself have done to its odds so far.
pub(super) fn looked_so_far(shell: &Shell<'_>, fact: &Facts<'_>) -> f64 {
    by_looking(shell, fact).map_or(1.0, |(look, _)| look.ratio)
}

/// What the odds rules make of what was found next to a zone and opposite it.
fn next_door(slot: &Slot<'_>, facts: &[Facts<'_>]) -> Vec<f64> {
    // Of a neighbouring zone one bad place is enough; it counts once.
    let is = |place: &usize, what: fn(&Facts<'_>) -> bool| facts.get(*place).is_some_and(what);
    let count = |what: fn(&Facts<'_>) -> bool| {
        slot.neighbours.iter().filter(|places| places.iter().any(|place| is(place, what))).count()
    };
    let rotten = slot.neighbour_rotten.map(|row| several(row, count(|fact| fact.rotten.is_some())));
    let sound = slot.neighbour_sound.filter(|_| count(|fact| fact.known == Known::FoundSound) > 0);
    let opposite =
        slot.opposite_rotten.filter(|_| slot.opposite.is_some_and(|place| is(&place, |fact| fact.rotten.is_some())));
    let rows = [sound, opposite].into_iter().flatten().map(|row| row.odds_multiplier);
    rotten.into_iter().chain(rows).collect()
}

/// A multiplier that acts `times` times, up to its cap; without one, as far as any single ratio may go.
fn several(row: &Modifier, times: usize) -> f64 {
    let product = (0..times).fold(1.0, |product, _| product * row.odds_multiplier);
    product.clamp(0.001, row.cap.unwrap_or(1_000.0))
}

/// The chance that a zone needs metal by the odds rules alone, which do not let zones inform each other but through
/// what is known next door. Of what is known it is 0.98 or 0.02: nothing is certain.
pub(super) fn alone(shell: &Shell<'_>, facts: &[Facts<'_>], place: usize) -> Result<Chance, OutlookError> {
    let at = |p: f64| Ok(Chance { low: p, likely: p, high: p });
    let (Some(slot), Some(fact)) = (shell.slots.get(place), facts.get(place)) else { return at(MOST) };
    match fact.known {
        Known::NeedsMetal => at(MOST),
        Known::FoundSound | Known::MadeGood => at(LEAST),
        Known::NotKnown => {
            let told = slot.factors.iter().map(|factor| factor.ratio);
            let seen = seen_there(shell, facts, place).into_iter().map(|weighed| weighed.ratio);
            let ratios: Vec<f64> = told.chain(seen).chain(next_door(slot, facts)).collect();
            chance(slot.zone.base_p, &ratios).map_err(|why| OutlookError::Odds { zone: slot.instance.id.clone(), why })
        }
    }
}

/// "blisters along the lower seam of the sill (seen, entry 14)".
pub(super) fn say_clue(said: &Said<'_>) -> String {
    let seen = if said.there { "seen" } else { "looked for, not there" };
    format!("{} ({seen}, entry {})", said.clue.clue, said.entry)
}
