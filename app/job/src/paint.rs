//! A paint as it was measured: from a file to the record, and from the record to the colour engine.

use base::Warning;
use colour::{Geometry, Measurement, Spectrum};

use crate::table::{Limits, TableError, spectra};
use crate::what::{GeometrySpectrum, Measured};

/// Why a file or an entry is not a measurement.
#[derive(Debug, thiserror::Error)]
pub enum PaintError {
    /// The file cannot be read as a table of spectra.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A geometry this program does not know.
    #[error(
        "{file}, row {row}, column geometry: \"{found}\" is not one of 45as-15, 45as15, 45as25, 45as45, 45as75, 45as110"
    )]
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
            let geometry: Geometry = row.geometry.parse().map_err(|_| PaintError::Geometry {
                file: file.into(),
                row: row.row,
                found: row.geometry.chars().take(40).collect(),
            })?;
            angles.push((geometry, Spectrum::new(row.values)?));
        }
        let measurement = Measurement::new(angles)?;
        doubts.extend(measurement.warnings());
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
    let mut angles = Vec::new();
    for (index, spectrum) in measured.spectra.iter().enumerate() {
        let geometry = spectrum.geometry.parse().map_err(|_| PaintError::Geometry {
            file: measured.file.clone(),
            row: index + 1,
            found: spectrum.geometry.chars().take(40).collect(),
        })?;
        angles.push((geometry, Spectrum::from_slice(&spectrum.values)?));
    }
    Ok(Measurement::new(angles)?)
}
