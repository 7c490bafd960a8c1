//! Hours worked: what the shop's own range learns from once a job is done.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::car::{Car, Entry};
use crate::what::What;
use crate::words::worded;

/// The most hours one entry may hold: five people for a working week.
pub const MOST_H: f64 = 200.0;

worded! {
    /// What part of the job hours went into.
    pub enum Part {
        /// Taking off what is in the way, so that a zone can be seen.
        Opening = "opening", "Opening";
        /// Cut, fabricate, fit, weld, dress.
        Metal = "metal", "Metal";
        /// Gaps, hinges, trial assembly.
        Fit = "fit", "Fit and gaps";
        /// Lead, filler, blocking.
        Fill = "fill", "Lead, fill, block";
        /// Primers, sealers, underside.
        Coat = "coat", "Coats";
        /// Finding the colour, spraying it, polishing it.
        Colour = "colour", "Colour";
        /// Glass, trim, wax.
        Assembly = "assembly", "Assembly and wax";
        /// Survey, strip, measure, brace, papers.
        Other = "other", "Everything else";
    }
}

/// Hours that were worked on a zone, or on the car as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Worked {
    /// The zone instance; `None` for work on the car as a whole.
    #[serde(default)]
    pub zone: Option<String>,
    /// What part of the job they went into.
    pub part: Part,
    /// How many: over 0, at most [`MOST_H`].
    pub hours_h: f64,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}

impl Car {
    /// Hours worked that still count, in the order in which they were kept.
    pub fn worked(&self) -> impl DoubleEndedIterator<Item = (&Entry, &Worked)> {
        self.counting().filter_map(|entry| match &entry.what {
            What::Worked(worked) => Some((entry, worked)),
            _ => None,
        })
    }

    /// Hours worked on one zone instance; with `None` those of the whole car, its zones included.
    pub fn worked_h(&self, zone: Option<&str>) -> f64 {
        let of_it = |worked: &Worked| zone.is_none() || worked.zone.as_deref() == zone;
        self.worked().filter(|(_, worked)| of_it(worked)).fold(0.0, |sum_h, (_, worked)| sum_h + worked.hours_h)
    }

    /// Hours worked by zone instance and part; those of `None` name no zone.
    pub fn worked_by_zone(&self) -> BTreeMap<Option<&str>, BTreeMap<Part, f64>> {
        let mut zones: BTreeMap<Option<&str>, BTreeMap<Part, f64>> = BTreeMap::new();
        for (_, worked) in self.worked() {
            *zones.entry(worked.zone.as_deref()).or_default().entry(worked.part).or_default() += worked.hours_h;
        }
        zones
    }

    /// Hours worked by part, zones and the car as a whole together.
    pub fn worked_by_part(&self) -> BTreeMap<Part, f64> {
        let mut parts = BTreeMap::new();
        for (_, worked) in self.worked() {
            *parts.entry(worked.part).or_default() += worked.hours_h;
        }
        parts
    }
}
