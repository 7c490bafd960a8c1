//! Chances in the words and the figures that people use.

use super::Chance;
use crate::words::worded;

worded! {
    /// How likely a zone is to need metal, in words.
    pub enum Likelihood {
        /// Under one in ten.
        VeryUnlikely = "very_unlikely", "very unlikely to need metal";
        /// Under three in ten.
        Unlikely = "unlikely", "unlikely to need metal";
        /// Under six in ten.
        May = "may", "may need metal";
        /// Under 8.5 in ten.
        Likely = "likely", "likely to need metal";
        /// More than that.
        VeryLikely = "very_likely", "very likely to need metal";
    }
}

impl Likelihood {
    /// The words for a chance, by its likely value.
    pub fn of(chance: &Chance) -> Self {
        match chance.likely {
            p if p < 0.1 => Self::VeryUnlikely,
            p if p < 0.3 => Self::Unlikely,
            p if p < 0.6 => Self::May,
            p if p < 0.85 => Self::Likely,
            _ => Self::VeryLikely,
        }
    }

    /// The words without saying for what: "likely".
    pub fn short(self) -> &'static str {
        match self {
            Self::VeryUnlikely => "very unlikely",
            Self::Unlikely => "unlikely",
            Self::May => "possible",
            Self::Likely => "likely",
            Self::VeryLikely => "very likely",
        }
    }
}

/// A chance as so many in ten: "6 to 9 in 10". Never one figure alone, since nobody knows it that well.
///
/// ```
/// let chance = job::outlook::Chance { low: 0.57, likely: 0.77, high: 0.89 };
/// assert_eq!(job::outlook::in_ten(&chance), "6 to 9 in 10");
/// ```
pub fn in_ten(chance: &Chance) -> String {
    let round = |p: f64| (p * 10.0).round();
    match (round(chance.low), round(chance.high)) {
        _ if chance.high < 0.1 => "under 1 in 10".into(),
        _ if chance.low > 0.9 => "over 9 in 10".into(),
        (low, high) if low < 1.0 => format!("up to {high:.0} in 10"),
        (low, high) if high > 9.0 => format!("{low:.0} in 10 or more"),
        (low, high) if low == high => format!("about {low:.0} in 10"),
        (low, high) => format!("{low:.0} to {high:.0} in 10"),
    }
}

/// One chance before it was looked into: "about 7 in 10".
pub(super) fn tenths(p: f64) -> String {
    let tenths = (p * 10.0).round();
    if tenths < 1.0 { "under 1 in 10".into() } else { format!("about {tenths:.0} in 10") }
}

/// What something multiplies the odds by: "x3.3", "x15", "x0.27".
pub(super) fn times(ratio: f64) -> String {
    let places = match ratio {
        r if r >= 9.95 => 0,
        r if r >= 0.995 => 1,
        _ => 2,
    };
    let text = format!("{ratio:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    format!("x{text}")
}

/// Words as they stand inside a sentence.
pub(super) fn lower(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}
