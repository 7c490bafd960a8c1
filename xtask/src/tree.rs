//! The project's own files as the tidy rules see them: what git keeps or would keep, and the crates.

use anyhow::{Context, Result};

use crate::command;
use crate::workspace::{Package, Workspace};

/// A file larger than this is data, not text that a rule reads.
const TEXT_LIMIT_BYTES: usize = 8 * 1024 * 1024;

/// All files, sorted by path, and all crates.
pub(crate) struct Tree {
    pub(crate) files: Vec<File>,
    pub(crate) packages: Vec<Package>,
}

/// One file; `path` is relative to the root, with `/` between parts.
pub(crate) struct File {
    pub(crate) path: String,
    pub(crate) bytes: Vec<u8>,
}

impl Tree {
    /// Reads tracked files and new ones that `.gitignore` does not exclude.
    pub(crate) fn read(workspace: &Workspace) -> Result<Self> {
        let listed = command::output(command::program("git", &workspace.root).args([
            "ls-files",
            "-z",
            "--cached",
            "--others",
            "--exclude-standard",
        ]))?;
        let mut paths: Vec<&str> = listed.split('\0').filter(|path| !path.is_empty()).collect();
        paths.sort_unstable();
        paths.dedup();
        let mut files = Vec::new();
        for path in paths {
            let on_disk = workspace.root.join(path);
            // A file deleted but not yet committed is still listed.
            if on_disk.is_file() {
                let bytes = std::fs::read(&on_disk).with_context(|| format!("cannot read {path}"))?;
                files.push(File { path: path.to_owned(), bytes });
            }
        }
        Ok(Self { files, packages: workspace.packages.clone() })
    }

    /// A tree made of the given files, for the rules' own tests.
    #[cfg(test)]
    pub(crate) fn of(files: &[(&str, &str)]) -> Self {
        let files = files
            .iter()
            .map(|(path, text)| File { path: (*path).to_owned(), bytes: text.as_bytes().to_vec() })
            .collect();
        Self { files, packages: Vec::new() }
    }

    /// The text files whose name ends in one of `endings`; every text file when there are none.
    pub(crate) fn texts<'a>(&'a self, endings: &'a [&str]) -> impl Iterator<Item = (&'a str, &'a str)> {
        self.files
            .iter()
            .filter(|file| endings.is_empty() || endings.iter().any(|ending| file.path.ends_with(ending)))
            .filter_map(|file| Some((file.path.as_str(), file.text()?)))
    }

    /// The file at exactly this path.
    pub(crate) fn file(&self, path: &str) -> Option<&File> {
        self.files.iter().find(|file| file.path == path)
    }

    /// Whether this path is a file of the tree or a folder with a file in it.
    pub(crate) fn has(&self, path: &str) -> bool {
        let path = path.trim_end_matches('/');
        self.files
            .iter()
            .any(|file| file.path.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with('/')))
    }
}

impl File {
    /// The text, unless the file is binary or too large to be one we wrote.
    pub(crate) fn text(&self) -> Option<&str> {
        if self.bytes.len() > TEXT_LIMIT_BYTES || self.bytes.contains(&0) {
            return None;
        }
        std::str::from_utf8(&self.bytes).ok()
    }
}

/// Whether the path lies in tests or benches: code that only checks other code.
pub(crate) fn is_test_path(path: &str) -> bool {
    let in_folder = path.split('/').any(|part| matches!(part, "tests" | "benches" | "e2e"));
    in_folder || path.ends_with("/tests.rs") || path.contains(".test.")
}

#[cfg(test)]
mod tests {
    use super::{Tree, is_test_path};

    #[test]
    fn folders_count_as_present() {
        let tree = Tree::of(&[("engines/base/src/lib.rs", "")]);
        assert!(tree.has("engines/base") && tree.has("engines/base/") && tree.has("engines/base/src/lib.rs"));
        assert!(!tree.has("engines/bas") && !tree.has("base"));
    }

    #[test]
    fn test_paths() {
        assert!(is_test_path("app/store/tests/both.rs") && is_test_path("ui/src/queue.test.ts"));
        assert!(!is_test_path("engines/base/src/latest.rs"));
    }
}
