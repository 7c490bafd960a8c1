//! Plain words, a second paint, changes by hand and areas of a picture, as wishes.

use base::math;
use colour::brief::{
    Area, Asked, BriefError, Edit, End, PictureError, Place, Said, Told, Want, completed, of_another, of_picture,
    possible, smooth, tell, wish,
};
use colour::{Geometry, Illuminant, Lab, Lch, Measurement, Observer, Spectrum, lab, swatch, tristimulus};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

/// An invented orange whose flop turns violet.
fn copper() -> Measurement {
    let at = |level: f64, violet: f64| {
        Spectrum::new(std::array::from_fn(|i| {
            let x = i as f64 / 30.0;
            level * (0.1 + 0.9 * x * x * x) + violet * math::exp(-(x * 6.0) * (x * 6.0))
        }))
        .expect("a sound one")
    };
    let rows = [0.9, 0.9, 0.7, 0.35, 0.2, 0.15].into_iter().zip([0.0, 0.0, 0.0, 0.02, 0.10, 0.15]);
    let by_angle = Geometry::ALL.into_iter().zip(rows).map(|(g, (level, violet))| (g, at(level, violet)));
    Measurement::new(by_angle.collect()).expect("a sound one")
}

/// An invented grey with a flop, without any hue.
fn silver() -> Measurement {
    let levels = [1.6, 1.4, 1.0, 0.35, 0.12, 0.09];
    let by_angle =
        Geometry::ALL.into_iter().zip(levels).map(|(g, level)| (g, Spectrum::new([level; 31]).expect("a sound one")));
    Measurement::new(by_angle.collect()).expect("a sound one")
}

fn of(paint: &Measurement, angles: &[Geometry]) -> Measurement {
    Measurement::new(angles.iter().map(|geometry| (*geometry, *paint.at(*geometry).expect("a sound one"))).collect())
        .expect("a sound one")
}

fn colour(paint: &Measurement, geometry: Geometry) -> Lch {
    lab(paint.at(geometry).expect("a sound one"), Illuminant::D65, Observer::Deg10).lch()
}

fn said(words: &[(Want, f64)]) -> Vec<Said> {
    words.iter().map(|(want, amount)| Said { want: *want, amount: *amount }).collect()
}

fn told(donor: &Measurement, words: &[(Want, f64)]) -> Told {
    let said = said(words);
    tell(donor, &Asked { said: &said, face_of: None, flop_of: None, by_hand: &[] }).expect("a sound one")
}

/// The paint that is wanted, by the strict way.
fn wanted(donor: &Measurement, told: &Told) -> Measurement {
    wish(donor, &told.edits, None).expect("a sound one").wish.target
}

fn turn_deg(from: f64, to: f64) -> f64 {
    (to - from + 540.0).rem_euclid(360.0) - 180.0
}

fn has(told: &Told, text: &str) -> bool {
    told.warnings.iter().any(|warning| warning.what.contains(text))
}

const FACE: [Geometry; 3] = [Geometry::AsMinus15, Geometry::As15, Geometry::As25];
const FLOP: [Geometry; 2] = [Geometry::As75, Geometry::As110];

#[test]
fn keep_the_face_lose_the_violet_side() {
    let donor = copper();
    let told = told(&donor, &[(Want::LoseHueTravel, 1.0), (Want::KeepFace, 1.0)]);
    assert_eq!(told.sentence, "Keep the orange face. Take the violet out of the flop.");
    let target = wanted(&donor, &told);
    let face = colour(&donor, Geometry::As15).h_deg;
    for geometry in FACE {
        assert_eq!(target.at(geometry), donor.at(geometry));
    }
    for geometry in FLOP {
        let (before, after) = (colour(&donor, geometry), colour(&target, geometry));
        assert!(turn_deg(face, before.h_deg).abs() > 30.0, "{geometry}: {before:?}");
        // Edits stand in hundredths.
        assert!(turn_deg(face, after.h_deg).abs() < 0.01, "{geometry}: {after:?}");
        assert!((after.l - before.l).abs() < 0.01 && (after.c - before.c).abs() < 0.01);
    }
    let at_110 = &told.angles[5];
    assert_eq!(at_110.geometry, Geometry::As110);
    assert!(
        at_110.words.starts_with("110°: hue ") && at_110.words.contains("° from violet towards "),
        "{}",
        at_110.words
    );
    assert_eq!(told.angles[1].words, "15°: as measured");
}

#[test]
fn invariant_half_the_amount_goes_half_the_way() {
    let donor = copper();
    for want in [Want::LoseHueTravel, Want::LiftFlop, Want::DeepenFlop, Want::LessFlopColour, Want::Quieter] {
        let (whole, half) = (told(&donor, &[(want, 1.0)]), told(&donor, &[(want, 0.5)]));
        assert!(!whole.edits.is_empty());
        for edit in &whole.edits {
            let less = half.edits.iter().find(|half| half.geometry == edit.geometry).copied().unwrap_or(Edit {
                dl: 0.0,
                dc: 0.0,
                dh_deg: 0.0,
                ..*edit
            });
            for (whole, half) in [(edit.dl, less.dl), (edit.dc, less.dc), (edit.dh_deg, less.dh_deg)] {
                // Both in hundredths; a grey has no hue to turn.
                assert!((half - 0.5 * whole).abs() < 0.011 || less.dc == 0.0, "{want}: {edit:?} {less:?}");
            }
        }
    }
}

#[test]
fn invariant_every_want_does_what_it_says() {
    let donor = copper();
    for (want, angles, by) in [
        (Want::LiftFlop, &FLOP[..], (1, 0)),
        (Want::DeepenFlop, &FLOP, (-1, 0)),
        (Want::LessFlopColour, &FLOP, (0, -1)),
        (Want::MoreFlopColour, &FLOP, (0, 1)),
        (Want::Quieter, &Geometry::ALL, (0, -1)),
        (Want::BrighterFace, &FACE, (1, 0)),
        (Want::CalmerFace, &FACE, (-1, 0)),
    ] {
        let told = told(&donor, &[(want, 0.5)]);
        let target = wanted(&donor, &told);
        for angle in &told.angles {
            let (before, after) = (colour(&donor, angle.geometry), colour(&target, angle.geometry));
            let sign = |change: f64| if change.abs() < 0.02 { 0 } else { change.signum() as i32 };
            let found = (sign(after.l - before.l), sign(after.c - before.c));
            let touched = angles.contains(&angle.geometry);
            let between = angle.geometry == Geometry::As45;
            assert!(found == if touched { by } else { (0, 0) } || (between && found == by), "{want}: {angle:?}");
            assert_eq!(angle.words.ends_with("as measured"), found == (0, 0), "{want}: {}", angle.words);
            assert!(turn_deg(before.h_deg, after.h_deg).abs() < 0.1);
        }
    }
}

#[test]
fn invariant_a_kept_face_is_touched_by_no_words() {
    let donor = copper();
    for want in Want::ALL {
        let words = [(Want::KeepFace, 0.2), (want, 1.0)];
        let told = told(&donor, if want == Want::KeepFace { &words[..1] } else { &words });
        assert!(told.edits.iter().all(|edit| !FACE.contains(&edit.geometry)), "{want}: {:?}", told.edits);
    }
    assert!(has(&told(&donor, &[(Want::KeepFace, 1.0), (Want::BrighterFace, 1.0)]), "the face is kept"));
    let by_hand = [Edit { geometry: Geometry::As25, dl: -3.0, dc: 0.0, dh_deg: 0.0 }];
    let keep = said(&[(Want::KeepFace, 1.0)]);
    let told = tell(&donor, &Asked { said: &keep, face_of: None, flop_of: None, by_hand: &by_hand }).unwrap();
    assert_eq!(told.edits, by_hand);
    assert_eq!(told.sentence, "Keep the orange face. Change 25° by hand.");
    assert!(has(&told, "changed by hand"));
}

#[test]
fn invariant_the_order_of_saying_makes_no_difference() {
    let donor = copper();
    let mut words = vec![(Want::Quieter, 0.3), (Want::LoseHueTravel, 0.4), (Want::DeepenFlop, 0.2)];
    let once = told(&donor, &words);
    words.reverse();
    assert_eq!(once, told(&donor, &words));
    words.push((Want::KeepFace, 0.0));
    assert_eq!(once, told(&donor, &words), "asked for by nothing");
    assert_eq!(told(&donor, &[]).sentence, "The paint as it was measured.");
}

#[test]
fn invariant_words_and_hand_add_up_to_one_edit_an_angle() {
    let donor = copper();
    let words = said(&[(Want::LiftFlop, 0.3), (Want::LessFlopColour, 0.2)]);
    let by_hand: Vec<Edit> =
        [Geometry::As110, Geometry::As15].map(|geometry| Edit { geometry, dl: 1.5, dc: -1.0, dh_deg: 5.0 }).to_vec();
    let asked = Asked { said: &words, face_of: None, flop_of: None, by_hand: &by_hand };
    let (both, alone) = (tell(&donor, &asked).unwrap(), tell(&donor, &Asked { by_hand: &[], ..asked }).unwrap());
    assert!(both.edits.windows(2).all(|pair| pair[0].geometry < pair[1].geometry));
    let at = |told: &Told, geometry| {
        told.edits.iter().copied().find(|edit| edit.geometry == geometry).unwrap_or(Edit {
            geometry,
            dl: 0.0,
            dc: 0.0,
            dh_deg: 0.0,
        })
    };
    for hand in &by_hand {
        let (both, alone) = (at(&both, hand.geometry), at(&alone, hand.geometry));
        for (both, alone, hand) in
            [(both.dl, alone.dl, hand.dl), (both.dc, alone.dc, hand.dc), (both.dh_deg, alone.dh_deg, hand.dh_deg)]
        {
            assert!((both - alone - hand).abs() < 0.011);
        }
    }
    assert!(both.sentence.ends_with("Change 15° and 110° by hand."), "{}", both.sentence);
}

#[test]
fn invariant_an_end_of_another_paint_has_its_colour() {
    let (one, two) = (copper(), silver());
    for (end, angles) in [(End::Face, &FACE[..]), (End::Flop, &FLOP)] {
        let (edits, warnings) = of_another(&one, &two, end);
        assert!(warnings.is_empty() && edits.iter().all(|edit| angles.contains(&edit.geometry)));
        let target = wish(&one, &edits, None).unwrap().wish.target;
        for geometry in Geometry::ALL {
            let source = if angles.contains(&geometry) { &two } else { &one };
            let (has, wants) = (colour(&target, geometry).lab(), colour(source, geometry).lab());
            let apart = math::hypot(has.l - wants.l, math::hypot(has.a - wants.a, has.b - wants.b));
            assert!(apart < 1e-5, "{geometry}: {apart}");
        }
    }
    let asked = Asked { said: &[], face_of: None, flop_of: Some(&two), by_hand: &[] };
    let told = tell(&one, &asked).unwrap();
    assert_eq!(told.sentence, "Take the flop of the second paint.");
    // What words do comes after: a grey flop has no hue to lose.
    let lose = said(&[(Want::LoseHueTravel, 1.0)]);
    let after = tell(&one, &Asked { said: &lose, ..asked }).unwrap();
    assert!(after.edits.iter().filter(|edit| FLOP.contains(&edit.geometry)).eq(told.edits.iter()));

    let face_only = of(&two, &FACE);
    let (edits, warnings) = of_another(&one, &face_only, End::Flop);
    assert!(edits.is_empty() && warnings.last().unwrap().what.contains("share no flop angle"), "{warnings:?}");
    let chip = of(&one, &[Geometry::As45]);
    let whole = completed(&completed(&chip, &two, End::Face), &two, End::Flop);
    assert_eq!(whole.by_angle().len(), 6);
    assert_eq!(whole.at(Geometry::As45), one.at(Geometry::As45));
    assert_eq!(completed(&one, &two, End::Face), one, "what the donor has stays");
}

#[test]
fn invariant_whatever_is_said_the_strict_wish_takes_it() {
    let mut random = ChaCha8Rng::seed_from_u64(6);
    let paints =
        [copper(), silver(), of(&copper(), &[Geometry::As45]), of(&silver(), &[Geometry::As25, Geometry::As75])];
    let mut held = 0;
    for round in 0..400 {
        let donor = &paints[round % paints.len()];
        let words: Vec<Said> = Want::ALL
            .into_iter()
            .map(|want| Said { want, amount: random.random_range(-1.0_f64..=1.0).max(0.0) })
            .collect();
        let mut by_hand: Vec<Edit> = Vec::new();
        for (geometry, _) in donor.by_angle() {
            if random.random_bool(0.4) {
                let (dl, dc) = (random.random_range(-150.0..150.0), random.random_range(-100.0..150.0));
                by_hand.push(Edit { geometry: *geometry, dl, dc, dh_deg: random.random_range(-360.0..360.0) });
            }
        }
        let other = &paints[(round + 1) % 2];
        let flop_of = random.random_bool(0.2).then_some(other);
        let asked = Asked { said: &words, face_of: None, flop_of, by_hand: &by_hand };
        let told = tell(donor, &asked).unwrap();
        held += usize::from(has(&told, "no surface like this one"));
        for edits in [Some(&told.edits), told.smoother.as_ref()].into_iter().flatten() {
            let brief = wish(donor, edits, None).unwrap();
            for (geometry, spectrum) in brief.wish.target.by_angle() {
                assert!(spectrum.values().iter().all(|value| (0.0..=5.0).contains(value)), "{geometry}");
            }
        }
        assert_eq!(told.angles.len(), donor.by_angle().len());
    }
    assert!(held > 50, "{held}");
}

#[test]
fn invariant_what_a_surface_can_be_is_left_and_the_rest_is_held_at_the_edge() {
    let donor = copper();
    let edit = |geometry, dl, dc| Edit { geometry, dl, dc, dh_deg: 0.0 };
    let small = [edit(Geometry::As45, 3.0, 2.0), edit(Geometry::As110, -2.0, 0.0)];
    let left = possible(&donor, &small).unwrap();
    assert_eq!((left.edits.as_slice(), left.warnings.len()), (&small[..], 0));

    for (geometry, dl, dc) in
        [(Geometry::As75, 180.0, 0.0), (Geometry::As45, -150.0, 0.0), (Geometry::As110, 0.0, 190.0)]
    {
        let asked = edit(geometry, dl, dc);
        let held = possible(&donor, &[asked]).unwrap();
        assert_eq!(held.warnings.len(), 1);
        assert!(held.warnings[0].what.contains("short of the wish by"), "{}", held.warnings[0]);
        let [kept] = held.edits[..] else { panic!("{held:?}") };
        // The same direction, and less of it.
        let part = if dl != 0.0 { kept.dl / dl } else { kept.dc / dc };
        assert!(part > 0.0 && part < 1.0);
        let brief = wish(&donor, &held.edits, None).unwrap();
        let after = colour(&brief.wish.target, geometry);
        // Away from gloss nothing is lighter than a perfect diffuser, nor darker than nothing.
        assert!((0.0..=100.0).contains(&after.l), "{after:?}");
        let beyond = Edit { dl: 1.1 * kept.dl, dc: 1.1 * kept.dc, ..kept };
        assert!(!possible(&donor, &[beyond]).unwrap().warnings.is_empty(), "{geometry}: not the edge");
    }
}

/// MacAdam's limits (J. Opt. Soc. Am. 25(9), 1935) by another road: a spectrum that is 1 over a band and 0
/// elsewhere has an optimal colour, so any lesser one must be allowed and any stronger one held.
#[test]
fn invariant_the_edge_is_the_object_colour_solid() {
    let donor = Measurement::new(vec![(Geometry::As45, Spectrum::new([0.3; 31]).unwrap())]).unwrap();
    let from = colour(&donor, Geometry::As45).lab();
    let mut tried = 0;
    for (start, end) in [(0, 8), (8, 16), (14, 31), (0, 20), (18, 31)] {
        let band = Spectrum::new(std::array::from_fn(|i| f64::from(u8::from((start..end).contains(&i))))).unwrap();
        let optimal = lab(&band, Illuminant::D65, Observer::Deg10);
        let beyond = Lab { l: optimal.l, a: 1.05 * optimal.a, b: 1.05 * optimal.b };
        let (before, after) = (from.lch(), beyond.lch());
        let edit = Edit {
            geometry: Geometry::As45,
            dl: after.l - before.l,
            dc: after.c - before.c,
            dh_deg: turn_deg(before.h_deg, after.h_deg),
        };
        let held = possible(&donor, &[edit]).unwrap();
        assert_eq!(held.warnings.len(), 1, "{start}..{end}");
        let target = wish(&donor, &held.edits, None).unwrap().wish.target;
        assert!(colour(&target, Geometry::As45).c < 1.05 * optimal.chroma());
        tried += 1;
    }
    assert_eq!(tried, 5);
    // The lightest grey of all is allowed but for the rounding of its spectrum.
    let white = Edit { geometry: Geometry::As45, dl: 99.9 - from.l, dc: 0.0, dh_deg: 0.0 };
    assert!(possible(&donor, &[white]).unwrap().warnings.is_empty());
}

#[test]
fn invariant_the_smooth_wish_has_no_jump_and_is_near() {
    let donor = copper();
    let sharp = [Edit { geometry: Geometry::As25, dl: -30.0, dc: 5.0, dh_deg: 0.0 }];
    assert!(wish(&donor, &sharp, None).unwrap().warnings.iter().any(|w| w.what.contains("between")));
    let smoothed = smooth(&donor, &sharp, &[]).unwrap().expect("it jumps");
    let brief = wish(&donor, &smoothed, None).unwrap();
    assert!(!brief.warnings.iter().any(|w| w.what.contains("between")), "{:?}", brief.warnings);
    assert_eq!(smooth(&donor, &smoothed, &[]).unwrap(), None);
    // No farther than giving the wish up altogether.
    let off = |edits: &[Edit]| {
        let target = wish(&donor, edits, None).unwrap().wish.target;
        let sharp = wish(&donor, &sharp, None).unwrap().wish.target;
        let apart = Geometry::ALL.map(|geometry| {
            let (one, two) = (colour(&target, geometry).lab(), colour(&sharp, geometry).lab());
            let (l, a, b) = (one.l - two.l, one.a - two.a, one.b - two.b);
            l * l + a * a + b * b
        });
        apart.iter().sum::<f64>()
    };
    assert!(off(&smoothed) < off(&[]));
    // A kept angle stays.
    let kept = smooth(&donor, &sharp, &[Geometry::As15, Geometry::AsMinus15]).unwrap().unwrap();
    assert!(kept.iter().all(|edit| edit.geometry > Geometry::As15), "{kept:?}");

    let asked = Asked { said: &[], face_of: None, flop_of: None, by_hand: &sharp };
    let told = tell(&donor, &asked).unwrap();
    assert!(has(&told, "between 45as15 and 45as25"));
    assert!(smooth(&donor, told.smoother.as_ref().unwrap(), &[]).unwrap().is_none());
}

#[test]
fn few_angles_say_what_cannot_be_known() {
    let donor = copper();
    let three = told(&of(&donor, &[Geometry::As15, Geometry::As45, Geometry::As110]), &[(Want::LoseHueTravel, 1.0)]);
    assert_eq!(three.sentence, "Take the violet out of the flop.");
    assert!(has(&three, "between and beyond"));
    let two = told(&of(&donor, &[Geometry::As25, Geometry::As45]), &[(Want::LiftFlop, 0.5)]);
    assert!(has(&two, "how dark the flop is"), "{:?}", two.warnings);
    assert!(two.edits.iter().all(|edit| edit.geometry == Geometry::As45));
    let dark = told(&of(&donor, &FLOP), &[(Want::BrighterFace, 0.5)]);
    assert!(has(&dark, "how bright the face is") && has(&dark, "does nothing"), "{:?}", dark.warnings);
    for only in [Geometry::As45, Geometry::As15, Geometry::As110] {
        let chip = of(&donor, &[only]);
        let one = told(&chip, &[(Want::BrighterFace, 0.5), (Want::Quieter, 0.5), (Want::DeepenFlop, 0.5)]);
        assert!(has(&one, "one angle only") && has(&one, "\"darker flop\" does nothing"), "{:?}", one.warnings);
        let [edit] = one.edits[..] else { panic!("{one:?}") };
        assert!(edit.dl > 0.0 && edit.dc < 0.0);
    }
    assert!(has(&told(&silver(), &[(Want::LoseHueTravel, 1.0)]), "the face is grey"));
    assert!(has(&told(&silver(), &[(Want::MoreFlopColour, 1.0)]), "no hue to make more of"));
    let solid = Measurement::new(Geometry::ALL.map(|g| (g, *copper().at(Geometry::As45).unwrap())).to_vec()).unwrap();
    assert!(has(&told(&solid, &[(Want::LoseHueTravel, 1.0)]), "hue already"));
    assert!(has(&told(&donor, &[(Want::LiftFlop, 0.5), (Want::DeepenFlop, 0.5)]), "opposite"));
}

#[test]
fn bad_words_are_refused() {
    let donor = copper();
    let refused = |said: &[Said], by_hand: &[Edit]| {
        tell(&donor, &Asked { said, face_of: None, flop_of: None, by_hand }).unwrap_err()
    };
    for amount in [-0.1, 1.1, f64::NAN, f64::INFINITY] {
        let error = refused(&[Said { want: Want::Quieter, amount }], &[]);
        assert!(matches!(error, BriefError::Amount { want: Want::Quieter, .. }), "{error}");
    }
    let twice = said(&[(Want::Quieter, 0.2), (Want::Quieter, 0.3)]);
    assert_eq!(refused(&twice, &[]), BriefError::SaidTwice { want: Want::Quieter });
    let edit = Edit { geometry: Geometry::As45, dl: 0.0, dc: 0.0, dh_deg: 0.0 };
    assert!(matches!(refused(&[], &[edit, edit]), BriefError::Twice { .. }));
    assert!(matches!(refused(&[], &[Edit { dl: f64::NAN, ..edit }]), BriefError::Range { .. }));
    let chip = of(&donor, &[Geometry::As45]);
    let far = [Edit { geometry: Geometry::As110, ..edit }];
    assert_eq!(possible(&chip, &far), Err(BriefError::NoAngle { geometry: Geometry::As110 }));
    assert!(smooth(&chip, &far, &[]).is_err());

    for want in Want::ALL {
        assert_eq!(want.key().parse::<Want>(), Ok(want));
        assert_eq!(format!(" {} ", want.key()).parse::<Want>(), Ok(want));
        assert!(!want.full().is_empty());
    }
    let error = "louder".parse::<Want>().unwrap_err();
    assert!(error.to_string().contains("\"louder\"") && error.to_string().contains("keep-face"), "{error}");
}

fn area(place: Place, rgb: [f64; 3]) -> Area {
    Area { place, rgb, spread: 6.0, count: 5000 }
}

// reference/colour/colorchecker_srgb.csv: codes by colour-science. Taken as a picture's they must come back as
// swatches, whole codes at most half a code off.
#[test]
fn oracle_codes_of_a_colour_chart_come_back() {
    let mut seen = 0;
    for line in include_str!("../../../reference/colour/colorchecker_srgb.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        if cells[1] != "D65" {
            continue;
        }
        let rgb: Vec<f64> = cells[3..6].iter().map(|cell| cell.parse().unwrap()).collect();
        let rgb = [rgb[0], rgb[1], rgb[2]];
        if rgb.iter().any(|code| !(0.0..=249.0).contains(code)) {
            continue;
        }
        let pictured = of_picture(&[area(Place::Flash, rgb)]).unwrap();
        let spectrum = pictured.measurement.at(Geometry::As45).unwrap();
        assert!(spectrum.values().iter().all(|value| (0.0..=1.0).contains(value)));
        let xyz = tristimulus(spectrum, Illuminant::D65, Observer::Deg10);
        let shown = swatch(xyz, Illuminant::D65, Observer::Deg10);
        for (shown, code) in [shown.r, shown.g, shown.b].into_iter().zip(rgb) {
            assert!((f64::from(shown) - code).abs() <= 0.5 + 1e-6, "{}: {shown} {code}", cells[0]);
        }
        seen += 1;
    }
    assert!(seen >= 20, "{seen}");
}

#[test]
fn a_picture_is_three_angles_and_never_a_measurement() {
    let areas = [
        area(Place::Flop, [40.0, 22.0, 60.0]),
        area(Place::Face, [230.0, 140.0, 60.0]),
        area(Place::Flash, [150.0, 80.0, 40.0]),
    ];
    let pictured = of_picture(&areas).unwrap();
    let angles: Vec<Geometry> = pictured.measurement.by_angle().iter().map(|(geometry, _)| *geometry).collect();
    assert_eq!(angles, [Geometry::As15, Geometry::As45, Geometry::As110]);
    assert!(pictured.warnings[0].what.starts_with("a picture is not a measurement"));
    assert_eq!(pictured.warnings.len(), 1, "{:?}", pictured.warnings);
    // A grey stays an even grey: its spectrum is flat.
    let grey = of_picture(&[area(Place::Face, [128.0; 3])]).unwrap();
    let values = grey.measurement.at(Geometry::As15).unwrap().values();
    assert!(values.iter().all(|value| (value - values[0]).abs() < 1e-3), "{values:?}");
}

#[test]
fn doubtful_pictures_are_doubted_and_hopeless_ones_refused() {
    let doubted = |area: Area, text: &str| {
        let pictured = of_picture(&[area]).unwrap();
        assert!(pictured.warnings[0].what.starts_with("a picture is not a measurement"));
        assert!(pictured.warnings.iter().skip(1).any(|w| w.what.contains(text)), "{text}: {:?}", pictured.warnings);
    };
    let sound = area(Place::Face, [150.0, 80.0, 40.0]);
    doubted(Area { rgb: [12.0, 9.0, 10.0], ..sound }, "nearly black");
    doubted(Area { rgb: [254.0, 120.0, 40.0], ..sound }, "red at the picture's limit");
    doubted(Area { rgb: [235.0, 120.0, 40.0], spread: 15.0, ..sound }, "may be burnt out");
    doubted(Area { spread: 60.0, ..sound }, "very uneven");
    doubted(Area { count: 9, ..sound }, "9 pixels only");

    let black = |place| Area { rgb: [1.0, 0.0, 2.0], spread: 1.0, place, ..sound };
    let refused = |areas: &[Area]| of_picture(areas).unwrap_err();
    let all = Place::ALL.map(black);
    assert_eq!(refused(&all), PictureError::AllBlack { highest: 2.0 });
    assert!(refused(&all).to_string().contains("every area is black"));
    assert_eq!(refused(&[sound, black(Place::Flop)]), PictureError::Black { place: Place::Flop, highest: 2.0 });
    assert!(matches!(refused(&[Area { rgb: [254.0; 3], ..sound }]), PictureError::BurntOut { .. }));
    assert_eq!(refused(&[]), PictureError::NoArea);
    assert_eq!(refused(&[sound, sound]), PictureError::Twice { place: Place::Face });
    assert_eq!(refused(&[Area { count: 0, ..sound }]), PictureError::Empty { place: Place::Face });
    for (rgb, spread) in
        [([-1.0, 0.0, 0.0], 1.0), ([0.0, 256.0, 0.0], 1.0), ([50.0; 3], f64::NAN), ([f64::NAN; 3], 1.0)]
    {
        let error = refused(&[Area { rgb, spread, ..sound }]);
        assert!(matches!(error, PictureError::Code { place: Place::Face, .. }), "{error}");
    }
    for place in Place::ALL {
        assert_eq!(place.key().parse::<Place>(), Ok(place));
    }
    assert!("roof".parse::<Place>().unwrap_err().to_string().contains("face, flash or flop"));
}
