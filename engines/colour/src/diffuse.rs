//! Paint under diffuse light by Kubelka and Munk, as an instrument with a sphere sees it.
//!
//! P. Kubelka, "New contributions to the optics of intensely light-scattering materials, part I",
//! J. Opt. Soc. Am. 38, 1948, 448-457: the exact solution for a film of any thickness over any ground. It
//! knows no surface and no angle; [`Surface`] adds the surface (J. L. Saunderson, J. Opt. Soc. Am. 32,
//! 1942, 727-736). K and S here are Kubelka and Munk's: about twice the absorption and three quarters of the
//! even scattering that a photon meets along its own path (Mudgett and Richards 1971). All from memory.
//!
//! Not done here: anything by angle. That is the work of the film model.

use base::math;

use crate::error::ColourError;
use crate::thin_film::{Index, Stack};

/// A film over a ground, at one wavelength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiffuseFilm {
    /// K in 1/um: 0 to 10 000.
    pub absorption_per_um: f64,
    /// S in 1/um: 0 to 10 000.
    pub scattering_per_um: f64,
    /// Thickness in um: 0 to 1 000 000.
    pub thickness_um: f64,
    /// Reflectance of the ground as seen from inside the film: 0 to 1.
    pub under: f64,
}

/// Reflectance of a film over its ground, both without surface.
///
/// R = (1 - Rg (a - b coth bSX)) / (a - Rg + b coth bSX), a = 1 + K/S, b = sqrt(a^2 - 1) (Kubelka 1948),
/// written so that it also holds where K or S is 0 and where the film is very thick.
///
/// # Errors
/// [`ColourError::OutOfRange`] when a figure lies outside the range beside its field.
///
/// ```
/// use colour::diffuse::{DiffuseFilm, km};
/// let film = DiffuseFilm { absorption_per_um: 0.0, scattering_per_um: 0.1, thickness_um: 10.0, under: 0.0 };
/// assert_eq!(km(film)?, 0.5); // nothing absorbed: SX / (1 + SX)
/// # Ok::<(), colour::ColourError>(())
/// ```
pub fn km(film: DiffuseFilm) -> Result<f64, ColourError> {
    ColourError::within("absorption", film.absorption_per_um, 0.0, 1e4, " per um")?;
    ColourError::within("scattering", film.scattering_per_um, 0.0, 1e4, " per um")?;
    ColourError::within("film thickness", film.thickness_um, 0.0, 1e6, " um")?;
    ColourError::within("reflectance of the ground", film.under, 0.0, 1.0, "")?;
    let (own, through) = alone(film);
    Ok(own + through * through * film.under / (1.0 - own * film.under))
}

/// Reflectance and transmittance of the film without its ground: with g = bS and X the thickness,
/// R0 = S sinh gX / D, T = g / D, D = g cosh gX + (K + S) sinh gX (Kubelka 1948). Numerator and denominator
/// are divided by g e^{gX}, so that neither g = 0 nor a thick film breaks them.
fn alone(film: DiffuseFilm) -> (f64, f64) {
    let (k, s, x) = (film.absorption_per_um, film.scattering_per_um, film.thickness_um);
    let g = (k * (k + 2.0 * s)).sqrt();
    let decay = math::exp(-g * x);
    let cosh = 0.5 * (1.0 + decay * decay);
    let sinh_over_g = x * mean_decay(2.0 * g * x);
    let d = cosh + (k + s) * sinh_over_g;
    (s * sinh_over_g / d, decay / d)
}

/// (1 - e^{-x}) / x, the mean of e^{-u} from 0 to x.
fn mean_decay(x: f64) -> f64 {
    if x < 0.01 {
        // Below this the difference would cost digits; the first term left out is x^5 / 720.
        1.0 - x / 2.0 * (1.0 - x / 3.0 * (1.0 - x / 4.0 * (1.0 - x / 5.0)))
    } else {
        (1.0 - math::exp(-x)) / x
    }
}

/// Reflectance of a film too thick for its ground to show: 1 + K/S - sqrt((K/S)^2 + 2 K/S).
///
/// # Errors
/// [`ColourError::OutOfRange`] when K/S lies outside 0..=1e9.
pub fn infinite_film(k_over_s: f64) -> Result<f64, ColourError> {
    ColourError::within("K/S", k_over_s, 0.0, 1e9, "")?;
    // The root's twin is its inverse, and adds where the root would subtract.
    Ok(1.0 / (1.0 + k_over_s + (k_over_s * (k_over_s + 2.0)).sqrt()))
}

/// K/S of a film that thick: (1 - R)^2 / 2R.
///
/// # Errors
/// [`ColourError::OutOfRange`] when the reflectance lies outside 1e-9..=1; a film that reflects nothing
/// has no finite K/S.
pub fn k_over_s(reflectance: f64) -> Result<f64, ColourError> {
    ColourError::within("reflectance of a thick film", reflectance, 1e-9, 1.0, "")?;
    Ok((1.0 - reflectance) * (1.0 - reflectance) / (2.0 * reflectance))
}

/// Whether an instrument catches the mirror reflection of the surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Gloss {
    /// A sphere with its gloss trap closed.
    Included,
    /// A sphere with its gloss trap open.
    Excluded,
}

/// A smooth surface under diffuse light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    k1: f64,
    k2: f64,
}

impl Surface {
    /// A surface that sends back `k1` of the light from outside and `k2` of the light from inside.
    ///
    /// # Errors
    /// [`ColourError::OutOfRange`] when either lies outside 0..=0.99.
    pub fn new(k1: f64, k2: f64) -> Result<Self, ColourError> {
        ColourError::within("reflectance of the surface from outside", k1, 0.0, 0.99, "")?;
        ColourError::within("reflectance of the surface from inside", k2, 0.0, 0.99, "")?;
        Ok(Self { k1, k2 })
    }

    /// The surface of a clear film of refractive index n in air, evenly lit from either side.
    ///
    /// k1 is twice the integral of Fresnel's reflectance times the cosine, by Simpson's rule (within 1e-9
    /// for n from 1.1 on); k2 = 1 - (1 - k1) / n^2, because as much light passes one way as the other.
    ///
    /// # Errors
    /// [`ColourError::OutOfRange`] when n lies outside 1..=3.
    ///
    /// ```
    /// let binder = colour::diffuse::Surface::of_index(1.5)?;
    /// assert!((binder.k1() - 0.091_778_0).abs() < 1e-7 && (binder.k2() - 0.596_345_8).abs() < 1e-7);
    /// # Ok::<(), colour::ColourError>(())
    /// ```
    pub fn of_index(n: f64) -> Result<Self, ColourError> {
        const STEPS: u32 = 1000;
        ColourError::within("refractive index", n, 1.0, 3.0, "")?;
        let boundary = Stack::new(1.0, Vec::new(), Index::new(n, 0.0)?)?;
        let step = 1.0 / f64::from(STEPS);
        let mut k1 = 0.0;
        // The cosine is a factor of the integrand, so the first node adds nothing.
        for i in 1..=STEPS {
            let cos = (step * f64::from(i)).min(1.0);
            let weight = if i == STEPS {
                1.0
            } else if i % 2 == 1 {
                4.0
            } else {
                2.0
            };
            // Without layers the wavelength plays no part.
            k1 += 2.0 * cos * boundary.unpolarised(550.0, cos)?.reflectance * weight * step / 3.0;
        }
        Self::new(k1, 1.0 - (1.0 - k1) / (n * n))
    }

    /// The part of diffuse light from outside that it sends back.
    pub fn k1(self) -> f64 {
        self.k1
    }

    /// The part of diffuse light from inside that it sends back.
    pub fn k2(self) -> f64 {
        self.k2
    }

    /// What an instrument reads on a film of this reflectance: (1 - k1)(1 - k2) R / (1 - k2 R), and k1 on
    /// top of it with gloss included.
    ///
    /// # Errors
    /// [`ColourError::OutOfRange`] when the reflectance lies outside 0..=1.
    pub fn measured(self, inside: f64, gloss: Gloss) -> Result<f64, ColourError> {
        ColourError::within("reflectance of the film", inside, 0.0, 1.0, "")?;
        Ok(self.mirrored(gloss) + (1.0 - self.k1) * (1.0 - self.k2) * inside / (1.0 - self.k2 * inside))
    }

    /// The reflectance of the film below the surface, from what an instrument reads.
    ///
    /// # Errors
    /// [`ColourError::OutOfRange`] when the reading lies below the gloss it includes, or above what the
    /// brightest film gives.
    pub fn inside(self, measured: f64, gloss: Gloss) -> Result<f64, ColourError> {
        let mirrored = self.mirrored(gloss);
        // A perfect diffuser reads all that entered, and rounding may place it a trace above.
        let brightest = mirrored + (1.0 - self.k1);
        ColourError::within("reading", measured, mirrored, brightest, "")?;
        let out = measured - mirrored;
        Ok((out / ((1.0 - self.k1) * (1.0 - self.k2) + self.k2 * out)).min(1.0))
    }

    fn mirrored(self, gloss: Gloss) -> f64 {
        match gloss {
            Gloss::Included => self.k1,
            Gloss::Excluded => 0.0,
        }
    }
}
