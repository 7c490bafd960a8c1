//! Areas of a picture in place of a measurement: a wish to start from when no instrument was at hand.
//!
//! The picture is kept as [`crate::photograph`] keeps one, upright and without position data, and it is that
//! picture that is sampled, so that anybody can sample it again. Its codes are taken for sRGB (IEC 61966-2-1),
//! as the screen shows them.

use base::Warning;
use colour::Measurement;
use colour::brief::{Area, PictureError, Place, of_picture};
use image::RgbImage;

use crate::ids::Hash;
use crate::mixing::kept_doubts;
use crate::photograph::{self, PhotographError};
use crate::what::{GeometrySpectrum, Measured, SampledArea};

/// The least and the largest radius, as a part of the longer side: 5 to 600 px of the largest picture kept.
pub const RADIUS: std::ops::RangeInclusive<f64> = 0.002..=0.25;

/// An area that somebody marked in a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// What it shows of the panel.
    pub place: Place,
    /// Its middle from the left, as a part of the upright picture's width: 0 to 1.
    pub x: f64,
    /// Its middle from the top, as a part of the upright picture's height: 0 to 1.
    pub y: f64,
    /// Its radius, as a part of the longer side; see [`RADIUS`].
    pub radius: f64,
}

/// What was found in a picture.
#[derive(Debug, Clone)]
pub struct Sampled {
    /// The picture as it is to be kept, before the entry that names it.
    pub picture: Vec<u8>,
    /// Its width in px.
    pub width_px: u32,
    /// Its height in px.
    pub height_px: u32,
    /// The areas, in the order of the spots.
    pub areas: Vec<Area>,
    /// What the engine makes of them: their colours, on invented spectra.
    pub measurement: Measurement,
    /// What is doubtful; first, always, that a picture is not a measurement.
    pub doubts: Vec<Warning>,
    /// The entry that keeps it.
    pub measured: Measured,
}

/// Why a picture cannot be sampled.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SampleError {
    /// It is no picture that can be kept.
    #[error(transparent)]
    Photograph(#[from] PhotographError),
    /// The mark of an area is not in the picture.
    #[error("the {what} of the {place} is {value}: it must be {low} to {high}")]
    Spot {
        /// Which figure.
        what: &'static str,
        /// Of which area.
        place: Place,
        /// What came.
        value: f64,
        /// The lowest taken.
        low: f64,
        /// The highest taken.
        high: f64,
    },
    /// More areas than there are places.
    #[error("{0} areas were marked; one each of face, flash and flop is taken")]
    TooMany(usize),
    /// The areas hold no colour.
    #[error(transparent)]
    Picture(#[from] PictureError),
}

/// Samples up to three areas of a picture. `name` is what the paint is called, `file` what the picture is.
///
/// # Errors
/// When it is no picture, a mark lies outside it, a place comes twice, or an area is black or burnt out.
pub fn sample(name: &str, file: &str, bytes: &[u8], spots: &[Spot]) -> Result<Sampled, SampleError> {
    if spots.len() > Place::ALL.len() {
        return Err(SampleError::TooMany(spots.len()));
    }
    for spot in spots {
        let figures = [("place from the left", spot.x, 0.0..=1.0), ("place from the top", spot.y, 0.0..=1.0)];
        for (what, value, allowed) in figures.into_iter().chain([("radius", spot.radius, RADIUS)]) {
            if !allowed.contains(&value) {
                let (low, high) = (*allowed.start(), *allowed.end());
                return Err(SampleError::Spot { what, place: spot.place, value, low, high });
            }
        }
    }
    let ready = photograph::prepare(bytes)?;
    let picture = photograph::pixels(&ready.picture)?;
    let areas: Vec<Area> = spots.iter().map(|spot| area(&picture, spot)).collect();
    let mut pictured = of_picture(&areas)?;
    if photograph::is_of_other_colours(bytes) {
        pictured.warnings.push(Warning::new(
            "the picture carries a colour profile that is not sRGB, and its codes were read as sRGB: strong colours \
             come out paler than the camera saw them",
        ));
    }
    let spectra = pictured.measurement.by_angle().iter().map(|(geometry, spectrum)| GeometrySpectrum {
        geometry: geometry.to_string(),
        values: spectrum.values().to_vec(),
    });
    let measured = Measured {
        name: name.to_owned(),
        instrument: "Picture, no instrument".into(),
        file: file.to_owned(),
        source: Hash::of(&ready.picture),
        spectra: spectra.collect(),
        doubts: kept_doubts(&pictured.warnings),
        areas: spots.iter().zip(&areas).map(|(spot, area)| kept(spot, area)).collect(),
        note: String::new(),
    };
    Ok(Sampled {
        width_px: ready.width_px,
        height_px: ready.height_px,
        picture: ready.picture,
        areas,
        measurement: pictured.measurement,
        doubts: pictured.warnings,
        measured,
    })
}

fn kept(spot: &Spot, area: &Area) -> SampledArea {
    // Hundredths of a code are below what a picture holds, and short in the record.
    let hundredths = |value: f64| (value * 100.0).round() / 100.0;
    SampledArea {
        place: spot.place.key().to_owned(),
        x: spot.x,
        y: spot.y,
        radius: spot.radius,
        rgb: area.rgb.map(hundredths),
        spread: hundredths(area.spread),
        count: area.count,
    }
}

/// Mean and spread of the pixels whose middle lies in the disc; a disc smaller than a pixel takes the one it
/// lies in.
fn area(picture: &RgbImage, spot: &Spot) -> Area {
    let (width, height) = (f64::from(picture.width()), f64::from(picture.height()));
    let radius = spot.radius * width.max(height);
    let (x, y) = (spot.x * width, spot.y * height);
    let span = |middle: f64, side: u32| {
        // At most the picture's own sides, 2400 px, so that nothing is lost.
        let from = (middle - radius).floor().clamp(0.0, f64::from(side - 1)) as u32;
        let to = (middle + radius).floor().clamp(0.0, f64::from(side - 1)) as u32;
        from..=to
    };
    let mut sums = Sums::default();
    for row in span(y, picture.height()) {
        for column in span(x, picture.width()) {
            let (dx, dy) = (f64::from(column) + 0.5 - x, f64::from(row) + 0.5 - y);
            if dx * dx + dy * dy <= radius * radius {
                sums.take(picture, column, row);
            }
        }
    }
    if sums.count == 0 {
        let inside = |middle: f64, side: u32| middle.floor().clamp(0.0, f64::from(side - 1)) as u32;
        sums.take(picture, inside(x, picture.width()), inside(y, picture.height()));
    }
    let n = f64::from(sums.count.max(1));
    let rgb = sums.sum.map(|sum| sum / n);
    let spread = rgb
        .iter()
        .zip(sums.squares)
        .map(|(mean, squares)| (squares / n - mean * mean).max(0.0).sqrt())
        .fold(0.0, f64::max);
    Area { place: spot.place, rgb, spread, count: sums.count }
}

/// Codes and their squares, by channel, and how many pixels.
#[derive(Default)]
struct Sums {
    sum: [f64; 3],
    squares: [f64; 3],
    count: u32,
}

impl Sums {
    fn take(&mut self, picture: &RgbImage, column: u32, row: u32) {
        let Some(pixel) = picture.get_pixel_checked(column, row) else { return };
        for ((sum, squares), code) in self.sum.iter_mut().zip(&mut self.squares).zip(pixel.0) {
            *sum += f64::from(code);
            *squares += f64::from(code) * f64::from(code);
        }
        self.count += 1;
    }
}
