//! CIEDE2000 against the published pairs, the paper's own equations, and another library.

use base::math::{atan2, cos, exp, hypot, pow, sin};
use colour::{ColourError, Lab, ciede2000, ciede2000_many, difference};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

/// The 34 pairs of Sharma, Wu and Dalal 2005, table 1, and their differences.
fn published_pairs() -> Vec<(Lab, Lab, f64)> {
    let text = include_str!("../../../reference/colour/sharma2005.csv");
    text.lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().expect("a number")).collect();
            let [_, l1, a1, b1, l2, a2, b2, wanted] = cells[..] else {
                panic!("{line}");
            };
            let first = Lab { l: l1, a: a1, b: b1 };
            let second = Lab { l: l2, a: a2, b: b2 };
            (first, second, wanted)
        })
        .collect()
}

/// Seeded pairs over the whole of what paint can be, a third of them close together.
fn random_pairs(count: usize) -> (Vec<Lab>, Vec<Lab>) {
    let mut random = ChaCha8Rng::seed_from_u64(2005);
    let mut draw = |half: f64| random.random_range(-half..half);
    (0..count)
        .map(|i| {
            let first = Lab { l: 60.0 + draw(60.0), a: draw(110.0), b: draw(110.0) };
            let second = if i % 3 == 0 {
                Lab { l: first.l + draw(2.0), a: first.a + draw(2.0), b: first.b + draw(2.0) }
            } else {
                Lab { l: 60.0 + draw(60.0), a: draw(110.0), b: draw(110.0) }
            };
            (first, second)
        })
        .unzip()
}

/// Equations 2 to 22 of the paper as printed, hue angles in degrees.
fn as_printed(first: Lab, second: Lab) -> f64 {
    let deg_cos = |deg: f64| cos(deg.to_radians());
    let seventh = |c: f64| (pow(c, 7.0) / (pow(c, 7.0) + pow(25.0, 7.0))).sqrt();
    let g = 0.5 * (1.0 - seventh((first.chroma() + second.chroma()) / 2.0));
    let (a1, a2) = ((1.0 + g) * first.a, (1.0 + g) * second.a);
    let (c1, c2) = (hypot(a1, first.b), hypot(a2, second.b));
    let hue = |a: f64, b: f64| atan2(b, a).to_degrees().rem_euclid(360.0);
    let (h1, h2) = (hue(a1, first.b), hue(a2, second.b));

    let dh = if c1 * c2 == 0.0 {
        0.0
    } else if (h2 - h1).abs() <= 180.0 {
        h2 - h1
    } else if h2 - h1 > 180.0 {
        h2 - h1 - 360.0
    } else {
        h2 - h1 + 360.0
    };
    let big_dh = 2.0 * (c1 * c2).sqrt() * sin(dh.to_radians() / 2.0);
    let h = if c1 * c2 == 0.0 {
        h1 + h2
    } else if (h1 - h2).abs() <= 180.0 {
        (h1 + h2) / 2.0
    } else if h1 + h2 < 360.0 {
        (h1 + h2 + 360.0) / 2.0
    } else {
        (h1 + h2 - 360.0) / 2.0
    };
    let t = 1.0 - 0.17 * deg_cos(h - 30.0) + 0.24 * deg_cos(2.0 * h) + 0.32 * deg_cos(3.0 * h + 6.0)
        - 0.20 * deg_cos(4.0 * h - 63.0);
    let d_theta = 30.0 * exp(-((h - 275.0) / 25.0) * ((h - 275.0) / 25.0));
    let (l, c) = ((first.l + second.l) / 2.0, (c1 + c2) / 2.0);
    let l50 = (l - 50.0) * (l - 50.0);
    let s_l = 1.0 + 0.015 * l50 / (20.0 + l50).sqrt();
    let (s_c, s_h) = (1.0 + 0.045 * c, 1.0 + 0.015 * c * t);
    let r_t = -sin((2.0 * d_theta).to_radians()) * 2.0 * seventh(c);
    let (dl, dc, dh) = ((second.l - first.l) / s_l, (c2 - c1) / s_c, big_dh / s_h);
    (dl * dl + dc * dc + dh * dh + r_t * dc * dh).sqrt()
}

#[test]
fn published_sharma_2005_all_pairs() {
    let pairs = published_pairs();
    assert_eq!(pairs.len(), 34);
    for (i, (first, second, wanted)) in pairs.into_iter().enumerate() {
        // Printed to four decimals.
        let found = ciede2000(first, second);
        assert!((found - wanted).abs() < 1e-4, "pair {}: {found} for {wanted}", i + 1);
        let back = ciede2000(second, first);
        assert!((back - wanted).abs() < 1e-4, "pair {} reversed: {back}", i + 1);
    }
}

#[test]
fn published_sharma_2005_in_one_batch() {
    let pairs = published_pairs();
    let first: Vec<Lab> = pairs.iter().map(|pair| pair.0).collect();
    let second: Vec<Lab> = pairs.iter().map(|pair| pair.1).collect();
    let found = ciede2000_many(&first, &second).unwrap();
    for (found, (_, _, wanted)) in found.iter().zip(&pairs) {
        assert!((found - wanted).abs() < 1e-4, "{found} for {wanted}");
    }
}

#[test]
fn invariant_equals_the_equations_as_printed() {
    let (first, second) = random_pairs(300_000);
    let mut worst = 0.0_f64;
    for (first, second) in first.iter().zip(&second) {
        worst = worst.max((ciede2000(*first, *second) - as_printed(*first, *second)).abs());
    }
    // What the cut series leaves; see `angle_squared`.
    assert!(worst < 1e-9, "{worst:e}");
}

#[test]
fn invariant_equals_the_equations_along_hue_wraps() {
    // Every pair of whole-degree hues, which meets 0, 180 and 275. Left out are exactly opposite
    // hues and mean hues of exactly 0: the formula jumps there (the paper, section on
    // discontinuities), and the last bit of an arctangent decides which side the printed form takes.
    for h1 in 0..360_i32 {
        for h2 in 0..360_i32 {
            let apart = (h1 - h2).abs();
            if apart == 180 || (apart > 180 && h1 + h2 == 360) {
                continue;
            }
            let at = |h: i32, c: f64, l: f64| colour::Lch { l, c, h_deg: f64::from(h) }.lab();
            let (first, second) = (at(h1, 40.0, 50.0), at(h2, 40.0, 55.0));
            let error = (ciede2000(first, second) - as_printed(first, second)).abs();
            assert!(error < 1e-9, "{h1} {h2}: {error:e}");
        }
    }
}

#[test]
fn oracle_palette_on_random_pairs() {
    use palette::color_difference::Ciede2000;
    let (first, second) = random_pairs(100_000);
    let other = |lab: &Lab| palette::Lab::<palette::white_point::D65, f64>::new(lab.l, lab.a, lab.b);
    let mut wrapped = 0;
    for (one, two) in first.iter().zip(&second) {
        let (ours, theirs) = (ciede2000(*one, *two), other(one).difference(other(two)));
        // palette adds 360 degrees to every mean hue across the red axis, where equation 14 takes
        // them away from a sum of 360 or more. The rotation term's exponential, at most 1e-5 there,
        // is all that sees the 360 degrees, and |R_T| <= 2 sin(60 degrees x 1e-5) bounds what it does.
        // a' = (1 + G) a turns a hue by 12 degrees at most, hence the margins of 24.
        let (h1, h2) = (one.hue_deg(), two.hue_deg());
        let across = (h1 - h2).abs() > 180.0 - 24.0 && h1 + h2 > 360.0 - 24.0;
        wrapped += i32::from(across);
        let allowed = if across { 1.1e-5 * ours } else { 1e-9 };
        assert!((ours - theirs).abs() < allowed, "{one:?} {two:?}: {ours} {theirs}");
    }
    assert!(wrapped < 25_000, "{wrapped}");
}

#[test]
fn invariant_symmetry_and_identity() {
    let (first, second) = random_pairs(10_000);
    for (first, second) in first.into_iter().zip(second) {
        assert_eq!(ciede2000(first, first), 0.0);
        let there = ciede2000(first, second);
        assert!(there > 0.0);
        assert!((there - ciede2000(second, first)).abs() < 1e-12 * (1.0 + there));
    }
}

#[test]
fn invariant_batch_equals_single_bit_for_bit() {
    // Lengths on both sides of the block, and none at all.
    for length in [0, 1, 63, 64, 65, 1000] {
        let (first, second) = random_pairs(length);
        let many = ciede2000_many(&first, &second).unwrap();
        assert_eq!(many.len(), length);
        for ((many, first), second) in many.into_iter().zip(first).zip(second) {
            assert_eq!(many.to_bits(), ciede2000(first, second).to_bits());
        }
    }
}

#[test]
fn greys_have_no_hue() {
    let grey = |l| Lab { l, a: 0.0, b: 0.0 };
    assert!(ciede2000(grey(20.0), grey(80.0)) > 0.0);
    assert_eq!(difference(grey(20.0), grey(20.0)).de00, 0.0);
    // Against a grey the mean hue is the other's, for whatever sign a zero carries.
    let red = Lab { l: 50.0, a: 40.0, b: 0.0 };
    for zero in [0.0, -0.0] {
        let grey = Lab { l: 50.0, a: zero, b: zero };
        assert!((ciede2000(grey, red) - as_printed(grey, red)).abs() < 1e-9);
    }
}

#[test]
fn parts_add_up_to_the_euclidean_distance() {
    let (first, second) = random_pairs(10_000);
    for (first, second) in first.into_iter().zip(second) {
        let parts = difference(first, second);
        let (dl, da, db) = (second.l - first.l, second.a - first.a, second.b - first.b);
        let straight = (dl * dl + da * da + db * db).sqrt();
        let by_parts = (parts.dl * parts.dl + parts.dc * parts.dc + parts.dh * parts.dh).sqrt();
        assert!((straight - by_parts).abs() < 1e-9, "{first:?} {second:?}");
    }
}

#[test]
fn parts_carry_their_signs() {
    let wanted = Lab { l: 50.0, a: 20.0, b: 10.0 };
    let yellower = difference(wanted, Lab { l: 49.0, a: 20.0, b: 12.0 });
    assert!(yellower.dl < 0.0 && yellower.dc > 0.0 && yellower.dh > 0.0);
    // Across the red axis: from 350 to 10 degrees is a turn of +20, not -340.
    let across = difference(Lab { l: 50.0, a: 20.0, b: -3.5 }, Lab { l: 50.0, a: 20.0, b: 3.5 });
    assert!((across.dh - 7.0).abs() < 1e-12 && across.dc == 0.0, "{across:?}");
}

#[test]
fn unequal_lists_and_bad_numbers() {
    let black = Lab { l: 0.0, a: 0.0, b: 0.0 };
    assert_eq!(ciede2000_many(&[black], &[]), Err(ColourError::UnequalLists { first: 1, second: 0 }));
    for bad in [f64::NAN, f64::INFINITY] {
        for place in 0..3 {
            let mut v = [50.0, 10.0, 10.0];
            v[place] = bad;
            let broken = Lab { l: v[0], a: v[1], b: v[2] };
            assert!(!ciede2000(broken, black).is_finite(), "{broken:?}");
            assert!(!ciede2000(black, broken).is_finite(), "{broken:?}");
        }
    }
}
