//! What cannot be, and what is refused.

use forecast::network::NetworkError;
use forecast::shell::{Cause, Fact, Lean, MOST_DRAWN, MOST_FACTS, Place, Seen, Shell, ShellError};

const DAMP: Cause = Cause { wider: None, follows: 0.0, on: 0.5 };

fn place(chance: f64, leans: &[(usize, f64)]) -> Place {
    Place { chance, leans: leans.iter().map(|(on, factor)| Lean { on: *on, factor: *factor }).collect() }
}

fn three() -> Shell {
    Shell::new(&[DAMP], &vec![place(0.3, &[(0, 2.0)]); 3], 1.0).unwrap()
}

fn known(known: &[(usize, bool)]) -> Seen {
    Seen { known: known.to_vec(), facts: vec![] }
}

fn fact(bears_on: &[(usize, f64)]) -> Seen {
    Seen { known: vec![], facts: vec![Fact { bears_on: bears_on.to_vec() }] }
}

#[test]
fn what_cannot_be_is_said_and_the_room_still_serves() {
    let shell = three();
    let mut room = shell.room();
    let both = known(&[(0, true), (1, true), (0, false)]);
    let impossible = ShellError::Network(NetworkError::Impossible);
    assert_eq!(shell.chances(&both, &mut room), Err(impossible.clone()));
    assert_eq!(shell.draw(&both, 10, 1, &mut room), Err(impossible.clone()));
    // What stays when one other piece is left out is still not possible.
    assert_eq!(shell.without_each(&both, &mut room), Err(impossible));
    let clean = shell.chances(&known(&[]), &mut room).unwrap();
    assert!(clean.iter().all(|p| (p - 0.3).abs() < 1e-12));
    // Of just the two that are against each other, each can be left out.
    let without = shell.without_each(&known(&[(0, true), (0, false)]), &mut room).unwrap();
    assert_eq!((without[0][0], without[1][0]), (0.0, 1.0));
    // A fact about what is known moves nothing.
    let sure = Seen { known: vec![(0, true)], ..fact(&[(0, 0.001)]) };
    assert_eq!(shell.chances(&sure, &mut room).unwrap(), shell.chances(&known(&[(0, true)]), &mut room).unwrap());
}

#[test]
fn numbers_outside_their_range_are_refused_by_name() {
    let refused = |causes: &[Cause], places: &[Place], coupling: f64| {
        Shell::new(causes, places, coupling).err().expect("refused").to_string()
    };
    let ok = place(0.3, &[(0, 2.0)]);
    for coupling in [-0.1, 1.1, f64::NAN, f64::INFINITY] {
        assert!(refused(&[DAMP], &[], coupling).starts_with("the coupling of the shell is"), "{coupling}");
    }
    for chance in [0.0, 0.0009, 0.9991, 1.0, -1.0, f64::NAN, f64::INFINITY] {
        let told = refused(&[DAMP], &[ok.clone(), place(chance, &[])], 1.0);
        assert_eq!(told, format!("the chance of place 1 is {chance}; it must be from 0.001 to 0.999"));
    }
    for factor in [0.0, 0.99, 20.1, -2.0, f64::NAN, f64::INFINITY] {
        let told = refused(&[DAMP], &[place(0.3, &[(0, factor)])], 0.0);
        assert_eq!(told, format!("a factor of place 0 is {factor}; it must be from 1 to 20"));
    }
    for bad in [-0.1, 1.1, f64::NAN] {
        assert!(refused(&[Cause { on: bad, ..DAMP }], &[], 1.0).starts_with("how often it is on of cause 0"));
        assert!(refused(&[Cause { follows: bad, ..DAMP }], &[], 1.0).starts_with("how far it follows of cause 0"));
    }
    let five: Vec<(usize, f64)> = (0..5).map(|on| (on, 2.0)).collect();
    assert!(refused(&[DAMP; 5], &[place(0.3, &five)], 1.0).starts_with("the number of leans of place 0 is 5"));
}

#[test]
fn what_is_not_there_twice_there_or_too_late_is_refused() {
    let no_such = |causes: &[Cause], places: &[Place]| match Shell::new(causes, places, 1.0).err() {
        Some(ShellError::NoSuch { of, what, number }) => (of, what, number),
        other => panic!("{other:?}"),
    };
    assert_eq!(no_such(&[DAMP], &[place(0.3, &[(1, 2.0)])]), ("place 0".into(), "cause", 1));
    assert_eq!(no_such(&[DAMP], &[place(0.3, &[(0, 2.0), (0, 3.0)])]), ("place 0".into(), "cause", 0));
    for wider in [1, 2, usize::MAX] {
        let after = [DAMP, Cause { wider: Some(wider), ..DAMP }];
        assert_eq!(no_such(&after, &[]), ("cause 1".into(), "cause", wider));
    }
    let shell = three();
    let mut room = shell.room();
    for place in [3, usize::MAX] {
        assert!(matches!(shell.chances(&known(&[(place, true)]), &mut room), Err(ShellError::NoSuch { .. })));
        assert!(matches!(shell.without_each(&known(&[(place, true)]), &mut room), Err(ShellError::NoSuch { .. })));
        let told = shell.chances(&fact(&[(0, 2.0), (place, 2.0)]), &mut room).unwrap_err();
        assert_eq!(told, ShellError::NoSuch { of: "fact 0".into(), what: "place", number: place });
    }
    let twice = shell.chances(&fact(&[(1, 2.0), (1, 3.0)]), &mut room).unwrap_err();
    assert_eq!(twice, ShellError::NoSuch { of: "fact 0".into(), what: "place", number: 1 });
}

#[test]
fn a_ratio_of_nothing_or_of_everything_is_refused() {
    let shell = three();
    let mut room = shell.room();
    for ratio in [0.0, -2.0, 0.000_9, 1_001.0, f64::NAN, f64::INFINITY] {
        for bears_on in [&[(0, ratio)][..], &[(1, 3.0), (2, ratio)]] {
            let told = shell.chances(&fact(bears_on), &mut room).unwrap_err().to_string();
            assert_eq!(told, format!("a ratio of fact 0 is {ratio}; it must be from 0.001 to 1000"));
        }
    }
    // The ends themselves are not.
    for ratio in [0.001, 1_000.0] {
        let got = shell.chances(&fact(&[(0, ratio), (1, 1.0 / ratio)]), &mut room).unwrap();
        assert!((got[0] / (1.0 - got[0]) / (0.3 / 0.7) / ratio - 1.0).abs() < 1e-9, "{ratio}: {got:?}");
    }
    assert_eq!(shell.chances(&fact(&[]), &mut room).unwrap(), shell.chances(&known(&[]), &mut room).unwrap());
}

/// Places that nearly always go together, torn apart by one fact: rounds of weighing it end before it settles.
#[test]
fn a_fact_that_does_not_settle_is_refused_by_its_number() {
    let all = [(0, 20.0), (1, 20.0), (2, 20.0), (3, 20.0)];
    let places = [place(0.999, &all), place(0.001, &all), place(0.001, &[(1, 20.0), (3, 20.0)])];
    let shell = Shell::new(&[Cause { on: 0.2, ..DAMP }; 4], &places, 1.0).unwrap();
    let mut room = shell.room();
    let mild = Fact { bears_on: vec![(0, 0.5), (1, 2.0), (2, 2.0)] };
    let wild = Fact { bears_on: vec![(0, 0.001), (1, 1_000.0), (2, 1_000.0)] };
    let seen = Seen { known: vec![], facts: vec![mild.clone(), wild] };
    for _ in 0..2 {
        let told = shell.chances(&seen, &mut room).unwrap_err();
        let ShellError::Unsettled { fact: 1, rounds: 100, off, most } = told else { panic!("{told}") };
        assert!(most == 1e-6 && off > most && off < 0.1, "{off}");
        assert!(told.to_string().starts_with("fact 1 does not settle: after 100 rounds"), "{told}");
        // Neither is it kept as if it had been weighed, nor does it stand in the way of others.
        let got = shell.chances(&Seen { known: vec![], facts: vec![mild.clone()] }, &mut room).unwrap();
        let odds = |p: f64| p / (1.0 - p);
        assert!((odds(got[0]) / odds(0.999) - 0.5).abs() < 1e-6 && (odds(got[1]) / odds(0.001) - 2.0).abs() < 1e-6);
    }
}

#[test]
fn more_than_a_car_gives_rise_to_is_refused() {
    let shell = three();
    let mut room = shell.room();
    let facts = |count| Seen { known: vec![], facts: vec![Fact { bears_on: vec![(0, 1_000.0)] }; count] };
    let got = shell.chances(&facts(MOST_FACTS), &mut room).unwrap();
    assert!(got[0] > 1.0 - 1e-12 && got.iter().all(|p| p.is_finite()), "{got:?}");
    let told = shell.chances(&facts(MOST_FACTS + 1), &mut room).unwrap_err().to_string();
    assert_eq!(told, "how many things were seen of place 0 is 101; it must be from 1 to 100");
    for draws in [0, MOST_DRAWN / 3 + 1, usize::MAX] {
        let told = shell.draw(&known(&[]), draws, 1, &mut room).unwrap_err();
        assert!(matches!(told, ShellError::OutOfRange { what: "the number of draws", .. }), "{told}");
    }
    // Forty causes and everything woven into everything: the width is said, and nothing of that size is asked for.
    let causes = vec![DAMP; 40];
    let pairs = (0..40).flat_map(|a| (0..a).map(move |b| (a, b)));
    let places: Vec<Place> = pairs.map(|(a, b)| place(0.3, &[(a, 2.0), (b, 2.0)])).collect();
    match Shell::new(&causes, &places, 1.0).err() {
        Some(ShellError::Network(NetworkError::TooWide { width, .. })) => assert!(width > 15, "{width}"),
        other => panic!("{other:?}"),
    }
    // With nothing in common they are not woven at all.
    assert_eq!(Shell::new(&causes, &places, 0.0).unwrap().tree().width(), 0);
}

#[test]
fn nothing_at_all_is_a_shell_too() {
    let shell = Shell::new(&[], &[], 1.0).unwrap();
    assert_eq!((shell.places(), shell.chances(&Seen::default(), &mut shell.room()).unwrap()), (0, vec![]));
    assert!(shell.draw(&Seen::default(), 3, 1, &mut shell.room()).unwrap().is_empty());
}
