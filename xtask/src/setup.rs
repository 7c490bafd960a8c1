//! What the checks need from the machine, installed through apt-get when it is missing.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail, ensure};

use crate::workspace::Workspace;
use crate::{command, postgres};

/// One thing a step needs, and the Debian packages that bring it.
struct Need {
    what: &'static str,
    packages: &'static [&'static str],
    present: fn() -> bool,
}

const CHROMIUM: Need =
    Need { what: "Chromium", packages: &["chromium", "fonts-dejavu-core"], present: || chromium().is_ok() };
const POSTGRES: Need = Need { what: "PostgreSQL", packages: &["postgresql"], present: || postgres::binaries().is_ok() };
const PYTHON: Need =
    Need { what: "Python with venv", packages: &["python3", "python3-venv"], present: has_python_venv };

/// Everything `cargo xtask check` needs. Changes nothing when all of it is there.
pub(crate) fn for_check(workspace: &Workspace) -> Result<()> {
    for component in ["rustfmt", "clippy"] {
        let tool = if component == "clippy" { "cargo-clippy" } else { component };
        ensure!(runs(tool, "--version"), "{component} is missing: rustup component add {component}");
    }
    ensure!(runs("cc", "--version"), "no C compiler: apt-get install gcc");
    let node = command::output(command::program("node", &workspace.root).arg("--version"))
        .context("Node.js 20 or later with npm is needed for the pages and their tests")?;
    ensure!(node_major(&node).is_some_and(|major| major >= 20), "Node.js 20 or later is needed, found {}", node.trim());
    install(&[CHROMIUM, POSTGRES])
}

/// What only `cargo xtask bench` needs.
pub(crate) fn for_bench() -> Result<()> {
    install(&[PYTHON])
}

/// The system's Chromium; `CHROMIUM` overrides the search.
pub(crate) fn chromium() -> Result<PathBuf> {
    if let Some(chosen) = std::env::var_os("CHROMIUM") {
        return Ok(chosen.into());
    }
    ["chromium", "chromium-browser", "google-chrome"]
        .into_iter()
        .find_map(command::on_path)
        .context("no Chromium on this machine: cargo xtask setup")
}

fn install(needs: &[Need]) -> Result<()> {
    let missing: Vec<&Need> = needs.iter().filter(|need| !(need.present)()).collect();
    for need in needs {
        println!("{}: {}", need.what, if (need.present)() { "present" } else { "missing" });
    }
    if missing.is_empty() {
        return Ok(());
    }
    let packages: Vec<&str> = missing.iter().flat_map(|need| need.packages).copied().collect();
    let by_hand = format!("install by hand: {}", packages.join(" "));
    ensure!(command::on_path("apt-get").is_some(), "there is no apt-get on this machine; {by_hand}");
    ensure!(is_root(), "only root may install packages; {by_hand}");
    // Another apt may be at work on a shared machine: wait for it rather than fail.
    let apt = |words: &[&str]| {
        let mut apt = command::program("apt-get", Path::new("/"));
        apt.env("DEBIAN_FRONTEND", "noninteractive").args(["-q", "-y", "-o", "DPkg::Lock::Timeout=300"]).args(words);
        command::run(&mut apt)
    };
    apt(&["update"])
        .with_context(|| format!("the package lists cannot be fetched (is there a network?); {by_hand}"))?;
    let mut words = vec!["install", "--no-install-recommends"];
    words.extend(&packages);
    apt(&words).with_context(|| by_hand.clone())?;
    for need in missing {
        if !(need.present)() {
            bail!("{} is still missing after apt-get install {}", need.what, need.packages.join(" "));
        }
    }
    Ok(())
}

/// Whether this process may install packages and change users.
pub(crate) fn is_root() -> bool {
    command::output(command::program("id", Path::new("/")).arg("-u")).is_ok_and(|id| id.trim() == "0")
}

fn has_python_venv() -> bool {
    command::output(command::program("python3", Path::new("/")).args(["-c", "import venv, ensurepip"])).is_ok()
}

fn runs(name: &str, argument: &str) -> bool {
    command::output(command::program(name, Path::new("/")).arg(argument)).is_ok()
}

/// `v20.20.2` gives 20.
fn node_major(version: &str) -> Option<u32> {
    version.trim().strip_prefix('v')?.split('.').next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::{Need, install, node_major};

    #[test]
    fn node_versions() {
        assert_eq!(node_major("v20.20.2\n"), Some(20));
        assert_eq!(node_major("20"), None);
    }

    #[test]
    fn nothing_is_installed_when_all_is_present() {
        let present = Need { what: "ground", packages: &["no-such-package"], present: || true };
        install(&[present]).unwrap();
    }
}
