//! Builds the user interface in `ui/` into `OUT_DIR/ui`, from where `assets.rs` embeds it.
//!
//! Everything happens under `OUT_DIR`, the installed packages included: a debug and a release
//! build at once have a folder each, and nothing is written into the source tree. Where Node is
//! missing, or its packages cannot be had, the build says so and ships the stylesheet alone;
//! every page works with that.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs, io};

/// What the build of the user interface needs besides `src`.
const FILES: [&str; 6] =
    ["package.json", "package-lock.json", ".npmrc", "tsconfig.json", "tsconfig.worker.json", "vite.config.mjs"];

/// Left in the installed packages once they are complete, holding the lock file they came from.
const INSTALLED: &str = "node_modules/.installed-from";

fn main() -> Result<(), String> {
    let ui = folder("CARGO_MANIFEST_DIR")?.join("../../ui");
    let out = folder("OUT_DIR")?;
    for name in FILES.iter().chain(&["src"]) {
        println!("cargo:rerun-if-changed={}", ui.join(name).display());
    }
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-env-changed=PATH");

    let shipped = out.join("ui");
    let Err(why) = build(&ui, &out.join("ui-build"), &shipped) else {
        return Ok(());
    };
    println!(
        "cargo:warning=The user interface ships as a stylesheet alone, without fonts, the unsent queue and the other islands: {why}"
    );
    if !why.starts_with("npm was not found") {
        // A registry out of reach is often back in a minute; a file that never exists makes the
        // next build try again. A missing Node is watched for through PATH above.
        println!("cargo:rerun-if-changed={}", out.join("try-again").display());
    }
    stylesheet_alone(&ui.join("src"), &shipped)
        .map_err(|e| format!("the stylesheet could not be copied to {}: {e}", shipped.display()))
}

fn folder(variable: &str) -> Result<PathBuf, String> {
    env::var_os(variable).map(PathBuf::from).ok_or_else(|| format!("cargo did not set {variable}"))
}

/// Copies the sources to `work`, installs the locked packages there unless they are in place, and
/// builds into `shipped`. The error is a reason in words.
fn build(ui: &Path, work: &Path, shipped: &Path) -> Result<(), String> {
    copy_sources(ui, work).map_err(|e| format!("its sources could not be copied: {e}"))?;
    let lock = fs::read(work.join("package-lock.json")).map_err(|e| e.to_string())?;
    if fs::read(work.join(INSTALLED)).ok().as_ref() != Some(&lock) {
        npm(&["ci"], work, shipped)?;
        fs::write(work.join(INSTALLED), &lock).map_err(|e| e.to_string())?;
    }
    npm(&["run", "build"], work, shipped)
}

fn copy_sources(ui: &Path, work: &Path) -> io::Result<()> {
    fs::create_dir_all(work)?;
    for name in FILES {
        fs::copy(ui.join(name), work.join(name))?;
    }
    replace_folder(&ui.join("src"), &work.join("src"))
}

/// Runs npm in `work`; an error carries the first errors npm printed.
fn npm(arguments: &[&str], work: &Path, shipped: &Path) -> Result<(), String> {
    let program = if cfg!(windows) { "npm.cmd" } else { "npm" };
    let output =
        Command::new(program).args(arguments).current_dir(work).env("GUIDECOAT_UI_OUT", shipped).output().map_err(
            |e| match e.kind() {
                io::ErrorKind::NotFound => "npm was not found; install Node 20.19 or later and build again".to_owned(),
                _ => format!("npm could not be started: {e}"),
            },
        )?;
    if output.status.success() {
        return Ok(());
    }
    let said = [output.stdout, output.stderr].concat();
    let said = String::from_utf8_lossy(&said);
    let errors: Vec<&str> = said.lines().filter(|line| line.to_lowercase().contains("error")).take(3).collect();
    Err(format!("`npm {}` failed: {}", arguments.join(" "), errors.join(" / ")))
}

/// The stylesheet as it is written, with the machine's own fonts, and the icon.
fn stylesheet_alone(src: &Path, shipped: &Path) -> io::Result<()> {
    if shipped.exists() {
        fs::remove_dir_all(shipped)?;
    }
    replace_folder(&src.join("css"), &shipped.join("css"))?;
    for name in ["guidecoat.css", "mark.svg"] {
        fs::copy(src.join(name), shipped.join(name))?;
    }
    Ok(())
}

/// Makes `to` a copy of `from`, without anything that was in `to` before.
fn replace_folder(from: &Path, to: &Path) -> io::Result<()> {
    if to.exists() {
        fs::remove_dir_all(to)?;
    }
    fs::create_dir_all(to)?;
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        let target = to.join(entry.file_name());
        if entry.file_type()?.is_dir() {
            replace_folder(&entry.path(), &target)?;
        } else {
            fs::copy(entry.path(), target)?;
        }
    }
    Ok(())
}
