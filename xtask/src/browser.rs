//! The scripts of the pages, and the pages in a real browser: the built program, the system's
//! Chromium, `node --test`.

use std::path::{Path, PathBuf};

use anyhow::{Result, ensure};

use crate::workspace::Workspace;
use crate::{cargo, command, setup};

/// A browser test that has not ended by then has hung.
const LIMIT_PER_TEST_MS: u32 = 600_000;

/// Folders below `e2e/` that are searched for tests.
const DEPTH: usize = 4;

/// Builds `ui/` with its types checked. The build of the program goes on without scripts when theirs
/// fails, so this step is where such a fault turns red.
pub(crate) fn ui(workspace: &Workspace) -> Result<()> {
    let folder = workspace.root.join("ui");
    install(&folder)?;
    command::run(command::program("npm", &folder).args(["run", "build"]))
}

/// Runs every test file of `e2e/` against the program built from this tree.
pub(crate) fn run(workspace: &Workspace) -> Result<()> {
    let folder = workspace.root.join("e2e");
    let tests = test_files(&folder, DEPTH);
    // Given no file, `node --test` looks for some itself and is content with none.
    ensure!(!tests.is_empty(), "e2e/ holds no file named *.test.js");
    let chromium = setup::chromium()?;
    let binary = cargo::built_binary(workspace)?;
    install(&folder)?;
    command::run(
        command::program("node", &folder)
            // One file at a time: two browsers on two cores make each other late.
            .args(["--test", "--test-concurrency=1", "--test-reporter=spec"])
            .arg(format!("--test-timeout={LIMIT_PER_TEST_MS}"))
            .args(tests.iter().map(|test| test.strip_prefix(&folder).unwrap_or(test)))
            .env("GUIDECOAT_BIN", binary)
            .env("CHROMIUM", chromium),
    )
}

/// Exactly the packages of the lock file.
fn install(folder: &Path) -> Result<()> {
    command::run(command::program("npm", folder).args(["ci", "--no-audit", "--no-fund"]))
}

/// Every `*.test.js` in the folder and so many levels below, in order; installed packages aside.
fn test_files(folder: &Path, depth: usize) -> Vec<PathBuf> {
    let mut entries: Vec<PathBuf> =
        std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path()).collect();
    entries.sort();
    let mut found = Vec::new();
    for path in entries.into_iter().filter(|path| !path.ends_with("node_modules")) {
        if path.is_dir() && depth > 0 {
            found.extend(test_files(&path, depth - 1));
        } else if path.to_string_lossy().ends_with(".test.js") {
            found.push(path);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::test_files;

    #[test]
    fn a_folder_without_tests_is_seen() {
        let here = Path::new(env!("CARGO_MANIFEST_DIR"));
        assert!(test_files(here, 4).is_empty());
        assert!(test_files(&here.join("no such folder"), 4).is_empty());
    }

    #[test]
    fn tests_are_found_and_installed_packages_passed_over() {
        let folder = std::env::temp_dir().join(format!("guidecoat-tests-{}", std::process::id()));
        for name in ["b.test.js", "test/a.test.js", "test/helper.js", "node_modules/x/c.test.js"] {
            let file = folder.join(name);
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(file, "").unwrap();
        }
        let found = test_files(&folder, 4);
        std::fs::remove_dir_all(&folder).unwrap();
        assert_eq!(found, [folder.join("b.test.js"), folder.join("test/a.test.js")]);
    }
}
