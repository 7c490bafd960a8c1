//! What a shell probably hides, where to look next, the hours it may take, and what the shop has learned of both.

mod learned;
mod look;
mod marginals;
mod odds;
mod range;

use std::path::PathBuf;

use clap::Subcommand;
use job::ids::CarId;
use job::outlook::{Chance, Reason};
use serde::Serialize;

use crate::answer::say;
use crate::shop::{Everywhere, Missing, wait};
use crate::stop::Stop;

pub(crate) use range::Range;

/// What a shell probably hides, and the hours it may take.
#[derive(Debug, Subcommand)]
pub(crate) enum Forecast {
    /// The marginals of all variables of a Bayesian network, exact.
    Marginals {
        /// The network in the BIF interchange format.
        #[arg(value_name = "NET.bif")]
        network: PathBuf,
        /// What is known, such as A=x,B=y; may be given again.
        #[arg(long, value_name = "A=x,B=y")]
        evidence: Vec<String>,
    },
    /// The chance of every zone to need metal, why, and where to look next.
    Odds {
        /// The car.
        id: CarId,
    },
    /// Every look that would tell something, the one most worth its hours first.
    Look {
        /// The car.
        id: CarId,
        /// What would follow from the look of this key: if it is clear, and if it is bad.
        #[arg(long, value_name = "KEY")]
        what: Option<String>,
    },
    /// The hours of the whole shell and of the job as ranges, and what moved them.
    Range {
        /// The car.
        id: CarId,
        /// The entry since which movements are told; without it, the last report, or the first entry.
        #[arg(long, value_name = "ENTRY")]
        since: Option<u64>,
    },
    /// What the shop's own cars have taught it, and how well it had foretold them.
    Learned {
        /// What the invented cars teach, which is nothing to the real ones.
        #[arg(long)]
        invented: bool,
    },
}

impl Forecast {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        if let Self::Marginals { network, evidence } = &self {
            return say(&marginals::Marginals::of(network, evidence)?, everywhere.json);
        }
        wait(async {
            let shop = everywhere.shop(Missing::Refuse).await?;
            match self {
                Self::Marginals { .. } => Ok(()),
                Self::Odds { id } => say(&odds::Odds::of(&shop, &*shop.car(id).await?).await?, everywhere.json),
                Self::Look { id, what } => {
                    say(&look::Looks::of(&shop, &*shop.car(id).await?, what.as_deref()).await?, everywhere.json)
                }
                Self::Range { id, since } => {
                    say(&Range::of(&shop, &*shop.car(id).await?, since).await?, everywhere.json)
                }
                Self::Learned { invented } => say(&learned::Learned::of(&shop, invented).await?, everywhere.json),
            }
        })
    }
}

/// Low, likely and high, each 0 to 1.
#[derive(Debug, Clone, Copy, Serialize)]
struct Ends {
    low: f64,
    likely: f64,
    high: f64,
}

impl From<Chance> for Ends {
    fn from(chance: Chance) -> Self {
        Self { low: chance.low, likely: chance.likely, high: chance.high }
    }
}

#[derive(Debug, Serialize)]
struct Why {
    say: String,
    ratio: f64,
    entry: Option<u64>,
}

fn whys<'a>(reasons: impl IntoIterator<Item = &'a Reason>) -> Vec<Why> {
    reasons.into_iter().map(|r| Why { say: r.say.clone(), ratio: r.ratio, entry: r.entry }).collect()
}

/// Reasons in one cell of a table.
fn joined(whys: &[Why]) -> String {
    whys.iter().map(|why| why.say.as_str()).collect::<Vec<_>>().join("; ")
}
