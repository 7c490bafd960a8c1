//! Questions to the owner: drafted from what was found, kept, sent, changed, taken back.

use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Subcommand;
use jiff::civil::Date;
use jiff::{Span, Timestamp};
use job::ask::{
    self,
    colour::{Asking, Candidate, usual_waits},
};
use job::car::Car;
use job::ids::{CarId, EntryId, Hash};
use job::paintwork;
use job::question::{Choice, Question, Standing, Thread};
use job::shop::{Draft, Shop};
use job::validate::instance;
use job::what::{What, Withdrawn};
use serde::Serialize;

use crate::answer::{Answer, columns, row, say};
use crate::file;
use crate::shop::{Everywhere, Missing, person};
use crate::stop::Stop;

/// Questions to the owner.
#[derive(Debug, Subcommand)]
pub(crate) enum Questions {
    /// Every question of a car and where it stands.
    List {
        /// The car.
        id: CarId,
    },
    /// Print a question drafted from what was found, as JSON to be edited; nothing is kept.
    Draft {
        /// The car.
        id: CarId,
        /// The zones it is about, such as Z03.L; the first one carries the hours.
        #[arg(required_unless_present = "recipe", value_name = "ZONE")]
        zones: Vec<String>,
        /// For a question about the colour, in place of zones: the number of a recipe's entry; two to four times.
        #[arg(long, value_name = "ENTRY", conflicts_with = "zones")]
        recipe: Vec<u64>,
    },
    /// Keep a question, as a draft or sent.
    Keep {
        /// The car.
        id: CarId,
        /// The question as JSON, as a draft is printed.
        #[arg(value_name = "FILE.json")]
        file: PathBuf,
        /// Who writes.
        #[arg(long, value_name = "NAME")]
        by: String,
        /// Put it on the owner's page.
        #[arg(long)]
        send: bool,
        /// The number of the question of which this is a new version; both stay in the record.
        #[arg(long, value_name = "NUMBER")]
        changes: Option<usize>,
    },
    /// Take a question back; it stays in the record, struck through.
    Withdraw {
        /// The car.
        id: CarId,
        /// Its number within the car.
        number: usize,
        /// Why, in words.
        #[arg(long, value_name = "WORDS")]
        why: String,
        /// Who writes.
        #[arg(long, value_name = "NAME")]
        by: String,
    },
}

impl Questions {
    pub(crate) async fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        let shop = everywhere.shop(Missing::Refuse).await?;
        match self {
            Self::List { id } => say(&Listed::of(&*shop.car(id).await?), everywhere.json),
            Self::Draft { id, zones, recipe } => {
                let today = Timestamp::now().to_zoned(everywhere.zone()?).date();
                let car = shop.car(id).await?;
                if !recipe.is_empty() {
                    return say(&Drafted(of_colour(&shop, &car, &recipe, today).await?), everywhere.json);
                }
                if let Some(unknown) = zones.iter().find(|zone| instance(&car.details, zone).is_none()) {
                    return Err(Stop::input(format!(
                        "\"{unknown}\" is not a zone of this car; write one such as Z03.L or Z52, as \"guidecoat forecast odds\" lists them"
                    )));
                }
                let question = ask::draft(&car, shop.catalogue(), &zones, today);
                let question = question.ok_or_else(|| Stop::input("the shop's catalogue has none of these zones"))?;
                say(&Drafted(question), everywhere.json)
            }
            Self::Keep { id, file, by, send, changes } => {
                let question = Question { sent: send, ..read(&file)? };
                let car = shop.car(id).await?;
                let corrects = changes.map(|number| latest(&thread(&car, number)?)).transpose()?;
                let kept = keep(&shop, &car, &by, corrects, What::Asked(question)).await;
                let kept = kept.map_err(|stop| stop.about(&file::name(&file)))?;
                say(&Kept::of(&shop, id, kept, changes).await?, everywhere.json)
            }
            Self::Withdraw { id, number, why, by } => {
                let car = shop.car(id).await?;
                let entry = latest(&thread(&car, number)?)?;
                let kept = keep(&shop, &car, &by, None, What::Withdrawn(Withdrawn { entry, why })).await?;
                say(&Kept::of(&shop, id, kept, Some(number)).await?, everywhere.json)
            }
        }
    }
}

/// How long an owner has for a colour, in days; the day can be changed in the file.
const DAYS_TO_CHOOSE: i64 = 14;

/// A question about the colour: these recipes, each with the last card that was sprayed from it.
async fn of_colour(shop: &Shop, car: &Car, recipes: &[u64], today: Date) -> Result<Question, Stop> {
    let mut chosen = Vec::new();
    for seq in recipes {
        let found = paintwork::recipes(car).into_iter().find(|(entry, _)| entry.seq == *seq);
        let (entry, _) = found.ok_or_else(|| {
            let known = paintwork::recipes(car);
            let known: Vec<String> =
                known.iter().map(|(entry, recipe)| format!("{} ({})", entry.seq, recipe.name)).collect();
            let known = if known.is_empty() { "none yet".into() } else { known.join(", ") };
            Stop::input(format!("--recipe: entry {seq} is no recipe of this car that counts; there are: {known}"))
        })?;
        let card = paintwork::cards_of(car, entry.id).last().map(|(card, _)| card.id);
        chosen.push((entry.id, card));
    }
    let serves = car.told(|what| match what {
        What::ColourServes(serves) => Some(serves.serves.clone()),
        _ => None,
    });
    let asking = Asking {
        candidates: candidates(shop, car, &chosen).await?,
        by: today.saturating_add(Span::new().days(DAYS_TO_CHOOSE)),
        waits: usual_waits(),
        serves: serves.into_iter().next_back().map(|(_, serves)| serves).unwrap_or_default(),
        photographs: Vec::new(),
    };
    ask::colour::draft(car, &asking).map_err(|e| Stop::input(format!("--recipe: {e}")))
}

/// Recipes to choose from, each with its card and with what is known of it beside the car's year.
///
/// # Errors
/// When a recipe's toners cannot be read.
pub(crate) async fn candidates(
    shop: &Shop,
    car: &Car,
    chosen: &[(EntryId, Option<EntryId>)],
) -> Result<Vec<Candidate>, Stop> {
    let mut candidates = Vec::new();
    for (id, card) in chosen {
        let mut era = None;
        if let Some((_, recipe)) = paintwork::recipe_of(car, *id)
            && let Some((_, shelved)) = paintwork::shelf_of(car, recipe.shelf)
        {
            let on_file = shop.shelf(shelved).await?;
            let found = job::era::of_recipe(shop.catalogue(), &on_file, recipe, car.details.year);
            era = Some(found.map_err(Stop::failed)?);
        }
        candidates.push(Candidate { recipe: *id, card: *card, era });
    }
    Ok(candidates)
}

/// The question with this number.
///
/// # Errors
/// When the car has none.
pub(super) fn thread(car: &Car, number: usize) -> Result<Thread<'_>, Stop> {
    let threads = car.threads();
    let known = match threads.len() {
        0 => "it has none yet: guidecoat car question draft".to_string(),
        1 => "it has question 1".to_string(),
        most => format!("it has questions 1 to {most}"),
    };
    let found = threads.into_iter().find(|thread| thread.number == number);
    found.ok_or_else(|| Stop::input(format!("this car has no question {number}; {known}")))
}

fn latest(thread: &Thread<'_>) -> Result<EntryId, Stop> {
    let (entry, _) = thread.latest().ok_or_else(|| Stop::failed("a question without a version"))?;
    Ok(entry.id)
}

/// Keeps an entry; gives its place.
async fn keep(shop: &Shop, car: &Car, by: &str, corrects: Option<EntryId>, what: What) -> Result<u64, Stop> {
    let by = person(shop, by).await?.id;
    let entry = EntryId::fresh();
    let draft = Draft { entry, base: Some(car.count), by, noted: None, corrects, keep_both: false, what };
    Ok(shop.keep(car.id, &draft, Timestamp::now()).await?.seq)
}

/// A question from a file.
fn read(path: &Path) -> Result<Question, Stop> {
    file::json(path, "a question as \"guidecoat car question draft\" prints it")
}

/// A draft for editing: JSON in either case, in lines unless one value is asked for.
#[derive(Debug, Serialize)]
#[serde(transparent)]
struct Drafted(Question);

impl Answer for Drafted {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        serde_json::to_writer_pretty(&mut *out, &self.0)?;
        writeln!(out)
    }
}

#[derive(Debug, Serialize)]
struct Kept {
    car: CarId,
    number: usize,
    entry: u64,
    standing: &'static str,
    events: u64,
    head: Hash,
}

impl Kept {
    async fn of(shop: &Shop, id: CarId, entry: u64, number: Option<usize>) -> Result<Self, Stop> {
        let car = shop.car(id).await?;
        let threads = car.threads();
        let kept = threads.iter().find(|thread| match number {
            Some(number) => thread.number == number,
            None => thread.versions.iter().any(|(version, _)| version.seq == entry),
        });
        let kept = kept.ok_or_else(|| Stop::failed("the question was kept and cannot be found"))?;
        let standing = words(kept.standing());
        Ok(Self { car: id, number: kept.number, entry, standing, events: car.count, head: car.head })
    }
}

impl Answer for Kept {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        columns(out, &[row!["question", "stands", "entry"], row![self.number, self.standing, self.entry]])
    }
}

fn words(standing: Standing) -> &'static str {
    match standing {
        Standing::Draft => "draft",
        Standing::Open => "open",
        Standing::Answered => "answered",
        Standing::Withdrawn => "taken back",
    }
}

#[derive(Debug, Serialize)]
struct Listed {
    car: CarId,
    questions: Vec<One>,
}

#[derive(Debug, Serialize)]
struct One {
    number: usize,
    standing: &'static str,
    waits: bool,
    entry: u64,
    versions: Vec<u64>,
    question: Option<Question>,
    answers: Vec<Given>,
    wrote: Vec<u64>,
}

#[derive(Debug, Serialize)]
struct Given {
    entry: u64,
    at: Timestamp,
    by: String,
    way: &'static str,
    choice: Option<String>,
    title: Option<String>,
    words: String,
    stands: bool,
}

impl Listed {
    fn of(car: &Car) -> Self {
        Self { car: car.id, questions: car.threads().iter().map(One::of).collect() }
    }
}

impl One {
    fn of(thread: &Thread<'_>) -> Self {
        let stands = thread.answer().map(|(entry, _)| entry.seq);
        let answers = thread.answers.iter().map(|(entry, answer)| Given {
            entry: entry.seq,
            at: entry.when(),
            by: entry.by.name.clone(),
            way: answer.way.key(),
            choice: answer.choice.clone(),
            title: answer.chosen().map(|choice: &Choice| choice.title.clone()),
            words: answer.words.clone(),
            stands: stands == Some(entry.seq),
        });
        Self {
            number: thread.number,
            standing: words(thread.standing()),
            waits: thread.blocks(),
            entry: thread.latest().map_or(0, |(entry, _)| entry.seq),
            versions: thread.versions.iter().map(|(entry, _)| entry.seq).collect(),
            question: thread.latest().map(|(_, question)| question.clone()),
            answers: answers.collect(),
            wrote: thread.wrote.iter().map(|(entry, _)| entry.seq).collect(),
        }
    }
}

impl Answer for Listed {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.questions.is_empty() {
            return writeln!(out, "The owner has not been asked anything yet: guidecoat car question draft");
        }
        let mut rows = vec![row!["question", "stands", "by", "zones", "answer", "asks"]];
        rows.extend(self.questions.iter().map(|one| {
            let (by, zones, asks) = one.question.as_ref().map_or_else(Default::default, |question| {
                (question.by.to_string(), question.zones.join(" "), question.ask.clone())
            });
            let stands = one.answers.iter().find(|answer| answer.stands);
            let answer = stands.map_or_else(String::new, |answer| match (&answer.choice, &answer.title) {
                (Some(key), Some(title)) => format!("{key}: {title}"),
                _ => "none of these".into(),
            });
            row![one.number, one.standing, by, zones, answer, asks]
        }));
        columns(out, &rows)
    }
}
