//! Weighing out and bringing back, on an invented shelf.

mod synthetic;

use base::stream::Stream;
use colour::pour::{
    Amount, BINDER_G_CM3, Grams, InPot, Order, Pour, PourError, Remedy, Shift, UNSEEN_DE00, poured, remedy, steps,
    wanted_g,
};
use colour::{Mix, Part, Shelf};

/// The invented shelf with tins that hold other shares of solids.
fn shelf() -> Shelf {
    let plain = synthetic::shelf(24);
    let mut toners = plain.toners().to_vec();
    for (i, toner) in toners.iter_mut().enumerate() {
        toner.solids_fraction = [None, Some(0.5), Some(0.25)][i % 3];
    }
    Shelf::new(toners, plain.substrates().to_vec(), *plain.clear()).expect("a sound shelf")
}

fn mix(shelf: &Shelf, parts: &[(&str, f64)]) -> Mix {
    let parts = parts
        .iter()
        .map(|(name, fraction)| Part { toner: shelf.toner(name).expect("on the shelf"), fraction: *fraction });
    Mix { parts: parts.collect(), film_um: 25.0, substrate: 2 }
}

const RECIPES: [&[(&str, f64)]; 5] = [
    &[("aluminium 0", 0.15), ("solid 4", 0.03), ("black", 0.002)],
    &[("pearl 1", 0.12), ("solid 0", 0.03), ("aluminium 2", 0.05)],
    &[("aluminium 4", 0.2), ("flop control", 0.04), ("earth 2", 0.02), ("solid 6", 0.01)],
    &[("white", 0.25), ("solid 3", 0.01), ("black", 0.004)],
    &[("solid 5", 0.2), ("earth 4", 0.1), ("white", 0.02)],
];

fn order(mass_g: f64, scale_g: f64) -> Order {
    Order { amount: Amount::Grams(mass_g), scale_g, smallest_dose_g: 0.0 }
}

fn in_pot(pour: &Pour) -> Vec<Grams> {
    pour.steps.iter().map(|step| (step.toner, step.add_g)).collect()
}

fn total_g(pot: &[Grams]) -> f64 {
    pot.iter().map(|(_, grams)| grams).sum()
}

/// Dry fractions of a pot, by the definition of solids alone.
fn fraction(shelf: &Shelf, pot: &[Grams], toner: usize) -> f64 {
    let dry = |(toner, grams): &Grams| grams * toner.and_then(|t| shelf.toners()[t].solids_fraction).unwrap_or(1.0);
    let all: f64 = pot.iter().map(dry).sum();
    pot.iter().filter(|(t, _)| *t == Some(toner)).map(dry).sum::<f64>() / all
}

fn off_by(shelf: &Shelf, mix: &Mix, pot: &[Grams]) -> f64 {
    mix.parts.iter().map(|part| (fraction(shelf, pot, part.toner) - part.fraction).abs()).fold(0.0, f64::max)
}

#[test]
fn invariant_running_totals_add_up_and_every_dose_is_steps_of_the_scale() {
    let shelf = shelf();
    for parts in RECIPES {
        let mix = mix(&shelf, parts);
        for (mass_g, scale_g) in [(500.0, 0.1), (733.3, 0.1), (2000.0, 0.5), (1234.5, 0.01), (95_000.0, 10.0)] {
            let pour = steps(&shelf, &mix, &order(mass_g, scale_g)).unwrap();
            assert_eq!(pour.steps.len(), mix.parts.len() + 1);
            let mut sum = 0.0;
            for step in &pour.steps {
                let count = step.add_g / scale_g;
                assert!((count - count.round()).abs() < 1e-6 && step.add_g > 0.0, "{step:?}");
                sum += step.add_g;
                assert!((step.total_g - sum).abs() < 1e-6, "{step:?} {sum}");
            }
            assert!((sum - mass_g).abs() <= scale_g * (1.0 + 1e-6), "{sum} of {mass_g}");
            let exact: f64 = pour.steps.iter().map(|step| step.exact_g).sum();
            assert!((exact - mass_g).abs() < 1e-6, "{exact} of {mass_g}");
        }
    }
}

#[test]
fn invariant_exact_masses_dry_to_the_fractions_of_the_recipe() {
    let shelf = shelf();
    for parts in RECIPES {
        let mix = mix(&shelf, parts);
        let pour = steps(&shelf, &mix, &order(500.0, 0.1)).unwrap();
        let exact: Vec<Grams> = pour.steps.iter().map(|step| (step.toner, step.exact_g)).collect();
        assert!(off_by(&shelf, &mix, &exact) < 1e-12);
        let shift = poured(&shelf, &mix, &exact).unwrap();
        assert!(shift.worst_de00 < 1e-9, "{shift:?}");
        // What is poured counts by its shares, not by its mass.
        let double: Vec<Grams> = exact.iter().map(|(toner, grams)| (*toner, 2.0 * grams)).collect();
        assert!(poured(&shelf, &mix, &double).unwrap().worst_de00 < 1e-9);
    }
}

#[test]
fn invariant_the_binder_comes_first_and_then_the_doses_rise() {
    let shelf = shelf();
    for parts in RECIPES {
        let pour = steps(&shelf, &mix(&shelf, parts), &order(500.0, 0.1)).unwrap();
        assert_eq!(pour.steps[0].toner, None);
        assert!(pour.steps[1..].windows(2).all(|two| two[0].exact_g <= two[1].exact_g));
    }
}

#[test]
fn invariant_rounding_for_the_colour_is_never_worse_than_rounding_each_dose() {
    let shelf = shelf();
    let mut random = Stream::new(4, 0);
    let mut gained = 0;
    for parts in RECIPES {
        let mix = mix(&shelf, parts);
        for _ in 0..8 {
            let mass_g = 300.0 + 700.0 * random.uniform();
            let scale_g = [0.1, 0.5, 1.0][(random.uniform() * 3.0) as usize];
            let Ok(pour) = steps(&shelf, &mix, &order(mass_g, scale_g)) else { continue };
            // Each dose to its own nearest step, the binder taking the rest.
            let mut plain: Vec<Grams> =
                pour.steps[1..].iter().map(|step| (step.toner, (step.exact_g / scale_g).round() * scale_g)).collect();
            let rest = (mass_g / scale_g).round() * scale_g - total_g(&plain);
            plain.push((None, rest));
            let plain = poured(&shelf, &mix, &plain).unwrap();
            assert!(pour.shift.mean_de00 <= plain.mean_de00 + 1e-9, "{:?} {plain:?}", pour.shift);
            gained += usize::from(pour.shift.mean_de00 < 0.9 * plain.mean_de00);
            // The shift it tells is that of what it says to pour.
            let again = poured(&shelf, &mix, &in_pot(&pour)).unwrap();
            assert!((again.mean_de00 - pour.shift.mean_de00).abs() < 1e-6);
            assert!((again.worst_de00 - pour.shift.worst_de00).abs() < 1e-6);
            assert!(again.mean_de00 <= again.worst_de00);
        }
    }
    assert!(gained > 0, "rounding for the colour never differed from rounding each dose");
}

#[test]
fn invariant_a_finer_scale_ends_nearer_in_the_limit() {
    let shelf = shelf();
    for parts in RECIPES {
        let mix = mix(&shelf, parts);
        let shift = |scale_g| steps(&shelf, &mix, &order(800.0, scale_g)).unwrap().shift.mean_de00;
        assert!(shift(0.001) <= shift(1.0));
        assert!(shift(0.001) < 0.01, "{}", shift(0.001));
    }
}

#[test]
fn invariant_litres_are_masses_by_density() {
    let plain = synthetic::shelf(24);
    let solids = shelf();
    let white = |shelf: &Shelf, fraction| mix(shelf, &[("white", fraction)]);
    // Hardly any toner: the binder's density. One to one: 2 g/cm3 and 1.1 g/cm3 share the volume.
    let thin = wanted_g(&plain, &white(&plain, 1e-9), Amount::Litres(2.0)).unwrap();
    assert!((thin - 2000.0 * BINDER_G_CM3).abs() < 1e-3);
    let half = wanted_g(&plain, &white(&plain, 0.5), Amount::Litres(1.0)).unwrap();
    assert!((half - 1000.0 / (0.5 / 2.0 + 0.5 / 1.1)).abs() < 1e-9);
    for shelf in [&plain, &solids] {
        let mix = mix(shelf, RECIPES[0]);
        let one = wanted_g(shelf, &mix, Amount::Litres(1.0)).unwrap();
        let pour = steps(shelf, &mix, &Order { amount: Amount::Litres(1.0), ..order(1.0, 0.1) }).unwrap();
        assert!((pour.litres - 1.0).abs() < 1e-12 && (pour.wanted_g - one).abs() < 1e-9);
    }
}

fn pot<'a>(poured_g: &'a [Grams], to_come_g: &'a [Grams], limit_g: f64) -> InPot<'a> {
    InPot { poured_g, to_come_g, scale_g: 0.1, limit_g }
}

#[test]
fn invariant_a_fine_pot_is_fine_at_every_step() {
    let shelf = shelf();
    for parts in RECIPES {
        let mix = mix(&shelf, parts);
        let pour = steps(&shelf, &mix, &order(2000.0, 0.1)).unwrap();
        let all = in_pot(&pour);
        for done in 1..=all.len() {
            let (poured_g, to_come_g) = all.split_at(done);
            let remedy = remedy(&shelf, &mix, &pot(poured_g, to_come_g, 2000.0)).unwrap();
            assert!(matches!(remedy, Remedy::Fine { shift } if shift.worst_de00 <= UNSEEN_DE00), "{remedy:?}");
        }
    }
}

/// The pot after a remedy, with every promise about its steps checked.
fn remedied(pot: &InPot<'_>, remedy: &Remedy) -> (Vec<Grams>, bool, Shift, Shift) {
    let Remedy::Add { steps, total_g: end_g, exact, before, after } = remedy else { panic!("{remedy:?}") };
    let mut full = pot.poured_g.to_vec();
    for step in steps {
        let count = step.add_g / pot.scale_g;
        assert!((count - count.round()).abs() < 1e-6 && step.add_g > 0.0, "{step:?}");
        full.push((step.toner, step.add_g));
        assert!((step.total_g - total_g(&full)).abs() < 1e-6, "{step:?}");
    }
    assert!((end_g - total_g(&full)).abs() < 1e-6);
    assert!(*end_g <= pot.limit_g + 1e-6, "{end_g} over {}", pot.limit_g);
    (full, *exact, *before, *after)
}

#[test]
fn invariant_too_much_is_brought_back_within_the_limit_or_not_at_all() {
    let shelf = shelf();
    let (mut exactly, mut nearly, mut again) = (0, 0, 0);
    for parts in RECIPES {
        let mix = mix(&shelf, parts);
        let all = in_pot(&steps(&shelf, &mix, &order(500.0, 0.1)).unwrap());
        for at in 0..all.len() {
            for factor in [1.05, 1.3, 2.5] {
                // A slip at this step: of the whole pot, and of one whose other steps are to come.
                for done in [at + 1, all.len()] {
                    let mut slipped = all.clone();
                    slipped[at].1 *= factor;
                    let (poured_g, to_come_g) = slipped.split_at(done);
                    let pot = pot(poured_g, to_come_g, 900.0);
                    let remedy = remedy(&shelf, &mix, &pot).unwrap();
                    let as_planned = poured(&shelf, &mix, &slipped).unwrap();
                    match &remedy {
                        Remedy::Fine { shift } => {
                            assert!(shift.worst_de00 <= UNSEEN_DE00);
                            assert!((shift.worst_de00 - as_planned.worst_de00).abs() < 1e-9);
                        }
                        Remedy::StartAgain { why, shift } => {
                            assert!(shift.worst_de00 > UNSEEN_DE00 && why.contains("900.0 g"), "{why}");
                            again += 1;
                        }
                        Remedy::Add { .. } => {
                            let (full, exact, before, after) = remedied(&pot, &remedy);
                            assert!((before.worst_de00 - as_planned.worst_de00).abs() < 1e-9);
                            let found = poured(&shelf, &mix, &full).unwrap();
                            assert!((found.worst_de00 - after.worst_de00).abs() < 1e-6);
                            assert!(after.worst_de00 < before.worst_de00);
                            if exact {
                                // The recipe's fractions again, but for half a step or one of each dose.
                                let slack = (all.len() as f64) * 0.1 / total_g(&full);
                                assert!(off_by(&shelf, &mix, &full) < slack, "{full:?}");
                                exactly += 1;
                            } else {
                                assert!(after.worst_de00 <= UNSEEN_DE00, "{after:?}");
                                nearly += 1;
                            }
                        }
                    }
                }
            }
        }
    }
    println!("{exactly} exactly, {nearly} nearly, {again} again");
    assert!(exactly > 0 && nearly > 0 && again > 0, "{exactly} exactly, {nearly} nearly, {again} again");
}

#[test]
fn invariant_a_remedy_costs_no_more_than_scaling_all_up_and_grows_with_the_slip() {
    let shelf = shelf();
    let mix = mix(&shelf, RECIPES[0]);
    let all = in_pot(&steps(&shelf, &mix, &order(500.0, 0.1)).unwrap());
    let mut last = 0.0;
    for factor in [1.3, 1.6, 2.0, 2.5] {
        let mut slipped = all.clone();
        let black = slipped.iter_mut().find(|(toner, _)| *toner == shelf.toner("black")).unwrap();
        black.1 *= factor;
        let pot = pot(&slipped, &[], 5000.0);
        let (full, ..) = remedied(&pot, &remedy(&shelf, &mix, &pot).unwrap());
        // 500 g hold 2 g of black from the tin, give or take the scale.
        assert!(total_g(&full) <= 500.0 * factor * 1.05 + 0.5 && total_g(&full) > last, "{factor}: {}", total_g(&full));
        last = total_g(&full);
    }
}

#[test]
fn what_is_short_is_filled_up() {
    let shelf = shelf();
    let mix = mix(&shelf, RECIPES[3]);
    let mut short = in_pot(&steps(&shelf, &mix, &order(500.0, 0.1)).unwrap());
    let white = short.iter_mut().find(|(toner, _)| *toner == shelf.toner("white")).unwrap();
    white.1 *= 0.8;
    let pot = pot(&short, &[], 600.0);
    let (full, ..) = remedied(&pot, &remedy(&shelf, &mix, &pot).unwrap());
    // Not more than the two per cent that an exact remedy may cost.
    assert!(total_g(&full) <= 1.02 * 500.0, "{}", total_g(&full));
    assert!(full[short.len()..].iter().any(|(toner, _)| *toner == shelf.toner("white")));
}

#[test]
fn a_toner_that_is_not_the_recipes_is_diluted_or_the_pot_given_up() {
    let shelf = shelf();
    let mix = mix(&shelf, RECIPES[3]);
    let foreign = shelf.toner("solid 5");
    let mut pot_g = in_pot(&steps(&shelf, &mix, &order(500.0, 0.1)).unwrap());
    pot_g.push((foreign, 2.0));
    let small = pot(&pot_g, &[], 520.0);
    let Remedy::StartAgain { why, .. } = remedy(&shelf, &mix, &small).unwrap() else { panic!("brought back") };
    assert!(why.starts_with("solid 5 is in the pot and not in the recipe"), "{why}");
    let large = pot(&pot_g, &[], 90_000.0);
    let (full, exact, _, after) = remedied(&large, &remedy(&shelf, &mix, &large).unwrap());
    assert!(!exact && after.worst_de00 <= UNSEEN_DE00 && total_g(&full) > 520.0);
    // Twice in the list is the sum of both.
    let mut twice = pot_g.clone();
    twice.last_mut().unwrap().1 = 1.0;
    twice.push((foreign, 1.0));
    assert_eq!(poured(&shelf, &mix, &twice).unwrap(), poured(&shelf, &mix, &pot_g).unwrap());
}

#[test]
fn a_scale_that_shows_too_little_says_how_much_to_mix() {
    let shelf = shelf();
    let mix = mix(&shelf, RECIPES[0]);
    let PourError::Dose { toner, dose_g, at_least_g, .. } = steps(&shelf, &mix, &order(100.0, 1.0)).unwrap_err() else {
        panic!("another error")
    };
    assert_eq!(toner, "black");
    assert!(dose_g < 1.0);
    let enough = steps(&shelf, &mix, &order(at_least_g, 1.0)).unwrap();
    assert!(enough.steps.iter().all(|step| step.exact_g >= 1.0 - 1e-9));
    assert!(matches!(steps(&shelf, &mix, &order(at_least_g - 1.0, 1.0)), Err(PourError::Dose { .. })));
    let words = |scale_g| steps(&shelf, &mix, &order(100.0, scale_g)).unwrap_err().to_string();
    assert!(words(1.0).ends_with(&format!("use a finer scale, or mix at least {at_least_g} g")), "{}", words(1.0));
    // No pot is large enough for that one.
    assert!(words(1000.0).ends_with("use a finer scale"), "{}", words(1000.0));
}

#[test]
fn a_dose_under_the_smallest_is_a_warning_that_says_how_much_to_mix() {
    let shelf = shelf();
    let mix = mix(&shelf, RECIPES[0]);
    let one = Order { smallest_dose_g: 1.0, ..order(100.0, 0.1) };
    let pour = steps(&shelf, &mix, &one).unwrap();
    assert!(pour.warnings[0].what.contains("of black is under the smallest dose of 1 g"), "{:?}", pour.warnings);
    let black = pour.steps.iter().find(|step| step.toner == shelf.toner("black")).unwrap();
    let least_g = (100.0 / black.exact_g - 1e-6).ceil();
    assert!(pour.warnings[0].what.ends_with(&format!("mix at least {least_g} g")), "{:?}", pour.warnings);
    let enough = steps(&shelf, &mix, &Order { amount: Amount::Grams(least_g), ..one }).unwrap();
    assert!(enough.warnings.iter().all(|warning| !warning.what.contains("smallest dose")));
}

#[test]
fn mixes_of_toner_alone_and_parts_of_nothing_are_weighed() {
    let shelf = shelf();
    let full = mix(&shelf, &[("white", 0.7), ("solid 3", 0.3), ("black", 0.0)]);
    let pour = steps(&shelf, &full, &order(333.3, 0.5)).unwrap();
    assert_eq!(pour.steps.len(), 2);
    let total = pour.steps.last().unwrap().total_g;
    assert!((total - 333.3).abs() <= 0.5, "{total}");
}

#[test]
fn what_makes_no_pour_is_refused_with_its_figure() {
    let shelf = shelf();
    let good = mix(&shelf, RECIPES[0]);
    let refused = |mix: &Mix, order: &Order| steps(&shelf, mix, order).unwrap_err();
    for mass_g in [0.0, 0.99, 100_001.0, -5.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(refused(&good, &order(mass_g, 0.1)), PourError::Mass { .. }));
    }
    for litres in [0.0, 1e-4, 200.0, -1.0, f64::NAN, f64::INFINITY] {
        let litres = Order { amount: Amount::Litres(litres), ..order(1.0, 0.1) };
        assert!(matches!(refused(&good, &litres), PourError::Mass { .. }));
    }
    for scale_g in [0.0, -0.1, 1e-9, 1e9, f64::NAN] {
        assert!(matches!(refused(&good, &order(500.0, scale_g)), PourError::Scale { .. }));
    }
    for dose_g in [-1.0, f64::NAN, 1e9] {
        let order = Order { smallest_dose_g: dose_g, ..order(500.0, 0.1) };
        assert!(matches!(refused(&good, &order), PourError::SmallestDose { .. }));
    }
    let with = |parts: Vec<Part>| refused(&Mix { parts, ..good.clone() }, &order(500.0, 0.1));
    let part = |toner, fraction| Part { toner, fraction };
    assert_eq!(with(vec![]), PourError::Parts { found: 0, most: 7 });
    assert!(matches!(with((0..8).map(|i| part(i, 0.1)).collect()), PourError::Parts { found: 8, .. }));
    assert!(matches!(with(vec![part(99, 0.1)]), PourError::Recipe(_)));
    assert!(matches!(with(vec![part(0, f64::NAN)]), PourError::Recipe(_)));
    assert_eq!(with(vec![part(0, 0.1), part(0, 0.1)]), PourError::Twice { toner: "white".into() });
    assert_eq!(with(vec![part(0, 0.75), part(1, 0.5)]), PourError::Load { load: 1.25 });
    assert_eq!(refused(&Mix { film_um: 0.0, ..good.clone() }, &order(500.0, 0.1)), PourError::Film { film_um: 0.0 });
    assert!(matches!(refused(&Mix { substrate: 9, ..good.clone() }, &order(500.0, 0.1)), PourError::Recipe(_)));

    let list = [(None, 100.0)];
    let remedied = |poured_g: &[Grams], limit_g| remedy(&shelf, &good, &pot(poured_g, &[], limit_g)).unwrap_err();
    assert_eq!(remedied(&[], 500.0), PourError::Empty);
    assert_eq!(remedied(&[(None, 0.0)], 500.0), PourError::Empty);
    assert!(matches!(remedied(&[(None, -1.0)], 500.0), PourError::Grams { .. }));
    assert!(matches!(remedied(&[(None, f64::NAN)], 500.0), PourError::Grams { .. }));
    assert!(matches!(remedied(&[(Some(99), 1.0)], 500.0), PourError::Recipe(_)));
    for limit_g in [0.0, -1.0, f64::NAN, 1e9] {
        assert!(matches!(remedied(&list, limit_g), PourError::Limit { .. }));
    }
    assert_eq!(poured(&shelf, &good, &[]).unwrap_err(), PourError::Empty);
}
