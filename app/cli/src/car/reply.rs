//! An answer of the owner that came by telephone, by mail or in person, written down by the shop.

use std::io::{self, Write};

use clap::Args;
use jiff::Timestamp;
use job::car::Entry;
use job::ids::{CarId, EntryId, Hash};
use job::question::AnswerWay;
use job::shop::{self, Late, Replied, Shop};
use job::what::What;
use serde::Serialize;

use super::question::thread;
use crate::answer::{Answer, columns, row, say};
use crate::shop::{Everywhere, Missing, person};
use crate::stop::Stop;

/// Write down an answer that came by telephone, by mail or in person.
#[derive(Debug, Args)]
pub(crate) struct Reply {
    /// The car.
    id: CarId,
    /// The number of the question within the car.
    number: usize,
    /// The letter of the option that was chosen: A, B or C.
    #[arg(long, value_name = "LETTER", required_unless_present = "none", conflicts_with = "none")]
    option: Option<String>,
    /// None of the options was wanted; the owner's words say what is.
    #[arg(long, requires = "words")]
    none: bool,
    /// How it came.
    #[arg(long, value_parser = way())]
    way: AnswerWay,
    /// The owner's own words.
    #[arg(long, value_name = "WORDS", default_value = "")]
    words: String,
    /// Who writes it down.
    #[arg(long, value_name = "NAME")]
    by: String,
    /// The owner has another mind now; the earlier answer stays in the record.
    #[arg(long)]
    changes: bool,
}

/// Every way but the owner's own page.
fn way() -> impl clap::builder::TypedValueParser<Value = AnswerWay> {
    use clap::builder::TypedValueParser as _;
    let written = AnswerWay::ALL.iter().filter(|way| **way != AnswerWay::Link);
    let keys = written.map(|way| clap::builder::PossibleValue::new(way.key()).help(way.words()));
    clap::builder::PossibleValuesParser::new(keys)
        .try_map(|key| AnswerWay::from_key(&key).ok_or_else(|| format!("\"{key}\" is not known")))
}

impl Reply {
    pub(crate) async fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        let shop = everywhere.shop(Missing::Refuse).await?;
        say(&self.write(&shop).await?, everywhere.json)
    }

    async fn write(self, shop: &Shop) -> Result<Written, Stop> {
        let by = person(shop, &self.by).await?.id;
        let car = shop.car(self.id).await?;
        let thread = thread(&car, self.number)?;
        let (asked, question) = thread.asked().ok_or_else(|| {
            Stop::input(format!("question {} is a draft that nobody was asked; send it first", self.number))
        })?;
        let changes = match (self.changes, thread.answer()) {
            (true, None) => {
                return Err(Stop::input(format!(
                    "--changes: question {} has no answer yet that could be changed; leave it out",
                    self.number
                )));
            }
            (true, Some((stands, _))) => Some(stands.id),
            (false, _) => None,
        };
        let reply = shop::Reply {
            entry: EntryId::fresh(),
            by,
            question: asked.id,
            seen: car.count,
            digest: shop::digest(&shop.shown(&car, question).await?),
            choice: self.option.map(|letter| letter.trim().to_ascii_uppercase()),
            way: self.way,
            words: self.words,
            changes,
        };
        match shop.answer(self.id, &reply, Timestamp::now()).await? {
            Replied::Kept(kept) => {
                let car = shop.car(self.id).await?;
                let (choice, way) = (reply.choice, self.way.key());
                Ok(Written { car: self.id, number: self.number, choice, way, entry: kept.seq, head: car.head })
            }
            Replied::Overtaken(first) => Err(already(self.number, &first)),
            Replied::Late { why, .. } => Err(late(self.number, &why)),
        }
    }
}

fn already(number: usize, first: &Entry) -> Stop {
    let chose = match &first.what {
        What::Answered(answer) => answer.choice.as_ref().map_or("none of these".into(), |key| format!("option {key}")),
        _ => String::new(),
    };
    Stop::input(format!(
        "question {number} was answered already, with {chose} (entry {}); if the owner has another mind now, add --changes",
        first.seq
    ))
}

fn late(number: usize, why: &Late) -> Stop {
    Stop::input(match why {
        Late::TakenBack(by) => {
            format!(
                "question {number} was taken back by {} (entry {}); there is nothing left to answer",
                by.by.name, by.seq
            )
        }
        Late::AskedAnew(now) => {
            format!("question {number} was changed meanwhile (entry {}); read it again, then answer", now.seq)
        }
        Late::NotAsShown => format!("question {number}: what was shown cannot be worked out again; try once more"),
    })
}

#[derive(Debug, Serialize)]
struct Written {
    car: CarId,
    number: usize,
    choice: Option<String>,
    way: &'static str,
    entry: u64,
    head: Hash,
}

impl Answer for Written {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let choice = self.choice.as_deref().unwrap_or("none of these");
        columns(out, &[row!["question", "answer", "way", "entry"], row![self.number, choice, self.way, self.entry]])
    }
}
