//! What is wanted, and within what limits.

use crate::error::ColourError;
use crate::geometry::Geometry;
use crate::measurement::Measurement;
use crate::shelf::{Shelf, ShelfError};

/// What is wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// The colour by angle.
    pub target: Measurement,
    /// How much each angle counts; only their ratios matter. An angle left out counts nothing.
    pub weights: Vec<(Geometry, f64)>,
    /// The angles whose spectrum, and not only whose colour, is wanted.
    pub spectral: Vec<Geometry>,
}

/// The usual weight of each angle: most at 45 degrees, least beyond gloss and at the far flop (our
/// choice).
pub const USUAL_WEIGHTS: [(Geometry, f64); 6] = [
    (Geometry::AsMinus15, 0.10),
    (Geometry::As15, 0.15),
    (Geometry::As25, 0.20),
    (Geometry::As45, 0.25),
    (Geometry::As75, 0.20),
    (Geometry::As110, 0.10),
];

impl Wish {
    /// The paint that was measured, at every angle it was measured at, with the usual weights.
    pub fn same_as(target: &Measurement) -> Self {
        let measured = |geometry: &Geometry| target.at(*geometry).is_some();
        let weights = USUAL_WEIGHTS.into_iter().filter(|(geometry, _)| measured(geometry)).collect();
        let spectral = target.by_angle().iter().map(|(geometry, _)| *geometry).collect();
        Self { target: target.clone(), weights, spectral }
    }

    pub(crate) fn check(&self) -> Result<(), RecipeError> {
        for (i, (geometry, weight)) in self.weights.iter().enumerate() {
            if !(0.0..=1e6).contains(weight) {
                return Err(RecipeError::Weight { geometry: *geometry, weight: *weight });
            }
            if self.target.at(*geometry).is_none() {
                return Err(RecipeError::NotMeasured { geometry: *geometry });
            }
            if self.weights.iter().take(i).any(|(other, _)| other == geometry) {
                return Err(RecipeError::Colour(ColourError::AngleTwice { geometry: *geometry }));
            }
        }
        if self.weights.iter().map(|(_, weight)| weight).sum::<f64>() > 0.0 {
            Ok(())
        } else {
            Err(RecipeError::NoWeight)
        }
    }
}

/// What a recipe may not break.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// Most toners in a recipe, 1 to 6.
    pub max_toners: usize,
    /// The primers that may lie below, by their place on the shelf.
    pub substrates: Vec<usize>,
    /// Toners that may not be used, by their place on the shelf.
    pub out_of_stock: Vec<usize>,
    /// Most of the dry film that may be toner, over 0 and at most [`MOST_LOAD`].
    pub max_load: f64,
    /// The least of a toner that can be weighed, as a mass fraction of the dry film, over 0 and at
    /// most 0.05.
    pub smallest_dose: f64,
    /// Dry film in micrometres, 1 to 500, when it is given; else it is found in whole coats.
    pub film_um: Option<f64>,
    /// Most coats, 2 to 20.
    pub max_coats: u8,
    /// How many recipes are wanted, 1 to 20.
    pub how_many: usize,
}

/// Most of a dry film that can be toner and still hold together (common practice, no source).
pub const MOST_LOAD: f64 = 0.9;
/// Most toners in one recipe.
pub const MOST_IN_RECIPE: usize = 6;

impl Limits {
    /// All primers, no toner missing, six toners, up to six coats, three recipes.
    pub fn usual(shelf: &Shelf) -> Self {
        Self {
            max_toners: MOST_IN_RECIPE,
            substrates: (0..shelf.substrates().len()).collect(),
            out_of_stock: Vec::new(),
            max_load: 0.6,
            smallest_dose: 0.0005,
            film_um: None,
            max_coats: 6,
            how_many: 3,
        }
    }

    pub(crate) fn check(&self, shelf: &Shelf) -> Result<(), RecipeError> {
        let limit = |what, value: f64, low, high| {
            if (low..=high).contains(&value) { Ok(()) } else { Err(RecipeError::Limit { what, value, low, high }) }
        };
        limit("most toners", self.max_toners as f64, 1.0, MOST_IN_RECIPE as f64)?;
        limit("largest load", self.max_load, 0.001, MOST_LOAD)?;
        limit("smallest dose", self.smallest_dose, 1e-6, 0.05)?;
        limit("film", self.film_um.unwrap_or(1.0), 1.0, 500.0)?;
        limit("most coats", f64::from(self.max_coats), 2.0, 20.0)?;
        limit("recipes wanted", self.how_many as f64, 1.0, 20.0)?;
        if self.substrates.is_empty() {
            return Err(RecipeError::NoPrimer);
        }
        let places = [
            ("primer", &self.substrates, shelf.substrates().len()),
            ("toner", &self.out_of_stock, shelf.toners().len()),
        ];
        for (what, list, count) in places {
            if let Some(place) = list.iter().find(|place| **place >= count) {
                return Err(RecipeError::NoSuch { what, place: *place, count });
            }
        }
        Ok(())
    }
}

/// Why there is no recipe.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RecipeError {
    /// Every angle counts nothing.
    #[error("no angle has a weight: give at least one a weight over 0")]
    NoWeight,
    /// A weight that is none.
    #[error("the weight of {geometry} is {weight}: it must be 0 or more, at most 1 000 000")]
    Weight {
        /// Whose.
        geometry: Geometry,
        /// What came.
        weight: f64,
    },
    /// A weight for an angle that nobody measured.
    #[error("{geometry} has a weight, and the target holds no spectrum at it")]
    NotMeasured {
        /// Which.
        geometry: Geometry,
    },
    /// A limit out of its range.
    #[error("{what} is {value}: it must be {low} to {high}")]
    Limit {
        /// Which.
        what: &'static str,
        /// What came.
        value: f64,
        /// The lowest allowed.
        low: f64,
        /// The highest allowed.
        high: f64,
    },
    /// A place that the shelf does not have.
    #[error("there is no {what} {place} on this shelf: it has {count}, counted from 0")]
    NoSuch {
        /// Toner or primer.
        what: &'static str,
        /// What came.
        place: usize,
        /// How many there are.
        count: usize,
    },
    /// No primer may be used.
    #[error("no primer may be used: allow at least one")]
    NoPrimer,
    /// No toner may be used.
    #[error(
        "no toner may be used: of {on_shelf} on the shelf, {out_of_stock} are out of stock or allow less than the smallest dose{flakes}"
    )]
    NoToner {
        /// How many there are.
        on_shelf: usize,
        /// How many of them fall out.
        out_of_stock: usize,
        /// A remark when flakes were left aside.
        flakes: &'static str,
    },
    /// A mix that is none.
    #[error("toner {toner} has a fraction of {fraction}: fractions must be 0 to 1 and sum to at most 1")]
    Fraction {
        /// Whose.
        toner: usize,
        /// What came.
        fraction: f64,
    },
    /// A target that is none.
    #[error(transparent)]
    Colour(#[from] ColourError),
    /// A shelf that is none.
    #[error(transparent)]
    Shelf(#[from] ShelfError),
}
