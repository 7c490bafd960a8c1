//! Between the record and the colour engine: names on one side, places on a shelf on the other.

use base::Warning;
use colour::brief::{BriefError, Edit, Said, Want};
use colour::card::{self, CardError, Drift};
use colour::recipe::{Recipe, Wish};
use colour::{Geometry, Measurement, Mix, Prediction, Shelf};

use super::{Watched, watched};
use crate::car::Car;
use crate::ids::{EntryId, Hash};
use crate::mixing::{
    self, AngleFit, BINDER, Brief, BriefEdit, Carded, Formulated, KeptFile, Poured, RecipePart, Shelved, Wanted,
    kept_doubts,
};
use crate::paint::{self, PaintError};
use crate::recipe_file::{Predicted, RecipeFile, RecipeFileError};
use crate::shelf_file::ShelfFile;
use crate::what::GeometrySpectrum;

/// The entry that keeps a shelf; `file` is the hash of the toner file's bytes, which are kept before it.
///
/// # Errors
/// When the file does not say what it was learned from.
pub fn shelved(
    name: &str,
    file: Hash,
    shelf: &ShelfFile,
    panels_files: Vec<KeptFile>,
    doubts: &[Warning],
) -> Result<Shelved, NotLearned> {
    let learned = shelf.learned.as_ref().ok_or(NotLearned)?;
    Ok(Shelved {
        name: name.into(),
        file,
        panels_files,
        toners: u32::try_from(shelf.shelf.toners().len()).unwrap_or(u32::MAX),
        panels: learned.count,
        mean_de00: learned.mean_de00,
        p90_de00: learned.p90_de00,
        doubts: kept_doubts(doubts),
        note: String::new(),
    })
}

/// A toner file that does not say what it was learned from cannot stand in a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "the toner file does not say how many panels it was learned from, nor how well (its key \"panels\"): learn it again"
)]
pub struct NotLearned;

/// What a recipe is for, beside what the engine found.
#[derive(Debug, Clone, PartialEq)]
pub struct About {
    /// The shop's name for it.
    pub name: String,
    /// The entry of the measured paint it is to match.
    pub target: EntryId,
    /// The entry of the shelf it was found on.
    pub shelf: EntryId,
    /// What is to be other than the target.
    pub brief: Brief,
    /// The entry of the brief it was found for, when the wish was kept as one.
    pub briefed: Option<EntryId>,
    /// The recipe that it corrects.
    pub after: Option<EntryId>,
    /// The cards it was corrected from.
    pub cards: Vec<EntryId>,
    /// What was doubtful when it was found.
    pub doubts: Vec<Warning>,
    /// In the person's own words.
    pub note: String,
}

/// The entry that keeps a recipe which the engine found on a shelf.
pub fn formulated(shelf: &Shelf, recipe: &Recipe, about: About) -> Formulated {
    let on_file = RecipeFile::of(shelf, &recipe.mix, None, None);
    let fit = |(geometry, [d65, a, fl11]): &(Geometry, [f64; 3])| AngleFit {
        geometry: geometry.to_string(),
        d65: *d65,
        a: *a,
        fl11: *fl11,
    };
    Formulated {
        name: about.name,
        target: about.target,
        shelf: about.shelf,
        brief: about.brief,
        briefed: about.briefed,
        parts: parts(&recipe.mix, shelf),
        film_um: on_file.dft_um,
        primer: on_file.primer,
        coats: recipe.coats.into(),
        predicted: spectra(&recipe.predicted),
        mean_de00: recipe.fit.mean_de00,
        by_angle: recipe.fit.by_angle.iter().map(fit).collect(),
        after: about.after,
        cards: about.cards,
        doubts: kept_doubts(&about.doubts),
        note: about.note,
    }
}

/// What the engine found, as a recipe file holds it.
pub fn found(shelf: &Shelf, recipe: &Recipe) -> RecipeFile {
    let predicted = Predicted {
        mean_de00: recipe.fit.mean_de00,
        by_angle: recipe.fit.by_angle.iter().map(|(geometry, [d65, ..])| (*geometry, *d65)).collect(),
    };
    RecipeFile::of(shelf, &recipe.mix, Some(recipe.coats.into()), Some(predicted))
}

/// A kept recipe as a file holds one.
pub fn recipe_file(recipe: &Formulated) -> RecipeFile {
    let angle = |fit: &AngleFit| Some((fit.geometry.parse().ok()?, fit.d65));
    RecipeFile {
        fractions: recipe.parts.iter().map(|part| (part.toner.clone(), part.fraction)).collect(),
        dft_um: recipe.film_um,
        primer: recipe.primer.clone(),
        coats: Some(recipe.coats),
        predicted: Some(Predicted {
            mean_de00: recipe.mean_de00,
            by_angle: recipe.by_angle.iter().filter_map(angle).collect(),
        }),
    }
}

/// A kept recipe as a mix on a shelf.
///
/// # Errors
/// When the shelf lacks a toner or the primer: another shelf is in use than the one it was found on.
pub fn mix(recipe: &Formulated, shelf: &Shelf) -> Result<Mix, RecipeFileError> {
    recipe_file(recipe).mix(&recipe.name, shelf)
}

/// The toners of a mix by name.
pub fn parts(mix: &Mix, shelf: &Shelf) -> Vec<RecipePart> {
    RecipeFile::of(shelf, mix, None, None)
        .fractions
        .into_iter()
        .map(|(toner, fraction)| RecipePart { toner, fraction })
        .collect()
}

/// A prediction as an entry keeps it.
pub fn spectra(predicted: &Prediction) -> Vec<GeometrySpectrum> {
    let kept = |(geometry, values): (Geometry, &[f64; 31])| GeometrySpectrum {
        geometry: geometry.to_string(),
        values: values.to_vec(),
    };
    Geometry::ALL.into_iter().zip(predicted).map(kept).collect()
}

/// What is wanted of a target: the target itself, changed as the brief says. An angle that the brief gives no
/// weight keeps the usual one.
///
/// # Errors
/// When the brief names an angle that was not measured, asks for a colour that nothing has, or leaves no angle
/// any weight.
pub fn wish(target: &Measurement, brief: &Brief) -> Result<colour::brief::Brief, BriefError> {
    let edits = edits(&brief.edits)?;
    let mut weights = Wish::same_as(target).weights;
    for weight in &brief.weights {
        let geometry = weight.geometry.parse()?;
        match weights.iter_mut().find(|(known, _)| *known == geometry) {
            Some((_, known)) => *known = weight.weight,
            None => weights.push((geometry, weight.weight)),
        }
    }
    colour::brief::wish(target, &edits, Some(&weights))
}

/// Changes of a brief as the engine takes them.
///
/// # Errors
/// When one names no angle.
pub fn edits(kept: &[BriefEdit]) -> Result<Vec<Edit>, BriefError> {
    let edit =
        |edit: &BriefEdit| Ok(Edit { geometry: edit.geometry.parse()?, dl: edit.dl, dc: edit.dc, dh_deg: edit.dh_deg });
    kept.iter().map(edit).collect()
}

/// Changes as an entry keeps them.
pub fn kept_edits(edits: &[Edit]) -> Vec<BriefEdit> {
    let kept =
        |edit: &Edit| BriefEdit { geometry: edit.geometry.to_string(), dl: edit.dl, dc: edit.dc, dh_deg: edit.dh_deg };
    edits.iter().map(kept).collect()
}

/// What was said, as the engine takes it.
pub fn said(words: &[mixing::Said]) -> Vec<Said> {
    words.iter().map(|said| Said { want: want(said.what), amount: said.how_much }).collect()
}

/// A stored word as the engine's.
pub fn want(wanted: Wanted) -> Want {
    match wanted {
        Wanted::KeepFace => Want::KeepFace,
        Wanted::LoseHueTravel => Want::LoseHueTravel,
        Wanted::LiftFlop => Want::LiftFlop,
        Wanted::DeepenFlop => Want::DeepenFlop,
        Wanted::LessFlopColour => Want::LessFlopColour,
        Wanted::MoreFlopColour => Want::MoreFlopColour,
        Wanted::Quieter => Want::Quieter,
        Wanted::BrighterFace => Want::BrighterFace,
        Wanted::CalmerFace => Want::CalmerFace,
    }
}

/// The engine's word as it is stored.
pub fn wanted(want: Want) -> Wanted {
    match want {
        Want::KeepFace => Wanted::KeepFace,
        Want::LoseHueTravel => Wanted::LoseHueTravel,
        Want::LiftFlop => Wanted::LiftFlop,
        Want::DeepenFlop => Wanted::DeepenFlop,
        Want::LessFlopColour => Wanted::LessFlopColour,
        Want::MoreFlopColour => Wanted::MoreFlopColour,
        Want::Quieter => Wanted::Quieter,
        Want::BrighterFace => Wanted::BrighterFace,
        Want::CalmerFace => Wanted::CalmerFace,
    }
}

/// How far a card drifted from the one it is held against.
#[derive(Debug, Clone)]
pub struct Drifted<'a> {
    /// The two cards.
    pub cards: Watched<'a>,
    /// The difference, angle by angle, or why there is none.
    pub drift: Result<Drift, CardError>,
}

/// The drift of every later card of a recipe from its master card, or its first.
pub fn drifts(car: &Car) -> Vec<Drifted<'_>> {
    let drift = |cards: Watched<'_>| {
        let (before, after) = (carded(cards.reference.1).ok()?, carded(cards.later.1).ok()?);
        Some(card::drift(&before, &after))
    };
    watched(car).into_iter().filter_map(|cards| Some(Drifted { drift: drift(cards)?, cards })).collect()
}

/// What a recipe is predicted to look like.
///
/// # Errors
/// When the entry's spectra are not what the engine takes.
pub fn predicted(recipe: &Formulated) -> Result<Measurement, PaintError> {
    paint::of_spectra(&recipe.name, &recipe.predicted)
}

/// What a card looked like.
///
/// # Errors
/// When the entry's spectra are not what the engine takes.
pub fn carded(card: &Carded) -> Result<Measurement, PaintError> {
    paint::of_spectra(&card.file, &card.spectra)
}

/// A step of a pour as an entry keeps it; `None` as toner is the binder.
pub fn step(shelf: &Shelf, toner: Option<usize>, wanted_g: f64) -> Poured {
    let name = toner.and_then(|place| shelf.toners().get(place)).map_or(BINDER, |toner| &toner.name);
    Poured { toner: name.to_owned(), wanted_g, poured_g: None, lot: String::new() }
}

/// What is in a pot, in g by name, as places on a shelf; `None` is the binder.
///
/// # Errors
/// The name of a toner that the shelf does not have.
pub fn pot(shelf: &Shelf, pot_g: &[(String, f64)]) -> Result<Vec<(Option<usize>, f64)>, String> {
    let place = |toner: &str| match toner {
        BINDER => Some(None),
        name => shelf.toner(name).map(Some),
    };
    pot_g.iter().map(|(toner, grams)| Ok((place(toner).ok_or_else(|| toner.clone())?, *grams))).collect()
}
