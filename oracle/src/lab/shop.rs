use super::gun::Gun;
use super::instrument::GEOMETRIES;
use super::mixture;
use super::spectra::{Spectrum, WAVELENGTHS, spectrum};
use super::substrate::substrate;
use super::toner::{Toner, invented};
use crate::error::{Error, counted, within};
use crate::film::{Film, Layer, Medium};
use crate::geometry::Geometry;
use crate::simulate::{Estimate, Photons, simulate};
use base::math;

const CLEAR_UM: f64 = 40.0;
const MOST_COATS: usize = 6;
/// The rest of a dry film is binder, of which some there must be.
const MOST_TONER: f64 = 0.95;

/// A shop whose toners nobody has measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    toners: Vec<Toner>,
}

/// What one coat is mixed from and set to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coat<'a> {
    /// Mass fractions of the dry film by toner; binder is the rest.
    pub fractions: &'a [(&'a str, f64)],
    /// Thickness that the gun is set to, 0.5 to 200 um.
    pub film_um: f64,
}

/// A sprayed card under its clear coat.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    film: Film<WAVELENGTHS>,
    film_um: f64,
}

impl Shop {
    /// The shop of this seed: the same sixteen kinds of toner in every shop, with other strengths and
    /// slightly other colours.
    pub fn invented(seed: u64) -> Self {
        Self { toners: invented(seed) }
    }

    /// The toners, in the order of the tables.
    pub fn toners(&self) -> &[Toner] {
        &self.toners
    }

    /// The mass fractions of a dry film in the order of the toners. Errors if a name is unknown, a
    /// fraction lies outside 0 to 0.95, or they add up to more than 0.95.
    pub fn fractions(&self, named: &[(&str, f64)]) -> Result<Vec<f64>, Error> {
        let mut fractions = vec![0.0; self.toners.len()];
        for (name, fraction) in named {
            let place = self.toners.iter().position(|toner| toner.name() == *name);
            let place = place.ok_or_else(|| Error::UnknownToner((*name).to_owned()))?;
            fractions[place] += within("mass fraction", *fraction, 0.0, MOST_TONER)?;
        }
        let sum: f64 = fractions.iter().sum();
        if sum > MOST_TONER { Err(Error::TooMuchToner(sum)) } else { Ok(fractions) }
    }

    /// Sprays a base coat of these mass fractions, set to `film_um` (0.5 to 200), over a named
    /// substrate, and 40 um of clear coat on top.
    pub fn spray(&self, fractions: &[(&str, f64)], film_um: f64, over: &str, gun: Gun) -> Result<Panel, Error> {
        self.spray_coats(&[Coat { fractions, film_um }], over, gun)
    }

    /// Sprays one to six coats in their order, the base coat first and a tinted or pearl mid coat
    /// after it, and 40 um of clear coat on top. Errors as [`Shop::spray`] and [`Shop::fractions`].
    pub fn spray_coats(&self, coats: &[Coat<'_>], over: &str, gun: Gun) -> Result<Panel, Error> {
        counted("coats", coats.len(), 1, MOST_COATS)?;
        let clear = Medium::new(spectrum(clear_absorption_per_um), Vec::new(), Vec::new())?;
        let mut layers = vec![Layer::new(clear, CLEAR_UM)?];
        for coat in coats.iter().rev() {
            let set_um = within("film thickness, um", coat.film_um, 0.5, 200.0)?;
            let medium = mixture::medium(&self.toners, &self.fractions(coat.fractions)?, gun)?;
            layers.push(Layer::new(medium, set_um * gun.thickness)?);
        }
        let film_um = layers[1..].iter().map(Layer::thickness_um).sum();
        Ok(Panel { film: Film::new(layers, substrate(over)?)?, film_um })
    }
}

/// A slightly yellow clear coat.
fn clear_absorption_per_um(lambda_nm: f64) -> f64 {
    0.0009 * math::exp((400.0 - lambda_nm) / 32.0) + 0.000_02
}

impl Panel {
    /// What the coats under the clear came out at together, without the gauge's error.
    pub fn film_um(&self) -> f64 {
        self.film_um
    }

    /// Radiance factors by geometry, in the order of [`GEOMETRIES`], exact but for the noise of the
    /// simulation.
    pub fn radiance_factors(&self, photons: Photons) -> Result<[Spectrum; 6], Error> {
        let found = self.estimates(photons)?;
        Ok(std::array::from_fn(|view| found[view].map(|estimate| estimate.value)))
    }

    /// The same with their standard errors.
    pub fn estimates(&self, photons: Photons) -> Result<Vec<[Estimate; WAVELENGTHS]>, Error> {
        let geometry = Geometry::forty_five(&GEOMETRIES.map(|(_, aspecular_deg)| aspecular_deg))?;
        simulate(&self.film, &geometry, photons)
    }
}
