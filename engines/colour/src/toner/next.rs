//! What the panels leave open: looks that are still uncertain, and the panel that would settle most.
//!
//! The normal matrix of the fit says how well every unknown is known. A panel that nobody has sprayed is
//! predicted with an uncertainty that follows from it; where that is largest, a panel teaches most. So a
//! toner that was sprayed over black only is told by how unsure it is over white, whatever the reason.

use super::CalibrateError;
use super::envelope::Envelope;
use super::fit::Problem;
use super::report::NextPanel;
use super::slopes::{Laid, sensitivities};
use super::tangents::Tangents;
use crate::shelf::{Mix, Part, TonerKind};

/// Angles (15, 45 and 110) and wavelengths (440, 540 and 640 nm) at which a look is asked for.
const ASKED: [(usize, usize); 9] = [(1, 4), (1, 14), (1, 24), (3, 4), (3, 14), (3, 24), (5, 4), (5, 14), (5, 24)];

/// How sure each usual look of each toner is.
pub(super) fn unsure(problem: &Problem<'_>, theta: &[f64], known: &Envelope) -> Result<Vec<NextPanel>, CalibrateError> {
    let mut bench = problem.layout.bench(theta, problem.panels)?;
    let tangents = Tangents::new(problem.layout, theta, &bench);
    let mut all = Vec::new();
    for toner in 0..problem.panels.toners.len() {
        for (words, mix) in looks(problem, toner) {
            let laid = Laid { mix: &mix, lie: 1.0, index: None };
            let mut squares = 0.0;
            for (_, row) in sensitivities(problem.layout, theta, laid, &ASKED, &mut bench, &tangents) {
                let mut along = vec![0.0; problem.layout.len];
                for (index, slope) in row {
                    along[index] += slope;
                }
                known.solve_lower(&mut along);
                squares += along.iter().map(|x| x * x).sum::<f64>();
            }
            all.push(NextPanel { toner, words, mix, unsure: (squares / ASKED.len() as f64).sqrt() });
        }
    }
    Ok(all)
}

/// The panels that a toner is usually learned from.
fn looks(problem: &Problem<'_>, toner: usize) -> Vec<(String, Mix)> {
    let panels = problem.panels;
    let info = &panels.toners[toner];
    let by_lightness = |lighter: bool| {
        let level = |i: &usize| super::mean(panels.substrates[*i].reflectance.values());
        let places = 0..panels.substrates.len();
        let end = if lighter {
            places.max_by(|a, b| level(a).total_cmp(&level(b)))
        } else {
            places.min_by(|a, b| level(a).total_cmp(&level(b)))
        };
        end.unwrap_or(0)
    };
    let (dark, light) = (by_lightness(false), by_lightness(true));
    let full = (0.6 * info.max_fraction).min(0.3);
    let usual_um = if info.kind.is_flake() { 15.0 } else { 25.0 };
    let alone = |fraction: f64, film_um: f64, substrate: usize| Mix {
        parts: vec![Part { toner, fraction }],
        film_um,
        substrate,
    };
    let mut all = vec![
        ("alone over the dark primer".to_string(), alone(full, usual_um, dark)),
        ("alone over the light primer".to_string(), alone(full, usual_um, light)),
        ("alone and thin over the light primer".to_string(), alone(full, usual_um / 3.0, light)),
    ];
    // Let down with the commonest other toner of each kind: a solid in white and in flake, a flake in colour.
    let count = |other: usize| panels.panels.iter().filter(|p| p.parts.iter().any(|q| q.toner == other)).count();
    let commonest = |flake: bool| {
        (0..panels.toners.len())
            .filter(|o| *o != toner && panels.toners[*o].kind.is_flake() == flake)
            .filter(|o| panels.toners[*o].kind != TonerKind::FlopAdjuster)
            .max_by_key(|o| (count(*o), usize::MAX - o))
    };
    let partners = if info.kind.is_flake() { vec![false] } else { vec![false, true] };
    for other in partners.into_iter().filter_map(commonest) {
        let other_full = 0.6 * panels.toners[other].max_fraction;
        let (own, theirs, film_um) = if info.kind.is_flake() {
            (0.8 * full, 0.1 * other_full, 15.0)
        } else {
            (0.2 * full, other_full, usual_um)
        };
        let mix = Mix {
            parts: vec![Part { toner, fraction: own }, Part { toner: other, fraction: theirs }],
            film_um,
            substrate: dark,
        };
        all.push((format!("let down with {}", panels.toners[other].name), mix));
    }
    all
}
