//! What the address of a panel asks for: which paint, in which light, how it is turned.

use std::fmt;

use job::colour::preview::Scene;
use job::paintwork::preview::{Subject, Wanted};

use crate::fault::Fault;
use crate::link;
use crate::typed::Typed;

/// How far the panel can be turned to either side and tilted, degrees: the island's sliders end there too.
pub(crate) const MOST_TURN: f64 = 70.0;
pub(crate) const MOST_TILT: f64 = 25.0;
/// How it is turned when nothing is said, degrees.
const USUAL_TURN: f64 = 20.0;
/// The word for a wish that is not kept yet; the fields of the brief's form stand beside it.
const WISH: &str = "wish";

/// A paint on a panel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Paint {
    /// An entry of the record.
    Entry(Subject),
    /// What the brief in the same address wishes for.
    Wish,
}

impl Paint {
    /// Reads `m12`, `b15`, `r20` or `wish`.
    pub(crate) fn read(text: &str) -> Result<Self, Fault> {
        if text == WISH {
            return Ok(Self::Wish);
        }
        text.parse().map(Self::Entry).map_err(|e| Fault::Shop(job::shop::ShopError::Preview(e)))
    }
}

impl fmt::Display for Paint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Entry(subject) => subject.fmt(f),
            Self::Wish => f.write_str(WISH),
        }
    }
}

/// How a paint is looked at.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Look {
    /// The light.
    pub(crate) scene: Scene,
    /// Turned about the upright axis, degrees; positive shows the panel's face to the right.
    pub(crate) turn: f64,
    /// Tilted, degrees; positive shows its face downwards.
    pub(crate) tilt: f64,
    /// Whether what the screen cannot show is marked.
    pub(crate) mark: bool,
    /// Recipes over this primer of their shelf.
    pub(crate) over: Option<String>,
    /// Recipes with one coat less.
    pub(crate) less: bool,
}

impl Default for Look {
    fn default() -> Self {
        Self { scene: Scene::Overcast, turn: USUAL_TURN, tilt: 0.0, mark: false, over: None, less: false }
    }
}

fn angle(typed: &Typed, name: &'static str, usual: f64, most: f64) -> Result<f64, Fault> {
    let text = typed.get(name);
    if text.is_empty() {
        return Ok(usual);
    }
    let wrong = || {
        let short: String = text.chars().take(20).collect();
        Fault::Bad(format!("The panel cannot be shown with {name} {short}: it must be -{most} to {most} degrees."))
    };
    let value: f64 = text.parse().map_err(|_| wrong())?;
    if (-most..=most).contains(&value) { Ok(value) } else { Err(wrong()) }
}

impl Look {
    /// Reads it from an address; what is not said is as usual.
    pub(crate) fn read(typed: &Typed) -> Result<Self, Fault> {
        let usual = Self::default();
        let scene = match typed.get("light") {
            "" => usual.scene,
            text => text.parse().map_err(|_| {
                let short: String = text.chars().take(20).collect();
                let known: Vec<&str> = Scene::ALL.iter().map(|scene| scene.key()).collect();
                Fault::Bad(format!("\"{short}\" is no light of the panel: it must be one of {}.", known.join(", ")))
            })?,
        };
        Ok(Self {
            scene,
            turn: angle(typed, "turn", usual.turn, MOST_TURN)?,
            tilt: angle(typed, "tilt", usual.tilt, MOST_TILT)?,
            mark: typed.is("mark", "1"),
            over: Some(typed.get("over")).filter(|over| !over.is_empty()).map(str::to_owned),
            less: typed.is("less", "1"),
        })
    }

    /// What a recipe's paint hangs on, as part of an address; nothing for other paints.
    fn coats(&self) -> String {
        let over = self.over.as_deref().map(|over| format!("&over={}", link::escape(over))).unwrap_or_default();
        format!("{over}{}", if self.less { "&less=1" } else { "" })
    }

    /// The light and the coats, as part of an address: what a sphere hangs on.
    pub(crate) fn lit(&self) -> String {
        format!("light={}{}", self.scene.key(), self.coats())
    }

    /// All of it, as part of an address.
    pub(crate) fn query(&self) -> String {
        let mark = if self.mark { "&mark=1" } else { "" };
        format!("{}&turn={}&tilt={}{mark}", self.lit(), self.turn, self.tilt)
    }

    /// A paint of the record as it is looked at; primer and coats are a recipe's alone.
    pub(crate) fn wanted(&self, subject: Subject) -> Wanted {
        match subject {
            Subject::Recipe(_) => Wanted { subject, over: self.over.clone(), less: self.less },
            _ => Wanted { subject, over: None, less: false },
        }
    }

    /// How it is turned, in words.
    pub(crate) fn words(&self) -> String {
        format!("turned {}, {}", turn_words(self.turn), tilt_words(self.tilt))
    }
}

/// A turn in words, the same as the slider's.
pub(crate) fn turn_words(turn: f64) -> String {
    slid(turn, ["to the left", "to the right", "straight on"])
}

/// A tilt in words, the same as the slider's.
pub(crate) fn tilt_words(tilt: f64) -> String {
    slid(tilt, ["up", "down", "level"])
}

fn slid(value: f64, [low, high, none]: [&str; 3]) -> String {
    let amount = (value.abs() * 100.0).round() / 100.0;
    match value {
        _ if amount == 0.0 => none.to_owned(),
        v if v < 0.0 => format!("{amount}\u{b0} {low}"),
        _ => format!("{amount}\u{b0} {high}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_read_back_and_what_cannot_be_is_refused() {
        let look =
            Look { turn: -12.5, tilt: 3.0, mark: true, over: Some("N 7/8".into()), less: true, ..Look::default() };
        let typed = |query: &str| {
            let unescape = |text: &str| text.replace("%20", " ");
            let pairs: Vec<(String, String)> =
                query.split('&').filter_map(|p| p.split_once('=')).map(|(n, v)| (n.into(), unescape(v))).collect();
            Typed::from_pairs(pairs.iter().map(|(name, value)| (name.as_str(), value.clone())))
        };
        assert_eq!(Look::read(&typed(&look.query())).unwrap(), look);
        assert_eq!(Look::read(&typed("light=&turn=&over=")).unwrap(), Look::default());
        for wrong in ["light=moon", "light=furnace", "turn=71", "tilt=-26", "turn=x", "turn=NaN", "tilt=inf"] {
            assert!(Look::read(&typed(wrong)).is_err(), "{wrong}");
        }
        assert_eq!(look.words(), "turned 12.5\u{b0} to the left, 3\u{b0} down");
        assert_eq!(Look { turn: 0.0, ..Look::default() }.words(), "turned straight on, level");
    }
}
