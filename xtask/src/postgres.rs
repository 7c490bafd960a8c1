//! A temporary PostgreSQL cluster for the store's tests: its own folder, user and port, gone at the end.
//!
//! PostgreSQL refuses to run as root. When we are root it runs as `postgres` if that user exists,
//! else as `nobody`. It listens on loopback only, trusts every local connection, and keeps nothing.

use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};

use crate::{command, setup};

/// The superuser inside the cluster; it has nothing to do with users of the machine.
const SUPERUSER: &str = "guidecoat";
const START_LIMIT: Duration = Duration::from_secs(30);
const STOP_LIMIT: Duration = Duration::from_secs(10);

/// A running cluster; dropping it stops the server and removes the folder.
pub(crate) struct Cluster {
    folder: PathBuf,
    port: u16,
    server: Option<Child>,
}

/// The folder that holds `initdb`, `postgres` and `pg_isready`.
pub(crate) fn binaries() -> Result<PathBuf> {
    let debian =
        std::fs::read_dir("/usr/lib/postgresql").into_iter().flatten().flatten().map(|entry| entry.path().join("bin"));
    let mut found: Vec<PathBuf> = debian.filter(|bin| has_all(bin)).collect();
    found.sort_by_key(|bin| major(bin));
    if let Some(newest) = found.pop() {
        return Ok(newest);
    }
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path)
        .find(|bin| has_all(bin))
        .context("no PostgreSQL server on this machine: cargo xtask setup")
}

fn has_all(bin: &Path) -> bool {
    ["initdb", "postgres", "pg_isready"].iter().all(|name| bin.join(name).is_file())
}

/// Of a folder such as `/usr/lib/postgresql/15/bin`: 15.
fn major(bin: &Path) -> u32 {
    bin.parent().and_then(Path::file_name).and_then(|name| name.to_string_lossy().parse().ok()).unwrap_or(0)
}

impl Cluster {
    /// Makes and starts a cluster, and waits until it answers.
    pub(crate) fn start() -> Result<Self> {
        let bin = binaries()?;
        let folder = std::env::temp_dir().join(format!("guidecoat-postgres-{}", std::process::id()));
        std::fs::create_dir(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
        let mut cluster = Self { folder, port: free_port()?, server: None };
        let user = if setup::is_root() { Some(unprivileged_user()?) } else { None };
        cluster.make_data(&bin, user.as_deref())?;
        cluster.server = Some(cluster.start_server(&bin, user.as_deref())?);
        cluster.wait_until_ready(&bin)?;
        println!("PostgreSQL {} on port {}", major(&bin), cluster.port);
        Ok(cluster)
    }

    fn data(&self) -> PathBuf {
        self.folder.join("data")
    }

    fn make_data(&self, bin: &Path, user: Option<&str>) -> Result<()> {
        if let Some(user) = user {
            command::output(command::program("chown", Path::new("/")).arg(user).arg(&self.folder))?;
        }
        let mut initdb = as_user(user, &bin.join("initdb"), &self.folder);
        initdb.arg("--pgdata").arg(self.data());
        initdb.args(["--username", SUPERUSER, "--auth", "trust", "--no-sync"]);
        initdb.args(["--encoding", "UTF8", "--locale", "C"]);
        command::output(&mut initdb).map(drop)
    }

    fn start_server(&self, bin: &Path, user: Option<&str>) -> Result<Child> {
        let log = std::fs::File::create(self.folder.join("log"))?;
        let mut server = as_user(user, &bin.join("postgres"), &self.folder);
        server.arg("-D").arg(self.data());
        server.args(["-p", &self.port.to_string(), "-k"]).arg(&self.folder);
        server.args(["-c", "listen_addresses=127.0.0.1", "-c", "max_connections=200"]);
        // Nothing here outlives the run, so nothing waits for the disk.
        server.args(["-c", "fsync=off", "-c", "synchronous_commit=off", "-c", "full_page_writes=off"]);
        server.stdin(Stdio::null()).stdout(log.try_clone()?).stderr(log);
        server.spawn().context("cannot start postgres")
    }

    /// The address in the form the program itself takes.
    pub(crate) fn address(&self) -> String {
        format!("postgres://{SUPERUSER}@127.0.0.1:{}/postgres", self.port)
    }

    fn wait_until_ready(&mut self, bin: &Path) -> Result<()> {
        let begun = Instant::now();
        let port = self.port.to_string();
        while begun.elapsed() < START_LIMIT {
            let ready = Command::new(bin.join("pg_isready"))
                .args(["-q", "-h", "127.0.0.1", "-p", &port])
                .status()
                .is_ok_and(|status| status.success());
            let ended = self.server.as_mut().is_some_and(|server| matches!(server.try_wait(), Ok(Some(_))));
            // Another server could own the port: ready counts only while ours is alive.
            if ended {
                bail!("postgres ended at once:\n{}", self.log());
            }
            if ready {
                return Ok(());
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        bail!("postgres did not answer within {} s:\n{}", START_LIMIT.as_secs(), self.log())
    }

    fn log(&self) -> String {
        std::fs::read_to_string(self.folder.join("log")).unwrap_or_default()
    }
}

impl Drop for Cluster {
    fn drop(&mut self) {
        if let Some(server) = &mut self.server {
            // SIGINT is PostgreSQL's quick and orderly end: it disconnects clients and frees shared memory.
            let _ = Command::new("kill").args(["-INT", &server.id().to_string()]).status();
            let begun = Instant::now();
            while begun.elapsed() < STOP_LIMIT && matches!(server.try_wait(), Ok(None)) {
                std::thread::sleep(Duration::from_millis(20));
            }
            let _ = server.kill();
            let _ = server.wait();
        }
        if let Err(error) = std::fs::remove_dir_all(&self.folder) {
            eprintln!("{} is left behind: {error}", self.folder.display());
        }
    }
}

/// A port that was free a moment ago; if something takes it in between, the start fails and says so.
fn free_port() -> Result<u16> {
    Ok(TcpListener::bind("127.0.0.1:0")?.local_addr()?.port())
}

fn unprivileged_user() -> Result<String> {
    let exists = |user: &&str| command::output(command::program("id", Path::new("/")).args(["-u", user])).is_ok();
    ["postgres", "nobody"]
        .iter()
        .find(|user| exists(user))
        .map(|user| (*user).to_owned())
        .context("neither a user postgres nor nobody exists")
}

/// `program` as that user, and ended by the system should this tool be killed outright.
fn as_user(user: Option<&str>, program: &Path, folder: &Path) -> Command {
    let Some(user) = user else {
        return command::program(program, folder);
    };
    let mut command = command::program("setpriv", folder);
    command
        .args(["--reuid", user, "--regid"])
        .arg(group_of(user))
        .args(["--clear-groups", "--pdeathsig", "QUIT"])
        .arg(program);
    command
}

/// The number of the user's own group; its name need not be the user's.
fn group_of(user: &str) -> String {
    command::output(command::program("id", Path::new("/")).args(["-g", user]))
        .map_or_else(|_| user.to_owned(), |id| id.trim().to_owned())
}

#[cfg(test)]
mod tests {
    use std::net::TcpStream;

    use super::Cluster;

    #[test]
    fn a_cluster_answers_and_leaves_nothing_behind() {
        let cluster = Cluster::start().unwrap();
        let (port, folder) = (cluster.port, cluster.folder.clone());
        assert!(cluster.address().ends_with(&format!("@127.0.0.1:{port}/postgres")));
        assert!(TcpStream::connect(("127.0.0.1", port)).is_ok());
        drop(cluster);
        assert!(TcpStream::connect(("127.0.0.1", port)).is_err());
        assert!(!folder.exists());
    }
}
