//! The machine, the compiler and the commit that a bench page names.

use anyhow::Result;

use crate::command;
use crate::workspace::Workspace;

/// What a reader needs to judge the numbers, in the order it is printed.
pub(super) struct Machine {
    /// ISO 8601, of the machine's own clock and zone.
    pub(super) date: String,
    pub(super) facts: Vec<(&'static str, String)>,
}

/// Reads it from the system; what a system does not tell is called unknown.
pub(super) fn describe(workspace: &Workspace) -> Result<Machine> {
    let ask = |name: &str, words: &[&str]| {
        command::output(command::program(name, &workspace.root).args(words))
            .map_or_else(|_| "unknown".to_owned(), |text| text.trim().to_owned())
    };
    let read = |path: &str| std::fs::read_to_string(path).unwrap_or_default();
    let unknown = || "unknown".to_owned();
    let mut commit = ask("git", &["rev-parse", "--short", "HEAD"]);
    if commit != unknown() && !ask("git", &["status", "--porcelain"]).is_empty() {
        commit.push_str(", with changes not committed");
    }
    let facts = vec![
        ("commit", commit),
        ("processor", after_key(&read("/proc/cpuinfo"), "model name").unwrap_or_else(unknown)),
        ("cores", std::thread::available_parallelism()?.to_string()),
        ("memory", memory(&read("/proc/meminfo")).unwrap_or_else(unknown)),
        (
            "system",
            format!(
                "{}, {}",
                after_key(&read("/etc/os-release"), "PRETTY_NAME").unwrap_or_else(unknown),
                ask("uname", &["-sr"])
            ),
        ),
        ("compiler", ask("rustc", &["--version"])),
        ("load before", read("/proc/loadavg").split(' ').take(3).collect::<Vec<_>>().join(" ")),
    ];
    Ok(Machine {
        date: command::output(command::program("date", &workspace.root).arg("+%F"))?.trim().to_owned(),
        facts,
    })
}

/// The value of the first line `key : value` or `key="value"`.
fn after_key(text: &str, key: &str) -> Option<String> {
    let line = text.lines().find(|line| line.starts_with(key))?;
    let (_, value) = line.split_once([':', '='])?;
    Some(value.trim().trim_matches('"').to_owned())
}

/// `MemTotal: 24571880 kB` in whole GiB.
fn memory(meminfo: &str) -> Option<String> {
    let total = after_key(meminfo, "MemTotal")?;
    let kib: f64 = total.split(' ').next()?.parse().ok()?;
    Some(format!("{:.0} GiB", kib / (1024.0 * 1024.0)))
}

#[cfg(test)]
mod tests {
    use super::{after_key, memory};

    #[test]
    fn system_files_are_read() {
        assert_eq!(memory("MemTotal:       24571880 kB\n"), Some("23 GiB".into()));
        assert_eq!(after_key("NAME=\"x\"\nPRETTY_NAME=\"a b\"", "PRETTY_NAME"), Some("a b".into()));
        assert_eq!(after_key("", "model name"), None);
    }
}
