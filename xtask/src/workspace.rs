//! Where the workspace lies and which crates it has, from `cargo metadata`.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use serde_json::Value;

use crate::command;

/// The workspace as cargo sees it.
pub(crate) struct Workspace {
    pub(crate) root: PathBuf,
    pub(crate) target: PathBuf,
    pub(crate) packages: Vec<Package>,
}

/// One crate of the workspace.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Package {
    pub(crate) name: String,
    /// Relative to the root, with `/` between parts: `engines/colour`.
    pub(crate) folder: String,
    pub(crate) depends_on: Vec<Dependency>,
    pub(crate) has_library: bool,
    pub(crate) has_benches: bool,
}

/// One entry of a crate's dependency tables, of any kind.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Dependency {
    pub(crate) name: String,
    pub(crate) for_tests_only: bool,
}

impl Workspace {
    /// Asks cargo, from any folder inside the workspace.
    pub(crate) fn open() -> Result<Self> {
        let text =
            command::output(command::cargo(Path::new(".")).args(["metadata", "--format-version", "1", "--no-deps"]))?;
        Self::from_metadata(&text)
    }

    fn from_metadata(text: &str) -> Result<Self> {
        let value: Value = serde_json::from_str(text).context("cargo metadata is not JSON")?;
        let path = |key: &str| -> Result<PathBuf> {
            Ok(PathBuf::from(value[key].as_str().with_context(|| format!("cargo metadata has no {key}"))?))
        };
        let root = path("workspace_root")?;
        let target = path("target_directory")?;
        let packages = list(&value, "packages")
            .iter()
            .map(|package| Package::from_metadata(package, &root))
            .collect::<Result<_>>()?;
        Ok(Self { root, target, packages })
    }
}

impl Package {
    /// A crate of that folder, named after its last part, for the rules' own tests.
    #[cfg(test)]
    pub(crate) fn of(folder: &str) -> Self {
        let name = folder.rsplit('/').next().unwrap_or(folder).to_owned();
        Self { name, folder: folder.to_owned(), depends_on: Vec::new(), has_library: true, has_benches: false }
    }

    fn from_metadata(value: &Value, root: &Path) -> Result<Self> {
        let manifest = Path::new(value["manifest_path"].as_str().context("a package has no manifest path")?);
        let folder = manifest
            .parent()
            .and_then(|folder| folder.strip_prefix(root).ok())
            .with_context(|| format!("{} is outside the workspace", manifest.display()))?;
        let is =
            |kind: &str| list(value, "targets").iter().any(|target| list(target, "kind").iter().any(|k| k == kind));
        Ok(Self {
            name: value["name"].as_str().context("a package has no name")?.to_owned(),
            folder: folder.to_string_lossy().replace('\\', "/"),
            depends_on: list(value, "dependencies")
                .iter()
                .filter_map(|dependency| {
                    Some(Dependency {
                        name: dependency["name"].as_str()?.to_owned(),
                        for_tests_only: dependency["kind"] == "dev",
                    })
                })
                .collect(),
            has_library: is("lib"),
            has_benches: is("bench"),
        })
    }
}

/// The array under `key`, empty when there is none.
fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().map_or(&[], Vec::as_slice)
}

#[cfg(test)]
mod tests {
    use super::{Dependency, Workspace};

    #[test]
    fn metadata_gives_folders_and_kinds() {
        let text = r#"{"workspace_root":"/w","target_directory":"/w/target","packages":[
            {"name":"colour","manifest_path":"/w/engines/colour/Cargo.toml",
             "dependencies":[{"name":"base","kind":null},{"name":"divan","kind":"dev"}],
             "targets":[{"kind":["lib"]},{"kind":["bench"]}]}]}"#;
        let workspace = Workspace::from_metadata(text).unwrap();
        let colour = &workspace.packages[0];
        assert_eq!(colour.folder, "engines/colour");
        assert!(colour.has_benches && colour.has_library);
        assert_eq!(colour.depends_on[1], Dependency { name: "divan".into(), for_tests_only: true });
    }
}
