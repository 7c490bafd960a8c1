//! Words that would claim of a car what no program can know. They appear nowhere: a page, a test and
//! a comment are all read as text, since a comment of today is a sentence on a page tomorrow.

use super::{Finding, numbered_lines};
use crate::tree::Tree;

/// Each is sought as a whole word, in any case; `unsafe` and `approval` are other words.
const WORDS: &[&str] = &["safe", "approved", "roadworthy"];

/// Names given by others that contain a word and claim nothing.
const NAMES_OF_OTHERS: &[&str] = &["safe-area-inset", "MAX_SAFE_INTEGER", "MIN_SAFE_INTEGER", "safe_load"];

/// Files written by tools, and this rule.
const NOT_READ: &[&str] = &["Cargo.lock", "package-lock.json", "xtask/src/tidy/words.rs"];

/// Searches every text. A line that quotes all the words states the rule and is let pass.
pub(super) fn findings(tree: &Tree) -> Vec<Finding> {
    let mut found = Vec::new();
    for (path, text) in tree.texts(&[]).filter(|(path, _)| !NOT_READ.iter().any(|not| path.ends_with(not))) {
        for (line, content) in numbered_lines(text) {
            if !states_the_rule(content) {
                found.extend(words_in(content).map(|word| Finding::at_line(path, line, format!("says {word:?}"))));
            }
        }
    }
    found
}

fn words_in(line: &str) -> impl Iterator<Item = &'static str> {
    let mut line = line.to_owned();
    for name in NAMES_OF_OTHERS {
        line = line.replace(name, "");
    }
    let line = line.to_lowercase();
    let present: Vec<&str> = WORDS
        .iter()
        .copied()
        .filter(|word| line.split(|c: char| !c.is_alphabetic()).any(|part| part == *word))
        .collect();
    present.into_iter()
}

fn states_the_rule(line: &str) -> bool {
    WORDS.iter().all(|word| ['"', '`', '\''].iter().any(|quote| line.contains(&format!("{quote}{word}{quote}"))))
}

#[cfg(test)]
mod tests {
    use super::findings;
    use crate::tree::Tree;

    fn found(path: &str, text: &str) -> usize {
        findings(&Tree::of(&[(path, text)])).len()
    }

    #[test]
    fn claims_are_found_in_any_kind_of_text() {
        assert_eq!(found("app/web/src/a.rs", "p { \"This car is Safe.\" }"), 1);
        assert_eq!(found("docs/a.md", "roadworthy and approved"), 2);
        assert_eq!(found("ui/src/a.ts", "const is_safe = true"), 1);
        assert_eq!(found("catalogue/a.csv", "id,basis\nA,approved by us"), 1);
    }

    #[test]
    fn other_words_and_the_rule_itself_are_let_pass() {
        assert_eq!(found("a.rs", "#![forbid(unsafe_code)] // approval, safety"), 0);
        assert_eq!(found("a.css", "padding: env(safe-area-inset-bottom)"), 0);
        assert_eq!(found("a.py", "yaml.safe_load(text)"), 0);
        assert_eq!(found("CONTRIBUTING.md", "never \"safe\", \"approved\" or \"roadworthy\""), 0);
        assert_eq!(found("CONTRIBUTING.md", "never \"safe\" or \"approved\""), 2);
    }
}
