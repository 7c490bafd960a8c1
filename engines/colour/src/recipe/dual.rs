//! A number with its slope along a\* and b\*.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A value and its derivatives by the sample's a\* and b\*.
#[derive(Debug, Clone, Copy)]
pub(super) struct Dual {
    /// The value.
    pub(super) v: f64,
    /// Its derivative by a\*.
    pub(super) a: f64,
    /// Its derivative by b\*.
    pub(super) b: f64,
}

impl Dual {
    /// A constant.
    #[inline(always)]
    pub(super) fn of(v: f64) -> Self {
        Self { v, a: 0.0, b: 0.0 }
    }

    /// The value of a function here, given its value and slope.
    #[inline(always)]
    pub(super) fn through(self, value: f64, slope: f64) -> Self {
        Self { v: value, a: self.a * slope, b: self.b * slope }
    }

    /// Square root. At nothing, where the slope is infinite, it is taken as level.
    #[inline(always)]
    pub(super) fn sqrt(self) -> Self {
        let root = self.v.sqrt();
        self.through(root, if root > 0.0 { 0.5 / root } else { 0.0 })
    }
}

impl Add for Dual {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: Self) -> Self {
        Self { v: self.v + o.v, a: self.a + o.a, b: self.b + o.b }
    }
}

impl Sub for Dual {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: Self) -> Self {
        Self { v: self.v - o.v, a: self.a - o.a, b: self.b - o.b }
    }
}

impl Mul for Dual {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: Self) -> Self {
        Self { v: self.v * o.v, a: self.a * o.v + self.v * o.a, b: self.b * o.v + self.v * o.b }
    }
}

impl Mul<f64> for Dual {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: f64) -> Self {
        Self { v: self.v * o, a: self.a * o, b: self.b * o }
    }
}

impl Add<f64> for Dual {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: f64) -> Self {
        Self { v: self.v + o, ..self }
    }
}

impl Div for Dual {
    type Output = Self;
    #[inline(always)]
    fn div(self, o: Self) -> Self {
        let inverse = 1.0 / o.v;
        let v = self.v * inverse;
        Self { v, a: (self.a - v * o.a) * inverse, b: (self.b - v * o.b) * inverse }
    }
}

impl Neg for Dual {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self * -1.0
    }
}
