//! The colour that the owner chose, what it is for, and what waits while none is chosen.

use jiff::Timestamp;
use jiff::civil::Date;

use super::{Told, card_of, corrections_of, recipe};
use crate::car::{Car, Entry};
use crate::ids::EntryId;
use crate::mixing::{Carded, Formulated, Serve};
use crate::question::{Answer, Choice, Question, Thread};
use crate::what::What;

/// How long a chain of corrections is followed.
const LONGEST_CHAIN: usize = 200;

/// The questions about the colour of the car, in the order in which they were begun.
pub fn colour_questions(car: &Car) -> Vec<Thread<'_>> {
    let of_colour = |thread: &Thread<'_>| thread.latest().is_some_and(|(_, question)| question.is_of_colour());
    car.threads().into_iter().filter(of_colour).collect()
}

/// What became of a recipe since it was chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Since {
    /// It stands as it was chosen.
    AsChosen,
    /// It was corrected in the record: what stands is not word for word what the owner saw.
    Corrected,
    /// It was taken out of the record.
    TakenOut,
}

impl Since {
    /// The words a person reads; nothing where nothing happened.
    pub fn words(self) -> &'static str {
        match self {
            Self::AsChosen => "",
            Self::Corrected => "the recipe was corrected in the record since the owner chose it",
            Self::TakenOut => "the recipe was taken out of the record since the owner chose it: ask again",
        }
    }
}

/// The colour of the car, as the owner chose it.
#[derive(Debug, Clone)]
pub struct CarColour<'a> {
    /// The number of the question.
    pub number: usize,
    /// The entry of the answer.
    pub answered: &'a Entry,
    /// The answer, with exactly what was shown.
    pub answer: &'a Answer,
    /// The option that was chosen.
    pub choice: &'a Choice,
    /// The recipe: as it stands now, and as it was chosen when it was taken out.
    pub recipe: Told<'a, Formulated>,
    /// What became of it since.
    pub since: Since,
    /// What is to be mixed: the last recipe that corrects the chosen one from its cards, else that itself.
    pub now: Told<'a, Formulated>,
    /// The primer below it, by its name on the shelf.
    pub primer: &'a str,
    /// The card that was shown with it, if there was one and it still counts.
    pub card: Option<Told<'a, Carded>>,
    /// When it was decided.
    pub decided: Timestamp,
    /// The parts and days that it must serve, as they stand now.
    pub serves: Vec<Serve>,
}

/// The colour of the car: what the last answer about it chose.
///
/// Of several questions about the colour the one answered last counts. An answer that chose none decides
/// nothing, nor does one to a question that was taken back or asked anew since.
pub fn car_colour(car: &Car) -> Option<CarColour<'_>> {
    let mut best: Option<CarColour<'_>> = None;
    for thread in colour_questions(car) {
        let Some((answered, answer)) = thread.answer().filter(|_| !thread.is_withdrawn()) else { continue };
        let Some(choice) = answer.chosen() else { continue };
        let Some(id) = choice.recipe else { continue };
        if best.as_ref().is_some_and(|best| best.answered.seq > answered.seq) {
            continue;
        }
        let Some((told, since)) = chosen(car, id) else { continue };
        best = Some(CarColour {
            number: thread.number,
            answered,
            answer,
            choice,
            recipe: told,
            since,
            now: corrected(car, told),
            primer: told.1.primer.as_str(),
            card: choice.card.and_then(|card| card_of(car, card)),
            decided: answered.when(),
            serves: serves(car, answered, answer),
        });
    }
    best
}

fn chosen(car: &Car, id: EntryId) -> Option<(Told<'_, Formulated>, Since)> {
    let named = car.entry_by_id(id)?;
    let (entry, since) = match car.standing(id) {
        Some(entry) if entry.seq == named.seq => (entry, Since::AsChosen),
        Some(entry) => (entry, Since::Corrected),
        None => (named, Since::TakenOut),
    };
    Some(((entry, recipe(&entry.what)?), since))
}

/// The last recipe of those that correct this one from its cards.
fn corrected<'a>(car: &'a Car, told: Told<'a, Formulated>) -> Told<'a, Formulated> {
    let mut now = told;
    let mut seen = vec![told.0.seq];
    while let Some(next) = corrections_of(car, now.0.id).into_iter().next_back() {
        // A correction in the record can make a recipe follow its own successor.
        if seen.len() == LONGEST_CHAIN || seen.contains(&next.0.seq) {
            break;
        }
        seen.push(next.0.seq);
        now = next;
    }
    now
}

/// What the colour is for: what was told since the answer, else what stood beside the question, else what was
/// told before.
fn serves(car: &Car, answered: &Entry, answer: &Answer) -> Vec<Serve> {
    let told = car.told(|what| match what {
        What::ColourServes(serves) => Some(&serves.serves),
        _ => None,
    });
    let shown = &answer.shown.question.serves;
    match told.last() {
        Some((entry, serves)) if entry.seq > answered.seq || shown.is_empty() => (*serves).clone(),
        _ => shown.clone(),
    }
}

/// A question about the colour that is not decided, with its date: work that needs the colour waits for it.
#[derive(Debug, Clone, Copy)]
pub struct ColourWaits<'a> {
    /// The number of the question.
    pub number: usize,
    /// The entry of its last version.
    pub entry: &'a Entry,
    /// Its last version.
    pub question: &'a Question,
    /// The day by which the colour must be decided.
    pub by: Date,
    /// The work that waits, a line each.
    pub waits: &'a [String],
    /// Whether the owner was asked; false while it is a draft.
    pub sent: bool,
}

impl ColourWaits<'_> {
    /// How many days are left, today excluded; below nothing when the day is past.
    pub fn days_left(&self, today: Date) -> i32 {
        // Days of civil dates: no more than some millions, and never a fraction.
        self.by.since((jiff::Unit::Day, today)).map_or(0, |span| span.get_days())
    }

    /// Whether the day is past.
    pub fn is_past(&self, today: Date) -> bool {
        today > self.by
    }

    /// One line of plain words.
    pub fn say(&self, today: Date) -> String {
        let day = self.by.strftime("%-d %B %Y");
        let when = match self.days_left(today) {
            0 => "today".into(),
            1 => "1 day left".into(),
            -1 => "1 day past".into(),
            days if days < 0 => format!("{} days past", -days),
            days => format!("{days} days left"),
        };
        let asked = if self.sent { "" } else { "; the owner has not been asked yet" };
        format!("Waits for the colour: question {}, to be decided by {day} ({when}){asked}", self.number)
    }
}

/// What waits for the owner's choice of a colour: of several open questions the one with the earliest day.
///
/// A question whose answer chose none goes on waiting.
pub fn colour_waits(car: &Car) -> Option<ColourWaits<'_>> {
    colour_questions(car).iter().filter_map(waits).min_by_key(|waits| (waits.by, waits.number))
}

fn waits<'a>(thread: &Thread<'a>) -> Option<ColourWaits<'a>> {
    let (entry, question) = thread.latest().filter(|_| thread.blocks())?;
    let sent = thread.asked().is_some();
    Some(ColourWaits { number: thread.number, entry, question, by: question.by, waits: &question.waits, sent })
}
