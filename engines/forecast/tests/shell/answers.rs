//! The answers of a shell, against the whole joint and against each other.

use forecast::odds::{LEAST, MOST, chance};
use forecast::shell::{Fact, Seen};
use proptest::prelude::*;

use crate::brute::{Dice, Plan, chances, fact, joint, plan, seen, told};

fn odds(p: f64) -> f64 {
    p / (1.0 - p)
}

fn alike(a: &[f64], b: &[f64], within: f64) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() <= within)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn invariant_before_anything_is_seen_each_chance_is_what_was_given(seed in any::<u64>(), coupling in 0.0..=1.0f64) {
        let plan = plan(&mut Dice::new(seed));
        let given: Vec<f64> = plan.places.iter().map(|place| place.chance).collect();
        for coupling in [0.0, coupling, 1.0] {
            let shell = plan.shell(coupling);
            let got = shell.chances(&Seen::default(), &mut shell.room()).unwrap();
            prop_assert!(alike(&got, &given, 1e-12), "{} {:?} {:?}", coupling, got, given);
        }
    }

    #[test]
    fn invariant_without_coupling_the_odds_rules_are_met(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let plan = plan(&mut dice);
        let seen = Seen { known: vec![], ..seen(&mut dice, plan.places.len()) };
        let shell = plan.shell(0.0);
        let got = shell.chances(&seen, &mut shell.room()).unwrap();
        for (number, (place, got)) in plan.places.iter().zip(got).enumerate() {
            let on_it = seen.facts.iter().flat_map(|fact| &fact.bears_on).filter(|(on, _)| *on == number);
            let ratios: Vec<f64> = on_it.map(|(_, ratio)| *ratio).collect();
            let wanted = chance(place.chance, &ratios).unwrap().likely;
            prop_assert!((got.clamp(LEAST, MOST) - wanted).abs() < 1e-9, "{}: {} {}", number, got, wanted);
            let times = odds(got) / odds(place.chance) / ratios.iter().product::<f64>();
            prop_assert!((times - 1.0).abs() < 1e-9, "{}: {}", number, times);
        }
    }

    #[test]
    fn invariant_answers_are_those_of_the_whole_joint(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let plan = plan(&mut dice);
        let places = plan.places.len();
        let seen = seen(&mut dice, places);
        let shell = plan.shell(1.0);
        let wanted = chances(&told(&joint(&plan, &shell), &seen, places), places);
        let got = shell.chances(&seen, &mut shell.room()).unwrap();
        prop_assert!(alike(&got, &wanted, 1e-8), "{:?} {:?}", got, wanted);
    }

    #[test]
    fn invariant_a_fact_alone_brings_its_places_to_their_ratios(seed in any::<u64>(), coupling in 0.0..=1.0f64) {
        let mut dice = Dice::new(seed);
        let plan = plan(&mut dice);
        let fact = fact(&mut dice, plan.places.len());
        for coupling in [coupling, 1.0] {
            let shell = plan.shell(coupling);
            let seen = Seen { known: vec![], facts: vec![fact.clone()] };
            let got = shell.chances(&seen, &mut shell.room()).unwrap();
            for (place, ratio) in &fact.bears_on {
                let times = odds(got[*place]) / odds(plan.places[*place].chance);
                prop_assert!((times / ratio - 1.0).abs() < 1e-9, "{} {}: {} {}", coupling, place, times, ratio);
            }
        }
    }

    #[test]
    fn invariant_the_order_in_which_things_are_seen_does_not_matter(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let plan = plan(&mut dice);
        let one = seen(&mut dice, plan.places.len());
        let mut other = one.clone();
        other.known.reverse();
        other.facts.reverse();
        other.facts.iter_mut().for_each(|fact| fact.bears_on.reverse());
        let shell = plan.shell(1.0);
        let mut room = shell.room();
        let (one, other) = (shell.chances(&one, &mut room).unwrap(), shell.chances(&other, &mut room).unwrap());
        prop_assert!(alike(&one, &other, 1e-8), "{:?} {:?}", one, other);
    }

    #[test]
    fn invariant_without_a_piece_is_as_if_it_had_never_been_seen(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let plan = plan(&mut dice);
        let seen = seen(&mut dice, plan.places.len());
        let shell = plan.shell(1.0);
        let mut room = shell.room();
        let without = shell.without_each(&seen, &mut room).unwrap();
        prop_assert_eq!(without.len(), seen.known.len() + seen.facts.len());
        for (piece, without) in without.iter().enumerate() {
            let mut less = seen.clone();
            if piece < seen.known.len() {
                less.known.remove(piece);
            } else {
                less.facts.remove(piece - seen.known.len());
            }
            let wanted = shell.chances(&less, &mut shell.room()).unwrap();
            prop_assert!(alike(without, &wanted, 1e-12), "{}: {:?} {:?}", piece, without, wanted);
        }
    }

    /// Places that lean the same way are never against each other (J. D. Esary, F. Proschan and D. W. Walkup,
    /// Association of random variables, Annals of Mathematical Statistics 38(5), 1967).
    #[test]
    fn invariant_a_bad_place_lowers_no_other_and_a_sound_one_raises_none(seed in any::<u64>()) {
        let plan = plan(&mut Dice::new(seed));
        let shell = plan.shell(1.0);
        let mut room = shell.room();
        for found in 0..plan.places.len() {
            let mut after = |bad| shell.chances(&Seen { known: vec![(found, bad)], facts: vec![] }, &mut room).unwrap();
            let (bad, sound) = (after(true), after(false));
            for (other, place) in plan.places.iter().enumerate().filter(|(other, _)| *other != found) {
                prop_assert!(bad[other] >= place.chance - 1e-12, "{} {}", found, other);
                prop_assert!(sound[other] <= place.chance + 1e-12, "{} {}", found, other);
                let shares = |lean: &&forecast::shell::Lean| {
                    lean.factor > 1.2 && plan.places[found].leans.iter().any(|own| own.on == lean.on && own.factor > 1.2)
                };
                if place.leans.iter().any(|lean| shares(&lean)) {
                    prop_assert!(bad[other] > place.chance && sound[other] < place.chance, "{} {}", found, other);
                }
            }
        }
    }

    /// What a place's causes do to it adds up in the logarithm of its odds, and none of them ever lowers it.
    #[test]
    fn invariant_causes_add_up_in_the_logarithm_of_the_odds(seed in any::<u64>()) {
        let plan = plan(&mut Dice::new(seed));
        let shell = plan.shell(1.0);
        for table in &shell.network().tables()[plan.causes.len()..] {
            let score: Vec<f64> = table.rows.chunks(2).map(|row| base::math::ln(row[1] / row[0])).collect();
            for (at, got) in score.iter().enumerate() {
                let causes = (0..table.parents.len()).map(|bit| 1 << bit).filter(|bit| at & bit > 0);
                let wanted: f64 = causes.map(|bit: usize| score[bit] - score[0]).sum();
                prop_assert!((got - score[0] - wanted).abs() < 1e-6 && wanted >= 0.0, "{:?}", score);
            }
        }
    }
}

/// Every combination of places that is drawn, against how often it should be.
fn draws_agree(plan: &Plan, seen: &Seen, seed: u64) {
    const DRAWS: usize = 40_000;
    let places = plan.places.len();
    let shell = plan.shell(1.0);
    let wanted = told(&joint(plan, &shell), seen, places);
    let all: f64 = wanted.iter().sum();
    let drawn = shell.draw(seen, DRAWS, seed, &mut shell.room()).unwrap();
    assert_eq!(drawn.len(), DRAWS * places);
    let mut counts = vec![0_usize; wanted.len()];
    for draw in drawn.chunks_exact(places) {
        counts[draw.iter().rev().fold(0, |bad, is| 2 * bad + usize::from(*is))] += 1;
    }
    for (count, wanted) in counts.into_iter().zip(wanted) {
        let p = wanted / all;
        let error = (p * (1.0 - p) / DRAWS as f64).sqrt();
        // The last term is for a combination so rare that it may come once or twice.
        let near = 4.5 * error + 2.0 / DRAWS as f64;
        let share = count as f64 / DRAWS as f64;
        assert!((share - p).abs() <= near && (p > 0.0 || count == 0), "{seed}: {share} for {p}");
    }
}

#[test]
fn invariant_draws_come_as_often_as_the_joint_has_them() {
    for seed in 0..40 {
        let mut dice = Dice::new(seed);
        let plan = plan(&mut dice);
        let seen = seen(&mut dice, plan.places.len());
        draws_agree(&plan, &seen, seed);
    }
}

#[test]
fn the_same_seed_draws_the_same_and_another_does_not() {
    let plan = plan(&mut Dice::new(3));
    let shell = plan.shell(1.0);
    let mut room = shell.room();
    let mut draw = |seed| shell.draw(&Seen::default(), 500, seed, &mut room).unwrap();
    assert_eq!(draw(7), draw(7));
    assert_ne!(draw(7), draw(8));
}

/// A fact that bears on two places says less than two facts that bear on one each: it is heard once.
#[test]
fn one_fact_on_two_places_is_not_heard_twice() {
    let plan = Plan {
        causes: vec![forecast::shell::Cause { wider: None, follows: 0.0, on: 0.5 }],
        places: vec![
            forecast::shell::Place { chance: 0.3, leans: vec![forecast::shell::Lean { on: 0, factor: 2.0 }] };
            3
        ],
    };
    let shell = plan.shell(1.0);
    let mut room = shell.room();
    let mut after = |facts: Vec<Vec<(usize, f64)>>| {
        let facts = facts.into_iter().map(|bears_on| Fact { bears_on }).collect();
        shell.chances(&Seen { known: vec![], facts }, &mut room).unwrap()
    };
    let (once, twice) = (after(vec![vec![(0, 5.0), (1, 5.0)]]), after(vec![vec![(0, 5.0)], vec![(1, 5.0)]]));
    assert!((odds(once[0]) / odds(0.3) - 5.0).abs() < 1e-9 && odds(twice[0]) / odds(0.3) > 5.5);
    // The third place hears of it through the other two.
    assert!(0.3 < once[2] && once[2] < twice[2]);
}

/// Facts that pull places which hang together in opposite ways, as far as facts may.
#[test]
fn facts_that_pull_both_ways_are_weighed_too() {
    let mut worst = 0.0_f64;
    for seed in (0..400).chain([3_340_001_091_507_862_243]) {
        let mut dice = Dice::new(seed);
        let plan = plan(&mut dice);
        let shell = plan.shell(1.0);
        let bears_on: Vec<(usize, f64)> = (0..plan.places.len()).map(|place| (place, dice.ratio(1_000.0))).collect();
        let seen = Seen { known: vec![], facts: vec![Fact { bears_on: bears_on.clone() }] };
        let got = shell.chances(&seen, &mut shell.room()).unwrap();
        for ((place, ratio), got) in bears_on.iter().zip(got) {
            worst = worst.max((odds(got) / odds(plan.places[*place].chance) / ratio - 1.0).abs());
        }
    }
    assert!(worst < 1e-8, "{worst}");
}

/// A dozen places on one cause, all moved by one fact: each alone would be pulled along by eleven others.
#[test]
fn a_fact_on_a_dozen_places_is_weighed_too() {
    for factor in [1.5, 3.0, 10.0] {
        let plan = Plan {
            causes: vec![forecast::shell::Cause { wider: None, follows: 0.0, on: 0.5 }],
            places: vec![
                forecast::shell::Place { chance: 0.4, leans: vec![forecast::shell::Lean { on: 0, factor }] };
                12
            ],
        };
        let shell = plan.shell(1.0);
        for ratio in [0.05, 0.5, 3.0, 15.0, 200.0] {
            let bears_on: Vec<(usize, f64)> = (0..12).map(|place| (place, ratio)).collect();
            let got =
                shell.chances(&Seen { known: vec![], facts: vec![Fact { bears_on }] }, &mut shell.room()).unwrap();
            for got in got {
                assert!((odds(got) / odds(0.4) / ratio - 1.0).abs() < 1e-9, "{factor} {ratio}: {got}");
            }
        }
    }
}
