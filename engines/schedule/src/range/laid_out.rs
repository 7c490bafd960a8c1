//! Items as the samples need them: tables by normal score.

use std::sync::LazyLock;

use base::normal;

use crate::table::Table;
use crate::unit::Unit;
use crate::{Item, Shape, Spread, Way};

/// Positions of the mode, 0 to 1 in equal steps, for which quantiles are tabulated; between them they
/// are mixed. Both grids together leave less than three ten-thousandths of a spread's width.
const MODES: usize = 33;
pub(super) type WayTable = Table<257>;

/// An item as the samples need it.
pub(super) struct LaidOut {
    /// The column of the findings that says where it is there; `None` is everywhere.
    pub(super) column: Option<usize>,
    /// Of each way but the mildest, the hardest first, the score of the hidden number below which that way or a
    /// harder one is taken; small is bad.
    pub(super) scores: Vec<f64>,
    /// The hours of each way by stage, by normal score, in the same order, the mildest too; ways of no weight are
    /// left out.
    pub(super) ways: Vec<Vec<(usize, WayTable)>>,
}

pub(super) fn laid_out(items: &[Item]) -> Vec<LaidOut> {
    let lay_out = |item: &Item| {
        let ways: Vec<&Way> = item.ways.iter().rev().filter(|way| way.weight > 0.0).collect();
        LaidOut {
            column: item.column,
            scores: way_scores(&ways),
            ways: ways.iter().map(|way| way_tables(way, &UNITS)).collect(),
        }
    };
    items.iter().map(lay_out).collect()
}

/// PERT from 0 to 1 by normal score, for each of the modes; worked out once, by one thread: threads that wait for
/// each other in here could wait for ever.
static UNITS: LazyLock<Vec<WayTable>> = LazyLock::new(|| {
    let of_mode = |mode: usize| Table::of(&Unit::new(Shape::Pert, mode as f64 / (MODES - 1) as f64));
    let low: Vec<WayTable> = (0..=MODES / 2).map(of_mode).collect();
    let high: Vec<WayTable> = low.iter().rev().skip(1).map(Table::mirrored).collect();
    low.into_iter().chain(high).collect()
});

/// Below which scores each way or a harder one is taken; `ways` from the hardest on.
fn way_scores(ways: &[&Way]) -> Vec<f64> {
    let weights: f64 = ways.iter().map(|way| way.weight).sum();
    let mut as_hard = 0.0;
    let mut score = |way: &&Way| {
        as_hard += way.weight;
        normal::score((as_hard / weights).min(1.0))
    };
    // The mildest takes the whole of what is left.
    let harder = ways.len().saturating_sub(1);
    ways[..harder].iter().map(&mut score).collect()
}

fn way_tables(way: &Way, units: &[WayTable]) -> Vec<(usize, WayTable)> {
    let mut stages: Vec<(usize, WayTable)> = Vec::new();
    for part in &way.parts {
        match stages.iter_mut().find(|(stage, _)| *stage == part.stage) {
            Some((_, table)) => add(table, &part.hours, units),
            None => {
                let mut table = Table::zero();
                add(&mut table, &part.hours, units);
                stages.push((part.stage, table));
            }
        }
    }
    stages
}

/// Adds a spread's quantile by normal score.
fn add(table: &mut WayTable, spread: &Spread, units: &[WayTable]) {
    let place = spread.mode() * (MODES - 1) as f64;
    let left = (place as usize).min(MODES - 2);
    if let [a, b] = &units[left..left + 2] {
        table.add(spread.low(), spread.width(), (a, b), place - left as f64);
    }
}

#[cfg(test)]
mod tests {
    use super::{UNITS, WayTable, add};
    use crate::table::Table;
    use crate::{Shape, Spread};
    use base::normal;

    #[test]
    fn the_mixed_tables_are_off_by_less_than_they_say() {
        for tenth in 0..=100 {
            let spread = Spread::new(0.0, f64::from(tenth) / 100.0, 1.0).unwrap();
            let mut table: WayTable = Table::zero();
            add(&mut table, &spread, &UNITS);
            for step in -500..=500 {
                let score = f64::from(step) * 0.0103;
                let expect = spread.quantile(Shape::Pert, normal::below(score));
                assert!((table.at(score) - expect).abs() < 3e-4, "{tenth} {score}: {} {expect}", table.at(score));
            }
        }
    }
}
