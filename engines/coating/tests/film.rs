//! Litres and film readings: laws, refusals and sentences.

use coating::CoatingError;
use coating::acceptance::{Rule, judge};
use coating::quantity::{Coat, Extra, quantity};
use proptest::prelude::*;

const BASE: Coat = Coat { area_m2: 11.0, dft_um: 17.0, solids_pct: 13.0, transfer: 0.55 };

fn rule(nominal_um: f64) -> Rule {
    Rule { nominal_um, agreed_max_um: None }
}

#[test]
fn reserve_and_kept_paint_stay_apart_from_what_is_sprayed() {
    let needed = quantity(&BASE).unwrap();
    let batch = needed.with(&Extra::COLOUR).unwrap();
    assert_eq!(batch.spray_l, needed.litres);
    assert!((batch.reserve_l - 0.15 * needed.litres).abs() < 1e-12);
    assert_eq!(batch.keep_sealed_l, 0.4);
    assert!((batch.total_l() - (1.15 * needed.litres + 0.4)).abs() < 1e-12);
    assert!(needed.with(&Extra { reserve_share: -0.1, keep_sealed_l: 0.4 }).is_err());
    assert!(needed.with(&Extra { reserve_share: 0.1, keep_sealed_l: f64::NAN }).is_err());
}

#[test]
fn a_coat_outside_the_range_is_refused() {
    for coat in [
        Coat { area_m2: 0.0, ..BASE },
        Coat { area_m2: f64::INFINITY, ..BASE },
        Coat { dft_um: -17.0, ..BASE },
        Coat { solids_pct: 0.0, ..BASE },
        Coat { solids_pct: 101.0, ..BASE },
        Coat { transfer: 55.0, ..BASE },
        Coat { transfer: f64::NAN, ..BASE },
    ] {
        assert!(matches!(quantity(&coat), Err(CoatingError::OutOfRange { .. })), "{coat:?}");
    }
}

#[test]
fn a_film_that_is_refused_says_why() {
    let why = |readings: &[f64], nominal_um| judge(readings, &rule(nominal_um)).unwrap().why;
    assert_eq!(
        why(&[80.0, 95.0, 78.0, 101.0, 90.0, 63.0, 84.0, 88.0, 81.0, 92.0], 80.0),
        "nominal 80.0 \u{b5}m: 1 reading is under 80 % of it (64.0 \u{b5}m), the least 63.0"
    );
    assert_eq!(
        why(&[79.96; 10], 80.0),
        "nominal 80.0 \u{b5}m: the mean of 79.96 \u{b5}m is under the nominal; 10 readings are between 80 % of it and it, \
         and fewer than 20 % of 10 may be"
    );
    assert_eq!(
        why(&[100.0, 110.0, 310.0], 100.0),
        "nominal 100.0 \u{b5}m: the thickest of 310.0 \u{b5}m is over 300.0"
    );
    assert_eq!(
        why(&[82.0, 95.0, 79.0, 101.0, 90.0, 86.0, 84.0, 88.0, 81.0, 92.0], 80.0),
        "nominal 80.0 \u{b5}m: the mean of 10 is 87.8, 1 reading is under the nominal, the least is 79.0 and the thickest 101.0"
    );
}

#[test]
fn a_thickest_film_that_was_agreed_counts_instead() {
    let readings = [100.0, 110.0, 310.0];
    let agreed = |most_um| Rule { nominal_um: 100.0, agreed_max_um: Some(most_um) };
    assert!(judge(&readings, &agreed(310.0)).unwrap().accept);
    assert!(!judge(&readings, &agreed(200.0)).unwrap().accept);
    assert!(judge(&readings, &agreed(50.0)).is_err());
}

#[test]
fn few_readings_carry_a_warning() {
    assert_eq!(judge(&[90.0; 9], &rule(80.0)).unwrap().warnings.len(), 1);
    assert!(judge(&[90.0; 10], &rule(80.0)).unwrap().warnings.is_empty());
}

#[test]
fn readings_outside_the_range_are_refused() {
    assert!(matches!(judge(&[], &rule(80.0)), Err(CoatingError::ReadingCount { count: 0, .. })));
    assert!(judge(&vec![80.0; 100_001], &rule(80.0)).is_err());
    for bad in [-1.0, f64::NAN, f64::INFINITY, 100_001.0] {
        assert!(judge(&[80.0, bad], &rule(80.0)).is_err(), "{bad}");
        assert!(judge(&[80.0], &rule(bad)).is_err(), "{bad}");
    }
}

proptest! {
    #[test]
    fn invariant_litres_scale_with_area_and_film_and_against_solids_and_transfer(
        area in 0.1f64..100.0, dft in 1.0f64..1000.0, solids in 5.0f64..50.0, transfer in 0.1f64..0.5,
    ) {
        let coat = Coat { area_m2: area, dft_um: dft, solids_pct: solids, transfer };
        let litres = |coat: Coat| quantity(&coat).unwrap().litres;
        let one = litres(coat);
        for (other, times) in [
            (Coat { area_m2: 2.0 * area, ..coat }, 2.0),
            (Coat { dft_um: 2.0 * dft, ..coat }, 2.0),
            (Coat { solids_pct: 2.0 * solids, ..coat }, 0.5),
            (Coat { transfer: 2.0 * transfer, ..coat }, 0.5),
        ] {
            prop_assert!((litres(other) / one - times).abs() < 1e-12);
        }
        // What stays on the panel is area times wet film.
        let all = quantity(&coat).unwrap();
        prop_assert!((all.litres * transfer - area * all.wet_um / 1000.0).abs() < 1e-9 * all.litres);
    }

    #[test]
    fn invariant_the_order_and_the_scale_of_readings_do_not_matter(
        readings in proptest::collection::vec(50u32..300, 1..30), nominal in 60u32..120, turn in 0usize..30,
    ) {
        // Whole micrometres and a doubling are exact in binary, so the answers must be the same.
        let um: Vec<f64> = readings.iter().copied().map(f64::from).collect();
        let mut turned = um.clone();
        turned.rotate_left(turn % um.len());
        let doubled: Vec<f64> = um.iter().map(|um| 2.0 * um).collect();
        let nominal = f64::from(nominal);
        let one = judge(&um, &rule(nominal)).unwrap();
        prop_assert_eq!(&one, &judge(&turned, &rule(nominal)).unwrap());
        let two = judge(&doubled, &rule(2.0 * nominal)).unwrap();
        prop_assert_eq!((one.accept, one.below), (two.accept, two.below));
    }

    #[test]
    fn invariant_thicker_readings_within_three_times_never_turn_a_yes_into_a_no(
        readings in proptest::collection::vec(70u32..230, 1..20), which in 0usize..20, more in 1u32..10,
    ) {
        let mut um: Vec<f64> = readings.iter().copied().map(f64::from).collect();
        let before = judge(&um, &rule(80.0)).unwrap();
        let place = which % um.len();
        um[place] += f64::from(more);
        if before.accept {
            prop_assert!(judge(&um, &rule(80.0)).unwrap().accept);
        }
    }
}
