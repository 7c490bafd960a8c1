//! Rules of the workspace that neither the compiler nor clippy can see. Each is a function from the
//! tree to its findings, in a file of its own, with an example that must be found.

mod catalogue;
mod direction;
mod map;
mod migrations;
mod origins;
mod places;
mod reference;
mod sizes;
mod sleeping;
mod words;

use std::fmt;

use anyhow::{Result, bail};

use crate::tree::Tree;
use crate::workspace::Workspace;

pub(crate) use migrations::append as append_migrations;

/// One place that breaks a rule, and what is wrong there.
#[derive(Debug, PartialEq)]
struct Finding {
    place: String,
    says: String,
}

impl Finding {
    fn new(place: impl Into<String>, says: impl Into<String>) -> Self {
        Self { place: place.into(), says: says.into() }
    }

    fn at_line(path: &str, line: usize, says: impl Into<String>) -> Self {
        Self::new(format!("{path}:{line}"), says)
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.says)
    }
}

/// A rule, by the sentence that a reader wants to see broken or kept.
type Rule = (&'static str, fn(&Tree) -> Vec<Finding>);

const RULES: &[Rule] = &[
    ("dependencies point one way", direction::findings),
    ("ARCHITECTURE.md and the folders agree", map::findings),
    ("reference data names its origin", reference::findings),
    ("catalogue rows name their basis", catalogue::findings),
    ("tests name their origin", origins::findings),
    ("no sleeping or unfinished code", sleeping::findings),
    ("forbidden words stay out", words::findings),
    ("no machine's paths, no registry hosts", places::findings),
    ("files stay small", sizes::findings),
    ("applied migrations never change", migrations::findings),
];

/// Runs every rule over the tree; long functions are only noted.
pub(crate) fn run(workspace: &Workspace) -> Result<()> {
    let tree = Tree::read(workspace)?;
    for note in sizes::long_functions(&tree) {
        println!("note: {note}");
    }
    let mut broken = 0;
    for (name, rule) in RULES {
        let findings = rule(&tree);
        println!("{} {name}", if findings.is_empty() { "kept  " } else { "BROKEN" });
        for finding in &findings {
            println!("       {finding}");
        }
        broken += usize::from(!findings.is_empty());
    }
    if broken > 0 {
        bail!("{broken} of {} tidy rules broken over {} files", RULES.len(), tree.files.len());
    }
    Ok(())
}

/// The numbered lines of a text, counted from 1.
fn numbered_lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines().enumerate().map(|(index, line)| (index + 1, line))
}
