//! What a toner that is not in a mix would do for it, from one evaluation's slopes.

use super::dense::{N, cholesky, dot};
use super::solve::{Goal, Solver, slopes};
use crate::film::MOST_PARTS;
use crate::shelf::{Mix, Part};

/// A fraction too small to be seen.
const TRACE: f64 = 1e-7;

/// What a toner promises to a mix.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Prospect {
    pub(crate) toner: usize,
    pub(crate) square: f64,
    pub(crate) fraction: f64,
}

impl Solver {
    /// For each of some toners that are not in a mix: what the square would fall to with a little of it,
    /// and how much that is, by a straight line.
    pub(crate) fn prospects(&mut self, goal: &Goal<'_>, mix: &Mix, others: &[usize]) -> Vec<Prospect> {
        let n = mix.parts.len();
        let rows = goal.aim.rows();
        let batch = (MOST_PARTS - n).max(1);
        let mut found = Vec::with_capacity(others.len());
        for others in others.chunks(batch) {
            let mut wide = mix.clone();
            wide.parts.extend(others.iter().map(|&toner| Part { toner, fraction: TRACE }));
            self.spare.out.resize(rows, 0.0);
            self.spare.columns.resize(rows * wide.parts.len(), 0.0);
            goal.gradient(&wide, &mut self.gradient);
            self.evaluations += 1;
            slopes(goal.aim, &self.gradient, &mut self.spare);
            let out = &self.spare.out;
            let column = |i: usize| &self.spare.columns[i * rows..(i + 1) * rows];
            let mut a = [[0.0; N]; N];
            for (i, row) in a.iter_mut().enumerate().take(n) {
                for (j, slot) in row.iter_mut().enumerate().take(i + 1) {
                    *slot = dot(column(i), column(j));
                }
                row[i] = row[i] * 1.001 + 1e-9;
            }
            let now = dot(out, out);
            for (k, &toner) in others.iter().enumerate() {
                // The part of the new column that the toners already there cannot give.
                let new = column(n + k);
                let mut b = [0.0; N];
                for (i, slot) in b.iter_mut().enumerate().take(n) {
                    *slot = dot(column(i), new);
                }
                let sides = b;
                let mut factor = a;
                if !cholesky(&mut factor, &mut b, n) {
                    continue;
                }
                let shared: f64 = b.iter().zip(&sides).map(|(x, y)| x * y).sum();
                let own = (dot(new, new) - shared).max(1e-12);
                let pull: f64 = -(dot(new, out) - (0..n).map(|i| b[i] * dot(column(i), out)).sum::<f64>());
                let fraction = pull / own;
                let square = if pull > 0.0 { (now - pull * fraction).max(0.0) } else { now };
                found.push(Prospect { toner, square, fraction });
            }
        }
        found
    }
}
