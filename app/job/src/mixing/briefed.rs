//! A brief: what is liked about a measured paint and what is not, as the record keeps it.

use serde::{Deserialize, Serialize};

use super::Brief;
use crate::ids::EntryId;
use crate::words::worded;

worded! {
    /// Something asked for in plain words. Keys and words are those of [`colour::brief::Want`].
    pub enum Wanted {
        /// The face stays as it is.
        KeepFace = "keep-face", "keep the face";
        /// The hue past the face turns back to the face's.
        LoseHueTravel = "lose-hue-travel", "lose the other hue in the flop";
        /// A lighter flop.
        LiftFlop = "lift-flop", "lighter flop";
        /// A darker flop.
        DeepenFlop = "deepen-flop", "darker flop";
        /// A greyer flop.
        LessFlopColour = "less-flop-colour", "less colour in the flop";
        /// A stronger flop.
        MoreFlopColour = "more-flop-colour", "more colour in the flop";
        /// Less colour at every angle.
        Quieter = "quieter", "quieter colour all over";
        /// A lighter face.
        BrighterFace = "brighter-face", "brighter face";
        /// A darker face.
        CalmerFace = "calmer-face", "calmer face";
    }
}

/// One thing asked for, and how much of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Said {
    /// What.
    pub what: Wanted,
    /// How much: 0 for not at all, 1 for fully.
    pub how_much: f64,
}

/// What the owner wants of a measured paint, and what not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Briefed {
    /// The shop's name for it.
    pub name: String,
    /// The entry of the measured paint it starts from.
    pub donor: EntryId,
    /// What was said in plain words, each thing once.
    #[serde(default)]
    pub words: Vec<Said>,
    /// The entry of a second measured paint whose face is wanted.
    #[serde(default)]
    pub face_of: Option<EntryId>,
    /// The entry of a second measured paint whose flop is wanted.
    #[serde(default)]
    pub flop_of: Option<EntryId>,
    /// What comes of it, angle by angle, with what was changed by hand. This is what counts: the words and the
    /// other paints say how it came about.
    pub brief: Brief,
    /// Why, in the owner's or the shop's own words.
    #[serde(default)]
    pub why: String,
    /// What was doubtful when it was made.
    #[serde(default)]
    pub doubts: Vec<String>,
    /// In the person's own words.
    #[serde(default)]
    pub note: String,
}
