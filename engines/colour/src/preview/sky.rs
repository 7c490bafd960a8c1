//! Luminance of the sky by direction.

use base::math;

/// A sky of the CIE.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Sky {
    /// Overcast: the same all round, brightest overhead (Moon and Spencer 1942; CIE's traditional overcast
    /// sky, from memory).
    Overcast,
    /// Clear, of low turbidity: type 12 of the standard general sky, ISO 15469:2004 (CIE S 011), its
    /// coefficients from memory.
    Clear,
}

impl Sky {
    /// Luminance over that of the zenith at an elevation, `cos_sun` being the cosine of the angle between
    /// that place and the sun, and `sun_zenith` the sun's own angle from the zenith in radians.
    pub(super) fn relative(self, sin_elevation: f64, cos_sun: f64, sun_zenith: f64) -> f64 {
        match self {
            Self::Overcast => (1.0 + 2.0 * sin_elevation) / 3.0,
            Self::Clear => {
                // Gradation from zenith to horizon, and brightening around the sun.
                const A: f64 = -1.0;
                const B: f64 = -0.32;
                const C: f64 = 10.0;
                const D: f64 = -3.0;
                const E: f64 = 0.45;
                let gradation = |sine: f64| if sine > 1e-3 { 1.0 + A * math::exp(B / sine) } else { 1.0 };
                let indicatrix = |angle: f64, cos: f64| {
                    1.0 + C * (math::exp(D * angle) - math::exp(D * std::f64::consts::FRAC_PI_2)) + E * cos * cos
                };
                let cos_sun = cos_sun.clamp(-1.0, 1.0);
                let angle = math::atan2((1.0 - cos_sun * cos_sun).sqrt(), cos_sun);
                gradation(sin_elevation) * indicatrix(angle, cos_sun)
                    / (gradation(1.0) * indicatrix(sun_zenith, math::cos(sun_zenith)))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CIE's clear sky of 1973 (Kittler), which type 12 of the general sky took over: 0.91 + 10 exp(-3 x) +
    /// 0.45 cos^2 x, and 1 - exp(-0.32 / sin of the elevation) (from memory).
    #[test]
    fn published_the_clear_sky_of_cie_1973() {
        let sun_zenith = 0.7_f64;
        let around = |x: f64| 0.91 + 10.0 * math::exp(-3.0 * x) + 0.45 * math::cos(x) * math::cos(x);
        let up = |sine: f64| 1.0 - math::exp(-0.32 / sine);
        for (sine, angle) in [(1.0, 0.7), (0.5, 1.2), (0.9, 0.1), (0.2, 2.5)] {
            let wanted = around(angle) * up(sine) / (around(sun_zenith) * up(1.0));
            let found = Sky::Clear.relative(sine, math::cos(angle), sun_zenith);
            // 0.91 is rounded.
            assert!((found / wanted - 1.0).abs() < 3e-4, "{sine} {angle}: {found} {wanted}");
        }
    }

    /// Moon and Spencer 1942, (1 + 2 sin) / 3 (from memory).
    #[test]
    fn published_the_overcast_horizon_has_a_third_of_the_zenith() {
        let at = |sine| Sky::Overcast.relative(sine, 0.3, 0.7);
        assert_eq!((at(1.0), at(0.0)), (1.0, 1.0 / 3.0));
    }
}
