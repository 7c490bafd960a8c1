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

    /// Draws a state of every variable together, given the evidence; `states` has a place for each variable.
    pub fn draw(&self, stream: &mut Stream, states: &mut [u16]) {
        for clique in &self.tree.cliques {
            let shared = clique.variables[..clique.shared].iter();
            let at = shared.fold(0, |at, v| at * self.tree.strides[*v].1 + usize::from(states[*v]));
            let run = &self.work.tables[clique.start + at * clique.run..][..clique.run];
            let mut left = stream.uniform() * run.iter().sum::<f64>();
            // Rounding may leave a little over at the end; then it is the last entry that can be.
            let mut drawn = run.iter().rposition(|p| *p > 0.0).unwrap_or_default();
            for (entry, p) in run.iter().enumerate() {
                left -= p;
                if left < 0.0 {
                    drawn = entry;
                    break;
                }
            }
            for variable in clique.variables[clique.shared..].iter().rev() {
                let of = self.tree.strides[*variable].1;
                states[*variable] = (drawn % of) as u16;
                drawn /= of;
            }
        }
    }
}
