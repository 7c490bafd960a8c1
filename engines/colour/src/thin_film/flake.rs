//! A coated flake in paint binder, averaged over the thicknesses that flakes have.
//!
//! Both faces of one flake carry the same coat; from flake to flake coat and core vary on their own, each
//! with a normal distribution. The coat is averaged by [`COAT_NODES`] equally spaced thicknesses out to
//! 5 standard deviations (the trapezium rule, which for a normal density is exact up to the tail cut off,
//! less than 1e-6 of the flakes). The core is clear, so it enters as a pure phase w, and the mean over
//! it is a sum: with
//!
//! r = (a + b w) / (1 - c w),  |w| = 1,  1 / |1 - c w|^2 = (1 + 2 Re sum (c w)^m) / (1 - |c|^2)
//!
//! only the means of w^m are needed, and those of a normal phase are w0^m exp(-m^2 s^2 / 2). Where the
//! core hardly turns the phase or reflects totally (silica, around and beyond 77 degrees) the sum would
//! be long or w no phase, and 15 nodes average over the core as well.

use base::math;

use super::complex::Complex;
use super::material::{BINDER_INDEX, Coat, Core};
use super::stack::{Polarisation, Response, Snell};
use super::table::FlakeTable;
use crate::error::ColourError;
use crate::spectrum::WAVELENGTHS_NM;

/// Thicknesses of the coat that an average is taken over.
pub const COAT_NODES: usize = 15;

/// Most terms of the sum over the core; the sum ends earlier where terms fall below 1e-15.
const CORE_SERIES_TERMS: usize = 128;

/// Least standard deviation of the phase, in radians, for the sum over the core: there 128 terms end below
/// 1e-15.
const LEAST_SERIES_SPREAD: f64 = 0.065;

/// How a flake is built.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlakeDesign {
    /// The platelet.
    pub core: Core,
    /// Its mean thickness in nm: 50 to 5000.
    pub core_nm: f64,
    /// Standard deviation of that thickness over the mean: 0.02 to 0.25. 0.15 is usual for mica (common
    /// practice, no source).
    pub core_spread: f64,
    /// The layer on both faces.
    pub coat: Coat,
    /// Its mean thickness in nm: 0 to 400.
    pub coat_nm: f64,
    /// Standard deviation of that thickness over the mean: 0 to 0.2. 0.06 is usual (common practice, no
    /// source).
    pub coat_spread: f64,
}

/// A coated flake in binder of index [`BINDER_INDEX`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoatedFlake {
    design: FlakeDesign,
}

/// What a flake does at one angle, by [`WAVELENGTHS_NM`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlakeOptics {
    /// The part sent back.
    pub reflectance: [f64; 31],
    /// The part kept; 0 for a clear coat. The rest goes straight on.
    pub absorptance: [f64; 31],
}

impl CoatedFlake {
    /// A flake of this design.
    ///
    /// # Errors
    /// [`ColourError::OutOfRange`] when a thickness or a spread lies outside the range beside its field.
    pub fn new(design: FlakeDesign) -> Result<Self, ColourError> {
        ColourError::within("core thickness", design.core_nm, 50.0, 5000.0, " nm")?;
        ColourError::within("spread of core thickness", design.core_spread, 0.02, 0.25, "")?;
        ColourError::within("coat thickness", design.coat_nm, 0.0, 400.0, " nm")?;
        ColourError::within("spread of coat thickness", design.coat_spread, 0.0, 0.2, "")?;
        Ok(Self { design })
    }

    /// The design it was made from.
    pub fn design(&self) -> &FlakeDesign {
        &self.design
    }

    /// Mean reflectance and absorptance for unpolarised light; `cos2` is the squared cosine of incidence
    /// on the flake inside the binder, and is taken into 0..=1.
    ///
    /// Not-a-number gives not-a-number.
    pub fn optics(&self, cos2: f64) -> FlakeOptics {
        let nodes = quadrature();
        let cos = cos2.clamp(0.0, 1.0).sqrt();
        let mut optics = FlakeOptics { reflectance: [0.0; 31], absorptance: [0.0; 31] };
        for (i, wavelength_nm) in WAVELENGTHS_NM.into_iter().enumerate() {
            let mean = self.mean(f64::from(wavelength_nm), cos, &nodes);
            optics.reflectance[i] = mean.reflectance;
            // A clear coat keeps nothing, yet rounding may leave a trace on either side.
            optics.absorptance[i] = mean.absorptance().max(0.0);
        }
        optics
    }

    /// The flake on a grid of angles, for quick use.
    pub fn table(&self) -> FlakeTable {
        FlakeTable::new(self)
    }

    fn mean(&self, wavelength_nm: f64, cos: f64, nodes: &Nodes) -> Response {
        if cos == 0.0 {
            // Along its face a flake reflects everything: the limit of what follows.
            return Response { reflectance: 1.0, transmittance: 0.0 };
        }
        let FlakeDesign { core, core_nm, core_spread, coat, coat_nm, coat_spread } = self.design;
        let snell = Snell::new(BINDER_INDEX, cos);
        let binder = snell.side(super::Index::known(BINDER_INDEX, 0.0));
        let layer = snell.side(coat.index(wavelength_nm));
        let inside = snell.side(core.index(wavelength_nm));

        let there_and_back = inside.phase(core_nm, wavelength_nm).scale(2.0);
        let platelet = if there_and_back.im == 0.0 && there_and_back.re * core_spread > LEAST_SERIES_SPREAD {
            Platelet::Series(powers(there_and_back.re, core_spread))
        } else {
            // The widest spread would reach below nothing at its last node.
            let one = |x: f64| there_and_back.scale((1.0 + core_spread * x).max(0.0)).exp_i();
            Platelet::Nodes(nodes.iter().map(|&(x, weight)| (one(x), weight)).collect())
        };
        let faces = Polarisation::BOTH
            .map(|polarisation| (binder.amplitudes(layer, polarisation).0, layer.amplitudes(inside, polarisation).0));

        let mut mean = Response { reflectance: 0.0, transmittance: 0.0 };
        for (x, weight) in nodes {
            let z = layer.phase(coat_nm * (1.0 + coat_spread * x), wavelength_nm).scale(2.0).exp_i();
            for (outer, inner) in faces {
                let (reflectance, transmittance) = platelet.mean(Shell::new(outer, inner, z));
                mean.reflectance += 0.5 * weight * reflectance;
                mean.transmittance += 0.5 * weight * transmittance;
            }
        }
        mean
    }
}

/// One coat between binder and core: the amplitudes that the core's echoes need.
struct Shell {
    /// Reflection from outside.
    front: Complex,
    /// Reflection from the core.
    back: Complex,
    /// In through the coat and out again.
    both_ways: Complex,
}

impl Shell {
    /// From the reflections at its outer and inner face, and the phase factor there and back. For one
    /// interface t t' = 1 - r^2 and r' = -r in either polarisation.
    fn new(outer: Complex, inner: Complex, z: Complex) -> Self {
        let echoes = Complex::ONE + outer * inner * z;
        Self {
            front: (outer + inner * z) / echoes,
            back: -(inner + outer * z) / echoes,
            both_ways: (Complex::ONE - outer * outer) * (Complex::ONE - inner * inner) * z / (echoes * echoes),
        }
    }

    /// a, b and c of the page above.
    fn coefficients(&self) -> (Complex, Complex, Complex) {
        let c = self.back * self.back;
        (self.front, self.both_ways * self.back - self.front * c, c)
    }
}

/// What the core, by its thickness, does to a wave there and back.
enum Platelet {
    /// The means of w, w^2, ...
    Series(Vec<Complex>),
    /// Single values of w and their weights.
    Nodes(Vec<(Complex, f64)>),
}

impl Platelet {
    /// Mean reflectance and transmittance of a core between two such shells.
    fn mean(&self, shell: Shell) -> (f64, f64) {
        let (a, b, c) = shell.coefficients();
        let through = shell.both_ways.norm_sqr();
        match self {
            Self::Series(powers) => {
                let (plain, turned) = echoes(powers, c);
                let cross = (a.conj() * b * turned).re;
                ((a.norm_sqr() + b.norm_sqr()) * plain + 2.0 * cross, through * plain)
            }
            Self::Nodes(nodes) => nodes.iter().fold((0.0, 0.0), |(r, t), &(w, weight)| {
                let echoes = weight / (Complex::ONE - c * w).norm_sqr();
                // |w|, there and back, is also the square of the amplitude that passes once.
                (r + (a + b * w).norm_sqr() * echoes, t + through * w.norm_sqr().sqrt() * echoes)
            }),
        }
    }
}

/// Means of w, w^2, ... for a normal phase.
fn powers(phase: f64, spread: f64) -> Vec<Complex> {
    let once = Complex::real(phase).exp_i();
    let variance = phase * spread * phase * spread;
    let mut powers = Vec::with_capacity(CORE_SERIES_TERMS);
    let (mut turn, mut m) = (Complex::ONE, 0.0);
    for _ in 0..CORE_SERIES_TERMS {
        turn = turn * once;
        m += 1.0;
        let left = math::exp(-0.5 * m * m * variance);
        if left < 1e-15 {
            break;
        }
        powers.push(turn.scale(left));
    }
    powers
}

/// Means of 1 / |1 - c w|^2 and of w / |1 - c w|^2.
fn echoes(powers: &[Complex], c: Complex) -> (f64, Complex) {
    let (mut sum, mut factor) = (Complex::real(0.0), Complex::ONE);
    for power in powers {
        sum = sum + factor * *power;
        factor = factor * c;
        if factor.norm_sqr() < 1e-30 {
            break;
        }
    }
    let series = c * sum;
    let scale = 1.0 / (1.0 - c.norm_sqr());
    let turned = sum + (c * (Complex::ONE + series)).conj();
    ((1.0 + 2.0 * series.re) * scale, turned.scale(scale))
}

/// Places in standard deviations, with weights that add up to 1.
type Nodes = [(f64, f64); COAT_NODES];

/// Equally spaced nodes of the normal distribution from -5 to 5.
fn quadrature() -> Nodes {
    const REACH: f64 = 5.0;
    let step = 2.0 * REACH / (COAT_NODES - 1) as f64;
    let nodes: Nodes = std::array::from_fn(|i| {
        let x = step * i as f64 - REACH;
        (x, math::exp(-0.5 * x * x))
    });
    let total: f64 = nodes.iter().map(|(_, weight)| weight).sum();
    nodes.map(|(x, weight)| (x, weight / total))
}
