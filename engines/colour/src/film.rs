//! Light in a paint film with flakes: from what is in it to the radiance factor at any angle.
//!
//! A film is a smooth surface of index 1.5, a layer of even thickness `t` below it, and a matt primer. The
//! layer absorbs (`ka`), scatters (`ks`) and holds flakes: mirrors of area `rho` per volume (seen from
//! above) whose slopes spread by `s`, each of which reflects a part `R` of what it meets, keeps a part `A`
//! and lets the rest straight through. Rates are per um, angles those inside the film, cosines `mu`.
//!
//! # What is computed
//!
//! *Surface.* Snell bends light and view; Fresnel says what passes. A radiance factor outside is pi times
//! the radiance inside per unit of flux let in, times `T_i T_v / n^2`, the clear coat's absorption on both
//! ways included.
//!
//! *Flakes' slopes.* Beckmann's distribution of normals, a share of the flakes in a tail 2.1 times as wide.
//! A slanted ray meets `1 + 2 Lambda` times the flakes' plan area, `Lambda` being Smith's function for
//! Gaussian slopes. What a flake reflects depends on the angle at which it is met: interference colours move
//! with the cosine of the ray inside the flake's own film.
//!
//! *First order.* Light that one flake mirrors into the view: the flakes whose normal halves light and view,
//! dimmed by the extinction `E` along both ways, `pi rho R D / (4 mu_i mu_v) (1 - e^{-tE}) / E`. This is
//! exact.
//!
//! *Chains.* Light that met flakes only, two and more, or flakes and the surface from below. How much of it
//! there is follows from Kubelka and Munk's two fluxes with the flakes' own rates over a black bottom; where
//! it goes, from slopes widened as their squares add up. What the surface sends back is followed ray by ray
//! through one more flake.
//!
//! *Diffuse.* Whatever met a pigment or the primer: two fluxes again, fed by the scattering of the light
//! that runs ahead, between the primer and a surface that sends back 59.6 % of diffuse light. The radiance
//! that leaves is the integral of the sources along the view, attenuated at that view's own rate, so that
//! nothing is taken for Lambertian but the sources. First scattering keeps the phase function of Henyey and
//! Greenstein; after that, a forward scatterer is an even one of `ks (1 - g)`.
//!
//! *Layers.* A tinted or pearl mid coat is solved as a film of its own and joined to its base ([`layers`]).
//!
//! All of it is in closed form over depth, so it is differentiable: [`Bench::gradient`] runs the same lines
//! on numbers that carry derivatives.
//!
//! # How far it holds
//!
//! Monte Carlo is the judge (`tests/film.rs`): about 0.8 in L\* (root mean square) over films and views,
//! up to 5 for the worst. The reference for solids is adding-doubling: within 1 % for even scattering. Two
//! fluxes keep energy only nearly. A film that absorbs nothing at all gives back up to 1.11 of the light
//! when it scatters, and down to 0.82 when it is full of perfect mirrors. Light and view may change places
//! exactly for first order, for absorbing films and for the primer; for scattering ones nearly.
//!
//! Not done: polarisation, a rough surface, layers of different index, flakes so coarse that they are no
//! continuum (sparkle), fluorescence, scattering in the clear coat.
//!
//! # Sources
//!
//! - Beckmann and Spizzichino, *The Scattering of Electromagnetic Waves from Rough Surfaces*, 1963.
//! - Smith, "Geometrical shadowing of a random rough surface", IEEE Trans. Antennas Propag. 15(5), 1967.
//! - Henyey and Greenstein, "Diffuse radiation in the Galaxy", Astrophysical Journal 93, 1941.
//! - Kubelka, "New contributions to the optics of intensely light-scattering materials", J. Opt. Soc. Am. 38,
//!   1948; Saunderson, the same journal 32, 1942, for the surface over them.
//! - Prahl, "The adding-doubling method", in *Optical-Thermal Response of Laser-Irradiated Tissue*, 1995.
//!
//! All from memory.

pub(crate) mod around;
pub(crate) mod bench;
pub(crate) mod channels;
pub(crate) mod flakes;
pub(crate) mod interface;
pub(crate) mod lane;
mod layers;
pub(crate) mod sums;

pub use bench::{Bench, Gradient, MOST_PARTS, Prediction};
use channels::{Inside, MORE, MORE_RETURNED, Matter, THREE, Toward};
use interface::{Path, Ray, Returned, shadowing, tilt_density};
use lane::{LANES, Pack, Real};

/// Flakes of one kind in a film described directly.
#[derive(Debug, Clone, PartialEq)]
pub struct PlainFlakes {
    /// Flake area seen from above per volume, per um.
    pub area_per_um: f64,
    /// Standard deviation of their slope.
    pub slope_sd: f64,
    /// Part of them in the wide tail.
    pub tail_weight: f64,
    /// Reflectance by wavelength.
    pub reflectance: Vec<f64>,
    /// Absorptance by wavelength.
    pub absorptance: Vec<f64>,
}

/// A film described directly, at any wavelengths.
#[derive(Debug, Clone, PartialEq)]
pub struct PlainFilm {
    /// Film in um.
    pub film_um: f64,
    /// Absorption per um by wavelength.
    pub absorption_per_um: Vec<f64>,
    /// Scattering per um by wavelength.
    pub scattering_per_um: Vec<f64>,
    /// Flakes.
    pub flakes: Vec<PlainFlakes>,
    /// Primer by wavelength, seen from inside the film.
    pub ground: Vec<f64>,
    /// Optical depth of the clear coat by wavelength; empty for none.
    pub clear: Vec<f64>,
}

/// Where a film is lit from and looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Direction {
    /// The light, in degrees from the normal, 0 to under 90.
    pub incidence_deg: f64,
    /// The view, in degrees from the mirror direction, positive towards the light.
    pub aspecular_deg: f64,
    /// How far the plane of the view is turned about the normal from the plane of the light, in degrees.
    pub azimuth_deg: f64,
}

/// Why a film described directly has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FilmError {
    /// Nothing to compute, or too much.
    #[error("{found} wavelengths; there must be 1 to {MOST_WAVELENGTHS}")]
    Wavelengths {
        /// How many came.
        found: usize,
    },
    /// A list of another length than the wavelengths.
    #[error("{what} has {found} values; there are {wavelengths} wavelengths")]
    Length {
        /// Which list.
        what: &'static str,
        /// How many it has.
        found: usize,
        /// How many there should be.
        wavelengths: usize,
    },
    /// A figure out of its range.
    #[error("{what} is {value}; it must be {range}")]
    Figure {
        /// Which figure.
        what: &'static str,
        /// What came.
        value: f64,
        /// What would be right.
        range: &'static str,
    },
}

/// Most wavelengths in one film described directly.
pub const MOST_WAVELENGTHS: usize = 10_000;

/// Radiance factors of a film (a perfect diffuser is 1), by direction, then by wavelength; the mirror
/// reflection of the surface is not in them.
///
/// # Errors
/// [`FilmError`] when a list has another length than `ground`, or a figure is out of its range.
pub fn radiance_factors(film: &PlainFilm, directions: &[Direction]) -> Result<Vec<Vec<f64>>, FilmError> {
    let n = film.ground.len();
    if n == 0 || n > MOST_WAVELENGTHS {
        return Err(FilmError::Wavelengths { found: n });
    }
    let list = |what, values: &[f64], high: f64, range| {
        if values.len() != n {
            return Err(FilmError::Length { what, found: values.len(), wavelengths: n });
        }
        match values.iter().find(|v| !(**v >= 0.0 && **v <= high)) {
            Some(&value) => Err(FilmError::Figure { what, value, range }),
            None => Ok(()),
        }
    };
    let figure = |what, value: f64, low: f64, high: f64, range| {
        if value >= low && value <= high { Ok(()) } else { Err(FilmError::Figure { what, value, range }) }
    };
    figure("the film", film.film_um, 0.0, 1e4, "0 to 10 000 um")?;
    list("absorption", &film.absorption_per_um, 1e4, "0 to 10 000 per um")?;
    list("scattering", &film.scattering_per_um, 1e4, "0 to 10 000 per um")?;
    list("the primer", &film.ground, 1.0, "0 to 1")?;
    if !film.clear.is_empty() {
        list("the clear coat", &film.clear, 50.0, "0 to 50")?;
    }
    for flakes in &film.flakes {
        figure("the flakes' area", flakes.area_per_um, 0.0, 1e3, "0 to 1000 per um")?;
        figure("the flakes' slope", flakes.slope_sd, 0.01, 1.0, "0.01 to 1")?;
        figure("the flakes' tail", flakes.tail_weight, 0.0, 1.0, "0 to 1")?;
        list("the flakes' reflectance", &flakes.reflectance, 1.0, "0 to 1")?;
        list("the flakes' absorptance", &flakes.absorptance, 1.0, "0 to 1")?;
        for (r, a) in flakes.reflectance.iter().zip(&flakes.absorptance) {
            figure("the flakes' reflectance and absorptance together", r + a, 0.0, 1.0 + 1e-6, "0 to 1")?;
        }
    }
    let mut paths = Vec::new();
    for d in directions {
        figure("the light's angle", d.incidence_deg, 0.0, 89.0, "0 to 89 degrees")?;
        let view = d.aspecular_deg - d.incidence_deg;
        figure("the view's angle from the normal", view, -89.0, 89.0, "-89 to 89 degrees")?;
        figure("the azimuth", d.azimuth_deg, -360.0, 360.0, "-360 to 360 degrees")?;
        paths.push(Path::new(Ray::at(d.incidence_deg, 0.0), Ray::at(view, d.azimuth_deg)));
    }
    Ok(radiance(film, &paths))
}

/// As [`radiance_factors`], unchecked.
pub(crate) fn radiance(film: &PlainFilm, paths: &[Path]) -> Vec<Vec<f64>> {
    let n = film.ground.len();
    let mut out = vec![vec![0.0; n]; paths.len()];
    let sd = chains_slope(film);
    // Views mostly share their light, and what the surface sends back hangs on the light alone.
    let mut lit: Option<(f64, Returned)> = None;
    for (index, path) in paths.iter().enumerate() {
        if let Some(sd) = sd.filter(|_| lit.as_ref().is_none_or(|(mu, _)| *mu != path.light.mu)) {
            lit = Some((path.light.mu, Returned::new(path.light.mu, sd)));
        }
        let lobes = lit.as_ref().zip(sd).map(|((_, returned), sd)| {
            let toward = [1.0, MORE_RETURNED].map(|k| Pack::of(returned.toward(&path.view, k)));
            (returned, toward, [THREE, MORE].map(|k| Pack::of(tilt_density(path.tan2, path.cos_tilt, k * sd).0)))
        });
        for start in (0..n).step_by(LANES) {
            let take = |v: &[f64]| Pack(std::array::from_fn(|i| v.get((start + i).min(n - 1)).copied().unwrap_or(0.0)));
            let clear = take(&film.clear);
            let pass = |k: f64| Pack(clear.0.map(|c| base::lane::exp(-c * k)));
            let ka = take(&film.absorption_per_um);
            let ks = take(&film.scattering_per_um);
            let zero = Pack::of(0.0);
            let mut m = Matter {
                absorb: ka,
                scatter: ks,
                turned: ks * 0.5,
                dim: zero,
                flake_absorb: zero,
                mirror: zero,
                flake_diffuse: zero,
                ground: take(&film.ground),
                film: Pack::of(film.film_um),
                lobe_back: zero,
                lobe_back_again: zero,
                slant: Pack::of(1.0 / path.light.mu),
                clear_diffuse: pass(4.0),
                clear_lobe: pass(2.0 / path.light.mu),
                mu: path.light.mu,
            };
            let mut v = Toward {
                phase: ks,
                dim: zero,
                first: zero,
                lobe: [zero; 2],
                returned: [zero; 2],
                crossing: pass(1.0 / path.light.mu + 1.0 / path.view.mu) * path.crossing(),
                mu: path.view.mu,
            };
            for flakes in &film.flakes {
                let (r, a) = (take(&flakes.reflectance), take(&flakes.absorptance));
                let (s, w, rho) = (flakes.slope_sd, flakes.tail_weight, flakes.area_per_um);
                let mixed = |f: &dyn Fn(f64) -> f64| (1.0 - w) * f(s) + w * f(crate::TAIL * s);
                let stops = (r + a) * rho;
                m.dim = m.dim + stops * (1.0 + 2.0 * mixed(&|s| shadowing(path.light.mu, s)));
                v.dim = v.dim + stops * (1.0 + 2.0 * mixed(&|s| shadowing(path.view.mu, s)));
                m.flake_absorb = m.flake_absorb + a * rho;
                m.mirror = m.mirror + r * rho;
                m.flake_diffuse = m.flake_diffuse + r * rho;
                v.first = v.first + r * (rho * mixed(&|s| tilt_density(path.tan2, path.cos_tilt, s).0));
            }
            if let Some((returned, toward, lobe)) = &lobes {
                m.lobe_back = Pack::of(returned.back);
                m.lobe_back_again = Pack::of(returned.back_again);
                m.slant = Pack::of(returned.slant);
                v.returned = *toward;
                v.lobe = *lobe;
            }
            let beta = Inside::solve(m).toward(&v);
            for (i, value) in beta.0.iter().enumerate() {
                if let Some(slot) = out[index].get_mut(start + i) {
                    *slot = *value;
                }
            }
        }
    }
    out
}

/// The slope of all flakes together, for the lobe of the chains; none without flakes that reflect.
fn chains_slope(film: &PlainFilm) -> Option<f64> {
    let (mut squares, mut weight) = (0.0, 0.0);
    for flakes in &film.flakes {
        let (s, w) = (flakes.slope_sd, flakes.tail_weight);
        let mean = flakes.area_per_um * flakes.reflectance.iter().sum::<f64>() / film.ground.len() as f64;
        squares += mean * s * s * (1.0 - w + w * crate::TAIL * crate::TAIL);
        weight += mean;
    }
    (weight > 0.0).then(|| (squares / weight).sqrt())
}
