//! A paint on a curved panel, as it is printed and as it is sent where every byte counts.

use std::sync::Arc;

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use job::colour::preview::{Panel, Picture, View};
use job::paintwork::preview::Painted;

/// The size at which a panel is printed, px: 240 dots an inch over half the width of a sheet.
const PRINTED: [usize; 2] = [800, 450];

/// The most panels that are printed.
pub(crate) const MOST: usize = 4;

/// A paint on the panel, to be drawn when the sheets are set.
#[derive(Debug, Clone)]
pub struct PanelPicture {
    /// The paint in its light.
    pub painted: Arc<Painted>,
    /// How far the panel is turned, degrees; the same as on the pages.
    pub turn_deg: f64,
    /// The light and the turn in words, such as "Sun, face".
    pub words: String,
}

/// The picture as a PNG file for the sheets; `None` when it could not be written.
pub(crate) fn printed(picture: &PanelPicture) -> Option<Vec<u8>> {
    let [width, height] = PRINTED;
    let view = View { turn_deg: picture.turn_deg, tilt_deg: 0.0, width, height, mark: false };
    small_png(&Picture::draw(Panel::usual(), &picture.painted.sphere, None, view)).ok()
}

/// A picture as a PNG file of few bytes: it takes about five times as long to write as the one that the pages of
/// the shop send, and is about half as large.
///
/// # Errors
/// When the picture's bytes are not those of its size, which no drawn picture's are.
pub fn small_png(picture: &Picture) -> Result<Vec<u8>, image::ImageError> {
    let mut bytes = Vec::new();
    let (width, height) = (picture.width as u32, picture.height as u32);
    PngEncoder::new_with_quality(&mut bytes, CompressionType::Best, FilterType::Adaptive).write_image(
        &picture.rgb,
        width,
        height,
        ExtendedColorType::Rgb8,
    )?;
    Ok(bytes)
}
