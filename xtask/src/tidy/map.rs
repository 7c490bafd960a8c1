//! ARCHITECTURE.md names every crate folder; every folder and file that it or CONTRIBUTING.md names exists.

use super::{Finding, numbered_lines};
use crate::tree::Tree;

const PAGE: &str = "ARCHITECTURE.md";
const GUIDE: &str = "CONTRIBUTING.md";

/// Compares the pages with the tree. Paths count when written `like/this` between backticks.
pub(super) fn findings(tree: &Tree) -> Vec<Finding> {
    let mut found = Vec::new();
    let mut named: Vec<&str> = Vec::new();
    for page in [PAGE, GUIDE] {
        let Some(text) = tree.file(page).and_then(|file| file.text()) else {
            found.push(Finding::new(page, "the page is missing"));
            continue;
        };
        for (line, content) in numbered_lines(text) {
            for path in paths(content) {
                if !tree.has(path) {
                    found.push(Finding::at_line(page, line, format!("names `{path}`, which does not exist")));
                }
                if page == PAGE {
                    named.push(path.trim_end_matches('/'));
                }
            }
        }
    }
    for package in &tree.packages {
        if !named.contains(&package.folder.as_str()) {
            found.push(Finding::new(PAGE, format!("does not name `{}`", package.folder)));
        }
    }
    found
}

/// The code spans of a line that read as a path from the root: `engines/colour`, `ui/`, `app/web/src/lib.rs`.
/// A route (`/cars`), a Rust path, a command, a pattern or a bare name is none.
fn paths(line: &str) -> impl Iterator<Item = &str> {
    let spans = line.split('`').skip(1).step_by(2);
    spans.filter(|span| {
        let plain = |c: char| c.is_ascii_alphanumeric() || "._-/".contains(c);
        span.contains('/') && !span.starts_with('/') && span.chars().all(plain)
    })
}

#[cfg(test)]
mod tests {
    use super::findings;
    use crate::tree::Tree;
    use crate::workspace::Package;

    fn found(architecture: &str, contributing: &str) -> Vec<String> {
        let mut tree = Tree::of(&[
            ("ARCHITECTURE.md", architecture),
            ("CONTRIBUTING.md", contributing),
            ("engines/base/src/lib.rs", ""),
            ("xtask/src/main.rs", ""),
        ]);
        tree.packages = vec![Package::of("engines/base"), Package::of("xtask")];
        findings(&tree).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_true_map_is_kept() {
        let page = "`engines/base` is maths; see `engines/base/src/lib.rs`.\n`xtask/` checks. \
                    Not paths: `/cars/{id}`, `a::b`, `cargo xtask`.";
        assert!(found(page, "see `xtask/src/main.rs`").is_empty());
    }

    #[test]
    fn a_vanished_crate_and_a_new_one_are_found() {
        let found = found("`engines/base` and `engines/vanished`", "`xtask/gone.rs`");
        assert_eq!(
            found,
            [
                "ARCHITECTURE.md:1: names `engines/vanished`, which does not exist",
                "CONTRIBUTING.md:1: names `xtask/gone.rs`, which does not exist",
                "ARCHITECTURE.md: does not name `xtask`",
            ]
        );
    }

    #[test]
    fn missing_pages_are_found() {
        assert_eq!(findings(&Tree::of(&[])).len(), 2);
    }
}
