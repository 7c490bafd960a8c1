//! Every third-party crate and npm package with its licence, held against a list of what we accept.

use std::collections::BTreeMap;

use anyhow::{Context, Result, bail};
use serde_json::Value;

use crate::workspace::Workspace;
use crate::{command, spdx};

/// Licences we accept, each with the reason.
const ALLOWED: &[(&str, &str)] = &[
    ("MIT", "permissive; keep the notice"),
    ("MIT-0", "permissive, no notice asked"),
    ("Apache-2.0", "permissive, with a patent grant"),
    ("Apache-2.0 WITH LLVM-exception", "Apache-2.0 with fewer duties"),
    ("BSD-2-Clause", "permissive; keep the notice"),
    ("BSD-3-Clause", "permissive; keep the notice, no endorsement"),
    ("0BSD", "permissive, no duties"),
    ("ISC", "permissive; keep the notice"),
    ("Zlib", "permissive; mark changed sources"),
    ("BSL-1.0", "permissive; notice in sources only"),
    ("Unlicense", "public domain"),
    ("CC0-1.0", "public domain"),
    ("Unicode-3.0", "permissive, for Unicode's own tables"),
    ("OFL-1.1", "fonts; may be embedded in documents and programs"),
    ("MPL-2.0", "copyleft by file; used unchanged, so nothing of ours is touched"),
];

/// The folders with an npm lock file.
const NPM_FOLDERS: &[&str] = &["ui", "e2e"];

/// One dependency.
#[derive(Debug, PartialEq)]
struct Dependency {
    name: String,
    version: String,
    licence: String,
}

/// The step of the check: one line for each licence, and whatever is not accepted.
pub(crate) fn summary(workspace: &Workspace) -> Result<()> {
    let all = collect(workspace)?;
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for dependency in &all {
        *counts.entry(&dependency.licence).or_default() += 1;
    }
    for (licence, count) in counts {
        println!("{count:5}  {licence}");
    }
    judge(&all)
}

/// The step run alone: every dependency in a line.
pub(crate) fn full(workspace: &Workspace) -> Result<()> {
    let all = collect(workspace)?;
    for dependency in &all {
        println!("{:<32} {:<20} {}", dependency.name, dependency.version, dependency.licence);
    }
    judge(&all)
}

fn collect(workspace: &Workspace) -> Result<Vec<Dependency>> {
    let metadata =
        command::output(command::cargo(&workspace.root).args(["metadata", "--format-version", "1", "--locked"]))?;
    let mut all = crates(&metadata)?;
    for folder in NPM_FOLDERS {
        let folder = workspace.root.join(folder);
        if folder.join("package.json").is_file() {
            let lock = folder.join("package-lock.json");
            let text = std::fs::read_to_string(&lock).with_context(|| format!("cannot read {}", lock.display()))?;
            all.extend(npm_packages(&text)?);
        }
    }
    Ok(all)
}

/// Every crate from a registry; those of the workspace have no source.
fn crates(metadata: &str) -> Result<Vec<Dependency>> {
    let value: Value = serde_json::from_str(metadata)?;
    let packages = value["packages"].as_array().context("cargo metadata lists no packages")?;
    let text = |package: &Value, key: &str| package[key].as_str().unwrap_or_default().to_owned();
    Ok(packages
        .iter()
        .filter(|package| !package["source"].is_null())
        .map(|package| Dependency {
            name: text(package, "name"),
            version: text(package, "version"),
            licence: text(package, "license"),
        })
        .collect())
}

/// Every installed package of a version 3 lock file; the entry "" is our own.
fn npm_packages(lock: &str) -> Result<Vec<Dependency>> {
    let value: Value = serde_json::from_str(lock)?;
    let packages = value["packages"].as_object().context("the npm lock file lists no packages")?;
    Ok(packages
        .iter()
        .filter(|(path, _)| !path.is_empty())
        .map(|(path, package)| Dependency {
            name: format!("npm:{}", path.rsplit("node_modules/").next().unwrap_or(path)),
            version: package["version"].as_str().unwrap_or_default().to_owned(),
            licence: package["license"].as_str().unwrap_or_default().to_owned(),
        })
        .collect())
}

fn judge(all: &[Dependency]) -> Result<()> {
    let refused: Vec<String> = all
        .iter()
        .filter(|dependency| !is_accepted(dependency))
        .map(|dependency| format!("{} {}: {:?}", dependency.name, dependency.version, dependency.licence))
        .collect();
    println!("{} dependencies, {} refused", all.len(), refused.len());
    if !refused.is_empty() {
        bail!("licences not on the list in xtask/src/licences.rs:\n{}", refused.join("\n"));
    }
    Ok(())
}

fn is_accepted(dependency: &Dependency) -> bool {
    let allowed = |licence: &str| ALLOWED.iter().any(|(name, _)| *name == licence);
    spdx::is_satisfied(&dependency.licence, &allowed)
}

#[cfg(test)]
mod tests {
    use super::{Dependency, crates, is_accepted, judge, npm_packages};

    fn dependency(licence: &str) -> Dependency {
        Dependency { name: "x".into(), version: "1".into(), licence: licence.into() }
    }

    #[test]
    fn an_unknown_or_missing_licence_is_refused() {
        assert!(is_accepted(&dependency("MIT OR GPL-3.0-only")));
        for bad in ["GPL-3.0-only", "", "proprietary", "MIT AND AGPL-3.0"] {
            assert!(!is_accepted(&dependency(bad)), "{bad:?}");
        }
        assert!(judge(&[dependency("GPL-3.0-only")]).unwrap_err().to_string().contains("x 1"));
    }

    #[test]
    fn crates_of_the_workspace_are_left_out() {
        let text = r#"{"packages":[{"name":"a","version":"1","license":"MIT","source":"registry"},
            {"name":"own","version":"1","license":null,"source":null}]}"#;
        assert_eq!(crates(text).unwrap().len(), 1);
    }

    #[test]
    fn npm_packages_are_named_by_their_last_part() {
        let lock = r#"{"packages":{"":{},"node_modules/a/node_modules/@b/c":{"version":"2.0.0","license":"ISC"}}}"#;
        assert_eq!(npm_packages(lock).unwrap()[0].name, "npm:@b/c");
    }
}
