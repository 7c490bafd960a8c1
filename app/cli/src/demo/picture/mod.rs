//! Invented photographs: close-ups of sheet metal as a bench would take them, drawn from a scene and a seed.
//!
//! They show nothing that exists. Each carries the words "invented picture" on the rule that gives its scale.

mod harm;
mod noise;
mod rule;
mod scene;
mod sheet;

use image::codecs::jpeg::JpegEncoder;

use sheet::{HIGH, Sheet, WIDE};

pub(super) use scene::Scene;

/// Width of a picture in px.
const WIDE_PX: u32 = 2 * WIDE as u32;
/// Height of a picture in px.
const HIGH_PX: u32 = 2 * HIGH as u32;

/// The picture of a scene as JPEG, as a phone would send it.
///
/// # Errors
/// When it cannot be encoded.
pub(super) fn take(scene: Scene, seed: u32) -> Result<Vec<u8>, image::ImageError> {
    let (sheet, px_mm) = scene.stage(seed);
    let mut picture = enlarge(&sheet);
    rule::lay(&mut picture, px_mm, seed);
    let mut jpeg = Vec::new();
    picture.write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, 86))?;
    Ok(jpeg)
}

/// The lit sheet at twice its size, with the grain of a small sensor.
fn enlarge(sheet: &Sheet) -> image::RgbImage {
    let lit = sheet.lit();
    let at = |x: usize, y: usize| lit.get(y.min(HIGH - 1) * WIDE + x.min(WIDE - 1)).copied().unwrap_or_default();
    let mut picture = image::RgbImage::new(WIDE_PX, HIGH_PX);
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let (column, row) = (x as usize / 2, y as usize / 2);
        // Odd pixels lie half-way to the next point.
        let (right, down) = (column + (x as usize & 1), row + (y as usize & 1));
        let corners = [at(column, row), at(right, row), at(column, down), at(right, down)];
        let grain = 0.035 * (noise::at(x as i32, y as i32, sheet.seed + 51) - 0.5);
        let mut channels = [0.0; 3];
        for (index, channel) in channels.iter_mut().enumerate() {
            let mean = corners.iter().filter_map(|c| c.get(index)).sum::<f32>() / 4.0;
            // A square root stands for the usual encoding of brightness.
            *channel = (mean.sqrt() + grain).clamp(0.0, 1.0) * 255.0;
        }
        pixel.0 = channels.map(|c| c as u8);
    }
    picture
}
