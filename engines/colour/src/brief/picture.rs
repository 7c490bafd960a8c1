//! Areas of a picture, taken for a measurement: a wish to start from, and no more.

use std::fmt;
use std::str::FromStr;

use base::{Warning, math};

use super::recolour::{newton, solve3, staged};
use crate::display::{SCREEN, adapt};
use crate::error::ColourError;
use crate::geometry::Geometry;
use crate::lab::Lab;
use crate::light::{Illuminant, Observer, Xyz, white};
use crate::measurement::Measurement;
use crate::spectrum::Spectrum;

/// Where on a car an area was sampled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// Where the panel shines brightest beside the mirror image of the sun: taken for 45as15.
    Face,
    /// Between: taken for 45as45.
    Flash,
    /// Where the panel turns away from the light: taken for 45as110.
    Flop,
}

impl Place {
    /// All three, from face to flop.
    pub const ALL: [Self; 3] = [Self::Face, Self::Flash, Self::Flop];

    /// The word for files and forms, which is the painter's.
    pub fn key(self) -> &'static str {
        match self {
            Self::Face => "face",
            Self::Flash => "flash",
            Self::Flop => "flop",
        }
    }

    /// The angle it is taken for.
    pub fn geometry(self) -> Geometry {
        match self {
            Self::Face => Geometry::As15,
            Self::Flash => Geometry::As45,
            Self::Flop => Geometry::As110,
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.key())
    }
}

impl FromStr for Place {
    type Err = PictureError;

    /// Reads `face`, `flash` or `flop`; blanks around it are accepted.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let key = text.trim();
        Self::ALL
            .into_iter()
            .find(|place| place.key() == key)
            .ok_or_else(|| PictureError::Place { text: text.to_owned() })
    }
}

/// One sampled area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Where.
    pub place: Place,
    /// Mean red, green and blue, sRGB codes 0 to 255, not rounded.
    pub rgb: [f64; 3],
    /// Standard deviation of the codes over the area, the largest of the three channels, 0 to 255.
    pub spread: f64,
    /// Pixels in the area, 1 or more.
    pub count: u32,
}

/// A measurement made up from a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Pictured {
    /// Smooth spectra with the colours of the areas. What lies between the colours is invented: their
    /// spectra should not be asked for, only their colours.
    pub measurement: Measurement,
    /// What is doubtful; first, always, that a picture is not a measurement.
    pub warnings: Vec<Warning>,
}

/// Why a picture gives no colour.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PictureError {
    /// No area.
    #[error("no area of the picture was sampled: mark at least one of face, flash and flop")]
    NoArea,
    /// A word that names no place.
    #[error("{text:?} is no place on a panel: must be face, flash or flop")]
    Place {
        /// The word given.
        text: String,
    },
    /// The same place twice.
    #[error("the {place} was sampled twice: sample each place once")]
    Twice {
        /// Which.
        place: Place,
    },
    /// An area of no pixels.
    #[error("the {place} holds no pixel: mark a larger area")]
    Empty {
        /// Which.
        place: Place,
    },
    /// A figure that no picture has.
    #[error("{what} of the {place} is {value}: it must be 0 to 255")]
    Code {
        /// Red, green, blue or the spread.
        what: &'static str,
        /// Where.
        place: Place,
        /// What came.
        value: f64,
    },
    /// Nothing but black.
    #[error(
        "every area is black (no code over {highest:.0} of 255): the picture shows no colour there; take one in \
         more light"
    )]
    AllBlack {
        /// The highest code of all.
        highest: f64,
    },
    /// A black area among others.
    #[error(
        "the {place} is black (no code over {highest:.0} of 255): the picture shows no colour there; mark a lighter \
         area, or leave the {place} out"
    )]
    Black {
        /// Which.
        place: Place,
        /// The highest code in it.
        highest: f64,
    },
    /// A burnt-out area.
    #[error(
        "the {place} is burnt out (every channel at {lowest:.0} of 255 or more): its colour is lost; mark an area \
         beside the glare, or take a darker picture"
    )]
    BurntOut {
        /// Which.
        place: Place,
        /// The lowest channel in it.
        lowest: f64,
    },
    /// Colours that make no measurement.
    #[error(transparent)]
    Colour(#[from] ColourError),
}

/// Highest code of an area that holds no colour: at 3 of 255 half a step of rounding is a sixth of it (our
/// choice).
const BLACK: f64 = 3.0;
/// Highest code under which noise and stray light make up much of a colour (our choice).
const DARK: f64 = 20.0;
/// Code from which a channel may have been cut off; a mean lies a little under the cut (our choice).
const CUT: f64 = 250.0;
/// Spread from which an area holds more than one colour (our choice: a flat panel out of focus stays under 10).
const UNEVEN: f64 = 25.0;
/// Pixels under which an area says little about a paint with flakes (our choice).
const FEW: u32 = 100;

/// A measurement of exactly the colours of some areas of a picture, at 45as15, 45as45 and 45as110.
///
/// The codes are decoded by IEC 61966-2-1 and carried from the screen's white to D65 for the 10 degree
/// observer by the Bradford adaptation, as [`crate::swatch`] does the other way round: shown as swatches the
/// spectra give the codes again. Each spectrum is a sigmoid of a parabola over the wavelength (Jakob and
/// Hanika, Comput. Graph. Forum 38(2), 2019, from memory), so it is smooth and lies between 0 and 1.
///
/// # Errors
/// [`PictureError`] when there is no area, a place comes twice, a figure is out of range, or an area is black
/// or burnt out.
pub fn of_picture(areas: &[Area]) -> Result<Pictured, PictureError> {
    check(areas)?;
    let mut warnings = vec![Warning::new(
        "a picture is not a measurement: light, exposure, white balance and the camera's own taste stand in these \
         colours, and the angles are guesses; measure the paint before anything is mixed from it",
    )];
    let mut by_angle = Vec::new();
    for area in areas {
        warnings.extend(doubts(area));
        let (spectrum, short) = spectrum(area.rgb)?;
        if short > 0.5 {
            warnings.push(Warning::new(format!(
                "{}: no smooth reflectance is as colourful as the picture there; held {short:.0} (CIELAB) greyer",
                area.place
            )));
        }
        by_angle.push((area.place.geometry(), spectrum));
    }
    Ok(Pictured { measurement: Measurement::new(by_angle)?, warnings })
}

/// Refuses what holds no colour.
fn check(areas: &[Area]) -> Result<(), PictureError> {
    if areas.is_empty() {
        return Err(PictureError::NoArea);
    }
    for (i, area) in areas.iter().enumerate() {
        let place = area.place;
        if areas.iter().take(i).any(|other| other.place == place) {
            return Err(PictureError::Twice { place });
        }
        if area.count == 0 {
            return Err(PictureError::Empty { place });
        }
        let [red, green, blue] = area.rgb;
        for (what, value) in [("red", red), ("green", green), ("blue", blue), ("the spread", area.spread)] {
            if !(0.0..=255.0).contains(&value) {
                return Err(PictureError::Code { what, place, value });
            }
        }
    }
    let most = areas.iter().map(highest).fold(0.0, f64::max);
    if most <= BLACK {
        return Err(PictureError::AllBlack { highest: most });
    }
    for area in areas {
        let (place, highest) = (area.place, highest(area));
        if highest <= BLACK {
            return Err(PictureError::Black { place, highest });
        }
        let lowest = area.rgb.iter().copied().fold(255.0, f64::min);
        if lowest >= CUT {
            return Err(PictureError::BurntOut { place, lowest });
        }
    }
    Ok(())
}

fn highest(area: &Area) -> f64 {
    area.rgb.iter().copied().fold(0.0, f64::max)
}

/// What is doubtful about an area.
fn doubts(area: &Area) -> Vec<Warning> {
    let mut doubts = Vec::new();
    let mut doubt = |text: String| doubts.push(Warning::new(text));
    let place = area.place;
    if highest(area) < DARK {
        doubt(format!("{place}: nearly black in the picture; its hue is mostly the camera's noise"));
    }
    let cut: Vec<&str> = ["red", "green", "blue"]
        .into_iter()
        .zip(area.rgb)
        .filter(|(_, code)| *code >= CUT)
        .map(|(name, _)| name)
        .collect();
    if !cut.is_empty() {
        doubt(format!(
            "{place}: {} at the picture's limit; the true colour may be brighter and of another hue",
            cut.join(" and ")
        ));
    }
    // Half of an area's codes can lie at the limit while their mean does not.
    if cut.is_empty() && highest(area) + 2.0 * area.spread >= 255.0 {
        doubt(format!("{place}: parts of the area may be burnt out; its mean would then be too dull"));
    }
    if area.spread > UNEVEN {
        doubt(format!(
            "{place}: very uneven (the codes spread by {:.0}); the area holds more than one colour, mark a smaller one",
            area.spread
        ));
    }
    if area.count < FEW {
        doubt(format!("{place}: {} pixels only; flakes and noise show in so small an area", area.count));
    }
    doubts
}

/// A smooth spectrum with the colour of some codes, and by how much (CIELAB) it is greyer than they are.
fn spectrum(rgb: [f64; 3]) -> Result<(Spectrum, f64), ColourError> {
    let wanted = lab_of_codes(rgb);
    let grey = Lab { a: 0.0, b: 0.0, ..wanted };
    // An even grey of that lightness, to start from.
    let level = grey.to_xyz(white(Illuminant::D65, Observer::Deg10)).y / 100.0;
    let start = [0.0, 0.0, unsigmoid(level)];
    let found =
        |wanted: Lab| newton(&sigmoid_curve, start, wanted).or_else(|| staged(&sigmoid_curve, start, grey, wanted));
    if let Some(k) = found(wanted) {
        return Ok((Spectrum::new(sigmoid_curve(k))?, 0.0));
    }
    // The very corners of the screen's colours need an edge too steep to be found: greyer until it is.
    let part = |part: f64| Lab { a: part * wanted.a, b: part * wanted.b, ..wanted };
    let (mut low, mut high, mut best) = (0.0, 1.0, start);
    for _ in 0..12 {
        let middle = 0.5 * (low + high);
        match found(part(middle)) {
            Some(k) => (low, best) = (middle, k),
            None => high = middle,
        }
    }
    Ok((Spectrum::new(sigmoid_curve(best))?, (1.0 - low) * wanted.chroma()))
}

/// A sigmoid of a parabola over the wavelength.
fn sigmoid_curve(k: [f64; 3]) -> [f64; 31] {
    std::array::from_fn(|i| {
        let x = (i as f64 - 15.0) / 15.0;
        let z = (k[0] * x + k[1]) * x + k[2];
        0.5 + 0.5 * z / (1.0 + z * z).sqrt()
    })
}

/// Where the sigmoid has a value over 0 and under 1.
fn unsigmoid(value: f64) -> f64 {
    let y = (2.0 * value - 1.0).clamp(-0.999_999, 0.999_999);
    y / (1.0 - y * y).sqrt()
}

/// CIELAB (D65, 10 degrees) of sRGB codes from 0 to 255.
fn lab_of_codes(rgb: [f64; 3]) -> Lab {
    let white = white(Illuminant::D65, Observer::Deg10);
    // What a swatch does to XYZ is one matrix: its columns, undone.
    let [x, y, z] = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)].map(|(x, y, z)| adapt(Xyz { x, y, z }, white));
    let to_screen = std::array::from_fn(|row| [x[row], y[row], z[row]]);
    let [x, y, z] = undone(to_screen, screen_xyz(rgb));
    Lab::from_xyz(Xyz { x, y, z }, white)
}

/// XYZ of sRGB codes from 0 to 255 as the screen sends them, its white at Y = 1.
fn screen_xyz(rgb: [f64; 3]) -> [f64; 3] {
    undone(SCREEN, rgb.map(|code| decode(code / 255.0)))
}

/// What a matrix makes a vector of; both that are undone here can be.
fn undone(m: [[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    solve3(m, v).unwrap_or(v)
}

/// The linear value of an sRGB code, 0..1 to 0..1 (IEC 61966-2-1, 5.2, from memory).
fn decode(encoded: f64) -> f64 {
    if encoded <= 0.040_45 { encoded / 12.92 } else { math::pow((encoded + 0.055) / 1.055, 2.4) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::display::swatch;
    use crate::light::tristimulus;

    // reference/colour/srgb.csv: IEC 61966-2-1.
    #[test]
    fn published_decoding_of_iec_61966() {
        let mut seen = 0;
        for line in include_str!("../../../../reference/colour/srgb.csv").lines().skip(1) {
            let cells: Vec<f64> = line.split(',').skip(1).filter_map(|cell| cell.parse().ok()).collect();
            let [linear, encoded] = cells[..] else { continue };
            // Half of the last digit printed of the code, at the curve's slope of at most 2.3.
            assert!((decode(encoded) - linear).abs() < 2.3 * 5e-5, "{line}: {}", decode(encoded));
            seen += 1;
        }
        assert_eq!(seen, 4);
    }

    // palette 0.7: its own sRGB decoding.
    #[test]
    fn oracle_palette_decodes_the_same() {
        for code in 0..=255_u8 {
            let encoded = f64::from(code) / 255.0;
            let other = palette::Srgb::new(encoded, encoded, encoded).into_linear::<f64>().red;
            assert!((decode(encoded) - other).abs() < 1e-12, "{code}: {} {other}", decode(encoded));
        }
    }

    // palette 0.7: XYZ of sRGB. Its matrix comes from the primaries and the white's chromaticity to four digits, and
    // both whites differ in the fourth digit: 5e-4 of XYZ at 1.
    #[test]
    fn oracle_palette_gives_the_same_xyz() {
        use palette::IntoColor;
        for rgb in [[255.0, 0.0, 0.0], [0.0, 255.0, 0.0], [0.0, 0.0, 255.0], [200.0, 120.0, 40.0], [255.0; 3]] {
            let [r, g, b] = rgb.map(|code: f64| code / 255.0);
            let other: palette::Xyz<palette::white_point::D65, f64> = palette::Srgb::new(r, g, b).into_color();
            let own = screen_xyz(rgb);
            for (own, other) in own.iter().zip([other.x, other.y, other.z]) {
                assert!((own - other).abs() < 5e-4, "{rgb:?}: {own} {other}");
            }
        }
    }

    #[test]
    fn invariant_a_swatch_of_the_spectrum_is_the_picture_again() {
        let mut short: f64 = 0.0;
        let steps = [4.0, 13.0, 40.0, 90.0, 140.0, 190.0, 230.0, 249.0];
        for r in steps {
            for g in steps {
                for b in steps {
                    let (spectrum, off) = spectrum([r, g, b]).unwrap();
                    assert!(spectrum.values().iter().all(|v| (0.0..=1.0).contains(v)));
                    let shown = swatch(
                        tristimulus(&spectrum, Illuminant::D65, Observer::Deg10),
                        Illuminant::D65,
                        Observer::Deg10,
                    );
                    short = short.max(off);
                    if off == 0.0 {
                        assert_eq!([r, g, b].map(|code| code as u8), [shown.r, shown.g, shown.b]);
                    }
                }
            }
        }
        assert!(short < 1.0, "the screen's corners are {short} short");
    }
}
