//! The workspace's own tool: `cargo xtask check` is the definition of green, `cargo xtask tidy`
//! the rules a compiler cannot see, `cargo xtask bench` the measurements.
//!
//! Not done here: no rule about the trade, and no timed test. A slow machine may not turn a
//! correct program red, so times are only ever written down by `bench`.

mod bench;
mod browser;
mod cargo;
mod command;
mod licences;
mod postgres;
mod rust_text;
mod setup;
mod spdx;
mod step;
mod tidy;
mod tree;
mod workspace;

use std::process::ExitCode;

use anyhow::Result;

use step::Step;
use workspace::Workspace;

/// Everything that must pass before a change is green, cheap steps first.
const CHECK: &[Step] = &[
    Step::new("setup", setup::for_check),
    Step::new("fmt", cargo::fmt),
    Step::new("tidy", tidy::run),
    Step::new("licences", licences::summary),
    Step::new("ui", browser::ui),
    Step::new("clippy", cargo::clippy),
    Step::new("test", cargo::test),
    Step::new("browser", browser::run),
];

/// The tier to run after every edit: under a minute once built.
const QUICK: &[Step] = &[Step::new("fmt", cargo::fmt), Step::new("tidy", tidy::run), Step::new("quick", cargo::quick)];

/// Steps that only make sense alone.
const ALONE: &[Step] = &[
    Step::new("licences", licences::full),
    Step::new("bench", bench::run),
    Step::new("migrations", tidy::append_migrations),
];

const USAGE: &str = "\
cargo xtask check            every step below up to `browser`; green means all of them passed
cargo xtask check --quick    fmt, tidy and the engines' tests

cargo xtask setup            install what the checks need (apt-get, as root)
cargo xtask fmt              formatting
cargo xtask tidy             the rules of this workspace
cargo xtask licences         every dependency with its licence
cargo xtask ui               the pages' scripts build and their types agree
cargo xtask clippy           lints, warnings are errors
cargo xtask test             all tests, with a temporary PostgreSQL; benches run once, untimed
cargo xtask browser          the pages in a real browser
cargo xtask bench            measure, and write docs/bench/DATE.md
cargo xtask migrations       record the checksums of new migrations";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match run(&words) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("{error:#}");
            ExitCode::from(2)
        }
    }
}

/// True when every step passed.
fn run(words: &[&str]) -> Result<bool> {
    let workspace = Workspace::open()?;
    match words {
        ["check"] => Ok(step::run_all(&workspace, CHECK)),
        ["check", "--quick"] => Ok(step::run_all(&workspace, QUICK)),
        [name] => match ALONE.iter().chain(CHECK).chain(QUICK).find(|step| step.name == *name) {
            Some(step) => Ok(step::run_all(&workspace, std::slice::from_ref(step))),
            None => anyhow::bail!("no step is called {name:?}\n\n{USAGE}"),
        },
        [] => {
            println!("{USAGE}");
            Ok(true)
        }
        _ => anyhow::bail!("not understood: {}\n\n{USAGE}", words.join(" ")),
    }
}
