//! The film model once more, built for processors with 256-bit vectors.

use anyhow::{Context, Result, ensure};

use super::divan;
use super::report::Row;
use crate::command;
use crate::workspace::Workspace;

const WORK: &str = "the film model built for x86-64-v3";
const LIMIT_S: f64 = 8e-6;
const BENCH: &str = "film_of_6_toners";

/// Its row; the build has a folder of its own, so that the program's is not built anew.
pub(super) fn row(workspace: &Workspace) -> Row {
    super::whole::row(WORK, LIMIT_S, median_s(workspace))
}

fn median_s(workspace: &Workspace) -> Result<f64> {
    let processor = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    ensure!(has_v3(&processor), "this processor is not known to be of x86-64-v3");
    let mut cargo = command::cargo(&workspace.root);
    cargo.env("RUSTFLAGS", "-Ctarget-cpu=x86-64-v3").env("CARGO_TARGET_DIR", workspace.target.join("x86-64-v3"));
    cargo.args(["bench", "--package", "colour", "--bench", "colour", "--", BENCH]);
    let benches = divan::parse(&command::output(&mut cargo)?);
    let bench = benches.iter().find(|bench| bench.path.ends_with(BENCH)).context("the bench printed no result")?;
    Ok(bench.median_s)
}

/// The features of the level that Linux tells of.
fn has_v3(cpuinfo: &str) -> bool {
    let flags = cpuinfo.lines().find_map(|line| line.strip_prefix("flags")).unwrap_or_default();
    ["avx2", "bmi1", "bmi2", "f16c", "fma", "movbe"].iter().all(|needed| flags.split(' ').any(|flag| flag == *needed))
}

#[cfg(test)]
mod tests {
    use super::has_v3;

    #[test]
    fn a_processor_is_of_the_level_with_all_its_features() {
        assert!(has_v3("model : x\nflags\t: fpu movbe bmi1 avx2 bmi2 f16c fma\n"));
        assert!(!has_v3("flags\t: fpu movbe bmi1 bmi2 f16c fma\n") && !has_v3(""));
    }
}
