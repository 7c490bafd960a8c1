//! Clues: what can be seen from outside, and what it says about a zone that cannot.

use std::collections::BTreeMap;

use super::line::{Item, Line, PROBABILITY};
use crate::table::TableError;

/// What one thing that was seen says about one zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Clue {
    /// Id, such as `K01`.
    pub id: String,
    /// Clues of one group are one fact; the strongest counts, they are not multiplied.
    pub evidence_group: String,
    /// What is seen, in words; rows with the same group and text are one observation.
    pub clue: String,
    /// How it is looked for, and from where on it counts.
    pub how: String,
    /// Id of the zone it speaks about.
    pub target_zone: String,
    /// What kind of trouble it points to.
    pub condition: ConditionKind,
    /// The trouble in words.
    pub hidden_condition: String,
    /// Chance of the trouble before looking; `None` where the zone's own base rate stands.
    pub prior_p: Option<f64>,
    /// Chance of seeing the clue if the trouble is there.
    pub p_if_condition: f64,
    /// Chance of seeing the clue if it is not.
    pub p_if_no_condition: f64,
    /// The profile of odds multipliers that applies.
    pub profile: String,
    /// Ids of the zones to look at next.
    pub check_next: Vec<String>,
    /// Why, in words.
    pub reasoning: String,
    /// Where the row comes from.
    pub basis: String,
}

/// What kind of trouble a clue points to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ConditionKind {
    /// Metal gone.
    Rot,
    /// Water gets in.
    Leak,
    /// An earlier repair that hides trouble.
    BadRepair,
    /// An earlier impact.
    Impact,
    /// Strength lost without rot being seen.
    Structure,
    /// The clue speaks against trouble.
    NegativeEvidence,
}

/// One thing a person can see, whatever it says about however many zones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Observation {
    /// Id of its first clue row; an entry in the record names this.
    pub id: String,
    /// What is seen.
    pub text: String,
    /// How it is looked for, and from where on it counts.
    pub how: String,
    /// Ids of the zones it speaks about.
    pub targets: Vec<String>,
}

impl Clue {
    /// By how much seeing the clue multiplies the odds of the trouble.
    pub fn lr_if_seen(&self) -> f64 {
        self.p_if_condition / self.p_if_no_condition
    }

    /// By how much looking for the clue and not seeing it multiplies the odds of the trouble.
    pub fn lr_if_absent(&self) -> f64 {
        (1.0 - self.p_if_condition) / (1.0 - self.p_if_no_condition)
    }

    /// Whether the clue aims at the zone or says to look there next.
    pub fn speaks_of(&self, zone_id: &str) -> bool {
        self.target_zone == zone_id || self.check_next.iter().any(|id| id == zone_id)
    }
}

impl Item for Clue {
    const COLUMNS: &'static [&'static str] = &[
        "clue_id",
        "evidence_group",
        "clue",
        "how",
        "target_zone",
        "condition",
        "hidden_condition",
        "prior_p",
        "p_if_condition",
        "p_if_no_condition",
        "profile",
        "check_next",
        "reasoning",
        "basis",
    ];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        Ok(Self {
            id: line.text("clue_id")?,
            evidence_group: line.text("evidence_group")?,
            clue: line.text("clue")?,
            how: line.text("how")?,
            target_zone: line.text("target_zone")?,
            condition: line.word(
                "condition",
                &[
                    ("rot", ConditionKind::Rot),
                    ("leak", ConditionKind::Leak),
                    ("bad repair", ConditionKind::BadRepair),
                    ("impact", ConditionKind::Impact),
                    ("structure", ConditionKind::Structure),
                    ("negative evidence", ConditionKind::NegativeEvidence),
                ],
            )?,
            hidden_condition: line.text("hidden_condition")?,
            prior_p: line.optional_number("prior_p", PROBABILITY)?,
            p_if_condition: line.probability("p_if_condition")?,
            p_if_no_condition: line.probability("p_if_no_condition")?,
            profile: line.text("profile")?,
            check_next: line.ids("check_next")?,
            reasoning: line.text("reasoning")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        &self.id
    }
}

/// The distinct observations in the order of their first clue, and for each zone the places of those
/// that bear on it: first those that aim at it, then those that say to look there next.
pub(super) fn observations(clues: &BTreeMap<String, Clue>) -> (Vec<Observation>, BTreeMap<String, Vec<usize>>) {
    let mut all: Vec<Observation> = Vec::new();
    let mut places: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let mut aimed: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    let mut next: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for clue in clues.values() {
        let place = *places.entry((&clue.evidence_group, &clue.clue)).or_insert(all.len());
        if place == all.len() {
            all.push(Observation {
                id: clue.id.clone(),
                text: clue.clue.clone(),
                how: clue.how.clone(),
                targets: Vec::new(),
            });
        }
        if let Some(observation) = all.get_mut(place)
            && !observation.targets.contains(&clue.target_zone)
        {
            observation.targets.push(clue.target_zone.clone());
        }
        aimed.entry(clue.target_zone.clone()).or_default().push(place);
        for zone in &clue.check_next {
            next.entry(zone.clone()).or_default().push(place);
        }
    }
    for (zone, places) in next {
        aimed.entry(zone).or_default().extend(places);
    }
    for places in aimed.values_mut() {
        let mut seen = std::collections::BTreeSet::new();
        places.retain(|place| seen.insert(*place));
    }
    (all, aimed)
}
