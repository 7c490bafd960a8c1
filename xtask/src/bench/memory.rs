//! The most memory that a search for recipes holds.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

use anyhow::{Context, Result, ensure};
use serde_json::Value;

use super::report::Row;
use crate::command;
use crate::workspace::Workspace;

const WORK: &str = "memory of the search over 40 toners (peak of its process)";
const LIMIT_BYTES: usize = 200_000_000;
/// The bench that does nothing else; all its targets after one another, in one process.
const BENCH: &str = "recipe_of_40_toners";
const LOOK_EVERY: Duration = Duration::from_millis(2);

pub(super) fn row(workspace: &Workspace) -> Row {
    match executable(workspace).and_then(|program| peak_bytes(&program)) {
        Ok(bytes) => Row::size(WORK, bytes, LIMIT_BYTES),
        Err(error) => Row::not_measured(WORK, "200 MB", &error),
    }
}

/// The built bench of the crate.
fn executable(workspace: &Workspace) -> Result<PathBuf> {
    let mut cargo = command::cargo(&workspace.root);
    cargo.args(["bench", "--package", "colour", "--bench", "colour", "--no-run", "--message-format", "json"]);
    let said = command::output(&mut cargo)?;
    named(&said).context("cargo built no bench of the crate colour")
}

/// The executable that cargo's messages name last.
fn named(messages: &str) -> Option<PathBuf> {
    let messages = messages.lines().filter_map(|line| serde_json::from_str::<Value>(line).ok());
    messages.filter_map(|message| Some(PathBuf::from(message["executable"].as_str()?))).next_back()
}

/// Runs it and looks again and again at what the system holds to be its peak.
fn peak_bytes(program: &Path) -> Result<usize> {
    let mut child = Command::new(program)
        .args(["--bench", BENCH, "--sample-count", "1"])
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .spawn()
        .with_context(|| format!("cannot start {}", program.display()))?;
    let status = format!("/proc/{}/status", child.id());
    let mut most = 0;
    let ended = loop {
        most = most.max(std::fs::read_to_string(&status).ok().and_then(|text| peak(&text)).unwrap_or(0));
        if let Some(ended) = child.try_wait()? {
            break ended;
        }
        std::thread::sleep(LOOK_EVERY);
    };
    ensure!(ended.success(), "the search ended with {ended}");
    ensure!(most > 0, "this system does not tell a process's memory");
    Ok(most)
}

/// `VmHWM: 1024 kB` in bytes; the system's kB are of 1024.
fn peak(status: &str) -> Option<usize> {
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(line.trim().strip_suffix("kB")?.trim().parse::<usize>().ok()? * 1024)
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::{named, peak};

    #[test]
    fn the_peak_is_read() {
        assert_eq!(peak("Name:\tx\nVmHWM:\t    2048 kB\nVmRSS:\t 10 kB\n"), Some(2_097_152));
        assert_eq!(peak("Name:\tx\n"), None);
    }

    #[test]
    fn the_bench_is_found_among_the_messages() {
        let said = "{\"executable\":null}\n{\"executable\":\"/t/colour-1\"}\n{\"reason\":\"build-finished\"}\n";
        assert_eq!(named(said), Some(PathBuf::from("/t/colour-1")));
        assert_eq!(named("compiling"), None);
    }
}
