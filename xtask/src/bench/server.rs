//! A running `guidecoat serve` on a port of its own choosing, ended when dropped.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use anyhow::{Context, Result};

use super::http;

/// The server and where it listens.
pub(super) struct Server {
    child: Child,
    /// Host and port.
    pub(super) authority: String,
    /// From the start of the process to the first page in full.
    pub(super) to_first_page: Duration,
}

impl Server {
    /// Starts it over one SQLite file and waits for its first page.
    pub(super) fn start(binary: &Path, database: &Path) -> Result<Self> {
        let begun = Instant::now();
        let child = Command::new(binary)
            .args(["serve", "--listen", "127.0.0.1:0", "--database"])
            .arg(format!("sqlite:{}", database.display()))
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .with_context(|| format!("cannot start {}", binary.display()))?;
        let mut server = Self { child, authority: String::new(), to_first_page: Duration::ZERO };
        let mut line = String::new();
        let output = server.child.stdout.take().context("the server has no standard output")?;
        BufReader::new(output).read_line(&mut line)?;
        server.authority = authority(&line).with_context(|| format!("the server's first line is {line:?}"))?;
        http::page(&server.authority, "/")?;
        server.to_first_page = begun.elapsed();
        Ok(server)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// `listening on http://127.0.0.1:8017` gives `127.0.0.1:8017`.
fn authority(line: &str) -> Option<String> {
    let address = line.trim().strip_prefix("listening on http://")?;
    Some(address.trim_end_matches('/').to_owned())
}

#[cfg(test)]
mod tests {
    use super::authority;

    #[test]
    fn the_first_line_names_the_address() {
        assert_eq!(authority("listening on http://127.0.0.1:41\n"), Some("127.0.0.1:41".into()));
        assert_eq!(authority(""), None);
    }
}
