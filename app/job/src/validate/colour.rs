//! What can be kept of the way to the car's colour: a brief, a sampled picture, the question, what it is for.

use colour::brief::Place;

use super::mixing::{self, refers};
use super::owner::{RECIPES, count};
use super::{FieldError, LONG, SHORT, number, short, text};
use crate::car::Car;
use crate::ids::EntryId;
use crate::mixing::{Briefed, Serve};
use crate::paintwork::{briefs, is_same};
use crate::question::Question;
use crate::what::{SampledArea, What};

/// The most parts that one colour may have to serve.
const MOST_SERVES: usize = 60;

pub(super) fn brief(errors: &mut Vec<FieldError>, brief: &Briefed, car: Option<&Car>) {
    text(errors, "name", &brief.name, SHORT, true);
    text(errors, "why", &brief.why, LONG, false);
    for (place, said) in brief.words.iter().enumerate() {
        number(errors, "words", said.what.words(), said.how_much, (0.0, 1.0), "");
        if brief.words.iter().take(place).any(|other| other.what == said.what) {
            let say = format!("\"{}\" comes twice", said.what.words());
            errors.push(FieldError::new("words", say, "Say it once, by the amount that is meant."));
        }
    }
    mixing::brief(errors, &brief.brief);
    mixing::doubts(errors, &brief.doubts);
    let Some(car) = car else { return };
    let before = errors.len();
    refers(errors, car, "donor", brief.donor, "colour_measured");
    for (field, other) in [("face_of", brief.face_of), ("flop_of", brief.flop_of)] {
        if let Some(other) = other {
            refers(errors, car, field, other, "colour_measured");
        }
    }
    // What is kept must be a wish that a search can be given, today and in a year.
    if errors.len() == before
        && let Err(why) = briefs::wish(car, brief)
    {
        errors.push(FieldError::new("edits", why.to_string(), "Change less, or only angles that were measured."));
    }
}

pub(super) fn areas(errors: &mut Vec<FieldError>, areas: &[SampledArea]) {
    if areas.len() > Place::ALL.len() {
        let say = format!("{} areas of a picture came with it", areas.len());
        errors.push(FieldError::new("areas", say, "One each of face, flash and flop is taken."));
    }
    for area in areas.iter().take(Place::ALL.len()) {
        if area.place.parse::<Place>().is_err() {
            let say = format!("\"{}\" is no place on a panel", short(&area.place));
            errors.push(FieldError::new("areas", say, "One of face, flash, flop."));
        }
        for (name, value) in [("place from the left", area.x), ("place from the top", area.y), ("radius", area.radius)]
        {
            number(errors, "areas", name, value, (0.0, 1.0), "");
        }
        for value in area.rgb.into_iter().chain([area.spread]) {
            number(errors, "areas", "colour of an area", value, (0.0, 255.0), "");
        }
    }
}

pub(super) fn serves(errors: &mut Vec<FieldError>, serves: &[Serve], needed: bool) {
    if serves.len() > MOST_SERVES || needed && serves.is_empty() {
        let say = format!("the colour is for {} parts of the car", serves.len());
        errors.push(FieldError::new("serves", say, format!("Name 1 to {MOST_SERVES} zones or parts.")));
    }
    for (place, serve) in serves.iter().enumerate().take(MOST_SERVES) {
        text(errors, "serves", &serve.part, SHORT, true);
        if serves.iter().take(place).any(|other| other.part == serve.part && other.on == serve.on) {
            let say = format!("\"{}\" comes twice on the same day", short(&serve.part));
            errors.push(FieldError::new("serves", say, "Name each part once, or give it two days."));
        }
    }
}

/// What only a question about the colour has, and what it has not.
pub(super) fn question(errors: &mut Vec<FieldError>, question: &Question, car: Option<&Car>) {
    if !question.zones.is_empty() {
        let say = format!("the question is about the colour and names {} zones", question.zones.len());
        errors.push(FieldError::new("zones", say, "Name none: the parts that the colour is for stand beside it."));
    }
    if let Some(say) = count(question.options.len(), RECIPES) {
        errors.push(FieldError::new("options", say, "Give the owner two to four recipes to choose from."));
    }
    serves(errors, &question.serves, false);
    let mut named: Vec<EntryId> = Vec::new();
    for option in question.options.iter().take(*RECIPES.end()) {
        let key = short(&option.key);
        let Some(id) = option.recipe else {
            let say = format!("option {key} names no recipe, and others do");
            errors.push(FieldError::new("recipe", say, "Name a recipe in each option, or in none."));
            continue;
        };
        let twice = |other: &EntryId| *other == id || car.is_some_and(|car| is_same(car, *other, id));
        if named.iter().any(twice) {
            let say = format!("option {key} names a recipe that another option names");
            errors.push(FieldError::new("recipe", say, "Offer each recipe once."));
        }
        named.push(id);
        let Some(car) = car else { continue };
        let recipe = refers(errors, car, "recipe", id, "recipe");
        let card = option.card.and_then(|card| refers(errors, car, "card", card, "card"));
        if let (Some(_), Some(What::Carded(card))) = (recipe, card.map(|entry| &entry.what))
            && !is_same(car, card.recipe, id)
        {
            let say = format!("the card of option {key} was sprayed from another recipe");
            errors.push(FieldError::new("card", say, "Choose a card of that recipe, or none."));
        }
    }
}
