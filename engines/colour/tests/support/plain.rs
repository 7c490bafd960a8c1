//! Films of one layer at one wavelength, for the film model and for photons.

use base::math;
use colour::{Direction, PlainFilm, PlainFlakes, radiance_factors};
use oracle::{Estimate, Face, Film, Flake, Geometry, Layer, Medium, Photons, Pigment, Slopes, simulate};

/// The six aspecular angles of [`colour::Geometry::ALL`], in degrees.
pub(crate) const AT: [f64; 6] = [-15.0, 15.0, 25.0, 45.0, 75.0, 110.0];

/// A film, all figures per um or plain.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Case {
    pub(crate) absorption: f64,
    pub(crate) scattering: f64,
    pub(crate) area: f64,
    pub(crate) reflectance: f64,
    pub(crate) absorptance: f64,
    pub(crate) sd: f64,
    pub(crate) tail: f64,
    pub(crate) film_um: f64,
    pub(crate) ground: f64,
}

impl Case {
    /// Clear binder, 20 um over a middling ground.
    pub(crate) fn clear() -> Self {
        Self {
            absorption: 0.0,
            scattering: 0.0,
            area: 0.0,
            reflectance: 0.0,
            absorptance: 0.0,
            sd: 0.15,
            tail: 0.0,
            film_um: 20.0,
            ground: 0.4,
        }
    }

    /// As the film model takes it.
    pub(crate) fn film(&self) -> PlainFilm {
        let flakes = PlainFlakes {
            area_per_um: self.area,
            slope_sd: self.sd,
            tail_weight: self.tail,
            reflectance: vec![self.reflectance],
            absorptance: vec![self.absorptance],
        };
        PlainFilm {
            film_um: self.film_um,
            absorption_per_um: vec![self.absorption],
            scattering_per_um: vec![self.scattering],
            flakes: if self.area > 0.0 { vec![flakes] } else { vec![] },
            ground: vec![self.ground],
            clear: vec![],
        }
    }

    /// What photons make of it, at the six angles.
    pub(crate) fn photons(&self, count: usize, seed: u64) -> Vec<Estimate> {
        let face = Face { reflectance: self.reflectance, absorptance: self.absorptance };
        let slopes = Slopes::new(self.sd, self.tail).expect("slopes");
        let flake = Flake::plain(self.area, slopes, [face]).expect("a flake");
        let pigment = Pigment::new([self.scattering], 0.0).expect("a pigment");
        let medium = Medium::new([self.absorption], vec![pigment], vec![flake]).expect("a medium");
        let layer = Layer::new(medium, self.film_um).expect("a layer");
        let film = Film::new(vec![layer], [self.ground]).expect("a film");
        let geometry = Geometry::forty_five(&AT).expect("views");
        let found = simulate(&film, &geometry, Photons { count, seed }).expect("photons");
        found.into_iter().map(|[estimate]| estimate).collect()
    }
}

/// Radiance factors by wavelength at a view `polar_deg` from the normal and `azimuth_deg` from the light.
pub(crate) fn seen(film: &PlainFilm, incidence_deg: f64, polar_deg: f64, azimuth_deg: f64) -> Vec<f64> {
    let direction = Direction { incidence_deg, aspecular_deg: polar_deg + incidence_deg, azimuth_deg };
    radiance_factors(film, &[direction]).expect("a film").remove(0)
}

/// The radiance factor of a case at one direction.
pub(crate) fn beta(case: &Case, incidence_deg: f64, polar_deg: f64, azimuth_deg: f64) -> f64 {
    seen(&case.film(), incidence_deg, polar_deg, azimuth_deg)[0]
}

/// The radiance factors of a case at the six angles.
pub(crate) fn six(case: &Case) -> Vec<f64> {
    AT.iter().map(|at| beta(case, 45.0, at - 45.0, 0.0)).collect()
}

/// CIELAB's L* of a radiance factor.
pub(crate) fn lightness(beta: f64) -> f64 {
    let edge = 216.0 / 24_389.0;
    if beta > edge { 116.0 * math::pow(beta, 1.0 / 3.0) - 16.0 } else { beta * 24_389.0 / 27.0 }
}

/// Fresnel's reflectance of unpolarised light from air on index 1.5, in the form with angles.
pub(crate) fn fresnel(incidence_deg: f64) -> f64 {
    let outside = incidence_deg.to_radians();
    let sine = math::sin(outside) / 1.5;
    let inside = math::atan2(sine, (1.0 - sine * sine).sqrt());
    if incidence_deg == 0.0 {
        return 0.04;
    }
    let (sum, gap) = (outside + inside, outside - inside);
    let tan = |x: f64| math::sin(x) / math::cos(x);
    let (s, p) = (math::sin(gap) / math::sin(sum), tan(gap) / tan(sum));
    0.5 * (s * s + p * p)
}
