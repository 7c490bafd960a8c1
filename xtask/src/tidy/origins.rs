//! A test whose name claims an authority outside this program says which, right where it stands.

use super::Finding;
use crate::rust_text::functions;
use crate::tree::Tree;

/// Prefixes that claim such an authority. `invariant_` and `regression_` claim none, and a plain name
/// is right for plain behaviour.
const OUTSIDE: &[&str] = &["published_", "oracle_"];

/// A source is named by a comment in or above the test, or by reading a file of `reference/`, which
/// has a description of its own; a helper of the same file may do the reading.
pub(super) fn findings(tree: &Tree) -> Vec<Finding> {
    let mut found = Vec::new();
    for (path, text) in tree.texts(&[".rs"]) {
        let functions = functions(text);
        let (tests, helpers): (Vec<_>, Vec<_>) = functions.iter().partition(|function| function.is_test);
        let readers: Vec<String> = helpers
            .iter()
            .filter(|helper| helper.whole.contains("reference"))
            .map(|helper| format!("{}(", helper.name))
            .collect();
        for test in tests {
            let claims = OUTSIDE.iter().any(|prefix| test.name.starts_with(prefix));
            let reads = test.whole.contains("reference") || readers.iter().any(|reader| test.whole.contains(reader));
            if claims && !reads && !has_comment(test.whole) {
                let says = format!("{} names no source, neither in a comment nor from reference/", test.name);
                found.push(Finding::at_line(path, test.line, says));
            }
        }
    }
    found
}

/// A comment long enough to name something: at least three words.
fn has_comment(text: &str) -> bool {
    text.lines().filter_map(|line| line.split_once("//")).any(|(_, comment)| comment.split_whitespace().count() >= 3)
}

#[cfg(test)]
mod tests {
    use super::findings;
    use crate::tree::Tree;

    fn found(test: &str) -> usize {
        findings(&Tree::of(&[("engines/colour/tests/a.rs", test)])).len()
    }

    #[test]
    fn sourced_claims_and_other_names_are_kept() {
        assert_eq!(found("/// ISO 4618, table 2 of 2014.\n#[test]\nfn published_a() { one(1.0); }"), 0);
        assert_eq!(found("#[test]\nfn published_a() { for row in table(\"reference/a.csv\") {} }"), 0);
        assert_eq!(found("fn rows() { reference(\"a\") }\n#[test]\nfn published_a() { rows(); }"), 0);
        assert_eq!(found("#[test]\nfn an_empty_list_is_an_error() { none(); }"), 0);
        assert_eq!(found("#[test]\nfn invariant_a() { one(1.0); }"), 0);
    }

    #[test]
    fn a_claim_without_a_source_is_found() {
        assert_eq!(found("#[test]\nfn published_a() { one(1.0); }"), 1);
        assert_eq!(found("#[test]\nfn oracle_a() { one(1.0); // same\n }"), 1);
        assert_eq!(found("fn rows() {}\n#[test]\nfn oracle_a() { rows(); }"), 1);
    }
}
