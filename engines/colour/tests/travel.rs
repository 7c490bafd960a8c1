//! What is said of paints from face to flop.

use colour::{ColourError, Geometry, Illuminant, Measurement, Observer, Spectrum, Travel, travel};

/// A paint by angle: an overall level and the levels of the blue, green and red thirds.
fn paint(by_angle: &[(Geometry, [f64; 3])]) -> Measurement {
    Measurement::new(
        by_angle
            .iter()
            .map(|(geometry, thirds)| {
                let third = |i: usize| {
                    if i < 10 {
                        thirds[0]
                    } else if i < 20 {
                        thirds[1]
                    } else {
                        thirds[2]
                    }
                };
                (*geometry, Spectrum::new(std::array::from_fn(third)).expect("levels are allowed"))
            })
            .collect(),
    )
    .expect("angles are distinct")
}

fn daylight(measurement: &Measurement) -> Travel {
    travel(measurement, Illuminant::D65, Observer::Deg10).expect("has face and flop")
}

#[test]
fn an_orange_that_turns_violet_in_the_flop() {
    let found = daylight(&paint(&[
        (Geometry::As15, [0.10, 0.35, 1.10]),
        (Geometry::As45, [0.08, 0.15, 0.45]),
        (Geometry::As110, [0.12, 0.03, 0.08]),
    ]));
    assert_eq!((found.face, found.flop), (Geometry::As15, Geometry::As110));
    let turn = found.hue_deg.unwrap();
    assert!(turn < -60.0, "{turn}");
    assert!(found.lightness < -30.0);
    assert!((5.0..10.0).contains(&found.flop_index.unwrap()), "{:?}", found.flop_index);
    assert!(found.warnings.is_empty(), "{:?}", found.warnings);
    assert!(found.words().ends_with("degrees towards violet"), "{}", found.words());
    assert!(found.words().starts_with("goes darker by "), "{}", found.words());
}

#[test]
fn hue_near_grey_is_doubtful_or_nothing() {
    let grey = daylight(&paint(&[(Geometry::As15, [0.60, 0.60, 0.60]), (Geometry::As110, [0.10, 0.10, 0.10])]));
    assert_eq!(grey.hue_deg, None);
    assert_eq!(grey.warnings.len(), 2, "{:?}", grey.warnings);
    assert!(grey.words().contains("too near grey"));

    let greyish = daylight(&paint(&[(Geometry::As15, [0.10, 0.30, 0.80]), (Geometry::As110, [0.11, 0.10, 0.11])]));
    assert!(greyish.hue_deg.is_some());
    assert_eq!(greyish.warnings.len(), 1, "{:?}", greyish.warnings);
    assert!(greyish.warnings[0].what.starts_with("45as110 (flop)"), "{}", greyish.warnings[0]);
    assert!(greyish.warnings[0].what.contains("doubtful"));
    assert!(greyish.words().ends_with("degrees is doubtful"), "{}", greyish.words());
}

#[test]
fn hue_goes_the_shorter_way_over_the_red_axis() {
    let found = daylight(&paint(&[(Geometry::As15, [0.15, 0.10, 0.60]), (Geometry::As110, [0.08, 0.03, 0.12])]));
    let (face, flop) = (found.face_lab.hue_deg(), found.flop_lab.hue_deg());
    assert!(face < 90.0 && flop > 270.0, "{face} {flop}");
    assert!((found.hue_deg.unwrap() - (flop - face - 360.0)).abs() < 1e-12);
}

#[test]
fn a_solid_keeps_still() {
    let red = [0.04, 0.05, 0.50];
    let found = daylight(&paint(&[(Geometry::As15, red), (Geometry::As45, red), (Geometry::As110, red)]));
    assert_eq!(found.words(), "keeps its lightness and keeps its hue");
    assert_eq!(found.flop_index, Some(0.0));
}

#[test]
fn a_flop_lighter_than_the_face_has_no_flop_index() {
    let found = daylight(&paint(&[
        (Geometry::As15, [0.1, 0.1, 0.3]),
        (Geometry::As45, [0.1, 0.1, 0.3]),
        (Geometry::As110, [0.2, 0.2, 0.6]),
    ]));
    assert_eq!(found.flop_index, None);
    assert!(found.warnings.iter().any(|warning| warning.what.contains("lighter than the face")));
    assert!(found.words().starts_with("goes lighter by "));
}

#[test]
fn takes_the_next_angle_when_the_best_is_missing() {
    let found = daylight(&paint(&[(Geometry::As25, [0.10, 0.30, 0.80]), (Geometry::As75, [0.10, 0.10, 0.30])]));
    assert_eq!((found.face, found.flop), (Geometry::As25, Geometry::As75));
    assert_eq!(found.flop_index, None);
}

#[test]
fn refuses_what_has_no_face_or_no_flop() {
    let level = [0.3, 0.3, 0.3];
    let flash = paint(&[(Geometry::AsMinus15, level), (Geometry::As45, level)]);
    assert!(matches!(travel(&flash, Illuminant::A, Observer::Deg2), Err(ColourError::NoTravel { what: "face", .. })));
    let face = paint(&[(Geometry::As15, level)]);
    assert!(matches!(travel(&face, Illuminant::A, Observer::Deg2), Err(ColourError::NoTravel { what: "flop", .. })));
}

#[test]
fn published_flop_index_formula() {
    // Alman 1987, from memory: 2.69 (L15 - L110)^1.11 / L45^0.86. Worked by hand for greys of
    // L* 100, 50 and 0: 2.69 * 165.96 / 28.91.
    let mid = ((50.0 + 16.0) / 116.0_f64) * ((50.0 + 16.0) / 116.0) * ((50.0 + 16.0) / 116.0);
    let found =
        daylight(&paint(&[(Geometry::As15, [1.0; 3]), (Geometry::As45, [mid; 3]), (Geometry::As110, [0.0; 3])]));
    assert!((found.flop_index.unwrap() - 15.44).abs() < 0.02, "{:?}", found.flop_index);
}

#[test]
fn a_short_travel_is_named_by_its_direction() {
    let found = daylight(&paint(&[(Geometry::As15, [0.03, 0.25, 0.70]), (Geometry::As110, [0.01, 0.06, 0.22])]));
    assert!(found.hue_deg.unwrap() < -3.0, "{:?}", found.hue_deg);
    assert!(found.words().ends_with("towards red"), "{} {found:?}", found.words());
}
