//! The steps that cargo itself does.

use anyhow::{Result, ensure};

use crate::command;
use crate::postgres::Cluster;
use crate::workspace::Workspace;

/// Where tests find the temporary PostgreSQL; without it the store's PostgreSQL tests cannot run.
const POSTGRES_VARIABLE: &str = "GUIDECOAT_TEST_POSTGRES";

/// Formatting, compared only.
pub(crate) fn fmt(workspace: &Workspace) -> Result<()> {
    command::run(command::cargo(&workspace.root).args(["fmt", "--all", "--check"]))
}

/// Lints over every target; warnings are errors.
pub(crate) fn clippy(workspace: &Workspace) -> Result<()> {
    command::run(command::cargo(&workspace.root).args([
        "clippy",
        "--workspace",
        "--all-targets",
        "--",
        "-D",
        "warnings",
    ]))
}

/// All tests and documentation examples with a database beside them, then every bench once, untimed.
pub(crate) fn test(workspace: &Workspace) -> Result<()> {
    let cluster = Cluster::start()?;
    command::run(
        command::cargo(&workspace.root)
            .args(["test", "--workspace", "--no-fail-fast"])
            .env(POSTGRES_VARIABLE, cluster.address()),
    )?;
    // Not `--benches`: that would run every library's unit tests a second time.
    if workspace.packages.iter().any(|package| package.has_benches) {
        command::run(command::cargo(&workspace.root).args(["test", "--workspace", "--bench", "*"]))?;
    }
    Ok(())
}

/// The engines' tests: pure functions, no database, no browser, no documentation examples.
pub(crate) fn quick(workspace: &Workspace) -> Result<()> {
    let engines: Vec<&str> = workspace
        .packages
        .iter()
        .filter(|package| package.folder.starts_with("engines/") && package.has_library)
        .map(|package| package.name.as_str())
        .collect();
    ensure!(!engines.is_empty(), "no crate lies in engines/");
    let mut cargo = command::cargo(&workspace.root);
    cargo.args(["test", "--tests"]);
    for engine in engines {
        cargo.args(["--package", engine]);
    }
    command::run(&mut cargo)
}

/// Builds the program exactly as the tests did (same profile, same features), so that nothing is
/// compiled twice, and returns where it lies.
pub(crate) fn built_binary(workspace: &Workspace) -> Result<std::path::PathBuf> {
    command::run(command::cargo(&workspace.root).args(["build", "--workspace", "--bins", "--tests"]))?;
    let binary = workspace.target.join("debug/guidecoat");
    ensure!(binary.is_file(), "the build left no {}", binary.display());
    Ok(binary)
}
