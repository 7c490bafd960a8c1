//! Whether a colour belongs on a car of its age: what in a recipe was not there in the car's year, and what
//! softens that.
//!
//! Toners are judged by the generic names of their pigments and by what they are: aluminium, its shape by the
//! spread of its slopes; pearl, its kind by the index of its flakes' film; the recipe as a whole by its clear
//! coat and by the look that is predicted of it. The dates are the catalogue's, each with its basis. It is advice
//! and never a refusal: an owner may want exactly what was not there.
//!
//! Not done here: binders and primers, which no recipe tells.

use colour::{Illuminant, Measurement, Observer, Part, Shelf, Toner, TonerKind, travel};

use crate::catalogue::{Catalogue, Confidence, EraPigment, Shows};
use crate::mixing::Formulated;
use crate::paint::PaintError;
use crate::paintwork::engine;
use crate::pigment::Pigment;
use crate::recipe_file::RecipeFileError;
use crate::shelf_file::ShelfFile;

/// Flakes whose slopes spread less than this lie as flat as those of the lens type (our choice: of the demo's
/// three aluminiums the brightest has 0.11, the next 0.16).
pub const LENS_SLOPE_SD: f64 = 0.14;
/// A flop index from which a paint with aluminium looks like one with lens-type flake: 12 to 18 is called bright
/// flake (common practice, no source).
pub const LENS_FLOP_INDEX: f64 = 12.0;
/// An interference film below this index turns its hue with the angle: silica has 1.46, titanium dioxide over 2
/// (common values, from memory).
pub const TRAVEL_FILM_INDEX: f64 = 1.6;
/// Hue travel that is worth a word here, in degrees (our choice).
const TOLD_TRAVEL_DEG: f64 = 40.0;

/// Whether something was on new cars in a year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Was {
    /// Not yet: it came about this year.
    NotYet(u16),
    /// Rare: it was common from about this year on.
    Rare(u16),
    /// Gone: until about this year it was there.
    Gone(u16),
    /// It was there, or nobody knows better.
    There,
}

impl Was {
    /// What a row of the catalogue says of a year.
    pub fn in_year(row: &EraPigment, year: u16) -> Self {
        match (row.from_year, row.wide_year, row.to_year) {
            (Some(from), ..) if year < from => Self::NotYet(from),
            (_, Some(wide), _) if year < wide => Self::Rare(wide),
            (.., Some(to)) if year > to => Self::Gone(to),
            _ => Self::There,
        }
    }

    /// The words a person reads.
    pub fn words(self) -> String {
        match self {
            Self::NotYet(from) => format!("not on new cars before about {from}"),
            Self::Rare(wide) => format!("rare on new cars before about {wide}"),
            Self::Gone(to) => format!("gone from new cars after about {to}"),
            Self::There => "was there".into(),
        }
    }
}

/// What one row of the catalogue says about a recipe.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// The row, such as `E06`.
    pub id: String,
    /// What it is about.
    pub item: String,
    /// Whether it was there.
    pub what: Was,
    /// The whole in plain words.
    pub words: String,
    /// What makes it less of a stranger; empty when it was there, or nothing is known to.
    pub softened_by: String,
    /// Where the dates come from.
    pub basis: String,
    /// How far to trust them.
    pub confidence: Confidence,
    /// The toners it is about, by name; none when it is about the recipe as a whole.
    pub toners: Vec<String>,
}

/// What is seen of a recipe, by daylight (D65, 10 degree observer).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Look {
    /// Its flop index, where it has one.
    pub flop_index: Option<f64>,
    /// Chroma C\* in the face.
    pub face_chroma: Option<f64>,
    /// How far its hue travels from face to flop, in degrees.
    pub hue_travel_deg: Option<f64>,
    /// The travel in words.
    pub words: Option<String>,
}

impl Look {
    /// What is seen of a prediction or a measurement. One without face or flop has no look.
    pub fn of(paint: &Measurement) -> Self {
        match travel(paint, Illuminant::D65, Observer::Deg10) {
            Ok(travel) => Self {
                flop_index: travel.flop_index,
                face_chroma: Some(travel.face_lab.chroma()),
                hue_travel_deg: travel.hue_deg,
                words: Some(travel.words()),
            },
            Err(_) => Self::default(),
        }
    }
}

/// A recipe beside the year of a car.
#[derive(Debug, Clone, PartialEq)]
pub struct Era {
    /// The year.
    pub year: u16,
    /// What is seen of the recipe.
    pub look: Look,
    /// What the catalogue says: first what was not there, then what was rare, gone, and there.
    pub notes: Vec<Note>,
    /// Solid toners whose pigment nobody named: nothing is said of those.
    pub unknown: Vec<String>,
    /// Toners with a pigment that no row of the catalogue dates.
    pub undated: Vec<(String, Pigment)>,
}

impl Era {
    /// The notes about what was not there, rare or gone.
    pub fn against(&self) -> impl Iterator<Item = &Note> {
        self.notes.iter().filter(|note| note.what != Was::There)
    }

    /// The whole in one or two sentences.
    pub fn words(&self) -> String {
        let items = |wanted: fn(Was) -> bool| {
            let of: Vec<&str> = self.notes.iter().filter(|n| wanted(n.what)).map(|n| n.item.as_str()).collect();
            of.join("; ")
        };
        let mut sentences: Vec<String> = [
            ("was not there yet", items(|was| matches!(was, Was::NotYet(_)))),
            ("was rare", items(|was| matches!(was, Was::Rare(_)))),
            ("was gone", items(|was| matches!(was, Was::Gone(_)))),
        ]
        .into_iter()
        .filter(|(_, items)| !items.is_empty())
        .map(|(was, items)| format!("For a car of {} this {was}: {items}.", self.year))
        .collect();
        if sentences.is_empty() {
            sentences.push(format!("Nothing that is known of this recipe is out of place on a car of {}.", self.year));
        }
        sentences.extend(self.unknown_words());
        sentences.join(" ")
    }

    /// What could not be judged, if anything.
    pub fn unknown_words(&self) -> Option<String> {
        let mut words = Vec::new();
        match self.unknown.as_slice() {
            [] => {}
            [one] => words.push(format!("The pigment of one toner is not known ({one}).")),
            many => words.push(format!("The pigments of {} toners are not known ({}).", many.len(), many.join(", "))),
        }
        if !self.undated.is_empty() {
            let named: Vec<String> =
                self.undated.iter().map(|(toner, pigment)| format!("{pigment} in {toner}")).collect();
            words.push(format!("The catalogue dates no {}.", named.join(", no ")));
        }
        (!words.is_empty()).then(|| words.join(" "))
    }
}

/// Why a kept recipe cannot be judged.
#[derive(Debug, thiserror::Error)]
pub enum EraError {
    /// Its shelf is another one.
    #[error(transparent)]
    Recipe(#[from] RecipeFileError),
    /// Its prediction cannot be read.
    #[error(transparent)]
    Paint(#[from] PaintError),
}

/// A kept recipe beside a year; `shelf` is the toner file of its own shelf.
///
/// # Errors
/// When the shelf lacks a toner of the recipe, or its prediction cannot be read.
pub fn of_recipe(catalogue: &Catalogue, shelf: &ShelfFile, recipe: &Formulated, year: u16) -> Result<Era, EraError> {
    let mix = engine::mix(recipe, &shelf.shelf)?;
    Ok(judge(catalogue, shelf, &mix.parts, &engine::predicted(recipe)?, year))
}

/// Toners in a mix, and what they are predicted to look like together, beside a year.
pub fn judge(catalogue: &Catalogue, shelf: &ShelfFile, parts: &[Part], predicted: &Measurement, year: u16) -> Era {
    let look = Look::of(predicted);
    let toners: Vec<&Toner> = parts.iter().filter_map(|part| shelf.shelf.toners().get(part.toner)).collect();
    let mut heard = Heard::default();
    let (mut unknown, mut undated) = (Vec::new(), Vec::new());
    for toner in &toners {
        match shelf.pigments.get(&toner.name) {
            Some(pigment) if rows_of(catalogue, pigment).next().is_none() => {
                undated.push((toner.name.clone(), pigment.clone()));
            }
            None if toner.kind == TonerKind::Solid => unknown.push(toner.name.clone()),
            _ => {}
        }
        for row in toner_rows(catalogue, shelf, toner) {
            heard.add(row, Some(&toner.name), "");
        }
    }
    let has = |kind: TonerKind| toners.iter().any(|toner| toner.kind == kind);
    let bright = look.flop_index.filter(|index| *index >= LENS_FLOP_INDEX && has(TonerKind::Aluminium));
    for row in bright.into_iter().flat_map(|_| showing(catalogue, Shows::BrightFlake)) {
        heard.add(row, None, "It is predicted to go from a bright face to a dark flop as that flake does.");
    }
    for row in showing(catalogue, Shows::ClearOverBase) {
        heard.add(row, None, clear_words(&shelf.shelf));
    }
    let mut notes: Vec<Note> = heard.rows.into_iter().map(|said| note(said, &look, year)).collect();
    notes.sort_by_key(|note| (rank(note.what), note.id.clone()));
    Era { year, look, notes, unknown, undated }
}

/// A toner of a shelf that was not there in a year.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotThere {
    /// Its place on the shelf.
    pub toner: usize,
    /// Its name.
    pub name: String,
    /// Why not.
    pub why: Note,
}

/// The toners of a shelf that were not there in a year, in its order: for a search that keeps to what was.
///
/// Rare toners were there. A toner whose pigment is not known stays in unless its kind alone says that it was
/// not there.
pub fn not_there(catalogue: &Catalogue, shelf: &ShelfFile, year: u16) -> Vec<NotThere> {
    let none = Look::default();
    let why = |toner: &Toner| {
        let missing = |row: &&EraPigment| matches!(Was::in_year(row, year), Was::NotYet(_));
        let row = toner_rows(catalogue, shelf, toner).into_iter().find(missing)?;
        Some(note(Said { row, toners: vec![toner.name.clone()], extra: "" }, &none, year))
    };
    let toners = shelf.shelf.toners().iter().enumerate();
    toners
        .filter_map(|(place, toner)| Some(NotThere { toner: place, name: toner.name.clone(), why: why(toner)? }))
        .collect()
}

/// The rows that speak about a toner: by its pigment, and by what it is.
fn toner_rows<'a>(catalogue: &'a Catalogue, shelf: &ShelfFile, toner: &Toner) -> Vec<&'a EraPigment> {
    let mut rows: Vec<&EraPigment> =
        shelf.pigments.get(&toner.name).into_iter().flat_map(|pigment| rows_of(catalogue, pigment)).collect();
    let flake = toner.optics.flake.as_ref();
    let shows = match toner.kind {
        TonerKind::Aluminium if flake.is_some_and(|flake| flake.slope_sd < LENS_SLOPE_SD) => Shows::BrightFlake,
        TonerKind::Aluminium => Shows::Flake,
        TonerKind::Pearl if flake.and_then(|f| f.film_index).is_some_and(|index| index < TRAVEL_FILM_INDEX) => {
            Shows::HueTravel
        }
        TonerKind::Pearl => Shows::Pearl,
        TonerKind::Solid | TonerKind::FlopAdjuster => return rows,
    };
    for row in showing(catalogue, shows) {
        if !rows.iter().any(|known| known.id == row.id) {
            rows.push(row);
        }
    }
    rows
}

fn rows_of<'a>(catalogue: &'a Catalogue, pigment: &Pigment) -> impl Iterator<Item = &'a EraPigment> {
    catalogue.era_pigments().filter(move |row| row.pigments.iter().any(|of| pigment.is(of)))
}

fn showing(catalogue: &Catalogue, shows: Shows) -> impl Iterator<Item = &EraPigment> {
    catalogue.era_pigments().filter(move |row| row.shows == Some(shows))
}

/// Whether a recipe on this shelf is a base under clear: toners learned under a clear coat are.
fn clear_words(shelf: &Shelf) -> &'static str {
    if shelf.clear().iter().any(|depth| *depth > 0.0) {
        "The toners were learned under a clear coat, so the recipe is a base under clear."
    } else {
        "It counts where the recipe is sprayed as a base under clear."
    }
}

/// A row that speaks, for whom, and what is to be said besides.
struct Said<'a> {
    row: &'a EraPigment,
    toners: Vec<String>,
    extra: &'static str,
}

/// The rows that speak about a recipe, each once.
#[derive(Default)]
struct Heard<'a> {
    rows: Vec<Said<'a>>,
}

impl<'a> Heard<'a> {
    fn add(&mut self, row: &'a EraPigment, toner: Option<&str>, extra: &'static str) {
        match self.rows.iter_mut().find(|said| said.row.id == row.id) {
            // A toner that is there already says it better than the look of the whole.
            Some(said) => said.toners.extend(toner.map(str::to_owned)),
            None => self.rows.push(Said { row, toners: toner.map(str::to_owned).into_iter().collect(), extra }),
        }
    }
}

fn rank(was: Was) -> u8 {
    match was {
        Was::NotYet(_) => 0,
        Was::Rare(_) => 1,
        Was::Gone(_) => 2,
        Was::There => 3,
    }
}

fn note(said: Said<'_>, look: &Look, year: u16) -> Note {
    let Said { row, toners, extra } = said;
    let what = Was::in_year(row, year);
    let of = if toners.is_empty() { String::new() } else { format!(" ({})", toners.join(", ")) };
    let mut words = format!("{}{of}: {}.", row.item, what.words());
    let travels = matches!(row.shows, Some(Shows::Pearl | Shows::HueTravel));
    if let Some(degrees) = look.hue_travel_deg.map(f64::abs).filter(|d| travels && *d >= TOLD_TRAVEL_DEG) {
        words = format!("{words} It is seen: the hue travels {degrees:.0} degrees from face to flop.");
    }
    if !extra.is_empty() {
        words = format!("{words} {extra}");
    }
    let softened_by = if what == Was::There { String::new() } else { row.softens.clone() };
    Note {
        id: row.id.clone(),
        item: row.item.clone(),
        what,
        words,
        softened_by,
        basis: row.basis.clone(),
        confidence: row.confidence,
        toners,
    }
}
