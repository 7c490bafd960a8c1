//! What went to the owner and what came back, as values.

use typst::foundations::{Dict, IntoValue, Value, dict};

use super::{Sheet, drawing, entries, grouped, number, rows};
use crate::dimension;
use crate::owner::*;
use crate::view::DossierView;

/// Lines that the cover has room for; all of them stand under the questions.
const ON_COVER: usize = 4;
/// Characters of such a line on the cover.
const COVER_CHARS: usize = 180;

impl Sheet {
    /// Puts everything about the owner into the values of a dossier.
    pub(super) fn owner(&mut self, dict: &mut Dict, view: &DossierView) {
        let waits: Vec<String> = view.waits.iter().take(ON_COVER).map(|line| shortened(line)).collect();
        let left_out = view.waits.len() - waits.len();
        let words = &mut self.words;
        dict.insert("waits".into(), super::list(waits.iter().map(|line| words.line(line)), left_out));
        dict.insert("questions".into(), rows(&view.questions, |question| self.question(question)));
        dict.insert("wrote".into(), entries(&mut self.words, &view.wrote));
        dict.insert("reports".into(), rows(&view.reports, |report| self.report(report)));
        dict.insert("ranges".into(), rows(&view.ranges, |range| self.range(range)));
        let drawn: Vec<_> = view.ranges.iter().map(|row| (name(row), row.range)).collect();
        dict.insert("ranges-drawn".into(), drawing(&dimension::several(&drawn, view.agreed_h)));
        dict.insert("ranges-not-drawn".into(), number(drawn.len().saturating_sub(dimension::MOST_ROWS) as u64));
        dict.insert("no-range".into(), self.words.line(&view.no_range));
        let agreed = view.agreed_h.map(|hours| self.words.line(&format!("{hours:.0} hours")));
        dict.insert("agreed".into(), agreed.into_value());
    }

    fn question(&mut self, question: &QuestionPage) -> Dict {
        let versions = rows(&question.versions, |version| self.version(version));
        let answers = rows(&question.answers, |answer| self.answer(answer));
        let words = &mut self.words;
        dict! {
            "number" => number(question.number),
            "ask" => words.line(&question.ask),
            "standing" => words.line(&question.standing),
            "open" => question.open,
            "versions" => versions,
            "answers" => answers,
            "wrote" => entries(words, &question.wrote),
        }
    }

    fn version(&mut self, version: &QuestionVersion) -> Dict {
        let words = &mut self.words;
        dict! {
            "seq" => number(version.seq),
            "when" => words.line(&version.when),
            "who" => words.line(&version.who),
            "sent" => version.sent,
            "ask" => words.line(&version.ask),
            "places" => words.line(&version.places),
            "found" => words.lines(&version.found),
            "photographs" => words.line(&version.photographs),
            "options" => rows(&version.options, |option| dict! {
                "title" => words.line(&option.title),
                "hours" => words.line(&option.hours),
                "means" => words.lines(&option.means),
                "risks" => words.lines(&option.risks),
            }),
            "by" => words.line(&version.by),
            "waits" => rows(&version.waits, |line| words.line(line)),
            "serves" => rows(&version.serves, |line| words.line(line)),
            "superseded" => version.superseded_by.map(number),
        }
    }

    fn answer(&mut self, answer: &AnswerRow) -> Dict {
        let words = &mut self.words;
        dict! {
            "seq" => number(answer.seq),
            "when" => words.line(&answer.when),
            "who" => words.line(&answer.who),
            "way" => words.line(&answer.way),
            "choice" => words.line(&answer.choice),
            "words" => words.lines(&answer.words),
            "version" => number(answer.version),
            "range" => words.line(&answer.range),
            "money" => rows(&answer.money, |line| words.line(line)),
            "head" => grouped(&answer.head_hash),
            "count" => number(answer.count),
            "standing" => words.line(&answer.standing),
        }
    }

    fn report(&mut self, report: &ReportRow) -> Dict {
        let words = &mut self.words;
        dict! {
            "seq" => number(report.seq),
            "when" => words.line(&report.when),
            "who" => words.line(&report.who),
            "days" => words.line(&report.days),
            "says" => words.line(&report.says),
            "pdf" => words.line(&report.pdf),
            "superseded" => report.superseded_by.map(number),
        }
    }

    fn range(&mut self, row: &RangeRow) -> Dict {
        let words = &mut self.words;
        let mut hours = |hours: f64| -> Value { words.line(&format!("{hours:.0}")) };
        let figures = [row.range.p10_h, row.range.p50_h, row.range.p80_h, row.range.p95_h].map(&mut hours);
        let [p10, p50, p80, p95] = figures;
        dict! {
            "name" => words.line(&name(row)),
            "when" => words.line(&row.when),
            "told" => words.line(&row.told),
            "p10" => p10,
            "p50" => p50,
            "p80" => p80,
            "p95" => p95,
            "superseded" => row.superseded_by.map(number),
        }
    }
}

/// What a range is called beside its dimension.
fn name(row: &RangeRow) -> String {
    row.seq.map_or_else(|| "today".into(), |seq| format!("entry {seq}"))
}

fn shortened(line: &str) -> String {
    if line.chars().count() <= COVER_CHARS {
        return line.into();
    }
    let start: String = line.chars().take(COVER_CHARS).collect();
    format!("{start} ... (the rest stands under Questions and answers)")
}
