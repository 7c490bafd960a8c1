//! Why a file was refused.

use crate::network::NetworkError;

/// Why a file was refused. What was found is cut to what fits a line.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BifError {
    /// The text is longer than is read.
    #[error("the file has {bytes} bytes; there may be {most} at most")]
    TooLong {
        /// How many there are.
        bytes: usize,
        /// The most allowed.
        most: usize,
    },
    /// Something is not as the format has it.
    #[error("line {line}, column {column}: found {found}; right would be {wanted}")]
    Wrong {
        /// The line, from 1.
        line: usize,
        /// The column in characters, from 1.
        column: usize,
        /// What stands there.
        found: String,
        /// What would be right.
        wanted: String,
    },
    /// Everything is well written, but makes no network.
    #[error(transparent)]
    Network(#[from] NetworkError),
}
