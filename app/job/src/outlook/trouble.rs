//! Troubles besides rust: earlier impacts and bad repairs, each with a low chance of its own.

use std::collections::BTreeMap;

use forecast::odds::strength;
use forecast::shell::{Cause, Fact, Lean, MOST_FACTOR, Place, Seen, Shell as Woven};

use super::circumstances::acting;
use super::evidence::{Facts, Said};
use super::odds::{one_of_each_group, say_clue};
use super::shell::{Shell, Slot};
use super::words::{tenths, times};
use super::{Chance, Likelihood, OutlookError, Reason};
use crate::body::{Instance, Side};
use crate::catalogue::{Clue, ConditionKind};

/// An impact or a bad repair of which a sign was seen, or that signs elsewhere make likelier. It does not move the
/// chance of rust.
#[derive(Debug, Clone, PartialEq)]
pub struct Trouble {
    /// Where.
    pub instance: &'static Instance,
    /// What kind.
    pub condition: ConditionKind,
    /// The trouble in words, such as "front leg bent".
    pub say: String,
    /// The chance of it.
    pub chance: Chance,
    /// The chance in words.
    pub likelihood: Likelihood,
    /// Whether a sign was seen at this very place.
    pub seen: bool,
    /// Why, the chance before looking first.
    pub reasons: Vec<Reason>,
}

/// Signs elsewhere must move the odds of a trouble by this factor before it is told.
const TOLD_FROM: f64 = 1.5;
/// A sign that moves the odds by less than this is not told as a reason.
const LEAST: f64 = 1.05;

/// How often a corner of a car of this age has been hit. Common practice, no source.
const CORNER_HIT: f64 = 0.15;
/// Of two sides, one has been worked on more.
const HALF: f64 = 0.5;

/// One kind of trouble at one slot.
struct Spot<'a> {
    slot: usize,
    /// The row whose chance before looking counts.
    row: &'a Clue,
    /// The answers that count.
    said: Vec<Said<'a>>,
}

/// The troubles of a shell, in the order of its zones.
///
/// Impacts at one corner of the car go together, and so do bad repairs on one side, by the catalogue's factors for a hit
/// at the same corner and for an earlier patch next door.
pub(super) fn find(shell: &Shell<'_>, facts: &[Facts<'_>]) -> Result<Vec<Trouble>, OutlookError> {
    let spots = spots(shell, facts);
    if spots.iter().all(|spot| spot.said.is_empty()) {
        return Ok(Vec::new());
    }
    let (causes, places) = woven(shell, &spots);
    let engine = Woven::new(&causes, &places, 1.0)?;
    let mut room = engine.room();
    let mut by_sign: BTreeMap<(&str, u64), Vec<(usize, &Said<'_>)>> = BTreeMap::new();
    for (at, spot) in spots.iter().enumerate() {
        for said in &spot.said {
            by_sign.entry((&said.clue.evidence_group, said.entry)).or_default().push((at, said));
        }
    }
    let signs: Vec<Vec<(usize, &Said<'_>)>> = by_sign.into_values().collect();
    let fact =
        |sign: &Vec<(usize, &Said<'_>)>| Fact { bears_on: sign.iter().map(|(at, said)| (*at, said.ratio())).collect() };
    let seen = Seen { known: Vec::new(), facts: signs.iter().map(fact).collect() };
    let chances = engine.chances(&seen, &mut room)?;
    let without = engine.without_each(&seen, &mut room)?;
    let mut found = Vec::new();
    for (at, (spot, (p, place))) in spots.iter().zip(chances.iter().zip(&places)).enumerate() {
        let odds = |p: f64| p / (1.0 - p);
        let own = spot.said.iter().any(|said| said.there);
        if !own && odds(*p) / odds(place.chance) < TOLD_FROM {
            continue;
        }
        let Some(slot) = shell.slots.get(spot.slot) else { continue };
        let chance = Chance::around(*p);
        let prior = spot.row.prior_p.unwrap_or_default();
        let mut reasons =
            vec![Reason { say: format!("before anybody looked: {}", tenths(prior)), ratio: 1.0, entry: None }];
        reasons.extend(told(shell, spot.row).into_iter().map(|(say, ratio)| Reason { say, ratio, entry: None }));
        for (sign, without) in signs.iter().zip(&without) {
            let ratio = odds(*p) / odds(without.get(at).copied().unwrap_or(*p));
            if let Some((_, said)) = sign.iter().find(|(of, _)| *of == at).or(sign.first())
                && strength(ratio) >= LEAST
            {
                reasons.push(Reason {
                    say: format!("{}: {}", say_clue(said), times(ratio)),
                    ratio,
                    entry: Some(said.entry),
                });
            }
        }
        let (condition, say) = (spot.row.condition, spot.row.hidden_condition.clone());
        let likelihood = Likelihood::of(&chance);
        found.push(Trouble { instance: slot.instance, condition, say, chance, likelihood, seen: own, reasons });
    }
    Ok(found)
}

/// Every trouble that the catalogue knows of a slot of this shell.
fn spots<'a>(shell: &Shell<'a>, facts: &[Facts<'a>]) -> Vec<Spot<'a>> {
    let mut spots: Vec<Spot<'a>> = Vec::new();
    for (place, (slot, fact)) in shell.slots.iter().zip(facts).enumerate() {
        let rows = shell.catalogue.clues().filter(|clue| clue.prior_p.is_some() && clue.target_zone == slot.zone.id);
        for row in rows {
            let mut here = spots.iter().rev().take_while(|spot| spot.slot == place);
            if here.any(|spot| spot.row.condition == row.condition) {
                continue;
            }
            let kind = |said: &&Said<'a>| said.clue.prior_p.is_some() && said.clue.condition == row.condition;
            let said: Vec<Said<'a>> = fact.said.iter().filter(kind).copied().collect();
            let seen = said.iter().filter(|said| said.there);
            let strongest = seen.reduce(|best, one| if one.ratio() > best.ratio() { one } else { best });
            let row = strongest.map_or(row, |said| said.clue);
            spots.push(Spot { slot: place, row, said: one_of_each_group(&said) });
        }
    }
    spots
}

/// What the car's life does to a trouble. Rows held to named zones speak of rust there, so only those of the whole profile
/// act here.
fn told(shell: &Shell<'_>, row: &Clue) -> Vec<(String, f64)> {
    let factors = shell.circumstances.factors(&acting(shell.catalogue, "", &row.profile));
    factors.into_iter().map(|factor| (factor.say, factor.ratio)).collect()
}

fn woven(shell: &Shell<'_>, spots: &[Spot<'_>]) -> (Vec<Cause>, Vec<Place>) {
    let mut causes = Vec::new();
    let mut corners: BTreeMap<(bool, &str, Side), usize> = BTreeMap::new();
    let places = spots
        .iter()
        .map(|spot| {
            let prior = spot.row.prior_p.unwrap_or_default();
            let odds = prior / (1.0 - prior) * told(shell, spot.row).iter().map(|(_, ratio)| ratio).product::<f64>();
            let end = forecast::shell::CHANCE_END;
            let chance = (odds / (1.0 + odds)).clamp(end, 1.0 - end);
            let mut leans = Vec::new();
            let impact = spot.row.condition == ConditionKind::Impact;
            let row = if impact { "known_hit_same_corner" } else { "earlier_lap_patch_next_zone" };
            let factor = acting(shell.catalogue, "", &spot.row.profile).into_iter().find(|m| m.factor == row);
            if let (Some(factor), Some(slot)) = (factor, shell.slots.get(spot.slot)) {
                let end = if impact { end_of(shell, slot) } else { "" };
                let on = *corners.entry((impact, end, slot.instance.side)).or_insert_with(|| {
                    causes.push(Cause { wider: None, follows: 0.0, on: if impact { CORNER_HIT } else { HALF } });
                    causes.len() - 1
                });
                leans.push(Lean { on, factor: factor.odds_multiplier.clamp(1.0, MOST_FACTOR) });
            }
            Place { chance, leans }
        })
        .collect();
    (causes, places)
}

/// The end of the car at which a slot lies: that of its own part of the shell, else that of most of its neighbours.
fn end_of(shell: &Shell<'_>, slot: &Slot<'_>) -> &'static str {
    let of = |group: &str| match group {
        "front structure" => Some("front"),
        "rear structure" => Some("rear"),
        _ => None,
    };
    let around = slot.zone.neighbours.iter().filter_map(|id| of(&shell.catalogue.zone(id)?.group));
    let (front, rear) = around.fold((0, 0), |(f, r), end| if end == "front" { (f + 1, r) } else { (f, r + 1) });
    of(&slot.zone.group).unwrap_or(if front >= rear { "front" } else { "rear" })
}
