//! What can be kept of a paint that is mixed: toners, recipes, batches, cards.

use colour::Geometry;

use super::{FieldError, SHORT, number, plain, short, text};
use crate::car::{Car, Entry};
use crate::ids::EntryId;
use crate::mixing::{BINDER, Brief, Carded, Formulated, LONGEST_DOUBT, MOST_DOUBTS, Mixed, Poured, Shelved};
use crate::paintwork::is_same;
use crate::what::{GeometrySpectrum, What};

/// The most toners one recipe may have.
pub const MOST_PARTS: usize = 12;
/// The most steps one batch may have: a toner can come twice.
const MOST_STEPS: usize = 60;
/// The most parts of the car one batch may be for.
const MOST_PARTS_OF_CAR: usize = 60;
/// The most files a shelf may have been learned from.
const MOST_FILES: usize = 12;
/// The most cards a recipe may have been corrected from.
const MOST_CARDS: usize = 20;
/// What a set of fractions may miss one by, because each was rounded.
const FRACTION_SLACK: f64 = 1e-9;
/// A radiance factor that can be predicted or measured; over ten times a perfect white is a file in percent.
const RADIANCE: std::ops::RangeInclusive<f64> = -0.05..=10.0;
/// A mean difference that means anything at all.
const DIFFERENCE: (f64, f64) = (0.0, 200.0);
/// Dry colour, all coats together, in um.
const FILM_UM: (f64, f64) = (1.0, 500.0);
/// Coats on one card or panel.
const COATS: (f64, f64) = (1.0, 40.0);
/// A batch, in g.
const BATCH_G: (f64, f64) = (1.0, 100_000.0);
/// What a scale shows, in g.
const SCALE_G: (f64, f64) = (0.001, 100.0);

pub(super) fn shelf(errors: &mut Vec<FieldError>, shelf: &Shelved) {
    text(errors, "name", &shelf.name, SHORT, true);
    number(errors, "toners", "toners", f64::from(shelf.toners), (1.0, 80.0), "");
    number(errors, "panels", "panels", f64::from(shelf.panels), (1.0, 2_000.0), "");
    number(errors, "mean_de00", "mean difference", shelf.mean_de00, DIFFERENCE, "");
    number(errors, "p90_de00", "difference that nine in ten stay under", shelf.p90_de00, DIFFERENCE, "");
    if shelf.panels_files.len() > MOST_FILES {
        let say = format!("{} files came with it", shelf.panels_files.len());
        errors.push(FieldError::new("panels_files", say, format!("At most {MOST_FILES} are kept with one shelf.")));
    }
    for file in shelf.panels_files.iter().take(MOST_FILES) {
        text(errors, "panels_files", &file.name, SHORT, true);
    }
    doubts(errors, &shelf.doubts);
}

pub(super) fn recipe(errors: &mut Vec<FieldError>, recipe: &Formulated, car: Option<&Car>) {
    text(errors, "name", &recipe.name, SHORT, true);
    text(errors, "primer", &recipe.primer, SHORT, true);
    fractions(errors, recipe);
    number(errors, "film_um", "film of colour", recipe.film_um, FILM_UM, "\u{b5}m");
    number(errors, "coats", "coats", f64::from(recipe.coats), COATS, "");
    spectra(errors, "predicted", &recipe.predicted);
    number(errors, "mean_de00", "mean difference", recipe.mean_de00, DIFFERENCE, "");
    for angle in &recipe.by_angle {
        for value in [angle.d65, angle.a, angle.fl11] {
            number(errors, "by_angle", "difference at an angle", value, DIFFERENCE, "");
        }
    }
    geometries(errors, "by_angle", recipe.by_angle.iter().map(|angle| angle.geometry.as_str()));
    brief(errors, &recipe.brief);
    doubts(errors, &recipe.doubts);
    if recipe.cards.len() > MOST_CARDS {
        let say = format!("{} cards were chosen", recipe.cards.len());
        errors.push(FieldError::new("cards", say, format!("At most {MOST_CARDS} count towards one correction.")));
    }
    if recipe.after.is_none() && !recipe.cards.is_empty() {
        let say = "cards were chosen and no recipe that they correct";
        errors.push(FieldError::new("after", say, "Choose the recipe the cards were sprayed from."));
    }
    let Some(car) = car else { return };
    refers(errors, car, "target", recipe.target, "colour_measured");
    refers(errors, car, "shelf", recipe.shelf, "shelf");
    if let Some(briefed) = recipe.briefed
        && let Some(What::Briefed(brief)) = refers(errors, car, "briefed", briefed, "brief").map(|e| &e.what)
        && !is_same(car, brief.donor, recipe.target)
    {
        let say = "the recipe is for another measured paint than its brief";
        errors.push(FieldError::new("briefed", say, "Choose a brief of the paint that the recipe is to match."));
    }
    if let Some(after) = recipe.after {
        refers(errors, car, "after", after, "recipe");
    }
    for card in recipe.cards.iter().take(MOST_CARDS) {
        refers(errors, car, "cards", *card, "card");
    }
}

pub(super) fn batch(errors: &mut Vec<FieldError>, batch: &Mixed, car: Option<&Car>) {
    if batch.parts_of_car.is_empty() || batch.parts_of_car.len() > MOST_PARTS_OF_CAR {
        let say = format!("the batch is for {} parts of the car", batch.parts_of_car.len());
        errors.push(FieldError::new("parts_of_car", say, format!("Name 1 to {MOST_PARTS_OF_CAR} zones or parts.")));
    }
    for part in batch.parts_of_car.iter().take(MOST_PARTS_OF_CAR) {
        text(errors, "parts_of_car", part, SHORT, true);
    }
    number(errors, "wanted_g", "batch", batch.wanted_g, BATCH_G, "g");
    number(errors, "scale_g", "step of the scale", batch.scale_g, SCALE_G, "g");
    number(errors, "shift_de00", "shift by rounding", batch.shift_de00, DIFFERENCE, "");
    text(errors, "retained", &batch.retained, SHORT, false);
    if batch.steps.is_empty() || batch.steps.len() > MOST_STEPS {
        let say = format!("the batch has {} steps", batch.steps.len());
        errors.push(FieldError::new("steps", say, format!("1 to {MOST_STEPS} steps are kept.")));
    }
    for step in batch.steps.iter().take(MOST_STEPS) {
        text(errors, "steps", &step.toner, SHORT, true);
        text(errors, "lot", &step.lot, SHORT, false);
        number(errors, "steps", &format!("step of {}", short(&step.toner)), step.wanted_g, (0.0, BATCH_G.1), "g");
        if let Some(poured) = step.poured_g {
            let name = format!("{} poured", short(&step.toner));
            number(errors, "poured", &name, poured, (0.0, BATCH_G.1), "g");
        }
    }
    weighable(errors, batch);
    let Some(car) = car else { return };
    if let Some(What::Formulated(recipe)) = refers(errors, car, "recipe", batch.recipe, "recipe").map(|e| &e.what) {
        let known = |step: &&Poured| recipe.fraction(&step.toner).is_some();
        if let Some(odd) = batch.steps.iter().find(|step| !known(step)) {
            let names: Vec<&str> = recipe.parts.iter().map(|part| part.toner.as_str()).collect();
            let say = format!("\"{}\" is not in this recipe", short(&odd.toner));
            errors.push(FieldError::new("steps", say, format!("It has {} and {BINDER}.", names.join(", "))));
        }
    }
    if let Some(into) = batch.into {
        refers(errors, car, "into", into, "batch");
    }
}

/// A dose under one step of the scale cannot be weighed: whatever lies in the pan, the scale says the same.
fn weighable(errors: &mut Vec<FieldError>, batch: &Mixed) {
    let doses = batch.steps.iter().filter(|step| step.wanted_g > 0.0);
    let Some(least) = doses.min_by(|a, b| a.wanted_g.total_cmp(&b.wanted_g)) else {
        if !batch.steps.is_empty() {
            errors.push(FieldError::new("steps", "nothing was to be poured", "Enter the doses in g."));
        }
        return;
    };
    if batch.scale_g > least.wanted_g {
        let say = format!(
            "the scale shows steps of {} g, and the dose of {} is {} g",
            plain(batch.scale_g),
            short(&least.toner),
            plain(least.wanted_g)
        );
        errors.push(FieldError::new("scale_g", say, "Mix more at once, or use a finer scale."));
    }
}

pub(super) fn card(errors: &mut Vec<FieldError>, card: &Carded, car: Option<&Car>) {
    text(errors, "name", &card.name, SHORT, true);
    text(errors, "instrument", &card.instrument, SHORT, false);
    text(errors, "file", &card.file, SHORT, true);
    spectra(errors, "file", &card.spectra);
    number(errors, "coats", "coats", f64::from(card.coats), COATS, "");
    if let Some(film_um) = card.film_um {
        number(errors, "film_um", "film of colour", film_um, FILM_UM, "\u{b5}m");
    }
    text(errors, "gun", &card.gun, 400, false);
    if let Some(place) = &card.master {
        text(errors, "master", place, SHORT, true);
    }
    doubts(errors, &card.doubts);
    let Some(car) = car else { return };
    let recipe = refers(errors, car, "recipe", card.recipe, "recipe");
    let Some(batch) = card.batch.and_then(|id| refers(errors, car, "batch", id, "batch")) else { return };
    if let (Some(recipe), What::Mixed(mixed)) = (recipe, &batch.what)
        && car.standing(mixed.recipe).is_none_or(|other| other.id != recipe.id)
    {
        let say = format!("batch {} was not mixed from this recipe", batch.seq);
        errors.push(FieldError::new("batch", say, "Choose a batch of the recipe, or the recipe of the batch."));
    }
}

/// The entry of the right kind that stands for the one named, or the error that says what is wrong with it.
pub(super) fn refers<'a>(
    errors: &mut Vec<FieldError>,
    car: &'a Car,
    field: &'static str,
    id: EntryId,
    kind: &str,
) -> Option<&'a Entry> {
    let words = What::KINDS.iter().find(|(key, _)| *key == kind).map_or(kind, |(_, words)| words).to_lowercase();
    let right = format!("Choose an entry of the kind \"{words}\" from this car's record.");
    let say = match (car.entry_by_id(id), car.standing(id)) {
        (None, _) => "the entry it refers to is not in this car's record".to_owned(),
        (Some(named), _) if named.what.kind() != kind => {
            format!("entry {} is of another kind ({})", named.seq, named.what.kind_words().to_lowercase())
        }
        (Some(named), None) => format!("entry {} was taken out", named.seq),
        (Some(_), standing) => return standing,
    };
    errors.push(FieldError::new(field, say, right));
    None
}

fn fractions(errors: &mut Vec<FieldError>, recipe: &Formulated) {
    let parts = &recipe.parts;
    if parts.is_empty() || parts.len() > MOST_PARTS {
        let say = format!("the recipe has {} toners", parts.len());
        errors.push(FieldError::new("parts", say, format!("1 to {MOST_PARTS} are kept.")));
    }
    for (place, part) in parts.iter().enumerate().take(MOST_PARTS) {
        text(errors, "parts", &part.toner, SHORT, true);
        let name = short(&part.toner);
        if part.toner == BINDER {
            let say = "the binder is among the toners";
            errors.push(FieldError::new("parts", say, "Leave it out: it is what the toners leave over."));
        }
        if parts.iter().take(place).any(|other| other.toner == part.toner) {
            errors.push(FieldError::new("parts", format!("\"{name}\" comes twice"), "Add the two fractions up."));
        }
        if !(part.fraction > 0.0 && part.fraction <= 1.0) {
            let say = format!("{name} has the fraction {}", part.fraction);
            errors.push(FieldError::new("parts", say, "A fraction is over 0 and at most 1."));
        }
    }
    let load = recipe.load();
    if load > 1.0 + FRACTION_SLACK {
        let say = format!("the fractions add up to {load:.4}");
        errors.push(FieldError::new("parts", say, "They are at most 1; the binder is the rest."));
    }
}

pub(super) fn brief(errors: &mut Vec<FieldError>, brief: &Brief) {
    geometries(errors, "edits", brief.edits.iter().map(|edit| edit.geometry.as_str()));
    for edit in &brief.edits {
        number(errors, "edits", "lightness", edit.dl, (-200.0, 200.0), "");
        number(errors, "edits", "strength", edit.dc, (-200.0, 200.0), "");
        number(errors, "edits", "hue", edit.dh_deg, (-360.0, 360.0), "degrees");
    }
    geometries(errors, "weights", brief.weights.iter().map(|weight| weight.geometry.as_str()));
    for weight in &brief.weights {
        number(errors, "weights", "weight of an angle", weight.weight, (0.0, 1_000.0), "");
    }
    if brief.weights.len() == Geometry::ALL.len() && brief.weights.iter().all(|weight| weight.weight <= 0.0) {
        errors.push(FieldError::new("weights", "no angle has any weight", "Give at least one angle a weight over 0."));
    }
}

/// Each one of the six, none twice; so there are never more than six.
fn geometries<'a>(errors: &mut Vec<FieldError>, field: &'static str, named: impl Iterator<Item = &'a str>) {
    let mut seen = Vec::new();
    for name in named {
        let Ok(geometry) = name.parse::<Geometry>() else {
            let say = format!("\"{}\" is no angle that is measured", short(name));
            let right = Geometry::ALL.map(|geometry| geometry.to_string()).join(", ");
            errors.push(FieldError::new(field, say, format!("One of {right}.")));
            return;
        };
        if seen.contains(&geometry) {
            errors.push(FieldError::new(field, format!("{geometry} comes twice"), "Name each angle once."));
            return;
        }
        seen.push(geometry);
    }
}

fn spectra(errors: &mut Vec<FieldError>, field: &'static str, spectra: &[GeometrySpectrum]) {
    if spectra.is_empty() {
        errors.push(FieldError::new(field, "there is no angle in it", "At least one angle is needed."));
    }
    geometries(errors, field, spectra.iter().map(|spectrum| spectrum.geometry.as_str()));
    for spectrum in spectra.iter().take(Geometry::ALL.len()) {
        let say = match spectrum.values.iter().find(|value| !RADIANCE.contains(*value)) {
            Some(value) => format!("{}: a radiance factor of {value}", short(&spectrum.geometry)),
            None if spectrum.values.len() != colour::WAVELENGTHS_NM.len() => {
                format!("{}: {} wavelengths", short(&spectrum.geometry), spectrum.values.len())
            }
            None => continue,
        };
        let right = "31 radiance factors, 400 to 700 nm, a perfect white being 1: from -0.05 to 10.";
        errors.push(FieldError::new(field, say, right));
    }
}

pub(super) fn doubts(errors: &mut Vec<FieldError>, doubts: &[String]) {
    if doubts.len() > MOST_DOUBTS {
        let say = format!("{} doubts came with it", doubts.len());
        errors.push(FieldError::new("doubts", say, format!("At most {MOST_DOUBTS} are kept.")));
    }
    for doubt in doubts.iter().take(MOST_DOUBTS) {
        text(errors, "doubts", doubt, LONGEST_DOUBT, true);
    }
}
