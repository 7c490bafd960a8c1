//! Colour Index generic names: what a pigment is called whoever makes it.
//!
//! `P`, a hue (`Y`, `O`, `R`, `V`, `B`, `G`, `Br`, `Bk`, `W`, `M` for metal) and a number; `:` and a number name
//! a form of it, such as the crystal of `PB15:3`. The naming is that of the Colour Index (Society of Dyers and
//! Colourists, and American Association of Textile Chemists and Colorists); its rules from memory.

use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;

/// The pigments of toners, by the toner's name; a toner that is not named here has an unknown one.
pub type Pigments = BTreeMap<String, Pigment>;

/// Hues, the longer words first so that `PBk7` is no blue.
const HUES: [&str; 10] = ["Br", "Bk", "Y", "O", "R", "V", "B", "G", "W", "M"];
/// The highest number taken; the Colour Index has some hundred of each hue.
const MOST: u16 = 999;

/// A pigment by its Colour Index generic name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pigment {
    hue: &'static str,
    number: u16,
    form: Option<u16>,
}

impl Pigment {
    /// Whether this is `of` or a form of it: `PB15:3` is one of `PB15`, and not the other way round.
    pub fn is(&self, of: &Self) -> bool {
        self.hue == of.hue && self.number == of.number && (of.form.is_none() || self.form == of.form)
    }
}

impl fmt::Display for Pigment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.form {
            Some(form) => f.pad(&format!("P{}{}:{form}", self.hue, self.number)),
            None => f.pad(&format!("P{}{}", self.hue, self.number)),
        }
    }
}

/// A text that is no generic name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", WANTED)]
pub struct NoPigment;

/// What would be right.
pub const WANTED: &str = "a Colour Index generic name such as PB15, PR254 or PB15:3, or nothing";

impl FromStr for Pigment {
    type Err = NoPigment;

    /// Reads a name in capitals or not, with or without a blank: `PB 15` is `PB15`.
    fn from_str(text: &str) -> Result<Self, NoPigment> {
        let text: String = text.chars().filter(|c| !c.is_whitespace()).take(20).collect();
        let rest = text.strip_prefix(['P', 'p']).ok_or(NoPigment)?;
        let starts = |hue: &&&str| rest.get(..hue.len()).is_some_and(|start| start.eq_ignore_ascii_case(hue));
        let hue = HUES.iter().find(starts).ok_or(NoPigment)?;
        let figures = rest.get(hue.len()..).unwrap_or_default();
        let (number, form) = match figures.split_once(':') {
            Some((number, form)) => (number, Some(form)),
            None => (figures, None),
        };
        Ok(Self { hue, number: figure(number)?, form: form.map(figure).transpose()? })
    }
}

fn figure(text: &str) -> Result<u16, NoPigment> {
    // Figures alone: a sign would be read as a number too.
    let plain = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let number = text.parse().ok().filter(|number| plain && (1..=MOST).contains(number));
    number.ok_or(NoPigment)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pigment(text: &str) -> Pigment {
        text.parse().unwrap()
    }

    #[test]
    fn a_name_is_read_in_any_case_and_written_in_one() {
        for (typed, written) in [
            ("PB15", "PB15"),
            ("pb 15:3", "PB15:3"),
            ("PBk7", "PBk7"),
            ("pbK7", "PBk7"),
            ("PBr24", "PBr24"),
            ("PR254", "PR254"),
            ("pw6", "PW6"),
        ] {
            assert_eq!(pigment(typed).to_string(), written);
            assert_eq!(pigment(written), pigment(typed));
        }
    }

    #[test]
    fn what_is_no_name_is_refused() {
        for typed in ["", "P", "B15", "PB", "PX3", "PB0", "PB1000", "PB-15", "PB15:", "PB15:x", "phthalo blue", "Pé1"]
        {
            assert_eq!(typed.parse::<Pigment>(), Err(NoPigment), "{typed}");
        }
    }

    #[test]
    fn a_form_is_one_of_its_pigment_and_not_the_other_way_round() {
        assert!(pigment("PB15:3").is(&pigment("PB15")) && pigment("PB15").is(&pigment("PB15")));
        assert!(!pigment("PB15").is(&pigment("PB15:3")) && !pigment("PB15:1").is(&pigment("PB15:3")));
        assert!(!pigment("PB15").is(&pigment("PBk15")) && !pigment("PB15").is(&pigment("PG15")));
    }
}
