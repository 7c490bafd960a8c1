//! One named step of the check, and the run of several of them.

use std::time::Instant;

use anyhow::Result;

use crate::workspace::Workspace;

/// A step can be run alone as `cargo xtask NAME`.
#[derive(Clone, Copy)]
pub(crate) struct Step {
    pub(crate) name: &'static str,
    run: fn(&Workspace) -> Result<()>,
}

impl Step {
    pub(crate) const fn new(name: &'static str, run: fn(&Workspace) -> Result<()>) -> Self {
        Self { name, run }
    }
}

/// Runs every step even after one failed, so that one run shows all there is to mend.
/// Returns whether all passed; the last line printed counts the steps.
pub(crate) fn run_all(workspace: &Workspace, steps: &[Step]) -> bool {
    let mut times = Vec::new();
    let mut failures = Vec::new();
    for step in steps {
        println!("\n=== {} ===", step.name);
        let begun = Instant::now();
        let outcome = (step.run)(workspace);
        let seconds = begun.elapsed().as_secs_f64();
        match outcome {
            Ok(()) => times.push(format!("{:<10} {seconds:7.1} s", step.name)),
            Err(error) => {
                println!("--- {}: {error:#}", step.name);
                times.push(format!("{:<10} {seconds:7.1} s  FAILED", step.name));
                failures.push(step.name);
            }
        }
    }
    println!("\n{}", times.join("\n"));
    for name in &failures {
        println!("{name} failed; run it alone: cargo xtask {name}");
    }
    println!("{}", closing_line(steps.len(), failures.len()));
    failures.is_empty()
}

/// The plain line that a reader, or a machine, looks for at the very end.
fn closing_line(steps: usize, failed: usize) -> String {
    format!("{} passed, {failed} failed", steps - failed)
}

#[cfg(test)]
mod tests {
    use super::closing_line;

    #[test]
    fn the_closing_line_counts_steps() {
        assert_eq!(closing_line(7, 0), "7 passed, 0 failed");
        assert_eq!(closing_line(7, 2), "5 passed, 2 failed");
    }
}
