//! Numbers that the film's equations are written in: eight wavelengths side by side, with or without
//! their derivatives.
//!
//! One set of equations serves three uses. With [`Pack`] it is the forward model; with [`Jet`] the same
//! lines give exact derivatives in up to `D` directions (forward-mode differentiation), which the recipe
//! search and the calibration need.

use std::ops::{Add, Div, Mul, Neg, Sub};

use base::lane;

/// Wavelengths worked on together.
pub(crate) const LANES: usize = 8;

/// Arithmetic that the film's equations need.
pub(crate) trait Real:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Mul<f64, Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
    /// The same number in every lane.
    fn of(x: f64) -> Self;
    /// A number by lane, without derivative.
    fn lanes(x: Pack) -> Self;
    /// A number by lane times a factor that has derivatives of its own.
    fn times(x: Pack, factor: &Factor) -> Self;
    /// e to this power.
    fn exp(self) -> Self;
    /// Square root of a positive number.
    fn sqrt(self) -> Self;
    /// The number, or 0 where it is negative.
    fn positive(self) -> Self;
    /// Moves a lane that lies within a hundred-thousandth of `other` to that distance.
    fn apart_from(self, other: Self) -> Self;
    /// `small` in the lanes where `x` is within `limit` of 0, else `large`.
    fn where_small(x: Self, limit: f64, small: Self, large: Self) -> Self;
}

/// Most directions that derivatives are taken in at once.
pub(crate) const DIRECTIONS: usize = 9;

/// A plain number with its derivatives: what is the same at every wavelength.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Factor {
    pub(crate) value: f64,
    pub(crate) along: [f64; DIRECTIONS],
}

impl Factor {
    pub(crate) fn of(value: f64) -> Self {
        Self { value, along: [0.0; DIRECTIONS] }
    }

    /// A function of this number, given its value and slope here.
    pub(crate) fn through(&self, (value, slope): (f64, f64)) -> Self {
        Self { value, along: self.along.map(|d| d * slope) }
    }

    pub(crate) fn times(&self, other: &Self) -> Self {
        Self {
            value: self.value * other.value,
            along: std::array::from_fn(|i| self.along[i] * other.value + self.value * other.along[i]),
        }
    }

    pub(crate) fn scaled(&self, k: f64) -> Self {
        self.through((self.value * k, k))
    }

    pub(crate) fn plus(&self, other: &Self) -> Self {
        Self { value: self.value + other.value, along: std::array::from_fn(|i| self.along[i] + other.along[i]) }
    }
}

/// Eight wavelengths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Pack(pub(crate) [f64; LANES]);

impl Pack {
    fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self(self.0.map(f))
    }

    fn zip(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self(std::array::from_fn(|i| f(self.0[i], other.0[i])))
    }
}

macro_rules! by_lane {
    ($($op:ident $method:ident $sign:tt),*) => {$(
        impl $op for Pack {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                self.zip(other, |a, b| a $sign b)
            }
        }
    )*};
}
by_lane!(Add add +, Sub sub -, Mul mul *, Div div /);

impl Mul<f64> for Pack {
    type Output = Self;
    #[inline(always)]
    fn mul(self, k: f64) -> Self {
        self.map(|a| a * k)
    }
}

impl Neg for Pack {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.map(|a| -a)
    }
}

impl Real for Pack {
    #[inline(always)]
    fn of(x: f64) -> Self {
        Self([x; LANES])
    }

    #[inline(always)]
    fn lanes(x: Pack) -> Self {
        x
    }

    #[inline(always)]
    fn times(x: Pack, factor: &Factor) -> Self {
        x * factor.value
    }

    #[inline(always)]
    fn exp(self) -> Self {
        self.map(lane::exp)
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        self.map(f64::sqrt)
    }

    #[inline(always)]
    fn positive(self) -> Self {
        self.map(|a| if a > 0.0 { a } else { 0.0 })
    }

    #[inline(always)]
    fn apart_from(self, other: Self) -> Self {
        self.zip(other, |a, b| {
            let gap = 1e-5 * b;
            if (a - b).abs() < gap { b + gap } else { a }
        })
    }

    #[inline(always)]
    fn where_small(x: Self, limit: f64, small: Self, large: Self) -> Self {
        Self(std::array::from_fn(|i| if x.0[i].abs() < limit { small.0[i] } else { large.0[i] }))
    }
}

/// Eight wavelengths with their derivatives in `D` directions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Jet<const D: usize> {
    pub(crate) value: Pack,
    pub(crate) along: [Pack; D],
}

impl<const D: usize> Jet<D> {
    /// A number that changes one for one in a direction.
    pub(crate) fn seed(value: Pack, direction: usize) -> Self {
        let mut jet = Self::lanes(value);
        if let Some(d) = jet.along.get_mut(direction) {
            *d = Pack::of(1.0);
        }
        jet
    }

    #[inline(always)]
    fn chain(self, value: Pack, slope: Pack) -> Self {
        Self { value, along: self.along.map(|d| d * slope) }
    }
}

impl<const D: usize> Add for Jet<D> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self { value: self.value + other.value, along: std::array::from_fn(|i| self.along[i] + other.along[i]) }
    }
}

impl<const D: usize> Sub for Jet<D> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self { value: self.value - other.value, along: std::array::from_fn(|i| self.along[i] - other.along[i]) }
    }
}

impl<const D: usize> Mul for Jet<D> {
    type Output = Self;
    // The plus of the product rule.
    #[allow(clippy::suspicious_arithmetic_impl)]
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        Self {
            value: self.value * other.value,
            along: std::array::from_fn(|i| self.along[i] * other.value + self.value * other.along[i]),
        }
    }
}

impl<const D: usize> Mul<f64> for Jet<D> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, k: f64) -> Self {
        Self { value: self.value * k, along: self.along.map(|d| d * k) }
    }
}

impl<const D: usize> Div for Jet<D> {
    type Output = Self;
    #[inline(always)]
    fn div(self, other: Self) -> Self {
        let inverse = Pack::of(1.0) / other.value;
        let value = self.value * inverse;
        Self { value, along: std::array::from_fn(|i| (self.along[i] - value * other.along[i]) * inverse) }
    }
}

impl<const D: usize> Neg for Jet<D> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self * -1.0
    }
}

impl<const D: usize> Real for Jet<D> {
    #[inline(always)]
    fn of(x: f64) -> Self {
        Self::lanes(Pack::of(x))
    }

    #[inline(always)]
    fn lanes(x: Pack) -> Self {
        Self { value: x, along: [Pack::of(0.0); D] }
    }

    #[inline(always)]
    fn times(x: Pack, factor: &Factor) -> Self {
        Self {
            value: x * factor.value,
            along: std::array::from_fn(|i| x * factor.along.get(i).copied().unwrap_or(0.0)),
        }
    }

    #[inline(always)]
    fn exp(self) -> Self {
        let e = self.value.exp();
        self.chain(e, e)
    }

    #[inline(always)]
    fn sqrt(self) -> Self {
        let root = self.value.sqrt();
        self.chain(root, Pack::of(0.5) / root)
    }

    #[inline(always)]
    fn positive(self) -> Self {
        self.chain(self.value.positive(), self.value.map(|a| if a > 0.0 { 1.0 } else { 0.0 }))
    }

    #[inline(always)]
    fn apart_from(self, other: Self) -> Self {
        Self { value: self.value.apart_from(other.value), along: self.along }
    }

    #[inline(always)]
    fn where_small(x: Self, limit: f64, small: Self, large: Self) -> Self {
        let pick = |s: Pack, l: Pack| Pack::where_small(x.value, limit, s, l);
        Self {
            value: pick(small.value, large.value),
            along: std::array::from_fn(|i| pick(small.along[i], large.along[i])),
        }
    }
}
