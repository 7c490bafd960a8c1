//! The fortnight report: drafted from the record, edited, printed, kept.

use std::io::{self, Write};
use std::path::PathBuf;

use clap::Args;
use jiff::Timestamp;
use jiff::civil::Date;
use job::car::Car;
use job::fortnight;
use job::ids::{CarId, EntryId, Hash, PersonId};
use job::question::Report;
use job::shop::{Draft, Shop};
use job::what::What;
use serde::Serialize;

use crate::answer::{Answer, say};
use crate::file;
use crate::shop::{Everywhere, Missing, person};
use crate::stop::Stop;

/// Draft a fortnight report from the record; print it, keep it.
#[derive(Debug, Args)]
pub(crate) struct Reports {
    /// The car.
    id: CarId,
    /// Its first day, such as 2026-03-02; without it, the day after the last report, or 14 days back.
    #[arg(long, value_name = "DAY")]
    from: Option<Date>,
    /// Its last day; without it, today.
    #[arg(long, value_name = "DAY")]
    to: Option<Date>,
    /// A draft as this command prints it with --json, edited; days and range are those of the record all the same.
    #[arg(long, value_name = "FILE.json")]
    edited: Option<PathBuf>,
    /// Where its printed page goes; a file that stands there is replaced once the PDF is whole.
    #[arg(long, value_name = "FILE.pdf")]
    pdf: Option<PathBuf>,
    /// Keep it in the record, its printed page included.
    #[arg(long, requires = "by")]
    keep: bool,
    /// Who writes.
    #[arg(long, value_name = "NAME", requires = "keep")]
    by: Option<String>,
}

impl Reports {
    pub(crate) async fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        let shop = everywhere.shop(Missing::Refuse).await?;
        let zone = everywhere.zone()?;
        let car = shop.car(self.id).await?;
        let now = Timestamp::now();
        let to = self.to.unwrap_or_else(|| now.to_zoned(zone.clone()).date());
        let from = self.from.unwrap_or_else(|| fortnight::days(&car, to, &zone).0);
        if from > to {
            return Err(Stop::input(format!("--from: {from} comes after the last day, {to}; give an earlier one")));
        }
        let taught = shop.taught(car.id).await?;
        let mut report = fortnight::draft(&car, &taught.catalogue, from, to, &zone)?;
        if let Some(path) = &self.edited {
            let edited: Report = file::json(path, "a report as \"guidecoat car report\" prints it with --json")?;
            let (range, pdf) = (report.range, Hash::NONE);
            report = Report { from, to, range, pdf, ..edited };
        }
        if self.pdf.is_none() && !self.keep {
            return say(&Made { report, entry: None }, everywhere.json);
        }
        let printed = web::print::report(&shop, &car, &report, &zone).await?;
        let mut entry = None;
        if self.keep {
            let by = person(&shop, self.by.as_deref().unwrap_or_default()).await?;
            let kept = keep(&shop, &car, by.id, EntryId::fresh(), (report, &printed), now).await;
            let about = self.edited.as_deref().map(file::name);
            let kept = kept.map_err(|stop| about.iter().fold(stop, |stop, about| stop.about(about)))?;
            (report, entry) = (kept.0, Some(kept.1));
        }
        if let Some(path) = &self.pdf {
            file::write(path, &printed)?;
        }
        say(&Made { report, entry }, everywhere.json)
    }
}

/// Keeps a report with its printed page; gives it as kept, and its place.
///
/// # Errors
/// When it cannot be kept.
pub(crate) async fn keep(
    shop: &Shop,
    car: &Car,
    by: PersonId,
    entry: EntryId,
    (report, printed): (Report, &[u8]),
    now: Timestamp,
) -> Result<(Report, u64), Stop> {
    let report = Report { pdf: shop.keep_file(printed).await?, ..report };
    let what = What::Reported(report.clone());
    let draft = Draft { entry, base: None, by, noted: None, corrects: None, keep_both: false, what };
    Ok((report, shop.keep(car.id, &draft, now).await?.seq))
}

/// The report itself, and where it was kept.
#[derive(Debug, Serialize)]
struct Made {
    #[serde(flatten)]
    report: Report,
    entry: Option<u64>,
}

impl Answer for Made {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let report = &self.report;
        writeln!(out, "{} to {}: {}", report.from, report.to, report.says)?;
        let parts = [
            ("done", &report.done),
            ("found", &report.found),
            ("changed", &report.changed),
            ("need your answer by", &report.need),
            ("next", &report.next),
        ];
        for (name, lines) in parts.into_iter().filter(|(_, lines)| !lines.is_empty()) {
            writeln!(out, "{name}")?;
            lines.iter().try_for_each(|line| writeln!(out, "  {line}"))?;
        }
        match self.entry {
            Some(entry) => writeln!(out, "kept as entry {entry}"),
            None => writeln!(out, "a draft; nothing was kept"),
        }
    }
}
