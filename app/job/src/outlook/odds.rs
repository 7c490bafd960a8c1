//! The odds of one zone: every ratio that counts, and why it does.

use forecast::odds::{chance as chance_of, strongest};

use super::evidence::{Facts, Said};
use super::shell::{Shell, Slot};
use super::words::{lower, tenths, times};
use super::{Chance, Known, OutlookError, Reason};
use crate::catalogue::Modifier;
use crate::what::How;

/// One ratio that counts for a zone.
pub(super) struct Weighed<'a> {
    pub(super) ratio: f64,
    why: Why<'a>,
}

/// Where a ratio comes from, so that words are made only where somebody reads them.
enum Why<'a> {
    Told(String),
    Said(Said<'a>),
    Looked { how: How, clear: bool, entry: u64 },
    OpenedPitted { entry: u64 },
    NextTo { rotten: bool, slots: Vec<usize>, entry: u64 },
    Opposite { slot: usize, entry: u64 },
}

/// Every ratio that counts for the slot at `place`, circumstances first; none for what is known.
pub(super) fn weigh<'a>(shell: &Shell<'a>, facts: &[Facts<'a>], place: usize) -> Vec<Weighed<'a>> {
    let (Some(slot), Some(fact)) = (shell.slots.get(place), facts.get(place)) else { return Vec::new() };
    if fact.known != Known::NotKnown {
        return Vec::new();
    }
    let told = slot.factors.iter().map(|f| Weighed { ratio: f.ratio, why: Why::Told(f.say.clone()) });
    let mut rot: Vec<Said<'a>> = fact.said.iter().filter(|said| said.clue.prior_p.is_none()).copied().collect();
    let looked = by_looking(shell, fact);
    if let Some((_, answers)) = &looked {
        let same = |said: &Said<'_>| answers.iter().any(|a| a.clue.id == said.clue.id && a.there == said.there);
        rot.retain(|said| !same(said));
    }
    let said = one_of_each_group(&rot).into_iter().map(|said| Weighed { ratio: said.ratio(), why: Why::Said(said) });
    told.chain(said).chain(looked.map(|(look, _)| look)).chain(next_door(slot, facts)).collect()
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

/// What was found next to a zone and opposite it.
fn next_door<'a>(slot: &Slot<'_>, facts: &[Facts<'_>]) -> Vec<Weighed<'a>> {
    // Of a neighbouring zone one bad place is enough; it counts once.
    let each = |is: fn(&Facts<'_>) -> Option<u64>| -> Vec<(usize, u64)> {
        let first = |places: &Vec<usize>| places.iter().find_map(|&place| Some((place, is(facts.get(place)?)?)));
        slot.neighbours.iter().filter_map(first).collect()
    };
    let next_to = |rotten: bool, found: Vec<(usize, u64)>, ratio: f64| {
        let entry = found.iter().map(|(_, entry)| *entry).max()?;
        let slots = found.into_iter().map(|(place, _)| place).collect();
        Some(Weighed { ratio, why: Why::NextTo { rotten, slots, entry } })
    };
    let rotten = slot.neighbour_rotten.and_then(|row| {
        let found = each(|fact| fact.rotten);
        let ratio = several(row, found.len());
        next_to(true, found, ratio)
    });
    let sound = slot.neighbour_sound.and_then(|row| {
        let mut found = each(|fact| fact.known_by.filter(|_| fact.known == Known::FoundSound));
        found.truncate(1);
        next_to(false, found, row.odds_multiplier)
    });
    let opposite = slot.opposite_rotten.and_then(|row| {
        let place = slot.opposite?;
        let entry = facts.get(place)?.rotten?;
        Some(Weighed { ratio: row.odds_multiplier, why: Why::Opposite { slot: place, entry } })
    });
    [rotten, sound, opposite].into_iter().flatten().collect()
}

/// A multiplier that acts `times` times, up to its cap; without one, as far as any single ratio may go.
fn several(row: &Modifier, times: usize) -> f64 {
    let product = (0..times).fold(1.0, |product, _| product * row.odds_multiplier);
    product.clamp(0.001, row.cap.unwrap_or(1_000.0))
}

/// The chance that a zone needs metal. Of what is known it is 0.98 or 0.02: nothing is certain.
pub(super) fn chance(slot: &Slot<'_>, fact: &Facts<'_>, weighed: &[Weighed<'_>]) -> Result<Chance, OutlookError> {
    let all_at = |p: f64| Chance { low: p, likely: p, high: p };
    match fact.known {
        Known::NeedsMetal => Ok(all_at(0.98)),
        Known::FoundSound | Known::MadeGood => Ok(all_at(0.02)),
        Known::NotKnown => {
            let ratios: Vec<f64> = weighed.iter().map(|weighed| weighed.ratio).collect();
            chance_of(slot.zone.base_p, &ratios)
                .map_err(|why| OutlookError::Odds { zone: slot.instance.id.clone(), why })
        }
    }
}

/// Why a zone is thought of as it is, as a panel beater would say it.
pub(super) fn reasons(shell: &Shell<'_>, facts: &[Facts<'_>], place: usize, weighed: &[Weighed<'_>]) -> Vec<Reason> {
    let (Some(slot), Some(fact)) = (shell.slots.get(place), facts.get(place)) else { return Vec::new() };
    let by = fact.known_by.map_or_else(String::new, |entry| format!(" (entry {entry})"));
    let known = match fact.known {
        Known::NeedsMetal => format!("seen: {}{by}", fact.found.words()),
        Known::FoundSound => format!("opened and found sound{by}"),
        Known::MadeGood => format!("made good{by}"),
        Known::NotKnown => {
            let whose =
                if shell.catalogue.is_shops_own("zones.csv") { "the shop's own figure" } else { "starting guess" };
            let base = format!("{whose} for a 50-year-old shell on salted roads: {}", tenths(slot.zone.base_p));
            let base = Reason { say: base, ratio: 1.0, entry: None };
            return std::iter::once(base).chain(weighed.iter().map(|weighed| reason(shell, weighed))).collect();
        }
    };
    vec![Reason { say: known, ratio: 1.0, entry: fact.known_by }]
}

fn reason(shell: &Shell<'_>, weighed: &Weighed<'_>) -> Reason {
    let name = |place: usize| shell.slots.get(place).map(|slot| slot.instance.name()).unwrap_or_default();
    let x = times(weighed.ratio);
    let (say, entry) = match &weighed.why {
        Why::Told(say) => (say.clone(), None),
        Why::Said(said) => (say_clue(said), Some(said.entry)),
        Why::Looked { how, clear, entry } => {
            let seen = if *clear { "clear" } else { "pitted" };
            (format!("{}: {seen} (entry {entry}): {x}", lower(how.words())), Some(*entry))
        }
        Why::OpenedPitted { entry } => (format!("opened: pitted (entry {entry}): {x}"), Some(*entry)),
        Why::NextTo { rotten, slots, entry } => {
            let names: Vec<String> = slots.iter().map(|place| name(*place)).collect();
            let found = if *rotten { "rotten next to it" } else { "opened and sound next to it" };
            (format!("{found}: {} (entry {entry}): {x}", names.join("; ")), Some(*entry))
        }
        Why::Opposite { slot, entry } => {
            (format!("rotten opposite: {} (entry {entry}): {x}", name(*slot)), Some(*entry))
        }
    };
    Reason { say, ratio: weighed.ratio, entry }
}

/// "blisters along the lower seam of the sill (seen, entry 14): x3.3".
pub(super) fn say_clue(said: &Said<'_>) -> String {
    let seen = if said.there { "seen" } else { "looked for, not there" };
    format!("{} ({seen}, entry {}): {}", said.clue.clue, said.entry, times(said.ratio()))
}
