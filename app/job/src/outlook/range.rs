//! The hours of a whole shell as a range, and those of the whole job.

use std::collections::BTreeMap;

use schedule::factor::Factor;
use schedule::range::{self as engine, SAMPLES};
use schedule::{Common, Correlation, Findings, Item, Outcome, Part as Piece, Ranged, Shop, Spread, Way};

use super::replayed::Replayed;
use super::shell::spread;
use super::{Known, Outlook, OutlookError, ZoneOutlook};
use crate::car::Car;
use crate::catalogue::{Catalogue, Found, Zone};
use crate::details::{Aim, Rates, Stage};
use crate::question::Hours;
use crate::validate::zone_of;
use crate::what::What;
use crate::worked::Part;

/// How far repairs go together in how much they take, 0 to 1: a shell that is worse than thought in one place needs the
/// fuller repair in others too. Common practice, no source.
pub const SEVERITY_TOGETHER: f64 = 0.3;
/// How far hours go together, 0 to 1: the same rust, the same hands. Common practice, no source.
pub const HOURS_TOGETHER: f64 = 0.5;

/// The metal hours of a shell as a range, and the rest of the job beside them.
#[derive(Debug, Clone, PartialEq)]
pub struct Range {
    /// Metal hours that one in ten, half, eight in ten and nineteen in twenty such shells stay below.
    pub outcome: Outcome,
    /// How the metal hours are drawn: the middle of each bin and the share of draws in it.
    pub density: Vec<(f64, f64)>,
    /// The part of each zone that has one, in the order of the body.
    pub by_zone: Vec<ZoneShare>,
    /// Mean hours of what is known to be needed or was decided.
    pub known_h: f64,
    /// Mean hours of what is only a chance.
    pub guessed_h: f64,
    /// Hours worked so far and put down, on the metal and on the rest.
    pub worked_h: f64,
    /// The agreed hours and how likely the metal is to take more, counting what was worked.
    pub past: Option<Past>,
    /// What is still to be done of the whole job, part by part, each with its range; those of metal among them.
    pub parts: Vec<(Part, Outcome)>,
    /// What is still to be done of the whole job together; the ends of the parts do not add up to it.
    pub whole: Outcome,
    /// What is still to be done of the whole job at the shop's rates, where it has put any down; materials are in it where
    /// they have a rate for each hour.
    pub money: Option<Outcome>,
    /// The shop's own factor on hours, which is in all of them.
    pub pace: Factor,
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

/// Agreed hours, and how likely it is to take more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Past {
    /// The hours agreed for metal.
    pub limit_h: f64,
    /// Hours of metal that were worked and are no longer in what is still to be done.
    pub worked_h: f64,
    /// The chance of more, 0..=1.
    pub chance: f64,
}

/// The metal hours still to be done, as a range over the whole shell, and the rest of the job.
///
/// Which zones are bad is drawn from the same network that gives their chances, so that hidden damage hangs together
/// in the range as it does there; what is known to need metal is there in every draw. Each bad zone is patched, given
/// a section or a full panel in the catalogue's shares. A zone for which the owner has decided has the hours of
/// the option chosen. The same car gives the same range: the seed is its identifier. Fails only where the catalogue
/// or the record holds a figure that the checks on entry refuse.
pub fn range(car: &Car, catalogue: &Catalogue, outlook: &Outlook) -> Result<Range, OutlookError> {
    let findings = Replayed::new(car, catalogue)?.findings(car, SAMPLES, seed(car))?;
    let (metal, mut by_zone) = metal(car, catalogue, &outlook.zones)?;
    let common = common(catalogue)?;
    let of_metal = ranged(&metal, &findings, common, seed(car))?;
    let (mut known_h, mut guessed_h) = (0.0, 0.0);
    if let Some(of_metal) = &of_metal {
        for ((zone, item), (mean_h, share)) in
            by_zone.iter_mut().zip(&metal).zip(of_metal.means.iter().zip(&of_metal.share))
        {
            (zone.mean_h, zone.share) = (*mean_h, *share);
            *if item.chance() == 1.0 { &mut known_h } else { &mut guessed_h } += mean_h;
        }
    }
    let all: Vec<Item> = metal.into_iter().chain(rest(car, catalogue)?).collect();
    let of_all = ranged(&all, &findings, common, seed(car))?;
    let worked_h = come_off(car, &outlook.zones, &by_zone);
    let past = car.details.budget_h.map(|limit_h| Past {
        limit_h,
        worked_h,
        chance: match &of_metal {
            Some(metal) => metal.past(limit_h - worked_h),
            // Nothing is left to do, so what was worked is all there is.
            None if worked_h > limit_h => 1.0,
            None => 0.0,
        },
    });
    let parts = of_all.iter().flat_map(|all| Part::ALL.iter().copied().zip(all.stages.iter().copied()));
    Ok(Range {
        outcome: of_metal.as_ref().map_or(NOTHING, |metal| metal.outcome),
        density: of_metal.map_or_else(Vec::new, |metal| metal.density),
        by_zone,
        known_h,
        guessed_h,
        worked_h: car.worked_h(None),
        past,
        parts: parts.filter(|(_, outcome)| outcome.mean > 0.0).collect(),
        whole: of_all.as_ref().map_or(NOTHING, |all| all.outcome),
        money: match (&of_all, &car.details.rates) {
            (Some(all), Some(rates)) => Some(all.money(&rates_of(rates, all.stages.len()))?),
            _ => None,
        },
        pace: *catalogue.pace(),
        notes: notes(outlook, catalogue.pace()),
    })
}

/// Only the metal hours as the record stood then, and those that were worked by then and have come off.
pub(super) fn then(
    shell: &mut Replayed<'_>,
    car: &Car,
    catalogue: &Catalogue,
    samples: usize,
) -> Result<(Outcome, f64), OutlookError> {
    let findings = shell.findings(car, samples, seed(car))?;
    let zones = shell.zones(car)?;
    let (metal, by_zone) = metal(car, catalogue, &zones)?;
    let ranged = ranged(&metal, &findings, common(catalogue)?, seed(car))?;
    Ok((ranged.map_or(NOTHING, |metal| metal.outcome), come_off(car, &zones, &by_zone)))
}

/// Hours of metal that were put down and are no longer in what is still to be done. A zone that is open has its opening
/// behind it; until it is made good its repair counts in full, so hours put down for that do not come off yet. Hours that
/// name no zone come off at once.
fn come_off(car: &Car, zones: &[ZoneOutlook], left: &[ZoneShare]) -> f64 {
    let mut hours_h = 0.0;
    for (zone, parts) in car.worked_by_zone() {
        let hours = |part: Part| parts.get(&part).copied().unwrap_or_default();
        let is_left = zone.is_some_and(|zone| left.iter().any(|share| share.zone == zone));
        let opened = zone.is_none_or(|id| zones.iter().any(|zone| zone.instance.id == id && zone.opened));
        hours_h += if opened || !is_left { hours(Part::Opening) } else { 0.0 };
        hours_h += if is_left { 0.0 } else { hours(Part::Metal) };
    }
    hours_h
}

fn common(catalogue: &Catalogue) -> Result<Common, OutlookError> {
    let (severity, hours) = (Correlation::new(SEVERITY_TOGETHER)?, Correlation::new(HOURS_TOGETHER)?);
    Ok(Common { severity, hours, shop: catalogue.pace().shop() })
}

/// The metal that is left to do, and the zone of each item; the column of a zone that is not known is its place.
fn metal(car: &Car, catalogue: &Catalogue, zones: &[ZoneOutlook]) -> Result<(Vec<Item>, Vec<ZoneShare>), OutlookError> {
    let decided = decided(car);
    let mut metal = Vec::new();
    let mut by_zone = Vec::new();
    for (column, zone) in zones.iter().enumerate() {
        let Some(item) = item(column, zone, decided.get(&zone.instance.id), catalogue)? else { continue };
        by_zone.push(ZoneShare { zone: zone.instance.id.clone(), mean_h: 0.0, share: 0.0 });
        metal.push(item);
    }
    Ok((metal, by_zone))
}

const NOTHING: Outcome = Outcome { mean: 0.0, sd: 0.0, p10: 0.0, p50: 0.0, p80: 0.0, p95: 0.0 };

fn ranged(items: &[Item], findings: &Findings, common: Common, seed: u64) -> Result<Option<Ranged>, OutlookError> {
    if items.is_empty() {
        return Ok(None);
    }
    Ok(Some(engine::range(items, findings, common, seed)?))
}

/// What the catalogue foretells for a zone that needs metal and was found like this, without the shop's own factor, with
/// its opening or without; `None` for a zone that it does not know.
pub(crate) fn hours_of_a_zone(
    catalogue: &Catalogue,
    instance: &str,
    found: Found,
    opening: bool,
) -> Result<Option<Outcome>, OutlookError> {
    let Some(zone) = catalogue.zone(zone_of(instance)) else { return Ok(None) };
    let item = Item::always(ways(found, !opening, zone, catalogue)?)?;
    let common = Common { severity: Correlation::NONE, hours: Correlation::NONE, shop: Shop::ONE };
    Ok(Some(engine::range(&[item], &Findings::none(SAMPLES)?, common, 0)?.outcome))
}

/// A zone's hours as the engine adds them; `None` where nothing is left to do.
fn item(
    column: usize,
    zone: &ZoneOutlook,
    decided: Option<&Hours>,
    catalogue: &Catalogue,
) -> Result<Option<Item>, OutlookError> {
    let id = &zone.instance.id;
    match (zone.known, decided) {
        (Known::MadeGood, _) => return Ok(None),
        (_, Some(hours)) if hours.high == 0.0 => return Ok(None),
        (_, Some(hours)) => {
            let hours = Spread::new(hours.low, hours.likely, hours.high)
                .map_err(|why| OutlookError::Hours { zone: id.clone(), why })?;
            let whole = Piece { stage: place_of(Part::Metal), hours };
            return Ok(Some(Item::always(vec![Way::new(1.0, vec![whole])?])?));
        }
        (Known::FoundSound, None) => return Ok(None),
        (Known::NeedsMetal | Known::NotKnown, None) => {}
    }
    let Some(known) = catalogue.zone(&zone.instance.zone) else { return Ok(None) };
    let ways = ways(zone.found, zone.opened, known, catalogue)?;
    Ok(Some(match zone.known {
        Known::NeedsMetal => Item::always(ways)?,
        _ => Item::drawn(column, zone.p, ways)?,
    }))
}

/// Patch, section and full panel, the mildest first, each with the opening where it is still to come.
fn ways(found: Found, opened: bool, zone: &Zone, catalogue: &Catalogue) -> Result<Vec<Way>, OutlookError> {
    let shares = catalogue.repair(found).map(|mix| mix.shares()).unwrap_or_default();
    let repairs = [zone.hours.patch, zone.hours.section, zone.hours.full];
    let piece =
        |part: Part, hours| Ok::<_, OutlookError>(Piece { stage: place_of(part), hours: spread(&zone.id, hours)? });
    let opening = if opened { None } else { Some(piece(Part::Opening, zone.hours.open)?) };
    let mut ways = Vec::new();
    for (share, hours) in shares.into_iter().zip(repairs).filter(|(share, _)| *share > 0.0) {
        let parts = opening.into_iter().chain([piece(Part::Metal, hours)?]).collect();
        ways.push(Way::new(share, parts)?);
    }
    Ok(ways)
}

/// What the job still takes besides the metal: the catalogue's quantities at the shop's rates for each operation, of
/// the parts that are still to come at the car's stage.
fn rest(car: &Car, catalogue: &Catalogue) -> Result<Vec<Item>, OutlookError> {
    let mut items = Vec::new();
    for quantity in catalogue.quantities() {
        let Some(operation) = catalogue.operation(&quantity.op_id) else { continue };
        if car.stage >= over_from(quantity.stage) {
            continue;
        }
        let grade = if matches!(quantity.stage, Part::Fit | Part::Fill) { grade(car.details.aim) } else { 1.0 };
        let (of, rate) = (quantity.quantity, operation.rate_h());
        let hours = Spread::new(of.low * rate.low, grade * of.likely * rate.likely, grade * of.high * rate.high)
            .map_err(|why| OutlookError::Hours { zone: quantity.op_id.clone(), why })?;
        if hours.high() > 0.0 {
            let piece = Piece { stage: place_of(quantity.stage), hours };
            items.push(Item::always(vec![Way::new(1.0, vec![piece])?])?);
        }
    }
    Ok(items)
}

/// The stage of the car from which a part of the job is over.
fn over_from(part: Part) -> Stage {
    match part {
        Part::Opening | Part::Metal | Part::Fit => Stage::Fill,
        Part::Fill => Stage::Coat,
        Part::Coat => Stage::Colour,
        Part::Colour => Stage::Assembly,
        Part::Assembly | Part::Other => Stage::HandOver,
    }
}

/// What the aim does to the hours of fitting and filling: the best grade takes 1.8 times those of a sound driver. Common
/// practice, no source; the grades between are a guess.
fn grade(aim: Aim) -> f64 {
    match aim {
        Aim::SoundDriver => 1.0,
        Aim::FineDriver => 1.3,
        Aim::Show | Aim::FactoryCorrect => 1.8,
    }
}

/// The place of a part among the engine's stages.
fn place_of(part: Part) -> usize {
    Part::ALL.iter().position(|own| *own == part).unwrap_or_default()
}

/// The rate of each part: the painter's for coats and colour, the bench's for all else, and what materials each hour
/// takes.
fn rates_of(rates: &Rates, parts: usize) -> Vec<f64> {
    let rate = |part: &Part| if matches!(part, Part::Coat | Part::Colour) { rates.painter } else { rates.bench };
    Part::ALL.iter().map(|part| rate(part) + rates.materials.unwrap_or_default()).take(parts).collect()
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

fn notes(outlook: &Outlook, pace: &Factor) -> Vec<String> {
    let mut notes = vec![
        "Which zones are bad is drawn from the same network as their chances, so that bad places come together as they do there.".into(),
        format!(
            "Nothing else is taken to be independent: how much a repair takes goes together at {SEVERITY_TOGETHER} and hours at {HOURS_TOGETHER} of 1."
        ),
        match pace.pieces {
            0 => "The shop's own factor on hours is a starting guess: 1, give or take a quarter.".into(),
            pieces => {
                let from = if pieces == 1 { "one finished zone".into() } else { format!("{pieces} finished zones") };
                let (median, low, high) = (pace.median, pace.p10, pace.p90);
                format!("The shop's own factor on hours, from {from}, is {median:.2}, likely {low:.2} to {high:.2}.")
            }
        },
        "It is what is still to be done: what was made good is out of it. Hours put down for a zone come off when it is made good, and for another part of the job when that part is over.".into(),
        "Hours saved by opening neighbours together are not taken off.".into(),
    ];
    if !outlook.unlisted.is_empty() {
        let names: Vec<String> = outlook.unlisted.iter().map(|instance| instance.name()).collect();
        notes.push(format!("Not in the shop's catalogue, so not in it: {}.", names.join("; ")));
    }
    notes
}
