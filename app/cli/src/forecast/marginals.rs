//! Any Bayesian network from a file, asked alone: the marginals of all its variables, given evidence.

use std::collections::BTreeSet;
use std::io::{self, Write};
use std::path::Path;

use ::forecast::bif;
use ::forecast::network::{Evidence, MOST_ENTRIES, Network, NetworkError, Tree};
use serde::{Serialize, Serializer};

use crate::answer::{Answer, columns, row};
use crate::file;
use crate::stop::Stop;

/// How many names a refusal lists.
const NAMES_TOLD: usize = 12;
/// Letters of a name that a refusal shows.
const LETTERS_TOLD: usize = 40;

/// What a network says.
#[derive(Debug, Serialize)]
pub(super) struct Marginals {
    p_evidence: f64,
    ln_p_evidence: f64,
    width: usize,
    marginals: InOrder<InOrder<f64>>,
    #[serde(skip)]
    evidence: BTreeSet<String>,
}

/// A JSON object whose keys stand in the file's order.
#[derive(Debug)]
struct InOrder<T>(Vec<(String, T)>);

impl<T: Serialize> Serialize for InOrder<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|(key, value)| (key, value)))
    }
}

impl Marginals {
    /// The marginals of the network in a BIF file, given pieces of evidence such as `A=x,B=y`.
    pub(super) fn of(path: &Path, evidence: &[String]) -> Result<Self, Stop> {
        let named = file::name(path);
        let network = bif::read(&text(path)?).map_err(|e| Stop::input(e).about(&named))?;
        let pieces = pieces(&network, evidence)?;
        let about = |e: NetworkError| match e {
            NetworkError::Impossible => Stop::input(
                "--evidence: this cannot happen in the network, its probability is 0; take a piece of it out",
            ),
            other => Stop::input(other).about(&named),
        };
        let mut known = Evidence::none(&network);
        for (variable, state) in &pieces {
            known.is(*variable, *state).map_err(about)?;
        }
        let tree = Tree::compile(&network, MOST_ENTRIES).map_err(about)?;
        let mut work = tree.work();
        let posterior = tree.update(&known, &mut work).map_err(about)?;
        let variables = network.variables().iter().enumerate().map(|(place, variable)| {
            let states = variable.states.iter().cloned().zip(posterior.marginal(place).iter().copied());
            (variable.name.clone(), InOrder(states.collect()))
        });
        let name = |(place, _): &(usize, usize)| network.variables().get(*place).map(|variable| variable.name.clone());
        Ok(Self {
            p_evidence: posterior.evidence(),
            ln_p_evidence: posterior.ln_evidence(),
            width: tree.width(),
            marginals: InOrder(variables.collect()),
            evidence: pieces.iter().filter_map(name).collect(),
        })
    }
}

fn text(path: &Path) -> Result<String, Stop> {
    let bytes = file::read_most(path, bif::MOST_BYTES)?;
    String::from_utf8(bytes).map_err(|e| {
        let before = e.as_bytes().get(..e.utf8_error().valid_up_to()).unwrap_or_default();
        let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
        let of_line = before.rsplit(|byte| *byte == b'\n').next().unwrap_or_default();
        // What stands before the fault is text.
        let column = 1 + String::from_utf8_lossy(of_line).chars().count();
        let found = e.as_bytes().get(before.len()).copied().unwrap_or_default();
        let told = format!("line {line}, column {column}: found the byte {found:#04x}; right would be UTF-8 text");
        Stop::input(told).about(&file::name(path))
    })
}

/// Evidence as places of variables and states.
fn pieces(network: &Network, evidence: &[String]) -> Result<Vec<(usize, usize)>, Stop> {
    let mut pieces: Vec<(usize, usize)> = Vec::new();
    for piece in evidence.iter().filter(|list| !list.trim().is_empty()).flat_map(|list| list.split(',')) {
        let refuse = |why: String| Stop::input(format!("--evidence: {why}"));
        let Some((name, state)) = piece.split_once('=') else {
            let wanted = "VARIABLE=STATE, with commas between several";
            return Err(refuse(format!("\"{}\" has no \"=\"; right would be {wanted}", cut(piece.trim()))));
        };
        let (name, state) = (name.trim(), state.trim());
        let Some(place) = network.find(name) else {
            let known = network.variables().iter().map(|variable| variable.name.as_str());
            return Err(refuse(format!("there is no variable \"{}\"; there are {}", cut(name), list(known))));
        };
        let states = network.variables().get(place).map(|variable| variable.states.as_slice()).unwrap_or_default();
        let Some(own) = states.iter().position(|known| known == state) else {
            let known = list(states.iter().map(String::as_str));
            return Err(refuse(format!("\"{}\" has no state \"{}\"; it can be {known}", cut(name), cut(state))));
        };
        if pieces.iter().any(|(before, _)| *before == place) {
            return Err(refuse(format!("\"{}\" is given twice; name it once", cut(name))));
        }
        pieces.push((place, own));
    }
    Ok(pieces)
}

/// Some of the names, and how many there are besides.
fn list<'a>(names: impl ExactSizeIterator<Item = &'a str>) -> String {
    let more = names.len().saturating_sub(NAMES_TOLD);
    let told: Vec<String> = names.take(NAMES_TOLD).map(cut).collect();
    match more {
        0 => told.join(", "),
        more => format!("{} and {more} more", told.join(", ")),
    }
}

fn cut(name: &str) -> String {
    match name.char_indices().nth(LETTERS_TOLD) {
        None => name.to_owned(),
        Some((end, _)) => format!("{}...", name.get(..end).unwrap_or_default()),
    }
}

impl Answer for Marginals {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let mut rows = vec![row!["variable", "state", "probability", ""]];
        for (variable, states) in &self.marginals.0 {
            let given = if self.evidence.contains(variable) { "given" } else { "" };
            let name = std::iter::once(variable.as_str()).chain(std::iter::repeat(""));
            rows.extend(name.zip(&states.0).map(|(name, (state, p))| row![name, state, format!("{p:.6}"), given]));
        }
        columns(out, &rows)?;
        writeln!(out, "\nprobability of what is given: {}", figure(self.p_evidence))?;
        writeln!(out, "width of the network, the variables of its largest clique less one: {}", self.width)
    }
}

fn figure(p: f64) -> String {
    if p >= 1e-4 { format!("{p:.6}") } else { format!("{p:.5e}") }
}
