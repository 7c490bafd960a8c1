//! Every row of the trade's starting guesses says what it rests on.

use super::Finding;
use crate::tree::Tree;

const FOLDER: &str = "catalogue/";
/// Drawn geometry, invented by us as a whole and described in one place, not row by row.
const GEOMETRY: &str = "catalogue/body/";

/// Each table has a column `basis` and no row leaves it empty.
pub(super) fn findings(tree: &Tree) -> Vec<Finding> {
    let mut found = Vec::new();
    for (path, text) in tree.texts(&[".csv"]) {
        if path.starts_with(FOLDER) && !path.starts_with(GEOMETRY) {
            found.extend(in_table(path, text));
        }
    }
    found
}

fn in_table(path: &str, text: &str) -> Vec<Finding> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let column = match reader.headers() {
        Ok(headers) => headers.iter().position(|name| name.trim() == "basis" || name.trim().ends_with("_basis")),
        Err(error) => return vec![Finding::new(path, error.to_string())],
    };
    let Some(column) = column else {
        return vec![Finding::new(path, "has no column named basis")];
    };
    let mut found = Vec::new();
    for row in reader.records() {
        match row {
            Ok(row) => {
                let line = row.position().map_or(0, csv::Position::line);
                if row.get(column).is_none_or(|basis| basis.trim().is_empty()) {
                    found.push(Finding::new(format!("{path}:{line}"), "has no basis"));
                }
            }
            Err(error) => found.push(Finding::new(path, error.to_string())),
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::findings;
    use crate::tree::Tree;

    #[test]
    fn rows_with_a_basis_are_kept() {
        let tree = Tree::of(&[
            ("catalogue/a.csv", "id,basis\nA,\"common practice, no source\"\n"),
            ("catalogue/body/x/points.csv", "x\n1\n"),
        ]);
        assert_eq!(findings(&tree), []);
    }

    #[test]
    fn rows_and_tables_without_one_are_found() {
        let tree = Tree::of(&[
            ("catalogue/a.csv", "id,basis\nA,from memory\nB, \n"),
            ("catalogue/b.csv", "id\nA\n"),
            ("catalogue/c.csv", "id,basis\nA\n"),
        ]);
        let found = findings(&tree);
        assert_eq!(found.len(), 3);
        assert_eq!(found[0].to_string(), "catalogue/a.csv:3: has no basis");
    }
}
