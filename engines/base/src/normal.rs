//! The standard normal distribution: chance below a score, and the score of a chance.

use crate::math;

/// Chance that a standard normal number lies below `z`.
///
/// Relative error of a few units in the last place, in the lower tail too; NaN gives NaN.
///
/// ```
/// assert_eq!(base::normal::below(0.0), 0.5);
/// ```
pub fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Density of the standard normal distribution at `z`.
pub fn density(z: f64) -> f64 {
    // 1 / sqrt(2 pi)
    const PEAK: f64 = 0.398_942_280_401_432_7;
    PEAK * math::exp(-0.5 * z * z)
}

/// The normal score of a chance: [`below`] of it is `p`. 0 gives minus infinity, 1 plus infinity,
/// anything outside 0..=1 NaN.
///
/// Source: M. J. Wichura, Algorithm AS 241: The percentage points of the normal distribution, Applied
/// Statistics 37(3), 1988, 477-484, routine PPND16; relative error about 1e-16.
///
/// ```
/// assert!((base::normal::score(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
/// ```
#[inline]
pub fn score(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        return q * ratio(0.180_625 - q * q, &A, &B);
    }
    tail(p, q)
}

fn tail(p: f64, q: f64) -> f64 {
    let least = if q < 0.0 { p } else { 1.0 - p };
    if least == 0.0 {
        return f64::INFINITY.copysign(q);
    }
    // A negative or NaN chance gives NaN here and below.
    let r = (-math::ln(least)).sqrt();
    let size = if r <= 5.0 { ratio(r - 1.6, &C, &D) } else { ratio(r - 5.0, &E, &F) };
    size.copysign(q)
}

/// Two polynomials of degree 7, lowest coefficient first, divided.
#[inline]
fn ratio(r: f64, above: &[f64; 8], below: &[f64; 8]) -> f64 {
    horner(r, above) / horner(r, below)
}

#[inline]
fn horner(r: f64, c: &[f64; 8]) -> f64 {
    ((((((c[7] * r + c[6]) * r + c[5]) * r + c[4]) * r + c[3]) * r + c[2]) * r + c[1]) * r + c[0]
}

// The coefficients a0..a7, 1, b1..b7 and so on of PPND16, as printed.
const A: [f64; 8] = [
    3.387_132_872_796_366_5,
    1.331_416_678_917_843_8e2,
    1.971_590_950_306_551_3e3,
    1.373_169_376_550_946e4,
    4.592_195_393_154_987e4,
    6.726_577_092_700_87e4,
    3.343_057_558_358_813e4,
    2.509_080_928_730_122_7e3,
];
const B: [f64; 8] = [
    1.0,
    4.231_333_070_160_091e1,
    6.871_870_074_920_579e2,
    5.394_196_021_424_751e3,
    2.121_379_430_158_659_7e4,
    3.930_789_580_009_271e4,
    2.872_908_573_572_194_3e4,
    5.226_495_278_852_854e3,
];
const C: [f64; 8] = [
    1.423_437_110_749_683_5,
    4.630_337_846_156_546,
    5.769_497_221_460_691,
    3.647_848_324_763_204_5,
    1.270_458_252_452_368_4,
    2.417_807_251_774_506e-1,
    2.272_384_498_926_918_4e-2,
    7.745_450_142_783_414e-4,
];
const D: [f64; 8] = [
    1.0,
    2.053_191_626_637_759,
    1.676_384_830_183_803_8,
    6.897_673_349_851e-1,
    1.481_039_764_274_800_8e-1,
    1.519_866_656_361_645_7e-2,
    5.475_938_084_995_345e-4,
    1.050_750_071_644_416_9e-9,
];
const E: [f64; 8] = [
    6.657_904_643_501_103,
    5.463_784_911_164_114,
    1.784_826_539_917_291_3,
    2.965_605_718_285_048_7e-1,
    2.653_218_952_657_612_4e-2,
    1.242_660_947_388_078_4e-3,
    2.711_555_568_743_487_6e-5,
    2.010_334_399_292_288e-7,
];
const F: [f64; 8] = [
    1.0,
    5.998_322_065_558_88e-1,
    1.369_298_809_227_358e-1,
    1.487_536_129_085_061_5e-2,
    7.868_691_311_456_133e-4,
    1.846_318_317_510_054_8e-5,
    1.421_511_758_316_446e-7,
    2.044_263_103_389_939_8e-15,
];

/// Normal scores from a table, for drawing many of them: straight lines between scores of chances
/// that are 1/64 apart, within every halving towards 0 and 1. Absolute error under 2e-5.
#[derive(Debug, Clone, PartialEq)]
pub struct Scores(Vec<f64>);

/// Lines within one halving, as bits of the mantissa.
const LINE_BITS: u32 = 6;
/// Halvings that have lines; a chance under 2^-40 is worked out with [`score`].
const HALVINGS: u64 = 39;
/// Exponent and upper mantissa bits of 2^-40.
const FIRST: u64 = (1023 - 40) << LINE_BITS;

impl Scores {
    /// Works out the table: some 2 500 scores.
    pub fn new() -> Self {
        let chances = FIRST..=FIRST + (HALVINGS << LINE_BITS);
        // One more than there are lines: the end of the last.
        Self(chances.map(|bits| score(f64::from_bits(bits << (52 - LINE_BITS)))).collect())
    }

    /// The normal score of a chance strictly between 0 and 1.
    #[inline]
    pub fn at(&self, p: f64) -> f64 {
        // Which half is a coin toss, so nothing here may branch on it.
        let bits = p.min(1.0 - p).to_bits();
        let line = ((bits >> (52 - LINE_BITS)).wrapping_sub(FIRST)) as usize;
        let Some([left, right]) = self.0.get(line..line.wrapping_add(2)) else {
            return score(p);
        };
        // How far along its line the chance lies: the mantissa bits below those that chose the line.
        let along = (bits & ((1 << (52 - LINE_BITS)) - 1)) as f64 * (1.0 / (1_u64 << (52 - LINE_BITS)) as f64);
        (left + (right - left) * along).copysign(p - 0.5)
    }
}

impl Default for Scores {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::{Scores, below, density, score};

    #[test]
    fn the_table_agrees_with_the_formula() {
        let scores = Scores::new();
        for i in 1..200_000 {
            let p = f64::from(i) / 200_000.0;
            // From the middle to 1e-15.
            for p in [p, p * p * p] {
                assert!((scores.at(p) - score(p)).abs() < 2e-5, "{p}: {} {}", scores.at(p), score(p));
            }
        }
        assert_eq!(scores.at(0.5), 0.0);
        assert_eq!(scores.at(0.25), score(0.25));
        assert_eq!(scores.at(1e-14), score(1e-14));
    }

    // Wichura 1988: the check values given with the routine, from memory, page not checked.
    #[test]
    fn published_check_values_of_as_241() {
        for (p, expect) in
            [(0.25, -0.674_489_750_196_081_7), (0.001, -3.090_232_306_167_813_5), (1e-20, -9.262_340_089_798_409)]
        {
            assert!((score(p) / expect - 1.0).abs() < 4e-16, "{p}: {}", score(p));
        }
    }

    // Oracle: the complementary error function of the `libm` crate, a port of the musl C library.
    #[test]
    fn oracle_score_undoes_libm_erfc() {
        for i in -3_000..=1_000 {
            let z = f64::from(i) * 0.005;
            // The chance near 1 is only known to 1e-16, which the thin density there blows up.
            let allowed = 1e-15 * (1.0 + z.abs()) + 2e-16 * below(z) / density(z);
            assert!((score(below(z)) - z).abs() < allowed, "{z}: {}", score(below(z)) - z);
        }
    }

    #[test]
    fn ends_and_outside() {
        assert_eq!((score(0.0), score(1.0)), (f64::NEG_INFINITY, f64::INFINITY));
        assert!(score(-0.1).is_nan() && score(1.1).is_nan() && score(f64::NAN).is_nan());
        assert_eq!((below(f64::NEG_INFINITY), below(f64::INFINITY)), (0.0, 1.0));
    }

    #[test]
    fn invariant_both_tails_are_alike() {
        for i in 1..500 {
            let p = f64::from(i) / 1024.0;
            assert_eq!(score(p), -score(1.0 - p));
        }
    }
}
