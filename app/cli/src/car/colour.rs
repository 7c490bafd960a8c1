//! The colour of a car: what the owner chose, what waits while nothing is chosen, and what it is for.

use std::io::{self, Write};

use clap::Args;
use jiff::Timestamp;
use jiff::civil::Date;
use job::car::Car;
use job::ids::{CarId, EntryId, Hash};
use job::mixing::{ColourServes, Formulated, Serve};
use job::paintwork::decided::{CarColour, car_colour, colour_waits};
use job::paintwork::{self, Told};
use job::shop::{Draft, Shop};
use job::what::What;
use serde::Serialize;

use crate::answer::{Answer, columns, row, say};
use crate::shop::{Everywhere, Missing, person};
use crate::stop::Stop;

/// The colour of a car.
#[derive(Debug, Args)]
pub(crate) struct Colour {
    /// The car.
    id: CarId,
}

impl Colour {
    pub(crate) async fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        let today = Timestamp::now().to_zoned(everywhere.zone()?).date();
        let car = everywhere.shop(Missing::Refuse).await?.car(self.id).await?;
        say(&Standing::of(&car, today), everywhere.json)
    }
}

/// Put down the parts and days that the colour must serve, in place of what was put down before.
#[derive(Debug, Args)]
pub(crate) struct Serves {
    /// The car.
    id: CarId,
    /// A zone instance or a part in words, and the day on which it is to be sprayed where that is fixed, such as
    /// "boot lid=2026-05-20"; may be given again.
    #[arg(long, value_name = "PART=DAY", required = true, value_parser = part)]
    part: Vec<Serve>,
    /// Anything else.
    #[arg(long, default_value = "")]
    note: String,
    /// Who writes.
    #[arg(long, value_name = "NAME")]
    by: String,
}

fn part(text: &str) -> Result<Serve, String> {
    let (part, on) = match text.rsplit_once('=') {
        Some((part, day)) => {
            let day = day.trim();
            let on: Date = day.parse().map_err(|_| format!("\"{day}\" is no day; write it as 2026-05-20"))?;
            (part, Some(on))
        }
        None => (text, None),
    };
    Ok(Serve { part: part.trim().to_owned(), on })
}

impl Serves {
    pub(crate) async fn run(self, everywhere: &Everywhere) -> Result<(), Stop> {
        say(&self.keep(&everywhere.shop(Missing::Refuse).await?).await?, everywhere.json)
    }

    async fn keep(self, shop: &Shop) -> Result<Kept, Stop> {
        let by = person(shop, &self.by).await?.id;
        let serves = self.part.clone();
        let what = What::ColourServes(ColourServes { serves: self.part, note: self.note });
        let draft =
            Draft { entry: EntryId::fresh(), base: None, by, noted: None, corrects: None, keep_both: false, what };
        let kept = shop.keep(self.id, &draft, Timestamp::now()).await?;
        Ok(Kept { car: self.id, entry: kept.seq, serves, head: shop.car(self.id).await?.head })
    }
}

#[derive(Debug, Serialize)]
struct Kept {
    car: CarId,
    entry: u64,
    serves: Vec<Serve>,
    head: Hash,
}

impl Answer for Kept {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "entry {}", self.entry)?;
        columns(out, &parts(&self.serves))
    }
}

fn parts(serves: &[Serve]) -> Vec<Vec<String>> {
    let mut rows = vec![row!["part", "day"]];
    rows.extend(serves.iter().map(|serve| row![serve.part, serve.on.map(|on| on.to_string()).unwrap_or_default()]));
    rows
}

/// What was decided, and what waits.
#[derive(Debug, Serialize)]
struct Standing {
    car: CarId,
    decided: Option<Decided>,
    waits: Option<Waits>,
    briefs: Vec<Briefed>,
}

#[derive(Debug, Serialize)]
struct Decided {
    question: usize,
    option: String,
    title: String,
    recipe: u64,
    name: String,
    /// The recipe to be mixed: the last correction of the one that was chosen.
    mix: u64,
    primer: String,
    card: Option<u64>,
    at: Timestamp,
    since: &'static str,
    serves: Vec<Serve>,
}

#[derive(Debug, Serialize)]
struct Waits {
    question: usize,
    entry: u64,
    by: Date,
    days_left: i32,
    sent: bool,
    waits: Vec<String>,
    say: String,
}

#[derive(Debug, Serialize)]
struct Briefed {
    entry: u64,
    name: String,
    words: Vec<String>,
    why: String,
    recipes: Vec<u64>,
}

impl Standing {
    fn of(car: &Car, today: Date) -> Self {
        let waits = colour_waits(car).map(|waits| Waits {
            question: waits.number,
            entry: waits.entry.seq,
            by: waits.by,
            days_left: waits.days_left(today),
            sent: waits.sent,
            waits: waits.waits.to_vec(),
            say: waits.say(today),
        });
        let briefs = paintwork::briefs(car).into_iter().map(|(entry, brief)| Briefed {
            entry: entry.seq,
            name: brief.name.clone(),
            words: brief.words.iter().map(|said| format!("{} {}", said.what.words(), said.how_much)).collect(),
            why: brief.why.clone(),
            recipes: paintwork::recipes_of_brief(car, entry.id).iter().map(|(recipe, _)| recipe.seq).collect(),
        });
        Self { car: car.id, decided: car_colour(car).as_ref().map(Decided::of), waits, briefs: briefs.collect() }
    }
}

impl Decided {
    fn of(colour: &CarColour<'_>) -> Self {
        let seq = |told: &Told<'_, Formulated>| told.0.seq;
        Self {
            question: colour.number,
            option: colour.choice.key.clone(),
            title: colour.choice.title.clone(),
            recipe: seq(&colour.recipe),
            name: colour.recipe.1.name.clone(),
            mix: seq(&colour.now),
            primer: colour.primer.to_owned(),
            card: colour.card.map(|(entry, _)| entry.seq),
            at: colour.decided,
            since: colour.since.words(),
            serves: colour.serves.clone(),
        }
    }
}

impl Answer for Standing {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        match &self.decided {
            Some(decided) => {
                writeln!(
                    out,
                    "The colour: {} (entry {}), over {}, chosen as option {} of question {} on {}",
                    decided.name,
                    decided.recipe,
                    decided.primer,
                    decided.option,
                    decided.question,
                    decided.at.strftime("%-d %B %Y")
                )?;
                if decided.mix != decided.recipe {
                    writeln!(out, "To be mixed: entry {}, corrected from its cards since", decided.mix)?;
                }
                if !decided.since.is_empty() {
                    writeln!(out, "But {}", decided.since)?;
                }
                if !decided.serves.is_empty() {
                    columns(out, &parts(&decided.serves))?;
                }
            }
            None => writeln!(out, "The owner has not chosen a colour yet.")?,
        }
        if let Some(waits) = &self.waits {
            writeln!(out, "{}", waits.say)?;
            waits.waits.iter().try_for_each(|work| writeln!(out, "  {work}"))?;
        }
        for brief in &self.briefs {
            let recipes: Vec<String> = brief.recipes.iter().map(u64::to_string).collect();
            let recipes = if recipes.is_empty() { "none yet".into() } else { recipes.join(", ") };
            writeln!(
                out,
                "Brief {} (entry {}): {}; recipes {recipes}",
                brief.name,
                brief.entry,
                brief.words.join(", ")
            )?;
        }
        Ok(())
    }
}
