//! CIE daylight of any correlated colour temperature, by the formula of CIE 15.
//!
//! The formula gives a chromaticity on the daylight locus, and from it the amounts M1 and M2 of two basis
//! spectra beside the mean one. Coefficients: CIE 15:2004, 3.1 (from memory; they agree with colour-science's
//! to every digit, see `reference/colour/daylight_locus.csv`).

use crate::weights::{DAYLIGHT_10, Weights};

/// The lowest correlated colour temperature for which CIE 15 gives daylight, in kelvin.
const LOWEST_K: f64 = 4000.0;
/// The highest, in kelvin.
const HIGHEST_K: f64 = 25_000.0;

/// Chromaticity x, y (CIE 1931, 2 degree observer) of CIE daylight of a correlated colour temperature in
/// kelvin.
///
/// Domain 4000 to 25 000 K, as CIE 15 says; `None` outside and for what is not a number. The name of a
/// standard daylight counts in an older scale of temperature: D65 has 6500 x 1.4388 / 1.4380, about 6504 K,
/// D50 5003 K. What CIE prints for these is the chromaticity of the spectrum, which lies within 1.2e-4 of
/// this locus.
///
/// ```
/// let (x, y) = colour::daylight_chromaticity(6504.0).ok_or("outside 4000 to 25 000 K")?;
/// assert!((x - 0.3127).abs() < 5e-5 && (y - 0.3291).abs() < 5e-5);
/// assert_eq!(colour::daylight_chromaticity(2856.0), None);
/// # Ok::<(), &str>(())
/// ```
pub fn chromaticity(cct_k: f64) -> Option<(f64, f64)> {
    (LOWEST_K..=HIGHEST_K).contains(&cct_k).then(|| locus(cct_k))
}

/// E308 weights of CIE daylight for the 10 degree observer, Y of a perfect diffuser being 100.
///
/// M1 and M2 are not rounded to three places, as CIE does for its named daylights, so that the weights change
/// smoothly with the temperature. Outside 4000 to 25 000 K the nearer end stands; so does 4000 K for what is
/// not a number.
pub(crate) fn weights(cct_k: f64) -> Weights {
    let cct_k = if cct_k.is_nan() { LOWEST_K } else { cct_k.clamp(LOWEST_K, HIGHEST_K) };
    let (x, y) = locus(cct_k);
    let (m1, m2) = amounts(x, y);
    combine(m1, m2)
}

/// The daylight locus: x_D by two polynomials that meet at 7000 K (within 1e-6), and y_D from it.
fn locus(cct_k: f64) -> (f64, f64) {
    let t = 1000.0 / cct_k;
    let x = if cct_k <= 7000.0 {
        0.244063 + t * (0.09911 + t * (2.9678 - t * 4.6070))
    } else {
        0.237040 + t * (0.24748 + t * (1.9018 - t * 2.0064))
    };
    (x, -0.275 + x * (2.870 - x * 3.000))
}

/// M1 and M2: how much of S1 and S2 stands beside S0 in the daylight of a chromaticity.
fn amounts(x: f64, y: f64) -> (f64, f64) {
    let m = 0.0241 + 0.2562 * x - 0.7341 * y;
    ((-1.3515 - 1.7703 * x + 5.9114 * y) / m, (0.0300 - 31.4424 * x + 30.0717 * y) / m)
}

/// Weights of S0 + M1 S1 + M2 S2, normalised to Y = 100.
fn combine(m1: f64, m2: f64) -> Weights {
    let [s0, s1, s2] = &DAYLIGHT_10;
    let mut weights = *s0;
    for (row, (one, two)) in weights.iter_mut().zip(s1.iter().zip(s2)) {
        for (w, (one, two)) in row.iter_mut().zip(one.iter().zip(two)) {
            *w += m1 * one + m2 * two;
        }
    }
    let white: f64 = weights.iter().map(|[_, y, _]| y).sum();
    for w in weights.as_flattened_mut() {
        *w *= 100.0 / white;
    }
    weights
}

#[cfg(test)]
mod tests {
    use super::{amounts, combine, locus, weights};
    use crate::weights::{D65_10, DAYLIGHT_10, Weights};

    /// The four daylights that CIE tabulates: nominal temperature, M1, M2, and the white of the 10 degree
    /// observer.
    const NAMED: [(f64, f64, f64, f64, f64); 4] = [
        (5000.0, -1.039, 0.363, 0.34773, 0.35952),
        (5500.0, -0.785, -0.198, 0.33412, 0.34877),
        (6500.0, -0.295, -0.689, 0.31382, 0.33100),
        (7500.0, 0.145, -0.760, 0.29968, 0.31740),
    ];

    fn kelvin(nominal: f64) -> f64 {
        nominal * 1.4388 / 1.4380
    }

    fn rounded(value: f64) -> f64 {
        (value * 1000.0).round() / 1000.0
    }

    fn gap(a: &Weights, b: &Weights) -> f64 {
        a.as_flattened().iter().zip(b.as_flattened()).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    }

    /// The M1 and M2 in the spectra that CIE 15 prints for D50, D55, D65 and D75: taken out of the printed
    /// spectra (as colour-science carries them) by least squares; with these three places every printed value
    /// comes back to its last digit.
    #[test]
    fn published_amounts_of_the_named_daylights() {
        for (nominal, m1, m2, _, _) in NAMED {
            let (x, y) = locus(kelvin(nominal));
            let found = amounts(x, y);
            assert_eq!((rounded(found.0), rounded(found.1)), (m1, m2), "D{nominal}");
        }
    }

    /// CIE 15: chromaticities of D50, D55, D65 and D75 for the 10 degree observer, as colour-science carries
    /// them. They are sums of 5 nm; the 10 nm weights and the printed digit leave 5e-5, as for D65 and A in
    /// tests/lab.rs.
    #[test]
    fn published_whites_of_the_named_daylights() {
        for (nominal, m1, m2, x, y) in NAMED {
            let [mut wx, mut wy, mut wz] = [0.0; 3];
            for [x, y, z] in combine(m1, m2) {
                wx += x;
                wy += y;
                wz += z;
            }
            let sum = wx + wy + wz;
            assert!((wy - 100.0).abs() < 1e-11, "{wy}");
            assert!(
                (wx / sum - x).abs() < 5e-5 && (wy / sum - y).abs() < 5e-5,
                "D{nominal}: {} {}",
                wx / sum,
                wy / sum
            );
        }
    }

    /// CIE's own D65 table. With CIE's rounded M1, M2 only the last printed digit of D65 is left (5e-5 of a
    /// weight, weights.toml); M1 and M2 as they come differ by at most 0.0005 each, which moves a weight by
    /// 0.0005 of the largest of S1 and of S2, and the Y that it is normalised to by as much of their sums.
    #[test]
    fn published_d65_is_the_daylight_of_6504_k() {
        assert!(gap(&combine(-0.295, -0.689), &D65_10) < 1e-4);
        let [_, s1, s2] = &DAYLIGHT_10;
        let largest = |w: &Weights| w.as_flattened().iter().fold(0.0, |most: f64, w| most.max(w.abs()));
        let luminance = |w: &Weights| w.iter().map(|[_, y, _]| y).sum::<f64>().abs();
        let scale = largest(&D65_10) / 100.0;
        let allowed = 0.0005 * (largest(s1) + largest(s2) + scale * (luminance(s1) + luminance(s2))) + 1e-4;
        let found = gap(&weights(kelvin(6500.0)), &D65_10);
        assert!(found < allowed && allowed < 0.004, "{found} of {allowed}");
    }

    /// colour-science's daylights, weighed whole by its E2022; and the basis is that of the data file.
    #[test]
    fn oracle_colour_science_weights_of_daylights() {
        let text = include_str!("../../../reference/colour/daylight_weights.csv");
        let mut rows = 0;
        for line in text.lines().skip(1) {
            let mut cells = line.split(',');
            let light = cells.next().unwrap();
            let axis = "XYZ".find(cells.next().unwrap()).unwrap();
            let (found, tolerance) = match light {
                "S0" => (DAYLIGHT_10[0], 0.0),
                "S1" => (DAYLIGHT_10[1], 0.0),
                "S2" => (DAYLIGHT_10[2], 0.0),
                // Ten decimals of three basis weights, M1 and M2 being under 5.
                cct => (weights(cct.parse().unwrap()), 2e-9),
            };
            for (row, wanted) in found.iter().zip(cells) {
                let wanted: f64 = wanted.parse().unwrap();
                assert!((row[axis] - wanted).abs() <= tolerance, "{light} {axis}: {} for {wanted}", row[axis]);
            }
            rows += 1;
        }
        assert_eq!(rows, 3 * (3 + 8));
    }

    #[test]
    fn invariant_outside_the_domain_the_nearer_end_stands() {
        for (outside, end) in [(0.0, 4000.0), (-1.0, 4000.0), (f64::NAN, 4000.0), (1e9, 25_000.0)] {
            assert_eq!(weights(outside), weights(end));
        }
        assert!(gap(&weights(4000.0), &weights(4001.0)) > 0.0);
    }
}
