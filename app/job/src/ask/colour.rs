//! The question about the colour: recipes to choose from, drafted in an owner's words, with the day by which one
//! must be chosen.

use colour::{Illuminant, Measurement, Observer, ciede2000, hue_name, travel};
use jiff::civil::Date;

use crate::car::Car;
use crate::era::{Era, Was};
use crate::ids::EntryId;
use crate::mixing::{Carded, Formulated, Serve};
use crate::paintwork::{self, Told, briefs, engine};
use crate::question::{Choice, Hours, Question};

/// The letters of the options; also how many recipes can be offered.
const LETTERS: [&str; 4] = ["A", "B", "C", "D"];
/// The most characters of a title, of what an option means or risks, and of what is told above the options: what
/// an entry takes.
const TITLE: usize = 120;
const MEANS: usize = 1_000;
const FOUND: usize = 2_000;
/// The most remarks on the car's year that one option tells; the others stand on the recipe's page.
const REMARKS: usize = 3;
/// Chroma below which a colour is called a grey, and lightness below and over which it is called dark and light
/// (our choice).
const GREY_CHROMA: f64 = 6.0;
const DARK_L: f64 = 35.0;
const LIGHT_L: f64 = 70.0;

/// A recipe that the owner can choose.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// Its entry.
    pub recipe: EntryId,
    /// The entry of a card that was sprayed from it, if there is one.
    pub card: Option<EntryId>,
    /// What is known of it beside the car's year, if somebody looked.
    pub era: Option<Era>,
}

/// What a question about the colour is drafted from.
#[derive(Debug, Clone)]
pub struct Asking {
    /// Two to four recipes, in the order in which they are offered.
    pub candidates: Vec<Candidate>,
    /// The day by which the colour must be decided.
    pub by: Date,
    /// What waits for it; see [`usual_waits`].
    pub waits: Vec<String>,
    /// The parts and days that the colour must serve.
    pub serves: Vec<Serve>,
    /// Entries of photographs that go with it: of cards, in daylight.
    pub photographs: Vec<EntryId>,
}

/// Why no question can be drafted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotDrafted {
    /// Too few recipes for a question, or too many.
    #[error("{0} recipes were chosen: two to four can be offered")]
    Count(usize),
    /// A recipe that is not there.
    #[error("a recipe that was chosen is not in this car's record, or was taken out")]
    NoRecipe,
    /// A card that is not there, or belongs to another recipe.
    #[error("a card that was chosen is not in this car's record, was taken out, or belongs to another recipe")]
    NoCard,
}

/// What usually waits for the colour. Common practice, no source.
pub fn usual_waits() -> Vec<String> {
    ["Mixing the colour for the outside", "Colour and clear on every outside panel", "The grey of the last primer"]
        .map(String::from)
        .to_vec()
}

/// Drafts a question about the colour. Every word can be changed before it is sent.
///
/// # Errors
/// When fewer than two or more than four recipes are offered, or one of them or its card is not there.
pub fn draft(car: &Car, asking: &Asking) -> Result<Question, NotDrafted> {
    if !(2..=LETTERS.len()).contains(&asking.candidates.len()) {
        return Err(NotDrafted::Count(asking.candidates.len()));
    }
    let mut options = Vec::new();
    let mut carded = 0;
    for (key, candidate) in LETTERS.into_iter().zip(&asking.candidates) {
        let recipe = paintwork::recipe_of(car, candidate.recipe).ok_or(NotDrafted::NoRecipe)?;
        let card = candidate.card.map(|id| card_of(car, id, recipe)).transpose()?;
        carded += usize::from(card.is_some());
        let wish = briefs::wish_of_recipe(car, recipe.1).ok().map(|brief| brief.wish.target);
        options.push(Choice {
            key: key.into(),
            title: cut(&recipe.1.name, TITLE),
            means: cut(&means(recipe.1, card, wish.as_ref(), candidate.era.as_ref()), MEANS),
            risks: cut(&risks(recipe.1, card, candidate.era.as_ref()), MEANS),
            // The same coats of the same kind, whatever the hue.
            hours: Hours { low: 0.0, likely: 0.0, high: 0.0 },
            recipe: Some(recipe.0.id),
            card: card.map(|(entry, _)| entry.id),
        });
    }
    Ok(Question {
        zones: Vec::new(),
        finding: None,
        ask: "Which of these colours shall the car have?".into(),
        found: cut(&found(car, asking, carded), FOUND),
        photographs: asking.photographs.clone(),
        options,
        by: asking.by,
        waits: asking.waits.clone(),
        serves: asking.serves.clone(),
        sent: false,
    })
}

fn card_of<'a>(car: &'a Car, id: EntryId, recipe: Told<'_, Formulated>) -> Result<Told<'a, Carded>, NotDrafted> {
    let card = paintwork::card_of(car, id).ok_or(NotDrafted::NoCard)?;
    if paintwork::is_same(car, card.1.recipe, recipe.0.id) { Ok(card) } else { Err(NotDrafted::NoCard) }
}

/// What was wished for, and what stands below it to choose from.
fn found(car: &Car, asking: &Asking, carded: usize) -> String {
    let mut sentences = Vec::new();
    let mut told: Vec<u64> = Vec::new();
    for candidate in &asking.candidates {
        let recipe = paintwork::recipe_of(car, candidate.recipe);
        let Some((entry, brief)) =
            recipe.and_then(|(_, recipe)| recipe.briefed).and_then(|id| paintwork::brief_of(car, id))
        else {
            continue;
        };
        if told.contains(&entry.seq) {
            continue;
        }
        told.push(entry.seq);
        let from = paintwork::target_of(car, brief.donor).map_or("a measured paint", |(_, donor)| donor.name.as_str());
        let said: Vec<&str> = brief.words.iter().filter(|s| s.how_much > 0.0).map(|s| s.what.words()).collect();
        sentences.push(match said.as_slice() {
            [] if brief.brief.edits.is_empty() => format!("Wished for: {from} as it is."),
            [] => format!("Wished for: {from}, changed by hand."),
            _ => format!("Wished for: {from}, but {}.", said.join(", ")),
        });
        if !brief.why.trim().is_empty() {
            sentences.push(sentence(&brief.why));
        }
    }
    let count = asking.candidates.len();
    sentences.push(format!("{} recipes come near it; each is described below.", number(count)));
    sentences.push(match carded {
        0 => "No card has been sprayed yet: what a screen or a print shows is worked out, and no proof of a paint."
            .into(),
        n if n == count => {
            "A card was sprayed of each: look at the cards in daylight and by lamp light; a screen is no proof.".into()
        }
        1 => {
            "A card was sprayed of one of them: look at it in daylight and by lamp light; a screen is no proof.".into()
        }
        n => format!(
            "Cards were sprayed of {} of them: look at those in daylight and by lamp light; a screen is no proof.",
            number(n)
        ),
    });
    sentences.join(" ")
}

/// What the colour is, how near it comes to the wish, what it is made of, and what is known of it.
fn means(recipe: &Formulated, card: Option<Told<'_, Carded>>, wish: Option<&Measurement>, era: Option<&Era>) -> String {
    let mut sentences = Vec::new();
    if let Ok(predicted) = engine::predicted(recipe) {
        sentences.push(look(&predicted));
    }
    sentences.push(format!(
        "It differs from the wish by {:.1} on average, as predicted: {}.",
        recipe.mean_de00,
        difference(recipe.mean_de00)
    ));
    let toners = match recipe.parts.len() {
        1 => "one toner".into(),
        n => format!("{n} toners"),
    };
    let coats = match recipe.coats {
        1 => "one coat".into(),
        n => format!("{n} coats"),
    };
    sentences.push(format!("Mixed of {toners}, over the primer {}, in {coats}.", recipe.primer));
    if let Some((_, card)) = card {
        let measured = engine::carded(card).ok().zip(wish).and_then(|(card, wish)| mean_de00(&card, wish));
        sentences.push(match measured {
            Some(de00) => format!(
                "A card was sprayed and measured ({}): it differs from the wish by {de00:.1} on average.",
                card.name
            ),
            None => format!("A card was sprayed and measured ({}).", card.name),
        });
    }
    if let Some(era) = era {
        let rare: Vec<&str> = era
            .notes
            .iter()
            .filter(|n| matches!(n.what, Was::NotYet(_)))
            .map(|n| n.item.as_str())
            .take(REMARKS)
            .collect();
        sentences.push(match rare.as_slice() {
            [] => format!("Nothing that is known of it came later than a car of {}.", era.year),
            items => format!("Not there on a car of {}: {}.", era.year, items.join("; ")),
        });
    }
    sentences.join(" ")
}

/// What can go otherwise than the owner expects.
fn risks(recipe: &Formulated, card: Option<Told<'_, Carded>>, era: Option<&Era>) -> String {
    let mut sentences: Vec<String> = Vec::new();
    sentences.push(if card.is_some() {
        "A card is small and flat: on the car light, size and the gun move the colour a little.".into()
    } else {
        "No card has been sprayed: what the picture shows may be off.".into()
    });
    if recipe.mean_de00 >= 1.5 {
        sentences.push("Beside the paint that it was wished from, the difference is seen.".into());
    }
    for note in era.into_iter().flat_map(Era::against).filter(|n| !n.softened_by.is_empty()).take(REMARKS) {
        sentences.push(format!("For its age: {}. What softens that: {}.", item(note), note.softened_by));
    }
    if let Some(unknown) = era.and_then(Era::unknown_words) {
        sentences.push(unknown);
    }
    sentences.join(" ")
}

fn item(note: &crate::era::Note) -> String {
    format!("{} {}", note.item, note.what.words())
}

/// "In daylight a light orange in the face; towards the flop it goes darker by 43 and travels 62 degrees towards
/// violet."
fn look(predicted: &Measurement) -> String {
    let Ok(travel) = travel(predicted, Illuminant::D65, Observer::Deg10) else {
        return "It was predicted at too few angles to say what it does from face to flop.".into();
    };
    let face = travel.face_lab;
    let light = match face.l {
        l if l < DARK_L => "dark ",
        l if l > LIGHT_L => "light ",
        _ => "",
    };
    let hue = if face.chroma() < GREY_CHROMA { "grey" } else { hue_name(face.hue_deg()) };
    let words = travel.words();
    format!("By daylight the face is {light}{hue}; towards the flop it {words}.")
}

/// What a mean CIEDE2000 means on a car, by the limits that the colour sheets use. Common practice, no source.
fn difference(mean_de00: f64) -> &'static str {
    match mean_de00 {
        d if d < 0.8 => "hardly to be seen",
        d if d < 1.5 => "to be seen side by side by those who look for it",
        d if d < 3.0 => "seen side by side",
        _ => "another colour than was wished for",
    }
}

/// Mean CIEDE2000 over the angles that both have (D65, 10 degrees); none when they share none.
fn mean_de00(one: &Measurement, other: &Measurement) -> Option<f64> {
    let labs = one.labs(Illuminant::D65, Observer::Deg10);
    let with = other.labs(Illuminant::D65, Observer::Deg10);
    let shared: Vec<f64> = labs
        .iter()
        .filter_map(|(geometry, lab)| {
            let (_, other) = with.iter().find(|(g, _)| g == geometry)?;
            Some(ciede2000(*lab, *other))
        })
        .collect();
    (!shared.is_empty()).then(|| shared.iter().sum::<f64>() / shared.len() as f64)
}

fn number(count: usize) -> &'static str {
    match count {
        2 => "Two",
        3 => "Three",
        _ => "Four",
    }
}

fn sentence(text: &str) -> String {
    let text = text.trim();
    if text.ends_with(['.', '!', '?']) { text.to_owned() } else { format!("{text}.") }
}

fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut kept: String = text.chars().take(most - 1).collect();
    kept.push('\u{2026}');
    kept
}
