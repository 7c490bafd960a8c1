//! Which toners, how much of each, over which primer and in how many coats: the search for a recipe.
//!
//! [`search`] takes a [`Wish`] (spectra by angle, and how much each angle counts) and [`Limits`], and
//! gives several recipes of different toners, best first by the mean CIEDE2000 under daylight with a
//! little added for each toner. It looks at D65, A and FL11, at the spectrum where it is wanted, and at
//! what a wetter film would do, so that no film is thin enough to borrow its colour from the primer
//! unless it must. The result repeats bit for bit on any number of cores. [`curve`] follows the way from the
//! paint as it is to the whole wish, and says how near the shelf comes at each part of it.
//!
//! Not done here: weighing out (`pour`), learning from cards ([`crate::card`]), changing what is wanted
//! ([`crate::brief`]).

mod coats;
mod crew;
mod curve;
mod dense;
mod dual;
mod metamerism;
mod pot;
mod prospect;
mod reach;
mod residual;
mod result;
mod search;
mod sensitivity;
mod solve;
mod split;
mod wish;

pub use coats::Hiding;
pub use curve::{Ask, Curve, Line, PARTS, Point, curve};
pub use metamerism::metamerism;
pub use reach::{MOST_MEAN_DE00, MOST_WORST_DE00, Miss, Reach};
pub use result::{Fit, Found, Recipe, search};
pub use search::{FLAKE_COAT_UM, SOLID_COAT_UM};
pub use sensitivity::{Sensitivity, sensitivity};
pub use wish::{Limits, MOST_IN_RECIPE, MOST_LOAD, RecipeError, USUAL_WEIGHTS, Wish};

pub(crate) use coats::{hiding, lab_at};
pub(crate) use pot::Pot;
pub(crate) use residual::Aim;
pub(crate) use result::{fit, recipe_of};
pub(crate) use search::{prospects, spans};
pub(crate) use solve::{Goal, POLISH, Solved, Solver, Span};
