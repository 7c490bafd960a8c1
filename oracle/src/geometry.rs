use base::math;

use crate::error::{Error, counted, within};

/// Angles from the normal end a little short of the horizon, where a radiance factor loses its meaning.
const STEEPEST_RAD: f64 = 1.57;
const MOST_VIEWS: usize = 4096;

/// A direction of view, in air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    polar_rad: f64,
    azimuth_rad: f64,
}

impl View {
    /// The view at `polar_rad` from the normal (0 to 1.57) and `azimuth_rad` about it; azimuth 0 is
    /// the side of the lamp.
    pub fn at(polar_rad: f64, azimuth_rad: f64) -> Result<Self, Error> {
        let polar_rad = within("angle of view from the normal, rad", polar_rad, 0.0, STEEPEST_RAD)?;
        let azimuth_rad = within("azimuth of the view, rad", azimuth_rad, -7.0, 7.0)?;
        Ok(Self { polar_rad, azimuth_rad })
    }

    /// The view in the plane of incidence, `aspecular_deg` from the mirror direction, towards the
    /// lamp positive, for light that falls at `incidence_deg`.
    pub fn aspecular(incidence_deg: f64, aspecular_deg: f64) -> Result<Self, Error> {
        let towards_lamp = (aspecular_deg - incidence_deg).to_radians();
        let azimuth = if towards_lamp < 0.0 { std::f64::consts::PI } else { 0.0 };
        Self::at(towards_lamp.abs(), azimuth)
    }

    /// The unit vector in air.
    pub(crate) fn vector(self) -> [f64; 3] {
        let sine = math::sin(self.polar_rad);
        [sine * math::cos(self.azimuth_rad), sine * math::sin(self.azimuth_rad), math::cos(self.polar_rad)]
    }
}

/// One lamp and the views that are read under it.
#[derive(Debug, Clone, PartialEq)]
pub struct Geometry {
    incidence_rad: f64,
    views: Vec<View>,
}

impl Geometry {
    /// Light at `incidence_rad` from the normal (0 to 1.57) and 1 to 4096 views.
    pub fn new(incidence_rad: f64, views: Vec<View>) -> Result<Self, Error> {
        let incidence_rad = within("angle of incidence, rad", incidence_rad, 0.0, STEEPEST_RAD)?;
        counted("views", views.len(), 1, MOST_VIEWS)?;
        Ok(Self { incidence_rad, views })
    }

    /// Light at 45 degrees and in-plane views at these aspecular angles in degrees.
    pub fn forty_five(aspecular_deg: &[f64]) -> Result<Self, Error> {
        let views = aspecular_deg.iter().map(|angle| View::aspecular(45.0, *angle)).collect::<Result<_, _>>()?;
        Self::new(std::f64::consts::FRAC_PI_4, views)
    }

    /// The views, in the order given.
    pub fn views(&self) -> &[View] {
        &self.views
    }

    /// The unit vector of the light's travel in air.
    pub(crate) fn light(&self) -> [f64; 3] {
        [-math::sin(self.incidence_rad), 0.0, -math::cos(self.incidence_rad)]
    }
}
