//! What went to the owner and what came back: questions with their answers, ranges, reports, and what waits.

use job::ask;
use job::car::Entry as Kept;
use job::ids::EntryId;
use job::outlook::{self, Outlook, OutlookError};
use job::question::{Answer, Choice, OwnerWrote, Question, RangeSaid, Standing, Thread};
use job::what::What;

use super::{Papers, colour, upper};
use crate::of_report;
use crate::owner::*;
use crate::view::Entry;

/// Every question, in the order in which they were begun.
pub(super) fn questions(papers: &Papers<'_>) -> Vec<QuestionPage> {
    papers.car.threads().iter().map(|thread| question(papers, thread)).collect()
}

fn question(papers: &Papers<'_>, thread: &Thread<'_>) -> QuestionPage {
    let asked = thread.asked().or(thread.latest());
    QuestionPage {
        number: number(thread),
        ask: asked.map(|(_, question)| question.ask.clone()).unwrap_or_default(),
        standing: standing(papers, thread),
        open: thread.standing() == Standing::Open,
        versions: thread.versions.iter().map(|(kept, question)| version(papers, kept, question)).collect(),
        answers: thread.answers.iter().map(|(kept, given)| answer(papers, thread, kept, given)).collect(),
        wrote: thread.wrote.iter().map(|(kept, words)| wrote(papers, kept, words)).collect(),
    }
}

fn number(thread: &Thread<'_>) -> u64 {
    u64::try_from(thread.number).unwrap_or(u64::MAX)
}

fn standing(papers: &Papers<'_>, thread: &Thread<'_>) -> String {
    match (thread.standing(), thread.asked(), thread.answer()) {
        (Standing::Draft, ..) => "A draft: the owner has not been asked.".into(),
        (Standing::Open, Some((kept, question)), _) => format!(
            "Open: asked on {}, with an answer wanted by {}, and none came. Silence is not consent: the work it names waits.",
            papers.when(kept.when()),
            day(question)
        ),
        (Standing::Answered, _, Some((kept, given))) => {
            format!("Answered on {}: {}.", papers.when(kept.when()), chosen(given))
        }
        (Standing::Withdrawn, ..) => {
            match thread.latest().and_then(|(kept, _)| papers.car.entry(kept.superseded_by?)) {
                Some(by) => {
                    let why = match &by.what {
                        What::Withdrawn(withdrawn) => withdrawn.why.trim_end_matches('.'),
                        _ => "",
                    };
                    format!("Taken back on {} in entry {}: {why}.", papers.when(by.when()), by.seq)
                }
                None => "Taken back.".into(),
            }
        }
        _ => "Nothing is known of where it stands.".into(),
    }
}

fn day(question: &Question) -> String {
    question.by.strftime("%-d %B %Y").to_string()
}

fn chosen(given: &Answer) -> String {
    match given.chosen() {
        Some(option) => format!("{}. {}", option.key, option.title),
        None => "none of these".into(),
    }
}

fn version(papers: &Papers<'_>, kept: &Kept, question: &Question) -> QuestionVersion {
    let places: Vec<String> = question.zones.iter().map(|zone| papers.zone_name(zone)).collect();
    let places = if question.is_of_colour() { "the colour of the car".into() } else { places.join("; ") };
    QuestionVersion {
        seq: kept.seq,
        when: papers.when(kept.when()),
        who: kept.by.name.clone(),
        sent: question.sent,
        ask: question.ask.clone(),
        places,
        found: question.found.clone(),
        photographs: photographs(papers, question),
        options: question
            .options
            .iter()
            .map(|option| OptionRow {
                title: titled(papers, option),
                hours: option.hours_say(),
                means: option.means.clone(),
                risks: option.risks.clone(),
            })
            .collect(),
        by: day(question),
        waits: question.waits.clone(),
        serves: colour::serves(papers.car, &question.serves),
        superseded_by: kept.superseded_by,
    }
}

/// The letter and title of an option; of a recipe with its entry, and that of its card.
fn titled(papers: &Papers<'_>, option: &Choice) -> String {
    let entry = |id: Option<EntryId>| id.and_then(|id| papers.car.entry_by_id(id)).map(|entry| entry.seq);
    let title = format!("{}. {}", option.key, option.title);
    match (entry(option.recipe), entry(option.card)) {
        (Some(recipe), Some(card)) => format!("{title} (recipe: entry {recipe}; card: entry {card})"),
        (Some(recipe), None) => format!("{title} (recipe: entry {recipe}; no card)"),
        _ => title,
    }
}

/// The photographs by the numbers under which they are printed; one that was taken out, by its entry.
fn photographs(papers: &Papers<'_>, question: &Question) -> String {
    let names: Vec<String> = question
        .photographs
        .iter()
        .filter_map(|id| {
            let kept = papers.car.entry_by_id(*id)?;
            let place = papers.car.photographs().position(|(entry, _)| entry.seq == kept.seq);
            Some(place.map_or_else(|| format!("the one of entry {}", kept.seq), |n| (n + 1).to_string()))
        })
        .collect();
    names.join(", ")
}

fn answer(papers: &Papers<'_>, thread: &Thread<'_>, kept: &Kept, given: &Answer) -> AnswerRow {
    let version = papers.car.entry_by_id(given.question).map_or(0, |asked| asked.seq);
    let changed = thread.answers.iter().find(|(_, later)| later.changes == Some(kept.id));
    let stands = thread.answer().is_some_and(|(stands, _)| stands.seq == kept.seq);
    let standing = match changed {
        Some((later, _)) => format!("Changed by the answer in entry {}.", later.seq),
        None if thread.is_withdrawn() => "The question was taken back later.".into(),
        None if stands => "This answer stands.".into(),
        None => "The question was asked anew after it.".into(),
    };
    AnswerRow {
        seq: kept.seq,
        when: papers.when(kept.when()),
        who: kept.by.name.clone(),
        way: given.way.words().into(),
        choice: upper(&chosen(given)),
        words: given.words.clone(),
        version,
        range: say(given.shown.range),
        money: given.shown.money.clone(),
        head_hash: given.shown.head.to_string(),
        count: given.shown.count,
        standing,
    }
}

/// A range in the words in which it is told.
pub(crate) fn say(range: RangeSaid) -> String {
    format!("{:.0} to {:.0} hours, likely {:.0}", range.p10_h, range.p95_h, range.p50_h)
}

fn wrote(papers: &Papers<'_>, kept: &Kept, words: &OwnerWrote) -> Entry {
    let what = match &words.choice {
        Some(key) => format!("Wrote, and marked {key}; this is not an answer"),
        None => "Wrote".into(),
    };
    Entry {
        seq: kept.seq,
        when: papers.when(kept.when()),
        who: kept.by.name.clone(),
        what,
        note: words.words.clone(),
        superseded_by: kept.superseded_by,
    }
}

/// What the owner wrote that belongs to no question of this record.
pub(super) fn other_words(papers: &Papers<'_>) -> Vec<Entry> {
    let threads = papers.car.threads();
    let entries = papers.car.entries().iter().filter_map(|kept| match &kept.what {
        What::OwnerWrote(words) => {
            let told = words.question.is_some_and(|id| threads.iter().any(|thread| thread.holds(id)));
            (!told).then(|| wrote(papers, kept, words))
        }
        _ => None,
    });
    entries.collect()
}

/// The range as the record stands.
pub(super) fn today(papers: &Papers<'_>, outlook: &Outlook) -> Result<RangeSaid, OutlookError> {
    outlook::range(papers.car, papers.catalogue, outlook).map(|range| ask::said(&range))
}

/// Every range that the owner was told, and the one of today if there is one.
pub(super) fn ranges(papers: &Papers<'_>, today: Option<RangeSaid>, when: String) -> Vec<RangeRow> {
    let threads = papers.car.threads();
    let row = |kept: &Kept, told: String, range: RangeSaid| RangeRow {
        seq: Some(kept.seq),
        when: papers.when(kept.when()),
        told,
        range,
        superseded_by: kept.superseded_by,
    };
    let told = papers.car.entries().iter().filter_map(|kept| match &kept.what {
        What::Reported(report) => {
            Some(row(kept, format!("Report, {}", of_report::days(report.from, report.to)), report.range))
        }
        What::Answered(given) => {
            let thread = threads.iter().find(|thread| thread.holds(given.question));
            let of = thread.map_or_else(String::new, |thread| format!(" to question {}", thread.number));
            Some(row(kept, format!("Beside the answer{of}"), given.shown.range))
        }
        _ => None,
    });
    let mut rows: Vec<RangeRow> = told.collect();
    rows.extend(today.map(|range| RangeRow {
        seq: None,
        when,
        told: "As the record stands".into(),
        range,
        superseded_by: None,
    }));
    rows
}

/// The fortnight reports, those that no longer count included.
pub(super) fn reports(papers: &Papers<'_>) -> Vec<ReportRow> {
    let entries = papers.car.entries().iter().filter_map(|kept| match &kept.what {
        What::Reported(report) => Some(ReportRow {
            seq: kept.seq,
            when: papers.when(kept.when()),
            who: kept.by.name.clone(),
            days: of_report::days(report.from, report.to),
            says: report.says.clone(),
            pdf: report.pdf.short(),
            superseded_by: kept.superseded_by,
        }),
        _ => None,
    });
    entries.collect()
}

/// What waits for the owner: every open question, and the places at which nothing is cut until then.
pub(super) fn waits(papers: &Papers<'_>, outlook: Option<&Outlook>) -> Vec<String> {
    let threads = papers.car.threads();
    let open = threads.iter().filter(|thread| thread.standing() == Standing::Open);
    let mut lines: Vec<String> = open
        .filter_map(|thread| {
            let (_, question) = thread.asked()?;
            Some(format!("Question {}: {} Answer wanted by {}.", thread.number, question.ask, day(question)))
        })
        .collect();
    match outlook.map_or(0, |outlook| ask::waiting(papers.car, outlook).len()) {
        0 => {}
        1 => lines.push("Work on 1 place waits; nothing is cut there until the owner has chosen.".into()),
        n => lines.push(format!("Work on {n} places waits; nothing is cut there until the owner has chosen.")),
    }
    lines
}

/// How many questions were asked, and how many of them are open.
pub(super) fn tally(papers: &Papers<'_>) -> String {
    let threads = papers.car.threads();
    let asked = threads.iter().filter(|thread| thread.asked().is_some()).count();
    let open = threads.iter().filter(|thread| thread.standing() == Standing::Open).count();
    if asked == 0 { "none asked".into() } else { format!("{open} of {asked}") }
}
