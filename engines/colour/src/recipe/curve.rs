//! How near a shelf comes while more and more of a wish is asked for.
//!
//! The wish is searched as [`super::search`] does; the donor itself, and the wish over further primers, with
//! smaller sets. All sets of toners that come of this are then solved again for each part of the wish, each
//! starting from what its neighbour came to, and joined by the toner that promises most. So a part in
//! between costs little of a search.
//!
//! The result repeats bit for bit on any number of cores, unless it was stopped.

use std::collections::{BTreeMap, BTreeSet};

use base::{Warning, math};

use super::coats::{Laid, by_lightness};
use super::crew::Crew;
use super::prospect::Prospect;
use super::reach::Reach;
use super::residual::Aim;
use super::result::{Found, Recipe, allowed, fit, has_flop, reach, recipe_of};
use super::search::{MOST_EVALUATIONS, Search, distinct, order, prospects};
use super::solve::{GLANCE, Goal, POLISH, Solved, Solver, TONER_COST};
use super::wish::{Limits, MOST_IN_RECIPE, MOST_LOAD, RecipeError, Wish};
use crate::brief::{BriefError, Edit, possible, scaled, wish};
use crate::film::Bench;
use crate::geometry::Geometry;
use crate::measurement::Measurement;
use crate::shelf::{Mix, Part, Shelf, TonerKind};
use crate::toner::Watch;

/// What the curve is asked of.
#[derive(Debug, Clone, Copy)]
pub struct Ask<'a> {
    /// The paint that the wish starts from.
    pub donor: &'a Measurement,
    /// What is to change, as for [`crate::brief::wish`].
    pub edits: &'a [Edit],
    /// How much each angle counts; none means the usual weights.
    pub weights: Option<&'a [(Geometry, f64)]>,
    /// Most toners of each line of the curve, 1 to [`MOST_IN_RECIPE`], rising. Those over
    /// [`Limits::max_toners`] are held to it.
    pub sizes: &'a [usize],
    /// Whether the donor's colours alone count and not its spectra: those of a picture are invented.
    pub by_colour: bool,
}

/// The parts of the edits that are asked for.
pub const PARTS: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// How near the shelf comes.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// One line for each size asked for.
    pub lines: Vec<Line>,
    /// Recipes for the whole wish, as [`super::search`] gives them, best first: the best of each size, then
    /// others up to [`Limits::how_many`].
    pub found: Found,
}

/// The curve for recipes of at most so many toners.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Most toners.
    pub most: usize,
    /// One for each of [`PARTS`], in order; fewer only when the work was stopped.
    pub points: Vec<Point>,
}

/// The nearest mix to a part of the wish. All differences are CIEDE2000, D65, 10 degrees.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// The part of each edit, 0 to 1.
    pub part: f64,
    /// The mix.
    pub mix: Mix,
    /// The plain mean over the wish's angles.
    pub mean_de00: f64,
    /// The mean by the angles' weights: what the mix was chosen by, so it never rises with more toners.
    pub weighted_de00: f64,
    /// The largest of any angle.
    pub worst_de00: f64,
    /// Where that is.
    pub worst_at: Geometry,
    /// By angle.
    pub by_angle: Vec<(Geometry, f64)>,
}

/// Most toners in the searches for the donor and over other primers: what larger sets hold is found from
/// these.
const SMALL: usize = 3;
/// Sets of each size that are followed from part to part: of the search for the wish, and of that for the
/// donor.
const FOLLOWED: usize = 6;
/// Sets of each size that are solved to the end at each part.
const POLISHED: usize = 3;
/// Newcomers tried at each part for the best set of each size.
const NEWCOMERS: usize = 2;
/// How often a toner may join at each part.
const ROUNDS: usize = 2;
/// Sets of each size that are laid over primers in whole coats.
const LAID: usize = 2;
/// A recipe that is farther than this behind the best is no choice, unless it is the best of its size.
const BEHIND_DE00: f64 = 2.0;

/// Searches for the whole wish and follows the way to it. `watch` is asked now and then whether to go on.
///
/// The whole wish is taken strictly. Where a part of the way leads through a colour that no surface has,
/// that part is pulled back to one and a warning says so.
///
/// # Errors
/// [`BriefError`] as for [`crate::brief::wish`] and [`super::search`], and when there is no size, one is out
/// of range, or they do not rise.
pub fn curve(shelf: &Shelf, ask: &Ask<'_>, limits: &Limits, watch: Watch<'_>) -> Result<Curve, BriefError> {
    curve_by(shelf, ask, limits, &Crew::new(watch))
}

fn curve_by(shelf: &Shelf, ask: &Ask<'_>, limits: &Limits, crew: &Crew<'_>) -> Result<Curve, BriefError> {
    check_sizes(ask.sizes)?;
    limits.check(shelf)?;
    let mut warnings = Vec::new();
    let stages = stages(ask, &mut warnings)?;
    let [donor, .., whole] = &stages;
    warnings.extend(doubts(&donor.wish));
    let flop = has_flop(&donor.wish.target) || has_flop(&whole.wish.target);
    let toners = allowed(shelf, limits, flop, &mut warnings)?;
    let bench = Bench::new(shelf);
    let sizes: Vec<usize> = ask.sizes.iter().map(|most| (*most).min(limits.max_toners)).collect();
    let limits = Limits { max_toners: sizes.iter().copied().fold(1, usize::max), ..limits.clone() };
    let searches = Searches { shelf, bench: &bench, limits: &limits, crew, toners: &toners };
    let primers = by_lightness(shelf, &limits.substrates);
    let Some(&middle) = primers.get(primers.len() / 2) else { return Err(RecipeError::NoPrimer.into()) };

    let at_whole = searches.at(whole);
    let small = Limits { max_toners: limits.max_toners.min(SMALL), ..limits.clone() };
    let mut pool = at_whole.run(middle, (0, 50));
    if pool.first().is_none_or(doubtful) && !at_whole.over() {
        // As in a search, but with smaller sets: where the primer shows, or nothing fits, others may do better.
        let others = [primers.first(), primers.last()].into_iter().flatten().filter(|primer| **primer != middle);
        for &primer in others {
            pool.extend(Search { limits: &small, ..searches.at(whole) }.run(primer, (50, 60)));
        }
        pool = distinct(pool);
    }
    let mut followed = best_of_each_size(&pool, FOLLOWED);
    if donor.wish.target != whole.wish.target && !at_whole.over() {
        let at_donor = Search { limits: &small, ..searches.at(donor) };
        followed.extend(best_of_each_size(&at_donor.run(middle, (60, 80)), FOLLOWED));
    }
    let mut followed = over_others(&primers, followed);
    let mut on_primers = laid(&at_whole, &pool, &sizes, (limits.how_many, (80, 86)));
    followed.extend(on_primers.iter().map(|laid| laid.solved.clone()));
    let mut solved = follow(&searches, &stages, followed);
    if let Some(last) = solved.last_mut() {
        // Sets that only came together on the way.
        let known: BTreeSet<Vec<usize>> = pool.iter().map(|solved| set(&solved.mix).0).collect();
        let mut late: Vec<Solved> =
            last.iter().filter(|solved| !known.contains(&set(&solved.mix).0)).cloned().collect();
        late.sort_by(order);
        on_primers.extend(laid(&at_whole, &late, &sizes, (0, (98, 99))));
        last.extend(on_primers.iter().map(|laid| laid.solved.clone()));
    }
    let lines = ask.sizes.iter().zip(&sizes).map(|(asked, most)| line(&bench, &stages, &solved, *asked, *most));
    let lines = lines.collect();
    if crew.stopped() {
        warnings.push(Warning::new("the search was stopped; these are the best recipes up to then"));
    }
    let recipes = recipes(&searches, &whole.wish, on_primers, &sizes);
    Ok(Curve { lines, found: found(&searches, &whole.wish, recipes, warnings) })
}

/// A part of the wish, ready to be searched for.
struct Stage {
    part: f64,
    wish: Wish,
    aim: Aim,
}

/// The wish in its parts.
fn stages(ask: &Ask<'_>, warnings: &mut Vec<Warning>) -> Result<[Stage; PARTS.len()], BriefError> {
    let mut stage = |part: f64| {
        let edits: Vec<Edit> = ask.edits.iter().map(|edit| scaled(edit, part)).collect();
        let mut brief = if part < 1.0 {
            let possible = possible(ask.donor, &edits)?;
            let on_the_way = possible.warnings.iter().map(|warning| {
                Warning::new(format!("when {:.0} % of the wish is asked for: {}", 100.0 * part, warning.what))
            });
            warnings.extend(on_the_way);
            wish(ask.donor, &possible.edits, ask.weights)?
        } else {
            let brief = wish(ask.donor, &edits, ask.weights)?;
            warnings.extend(brief.warnings.iter().cloned());
            brief
        };
        if ask.by_colour {
            brief.wish.spectral.clear();
        }
        Ok::<_, BriefError>(Stage { part, aim: Aim::new(&brief.wish), wish: brief.wish })
    };
    let [a, b, c, d, e] = PARTS;
    Ok([stage(a)?, stage(b)?, stage(c)?, stage(d)?, stage(e)?])
}

fn check_sizes(sizes: &[usize]) -> Result<(), RecipeError> {
    let mut low = 1;
    if sizes.is_empty() {
        return Err(RecipeError::Limit { what: "number of sizes", value: 0.0, low: 1.0, high: MOST_IN_RECIPE as f64 });
    }
    for &size in sizes {
        if !(low..=MOST_IN_RECIPE).contains(&size) {
            let (value, low, high) = (size as f64, low as f64, MOST_IN_RECIPE as f64);
            return Err(RecipeError::Limit { what: "a size of recipe (they must rise)", value, low, high });
        }
        low = size + 1;
    }
    Ok(())
}

fn doubts(wish: &Wish) -> Vec<Warning> {
    let mut doubts = wish.target.warnings();
    let angles = wish.target.by_angle().len();
    if angles < 4 {
        doubts.push(Warning::new(format!(
            "the curve tells of {angles} of six angles: what the recipes do at the others, nobody has asked for"
        )));
    }
    doubts
}

/// What the searches for all parts share.
struct Searches<'a> {
    shelf: &'a Shelf,
    bench: &'a Bench,
    limits: &'a Limits,
    crew: &'a Crew<'a>,
    toners: &'a [usize],
}

impl<'a> Searches<'a> {
    fn at(&self, stage: &'a Stage) -> Search<'a> {
        let Self { shelf, bench, limits, crew, toners } = *self;
        Search { shelf, bench, aim: &stage.aim, limits, crew, toners }
    }
}

/// Toners, primer and film: what stays while fractions move.
type Set = (Vec<usize>, usize, u64);

fn set(mix: &Mix) -> Set {
    let mut toners: Vec<usize> = mix.parts.iter().map(|part| part.toner).collect();
    toners.sort_unstable();
    (toners, mix.substrate, mix.film_um.to_bits())
}

/// Whether the best set leaves a visible difference, or borrows much of its colour from the primer.
fn doubtful(best: &Solved) -> bool {
    (best.square + best.wobble).sqrt() > 1.0 || best.wobble > 0.25
}

/// The first of each number of toners, of a list that is in order.
fn best_of_each_size(pool: &[Solved], count: usize) -> Vec<Solved> {
    let of_size = |size: usize| pool.iter().filter(move |solved| solved.mix.parts.len() == size).take(count);
    (1..=MOST_IN_RECIPE).flat_map(of_size).cloned().collect()
}

/// The same sets, and each over the darkest and the lightest primer too: a thin film may need one of them.
fn over_others(primers: &[usize], followed: Vec<Solved>) -> Vec<Solved> {
    let ends: Vec<usize> = [primers.first(), primers.last()].into_iter().flatten().copied().collect();
    let over = |solved: &Solved, substrate: usize| {
        let mix = Mix { substrate, ..solved.mix.clone() };
        Solved { mix, ..*solved }
    };
    let others: Vec<Solved> =
        followed.iter().flat_map(|solved| ends.iter().map(move |end| over(solved, *end))).collect();
    followed.into_iter().chain(others).collect()
}

/// The best sets of each size, and so many of any size, laid over primers in whole coats.
fn laid(search: &Search<'_>, pool: &[Solved], sizes: &[usize], (any, span): (usize, (u32, u32))) -> Vec<Laid> {
    let mut sets: BTreeMap<usize, &Solved> = BTreeMap::new();
    let mut take = |most: usize, count: usize| {
        let small = pool.iter().enumerate().filter(|(_, solved)| solved.mix.parts.len() <= most);
        sets.extend(small.take(count));
    };
    for most in sizes {
        take(*most, LAID);
    }
    take(MOST_IN_RECIPE, any);
    let sets: Vec<&Solved> = sets.into_values().collect();
    let laid = search.crew.share(span, &sets, |solver, solved| search.lay(solver, &solved.mix));
    if laid.is_empty() {
        // Stopped: the very best is still laid.
        return pool.first().and_then(|best| search.lay(&mut Solver::default(), &best.mix)).into_iter().collect();
    }
    laid.into_iter().flatten().collect()
}

/// Sets solved at one part.
type Solves = BTreeMap<Set, Solved>;

/// Solves the sets at each part, from the whole wish down to the donor, each starting from its neighbour;
/// lets promising toners join on the way; goes back up with those; and polishes the best of each size.
fn follow(searches: &Searches<'_>, stages: &[Stage; PARTS.len()], sets: Vec<Solved>) -> Vec<Vec<Solved>> {
    let mut at: Vec<Solves> = stages.iter().map(|_| Solves::new()).collect();
    let mut starts: Solves = sets.into_iter().map(|solved| (set(&solved.mix), solved)).collect();
    for (step, (stage, found)) in (0..).zip(stages.iter().zip(&mut at).rev()) {
        let search = searches.at(stage);
        let from = 86 + step;
        *found = glanced(&search, starts.values(), (from, from + 1));
        for _ in 0..ROUNDS {
            found.extend(joined(&search, found, (from, from + 1)));
        }
        starts.clone_from(found);
    }
    for (step, (stage, found)) in (0..).zip(stages.iter().zip(&mut at)) {
        let missing = starts.iter().filter(|(set, _)| !found.contains_key(*set)).map(|(_, solved)| solved);
        let late = glanced(&searches.at(stage), missing, (91 + step, 92 + step));
        found.extend(late);
        starts.extend(found.iter().map(|(set, solved)| (set.clone(), solved.clone())));
    }
    let polished = stages.iter().zip(at).map(|(stage, found)| {
        let mut found: Vec<Solved> = found.into_values().collect();
        found.sort_by(order);
        let best = best_of_each_size(&found, POLISHED);
        let search = searches.at(stage);
        search.crew.share((97, 98), &best, |solver, solved| search.solve(solver, solved.mix.clone(), POLISH))
    });
    polished.collect()
}

/// A few steps from each start.
fn glanced<'a>(search: &Search<'_>, starts: impl Iterator<Item = &'a Solved>, span: (u32, u32)) -> Solves {
    let starts: Vec<&Mix> = starts.map(|solved| &solved.mix).collect();
    let found = search.crew.share(span, &starts, |solver, mix| search.solve(solver, (*mix).clone(), GLANCE));
    found.into_iter().map(|solved| (set(&solved.mix), solved)).collect()
}

/// The best set of each size with one toner more.
fn joined(search: &Search<'_>, found: &Solves, span: (u32, u32)) -> Solves {
    let mut best: Vec<Solved> = found.values().cloned().collect();
    best.sort_by(order);
    let mut best = best_of_each_size(&best, 1);
    best.retain(|solved| solved.mix.parts.len() < search.limits.max_toners);
    let goal =
        Goal { bench: search.bench, aim: search.aim, max_load: search.limits.max_load, learned: None, near: None };
    let kind = |toner: usize| search.shelf.toners().get(toner).map(|toner| toner.kind);
    let tried = search.crew.share(span, &best, |solver, solved| {
        let mix = &solved.mix;
        let taken = |toner: usize| mix.parts.iter().any(|part| part.toner == toner);
        let flakes = mix.parts.iter().any(|part| kind(part.toner).is_some_and(TonerKind::is_flake));
        let may = |toner: &usize| !taken(*toner) && (flakes || kind(*toner) != Some(TonerKind::FlopAdjuster));
        let others: Vec<usize> = search.toners.iter().copied().filter(may).collect();
        let newcomers = prospects(solver, &goal, mix, &others, NEWCOMERS);
        let with = |prospect: Prospect| {
            let mut mix = mix.clone();
            // A solve clamps to the most that the toner allows; twice the least leaves room to fall.
            let fraction = prospect.fraction.clamp(2.0 * search.limits.smallest_dose, MOST_LOAD);
            mix.parts.push(Part { toner: prospect.toner, fraction });
            mix
        };
        let solved = newcomers.into_iter().map(|prospect| search.solve(solver, with(prospect), GLANCE));
        solved.collect::<Vec<_>>()
    });
    tried.into_iter().flatten().map(|solved| (set(&solved.mix), solved)).collect()
}

/// One line of the curve: at each part the nearest of all mixes with so many toners at most.
fn line(bench: &Bench, stages: &[Stage], solved: &[Vec<Solved>], asked: usize, most: usize) -> Line {
    let points = stages.iter().zip(solved).filter_map(|(stage, solved)| {
        let small = solved.iter().filter(|solved| solved.mix.parts.len() <= most);
        let points = small.map(|solved| point(bench, stage, &solved.mix));
        points.min_by(|a, b| a.weighted_de00.total_cmp(&b.weighted_de00))
    });
    Line { most: asked, points: points.collect() }
}

/// How near a mix is to a part of the wish.
fn point(bench: &Bench, stage: &Stage, mix: &Mix) -> Point {
    let fit = fit(&stage.wish, &bench.predict(mix));
    let by_angle: Vec<(Geometry, f64)> = fit.by_angle.iter().map(|(geometry, [d65, ..])| (*geometry, *d65)).collect();
    let (mut sum, mut weights) = (0.0, 0.0);
    for (geometry, weight) in &stage.wish.weights {
        if let Some((_, de00)) = by_angle.iter().find(|(at, _)| at == geometry) {
            sum += weight * de00;
            weights += weight;
        }
    }
    let worst = by_angle.iter().copied().max_by(|(_, a), (_, b)| a.total_cmp(b));
    let (worst_at, worst_de00) = worst.unwrap_or((Geometry::As45, 0.0));
    Point {
        part: stage.part,
        mix: mix.clone(),
        mean_de00: fit.mean_de00,
        // A wish that was checked has a weight.
        weighted_de00: sum / weights,
        worst_de00,
        worst_at,
        by_angle,
    }
}

/// The recipes of what was laid: the best of each size, and others near the best.
fn recipes(searches: &Searches<'_>, wish: &Wish, laid: Vec<Laid>, sizes: &[usize]) -> Vec<Recipe> {
    let Searches { shelf, bench, limits, .. } = *searches;
    let mut ranked: Vec<(f64, Recipe)> = laid
        .into_iter()
        .map(|laid| recipe_of(shelf, bench, wish, laid.solved.mix, laid.coats, laid.hiding))
        .map(|recipe| {
            let colour = math::hypot(recipe.fit.mean_de00, recipe.wetter_de00);
            (colour + TONER_COST * recipe.mix.parts.len() as f64, recipe)
        })
        .collect();
    // Equal only for the same mix, laid twice.
    ranked.sort_by(|(a, _), (b, _)| a.total_cmp(b));
    let mut recipes: Vec<Recipe> = ranked.into_iter().map(|(_, recipe)| recipe).collect();
    let alike = |a: &Recipe, b: &Recipe| set(&a.mix).0 == set(&b.mix).0;
    let mut i = 0;
    while let Some(recipe) = recipes.get(i).cloned() {
        let mut place = 0;
        recipes.retain(|other| {
            place += 1;
            place <= i + 1 || !alike(&recipe, other)
        });
        i += 1;
    }
    let least = recipes.iter().map(|recipe| recipe.fit.mean_de00).fold(f64::INFINITY, f64::min);
    let mut chosen: Vec<usize> =
        sizes.iter().filter_map(|most| recipes.iter().position(|recipe| recipe.mix.parts.len() <= *most)).collect();
    chosen.sort_unstable();
    chosen.dedup();
    for (i, recipe) in recipes.iter().enumerate() {
        let near = recipe.fit.mean_de00 <= least + BEHIND_DE00;
        if near && chosen.len() < limits.how_many && !chosen.contains(&i) {
            chosen.push(i);
        }
    }
    let mut place = 0;
    recipes.retain(|_| {
        place += 1;
        chosen.contains(&(place - 1))
    });
    recipes
}

/// What the search found, with what there is to remark.
fn found(searches: &Searches<'_>, wish: &Wish, recipes: Vec<Recipe>, mut warnings: Vec<Warning>) -> Found {
    let Searches { shelf, crew, .. } = *searches;
    let evaluations = crew.evaluations();
    if let Some(best) = recipes.first().filter(|best| !best.hiding.hides()) {
        let primer = shelf.substrates().get(best.mix.substrate).map_or("?", |s| s.name.as_str());
        warnings.push(Warning::new(format!(
            "the best recipe does not hide in {} coats: the primer {primer} and the number of coats are part of it",
            best.coats
        )));
    }
    if evaluations > MOST_EVALUATIONS {
        warnings.push(Warning::new(format!(
            "the search ended at its limit of {MOST_EVALUATIONS} evaluations; a better recipe may exist"
        )));
    }
    let reachable = recipes.first().map_or(Reach::Near { misses: vec![] }, |best| reach(wish, best));
    Found { reachable, evaluations, stopped: crew.stopped(), warnings, recipes }
}
