//! Briefs: from plain words to an entry, and from an entry to the wish that a search is given.

use colour::brief::{self, Asked, BriefError, End, Told, completed};
use colour::recipe::Wish;
use colour::{Geometry, Measurement};

use super::{brief_of, engine, target_of};
use crate::car::Car;
use crate::ids::EntryId;
use crate::mixing::{AngleWeight, Brief, BriefEdit, Briefed, Formulated, Said, kept_doubts};
use crate::paint::{self, PaintError};

/// A brief as somebody asks for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Briefing {
    /// The shop's name for it.
    pub name: String,
    /// The entry of the measured paint it starts from.
    pub donor: EntryId,
    /// Plain words, each at most once.
    pub words: Vec<Said>,
    /// The entry of a second measured paint whose face is wanted.
    pub face_of: Option<EntryId>,
    /// The entry of a second measured paint whose flop is wanted.
    pub flop_of: Option<EntryId>,
    /// Changes by hand, on top of the words.
    pub by_hand: Vec<BriefEdit>,
    /// Weights of angles; those not named have the usual one.
    pub weights: Vec<AngleWeight>,
    /// Why.
    pub why: String,
    /// In the person's own words.
    pub note: String,
}

/// What comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Telling {
    /// The paint it starts from, with the angles that a second one lent it.
    pub donor: Measurement,
    /// What the words do, angle by angle.
    pub told: Told,
    /// The entry that keeps it.
    pub briefed: Briefed,
    /// The wish that a search is given.
    pub wish: brief::Brief,
}

/// Why a brief gives no wish.
#[derive(Debug, thiserror::Error)]
pub enum WishError {
    /// A paint that it names cannot be found.
    #[error("the measured paint that the brief {what} is not in this car's record, or was taken out")]
    Gone {
        /// What it is to the brief: "starts from".
        what: &'static str,
    },
    /// A paint that it names holds no spectra that the engine takes.
    #[error(transparent)]
    Paint(#[from] PaintError),
    /// What it asks for cannot be.
    #[error(transparent)]
    Brief(#[from] BriefError),
}

/// Works out what a brief asks for, and drafts the entry that keeps it.
///
/// # Errors
/// When a paint it names is not there, a word comes twice or by more than all, or a change by hand is at an
/// angle that was not measured.
pub fn tell(car: &Car, briefing: &Briefing) -> Result<Telling, WishError> {
    let [face_of, flop_of] = others(car, briefing.face_of, briefing.flop_of)?;
    let donor = lent(measured(car, briefing.donor, "starts from")?, face_of.as_ref(), flop_of.as_ref());
    let said = engine::said(&briefing.words);
    let by_hand = engine::edits(&briefing.by_hand)?;
    let asked =
        Asked { said: &said, face_of: face_of.as_ref(), flop_of: flop_of.as_ref(), by_hand: by_hand.as_slice() };
    let told = brief::tell(&donor, &asked)?;
    let briefed = Briefed {
        name: briefing.name.clone(),
        donor: briefing.donor,
        words: briefing.words.clone(),
        face_of: briefing.face_of,
        flop_of: briefing.flop_of,
        brief: Brief { edits: engine::kept_edits(&told.edits), weights: briefing.weights.clone() },
        why: briefing.why.clone(),
        doubts: kept_doubts(&told.warnings),
        note: briefing.note.clone(),
    };
    let wish = of(car, &donor, &briefed, &briefed.brief)?;
    Ok(Telling { donor, told, briefed, wish })
}

/// The paint that a brief starts from, with the angles that it lacks and a second one lent it: a chip that was
/// measured at one angle gets its flop from the paint whose flop is wanted.
///
/// # Errors
/// When a paint it names is not there.
pub fn donor(car: &Car, briefed: &Briefed) -> Result<Measurement, WishError> {
    let [face_of, flop_of] = others(car, briefed.face_of, briefed.flop_of)?;
    Ok(lent(measured(car, briefed.donor, "starts from")?, face_of.as_ref(), flop_of.as_ref()))
}

/// What a brief wishes for: the paint it starts from, changed as it says.
///
/// # Errors
/// When a paint it names is not there, or what it asks for cannot be.
pub fn wish(car: &Car, briefed: &Briefed) -> Result<brief::Brief, WishError> {
    of(car, &donor(car, briefed)?, briefed, &briefed.brief)
}

/// What a recipe was found for: its brief's paint, changed as it said when the recipe was kept; without a brief
/// its target.
///
/// # Errors
/// When a paint it names is not there, or what it asks for cannot be.
pub fn wish_of_recipe(car: &Car, recipe: &Formulated) -> Result<brief::Brief, WishError> {
    match recipe.briefed.and_then(|id| brief_of(car, id)) {
        Some((_, briefed)) => of(car, &donor(car, briefed)?, briefed, &recipe.brief),
        None => {
            let donor = measured(car, recipe.target, "starts from")?;
            let mut wish = engine::wish(&donor, &recipe.brief)?;
            if is_picture(car, recipe.target) {
                wish.wish.spectral.clear();
            }
            Ok(wish)
        }
    }
}

fn of(car: &Car, donor: &Measurement, briefed: &Briefed, edits: &Brief) -> Result<brief::Brief, WishError> {
    let mut wish = engine::wish(donor, edits)?;
    colours_only(&mut wish.wish, donor, car, briefed);
    Ok(wish)
}

/// Leaves out the spectra that a picture made up: nobody measured them, so nobody can want them.
fn colours_only(wish: &mut Wish, donor: &Measurement, car: &Car, briefed: &Briefed) {
    if is_picture(car, briefed.donor) {
        wish.spectral.clear();
        return;
    }
    // An angle that a picture lent is wanted for its colour alone as well.
    let own = target_of(car, briefed.donor).and_then(|(_, measured)| paint::measurement(measured).ok());
    for (other, end) in [(briefed.face_of, End::Face), (briefed.flop_of, End::Flop)] {
        if other.is_some_and(|id| is_picture(car, id)) {
            let lent = |geometry: &Geometry| {
                end.holds(*geometry)
                    && donor.at(*geometry).is_some()
                    && own.as_ref().is_some_and(|own| own.at(*geometry).is_none())
            };
            wish.spectral.retain(|geometry| !lent(geometry));
        }
    }
}

fn is_picture(car: &Car, id: EntryId) -> bool {
    target_of(car, id).is_some_and(|(_, measured)| measured.is_picture())
}

fn others(
    car: &Car,
    face_of: Option<EntryId>,
    flop_of: Option<EntryId>,
) -> Result<[Option<Measurement>; 2], WishError> {
    Ok([
        face_of.map(|id| measured(car, id, "takes its face from")).transpose()?,
        flop_of.map(|id| measured(car, id, "takes its flop from")).transpose()?,
    ])
}

fn lent(donor: Measurement, face_of: Option<&Measurement>, flop_of: Option<&Measurement>) -> Measurement {
    let donor = face_of.map_or(donor.clone(), |other| completed(&donor, other, End::Face));
    flop_of.map_or(donor.clone(), |other| completed(&donor, other, End::Flop))
}

fn measured(car: &Car, id: EntryId, what: &'static str) -> Result<Measurement, WishError> {
    let (_, measured) = target_of(car, id).ok_or(WishError::Gone { what })?;
    Ok(paint::measurement(measured)?)
}
