//! A migration that someone's database has seen is never edited; a mistake is mended by the next one.

use std::collections::BTreeMap;

use anyhow::{Result, bail};
use sha2::{Digest, Sha256};

use super::Finding;
use crate::tree::{File, Tree};
use crate::workspace::Workspace;

const FOLDER: &str = "app/store/migrations/";
const LIST: &str = "app/store/migrations/CHECKSUMS";

/// Every migration is listed with the checksum it has, and every listed one exists.
pub(super) fn findings(tree: &Tree) -> Vec<Finding> {
    let listed = match listed(tree) {
        Ok(listed) => listed,
        Err(finding) => return vec![finding],
    };
    let mut found = Vec::new();
    for migration in migrations(tree) {
        match listed.get(relative(&migration.path)) {
            None => found.push(Finding::new(&migration.path, "is not listed in CHECKSUMS: cargo xtask migrations")),
            Some(sum) if *sum != checksum(&migration.bytes) => {
                found.push(Finding::new(
                    &migration.path,
                    "has changed since it was listed; write a new migration instead",
                ));
            }
            Some(_) => {}
        }
    }
    for name in listed.keys() {
        if tree.file(&format!("{FOLDER}{name}")).is_none() {
            found.push(Finding::new(LIST, format!("lists {name}, which is gone")));
        }
    }
    found
}

/// Adds new migrations to the list, and nothing when one that is listed has changed or gone.
pub(crate) fn append(workspace: &Workspace) -> Result<()> {
    let tree = Tree::read(workspace)?;
    let list = list_with_new(&tree)?;
    std::fs::write(workspace.root.join(LIST), &list)?;
    println!("{LIST} lists {} migrations", list.lines().count());
    Ok(())
}

/// The list as it should be: the old lines untouched, then the new ones.
fn list_with_new(tree: &Tree) -> Result<String> {
    let old = match listed(tree) {
        Ok(old) => old,
        Err(finding) => bail!("{finding}"),
    };
    let is_new = |finding: &Finding| finding.place != LIST && !old.contains_key(relative(&finding.place));
    if let Some(refused) = findings(tree).iter().find(|finding| !is_new(finding)) {
        bail!("{refused}");
    }
    let mut text = tree.file(LIST).and_then(File::text).unwrap_or_default().to_owned();
    for migration in migrations(tree).filter(|migration| !old.contains_key(relative(&migration.path))) {
        text.push_str(&format!("{}  {}\n", checksum(&migration.bytes), relative(&migration.path)));
    }
    Ok(text)
}

fn migrations(tree: &Tree) -> impl Iterator<Item = &File> {
    tree.files.iter().filter(|file| file.path.starts_with(FOLDER) && file.path.ends_with(".sql"))
}

fn relative(path: &str) -> &str {
    path.strip_prefix(FOLDER).unwrap_or(path)
}

/// Lines of the form that `sha256sum` writes and checks: the sum, two spaces, the name.
fn listed(tree: &Tree) -> Result<BTreeMap<String, String>, Finding> {
    let text = tree.file(LIST).and_then(File::text).unwrap_or_default();
    let mut listed = BTreeMap::new();
    for (line, content) in super::numbered_lines(text) {
        let Some((sum, name)) = content.split_once("  ") else {
            return Err(Finding::at_line(LIST, line, "is not a checksum, two spaces and a name"));
        };
        listed.insert(name.to_owned(), sum.to_owned());
    }
    Ok(listed)
}

fn checksum(bytes: &[u8]) -> String {
    hex::encode(Sha256::digest(bytes))
}

#[cfg(test)]
mod tests {
    use super::{LIST, findings, list_with_new};
    use crate::tree::Tree;

    const FIRST: &str = "app/store/migrations/sqlite/0001_start.sql";
    const SECOND: &str = "app/store/migrations/sqlite/0002_more.sql";

    #[test]
    fn new_migrations_are_found_then_listed_then_kept() {
        let tree = Tree::of(&[(FIRST, "create"), (SECOND, "alter")]);
        assert_eq!(findings(&tree).len(), 2);
        let list = list_with_new(&tree).unwrap();
        assert_eq!(list.lines().count(), 2);
        let tree = Tree::of(&[(FIRST, "create"), (SECOND, "alter"), (LIST, &list)]);
        assert_eq!(findings(&tree), []);
        assert_eq!(list_with_new(&tree).unwrap(), list);
    }

    #[test]
    fn a_changed_or_vanished_migration_is_found_and_refused() {
        let list = list_with_new(&Tree::of(&[(FIRST, "create")])).unwrap();
        let changed = Tree::of(&[(FIRST, "create more"), (LIST, &list)]);
        assert!(findings(&changed)[0].says.contains("has changed"));
        assert!(list_with_new(&changed).is_err());
        let gone = Tree::of(&[(SECOND, "alter"), (LIST, &list)]);
        assert!(list_with_new(&gone).unwrap_err().to_string().contains("is gone"));
        let broken = Tree::of(&[(LIST, "abc")]);
        assert_eq!(findings(&broken).len(), 1);
        assert!(list_with_new(&broken).is_err());
    }
}
