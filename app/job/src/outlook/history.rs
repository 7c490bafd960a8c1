//! How the range moved and narrowed as the record grew.

use std::ops::ControlFlow;

use jiff::Timestamp;
use schedule::Outcome;

use super::movement::can_move;
use super::replayed::Replayed;
use super::{OutlookError, range};
use crate::car::Car;
use crate::catalogue::Catalogue;

/// The most points of a history: more would not be told apart.
const MOST: usize = 20;
/// Draws of each point: enough for a line on a picture, with P95 good to about 3 %.
const DRAWS: usize = 1_024;

/// The range as it stood after one entry.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// The entry.
    pub seq: u64,
    /// When it was kept.
    pub when: Timestamp,
    /// The metal hours still to be done then.
    pub outcome: Outcome,
    /// Hours of metal that had been worked and were out of those.
    pub worked_h: f64,
}

/// The range when the car was opened and after entries that could move it, evenly chosen when there are many, the first and the last among them.
///
/// Each is what the program of today makes of the record of then, by the catalogue given. Fails as [`range`](super::range()) does.
pub fn history(car: &Car, catalogue: &Catalogue) -> Result<Vec<Point>, OutlookError> {
    // The first entry opens the car: what was thought before anybody looked.
    let moves = |seq: u64, what| seq == 1 || can_move(what);
    let entries = car.entries().iter().filter(|entry| moves(entry.seq, &entry.what));
    let moving: Vec<u64> = entries.map(|entry| entry.seq).collect();
    let last = moving.len().saturating_sub(1);
    let chosen: Vec<u64> = if moving.len() <= MOST {
        moving
    } else {
        (0..MOST).filter_map(|at| moving.get(at * last / (MOST - 1)).copied()).collect()
    };
    let mut shell = Replayed::new(car, catalogue)?;
    let mut points = Vec::with_capacity(chosen.len());
    let mut trouble = None;
    car.replay(|then| {
        if !chosen.contains(&then.count) {
            return ControlFlow::Continue(());
        }
        match (range::then(&mut shell, then, catalogue, DRAWS), then.entry(then.count)) {
            (Ok((outcome, worked_h)), Some(entry)) => {
                points.push(Point { seq: then.count, when: entry.when(), outcome, worked_h });
                ControlFlow::Continue(())
            }
            (Ok(_), None) => ControlFlow::Continue(()),
            (Err(error), _) => {
                trouble = Some(error);
                ControlFlow::Break(())
            }
        }
    });
    trouble.map_or(Ok(points), Err)
}
