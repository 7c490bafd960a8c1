//! A photograph as it comes from a phone, made ready to be kept.
//!
//! The picture is turned upright first and then encoded afresh, so that nothing but the picture itself is
//! kept: no position, no device, no time of the camera's own.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::{DynamicImage, ImageDecoder, ImageReader, Limits, RgbImage};

/// The most bytes a photograph may have as it comes.
pub const MAX_BYTES: usize = 40 * 1024 * 1024;
/// The most pixels a photograph may have as it comes.
pub const MAX_PIXELS: u64 = 120_000_000;
/// The longer side of the picture kept, in px.
pub const PICTURE_PX: u32 = 2400;
/// The longer side of the small picture kept, in px.
pub const THUMB_PX: u32 = 480;

/// A photograph made ready: two JPEG files without position data.
#[derive(Debug, Clone)]
pub struct Prepared {
    /// The picture, at most [`PICTURE_PX`] on its longer side.
    pub picture: Vec<u8>,
    /// The small picture, at most [`THUMB_PX`] on its longer side.
    pub thumb: Vec<u8>,
    /// Width of the picture in px.
    pub width_px: u32,
    /// Height of the picture in px.
    pub height_px: u32,
}

/// Why a file cannot be kept as a photograph.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhotographError {
    /// No bytes came.
    #[error("no photograph came with it: choose one, or take one")]
    Empty,
    /// More bytes than [`MAX_BYTES`].
    #[error("the photograph has {0} MB; at most 40 MB are taken. Send it smaller, or take it again at a lower setting")]
    TooLarge(usize),
    /// The phone's own format, which needs a licence to read.
    #[error(
        "this is a HEIC photograph, which this program cannot read. In the phone's camera settings choose JPEG (\"most compatible\") and take it again, or send it to yourself as JPEG"
    )]
    Heic,
    /// More pixels than [`MAX_PIXELS`].
    #[error("the picture is {width} x {height} pixels; at most 120 million pixels are taken. Send it smaller")]
    TooManyPixels {
        /// Its width.
        width: u32,
        /// Its height.
        height: u32,
    },
    /// Not a picture this program can read.
    #[error("this file cannot be read as a picture ({0}). JPEG, PNG and WebP are taken")]
    Unreadable(String),
}

/// Turns a photograph upright, makes it at most 2 400 px long, and encodes it afresh.
///
/// # Errors
/// When it is empty, too large, HEIC, or no picture.
pub fn prepare(bytes: &[u8]) -> Result<Prepared, PhotographError> {
    if bytes.is_empty() {
        return Err(PhotographError::Empty);
    }
    if bytes.len() > MAX_BYTES {
        return Err(PhotographError::TooLarge(bytes.len() / (1024 * 1024)));
    }
    if is_heic(bytes) {
        return Err(PhotographError::Heic);
    }
    let unreadable = |e: image::ImageError| PhotographError::Unreadable(e.to_string());
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|e| PhotographError::Unreadable(e.to_string()))?;
    // The size is checked from the header, before any memory is taken for the pixels.
    reader.limits(Limits::no_limits());
    let mut decoder = reader.into_decoder().map_err(unreadable)?;
    let (width, height) = decoder.dimensions();
    if u64::from(width) * u64::from(height) > MAX_PIXELS || width == 0 || height == 0 {
        return Err(PhotographError::TooManyPixels { width, height });
    }
    let orientation = decoder.orientation().map_err(unreadable)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(unreadable)?;
    picture.apply_orientation(orientation);
    let picture = shrink(DynamicImage::ImageRgb8(picture.into_rgb8()), PICTURE_PX, FilterType::CatmullRom);
    let thumb = shrink(picture.clone(), THUMB_PX, FilterType::Triangle);
    Ok(Prepared {
        width_px: picture.width(),
        height_px: picture.height(),
        picture: jpeg(&picture, 86)?,
        thumb: jpeg(&thumb, 80)?,
    })
}

/// Whether a picture says that its codes are not sRGB: it carries a colour profile (ICC.1) that does not name it,
/// in one byte a letter or two. What carries none, or cannot be read, says nothing.
pub(crate) fn is_of_other_colours(bytes: &[u8]) -> bool {
    let profile = || {
        let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format().ok()?;
        reader.limits(Limits::no_limits());
        reader.into_decoder().ok()?.icc_profile().ok()?
    };
    let names = |profile: &[u8], name: &[u8]| profile.windows(name.len()).any(|at| at == name);
    profile().is_some_and(|profile| !names(&profile, b"sRGB") && !names(&profile, b"s\0R\0G\0B"))
}

/// The pixels of a picture that [`prepare`] made.
///
/// # Errors
/// When it is no picture.
pub(crate) fn pixels(picture: &[u8]) -> Result<RgbImage, PhotographError> {
    let picture = image::load_from_memory(picture).map_err(|e| PhotographError::Unreadable(e.to_string()))?;
    Ok(picture.into_rgb8())
}

fn shrink(picture: DynamicImage, longer_px: u32, filter: FilterType) -> DynamicImage {
    if picture.width().max(picture.height()) <= longer_px {
        picture
    } else {
        picture.resize(longer_px, longer_px, filter)
    }
}

fn jpeg(picture: &DynamicImage, quality: u8) -> Result<Vec<u8>, PhotographError> {
    let mut bytes = Vec::new();
    picture
        .write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, quality))
        .map_err(|e| PhotographError::Unreadable(e.to_string()))?;
    Ok(bytes)
}

/// HEIC and HEIF files are ISO base media files whose brand says so (ISO/IEC 23008-12).
fn is_heic(bytes: &[u8]) -> bool {
    const BRANDS: [&[u8]; 8] = [b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"];
    bytes.get(4..8) == Some(b"ftyp") && bytes.get(8..12).is_some_and(|brand| BRANDS.contains(&brand))
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Rgb;

    fn png(width: u32, height: u32) -> Vec<u8> {
        let picture =
            RgbImage::from_fn(width, height, |x, _| if x < width / 2 { Rgb([250, 0, 0]) } else { Rgb([0, 0, 250]) });
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
        bytes.into_inner()
    }

    /// A JPEG with an Exif block that says "rotate by 90 degrees" and holds a position.
    fn turned_jpeg() -> Vec<u8> {
        let mut plain = Vec::new();
        let picture = image::load_from_memory(&png(64, 32)).unwrap();
        picture.write_with_encoder(JpegEncoder::new(&mut plain)).unwrap();
        let mut tiff = b"II*\0\x08\0\0\0\x02\0".to_vec();
        tiff.extend(b"\x12\x01\x03\0\x01\0\0\0\x06\0\0\0"); // orientation 6
        tiff.extend(b"\x25\x88\x04\0\x01\0\0\0\x26\0\0\0"); // where the position block stands
        tiff.extend(b"\0\0\0\0");
        tiff.extend(b"\x01\0\x01\0\x02\0\x02\0\0\0N\0\0\0\0\0\0\0"); // latitude reference
        let mut exif = b"Exif\0\0".to_vec();
        exif.extend(tiff);
        let length = u16::try_from(exif.len() + 2).unwrap().to_be_bytes();
        let mut bytes = plain[..2].to_vec();
        bytes.extend([0xff, 0xe1]);
        bytes.extend(length);
        bytes.extend(exif);
        bytes.extend(&plain[2..]);
        bytes
    }

    #[test]
    fn a_turned_photograph_is_set_upright_and_loses_its_position() {
        let source = turned_jpeg();
        assert!(source.windows(4).any(|w| w == b"Exif"), "the test picture must carry the block it is to lose");
        let ready = prepare(&source).unwrap();
        assert_eq!((ready.width_px, ready.height_px), (32, 64));
        assert!(!ready.picture.windows(4).any(|w| w == b"Exif"));
        let upright = image::load_from_memory(&ready.picture).unwrap().into_rgb8();
        // Orientation 6 is turned clockwise by 90 degrees: the left half, red, comes to the top.
        assert!(upright.get_pixel(16, 8)[0] > 200 && upright.get_pixel(16, 56)[2] > 200);
    }

    #[test]
    fn a_large_photograph_is_kept_at_2400_with_a_thumb() {
        let ready = prepare(&png(3000, 1000)).unwrap();
        assert_eq!((ready.width_px, ready.height_px), (2400, 800));
        assert_eq!(image::load_from_memory(&ready.thumb).unwrap().width(), 480);
    }

    #[test]
    fn heic_is_refused_in_clear_words() {
        let error = prepare(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").unwrap_err();
        assert_eq!(error, PhotographError::Heic);
        assert!(error.to_string().contains("JPEG"));
    }

    /// 30 000 x 30 000 in a few bytes: the header alone must be enough to refuse it.
    #[test]
    fn a_picture_of_30000_by_30000_is_refused_before_it_is_unpacked() {
        let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
        bytes.extend(30_000u32.to_be_bytes());
        bytes.extend(30_000u32.to_be_bytes());
        bytes.extend(b"\x08\x02\0\0\0");
        let mut crc = 0xffff_ffffu32;
        for byte in &bytes[12..] {
            crc ^= u32::from(*byte);
            for _ in 0..8 {
                crc = if crc & 1 == 1 { (crc >> 1) ^ 0xedb8_8320 } else { crc >> 1 };
            }
        }
        bytes.extend((!crc).to_be_bytes());
        bytes.extend(b"\0\0\0\x02IDAT\x78\x9c\0\0\0\0");
        assert_eq!(prepare(&bytes).unwrap_err(), PhotographError::TooManyPixels { width: 30_000, height: 30_000 });
    }

    #[test]
    fn what_is_no_picture_is_refused() {
        assert_eq!(prepare(b"").unwrap_err(), PhotographError::Empty);
        assert!(matches!(prepare(b"not a picture"), Err(PhotographError::Unreadable(_))));
        let truncated = &png(64, 64)[..60];
        assert!(matches!(prepare(truncated), Err(PhotographError::Unreadable(_))));
    }
}
