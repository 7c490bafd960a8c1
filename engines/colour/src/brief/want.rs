//! What one can ask for in plain words.

use std::fmt;
use std::str::FromStr;

use super::BriefError;

/// One thing asked for of a paint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Want {
    /// The face stays: no other words touch -15, 15 and 25 degrees. Any amount over 0 keeps it whole.
    KeepFace,
    /// The hue past the face turns back to the face's. Fully: the face's hue at every angle.
    LoseHueTravel,
    /// A lighter flop. Fully: half as far from the face's lightness, and at least 10 of L\*.
    LiftFlop,
    /// A darker flop. Fully: half its lightness.
    DeepenFlop,
    /// Less chroma in the flop. Fully: a grey flop.
    LessFlopColour,
    /// More chroma in the flop. Fully: half as much again, and at least 10.
    MoreFlopColour,
    /// Less chroma at every angle. Fully: half of it.
    Quieter,
    /// A lighter face. Fully: 15 of L\*.
    BrighterFace,
    /// A darker face. Fully: half as far from the flash's lightness, and at least 10 of L\*.
    CalmerFace,
}

/// What was asked for, and how much of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Said {
    /// What.
    pub want: Want,
    /// How much: 0 for not at all, 1 for fully.
    pub amount: f64,
}

impl Want {
    /// All, in the order in which they are carried out: the order of saying makes no difference.
    pub const ALL: [Self; 9] = [
        Self::KeepFace,
        Self::LoseHueTravel,
        Self::LiftFlop,
        Self::DeepenFlop,
        Self::LessFlopColour,
        Self::MoreFlopColour,
        Self::Quieter,
        Self::BrighterFace,
        Self::CalmerFace,
    ];

    /// The word for files and forms; it never changes.
    pub fn key(self) -> &'static str {
        match self {
            Self::KeepFace => "keep-face",
            Self::LoseHueTravel => "lose-hue-travel",
            Self::LiftFlop => "lift-flop",
            Self::DeepenFlop => "deepen-flop",
            Self::LessFlopColour => "less-flop-colour",
            Self::MoreFlopColour => "more-flop-colour",
            Self::Quieter => "quieter",
            Self::BrighterFace => "brighter-face",
            Self::CalmerFace => "calmer-face",
        }
    }

    /// Every key, for an error's words.
    pub(super) fn keys() -> String {
        Self::ALL.map(Self::key).join(", ")
    }

    /// What a painter would say.
    pub fn words(self) -> &'static str {
        match self {
            Self::KeepFace => "keep the face",
            Self::LoseHueTravel => "lose the other hue in the flop",
            Self::LiftFlop => "lighter flop",
            Self::DeepenFlop => "darker flop",
            Self::LessFlopColour => "less colour in the flop",
            Self::MoreFlopColour => "more colour in the flop",
            Self::Quieter => "quieter colour all over",
            Self::BrighterFace => "brighter face",
            Self::CalmerFace => "calmer face",
        }
    }

    /// What the full amount means.
    pub fn full(self) -> &'static str {
        match self {
            Self::KeepFace => "nothing else that is asked for touches -15, 15 and 25 degrees",
            Self::LoseHueTravel => "fully: the face's hue at every angle",
            Self::LiftFlop => "fully: half as far from the face's lightness",
            Self::DeepenFlop => "fully: half its lightness",
            Self::LessFlopColour => "fully: a grey flop",
            Self::MoreFlopColour => "fully: half as much colour again",
            Self::Quieter => "fully: half the colour at every angle",
            Self::BrighterFace => "fully: lighter by 15 (L*)",
            Self::CalmerFace => "fully: half as far from the flash's lightness",
        }
    }

    /// The want that says the opposite.
    pub(super) fn opposite(self) -> Option<Self> {
        match self {
            Self::LiftFlop => Some(Self::DeepenFlop),
            Self::DeepenFlop => Some(Self::LiftFlop),
            Self::LessFlopColour => Some(Self::MoreFlopColour),
            Self::MoreFlopColour => Some(Self::LessFlopColour),
            Self::BrighterFace => Some(Self::CalmerFace),
            Self::CalmerFace => Some(Self::BrighterFace),
            Self::KeepFace | Self::LoseHueTravel | Self::Quieter => None,
        }
    }
}

impl fmt::Display for Want {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}

impl FromStr for Want {
    type Err = BriefError;

    /// Reads a key; blanks around it are accepted.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let key = text.trim();
        Self::ALL.into_iter().find(|want| want.key() == key).ok_or_else(|| BriefError::Word { text: text.to_owned() })
    }
}
