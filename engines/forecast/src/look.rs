//! What a look is worth: the hours that its answer may save, less the hours it takes.
//!
//! For every place the lead either plans its metal now or leaves it closed, whichever costs fewer hours to be expected
//! by the chance of the day. An answer moves chances, here and wherever else it bears on, and some plans with
//! them. The gain of a look is what the plans cost before it less what they are expected to cost after it: the expected value of
//! sample information (H. Raiffa and R. Schlaifer, Applied Statistical Decision Theory, 1961). It is never negative and
//! never more than knowing all would gain; a look whose answer changes no plan gains nothing, however much
//! it tells.

use std::collections::BTreeMap;

use base::math;
use rayon::prelude::*;

use crate::network::{Evidence, NetworkError};
use crate::shell::{Room, Seen, Shell, ShellError, within};

/// The most places that one look, or one pair of looks, reaches.
pub const MOST_REACHED: usize = 8;
/// The most answers that a look may give about one place.
pub const MOST_ANSWERS: usize = 4;
/// The most hours that one plan may cost.
pub const MOST_STAKE_H: f64 = 1e6;
/// The most looks that are valued at once.
pub const MOST_LOOKS: usize = 2_000;

/// What plans for one place cost, in hours, each from 0 to [`MOST_STAKE_H`]; leaving a sound place closed costs nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stake {
    /// Metal planned and needed.
    pub planned_bad_h: f64,
    /// Metal planned and not needed: opened for nothing, and closed again.
    pub planned_sound_h: f64,
    /// Left closed and bad: it comes back after paint.
    pub left_bad_h: f64,
}

impl Stake {
    /// Hours to be expected from the better plan, for a weight of the case and a weight of it in which the place is bad.
    fn cost(&self, all: f64, bad: f64) -> f64 {
        let planned = bad * self.planned_bad_h + (all - bad) * self.planned_sound_h;
        planned.min(bad * self.left_bad_h)
    }

    /// Hours to be expected at this chance to be bad, 0..=1, with the better plan.
    pub fn expected(&self, chance: f64) -> f64 {
        self.cost(1.0, chance)
    }

    /// Whether the metal is the better plan at this chance.
    pub fn plans_metal(&self, chance: f64) -> bool {
        chance * self.planned_bad_h + (1.0 - chance) * self.planned_sound_h < chance * self.left_bad_h
    }
}

/// A place that a look reaches, and how often each answer is given there.
#[derive(Debug, Clone, PartialEq)]
pub struct Reach {
    /// The place.
    pub place: usize,
    /// For each answer its probability where the place is sound and where it is bad; over the answers both sum to 1.
    pub answers: Vec<(f64, f64)>,
}

/// Why looks cannot be valued.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LookError {
    /// More of something than is allowed, or not the number wanted.
    #[error("{count} {what}; it must be {wanted}")]
    Count {
        /// What is counted.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// What would be right.
        wanted: String,
    },
    /// Answers that are not all there is.
    #[error("the answers about place {place} sum to {sum}, or one is below 0; those of a look sum to 1")]
    Answers {
        /// The place.
        place: usize,
        /// The sum that is wrong.
        sum: f64,
    },
    /// The shell has no answer.
    #[error(transparent)]
    Shell(#[from] ShellError),
}

impl From<NetworkError> for LookError {
    fn from(error: NetworkError) -> Self {
        Self::Shell(ShellError::Network(error))
    }
}

/// A shell as it is known now, ready to value looks.
pub struct Looks<'a> {
    shell: &'a Shell,
    evidence: Evidence,
    stakes: &'a [Stake],
    /// The chances now.
    chances: Vec<f64>,
    ln_evidence: f64,
    /// Places that are not known for certain.
    open: Vec<usize>,
}

/// All that the places of one look can be together.
#[derive(Default)]
struct Joint {
    /// For each combination of sound and bad, the last place fastest: its weight.
    weights: Vec<f64>,
    /// The same, for each open place: the weight in which that place is bad too; combinations side by side.
    bad: Vec<Vec<f64>>,
}

impl<'a> Looks<'a> {
    /// Fails as [`Shell::chances`] does, and unless there is one stake in its range for each place.
    pub fn new(shell: &'a Shell, seen: &Seen, stakes: &'a [Stake], room: &mut Room) -> Result<Self, LookError> {
        counted("stakes", stakes.len(), shell.places()..=shell.places())?;
        for (place, stake) in stakes.iter().enumerate() {
            for hours_h in [stake.planned_bad_h, stake.planned_sound_h, stake.left_bad_h] {
                within("a plan's hours", || format!("place {place}"), hours_h, 0.0, MOST_STAKE_H)?;
            }
        }
        let evidence = shell.evidence(seen, room)?;
        let (chances, ln_evidence) = shell.update(&evidence, room)?;
        let open = (0..shell.places()).filter(|place| chances[*place] > 0.0 && chances[*place] < 1.0).collect();
        Ok(Self { shell, evidence, stakes, chances, ln_evidence, open })
    }

    /// The chance of every place now.
    pub fn chances(&self) -> &[f64] {
        &self.chances
    }

    /// Hours that the better plan of every place is expected to cost now, together.
    pub fn expected_h(&self) -> f64 {
        self.chances.iter().zip(self.stakes).map(|(chance, stake)| stake.expected(*chance)).sum()
    }

    /// Hours that would be gained by knowing every place for certain, at no cost: no look gains more.
    pub fn most_h(&self) -> f64 {
        let known = |(chance, stake): (&f64, &Stake)| chance * stake.planned_bad_h.min(stake.left_bad_h);
        self.expected_h() - self.chances.iter().zip(self.stakes).map(known).sum::<f64>()
    }

    /// Hours that each look gains, its own hours not yet taken off; looks that reach the same places cost little more
    /// than one of them. Places already known, and answers about them, gain nothing.
    ///
    /// Fails on more looks, places or answers than the limits allow, a place named twice, and on answers that do not sum to 1.
    pub fn gains(&self, looks: &[Vec<Reach>]) -> Result<Vec<f64>, LookError> {
        counted("looks", looks.len(), 0..=MOST_LOOKS)?;
        let mut told: Vec<Vec<&Reach>> = Vec::with_capacity(looks.len());
        let mut joints: BTreeMap<Vec<usize>, Joint> = BTreeMap::new();
        for look in looks {
            check(look, self.shell.places())?;
            let open: Vec<&Reach> = look.iter().filter(|reach| self.open.contains(&reach.place)).collect();
            joints.insert(places_of(&open), Joint::default());
            told.push(open);
        }
        // What a thread finds does not depend on which others it found before.
        joints.par_iter_mut().try_for_each_init(
            || self.shell.room(),
            |room, (places, joint)| {
                *joint = self.joint(places, room)?;
                Ok::<_, LookError>(())
            },
        )?;
        let gain = |told: &Vec<&Reach>| joints.get(&places_of(told)).map_or(0.0, |joint| self.gain(told, joint));
        Ok(told.par_iter().map(gain).collect())
    }

    fn joint(&self, places: &[usize], room: &mut Room) -> Result<Joint, LookError> {
        let combinations = 1_usize << places.len();
        let mut joint = Joint { weights: vec![0.0; combinations], bad: vec![vec![0.0; combinations]; self.open.len()] };
        let mut evidence = self.evidence.clone();
        // Of one place, sound is what is left.
        for combination in usize::from(places.len() == 1)..combinations {
            for (at, place) in places.iter().enumerate() {
                let variable = self.shell.variable(*place, || "a look".into())?;
                evidence.set(variable, self.evidence.of(variable));
                evidence.is(variable, combination >> (places.len() - 1 - at) & 1)?;
            }
            let (chances, ln_evidence) = match self.shell.update(&evidence, room) {
                Err(ShellError::Network(NetworkError::Impossible)) => continue,
                other => other?,
            };
            let weight = math::exp(ln_evidence - self.ln_evidence);
            joint.weights[combination] = weight;
            for (bad, place) in joint.bad.iter_mut().zip(&self.open) {
                bad[combination] = weight * chances[*place];
            }
        }
        if let [_] = places {
            joint.weights[0] = 1.0 - joint.weights[1];
            for (bad, place) in joint.bad.iter_mut().zip(&self.open) {
                bad[0] = (self.chances[*place] - bad[1]).max(0.0);
            }
        }
        Ok(joint)
    }

    fn gain(&self, told: &[&Reach], joint: &Joint) -> f64 {
        let all = answered(&joint.weights, told);
        let mut gain = 0.0;
        for (place, bad) in self.open.iter().zip(&joint.bad) {
            let stake = self.stakes[*place];
            let bad = answered(bad, told);
            let after: f64 = all.iter().zip(&bad).map(|(all, bad)| stake.cost(*all, *bad)).sum();
            gain += stake.expected(self.chances[*place]) - after;
        }
        gain.max(0.0)
    }
}

fn places_of(told: &[&Reach]) -> Vec<usize> {
    told.iter().map(|reach| reach.place).collect()
}

/// Weights of all combinations of answers from the weights of all combinations of sound and bad, place by place.
fn answered(weights: &[f64], told: &[&Reach]) -> Vec<f64> {
    let mut now = weights.to_vec();
    // The first place is the slowest; each step takes it off the front and puts its answers at the back, so that after
    // the last place they stand in the order of the places.
    for reach in told {
        let rest = now.len() / 2;
        let (sound, bad) = now.split_at(rest);
        let mut next = Vec::with_capacity(rest * reach.answers.len());
        for (sound, bad) in sound.iter().zip(bad) {
            next.extend(reach.answers.iter().map(|(if_sound, if_bad)| sound * if_sound + bad * if_bad));
        }
        now = next;
    }
    now
}

fn counted(what: &'static str, count: usize, wanted: std::ops::RangeInclusive<usize>) -> Result<(), LookError> {
    if wanted.contains(&count) {
        return Ok(());
    }
    let wanted = if wanted.start() == wanted.end() {
        format!("{}", wanted.start())
    } else {
        format!("from {} to {}", wanted.start(), wanted.end())
    };
    Err(LookError::Count { what, count, wanted })
}

fn check(look: &[Reach], places: usize) -> Result<(), LookError> {
    counted("places of a look", look.len(), 1..=MOST_REACHED)?;
    for (at, reach) in look.iter().enumerate() {
        if reach.place >= places || look.iter().take(at).any(|before| before.place == reach.place) {
            return Err(ShellError::NoSuch { of: "a look".into(), what: "place", number: reach.place }.into());
        }
        counted("answers about a place", reach.answers.len(), 1..=MOST_ANSWERS)?;
        for side in [|answer: &(f64, f64)| answer.0, |answer: &(f64, f64)| answer.1] {
            let sum: f64 = reach.answers.iter().map(side).sum();
            if !((sum - 1.0).abs() < 1e-9 && reach.answers.iter().all(|answer| side(answer) >= 0.0)) {
                return Err(LookError::Answers { place: reach.place, sum });
            }
        }
    }
    Ok(())
}
