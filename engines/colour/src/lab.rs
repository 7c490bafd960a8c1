//! CIELAB.

use base::{lane, math};

use crate::light::{Illuminant, Observer, Xyz, table, weigh, white};
use crate::spectrum::Spectrum;

/// A colour in CIELAB, relative to the white it was computed for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab {
    /// Lightness L\*: 0 black, 100 a perfect diffuser, above 100 near gloss.
    pub l: f64,
    /// a\*: red positive, green negative.
    pub a: f64,
    /// b\*: yellow positive, blue negative.
    pub b: f64,
}

/// A colour in CIELAB by lightness, chroma and hue angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lch {
    /// Lightness L\*.
    pub l: f64,
    /// Chroma C\*ab, 0 for a grey.
    pub c: f64,
    /// Hue angle h_ab in degrees, 0..360, from the red axis towards yellow; 0 for an exact grey.
    pub h_deg: f64,
}

/// (24/116)^3: below it the cube root gives way to a straight line (CIE 15:2018, 8.2.1).
const STRAIGHT_BELOW: f64 = 24.0 * 24.0 * 24.0 / (116.0 * 116.0 * 116.0);
/// Slope of that line.
const SLOPE: f64 = 841.0 / 108.0;
/// Where the line starts.
const START: f64 = 16.0 / 116.0;

impl Lab {
    /// CIELAB of tristimulus values, given those of the white (CIE 15:2018, equations 8.3 to 8.8).
    ///
    /// Any finite values are accepted; a white with a zero gives values that are not finite.
    pub fn from_xyz(xyz: Xyz, white: Xyz) -> Self {
        let fx = compress(xyz.x / white.x);
        let fy = compress(xyz.y / white.y);
        let fz = compress(xyz.z / white.z);
        Self { l: 116.0 * fy - 16.0, a: 500.0 * (fx - fy), b: 200.0 * (fy - fz) }
    }

    /// Tristimulus values, given those of the white: the inverse of [`Lab::from_xyz`].
    pub fn to_xyz(self, white: Xyz) -> Xyz {
        let fy = (self.l + 16.0) / 116.0;
        Xyz {
            x: white.x * expand(fy + self.a / 500.0),
            y: white.y * expand(fy),
            z: white.z * expand(fy - self.b / 200.0),
        }
    }

    /// Chroma C\*ab: the distance from grey.
    pub fn chroma(self) -> f64 {
        math::hypot(self.a, self.b)
    }

    /// Hue angle h_ab in degrees, 0..360, from the red axis towards yellow; 0 for an exact grey.
    pub fn hue_deg(self) -> f64 {
        let h_deg = math::atan2(self.b, self.a).to_degrees();
        if h_deg >= 0.0 {
            return h_deg;
        }
        // A tiny negative angle rounds to a full turn, which is no turn.
        let turned = h_deg + 360.0;
        if turned < 360.0 { turned } else { 0.0 }
    }

    /// Lightness, chroma and hue angle.
    pub fn lch(self) -> Lch {
        Lch { l: self.l, c: self.chroma(), h_deg: self.hue_deg() }
    }
}

impl Lch {
    /// Back to L\*, a\*, b\*.
    pub fn lab(self) -> Lab {
        let h = self.h_deg.to_radians();
        Lab { l: self.l, a: self.c * math::cos(h), b: self.c * math::sin(h) }
    }
}

/// CIELAB of a spectrum under a light, for an observer.
///
/// A perfect diffuser is exactly L\* 100, a\* 0, b\* 0.
///
/// ```
/// use colour::{Illuminant, Observer, Spectrum, lab};
/// let white = lab(&Spectrum::new([1.0; 31])?, Illuminant::A, Observer::Deg2);
/// assert_eq!((white.l, white.a, white.b), (100.0, 0.0, 0.0));
/// # Ok::<(), colour::ColourError>(())
/// ```
pub fn lab(spectrum: &Spectrum, illuminant: Illuminant, observer: Observer) -> Lab {
    Lab::from_xyz(weigh(spectrum.values(), table(illuminant, observer)), white(illuminant, observer))
}

/// [`lab`] of many spectra under one light, bit for bit the same.
pub fn lab_of_many(spectra: &[Spectrum], illuminant: Illuminant, observer: Observer) -> Vec<Lab> {
    let table = table(illuminant, observer);
    let white = white(illuminant, observer);
    let mut labs = Vec::with_capacity(spectra.len());
    for spectra in spectra.chunks(BLOCK) {
        // Sums first and cube roots after, each in a loop of its own, so that neighbours in memory
        // are neighbours in a vector register.
        let mut block = [white; BLOCK];
        for (xyz, spectrum) in block.iter_mut().zip(spectra) {
            *xyz = weigh(spectrum.values(), table);
        }
        let block = block.map(|xyz| Lab::from_xyz(xyz, white));
        labs.extend_from_slice(&block[..spectra.len()]);
    }
    labs
}

/// Spectra worked on together.
const BLOCK: usize = 32;

/// The function f of CIE 15:2018, 8.2.1.
#[inline]
fn compress(ratio: f64) -> f64 {
    let root = lane::cbrt(ratio);
    let line = SLOPE * ratio + START;
    if ratio > STRAIGHT_BELOW { root } else { line }
}

/// The inverse of [`compress`].
#[inline]
fn expand(f: f64) -> f64 {
    if f > 24.0 / 116.0 { f * f * f } else { (f - START) / SLOPE }
}
