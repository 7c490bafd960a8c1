//! Laws of the climate, and the sentences that a painter reads.

use coating::CoatingError;
use coating::climate::{Air, Decision, Limits, Remedy, dew_point_c, margin_precision_c, may_spray, saturation_hpa};
use proptest::prelude::*;

fn air(temperature_c: f64, rh_pct: f64) -> Air {
    Air { temperature_c, rh_pct }
}

fn decide(air: Air, panel_c: f64) -> Decision {
    may_spray(air, panel_c, &Limits::USUAL).expect("a climate within range")
}

#[test]
fn saturated_air_has_its_own_temperature_as_dew_point() {
    for t in [-20.0, 0.0, 18.0, 60.0] {
        assert!((dew_point_c(air(t, 100.0)).unwrap() - t).abs() < 1e-12);
    }
}

#[test]
fn numbers_outside_the_range_are_refused() {
    for (temperature_c, rh_pct) in
        [(-20.1, 50.0), (60.1, 50.0), (20.0, 0.9), (20.0, 100.1), (f64::NAN, 50.0), (20.0, f64::INFINITY)]
    {
        assert!(dew_point_c(air(temperature_c, rh_pct)).is_err(), "{temperature_c} {rh_pct}");
    }
    let refused = may_spray(air(18.0, 70.0), 80.0, &Limits::USUAL).unwrap_err();
    assert_eq!(refused.to_string(), "the panel temperature is 80 deg C; it must be from -20 to 60 deg C");
    for limits in [
        Limits { margin_min_c: f64::NAN, ..Limits::USUAL },
        Limits { margin_min_c: -1.0, ..Limits::USUAL },
        Limits { rh_max_pct: 0.0, ..Limits::USUAL },
        Limits { surface_min_c: Some(99.0), ..Limits::USUAL },
    ] {
        assert!(matches!(may_spray(air(18.0, 70.0), 18.0, &limits), Err(CoatingError::OutOfRange { .. })));
    }
    assert!(saturation_hpa(f64::NEG_INFINITY).is_err());
}

#[test]
fn a_yes_gives_its_reason() {
    let told = decide(air(18.0, 60.0), 18.0);
    assert!(told.spray && told.remedies.is_empty() && told.warnings.is_empty());
    assert_eq!(
        told.why,
        "the panel is 7.9 \u{b0}C above the dew point of 10.1 \u{b0}C (3.0 needed) and the humidity is 60.0 % (85.0 at most)"
    );
}

#[test]
fn a_no_says_what_would_make_it_a_yes() {
    let damp = decide(air(20.0, 90.0), 25.0);
    assert_eq!(damp.why, "the humidity is 90.0 %; 85.0 is the most: bring the humidity down to 85 %");

    let wet = decide(air(20.0, 90.0), 17.0);
    assert_eq!(
        wet.why,
        "the panel is 1.3 \u{b0}C below the dew point of 18.3 \u{b0}C; 3.0 above it is needed, and the humidity is 90.0 %; 85.0 is \
         the most: bring the humidity down to 85 % and warm the panel by 3.4 \u{b0}C, or bring the humidity down to 68 %"
    );

    let epoxy = Limits { surface_min_c: Some(15.0), ..Limits::USUAL };
    let cold = may_spray(air(18.0, 40.0), 12.0, &epoxy).unwrap();
    assert_eq!(
        cold.why,
        "the panel is at 12.0 \u{b0}C; the product needs at least 15.0: warm the panel by 3.0 \u{b0}C"
    );
}

#[test]
fn a_margin_that_rounds_to_its_limit_is_printed_so_that_it_differs() {
    let dew = dew_point_c(air(18.0, 70.0)).unwrap();
    let near = decide(air(18.0, 70.0), dew + 2.97);
    assert!(!near.spray);
    assert!(near.why.starts_with("the panel is 2.97 \u{b0}C above"), "{}", near.why);
    assert!(near.why.contains("warm the panel by 0.1 \u{b0}C"));
    let nearer = decide(air(18.0, 70.0), dew + 2.999_99);
    assert!(!nearer.spray && nearer.why.contains("is 2.99999 \u{b0}C above"), "{}", nearer.why);
    // The limit itself is enough, whatever the last bits of the arithmetic say.
    let at = decide(air(18.0, 70.0), dew + 3.0);
    assert!(at.spray && at.why.contains("is 3.0 \u{b0}C above"), "{}", at.why);
    assert!(decide(air(18.0, 85.0), 30.0).spray);
    let damp = decide(air(18.0, 85.02), 30.0);
    assert!(!damp.spray && damp.why.starts_with("the humidity is 85.02 %; 85.0 is the most"), "{}", damp.why);
}

#[test]
fn an_answer_that_the_instruments_cannot_tell_carries_a_warning() {
    assert_eq!(decide(air(18.0, 70.0), 15.0).warnings.len(), 1);
    assert!(decide(air(18.0, 70.0), 16.5).warnings.is_empty());
}

#[test]
fn margin_precision_of_usual_instruments_is_about_one_degree_common_practice() {
    for (t, rh) in [(15.0, 80.0), (18.0, 70.0), (20.0, 65.0)] {
        let good_to_c = margin_precision_c(air(t, rh)).unwrap();
        assert!((0.85..1.05).contains(&good_to_c), "{good_to_c}");
    }
}

/// The climate after a remedy.
fn after(told: Remedy, air_now: Air, panel_c: f64) -> (Air, f64) {
    (Air { rh_pct: told.rh_pct.unwrap_or(air_now.rh_pct), ..air_now }, panel_c + told.warm_panel_c)
}

proptest! {
    #[test]
    fn invariant_dew_point_is_never_above_the_air_and_rises_with_heat_and_damp(
        t in -20.0f64..59.0, rh in 1.0f64..99.0, more_c in 0.01f64..1.0, more_pct in 0.01f64..1.0,
    ) {
        let dew = dew_point_c(air(t, rh)).unwrap();
        prop_assert!(dew <= t);
        prop_assert!(dew_point_c(air(t + more_c, rh)).unwrap() > dew);
        prop_assert!(dew_point_c(air(t, rh + more_pct)).unwrap() > dew);
    }

    #[test]
    fn invariant_vapour_pressure_at_the_dew_point_is_what_the_air_holds(t in 0.0f64..60.0, rh in 30.0f64..100.0) {
        let dew = dew_point_c(air(t, rh)).unwrap();
        let held = saturation_hpa(t).unwrap() * rh / 100.0;
        prop_assert!((saturation_hpa(dew).unwrap() / held - 1.0).abs() < 1e-12);
    }

    #[test]
    fn invariant_precision_agrees_with_the_slopes_of_the_dew_point(t in -10.0f64..50.0, rh in 20.0f64..95.0) {
        // Central differences over 0.01 leave about 1e-6 of the slope.
        let dew = |t, rh| dew_point_c(air(t, rh)).unwrap();
        let by_air = (dew(t + 0.01, rh) - dew(t - 0.01, rh)) / 0.02;
        let by_rh = (dew(t, rh + 0.01) - dew(t, rh - 0.01)) / 0.02;
        let expect = (0.25 + 0.25 * by_air * by_air + 9.0 * by_rh * by_rh).sqrt();
        prop_assert!((margin_precision_c(air(t, rh)).unwrap() - expect).abs() < 1e-4);
    }

    #[test]
    fn invariant_decision_is_the_three_limits(
        t in -20.0f64..60.0, rh in 1.0f64..100.0, panel in -20.0f64..60.0,
        margin in 0.0f64..10.0, most in 20.0f64..100.0, least in proptest::option::of(-5.0f64..30.0),
    ) {
        let limits = Limits { margin_min_c: margin, rh_max_pct: most, surface_min_c: least };
        let told = may_spray(air(t, rh), panel, &limits).unwrap();
        let holds = told.margin_c >= margin && rh <= most && least.is_none_or(|least| panel >= least);
        prop_assert_eq!(told.spray, holds);
        prop_assert_eq!(told.remedies.is_empty(), told.spray);
        prop_assert!(!told.why.contains('\n'));
    }

    #[test]
    fn invariant_every_remedy_makes_a_no_into_a_yes(
        t in -10.0f64..40.0, rh in 5.0f64..100.0, panel in -10.0f64..40.0, least in proptest::option::of(-5.0f64..20.0),
    ) {
        let limits = Limits { surface_min_c: least, ..Limits::USUAL };
        for remedy in may_spray(air(t, rh), panel, &limits).unwrap().remedies {
            let (air, panel) = after(remedy, air(t, rh), panel);
            prop_assert!(may_spray(air, panel, &limits).unwrap().spray, "{:?}", remedy);
            prop_assert!(air.rh_pct <= rh);
        }
    }
}
