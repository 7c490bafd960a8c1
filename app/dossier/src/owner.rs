//! What went to the owner and what came back, as it is printed.

use crate::view::Entry;

/// One question to the owner, from its first draft on.
#[derive(Debug, Clone)]
pub struct QuestionPage {
    /// Its number within the car.
    pub number: u64,
    /// The question in one sentence, as it was asked last; as it was drafted, while nobody was asked.
    pub ask: String,
    /// Where it stands, in a sentence.
    pub standing: String,
    /// True while nothing stands as an answer.
    pub open: bool,
    /// Every version, the first one first.
    pub versions: Vec<QuestionVersion>,
    /// Every answer, the first one first.
    pub answers: Vec<AnswerRow>,
    /// What the owner wrote besides.
    pub wrote: Vec<Entry>,
}

/// One version of a question.
#[derive(Debug, Clone)]
pub struct QuestionVersion {
    /// Its place in the record.
    pub seq: u64,
    /// When, in the shop's zone.
    pub when: String,
    /// Who.
    pub who: String,
    /// False for a draft: the owner did not see it, so it is named and not printed whole.
    pub sent: bool,
    /// The question in one sentence.
    pub ask: String,
    /// The zones it is about, in words.
    pub places: String,
    /// What was found.
    pub found: String,
    /// The photographs that went with it, in words; may be empty.
    pub photographs: String,
    /// The things that could be done, or the recipes that could be chosen.
    pub options: Vec<OptionRow>,
    /// The day by which an answer was asked for.
    pub by: String,
    /// The work that waits for the answer, a line each.
    pub waits: Vec<String>,
    /// The parts and days that a colour in question must serve, a line each.
    pub serves: Vec<String>,
    /// The later entry that stands instead of this one or took it out.
    pub superseded_by: Option<u64>,
}

/// One thing that could be done.
#[derive(Debug, Clone)]
pub struct OptionRow {
    /// Its letter and title.
    pub title: String,
    /// Its hours, in words.
    pub hours: String,
    /// What it means for the car.
    pub means: String,
    /// What it risks.
    pub risks: String,
}

/// One answer, with what was shown when it was given.
#[derive(Debug, Clone)]
pub struct AnswerRow {
    /// Its place in the record.
    pub seq: u64,
    /// When, in the shop's zone.
    pub when: String,
    /// Who gave it, or who wrote it down.
    pub who: String,
    /// How it came.
    pub way: String,
    /// What was chosen.
    pub choice: String,
    /// The owner's own words; may be empty.
    pub words: String,
    /// The entry of the version that was answered.
    pub version: u64,
    /// The range that was shown beside the question, in words.
    pub range: String,
    /// Money that was shown beside the options; empty when none was.
    pub money: Vec<String>,
    /// The head of the record that was shown: 64 hexadecimal digits.
    pub head_hash: String,
    /// How many entries the record held then.
    pub count: u64,
    /// Whether it stands, in words.
    pub standing: String,
}

/// A range as it was told.
#[derive(Debug, Clone)]
pub struct RangeRow {
    /// The entry in which it was told; `None` for the range of today.
    pub seq: Option<u64>,
    /// When, in the shop's zone.
    pub when: String,
    /// Where it was told.
    pub told: String,
    /// The range itself.
    pub range: job::question::RangeSaid,
    /// The later entry that stands instead of this one or took it out.
    pub superseded_by: Option<u64>,
}

/// One fortnight report.
#[derive(Debug, Clone)]
pub struct ReportRow {
    /// Its place in the record.
    pub seq: u64,
    /// When, in the shop's zone.
    pub when: String,
    /// Who.
    pub who: String,
    /// The days it covers.
    pub days: String,
    /// The fortnight in one sentence.
    pub says: String,
    /// The first digits of the hash of its printed page.
    pub pdf: String,
    /// The later entry that stands instead of this one or took it out.
    pub superseded_by: Option<u64>,
}
