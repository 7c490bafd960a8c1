//! The cliques of a tree and how their tables are laid out.

use super::Network;
use std::collections::BTreeMap;

use super::order::Elimination;

/// Variables whose joint table is kept, and how it hangs on the rest of the tree.
///
/// The table's entries are counted with the last variable fastest, and what is shared with the parent comes first,
/// so that the entries that agree on it lie side by side.
pub(super) struct Clique {
    /// First those shared with the parent, then its own.
    pub(super) variables: Vec<usize>,
    /// How many are shared with the parent.
    pub(super) shared: usize,
    /// The parent's place, which is before this one's; `None` where the clique is a root.
    pub(super) parent: Option<usize>,
    /// Where its table begins among all tables.
    pub(super) start: usize,
    /// Entries of the whole table.
    pub(super) size: usize,
    /// Entries for each state of what is shared.
    pub(super) run: usize,
    /// Where its message begins among all messages.
    pub(super) message: usize,
}

/// Cliques that share the same variables with the same parent: their messages are multiplied with each other first, so
/// that the parent's table, which is larger, is gone through once for all of them.
pub(super) struct Siblings {
    pub(super) parent: usize,
    pub(super) cliques: Vec<usize>,
    /// For each entry of the parent's table, the entry of the message that it agrees with.
    pub(super) of_parent: Vec<u32>,
}

impl Clique {
    /// How far apart the entries lie that differ by one state of this variable, and how many states it has.
    pub(super) fn stride(&self, network: &Network, variable: usize) -> Option<(usize, usize)> {
        let at = self.variables.iter().position(|own| *own == variable)?;
        let after = self.variables.iter().skip(at + 1).map(|v| network.states(*v)).product();
        Some((after, network.states(variable)))
    }

    /// Entries of the message to the parent.
    pub(super) fn messages(&self) -> usize {
        self.size / self.run
    }
}

/// Entries of a table over these variables; the largest number there is when there are more.
pub(super) fn size_of(network: &Network, variables: &[usize]) -> u64 {
    variables.iter().fold(1_u64, |size, v| size.saturating_mul(network.states(*v) as u64))
}

/// The cliques of an elimination, roots and parents before what hangs on them, and by variable the clique in which
/// it is summed out.
pub(super) fn cliques(network: &Network, done: &Elimination) -> (Vec<Clique>, Vec<usize>) {
    let mut turn = vec![0; done.order.len()];
    for (at, variable) in done.order.iter().enumerate() {
        turn[*variable] = at;
    }
    let mut home = vec![0; done.order.len()];
    let mut cliques: Vec<Clique> = Vec::new();
    for variable in done.order.iter().rev() {
        let joined = &done.joined[*variable];
        let parent = joined.iter().min_by_key(|other| turn[**other]).map(|other| home[*other]);
        // A clique that lies wholly within the new one grows into it.
        if let Some(parent) = parent
            && let Some(whole) = cliques.get_mut(parent)
            && whole.variables.len() == joined.len()
        {
            whole.variables.push(*variable);
            home[*variable] = parent;
            continue;
        }
        home[*variable] = cliques.len();
        cliques.push(Clique {
            variables: joined.iter().copied().chain([*variable]).collect(),
            shared: joined.len(),
            parent,
            start: 0,
            size: 0,
            run: 0,
            message: 0,
        });
    }
    lay_out(network, &mut cliques);
    (cliques, home)
}

fn lay_out(network: &Network, cliques: &mut [Clique]) {
    let (mut start, mut message) = (0, 0);
    for clique in cliques {
        let sizes = |variables: &[usize]| variables.iter().map(|v| network.states(*v)).product::<usize>();
        clique.size = sizes(&clique.variables);
        clique.run = sizes(&clique.variables[clique.shared..]);
        clique.start = start;
        clique.message = message;
        start += clique.size;
        message += clique.messages();
    }
}

/// Groups the cliques by parent and what they share with it; the groups of one parent stand together, and parents
/// come in the order of the cliques.
pub(super) fn siblings(network: &Network, cliques: &[Clique]) -> Vec<Siblings> {
    let mut groups: BTreeMap<(usize, &[usize]), Vec<usize>> = BTreeMap::new();
    for (at, clique) in cliques.iter().enumerate() {
        if let Some(parent) = clique.parent {
            groups.entry((parent, &clique.variables[..clique.shared])).or_default().push(at);
        }
    }
    let group = |((parent, shared), own): ((usize, &[usize]), Vec<usize>)| Siblings {
        parent,
        cliques: own,
        of_parent: agreeing(network, &cliques[parent].variables, shared),
    };
    groups.into_iter().map(group).collect()
}

/// For each entry of a table over `of`, the entry of a table over `within` that has the same states.
pub(super) fn agreeing(network: &Network, of: &[usize], within: &[usize]) -> Vec<u32> {
    let stride_in = |variable: &usize| -> usize {
        within
            .iter()
            .position(|own| own == variable)
            .map_or(0, |at| within.iter().skip(at + 1).map(|v| network.states(*v)).product())
    };
    let mut map = vec![0_u32];
    for variable in of {
        let stride = stride_in(variable);
        let states = network.states(*variable);
        map = map.iter().flat_map(|at| (0..states).map(move |state| at + (state * stride) as u32)).collect();
    }
    map
}
