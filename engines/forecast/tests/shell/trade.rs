//! What somebody who takes shells apart would expect.

use forecast::shell::{Cause, Lean, Place, Seen, Shell};

fn odds(p: f64) -> f64 {
    p / (1.0 - p)
}

/// Eleven places along one wet path of one side, and eleven on the other; each side follows the path, the path the shell.
fn two_sides(factor: f64) -> Shell {
    let follow = |wider, follows| Cause { wider: Some(wider), follows, on: 0.5 };
    let causes = [Cause { wider: None, follows: 0.0, on: 0.5 }, follow(0, 0.5), follow(1, 0.7), follow(1, 0.7)];
    let places: Vec<Place> =
        (0..22).map(|at| Place { chance: 0.4, leans: vec![Lean { on: 2 + at / 11, factor }] }).collect();
    Shell::new(&causes, &places, 1.0).unwrap()
}

fn known(shell: &Shell, found: &[(usize, bool)]) -> Vec<f64> {
    shell.chances(&Seen { known: found.to_vec(), facts: vec![] }, &mut shell.room()).unwrap()
}

#[test]
fn one_rotten_neighbour_moves_the_odds_by_the_factor() {
    for factor in [1.2, 1.8, 2.0, 2.5] {
        let got = known(&two_sides(factor), &[(0, true)]);
        // All lean on that one cause only, so the factor is met.
        assert!((odds(got[10]) / odds(0.4) / factor - 1.0).abs() < 1e-3, "{factor}: {}", got[10]);
        // The other side hears of it, but not as much.
        let across = odds(got[11]) / odds(0.4);
        assert!(across > 1.0 && across < factor, "{factor}: {across}");
    }
}

#[test]
fn ten_found_rotten_or_sound_visibly_move_the_eleventh() {
    let shell = two_sides(2.0);
    let all = |bad| (0..10).map(|place| (place, bad)).collect::<Vec<_>>();
    let (rotten, sound) = (known(&shell, &all(true)), known(&shell, &all(false)));
    assert!(rotten[10] > 0.6 && sound[10] < 0.2, "{} {}", rotten[10], sound[10]);
    // Each further one moves it on, and by less once it is plain how wet that side was.
    let mut before = 0.4;
    let mut steps = Vec::new();
    for count in 1..=10 {
        let now = known(&shell, &all(true)[..count])[10];
        assert!(now > before, "{count}");
        steps.push(odds(now) / odds(before));
        before = now;
    }
    assert!(steps[0] > 1.9 && steps[9] < 1.1, "{steps:?}");
    // Two found rotten and two sound say less than two found rotten, and more than two found sound.
    let two = |bad| known(&shell, &[(0, bad), (1, bad)])[10];
    let mixed = known(&shell, &[(0, true), (1, true), (2, false), (3, false)])[10];
    assert!(two(false) < mixed && mixed < two(true), "{mixed}");
}

#[test]
fn coupling_between_none_and_all_lies_between() {
    let cause = Cause { wider: None, follows: 0.0, on: 0.5 };
    let place = Place { chance: 0.3, leans: vec![Lean { on: 0, factor: 2.0 }] };
    let mut before = 1.0 - 1e-12;
    for coupling in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let shell = Shell::new(&[cause], &[place.clone(), place.clone()], coupling).unwrap();
        let times = odds(known(&shell, &[(0, true)])[1]) / odds(0.3);
        let wanted = base::math::exp(coupling * base::math::ln(2.0));
        assert!((times / wanted - 1.0).abs() < 1e-3 && times > before, "{coupling}: {times}");
        before = times;
    }
}
