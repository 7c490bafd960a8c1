//! The colour as it was decided, or what waits for it.

use jiff::Timestamp;
use job::car::Car;
use job::colour::preview::Scene;
use job::paintwork::decided::{CarColour, Since, car_colour, colour_waits};
use job::paintwork::preview::{Subject, Wanted};
use job::shop::{Shop, ShopError};

use super::{Papers, colour, upper};
use crate::panel::PanelPicture;
use crate::view::{DecidedPage, Fact};

/// The lights and turns of the panel, as on the owner's page.
const VIEWS: [(Scene, f64, &str); 4] = [
    (Scene::Sun, 0.0, "Sun, face"),
    (Scene::Sun, 45.0, "Sun, flop"),
    (Scene::Overcast, 0.0, "Overcast sky, face"),
    (Scene::Overcast, 45.0, "Overcast sky, flop"),
];

/// The pictures of the recipe that was chosen; why there are none; nothing while none was chosen.
pub(super) type Panels = Option<Result<Vec<PanelPicture>, String>>;

/// Works out the paint of the recipe that was chosen, as it was chosen, in every light.
pub(super) async fn panels(shop: &Shop, car: &Car) -> Result<Panels, ShopError> {
    let Some(colour) = car_colour(car) else { return Ok(None) };
    let named = colour.choice.recipe.and_then(|id| car.entry_by_id(id)).unwrap_or(colour.recipe.0);
    let wanted = Wanted { subject: Subject::Recipe(named.seq), over: None, less: false };
    let mut panels = Vec::new();
    for (scene, turn_deg, words) in VIEWS {
        match shop.painted(car, &wanted, scene).await {
            Ok(painted) => panels.push(PanelPicture { painted, turn_deg, words: words.into() }),
            Err(why @ (ShopError::Preview(_) | ShopError::Shelf(_))) => return Ok(Some(Err(why.to_string()))),
            Err(why) => return Err(why),
        }
    }
    Ok(Some(Ok(panels)))
}

/// The page; nothing while nobody was asked and nothing is decided.
pub(super) fn page(papers: &Papers<'_>, panels: Panels, now: Timestamp) -> Option<DecidedPage> {
    let car = papers.car;
    let today = now.to_zoned(papers.zone.clone()).date();
    let waits = colour_waits(car).map(|waits| format!("{}.", waits.say(today)));
    let Some(decided) = car_colour(car) else {
        return Some(DecidedPage {
            says: waits?,
            facts: Vec::new(),
            pictures: Vec::new(),
            no_picture: String::new(),
            lines: colour_waits(car).map(|waits| waits.waits.to_vec()).unwrap_or_default(),
            warnings: Vec::new(),
        });
    };
    let (pictures, no_picture) = match panels {
        Some(Ok(pictures)) => (pictures, String::new()),
        Some(Err(why)) => (Vec::new(), upper(&format!("{why}."))),
        None => (Vec::new(), String::new()),
    };
    let mut warnings: Vec<String> = pictures
        .first()
        .map(|one| one.painted.warnings.iter().map(|w| upper(&format!("{}.", w.what.trim_end_matches('.')))).collect())
        .unwrap_or_default();
    if decided.since != Since::AsChosen {
        warnings.push(format!("{}.", upper(decided.since.words())));
    }
    warnings.extend(waits);
    Some(DecidedPage {
        says: format!("{}, over {}.", decided.choice.title, decided.primer),
        facts: facts(papers, &decided),
        pictures,
        no_picture,
        lines: colour::serves(car, &decided.serves),
        warnings,
    })
}

fn facts(papers: &Papers<'_>, decided: &CarColour<'_>) -> Vec<Fact> {
    let (now, recipe) = decided.now;
    let corrected = now.seq != decided.recipe.0.seq;
    let question = &decided.answer.shown.question;
    let options: Vec<&str> = question.options.iter().map(|option| option.key.as_str()).collect();
    let fact = |label: &str, words: String| Fact { label: label.into(), words };
    let card = match decided.card {
        Some((entry, card)) => match card.master() {
            Some(place) => format!("{}, entry {}; sealed master card: {place}", card.name, entry.seq),
            None => format!("{}, entry {}", card.name, entry.seq),
        },
        None => "None had been sprayed, or it was taken out of the record since.".into(),
    };
    vec![
        fact("Recipe", format!("{}, entry {}", decided.recipe.1.name, decided.recipe.0.seq)),
        fact(
            "To be mixed",
            if corrected {
                format!("{}, entry {}: corrected from cards since", recipe.name, now.seq)
            } else {
                "As it was chosen.".into()
            },
        ),
        fact("Primer", decided.primer.into()),
        fact("Card", card),
        fact(
            "Decided",
            format!(
                "{}, {}, {}: {}. {}. Locked at entry {}.",
                papers.when(decided.decided),
                decided.answered.by.name,
                decided.answer.way.words(),
                decided.choice.key,
                decided.choice.title,
                decided.answered.seq
            ),
        ),
        fact(
            "What was shown",
            format!(
                "Question {}, options {}, each with its pictures worked out from the recipe as the record holds it, in \
                 sun and under an overcast sky, face and flop; the record then held {} entries.",
                decided.number,
                options.join(", "),
                decided.answer.shown.count
            ),
        ),
    ]
}
