//! A file is split before 600 lines; a function past 70 is worth a second look.

use super::Finding;
use crate::rust_text::functions;
use crate::tree::{Tree, is_test_path};

const FILE_LINES: usize = 600;
const FUNCTION_LINES: usize = 70;

/// Files of code that grew too long, tests and benches aside.
pub(super) fn findings(tree: &Tree) -> Vec<Finding> {
    code(tree, &[".rs", ".ts", ".css"])
        .map(|(path, text)| (path, text.lines().count()))
        .filter(|(_, lines)| *lines > FILE_LINES)
        .map(|(path, lines)| {
            Finding::new(path, format!("has {lines} lines; split it along a noun before {FILE_LINES}"))
        })
        .collect()
}

/// Long functions, as a note: tables, route lists and exhaustive matches may be long.
pub(super) fn long_functions(tree: &Tree) -> Vec<Finding> {
    let mut found = Vec::new();
    for (path, text) in code(tree, &[".rs"]) {
        for function in functions(text).iter().filter(|function| function.line_count > FUNCTION_LINES) {
            found.push(Finding::at_line(
                path,
                function.line,
                format!("{} has {} lines", function.name, function.line_count),
            ));
        }
    }
    found
}

fn code<'a>(tree: &'a Tree, endings: &'a [&str]) -> impl Iterator<Item = (&'a str, &'a str)> {
    tree.texts(endings).filter(|(path, _)| !is_test_path(path))
}

#[cfg(test)]
mod tests {
    use super::{findings, long_functions};
    use crate::tree::Tree;

    #[test]
    fn a_long_file_is_found_and_a_long_test_is_not() {
        let long = "\n".repeat(601);
        let tree = Tree::of(&[
            ("ui/src/a.css", &long),
            ("app/web/tests/a.rs", &long),
            ("docs/a.md", &long),
            ("a.rs", &long[1..]),
        ]);
        let found = findings(&tree);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].place, "ui/src/a.css");
    }

    #[test]
    fn a_long_function_is_noted() {
        let long = format!("fn short() {{}}\nfn long() {{{}}}", "\n".repeat(70));
        let notes = long_functions(&Tree::of(&[("a.rs", &long)]));
        assert_eq!(notes.len(), 1);
        assert_eq!(notes[0].to_string(), "a.rs:2: long has 71 lines");
    }
}
