//! Why a table was refused, in one line.

/// Why a table was refused; each prints as one line with file, row, column, value and what would be
/// right, as far as they apply.
///
/// Rows are lines of the file, the first being 1.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TableError {
    /// The file is larger than the limit.
    #[error("{}: {bytes} bytes; at most {limit} are read", shown(.file))]
    TooBig {
        /// Name of the file.
        file: String,
        /// Its size in bytes.
        bytes: usize,
        /// The size allowed, in bytes.
        limit: usize,
    },
    /// There is nothing in the file.
    #[error("{}: the file is empty; a heading and at least one row are needed", shown(.file))]
    Empty {
        /// Name of the file.
        file: String,
    },
    /// There is a heading and nothing below it.
    #[error("{}: there is a heading but no row below it", shown(.file))]
    NoRows {
        /// Name of the file.
        file: String,
    },
    /// The bytes are not UTF-8 text.
    #[error("{}, row {row}: this is not UTF-8 text; save the table as CSV UTF-8", shown(.file))]
    NotText {
        /// Name of the file.
        file: String,
        /// Line of the first byte that cannot be read.
        row: usize,
    },
    /// There are more rows than the limit.
    #[error("{}: more than {limit} rows; split the file", shown(.file))]
    TooManyRows {
        /// Name of the file.
        file: String,
        /// The number of rows allowed.
        limit: usize,
    },
    /// There are more columns than the limit.
    #[error("{}: {columns} columns; at most {limit} are read", shown(.file))]
    TooManyColumns {
        /// Name of the file.
        file: String,
        /// Columns found.
        columns: usize,
        /// Columns allowed.
        limit: usize,
    },
    /// One cell is longer than the limit.
    #[error("{}, row {row}, column {column}: the cell is longer than {limit} bytes", shown(.file))]
    LongCell {
        /// Name of the file.
        file: String,
        /// Line on which the row starts.
        row: usize,
        /// Position of the column, the first being 1.
        column: usize,
        /// Length allowed, in bytes.
        limit: usize,
    },
    /// A quotation mark opens a cell and nothing closes it.
    #[error("{}, row {row}: a quotation mark opened here is never closed; the file may be cut short", shown(.file))]
    OpenQuote {
        /// Name of the file.
        file: String,
        /// Line on which the mark stands.
        row: usize,
    },
    /// Text follows a closing quotation mark.
    #[error("{}, row {row}: text follows a closing quotation mark; double the marks inside a quoted cell", shown(.file))]
    StrayQuote {
        /// Name of the file.
        file: String,
        /// Line on which the mark stands.
        row: usize,
    },
    /// The heading holds more than one kind of separator.
    #[error("{}, row {row}: the heading holds {kinds}; use one separator, or put quotation marks round a name that contains another", shown(.file))]
    TwoSeparators {
        /// Name of the file.
        file: String,
        /// Line of the heading.
        row: usize,
        /// The separators found, in words.
        kinds: String,
    },
    /// A row has more or fewer cells than the heading.
    #[error("{}, row {row}: {cells} {} where the heading has {columns}; is the row cut short, or the separator another?", shown(.file), if *.cells == 1 { "cell" } else { "cells" })]
    Ragged {
        /// Name of the file.
        file: String,
        /// Line on which the row starts.
        row: usize,
        /// Cells in the row.
        cells: usize,
        /// Columns in the heading.
        columns: usize,
    },
    /// A column has cells but no name.
    #[error("{}, heading: column {column} has no name", shown(.file))]
    UnnamedColumn {
        /// Name of the file.
        file: String,
        /// Position of the column, the first being 1.
        column: usize,
    },
    /// Two columns have the same name.
    #[error("{}, heading: two columns are called {}", shown(.file), shown(.column))]
    RepeatedColumn {
        /// Name of the file.
        file: String,
        /// The name.
        column: String,
    },
    /// A column that is needed is not there.
    #[error("{}, heading: the column {} is missing; found: {}", shown(.file), shown(.column), shown(.found))]
    MissingColumn {
        /// Name of the file.
        file: String,
        /// The name looked for.
        column: String,
        /// The names there are.
        found: String,
    },
    /// Several columns could be the one that is meant.
    #[error("{}, heading: {} could each be meant; keep one", shown(.file), shown(.columns))]
    RivalColumns {
        /// Name of the file.
        file: String,
        /// The names.
        columns: String,
    },
    /// Some numbers have a decimal comma and some a decimal point.
    #[error("{}: {} has a decimal comma and {} a decimal point; use one throughout", shown(.file), shown(.comma), shown(.point))]
    MixedDecimals {
        /// Name of the file.
        file: String,
        /// Where a comma stands, in words.
        comma: String,
        /// Where a point stands, in words.
        point: String,
    },
    /// One cell does not hold what its column needs.
    #[error("{}, row {row}, column {}: {} found; needed: {}", shown(.file), shown(.column), quoted(.value), shown(.wanted))]
    Value {
        /// Name of the file.
        file: String,
        /// Line on which the row starts.
        row: usize,
        /// Name of the column.
        column: String,
        /// What the cell holds.
        value: String,
        /// What would be right.
        wanted: String,
    },
}

/// Text from a file as it may stand in a one-line message: control characters and line breaks become
/// spaces, and a long text is cut.
pub(crate) fn shown(text: &str) -> String {
    const MOST_CHARS: usize = 400;
    let mut out: String = text
        .chars()
        .take(MOST_CHARS)
        .map(|c| match c {
            '\u{2028}' | '\u{2029}' => ' ',
            c if c.is_control() => ' ',
            c => c,
        })
        .collect();
    if text.chars().nth(MOST_CHARS).is_some() {
        out.push_str(" ...");
    }
    out
}

fn quoted(value: &str) -> String {
    if value.is_empty() { "nothing".into() } else { format!("\"{}\"", shown(value)) }
}
