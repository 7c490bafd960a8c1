//! General-purpose libraries that do the same work, run on the same machine within the same minutes.

use std::ffi::OsStr;
use std::path::PathBuf;

use anyhow::{Context, Result};
use serde_json::Value;

use crate::command;
use crate::workspace::Workspace;

/// A script that prints one line of JSON with a rate in it.
pub(super) struct Rival {
    pub(super) name: &'static str,
    pub(super) script: &'static str,
    pub(super) key: &'static str,
    pub(super) packages: &'static [&'static str],
}

pub(super) const CIEDE2000: Rival = Rival {
    name: "colour-science 0.4.7 (numpy)",
    script: "reference/colour/rival_ciede2000.py",
    key: "pairs_per_s",
    packages: &["colour-science==0.4.7"],
};

pub(super) const RISK: Rival = Rival {
    name: "numpy 2.4.6, scipy 1.17.1",
    script: "reference/schedule/rival_risk.py",
    key: "samples_per_s",
    packages: &["numpy==2.4.6", "scipy==1.17.1"],
};

pub(super) const MARGINALS: Rival = Rival {
    name: "pgmpy 1.1.2 (variable elimination)",
    script: "reference/forecast/rival_marginals.py",
    key: "updates_per_s",
    packages: &["pgmpy==1.1.2"],
};

pub(super) const CALIBRATION: Rival = Rival {
    name: "the same fit in numpy 2.4.6, scipy 1.17.1 (least_squares)",
    script: "reference/colour/rival_calibration.py",
    key: "fits_per_s",
    packages: &["numpy==2.4.6", "scipy==1.17.1", "colour-science==0.4.7"],
};

impl Rival {
    /// Runs it in a Python environment of the target folder; returns its items per second.
    pub(super) fn per_second(&self, workspace: &Workspace) -> Result<f64> {
        let said = self.says(workspace, &[])?;
        rate(&said, self.key).with_context(|| format!("{} did not print {} as JSON", self.script, self.key))
    }

    /// Runs it likewise with arguments; returns what it printed.
    pub(super) fn says(&self, workspace: &Workspace, arguments: &[&OsStr]) -> Result<String> {
        let python = python(workspace)?;
        command::run(
            command::program(&python, &workspace.root)
                .args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check"])
                .args(self.packages),
        )?;
        command::output(command::program(&python, &workspace.root).arg(self.script).args(arguments))
    }
}

fn python(workspace: &Workspace) -> Result<PathBuf> {
    let folder = workspace.target.join("bench-python");
    let python = folder.join("bin/python");
    if !python.is_file() {
        command::run(command::program("python3", &workspace.root).args(["-m", "venv"]).arg(&folder))?;
    }
    Ok(python)
}

/// The positive number under `key` in the last line.
pub(super) fn rate(said: &str, key: &str) -> Option<f64> {
    let value: Value = serde_json::from_str(said.trim().lines().last()?).ok()?;
    value[key].as_f64().filter(|rate| rate.is_finite() && *rate > 0.0)
}

#[cfg(test)]
mod tests {
    use super::rate;

    #[test]
    fn a_rate_is_read_or_refused() {
        assert_eq!(rate("warning\n{\"pairs_per_s\": 2.5e6}\n", "pairs_per_s"), Some(2.5e6));
        assert_eq!(rate("{\"pairs_per_s\": 0}", "pairs_per_s"), None);
        assert_eq!(rate("", "pairs_per_s"), None);
    }
}
