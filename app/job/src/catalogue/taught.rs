//! A catalogue with what the shop learned in place of starting guesses, and both beside each other.

use std::collections::BTreeMap;

use forecast::learn::{
    LearnError, MOST_LESSONS, MOST_ODDS, Opening, RATE_END, Rate, USUAL_WEIGHT, clue, means_without, rate,
};

use super::Catalogue;
use crate::lessons::Lesson;

/// A catalogue that lessons have changed, and what they changed.
#[derive(Debug, Clone)]
pub struct Taught {
    /// The catalogue with learned rates in place.
    pub catalogue: Catalogue,
    /// Every zone of which something was learned, by id.
    pub rates: Vec<TaughtRate>,
    /// Every clue row of which something was learned, by id.
    pub clues: Vec<TaughtClue>,
}

/// The base rate of a zone before and after its lessons.
#[derive(Debug, Clone, PartialEq)]
pub struct TaughtRate {
    /// The zone.
    pub zone_id: String,
    /// The starting guess, 0 to 1. It is worth [`USUAL_WEIGHT`] openings.
    pub start: f64,
    /// What it is now.
    pub mean: f64,
    /// It is less than this with a chance of one in twenty.
    pub low: f64,
    /// It is more than this with a chance of one in twenty.
    pub high: f64,
    /// How many of it became known.
    pub opened: usize,
    /// How many of those were bad.
    pub bad: usize,
}

/// How often a clue is there, before and after its lessons.
#[derive(Debug, Clone, PartialEq)]
pub struct TaughtClue {
    /// The clue row.
    pub clue_id: String,
    /// Where the zone it aims at was bad.
    pub bad: TaughtShare,
    /// Where it was sound.
    pub sound: TaughtShare,
}

/// A share before and after its lessons.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TaughtShare {
    /// The starting guess, 0 to 1. It is worth [`USUAL_WEIGHT`] looks.
    pub start: f64,
    /// What it is now.
    pub mean: f64,
    /// It is less than this with a chance of one in twenty.
    pub low: f64,
    /// It is more than this with a chance of one in twenty.
    pub high: f64,
    /// How often the clue was looked for.
    pub looked: usize,
    /// How often it was there.
    pub there: usize,
}

/// How often something was looked for and was there.
#[derive(Default, Clone, Copy)]
struct Count {
    there: u32,
    not_there: u32,
}

impl Count {
    fn add(&mut self, there: bool) {
        *if there { &mut self.there } else { &mut self.not_there } += 1;
    }
}

impl Catalogue {
    /// This catalogue with what the lessons say in place of the starting guesses: base rates of zones and chances
    /// of clues. Without lessons it comes back unchanged.
    ///
    /// A zone that age, climate, clues or neighbours had made likelier than its base rate teaches the base rate
    /// accordingly less by being bad. Of one zone or clue the first 100 000 lessons are taken.
    pub fn taught(&self, lessons: &[Lesson]) -> Taught {
        let mut catalogue = self.clone();
        let rates = catalogue.teach_zones(lessons);
        let clues = catalogue.teach_clues(lessons);
        Taught { catalogue, rates, clues }
    }

    fn teach_zones(&mut self, lessons: &[Lesson]) -> Vec<TaughtRate> {
        let mut by_zone: BTreeMap<&str, Vec<&Lesson>> = BTreeMap::new();
        for lesson in lessons {
            by_zone.entry(&lesson.zone_id).or_default().push(lesson);
        }
        let mut rates = Vec::new();
        for (zone_id, lessons) in by_zone {
            let Some(zone) = self.zones.get_mut(zone_id) else { continue };
            let start = zone.base_p;
            let openings: Vec<Opening> = lessons.iter().take(MOST_LESSONS).map(|l| opening(l, start)).collect();
            // A starting guess is checked to lie where a rate may, so neither fails.
            let Ok(learned) = Rate::new(start, USUAL_WEIGHT).and_then(|prior| rate(prior, &openings)) else { continue };
            zone.base_p = within(learned.mean);
            rates.push(TaughtRate {
                zone_id: zone_id.to_owned(),
                start,
                mean: zone.base_p,
                low: learned.p05,
                high: learned.p95,
                opened: learned.lessons,
                bad: learned.so,
            });
        }
        rates
    }

    /// The base rate of a zone as the starting guesses have it, and for each of some groups of lessons about it as all
    /// the other groups teach it. Nothing where the catalogue has no such zone.
    pub(crate) fn taught_without(
        &self,
        zone_id: &str,
        groups: &[Vec<&Lesson>],
    ) -> Result<Option<(f64, Vec<f64>)>, LearnError> {
        let Some(start) = self.zones.get(zone_id).map(|zone| zone.base_p) else { return Ok(None) };
        let openings = |group: &Vec<&Lesson>| group.iter().map(|lesson| opening(lesson, start)).collect();
        let openings: Vec<Vec<Opening>> = groups.iter().map(openings).collect();
        let means = means_without(Rate::new(start, USUAL_WEIGHT)?, &openings)?;
        Ok(Some((start, means.into_iter().map(within).collect())))
    }

    fn teach_clues(&mut self, lessons: &[Lesson]) -> Vec<TaughtClue> {
        let mut counts: BTreeMap<&str, [Count; 2]> = BTreeMap::new();
        for lesson in lessons {
            for (clue, there) in &lesson.clues {
                let [bad, sound] = counts.entry(clue).or_default();
                if lesson.bad { bad } else { sound }.add(*there);
            }
        }
        let mut clues = Vec::new();
        for (clue_id, [bad, sound]) in counts {
            let Some(row) = self.clues.get_mut(clue_id) else { continue };
            let (Some(bad), Some(sound)) = (share(row.p_if_condition, bad), share(row.p_if_no_condition, sound)) else {
                continue;
            };
            (row.p_if_condition, row.p_if_no_condition) = (bad.mean, sound.mean);
            clues.push(TaughtClue { clue_id: clue_id.to_owned(), bad, sound });
        }
        clues
    }
}

/// What a lesson says about a base rate: all that was known besides is what the chance foretold has over it.
fn opening(lesson: &Lesson, base_p: f64) -> Opening {
    let odds = |p: f64| p / (1.0 - p);
    let foretold = within(lesson.foretold);
    let odds = odds(foretold) / odds(base_p);
    Opening { odds: odds.clamp(1.0 / MOST_ODDS, MOST_ODDS), bad: lesson.bad }
}

fn share(start: f64, count: Count) -> Option<TaughtShare> {
    // Checked to lie where a rate may; a shop does not look for one clue 100 000 times.
    let learned = clue(Rate::new(start, USUAL_WEIGHT).ok()?, count.there, count.not_there).ok()?;
    Some(TaughtShare {
        start,
        mean: within(learned.mean),
        low: learned.p05,
        high: learned.p95,
        looked: learned.lessons,
        there: learned.so,
    })
}

/// A share that odds can be made of.
fn within(p: f64) -> f64 {
    p.clamp(RATE_END, 1.0 - RATE_END)
}
