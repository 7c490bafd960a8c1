//! Sprayed cards: what they say of a recipe, and what to change.
//!
//! A card differs from the prediction for two reasons that call for different answers. The gun: flakes lie
//! flatter or rougher and the film is thicker or thinner than meant, by chance, and the next card will
//! differ again. The model: the toners are not quite what was learned of them, and the next card will be
//! just as far off. [`correct`] first finds how much of the difference has the shape of the gun's doing,
//! weighing how much guns usually vary against how much models usually err; takes that out; and carries
//! the rest, as a factor by angle and wavelength, into a new solve on the same toners.
//!
//! Not done here: weighing out (`pour`), the search from nothing ([`crate::recipe`]).

mod average;
mod drift;
mod gun;
mod pot;
mod verdict;

use base::{Warning, math};

pub use drift::{Drift, drift};
pub use gun::GunCause;

use crate::film::{Bench, Gradient, Prediction};
use crate::geometry::Geometry;
use crate::measurement::Measurement;
use crate::recipe::{
    self, Aim, Goal, Limits, POLISH, Recipe, RecipeError, Solved, Solver, Wish, fit, hiding, prospects, spans,
};
use crate::shelf::{Mix, Part, Shelf, TonerKind};

/// A recipe that was sprayed, and its cards.
#[derive(Debug, Clone, Copy)]
pub struct Sprayed<'a> {
    /// The recipe's mix.
    pub mix: &'a Mix,
    /// The coats it was sprayed in, 1 or more.
    pub coats: u8,
    /// What is wanted.
    pub wish: &'a Wish,
    /// The cards, each sprayed and measured on its own; 1 to [`MOST_CARDS`].
    pub cards: &'a [Measurement],
    /// What the correction may not break.
    pub limits: &'a Limits,
    /// Grams in the pot, when the correction goes into it: over 0, at most a million.
    pub pot_g: Option<f64>,
}

/// Most cards in one correction.
pub const MOST_CARDS: usize = 50;

/// What to change after a card.
#[derive(Debug, Clone, PartialEq)]
pub struct Correction {
    /// The corrected recipe. Its prediction and differences include what the cards have taught.
    pub recipe: Recipe,
    /// Mean CIEDE2000 of the cards' average from the wish (D65, 10 degrees).
    pub card_de00: f64,
    /// What two cards of one pot differ by on average, where there are several.
    pub apart_de00: Option<f64>,
    /// Grams to add for each toner, binder being none; given for a pot that can be saved.
    pub add_to_pot_g: Option<Vec<(Option<usize>, f64)>>,
    /// What at the gun would explain the difference between the cards and what was expected of them.
    pub gun: Vec<GunCause>,
    /// What to do, in words.
    pub advice: Vec<String>,
    /// What is doubtful.
    pub warnings: Vec<Warning>,
}

/// Why nothing can be corrected.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CardError {
    /// No card, or too many.
    #[error("{found} cards: give 1 to {most}")]
    Cards {
        /// How many came.
        found: usize,
        /// The limit.
        most: usize,
    },
    /// Card and wish were measured at different angles.
    #[error("card {card} shares no angle with the wish: measure it with the instrument the target was measured with")]
    NoSharedAngle {
        /// Which, counted from 1.
        card: usize,
    },
    /// A pot of nothing.
    #[error("the pot holds {pot_g} g: it must be over 0, at most 1 000 000")]
    Pot {
        /// What came.
        pot_g: f64,
    },
    /// A film that is none.
    #[error("the recipe's film is {film_um} um: it must be 1 to 500")]
    Film {
        /// What came.
        film_um: f64,
    },
    /// No toner in the recipe, or more than can be solved for.
    #[error("the recipe has {found} toners: it must have 1 to {most}")]
    Parts {
        /// How many came.
        found: usize,
        /// The limit.
        most: usize,
    },
    /// A wish or limits that are none.
    #[error(transparent)]
    Recipe(#[from] RecipeError),
}

/// How far a fraction is held near where it was: CIEDE2000 for an e-fold (our choice). A film's load hardly
/// shows, so a small error of the model would otherwise be paid for with three times the toner.
const STAY: f64 = 0.3;
/// Mean difference under which no toner more is worth trying, and what one must gain.
const GOOD_DE00: f64 = 0.25;
const TONER_GAIN_DE00: f64 = 0.1;
/// Newcomers tried in earnest.
const NEWCOMERS: usize = 8;
/// The most that a card may change a prediction, as a factor either way.
const MOST_FACTOR: f64 = 3.0;
/// Added to card and prediction before their ratio is taken: an instrument's reading on nothing.
const NOTHING: f64 = 0.001;

/// Corrects a recipe from its cards.
///
/// # Errors
/// [`CardError`] when there is no card, none of its angles is wanted, or the recipe, the wish, the limits or
/// the pot are out of range.
pub fn correct(shelf: &Shelf, sprayed: &Sprayed<'_>) -> Result<Correction, CardError> {
    check(shelf, sprayed)?;
    let Sprayed { mix, wish, limits, .. } = *sprayed;
    let bench = Bench::new(shelf);
    let card = average::Average::of(wish, sprayed.cards);
    let mut warnings = card.warnings();

    let mut gradient = Gradient::default();
    bench.gradient_full(mix, &mut gradient);
    let flakes = has_flakes(shelf, mix);
    let gun = gun::Gun::read(&gradient, &expected(&gradient, wish, &card), &card, flakes);
    let learned = learned(&gradient, &gun, &card.measurement);

    let aim = Aim::new(wish);
    let ln: Vec<f64> = mix.parts.iter().map(|part| math::ln(part.fraction.max(limits.smallest_dose))).collect();
    let goal = Goal {
        bench: &bench,
        aim: &aim,
        max_load: limits.max_load.max(mix.load()),
        learned: Some(&learned),
        near: Some((&ln, STAY)),
    };
    let mut solver = Solver::default();
    let present = solver.judge(&goal, mix.clone());
    let mut best = solver.solve(&goal, mix.clone(), &spans(shelf, limits, mix), POLISH);
    if best.square > present.square {
        best = present;
    }
    let step = card.trust();
    for (part, ln) in best.mix.parts.iter_mut().zip(&ln) {
        part.fraction = math::exp(ln + step * (math::ln(part.fraction) - ln));
    }
    let mut best = solver.judge(&goal, best.mix);
    let mut advice = Vec::new();
    if let Some(with) = with_one_more(shelf, limits, &goal, &mut solver, &best) {
        let name = with.mix.parts.last().and_then(|p| shelf.toners().get(p.toner)).map_or("?", |t| t.name.as_str());
        advice.push(format!("the toners of the recipe alone do not get there: {name} comes in"));
        best = with;
    }
    let mut add_to_pot_g = None;
    if let Some(pot_g) = sprayed.pot_g {
        match pot::save(shelf, limits, &goal, &mut solver, mix, &best, pot_g) {
            Some((saved, add)) => {
                best = saved;
                add_to_pot_g = Some(add);
            }
            None => advice.push(format!(
                "nothing can be taken out of a pot, and adding up to {:.0} g to these {pot_g:.0} g does not \
                 bring it there: mix anew",
                pot_g * (pot::MOST_GROWTH - 1.0)
            )),
        }
    }
    let predicted = goal.predict(&best.mix);
    let hiding = hiding(shelf, &bench, &best.mix, sprayed.coats);
    let mut recipe = recipe::recipe_of(shelf, &bench, wish, best.mix, sprayed.coats, hiding);
    recipe.fit = fit(wish, &predicted);
    recipe.predicted = predicted;
    let present_de00 = fit(wish, &goal.predict(mix)).mean_de00;
    let (say, doubt) = verdict::verdict(&card, recipe.fit.mean_de00, present_de00, flakes);
    advice.extend(say);
    warnings.extend(doubt);
    Ok(Correction {
        card_de00: card.from_wish_de00,
        apart_de00: card.apart_de00,
        recipe,
        add_to_pot_g,
        gun: gun.causes(),
        advice,
        warnings,
    })
}

fn check(shelf: &Shelf, sprayed: &Sprayed<'_>) -> Result<(), CardError> {
    sprayed.wish.check()?;
    sprayed.limits.check(shelf)?;
    let found = sprayed.cards.len();
    if !(1..=MOST_CARDS).contains(&found) {
        return Err(CardError::Cards { found, most: MOST_CARDS });
    }
    let wanted = |g: &Geometry| sprayed.wish.target.at(*g).is_some();
    for (i, card) in sprayed.cards.iter().enumerate() {
        if !card.by_angle().iter().any(|(g, _)| wanted(g)) {
            return Err(CardError::NoSharedAngle { card: i + 1 });
        }
    }
    if let Some(pot_g) = sprayed.pot_g.filter(|pot_g| !(*pot_g > 0.0 && *pot_g <= 1e6)) {
        return Err(CardError::Pot { pot_g });
    }
    let mix = sprayed.mix;
    if !(1.0..=500.0).contains(&mix.film_um) {
        return Err(CardError::Film { film_um: mix.film_um });
    }
    if mix.parts.is_empty() || mix.parts.len() > recipe::MOST_IN_RECIPE {
        return Err(CardError::Parts { found: mix.parts.len(), most: recipe::MOST_IN_RECIPE });
    }
    if mix.substrate >= shelf.substrates().len() {
        let count = shelf.substrates().len();
        return Err(RecipeError::NoSuch { what: "primer", place: mix.substrate, count }.into());
    }
    for part in &mix.parts {
        if part.toner >= shelf.toners().len() {
            let count = shelf.toners().len();
            return Err(RecipeError::NoSuch { what: "toner", place: part.toner, count }.into());
        }
        if !(0.0..=1.0).contains(&part.fraction) || mix.load() > 1.0 {
            return Err(RecipeError::Fraction { toner: part.toner, fraction: part.fraction }.into());
        }
    }
    Ok(())
}

fn has_flakes(shelf: &Shelf, mix: &Mix) -> bool {
    mix.parts.iter().any(|p| shelf.toners().get(p.toner).is_some_and(|t| t.kind.is_flake()))
}

/// What the card should have looked like: the wish, or the prediction where that is nearer to the card, as
/// it is when the toners cannot reach the wish.
fn expected(gradient: &Gradient, wish: &Wish, card: &average::Average) -> Prediction {
    let mut wished = gradient.value;
    for (geometry, spectrum) in wish.target.by_angle() {
        wished[geometry.place()] = *spectrum.values();
    }
    let apart = |spectra: &Prediction| gun::apart(spectra, &card.measurement);
    if apart(&wished) < apart(&gradient.value) { wished } else { gradient.value }
}

/// The film as sprayed over the film as predicted, the gun's part taken out.
fn learned(gradient: &Gradient, gun: &gun::Gun, card: &Measurement) -> Prediction {
    let mut factors = [[1.0; 31]; 6];
    for (geometry, spectrum) in card.by_angle() {
        let at = geometry.place();
        for (i, factor) in factors[at].iter_mut().enumerate() {
            let predicted = gradient.value[at][i];
            let by_gun = gun.slope * gradient.by_ln_slope[at][i] + gun.film * gradient.by_ln_film[at][i];
            let as_sprayed = (predicted + by_gun).max(0.3 * predicted) + NOTHING;
            *factor = ((spectrum.values()[i] + NOTHING).max(0.2 * NOTHING) / as_sprayed)
                .clamp(1.0 / MOST_FACTOR, MOST_FACTOR);
        }
    }
    factors
}

/// The mix with one more toner, where that gains enough.
fn with_one_more(
    shelf: &Shelf,
    limits: &Limits,
    goal: &Goal<'_>,
    solver: &mut Solver,
    best: &Solved,
) -> Option<Solved> {
    let root = |solved: &Solved| solved.square.sqrt();
    if best.mix.parts.len() >= limits.max_toners || root(best) < GOOD_DE00 {
        return None;
    }
    let flakes = has_flakes(shelf, &best.mix);
    let others: Vec<usize> = (0..shelf.toners().len())
        .filter(|i| !limits.out_of_stock.contains(i) && best.mix.parts.iter().all(|p| p.toner != *i))
        .filter(|i| {
            shelf
                .toners()
                .get(*i)
                .is_some_and(|t| t.max_fraction >= limits.smallest_dose && (flakes || t.kind == TonerKind::Solid))
        })
        .collect();
    let mut tried = Vec::new();
    for prospect in prospects(solver, goal, &best.mix, &others, NEWCOMERS) {
        let mut mix = best.mix.clone();
        mix.parts
            .push(Part { toner: prospect.toner, fraction: prospect.fraction.clamp(2.0 * limits.smallest_dose, 0.1) });
        let spans = spans(shelf, limits, &mix);
        tried.push(solver.solve(goal, mix, &spans, POLISH));
    }
    let best_of = tried.into_iter().min_by(|a, b| a.score().total_cmp(&b.score()))?;
    (root(&best_of) < root(best) - TONER_GAIN_DE00).then_some(best_of)
}
