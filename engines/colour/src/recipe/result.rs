//! The search as a whole, and what it gives.

use base::Warning;

use super::coats::{Hiding, Laid, by_lightness, lab_at, spectrum};
use super::crew::Crew;
use super::metamerism::metamerism;
use super::reach::Reach;
use super::residual::Aim;
use super::search::{MOST_EVALUATIONS, Search, distinct};
use super::sensitivity::{Sensitivity, sensitivity};
use super::solve::{Solved, Solver, TONER_COST};
use super::wish::{Limits, RecipeError, Wish};
use crate::difference::ciede2000;
use crate::film::{Bench, Prediction};
use crate::geometry::Geometry;
use crate::lab::lab;
use crate::light::{Illuminant, Observer};
use crate::measurement::Measurement;
use crate::shelf::{Mix, Shelf, TonerKind};
use crate::toner::Watch;

/// A recipe and all that is known of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// Toners, film and primer.
    pub mix: Mix,
    /// Coats that the film takes.
    pub coats: u8,
    /// What it looks like, by angle in the order of [`Geometry::ALL`].
    pub predicted: Prediction,
    /// How it differs from the wish.
    pub fit: Fit,
    /// Special metamerism index to the wish, change to A and to FL11, the mean over the angles.
    pub metamerism: [f64; 2],
    /// How well it hides.
    pub hiding: Hiding,
    /// Mass fraction of all toners together.
    pub load: f64,
    /// What slips do to it.
    pub sensitivity: Vec<Sensitivity>,
    /// CIEDE2000 by a film ten percent wetter, the mean over the wish's angles: what the colour owes to
    /// the film's thickness.
    pub wetter_de00: f64,
}

/// Differences between a recipe and a wish.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// CIEDE2000, D65, 10 degrees, the plain mean over all angles of the wish.
    pub mean_de00: f64,
    /// CIEDE2000 by angle under D65, A and FL11.
    pub by_angle: Vec<(Geometry, [f64; 3])>,
}

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Recipes of different toners, best first.
    pub recipes: Vec<Recipe>,
    /// Whether the shelf can make it.
    pub reachable: Reach,
    /// How often the film was computed, with or without derivatives.
    pub evaluations: u64,
    /// Whether it was stopped before its end.
    pub stopped: bool,
    /// What is doubtful.
    pub warnings: Vec<Warning>,
}

/// Mean of |ln| of the ratio of two angles' spectra from which a paint has a flop. Solids of a simulated
/// shop stay under 0.25, its flake colours over 1.5.
const FLOP: f64 = 0.4;
/// Added to both before their ratio is taken, so that dark spectra do not count for their noise.
const NOTHING: f64 = 0.01;
/// Score above which, or film dependence above which, the search is run over other primers too.
const DOUBTFUL: f64 = 1.0;
/// Sets that are laid over primers in whole coats, at least.
const LAID: usize = 8;

/// Searches for recipes. `watch` is asked now and then whether to go on.
///
/// A wish without flop is answered by solid toners alone. At most a million evaluations of the film are
/// made; one search over 40 toners takes about a twentieth of that.
///
/// # Errors
/// [`RecipeError`] when the wish has no weight or one at an angle it does not hold, when a limit is out
/// of its range, or when no toner is left.
pub fn search(shelf: &Shelf, wish: &Wish, limits: &Limits, watch: Watch<'_>) -> Result<Found, RecipeError> {
    search_by(shelf, wish, limits, &Crew::new(watch))
}

pub(crate) fn search_by(shelf: &Shelf, wish: &Wish, limits: &Limits, crew: &Crew<'_>) -> Result<Found, RecipeError> {
    wish.check()?;
    limits.check(shelf)?;
    let mut warnings = doubts(wish);
    let flop = has_flop(&wish.target);
    let toners = allowed(shelf, limits, flop, &mut warnings)?;
    let bench = Bench::new(shelf);
    let aim = Aim::new(wish);
    let search = Search { shelf, bench: &bench, aim: &aim, limits, crew, toners: &toners };

    let pool = chosen(&search, &mut warnings);
    let count = LAID.max(2 * limits.how_many).min(pool.len());
    let finalists = &pool[..count];
    let mut laid = crew.share((95, 99), finalists, |solver, solved| search.lay(solver, &solved.mix));
    if laid.is_empty() {
        // Stopped: the very best is still laid.
        laid = pool.first().map(|best| search.lay(&mut Solver::default(), &best.mix)).into_iter().collect();
    }
    let recipes = ranked(shelf, &bench, wish, laid.into_iter().flatten().collect());
    let recipes = different(recipes, limits.how_many);

    let Some(best) = recipes.first() else {
        // Every set of toners has at least one that is laid; only a stop before the first leaves none.
        return Ok(Found {
            recipes,
            reachable: Reach::Near { misses: vec![] },
            evaluations: crew.evaluations(),
            stopped: crew.stopped(),
            warnings,
        });
    };
    let reachable = reach(wish, best);
    warnings.extend(remarks(shelf, best));
    if crew.evaluations() > MOST_EVALUATIONS {
        warnings.push(Warning::new(format!(
            "the search ended at its limit of {MOST_EVALUATIONS} evaluations; a better recipe may exist"
        )));
    }
    Ok(Found { reachable, evaluations: crew.evaluations(), stopped: crew.stopped(), warnings, recipes })
}

/// The best sets over the middle primer; and over the others too, where the primer shows or nothing fits.
fn chosen(search: &Search<'_>, warnings: &mut Vec<Warning>) -> Vec<Solved> {
    let primers = by_lightness(search.shelf, &search.limits.substrates);
    let Some(&middle) = primers.get(primers.len() / 2) else { return Vec::new() };
    let mut pool = search.run(middle, (0, 90));
    let doubtful = |solved: &Solved| (solved.square + solved.wobble).sqrt() > DOUBTFUL || solved.wobble > 0.25;
    if pool.first().is_none_or(doubtful) && !search.over() {
        let others = [primers.first(), primers.last()].into_iter().flatten().filter(|primer| **primer != middle);
        for &primer in others {
            pool.extend(search.run(primer, (90, 95)));
        }
    }
    if search.crew.stopped() {
        warnings.push(Warning::new("the search was stopped; these are the best recipes up to then"));
    }
    distinct(pool)
}

/// Toners that may be used for a wish with or without flop.
pub(crate) fn allowed(
    shelf: &Shelf,
    limits: &Limits,
    flop: bool,
    warnings: &mut Vec<Warning>,
) -> Result<Vec<usize>, RecipeError> {
    let usable = |place: usize, toner: &crate::shelf::Toner| {
        !limits.out_of_stock.contains(&place) && toner.max_fraction >= limits.smallest_dose
    };
    let all: Vec<usize> =
        shelf.toners().iter().enumerate().filter(|(i, toner)| usable(*i, toner)).map(|(i, _)| i).collect();
    let solids: Vec<usize> = all
        .iter()
        .copied()
        .filter(|i| shelf.toners().get(*i).is_some_and(|toner| toner.kind == TonerKind::Solid))
        .collect();
    let only_flop_adjuster =
        all.iter().all(|i| shelf.toners().get(*i).is_some_and(|toner| toner.kind == TonerKind::FlopAdjuster));
    if !all.is_empty() && !only_flop_adjuster && (flop || solids.is_empty()) {
        if !flop {
            warnings
                .push(Warning::new("this colour has no flop, and no solid toner may be used: it is made with flakes"));
        }
        return Ok(all);
    }
    if solids.is_empty() {
        return Err(RecipeError::NoToner {
            on_shelf: shelf.toners().len(),
            out_of_stock: shelf.toners().len() - all.len(),
            flakes: if only_flop_adjuster && !all.is_empty() { "; a flop adjuster alone makes no paint" } else { "" },
        });
    }
    Ok(solids)
}

/// Whether a paint changes from angle to angle more than a solid does.
pub(crate) fn has_flop(target: &Measurement) -> bool {
    let angles = target.by_angle();
    angles.iter().enumerate().any(|(i, (_, one))| {
        angles.iter().skip(i + 1).any(|(_, two)| {
            let ratios = one.values().iter().zip(two.values()).map(|(a, b)| {
                let lifted = |v: f64| base::math::ln(v.max(0.0) + NOTHING);
                (lifted(*a) - lifted(*b)).abs()
            });
            ratios.sum::<f64>() / 31.0 > FLOP
        })
    })
}

fn doubts(wish: &Wish) -> Vec<Warning> {
    let angles = wish.target.by_angle().len();
    let mut warnings = wish.target.warnings();
    if angles == 1 {
        warnings.push(Warning::new(
            "one angle only: it is answered with solid toners; whether the colour has a flop, or flakes at all, \
             cannot be told from it",
        ));
    } else if angles < 4 {
        warnings.push(Warning::new(format!(
            "{angles} angles of six: between and beyond them the recipe may differ from the car, in an \
             interference colour most of all"
        )));
    }
    warnings
}

fn remarks(shelf: &Shelf, best: &Recipe) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if !best.hiding.hides() {
        let primer = shelf.substrates().get(best.mix.substrate).map_or("?", |s| s.name.as_str());
        warnings.push(Warning::new(format!(
            "the best recipe does not hide in {} coats (one more changes {:.1}, contrast ratio {:.2}): \
             the primer {primer} and the number of coats are part of it",
            best.coats, best.hiding.de00_max, best.hiding.contrast_ratio
        )));
    }
    warnings
}

/// How far a prediction is from a wish.
pub(crate) fn fit(wish: &Wish, predicted: &Prediction) -> Fit {
    let by_angle: Vec<(Geometry, [f64; 3])> = wish
        .target
        .by_angle()
        .iter()
        .map(|(geometry, wanted)| {
            let by_light = Illuminant::ALL.map(|light| {
                ciede2000(lab(wanted, light, Observer::Deg10), lab_at(predicted, geometry.place(), light))
            });
            (*geometry, by_light)
        })
        .collect();
    let mean_de00 = by_angle.iter().map(|(_, [d65, ..])| d65).sum::<f64>() / by_angle.len().max(1) as f64;
    Fit { mean_de00, by_angle }
}

pub(crate) fn reach(wish: &Wish, recipe: &Recipe) -> Reach {
    let by_angle: Vec<_> = wish
        .target
        .by_angle()
        .iter()
        .map(|(geometry, wanted)| {
            let had = lab_at(&recipe.predicted, geometry.place(), Illuminant::D65);
            (*geometry, lab(wanted, Illuminant::D65, Observer::Deg10), had)
        })
        .collect();
    Reach::of(&by_angle)
}

/// All that is known of a mix in so many coats.
pub(crate) fn recipe_of(shelf: &Shelf, bench: &Bench, wish: &Wish, mix: Mix, coats: u8, hiding: Hiding) -> Recipe {
    let predicted = bench.predict(&mix);
    let thick = bench.predict(&super::solve::wetter(&mix));
    let angles = wish.target.by_angle();
    let mean = |f: &dyn Fn(usize, &crate::spectrum::Spectrum) -> f64| {
        angles.iter().map(|(geometry, wanted)| f(geometry.place(), wanted)).sum::<f64>() / angles.len().max(1) as f64
    };
    let metamerism = [Illuminant::A, Illuminant::Fl11]
        .map(|light| mean(&|at, wanted| metamerism(wanted, &spectrum(&predicted[at]), light)));
    let at = |p: &Prediction, i| lab_at(p, i, Illuminant::D65);
    let wetter_de00 = mean(&|i, _| ciede2000(at(&predicted, i), at(&thick, i)));
    Recipe {
        fit: fit(wish, &predicted),
        metamerism,
        hiding,
        load: mix.load(),
        sensitivity: sensitivity(shelf, bench, &mix, coats),
        wetter_de00,
        predicted,
        coats,
        mix,
    }
}

/// By mean difference, with what a wetter film adds and a little for each toner; then by metamerism,
/// then by load.
fn ranked(shelf: &Shelf, bench: &Bench, wish: &Wish, laid: Vec<Laid>) -> Vec<Recipe> {
    let mut recipes: Vec<Recipe> =
        laid.into_iter().map(|laid| recipe_of(shelf, bench, wish, laid.solved.mix, laid.coats, laid.hiding)).collect();
    let rank = |recipe: &Recipe| {
        base::math::hypot(recipe.fit.mean_de00, recipe.wetter_de00) + TONER_COST * recipe.mix.parts.len() as f64
    };
    recipes.sort_by(|a, b| {
        let metamerism = |recipe: &Recipe| recipe.metamerism.iter().sum::<f64>();
        rank(a).total_cmp(&rank(b)).then(metamerism(a).total_cmp(&metamerism(b))).then(a.load.total_cmp(&b.load))
    });
    recipes
}

/// A recipe that is farther than this behind the best is no choice.
const BEHIND_DE00: f64 = 2.0;

/// The first recipes that are not one another with a toner more or less; then, if those are too few, the
/// rest. None is far behind the best.
fn different(recipes: Vec<Recipe>, how_many: usize) -> Vec<Recipe> {
    let includes = |a: &Mix, b: &Mix| b.parts.iter().all(|p| a.parts.iter().any(|q| q.toner == p.toner));
    let (mut first, mut rest) = (Vec::new(), Vec::new());
    for recipe in recipes {
        let alike = |other: &Recipe| includes(&other.mix, &recipe.mix) || includes(&recipe.mix, &other.mix);
        if first.iter().any(alike) {
            rest.push(recipe);
        } else {
            first.push(recipe);
        }
    }
    first.extend(rest);
    let best = first.iter().map(|r| r.fit.mean_de00).fold(f64::INFINITY, f64::min);
    first.retain(|r| r.fit.mean_de00 <= best + BEHIND_DE00);
    first.truncate(how_many);
    first
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shelf::{Optics, Part, Substrate, Toner};
    use crate::spectrum::Spectrum;

    /// A white, a black and four colours.
    fn shelf() -> Shelf {
        let solid = |name: &str, absorption: [f64; 31], scattering: f64| Toner {
            name: name.into(),
            kind: TonerKind::Solid,
            density_g_cm3: 2.0,
            max_fraction: 0.35,
            solids_fraction: None,
            optics: Optics {
                absorption,
                scattering: [scattering; 31],
                forwardness: 0.0,
                crowding: 0.0,
                widening: 0.0,
                flake: None,
            },
        };
        let band = |at: f64| std::array::from_fn(|i| 2.0 / (1.0 + (i as f64 - at) * (i as f64 - at) / 16.0));
        let toners = vec![
            solid("white", [0.01; 31], 3.0),
            solid("black", [6.0; 31], 0.1),
            solid("yellow", band(4.0), 0.3),
            solid("orange", band(9.0), 0.2),
            solid("violet", band(16.0), 0.1),
            solid("blue", band(22.0), 0.1),
        ];
        let primer = |level: f64| Substrate { name: level.to_string(), reflectance: Spectrum::clamped(&[level; 31]) };
        Shelf::new(toners, vec![primer(0.05), primer(0.3), primer(0.8)], [0.0; 31]).unwrap()
    }

    #[test]
    fn invariant_any_number_of_threads_finds_the_same() {
        let shelf = shelf();
        let parts = [(0, 0.15), (2, 0.03), (5, 0.01)].map(|(toner, fraction)| Part { toner, fraction });
        let mix = Mix { parts: parts.to_vec(), film_um: 30.0, substrate: 1 };
        let predicted = Bench::new(&shelf).predict(&mix);
        let by_angle = Geometry::ALL.into_iter().zip(&predicted).map(|(g, v)| (g, spectrum(v)));
        let wish = Wish::same_as(&Measurement::new(by_angle.collect()).unwrap());
        let found =
            |threads: usize| search_by(&shelf, &wish, &Limits::usual(&shelf), &Crew::of(&|_| true, threads)).unwrap();
        let one = found(1);
        assert_eq!(one, found(2));
        assert_eq!(one, found(5));
        assert!(one.recipes[0].fit.mean_de00 < 0.05, "{}", one.recipes[0].fit.mean_de00);
        assert!(!has_flop(&wish.target));
    }
}
