//! The fortnight report: one page for the owner, drafted from the record, edited by the lead.

use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::ask::{self, Waits};
use crate::body::Instance;
use crate::car::{Car, Entry};
use crate::catalogue::Catalogue;
use crate::ids::{EntryId, Hash};
use crate::outlook::{self, Movement, OutlookError};
use crate::question::{RangeSaid, Report, Standing};
use crate::validate::instance;
use crate::what::{Seen, What};

/// The days one report usually covers.
pub const DAYS: i32 = 14;
/// How many lines of one kind are drafted; the lead adds what is missing.
const LINES: usize = 8;
/// How many photographs are drafted.
const PHOTOGRAPHS: usize = 6;
/// How many entries that moved the range are named.
const MOVERS: usize = 3;

/// The last report that counts.
pub fn last(car: &Car) -> Option<(&Entry, &Report)> {
    car.counting().rev().find_map(|entry| match &entry.what {
        What::Reported(report) => Some((entry, report)),
        _ => None,
    })
}

/// The days the next report covers: from the day after the last one, at most back to the car's first day.
pub fn days(car: &Car, today: Date, zone: &TimeZone) -> (Date, Date) {
    let first = car.entries().first().map_or(today, |entry| day(entry, zone));
    let usual = today.saturating_sub(jiff::Span::new().days(DAYS - 1));
    let from = last(car).map_or(usual, |(_, report)| report.to.saturating_add(jiff::Span::new().days(1)));
    (from.max(first).min(today), today)
}

/// Drafts a report over these days. Its printed page comes later, so its hash is [`Hash::NONE`] here.
///
/// # Errors
/// As [`outlook::outlook`].
pub fn draft(car: &Car, catalogue: &Catalogue, from: Date, to: Date, zone: &TimeZone) -> Result<Report, OutlookError> {
    let outlook = outlook::outlook(car, catalogue)?;
    let range = ask::said(&outlook::range(car, catalogue, &outlook)?);
    let within = |entry: &&Entry| (from..=to).contains(&day(entry, zone));
    let entries: Vec<&Entry> = car.counting().filter(within).collect();
    let lines = |line: fn(&Car, &Entry) -> Option<String>| {
        let mut lines: Vec<String> = Vec::new();
        for said in entries.iter().rev().filter_map(|entry| line(car, entry)) {
            if !lines.contains(&said) && lines.len() < LINES {
                lines.push(said);
            }
        }
        lines.reverse();
        lines
    };
    let (done, found) = (lines(done), lines(found));
    let photographs: Vec<EntryId> = entries
        .iter()
        .rev()
        .filter(|entry| matches!(&entry.what, What::Photographed(photo) if photo.zone.is_some()))
        .map(|entry| entry.id)
        .take(PHOTOGRAPHS)
        .collect();
    Ok(Report {
        from,
        to,
        says: says(done.len(), &found),
        changed: changed(car, catalogue, range, from, zone)?,
        need: need(car),
        next: next(car, &outlook),
        photographs: photographs.into_iter().rev().collect(),
        done,
        found,
        range,
        pdf: Hash::NONE,
    })
}

fn day(entry: &Entry, zone: &TimeZone) -> Date {
    entry.when().to_zoned(zone.clone()).date()
}

fn says(done: usize, found: &[String]) -> String {
    match (done, found) {
        (0, []) => "A quiet fortnight: nothing new was found.".into(),
        (_, []) => "Work went on; nothing new was found.".into(),
        (_, [one]) => format!("{one}."),
        (_, [.., last]) => format!("{last}, and {} more places were found.", found.len() - 1),
    }
}

fn name(car: &Car, zone: &str) -> String {
    instance(&car.details, zone).map_or_else(|| zone.to_owned(), Instance::name)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// "Opened: sound" as "opened: sound"; the letter of an option, "A. Patch", stays.
fn uncapital(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if second.is_lowercase() => first.to_lowercase().chain(letters).collect(),
        _ => text.to_owned(),
    }
}

fn done(car: &Car, entry: &Entry) -> Option<String> {
    match &entry.what {
        What::MadeGood(made) => Some(capital(&format!("{} made good", name(car, &made.zone)))),
        What::StageReached(reached) => Some(format!("Reached: {}", reached.stage.words().to_lowercase())),
        What::Opened(opened) if opened.found.is_none() => {
            Some(capital(&format!("{} opened: sound", name(car, &opened.zone))))
        }
        What::FilmJudged(judged) if judged.accept => {
            Some(capital(&format!("{}: film measured and accepted", name(car, &judged.zone))))
        }
        What::Measured(measured) => Some(format!("Colour measured: {}", measured.name)),
        What::Briefed(wished) => Some(format!("Colour wished for: {}", wished.name)),
        What::Mixed(mixed) => {
            // Few enough for one line of a report.
            let mut parts: Vec<String> =
                mixed.parts_of_car.iter().take(4).map(|part| brief(&name(car, part))).collect();
            if mixed.parts_of_car.len() > parts.len() {
                parts.push(format!("{} more", mixed.parts_of_car.len() - parts.len()));
            }
            Some(format!("Colour mixed for {}", parts.join(", ")))
        }
        What::Carded(card) => Some(format!("Card sprayed and measured: {}", card.name)),
        What::Looked(look) if look.seen == Seen::Clear => {
            Some(capital(&format!("{} looked at: clear", name(car, &look.zone))))
        }
        _ => None,
    }
}

/// As much of a text as leaves room for others on one line.
fn brief(text: &str) -> String {
    text.chars().take(60).collect()
}

fn found(car: &Car, entry: &Entry) -> Option<String> {
    match &entry.what {
        What::Looked(look) => match look.seen {
            Seen::Bad(severity) => Some(capital(&format!("{} {}", name(car, &look.zone), severity.words()))),
            _ => None,
        },
        What::Opened(opened) => {
            let severity = opened.found?;
            let extent = opened.extent_mm.map_or(String::new(), |(l, w)| format!(" over {l:.0} by {w:.0} mm"));
            Some(capital(&format!("{} opened: {}{extent}", name(car, &opened.zone), severity.words())))
        }
        _ => None,
    }
}

/// The range since it was last told, and what moved it most.
fn changed(
    car: &Car,
    catalogue: &Catalogue,
    now: RangeSaid,
    from: Date,
    zone: &TimeZone,
) -> Result<Vec<String>, OutlookError> {
    let told = last(car);
    let since = match told {
        Some((entry, _)) => entry.seq,
        None => car.entries().iter().take_while(|e| day(e, zone) < from).last().map_or(1, |e| e.seq),
    };
    let mut lines = vec![match told {
        Some((_, report)) => format!(
            "Metal work was {:.0} to {:.0} hours, likely {:.0}; it is now {:.0} to {:.0}, likely {:.0}",
            report.range.p10_h, report.range.p95_h, report.range.p50_h, now.p10_h, now.p95_h, now.p50_h
        ),
        None => format!(
            "Metal work: {:.0} to {:.0} hours, likely {:.0}. This is the first range in a report",
            now.p10_h, now.p95_h, now.p50_h
        ),
    }];
    let mut moved = outlook::movements(car, catalogue, since)?;
    moved.sort_by(|a, b| b.size_h().total_cmp(&a.size_h()).then(a.seq.cmp(&b.seq)));
    lines.extend(moved.iter().take(MOVERS).filter(|m| m.size_h() >= 1.0).map(|m| mover(car, m)));
    Ok(lines)
}

fn mover(car: &Car, moved: &Movement) -> String {
    let hours = moved.after_h - moved.before_h;
    let more = if hours > 0.0 { "more" } else { "fewer" };
    let what = match (&moved.zone, car.entry(moved.seq)) {
        (Some(zone), Some(entry)) => format!("{}, {}", capital(&name(car, zone)), uncapital(&entry.what.say())),
        (None, Some(entry)) => entry.what.say(),
        (_, None) => String::new(),
    };
    let hours = match hours.abs().round() {
        1.0 => "one hour".into(),
        n => format!("{n:.0} hours"),
    };
    format!("{what}: about {hours} {more}")
}

fn need(car: &Car) -> Vec<String> {
    car.threads()
        .iter()
        .filter(|thread| thread.standing() == Standing::Open)
        .filter_map(|thread| {
            let (_, question) = thread.asked()?;
            Some(format!(
                "Question {}: {} Please answer by {}",
                thread.number,
                question.ask,
                question.by.strftime("%-d %B")
            ))
        })
        .collect()
}

fn next(car: &Car, outlook: &outlook::Outlook) -> Vec<String> {
    let mut lines: Vec<String> = outlook.first_choices().into_iter().take(3).map(|look| capital(&look.say)).collect();
    let open: Vec<usize> =
        car.threads().iter().filter(|thread| thread.standing() == Standing::Open).map(|thread| thread.number).collect();
    let (answer, asking): (Vec<Waits>, Vec<Waits>) = ask::waiting(car, outlook)
        .into_iter()
        .map(|(_, waits)| waits)
        .partition(|waits| matches!(waits, Waits::Question(number) if open.contains(number)));
    if let Some(places) = places(answer.len()) {
        lines.push(format!("{places} for your answer; nothing is cut there until then"));
    }
    if let Some(places) = places(asking.len()) {
        lines.push(format!("{places} until we have asked you"));
    }
    lines
}

fn places(count: usize) -> Option<String> {
    match count {
        0 => None,
        1 => Some("One place waits".into()),
        n => Some(format!("{n} places wait")),
    }
}
