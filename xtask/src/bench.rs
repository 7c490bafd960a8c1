//! `cargo xtask bench`: measures, and writes `docs/bench/DATE.md`. Never part of the check: a slow or
//! busy machine may not turn a correct program red.

mod calibration;
mod divan;
mod engines;
mod http;
mod machine;
mod memory;
mod report;
mod rivals;
mod server;
mod solids;
mod vector;
mod whole;

use anyhow::{Context, Result};

use crate::workspace::Workspace;
use crate::{command, setup};

use report::Row;

/// Builds the release program, measures it and the rivals in one go, and writes the page.
pub(crate) fn run(workspace: &Workspace) -> Result<()> {
    let machine = machine::describe(workspace)?;
    // A missing Python costs the rivals' rows, each of which then says so, not the whole run.
    if let Err(error) = setup::for_bench() {
        println!("no Python for the rivals: {error:#}");
    }
    let mut rows = engines::rows(workspace)?;
    rows.push(vector::row(workspace));
    rows.push(memory::row(workspace));
    rows.extend(whole_program(workspace));
    let text = report::page(&machine, &rows);
    let folder = workspace.root.join("docs/bench");
    std::fs::create_dir_all(&folder)?;
    let file = folder.join(format!("{}.md", machine.date));
    std::fs::write(&file, &text).with_context(|| format!("cannot write {}", file.display()))?;
    println!("\n{text}\nwritten to docs/bench/{}.md", machine.date);
    Ok(())
}

fn whole_program(workspace: &Workspace) -> Vec<Row> {
    // Alone, so that it is the very program a user builds.
    let build = command::run(command::cargo(&workspace.root).args(["build", "--release", "--package", "guidecoat"]));
    match build {
        Ok(()) => {
            let (binary, scratch) = (workspace.target.join("release/guidecoat"), workspace.target.join("bench"));
            let mut rows = whole::rows(&binary, &scratch);
            rows.extend(calibration::rows(workspace, &binary, &scratch.join("toners")));
            rows
        }
        Err(error) => vec![Row::not_measured("the whole program", "", &error)],
    }
}
