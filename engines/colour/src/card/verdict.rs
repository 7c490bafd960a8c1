//! What a correction is worth, in words.

use base::Warning;

use super::average::Average;

/// What two sprays of one flake recipe differ by on average, CIEDE2000 (starting guess).
const FLAKE_NOISE_DE00: f64 = 1.65;
/// The same for a solid (starting guess).
const SOLID_NOISE_DE00: f64 = 0.3;
/// A card further from the prediction than this is hardly the recipe's.
const ANOTHER_PAINT_DE00: f64 = 8.0;
/// What to say of a correction: advice, and doubts. `expected` and `present_de00` are what the corrected
/// recipe and the present one differ by from the wish, as far as is known.
pub(super) fn verdict(card: &Average, expected: f64, present_de00: f64, flakes: bool) -> (Vec<String>, Vec<Warning>) {
    let (mut advice, mut warnings) = (Vec::new(), Vec::new());
    let noise_de00 = if flakes { FLAKE_NOISE_DE00 } else { SOLID_NOISE_DE00 };
    // Two cards of one pot differ by the noise, so one card is off by the noise over root two, and the
    // mean of several by less.
    let shaky = noise_de00 / (2.0 * card.count as f64).sqrt();
    let said = match card.apart_de00 {
        Some(apart) => format!("{} cards, {apart:.1} apart on average", card.count),
        None => "one card".to_string(),
    };
    if card.from_wish_de00 < shaky {
        advice.push(format!(
            "{said}: {:.1} from the wish, which is no more than sprays of one pot differ by ({shaky:.1}): \
             spray another card before anything is added",
            card.from_wish_de00
        ));
    } else if expected > present_de00 - 0.05 {
        advice.push(format!("{said}: {:.1} from the wish, and these toners bring it no nearer", card.from_wish_de00));
    } else {
        advice.push(format!(
            "{said}: {:.1} from the wish; after the correction {expected:.1} is to be expected, give or take {shaky:.1}",
            card.from_wish_de00
        ));
    }
    if card.count == 1 && flakes {
        warnings.push(Warning::new(format!(
            "one card of a flake colour: two sprays of the same pot differ by about {noise_de00:.1}, so this \
             correction may make it worse; average two or more cards"
        )));
    }
    if let Some(apart) = card.apart_de00.filter(|apart| *apart > 2.0 * noise_de00) {
        warnings.push(Warning::new(format!(
            "the cards are {apart:.1} apart, more than sprays of one pot usually differ by ({noise_de00:.1}): \
             is one of them another paint, or another gun setting?"
        )));
    }
    if card.from_wish_de00 > ANOTHER_PAINT_DE00 {
        warnings
            .push(Warning::new(format!("the card is {:.1} from the wish: is it this recipe's?", card.from_wish_de00)));
    }
    (advice, warnings)
}
