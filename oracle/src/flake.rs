use crate::error::{Error, within};
use crate::slopes::Slopes;

/// Steps of the cosine of incidence in a table of a flake's faces.
const STEPS: usize = 128;

/// What a flake's face does with light of one wavelength at one incidence; the rest goes straight on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    /// Share sent back as from a mirror.
    pub reflectance: f64,
    /// Share kept.
    pub absorptance: f64,
}

/// Flat mirrors in the binder, for `N` wavelengths.
#[derive(Debug, Clone, PartialEq)]
pub struct Flake<const N: usize> {
    area_per_um: f64,
    slopes: Slopes,
    faces: Faces<N>,
}

/// Reflectance, and reflectance plus absorptance, over the cosine of incidence.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Faces<const N: usize> {
    reflected: Vec<[f64; N]>,
    stopped: Vec<[f64; N]>,
}

impl<const N: usize> Flake<N> {
    /// Flakes of `area_per_um` (area seen from above, per volume; 0 to 100), whose face does not
    /// change with the incidence.
    pub fn plain(area_per_um: f64, slopes: Slopes, faces: [Face; N]) -> Result<Self, Error> {
        Self::of(area_per_um, slopes, 1, |wavelength, _| faces[wavelength])
    }

    /// Flakes whose face is given by wavelength (counted from 0) and cosine of incidence in the film.
    pub fn by_angle(area_per_um: f64, slopes: Slopes, face: impl Fn(usize, f64) -> Face) -> Result<Self, Error> {
        Self::of(area_per_um, slopes, STEPS + 1, face)
    }

    fn of(area: f64, slopes: Slopes, nodes: usize, face: impl Fn(usize, f64) -> Face) -> Result<Self, Error> {
        let area_per_um = within("flake area, 1/um", area, 0.0, 100.0)?;
        let mut reflected = vec![[0.0; N]; nodes];
        let mut stopped = vec![[0.0; N]; nodes];
        for node in 0..nodes {
            for wavelength in 0..N {
                let Face { reflectance, absorptance } = face(wavelength, node as f64 / STEPS as f64);
                let reflectance = within("reflectance of a flake", reflectance, 0.0, 1.0)?;
                let sum = reflectance + within("absorptance of a flake", absorptance, 0.0, 1.0)?;
                // A rounding of the last bit is no surplus of light.
                if sum > 1.0 + 1e-9 {
                    return Err(Error::TooMuchLight { wavelength, sum });
                }
                reflected[node][wavelength] = reflectance;
                stopped[node][wavelength] = sum.min(1.0);
            }
        }
        Ok(Self { area_per_um, slopes, faces: Faces { reflected, stopped } })
    }

    pub(crate) fn area_per_um(&self) -> f64 {
        self.area_per_um
    }

    pub(crate) fn slopes(&self) -> Slopes {
        self.slopes
    }

    pub(crate) fn faces(&self) -> &Faces<N> {
        &self.faces
    }
}

impl<const N: usize> Faces<N> {
    /// Whether every incidence is alike.
    pub(crate) fn are_plain(&self) -> bool {
        self.reflected.len() == 1
    }

    /// Reflectance at a cosine of incidence in 0..=1.
    #[inline]
    pub(crate) fn reflected(&self, cosine: f64) -> [f64; N] {
        between(&self.reflected, cosine)
    }

    /// Reflectance plus absorptance at a cosine of incidence in 0..=1.
    pub(crate) fn stopped(&self, cosine: f64) -> [f64; N] {
        between(&self.stopped, cosine)
    }
}

/// The value at `share` of the way through a table of even steps, by straight lines; ends are held.
#[inline]
pub(crate) fn between<const N: usize>(table: &[[f64; N]], share: f64) -> [f64; N] {
    let last = table.len() - 1;
    if last == 0 {
        return table[0];
    }
    let place = (share * last as f64).clamp(0.0, last as f64);
    let low = (place as usize).min(last - 1);
    let part = place - low as f64;
    let (a, b) = (&table[low], &table[low + 1]);
    let mut out = [0.0; N];
    for ((out, a), b) in out.iter_mut().zip(a).zip(b) {
        *out = a + part * (b - a);
    }
    out
}
