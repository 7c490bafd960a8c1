//! Something that has to be done, or may have to be, and the ways of doing it.

use crate::error::{counted, within};
use crate::{RiskError, Shape, Spread};

/// The most ways of one item.
pub const MOST_WAYS: usize = 10;
/// The most parts of one way.
pub const MOST_PARTS: usize = 20;
/// The most stages that hours are split by.
pub const MOST_STAGES: usize = 20;

/// The largest weight of a way.
const MOST_WEIGHT: f64 = 1e6;
/// The most hours of a part.
const MOST_HOURS: f64 = 1e9;

/// Hours of one stage of the job, such as opening up, metal or paint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// The stage the hours are counted under: 0 to 19, in whatever order the caller keeps them.
    pub stage: usize,
    /// The hours, 0 or more.
    pub hours: Spread,
}

/// One way of putting an item right.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    pub(crate) weight: f64,
    pub(crate) parts: Vec<Part>,
}

impl Way {
    /// A way that is taken in proportion to its weight (0..=1 000 000) and whose hours are the sum of its parts, at
    /// most [`MOST_PARTS`], drawn as PERT at one common quantile. Fails on a number outside its range.
    pub fn new(weight: f64, parts: Vec<Part>) -> Result<Self, RiskError> {
        within("the weight of a way", weight, 0.0..=MOST_WEIGHT)?;
        counted("parts of a way", parts.len(), 1..=MOST_PARTS)?;
        for part in &parts {
            counted("stages before that of a part", part.stage, 0..=MOST_STAGES - 1)?;
            within("the low guess of a part's hours", part.hours.low(), 0.0..=MOST_HOURS)?;
        }
        Ok(Self { weight, parts })
    }

    /// What it weighs beside the item's other ways.
    pub fn weight(&self) -> f64 {
        self.weight
    }

    /// What its hours are the sum of.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    fn mean(&self) -> f64 {
        self.parts.iter().map(|part| part.hours.mean(Shape::Pert)).sum()
    }

    fn mean_of_stage(&self, stage: usize) -> f64 {
        self.parts.iter().filter(|part| part.stage == stage).map(|part| part.hours.mean(Shape::Pert)).sum()
    }
}

/// One thing that has to be done, or may have to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The column of the findings that says where it is there; `None` where it always is.
    pub(crate) column: Option<usize>,
    pub(crate) chance: f64,
    pub(crate) ways: Vec<Way>,
}

impl Item {
    /// An item that has to be done, in one of its ways, at most [`MOST_WAYS`], the mildest first. Fails when every way
    /// weighs 0.
    pub fn always(ways: Vec<Way>) -> Result<Self, RiskError> {
        Self::new(None, 1.0, ways)
    }

    /// An item that is there in the samples that a column of the [`Findings`](crate::Findings) says, and is then put
    /// right in one of its ways. Several items may hang on one column, such as the metal of a place and the fitting that
    /// comes with it.
    ///
    /// `chance` is the exact probability behind that column: means are worked out from it, so that no sampling error
    /// is left in them. Fails on a number outside its range and when every way weighs 0.
    pub fn drawn(column: usize, chance: f64, ways: Vec<Way>) -> Result<Self, RiskError> {
        Self::new(Some(column), chance, ways)
    }

    fn new(column: Option<usize>, chance: f64, ways: Vec<Way>) -> Result<Self, RiskError> {
        within("the chance of an item", chance, 0.0..=1.0)?;
        counted("ways of an item", ways.len(), 1..=MOST_WAYS)?;
        let sum: f64 = ways.iter().map(|way| way.weight).sum();
        if sum <= 0.0 {
            return Err(RiskError::NoWeight { sum });
        }
        Ok(Self { column, chance, ways })
    }

    /// The probability that it is there: 1 where it always is.
    pub fn chance(&self) -> f64 {
        self.chance
    }

    /// The column of the findings that it hangs on; `None` where it is always there.
    pub fn column(&self) -> Option<usize> {
        self.column
    }

    /// The ways of putting it right, the mildest first.
    pub fn ways(&self) -> &[Way] {
        &self.ways
    }

    /// Mean hours, its chance included, the shop's own factor not.
    pub(crate) fn mean(&self) -> f64 {
        self.over_ways(Way::mean)
    }

    pub(crate) fn mean_of_stage(&self, stage: usize) -> f64 {
        self.over_ways(|way| way.mean_of_stage(stage))
    }

    fn over_ways(&self, mean: impl Fn(&Way) -> f64) -> f64 {
        let weights: f64 = self.ways.iter().map(|way| way.weight).sum();
        self.chance * self.ways.iter().map(|way| way.weight / weights * mean(way)).sum::<f64>()
    }
}
