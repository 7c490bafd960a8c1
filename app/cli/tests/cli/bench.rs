//! A workbench for one test: a folder of its own, the program run in it, and a plain HTTP client.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::Value;

/// What a run of the program said.
#[derive(Debug)]
pub(crate) struct Ran {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Ran {
    /// Standard output as the one JSON value it must be.
    pub(crate) fn json(&self) -> Value {
        assert_eq!(self.code, 0, "{self:?}");
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}: {self:?}"))
    }

    /// Asserts that the program refused with `code`, one line on standard error that holds every word, and
    /// nothing on standard output.
    pub(crate) fn refused(&self, code: i32, words: &[&str]) {
        assert_eq!(self.code, code, "{self:?}");
        assert_eq!(self.out, "", "{self:?}");
        let told: Vec<&str> = self.err.lines().filter(|line| !line.starts_with("doubtful:")).collect();
        assert_eq!(told.len(), 1, "one line: {self:?}");
        for word in words {
            assert!(told[0].contains(word), "\"{word}\" is not in: {}", told[0]);
        }
    }
}

/// A folder with a shop in it.
pub(crate) struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    pub(crate) fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a folder") }
    }

    /// A bench with a lead in its shop.
    pub(crate) fn with_lead() -> Self {
        let bench = Self::new();
        bench.run(&["people", "add", "Lead", "--role", "lead", "--json"]).json();
        bench
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Writes a file and gives its name.
    pub(crate) fn file(&self, name: &'static str, bytes: impl AsRef<[u8]>) -> &'static str {
        std::fs::write(self.path(name), bytes).expect("a file");
        name
    }

    /// The program, about to run in this folder, with nothing from outside that could sway it.
    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_guidecoat"));
        command.args(arguments).current_dir(self.folder()).env("TZ", "UTC");
        for name in
            ["GUIDECOAT_DATABASE", "GUIDECOAT_CATALOGUE", "GUIDECOAT_TIMEZONE", "GUIDECOAT_PUBLIC_URL", "RUST_LOG"]
        {
            command.env_remove(name);
        }
        command
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> Ran {
        self.run_with(arguments, "")
    }

    /// Runs the program with something on standard input.
    pub(crate) fn run_with(&self, arguments: &[&str], input: &str) -> Ran {
        let mut command = self.command(arguments);
        let mut child =
            command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program");
        let mut stdin = child.stdin.take().expect("standard input");
        // A program that does not read its input may close it first.
        let _ = stdin.write_all(input.as_bytes());
        drop(stdin);
        let ran = child.wait_with_output().expect("an end");
        let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
        Ran { code: ran.status.code().unwrap_or(-1), out: text(ran.stdout), err: text(ran.stderr) }
    }

    /// Opens a car and gives its identifier.
    pub(crate) fn car(&self) -> String {
        let new = ["car", "new", "--title", "Green two-door", "--year", "1971", "--climate", "temperate_salted"];
        let rest = ["--kept", "outdoors", "--aim", "sound_driver", "--by", "Lead", "--json"];
        let opened = self.run(&[&new[..], &rest[..]].concat()).json();
        opened["car"].as_str().expect("an identifier").to_string()
    }

    /// The identifier of the lead.
    pub(crate) fn lead(&self) -> String {
        let people = self.run(&["people", "list", "--json"]).json();
        people["people"][0]["id"].as_str().expect("an identifier").to_string()
    }

    /// The lines of a car's record, as an export writes them.
    pub(crate) fn record(&self, car: &str) -> Vec<String> {
        self.run(&["car", "export", car, "record.zip", "--json"]).json();
        unpack(&self.path("record.zip"), "events.jsonl").lines().map(String::from).collect()
    }

    /// Starts serving this folder's shop on a free port.
    pub(crate) fn serve(&self) -> Server {
        let mut command = self.command(&["serve", "--listen", "127.0.0.1:0"]);
        let mut child = command.stdin(Stdio::null()).stdout(Stdio::piped()).spawn().expect("the program");
        let mut line = String::new();
        BufReader::new(child.stdout.as_mut().expect("standard output")).read_line(&mut line).expect("a line");
        let address = line.trim_end().strip_prefix("listening on http://").unwrap_or_else(|| panic!("\"{line}\""));
        Server { address: address.to_string(), child }
    }
}

/// One file out of a ZIP, as text.
pub(crate) fn unpack(zip: &Path, name: &str) -> String {
    let mut zip = zip::ZipArchive::new(std::fs::File::open(zip).expect("a ZIP")).expect("a ZIP");
    let mut text = String::new();
    zip.by_name(name).expect(name).read_to_string(&mut text).expect("text");
    text
}

/// A ZIP of the files given.
pub(crate) fn pack(path: &Path, files: &[(&str, &[u8])]) {
    let mut zip = zip::ZipWriter::new(std::fs::File::create(path).expect("a file"));
    for (name, bytes) in files {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).expect("a name");
        zip.write_all(bytes).expect("bytes");
    }
    zip.finish().expect("a ZIP");
}

/// A program that serves; it is killed when it is dropped.
pub(crate) struct Server {
    pub(crate) address: String,
    pub(crate) child: Child,
}

impl Server {
    /// Kills it at once, as a power cut would.
    pub(crate) fn kill(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// Asks it to end with a signal, and gives its exit code.
    pub(crate) fn ask_to_stop(mut self, signal: &str) -> i32 {
        let asked = Command::new("kill").args([signal, &self.child.id().to_string()]).status().expect("kill");
        assert!(asked.success());
        self.child.wait().expect("an end").code().unwrap_or(-1)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.kill();
    }
}

/// One look, ready to be sent.
pub(crate) struct Look<'a> {
    pub(crate) entry: &'a str,
    pub(crate) base: u64,
    pub(crate) zone: &'a str,
    pub(crate) result: &'a str,
    pub(crate) who: &'a str,
}

/// Sends a look; gives the status and the body, or nothing when no whole answer came.
pub(crate) fn post(address: &str, car: &str, look: &Look<'_>) -> Option<(u16, String)> {
    let base = look.base.to_string();
    // How bad stands in place of "bad".
    let (result, severity) = match look.result {
        "bad" => ("bad", "pitted"),
        "thin" => ("bad", "thin"),
        other => (other, ""),
    };
    let fields = [
        ("entry", look.entry),
        ("base", &base),
        ("kind", "looked"),
        ("zone", look.zone),
        ("how", "tap_and_probe"),
        ("result", result),
        ("severity", severity),
        ("note", "rings"),
        ("who", look.who),
    ];
    const EDGE: &str = "edge-of-a-part";
    let mut body = String::new();
    for (name, value) in fields {
        body += &format!("--{EDGE}\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
    }
    body += &format!("--{EDGE}--\r\n");
    let head = format!(
        "POST /cars/{car}/entries HTTP/1.1\r\nHost: {address}\r\nAccept: application/json\r\nConnection: close\r\n\
         Content-Type: multipart/form-data; boundary={EDGE}\r\nContent-Length: {}\r\n\r\n",
        body.len()
    );
    let mut stream = TcpStream::connect(address).ok()?;
    stream.set_read_timeout(Some(Duration::from_secs(30))).ok()?;
    stream.write_all(head.as_bytes()).ok()?;
    stream.write_all(body.as_bytes()).ok()?;
    let mut answer = String::new();
    stream.read_to_string(&mut answer).ok()?;
    let (head, body) = answer.split_once("\r\n\r\n")?;
    let status = head.split(' ').nth(1)?.parse().ok()?;
    Some((status, body.to_string()))
}

/// The place in the record that an answer names.
pub(crate) fn place(body: &str) -> Option<u64> {
    serde_json::from_str::<Value>(body).ok()?["kept"].as_u64()
}

/// The identifier of an entry, counted.
pub(crate) fn entry(count: u64) -> String {
    format!("00000000-0000-4000-8000-{count:012x}")
}
