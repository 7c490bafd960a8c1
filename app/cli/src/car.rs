//! Cars: opening, listing, export and import, the check of a record, the dossier; what goes to the owner.

mod brief;
mod colour;
mod hours;
pub(crate) mod link;
pub(crate) mod question;
mod reply;
pub(crate) mod report;

use std::io::{self, BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use job::body::BodyStyle;
use job::chain::Verdict;
use job::details::{Aim, CarDetails, Climate, Fitted, History, Kept};
use job::ids::{CarId, Hash};
use job::parcel::Parcel;
use job::shop::Shop;
use serde::Serialize;

use crate::answer::{Answer, columns, row, say};
use crate::file::{self, Part};
use crate::key::keyed;
use crate::shop::{Everywhere, Missing, person, wait};
use crate::stop::Stop;

/// Cars and their records.
#[derive(Debug, Subcommand)]
pub(crate) enum Car {
    /// Open a car: the first entry of a new record.
    New(New),
    /// Every car of the shop.
    List,
    /// Write a whole car as one ZIP of open files.
    Export {
        /// The car.
        id: CarId,
        /// Where the ZIP goes; a file that stands there is replaced once the ZIP is whole.
        #[arg(value_name = "FILE.zip")]
        file: PathBuf,
    },
    /// Take a car in from a ZIP.
    Import {
        /// The ZIP.
        #[arg(value_name = "FILE.zip")]
        file: PathBuf,
    },
    /// Check a record: every link, every text, every picture.
    Verify {
        /// A ZIP, or a car of this shop.
        #[arg(value_name = "FILE.zip|ID")]
        what: String,
        /// A head hash printed earlier, which the record must still hold.
        #[arg(long, value_name = "HASH")]
        head: Option<Hash>,
    },
    /// Print the dossier of a car as PDF.
    Dossier {
        /// The car.
        id: CarId,
        /// Where the PDF goes; a file that stands there is replaced once the PDF is whole.
        #[arg(value_name = "FILE.pdf")]
        file: PathBuf,
        /// The time that is printed as "printed at", such as 2026-03-02T09:10:00Z; without it, now.
        #[arg(long, value_name = "TIME")]
        at: Option<Timestamp>,
    },
    /// Questions to the owner.
    #[command(subcommand)]
    Question(question::Questions),
    /// Write down an answer that came by telephone, by mail or in person.
    Answer(reply::Reply),
    /// Links to the owner's page of one car.
    #[command(subcommand)]
    Link(link::Links),
    /// Draft a fortnight report from the record; print it, keep it.
    Report(report::Reports),
    /// Put down hours that were worked.
    Hours(hours::Hours),
    /// Keep a brief: what is wanted of a measured paint and what is not.
    Brief(brief::Brief),
    /// The colour: what the owner chose, what waits for it, what it is for, and the briefs.
    Colour(colour::Colour),
    /// Put down the parts and days that the colour must serve, in place of what was put down before.
    Serves(colour::Serves),
}

/// What is known of a car before anybody looks.
#[derive(Debug, Args)]
pub(crate) struct New {
    /// What the shop calls it.
    #[arg(long)]
    title: String,
    /// The body style.
    #[arg(long, value_parser = body(), default_value = "two_door_closed")]
    body: String,
    /// The year it was built.
    #[arg(long)]
    year: u16,
    /// The climate it lived in.
    #[arg(long, value_parser = keyed!(Climate))]
    climate: Climate,
    /// Where it was kept.
    #[arg(long, value_parser = keyed!(Kept))]
    kept: Kept,
    /// What is fitted; may be given again.
    #[arg(long, value_parser = keyed!(Fitted), value_delimiter = ',')]
    fitted: Vec<Fitted>,
    /// What the job is for.
    #[arg(long, value_parser = keyed!(Aim))]
    aim: Aim,
    /// What is known of its life; may be given again.
    #[arg(long, value_parser = keyed!(History), value_delimiter = ',', value_name = "KEY")]
    history: Vec<History>,
    /// Hours the owner has in mind for metal.
    #[arg(long, value_name = "HOURS", allow_negative_numbers = true)]
    budget_h: Option<f64>,
    /// The stop-and-ask limit: a single finding of more hours goes to the owner first.
    #[arg(long, value_name = "HOURS", allow_negative_numbers = true)]
    ask_over_h: Option<f64>,
    /// Anything else.
    #[arg(long, default_value = "")]
    note: String,
    /// Who writes.
    #[arg(long, value_name = "NAME")]
    by: String,
}

fn body() -> impl clap::builder::TypedValueParser<Value = String> {
    let styles = BodyStyle::ALL.iter().map(|s| clap::builder::PossibleValue::new(s.id()).help(s.name()));
    clap::builder::PossibleValuesParser::new(styles)
}

impl Car {
    pub(crate) fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        wait(async {
            match self {
                Self::New(new) => say(&new.open(&everywhere.shop(Missing::Make).await?).await?, everywhere.json),
                Self::List => say(&list(&everywhere.shop(Missing::Refuse).await?).await?, everywhere.json),
                Self::Export { id, file } => {
                    say(&export(&everywhere.shop(Missing::Refuse).await?, id, &file).await?, everywhere.json)
                }
                Self::Import { file } => {
                    let reader = BufReader::new(file::open(&file)?);
                    let shop = everywhere.shop(Missing::Make).await?;
                    let taken = shop.import(reader, &file::name(&file)).await?;
                    say(&Taken { car: taken.car, events: taken.events, new: taken.new }, everywhere.json)
                }
                Self::Verify { what, head } => verify(everywhere, &what, head).await,
                Self::Dossier { id, file, at } => {
                    let shop = everywhere.shop(Missing::Refuse).await?;
                    let at = at.unwrap_or_else(Timestamp::now);
                    say(&dossier(&shop, &everywhere.zone()?, id, &file, at).await?, everywhere.json)
                }
                Self::Question(command) => command.run(everywhere).await,
                Self::Answer(command) => command.run(everywhere).await,
                Self::Link(command) => command.run(everywhere).await,
                Self::Report(command) => command.run(everywhere).await,
                Self::Hours(command) => command.run(everywhere).await,
                Self::Brief(command) => command.run(everywhere).await,
                Self::Colour(command) => command.run(everywhere).await,
                Self::Serves(command) => command.run(everywhere).await,
            }
        })
    }
}

impl New {
    async fn open(self, shop: &Shop) -> Result<Opened, Stop> {
        let by = person(shop, &self.by).await?;
        let details = CarDetails {
            title: self.title,
            body: self.body,
            year: self.year,
            climate: self.climate,
            kept: self.kept,
            fitted: self.fitted.into_iter().collect(),
            aim: self.aim,
            history: self.history.into_iter().collect(),
            budget_h: self.budget_h,
            ask_over_h: self.ask_over_h,
            rates: None,
            note: self.note,
            invented: false,
        };
        let car = shop.open_car(details, by.id, Timestamp::now()).await?;
        let opened = shop.car(car).await?;
        Ok(Opened { car, events: opened.count, head: opened.head })
    }
}

#[derive(Debug, Serialize)]
struct Opened {
    car: CarId,
    events: u64,
    head: Hash,
}

impl Answer for Opened {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(out, &[row!["car", "entries", "head"], row![self.car, self.events, self.head]])
    }
}

#[derive(Debug, Serialize)]
struct Cars {
    cars: Vec<Listed>,
}

#[derive(Debug, Serialize)]
struct Listed {
    car: CarId,
    title: String,
    body: String,
    year: Option<u16>,
    stage: String,
    events: u64,
    head: Option<Hash>,
    invented: bool,
    broken: Option<String>,
}

async fn list(shop: &Shop) -> Result<Cars, Stop> {
    let mut cars = Vec::new();
    for (car, read) in shop.cars().await? {
        cars.push(match read {
            Ok(read) => Listed {
                car,
                title: read.details.title.clone(),
                body: read.details.body.clone(),
                year: Some(read.details.year),
                stage: read.stage.key().into(),
                events: read.count,
                head: Some(read.head),
                invented: read.details.invented,
                broken: None,
            },
            // A car whose record is broken is still listed: it is the one somebody has to hear about.
            Err(e) => Listed {
                car,
                title: String::new(),
                body: String::new(),
                year: None,
                stage: String::new(),
                events: 0,
                head: None,
                invented: false,
                broken: Some(e.to_string()),
            },
        });
    }
    Ok(Cars { cars })
}

impl Answer for Cars {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.cars.is_empty() {
            return writeln!(out, "There is no car in this shop yet: guidecoat car new");
        }
        let mut rows = vec![row!["title", "year", "stage", "entries", "car"]];
        rows.extend(self.cars.iter().map(|c| {
            let title = if c.invented { format!("{} (invented)", c.title) } else { c.title.clone() };
            let title = c.broken.clone().unwrap_or(title);
            row![title, c.year.map(|y| y.to_string()).unwrap_or_default(), c.stage, c.events, c.car]
        }));
        columns(out, &rows)
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct Exported {
    car: CarId,
    file: String,
    pub(crate) events: u64,
    pub(crate) head: Hash,
}

/// Writes a car's ZIP, whole or not at all.
pub(crate) async fn export(shop: &Shop, id: CarId, path: &Path) -> Result<Exported, Stop> {
    // Asked first, so that a car that is not there leaves no file behind, not even for a moment.
    shop.car(id).await?;
    let mut part = Part::begin(path)?;
    let out = shop.export(id, BufWriter::new(part.take()?)).await?;
    part.keep(out.into_inner().map_err(|e| Stop::failed(format!("{}: {e}", file::name(path))))?)?;
    // What went out is read back, since somebody may have written meanwhile.
    let mut parcel = Parcel::open(BufReader::new(file::open(path)?), &file::name(path))?;
    let verdict = parcel.verify(None)?;
    Ok(Exported { car: id, file: file::name(path), events: verdict.events, head: verdict.head })
}

impl Answer for Exported {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(out, &[row!["file", "entries", "head"], row![self.file, self.events, self.head]])
    }
}

#[derive(Debug, Serialize)]
struct Taken {
    car: CarId,
    events: u64,
    new: u64,
}

impl Answer for Taken {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(out, &[row!["car", "entries", "of them new"], row![self.car, self.events, self.new]])
    }
}

#[derive(Debug, Serialize)]
struct Verified {
    events: u64,
    head: Hash,
    intact: bool,
    broken_at: Option<u64>,
    why: Option<String>,
}

async fn verify(everywhere: &Everywhere, what: &str, head: Option<Hash>) -> Result<(), Stop> {
    let verdict = match what.parse::<CarId>() {
        Ok(id) => everywhere.shop(Missing::Refuse).await?.verify(id, head).await?,
        Err(_) => Parcel::open(BufReader::new(file::open(Path::new(what))?), what)?.verify(head)?,
    };
    let Verdict { events, head, broken } = verdict;
    let answer = Verified {
        events,
        head,
        intact: broken.is_none(),
        broken_at: broken.as_ref().map(|b| b.at),
        why: broken.as_ref().map(|b| b.why.clone()),
    };
    say(&answer, everywhere.json)?;
    broken.map_or(Ok(()), |b| Err(Stop::Broken(format!("{what}: the record is broken at entry {}: {}", b.at, b.why))))
}

impl Answer for Verified {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let verdict = match self.broken_at {
            None => "intact".to_string(),
            Some(at) => format!("broken at entry {at}"),
        };
        columns(out, &[row!["record", "entries", "head"], row![verdict, self.events, self.head]])
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct Printed {
    car: CarId,
    file: String,
    bytes: u64,
    events: u64,
    head: Hash,
}

/// Writes a car's dossier, whole or not at all.
pub(crate) async fn dossier(
    shop: &Shop,
    zone: &TimeZone,
    id: CarId,
    path: &Path,
    at: Timestamp,
) -> Result<Printed, Stop> {
    let pdf = web::print::dossier(shop, id, zone, at).await?;
    let car = shop.car(id).await?;
    file::write(path, &pdf)?;
    Ok(Printed { car: id, file: file::name(path), bytes: pdf.len() as u64, events: car.count, head: car.head })
}

impl Answer for Printed {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(out, &[row!["file", "bytes", "entries", "head"], row![self.file, self.bytes, self.events, self.head]])
    }
}
