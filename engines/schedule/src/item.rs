//! Something that may have to be done, and the ways of doing it.

use crate::error::{counted, within};
use crate::{RiskError, Shape, Spread};

/// The most ways of one item.
pub const MOST_WAYS: usize = 10;
/// The most parts of one way.
pub const MOST_PARTS: usize = 20;

/// The largest weight of a way.
const MOST_WEIGHT: f64 = 1e6;

/// One way of putting an item right.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    pub(crate) weight: f64,
    pub(crate) parts: Vec<Spread>,
}

impl Way {
    /// A way that is taken in proportion to its weight (0..=1 000 000) and whose hours are the sum of its parts, at
    /// most [`MOST_PARTS`], drawn as PERT at one common quantile. Fails on a number outside its range.
    pub fn new(weight: f64, parts: Vec<Spread>) -> Result<Self, RiskError> {
        within("the weight of a way", weight, 0.0..=MOST_WEIGHT)?;
        counted("parts of a way", parts.len(), 1..=MOST_PARTS)?;
        Ok(Self { weight, parts })
    }

    /// What it weighs beside the item's other ways.
    pub fn weight(&self) -> f64 {
        self.weight
    }

    /// What its hours are the sum of.
    pub fn parts(&self) -> &[Spread] {
        &self.parts
    }

    fn mean(&self) -> f64 {
        self.parts.iter().map(|part| part.mean(Shape::Pert)).sum()
    }
}

/// One thing that may have to be done.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    pub(crate) chance: f64,
    pub(crate) ways: Vec<Way>,
}

impl Item {
    /// An item that is there with this chance (a probability; 1 is certain) and is then put right in one of
    /// its ways, at most [`MOST_WAYS`], the mildest first. Fails on a number outside its range and when
    /// every way weighs 0.
    pub fn new(chance: f64, ways: Vec<Way>) -> Result<Self, RiskError> {
        within("the chance of an item", chance, 0.0..=1.0)?;
        counted("ways of an item", ways.len(), 1..=MOST_WAYS)?;
        let sum: f64 = ways.iter().map(|way| way.weight).sum();
        if sum <= 0.0 {
            return Err(RiskError::NoWeight { sum });
        }
        Ok(Self { chance, ways })
    }

    /// The probability that it is there.
    pub fn chance(&self) -> f64 {
        self.chance
    }

    /// The ways of putting it right, the mildest first.
    pub fn ways(&self) -> &[Way] {
        &self.ways
    }

    pub(crate) fn mean(&self) -> f64 {
        let weights: f64 = self.ways.iter().map(|way| way.weight).sum();
        self.chance * self.ways.iter().map(|way| way.weight / weights * way.mean()).sum::<f64>()
    }
}
