//! The tree of cliques and the passing of messages in it.

use base::math;

use super::clique::{Clique, Siblings, agreeing, cliques, siblings};
use super::order::eliminate;
use super::{Evidence, Network, NetworkError, Posterior};

/// A network made ready for questions: its cliques as a tree, each with the product of the tables that fit in it.
pub struct Tree {
    pub(super) cliques: Vec<Clique>,
    siblings: Vec<Siblings>,
    /// By clique, where the groups of its children begin and end.
    families: Vec<std::ops::Range<usize>>,
    /// By variable, the clique in which it is summed out.
    home: Vec<usize>,
    /// By variable, how far apart its states lie in that clique's table and how many it has.
    pub(super) strides: Vec<(usize, usize)>,
    /// All tables before any evidence.
    tables: Vec<f64>,
    messages: usize,
    width: usize,
    rough: Vec<Rough>,
}

/// A variable some of whose rows a file rounded, so that they miss 1.
///
/// In the tables they are made to sum to 1: what nobody has looked at says nothing of its parents. Its own marginal
/// is that of the rows as they stand.
struct Rough {
    variable: usize,
    clique: usize,
    /// How far apart its states lie in the clique's table.
    stride: usize,
    /// For each entry of that table, what the row sums to.
    sums: Vec<f64>,
}

/// What adding up a row leaves of rounding.
const EXACT: f64 = 1e-12;

/// The numbers that one question needs, kept so that the next one need not ask for memory again.
pub struct Work {
    pub(super) tables: Vec<f64>,
    messages: Vec<f64>,
    /// Of one group of messages at a time.
    sums: Vec<f64>,
    pub(super) marginals: Vec<f64>,
}

/// Numbers that a tree may hold by default: with the maps between cliques some 100 MB.
pub const MOST_ENTRIES: u64 = 4_000_000;

impl Tree {
    /// The tree of a network whose tables hold `most` numbers together at most ([`MOST_ENTRIES`] is usual).
    ///
    /// Fails with the width reached when they would hold more; nothing of that size is asked for before that is known.
    pub fn compile(network: &Network, most: u64) -> Result<Self, NetworkError> {
        let done = eliminate(network, most.min(u64::from(u32::MAX)))?;
        let (cliques, home) = cliques(network, &done);
        let mut tables = vec![1.0; cliques.iter().map(|clique| clique.size).sum()];
        let mut turn = vec![0; done.order.len()];
        for (at, variable) in done.order.iter().enumerate() {
            turn[*variable] = at;
        }
        let mut rough = Vec::new();
        for (child, table) in network.tables().iter().enumerate() {
            // What can be one thing only is so whatever its parents are: its table says nothing, and it has a clique
            // of its own.
            if network.states(child) < 2 {
                continue;
            }
            // Likewise of parents. The child is tied to all the others, so that they are together in the clique of the
            // one that went first.
            let family: Vec<usize> = network.family(child, table).filter(|of| network.states(*of) > 1).collect();
            let first = family.iter().copied().min_by_key(|variable| turn[*variable]).unwrap_or(child);
            let clique = &cliques[home[first]];
            let own = &mut tables[clique.start..clique.start + clique.size];
            let agreeing = agreeing(network, &clique.variables, &family);
            for (entry, at) in own.iter_mut().zip(&agreeing) {
                *entry *= table.rows[*at as usize];
            }
            let states = network.states(child);
            let sums: Vec<f64> = table.rows.chunks_exact(states).map(|row| row.iter().sum()).collect();
            if sums.iter().any(|sum| (sum - 1.0).abs() > EXACT)
                && let Some((stride, _)) = clique.stride(network, child)
            {
                let sums: Vec<f64> = agreeing.iter().map(|at| sums[*at as usize / states]).collect();
                own.iter_mut().zip(&sums).for_each(|(entry, sum)| *entry /= sum);
                rough.push(Rough { variable: child, clique: home[first], stride, sums });
            }
        }
        let siblings = siblings(network, &cliques);
        let first = |parent: usize| siblings.partition_point(|group| group.parent < parent);
        let families = (0..cliques.len()).map(|parent| first(parent)..first(parent + 1)).collect();
        let stride = |variable: usize| cliques[home[variable]].stride(network, variable).unwrap_or((1, 1));
        let strides = (0..home.len()).map(stride).collect();
        let messages = cliques.iter().map(Clique::messages).sum();
        let width = cliques.iter().map(|clique| clique.variables.len()).max().map_or(0, |largest| largest - 1);
        Ok(Self { cliques, siblings, families, home, strides, tables, messages, width, rough })
    }

    /// Variables of the largest clique, less one.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Numbers of all cliques' tables.
    pub fn entries(&self) -> usize {
        self.tables.len()
    }

    /// Bytes that the tree and one [`Work`] take, but for a few for each clique.
    pub fn bytes(&self) -> usize {
        let maps: usize = self.siblings.iter().map(|group| group.of_parent.len()).sum();
        (2 * self.tables.len() + self.messages) * size_of::<f64>() + maps * size_of::<u32>()
    }

    /// Room for questions to this tree.
    pub fn work(&self) -> Work {
        let states = self.strides.iter().map(|(_, states)| states).sum();
        Work {
            tables: vec![0.0; self.tables.len()],
            messages: vec![0.0; self.messages],
            sums: Vec::new(),
            marginals: vec![0.0; states],
        }
    }

    /// The probability of the evidence and all marginals given it.
    ///
    /// Exact but for rounding. Fails with [`NetworkError::Impossible`] where the evidence has probability 0; the
    /// room can be used again after that. `evidence` and `work` must be of this tree's network.
    pub fn update<'w>(&'w self, evidence: &'w Evidence, work: &'w mut Work) -> Result<Posterior<'w>, NetworkError> {
        let ln_evidence = self.collect(evidence, work)?;
        self.distribute(work);
        self.read_marginals(evidence, work);
        Ok(Posterior { tree: self, evidence, work, ln_evidence })
    }

    /// Enters the evidence and passes messages to the roots; gives the logarithm of the evidence's probability.
    fn collect(&self, evidence: &Evidence, work: &mut Work) -> Result<f64, NetworkError> {
        work.tables.copy_from_slice(&self.tables);
        for variable in &evidence.known {
            let clique = &self.cliques[self.home[*variable]];
            let own = &mut work.tables[clique.start..clique.start + clique.size];
            let (stride, states) = self.strides[*variable];
            for block in own.chunks_exact_mut(stride * states) {
                for (entries, weight) in block.chunks_exact_mut(stride).zip(evidence.of(*variable)) {
                    entries.iter_mut().for_each(|entry| *entry *= weight);
                }
            }
        }
        let mut ln_evidence = 0.0;
        // A product of messages' sizes, taken into the logarithm before it leaves the range of a number.
        let mut size = 1.0_f64;
        // What hangs on a clique comes after it, so that its children's messages are there when its turn comes.
        for (clique, family) in self.cliques.iter().zip(&self.families).rev() {
            let own = &mut work.tables[clique.start..clique.start + clique.size];
            for group in &self.siblings[family.clone()] {
                let together = self.together(group, &work.messages, &mut work.sums);
                for (entry, at) in own.iter_mut().zip(&group.of_parent) {
                    *entry *= together[*at as usize];
                }
            }
            let message = &mut work.messages[clique.message..clique.message + clique.messages()];
            for (sum, run) in message.iter_mut().zip(own.chunks_exact(clique.run)) {
                *sum = run.iter().sum();
            }
            let most = message.iter().copied().fold(0.0, f64::max);
            if most <= 0.0 {
                return Err(NetworkError::Impossible);
            }
            size *= most;
            if !(1e-100..=1e100).contains(&size) {
                ln_evidence += math::ln(size);
                size = 1.0;
            }
            // Scaled, so that a long chain of unlikely findings does not run into zero.
            message.iter_mut().for_each(|sum| *sum /= most);
        }
        Ok(ln_evidence + math::ln(size))
    }

    /// The product of the messages of a group.
    fn together<'s>(&self, group: &Siblings, messages: &[f64], product: &'s mut Vec<f64>) -> &'s [f64] {
        product.clear();
        for clique in group.cliques.iter().map(|clique| &self.cliques[*clique]) {
            let message = &messages[clique.message..clique.message + clique.messages()];
            if product.is_empty() {
                product.extend_from_slice(message);
            } else {
                product.iter_mut().zip(message).for_each(|(product, message)| *product *= message);
            }
        }
        product
    }

    /// Passes messages from the roots, after which every clique's table is proportional to its joint probability.
    fn distribute(&self, work: &mut Work) {
        for (clique, family) in self.cliques.iter().zip(&self.families) {
            let (before, after) = work.tables.split_at_mut(clique.start + clique.size);
            let own = &mut before[clique.start..];
            if clique.parent.is_none() {
                let sum: f64 = own.iter().sum();
                own.iter_mut().for_each(|entry| *entry /= sum);
            }
            for group in &self.siblings[family.clone()] {
                let Some(shared) = group.cliques.first().map(|child| self.cliques[*child].messages()) else { continue };
                work.sums.clear();
                work.sums.resize(shared, 0.0);
                for (entry, at) in own.iter().zip(&group.of_parent) {
                    work.sums[*at as usize] += entry;
                }
                for child in group.cliques.iter().map(|child| &self.cliques[*child]) {
                    let from = child.start - (clique.start + clique.size);
                    for (run, sum) in after[from..from + child.size].chunks_exact_mut(child.run).zip(&work.sums) {
                        // What the child found impossible stays so.
                        let total: f64 = run.iter().sum();
                        let share = if total > 0.0 { sum / total } else { 0.0 };
                        run.iter_mut().for_each(|entry| *entry *= share);
                    }
                }
            }
        }
    }

    fn read_marginals(&self, evidence: &Evidence, work: &mut Work) {
        let mut from = 0;
        for (variable, (stride, states)) in self.strides.iter().enumerate() {
            let clique = &self.cliques[self.home[variable]];
            let own = &work.tables[clique.start..clique.start + clique.size];
            let marginal = &mut work.marginals[from..from + states];
            marginal.fill(0.0);
            for block in own.chunks_exact(stride * states) {
                for (sum, entries) in marginal.iter_mut().zip(block.chunks_exact(*stride)) {
                    *sum += entries.iter().sum::<f64>();
                }
            }
            let all: f64 = marginal.iter().sum();
            marginal.iter_mut().for_each(|p| *p /= all);
            debug_assert_eq!(from, evidence.starts[variable]);
            from += states;
        }
        for rough in &self.rough {
            let clique = &self.cliques[rough.clique];
            let own = &work.tables[clique.start..clique.start + clique.size];
            let from = evidence.starts[rough.variable];
            let marginal = &mut work.marginals[from..evidence.starts[rough.variable + 1]];
            let states = marginal.len();
            marginal.fill(0.0);
            for (at, (entry, sum)) in own.iter().zip(&rough.sums).enumerate() {
                marginal[at / rough.stride % states] += entry * sum;
            }
            let all: f64 = marginal.iter().sum();
            marginal.iter_mut().for_each(|p| *p /= all);
        }
    }
}
