//! Weighing a recipe out, and bringing a pot back that went wrong.
//!
//! A recipe's fractions are of the dry film; [`steps`] turns them into masses from the tins by what each
//! toner leaves behind (`solids_fraction`; a toner without one pours one to one, as the binder does), and
//! rounds them to what the scale shows so that the *colour* suffers least, not each mass alone.
//! [`poured`] says how far what is really in the pot is from the recipe, [`remedy`] what to do about it.
//!
//! The order is always the binder first, then the toners from the smallest dose to the largest (our rule).
//! A small strong toner does not go first: on the bare bottom of the pot a drop of it stays behind. Nor
//! does it go last: a drop too much of it would ask for more of everything. Second, it falls into binder
//! that takes it up, and a drop too much costs only more of what has not been poured yet.
//!
//! Not done here: thinner and hardener, which go in by the maker's sheet when the colour is right.

mod gauge;
mod remedy;
mod rounding;

use base::Warning;

pub use gauge::{Grams, Shift};
pub use remedy::{InPot, Remedy, UNSEEN_DE00, remedy};

use crate::film::MOST_PARTS;
use crate::recipe::{Pot, RecipeError};
use crate::shelf::{Mix, Shelf};
use gauge::Gauge;
use rounding::{Doses, Rounded, grams};

/// The least that is weighed out, in g.
pub const LEAST_G: f64 = 1.0;
/// The most that is weighed out, or is in a pot, in g.
pub const MOST_G: f64 = 100_000.0;

/// Density of the binder in g/cm3, of acrylic resins and their solutions (common practice, no source).
pub const BINDER_G_CM3: f64 = 1.1;
/// Density of what dries away of a toner, in g/cm3: between solvents and water (common practice, no source).
pub const VOLATILE_G_CM3: f64 = 0.9;

/// How much is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// In g, [`LEAST_G`] to [`MOST_G`].
    Grams(f64),
    /// In litres as it stands in the pot, unthinned; [`wanted_g`] says how many grams that is.
    Litres(f64),
}

/// What is to be weighed, and on what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Order {
    /// How much.
    pub amount: Amount,
    /// The scale's step, in g: 0.001 to 1000.
    pub scale_g: f64,
    /// The least of a toner that the shop cares to weigh, in g: 0 to 1000. A dose under it is a warning; one
    /// under the scale's step is an error.
    pub smallest_dose_g: f64,
}

/// One step of a pour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The toner's place on the shelf; `None` is the binder.
    pub toner: Option<usize>,
    /// What the recipe wants exactly, in g.
    pub exact_g: f64,
    /// What to add, in g, a whole number of the scale's steps.
    pub add_g: f64,
    /// What is in the pot then, in g.
    pub total_g: f64,
}

/// A recipe weighed out.
#[derive(Debug, Clone, PartialEq)]
pub struct Pour {
    /// What was wanted, in g; the last running total is within one step of the scale of it.
    pub wanted_g: f64,
    /// The same in litres, unthinned.
    pub litres: f64,
    /// What to pour, in this order. A part that is exactly none of the recipe has no step.
    pub steps: Vec<Step>,
    /// What rounding to the scale does to the colour.
    pub shift: Shift,
    /// Doses too small to weigh well, and a shift that could be seen.
    pub warnings: Vec<Warning>,
}

/// Why nothing can be weighed out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PourError {
    /// No toner, or more than are reckoned with.
    #[error("the recipe holds {found} toners; it must be 1 to {most}")]
    Parts {
        /// How many.
        found: usize,
        /// The limit.
        most: usize,
    },
    /// A toner twice in a mix.
    #[error("{toner} stands twice in the recipe; each toner may stand once")]
    Twice {
        /// Its name.
        toner: String,
    },
    /// More toner than film.
    #[error(
        "the toners of the recipe come to {load} of the dry film; they must leave the binder something, or at most be all of it (1)"
    )]
    Load {
        /// All fractions together.
        load: f64,
    },
    /// A film that is none.
    #[error("the recipe's film is {film_um} um; it must be 1 to 500 um")]
    Film {
        /// What came.
        film_um: f64,
    },
    /// Too little or too much.
    #[error("{mass_g} g is wanted; it must be 1 g to 100 kg")]
    Mass {
        /// What came, in g.
        mass_g: f64,
    },
    /// A scale that is none.
    #[error("the scale shows steps of {scale_g} g; they must be 0.001 to 1000 g")]
    Scale {
        /// What came, in g.
        scale_g: f64,
    },
    /// A smallest dose that is none.
    #[error("the smallest dose is {dose_g} g; it must be 0 to 1000 g")]
    SmallestDose {
        /// What came, in g.
        dose_g: f64,
    },
    /// A dose that the scale does not show.
    #[error(
        "{dose_g:.3} g of {toner} is wanted and the scale shows steps of {scale_g} g: use a finer scale{}",
        or_more(*at_least_g)
    )]
    Dose {
        /// The toner's name.
        toner: String,
        /// Its dose, in g.
        dose_g: f64,
        /// The scale's step, in g.
        scale_g: f64,
        /// The mass from which its dose can be weighed, in g, rounded up.
        at_least_g: f64,
    },
    /// A mass in the pot that is none.
    #[error("{grams} g is said to be in the pot; it must be 0 g to 100 kg")]
    Grams {
        /// What came, in g.
        grams: f64,
    },
    /// A pot of nothing.
    #[error("nothing is in the pot")]
    Empty,
    /// A limit that is none.
    #[error("the pot may hold {limit_g} g; it must be over 0 g, at most 100 kg")]
    Limit {
        /// What came, in g.
        limit_g: f64,
    },
    /// A toner or primer that is not on the shelf, or a fraction that is none.
    #[error(transparent)]
    Recipe(#[from] RecipeError),
}

/// How many grams of a mix an amount is.
///
/// Litres are of the binder at [`BINDER_G_CM3`] and of the toners at their dry density, what dries away of a
/// tin at [`VOLATILE_G_CM3`], without a change of volume by mixing.
///
/// # Errors
/// [`PourError`] when the mix is none or the mass is out of [`LEAST_G`] to [`MOST_G`].
pub fn wanted_g(shelf: &Shelf, mix: &Mix, amount: Amount) -> Result<f64, PourError> {
    check(shelf, mix)?;
    let mass_g = match amount {
        Amount::Grams(mass_g) => mass_g,
        Amount::Litres(litres) => litres / Pot::of(shelf, mix, 1.0).litres(shelf, mix),
    };
    if (LEAST_G..=MOST_G).contains(&mass_g) { Ok(mass_g) } else { Err(PourError::Mass { mass_g }) }
}

/// Weighs a mix out; see the module for the order.
///
/// # Errors
/// [`PourError`] when the mix or the order is none, or when the scale cannot show a toner's dose: then with the
/// mass from which it can.
pub fn steps(shelf: &Shelf, mix: &Mix, order: &Order) -> Result<Pour, PourError> {
    let wanted_g = wanted_g(shelf, mix, order.amount)?;
    scale(order.scale_g)?;
    if !(0.0..=1000.0).contains(&order.smallest_dose_g) {
        return Err(PourError::SmallestDose { dose_g: order.smallest_dose_g });
    }
    let gauge = Gauge::new(shelf, mix, &[]);
    let exact = gauge.recipe(wanted_g);
    let mut warnings = small_doses(shelf, mix, order, &exact)?;
    let nothing = gauge.recipe(0.0);
    let doses = Doses { held: &nothing, add: &exact, scale_g: order.scale_g, most_g: f64::INFINITY };
    // Every dose is at least one step, so there is always a way to round.
    let rounded = doses.round(&gauge).ok_or(PourError::Empty)?;
    let shift = rounded.shift;
    if shift.worst_de00 > UNSEEN_DE00 {
        warnings.push(Warning::new(format!(
            "rounding to {} g moves the colour by {:.2} at its worst angle: mix more, or use a finer scale",
            order.scale_g, shift.worst_de00
        )));
    }
    let (steps, _) = steps_of(mix, &exact, &rounded, order.scale_g, 0.0);
    Ok(Pour { wanted_g, litres: exact.litres(shelf, mix), steps, shift, warnings })
}

/// How far the film of what was poured is from the recipe's, whatever the mass; a toner may come more than once,
/// and need not be the recipe's.
///
/// # Errors
/// [`PourError`] when the mix is none, or a mass in the pot, or the pot is empty.
pub fn poured(shelf: &Shelf, mix: &Mix, poured_g: &[Grams]) -> Result<Shift, PourError> {
    check(shelf, mix)?;
    if contents(shelf, poured_g)? <= 0.0 {
        return Err(PourError::Empty);
    }
    let gauge = Gauge::new(shelf, mix, &[poured_g]);
    Ok(gauge.shift(&gauge.pot(&[poured_g])))
}

/// Refuses doses that the scale cannot show and doubts those that the shop does not care to weigh.
fn small_doses(shelf: &Shelf, mix: &Mix, order: &Order, exact: &Pot) -> Result<Vec<Warning>, PourError> {
    let least_g = order.smallest_dose_g.max(order.scale_g);
    let name = |toner: usize| shelf.toners().get(toner).map_or("?", |toner| toner.name.as_str());
    let doses = || mix.parts.iter().zip(&exact.toners_g).filter(|(_, dose_g)| **dose_g > 0.0);
    let Some((part, &dose_g)) = doses().min_by(|a, b| a.1.total_cmp(b.1)) else { return Ok(Vec::new()) };
    let at_least_g = (exact.mass_g() * least_g / dose_g * (1.0 - 1e-9)).ceil();
    if dose_g < order.scale_g * (1.0 - 1e-9) {
        let toner = name(part.toner).to_owned();
        return Err(PourError::Dose { toner, dose_g, scale_g: order.scale_g, at_least_g });
    }
    let small = doses().filter(|(_, dose_g)| **dose_g < least_g * (1.0 - 1e-9));
    let say = |(part, dose_g): (&crate::shelf::Part, &f64)| {
        let name = name(part.toner);
        let or_more = or_more(at_least_g);
        Warning::new(format!("{dose_g:.2} g of {name} is under the smallest dose of {least_g} g: take care{or_more}"))
    };
    Ok(small.map(say).collect())
}

/// What else can be done about a small dose, where a pot is large enough for it.
fn or_more(at_least_g: f64) -> String {
    if at_least_g > MOST_G { String::new() } else { format!(", or mix at least {at_least_g} g") }
}

/// Steps in their order, with running totals from what is in the pot already; and the last of these.
fn steps_of(mix: &Mix, exact: &Pot, rounded: &Rounded, scale_g: f64, held_g: f64) -> (Vec<Step>, f64) {
    let toners = mix.parts.iter().zip(&exact.toners_g).zip(&rounded.toners);
    let mut toners: Vec<_> = toners.map(|((part, exact_g), steps)| (Some(part.toner), *exact_g, *steps)).collect();
    toners.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    let mut count = 0;
    let in_pot_g = |count| ((held_g + grams(count, scale_g)) * 1e6).round() / 1e6;
    let all = [(None, exact.binder_g, rounded.binder)].into_iter().chain(toners).filter(|(.., steps)| *steps > 0);
    let steps = all
        .map(|(toner, exact_g, steps)| {
            count += steps;
            Step { toner, exact_g, add_g: grams(steps, scale_g), total_g: in_pot_g(count) }
        })
        .collect();
    (steps, in_pot_g(count))
}

fn scale(scale_g: f64) -> Result<(), PourError> {
    if (0.001..=1000.0).contains(&scale_g) { Ok(()) } else { Err(PourError::Scale { scale_g }) }
}

/// Checks what is in a pot and says how much that is, in g.
fn contents(shelf: &Shelf, poured_g: &[Grams]) -> Result<f64, PourError> {
    let count = shelf.toners().len();
    let mut total_g = 0.0;
    for (toner, grams) in poured_g {
        if let Some(place) = toner.filter(|place| *place >= count) {
            return Err(RecipeError::NoSuch { what: "toner", place, count }.into());
        }
        total_g += grams;
        if !(*grams >= 0.0 && total_g <= MOST_G) {
            return Err(PourError::Grams { grams: *grams });
        }
    }
    Ok(total_g)
}

fn check(shelf: &Shelf, mix: &Mix) -> Result<(), PourError> {
    let found = mix.parts.len();
    if !(1..=MOST_PARTS).contains(&found) {
        return Err(PourError::Parts { found, most: MOST_PARTS });
    }
    for (i, part) in mix.parts.iter().enumerate() {
        let count = shelf.toners().len();
        let Some(toner) = shelf.toners().get(part.toner) else {
            return Err(RecipeError::NoSuch { what: "toner", place: part.toner, count }.into());
        };
        if !(0.0..=1.0).contains(&part.fraction) {
            return Err(RecipeError::Fraction { toner: part.toner, fraction: part.fraction }.into());
        }
        if mix.parts.iter().take(i).any(|before| before.toner == part.toner) {
            return Err(PourError::Twice { toner: toner.name.clone() });
        }
    }
    let load = mix.load();
    if !(load > 0.0 && load <= 1.0 + 1e-9) {
        return Err(PourError::Load { load });
    }
    if !(1.0..=500.0).contains(&mix.film_um) {
        return Err(PourError::Film { film_um: mix.film_um });
    }
    let count = shelf.substrates().len();
    if mix.substrate >= count {
        return Err(RecipeError::NoSuch { what: "primer", place: mix.substrate, count }.into());
    }
    Ok(())
}
