//! The fractions of given toners that come nearest to a wish: projected Levenberg-Marquardt.
//!
//! Marquardt, J. Soc. Indust. Appl. Math. 11(2), 1963, with a box: a fraction that stands at its limit
//! and would go beyond stays out of the step (Bertsekas, SIAM J. Control Optim. 20(2), 1982; both from
//! memory). The unknowns are the logarithms of the fractions: a toner's effect grows with its share
//! rather than with its grams, no fraction can turn negative, and every used toner stays weighable.

use base::math;

use super::dense::{N, cholesky, dot};
use super::residual::Aim;
use crate::film::{Bench, Gradient, Prediction};
use crate::shelf::Mix;

/// How much wetter a film may come out than it should: ten percent (starting guess).
pub(crate) const WETTER: f64 = 1.1;
/// What a film that is all toner costs, as a colour difference: of two films that look alike, the one
/// with less in it (our choice).
const LOAD_COST: f64 = 0.1;
/// What overstepping the largest load by all of it costs in colour difference, before the last step
/// brings the load back for good.
const OVERLOAD_COST: f64 = 300.0;
/// The longest step, in logarithms of a fraction.
const LONGEST_STEP: f64 = 2.0;
/// A step shorter than this, in logarithms of a fraction, ends the walk.
const SHORTEST_STEP: f64 = 1e-4;

/// What all solves of one search share.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Goal<'a> {
    pub(crate) bench: &'a Bench,
    pub(crate) aim: &'a Aim,
    pub(crate) max_load: f64,
    /// What cards have shown: the film as sprayed over the film as predicted, by angle and wavelength.
    pub(crate) learned: Option<&'a Prediction>,
    /// The logarithms of fractions to stay near, and what an e-fold away from them costs.
    pub(crate) near: Option<(&'a [f64], f64)>,
}

impl Goal<'_> {
    /// What a mix looks like, as far as is known.
    pub(crate) fn predict(&self, mix: &Mix) -> Prediction {
        let mut predicted = self.bench.predict(mix);
        self.learn(&mut predicted);
        predicted
    }

    pub(super) fn gradient(&self, mix: &Mix, out: &mut Gradient) {
        self.bench.gradient(mix, out);
        self.learn(&mut out.value);
        for by in &mut out.by_part {
            self.learn(by);
        }
    }

    fn learn(&self, spectra: &mut Prediction) {
        let Some(learned) = self.learned else { return };
        for (values, factors) in spectra.iter_mut().zip(learned) {
            for (value, factor) in values.iter_mut().zip(factors) {
                *value *= factor;
            }
        }
    }
}

/// Limits of one part's fraction.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Span {
    pub(crate) low: f64,
    pub(crate) high: f64,
}

/// How far to go.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Effort {
    /// Most steps.
    pub(crate) steps: u32,
    /// A step that gains less than this part of the square ends the walk.
    pub(crate) gain: f64,
    /// Whether what a wetter film does counts in every step, and not only in the verdict.
    pub(crate) steady: bool,
}

/// A few steps: enough to rank toners.
pub(crate) const GLANCE: Effort = Effort { steps: 8, gain: 0.02, steady: false };
/// Until nothing is left to gain.
pub(crate) const POLISH: Effort = Effort { steps: 25, gain: 1e-4, steady: true };

/// Where a walk ended.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Solved {
    pub(crate) mix: Mix,
    /// The square of the difference from the wish.
    pub(crate) square: f64,
    /// The square of what a wetter film changes.
    pub(crate) wobble: f64,
}

impl Solved {
    /// The difference to rank by: from the wish, with what a wetter film adds, and a little for each
    /// toner.
    pub(crate) fn score(&self) -> f64 {
        (self.square + self.wobble).sqrt() + TONER_COST * self.mix.parts.len() as f64
    }
}

/// What one more toner must gain in colour difference to be worth its place (our choice).
pub(crate) const TONER_COST: f64 = 0.04;

/// Room to work in; one for each thread.
#[derive(Debug, Default)]
pub(crate) struct Solver {
    pub(super) gradient: Gradient,
    thick: Gradient,
    now: Look,
    next: Look,
    pub(super) spare: Look,
    /// Evaluations of the film so far, with or without derivatives.
    pub(crate) evaluations: u64,
}

/// The vector at one place, and its slopes by the logarithm of each fraction.
#[derive(Debug, Default)]
pub(super) struct Look {
    pub(super) out: Vec<f64>,
    pub(super) columns: Vec<f64>,
    cost: f64,
}

impl Solver {
    /// Walks from a mix to the best one with the same toners within the spans, one for each part.
    pub(crate) fn solve(&mut self, goal: &Goal<'_>, mut mix: Mix, spans: &[Span], effort: Effort) -> Solved {
        let n = mix.parts.len().min(spans.len()).min(N);
        mix.parts.truncate(n);
        for (part, span) in mix.parts.iter_mut().zip(spans) {
            part.fraction = part.fraction.clamp(span.low, span.high);
        }
        self.look(goal, &mix, effort.steady);
        std::mem::swap(&mut self.now, &mut self.next);
        let mut damping = 1e-2;
        for _ in 0..effort.steps {
            let Some(trial) = self.step(&mix, spans, damping) else { break };
            let moved = trial.parts.iter().zip(&mix.parts).map(|(t, p)| math::ln(t.fraction / p.fraction).abs());
            if moved.fold(0.0, f64::max) < SHORTEST_STEP {
                break;
            }
            self.look(goal, &trial, effort.steady);
            if self.next.cost < self.now.cost {
                let gain = 1.0 - self.next.cost / self.now.cost;
                std::mem::swap(&mut self.now, &mut self.next);
                mix = trial;
                damping = (damping * 0.2).max(1e-7);
                if gain < effort.gain {
                    break;
                }
            } else {
                damping = damping.max(1e-3) * 8.0;
                if damping > 1e5 {
                    break;
                }
            }
        }
        // The overload's cost leaves a trace; it is taken from what stands above the least of each.
        let (load, least) = (mix.load(), spans.iter().take(n).map(|span| span.low).sum::<f64>());
        if load > goal.max_load && load > least {
            let keep = ((goal.max_load - least) / (load - least)).max(0.0);
            for (part, span) in mix.parts.iter_mut().zip(spans) {
                part.fraction = span.low + (part.fraction - span.low) * keep;
            }
        }
        self.judge(goal, mix)
    }

    /// How good a mix is as it stands.
    pub(crate) fn judge(&mut self, goal: &Goal<'_>, mix: Mix) -> Solved {
        let rows = goal.aim.rows();
        let (now, thick) = (&mut self.spare.out, &mut self.spare.columns);
        now.resize(rows, 0.0);
        thick.resize(rows, 0.0);
        goal.aim.residual(&goal.predict(&mix), now);
        goal.aim.residual(&goal.predict(&wetter(&mix)), thick);
        self.evaluations += 2;
        let wobble = now.iter().zip(thick.iter()).map(|(a, b)| (b - a) * (b - a)).sum();
        Solved { mix, square: dot(now, now), wobble }
    }

    /// The square of the difference alone, from one evaluation.
    pub(crate) fn square(&mut self, goal: &Goal<'_>, mix: &Mix) -> f64 {
        self.spare.out.resize(goal.aim.rows(), 0.0);
        goal.aim.residual(&goal.predict(mix), &mut self.spare.out);
        self.evaluations += 1;
        dot(&self.spare.out, &self.spare.out)
    }

    /// The vector and its slopes at a mix, into `next`: the difference from the wish, what a wetter film
    /// changes where that counts, the load, and the overload.
    fn look(&mut self, goal: &Goal<'_>, mix: &Mix, steady: bool) {
        let rows = goal.aim.rows();
        let n = mix.parts.len();
        let near = goal.near.map_or(0, |_| n);
        let total = rows * if steady { 2 } else { 1 } + 2 + near;
        let tail = total - 2 - near;
        let look = &mut self.next;
        look.out.resize(total, 0.0);
        look.columns.resize(total * n, 0.0);
        self.spare.out.resize(rows, 0.0);
        self.spare.columns.resize(rows * n, 0.0);
        goal.gradient(mix, &mut self.gradient);
        self.evaluations += 1;
        slopes(goal.aim, &self.gradient, &mut self.spare);
        look.out[..rows].copy_from_slice(&self.spare.out);
        for (i, part) in mix.parts.iter().enumerate() {
            for (to, from) in look.columns[i * total..].iter_mut().zip(&self.spare.columns[i * rows..(i + 1) * rows]) {
                *to = from * part.fraction;
            }
        }
        if steady {
            goal.gradient(&wetter(mix), &mut self.thick);
            self.evaluations += 1;
            slopes(goal.aim, &self.thick, &mut self.spare);
            let (thin, rest) = look.out.split_at_mut(rows);
            for ((to, thin), thick) in rest.iter_mut().zip(thin).zip(&self.spare.out) {
                *to = thick - *thin;
            }
            for (i, part) in mix.parts.iter().enumerate() {
                let column = &mut look.columns[i * total..(i + 1) * total];
                let (thin, rest) = column.split_at_mut(rows);
                for ((to, thin), thick) in rest.iter_mut().zip(thin).zip(&self.spare.columns[i * rows..]) {
                    *to = thick * part.fraction - *thin;
                }
            }
        }
        let load = mix.load();
        let over = (load / goal.max_load - 1.0).max(0.0);
        let load_cost = if goal.near.is_some() { 0.0 } else { LOAD_COST };
        look.out[tail] = load_cost * load;
        look.out[tail + 1] = OVERLOAD_COST * over;
        for (i, part) in mix.parts.iter().enumerate() {
            let column = &mut look.columns[i * total + tail..(i + 1) * total];
            column.fill(0.0);
            column[0] = load_cost * part.fraction;
            column[1] = if over > 0.0 { OVERLOAD_COST * part.fraction / goal.max_load } else { 0.0 };
        }
        if let Some((wanted, cost)) = goal.near {
            for (i, part) in mix.parts.iter().enumerate() {
                // A part that came after has nothing to stay near.
                let off = wanted.get(i).map(|ln| cost * (math::ln(part.fraction) - ln));
                look.out[tail + 2 + i] = off.unwrap_or(0.0);
                look.columns[i * total + tail + 2 + i] = if off.is_some() { cost } else { 0.0 };
            }
        }
        look.cost = dot(&look.out, &look.out);
    }

    /// Where the damped step leads; none when nothing can move.
    fn step(&self, mix: &Mix, spans: &[Span], damping: f64) -> Option<Mix> {
        let n = mix.parts.len();
        let total = self.now.out.len();
        let column = |i: usize| &self.now.columns[i * total..(i + 1) * total];
        let mut free = [0; N];
        let mut count = 0;
        let mut down = [0.0; N];
        for i in 0..n {
            down[i] = -dot(column(i), &self.now.out);
            let at = mix.parts[i].fraction;
            let stuck = (at <= spans[i].low && down[i] < 0.0) || (at >= spans[i].high && down[i] > 0.0);
            if !stuck {
                free[count] = i;
                count += 1;
            }
        }
        let free = &free[..count];
        let mut a = [[0.0; N]; N];
        let mut b = [0.0; N];
        for (i, &p) in free.iter().enumerate() {
            for (j, &q) in free.iter().enumerate().take(i + 1) {
                a[i][j] = dot(column(p), column(q));
            }
            a[i][i] = a[i][i] * (1.0 + damping) + 1e-9;
            b[i] = down[p];
        }
        if count == 0 || !cholesky(&mut a, &mut b, count) {
            return None;
        }
        let mut trial = mix.clone();
        for (i, &p) in free.iter().enumerate() {
            let by = math::exp(b[i].clamp(-LONGEST_STEP, LONGEST_STEP));
            let part = &mut trial.parts[p];
            part.fraction = (part.fraction * by).clamp(spans[p].low, spans[p].high);
        }
        Some(trial)
    }
}

/// The same paint, sprayed wetter.
pub(crate) fn wetter(mix: &Mix) -> Mix {
    Mix { film_um: mix.film_um * WETTER, ..mix.clone() }
}

pub(super) fn slopes(aim: &Aim, gradient: &Gradient, into: &mut Look) {
    let nothing = &gradient.value;
    let mut by = [nothing; crate::film::MOST_PARTS];
    let n = gradient.by_part.len().min(by.len());
    for (to, from) in by.iter_mut().zip(&gradient.by_part) {
        *to = from;
    }
    aim.slopes(&gradient.value, &by[..n], &mut into.out, &mut into.columns);
}
