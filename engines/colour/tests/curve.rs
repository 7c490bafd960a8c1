//! How near a shelf comes while more of a wish is asked for, on an invented shelf.

mod synthetic;

use std::sync::Mutex;
use std::sync::atomic::{AtomicU32, Ordering};

use colour::brief::{BriefError, Edit};
use colour::recipe::{Ask, Curve, Limits, PARTS, Reach, RecipeError, Wish, curve, search};
use colour::{
    Bench, Geometry, Illuminant, Lch, Measurement, Mix, Observer, Part, Progress, Shelf, Spectrum, ciede2000, lab,
};

const ON: &(dyn Fn(Progress) -> bool + Sync) = &|_| true;
const SIZES: [usize; 4] = [2, 3, 4, 6];

fn paint(shelf: &Shelf, parts: &[(&str, f64)], film_um: f64) -> Measurement {
    let parts = parts
        .iter()
        .map(|(name, fraction)| Part { toner: shelf.toner(name).expect("a sound one"), fraction: *fraction });
    let mix = Mix { parts: parts.collect(), film_um, substrate: 2 };
    let predicted = Bench::new(shelf).predict(&mix);
    let by_angle =
        Geometry::ALL.into_iter().zip(&predicted).map(|(g, values)| (g, Spectrum::new(*values).expect("a sound one")));
    Measurement::new(by_angle.collect()).expect("a sound one")
}

fn pearl(shelf: &Shelf) -> Measurement {
    paint(shelf, &[("pearl 3", 0.12), ("solid 4", 0.02), ("white", 0.02)], 20.0)
}

/// The flop of a paint turned, lighter and greyer.
fn other_flop() -> Vec<Edit> {
    let edit = |geometry, dl, dc, dh_deg| Edit { geometry, dl, dc, dh_deg };
    vec![
        edit(Geometry::As45, 2.0, -2.0, 20.0),
        edit(Geometry::As75, 4.0, -4.0, 50.0),
        edit(Geometry::As110, 5.0, -3.0, 60.0),
    ]
}

fn asked(shelf: &Shelf, donor: &Measurement, edits: &[Edit]) -> Curve {
    curve(shelf, &Ask { donor, edits, weights: None, sizes: &SIZES, by_colour: false }, &Limits::usual(shelf), ON)
        .expect("a sound question")
}

#[test]
fn invariant_the_donor_is_reached_and_more_toners_come_nearer() {
    let shelf = synthetic::shelf(24);
    let donor = pearl(&shelf);
    let edits = other_flop();
    let found = asked(&shelf, &donor, &edits);
    assert_eq!(found.lines.iter().map(|line| line.most).collect::<Vec<_>>(), SIZES);
    for line in &found.lines {
        assert_eq!(line.points.iter().map(|point| point.part).collect::<Vec<_>>(), PARTS);
        for point in &line.points {
            assert!(point.mix.parts.len() <= line.most);
            assert_eq!(point.by_angle.len(), 6);
            let mean = point.by_angle.iter().map(|(_, de00)| de00).sum::<f64>() / 6.0;
            assert!((mean - point.mean_de00).abs() < 1e-12);
            let worst = point.by_angle.iter().find(|(geometry, _)| *geometry == point.worst_at).unwrap().1;
            assert_eq!(worst, point.worst_de00);
            assert!(point.by_angle.iter().all(|(_, de00)| *de00 <= worst));
        }
    }
    // The donor was mixed of three toners of this very shelf.
    assert!(found.lines[1].points[0].mean_de00 < 0.3, "{:?}", found.lines[1].points[0]);
    for pair in found.lines.windows(2) {
        for (fewer, more) in pair[0].points.iter().zip(&pair[1].points) {
            assert!(more.weighted_de00 <= fewer.weighted_de00, "{} to {} at {}", pair[0].most, pair[1].most, more.part);
        }
    }
}

#[test]
fn invariant_points_tell_the_truth_of_their_mixes() {
    let shelf = synthetic::shelf(24);
    let (donor, edits) = (pearl(&shelf), other_flop());
    let bench = Bench::new(&shelf);
    for line in asked(&shelf, &donor, &edits).lines {
        for point in line.points {
            let predicted = bench.predict(&point.mix);
            for ((geometry, measured), spectrum) in donor.by_angle().iter().zip(&predicted) {
                let colour = |spectrum: &Spectrum| lab(spectrum, Illuminant::D65, Observer::Deg10);
                let before = colour(measured).lch();
                let edit = edits.iter().find(|edit| edit.geometry == *geometry);
                let by = |f: fn(&Edit) -> f64| edit.map_or(0.0, |edit| point.part * f(edit));
                let (dl, dc, dh_deg) = (by(|e| e.dl), by(|e| e.dc), by(|e| e.dh_deg));
                let wanted = Lch { l: before.l + dl, c: before.c + dc, h_deg: before.h_deg + dh_deg }.lab();
                let de00 = ciede2000(wanted, colour(&Spectrum::new(*spectrum).unwrap()));
                let told = point.by_angle.iter().find(|(at, _)| at == geometry).unwrap().1;
                // The wished spectrum has its colour to 1e-6.
                assert!((told - de00).abs() < 1e-4, "{geometry}: {told} {de00}");
            }
        }
    }
}

#[test]
fn invariant_recipes_are_on_the_curve_and_of_several_sizes() {
    let shelf = synthetic::shelf(24);
    let found = asked(&shelf, &pearl(&shelf), &other_flop());
    assert!(!found.found.stopped);
    let recipes = &found.found.recipes;
    for (most, line) in SIZES.iter().zip(&found.lines) {
        let best = recipes.iter().find(|recipe| recipe.mix.parts.len() <= *most).expect("one of each size");
        let last = line.points.last().unwrap();
        let weighted: f64 = colour::recipe::USUAL_WEIGHTS
            .iter()
            .map(|(geometry, weight)| weight * best.fit.by_angle.iter().find(|(at, _)| at == geometry).unwrap().1[0])
            .sum();
        assert!(last.weighted_de00 <= weighted + 1e-9, "{most}: {} {weighted}", last.weighted_de00);
    }
    for (i, one) in recipes.iter().enumerate() {
        for two in &recipes[..i] {
            let toners = |mix: &Mix| mix.parts.iter().map(|part| part.toner).collect::<std::collections::BTreeSet<_>>();
            assert_ne!(toners(&one.mix), toners(&two.mix));
        }
    }
}

#[test]
fn invariant_the_whole_wish_comes_as_near_as_its_own_search() {
    let shelf = synthetic::shelf(24);
    let donor = pearl(&shelf);
    for edits in [other_flop(), vec![]] {
        let brief = colour::brief::wish(&donor, &edits, None).unwrap();
        let limits = Limits { max_toners: 6, ..Limits::usual(&shelf) };
        let alone = search(&shelf, &brief.wish, &limits, ON).unwrap();
        let found = asked(&shelf, &donor, &edits);
        let (curve, alone) = (&found.found.recipes[0], &alone.recipes[0]);
        // The search alone looks for sets of every size over three primers where the wish is doubtful, the curve
        // for small ones over two of them: nearer or not, the difference stays below what an eye tells apart.
        assert!(curve.fit.mean_de00 <= alone.fit.mean_de00 + 0.3, "{} {}", curve.fit.mean_de00, alone.fit.mean_de00);
    }
}

#[test]
fn invariant_the_same_again_and_no_edits_make_a_level_curve() {
    let shelf = synthetic::shelf(24);
    let donor = pearl(&shelf);
    assert_eq!(asked(&shelf, &donor, &other_flop()), asked(&shelf, &donor, &other_flop()));
    let still = asked(&shelf, &donor, &[]);
    assert_eq!(still.found.reachable, Reach::Within);
    for line in still.lines {
        let all: Vec<f64> = line.points.iter().map(|point| point.weighted_de00).collect();
        assert!(all.iter().all(|de00| (de00 - all[0]).abs() < 0.05), "{all:?}");
    }
}

#[test]
fn says_what_is_missing() {
    let shelf = synthetic::shelf(24);
    let keep = ["white", "black", "aluminium 0"];
    let gone = (0..24).filter(|i| !keep.contains(&shelf.toners()[*i].name.as_str())).collect();
    let limits = Limits { out_of_stock: gone, ..Limits::usual(&shelf) };
    let donor = paint(&shelf, &[("aluminium 0", 0.15), ("black", 0.01)], 20.0);
    let edits = [Edit { geometry: Geometry::As110, dl: 20.0, dc: 25.0, dh_deg: 0.0 }];
    let found = curve(
        &shelf,
        &Ask { donor: &donor, edits: &edits, weights: None, sizes: &[2, 3], by_colour: false },
        &limits,
        ON,
    )
    .unwrap();
    let Reach::NotReachable { misses } = &found.found.reachable else { panic!("{:?}", found.found.reachable) };
    assert!(misses[0].missing.starts_with("nothing on the shelf is "), "{misses:?}");
    for line in &found.lines {
        let all: Vec<f64> = line.points.iter().map(|point| point.weighted_de00).collect();
        assert!(all[0] < 0.3 && all[4] > 1.0, "{all:?}");
    }
}

#[test]
fn a_stop_gives_the_best_so_far_and_progress_only_rises() {
    let shelf = synthetic::shelf(24);
    let (donor, edits) = (pearl(&shelf), other_flop());
    let ask = Ask { donor: &donor, edits: &edits, weights: None, sizes: &SIZES, by_colour: false };
    for most in [0, 1, 12, 60, 100] {
        let asked = AtomicU32::new(0);
        let found = curve(&shelf, &ask, &Limits::usual(&shelf), &|progress| {
            assert!(progress.done <= progress.of);
            asked.fetch_add(1, Ordering::Relaxed) < most
        })
        .unwrap();
        assert!(found.found.stopped, "{most}");
        assert!(found.found.warnings.iter().any(|w| w.what.contains("stopped")));
        assert!(most == 0 || !found.found.recipes.is_empty(), "{most}");
        assert_eq!(found.lines.len(), 4);
    }
    let told = Mutex::new(Vec::new());
    let whole = curve(&shelf, &ask, &Limits::usual(&shelf), &|progress| {
        told.lock().unwrap().push(progress.done);
        true
    });
    assert!(!whole.unwrap().found.stopped);
    let told = told.into_inner().unwrap();
    assert!(told.len() > 100 && *told.last().unwrap() >= 90, "{}", told.len());
}

#[test]
fn few_angles_are_answered_with_a_doubt() {
    let shelf = synthetic::shelf(24);
    let all = pearl(&shelf);
    let of = |angles: &[Geometry]| {
        Measurement::new(angles.iter().map(|geometry| (*geometry, *all.at(*geometry).unwrap())).collect()).unwrap()
    };
    for angles in
        [&[Geometry::As15, Geometry::As45, Geometry::As110][..], &[Geometry::As25, Geometry::As75], &[Geometry::As45]]
    {
        let donor = of(angles);
        let edits = [Edit { geometry: angles[angles.len() - 1], dl: 3.0, dc: 0.0, dh_deg: 10.0 }];
        let ask = Ask { donor: &donor, edits: &edits, weights: None, sizes: &[3], by_colour: false };
        let found = curve(&shelf, &ask, &Limits::usual(&shelf), ON).unwrap();
        assert_eq!(found.lines[0].points.len(), PARTS.len());
        assert!(found.found.warnings.iter().any(|w| w.what.contains("of six angles")), "{:?}", found.found.warnings);
    }
}

#[test]
fn bad_input_is_refused_in_words() {
    let shelf = synthetic::shelf(12);
    let donor = paint(&shelf, &[("white", 0.2)], 30.0);
    let usual = Limits::usual(&shelf);
    let refused = |edits: &[Edit], sizes: &[usize], limits: &Limits| {
        curve(&shelf, &Ask { donor: &donor, edits, weights: None, sizes, by_colour: false }, limits, ON).unwrap_err()
    };
    for sizes in [&[][..], &[0], &[7], &[3, 3], &[4, 2], &[usize::MAX]] {
        let error = refused(&[], sizes, &usual);
        assert!(matches!(error, BriefError::Wish(RecipeError::Limit { .. })), "{sizes:?}: {error}");
    }
    let none = Limits { out_of_stock: (0..12).collect(), ..usual.clone() };
    assert!(matches!(refused(&[], &[2], &none), BriefError::Wish(RecipeError::NoToner { .. })));
    let primer = Limits { substrates: vec![], ..usual.clone() };
    assert_eq!(refused(&[], &[2], &primer), BriefError::Wish(RecipeError::NoPrimer));
    let beyond = [Edit { geometry: Geometry::As45, dl: 190.0, dc: 0.0, dh_deg: 0.0 }];
    assert!(matches!(refused(&beyond, &[2], &usual), BriefError::Outside { .. }));
    let weightless = Geometry::ALL.map(|geometry| (geometry, 0.0));
    let ask = Ask { donor: &donor, edits: &[], weights: Some(&weightless), sizes: &[2], by_colour: false };
    assert_eq!(curve(&shelf, &ask, &usual, ON), Err(BriefError::Wish(RecipeError::NoWeight)));
    // A wish of the paint itself: the search's own type says the same.
    assert!(search(&shelf, &Wish { weights: vec![], ..Wish::same_as(&donor) }, &usual, ON).is_err());
}
