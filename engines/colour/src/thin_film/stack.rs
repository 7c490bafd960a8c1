//! Any stack of flat layers.
//!
//! Waves go as exp(i(k z - w t)), so an absorbing index is n + i k with k positive. Fresnel amplitudes
//! and fluxes as in Born and Wolf, "Principles of Optics", 7th edition, 1.5 and 1.6, for complex indices
//! as in S. Byrnes, "Multilayer optical calculations", arXiv:1603.02720 (both from memory). Instead of
//! multiplying matrices the stack is built from its back: with r, t of all that lies behind, a layer of
//! phase d under an interface r1, t1 gives
//!
//! r' = (r1 + r e^{2id}) / (1 + r1 r e^{2id}),  t' = t1 t e^{id} / (1 + r1 r e^{2id})
//!
//! (Rouard 1937, Born and Wolf 1.6.2). It is the same product of matrices divided by its own growth, so a
//! thick metal cannot overflow.

use std::f64::consts::PI;

use super::complex::Complex;
use crate::error::ColourError;

/// Most layers in one stack.
pub const MOST_LAYERS: usize = 64;

/// Refractive index n + i k.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Index {
    n: f64,
    k: f64,
}

impl Index {
    /// A clear or absorbing medium; `k` is the extinction coefficient of the amplitude.
    ///
    /// # Errors
    /// [`ColourError::OutOfRange`] when n lies outside 0.01..=20 or k outside 0..=20.
    pub fn new(n: f64, k: f64) -> Result<Self, ColourError> {
        ColourError::within("refractive index", n, 0.01, 20.0, "")?;
        ColourError::within("extinction coefficient", k, 0.0, 20.0, "")?;
        Ok(Self { n, k })
    }

    /// For the crate's own materials, which lie within the ranges of [`Index::new`].
    pub(super) const fn known(n: f64, k: f64) -> Self {
        Self { n, k }
    }

    /// The real part.
    pub fn n(self) -> f64 {
        self.n
    }

    /// The imaginary part.
    pub fn k(self) -> f64 {
        self.k
    }

    pub(super) fn complex(self) -> Complex {
        Complex { re: self.n, im: self.k }
    }
}

/// One layer of a [`Stack`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// What it is made of.
    pub index: Index,
    /// How thick it is, in nm: 0 to 100 000.
    pub thickness_nm: f64,
}

/// The direction of the electric field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Polarisation {
    /// Across the plane of incidence.
    S,
    /// In the plane of incidence.
    P,
}

impl Polarisation {
    /// Both.
    pub const BOTH: [Self; 2] = [Self::S, Self::P];
}

/// Where the light goes, as parts of what arrived.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    /// The part sent back.
    pub reflectance: f64,
    /// The part that reaches the last medium.
    pub transmittance: f64,
}

impl Response {
    /// The part that stays in the layers.
    pub fn absorptance(self) -> f64 {
        1.0 - self.reflectance - self.transmittance
    }
}

/// Layers between two media without end, the first of which is clear.
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    before: f64,
    layers: Vec<Layer>,
    after: Index,
}

impl Stack {
    /// A stack in the order in which light meets it; without layers it is a bare boundary.
    ///
    /// # Errors
    /// [`ColourError::OutOfRange`] when `before` lies outside 0.01..=20, a thickness outside 0..=100 000 nm,
    /// or there are more than [`MOST_LAYERS`] layers.
    pub fn new(before: f64, layers: Vec<Layer>, after: Index) -> Result<Self, ColourError> {
        ColourError::within("refractive index", before, 0.01, 20.0, "")?;
        // The count is far below 2^53, so that it is exact.
        ColourError::within("number of layers", layers.len() as f64, 0.0, MOST_LAYERS as f64, "")?;
        for layer in &layers {
            ColourError::within("layer thickness", layer.thickness_nm, 0.0, 100_000.0, " nm")?;
        }
        Ok(Self { before, layers, after })
    }

    /// Response to polarised light of a vacuum wavelength in nm; `cos_incidence` is taken in the first
    /// medium.
    ///
    /// # Errors
    /// [`ColourError::OutOfRange`] when the wavelength lies outside 100..=100 000 nm or the cosine outside
    /// 1e-6..=1: at the horizon itself nothing arrives.
    ///
    /// ```
    /// use colour::thin_film::{Index, Polarisation, Stack};
    /// let glass = Stack::new(1.0, vec![], Index::new(1.5, 0.0)?)?;
    /// assert!((glass.response(550.0, 1.0, Polarisation::S)?.reflectance - 0.04).abs() < 1e-15);
    /// # Ok::<(), colour::ColourError>(())
    /// ```
    pub fn response(
        &self,
        wavelength_nm: f64,
        cos_incidence: f64,
        polarisation: Polarisation,
    ) -> Result<Response, ColourError> {
        ColourError::within("wavelength", wavelength_nm, 100.0, 100_000.0, " nm")?;
        ColourError::within("cosine of incidence", cos_incidence, 1e-6, 1.0, "")?;
        let snell = Snell::new(self.before, cos_incidence);
        let first = snell.side(Index::known(self.before, 0.0));
        let last = snell.side(self.after);

        let mut behind = last;
        let mut gathered: Option<(Complex, Complex)> = None;
        for layer in self.layers.iter().rev() {
            let side = snell.side(layer.index);
            let pass = side.phase(layer.thickness_nm, wavelength_nm).exp_i();
            gathered = Some(join(side, behind, gathered, polarisation).through(pass));
            behind = side;
        }
        let Amplitudes { r, t } = join(first, behind, gathered, polarisation);
        Ok(Response {
            reflectance: r.norm_sqr(),
            transmittance: t.norm_sqr() * last.flux(polarisation) / first.flux(polarisation),
        })
    }

    /// Response to unpolarised light: the mean of both polarisations.
    ///
    /// # Errors
    /// As [`Stack::response`].
    pub fn unpolarised(&self, wavelength_nm: f64, cos_incidence: f64) -> Result<Response, ColourError> {
        let s = self.response(wavelength_nm, cos_incidence, Polarisation::S)?;
        let p = self.response(wavelength_nm, cos_incidence, Polarisation::P)?;
        Ok(Response {
            reflectance: 0.5 * (s.reflectance + p.reflectance),
            transmittance: 0.5 * (s.transmittance + p.transmittance),
        })
    }
}

/// Amplitudes of what lies at and behind an interface.
struct Amplitudes {
    r: Complex,
    t: Complex,
}

impl Amplitudes {
    /// The same seen from the front of a layer whose phase factor is `pass`.
    fn through(self, pass: Complex) -> (Complex, Complex) {
        (self.r * pass * pass, self.t * pass)
    }
}

/// An interface in front of amplitudes already gathered, if there are any.
fn join(from: Side, to: Side, gathered: Option<(Complex, Complex)>, polarisation: Polarisation) -> Amplitudes {
    let (r, t) = from.amplitudes(to, polarisation);
    match gathered {
        None => Amplitudes { r, t },
        Some((behind_r, behind_t)) => {
            let echoes = Complex::ONE + r * behind_r;
            Amplitudes { r: (r + behind_r) / echoes, t: t * behind_t / echoes }
        }
    }
}

/// Snell's law: n sin is the same in every layer.
#[derive(Clone, Copy)]
pub(super) struct Snell {
    n_sin_squared: f64,
}

impl Snell {
    pub(super) fn new(before: f64, cos_incidence: f64) -> Self {
        Self { n_sin_squared: before * before * (1.0 - cos_incidence * cos_incidence) }
    }

    pub(super) fn side(self, index: Index) -> Side {
        let n = index.complex();
        let mut cos_squared = Complex::ONE - Complex::real(self.n_sin_squared) / (n * n);
        if cos_squared.norm_sqr() == 0.0 {
            // Exactly along the layer two such neighbours would divide nothing by nothing. This lies
            // below the rounding of the sine.
            cos_squared = Complex::real(1e-18);
        }
        Side { n, cos: cos_squared.sqrt() }
    }
}

/// A wave in one medium.
#[derive(Clone, Copy)]
pub(super) struct Side {
    n: Complex,
    cos: Complex,
}

impl Side {
    /// Fresnel amplitudes r and t on the way into `to`.
    pub(super) fn amplitudes(self, to: Self, polarisation: Polarisation) -> (Complex, Complex) {
        let (own, other) = match polarisation {
            Polarisation::S => (self.n * self.cos, to.n * to.cos),
            Polarisation::P => (to.n * self.cos, self.n * to.cos),
        };
        let sum = own + other;
        ((own - other) / sum, (self.n * self.cos).scale(2.0) / sum)
    }

    /// Phase gathered on one way through a thickness; its imaginary part is damping.
    pub(super) fn phase(self, thickness_nm: f64, wavelength_nm: f64) -> Complex {
        (self.n * self.cos).scale(2.0 * PI * thickness_nm / wavelength_nm)
    }

    /// What a unit amplitude carries across the layer, up to a factor common to all media.
    fn flux(self, polarisation: Polarisation) -> f64 {
        match polarisation {
            Polarisation::S => (self.n * self.cos).re,
            Polarisation::P => (self.n * self.cos.conj()).re,
        }
    }
}
