//! A paint as it was measured: from a file to the record, and from the record to the colour engine.

mod angle;

use base::Warning;
use colour::{Measurement, Spectrum};

use crate::table::{Limits, TableError, spectra};
use crate::what::{GeometrySpectrum, Measured};

pub(crate) use angle::KNOWN;
pub use angle::{Angle, angle, disorder};

/// Why a file or an entry is not a measurement.
#[derive(Debug, thiserror::Error)]
pub enum PaintError {
    /// The file cannot be read as a table of spectra.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A geometry this program does not know.
    #[error("{file}, row {row}, column geometry: \"{found}\" is not one of {}", KNOWN)]
    Geometry {
        /// The file.
        file: String,
        /// Its row, from 1.
        row: usize,
        /// What stands there.
        found: String,
    },
    /// The spectra do not make a measurement.
    #[error("{0}")]
    Spectra(#[from] colour::ColourError),
    /// More measurements in one file than are taken at once.
    #[error("{file}: {found} measurements; at most {MOST} are taken from one file")]
    TooMany {
        /// The file.
        file: String,
        /// How many it holds.
        found: usize,
    },
}

/// The most measurements taken from one file.
pub const MOST: usize = 2_000;

/// A paint whose lightness differs by more than this from angle to angle is taken for an effect paint: a
/// solid one differs by a few (common practice, no source).
const EFFECT_RANGE: f64 = 15.0;

/// A doubt about one of several measurements.
fn named(name: &str, why: String) -> Warning {
    Warning::new(if name.is_empty() { why } else { format!("{name}: {why}") })
}

/// One measurement found in a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Its name in the file; empty when the file has none.
    pub name: String,
    /// Its spectra by geometry, in the order of the angles.
    pub spectra: Vec<GeometrySpectrum>,
}

/// Reads the measurements in a CSV file, with what was doubtful about it.
///
/// # Errors
/// When the file is no table of spectra; the message names file, row and column.
pub fn read(file: &str, bytes: &[u8]) -> Result<(Vec<Found>, Vec<Warning>), PaintError> {
    let (groups, mut doubts) = spectra::measurements(file, bytes, &Limits::USUAL)?;
    if groups.len() > MOST {
        return Err(PaintError::TooMany { file: file.into(), found: groups.len() });
    }
    let mut all = Vec::new();
    for group in groups {
        let mut angles = Vec::new();
        for row in &group.rows {
            let angle = angle(&row.geometry).ok_or_else(|| PaintError::Geometry {
                file: file.into(),
                row: row.row,
                found: row.geometry.chars().take(40).collect(),
            })?;
            doubts.extend(angle.lost.map(Warning::new));
            angles.push((angle.geometry, Spectrum::new(row.values)?));
        }
        let measurement = Measurement::new(angles)?;
        doubts.extend(measurement.warnings());
        doubts.extend(disorder(&measurement, EFFECT_RANGE).map(|why| named(&group.id, why)));
        let spectra = measurement
            .by_angle()
            .iter()
            .map(|(geometry, spectrum)| GeometrySpectrum {
                geometry: geometry.to_string(),
                values: spectrum.values().to_vec(),
            })
            .collect();
        all.push(Found { name: group.id, spectra });
    }
    Ok((all, doubts))
}

/// The measurement that an entry of the record holds.
///
/// # Errors
/// When the entry's spectra are not what the colour engine takes.
pub fn measurement(measured: &Measured) -> Result<Measurement, PaintError> {
    of_spectra(&measured.file, &measured.spectra)
}

/// The measurement in the spectra of an entry: of a paint, a card, or a recipe as predicted. `file` is the
/// name that messages give.
///
/// # Errors
/// When the spectra are not what the colour engine takes.
pub fn of_spectra(file: &str, spectra: &[GeometrySpectrum]) -> Result<Measurement, PaintError> {
    let mut angles = Vec::new();
    for (index, spectrum) in spectra.iter().enumerate() {
        let geometry = spectrum.geometry.parse().map_err(|_| PaintError::Geometry {
            file: file.into(),
            row: index + 1,
            found: spectrum.geometry.chars().take(40).collect(),
        })?;
        angles.push((geometry, Spectrum::from_slice(&spectrum.values)?));
    }
    Ok(Measurement::new(angles)?)
}
