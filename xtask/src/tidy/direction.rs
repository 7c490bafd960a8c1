//! `base` <- engines <- `job` <- {`store`, `dossier`, `web`} <- `cli`; engines never see each other. The simulator in
//! `oracle` stands beside the engines and sees `base` only; what it checks sees it in tests and examples only.

use super::Finding;
use crate::tree::Tree;
use crate::workspace::Package;

/// Every dependency between our crates points down a layer, and only `app/dossier` sees typst.
pub(super) fn findings(tree: &Tree) -> Vec<Finding> {
    let mut found = Vec::new();
    for package in &tree.packages {
        let manifest = format!("{}/Cargo.toml", package.folder);
        if layer(&package.folder).is_none() {
            found.push(Finding::new(&manifest, "this folder has no layer; give it one in xtask/src/tidy/direction.rs"));
        }
        for dependency in &package.depends_on {
            let on = &dependency.name;
            if on.starts_with("typst") && package.folder != "app/dossier" {
                found.push(Finding::new(&manifest, format!("depends on {on}; only app/dossier may see typst")));
            }
            let Some(ours) = tree.packages.iter().find(|other| other.name == *on) else {
                continue;
            };
            if !may_depend(package, ours, dependency.for_tests_only) {
                found.push(Finding::new(&manifest, format!("{} may not depend on {}", package.folder, ours.folder)));
            }
        }
    }
    found
}

/// The height of a crate; a crate sees only lower ones.
fn layer(folder: &str) -> Option<u8> {
    match folder {
        "engines/base" => Some(0),
        "oracle" => Some(1),
        "app/job" => Some(2),
        "app/store" | "app/dossier" | "app/web" => Some(3),
        "app/cli" => Some(4),
        "xtask" => Some(5),
        engine if engine.starts_with("engines/") => Some(1),
        _ => None,
    }
}

fn may_depend(package: &Package, on: &Package, for_tests_only: bool) -> bool {
    match (package.folder.as_str(), on.folder.as_str()) {
        // The workspace's tool builds and reads the others; it links none, and none links it.
        ("xtask", _) | (_, "xtask") => false,
        // Slow, and only for checks: engines are tested against it, an example of the binary sprays the demo's cards.
        (from, "oracle") => for_tests_only && (layer(from) == Some(1) || from == "app/cli"),
        ("app/web", "app/dossier") => true,
        // The pages' tests keep their cars in the real store.
        ("app/web", "app/store") => for_tests_only,
        (from, to) => layer(to) < layer(from),
    }
}

#[cfg(test)]
mod tests {
    use super::findings;
    use crate::tree::Tree;
    use crate::workspace::{Dependency, Package};

    const FOLDERS: &[&str] = &[
        "engines/base",
        "engines/colour",
        "engines/coating",
        "app/job",
        "app/store",
        "app/dossier",
        "app/web",
        "app/cli",
        "oracle",
        "xtask",
    ];

    /// What is found once the crate in `folder` depends on `on`.
    fn found(folder: &str, on: &str, for_tests_only: bool) -> usize {
        let mut tree = Tree::of(&[]);
        tree.packages = FOLDERS.iter().map(|folder| Package::of(folder)).collect();
        let package = tree.packages.iter_mut().find(|package| package.folder == folder).unwrap();
        package.depends_on.push(Dependency { name: on.to_owned(), for_tests_only });
        findings(&tree).len()
    }

    #[test]
    fn downwards_is_kept() {
        let good = [
            ("engines/colour", "base"),
            ("app/job", "colour"),
            ("app/web", "dossier"),
            ("app/cli", "coating"),
            ("app/dossier", "typst-pdf"),
            ("oracle", "base"),
        ];
        for (folder, on) in good {
            assert_eq!(found(folder, on, false), 0, "{folder} -> {on}");
        }
        assert_eq!(found("app/web", "store", true), 0);
        assert_eq!(found("engines/colour", "oracle", true), 0);
        assert_eq!(found("app/cli", "oracle", true), 0);
    }

    #[test]
    fn upwards_and_sideways_is_found() {
        let bad = [
            ("engines/base", "colour"),
            ("engines/colour", "coating"),
            ("engines/colour", "job"),
            ("app/job", "store"),
            ("app/store", "web"),
            ("app/web", "store"),
            ("app/dossier", "web"),
            ("app/web", "cli"),
            ("app/cli", "xtask"),
            ("xtask", "base"),
            ("app/web", "typst"),
            ("oracle", "colour"),
            ("engines/colour", "oracle"),
            ("app/cli", "oracle"),
        ];
        for (folder, on) in bad {
            assert_eq!(found(folder, on, false), 1, "{folder} -> {on}");
        }
        assert_eq!(found("engines/colour", "coating", true), 1, "not even for tests");
        assert_eq!(found("oracle", "colour", true), 1, "nor what it checks");
        assert_eq!(found("app/web", "oracle", true), 1, "nor what does not need it");
    }

    #[test]
    fn a_crate_without_a_layer_is_found() {
        let mut tree = Tree::of(&[]);
        tree.packages.push(Package::of("attic/new"));
        assert_eq!(findings(&tree).len(), 1);
    }
}
