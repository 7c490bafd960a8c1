//! What brings a pot back to its recipe when too much of something went in.

use super::gauge::{Gauge, Grams, Shift};
use super::rounding::{Doses, Rounded};
use super::{MOST_G, PourError, Step, check, contents, scale, steps_of};
use crate::recipe::Pot;
use crate::shelf::{Mix, Shelf};

/// A change of colour at the worst angle that may stay in the pot.
///
/// Under 0.5 nobody sees a difference side by side on one panel (common practice, no source); the rest is
/// left to the gun.
pub const UNSEEN_DE00: f64 = 0.3;
/// What an exact remedy may cost more than one that is nearly so, as a factor of the whole pot (our choice).
const DEARER: f64 = 1.02;
/// Sizes of the pot that are tried between what is planned and what brings it back exactly.
const TRIES: u32 = 100;

/// A pot that something went wrong with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InPot<'a> {
    /// What is in it, in g by toner; a toner may come more than once, and need not be the recipe's.
    pub poured_g: &'a [Grams],
    /// What is still to be poured as it was planned, in g by toner; nothing for a pot that was finished.
    pub to_come_g: &'a [Grams],
    /// The scale's step, in g: 0.001 to 1000.
    pub scale_g: f64,
    /// The most that may be in the pot in the end, in g.
    pub limit_g: f64,
}

/// What to do with the pot.
#[derive(Debug, Clone, PartialEq)]
pub enum Remedy {
    /// Pour what is to come as it was planned: the colour then stays within [`UNSEEN_DE00`] at every angle.
    Fine {
        /// How far it will be from the recipe.
        shift: Shift,
    },
    /// Pour this instead of what is to come.
    Add {
        /// All that is still to be poured; running totals count what is in the pot.
        steps: Vec<Step>,
        /// What is in the pot in the end, in g.
        total_g: f64,
        /// Whether the recipe comes back but for the scale's step; else it does as nearly as nobody sees.
        exact: bool,
        /// How far it would be from the recipe if all went on as planned.
        before: Shift,
        /// How far it will be.
        after: Shift,
    },
    /// Nothing that fits into the pot brings it back.
    StartAgain {
        /// Why, in words and figures.
        why: String,
        /// How far it would be from the recipe if all went on as planned.
        shift: Shift,
    },
}

/// The least addition that brings a pot back to its recipe: exactly, if that costs hardly more, or else within
/// [`UNSEEN_DE00`] at every angle.
///
/// Exactly means that all else grows with what there is too much of. Short of that, sizes of the pot from the
/// planned one up are filled to the recipe in all that is wanting, until what there is too much of no longer
/// shows. The limit of the pot is not asked for a pot that is fine as planned.
///
/// # Errors
/// [`PourError`] when the mix, the scale, the limit or what is in the pot is none.
pub fn remedy(shelf: &Shelf, mix: &Mix, pot: &InPot<'_>) -> Result<Remedy, PourError> {
    check(shelf, mix)?;
    scale(pot.scale_g)?;
    let held_g = contents(shelf, pot.poured_g)?;
    contents(shelf, pot.to_come_g)?;
    if held_g <= 0.0 {
        return Err(PourError::Empty);
    }
    if !(pot.limit_g > 0.0 && pot.limit_g <= MOST_G) {
        return Err(PourError::Limit { limit_g: pot.limit_g });
    }
    let gauge = Gauge::new(shelf, mix, &[pot.poured_g, pot.to_come_g]);
    let planned = gauge.pot(&[pot.poured_g, pot.to_come_g]);
    let before = gauge.shift(&planned);
    if before.worst_de00 <= UNSEEN_DE00 {
        return Ok(Remedy::Fine { shift: before });
    }
    let search = Search { gauge: &gauge, held: gauge.pot(&[pot.poured_g]), unit: gauge.recipe(1.0), pot };
    let exact_g = search.exact_g().map(|grams| grams.max(planned.mass_g()));
    let exact = exact_g.and_then(|grams| search.trial(grams));
    let exact = exact.filter(|trial| trial.rounded.shift.worst_de00 < before.worst_de00);
    let (near, nearest) = search.nearly(planned.mass_g(), exact_g.unwrap_or(f64::INFINITY));
    let is_worth_it = |exact: &Trial| near.as_ref().is_none_or(|near| exact.total_g <= DEARER * near.total_g);
    let (trial, exact) = match (exact.filter(is_worth_it), near) {
        (Some(exact), _) => (exact, true),
        (None, Some(near)) => (near, false),
        (None, None) => {
            let why = search.why_not(exact_g, nearest.unwrap_or(before));
            return Ok(Remedy::StartAgain { why, shift: before });
        }
    };
    let after = trial.rounded.shift;
    let (steps, total_g) = steps_of(&gauge.mix, &trial.add, &trial.rounded, pot.scale_g, held_g);
    Ok(Remedy::Add { steps, total_g, exact, before, after })
}

struct Search<'a> {
    gauge: &'a Gauge<'a>,
    held: Pot,
    /// One gram of the recipe.
    unit: Pot,
    pot: &'a InPot<'a>,
}

struct Trial {
    add: Pot,
    rounded: Rounded,
    total_g: f64,
}

impl Search<'_> {
    /// How much of the recipe there is to be until nothing in the pot is too much; `None` when something in it
    /// is not in the recipe.
    fn exact_g(&self) -> Option<f64> {
        let all = self.held.toners_g.iter().zip(&self.unit.toners_g);
        let mut grams = 0.0_f64;
        for (held, share) in all.chain([(&self.held.binder_g, &self.unit.binder_g)]).filter(|(held, _)| **held > 0.0) {
            if *share <= 0.0 {
                return None;
            }
            grams = grams.max(held / share);
        }
        Some(grams)
    }

    /// What so much of the recipe wants beyond what is in the pot.
    fn wanting(&self, grams: f64) -> Pot {
        let more = |(held, share): (&f64, &f64)| (share * grams - held).max(0.0);
        Pot {
            toners_g: self.held.toners_g.iter().zip(&self.unit.toners_g).map(more).collect(),
            binder_g: more((&self.held.binder_g, &self.unit.binder_g)),
        }
    }

    /// The pot filled up to so much of the recipe, on the scale; `None` when that is over its limit.
    fn trial(&self, grams: f64) -> Option<Trial> {
        let add = self.wanting(grams);
        let most_g = self.pot.limit_g - self.held.mass_g();
        if add.mass_g() > most_g * (1.0 + 1e-9) {
            return None;
        }
        let doses = Doses { held: &self.held, add: &add, scale_g: self.pot.scale_g, most_g };
        let rounded = doses.round(self.gauge)?;
        let total_g = self.held.mass_g() + add.mass_g();
        Some(Trial { add, rounded, total_g })
    }

    /// The smallest pot that nobody sees a difference of, from one size to another; and the least shift of
    /// all that were tried within the limit.
    fn nearly(&self, from_g: f64, to_g: f64) -> (Option<Trial>, Option<Shift>) {
        let to_g = to_g.min(self.pot.limit_g);
        let from_g = from_g.min(to_g);
        let mut nearest: Option<Shift> = None;
        for i in 0..=TRIES {
            let grams = from_g + (to_g - from_g) * f64::from(i) / f64::from(TRIES);
            let filled = self.held.plus(&self.wanting(grams));
            if filled.mass_g() > self.pot.limit_g * (1.0 + 1e-9) {
                break;
            }
            let shift = self.gauge.shift(&filled);
            if nearest.is_none_or(|nearest| shift.worst_de00 < nearest.worst_de00) {
                nearest = Some(shift);
            }
            let unseen = |shift: &Shift| shift.worst_de00 <= UNSEEN_DE00;
            if unseen(&shift)
                && let Some(trial) = self.trial(grams).filter(|trial| unseen(&trial.rounded.shift))
            {
                return (Some(trial), nearest);
            }
        }
        (None, nearest)
    }

    fn why_not(&self, exact_g: Option<f64>, nearest: Shift) -> String {
        let (limit_g, scale_g, off) = (self.pot.limit_g, self.pot.scale_g, nearest.worst_de00);
        let held_g = self.held.mass_g();
        if held_g > limit_g {
            return format!("{held_g:.1} g are in the pot already and it may hold {limit_g:.1} g");
        }
        let within = format!("within {limit_g:.1} g the colour stays {off:.1} off at its worst angle");
        match exact_g {
            Some(grams) if grams <= limit_g => {
                format!("on a scale that shows {scale_g} g no addition brings it nearer; without the scale, {within}")
            }
            Some(grams) => format!("to bring it back exactly the pot would have to grow to {grams:.1} g; {within}"),
            None => {
                let foreign = self.gauge.mix.parts.iter().zip(&self.held.toners_g).zip(&self.unit.toners_g);
                let names: Vec<&str> = foreign
                    .filter(|((_, held), share)| **held > 0.0 && **share <= 0.0)
                    .filter_map(|((part, _), _)| self.gauge.shelf.toners().get(part.toner))
                    .map(|toner| toner.name.as_str())
                    .collect();
                let what = if names.is_empty() { "binder".into() } else { names.join(", ") };
                format!("{what} is in the pot and not in the recipe, and nothing takes it out; {within}")
            }
        }
    }
}
