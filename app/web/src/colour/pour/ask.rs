//! Where somebody stands in a pour: all of it is in the address, so that it works without scripts, and the way
//! back in the browser is a way back in the pour.

use job::validate::FieldError;

use crate::link;
use crate::typed::Typed;

/// The most steps that are followed; the record keeps no more of one batch.
const MOST_STEPS: usize = 60;
/// The most remedies within one pour: whoever needs more has another trouble.
const MOST_REMEDIES: usize = 12;

/// What went in at one step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Went {
    /// What the scale showed of it, in g; `None` when it was poured as told and nobody typed a figure.
    pub(super) grams: Option<f64>,
    /// Whether what is left to pour was reckoned anew after it.
    pub(super) anew: bool,
}

/// How much is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Amount {
    /// So many grams.
    Grams(f64),
    /// So many litres, as it stands in the tin.
    Litres(f64),
    /// Whatever brings a pot that is there already to this recipe: the batch that was poured into it, and how many
    /// grams are left.
    Pot {
        /// The place of the batch's entry.
        batch: u64,
        /// Grams left in it.
        left_g: f64,
    },
}

/// The scale and the pot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    /// Its step, in g.
    pub(super) step_g: f64,
    /// The least that this shop weighs, in g.
    pub(super) least_g: f64,
    /// What the pot holds at most, in g; `None` where nobody said.
    pub(super) holds_g: Option<f64>,
}

/// Which page of a pour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum View {
    /// What to weigh, and all steps as a table.
    Sheet,
    /// One step.
    Step,
    /// Too much went in.
    Over,
    /// All is in.
    Done,
}

/// What a pour's address says.
#[derive(Debug, Clone)]
pub(super) struct Ask {
    /// The place of the recipe's entry.
    pub(super) recipe: Option<u64>,
    /// What was poured, in order.
    pub(super) went: Vec<Went>,
    /// Which page.
    pub(super) view: View,
    /// Whether the room is dark.
    pub(super) dark: bool,
    /// The fields as they were typed.
    pub(super) typed: Typed,
}

/// The fields that stay the same through a pour.
const KEPT: [&str; 7] = ["recipe", "amount", "unit", "scale", "least", "holds", "into"];

impl Ask {
    /// Reads it from an address or a form; what cannot be read is `None`.
    pub(super) fn of(typed: Typed) -> Option<Self> {
        let recipe = match typed.get("recipe") {
            "" => None,
            text => Some(text.parse().ok()?),
        };
        let view = match typed.get("at") {
            "step" => View::Step,
            "over" => View::Over,
            "done" => View::Done,
            _ => View::Sheet,
        };
        let went = read(typed.get("went"))?;
        Some(Self { recipe, went, view, dark: typed.get("dark") == "1", typed })
    }

    /// Whether an amount was asked for.
    pub(super) fn asked(&self) -> bool {
        !self.typed.get("amount").is_empty()
    }

    /// How much is wanted.
    pub(super) fn amount(&self) -> Result<Amount, FieldError> {
        let amount = self.typed.number("amount", "amount")?;
        let right = |low: f64, high: f64, unit: &str| {
            FieldError::new(
                "amount",
                format!("{amount} {unit} were asked for"),
                format!("{low} to {high} {unit} can be weighed out at once."),
            )
        };
        match (self.typed.get("into"), self.typed.get("unit")) {
            ("", "l") if (0.01..=100.0).contains(&amount) => Ok(Amount::Litres(amount)),
            ("", "l") => Err(right(0.01, 100.0, "litres")),
            ("", _) if (1.0..=100_000.0).contains(&amount) => Ok(Amount::Grams(amount)),
            (_, _) if !(1.0..=100_000.0).contains(&amount) => Err(right(1.0, 100_000.0, "g")),
            (batch, _) => match batch.parse() {
                Ok(batch) => Ok(Amount::Pot { batch, left_g: amount }),
                Err(_) => Err(FieldError::new("into", "no batch was chosen", "Choose the batch that is in the pot.")),
            },
        }
    }

    /// The scale, the smallest dose and the pot.
    pub(super) fn scale(&self) -> Result<Scale, Vec<FieldError>> {
        let within = |name: &'static str, what: &str, low: f64, high: f64| {
            let value = self.typed.number(name, what)?;
            if (low..=high).contains(&value) {
                return Ok(value);
            }
            Err(FieldError::new(name, format!("{value} g was typed for the {what}"), format!("{low} to {high} g.")))
        };
        let step = within("scale", "scale's step", 0.001, 100.0);
        let least = within("least", "smallest dose", 0.001, 1_000.0);
        let holds = match self.typed.get("holds") {
            "" => Ok(None),
            _ => within("holds", "most that the pot holds", 1.0, 200_000.0).map(Some),
        };
        match (step, least, holds) {
            (Ok(step_g), Ok(least_g), Ok(holds_g)) => Ok(Scale { step_g, least_g, holds_g }),
            (step, least, holds) => Err([step.err(), least.err(), holds.err()].into_iter().flatten().collect()),
        }
    }

    /// The pages of this pour on this car.
    pub(super) fn at(&self, car: job::ids::CarId, view: View, went: &[Went]) -> String {
        let mut address = format!("{}?", link::colour(car, "pour"));
        for (name, value) in self.fields(view, went) {
            address.push_str(&format!("{name}={}&", link::escape(&value)));
        }
        address.truncate(address.len() - 1);
        address
    }

    /// The same as fields of a form.
    pub(super) fn fields(&self, view: View, went: &[Went]) -> Vec<(&'static str, String)> {
        let mut fields: Vec<(&'static str, String)> =
            KEPT.into_iter().map(|name| (name, self.typed.get(name).to_owned())).collect();
        let at = match view {
            View::Sheet => "",
            View::Step => "step",
            View::Over => "over",
            View::Done => "done",
        };
        let dark = if self.dark { "1" } else { "" };
        fields.extend([("at", at.to_owned()), ("went", written(went)), ("dark", dark.to_owned())]);
        fields.retain(|(_, value)| !value.is_empty());
        fields
    }

    /// The same pour in a dark room, or in a light one.
    pub(super) fn turned(&self) -> Self {
        Self { dark: !self.dark, ..self.clone() }
    }
}

/// What was poured as one word of an address: a mark for each step, `k` as told, a figure where the scale showed
/// something else, `r` behind it where the rest was reckoned anew.
fn written(went: &[Went]) -> String {
    let step = |went: &Went| {
        let grams = went.grams.map_or_else(|| "k".to_owned(), figure);
        if went.anew { format!("{grams}r") } else { grams }
    };
    went.iter().map(step).collect::<Vec<_>>().join("_")
}

/// A mass in g, as short as it can be said to a tenth of a milligram.
pub(super) fn figure(grams: f64) -> String {
    let text = format!("{grams:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn read(text: &str) -> Option<Vec<Went>> {
    if text.is_empty() {
        return Some(Vec::new());
    }
    if text.len() > MOST_STEPS * 16 {
        return None;
    }
    let mut went = Vec::new();
    for word in text.split('_') {
        let anew = word.ends_with('r');
        let grams = match word.trim_end_matches('r') {
            "k" => None,
            figure => Some(figure.parse::<f64>().ok().filter(|grams| (0.0..=200_000.0).contains(grams))?),
        };
        went.push(Went { grams, anew });
    }
    let within = went.len() <= MOST_STEPS && went.iter().filter(|went| went.anew).count() <= MOST_REMEDIES;
    within.then_some(went)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_went_in_reads_back_as_it_was_written() {
        let told = Went { grams: None, anew: false };
        let went = vec![told, Went { grams: Some(33.4), anew: true }, told, Went { grams: Some(0.05), anew: false }];
        assert_eq!(written(&went), "k_33.4r_k_0.05");
        assert_eq!(read(&written(&went)), Some(went));
        assert_eq!(read(""), Some(Vec::new()));
    }

    #[test]
    fn nonsense_and_too_much_of_it_is_refused() {
        let long = vec!["k"; MOST_STEPS + 1].join("_");
        let anew = vec!["1r"; MOST_REMEDIES + 1].join("_");
        for text in ["x", "k__k", "-3", "NaN", "inf", "1e99", "r", &long, &anew, &"9".repeat(5_000)] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
