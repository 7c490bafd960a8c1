//! What can keep a colour from existing.

use crate::geometry::Geometry;

/// Why no value exists; each variant carries what was given and what would be right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ColourError {
    /// A radiance factor that is not a number, or lies outside what any paint can give.
    #[error(
        "radiance factor {value} at {wavelength_nm} nm: must lie in {low} to {high}, where a perfect \
         diffuser is 1 (not percent)"
    )]
    RadianceFactor {
        /// Where in the spectrum.
        wavelength_nm: u16,
        /// The value given.
        value: f64,
        /// The lowest value allowed.
        low: f64,
        /// The highest value allowed.
        high: f64,
    },
    /// A spectrum with another number of values than 31.
    #[error("{found} values in a spectrum: must be {expected}, 400 to 700 nm in steps of 10")]
    SpectrumLength {
        /// How many values were given.
        found: usize,
        /// How many there must be.
        expected: usize,
    },
    /// A word that names no geometry.
    #[error("geometry {text:?}: must be one of 45as-15, 45as15 (or 45as+15), 45as25, 45as45, 45as75, 45as110")]
    Geometry {
        /// The word given.
        text: String,
    },
    /// A word that names no illuminant.
    #[error("illuminant {text:?}: must be D65, A or FL11")]
    Illuminant {
        /// The word given.
        text: String,
    },
    /// A word that names no observer.
    #[error("observer {text:?}: must be 2 or 10")]
    Observer {
        /// The word given.
        text: String,
    },
    /// A word that names no light of a picture.
    #[error("\"{text}\" is no light of a picture: it must be sun, overcast, lamp or tube")]
    Scene {
        /// What stood there.
        text: String,
    },
    /// A measurement without a single angle.
    #[error("a measurement holds no angle: it must hold at least one")]
    NoAngle,
    /// A measurement with the same angle twice.
    #[error("{geometry} stands twice in one measurement: each angle may stand once")]
    AngleTwice {
        /// The angle that stands twice.
        geometry: Geometry,
    },
    /// Travel asked of a measurement that lacks a face or a flop angle.
    #[error("no {what} angle in this measurement: travel needs {needs}")]
    NoTravel {
        /// `face` or `flop`.
        what: &'static str,
        /// The angles of which one is needed.
        needs: &'static str,
    },
    /// Two lists of colours that cannot be paired off.
    #[error("{first} colours against {second}: both lists must be equally long")]
    UnequalLists {
        /// Length of the first list.
        first: usize,
        /// Length of the second list.
        second: usize,
    },
    /// A quantity that has no meaning, or is not worked out, beyond a range.
    #[error("{what} {value}{unit}: must lie in {low} to {high}{unit}")]
    OutOfRange {
        /// Which quantity.
        what: &'static str,
        /// The value given.
        value: f64,
        /// The lowest value allowed.
        low: f64,
        /// The highest value allowed.
        high: f64,
        /// The unit with a space before it, or nothing.
        unit: &'static str,
    },
}

impl ColourError {
    /// Refuses what lies outside a range; a value that is not a number lies outside every range.
    pub(crate) fn within(what: &'static str, value: f64, low: f64, high: f64, unit: &'static str) -> Result<(), Self> {
        if (low..=high).contains(&value) { Ok(()) } else { Err(Self::OutOfRange { what, value, low, high, unit }) }
    }
}
