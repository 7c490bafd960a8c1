//! Why a network or an answer does not exist.

/// Why a network was refused, or has no answer. Names are those given, cut to what fits a line.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NetworkError {
    /// More of something than is allowed.
    #[error("{count} {what}; there may be {most} at most")]
    TooMany {
        /// What there is too much of.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// The most allowed.
        most: usize,
    },
    /// Not one table for each variable.
    #[error("{variables} variables and {tables} tables; every variable needs one table")]
    TableCount {
        /// How many variables.
        variables: usize,
        /// How many tables.
        tables: usize,
    },
    /// Two variables of one name.
    #[error("two variables are named \"{name}\"; give each its own name")]
    NameTwice {
        /// The name.
        name: String,
    },
    /// Two states of one name.
    #[error("variable \"{name}\" has the state \"{state}\" twice; keep one")]
    StateTwice {
        /// The variable.
        name: String,
        /// The state.
        state: String,
    },
    /// A variable that can be nothing.
    #[error("variable \"{name}\" has no states; give it one or more")]
    NoStates {
        /// The variable.
        name: String,
    },
    /// A parent that is not in the network.
    #[error("variable \"{name}\" waits for variable number {parent}, which is not there")]
    NoSuchParent {
        /// The variable.
        name: String,
        /// The place that was named.
        parent: usize,
    },
    /// A parent named twice.
    #[error("variable \"{name}\" names its parent \"{parent}\" twice")]
    ParentTwice {
        /// The variable.
        name: String,
        /// The parent.
        parent: String,
    },
    /// A table of the wrong size.
    #[error("the table of \"{name}\" has {given} probabilities; its states and parents make {wanted}")]
    TableSize {
        /// The variable.
        name: String,
        /// How many there are.
        given: usize,
        /// How many there should be.
        wanted: usize,
    },
    /// Something that is no probability.
    #[error("row {row} of the table of \"{name}\" has {value}; a probability is from 0 to 1")]
    NoProbability {
        /// The variable.
        name: String,
        /// The row, from 1.
        row: usize,
        /// The value.
        value: f64,
    },
    /// A row that does not sum to 1.
    #[error("row {row} of the table of \"{name}\" sums to {sum}; the probabilities of a row sum to 1")]
    RowSum {
        /// The variable.
        name: String,
        /// The row, from 1.
        row: usize,
        /// Its sum.
        sum: f64,
    },
    /// Variables that wait for each other.
    #[error("{} depend on themselves in a circle; take one arrow out", .names.join(", "))]
    Cycle {
        /// Some of them.
        names: Vec<String>,
    },
    /// The answer would not fit in memory.
    #[error(
        "the network is too tightly woven for an exact answer: its width is at least {width}, which takes {entries} numbers or more; {most} fit"
    )]
    TooWide {
        /// Variables of the largest clique that was met before this was known, less one.
        width: usize,
        /// Numbers of the cliques met until then; the largest that can be said when there are more.
        entries: u64,
        /// The most allowed.
        most: u64,
    },
    /// A variable or state that is not there was given as evidence.
    #[error("evidence names variable number {variable}, state number {state}, which is not there")]
    NoSuchState {
        /// The variable's place.
        variable: usize,
        /// The state's place.
        state: usize,
    },
    /// A likelihood that is none.
    #[error("evidence on variable number {variable} has the likelihood {value}; it must be 0 or more and finite")]
    NoLikelihood {
        /// The variable's place.
        variable: usize,
        /// The value.
        value: f64,
    },
    /// The evidence cannot happen.
    #[error("the evidence cannot happen in this network: its probability is 0")]
    Impossible,
}
