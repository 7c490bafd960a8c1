//! Discrete Bayesian networks with exact inference.
//!
//! A [`Network`] is variables with a few states each and one table of conditional probabilities for every
//! variable. [`Tree::compile`] turns it into a tree of cliques, once; [`Tree::update`] then answers any
//! [`Evidence`] with the probability of it and the marginals of all variables.
//!
//! Source: S. L. Lauritzen and D. J. Spiegelhalter, Local computations with probabilities on graphical
//! structures and their application to expert systems, Journal of the Royal Statistical Society B 50(2), 1988;
//! elimination order by least fill (U. Kjaerulff, Triangulation of graphs, Aalborg R 90-09, 1990, from memory).

mod clique;
mod error;
mod evidence;
mod order;
mod posterior;
mod tree;

pub use error::NetworkError;
pub use evidence::Evidence;
pub use posterior::{Posterior, Sampler};
pub use tree::{MOST_ENTRIES, Tree, Work};

/// The most variables of a network.
pub const MOST_VARIABLES: usize = 5_000;
/// The most states of one variable.
pub const MOST_STATES: usize = 1_000;
/// The most probabilities that all tables hold together.
pub const MOST_PROBABILITIES: usize = 4_000_000;
/// By how much the probabilities of one row may miss 1: files give them with few places.
pub const ROW_SLACK: f64 = 1e-3;

/// A variable and the names of what it can be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variable {
    /// Its name, unique in the network.
    pub name: String,
    /// Its states, at least one, each named once.
    pub states: Vec<String>,
}

/// The probability of each state of a variable, given its parents.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Places of the parents among the network's variables, in the order in which the rows count them.
    pub parents: Vec<usize>,
    /// Rows of probabilities: the last parent runs fastest from row to row, and within a row the variable's own
    /// states stand in their order.
    pub rows: Vec<f64>,
}

/// A checked network: no variable is its own ancestor, and every row sums to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    variables: Vec<Variable>,
    tables: Vec<Table>,
}

impl Network {
    /// A network of these variables, each with the table at the same place.
    ///
    /// Rows that miss 1 by no more than [`ROW_SLACK`], as files round them, are kept as they are; answers about other
    /// variables take them as if they summed to 1. Fails, naming the variable, on a name used twice, a table of the wrong
    /// size, a probability outside 0..=1, a row that does not sum to 1, a cycle, and on more of anything than the limits
    /// allow.
    ///
    /// ```
    /// use forecast::network::{Network, Table, Variable};
    /// let binary = |name: &str| Variable { name: name.into(), states: vec!["no".into(), "yes".into()] };
    /// let net = Network::new(
    ///     vec![binary("rust"), binary("blister")],
    ///     vec![
    ///         Table { parents: vec![], rows: vec![0.5, 0.5] },
    ///         Table { parents: vec![0], rows: vec![0.9, 0.1, 0.4, 0.6] },
    ///     ],
    /// )?;
    /// assert_eq!(net.find("blister"), Some(1));
    /// # Ok::<(), forecast::network::NetworkError>(())
    /// ```
    pub fn new(variables: Vec<Variable>, tables: Vec<Table>) -> Result<Self, NetworkError> {
        counted("variables", variables.len(), MOST_VARIABLES)?;
        if tables.len() != variables.len() {
            return Err(NetworkError::TableCount { variables: variables.len(), tables: tables.len() });
        }
        let mut names = std::collections::BTreeSet::new();
        for variable in &variables {
            counted_states(variable)?;
            if !names.insert(variable.name.as_str()) {
                return Err(NetworkError::NameTwice { name: variable.name.clone() });
            }
        }
        let mut probabilities = 0_usize;
        for (place, table) in tables.iter().enumerate() {
            check(&variables, place, table)?;
            probabilities = probabilities.saturating_add(table.rows.len());
            counted("probabilities", probabilities, MOST_PROBABILITIES)?;
        }
        acyclic(&variables, &tables)?;
        Ok(Self { variables, tables })
    }

    /// Its variables, in the order in which they were given.
    pub fn variables(&self) -> &[Variable] {
        &self.variables
    }

    /// Its tables, one for each variable.
    pub fn tables(&self) -> &[Table] {
        &self.tables
    }

    /// The place of the variable of this name.
    pub fn find(&self, name: &str) -> Option<usize> {
        self.variables.iter().position(|variable| variable.name == name)
    }

    /// The parents of this table in their order, then the variable that it is of.
    pub(crate) fn family<'t>(&self, child: usize, table: &'t Table) -> impl Iterator<Item = usize> + use<'t> {
        table.parents.iter().copied().chain([child])
    }

    /// How many states the variable at this place has; 0 for a place that is none.
    pub(crate) fn states(&self, place: usize) -> usize {
        self.variables.get(place).map_or(0, |variable| variable.states.len())
    }
}

fn counted(what: &'static str, count: usize, most: usize) -> Result<(), NetworkError> {
    if count > most { Err(NetworkError::TooMany { what, count, most }) } else { Ok(()) }
}

fn counted_states(variable: &Variable) -> Result<(), NetworkError> {
    let mut names = std::collections::BTreeSet::new();
    if let Some(twice) = variable.states.iter().find(|state| !names.insert(state.as_str())) {
        return Err(NetworkError::StateTwice { name: variable.name.clone(), state: twice.clone() });
    }
    if variable.states.is_empty() {
        return Err(NetworkError::NoStates { name: variable.name.clone() });
    }
    counted("states of a variable", variable.states.len(), MOST_STATES)
}

/// Checks one table.
fn check(variables: &[Variable], place: usize, table: &Table) -> Result<(), NetworkError> {
    let Some(variable) = variables.get(place) else { return Ok(()) };
    let name = || variable.name.clone();
    let mut rows = 1_usize;
    let mut before = std::collections::BTreeSet::new();
    for parent in &table.parents {
        let Some(of) = variables.get(*parent) else {
            return Err(NetworkError::NoSuchParent { name: name(), parent: *parent });
        };
        if !before.insert(*parent) {
            return Err(NetworkError::ParentTwice { name: name(), parent: of.name.clone() });
        }
        rows = rows.saturating_mul(of.states.len());
    }
    let states = variable.states.len();
    let wanted = rows.saturating_mul(states);
    if table.rows.len() != wanted {
        return Err(NetworkError::TableSize { name: name(), given: table.rows.len(), wanted });
    }
    for (row, probabilities) in table.rows.chunks_exact(states).enumerate() {
        if let Some(bad) = probabilities.iter().find(|p| !(0.0..=1.0).contains(*p)) {
            return Err(NetworkError::NoProbability { name: name(), row: row + 1, value: *bad });
        }
        let sum: f64 = probabilities.iter().sum();
        if (sum - 1.0).abs() > ROW_SLACK {
            return Err(NetworkError::RowSum { name: name(), row: row + 1, sum });
        }
    }
    Ok(())
}

/// Takes away variables without parents until none is left; what stays is on a cycle or behind one.
fn acyclic(variables: &[Variable], tables: &[Table]) -> Result<(), NetworkError> {
    let mut waits: Vec<usize> = tables.iter().map(|table| table.parents.len()).collect();
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); tables.len()];
    for (child, table) in tables.iter().enumerate() {
        for parent in &table.parents {
            if let Some(of) = children.get_mut(*parent) {
                of.push(child);
            }
        }
    }
    let mut free: Vec<usize> = (0..tables.len()).filter(|place| waits[*place] == 0).collect();
    let mut taken = 0;
    while let Some(place) = free.pop() {
        taken += 1;
        for child in &children[place] {
            waits[*child] -= 1;
            if waits[*child] == 0 {
                free.push(*child);
            }
        }
    }
    if taken == tables.len() {
        return Ok(());
    }
    let on_it = variables.iter().zip(&waits).filter(|(_, waits)| **waits > 0).map(|(v, _)| v.name.clone());
    Err(NetworkError::Cycle { names: on_it.take(10).collect() })
}
