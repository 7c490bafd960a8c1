//! Tables of the repository, as cells.

use std::path::Path;

/// The rows of a comma-separated file under the repository, its header first.
pub(crate) fn rows(file: &str) -> Vec<Vec<String>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(file);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    text.lines().map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

/// A cell as a number.
pub(crate) fn number(cell: &str) -> f64 {
    cell.parse().unwrap_or_else(|error| panic!("{cell}: {error}"))
}
