//! What is known of some variables.

use super::{Network, NetworkError};

/// What is known of a network's variables: for each state how likely what was seen is in it.
///
/// Pieces of evidence on one variable are multiplied, as facts that do not depend on each other given its state.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Of all states of all variables.
    pub(super) weights: Vec<f64>,
    /// Where each variable's weights begin; one more than there are variables.
    pub(super) starts: Vec<usize>,
    /// Variables of which anything is known.
    pub(super) known: Vec<usize>,
}

impl Evidence {
    /// Nothing known of this network.
    pub fn none(network: &Network) -> Self {
        let mut starts = vec![0];
        for variable in network.variables() {
            starts.push(starts.last().copied().unwrap_or_default() + variable.states.len());
        }
        Self { weights: vec![1.0; starts.last().copied().unwrap_or_default()], starts, known: Vec::new() }
    }

    /// Adds that this variable is in this state. Fails if either is not there.
    pub fn is(&mut self, variable: usize, state: usize) -> Result<(), NetworkError> {
        let likelihood: Vec<f64> = (0..self.states(variable)).map(|own| if own == state { 1.0 } else { 0.0 }).collect();
        if state >= likelihood.len() {
            return Err(NetworkError::NoSuchState { variable, state });
        }
        self.likely(variable, &likelihood)
    }

    /// Adds something seen that has this likelihood in each state, 0 or more; only their ratios matter for the
    /// marginals, and the probability of the evidence counts them as they are. Fails if the variable is not there, the
    /// number of states is another, or a likelihood, alone or with those before it, is negative or not finite.
    pub fn likely(&mut self, variable: usize, likelihood: &[f64]) -> Result<(), NetworkError> {
        if likelihood.is_empty() || likelihood.len() != self.states(variable) {
            return Err(NetworkError::NoSuchState { variable, state: likelihood.len() });
        }
        if let Some(value) = likelihood.iter().find(|l| !(l.is_finite() && **l >= 0.0)) {
            return Err(NetworkError::NoLikelihood { variable, value: *value });
        }
        let own = &mut self.weights[self.starts[variable]..];
        // Each may be finite and all together too much to be counted with.
        let together = own.iter().zip(likelihood).map(|(weight, likelihood)| weight * likelihood);
        if let Some(value) = together.clone().find(|weight| !weight.is_finite()) {
            return Err(NetworkError::NoLikelihood { variable, value });
        }
        let together: Vec<f64> = together.collect();
        own.iter_mut().zip(together).for_each(|(weight, together)| *weight = together);
        if !self.known.contains(&variable) {
            self.known.push(variable);
        }
        Ok(())
    }

    /// Forgets all that is known of this variable.
    pub fn forget(&mut self, variable: usize) {
        if let Some(own) = self.known.iter().position(|known| *known == variable) {
            self.known.swap_remove(own);
            let (from, states) = (self.starts[variable], self.states(variable));
            self.weights[from..from + states].fill(1.0);
        }
    }

    /// Puts these weights in place of all that is known of this variable; there are as many as it has states.
    pub(crate) fn set(&mut self, variable: usize, weights: &[f64]) {
        self.forget(variable);
        let from = self.starts[variable];
        self.weights[from..from + weights.len()].copy_from_slice(weights);
        self.known.push(variable);
    }

    fn states(&self, variable: usize) -> usize {
        match self.starts.get(variable..).and_then(|starts| starts.first_chunk()) {
            Some([from, to]) => to - from,
            None => 0,
        }
    }

    pub(crate) fn of(&self, variable: usize) -> &[f64] {
        &self.weights[self.starts[variable]..self.starts[variable + 1]]
    }
}
