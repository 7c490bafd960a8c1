//! What can be wrong with a body's files.

/// A body file that cannot be drawn from; every variant names the file, and the row where there is one.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BodyError {
    /// The file is no readable table, or its heading is not the one expected.
    #[error("{file}, row {row}: {why}")]
    Table {
        /// File name.
        file: &'static str,
        /// Line of the file, counted from 1 with the heading.
        row: u64,
        /// What is wrong.
        why: String,
    },
    /// One field holds a value that is not allowed there.
    #[error("{file}, row {row}, {column}: \"{value}\" is not {allowed}")]
    Value {
        /// File name.
        file: &'static str,
        /// Line of the file.
        row: u64,
        /// Column heading.
        column: &'static str,
        /// What was found.
        value: String,
        /// What would be right.
        allowed: &'static str,
    },
    /// A name is used that nothing defines.
    #[error("{file}, row {row}: no {kind} is called \"{name}\"")]
    Unknown {
        /// File name.
        file: &'static str,
        /// Line of the file.
        row: u64,
        /// Point, edge, view or zone.
        kind: &'static str,
        /// The name.
        name: String,
    },
    /// A name is defined a second time.
    #[error("{file}, row {row}: \"{name}\" is defined twice")]
    Twice {
        /// File name.
        file: &'static str,
        /// Line of the file.
        row: u64,
        /// The name.
        name: String,
    },
    /// A path cannot be drawn.
    #[error("{file}, row {row}: the path {why}")]
    Path {
        /// File name.
        file: &'static str,
        /// Line of the file.
        row: u64,
        /// What is wrong.
        why: &'static str,
    },
    /// The file of views cannot be used.
    #[error("{file}: {why}")]
    Views {
        /// File name.
        file: &'static str,
        /// What is wrong.
        why: String,
    },
    /// An instance named in zones.csv is drawn in no view.
    #[error("{file}: \"{instance}\" is drawn in no view")]
    Undrawn {
        /// File name.
        file: &'static str,
        /// The instance.
        instance: String,
    },
}
