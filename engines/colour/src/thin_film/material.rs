//! What flakes are made of.

use super::haematite::HAEMATITE;
use super::stack::Index;

/// Refractive index of the paint binder around a flake (common practice, no source).
pub const BINDER_INDEX: f64 = 1.5;

/// How much of the index of solid rutile a coat of small crystals reaches. An assumption without a
/// source: it puts the coat (2.44 at 550 nm) a little below a deposited film of anatase (2.52 there).
const FILM_DENSITY: f64 = 0.92;

/// The clear platelet inside a coated flake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Core {
    /// Mica, 1.58 at every wavelength: between natural muscovite (1.58 to 1.61 in its plane, 589 nm) and
    /// synthetic mica (1.54 to 1.55), from memory. Its dispersion is smaller than that spread.
    Mica,
    /// Soda lime glass (M. Rubin, Solar Energy Materials 12, 1985, 275-288).
    Glass,
    /// Alumina: sapphire, ordinary ray (Malitson and Dodge 1972; formula of Dodge 1986).
    Alumina,
    /// Fused silica (I. H. Malitson, J. Opt. Soc. Am. 55, 1965, 1205-1208).
    Silica,
}

impl Core {
    /// All four.
    pub const ALL: [Self; 4] = [Self::Mica, Self::Glass, Self::Alumina, Self::Silica];

    /// Index at a vacuum wavelength in nm; meant for 400 to 700.
    pub fn index(self, wavelength_nm: f64) -> Index {
        let um2 = wavelength_nm * wavelength_nm * 1e-6;
        let n = match self {
            Self::Mica => 1.58,
            Self::Glass => 1.5130 - 0.003_169 * um2 + 0.003_962 / um2,
            Self::Alumina => {
                sellmeier(um2, [(1.431_349_3, 0.072_663_1), (0.650_547_13, 0.119_324_2), (5.341_402_1, 18.028_251)])
            }
            Self::Silica => {
                sellmeier(um2, [(0.696_166_3, 0.068_404_3), (0.407_942_6, 0.116_241_4), (0.897_479_4, 9.896_161)])
            }
        };
        Index::known(n, 0.0)
    }
}

/// The layer on both faces of a coated flake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Coat {
    /// Titanium dioxide as flakes carry it: [`Coat::Rutile`] thinned to 0.92 of its index.
    Titania,
    /// Solid rutile, ordinary ray (J. R. DeVore, J. Opt. Soc. Am. 41, 1951, 416-419). His formula is
    /// fitted from 430 nm on; below that it is continued.
    Rutile,
    /// Anatase (I. Bodurov and others, Nanoscience & Nanotechnology 16, 2016, 31-33). Their formula is
    /// fitted to 405-635 nm; beyond that it is continued.
    Anatase,
    /// Iron oxide, which absorbs: haematite, ordinary ray (M. R. Querry, report CRDC-CR-85034, 1985).
    Haematite,
}

impl Coat {
    /// All four.
    pub const ALL: [Self; 4] = [Self::Titania, Self::Rutile, Self::Anatase, Self::Haematite];

    /// Index at a vacuum wavelength in nm; meant for 400 to 700. The table of haematite is held at its
    /// ends beyond that and read along straight lines within.
    pub fn index(self, wavelength_nm: f64) -> Index {
        let um2 = wavelength_nm * wavelength_nm * 1e-6;
        match self {
            Self::Titania => Index::known(FILM_DENSITY * rutile(um2), 0.0),
            Self::Rutile => Index::known(rutile(um2), 0.0),
            Self::Anatase => Index::known(sellmeier(um2, [(4.6796, 0.200_214_8)]), 0.0),
            Self::Haematite => haematite(wavelength_nm),
        }
    }
}

/// n^2 = 1 + sum of b um^2 / (um^2 - r^2), each resonance r in um.
fn sellmeier<const N: usize>(um2: f64, terms: [(f64, f64); N]) -> f64 {
    (1.0 + terms.iter().map(|(b, r)| b * um2 / (um2 - r * r)).sum::<f64>()).sqrt()
}

/// DeVore's ordinary ray.
fn rutile(um2: f64) -> f64 {
    (5.913 + 0.2441 / (um2 - 0.0803)).sqrt()
}

fn haematite(wavelength_nm: f64) -> Index {
    let place = ((wavelength_nm - 400.0) / 10.0).clamp(0.0, 30.0);
    let below = (place as usize).min(29);
    let part = place - below as f64;
    let [n, k] = [0, 1].map(|i| HAEMATITE[below][i] * (1.0 - part) + HAEMATITE[below + 1][i] * part);
    Index::known(n, k)
}
