//! Child processes: started from one folder, with their outcome in words.

use std::path::Path;
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail, ensure};

/// The cargo that started us, run in `folder`.
pub(crate) fn cargo(folder: &Path) -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(folder);
    // `cargo run` describes this tool in the environment; build scripts further down must not see it.
    for (name, _) in std::env::vars_os() {
        let name = name.to_string_lossy();
        if name.starts_with("CARGO_PKG_") || name.starts_with("CARGO_MANIFEST_") {
            command.env_remove(name.as_ref());
        }
    }
    command
}

/// Any other program, run in `folder`.
pub(crate) fn program(name: impl AsRef<std::ffi::OsStr>, folder: &Path) -> Command {
    let mut command = Command::new(name);
    command.current_dir(folder);
    command
}

/// Runs it with our own terminal; an error names the command and how it ended.
pub(crate) fn run(command: &mut Command) -> Result<()> {
    let words = words(command);
    println!("$ {words}");
    let status = command.stdin(Stdio::null()).status().with_context(|| format!("cannot start `{words}`"))?;
    ensure!(status.success(), "`{words}` ended with {status}");
    Ok(())
}

/// Runs it and returns what it wrote to standard output; an error carries its standard error.
pub(crate) fn output(command: &mut Command) -> Result<String> {
    let words = words(command);
    let output = command.stdin(Stdio::null()).output().with_context(|| format!("cannot start `{words}`"))?;
    if !output.status.success() {
        bail!("`{words}` ended with {}\n{}", output.status, String::from_utf8_lossy(&output.stderr).trim_end());
    }
    String::from_utf8(output.stdout).with_context(|| format!("`{words}` did not write UTF-8"))
}

/// The first folder of PATH that holds `name`, joined with it.
pub(crate) fn on_path(name: &str) -> Option<std::path::PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).map(|folder| folder.join(name)).find(|file| file.is_file())
}

/// The command as one would type it; the environment is left out.
fn words(command: &Command) -> String {
    let program = Path::new(command.get_program());
    let mut words = vec![program.file_name().unwrap_or(program.as_os_str()).to_string_lossy()];
    words.extend(command.get_args().map(|word| word.to_string_lossy()));
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    #[test]
    fn a_failing_command_is_an_error_with_its_name() {
        let error = super::run(&mut super::program("false", Path::new("."))).unwrap_err();
        assert!(error.to_string().contains("`false` ended with"));
        let error = super::output(&mut super::program("no-such-program-here", Path::new("."))).unwrap_err();
        assert!(error.to_string().contains("cannot start"));
    }
}
