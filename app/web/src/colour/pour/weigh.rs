//! What the colour engine says of weighing out, as these pages use it.

use job::colour::pour::{self, Grams, InPot, Order, PourError, Remedy, Shift};
use job::colour::{Mix, Shelf};
use job::mixing::BINDER;
use job::validate::FieldError;

use super::ask::Scale;
use crate::fault::sentence;

/// What brings a pot back to its recipe.
pub(super) enum Cure {
    /// What is to come as it was planned.
    Fine,
    /// So much of each, instead of what is to come.
    Add(Vec<Grams>),
    /// Nothing does, and why.
    StartAgain(String),
}

/// A cure, and how far the pot ends from its recipe without it and with it.
pub(super) struct Told {
    pub(super) cure: Cure,
    pub(super) before: Shift,
    pub(super) after: Shift,
}

/// The name of a toner, or of the binder.
pub(super) fn name(shelf: &Shelf, toner: Option<usize>) -> &str {
    toner.map_or(BINDER, |place| shelf.toners().get(place).map_or("?", |toner| &toner.name))
}

/// A refusal of the engine at the field that it is about.
fn at_field(error: &PourError) -> FieldError {
    let field = match error {
        PourError::Scale { .. } => "scale",
        PourError::SmallestDose { .. } => "least",
        PourError::Limit { .. } => "holds",
        _ => "amount",
    };
    FieldError::new(field, error.to_string(), "")
}

/// A recipe weighed out.
pub(super) fn steps(shelf: &Shelf, mix: &Mix, amount: pour::Amount, scale: Scale) -> Result<pour::Pour, FieldError> {
    let order = Order { amount, scale_g: scale.step_g, smallest_dose_g: scale.least_g };
    pour::steps(shelf, mix, &order).map_err(|e| at_field(&e))
}

/// What brings a pot back.
pub(super) fn remedy(shelf: &Shelf, mix: &Mix, pot: &InPot<'_>) -> Result<Told, FieldError> {
    Ok(match pour::remedy(shelf, mix, pot).map_err(|e| at_field(&e))? {
        Remedy::Fine { shift } => Told { cure: Cure::Fine, before: shift, after: shift },
        Remedy::StartAgain { why, shift } => {
            Told { cure: Cure::StartAgain(sentence(&why)), before: shift, after: shift }
        }
        Remedy::Add { steps, before, after, .. } => {
            let steps = steps.iter().map(|step| (step.toner, step.add_g)).collect();
            Told { cure: Cure::Add(steps), before, after }
        }
    })
}

/// How far what is in a pot is from the recipe.
pub(super) fn off(shelf: &Shelf, mix: &Mix, in_pot: &[Grams]) -> Result<Shift, FieldError> {
    pour::poured(shelf, mix, in_pot).map_err(|e| at_field(&e))
}
