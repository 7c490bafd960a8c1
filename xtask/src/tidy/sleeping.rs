//! No test sleeps, no code waits to be written, no print is left from a hunt for a fault.

use super::{Finding, numbered_lines};
use crate::rust_text::code_only;
use crate::tree::Tree;

const RUST: &[&str] = &["#[ignore", "todo!", "unimplemented!", "dbg!"];
const SCRIPT: &[&str] = &[".only(", ".skip(", ".todo(", "skip: true", "only: true", "todo: true", "debugger;"];

/// Rust is searched outside comments and literals, scripts as they stand.
pub(super) fn findings(tree: &Tree) -> Vec<Finding> {
    let mut found = Vec::new();
    for (path, text) in tree.texts(&[".rs"]) {
        search(path, &code_only(text), RUST, &mut found);
    }
    for (path, text) in tree.texts(&[".ts", ".js", ".mjs"]) {
        search(path, text, SCRIPT, &mut found);
    }
    found
}

fn search(path: &str, text: &str, sought: &[&str], found: &mut Vec<Finding>) {
    for (line, content) in numbered_lines(text) {
        for word in sought.iter().filter(|word| content.contains(**word)) {
            found.push(Finding::at_line(path, line, format!("`{word}` may not stay")));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::findings;
    use crate::tree::Tree;

    #[test]
    fn each_kind_is_found() {
        let rust = "#[test]\n#[ignore = \"slow\"]\nfn a() { todo!() }\nfn b() { dbg!(1); unimplemented!() }";
        let script = "test.skip('a', f)\ntest('b', { only: true }, f)";
        let tree = Tree::of(&[("app/web/src/a.rs", rust), ("e2e/a.test.mjs", script)]);
        assert_eq!(findings(&tree).len(), 6);
    }

    #[test]
    fn a_mention_is_not_a_use() {
        assert_eq!(findings(&Tree::of(&[("a.rs", "// never todo!\nconst A: &str = \"dbg!\";")])), []);
    }
}
