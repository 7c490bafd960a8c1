//! CIEDE2000 as a vector of three, whose length it is.
//!
//! The formula (Sharma, Wu and Dalal 2005, equations 1 to 22; see `difference.rs`) sums squares of
//! x = Delta L'/S_L, y = Delta C'/S_C + R_T/2 Delta H'/S_H and z = Delta H'/S_H sqrt(1 - R_T^2/4), for
//! x^2 + y^2 + z^2 = x^2 + (Delta C'/S_C)^2 + (Delta H'/S_H)^2 + R_T (Delta C'/S_C)(Delta H'/S_H).
//!
//! A least-squares solver wants more of the vector than its length: that it turns evenly when the
//! colour moves evenly. Polar coordinates do not, least of all near grey, where silvers and whites
//! live. So (y, z) is turned by the angle between (Delta C', Delta H') and (Delta a', Delta b'), two
//! vectors of one length: where S_C = S_H = 1 and R_T = 0, the result is (Delta a', Delta b') itself.

use base::math;

use super::dual::Dual;
use crate::lab::Lab;

/// A colour to compare with.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reference {
    lab: Lab,
    chroma: f64,
}

/// The vector, and its derivatives by L\*, a\* and b\* of the sample.
#[derive(Debug, Clone, Copy)]
pub(super) struct Split {
    /// Its three parts.
    pub(super) value: [f64; 3],
    /// Row by part, column by L\*, a\*, b\*.
    pub(super) slope: [[f64; 3]; 3],
}

impl Reference {
    pub(super) fn new(lab: Lab) -> Self {
        Self { lab, chroma: lab.chroma() }
    }

    /// The sample less the reference.
    pub(super) fn split(&self, sample: Lab) -> Split {
        let (x, by_l) = lightness(self.lab.l, sample.l);
        let [y, z] = self.chromatic(sample);
        Split { value: [x, y.v, z.v], slope: [[by_l, 0.0, 0.0], [0.0, y.a, y.b], [0.0, z.a, z.b]] }
    }

    fn chromatic(&self, sample: Lab) -> [Dual; 2] {
        let a2 = Dual { v: sample.a, a: 1.0, b: 0.0 };
        let b2 = Dual { v: sample.b, a: 0.0, b: 1.0 };
        // Equations 2 to 7.
        let c_star = (length(a2, b2) + self.chroma) * 0.5;
        let stretch = seventh_share(c_star) * -0.5 + 1.5;
        let (a1, b1) = (stretch * self.lab.a, Dual::of(self.lab.b));
        let a2 = stretch * a2;
        let (c1, c2) = (length(a1, b1), length(a2, b2));
        let (across_a, across_b) = (a2 - a1, b2 - b1);
        if c1.v + c2.v < GREY {
            return [across_a, across_b];
        }
        // Equations 8 to 11 and 14: the difference of hue, and the middle hue as a direction.
        let dot = a1 * a2 + b1 * b2;
        let cross = a1 * b2 - a2 * b1;
        let sign =
            if cross.v < 0.0 || (cross.v == 0.0 && b1.v <= 0.0 && !(b1.v == 0.0 && a1.v > 0.0)) { -1.0 } else { 1.0 };
        let product = c1 * c2;
        let dc = c2 - c1;
        let (dh, middle) = if dot.v < 0.0 {
            let dh = ((product - dot) * 2.0).sqrt() * sign;
            (dh, [(b2 * c1 - b1 * c2) * sign, (a1 * c2 - a2 * c1) * sign])
        } else {
            let root = ((product + dot) * 2.0).sqrt();
            let dh = if root.v > 0.0 { cross * 2.0 / root } else { Dual::of(0.0) };
            (dh, [a1 * c2 + a2 * c1, b1 * c2 + b2 * c1])
        };
        let norm = length(middle[0], middle[1]);
        let (cos_h, sin_h) =
            if norm.v > 0.0 { (middle[0] / norm, middle[1] / norm) } else { (Dual::of(1.0), Dual::of(0.0)) };
        // Equations 15 to 21.
        let c_mean = (c1 + c2) * 0.5;
        let s_c = c_mean * 0.045 + 1.0;
        let s_h = c_mean * hue_weight(cos_h, sin_h) * 0.015 + 1.0;
        let r_t = -(sin_twice_rotation(cos_h, sin_h) * seventh_share(c_mean) * 2.0);
        let c = dc / s_c;
        let h = dh / s_h;
        let y = c + r_t * h * 0.5;
        let z = h * (r_t * r_t * -0.25 + 1.0).sqrt();
        // The turn (Delta a' + i Delta b') / (Delta C' + i Delta H').
        let square = dc * dc + dh * dh;
        let (re, im) = if square.v > 1e-12 {
            ((across_a * dc + across_b * dh) / square, (across_b * dc - across_a * dh) / square)
        } else {
            (cos_h, sin_h)
        };
        [y * re - z * im, y * im + z * re]
    }
}

/// Chroma under which S_C, S_H are 1 and R_T is 0 to seven digits.
const GREY: f64 = 1e-6;

/// Delta L'/S_L and its derivative by the sample's L\*.
fn lightness(l1: f64, l2: f64) -> (f64, f64) {
    let off = 0.5 * (l1 + l2) - 50.0;
    let square = 20.0 + off * off;
    let root = square.sqrt();
    let s_l = 1.0 + 0.015 * off * off / root;
    let slope = 0.5 * 0.015 * off * (2.0 - off * off / square) / root;
    let x = (l2 - l1) / s_l;
    (x, (1.0 - x * slope) / s_l)
}

#[inline(always)]
fn length(a: Dual, b: Dual) -> Dual {
    (a * a + b * b).sqrt()
}

/// sqrt(C^7 / (C^7 + 25^7)), as in equations 4 and 19.
#[inline(always)]
fn seventh_share(c: Dual) -> Dual {
    const TWENTY_FIVE_TO_7: f64 = 6_103_515_625.0;
    let c7 = math::pow7(c.v);
    let sum = c7 + TWENTY_FIVE_TO_7;
    let share = (c7 / sum).sqrt();
    let slope = if c.v > 0.0 { 3.5 * share * TWENTY_FIVE_TO_7 / (c.v * sum) } else { 0.0 };
    c.through(share, slope)
}

/// T of equation 15; multiples of the hue by the addition theorems.
#[inline(always)]
fn hue_weight(cos_h: Dual, sin_h: Dual) -> Dual {
    const COS_30: f64 = 0.866_025_403_784_438_7;
    const COS_6: f64 = 0.994_521_895_368_273_3;
    const SIN_6: f64 = 0.104_528_463_267_653_47;
    const COS_63: f64 = 0.453_990_499_739_546_8;
    const SIN_63: f64 = 0.891_006_524_188_367_9;
    let cos_2h = cos_h * cos_h - sin_h * sin_h;
    let sin_2h = sin_h * cos_h * 2.0;
    let cos_3h = cos_2h * cos_h - sin_2h * sin_h;
    let sin_3h = sin_2h * cos_h + cos_2h * sin_h;
    let cos_4h = cos_2h * cos_2h - sin_2h * sin_2h;
    let sin_4h = sin_2h * cos_2h * 2.0;
    cos_h * (-0.17 * COS_30)
        + sin_h * (-0.17 * 0.5)
        + cos_2h * 0.24
        + cos_3h * (0.32 * COS_6)
        + sin_3h * (-0.32 * SIN_6)
        + cos_4h * (-0.20 * COS_63)
        + sin_4h * (-0.20 * SIN_63)
        + 1.0
}

/// sin(2 Delta theta) of equations 16 and 20, Delta theta being 30 exp(-((h - 275) / 25)^2) degrees.
fn sin_twice_rotation(cos_h: Dual, sin_h: Dual) -> Dual {
    // Away from blue the bell is below 1e-9 and its derivative with it.
    let cos_275 = 0.087_155_742_747_657_89;
    let sin_275 = -0.996_194_698_091_745_5;
    if cos_h.v * cos_275 + sin_h.v * sin_275 < -0.5 {
        return Dual::of(0.0);
    }
    let h = math::atan2(sin_h.v, cos_h.v).to_degrees();
    let h = if h < 0.0 { h + 360.0 } else { h };
    let step = (h - 275.0) / 25.0;
    let bell = math::exp(-step * step);
    let twice = 60.0_f64.to_radians() * bell;
    let by_h_deg = math::cos(twice) * twice * -2.0 * step / 25.0;
    let hue = (sin_h * cos_h.v - cos_h * sin_h.v) * 1.0_f64.to_degrees();
    hue.through(math::sin(twice), by_h_deg)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::difference::ciede2000;
    use base::stream::Stream;

    fn pairs(count: usize, mut each: impl FnMut(Lab, Lab)) {
        let mut random = Stream::new(7, 0);
        let mut unit = move || random.uniform();
        for i in 0..count {
            // Every third pair close together, every fourth near grey.
            let wide = if i % 4 == 0 { 2.0 } else { 100.0 };
            let one = Lab { l: 110.0 * unit(), a: wide * (2.0 * unit() - 1.0), b: wide * (2.0 * unit() - 1.0) };
            let off = if i % 3 == 0 { 1.0 } else { 60.0 };
            let mut near = |v: f64| v + off * (2.0 * unit() - 1.0);
            each(one, Lab { l: near(one.l), a: near(one.a), b: near(one.b) });
        }
    }

    #[test]
    fn invariant_its_length_is_ciede2000() {
        pairs(20_000, |one, two| {
            let [x, y, z] = Reference::new(one).split(two).value;
            let length = (x * x + y * y + z * z).sqrt();
            let de00 = ciede2000(one, two);
            // Both walk the formula in doubles; the worst cancellation is that of hues a turn apart.
            assert!((length - de00).abs() < 1e-7, "{one:?} {two:?}: {length} {de00}");
        });
    }

    #[test]
    fn invariant_its_slope_is_that_of_finite_differences() {
        let mut skipped = 0;
        pairs(5_000, |one, two| {
            let reference = Reference::new(one);
            let split = reference.split(two);
            let step = 1e-5;
            for axis in 0..3 {
                let moved = |by: f64| {
                    let mut lab = [two.l, two.a, two.b];
                    lab[axis] += by;
                    reference.split(Lab { l: lab[0], a: lab[1], b: lab[2] }).value
                };
                let (up, down) = (moved(step), moved(-step));
                // Across the point opposite in hue the vector jumps, as the formula itself turns there.
                if (0..3).any(|i| (up[i] - down[i]).abs() > 0.01) {
                    skipped += 1;
                    continue;
                }
                for i in 0..3 {
                    let slope = (up[i] - down[i]) / (2.0 * step);
                    assert!(
                        (slope - split.slope[i][axis]).abs() < 2e-4 * (1.0 + slope.abs()),
                        "{one:?} {two:?} {i} {axis}: {slope} {}",
                        split.slope[i][axis]
                    );
                }
            }
        });
        assert!(skipped < 10, "{skipped}");
    }

    #[test]
    fn invariant_near_grey_it_is_the_plain_difference() {
        let split = Reference::new(Lab { l: 50.0, a: 0.0, b: 0.0 }).split(Lab { l: 50.0, a: 0.003, b: -0.004 });
        assert!((split.value[1] / 1.5 - 0.003).abs() < 1e-6 && (split.value[2] + 0.004).abs() < 1e-6, "{split:?}");
    }
}
