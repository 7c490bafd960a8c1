//! Hours of several tasks together, as a range.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use ::schedule::{Correlation, risk};
use clap::Subcommand;
use job::table::tasks;
use serde::Serialize;

use crate::answer::{Answer, columns, doubt, row, say};
use crate::file::{self, TABLE};
use crate::shop::Everywhere;
use crate::stop::Stop;

/// Hours of several tasks together.
#[derive(Debug, Subcommand)]
pub(crate) enum Schedule {
    /// Mean, spread and quantiles of the sum of all tasks in a file.
    Risk {
        /// Columns name,low,likely,high,shape; the shape is triangular or pert.
        #[arg(value_name = "TASKS.csv")]
        tasks: PathBuf,
        /// How many times all tasks are drawn, 1000 to 5000000; not used where rho is 0 or 1.
        #[arg(long, value_name = "COUNT", default_value_t = 200_000)]
        samples: usize,
        /// How far the tasks run over together, 0 to 1; at either end the answer is exact.
        #[arg(long, value_name = "RHO", default_value_t = 0.3, allow_negative_numbers = true)]
        rho: f64,
        /// Where the stream of random numbers begins; the same seed gives the same answer.
        #[arg(long, value_name = "SEED", default_value_t = 1)]
        seed: u64,
    },
}

impl Schedule {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        match self {
            Self::Risk { tasks, samples, rho, seed } => say(&risk_of(&tasks, samples, rho, seed)?, everywhere.json),
        }
    }
}

fn risk_of(path: &Path, samples: usize, rho: f64, seed: u64) -> Result<Risk, Stop> {
    // Flags first: they are cheaper to mistype than a long file is to read.
    let rho = Correlation::new(rho).map_err(|e| Stop::input(format!("--rho: {e}")))?;
    let read = tasks::read(&file::name(path), &file::read(path)?, &TABLE).map_err(Stop::input)?;
    doubt(&read.warnings);
    // Each task was checked by row, so that only the number of samples is left to be refused.
    let sum = risk::sum(&read.tasks, rho, samples, seed).map_err(|e| Stop::input(format!("--samples: {e}")))?;
    let ::schedule::Outcome { mean, sd, p10, p50, p80, p95 } = sum;
    Ok(Risk {
        mean,
        sd,
        p10,
        p50,
        p80,
        p95,
        tasks: read.tasks.len(),
        exact: rho == Correlation::NONE || rho == Correlation::FULL,
    })
}

#[derive(Debug, Serialize)]
struct Risk {
    mean: f64,
    sd: f64,
    p10: f64,
    p50: f64,
    p80: f64,
    p95: f64,
    tasks: usize,
    exact: bool,
}

impl Answer for Risk {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let figures = [self.mean, self.sd, self.p10, self.p50, self.p80, self.p95].map(|h| format!("{h:.1}"));
        columns(out, &[row!["mean", "sd", "P10", "P50", "P80", "P95"], figures.to_vec()])?;
        let how = if self.exact { "exact" } else { "drawn" };
        writeln!(out, "{} tasks, {how}; five in ten such jobs stay under P50, eight in ten under P80", self.tasks)
    }
}
