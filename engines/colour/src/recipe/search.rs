//! Which toners, and how much of each.
//!
//! All pairs are tried, because a pigment and a flake, or a pearl and its ground, are worth nothing
//! alone; the best are extended toner by toner, each step keeping the best few; what comes out is
//! polished, and each of its toners is exchanged for every other. Which toner is worth a solve is read
//! from one evaluation's slopes.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use super::crew::Crew;
use super::prospect::Prospect;
use super::residual::Aim;
use super::solve::{Effort, GLANCE, Goal, POLISH, Solved, Solver, Span};
use super::wish::Limits;
use crate::film::Bench;
use crate::shelf::{Mix, Part, Shelf, TonerKind};

/// Dry film of one coat in micrometres: a base with flakes (starting guess, common practice, no source).
pub const FLAKE_COAT_UM: f64 = 5.0;
/// Dry film of one coat in micrometres: a solid colour (starting guess, common practice, no source).
pub const SOLID_COAT_UM: f64 = 8.0;
/// Coats assumed while toners are chosen.
const MIDDLE_COATS: u8 = 4;

/// Sets kept from all pairs, and from every later size.
const PAIRS_KEPT: usize = 40;
const BEAM: usize = 16;
/// Toners tried in earnest on each set that is kept.
const EXTENDED: usize = 10;
/// Sets of each size that are polished.
const POLISHED: usize = 6;
/// Sets whose toners are exchanged, how often, and how many newcomers are tried for each place.
const EXCHANGED: usize = 4;
const ROUNDS: usize = 3;
const NEWCOMERS: usize = 5;
/// Evaluations of the film after which no new stage begins. A search of 40 toners needs about 60 000.
pub(crate) const MOST_EVALUATIONS: u64 = 1_000_000;

/// A set of toners as bits.
type Set = u128;

/// One search over one primer.
pub(crate) struct Search<'a> {
    pub(crate) shelf: &'a Shelf,
    pub(crate) bench: &'a Bench,
    pub(crate) aim: &'a Aim,
    pub(crate) limits: &'a Limits,
    pub(crate) crew: &'a Crew<'a>,
    /// The toners that may be used.
    pub(crate) toners: &'a [usize],
}

fn set(mix: &Mix) -> Set {
    mix.parts.iter().fold(0, |set, part| set | bit(part.toner))
}

fn bit(toner: usize) -> Set {
    1 << (toner % 128)
}

/// By score, and of equal ones by toner.
pub(crate) fn order(a: &Solved, b: &Solved) -> Ordering {
    a.score().total_cmp(&b.score()).then_with(|| set(&a.mix).cmp(&set(&b.mix)))
}

/// The best of each set of toners, in order.
pub(crate) fn distinct(mut found: Vec<Solved>) -> Vec<Solved> {
    found.sort_by(order);
    let mut seen = std::collections::BTreeSet::new();
    found.retain(|solved| seen.insert(set(&solved.mix)));
    found
}

/// What each part's fraction may be.
pub(crate) fn spans(shelf: &Shelf, limits: &Limits, mix: &Mix) -> Vec<Span> {
    let most = |toner: usize| shelf.toners().get(toner).map_or(0.0, |toner| toner.max_fraction);
    let low = limits.smallest_dose;
    mix.parts.iter().map(|part| Span { low, high: most(part.toner).min(limits.max_load).max(low) }).collect()
}

impl Search<'_> {
    fn goal(&self) -> Goal<'_> {
        Goal { bench: self.bench, aim: self.aim, max_load: self.limits.max_load, learned: None, near: None }
    }

    fn kind(&self, toner: usize) -> Option<TonerKind> {
        self.shelf.toners().get(toner).map(|toner| toner.kind)
    }

    /// Whether a mix holds flakes.
    fn has_flakes(&self, mix: &Mix) -> bool {
        mix.parts.iter().any(|part| self.kind(part.toner).is_some_and(TonerKind::is_flake))
    }

    /// Dry film of one coat of a mix.
    pub(crate) fn coat_um(&self, mix: &Mix) -> f64 {
        if self.has_flakes(mix) { FLAKE_COAT_UM } else { SOLID_COAT_UM }
    }

    fn spans(&self, mix: &Mix) -> Vec<Span> {
        spans(self.shelf, self.limits, mix)
    }

    /// A mix on its way: the film of so many coats while nobody has chosen.
    fn mix(&self, parts: Vec<Part>, substrate: usize) -> Mix {
        let mut mix = Mix { parts, film_um: 1.0, substrate };
        mix.film_um = self
            .limits
            .film_um
            .unwrap_or_else(|| self.coat_um(&mix) * f64::from(MIDDLE_COATS.min(self.limits.max_coats)));
        mix
    }

    pub(crate) fn solve(&self, solver: &mut Solver, mix: Mix, effort: Effort) -> Solved {
        let spans = self.spans(&mix);
        solver.solve(&self.goal(), mix, &spans, effort)
    }

    /// Whether a set makes paint: a flop adjuster needs flakes to turn.
    fn makes_paint(&self, mix: &Mix) -> bool {
        let adjusts = mix.parts.iter().any(|part| self.kind(part.toner) == Some(TonerKind::FlopAdjuster));
        !adjusts || self.has_flakes(mix)
    }

    /// Runs all stages over one primer and gives the best sets of every size, best first.
    pub(crate) fn run(&self, substrate: usize, (from, to): (u32, u32)) -> Vec<Solved> {
        let at = |part: u32| from + (to - from) * part / 100;
        let (singles, pairs) = self.pairs(substrate, (at(0), at(35)));
        let mut finalists: Vec<Solved> = singles.into_iter().take(POLISHED).collect();
        let mut beam = pairs;
        if self.limits.max_toners >= 2 {
            finalists.extend(beam.iter().take(POLISHED).cloned());
        }
        for size in 3..=self.limits.max_toners {
            if self.over() {
                break;
            }
            let part = 35 + 10 * (size as u32 - 3);
            beam.truncate(if size == 3 { PAIRS_KEPT } else { BEAM });
            beam = self.extend(&beam, (at(part), at(part + 10)));
            finalists.extend(beam.iter().take(POLISHED).cloned());
        }
        let mut pool = self.polish(finalists, (at(75), at(85)));
        for round in 0..ROUNDS {
            let before = pool.first().map_or(f64::INFINITY, Solved::score);
            if self.over() {
                break;
            }
            let done = 85 + 5 * round as u32;
            let newcomers = self.exchange(&pool, (at(done), at(done + 5)));
            let polished = self.polish(newcomers, (at(done + 4), at(done + 5)));
            pool.extend(polished);
            pool = distinct(pool);
            // Below a hundredth nobody sees what is gained.
            if pool.first().map_or(f64::INFINITY, Solved::score) > before - 0.01 {
                break;
            }
        }
        pool
    }

    pub(crate) fn over(&self) -> bool {
        self.crew.stopped() || self.crew.evaluations() > MOST_EVALUATIONS
    }

    fn tell(&self, found: &[Solved]) {
        if let Some(best) = found.first() {
            self.crew.best(best.square.sqrt());
        }
    }

    /// Every toner alone, and every two.
    fn pairs(&self, substrate: usize, span: (u32, u32)) -> (Vec<Solved>, Vec<Solved>) {
        let part = |toner: usize, share: f64| Part { toner, fraction: share * self.typical(toner) };
        let mut tasks = Vec::new();
        for (i, &one) in self.toners.iter().enumerate() {
            tasks.push(vec![self.mix(vec![part(one, 1.0)], substrate)]);
            if self.limits.max_toners < 2 {
                continue;
            }
            for &two in self.toners.iter().skip(i + 1) {
                let starts = [(1.0, 1.0), (1.0, 0.03), (0.03, 1.0)];
                tasks.push(starts.map(|(a, b)| self.mix(vec![part(one, a), part(two, b)], substrate)).to_vec());
            }
        }
        tasks.retain(|starts| starts.iter().all(|mix| self.makes_paint(mix)));
        let goal = self.goal();
        let found = self.crew.share(span, &tasks, |solver, starts| {
            let mut best: Option<(f64, &Mix)> = None;
            for mix in starts {
                let square = solver.square(&goal, mix);
                if best.is_none_or(|(least, _)| square < least) {
                    best = Some((square, mix));
                }
            }
            best.map(|(_, mix)| self.solve(solver, mix.clone(), GLANCE))
        });
        let (mut singles, mut pairs): (Vec<_>, Vec<_>) =
            found.into_iter().flatten().partition(|solved| solved.mix.parts.len() == 1);
        singles.sort_by(order);
        pairs.sort_by(order);
        self.tell(&singles);
        self.tell(&pairs);
        (singles, pairs)
    }

    /// What one starts with of a toner: half of what a film holds of it.
    fn typical(&self, toner: usize) -> f64 {
        let most = self.shelf.toners().get(toner).map_or(0.0, |toner| toner.max_fraction);
        0.5 * most.min(self.limits.max_load)
    }

    /// The best sets with one toner more.
    fn extend(&self, beam: &[Solved], (from, to): (u32, u32)) -> Vec<Solved> {
        let goal = self.goal();
        let middle = from + (to - from) / 4;
        let promised = self.crew.share((from, middle), beam, |solver, solved| {
            let others = self.others(&solved.mix, 0);
            best_of(solver.prospects(&goal, &solved.mix, &others), EXTENDED)
        });
        let mut tasks: BTreeMap<Set, (f64, Mix)> = BTreeMap::new();
        for (solved, prospects) in beam.iter().zip(promised) {
            for prospect in prospects {
                let mix = self.joined(&solved.mix, prospect);
                let key = set(&mix);
                if tasks.get(&key).is_none_or(|(square, _)| prospect.square < *square) {
                    tasks.insert(key, (prospect.square, mix));
                }
            }
        }
        let tasks: Vec<Mix> = tasks.into_values().map(|(_, mix)| mix).collect();
        let mut found = self.crew.share((middle, to), &tasks, |solver, mix| self.solve(solver, mix.clone(), GLANCE));
        found.sort_by(order);
        self.tell(&found);
        found
    }

    /// The toners that may join a mix, but for some.
    fn others(&self, mix: &Mix, but: Set) -> Vec<usize> {
        let taken = set(mix) | but;
        let flakes = self.has_flakes(mix);
        let may =
            |toner: usize| taken & bit(toner) == 0 && (flakes || self.kind(toner) != Some(TonerKind::FlopAdjuster));
        self.toners.iter().copied().filter(|toner| may(*toner)).collect()
    }

    /// A mix with one toner more, as much as its prospect says.
    fn joined(&self, mix: &Mix, prospect: Prospect) -> Mix {
        let most = self.typical(prospect.toner);
        let fraction = prospect.fraction.min(most).max((2.0 * self.limits.smallest_dose).min(most));
        let mut parts = mix.parts.clone();
        parts.push(Part { toner: prospect.toner, fraction });
        self.mix(parts, mix.substrate)
    }

    /// Solves to the end, drops what has fallen to the smallest dose where that is no loss, and keeps the
    /// best of each set.
    fn polish(&self, tasks: Vec<Solved>, span: (u32, u32)) -> Vec<Solved> {
        let found = self.crew.share(span, &tasks, |solver, solved| self.polished(solver, solved.mix.clone()));
        // Stopped before the first was polished: what came in is the best so far.
        let found = distinct(if found.is_empty() { tasks } else { found });
        self.tell(&found);
        found
    }

    fn polished(&self, solver: &mut Solver, mix: Mix) -> Solved {
        let mut best = self.solve(solver, mix, POLISH);
        while best.mix.parts.len() > 1 {
            let least = best.mix.parts.iter().position(|part| part.fraction <= 1.05 * self.limits.smallest_dose);
            let Some(place) = least else { break };
            let mut parts = best.mix.parts.clone();
            parts.remove(place);
            let mix = Mix { parts, ..best.mix.clone() };
            if !self.makes_paint(&mix) {
                break;
            }
            let without = self.solve(solver, mix, POLISH);
            if without.score() >= best.score() {
                break;
            }
            best = without;
        }
        best
    }

    /// Each toner of the best sets exchanged for others: the best newcomer for every place.
    fn exchange(&self, pool: &[Solved], span: (u32, u32)) -> Vec<Solved> {
        let goal = self.goal();
        let tasks: Vec<(&Mix, usize)> = pool
            .iter()
            .take(EXCHANGED)
            .flat_map(|solved| (0..solved.mix.parts.len()).map(|place| (&solved.mix, place)))
            .filter(|(mix, _)| mix.parts.len() > 1)
            .collect();
        let found = self.crew.share(span, &tasks, |solver, &(mix, place)| {
            let mut parts = mix.parts.clone();
            let gone = parts.remove(place);
            let rest = Mix { parts, ..mix.clone() };
            if !self.makes_paint(&rest) {
                return None;
            }
            let rest = self.solve(solver, rest, Effort { steps: 4, ..GLANCE }).mix;
            let others = self.others(&rest, bit(gone.toner));
            let prospects = best_of(solver.prospects(&goal, &rest, &others), NEWCOMERS);
            let tried = prospects.into_iter().map(|p| self.solve(solver, self.joined(&rest, p), GLANCE));
            tried.min_by(order)
        });
        let mut found = distinct(found.into_iter().flatten().collect());
        found.truncate(2 * EXCHANGED);
        found
    }
}

/// The most promising newcomers to a mix, in order.
pub(crate) fn prospects(
    solver: &mut Solver,
    goal: &Goal<'_>,
    mix: &Mix,
    others: &[usize],
    count: usize,
) -> Vec<Prospect> {
    best_of(solver.prospects(goal, mix, others), count)
}

/// The most promising, in order.
fn best_of(mut prospects: Vec<Prospect>, count: usize) -> Vec<Prospect> {
    prospects.sort_by(|a, b| a.square.total_cmp(&b.square).then(a.toner.cmp(&b.toner)));
    prospects.truncate(count);
    prospects
}
