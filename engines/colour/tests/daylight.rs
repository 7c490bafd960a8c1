//! Chromaticity of CIE daylight against printed values and another library.

use colour::daylight_chromaticity;

/// CIE 15:2004: chromaticities of D50, D55, D65 and D75 for the 2 degree observer, to five places, as
/// colour-science carries them. CIE sums the spectrum, whose M1 and M2 are rounded to three places; the locus
/// is the fit from which that spectrum was made. The two differ by up to 1.2e-4 in y (D50), which is what CIE's
/// own tables show between the locus and the printed white.
#[test]
fn published_chromaticities_of_the_named_daylights() {
    for (nominal_k, x, y) in
        [(5000.0, 0.34567, 0.35851), (5500.0, 0.33243, 0.34744), (6500.0, 0.31272, 0.32903), (7500.0, 0.29903, 0.31488)]
    {
        let found = daylight_chromaticity(nominal_k * 1.4388 / 1.4380).expect("inside the domain");
        assert!((found.0 - x).abs() < 3e-5, "{nominal_k}: x {}", found.0);
        assert!((found.1 - y).abs() < 1.2e-4, "{nominal_k}: y {}", found.1);
    }
}

/// D65 of CIE 15, from its formula: x_D = 0.3127, y_D = 0.3291 at 6504 K.
#[test]
fn published_locus_at_6504_k() {
    let (x, y) = daylight_chromaticity(6504.0).expect("inside the domain");
    assert_eq!(((x * 1e4).round(), (y * 1e4).round()), (3127.0, 3291.0));
}

#[test]
fn oracle_colour_science_locus() {
    let mut seen = 0;
    for line in include_str!("../../../reference/colour/daylight_locus.csv").lines().skip(1) {
        let [cct_k, x, y] = line.split(',').map(|cell| cell.parse::<f64>().unwrap()).collect::<Vec<_>>()[..] else {
            panic!("{line}");
        };
        let found = daylight_chromaticity(cct_k).expect("inside the domain");
        // Ten decimals are written.
        assert!((found.0 - x).abs() < 1e-10 && (found.1 - y).abs() < 1e-10, "{cct_k}: {found:?}");
        seen += 1;
    }
    assert_eq!(seen, 8);
}

#[test]
fn invariant_no_daylight_outside_the_domain() {
    for outside in [3999.9, 25_000.1, 0.0, -6504.0, f64::NAN, f64::INFINITY] {
        assert_eq!(daylight_chromaticity(outside), None, "{outside}");
    }
    for end in [4000.0, 25_000.0] {
        assert!(daylight_chromaticity(end).is_some());
    }
}

/// Bluer with every step of temperature, also across 7000 K, where the polynomials meet.
#[test]
fn invariant_x_falls_with_the_temperature() {
    let x: Vec<f64> = (400..=2500).filter_map(|t| daylight_chromaticity(f64::from(t) * 10.0)).map(|(x, _)| x).collect();
    assert_eq!(x.len(), 2101);
    assert!(x.windows(2).all(|pair| pair[1] < pair[0]));
}
