use crate::error::{Error, counted, within};
use crate::flake::Flake;

const MOST_LAYERS: usize = 8;
const MOST_PARTS: usize = 16;

/// Small particles that scatter, for `N` wavelengths.
#[derive(Debug, Clone, PartialEq)]
pub struct Pigment<const N: usize> {
    scattering_per_um: [f64; N],
    asymmetry: f64,
}

impl<const N: usize> Pigment<N> {
    /// Particles of this scattering coefficient (0 to 100 per um), by the phase function of Henyey and
    /// Greenstein (Astrophysical Journal 93, 1941, 70-83) with mean cosine `asymmetry`, -0.95 to 0.95;
    /// 0 scatters evenly all round.
    pub fn new(scattering_per_um: [f64; N], asymmetry: f64) -> Result<Self, Error> {
        for value in scattering_per_um {
            within("scattering, 1/um", value, 0.0, 100.0)?;
        }
        Ok(Self { scattering_per_um, asymmetry: within("mean cosine of scattering", asymmetry, -0.95, 0.95)? })
    }

    pub(crate) fn scattering_per_um(&self) -> &[f64; N] {
        &self.scattering_per_um
    }

    pub(crate) fn asymmetry(&self) -> f64 {
        self.asymmetry
    }
}

/// What a layer is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Medium<const N: usize> {
    absorption_per_um: [f64; N],
    pigments: Vec<Pigment<N>>,
    flakes: Vec<Flake<N>>,
}

impl<const N: usize> Medium<N> {
    /// A binder that absorbs (0 to 1000 per um), with at most 16 pigments and 16 sorts of flakes.
    pub fn new(absorption_per_um: [f64; N], pigments: Vec<Pigment<N>>, flakes: Vec<Flake<N>>) -> Result<Self, Error> {
        for value in absorption_per_um {
            within("absorption, 1/um", value, 0.0, 1000.0)?;
        }
        counted("pigments", pigments.len(), 0, MOST_PARTS)?;
        counted("sorts of flakes", flakes.len(), 0, MOST_PARTS)?;
        Ok(Self { absorption_per_um, pigments, flakes })
    }

    pub(crate) fn absorption_per_um(&self) -> &[f64; N] {
        &self.absorption_per_um
    }

    pub(crate) fn pigments(&self) -> &[Pigment<N>] {
        &self.pigments
    }

    pub(crate) fn flakes(&self) -> &[Flake<N>] {
        &self.flakes
    }
}

/// A medium of even thickness.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer<const N: usize> {
    medium: Medium<N>,
    thickness_um: f64,
}

impl<const N: usize> Layer<N> {
    /// A layer 0.000001 to 10000 um thick.
    pub fn new(medium: Medium<N>, thickness_um: f64) -> Result<Self, Error> {
        Ok(Self { medium, thickness_um: within("thickness, um", thickness_um, 1e-6, 1e4)? })
    }

    pub(crate) fn medium(&self) -> &Medium<N> {
        &self.medium
    }

    pub(crate) fn thickness_um(&self) -> f64 {
        self.thickness_um
    }
}

/// Layers of one refractive index over a matt ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Film<const N: usize> {
    layers: Vec<Layer<N>>,
    ground: [f64; N],
}

impl<const N: usize> Film<N> {
    /// One to eight layers, the outermost (a clear coat, say) first, over a Lambertian ground of this
    /// reflectance as seen from inside the film.
    pub fn new(layers: Vec<Layer<N>>, ground: [f64; N]) -> Result<Self, Error> {
        counted("layers", layers.len(), 1, MOST_LAYERS)?;
        for value in ground {
            within("reflectance of the ground", value, 0.0, 1.0)?;
        }
        Ok(Self { layers, ground })
    }

    pub(crate) fn layers(&self) -> &[Layer<N>] {
        &self.layers
    }

    pub(crate) fn ground(&self) -> &[f64; N] {
        &self.ground
    }
}
