//! Rates that a shop learns from the zones it has opened, and how well it foretold them.
//!
//! A [`Rate`] is a share that is not known for certain: a beta distribution, which is worth as many openings as
//! its weight says. [`rate`] and [`clue`] learn from what was found; [`Calibration`] lays what was foretold beside it.
//!
//! Source: Bayes' rule with a beta prior (A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, chapter 2, from
//! memory). The usual weight is common practice, no source.

mod calibration;
mod error;
mod posterior;

use posterior::{Posterior, mean_without};

pub use calibration::{BINS, Bin, Calibration, Foretold, InBin};
pub use error::LearnError;

/// How many openings a starting guess is worth, unless the shop says otherwise.
pub const USUAL_WEIGHT: f64 = 8.0;
/// Shares of a rate are from here to one minus it; a rate at the very end could not learn.
pub const RATE_END: f64 = 0.001;
/// The least weight.
pub const LEAST_WEIGHT: f64 = 1.0;
/// The most weight; with it a shop learns nothing in its life.
pub const MOST_WEIGHT: f64 = 10_000.0;
/// The most openings, sightings or foretold zones that are taken at once.
pub const MOST_LESSONS: usize = 100_000;
/// Odds are multiplied by this at most, and by one over it at least.
pub const MOST_ODDS: f64 = 1e6;

/// A share before anything was learned: Beta(weight p, weight (1 - p)).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate {
    p: f64,
    weight: f64,
}

/// A zone that was opened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opening {
    /// What everything else known of the zone just before (age, climate, clues, neighbours) multiplied the odds of the
    /// base rate by, 1 / [`MOST_ODDS`] to [`MOST_ODDS`]; 1 where nothing was.
    pub odds: f64,
    /// Whether it was bad.
    pub bad: bool,
}

/// What is known of a share after the lessons.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// What was guessed before.
    pub before: Rate,
    /// The share to be used now: the mean of what it may be.
    pub mean: f64,
    /// It is less than this with a chance of 5 %.
    pub p05: f64,
    /// It is less than this with a chance of 95 %.
    pub p95: f64,
    /// How many lessons there were.
    pub lessons: usize,
    /// In how many of them it was so.
    pub so: usize,
}

impl Rate {
    /// A share guessed at `p`, [`RATE_END`] to one minus it, that is worth as many openings as `weight` says,
    /// [`LEAST_WEIGHT`]..=[`MOST_WEIGHT`] ([`USUAL_WEIGHT`]). Fails on a number outside its range.
    pub fn new(p: f64, weight: f64) -> Result<Self, LearnError> {
        within("the share", None, p, RATE_END, 1.0 - RATE_END)?;
        within("the weight", None, weight, LEAST_WEIGHT, MOST_WEIGHT)?;
        Ok(Self { p, weight })
    }

    /// The share guessed.
    pub fn p(&self) -> f64 {
        self.p
    }

    /// How many openings it is worth.
    pub fn weight(&self) -> f64 {
        self.weight
    }

    /// The two shape numbers after `so` of `lessons`.
    fn after(&self, lessons: usize, so: usize) -> (f64, f64) {
        (self.weight * self.p + so as f64, self.weight * (1.0 - self.p) + (lessons - so) as f64)
    }
}

/// A base rate after these openings, at most [`MOST_LESSONS`].
///
/// With base rate b and odds multiplied by m a zone was bad with chance b m / (1 - b + b m). What follows for b is
/// integrated numerically, to about 1e-12; where all odds are 1 its mean is that of the beta distribution, and exact.
/// Openings count as independent given the base rate. Fails on too many openings and on odds outside their range.
///
/// ```
/// use forecast::learn::{Opening, Rate, USUAL_WEIGHT, rate};
/// let openings = [true, true, false].map(|bad| Opening { odds: 1.0, bad });
/// let learned = rate(Rate::new(0.25, USUAL_WEIGHT)?, &openings)?;
/// assert!((learned.mean - 4.0 / 11.0).abs() < 1e-12);
/// # Ok::<(), forecast::learn::LearnError>(())
/// ```
pub fn rate(prior: Rate, opened: &[Opening]) -> Result<Learned, LearnError> {
    checked(opened)?;
    let so = opened.iter().filter(|opening| opening.bad).count();
    Ok(learned(prior, opened.len(), so, telling(opened)))
}

/// For each group of openings the mean of the base rate after all the others: what the others say of it. At most
/// [`MOST_LESSONS`] in all.
///
/// The same as the mean of [`rate`] without that group, to about 1e-9, and quick for many groups: the integral over all is
/// taken once. Fails as [`rate`] does.
///
/// ```
/// use forecast::learn::{Opening, Rate, USUAL_WEIGHT, means_without};
/// let car = |bad| vec![Opening { odds: 1.0, bad }; 2];
/// let means = means_without(Rate::new(0.25, USUAL_WEIGHT)?, &[car(true), car(false)])?;
/// assert_eq!(means, [0.2, 0.4]);
/// # Ok::<(), forecast::learn::LearnError>(())
/// ```
pub fn means_without(prior: Rate, groups: &[Vec<Opening>]) -> Result<Vec<f64>, LearnError> {
    let all = groups.concat();
    checked(&all)?;
    let so = |opened: &[Opening]| opened.iter().filter(|opening| opening.bad).count();
    let (lessons, bad, odds) = (all.len(), so(&all), telling(&all));
    let different = odds.len();
    let (a, b) = prior.after(lessons, bad);
    let nodes = if different == 0 { Vec::new() } else { Posterior::new(a, b, odds).nodes() };
    let mean = |(place, group): (usize, &Vec<Opening>)| {
        let (group_bad, group_odds) = (so(group), telling(group));
        let (a, b) = prior.after(lessons - group.len(), bad - group_bad);
        if group_odds.len() == different {
            return a / (a + b);
        }
        let not = group.len() - group_bad;
        mean_without(&nodes, group_bad as f64, not as f64, &group_odds).unwrap_or_else(|| {
            let others = groups.iter().enumerate().filter(|(other, _)| *other != place);
            Posterior::new(a, b, others.flat_map(|(_, other)| telling(other)).collect()).mean()
        })
    };
    Ok(groups.iter().enumerate().map(mean).collect())
}

/// How often a clue is there, after it was seen at so many bad zones (or sound ones, learned apart) and looked for and
/// not seen at so many others, at most [`MOST_LESSONS`] together. Fails on more of them.
///
/// ```
/// use forecast::learn::{Rate, clue};
/// let learned = clue(Rate::new(0.6, 5.0)?, 4, 1)?;
/// assert!((learned.mean - 0.7).abs() < 1e-12);
/// # Ok::<(), forecast::learn::LearnError>(())
/// ```
pub fn clue(prior: Rate, seen: u32, not_seen: u32) -> Result<Learned, LearnError> {
    let (so, not) = (seen as usize, not_seen as usize);
    let lessons = so.saturating_add(not);
    counted(lessons)?;
    Ok(learned(prior, lessons, so, Vec::new()))
}

fn learned(prior: Rate, lessons: usize, so: usize, odds: Vec<f64>) -> Learned {
    let (a, b) = prior.after(lessons, so);
    let closed = odds.is_empty().then(|| a / (a + b));
    let posterior = Posterior::new(a, b, odds);
    let [p05, p95] = [0.05, 0.95].map(|p| posterior.quantile(p));
    Learned { before: prior, mean: closed.unwrap_or_else(|| posterior.mean()), p05, p95, lessons, so }
}

fn checked(opened: &[Opening]) -> Result<(), LearnError> {
    counted(opened.len())?;
    opened
        .iter()
        .enumerate()
        .try_for_each(|(place, opening)| within("the odds", Some(place + 1), opening.odds, 1.0 / MOST_ODDS, MOST_ODDS))
}

/// Odds of 1 say nothing of the base rate, so that only the count of those remains.
fn telling(opened: &[Opening]) -> Vec<f64> {
    opened.iter().map(|opening| opening.odds).filter(|odds| *odds != 1.0).collect()
}

fn counted(count: usize) -> Result<(), LearnError> {
    if count > MOST_LESSONS { Err(LearnError::TooMany { count, most: MOST_LESSONS }) } else { Ok(()) }
}

fn within(what: &'static str, lesson: Option<usize>, value: f64, low: f64, high: f64) -> Result<(), LearnError> {
    if (low..=high).contains(&value) { Ok(()) } else { Err(LearnError::OutOfRange { what, lesson, value, low, high }) }
}
