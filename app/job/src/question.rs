//! What goes to the owner and what comes back: questions, answers, reports.

mod thread;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::ids::{EntryId, Hash};
use crate::mixing::Serve;
use crate::words::worded;

pub use thread::{Standing, Thread};

/// Hours as a low, a likely and a high figure, in that order.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Hours {
    /// Rarely fewer.
    pub low: f64,
    /// The usual figure.
    pub likely: f64,
    /// Rarely more.
    pub high: f64,
}

impl Hours {
    /// Whether all three are nothing.
    pub fn are_none(self) -> bool {
        [self.low, self.likely, self.high].iter().all(|hours| *hours == 0.0)
    }

    /// "12 to 20 hours, likely 16".
    pub fn say(self) -> String {
        if self.low == self.high {
            return format!("{:.0} hours", self.likely);
        }
        format!("{:.0} to {:.0} hours, likely {:.0}", self.low, self.high, self.likely)
    }
}

/// Something the owner is asked to decide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Question {
    /// The zone instances it is about; repair of these waits for the answer. None for a question about the
    /// colour, whose options name recipes.
    pub zones: Vec<String>,
    /// The entry that made it necessary, if there is one.
    #[serde(default)]
    pub finding: Option<EntryId>,
    /// The question in one sentence.
    pub ask: String,
    /// What was found, in plain words.
    pub found: String,
    /// Entries of the photographs that go with it.
    #[serde(default)]
    pub photographs: Vec<EntryId>,
    /// The two or three things that can be done; of a colour up to four recipes.
    pub options: Vec<Choice>,
    /// The day after which waiting costs something.
    pub by: Date,
    /// The work that waits for the answer, a line each.
    #[serde(default)]
    pub waits: Vec<String>,
    /// For a question about the colour: the parts and days that the colour must serve.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub serves: Vec<Serve>,
    /// False while it is a draft that the owner has not seen.
    pub sent: bool,
}

impl Question {
    /// The option with this letter.
    pub fn option(&self, key: &str) -> Option<&Choice> {
        self.options.iter().find(|option| option.key == key)
    }

    /// Whether it says nothing that its first version could not say.
    pub(crate) fn fits_first_version(&self) -> bool {
        self.serves.is_empty() && self.options.iter().all(|option| option.recipe.is_none() && option.card.is_none())
    }

    /// Whether it is about the colour of the car: its options name recipes.
    pub fn is_of_colour(&self) -> bool {
        self.options.iter().any(|option| option.recipe.is_some())
    }
}

/// One thing that can be done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Choice {
    /// Its letter: A, B, C, of a colour also D.
    pub key: String,
    /// What it is, in a few words.
    pub title: String,
    /// What it means for the car.
    #[serde(default)]
    pub means: String,
    /// What it risks.
    #[serde(default)]
    pub risks: String,
    /// Hours for everything still to be done there. All zero for a recipe that makes no difference in hours.
    pub hours: Hours,
    /// For a question about the colour: the entry of the recipe.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub recipe: Option<EntryId>,
    /// The entry of a card sprayed from that recipe, if there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card: Option<EntryId>,
}

impl Choice {
    /// Its hours in words; a recipe with none of its own makes no difference in hours.
    pub fn hours_say(&self) -> String {
        if self.recipe.is_some() && self.hours.are_none() {
            return "no difference in hours".into();
        }
        self.hours.say()
    }
}

worded! {
    /// How an answer came.
    pub enum AnswerWay {
        /// On the owner's own page.
        Link = "link", "on the owner's page";
        /// By telephone, written down by the shop.
        Telephone = "telephone", "by telephone";
        /// By mail, written down by the shop.
        Mail = "mail", "by mail";
        /// Face to face, written down by the shop.
        InPerson = "in_person", "in person";
    }
}

/// What the owner chose, with exactly what was shown. It is locked: a changed mind is a further answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// The entry of the question, in the version that was answered.
    pub question: EntryId,
    /// The hash of that entry.
    pub version: Hash,
    /// The letter of the option; `None` when it is none of these.
    #[serde(default)]
    pub choice: Option<String>,
    /// How it came.
    pub way: AnswerWay,
    /// In the owner's own words.
    #[serde(default)]
    pub words: String,
    /// What was shown when it was given.
    pub shown: Shown,
    /// The answer that this one changes.
    #[serde(default)]
    pub changes: Option<EntryId>,
}

impl Answer {
    /// The option that was chosen.
    pub fn chosen(&self) -> Option<&Choice> {
        self.shown.question.option(self.choice.as_deref()?)
    }
}

/// Exactly what was in view when an answer was given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shown {
    /// The question, word for word.
    pub question: Question,
    /// The range of the whole shell beside it.
    pub range: RangeSaid,
    /// Money beside the options, as it was written; empty when the shop shows none.
    #[serde(default)]
    pub money: Vec<String>,
    /// The head of the record then.
    pub head: Hash,
    /// How many entries the record held then.
    pub count: u64,
}

/// A range as it was told to somebody, in hours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RangeSaid {
    /// One in ten comes below this.
    pub p10_h: f64,
    /// Half come below this.
    pub p50_h: f64,
    /// Eight in ten come below this.
    pub p80_h: f64,
    /// Nineteen in twenty come below this.
    pub p95_h: f64,
}

/// Words from the owner that are no answer, or came too late to be one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OwnerWrote {
    /// The question they were about, if any.
    #[serde(default)]
    pub question: Option<EntryId>,
    /// The option that was marked, if any.
    #[serde(default)]
    pub choice: Option<String>,
    /// The words, and why they are not an answer.
    pub words: String,
}

/// One fortnight, as it was told to the owner.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// First day.
    pub from: Date,
    /// Last day.
    pub to: Date,
    /// The fortnight in one sentence.
    pub says: String,
    /// What was done.
    pub done: Vec<String>,
    /// What was found.
    pub found: Vec<String>,
    /// How the range changed, and what moved it.
    pub changed: Vec<String>,
    /// What the shop needs an answer to, and by when.
    pub need: Vec<String>,
    /// What comes next.
    pub next: Vec<String>,
    /// Entries of its photographs.
    #[serde(default)]
    pub photographs: Vec<EntryId>,
    /// The range of the whole shell at its end.
    pub range: RangeSaid,
    /// The printed page.
    pub pdf: Hash,
}
