//! The hours of a whole shell as a range.

use std::collections::BTreeMap;

use schedule::range::{self as engine, SAMPLES};
use schedule::{Correlation, Correlations, Item, Outcome, Spread, Way};

use super::shell::spread;
use super::{Known, Outlook, OutlookError, ZoneOutlook};
use crate::car::Car;
use crate::catalogue::{Catalogue, Zone};
use crate::question::Hours;
use crate::what::What;

/// How far findings go together, 0 to 1: a shell worse than thought in one place is likely worse in others.
/// Common practice, no source.
pub const FINDINGS_TOGETHER: f64 = 0.3;
/// How far hours go together, 0 to 1: the same rust, the same hands. Common practice, no source.
pub const HOURS_TOGETHER: f64 = 0.5;

/// The metal hours of a shell as a range. Money is multiplied elsewhere.
#[derive(Debug, Clone, PartialEq)]
pub struct Range {
    /// Hours that one in ten, half, eight in ten and nineteen in twenty such shells stay below.
    pub outcome: Outcome,
    /// The part of each zone that has one, in the order of the body.
    pub by_zone: Vec<ZoneShare>,
    /// Mean hours of what is known to be needed or was decided.
    pub known_h: f64,
    /// Mean hours of what is only a chance.
    pub guessed_h: f64,
    /// How it was worked out and what is not in it, a sentence each.
    pub notes: Vec<String>,
}

/// What one zone adds to the range.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneShare {
    /// The zone instance.
    pub zone: String,
    /// Its mean hours, chance included.
    pub mean_h: f64,
    /// The share of the range's width that is owed to it; all shares sum to 1.
    pub share: f64,
}

/// The metal hours still to be done, as a range over the whole shell.
///
/// What is known to need metal counts in full and what is not known by its chance; each is patched, given a
/// section or a full panel in the catalogue's shares. A zone for which the owner has decided has the hours of
/// the option chosen. The same car gives the same range: the seed is its identifier. Fails only where the
/// catalogue or the record holds a figure that the checks on entry refuse.
pub fn range(car: &Car, catalogue: &Catalogue, outlook: &Outlook) -> Result<Range, OutlookError> {
    let decided = decided(car);
    let mut items = Vec::new();
    let mut by_zone = Vec::new();
    let (mut known_h, mut guessed_h) = (0.0, 0.0);
    for zone in &outlook.zones {
        let Some(item) = item(zone, decided.get(&zone.instance.id), catalogue)? else { continue };
        let mean_h = engine::mean(std::slice::from_ref(&item));
        *if item.chance() == 1.0 { &mut known_h } else { &mut guessed_h } += mean_h;
        by_zone.push(ZoneShare { zone: zone.instance.id.clone(), mean_h, share: 0.0 });
        items.push(item);
    }
    let outcome = if items.is_empty() {
        Outcome { mean: 0.0, sd: 0.0, p10: 0.0, p50: 0.0, p80: 0.0, p95: 0.0 }
    } else {
        let together =
            Correlations { finding: Correlation::new(FINDINGS_TOGETHER)?, hours: Correlation::new(HOURS_TOGETHER)? };
        let ranged = engine::range(&items, together, SAMPLES, seed(car))?;
        for (zone, share) in by_zone.iter_mut().zip(ranged.share) {
            zone.share = share;
        }
        ranged.outcome
    };
    Ok(Range { outcome, by_zone, known_h, guessed_h, notes: notes(outlook) })
}

/// A zone's hours as the engine adds them; `None` where nothing is left to do.
fn item(zone: &ZoneOutlook, decided: Option<&Hours>, catalogue: &Catalogue) -> Result<Option<Item>, OutlookError> {
    let id = &zone.instance.id;
    let chance = match (zone.known, decided) {
        (Known::MadeGood, _) => return Ok(None),
        (_, Some(hours)) if hours.high == 0.0 => return Ok(None),
        (_, Some(hours)) => {
            let hours = Spread::new(hours.low, hours.likely, hours.high)
                .map_err(|why| OutlookError::Hours { zone: id.clone(), why })?;
            return Ok(Some(Item::new(1.0, vec![Way::new(1.0, vec![hours])?])?));
        }
        (Known::FoundSound, None) => return Ok(None),
        (Known::NeedsMetal, None) => 1.0,
        (Known::NotKnown, None) => zone.chance.likely,
    };
    let Some(known) = catalogue.zone(&zone.instance.zone) else { return Ok(None) };
    Ok(Some(Item::new(chance, ways(zone, known, catalogue)?)?))
}

/// Patch, section and full panel, the mildest first, each with the opening where it is still to come.
fn ways(outlook: &ZoneOutlook, zone: &Zone, catalogue: &Catalogue) -> Result<Vec<Way>, OutlookError> {
    let shares = catalogue.repair(outlook.found).map(|mix| mix.shares()).unwrap_or_default();
    let repairs = [zone.hours.patch, zone.hours.section, zone.hours.full];
    let opening = if outlook.opened { None } else { Some(spread(&zone.id, zone.hours.open)?) };
    let mut ways = Vec::new();
    for (share, hours) in shares.into_iter().zip(repairs).filter(|(share, _)| *share > 0.0) {
        let parts = opening.into_iter().chain([spread(&zone.id, hours)?]).collect();
        ways.push(Way::new(share, parts)?);
    }
    Ok(ways)
}

/// What the owner decided, by zone instance.
pub(super) fn decided(car: &Car) -> BTreeMap<String, Hours> {
    if !car.entries().iter().any(|entry| matches!(entry.what, What::Answered(_))) {
        return BTreeMap::new();
    }
    let answers = car.entries().iter().filter_map(|entry| match &entry.what {
        What::Answered(answer) => Some(&answer.shown.question.zones),
        _ => None,
    });
    let zones: std::collections::BTreeSet<&String> = answers.flatten().collect();
    zones.into_iter().filter_map(|zone| Some((zone.clone(), car.decided(zone)?))).collect()
}

/// The same car draws the same numbers.
fn seed(car: &Car) -> u64 {
    let (high, low) = car.id.0.as_u64_pair();
    high ^ low
}

fn notes(outlook: &Outlook) -> Vec<String> {
    let mut notes = vec![
        format!(
            "Nothing is taken to be independent: findings go together at {FINDINGS_TOGETHER} and hours at {HOURS_TOGETHER} of 1."
        ),
        "It is what is still to be done: what was made good is out of it, and hours already worked are not kept."
            .into(),
        "Metal only: paint, trim and assembly are not in it.".into(),
        "Hours saved by opening neighbours together are not taken off.".into(),
    ];
    if !outlook.unlisted.is_empty() {
        let names: Vec<String> = outlook.unlisted.iter().map(|instance| instance.name()).collect();
        notes.push(format!("Not in the shop's catalogue, so not in it: {}.", names.join("; ")));
    }
    notes
}
