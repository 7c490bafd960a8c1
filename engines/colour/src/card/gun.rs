//! What the gun did, as far as a card shows it.

use super::average::Average;
use crate::difference::ciede2000;
use crate::film::{Gradient, Prediction};
use crate::lab::lab;
use crate::light::{Illuminant, Observer};
use crate::measurement::Measurement;
use crate::recipe::{Aim, Wish, lab_at};

/// How much the slope of the flakes and the film vary from spray to spray, in logarithms (starting guess).
const SPRAY_SD: f64 = 0.05;
/// How far a prediction errs as a wrong slope or film would, in logarithms (starting guess).
const MODEL_SD: f64 = 0.08;
/// How far predictions usually lie from a mean over many cards, as CIEDE2000 (starting guess).
const MODEL_DE00: f64 = 1.5;
/// In how many independent ways a prediction errs over angles and colours (our choice).
const MODEL_WAYS: f64 = 8.0;
/// Share of the square of the difference from which the gun is named.
const NAMED: f64 = 0.4;

/// Change, in logarithms, beyond which no gun is to blame.
const MOST: f64 = 0.4;

/// Something at the gun that would explain a card.
#[derive(Debug, Clone, PartialEq)]
pub struct GunCause {
    /// What, in words.
    pub words: String,
    /// The part of the squared difference between the card and what was expected of it that it explains, 0 to 1.
    pub share: f64,
}

/// How the flakes and the film came out against what was meant.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Gun {
    /// The likeliest change of the flakes' slope, in logarithms: positive is rougher.
    pub(super) slope: f64,
    /// The likeliest change of the film, in logarithms.
    pub(super) film: f64,
    /// The same if all of it is the gun's doing, and the share that they explain, alone and together.
    free_slope: (f64, f64),
    free_film: (f64, f64),
    both: f64,
    apart_de00: f64,
    flakes: bool,
}

impl Gun {
    /// Reads the mean of some cards against what they should have looked like.
    ///
    /// The likeliest values balance the gun's usual variation, which is the less the more cards there are,
    /// against the model's usual error.
    pub(super) fn read(gradient: &Gradient, expected: &Prediction, card: &Average, flakes: bool) -> Self {
        let (card, cards) = (&card.measurement, card.count);
        let weights = card.by_angle().iter().map(|(geometry, _)| (*geometry, 1.0)).collect();
        let aim = Aim::new(&Wish { target: card.clone(), weights, spectral: Vec::new() });
        let rows = aim.rows();
        let (mut off, mut columns) = (vec![0.0; rows], vec![0.0; 2 * rows]);
        aim.slopes(expected, &[&gradient.by_ln_slope, &gradient.by_ln_film], &mut off, &mut columns);
        let (slope, film) = columns.split_at(rows);
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let (ss, sf, ff) = (dot(slope, slope), dot(slope, film), dot(film, film));
        let (so, fo, oo) = (dot(slope, &off), dot(film, &off), dot(&off, &off));
        let solve = |ridge_s: f64, ridge_f: f64| {
            let (a, d) = (ss + ridge_s, ff + ridge_f);
            let det = a * d - sf * sf;
            if det > 1e-12 * a * d { ((-so * d + fo * sf) / det, (-fo * a + so * sf) / det) } else { (0.0, 0.0) }
        };
        // The vector's square is a mean over the angles, so the model's error has MODEL_DE00^2 in all.
        let per_way = MODEL_DE00 * MODEL_DE00 / MODEL_WAYS;
        // What looks like slope or film is the gun's in proportion to how much either varies.
        let spray = SPRAY_SD * SPRAY_SD / cards.max(1) as f64;
        let both = spray + MODEL_SD * MODEL_SD;
        let (likely_slope, likely_film) = solve(per_way / both, per_way / both);
        let gun = spray / both;
        let (likely_slope, likely_film) = (gun * likely_slope, gun * likely_film);
        let share = |left: f64| if oo > 1e-9 { (1.0 - left / oo).clamp(0.0, 1.0) } else { 0.0 };
        let alone = |square: f64, pull: f64| {
            if square > 1e-9 { (-pull / square, share(oo - pull * pull / square)) } else { (0.0, 0.0) }
        };
        let (s, f) = solve(1e-9, 1e-9);
        let both = oo + s * s * ss + f * f * ff + 2.0 * (s * so + f * fo + s * f * sf);
        Self {
            slope: if flakes { likely_slope } else { 0.0 },
            film: likely_film,
            free_slope: if flakes { alone(ss, so) } else { (0.0, 0.0) },
            free_film: alone(ff, fo),
            both: share(both),
            apart_de00: apart(expected, card),
            flakes,
        }
    }

    /// What would explain the card, the better explanation first; nothing where nothing does.
    pub(super) fn causes(&self) -> Vec<GunCause> {
        let mut causes = Vec::new();
        if self.apart_de00 < 0.5 {
            return causes;
        }
        let (slope, share) = self.free_slope;
        if share >= NAMED && slope.abs() < MOST {
            // Which way each variable goes: common practice, no source.
            let (state, from) = if slope > 0.0 {
                (
                    "wetter than meant: face darker, flop lighter",
                    "less air pressure, the gun nearer, heavier coats, a slower thinner or a cool booth, a bigger \
                     tip or more overlap, or a shorter flash between coats",
                )
            } else {
                (
                    "drier than meant: face lighter, flop darker",
                    "more air pressure, the gun further away, lighter coats, more or a faster thinner, or a \
                     longer flash between coats",
                )
            };
            causes.push(GunCause {
                words: format!(
                    "the flakes lie as in a coat {state}. That explains {:.0} % of the difference, and comes of \
                     {from}: spray another card before a toner is added",
                    share * 100.0
                ),
                share,
            });
        }
        let (film, share) = self.free_film;
        if share >= NAMED && film.abs() < MOST {
            let state = if film > 0.0 { "thicker" } else { "thinner" };
            causes.push(GunCause {
                words: format!(
                    "a film {:.0} % {state} than meant explains {:.0} % of the difference: gauge the card",
                    film.abs() * 100.0,
                    share * 100.0
                ),
                share,
            });
        }
        causes.sort_by(|a, b| b.share.total_cmp(&a.share));
        if causes.is_empty() && self.flakes && self.both >= NAMED {
            causes.push(GunCause {
                words: format!(
                    "flakes and film together explain {:.0} % of the difference: gauge the card and check the gun",
                    self.both * 100.0
                ),
                share: self.both,
            });
        }
        causes
    }
}

/// Mean CIEDE2000 of a prediction from a measurement, at the angles measured (D65, 10 degrees).
pub(super) fn apart(prediction: &Prediction, measurement: &Measurement) -> f64 {
    let angles = measurement.by_angle();
    let sum: f64 = angles
        .iter()
        .map(|(geometry, spectrum)| {
            let measured = lab(spectrum, Illuminant::D65, Observer::Deg10);
            ciede2000(measured, lab_at(prediction, geometry.place(), Illuminant::D65))
        })
        .sum();
    sum / angles.len().max(1) as f64
}
