//! One line of a catalogue file as typed fields, and a file as a list of items with their rows.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use base::Warning;

use super::Spread;
use crate::table::{Column, Limits, Row, Table, TableError};

/// Something that one line of a catalogue file describes.
pub(super) trait Item: Sized {
    /// The columns of its file, the id first. All must be there.
    const COLUMNS: &'static [&'static str];
    /// Columns that may be left out, because they came later than shops' own files.
    const OPTIONAL: &'static [&'static str] = &[];
    /// Reads one line.
    fn read(line: &Line<'_>) -> Result<Self, TableError>;
    /// Its id, unique in the file.
    fn id(&self) -> &str;
}

/// An item and the row it came from.
pub(super) struct At<T> {
    pub(super) row: usize,
    pub(super) item: T,
}

/// The items of a file, by id.
pub(super) struct Listed<T> {
    pub(super) file: &'static str,
    by_id: BTreeMap<String, At<T>>,
}

impl<T> Listed<T> {
    pub(super) fn iter(&self) -> impl Iterator<Item = &At<T>> {
        self.by_id.values()
    }

    pub(super) fn get(&self, id: &str) -> Option<&At<T>> {
        self.by_id.get(id)
    }

    pub(super) fn into_map(self) -> BTreeMap<String, T> {
        self.by_id.into_iter().map(|(id, at)| (id, at.item)).collect()
    }

    /// A refusal of one field of a row, once the file itself has been read.
    pub(super) fn refuse(&self, row: usize, column: &str, value: &str, wanted: impl Into<String>) -> TableError {
        TableError::Value {
            file: self.file.into(),
            row,
            column: column.into(),
            value: value.into(),
            wanted: wanted.into(),
        }
    }
}

/// Reads a catalogue file; its unusual but clear points are added to `warnings`.
pub(super) fn list<T: Item>(
    file: &'static str,
    bytes: &[u8],
    limits: &Limits,
    warnings: &mut Vec<Warning>,
) -> Result<Listed<T>, TableError> {
    let table = Table::read(file, bytes, limits)?;
    let mut columns = T::COLUMNS
        .iter()
        .map(|&name| Ok((name, table.column(name)?)))
        .collect::<Result<BTreeMap<_, _>, TableError>>()?;
    columns.extend(T::OPTIONAL.iter().filter_map(|&name| Some((name, table.optional_column(name)?))));
    warnings.extend(table.warnings().iter().cloned());
    warnings.extend(table.unknown_columns(&[T::COLUMNS, T::OPTIONAL].concat()));
    let mut by_id: BTreeMap<String, At<T>> = BTreeMap::new();
    for row in table.rows() {
        let line = Line { row, columns: &columns, file };
        let item = T::read(&line)?;
        let at = At { row: row.number(), item };
        if let Some(earlier) = by_id.get(at.item.id()) {
            let wanted = format!("an id that row {} has not used", earlier.row);
            return Err(line.refuse(T::COLUMNS.first().unwrap_or(&""), wanted));
        }
        by_id.insert(at.item.id().to_owned(), at);
    }
    Ok(Listed { file, by_id })
}

/// One line of a catalogue file.
pub(super) struct Line<'a> {
    row: Row<'a>,
    columns: &'a BTreeMap<&'static str, Column>,
    file: &'static str,
}

impl Line<'_> {
    fn column(&self, name: &str) -> Result<&Column, TableError> {
        self.columns.get(name).ok_or_else(|| TableError::MissingColumn {
            file: self.file.into(),
            column: name.into(),
            found: self.columns.keys().copied().collect::<Vec<_>>().join(", "),
        })
    }

    pub(super) fn refuse(&self, name: &str, wanted: impl Into<String>) -> TableError {
        match self.column(name) {
            Ok(column) => self.row.refuse(column, wanted),
            Err(error) => error,
        }
    }

    /// Text that must be there.
    pub(super) fn text(&self, name: &str) -> Result<String, TableError> {
        Ok(self.row.text(self.column(name)?)?.to_owned())
    }

    /// Text that may be left out.
    pub(super) fn note(&self, name: &str) -> Result<String, TableError> {
        Ok(self.row.cell(self.column(name)?).to_owned())
    }

    /// Text of a column that may be left out; nothing where it was.
    pub(super) fn maybe(&self, name: &str) -> &str {
        self.columns.get(name).map_or("", |column| self.row.cell(column))
    }

    /// Ids with spaces or semicolons between them.
    pub(super) fn ids(&self, name: &str) -> Result<Vec<String>, TableError> {
        Ok(self
            .row
            .cell(self.column(name)?)
            .split(|c: char| c == ';' || c.is_whitespace())
            .filter(|id| !id.is_empty())
            .map(str::to_owned)
            .collect())
    }

    /// Ids, as many as allowed and each of them once.
    pub(super) fn several(&self, name: &str, allowed: RangeInclusive<usize>) -> Result<Vec<String>, TableError> {
        let ids = self.ids(name)?;
        if !allowed.contains(&ids.len()) {
            let (least, most) = (allowed.start(), allowed.end());
            return Err(self.refuse(name, format!("{least} to {most} ids (now {})", ids.len())));
        }
        let twice = ids.iter().enumerate().find(|(place, id)| ids.iter().take(*place).any(|before| before == *id));
        match twice {
            Some((_, id)) => Err(self.refuse(name, format!("each id once (now {id} twice)"))),
            None => Ok(ids),
        }
    }

    pub(super) fn number(&self, name: &str, allowed: RangeInclusive<f64>) -> Result<f64, TableError> {
        self.row.f64(self.column(name)?, allowed)
    }

    pub(super) fn optional_number(&self, name: &str, allowed: RangeInclusive<f64>) -> Result<Option<f64>, TableError> {
        self.row.optional_f64(self.column(name)?, allowed)
    }

    pub(super) fn whole(&self, name: &str, allowed: RangeInclusive<usize>) -> Result<usize, TableError> {
        self.row.whole(self.column(name)?, allowed)
    }

    /// A probability that odds can be made of.
    pub(super) fn probability(&self, name: &str) -> Result<f64, TableError> {
        self.number(name, PROBABILITY)
    }

    /// Three columns, low to high.
    pub(super) fn spread(
        &self,
        [low, likely, high]: [&str; 3],
        allowed: RangeInclusive<f64>,
    ) -> Result<Spread, TableError> {
        let spread = Spread {
            low: self.number(low, allowed.clone())?,
            likely: self.number(likely, allowed.clone())?,
            high: self.number(high, allowed)?,
        };
        for (name, value, least) in [(likely, spread.likely, spread.low), (high, spread.high, spread.likely)] {
            if value < least {
                let wanted = format!("at least {least}, so that low, likely and high rise");
                return Err(self.refuse(name, wanted));
            }
        }
        Ok(spread)
    }

    /// One word out of a list.
    pub(super) fn word<T: Copy>(&self, name: &str, words: &[(&str, T)]) -> Result<T, TableError> {
        let cell = self.row.cell(self.column(name)?);
        words.iter().find(|(word, _)| *word == cell).map(|(_, meaning)| *meaning).ok_or_else(|| {
            let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            self.refuse(name, format!("one of {}", known.join(", ")))
        })
    }
}

/// Certainty has no odds, so it is kept out.
pub(super) const PROBABILITY: RangeInclusive<f64> = 0.001..=0.999;
