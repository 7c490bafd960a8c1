//! Stop and ask: findings past the limit, the question drafted from one, the work that waits, and exactly
//! what an owner is shown.

pub mod colour;

use jiff::civil::Date;

use crate::body::Instance;
use crate::car::{Car, Entry, ZoneState};
use crate::catalogue::{Catalogue, Spread, StructuralClass, Zone};
use crate::details::Rates;
use crate::outlook::{self, HOURS_TOGETHER, Known, Outlook, OutlookError, Range};
use crate::question::{Choice, Hours, Question, RangeSaid, Shown};
use crate::validate::{instance, instances, plain, zone_of};
use crate::what::{Severity, What};

/// How long an owner usually gets, in days. Common practice, no source.
const DAYS_TO_ANSWER: i32 = 7;
/// Samples for the hours of an option, and where their stream begins.
const OPTION_SAMPLES: usize = 20_000;
const OPTION_SEED: u64 = 3;

/// A zone found bad whose repair takes more hours than the stop-and-ask limit.
#[derive(Debug, Clone)]
pub struct Finding<'a> {
    /// The zone.
    pub zone: &'static Instance,
    /// The entry that says so.
    pub entry: &'a Entry,
    /// What is to be expected there, in hours.
    pub hours: f64,
    /// The number of the question about it, if one was drafted or sent and not taken back.
    pub question: Option<usize>,
}

/// Every finding past the limit, in the order of the body's list.
pub fn findings<'a>(car: &'a Car, outlook: &Outlook) -> Vec<Finding<'a>> {
    let limit = car.details.ask_limit_h();
    let threads = car.threads();
    let mut findings = Vec::new();
    for zone in outlook.zones.iter().filter(|z| z.known == Known::NeedsMetal && z.stake_h > limit) {
        let id = zone.instance.id.as_str();
        let Some(entry) = car.about(id).rev().find(|e| e.counts() && e.what.sets_state()) else { continue };
        let question = threads.iter().find(|t| !t.is_withdrawn() && t.is_about(id)).map(|t| t.number);
        findings.push(Finding { zone: zone.instance, entry, hours: zone.stake_h, question });
    }
    findings
}

/// Why the work on a zone waits, if it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Waits {
    /// The finding passes the limit and nobody has asked the owner yet.
    NotAsked,
    /// The question with this number was not answered with an option yet.
    Question(usize),
}

impl Waits {
    /// The words a person reads.
    pub fn say(self) -> String {
        match self {
            Self::NotAsked => "waits: past the limit, and the owner has not been asked".into(),
            Self::Question(number) => format!("waits for the answer to question {number}"),
        }
    }
}

/// Every zone whose work waits for the owner, and why.
pub fn waiting(car: &Car, outlook: &Outlook) -> Vec<(&'static Instance, Waits)> {
    let findings = findings(car, outlook);
    let threads = car.threads();
    let waits = |instance: &'static Instance| {
        if let Some(thread) = threads.iter().find(|t| t.blocks() && t.is_about(&instance.id)) {
            return Some((instance, Waits::Question(thread.number)));
        }
        let unasked = findings.iter().any(|f| f.zone.id == instance.id && f.question.is_none());
        unasked.then_some((instance, Waits::NotAsked))
    };
    instances(&car.details).into_iter().filter_map(waits).collect()
}

/// Drafts a question about one or more zones: what was found, two or three options with hours, what waits.
///
/// Every word can be changed before it is sent. `None` when none of the zones is one of this car's.
pub fn draft(car: &Car, catalogue: &Catalogue, zones: &[String], today: Date) -> Option<Question> {
    let places: Vec<(&'static Instance, &Zone)> =
        zones.iter().filter_map(|id| Some((instance(&car.details, id)?, catalogue.zone(zone_of(id))?))).collect();
    let (first, _) = places.first()?;
    let entry = |id: &str| car.about(id).rev().find(|e| e.counts() && e.what.sets_state());
    let carries = places.iter().any(|(_, zone)| zone.structural_class == StructuralClass::S1);
    let found = places.iter().map(|(place, _)| found_words(car, place, entry(&place.id))).collect::<Vec<_>>().join(" ");
    let carrying = if carries { " It is part of what carries the car." } else { "" };
    let name = match places.len() {
        1 => first.name(),
        2 => places.iter().map(|(place, _)| place.name()).collect::<Vec<_>>().join(" and the "),
        n => format!("{} and {} places beside it", first.name(), n - 1),
    };
    let photographs = car
        .photographs()
        .filter(|(_, photo)| photo.zone.as_ref().is_some_and(|zone| zones.contains(zone)))
        .map(|(entry, _)| entry.id)
        .collect::<Vec<_>>();
    Some(Question {
        zones: places.iter().map(|(place, _)| place.id.clone()).collect(),
        finding: entry(&first.id).map(|e| e.id),
        ask: format!("How far shall we go with the {name}?"),
        found: format!("{found}{carrying} We have stopped there until you choose."),
        photographs: photographs.into_iter().rev().take(4).rev().collect(),
        options: options(car, &places, carries),
        by: today.saturating_add(jiff::Span::new().days(DAYS_TO_ANSWER)),
        waits: waits(car, &places),
        serves: Vec::new(),
        sent: false,
    })
}

fn found_words(car: &Car, place: &Instance, entry: Option<&Entry>) -> String {
    let name = place.name();
    let extent = match entry.map(|e| &e.what) {
        Some(What::Opened(opened)) => {
            opened.extent_mm.map_or(String::new(), |(long, wide)| format!(" over {long:.0} by {wide:.0} mm"))
        }
        _ => String::new(),
    };
    match car.state(&place.id) {
        ZoneState::Bad(severity) => {
            let how = match severity {
                Severity::Pitted => "is pitted with rust",
                Severity::Thin => "has rusted thin",
                Severity::Holed => "is rusted through",
            };
            format!("The {name} {how}{extent}.")
        }
        state => format!("The {name}: {}.", state.words()),
    }
}

/// The three ways to repair, as an owner would put them; a place that is only pitted can also be left.
fn options(car: &Car, places: &[(&'static Instance, &Zone)], carries: bool) -> Vec<Choice> {
    let only_pitted = places.iter().all(|(place, _)| car.state(&place.id) == ZoneState::Bad(Severity::Pitted));
    let competent = if carries {
        " This part carries load: we plan it with a competent person, and local rules say what may be patched."
    } else {
        ""
    };
    let patch = (
        "Let in patches",
        "Only the wasted places are cut out and new metal is let in.",
        format!(
            "The metal beside each patch stays as old as it is, and every joint is a place for new rust.{competent}"
        ),
        hours(car, places, |zone| zone.hours.patch),
    );
    let section = (
        "Replace a section",
        "Cut back to sound metal and let in one larger piece.",
        format!("More of the original goes; fewer joints stay.{competent}"),
        hours(car, places, |zone| zone.hours.section),
    );
    let full = (
        "Replace the whole panel",
        "The whole piece is taken off at its own seams and a new one put on.",
        format!("The most hours; nothing old is left there to rust. A bought panel may not fit.{competent}"),
        hours(car, places, |zone| zone.hours.full),
    );
    let leave = (
        "Clean it and coat it",
        "No metal is cut. The pits are cleaned, treated and coated.",
        "Rust may come back there sooner.".to_string(),
        hours(car, places, |zone| half(zone.hours.patch)),
    );
    let chosen = if only_pitted { vec![leave, patch, section] } else { vec![patch, section, full] };
    ["A", "B", "C"]
        .into_iter()
        .zip(chosen)
        .map(|(key, (title, means, risks, hours))| Choice {
            key: key.into(),
            title: title.into(),
            means: means.into(),
            risks,
            hours,
            recipe: None,
            card: None,
        })
        .collect()
}

/// Cleaning and coating takes about half of the hours of a patch. Starting guess.
fn half(spread: Spread) -> Spread {
    Spread { low: spread.low / 2.0, likely: spread.likely / 2.0, high: spread.high / 2.0 }
}

/// Hours of one way to repair all the places, opening what is not open included. Highs are never added up:
/// several spreads are summed with their correlation, and come back as one in ten, half, nineteen in twenty.
fn hours(car: &Car, places: &[(&'static Instance, &Zone)], way: impl Fn(&Zone) -> Spread) -> Hours {
    let mut parts: Vec<Spread> = Vec::new();
    for (place, zone) in places {
        parts.push(way(zone));
        if !car.zone(&place.id).is_some_and(|zone| zone.opened) {
            parts.push(zone.hours.open);
        }
    }
    if let [only] = parts.as_slice() {
        return Hours { low: only.low, likely: only.likely, high: only.high };
    }
    let whole = |value: f64| (value * 2.0).round() / 2.0;
    let task = |part: &Spread| {
        let spread = schedule::Spread::new(part.low, part.likely, part.high).ok()?;
        Some(schedule::Task { spread, shape: schedule::Shape::Pert })
    };
    // The catalogue is checked when it is loaded, so that every spread in it is one.
    let tasks: Vec<schedule::Task> = parts.iter().filter_map(task).collect();
    let together = schedule::Correlation::new(HOURS_TOGETHER);
    match together.and_then(|rho| schedule::risk::sum(&tasks, rho, OPTION_SAMPLES, OPTION_SEED)) {
        Ok(sum) => Hours { low: whole(sum.p10), likely: whole(sum.p50), high: whole(sum.p95) },
        Err(_) => Hours { low: 0.0, likely: 0.0, high: 0.0 },
    }
}

/// What cannot go on until the owner has chosen: the repair itself, the bad neighbours that share a seam, the
/// closing of the cavity, and every coat over it.
fn waits(car: &Car, places: &[(&'static Instance, &Zone)]) -> Vec<String> {
    let mut lines: Vec<String> = places.iter().map(|(place, _)| format!("Repair of the {}", place.name())).collect();
    for (place, zone) in places {
        let beside = instances(&car.details).into_iter().filter(|other| {
            zone.neighbours.contains(&other.zone)
                && other.side == place.side
                && matches!(car.state(&other.id), ZoneState::Bad(_))
                && !places.iter().any(|(p, _)| p.id == other.id)
        });
        for other in beside {
            let line = format!("Repair of the {}, which shares a seam with it", other.name());
            if !lines.contains(&line) {
                lines.push(line);
            }
        }
    }
    let cavities: Vec<&str> =
        places.iter().map(|(_, zone)| zone.cavity.as_str()).filter(|cavity| !cavity.is_empty()).collect();
    if let Some(cavity) = cavities.first() {
        lines.push(format!("Closing and coating the cavity ({cavity})"));
    }
    lines.push("Epoxy and every coat after it there".into());
    lines
}

/// The range of the whole shell as it is told.
///
/// # Errors
/// As [`outlook::outlook`].
pub fn told(car: &Car, catalogue: &Catalogue) -> Result<RangeSaid, OutlookError> {
    let outlook = outlook::zones_only(car, catalogue)?;
    Ok(said(&outlook::range(car, catalogue, &outlook)?))
}

/// Exactly what the owner is shown beside a question, drawn from the record as this car holds it.
///
/// # Errors
/// As [`outlook::outlook`].
pub fn shown(car: &Car, catalogue: &Catalogue, question: &Question) -> Result<Shown, OutlookError> {
    Ok(beside(car, question, told(car, catalogue)?))
}

/// The same, where the range is known already.
pub fn beside(car: &Car, question: &Question, range: RangeSaid) -> Shown {
    let rates = car.details.rates.as_ref();
    let line = |rates: &Rates, option: &Choice| format!("{}: {}", option.key, money(option.hours, rates));
    // A recipe that makes no difference in hours makes none in money either.
    let costs = |option: &&Choice| option.recipe.is_none() || !option.hours.are_none();
    Shown {
        question: question.clone(),
        range,
        money: rates
            .map_or(Vec::new(), |rates| question.options.iter().filter(|o| costs(o)).map(|o| line(rates, o)).collect()),
        head: car.head,
        count: car.count,
    }
}

/// A range as it is told: whole hours.
pub fn said(range: &Range) -> RangeSaid {
    let outcome = &range.outcome;
    RangeSaid {
        p10_h: outcome.p10.round(),
        p50_h: outcome.p50.round(),
        p80_h: outcome.p80.round(),
        p95_h: outcome.p95.round(),
    }
}

/// Hours as money at the bench rate, in the shop's own currency: "680 to 1140 EUR, likely 900".
pub fn money(hours: Hours, rates: &Rates) -> String {
    let at = |hours: f64| plain((hours * rates.bench / 10.0).round() * 10.0);
    format!("{} to {} {}, likely {}", at(hours.low), at(hours.high), rates.currency, at(hours.likely))
}
