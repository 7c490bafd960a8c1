//! Sums without sampling: of tasks that have nothing in common, and of tasks wholly tied.

use rayon::prelude::*;

use crate::table::Table;
use crate::unit::Unit;
use crate::{Outcome, Task, risk};

/// Steps that the sum's whole width is cut into.
const CELLS: f64 = 4096.0;

/// Tasks that have nothing in common: mean and variance add, and the quantiles come from convolving
/// their distributions on a lattice.
///
/// Each task is put on the lattice so that its mean is kept; that widens its variance by a sixth of a
/// step squared on average, which is taken out again by drawing the sum's quantiles towards its mean.
pub(crate) fn independent(tasks: &[Task]) -> Outcome {
    let moving: Vec<&Task> = tasks.iter().filter(|task| !task.spread.is_fixed()).collect();
    if let [task] = moving[..] {
        let fixed: f64 = tasks.iter().filter(|task| task.spread.is_fixed()).map(|task| task.spread.low()).sum();
        let Task { spread, shape } = *task;
        return Outcome::with(risk::mean(tasks), spread.sd(shape), |p| fixed + spread.quantile(shape, p));
    }
    let mean = risk::mean(tasks);
    let sd = moving.iter().map(|task| task.spread.sd(task.shape)).map(|sd| sd * sd).sum::<f64>().sqrt();
    let width: f64 = moving.iter().map(|task| task.spread.width()).sum();
    let low: f64 = tasks.iter().map(|task| task.spread.low()).sum();
    if moving.is_empty() {
        return Outcome::with(mean, 0.0, |_| low);
    }
    let step = width / CELLS;
    let mut masses = vec![1.0];
    for task in moving {
        masses = convolved(&masses, &on_lattice(task, step));
    }
    let lattice = Lattice::new(masses);
    let narrower = if lattice.sd > 0.0 { sd / (lattice.sd * step) } else { 1.0 };
    Outcome::with(mean, sd, |p| (mean + (lattice.quantile(p) - lattice.mean) * step * narrower).clamp(low, low + width))
}

/// Tasks wholly tied: their quantiles add, and the variance is that of the sum of quantiles over the
/// normal score.
pub(crate) fn tied(tasks: &[Task]) -> Outcome {
    let mean = risk::mean(tasks);
    let tables: Vec<risk::TaskTable> = tasks.par_iter().map(risk::table).collect();
    let mut sum = Table::zero();
    for (task, table) in tasks.iter().zip(&tables) {
        sum.add(task.spread.low(), task.spread.width(), (table, table), 0.0);
    }
    let mut weights = 0.0;
    let mut squares = 0.0;
    for (score, value) in sum.nodes() {
        let weight = base::normal::density(score);
        weights += weight;
        squares += weight * (value - mean) * (value - mean);
    }
    Outcome::with(mean, (squares / weights).sqrt(), |p| {
        tasks.iter().map(|task| task.spread.quantile(task.shape, p)).sum()
    })
}

/// A task's chances at whole steps above its low guess: between two of them, each takes the more the
/// nearer it lies. They are the second differences of the integral of the distribution function.
fn on_lattice(task: &Task, step: f64) -> Vec<f64> {
    let width = task.spread.width();
    let unit = Unit::new(task.shape, task.spread.mode());
    let shortfall = |place: f64| {
        let x = place * step / width;
        if x <= 0.0 {
            0.0
        } else if x >= 1.0 {
            // All of it lies below.
            x - task.mean_place()
        } else {
            unit.shortfall(x)
        }
    };
    let last = (width / step).ceil() as usize;
    let at: Vec<f64> = (0..=last + 2).map(|place| shortfall(place as f64 - 1.0)).collect();
    at.windows(3).map(|three| (((three[2] - three[1]) - (three[1] - three[0])) * width / step).max(0.0)).collect()
}

fn convolved(long: &[f64], short: &[f64]) -> Vec<f64> {
    let (long, short) = if long.len() < short.len() { (short, long) } else { (long, short) };
    let mut sum = vec![0.0; long.len() + short.len() - 1];
    for (start, share) in short.iter().enumerate() {
        for (sum, mass) in sum[start..].iter_mut().zip(long) {
            *sum += share * mass;
        }
    }
    sum
}

/// Chances at 0, 1, 2 and so on, each spread evenly over the step around it.
struct Lattice {
    mean: f64,
    sd: f64,
    /// Chance below a half, one and a half, and so on.
    below: Vec<f64>,
}

impl Lattice {
    fn new(masses: Vec<f64>) -> Self {
        let total: f64 = masses.iter().sum();
        let places = || masses.iter().enumerate().map(|(place, mass)| (place as f64, mass / total));
        let mean: f64 = places().map(|(place, mass)| place * mass).sum();
        let variance: f64 = places().map(|(place, mass)| (place - mean) * (place - mean) * mass).sum();
        let mut sum = 0.0;
        let below = places()
            .map(|(_, mass)| {
                sum += mass;
                sum
            })
            .collect();
        // The even step has a twelfth of variance of its own.
        Self { mean, sd: (variance + 1.0 / 12.0).sqrt(), below }
    }

    fn quantile(&self, p: f64) -> f64 {
        let place = self.below.partition_point(|below| *below < p);
        let before = if place == 0 { 0.0 } else { self.below[place - 1] };
        let mass = self.below.get(place).map_or(0.0, |below| below - before);
        let share = if mass > 0.0 { (p - before) / mass } else { 0.0 };
        place as f64 - 0.5 + share
    }
}

#[cfg(test)]
mod tests {
    use super::{Lattice, convolved, on_lattice};
    use crate::{Shape, Spread, Task};

    #[test]
    fn one_chance_is_a_step_wide() {
        let lattice = Lattice::new(vec![0.0, 0.0, 0.5]);
        assert!((lattice.sd - (1.0_f64 / 12.0).sqrt()).abs() < 1e-15 && lattice.mean == 2.0);
        for p in [0.1, 0.5, 0.95, 1.0] {
            assert!((lattice.quantile(p) - (1.5 + p)).abs() < 1e-12, "{p}: {}", lattice.quantile(p));
        }
    }

    #[test]
    fn invariant_the_lattice_keeps_the_whole_and_the_mean() {
        for shape in [Shape::Triangular, Shape::Pert] {
            for (likely, step) in [(0.0, 0.01), (0.3, 0.07), (1.0, 0.4), (0.5, 3.0)] {
                let spread = Spread::new(0.0, likely, 1.0).unwrap();
                let masses = on_lattice(&Task { spread, shape }, step);
                let sum: f64 = masses.iter().sum();
                let mean: f64 = masses.iter().enumerate().map(|(place, mass)| place as f64 * step * mass).sum();
                assert!((sum - 1.0).abs() < 1e-11 && (mean - spread.mean(shape)).abs() < 1e-11, "{sum} {mean}");
            }
        }
    }

    #[test]
    fn two_dice() {
        let die = vec![1.0 / 6.0; 6];
        let two = convolved(&die, &die);
        assert_eq!(two.len(), 11);
        assert!((two[5] - 6.0 / 36.0).abs() < 1e-15 && (two[10] - 1.0 / 36.0).abs() < 1e-15);
    }
}
