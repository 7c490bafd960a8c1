//! Text tables typed in by people: bytes to a checked [`Table`], every refusal naming file, row,
//! column, the value and what would be right.
//!
//! The separator and the decimal mark are recognised, named in a warning, and never guessed in
//! silence: where two readings of a file are possible, it is refused. Nothing here opens a file; the
//! caller hands over the bytes and the name that a person would know the file by.
//!
//! Not done here: other encodings than UTF-8, comment lines, several tables in one file.

mod decimal;
mod error;
pub mod readings;
pub mod spectra;
pub mod tasks;
mod text;

use std::ops::RangeInclusive;

use base::Warning;
use csv::StringRecord;

pub use error::TableError;
pub(crate) use error::shown;

use decimal::Decimals;

/// How much of a table is taken before it is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Size of the whole file, in bytes.
    pub bytes: usize,
    /// Rows below the heading.
    pub rows: usize,
    /// Columns.
    pub columns: usize,
    /// Length of one cell, in bytes.
    pub cell_bytes: usize,
}

impl Limits {
    /// 16 MB, 200 000 rows, 64 columns, 4 096 bytes a cell: far above any table a shop types.
    pub const USUAL: Self = Self { bytes: 16 * 1024 * 1024, rows: 200_000, columns: 64, cell_bytes: 4096 };
}

/// A table with a heading, whose rows all have as many cells as the heading.
#[derive(Debug, Clone)]
pub struct Table {
    file: String,
    heading: Vec<String>,
    rows: Vec<Stored>,
    decimals: Decimals,
    warnings: Vec<Warning>,
}

#[derive(Debug, Clone)]
struct Stored {
    number: usize,
    cells: StringRecord,
}

/// One column of the [`Table`] it was asked from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    index: usize,
    name: String,
}

/// One row of a [`Table`].
#[derive(Debug, Clone, Copy)]
pub struct Row<'a> {
    table: &'a Table,
    stored: &'a Stored,
}

impl Table {
    /// Reads `bytes` as a table with a heading and at least one row.
    ///
    /// `file` is the name used in messages. Fails with a [`TableError`] on anything that is not one
    /// clear table within `limits`; the separator and decimal mark found are told by
    /// [`warnings`](Self::warnings) when they are not the comma and the point.
    ///
    /// ```
    /// use job::table::{Limits, Table};
    /// let table = Table::read("films.csv", b"panel;film_um\nroof;112,5\n", &Limits::USUAL)?;
    /// let film = table.column("film_um")?;
    /// let row = table.rows().next().expect("one row");
    /// assert_eq!(row.f64(&film, 0.0..=5000.0)?, 112.5);
    /// assert_eq!(table.warnings().len(), 2);
    /// # Ok::<(), job::table::TableError>(())
    /// ```
    pub fn read(file: &str, bytes: &[u8], limits: &Limits) -> Result<Self, TableError> {
        Self::from_text(file, text::decode(file, bytes, limits)?, None, limits)
    }

    /// Reads `text` under its own heading, or under the `given` one if it has none.
    fn from_text(file: &str, text: &str, given: Option<&[&str]>, limits: &Limits) -> Result<Self, TableError> {
        let separator = text::separator(file, text)?;
        text::check_quotes(file, text, separator)?;
        let given = given.map(|names| StringRecord::from(names.to_vec()));
        let (heading, mut rows) = records(file, text, separator, given, limits)?;
        let heading = named_columns(file, heading, &mut rows, limits)?;
        if rows.is_empty() {
            return Err(TableError::NoRows { file: file.into() });
        }
        let mut warnings = Vec::new();
        if let Some(word) = text::separator_word(separator) {
            warnings.push(Warning::new(format!("{}: the columns are separated by {word}; read as such", shown(file))));
        }
        let decimals = decimal::decide(separator, &heading, &rows);
        if let Decimals::Comma { example } = &decimals {
            warnings.push(Warning::new(format!(
                "{}: numbers are written with a decimal comma ({example}); read as such",
                shown(file)
            )));
        }
        Ok(Self { file: file.into(), heading, rows, decimals, warnings })
    }

    /// The name of the file, as messages give it.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// The names of the columns, in the file's order.
    pub fn heading(&self) -> &[String] {
        &self.heading
    }

    /// The rows below the heading, in the file's order; blank lines are left out.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = Row<'_>> {
        self.rows.iter().map(move |stored| Row { table: self, stored })
    }

    /// What was unusual about the file but clear: its separator, its decimal mark.
    pub fn warnings(&self) -> &[Warning] {
        &self.warnings
    }

    /// The column called `name` (upper and lower case may differ where that is unambiguous).
    ///
    /// Fails if there is none.
    pub fn column(&self, name: &str) -> Result<Column, TableError> {
        self.optional_column(name).ok_or_else(|| TableError::MissingColumn {
            file: self.file.clone(),
            column: name.into(),
            found: self.heading.join(", "),
        })
    }

    /// The column called `name`, if the file has it.
    pub fn optional_column(&self, name: &str) -> Option<Column> {
        let exact = self.heading.iter().position(|have| have == name);
        let index = exact.or_else(|| {
            let mut alike = (0..self.heading.len()).filter(|&i| self.heading[i].eq_ignore_ascii_case(name));
            alike.next().filter(|_| alike.next().is_none())
        })?;
        Some(Column { index, name: self.heading[index].clone() })
    }

    /// One warning for each column that is none of `known`, since a misspelt name would otherwise
    /// be lost without a word.
    pub fn unknown_columns(&self, known: &[&str]) -> Vec<Warning> {
        self.heading
            .iter()
            .filter(|have| !known.iter().any(|name| have.eq_ignore_ascii_case(name)))
            .map(|have| Warning::new(format!("{}: the column {} is not used", shown(&self.file), shown(have))))
            .collect()
    }
}

impl Column {
    /// The name as the file spells it.
    pub fn name(&self) -> &str {
        &self.name
    }
}

impl<'a> Row<'a> {
    /// The line of the file on which the row starts; the first line is 1.
    pub fn number(&self) -> usize {
        self.stored.number
    }

    /// The cell without the spaces around it; empty if nothing was written.
    pub fn cell(&self, column: &Column) -> &'a str {
        self.stored.cells.get(column.index).unwrap_or("").trim()
    }

    /// The cell as text; fails if it is empty.
    pub fn text(&self, column: &Column) -> Result<&'a str, TableError> {
        match self.cell(column) {
            "" => Err(self.refuse(column, "some text")),
            text => Ok(text),
        }
    }

    /// The cell as a finite number within `allowed`; fails on anything else.
    pub fn f64(&self, column: &Column, allowed: RangeInclusive<f64>) -> Result<f64, TableError> {
        let cell = self.cell(column);
        let number = decimal::parse(cell, &self.table.decimals)
            .map_err(|trouble| self.number_trouble(column, trouble, &allowed))?;
        if !allowed.contains(&number) {
            return Err(self.refuse(column, decimal::wanted("a number", &allowed)));
        }
        Ok(number)
    }

    /// As [`f64`](Self::f64), but an empty cell is `None`.
    pub fn optional_f64(&self, column: &Column, allowed: RangeInclusive<f64>) -> Result<Option<f64>, TableError> {
        if self.cell(column).is_empty() {
            return Ok(None);
        }
        self.f64(column, allowed).map(Some)
    }

    /// The cell as a whole number within `allowed`; fails on anything else.
    pub fn whole(&self, column: &Column, allowed: RangeInclusive<usize>) -> Result<usize, TableError> {
        self.cell(column)
            .parse()
            .ok()
            .filter(|number| allowed.contains(number))
            .ok_or_else(|| self.refuse(column, decimal::wanted("a whole number", &allowed)))
    }

    /// A refusal of this cell that says what would be right, as in "a zone id such as Z01".
    pub fn refuse(&self, column: &Column, wanted: impl Into<String>) -> TableError {
        TableError::Value {
            file: self.table.file.clone(),
            row: self.number(),
            column: column.name.clone(),
            value: self.cell(column).into(),
            wanted: wanted.into(),
        }
    }

    fn number_trouble(&self, column: &Column, trouble: decimal::Trouble, allowed: &RangeInclusive<f64>) -> TableError {
        match trouble {
            decimal::Trouble::NotANumber => self.refuse(column, decimal::wanted("a number", allowed)),
            decimal::Trouble::WrongMark(rewritten) => {
                self.refuse(column, format!("the decimal mark of the rest of the file ({rewritten})"))
            }
            decimal::Trouble::MaybeThousands => {
                self.refuse(column, "a number that cannot be read both as thousands and as a decimal")
            }
            decimal::Trouble::Mixed { comma, point } => {
                TableError::MixedDecimals { file: self.table.file.clone(), comma, point }
            }
        }
    }
}

/// The heading (the first row, unless it was given) and the rows, each with the line it starts on;
/// rows with nothing in them are dropped.
fn records(
    file: &str,
    text: &str,
    separator: u8,
    mut heading: Option<StringRecord>,
    limits: &Limits,
) -> Result<(StringRecord, Vec<Stored>), TableError> {
    let mut reader =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(separator).from_reader(text.as_bytes());
    let mut lines = text::Lines::new(text);
    let mut rows = Vec::new();
    let mut record = StringRecord::new();
    loop {
        let start = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
        let number = lines.at_record(start);
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(_) => {
                return Err(TableError::NotText { file: file.into(), row: number });
            }
        }
        if let Some(column) = record.iter().position(|cell| cell.len() > limits.cell_bytes) {
            return Err(TableError::LongCell {
                file: file.into(),
                row: number,
                column: column + 1,
                limit: limits.cell_bytes,
            });
        }
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        match &heading {
            None => heading = Some(record.clone()),
            Some(_) if rows.len() == limits.rows => {
                return Err(TableError::TooManyRows { file: file.into(), limit: limits.rows });
            }
            Some(heading) => rows.push(Stored {
                number,
                cells: as_wide_as(heading, &record).ok_or_else(|| TableError::Ragged {
                    file: file.into(),
                    row: number,
                    cells: record.len(),
                    columns: heading.len(),
                })?,
            }),
        }
    }
    let heading = heading.ok_or_else(|| TableError::Empty { file: file.into() })?;
    Ok((heading, rows))
}

/// The record with as many cells as the heading, if that costs no more than empty cells at its end
/// (spreadsheets add those).
fn as_wide_as(heading: &StringRecord, record: &StringRecord) -> Option<StringRecord> {
    if record.len() == heading.len() {
        return Some(record.clone());
    }
    let surplus_is_empty = record.iter().skip(heading.len()).all(|cell| cell.trim().is_empty());
    if record.len() < heading.len() || !surplus_is_empty {
        return None;
    }
    let mut cut = record.clone();
    cut.truncate(heading.len());
    Some(cut)
}

/// The heading as names, each present and different; unnamed columns at the end without any cell
/// filled are dropped.
fn named_columns(
    file: &str,
    heading: StringRecord,
    rows: &mut [Stored],
    limits: &Limits,
) -> Result<Vec<String>, TableError> {
    let mut names: Vec<String> = heading.iter().map(|name| name.trim().to_owned()).collect();
    let is_unused =
        |index: usize, rows: &[Stored]| rows.iter().all(|row| row.cells.get(index).unwrap_or("").trim().is_empty());
    while names.last().is_some_and(String::is_empty) && is_unused(names.len() - 1, rows) {
        names.pop();
    }
    if names.len() > limits.columns {
        return Err(TableError::TooManyColumns { file: file.into(), columns: names.len(), limit: limits.columns });
    }
    for (index, name) in names.iter().enumerate() {
        if name.is_empty() {
            return Err(TableError::UnnamedColumn { file: file.into(), column: index + 1 });
        }
        if names[..index].contains(name) {
            return Err(TableError::RepeatedColumn { file: file.into(), column: name.clone() });
        }
    }
    Ok(names)
}

#[cfg(test)]
mod tests;
