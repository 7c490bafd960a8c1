//! Saving what is in the pot.

use crate::recipe::{Goal, Limits, POLISH, Pot, Solved, Solver, Span, spans};
use crate::shelf::{Mix, Part, Shelf};

/// The most that a pot may grow by being corrected, as a factor (our choice).
pub(super) const MOST_GROWTH: f64 = 2.0;
/// Growths tried, from the least.
const GROWTHS: [f64; 9] = [1.02, 1.05, 1.1, 1.2, 1.3, 1.45, 1.6, 1.8, MOST_GROWTH];
/// What a saved pot may be worse than a new one, in colour difference (our choice).
const GOOD_ENOUGH_DE00: f64 = 0.1;

/// A pot that can be saved: what it holds then, and the grams to add by toner, binder being none.
pub(super) type Saved = (Solved, Vec<(Option<usize>, f64)>);

/// The least addition that brings a pot of `now` as near to the wish as `wanted`: what the pot holds then,
/// and the grams to add. None when the pot would have to grow beyond [`MOST_GROWTH`].
pub(super) fn save(
    shelf: &Shelf,
    limits: &Limits,
    goal: &Goal<'_>,
    solver: &mut Solver,
    now: &Mix,
    wanted: &Solved,
    pot_g: f64,
) -> Option<Saved> {
    let pot = Pot::of(shelf, now, pot_g);
    let dry_g = pot.dry_g(shelf, now);
    // The wanted toners and those that are in there already, which cannot leave.
    let mut start = wanted.mix.clone();
    for part in &now.parts {
        if start.parts.iter().all(|p| p.toner != part.toner) {
            start.parts.push(Part { toner: part.toner, fraction: part.fraction });
        }
    }
    if start.parts.len() > crate::recipe::MOST_IN_RECIPE {
        return None;
    }
    let held = |toner: usize| now.parts.iter().find(|p| p.toner == toner).map_or(0.0, |p| p.fraction);
    for growth in GROWTHS {
        // In dry film of the grown pot, no toner and no binder may be less than was there before.
        let binder = (1.0 - now.load()) / growth;
        let max_load = goal.max_load.min(1.0 - binder);
        let spans: Vec<Span> = start
            .parts
            .iter()
            .zip(spans(shelf, limits, &start))
            .map(|(part, span)| {
                let low = (held(part.toner) / growth).max(limits.smallest_dose);
                Span { low, high: span.high.min((held(part.toner) + growth - 1.0) / growth).max(low) }
            })
            .collect();
        let held_load: f64 = spans.iter().map(|span| span.low).sum();
        if held_load > max_load + 1e-9 {
            continue;
        }
        let solved = solver.solve(&Goal { max_load, ..*goal }, start.clone(), &spans, POLISH);
        if solved.square.sqrt() > wanted.square.sqrt() + GOOD_ENOUGH_DE00 {
            continue;
        }
        // What the mix found needs at least, which may be less than the growth allowed.
        let mut needs = (1.0 - now.load()) / (1.0 - solved.mix.load()).max(1e-9);
        for part in &solved.mix.parts {
            needs = needs.max(held(part.toner) / part.fraction);
        }
        if needs > growth * (1.0 + 1e-6) {
            continue;
        }
        let grown_g = dry_g * needs.max(1.0);
        let mut add = Vec::new();
        for part in &solved.mix.parts {
            let dry = part.fraction * grown_g - held(part.toner) * dry_g;
            let from_tin_g = Pot::from_tin_g(shelf, part.toner, dry);
            if from_tin_g > 1e-9 * pot_g {
                add.push((Some(part.toner), from_tin_g));
            }
        }
        let binder_g = (1.0 - solved.mix.load()) * grown_g - (1.0 - now.load()) * dry_g;
        if binder_g > 1e-9 * pot_g {
            add.push((None, binder_g));
        }
        return Some((solved, add));
    }
    None
}
