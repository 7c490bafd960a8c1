//! Illuminants, observers, and tristimulus values by ASTM E308.

use std::fmt;
use std::str::FromStr;

use crate::error::ColourError;
use crate::spectrum::Spectrum;
use crate::weights::{self, Weights};

/// A light under which a colour is judged; the three that ISO 3668 asks for (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Illuminant {
    /// CIE standard illuminant D65, average daylight.
    D65,
    /// CIE standard illuminant A, a tungsten lamp.
    A,
    /// CIE illuminant FL11, a three-band shop tube of 4000 K.
    Fl11,
}

/// A CIE standard observer, by the angle the colour fills.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Observer {
    /// CIE 1931, 2 degrees.
    Deg2,
    /// CIE 1964, 10 degrees; the usual one for paint.
    Deg10,
}

impl Illuminant {
    /// All three, daylight first.
    pub const ALL: [Self; 3] = [Self::D65, Self::A, Self::Fl11];
}

impl Observer {
    /// Both, the narrower first.
    pub const ALL: [Self; 2] = [Self::Deg2, Self::Deg10];
}

impl fmt::Display for Illuminant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::D65 => "D65",
            Self::A => "A",
            Self::Fl11 => "FL11",
        })
    }
}

impl FromStr for Illuminant {
    type Err = ColourError;

    /// Reads `D65`, `A` or `FL11`.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim() {
            "D65" => Ok(Self::D65),
            "A" => Ok(Self::A),
            "FL11" => Ok(Self::Fl11),
            _ => Err(ColourError::Illuminant { text: text.to_owned() }),
        }
    }
}

impl fmt::Display for Observer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Deg2 => "2",
            Self::Deg10 => "10",
        })
    }
}

impl FromStr for Observer {
    type Err = ColourError;

    /// Reads `2` or `10`.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim() {
            "2" => Ok(Self::Deg2),
            "10" => Ok(Self::Deg10),
            _ => Err(ColourError::Observer { text: text.to_owned() }),
        }
    }
}

/// CIE tristimulus values, Y being 100 for a perfect diffuser.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Xyz {
    /// X.
    pub x: f64,
    /// Y, the luminance factor in percent.
    pub y: f64,
    /// Z.
    pub z: f64,
}

/// Tristimulus values of a spectrum under a light, for an observer.
///
/// ASTM E308, weights at 10 nm for 360 to 780 nm; since the spectrum covers 400 to 700 nm only, the
/// weights outside are added to the end ones, as E308 says. The weights are those of
/// `reference/colour/weights.csv`.
pub fn tristimulus(spectrum: &Spectrum, illuminant: Illuminant, observer: Observer) -> Xyz {
    weigh(spectrum.values(), table(illuminant, observer))
}

/// Tristimulus values of the perfect diffuser: the sums of the weights, Y = 100.
///
/// They are the white that [`crate::Lab`] refers to, so that a perfect diffuser is exactly L\* 100,
/// a\* 0, b\* 0.
pub fn white(illuminant: Illuminant, observer: Observer) -> Xyz {
    match (illuminant, observer) {
        (Illuminant::D65, Observer::Deg2) => const { weigh(&[1.0; 31], &weights::D65_2) },
        (Illuminant::D65, Observer::Deg10) => const { weigh(&[1.0; 31], &weights::D65_10) },
        (Illuminant::A, Observer::Deg2) => const { weigh(&[1.0; 31], &weights::A_2) },
        (Illuminant::A, Observer::Deg10) => const { weigh(&[1.0; 31], &weights::A_10) },
        (Illuminant::Fl11, Observer::Deg2) => const { weigh(&[1.0; 31], &weights::FL11_2) },
        (Illuminant::Fl11, Observer::Deg10) => const { weigh(&[1.0; 31], &weights::FL11_10) },
    }
}

/// The weights for one light and observer.
pub(crate) fn table(illuminant: Illuminant, observer: Observer) -> &'static Weights {
    match (illuminant, observer) {
        (Illuminant::D65, Observer::Deg2) => &weights::D65_2,
        (Illuminant::D65, Observer::Deg10) => &weights::D65_10,
        (Illuminant::A, Observer::Deg2) => &weights::A_2,
        (Illuminant::A, Observer::Deg10) => &weights::A_10,
        (Illuminant::Fl11, Observer::Deg2) => &weights::FL11_2,
        (Illuminant::Fl11, Observer::Deg10) => &weights::FL11_10,
    }
}

/// The weighted sums. One function for whites and spectra alike, so that both round the same way.
#[inline]
pub(crate) const fn weigh(radiance_factors: &[f64; 31], weights: &Weights) -> Xyz {
    let mut sums = [0.0; 3];
    let mut i = 0;
    while i < 31 {
        let factor = radiance_factors[i];
        sums[0] += factor * weights[i][0];
        sums[1] += factor * weights[i][1];
        sums[2] += factor * weights[i][2];
        i += 1;
    }
    Xyz { x: sums[0], y: sums[1], z: sums[2] }
}

#[cfg(test)]
mod tests {
    use super::{Illuminant, Observer, table};

    #[test]
    fn invariant_display_and_parse_are_inverse() {
        for illuminant in Illuminant::ALL {
            assert_eq!(illuminant.to_string().parse::<Illuminant>().unwrap(), illuminant);
        }
        for observer in Observer::ALL {
            assert_eq!(observer.to_string().parse::<Observer>().unwrap(), observer);
        }
        assert!("D50".parse::<Illuminant>().is_err());
        assert!("5".parse::<Observer>().is_err());
    }

    /// The embedded table and the data file come from one run of the generator.
    #[test]
    fn weights_are_those_of_the_data_file() {
        let text = include_str!("../../../reference/colour/weights.csv");
        let mut rows = 0;
        for line in text.lines().skip(1) {
            let mut cells = line.split(',');
            let illuminant = cells.next().unwrap().parse().unwrap();
            let observer = cells.next().unwrap().parse().unwrap();
            let axis = match cells.next().unwrap() {
                "X" => 0,
                "Y" => 1,
                "Z" => 2,
                other => panic!("axis {other}"),
            };
            let file: Vec<f64> = cells.map(|cell| cell.parse().unwrap()).collect();
            let embedded: Vec<f64> = table(illuminant, observer).iter().map(|weights| weights[axis]).collect();
            assert_eq!(file, embedded, "{illuminant} {observer} {axis}");
            rows += 1;
        }
        assert_eq!(rows, 18);
    }
}
