//! Each data file in `reference/` has a description beside it: where its values come from and how exactly they hold.

use super::Finding;
use crate::tree::Tree;

const FOLDER: &str = "reference/";
const KEYS: &[&str] = &["source", "edition", "unit", "licence", "tolerance"];
/// Programs and pages are not data.
const NOT_DATA: &[&str] = &[".toml", ".py", ".md", ".txt"];

/// `sharma2005.csv` is described by `sharma2005.toml`; a description of nothing is an error too.
pub(super) fn findings(tree: &Tree) -> Vec<Finding> {
    let mut found = Vec::new();
    let here = || tree.files.iter().filter(|file| file.path.starts_with(FOLDER));
    let is_data = |path: &str| !NOT_DATA.iter().any(|ending| path.ends_with(ending));
    for data in here().filter(|file| is_data(&file.path)) {
        let description = format!("{}.toml", stem(&data.path));
        if tree.file(&description).is_none() {
            found.push(Finding::new(&data.path, format!("has no {description}")));
        }
    }
    for description in here().filter(|file| file.path.ends_with(".toml")) {
        let describes = |path: &str| is_data(path) && stem(path) == stem(&description.path);
        if !here().any(|file| describes(&file.path)) {
            found.push(Finding::new(&description.path, "describes no file"));
        }
        found.extend(missing_keys(&description.path, description.text().unwrap_or_default()));
    }
    found
}

fn stem(path: &str) -> &str {
    path.rsplit_once('.').map_or(path, |(stem, _)| stem)
}

fn missing_keys(path: &str, text: &str) -> Vec<Finding> {
    let table: toml::Table = match text.parse() {
        Ok(table) => table,
        Err(error) => {
            return vec![Finding::new(path, format!("is not TOML: {}", error.message()))];
        }
    };
    let says_something = |value: &toml::Value| match value {
        toml::Value::String(text) => !text.trim().is_empty(),
        toml::Value::Table(table) => !table.is_empty(),
        toml::Value::Array(list) => !list.is_empty(),
        _ => true,
    };
    KEYS.iter()
        .filter(|key| !table.get(**key).is_some_and(says_something))
        .map(|key| Finding::new(path, format!("does not say its {key}")))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::findings;
    use crate::tree::Tree;

    const GOOD: &str =
        "source = \"a table\"\nedition = \"2005\"\nunit = \"1\"\nlicence = \"facts\"\ntolerance = 1e-4\n";

    #[test]
    fn described_data_is_kept() {
        let tree = Tree::of(&[
            ("reference/colour/a.csv", "1"),
            ("reference/colour/a.toml", GOOD),
            ("reference/colour/make.py", ""),
        ]);
        assert_eq!(findings(&tree), []);
    }

    #[test]
    fn missing_descriptions_and_keys_are_found() {
        let bare = Tree::of(&[("reference/a.csv", "1")]);
        assert_eq!(findings(&bare)[0].to_string(), "reference/a.csv: has no reference/a.toml");
        let without = GOOD.replace("licence = \"facts\"", "licence = \" \"");
        let silent = Tree::of(&[("reference/a.csv", "1"), ("reference/a.toml", &without)]);
        assert_eq!(findings(&silent)[0].says, "does not say its licence");
        let orphan = Tree::of(&[("reference/b.toml", GOOD)]);
        assert_eq!(findings(&orphan)[0].says, "describes no file");
        let broken = Tree::of(&[("reference/a.csv", "1"), ("reference/a.toml", "source")]);
        assert!(findings(&broken)[0].says.starts_with("is not TOML"));
    }
}
