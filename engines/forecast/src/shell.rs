//! What a shell hides: places that are bad more often together than chance alone would have it.
//!
//! A [`Place`] is something that may be bad: a zone that needs metal, a bent leg, a bad repair. It leans on
//! [`Cause`]s nobody sees, such as how wet one corner of the car has been kept, and so two places that lean on the
//! same cause inform each other, both ways. How far is given as the trade gives it: by what factor the odds of a place
//! rise when a like one on the same cause turns out bad. Every chance before looking stays what it was,
//! however strong the leaning; with no leaning at all the answers are those of [`crate::odds`].
//!
//! The whole is a [`crate::network`], and its answers are exact for that model. The model itself is a simple one:
//! a cause is either on or off, and a place adds up what its causes do to its log-odds. Source of the form: latent
//! class and one-factor models as in D. J. Bartholomew, M. Knott and I. Moustaki, Latent Variable Models and Factor
//! Analysis, 3rd ed. 2011 (from memory); the factors are common practice, no source.

mod cause;
mod fact;
mod lean;

use crate::network::{Evidence, Network, NetworkError, Posterior, Table, Tree, Variable, Work};
use base::stream::Stream;

pub use fact::Fact;

/// The most causes a place may lean on.
pub const MOST_LEANS: usize = 4;
/// Chances before looking are from here to one minus it.
pub const CHANCE_END: f64 = 0.001;
/// A factor of the odds by which a like place may inform this one, at most.
pub const MOST_FACTOR: f64 = 20.0;
/// The most places that all draws of one question hold together: a byte for each.
pub const MOST_DRAWN: usize = 200_000_000;
/// The most numbers that the tables of a shell hold together: some 5 MB with the maps between them, and quick enough to
/// value every look. A car's zones on eleven wet paths take some 2 500.
pub const MOST_WOVEN: u64 = 200_000;
/// The stream that places are drawn from: far from 0, 1, 2, ..., by which work that is cut into pieces numbers its
/// streams, and from the last, which it may keep for what the pieces share. So whoever draws places here and then,
/// under the same seed, the hours that they take gets hours that have nothing to do with the places.
const STREAM: u64 = u64::MAX - 1;
/// The most facts that bear on one place.
pub const MOST_FACTS: usize = 100;

/// Something nobody sees that makes several places better or worse than usual together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cause {
    /// A wider cause, given before this one, that this one follows.
    pub wider: Option<usize>,
    /// How often it is on or off with the wider one for that reason, 0..=1; else it is so by itself.
    pub follows: f64,
    /// How often it is on by itself, 0..=1; half for wetness above and below the usual, less for what is rare.
    pub on: f64,
}

/// A cause that a place leans on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lean {
    /// The cause's place among the causes.
    pub on: usize,
    /// What the odds of this place are multiplied by when a like place that has only this cause in common with it
    /// turns out bad, 1..=[`MOST_FACTOR`].
    ///
    /// Met as nearly as causes that are only on or off can: never more than 2 in a hundred too much, but far too little
    /// where a place is bad nearly always, or leans on several causes and is bad more often than not. The chance of the
    /// place stays what was given. So 1.8 is met by a place that is bad in 0.3 of all cars and leans on two causes that
    /// are each on in half; at 0.5 it comes to 1.66, at 0.72 to 1.57, and at 0.9 to 1.14.
    pub factor: f64,
}

/// Something that may be bad.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// The chance that it is, before anybody looked at this car; [`CHANCE_END`] from 0 and 1 at least.
    pub chance: f64,
    /// What it leans on, at most [`MOST_LEANS`], each cause once.
    pub leans: Vec<Lean>,
}

/// What has been seen of a shell.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Seen {
    /// Places known to be bad (`true`) or sound.
    pub known: Vec<(usize, bool)>,
    /// What bears on places without settling them.
    pub facts: Vec<Fact>,
}

/// Why a shell was refused, or has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ShellError {
    /// A number lies outside the range that makes sense, or is not a number.
    #[error("{what} of {of} is {value}; it must be from {low} to {high}")]
    OutOfRange {
        /// What the number is.
        what: &'static str,
        /// Of which cause, place or fact, by its number.
        of: String,
        /// Its value.
        value: f64,
        /// The least allowed.
        low: f64,
        /// The most allowed.
        high: f64,
    },
    /// A cause or place that is not there, is named twice, or comes too late.
    #[error("{of} names {what} number {number}, which is not there, is named twice, or does not come before it")]
    NoSuch {
        /// Which names it.
        of: String,
        /// What is named.
        what: &'static str,
        /// Its number.
        number: usize,
    },
    /// A fact that bears on several places could not be weighed so that it does to each of them what it alone should
    /// do: places that nearly always go together, and a fact that tears them apart.
    #[error(
        "fact {fact} does not settle: after {rounds} rounds of weighing it a place is off by {off:.1e} of its ratio, and {most:.0e} is the most; give it ratios nearer to 1, or fewer places"
    )]
    Unsettled {
        /// The fact, by its number.
        fact: usize,
        /// How many rounds were tried.
        rounds: usize,
        /// How far the worst of its places stays from where it should be, as a difference of natural logarithms of
        /// odds.
        off: f64,
        /// The most allowed.
        most: f64,
    },
    /// The network refused.
    #[error(transparent)]
    Network(#[from] NetworkError),
}

/// A shell made ready for questions.
pub struct Shell {
    network: Network,
    tree: Tree,
    causes: usize,
    chances: Vec<f64>,
}

/// Room for questions, and the facts already weighed, so that the next question is quicker.
pub struct Room {
    work: Work,
    weighed: fact::Weighed,
}

impl Shell {
    /// A shell of these places and what they lean on. `coupling`, 0..=1, takes that power of every factor: 1 as they
    /// are given, 0 nothing in common at all.
    ///
    /// Fails on a number outside its range, a cause or place that is not there, and on places so tightly woven that an
    /// exact answer would not fit in [`MOST_WOVEN`] numbers.
    ///
    /// ```
    /// use forecast::shell::{Cause, Lean, Place, Seen, Shell};
    /// let damp = Cause { wider: None, follows: 0.0, on: 0.5 };
    /// let sill = Place { chance: 0.5, leans: vec![Lean { on: 0, factor: 2.0 }] };
    /// let shell = Shell::new(&[damp], &[sill.clone(), sill], 1.0)?;
    /// let mut room = shell.room();
    /// let seen = Seen { known: vec![(0, true)], facts: vec![] };
    /// let chances = shell.chances(&seen, &mut room)?;
    /// assert!((chances[1] / (1.0 - chances[1]) - 2.0).abs() < 1e-6);
    /// # Ok::<(), forecast::shell::ShellError>(())
    /// ```
    pub fn new(causes: &[Cause], places: &[Place], coupling: f64) -> Result<Self, ShellError> {
        within("the coupling", || "the shell".into(), coupling, 0.0, 1.0)?;
        let mut variables = Vec::new();
        let mut tables = Vec::new();
        for (number, cause) in causes.iter().enumerate() {
            variables.push(Variable { name: format!("cause {number}"), states: names(["off", "on"]) });
            tables.push(cause::table(number, cause)?);
        }
        let mut loadings = lean::Loadings::default();
        for (number, place) in places.iter().enumerate() {
            variables.push(Variable { name: format!("place {number}"), states: names(["sound", "bad"]) });
            tables.push(place_table(number, place, causes, coupling, &mut loadings)?);
        }
        let network = Network::new(variables, tables)?;
        let tree = Tree::compile(&network, MOST_WOVEN)?;
        Ok(Self { network, tree, causes: causes.len(), chances: places.iter().map(|place| place.chance).collect() })
    }

    /// How many places there are.
    pub fn places(&self) -> usize {
        self.chances.len()
    }

    /// The network behind it: causes first, then places.
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// The tree that answers for it.
    pub fn tree(&self) -> &Tree {
        &self.tree
    }

    /// Room for questions to this shell, and only to it.
    pub fn room(&self) -> Room {
        Room { work: self.tree.work(), weighed: fact::Weighed::default() }
    }

    /// The chance of every place to be bad, given what has been seen; 1 or 0 for what is known.
    ///
    /// Fails on a place that is not there, a ratio outside its range, and a fact that cannot be weighed
    /// ([`ShellError::Unsettled`]). What cannot be together, such as a place known
    /// both bad and sound, is [`NetworkError::Impossible`].
    pub fn chances(&self, seen: &Seen, room: &mut Room) -> Result<Vec<f64>, ShellError> {
        let evidence = self.evidence(seen, room)?;
        self.marginals(&evidence, room)
    }

    /// The chance of every place for each piece that was seen, known places first and then facts, as if just
    /// that piece had not been seen.
    ///
    /// Fails as [`Shell::chances`] does.
    pub fn without_each(&self, seen: &Seen, room: &mut Room) -> Result<Vec<Vec<f64>>, ShellError> {
        let mut evidence = self.evidence(seen, room)?;
        let weights = self.weights(seen, room)?;
        let mut without = Vec::with_capacity(seen.known.len() + seen.facts.len());
        let known = seen.known.iter().map(|(place, _)| vec![*place]);
        let of_facts = seen.facts.iter().map(|fact| fact.bears_on.iter().map(|(place, _)| *place).collect());
        for (piece, places) in known.chain(of_facts).enumerate() {
            for place in &places {
                self.enter(&mut evidence, seen, &weights, *place, Some(piece))?;
            }
            without.push(self.marginals(&evidence, room)?);
            for place in &places {
                self.enter(&mut evidence, seen, &weights, *place, None)?;
            }
        }
        Ok(without)
    }

    /// Draws all places together, given what has been seen: for each draw and place whether it is bad, the places of
    /// one draw side by side. The same seed gives the same draws; hours may be drawn under that seed too. `draws` is 1
    /// or more, and together with the places makes [`MOST_DRAWN`] at most.
    ///
    /// Fails as [`Shell::chances`] does.
    pub fn draw(&self, seen: &Seen, draws: usize, seed: u64, room: &mut Room) -> Result<Vec<bool>, ShellError> {
        let most = MOST_DRAWN / self.places().max(1);
        within("the number of draws", || "the shell".into(), draws as f64, 1.0, most as f64)?;
        let evidence = self.evidence(seen, room)?;
        let posterior = self.tree.update(&evidence, &mut room.work)?;
        let sampler = posterior.sampler();
        let mut stream = Stream::new(seed, STREAM);
        let mut states = vec![0_u16; self.network.variables().len()];
        let mut all = Vec::with_capacity(draws * self.places());
        for _ in 0..draws {
            sampler.draw(&mut stream, &mut states);
            all.extend(states[self.causes..].iter().map(|state| *state == 1));
        }
        Ok(all)
    }

    /// All that has been seen, as the network takes it.
    pub(crate) fn evidence(&self, seen: &Seen, room: &mut Room) -> Result<Evidence, ShellError> {
        let weights = self.weights(seen, room)?;
        let mut evidence = Evidence::none(&self.network);
        let mut places: Vec<usize> = seen.known.iter().map(|(place, _)| *place).collect();
        places.extend(seen.facts.iter().flat_map(|fact| fact.bears_on.iter().map(|(place, _)| *place)));
        places.sort_unstable();
        for of in places.chunk_by(|a, b| a == b) {
            let pieces = of.len() as f64;
            within("how many things were seen", || format!("place {}", of[0]), pieces, 1.0, MOST_FACTS as f64)?;
        }
        places.dedup();
        for place in places {
            self.enter(&mut evidence, seen, &weights, place, None)?;
        }
        Ok(evidence)
    }

    /// Enters anew what was seen of one place, but for one piece.
    fn enter(
        &self,
        evidence: &mut Evidence,
        seen: &Seen,
        weights: &[Vec<f64>],
        place: usize,
        but: Option<usize>,
    ) -> Result<(), ShellError> {
        let variable = self.variable(place, || "what was seen".into())?;
        evidence.forget(variable);
        let counts = |piece: usize| but != Some(piece);
        for (piece, (of, bad)) in seen.known.iter().enumerate() {
            if *of == place && counts(piece) {
                evidence.is(variable, usize::from(*bad))?;
            }
        }
        for (number, (fact, weights)) in seen.facts.iter().zip(weights).enumerate() {
            for ((_, _), weight) in fact.bears_on.iter().zip(weights).filter(|((of, _), _)| *of == place) {
                if counts(seen.known.len() + number) {
                    evidence.likely(variable, &[1.0, *weight])?;
                }
            }
        }
        Ok(())
    }

    /// The chances given evidence on places.
    pub(crate) fn marginals(&self, evidence: &Evidence, room: &mut Room) -> Result<Vec<f64>, ShellError> {
        Ok(self.update(evidence, room)?.0)
    }

    /// The chances given evidence on places, and the logarithm of the evidence's probability.
    pub(crate) fn update(&self, evidence: &Evidence, room: &mut Room) -> Result<(Vec<f64>, f64), ShellError> {
        let posterior = self.tree.update(evidence, &mut room.work)?;
        Ok((self.bad(&posterior), posterior.ln_evidence()))
    }

    fn bad(&self, posterior: &Posterior<'_>) -> Vec<f64> {
        let bad = |place| posterior.marginal(self.causes + place).get(1).copied().unwrap_or_default();
        (0..self.places()).map(bad).collect()
    }

    /// The network's variable of a place.
    pub(crate) fn variable(&self, place: usize, of: impl Fn() -> String) -> Result<usize, ShellError> {
        if place < self.places() {
            Ok(self.causes + place)
        } else {
            Err(ShellError::NoSuch { of: of(), what: "place", number: place })
        }
    }
}

fn names<const N: usize>(names: [&str; N]) -> Vec<String> {
    names.into_iter().map(str::to_owned).collect()
}

pub(crate) fn within(
    what: &'static str,
    of: impl Fn() -> String,
    value: f64,
    low: f64,
    high: f64,
) -> Result<(), ShellError> {
    if (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(ShellError::OutOfRange { what, of: of(), value, low, high })
    }
}

fn place_table(
    number: usize,
    place: &Place,
    causes: &[Cause],
    coupling: f64,
    loadings: &mut lean::Loadings,
) -> Result<Table, ShellError> {
    let of = || format!("place {number}");
    within("the chance", of, place.chance, CHANCE_END, 1.0 - CHANCE_END)?;
    within("the number of leans", of, place.leans.len() as f64, 0.0, MOST_LEANS as f64)?;
    let mut factors = Vec::new();
    let mut parents = Vec::new();
    for lean in &place.leans {
        within("a factor", of, lean.factor, 1.0, MOST_FACTOR)?;
        if lean.on >= causes.len() || parents.contains(&lean.on) {
            return Err(ShellError::NoSuch { of: of(), what: "cause", number: lean.on });
        }
        let factor = base::math::exp(coupling * base::math::ln(lean.factor));
        // What does nothing would only make the network wider.
        if factor > 1.0 {
            factors.push(factor);
            parents.push(lean.on);
        }
    }
    let bad = loadings.chances(place.chance, &factors, &cause::together(causes, &parents));
    Ok(Table { parents, rows: bad.into_iter().flat_map(|p| [1.0 - p, p]).collect() })
}
