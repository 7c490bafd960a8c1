//! Where to look next: the hours that a look may save, less the hours it takes.

use std::collections::BTreeMap;

use forecast::look::{Looks, Reach, Stake};

use super::evidence::Facts;
use super::hidden::{Hidden, Told};
use super::odds;
use super::shell::{Shell, Slot};
use super::words::lower;
use super::{Known, OutlookError};
use crate::body::{Instance, Side};
use crate::catalogue::{Sides, Spread, WayIn, WayOfLooking};
use crate::question::Hours;
use crate::what::How;

/// What a bad place left closed costs beside putting it right now: every wrong order is paid for twice. Common
/// practice, no source.
const COMEBACK: f64 = 2.0;
/// What opening a sound place costs beside opening it: it has to be closed again. Common practice, no source.
const CLOSED_AGAIN: f64 = 2.0;
/// Among how many of the best looks the best pair is sought.
const PAIRED: usize = 3;
/// The most zones that one look is valued by, those with the most hours at stake; the work doubles with each.
const VALUED: usize = 5;
/// The same for each look of a pair.
const VALUED_IN_PAIR: usize = 4;

/// A look that could be taken next.
#[derive(Debug, Clone, PartialEq)]
pub struct NextLook {
    /// What it is called in links: a way in or a way of looking, and where.
    pub key: String,
    /// In words: "scope into the sill through its drain slots, left".
    pub say: String,
    /// How.
    pub how: How,
    /// The zones it tells about, those that are still not known first in the order of their hours at stake.
    pub reaches: Vec<&'static Instance>,
    /// Hours for it.
    pub hours: Spread,
    /// Hours of work, to open and to repair, that hang on the zones it reaches.
    pub stake_h: f64,
    /// Hours it is expected to save, its own not yet taken off; over the whole shell.
    pub gain_h: f64,
    /// What is left of the gain after its own likely hours; not above 0 when it is not worth them now.
    pub worth_h: f64,
}

/// The two looks that are worth most taken together, by their places among all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// One.
    pub first: usize,
    /// The other.
    pub second: usize,
    /// Hours both together are expected to save; of many zones only those with the most at stake are counted, so it is at
    /// least this.
    pub gain_h: f64,
    /// What is left after the likely hours of both.
    pub worth_h: f64,
}

/// A look before it is valued.
struct Offer<'a> {
    key: String,
    say: String,
    way: &'a WayOfLooking,
    hours: Spread,
    /// Slots it reaches that are still not known and that it would tell more of than is known.
    slots: Vec<usize>,
}

/// Every look that would tell something, the most worth first, and the best pair of them.
pub(super) fn looks(
    shell: &Shell<'_>,
    facts: &[Facts<'_>],
    hidden: &mut Hidden,
    told: &Told<'_>,
    decided: &BTreeMap<String, Hours>,
) -> Result<(Vec<NextLook>, Option<Pair>), OutlookError> {
    let stakes = stakes(shell, facts, decided);
    let offers = offers(shell, facts);
    let reaches: Vec<Vec<Reach>> = offers.iter().map(|offer| reach(shell, facts, offer)).collect();
    let (engine, room) = hidden.engine();
    let valued = Looks::new(engine, &told.seen, &stakes, room)?;
    let gains = valued.gains(&reaches)?;
    let mut looks: Vec<(NextLook, Vec<Reach>)> = offers
        .into_iter()
        .zip(gains)
        .zip(reaches)
        .map(|((offer, gain_h), reach)| (next_look(shell, facts, offer, gain_h), reach))
        .collect();
    looks.sort_by(|a, b| b.0.worth_h.total_cmp(&a.0.worth_h));
    let pair = best_pair(&looks, &valued)?;
    Ok((looks.into_iter().map(|(look, _)| look).collect(), pair))
}

/// A look and where it tells something.
pub(super) struct One {
    pub(super) look: NextLook,
    /// The slots it reaches, those with the most hours at stake first.
    pub(super) slots: Vec<usize>,
}

/// The look of this key with its value; `None` where no look of that key would tell anything.
pub(super) fn one(
    shell: &Shell<'_>,
    facts: &[Facts<'_>],
    hidden: &mut Hidden,
    told: &Told<'_>,
    decided: &BTreeMap<String, Hours>,
    key: &str,
) -> Result<Option<One>, OutlookError> {
    let Some(offer) = offers(shell, facts).into_iter().find(|offer| offer.key == key) else { return Ok(None) };
    let stakes = stakes(shell, facts, decided);
    let reach = reach(shell, facts, &offer);
    let slots = offer.slots.clone();
    let (engine, room) = hidden.engine();
    let gain_h = Looks::new(engine, &told.seen, &stakes, room)?.gains(&[reach])?.into_iter().sum();
    Ok(Some(One { look: next_look(shell, facts, offer, gain_h), slots }))
}

/// What hangs on each slot; nothing where nothing is left to plan, since it was made good or the owner has decided.
fn stakes(shell: &Shell<'_>, facts: &[Facts<'_>], decided: &BTreeMap<String, Hours>) -> Vec<Stake> {
    let of = |(slot, fact): (&Slot<'_>, &Facts<'_>)| {
        let settled = fact.known == Known::MadeGood || decided.contains_key(&slot.instance.id);
        if settled { Stake { planned_bad_h: 0.0, planned_sound_h: 0.0, left_bad_h: 0.0 } } else { stake(slot, fact) }
    };
    shell.slots.iter().zip(facts).map(of).collect()
}

fn stake(slot: &Slot<'_>, fact: &Facts<'_>) -> Stake {
    let hours_h = slot.hours_if_bad(fact);
    Stake {
        planned_bad_h: hours_h,
        planned_sound_h: slot.hours_to_open(fact) * CLOSED_AGAIN,
        left_bad_h: hours_h * COMEBACK,
    }
}

/// Whether a look of this kind would tell more of a slot than is known.
fn tells_more(shell: &Shell<'_>, fact: &Facts<'_>, way: &WayOfLooking) -> bool {
    let done = fact.looked.keys().filter_map(|how| shell.catalogue.look(*how)).map(|way| way.ratio_clear);
    fact.known == Known::NotKnown && !fact.opened && way.ratio_clear < done.fold(1.0, f64::min)
}

fn offers<'a>(shell: &Shell<'a>, facts: &[Facts<'_>]) -> Vec<Offer<'a>> {
    let mut offers = Vec::new();
    for way_in in shell.catalogue.ways_in() {
        let Some(way) = shell.catalogue.look(way_in.how).filter(|way| shell.has(way.how.needs())) else { continue };
        for (side, slots) in sides(shell, way_in) {
            let mut slots: Vec<usize> = slots
                .into_iter()
                .filter(|slot| facts.get(*slot).is_some_and(|fact| tells_more(shell, fact, way)))
                .collect();
            slots.sort_by(|a, b| stake_h(shell, facts, *b).total_cmp(&stake_h(shell, facts, *a)));
            let (key, say) = match side {
                None => (way_in.id.clone(), way_in.act.clone()),
                Some(side) => (format!("{}.{}", way_in.id, side), format!("{}, {side}", way_in.act)),
            };
            offers.push(Offer { key, say, way, hours: way_in.hours, slots });
        }
    }
    for (place, (slot, fact)) in shell.slots.iter().zip(facts).enumerate() {
        let ways = shell.catalogue.looks().filter(|way| way.suits(&slot.zone.id) && shell.has(way.how.needs()));
        for way in ways.filter(|way| tells_more(shell, fact, way)) {
            offers.push(Offer {
                key: format!("{}.{}", way.how.key(), slot.instance.id),
                say: format!("{}: {}", lower(way.how.words()), slot.instance.name()),
                way,
                hours: way.hours,
                slots: vec![place],
            });
        }
    }
    offers.retain(|offer| !offer.slots.is_empty());
    offers
}

/// The slots that one go of a way in reaches, for each side on which it is done.
fn sides(shell: &Shell<'_>, way_in: &WayIn) -> Vec<(Option<&'static str>, Vec<usize>)> {
    let slots = || way_in.zones.iter().flat_map(|zone| shell.of_zone(zone));
    let on = |side: Side| {
        slots().filter(|(_, slot)| [side, Side::Centre].contains(&slot.instance.side)).map(|(place, _)| place).collect()
    };
    match way_in.sides {
        Sides::Once => vec![(None, slots().map(|(place, _)| place).collect())],
        Sides::Each => vec![(Some("left"), on(Side::Left)), (Some("right"), on(Side::Right))],
    }
}

fn reach(shell: &Shell<'_>, facts: &[Facts<'_>], offer: &Offer<'_>) -> Vec<Reach> {
    let of = |place: &usize| {
        // What looks at it have said so far.
        let now = facts.get(*place).map_or(1.0, |fact| odds::looked_so_far(shell, fact));
        Reach { place: *place, answers: answers(offer.way, now) }
    };
    offer.slots.iter().take(VALUED).map(of).collect()
}

/// How often each answer is given, sound and bad, where earlier looks have moved the odds by `now` already: all looks at
/// one place are one fact, of which the strongest counts.
fn answers(way: &WayOfLooking, now: f64) -> Vec<(f64, f64)> {
    let further =
        |ratio: f64| if forecast::odds::strength(ratio) > forecast::odds::strength(now) { ratio / now } else { 1.0 };
    let (clear, pitted) = (1.0 - way.sound_pitted, way.sound_pitted);
    let if_bad = (clear * further(way.ratio_clear), pitted * further(way.ratio_pitted));
    // What "clear" does to the odds is what the record will make of it; pits can be seen in no more than the rest.
    let if_bad = (if_bad.0, if_bad.1.min(1.0 - if_bad.0));
    vec![(clear, if_bad.0), (pitted, if_bad.1), (0.0, (1.0 - if_bad.0 - if_bad.1).max(0.0))]
}

/// Hours to open a slot and to repair it, should it be bad.
fn stake_h(shell: &Shell<'_>, facts: &[Facts<'_>], slot: usize) -> f64 {
    match (shell.slots.get(slot), facts.get(slot)) {
        (Some(slot), Some(fact)) => slot.hours_if_bad(fact),
        _ => 0.0,
    }
}

fn next_look(shell: &Shell<'_>, facts: &[Facts<'_>], offer: Offer<'_>, gain_h: f64) -> NextLook {
    let slots = offer.slots;
    NextLook {
        key: offer.key,
        say: offer.say,
        how: offer.way.how,
        stake_h: slots.iter().map(|slot| stake_h(shell, facts, *slot)).sum(),
        reaches: slots.iter().filter_map(|slot| Some(shell.slots.get(*slot)?.instance)).collect(),
        worth_h: gain_h - offer.hours.likely,
        hours: offer.hours,
        gain_h,
    }
}

/// The best pair among the best looks that do not tell about the same places. Pairs, and the best look alone that they
/// are measured against, are valued by the zones with the most hours at stake.
fn best_pair(looks: &[(NextLook, Vec<Reach>)], valued: &Looks<'_>) -> Result<Option<Pair>, OutlookError> {
    let mut best: Vec<(usize, &[Reach])> = Vec::new();
    for (at, (_, reach)) in looks.iter().enumerate() {
        let reach = reach.get(..VALUED_IN_PAIR).unwrap_or(reach);
        let apart = |other: &[Reach]| reach.iter().all(|a| other.iter().all(|b| a.place != b.place));
        if best.len() < PAIRED && best.iter().all(|(_, other)| apart(other)) {
            best.push((at, reach));
        }
    }
    let alone: Vec<Vec<Reach>> = best.iter().map(|(_, reach)| reach.to_vec()).collect();
    let pairs: Vec<((usize, usize), Vec<Reach>)> = best
        .iter()
        .enumerate()
        .flat_map(|(n, a)| best.iter().skip(n + 1).map(move |b| ((a.0, b.0), [a.1, b.1].concat())))
        .collect();
    let together: Vec<Vec<Reach>> = pairs.iter().map(|(_, reach)| reach.clone()).collect();
    let hours = |at: usize| looks.get(at).map_or(0.0, |(look, _)| look.hours.likely);
    let single = valued.gains(&alone)?.into_iter().zip(&best).map(|(gain_h, (at, _))| gain_h - hours(*at));
    let single = single.fold(0.0, f64::max);
    let pair = |(((first, second), _), gain_h): (((usize, usize), Vec<Reach>), f64)| {
        let worth_h = gain_h - hours(first) - hours(second);
        Pair { first, second, gain_h, worth_h }
    };
    let pairs = pairs.into_iter().zip(valued.gains(&together)?).map(pair);
    let best = pairs.reduce(|best, p| if p.worth_h > best.worth_h { p } else { best });
    Ok(best.filter(|pair| pair.worth_h > single))
}
