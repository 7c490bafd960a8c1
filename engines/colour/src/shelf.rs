//! A shop's toners as they were learned from its own panels, and the primers they go over.

use crate::error::ColourError;
use crate::spectrum::Spectrum;

/// Most toners on one shelf.
pub const MOST_TONERS: usize = 80;

/// Most primers on one shelf.
pub const MOST_SUBSTRATES: usize = 40;

/// Wavelengths of a flake's reflectance as it would be seen square on, in nm: 400 to 900 by 10.
///
/// A flake tilted against the light shows what it would show square on at a longer wavelength, so
/// the table runs on past what the eye sees.
pub const FLAKE_NODES: usize = 51;

/// What a toner is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TonerKind {
    /// A pigment that absorbs and scatters.
    Solid,
    /// An opaque metal flake.
    Aluminium,
    /// A clear flake that works by interference, coloured or not.
    Pearl,
    /// A clear additive that tips flakes out of their plane.
    FlopAdjuster,
}

impl TonerKind {
    /// All four.
    pub const ALL: [Self; 4] = [Self::Solid, Self::Aluminium, Self::Pearl, Self::FlopAdjuster];

    /// The word in files and on screen.
    pub fn word(self) -> &'static str {
        match self {
            Self::Solid => "solid",
            Self::Aluminium => "aluminium",
            Self::Pearl => "pearl",
            Self::FlopAdjuster => "flop adjuster",
        }
    }

    /// Whether it carries flakes.
    pub fn is_flake(self) -> bool {
        matches!(self, Self::Aluminium | Self::Pearl)
    }
}

/// What a toner does to light, per unit mass fraction of the dry film where it says so.
#[derive(Debug, Clone, PartialEq)]
pub struct Optics {
    /// Absorption per micrometre and unit mass fraction, by wavelength.
    pub absorption: [f64; 31],
    /// Scattering per micrometre and unit mass fraction, by wavelength, as an isotropic scatterer would
    /// need it (similarity-scaled).
    pub scattering: [f64; 31],
    /// Forwardness of the scattering, the mean cosine of the deflection: 0 even, under 1.
    pub forwardness: f64,
    /// How much scattering is lost by crowding: scattering is divided by 1 + this times the fraction.
    pub crowding: f64,
    /// What the toner adds to the squared slope of every flake in the film, per unit mass fraction.
    pub widening: f64,
    /// Its flakes, for a flake toner.
    pub flake: Option<Flake>,
}

/// The flakes of a toner.
#[derive(Debug, Clone, PartialEq)]
pub struct Flake {
    /// Flake area seen from above per volume of film, per micrometre and unit mass fraction.
    pub area: f64,
    /// Standard deviation of the slope of the flakes' core, as a tangent.
    pub slope_sd: f64,
    /// How much wider the slopes get for each unit mass fraction of flakes of any kind in the film, as a
    /// share of themselves: a film full of flakes is less orderly.
    pub loading: f64,
    /// The part of the flakes in the wider tail, 0 to 1. The tail's slope is [`TAIL`] times the core's.
    pub tail_weight: f64,
    /// Reflectance seen square on, at 400 to 900 nm by 10.
    pub reflectance: [f64; FLAKE_NODES],
    /// Refractive index of the interference film: how fast the colour travels with tilt. `None`: not at all.
    pub film_index: Option<f64>,
    /// Absorptance by wavelength; with the reflectance at most 1.
    pub absorptance: [f64; 31],
}

/// Width of a flake distribution's tail over its core's.
///
/// One Gaussian is too narrow for measured paints: goniometric measurements of metallics want a
/// second lobe of about this ratio (common practice, from memory).
pub const TAIL: f64 = 2.1;

/// One tin on the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Toner {
    /// The shop's name for it.
    pub name: String,
    /// What it is.
    pub kind: TonerKind,
    /// Density of its dry matter in g/cm3.
    pub density_g_cm3: f64,
    /// The most of it that a dry film holds, as a mass fraction.
    pub max_fraction: f64,
    /// Mass of dry film that a unit mass from the tin leaves; `None` pours one to one.
    pub solids_fraction: Option<f64>,
    /// What it does to light.
    pub optics: Optics,
}

/// A primer.
#[derive(Debug, Clone, PartialEq)]
pub struct Substrate {
    /// The shop's name for it.
    pub name: String,
    /// Its diffuse reflectance as seen from inside the film on it.
    pub reflectance: Spectrum,
}

/// Why toners and primers make no shelf.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ShelfError {
    /// Nothing to mix.
    #[error("a shelf needs at least one toner and one primer")]
    Empty,
    /// Too many.
    #[error("{found} {what}; at most {most}")]
    TooMany {
        /// Toners or primers.
        what: &'static str,
        /// How many came.
        found: usize,
        /// The limit.
        most: usize,
    },
    /// Two of one name.
    #[error("two of the name \"{0}\"")]
    Twice(String),
    /// A figure out of its range.
    #[error("{toner}: {figure} is {value}; it must be {range}")]
    Figure {
        /// Whose.
        toner: String,
        /// Which.
        figure: &'static str,
        /// What came.
        value: f64,
        /// What would be right.
        range: &'static str,
    },
    /// A kind and its flakes disagree.
    #[error("{toner} is a {kind} and {has} flakes")]
    Kind {
        /// Whose.
        toner: String,
        /// Its kind.
        kind: &'static str,
        /// "has" or "has no".
        has: &'static str,
    },
    /// A spectrum that is none.
    #[error(transparent)]
    Spectrum(#[from] ColourError),
}

/// Toners, primers, and the clear coat that goes over all of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shelf {
    toners: Vec<Toner>,
    substrates: Vec<Substrate>,
    clear: [f64; 31],
}

impl Shelf {
    /// A shelf; `clear` is the optical depth of the clear coat seen square on, by wavelength.
    ///
    /// # Errors
    /// [`ShelfError`] when a figure is out of its range or a name comes twice.
    pub fn new(toners: Vec<Toner>, substrates: Vec<Substrate>, clear: [f64; 31]) -> Result<Self, ShelfError> {
        if toners.is_empty() || substrates.is_empty() {
            return Err(ShelfError::Empty);
        }
        for (what, found, most) in
            [("toners", toners.len(), MOST_TONERS), ("primers", substrates.len(), MOST_SUBSTRATES)]
        {
            if found > most {
                return Err(ShelfError::TooMany { what, found, most });
            }
        }
        for (i, toner) in toners.iter().enumerate() {
            if toners.iter().take(i).any(|t| t.name == toner.name) {
                return Err(ShelfError::Twice(toner.name.clone()));
            }
            check(toner)?;
        }
        for (i, primer) in substrates.iter().enumerate() {
            if substrates.iter().take(i).any(|s| s.name == primer.name) {
                return Err(ShelfError::Twice(primer.name.clone()));
            }
            let values = primer.reflectance.values();
            figures(&primer.name, "the primer's reflectance", values, 0.0, 1.0, "0 to 1")?;
        }
        figures("the clear coat", "its optical depth", &clear, 0.0, 3.0, "0 to 3")?;
        Ok(Self { toners, substrates, clear })
    }

    /// The toners, in the order given.
    pub fn toners(&self) -> &[Toner] {
        &self.toners
    }

    /// The primers, in the order given.
    pub fn substrates(&self) -> &[Substrate] {
        &self.substrates
    }

    /// Optical depth of the clear coat seen square on, by wavelength.
    pub fn clear(&self) -> &[f64; 31] {
        &self.clear
    }

    /// The place of a toner by its name.
    pub fn toner(&self, name: &str) -> Option<usize> {
        self.toners.iter().position(|t| t.name == name)
    }

    /// The place of a primer by its name.
    pub fn substrate(&self, name: &str) -> Option<usize> {
        self.substrates.iter().position(|s| s.name == name)
    }
}

fn figures(
    toner: &str,
    figure: &'static str,
    values: &[f64],
    low: f64,
    high: f64,
    range: &'static str,
) -> Result<(), ShelfError> {
    match values.iter().find(|v| !(**v >= low && **v <= high)) {
        Some(&value) => Err(ShelfError::Figure { toner: toner.to_string(), figure, value, range }),
        None => Ok(()),
    }
}

fn check(toner: &Toner) -> Result<(), ShelfError> {
    let name = toner.name.as_str();
    let optics = &toner.optics;
    figures(name, "its density", &[toner.density_g_cm3], 0.5, 25.0, "0.5 to 25 g/cm3")?;
    figures(name, "its largest fraction", &[toner.max_fraction], 1e-4, 0.9, "0.0001 to 0.9")?;
    figures(name, "its solids", &toner.solids_fraction.map_or(vec![], |s| vec![s]), 0.01, 1.0, "0.01 to 1")?;
    figures(name, "its absorption", &optics.absorption, 0.0, 1e4, "0 to 10 000 per um")?;
    figures(name, "its scattering", &optics.scattering, 0.0, 1e4, "0 to 10 000 per um")?;
    figures(name, "its forwardness", &[optics.forwardness], -0.5, 0.9, "-0.5 to 0.9")?;
    figures(name, "its crowding", &[optics.crowding], 0.0, 50.0, "0 to 50")?;
    figures(name, "its widening", &[optics.widening], 0.0, 50.0, "0 to 50")?;
    match (&optics.flake, toner.kind.is_flake()) {
        (None, false) => Ok(()),
        (Some(flake), true) => {
            figures(name, "its flake area", &[flake.area], 1e-6, 1e3, "over 0, at most 1000 per um")?;
            figures(name, "its flakes' slope", &[flake.slope_sd], 0.01, 1.0, "0.01 to 1")?;
            figures(name, "its flakes' loading", &[flake.loading], 0.0, 5.0, "0 to 5")?;
            figures(name, "its flakes' tail", &[flake.tail_weight], 0.0, 1.0, "0 to 1")?;
            figures(name, "its flakes' reflectance", &flake.reflectance, 0.0, 1.0, "0 to 1")?;
            figures(name, "its flakes' absorptance", &flake.absorptance, 0.0, 1.0, "0 to 1")?;
            figures(name, "its film index", &flake.film_index.map_or(vec![], |n| vec![n]), 1.0, 4.0, "1 to 4")
        }
        (flake, _) => Err(ShelfError::Kind {
            toner: name.to_string(),
            kind: toner.kind.word(),
            has: if flake.is_some() { "has" } else { "has no" },
        }),
    }
}

/// A toner in a mix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Its place on the shelf.
    pub toner: usize,
    /// Its mass fraction of the dry film.
    pub fraction: f64,
}

/// A paint as it lies on the panel: toners, the binder being the rest, film, and the primer below.
#[derive(Debug, Clone, PartialEq)]
pub struct Mix {
    /// Its toners, each once.
    pub parts: Vec<Part>,
    /// Dry film in micrometres.
    pub film_um: f64,
    /// The primer's place on the shelf.
    pub substrate: usize,
}

impl Mix {
    /// The mass fraction of all toners together.
    pub fn load(&self) -> f64 {
        self.parts.iter().map(|p| p.fraction).sum()
    }
}
