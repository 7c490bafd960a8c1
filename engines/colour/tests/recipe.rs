//! The search for recipes, on an invented shelf.

mod synthetic;

use std::sync::atomic::{AtomicU32, Ordering};

use colour::recipe::{Limits, Reach, RecipeError, Wish, search};
use colour::{Bench, Geometry, Measurement, Mix, Part, Prediction, Progress, Shelf, Spectrum};

fn measured(prediction: &Prediction) -> Measurement {
    let by_angle =
        Geometry::ALL.into_iter().zip(prediction).map(|(g, values)| (g, Spectrum::new(*values).expect("a sound one")));
    Measurement::new(by_angle.collect()).expect("a sound one")
}

fn mix(shelf: &Shelf, parts: &[(&str, f64)], film_um: f64) -> Mix {
    let parts = parts
        .iter()
        .map(|(name, fraction)| Part { toner: shelf.toner(name).expect("a sound one"), fraction: *fraction });
    Mix { parts: parts.collect(), film_um, substrate: 2 }
}

fn target(shelf: &Shelf, parts: &[(&str, f64)], film_um: f64) -> Measurement {
    measured(&Bench::new(shelf).predict(&mix(shelf, parts, film_um)))
}

const ON: &(dyn Fn(Progress) -> bool + Sync) = &|_| true;

#[test]
fn invariant_a_known_mix_is_found_again() {
    let shelf = synthetic::shelf(24);
    let cases: [&[(&str, f64)]; 6] = [
        &[("aluminium 0", 0.15), ("solid 4", 0.03), ("black", 0.002)],
        &[("pearl 1", 0.12), ("solid 0", 0.03), ("aluminium 2", 0.05)],
        &[("aluminium 4", 0.2), ("flop control", 0.04), ("earth 2", 0.02), ("solid 6", 0.01)],
        &[("white", 0.25), ("solid 3", 0.01), ("black", 0.001)],
        &[("solid 5", 0.2), ("earth 4", 0.1), ("white", 0.02)],
        &[("pearl 3", 0.1), ("pearl 5", 0.1), ("black", 0.05), ("solid 2", 0.02)],
    ];
    for parts in cases {
        let target = target(&shelf, parts, 25.0);
        let found = search(&shelf, &Wish::same_as(&target), &Limits::usual(&shelf), ON).unwrap();
        let best = &found.recipes[0];
        println!(
            "{parts:?}: {:.3} {} toners, {} coats, {} evaluations, hiding {:?}",
            best.fit.mean_de00,
            best.mix.parts.len(),
            best.coats,
            found.evaluations,
            best.hiding
        );
        // Whole coats make another film than the 25 um of the target, so a trace is left.
        assert!(best.fit.mean_de00 < 0.1, "{parts:?}: {best:?}");
        assert_eq!(found.reachable, Reach::Within);
        assert!(!found.stopped);
    }
}

#[test]
fn invariant_limits_are_kept() {
    let shelf = synthetic::shelf(24);
    let target = target(&shelf, &[("aluminium 0", 0.25), ("pearl 1", 0.25), ("solid 4", 0.02), ("black", 0.004)], 20.0);
    let gone = shelf.toner("aluminium 0").unwrap();
    let limits = Limits {
        max_toners: 3,
        substrates: vec![1],
        out_of_stock: vec![gone],
        max_load: 0.2,
        smallest_dose: 0.01,
        film_um: None,
        max_coats: 4,
        how_many: 5,
    };
    let found = search(&shelf, &Wish::same_as(&target), &limits, ON).unwrap();
    assert_eq!(found.recipes.len(), 5);
    for recipe in &found.recipes {
        assert!(recipe.mix.parts.len() <= 3);
        assert_eq!(recipe.mix.substrate, 1);
        assert!(recipe.mix.load() <= 0.2 + 1e-9, "{}", recipe.mix.load());
        assert!((2..=4).contains(&recipe.coats));
        for part in &recipe.mix.parts {
            assert!(
                part.toner != gone && part.fraction >= 0.01 && part.fraction <= shelf.toners()[part.toner].max_fraction
            );
        }
    }
    for pair in found.recipes.windows(2) {
        assert_ne!(
            pair[0].mix.parts.iter().map(|p| p.toner).collect::<Vec<_>>(),
            pair[1].mix.parts.iter().map(|p| p.toner).collect::<Vec<_>>()
        );
    }
}

#[test]
fn invariant_more_toners_are_never_worse() {
    let shelf = synthetic::shelf(24);
    let target = target(&shelf, &[("aluminium 2", 0.1), ("pearl 3", 0.1), ("solid 4", 0.02), ("earth 1", 0.03)], 20.0);
    let mut before = f64::INFINITY;
    for max_toners in 1..=6 {
        let limits = Limits { max_toners, how_many: 1, ..Limits::usual(&shelf) };
        let found = search(&shelf, &Wish::same_as(&target), &limits, ON).unwrap();
        let best = &found.recipes[0];
        // The order counts 0.04 for each toner, and what a wetter film does.
        let rank = base::math::hypot(best.fit.mean_de00, best.wetter_de00) + 0.04 * best.mix.parts.len() as f64;
        assert!(rank <= before + 0.01, "{max_toners}: {rank} after {before}");
        before = rank;
    }
}

#[test]
fn invariant_the_same_again() {
    let shelf = synthetic::shelf(24);
    let wish = Wish::same_as(&target(&shelf, &[("pearl 1", 0.12), ("solid 1", 0.03), ("white", 0.01)], 20.0));
    let once = search(&shelf, &wish, &Limits::usual(&shelf), ON).unwrap();
    let again = search(&shelf, &wish, &Limits::usual(&shelf), ON).unwrap();
    assert_eq!(once, again);
}

#[test]
fn a_stop_gives_the_best_so_far() {
    let shelf = synthetic::shelf(24);
    let wish = Wish::same_as(&target(&shelf, &[("aluminium 0", 0.15), ("solid 4", 0.03)], 20.0));
    let asked = AtomicU32::new(0);
    let found = search(&shelf, &wish, &Limits::usual(&shelf), &|progress| {
        assert!(progress.done <= progress.of);
        asked.fetch_add(1, Ordering::Relaxed) < 12
    })
    .unwrap();
    assert!(found.stopped && !found.recipes.is_empty());
    assert!(found.warnings.iter().any(|w| w.what.contains("stopped")));
    let at_once = search(&shelf, &wish, &Limits::usual(&shelf), &|_| false).unwrap();
    assert!(at_once.stopped);
}

#[test]
fn a_solid_colour_is_made_of_solids_from_one_angle_too() {
    let shelf = synthetic::shelf(24);
    let all = target(&shelf, &[("white", 0.2), ("solid 6", 0.02), ("solid 1", 0.03)], 40.0);
    let one = Measurement::new(vec![(Geometry::As45, *all.at(Geometry::As45).unwrap())]).unwrap();
    for target in [&all, &one] {
        let found = search(&shelf, &Wish::same_as(target), &Limits::usual(&shelf), ON).unwrap();
        let best = &found.recipes[0];
        assert!(best.mix.parts.iter().all(|p| shelf.toners()[p.toner].kind == colour::TonerKind::Solid));
        assert!(best.fit.mean_de00 < 0.1, "{}", best.fit.mean_de00);
        assert_eq!(found.warnings.iter().any(|w| w.what.contains("one angle only")), target.by_angle().len() == 1);
    }
}

#[test]
fn says_what_cannot_be_made() {
    let shelf = synthetic::shelf(24);
    let target = target(&shelf, &[("pearl 1", 0.2), ("solid 4", 0.05)], 20.0);
    // Nothing but a white, a black and an aluminium to make it of.
    let keep = ["white", "black", "aluminium 0"];
    let gone = (0..24).filter(|i| !keep.contains(&shelf.toners()[*i].name.as_str())).collect();
    let limits = Limits { out_of_stock: gone, ..Limits::usual(&shelf) };
    let found = search(&shelf, &Wish::same_as(&target), &limits, ON).unwrap();
    let Reach::NotReachable { misses } = &found.reachable else { panic!("{:?}", found.reachable) };
    assert!(misses[0].missing.starts_with("nothing on the shelf is "), "{misses:?}");
}

#[test]
fn bad_input_is_refused_in_words() {
    let shelf = synthetic::shelf(12);
    let target = target(&shelf, &[("white", 0.2)], 30.0);
    let wish = Wish::same_as(&target);
    let usual = Limits::usual(&shelf);
    let refused = |wish: &Wish, limits: &Limits| search(&shelf, wish, limits, ON).unwrap_err();

    let weightless = Wish { weights: vec![(Geometry::As45, 0.0)], ..wish.clone() };
    assert_eq!(refused(&weightless, &usual), RecipeError::NoWeight);
    assert_eq!(refused(&Wish { weights: vec![], ..wish.clone() }, &usual), RecipeError::NoWeight);
    let odd = Wish { weights: vec![(Geometry::As45, f64::NAN)], ..wish.clone() };
    assert!(matches!(refused(&odd, &usual), RecipeError::Weight { .. }));
    let one = Measurement::new(vec![(Geometry::As45, *target.at(Geometry::As45).unwrap())]).unwrap();
    let elsewhere = Wish { target: one, weights: vec![(Geometry::As15, 1.0)], spectral: vec![] };
    assert_eq!(refused(&elsewhere, &usual), RecipeError::NotMeasured { geometry: Geometry::As15 });

    for limits in [
        Limits { max_toners: 0, ..usual.clone() },
        Limits { max_toners: 7, ..usual.clone() },
        Limits { max_load: 1.5, ..usual.clone() },
        Limits { smallest_dose: f64::NAN, ..usual.clone() },
        Limits { film_um: Some(0.0), ..usual.clone() },
        Limits { max_coats: 1, ..usual.clone() },
        Limits { how_many: 0, ..usual.clone() },
    ] {
        assert!(matches!(refused(&wish, &limits), RecipeError::Limit { .. }), "{limits:?}");
    }
    assert_eq!(refused(&wish, &Limits { substrates: vec![], ..usual.clone() }), RecipeError::NoPrimer);
    assert!(matches!(
        refused(&wish, &Limits { substrates: vec![9], ..usual.clone() }),
        RecipeError::NoSuch { what: "primer", .. }
    ));
    let none = Limits { out_of_stock: (0..12).collect(), ..usual.clone() };
    assert!(matches!(refused(&wish, &none), RecipeError::NoToner { .. }));
}
