//! What a slip at the scale or the gun does to the colour.

use super::coats::lab_at;
use super::pot::Pot;
use super::solve::{WETTER, wetter};
use crate::difference::ciede2000;
use crate::film::Bench;
use crate::light::Illuminant;
use crate::shelf::{Mix, Shelf};

/// A slip and its effect.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// The slip, in words.
    pub what: String,
    /// CIEDE2000 that it makes, the mean over the six angles (D65, 10 degrees).
    pub de00: f64,
}

/// The slip at the scale and the pot it happens in, in grams.
const SLIP_G: f64 = 0.5;
const POT_G: f64 = 500.0;

/// What half a gram of each toner, a coat and a wetter film do to a mix sprayed in so many coats.
pub fn sensitivity(shelf: &Shelf, bench: &Bench, mix: &Mix, coats: u8) -> Vec<Sensitivity> {
    let now = bench.predict(mix);
    let from = |other: &Mix| {
        let other = bench.predict(other);
        let at = |p, i| lab_at(p, i, Illuminant::D65);
        (0..6).map(|i| ciede2000(at(&now, i), at(&other, i))).sum::<f64>() / 6.0
    };
    let pot = Pot::of(shelf, mix, POT_G);
    let mut list = Vec::new();
    for (i, part) in mix.parts.iter().enumerate() {
        let slipped = |by_g: f64| {
            let mut pot = pot.clone();
            if let Some(grams) = pot.toners_g.get_mut(i) {
                *grams = (*grams + by_g).max(0.0);
            }
            from(&pot.mix(shelf, mix))
        };
        let name = shelf.toners().get(part.toner).map_or("?", |toner| toner.name.as_str());
        list.push(Sensitivity {
            what: format!("{SLIP_G} g more or less of {name} in {POT_G:.0} g"),
            de00: slipped(SLIP_G).max(slipped(-SLIP_G)),
        });
    }
    let with_film = |factor: f64| from(&Mix { film_um: mix.film_um * factor, ..mix.clone() });
    let coats = f64::from(coats.max(1));
    list.push(Sensitivity { what: "one coat more".into(), de00: with_film((coats + 1.0) / coats) });
    if coats > 1.0 {
        list.push(Sensitivity { what: "one coat less".into(), de00: with_film((coats - 1.0) / coats) });
    }
    let percent = (WETTER - 1.0) * 100.0;
    list.push(Sensitivity { what: format!("every coat {percent:.0} % wetter"), de00: from(&wetter(mix)) });
    list
}
