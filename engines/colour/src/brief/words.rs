//! What a brief does, in words.

use super::want::{Said, Want};
use crate::geometry::Geometry;
use crate::lab::Lab;
use crate::travel::{DOUBTFUL_CHROMA, GREY_CHROMA, hue_name, next_name, turn_deg};

/// A change of lightness or chroma that is not worth a word: an instrument repeats no better.
const STILL: f64 = 0.5;
/// Hue difference, CIELAB dH\*, that is not worth a word.
const STILL_DH: f64 = 0.5;

/// `75°: 3 lighter, 12 greyer, hue 45° from violet towards red`.
pub(super) fn of_angle(geometry: Geometry, before: Lab, after: Lab) -> String {
    let place = format!("{}°", geometry.aspecular_deg());
    if before == after {
        return format!("{place}: as measured");
    }
    let mut parts = Vec::new();
    let (from, to) = (before.lch(), after.lch());
    let mut by = |change: f64, more: &str, less: &str| {
        if change.abs() >= STILL {
            parts.push(format!("{:.0} {}", change.abs().max(1.0), if change > 0.0 { more } else { less }));
        }
    };
    by(to.l - from.l, "lighter", "darker");
    by(to.c - from.c, "more colourful", "greyer");
    let turn = turn_deg(from.h_deg, to.h_deg);
    let chord = 2.0 * (from.c * to.c).max(0.0).sqrt() * base::math::sin(0.5 * turn.abs().to_radians());
    if to.c < GREY_CHROMA && from.c >= GREY_CHROMA {
        parts.push("grey".into());
    } else if from.c >= GREY_CHROMA && chord >= STILL_DH {
        let (old, new) = (hue_name(from.h_deg), hue_name(to.h_deg));
        let towards = if old == new { next_name(new, turn > 0.0) } else { new };
        parts.push(format!("hue {:.0}° from {old} towards {towards}", turn.abs().max(1.0)));
    } else if from.c < GREY_CHROMA && to.c >= GREY_CHROMA {
        parts.push(hue_name(to.h_deg).into());
    }
    if parts.is_empty() {
        parts.push("hardly changed".into());
    }
    format!("{place}: {}", parts.join(", "))
}

/// The plain name of a colour: of its hue, or of its grey.
pub(super) fn colour_name(lab: Lab) -> &'static str {
    if lab.chroma() >= DOUBTFUL_CHROMA {
        return hue_name(lab.hue_deg());
    }
    match lab.l {
        l if l < 12.0 => "near-black",
        l if l < 35.0 => "dark grey",
        l if l < 70.0 => "grey",
        _ => "light grey",
    }
}

/// What there is to say of the whole.
pub(super) struct Whole<'a> {
    pub(super) said: &'a [Said],
    /// The face's colour, where there is one.
    pub(super) face: Option<Lab>,
    /// The hue that leaves the flop: its name, and whether the face bears the same name.
    pub(super) going: Option<(&'static str, bool)>,
    pub(super) face_of: bool,
    pub(super) flop_of: bool,
    pub(super) by_hand: Vec<Geometry>,
}

impl Whole<'_> {
    /// `Keep the orange face. Take the violet out of the flop.`
    pub(super) fn sentence(&self) -> String {
        let mut parts = Vec::new();
        for (taken, end) in [(self.face_of, "face"), (self.flop_of, "flop")] {
            if taken {
                parts.push(format!("Take the {end} of the second paint."));
            }
        }
        parts.extend(self.said.iter().map(|said| self.want(said)));
        if !self.by_hand.is_empty() {
            let angles: Vec<String> = self.by_hand.iter().map(|g| format!("{}°", g.aspecular_deg())).collect();
            parts.push(format!("Change {} by hand.", listed(&angles)));
        }
        if parts.is_empty() {
            parts.push("The paint as it was measured.".into());
        }
        parts.join(" ")
    }

    fn want(&self, said: &Said) -> String {
        let by = degree(said.amount);
        match said.want {
            Want::KeepFace => match self.face.map(colour_name) {
                Some(name) => format!("Keep the {name} face."),
                None => "Keep the face.".into(),
            },
            Want::LoseHueTravel => {
                let (name, same) = self.going.unwrap_or(("other hue", false));
                let what = if same { format!("turn towards {name}") } else { name.to_owned() };
                format!("Take {}the {what} out of the flop.", share(said.amount))
            }
            Want::LiftFlop => format!("Make the flop {by} lighter."),
            Want::DeepenFlop => format!("Make the flop {by} darker."),
            Want::LessFlopColour if said.amount >= NEARLY_ALL => "Make the flop grey.".into(),
            Want::LessFlopColour => format!("Make the flop {by} greyer."),
            Want::MoreFlopColour => format!("Make the flop {by} more colourful."),
            Want::Quieter => format!("Make the colour {by} quieter at every angle."),
            Want::BrighterFace => format!("Make the face {by} brighter."),
            Want::CalmerFace => format!("Make the face {by} calmer."),
        }
    }
}

/// The amount from which all is meant.
const NEARLY_ALL: f64 = 0.9;

/// How much is taken of something.
fn share(amount: f64) -> &'static str {
    match amount {
        a if a >= NEARLY_ALL => "",
        a if a >= 0.6 => "most of ",
        a if a >= 0.4 => "half of ",
        _ => "a little of ",
    }
}

/// How far something goes.
fn degree(amount: f64) -> &'static str {
    match amount {
        a if a >= NEARLY_ALL => "much",
        a if a >= 0.6 => "clearly",
        a if a >= 0.3 => "somewhat",
        _ => "a little",
    }
}

/// `a, b and c`.
pub(super) fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
