//! When binders, effects and pigments came to cars and left them.

use super::line::{Item, Line};
use crate::pigment::{self, Pigment};
use crate::table::TableError;

/// One dated binder, layering, effect or pigment. Dates stand in words, since most are spans, and in years for
/// the advice on recipes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EraPigment {
    /// Id, such as `E15`.
    pub id: String,
    /// What it is.
    pub item: String,
    /// `binder`, `layering`, `effect`, `pigment` or `primer`.
    pub kind: String,
    /// First general use on cars.
    pub first_use: String,
    /// Rare before this; empty if not known.
    pub rare_before: String,
    /// Gone from new cars about this time; empty if still in use.
    pub gone_about: String,
    /// Hue or effect.
    pub effect: String,
    /// What comes near it today; empty if nothing is said.
    pub today: String,
    /// What makes it less of a stranger on a car that is older than it; empty if nothing is said.
    pub softens: String,
    /// Its pigments by generic name; none where it is no pigment.
    pub pigments: Vec<Pigment>,
    /// Before this year it was not there.
    pub from_year: Option<u16>,
    /// Before this year it was rare.
    pub wide_year: Option<u16>,
    /// After this year it was gone from new cars.
    pub to_year: Option<u16>,
    /// By what else than a pigment's name a recipe shows it.
    pub shows: Option<Shows>,
    /// Where the row comes from.
    pub basis: String,
    /// How far to trust the dates.
    pub confidence: Confidence,
}

/// How far to trust a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Confidence {
    /// A guess of the trade.
    Low,
    /// Told alike in several places.
    Medium,
    /// A dated document stands behind it.
    High,
}

impl Confidence {
    /// The words a person reads.
    pub fn words(self) -> &'static str {
        match self {
            Self::Low => "a guess of the trade",
            Self::Medium => "told alike in several places",
            Self::High => "a dated document stands behind it",
        }
    }
}

/// What a recipe shows besides the names of its pigments.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shows {
    /// A base under a clear coat.
    ClearOverBase,
    /// Aluminium flake of any shape.
    Flake,
    /// Aluminium flake of the lens type: bright in the face, dark in the flop.
    BrightFlake,
    /// Mica coated with an oxide.
    Pearl,
    /// Flake whose hue travels by itself.
    HueTravel,
}

/// Years that a row may name.
const YEARS: std::ops::RangeInclusive<f64> = 1880.0..=2030.0;
/// The most pigments one row may name.
const MOST_PIGMENTS: usize = 20;

impl Item for EraPigment {
    const COLUMNS: &'static [&'static str] =
        &["era_id", "item", "kind", "first_use", "rare_before", "gone_about", "effect", "today", "basis", "confidence"];
    const OPTIONAL: &'static [&'static str] = &["softens", "pigments", "from_year", "wide_year", "to_year", "shows"];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        let [from_year, wide_year, to_year] = years(line)?;
        Ok(Self {
            id: line.text("era_id")?,
            item: line.text("item")?,
            kind: line.text("kind")?,
            first_use: line.text("first_use")?,
            rare_before: line.note("rare_before")?,
            gone_about: line.note("gone_about")?,
            effect: line.text("effect")?,
            today: line.note("today")?,
            softens: line.maybe("softens").to_owned(),
            pigments: pigments(line)?,
            from_year,
            wide_year,
            to_year,
            shows: shows(line)?,
            basis: line.text("basis")?,
            confidence: line.word(
                "confidence",
                &[("low", Confidence::Low), ("medium", Confidence::Medium), ("high", Confidence::High)],
            )?,
        })
    }

    fn id(&self) -> &str {
        &self.id
    }
}

fn pigments(line: &Line<'_>) -> Result<Vec<Pigment>, TableError> {
    let named: Vec<&str> = line.maybe("pigments").split_whitespace().collect();
    if named.len() > MOST_PIGMENTS {
        return Err(line.refuse("pigments", format!("at most {MOST_PIGMENTS} generic names")));
    }
    let wanted = || line.refuse("pigments", format!("{}, with spaces between several", pigment::WANTED));
    named.into_iter().map(|name| name.parse().map_err(|_| wanted())).collect()
}

fn shows(line: &Line<'_>) -> Result<Option<Shows>, TableError> {
    if line.maybe("shows").is_empty() {
        return Ok(None);
    }
    let words = [
        ("clear over base", Shows::ClearOverBase),
        ("flake", Shows::Flake),
        ("bright flake", Shows::BrightFlake),
        ("pearl", Shows::Pearl),
        ("hue travel", Shows::HueTravel),
    ];
    line.word("shows", &words).map(Some)
}

/// From, wide and to; those that are known rise.
fn years(line: &Line<'_>) -> Result<[Option<u16>; 3], TableError> {
    let mut years = [None; 3];
    let mut last: Option<u16> = None;
    for (name, slot) in ["from_year", "wide_year", "to_year"].into_iter().zip(&mut years) {
        if line.maybe(name).is_empty() {
            continue;
        }
        let (low, high) = (*YEARS.start(), *YEARS.end());
        let year = line.number(name, YEARS)?;
        if year.fract() != 0.0 {
            return Err(line.refuse(name, format!("a whole year from {low} to {high}, or nothing")));
        }
        // Whole and in range, so nothing is lost.
        let year = year as u16;
        if let Some(last) = last.filter(|last| year < *last) {
            return Err(line.refuse(name, format!("at least {last}, so that from, wide and to rise, or nothing")));
        }
        (*slot, last) = (Some(year), Some(year));
    }
    Ok(years)
}
