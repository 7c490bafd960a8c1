//! The colour of a car as its record tells it: shelves, briefs, recipes and their corrections, batches, cards.
//!
//! Entries name each other by identifier. A name that was corrected since leads to the correction; one that
//! was taken out leads nowhere. Lists stand in the order in which the entries count. What crosses to the
//! colour engine and back is in [`engine`]; cards that teach the toners something are in [`again`], what is
//! wished of a measured paint in [`briefs`], what the owner chose in [`decided`].

pub mod again;
pub mod briefs;
pub mod decided;
pub mod engine;
pub mod preview;

use crate::body::Instance;
use crate::car::{Car, Entry};
use crate::ids::EntryId;
use crate::mixing::{Briefed, Carded, Formulated, Mixed, Shelved};
use crate::validate::instance;
use crate::what::{Measured, What};

/// An entry of a kind, with what it holds.
pub type Told<'a, T> = (&'a Entry, &'a T);

/// How long a chain of corrections is followed; nobody corrects a colour so often.
const LONGEST_CHAIN: usize = 200;

/// The shelves that count, the latest first.
pub fn shelves(car: &Car) -> Vec<Told<'_, Shelved>> {
    let mut all = car.told(shelf);
    all.reverse();
    all
}

/// The shelf in use: the latest that counts.
pub fn shelf_in_use(car: &Car) -> Option<Told<'_, Shelved>> {
    shelves(car).into_iter().next()
}

/// The paints that a recipe can be found for, in order.
pub fn targets(car: &Car) -> Vec<Told<'_, Measured>> {
    car.told(|what| match what {
        What::Measured(measured) => Some(measured),
        _ => None,
    })
}

/// The briefs that count, in order.
pub fn briefs(car: &Car) -> Vec<Told<'_, Briefed>> {
    car.told(brief)
}

/// The brief that stands for this entry, as corrected in the record since.
pub fn brief_of(car: &Car, id: EntryId) -> Option<Told<'_, Briefed>> {
    let entry = car.standing(id)?;
    Some((entry, brief(&entry.what)?))
}

/// The recipes that were found for this brief, in order.
pub fn recipes_of_brief(car: &Car, id: EntryId) -> Vec<Told<'_, Formulated>> {
    let of_it = |recipe: &Formulated| recipe.briefed.is_some_and(|briefed| is_same(car, briefed, id));
    recipes(car).into_iter().filter(|(_, recipe)| of_it(recipe)).collect()
}

/// The recipes that count, in order.
pub fn recipes(car: &Car) -> Vec<Told<'_, Formulated>> {
    car.told(recipe)
}

/// The cards that count, in order.
pub fn cards(car: &Car) -> Vec<Told<'_, Carded>> {
    car.told(card)
}

/// The recipe that stands for this entry, as corrected in the record since.
pub fn recipe_of(car: &Car, id: EntryId) -> Option<Told<'_, Formulated>> {
    let entry = car.standing(id)?;
    Some((entry, recipe(&entry.what)?))
}

/// The card that stands for this entry.
pub fn card_of(car: &Car, id: EntryId) -> Option<Told<'_, Carded>> {
    let entry = car.standing(id)?;
    Some((entry, card(&entry.what)?))
}

/// The shelf that stands for this entry.
pub fn shelf_of(car: &Car, id: EntryId) -> Option<Told<'_, Shelved>> {
    let entry = car.standing(id)?;
    Some((entry, shelf(&entry.what)?))
}

/// The measured paint that stands for this entry.
pub fn target_of(car: &Car, id: EntryId) -> Option<Told<'_, Measured>> {
    let entry = car.standing(id)?;
    match &entry.what {
        What::Measured(measured) => Some((entry, measured)),
        _ => None,
    }
}

/// Whether two identifiers name versions of one entry that still counts.
pub fn is_same(car: &Car, one: EntryId, other: EntryId) -> bool {
    car.standing(one).is_some_and(|entry| car.standing(other).is_some_and(|with| with.seq == entry.seq))
}

/// The recipe from its first form on to this one: each corrects the one before it.
pub fn chain(car: &Car, id: EntryId) -> Vec<Told<'_, Formulated>> {
    let mut chain: Vec<Told<'_, Formulated>> = Vec::new();
    let mut next = recipe_of(car, id);
    while let Some((entry, recipe)) = next {
        // A correction in the record can make a recipe follow its own successor.
        if chain.len() == LONGEST_CHAIN || chain.iter().any(|(other, _)| other.seq == entry.seq) {
            break;
        }
        chain.push((entry, recipe));
        next = recipe.after.and_then(|before| recipe_of(car, before));
    }
    chain.reverse();
    chain
}

/// Every colour with its recipes: the first one and what corrected it, in order.
pub fn lines(car: &Car) -> Vec<Vec<Told<'_, Formulated>>> {
    let mut lines: Vec<(u64, Vec<Told<'_, Formulated>>)> = Vec::new();
    for (entry, recipe) in recipes(car) {
        let first = chain(car, entry.id).first().map_or(entry.seq, |(first, _)| first.seq);
        match lines.iter_mut().find(|(other, _)| *other == first) {
            Some((_, line)) => line.push((entry, recipe)),
            None => lines.push((first, vec![(entry, recipe)])),
        }
    }
    lines.into_iter().map(|(_, line)| line).collect()
}

/// The recipes that correct this one.
pub fn corrections_of(car: &Car, id: EntryId) -> Vec<Told<'_, Formulated>> {
    let after = |recipe: &Formulated| recipe.after.is_some_and(|before| is_same(car, before, id));
    recipes(car).into_iter().filter(|(_, recipe)| after(recipe)).collect()
}

/// The cards that were sprayed from this recipe.
pub fn cards_of(car: &Car, recipe: EntryId) -> Vec<Told<'_, Carded>> {
    cards(car).into_iter().filter(|(_, card)| is_same(car, card.recipe, recipe)).collect()
}

/// The batches that were mixed from this recipe, additions to a pot included.
pub fn batches_of(car: &Car, recipe: EntryId) -> Vec<Told<'_, Mixed>> {
    car.told(mixed).into_iter().filter(|(_, batch)| is_same(car, batch.recipe, recipe)).collect()
}

/// One pot: a batch, and what was added to it later.
#[derive(Debug, Clone)]
pub struct Batch<'a> {
    /// Its number within the car, from 1.
    pub number: usize,
    /// Its entry.
    pub entry: &'a Entry,
    /// What was weighed out first.
    pub mixed: &'a Mixed,
    /// Its recipe; `None` when that was taken out.
    pub recipe: Option<Told<'a, Formulated>>,
    /// What was added to the pot later, in order.
    pub additions: Vec<Told<'a, Mixed>>,
    /// The cards sprayed from it, in order.
    pub cards: Vec<Told<'a, Carded>>,
}

impl Batch<'_> {
    /// What is in the pot, in g by toner, the binder included, in the order in which it first went in.
    pub fn pot_g(&self) -> Vec<(String, f64)> {
        let mut pot: Vec<(String, f64)> = Vec::new();
        let additions = self.additions.iter().map(|(_, added)| *added);
        for step in std::iter::once(self.mixed).chain(additions).flat_map(|batch| &batch.steps) {
            match pot.iter_mut().find(|(toner, _)| *toner == step.toner) {
                Some((_, grams)) => *grams += step.grams(),
                None => pot.push((step.toner.clone(), step.grams())),
            }
        }
        pot
    }
}

/// Every batch that counts, in order, additions with the pot they went into.
pub fn batches(car: &Car) -> Vec<Batch<'_>> {
    let all = car.told(mixed);
    let into = |batch: &Mixed| batch.into.and_then(|id| car.standing(id)).map(|entry| entry.seq);
    let mut batches: Vec<Batch<'_>> = Vec::new();
    for (entry, batch) in &all {
        if let Some(pot) = into(batch)
            && let Some(pot) = batches.iter_mut().find(|known| holds(known, pot))
        {
            pot.additions.push((entry, batch));
            continue;
        }
        let number = batches.len() + 1;
        let recipe = recipe_of(car, batch.recipe);
        batches.push(Batch { number, entry, mixed: batch, recipe, additions: Vec::new(), cards: Vec::new() });
    }
    for (entry, card) in cards(car) {
        let of = card.batch.and_then(|id| car.standing(id)).map(|batch| batch.seq);
        if let Some(batch) = of.and_then(|seq| batches.iter_mut().find(|batch| holds(batch, seq))) {
            batch.cards.push((entry, card));
        }
    }
    batches
}

/// Whether a pot was begun with this entry, or got it as an addition.
fn holds(batch: &Batch<'_>, seq: u64) -> bool {
    batch.entry.seq == seq || batch.additions.iter().any(|(entry, _)| entry.seq == seq)
}

/// Every part of the car that was painted, in words, with the numbers of the batches that it was painted from.
pub fn batches_by_part(car: &Car) -> Vec<(String, Vec<usize>)> {
    let mut parts: Vec<(String, Vec<usize>)> = Vec::new();
    for batch in batches(car) {
        let additions = batch.additions.iter().flat_map(|(_, added)| &added.parts_of_car);
        for part in batch.mixed.parts_of_car.iter().chain(additions) {
            let words = part_words(car, part);
            match parts.iter_mut().find(|(known, _)| *known == words) {
                Some((_, numbers)) if numbers.contains(&batch.number) => {}
                Some((_, numbers)) => numbers.push(batch.number),
                None => parts.push((words, vec![batch.number])),
            }
        }
    }
    parts
}

/// A part of the car in words: the name of a zone instance, else as it was typed.
pub fn part_words(car: &Car, part: &str) -> String {
    instance(&car.details, part).map_or_else(|| part.trim().to_owned(), Instance::name)
}

/// The master cards, with where each is kept, in order.
pub fn masters(car: &Car) -> Vec<(&Entry, &Carded, &str)> {
    let kept = |(entry, card)| Some((entry, card, Carded::master(card)?));
    cards(car).into_iter().filter_map(kept).collect()
}

/// Two cards of one recipe, to see how far it drifted.
#[derive(Debug, Clone, Copy)]
pub struct Watched<'a> {
    /// The card that the later ones are held against: the master card, else the first.
    pub reference: Told<'a, Carded>,
    /// A card sprayed later.
    pub later: Told<'a, Carded>,
}

/// Each later card of a recipe beside the one it is held against.
pub fn watched(car: &Car) -> Vec<Watched<'_>> {
    let mut all = Vec::new();
    for (entry, _) in recipes(car) {
        let cards = cards_of(car, entry.id);
        let master = cards.iter().find(|(_, card)| card.master().is_some());
        let Some(reference) = master.or(cards.first()).copied() else { continue };
        let later = cards.into_iter().filter(|(entry, _)| entry.seq > reference.0.seq);
        all.extend(later.map(|later| Watched { reference, later }));
    }
    all
}

fn shelf(what: &What) -> Option<&Shelved> {
    match what {
        What::Shelved(shelf) => Some(shelf),
        _ => None,
    }
}

fn brief(what: &What) -> Option<&Briefed> {
    match what {
        What::Briefed(brief) => Some(brief),
        _ => None,
    }
}

fn recipe(what: &What) -> Option<&Formulated> {
    match what {
        What::Formulated(recipe) => Some(recipe),
        _ => None,
    }
}

fn mixed(what: &What) -> Option<&Mixed> {
    match what {
        What::Mixed(batch) => Some(batch),
        _ => None,
    }
}

fn card(what: &What) -> Option<&Carded> {
    match what {
        What::Carded(card) => Some(card),
        _ => None,
    }
}
