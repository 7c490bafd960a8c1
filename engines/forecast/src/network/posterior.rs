//! What a network says once something is known.

use base::math;
use base::stream::Stream;

use super::{Evidence, Tree, Work};

/// The probability of the evidence, and of every variable's states given it.
pub struct Posterior<'w> {
    pub(super) tree: &'w Tree,
    pub(super) evidence: &'w Evidence,
    pub(super) work: &'w Work,
    pub(super) ln_evidence: f64,
}

impl Posterior<'_> {
    /// The probability of each state of the variable at this place, in the order of its states; nothing for a place that
    /// is none.
    pub fn marginal(&self, variable: usize) -> &[f64] {
        match self.evidence.starts.get(variable..).and_then(|starts| starts.first_chunk()) {
            Some([from, to]) => &self.work.marginals[*from..*to],
            None => &[],
        }
    }

    /// The natural logarithm of the probability of the evidence.
    pub fn ln_evidence(&self) -> f64 {
        self.ln_evidence
    }

    /// The probability of the evidence; 0 where it is smaller than any number.
    pub fn evidence(&self) -> f64 {
        math::exp(self.ln_evidence)
    }

    /// Made ready to draw many times.
    pub fn sampler(&self) -> Sampler<'_> {
        let mut upto = self.work.tables.clone();
        for clique in &self.tree.cliques {
            for run in upto[clique.start..clique.start + clique.size].chunks_exact_mut(clique.run) {
                let sum: f64 = run.iter().sum();
                let last = run.iter().rposition(|p| *p > 0.0).unwrap_or_default();
                let mut below = 0.0;
                for (at, p) in run.iter_mut().enumerate() {
                    below += *p / sum;
                    // Rounding may leave a little over at the end; it belongs to the last entry that can be.
                    *p = if at >= last { 1.0 } else { below };
                }
            }
        }
        Sampler { tree: self.tree, upto }
    }
}

/// Draws states of all variables together, given the evidence.
pub struct Sampler<'w> {
    tree: &'w Tree,
    /// For each entry of every clique's table, the chance of an entry up to it, given what is shared with the parent.
    upto: Vec<f64>,
}

impl Sampler<'_> {
    /// Draws a state of every variable; `states` has a place for each.
    pub fn draw(&self, stream: &mut Stream, states: &mut [u16]) {
        for clique in &self.tree.cliques {
            let shared = clique.variables[..clique.shared].iter();
            let at = shared.fold(0, |at, v| at * self.tree.strides[*v].1 + usize::from(states[*v]));
            let run = &self.upto[clique.start + at * clique.run..][..clique.run];
            let uniform = stream.uniform();
            let mut drawn = run.iter().filter(|upto| uniform >= **upto).count();
            for variable in clique.variables[clique.shared..].iter().rev() {
                let of = self.tree.strides[*variable].1;
                states[*variable] = (drawn % of) as u16;
                drawn /= of;
            }
        }
    }
}
