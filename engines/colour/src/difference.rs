//! CIEDE2000.
//!
//! Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula: implementation notes,
//! supplementary test data, and mathematical observations", Color Research and Application 30(1),
//! 2005, 21-30. Equation numbers below are theirs (from memory); k_L = k_C = k_H = 1.
//!
//! The paper works with hue angles and must then say which way round a mean hue is taken. Here the
//! hues stay direction vectors, which know no wrap: the mean hue is the direction of the bisector,
//! multiples of it come from the addition theorems, and only the square of its distance from
//! 275 degrees is needed as an angle. That leaves no branch and no arctangent, so the compiler can
//! work on several pairs side by side, and one pair and a million go through the same function.
//! `tests/difference.rs` holds the paper's equations as printed and compares.

use base::{lane, math};

use crate::error::ColourError;
use crate::lab::Lab;

/// How a sample differs from a reference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// CIEDE2000, never negative.
    pub de00: f64,
    /// Lightness difference, sample less reference: positive is lighter (CIELAB L\*).
    pub dl: f64,
    /// Chroma difference, sample less reference: positive is stronger (CIELAB C\*ab).
    pub dc: f64,
    /// Hue difference: positive when the sample's hue angle is the larger (CIELAB H\*ab, a length).
    pub dh: f64,
}

/// CIEDE2000 with its plain CIELAB parts (CIE 15:2018, 8.2.1), sample against reference.
///
/// Not-a-number in either colour gives not-a-number.
///
/// ```
/// use colour::{Lab, difference};
/// let wanted = Lab { l: 50.0, a: 20.0, b: 0.0 };
/// let sprayed = Lab { l: 52.0, a: 20.0, b: 0.0 };
/// let parts = difference(wanted, sprayed);
/// assert_eq!((parts.dl, parts.dc, parts.dh), (2.0, 0.0, 0.0));
/// ```
pub fn difference(reference: Lab, sample: Lab) -> Difference {
    Difference {
        de00: ciede2000(reference, sample),
        dl: sample.l - reference.l,
        dc: sample.chroma() - reference.chroma(),
        dh: Turn::between([reference.a, reference.b], [sample.a, sample.b]).hue_length(),
    }
}

/// CIEDE2000 between two colours.
///
/// Within 1e-9 of the paper's formula for CIELAB coordinates that paint can have. Not-a-number in
/// either colour gives not-a-number.
pub fn ciede2000(first: Lab, second: Lab) -> f64 {
    kernel([first.l, first.a, first.b], [second.l, second.a, second.b])
}

/// Pairs worked on together: enough to fill vector registers, little enough to stay in the nearest
/// cache.
const BLOCK: usize = 64;

/// [`ciede2000`] pair by pair over two lists, bit for bit the same.
///
/// # Errors
/// [`ColourError::UnequalLists`] when the lists differ in length.
pub fn ciede2000_many(first: &[Lab], second: &[Lab]) -> Result<Vec<f64>, ColourError> {
    if first.len() != second.len() {
        return Err(ColourError::UnequalLists { first: first.len(), second: second.len() });
    }
    let mut differences = vec![0.0; first.len()];
    let blocks = first.chunks(BLOCK).zip(second.chunks(BLOCK));
    for ((first, second), out) in blocks.zip(differences.chunks_mut(BLOCK)) {
        block(first, second, out);
    }
    Ok(differences)
}

/// One block, coordinates gathered apart so that neighbours in memory are the same coordinate.
fn block(first: &[Lab], second: &[Lab], out: &mut [f64]) {
    let mut one = [[0.0; BLOCK]; 3];
    let mut two = [[0.0; BLOCK]; 3];
    for (i, (first, second)) in first.iter().zip(second).enumerate() {
        [one[0][i], one[1][i], one[2][i]] = [first.l, first.a, first.b];
        [two[0][i], two[1][i], two[2][i]] = [second.l, second.a, second.b];
    }
    let mut result = [0.0; BLOCK];
    for i in 0..BLOCK {
        result[i] = kernel([one[0][i], one[1][i], one[2][i]], [two[0][i], two[1][i], two[2][i]]);
    }
    out.copy_from_slice(&result[..out.len()]);
}

/// The formula: L*_i, a*_i, b*_i are the two arguments, the return value is Delta E_00.
#[inline(always)]
fn kernel([l1, a1, b1]: [f64; 3], [l2, a2, b2]: [f64; 3]) -> f64 {
    // Equations 2 to 4: C*_i, their mean, and G.
    let c_star = 0.5 * (length(a1, b1) + length(a2, b2));
    let g = 0.5 * (1.0 - seventh_share(c_star));
    // Equations 5 and 6: a'_i and C'_i.
    let a1 = (1.0 + g) * a1;
    let a2 = (1.0 + g) * a2;
    let turn = Turn::between([a1, b1], [a2, b2]);
    // Equations 8 to 11: Delta L', Delta C', Delta H'.
    let dl = l2 - l1;
    let dc = turn.c2 - turn.c1;
    let dh = turn.hue_length();
    // Equations 12 to 14: the means of L' and C', and the direction of the mean hue.
    let l_mean = 0.5 * (l1 + l2);
    let c_mean = 0.5 * (turn.c1 + turn.c2);
    let (cos_h, sin_h) = turn.mean_hue();
    // Equations 15 to 21.
    let t = hue_weight(cos_h, sin_h);
    let l50 = (l_mean - 50.0) * (l_mean - 50.0);
    let s_l = 1.0 + 0.015 * l50 / (20.0 + l50).sqrt();
    let s_c = 1.0 + 0.045 * c_mean;
    let s_h = 1.0 + 0.015 * c_mean * t;
    let r_c = 2.0 * seventh_share(c_mean);
    let r_t = -sin_twice_rotation(cos_h, sin_h) * r_c;
    // Equation 22.
    let l = dl / s_l;
    let c = dc / s_c;
    let h = dh / s_h;
    // |R_T| < 2 keeps the sum positive; rounding may not.
    let sum = l * l + c * c + h * h + r_t * c * h;
    (if sum < 0.0 { 0.0 } else { sum }).sqrt()
}

/// sqrt(C^7 / (C^7 + 25^7)), which equations 4 and 19 share.
#[inline(always)]
fn seventh_share(c: f64) -> f64 {
    const TWENTY_FIVE_TO_7: f64 = 6_103_515_625.0;
    let c7 = math::pow7(c);
    (c7 / (c7 + TWENTY_FIVE_TO_7)).sqrt()
}

/// Length of a chroma vector. Plain, because CIELAB coordinates neither overflow nor vanish.
#[inline(always)]
fn length(a: f64, b: f64) -> f64 {
    (a * a + b * b).sqrt()
}

/// The turn from one chroma vector to another.
struct Turn {
    first: [f64; 2],
    second: [f64; 2],
    /// C'_1.
    c1: f64,
    /// C'_2.
    c2: f64,
    /// C'_1 C'_2 cos(Delta h').
    dot: f64,
    /// C'_1 C'_2 sin(Delta h').
    cross: f64,
    /// Whether the shorter way from the first hue to the second is anticlockwise. Of two exactly
    /// opposite hues, the one with the smaller angle in 0..360 counts as first (equations 10 and 14
    /// with their `<= 180`).
    anticlockwise: bool,
}

impl Turn {
    #[inline(always)]
    fn between(first: [f64; 2], second: [f64; 2]) -> Self {
        let [a1, b1] = first;
        let [a2, b2] = second;
        let cross = a1 * b2 - a2 * b1;
        let first_below_180 = (b1 > 0.0) | ((b1 == 0.0) & (a1 > 0.0));
        Self {
            first,
            second,
            c1: length(a1, b1),
            c2: length(a2, b2),
            dot: a1 * a2 + b1 * b2,
            cross,
            anticlockwise: (cross > 0.0) | ((cross == 0.0) & first_below_180),
        }
    }

    /// Delta H' = 2 sqrt(C'_1 C'_2) sin(Delta h' / 2), from the half-angle theorems.
    ///
    /// Of the two forms each is exact where the other cancels: with p = C'_1 C'_2,
    /// 2 cross / sqrt(2 (p + dot)) under a right angle, and +-sqrt(2 (p - dot)) over it.
    #[inline(always)]
    fn hue_length(&self) -> f64 {
        let product = self.c1 * self.c2;
        let root = (2.0 * (product + self.dot.abs())).sqrt();
        let over = if self.anticlockwise { root } else { -root };
        // A grey has no hue: both numerator and denominator vanish.
        let divisor = if root == 0.0 { 1.0 } else { root };
        let under = 2.0 * self.cross / divisor;
        if self.dot < 0.0 { over } else { under }
    }

    /// Cosine and sine of the mean hue.
    ///
    /// It is the direction of u_1 + u_2 (unit vectors along the two hues) under a right angle, and
    /// that of u_1 - u_2 turned a right angle over it; both here times C'_1 C'_2. With a
    /// grey on either side Delta H' is 0 and no mean hue matters; it is then called 0.
    #[inline(always)]
    fn mean_hue(&self) -> (f64, f64) {
        let [a1, b1] = self.first;
        let [a2, b2] = self.second;
        let (c1, c2) = (self.c1, self.c2);
        let sum = [a1 * c2 + a2 * c1, b1 * c2 + b2 * c1];
        let across = [a1 * c2 - a2 * c1, b1 * c2 - b2 * c1];
        let turned = if self.anticlockwise { [-across[1], across[0]] } else { [across[1], -across[0]] };
        let x = if self.dot < 0.0 { turned[0] } else { sum[0] };
        let y = if self.dot < 0.0 { turned[1] } else { sum[1] };
        let norm = length(x, y);
        let none = norm == 0.0;
        let x = if none { 1.0 } else { x };
        let norm = if none { 1.0 } else { norm };
        let scale = 1.0 / norm;
        (x * scale, y * scale)
    }
}

/// T of equation 15; the multiples of the mean hue by the addition theorems.
#[inline(always)]
fn hue_weight(cos_h: f64, sin_h: f64) -> f64 {
    const COS_30: f64 = 0.866_025_403_784_438_7;
    const COS_6: f64 = 0.994_521_895_368_273_3;
    const SIN_6: f64 = 0.104_528_463_267_653_47;
    const COS_63: f64 = 0.453_990_499_739_546_8;
    const SIN_63: f64 = 0.891_006_524_188_367_9;

    let cos_2h = cos_h * cos_h - sin_h * sin_h;
    let sin_2h = 2.0 * sin_h * cos_h;
    let cos_3h = cos_2h * cos_h - sin_2h * sin_h;
    let sin_3h = sin_2h * cos_h + cos_2h * sin_h;
    let cos_4h = cos_2h * cos_2h - sin_2h * sin_2h;
    let sin_4h = 2.0 * sin_2h * cos_2h;
    1.0 - 0.17 * (cos_h * COS_30 + sin_h * 0.5) + 0.24 * cos_2h + 0.32 * (cos_3h * COS_6 - sin_3h * SIN_6)
        - 0.20 * (cos_4h * COS_63 + sin_4h * SIN_63)
}

/// sin(2 Delta theta) of equations 16 and 20, with Delta theta = 30 exp(-((h - 275) / 25)^2) degrees.
#[inline(always)]
fn sin_twice_rotation(cos_h: f64, sin_h: f64) -> f64 {
    const COS_275: f64 = 0.087_155_742_747_657_89;
    const SIN_275: f64 = -0.996_194_698_091_745_5;
    /// From radians to steps of 25 degrees.
    const STEP: f64 = 180.0 / std::f64::consts::PI / 25.0;
    const SIXTY_DEG: f64 = std::f64::consts::PI / 3.0;

    let cos_d = cos_h * COS_275 + sin_h * SIN_275;
    let sin_d = sin_h * COS_275 - cos_h * SIN_275;
    // The paper does not wrap h - 275, so hues of 0 to 95 lie 180 to 275 degrees off, where the
    // exponential is below 1e-22, and not on the near side of the circle.
    let unwrapped = (sin_h >= 0.0) & (sin_d > 0.0);
    let bell = lane::exp(-STEP * STEP * angle_squared(1.0 - cos_d));
    let bell = if unwrapped { 0.0 } else { bell };
    lane::sin_small(SIXTY_DEG * bell)
}

/// The square of an angle from its versine v = 1 - cos, in radians squared.
///
/// (arccos(1 - v))^2 = sum over n of 2 (2v)^n / (n^2 binomial(2n, n)): the series of the squared
/// arcsine (Borwein and Chamberland 2007, from memory; the tests compare the outcome) at sqrt(v / 2). Cut after 16 terms it is
/// short by 8e-7 at a right angle, where the bell of [`sin_twice_rotation`] is 2e-6, and by more
/// beyond, where the bell is nothing.
#[inline(always)]
fn angle_squared(v: f64) -> f64 {
    const T: [f64; 16] = angle_series();
    // By pairs and fours (Estrin's scheme), which waits less than one term after another.
    let v2 = v * v;
    let v4 = v2 * v2;
    let v8 = v4 * v4;
    let four = |i: usize| (T[i] + v * T[i + 1]) + v2 * (T[i + 2] + v * T[i + 3]);
    let low = four(0) + v4 * four(4);
    let high = four(8) + v4 * four(12);
    (low + v8 * high) * v
}

/// Coefficients of v^1 to v^16: the first is 2, and each next is the one before times n^2 / ((n + 1) (2n + 1)).
const fn angle_series() -> [f64; 16] {
    let mut terms = [2.0; 16];
    let mut i = 1;
    while i < 16 {
        let n = i as f64;
        terms[i] = terms[i - 1] * (n * n) / ((n + 1.0) * (2.0 * n + 1.0));
        i += 1;
    }
    terms
}
