//! Spectra as rows of a table: a measurement by angle, or one spectrum a row.
//!
//! Wavelength columns are named by their nanometres, 400 to 700 in steps of 10. Values are radiance
//! or reflectance factors, the perfect diffuser being 1. Geometry stays text here; the colour page
//! gives it a meaning.

use base::Warning;

use super::{Column, Limits, Row, Table, TableError, error};

/// How many wavelengths a spectrum has: 400 to 700 nm in steps of 10.
pub const WAVELENGTHS: usize = 31;

/// Names for the column that tells measurements apart.
const ID_NAMES: [&str; 4] = ["name", "target_id", "panel_id", "id"];

/// A flake seen just beside the gloss sends back up to about 3 times what a perfect diffuser does
/// (common practice, no source); from here up the file is in percent.
const MOST_BY_ANGLE: f64 = 4.0;
/// Above this a bright flake is possible but a file in percent is as likely.
const BRIGHT: f64 = 2.5;
/// A single reflectance spectrum has no angle beside the gloss.
const MOST_REFLECTANCE: f64 = 2.5;
/// Noise around black may go this far below nothing.
const LEAST: f64 = -0.01;

/// All rows of a file that belong to one measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredRows {
    /// Name of the target, panel or card; empty if the file has no column for it.
    pub id: String,
    /// One row for each geometry, in the file's order.
    pub rows: Vec<GeometryRow>,
}

/// The spectrum of one geometry.
#[derive(Debug, Clone, PartialEq)]
pub struct GeometryRow {
    /// The line of the file, the first being 1.
    pub row: usize,
    /// The geometry as the file spells it, such as `45as15`.
    pub geometry: String,
    /// Radiance factors at 400, 410 ... 700 nm.
    pub values: [f64; WAVELENGTHS],
}

/// One named spectrum.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedSpectrum {
    /// The line of the file, the first being 1.
    pub row: usize,
    /// Its name.
    pub name: String,
    /// Reflectance factors at 400, 410 ... 700 nm.
    pub values: [f64; WAVELENGTHS],
}

/// Reads measurements by angle: columns `geometry`, `400`, `410` ... `700`, and optionally one of
/// `name`, `target_id`, `panel_id`, `id`, by which several measurements share a file.
///
/// Gives them in the order in which their ids first appear, with the file's warnings. Fails on a
/// missing wavelength, on a value that is not a number, is clearly negative (below -0.01) or in
/// percent (4 or more), and on a geometry given twice for one id.
pub fn measurements(
    file: &str,
    bytes: &[u8],
    limits: &Limits,
) -> Result<(Vec<MeasuredRows>, Vec<Warning>), TableError> {
    let table = Table::read(file, bytes, limits)?;
    let id = id_column(&table)?;
    measurements_by(&table, id.as_ref())
}

/// As [`measurements`], for the panels of a lab: the column `panel_id` tells them apart and must be there.
pub fn panels(file: &str, bytes: &[u8], limits: &Limits) -> Result<(Vec<MeasuredRows>, Vec<Warning>), TableError> {
    let table = Table::read(file, bytes, limits)?;
    let id = table.column("panel_id")?;
    measurements_by(&table, Some(&id))
}

fn measurements_by(table: &Table, id: Option<&Column>) -> Result<(Vec<MeasuredRows>, Vec<Warning>), TableError> {
    let geometry = table.column("geometry")?;
    let wavelengths = wavelength_columns(table)?;
    let mut warnings = warnings(table, &["geometry"], id);
    let mut places: std::collections::BTreeMap<String, usize> = Default::default();
    let mut all: Vec<MeasuredRows> = Vec::new();
    let mut bright: Option<String> = None;
    for row in table.rows() {
        let id = match id {
            Some(column) => row.text(column)?.to_owned(),
            None => String::new(),
        };
        let found = GeometryRow {
            row: row.number(),
            geometry: row.text(&geometry)?.to_owned(),
            values: values(&row, &wavelengths, MOST_BY_ANGLE)?,
        };
        let place = *places.entry(id.clone()).or_insert_with(|| {
            all.push(MeasuredRows { id, rows: Vec::new() });
            all.len() - 1
        });
        // The place was made from the list's own length just above or in an earlier turn.
        let rows = &mut all[place].rows;
        if let Some(earlier) = rows.iter().find(|have| have.geometry == found.geometry) {
            return Err(row.refuse(&geometry, format!("a geometry that row {} has not given already", earlier.row)));
        }
        if let Some(value) = found.values.iter().find(|value| **value > BRIGHT) {
            bright.get_or_insert_with(|| {
                format!(
                    "{}, row {}: {value} is very bright for a radiance factor (a white tile is 1); if the file is in percent, divide by 100",
                    error::shown(table.file()),
                    found.row
                )
            });
        }
        rows.push(found);
    }
    warnings.extend(bright.map(Warning::new));
    Ok((all, warnings))
}

/// Reads one reflectance spectrum a row: columns `name` (or `target_id`, `panel_id`, `id`), `400`,
/// `410` ... `700`, with the file's warnings.
///
/// Fails on a missing wavelength, and on a value that is not a number, is clearly negative (below
/// -0.01) or in percent (above 2.5).
pub fn named(file: &str, bytes: &[u8], limits: &Limits) -> Result<(Vec<NamedSpectrum>, Vec<Warning>), TableError> {
    let table = Table::read(file, bytes, limits)?;
    let name = match id_column(&table)? {
        Some(column) => column,
        None => table.column(ID_NAMES[0])?,
    };
    spectra_by(&table, &name, MOST_REFLECTANCE)
}

/// As [`named`], for the primers of a lab: the column `substrate` names them, and a diffuse reflectance seen
/// from inside a film lies in 0 to 1.
pub fn primers(file: &str, bytes: &[u8], limits: &Limits) -> Result<(Vec<NamedSpectrum>, Vec<Warning>), TableError> {
    let table = Table::read(file, bytes, limits)?;
    let name = table.column("substrate")?;
    let (spectra, warnings) = spectra_by(&table, &name, 1.0)?;
    let dark = |spectrum: &&NamedSpectrum| spectrum.values.iter().any(|value| *value < 0.0);
    if let Some(odd) = spectra.iter().find(dark)
        && let Some(row) = table.rows().find(|row| row.number() == odd.row)
    {
        return Err(row.refuse(&name, "a primer whose reflectance is nowhere under 0"));
    }
    Ok((spectra, warnings))
}

fn spectra_by(table: &Table, name: &Column, most: f64) -> Result<(Vec<NamedSpectrum>, Vec<Warning>), TableError> {
    let wavelengths = wavelength_columns(table)?;
    let spectra = table
        .rows()
        .map(|row| {
            Ok(NamedSpectrum {
                row: row.number(),
                name: row.text(name)?.to_owned(),
                values: values(&row, &wavelengths, most)?,
            })
        })
        .collect::<Result<_, TableError>>()?;
    Ok((spectra, warnings(table, &[], Some(name))))
}

/// The one column that names the measurement, if any; fails if two could.
fn id_column(table: &Table) -> Result<Option<Column>, TableError> {
    let mut found: Vec<Column> = ID_NAMES.iter().filter_map(|name| table.optional_column(name)).collect();
    match found.len() {
        0 | 1 => Ok(found.pop()),
        _ => Err(TableError::RivalColumns {
            file: table.file().into(),
            columns: found.iter().map(Column::name).collect::<Vec<_>>().join(" and "),
        }),
    }
}

fn wavelength_columns(table: &Table) -> Result<Vec<Column>, TableError> {
    wavelength_names().map(|name| table.column(&name)).collect()
}

fn wavelength_names() -> impl Iterator<Item = String> {
    (0..WAVELENGTHS).map(|index| (400 + 10 * index).to_string())
}

fn values(row: &Row<'_>, columns: &[Column], most: f64) -> Result<[f64; WAVELENGTHS], TableError> {
    let mut values = [0.0; WAVELENGTHS];
    for (value, column) in values.iter_mut().zip(columns) {
        *value = row.f64(column, f64::MIN..=f64::MAX)?;
        if *value < LEAST {
            return Err(row.refuse(column, "a value of at least 0 (light that comes back)"));
        }
        if *value > most {
            return Err(row.refuse(column, "a factor, 1 being a perfect white; this looks like percent: divide by 100"));
        }
    }
    Ok(values)
}

/// The table's own warnings and one for each column that is not used.
fn warnings(table: &Table, used: &[&str], id: Option<&Column>) -> Vec<Warning> {
    let mut known: Vec<String> = wavelength_names().collect();
    known.extend(used.iter().map(|name| (*name).to_owned()));
    known.extend(id.map(|column| column.name().to_owned()));
    let known: Vec<&str> = known.iter().map(String::as_str).collect();
    let mut warnings = table.warnings().to_vec();
    warnings.extend(table.unknown_columns(&known));
    warnings
}
