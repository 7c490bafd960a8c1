//! A column of film readings, one a row, as a gauge or a person writes them.

use base::Warning;

use super::{Limits, Table, TableError, decimal, error, text};

/// Column names under which readings are looked for when a file has several columns.
const NAMES: [&str; 7] = ["film_um", "reading_um", "dft_um", "reading", "readings", "film", "um"];

/// The largest film taken as a reading, in um; a gauge for car bodies ends far below.
const MOST_UM: f64 = 100_000.0;

/// Film readings in the file's order.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// Film in um.
    pub film_um: Vec<f64>,
    /// What was unusual about the file but clear.
    pub warnings: Vec<Warning>,
}

/// Reads film readings in um, one a row.
///
/// The file has one column, with or without a name, or several of which one is called `film_um`,
/// `reading_um`, `dft_um`, `reading`, `readings`, `film` or `um`. Fails on anything that is not a
/// number from 0 to 100 000, and where it is not clear which column is meant.
///
/// ```
/// use job::table::{Limits, readings};
/// let read = readings::read("roof.csv", b"82\n95\n", &Limits::USUAL)?;
/// assert_eq!(read.film_um, [82.0, 95.0]);
/// # Ok::<(), job::table::TableError>(())
/// ```
pub fn read(file: &str, bytes: &[u8], limits: &Limits) -> Result<Readings, TableError> {
    let text = text::decode(file, bytes, limits)?;
    let first = text.trim_start().lines().next().unwrap_or("");
    if decimal::looks_like_number(first.trim()) {
        let table = Table::from_text(file, text, Some(&NAMES[..1]), limits)?;
        let mut readings = column(&table, NAMES[0])?;
        readings.warnings.push(Warning::new(format!(
            "{}: the column has no name; the first row is taken as a reading",
            error::shown(file)
        )));
        return Ok(readings);
    }
    let table = Table::from_text(file, text, None, limits)?;
    if let [only] = table.heading() {
        return column(&table, only);
    }
    let found: Vec<&String> =
        table.heading().iter().filter(|have| NAMES.iter().any(|name| have.eq_ignore_ascii_case(name))).collect();
    match found.as_slice() {
        [one] => column(&table, one),
        _ => Err(TableError::MissingColumn {
            file: file.into(),
            column: NAMES[0].into(),
            found: table.heading().join(", "),
        }),
    }
}

fn column(table: &Table, name: &str) -> Result<Readings, TableError> {
    let column = table.column(name)?;
    let film_um = table.rows().map(|row| row.f64(&column, 0.0..=MOST_UM)).collect::<Result<_, _>>()?;
    let mut warnings = table.warnings().to_vec();
    warnings.extend(table.unknown_columns(&[name]));
    Ok(Readings { film_um, warnings })
}
