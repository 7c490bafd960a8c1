//! Why a zone is thought of as it is, as a panel beater would say it.

use forecast::odds::strength;

use super::evidence::Facts;
use super::hidden::{Piece, Told};
use super::odds::{Weighed, Why, say_clue};
use super::shell::{Shell, Slot};
use super::words::{lower, tenths, times};
use super::{Known, Reason};

/// What moves the odds by less than this is not told.
const LEAST: f64 = 1.05;
/// The most pieces of evidence told of one zone.
const MOST_TOLD: usize = 10;

/// What the chances were without each piece of evidence, beside what they are.
pub(super) struct Moved<'a> {
    pub(super) told: &'a Told<'a>,
    pub(super) chances: &'a [f64],
    pub(super) without: &'a [Vec<f64>],
}

/// The base rate, then what the car's life does, then what was seen, the strongest first. Each piece has the factor
/// by which the odds would fall back if just that piece had not been seen.
pub(super) fn reasons(shell: &Shell<'_>, facts: &[Facts<'_>], place: usize, moved: &Moved<'_>) -> Vec<Reason> {
    let (Some(slot), Some(fact)) = (shell.slots.get(place), facts.get(place)) else { return Vec::new() };
    let by = fact.known_by.map_or_else(String::new, |entry| format!(" (entry {entry})"));
    let known = match fact.known {
        Known::NeedsMetal => format!("seen: {}{by}", fact.found.words()),
        Known::FoundSound => format!("opened and found sound{by}"),
        Known::MadeGood => format!("made good{by}"),
        Known::NotKnown => {
            let mut reasons = vec![Reason { say: base(shell, slot), ratio: 1.0, entry: None }];
            reasons.extend(slot.factors.iter().map(|f| Reason { say: f.say.clone(), ratio: f.ratio, entry: None }));
            reasons.extend(seen(shell, place, moved));
            return reasons;
        }
    };
    vec![Reason { say: known, ratio: 1.0, entry: fact.known_by }]
}

fn base(shell: &Shell<'_>, slot: &Slot<'_>) -> String {
    let whose = if shell.catalogue.is_shops_own("zones.csv") { "the shop's own figure" } else { "starting guess" };
    format!("{whose} for a 50-year-old shell on salted roads: {}", tenths(slot.zone.base_p))
}

fn seen(shell: &Shell<'_>, place: usize, moved: &Moved<'_>) -> Vec<Reason> {
    let odds = |chances: &[f64]| chances.get(place).map_or(1.0, |p| p / (1.0 - p));
    let now = odds(moved.chances);
    let mut reasons: Vec<Reason> = moved
        .told
        .pieces
        .iter()
        .zip(moved.without)
        .map(|(piece, without)| (piece, now / odds(without)))
        .filter(|(_, ratio)| ratio.is_finite() && strength(*ratio) >= LEAST)
        .map(|(piece, ratio)| reason(shell, place, piece, ratio))
        .collect();
    reasons.sort_by(|a, b| strength(b.ratio).total_cmp(&strength(a.ratio)));
    reasons.truncate(MOST_TOLD);
    reasons
}

fn reason(shell: &Shell<'_>, place: usize, piece: &Piece<'_>, ratio: f64) -> Reason {
    let name = |slot: usize| shell.slots.get(slot).map(|slot| slot.instance.name()).unwrap_or_default();
    let (say, entry) = match piece {
        Piece::Known { slot, bad, entry } => {
            let found = if *bad { "rotten" } else { "opened and sound" };
            let here = shell.slots.get(place);
            let where_ = if here.is_some_and(|here| here.opposite == Some(*slot)) {
                "opposite"
            } else if here.is_some_and(|here| here.neighbours.iter().flatten().any(|next| next == slot)) {
                "next to it"
            } else {
                "elsewhere on this shell"
            };
            (format!("{found} {where_}: {} (entry {entry})", name(*slot)), Some(*entry))
        }
        Piece::Fact(bears_on) => {
            let own = bears_on.iter().find(|(slot, _)| *slot == place);
            match (own, bears_on.first()) {
                (Some((_, weighed)), _) => say(weighed),
                (None, Some((slot, weighed))) => {
                    let (say, entry) = say(weighed);
                    (format!("{}: {say}", name(*slot)), entry)
                }
                (None, None) => (String::new(), None),
            }
        }
    };
    Reason { say: format!("{say}: {}", times(ratio)), ratio, entry }
}

/// What was seen, without what it does to the odds.
fn say(weighed: &Weighed<'_>) -> (String, Option<u64>) {
    match &weighed.why {
        Why::Said(said) => (say_clue(said), Some(said.entry)),
        Why::Looked { how, clear, entry } => {
            let seen = if *clear { "clear" } else { "pitted" };
            (format!("{}: {seen} (entry {entry})", lower(how.words())), Some(*entry))
        }
        Why::OpenedPitted { entry } => (format!("opened: pitted (entry {entry})"), Some(*entry)),
    }
}
