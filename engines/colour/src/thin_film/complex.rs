//! As much complex arithmetic as wave optics needs.

use std::ops::{Add, Div, Mul, Neg, Sub};

use base::math;

/// A complex number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Complex {
    pub(super) re: f64,
    pub(super) im: f64,
}

impl Complex {
    pub(super) const ONE: Self = Self::real(1.0);

    pub(super) const fn real(re: f64) -> Self {
        Self { re, im: 0.0 }
    }

    pub(super) fn conj(self) -> Self {
        Self { re: self.re, im: -self.im }
    }

    pub(super) fn norm_sqr(self) -> f64 {
        self.re * self.re + self.im * self.im
    }

    pub(super) fn scale(self, factor: f64) -> Self {
        Self { re: self.re * factor, im: self.im * factor }
    }

    /// The root in the right half plane; of a negative number, the one on the positive imaginary axis.
    pub(super) fn sqrt(self) -> Self {
        let length = self.norm_sqr().sqrt();
        if length == 0.0 {
            return Self::real(0.0);
        }
        // The larger part first: the other by division, so that neither is a small difference.
        if self.re >= 0.0 {
            let re = ((length + self.re) / 2.0).sqrt();
            Self { re, im: self.im / (2.0 * re) }
        } else {
            let im = ((length - self.re) / 2.0).sqrt();
            Self { re: self.im.abs() / (2.0 * im), im: if self.im >= 0.0 { im } else { -im } }
        }
    }

    /// e to the power i times this.
    pub(super) fn exp_i(self) -> Self {
        let size = if self.im == 0.0 { 1.0 } else { math::exp(-self.im) };
        Self { re: size * math::cos(self.re), im: size * math::sin(self.re) }
    }
}

impl Add for Complex {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { re: self.re + other.re, im: self.im + other.im }
    }
}

impl Sub for Complex {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { re: self.re - other.re, im: self.im - other.im }
    }
}

impl Mul for Complex {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self { re: self.re * other.re - self.im * other.im, im: self.re * other.im + self.im * other.re }
    }
}

impl Div for Complex {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        (self * other.conj()).scale(1.0 / other.norm_sqr())
    }
}

impl Neg for Complex {
    type Output = Self;
    fn neg(self) -> Self {
        Self { re: -self.re, im: -self.im }
    }
}

#[cfg(test)]
mod tests {
    use super::Complex;

    #[test]
    fn invariant_root_squares_back_in_every_quadrant() {
        for (re, im) in [(3.0, 4.0), (-3.0, 4.0), (-3.0, -4.0), (3.0, -4.0), (-2.0, 0.0), (2.0, 1e-9), (0.0, -5.0)] {
            let root = Complex { re, im }.sqrt();
            let back = root * root;
            assert!(root.re >= 0.0 && (back.re - re).abs() < 1e-14 && (back.im - im).abs() < 1e-14, "{re} {im}");
        }
        // Beyond total reflection the field must die away, whichever sign the zero has.
        assert!(Complex { re: -2.0, im: -0.0 }.sqrt().im > 0.0);
    }
}
