//! Photographs and drawings: looked at before the typesetter sees them, so that a bad one costs a box
//! and not the dossier.

use std::io::Cursor;
use std::sync::Arc;

use image::codecs::jpeg::{JpegDecoder, JpegEncoder};
use image::{DynamicImage, ImageDecoder};
use typst::foundations::{Bytes, Smart};
use typst::visualize::{ExchangeFormat, RasterImage, SvgImage};

use crate::{MAX_DRAWING_BYTES, MAX_PHOTO_BYTES, MAX_PHOTO_PIXELS, PRINTED_PX};

/// Quality of a photograph that is made smaller: a rule in the picture can still be read.
const QUALITY: u8 = 84;

/// The picture at the size at which it is printed, if it is a JPEG within the limits that really decodes.
pub(crate) fn photograph(jpeg: &Arc<[u8]>) -> Option<Bytes> {
    if jpeg.len() > MAX_PHOTO_BYTES {
        return None;
    }
    let decoder = JpegDecoder::new(Cursor::new(jpeg)).ok()?;
    let (width_px, height_px) = decoder.dimensions();
    if !(1..=MAX_PHOTO_PIXELS).contains(&(u64::from(width_px) * u64::from(height_px))) {
        return None;
    }
    let bytes = if width_px.max(height_px) <= PRINTED_PX {
        Bytes::new(Arc::clone(jpeg))
    } else {
        Bytes::new(smaller(decoder)?)
    };
    // The typesetter asks for the same decoded picture again and finds this one.
    RasterImage::new(bytes.clone(), ExchangeFormat::Jpg, Smart::Auto).ok()?;
    Some(bytes)
}

fn smaller(decoder: impl ImageDecoder) -> Option<Vec<u8>> {
    let picture = DynamicImage::from_decoder(decoder).ok()?.thumbnail(PRINTED_PX, PRINTED_PX);
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, QUALITY).encode_image(&picture.into_rgb8()).ok()?;
    Some(bytes)
}

/// The drawing, if it is an SVG within the limits that can be read.
pub(crate) fn drawing(svg: &str) -> Option<Bytes> {
    if svg.len() > MAX_DRAWING_BYTES {
        return None;
    }
    let bytes = Bytes::from_string(svg.to_owned());
    SvgImage::new(bytes.clone()).ok()?;
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn jpeg(width: u32, height: u32) -> Arc<[u8]> {
        let picture = image::GrayImage::from_fn(width, height, |x, y| image::Luma([(x ^ y) as u8]));
        let mut bytes = Vec::new();
        JpegEncoder::new(&mut bytes).encode_image(&picture).expect("a JPEG can be made");
        bytes.into()
    }

    fn size(bytes: &[u8]) -> (u32, u32) {
        JpegDecoder::new(Cursor::new(bytes)).expect("a JPEG").dimensions()
    }

    #[test]
    fn a_small_photograph_is_kept_as_it_is_and_a_large_one_made_smaller() {
        let small = jpeg(PRINTED_PX, 300);
        assert_eq!(photograph(&small).expect("printed").as_slice(), &small[..]);
        let large = photograph(&jpeg(300, 2 * PRINTED_PX)).expect("printed");
        assert_eq!(size(&large), (150, PRINTED_PX));
    }

    #[test]
    fn what_is_no_jpeg_is_no_photograph() {
        let bad: [&[u8]; 6] = [
            b"",
            b"\xff\xd8",
            b"\x89PNG\r\n\x1a\n",
            b"\xff\xd8\xff\xc0\x00\x0b\x08",
            b"\xff\xd8\xff\xff\xff\xff",
            // A frame header alone, of 65 535 x 65 535.
            b"\xff\xd8\xff\xc0\x00\x0b\x08\xff\xff\xff\xff\x01\x01\x11\x00",
        ];
        for bytes in bad {
            assert!(photograph(&bytes.into()).is_none(), "{bytes:?}");
        }
    }

    #[test]
    fn what_is_no_svg_is_no_drawing() {
        assert!(drawing("").is_none());
        assert!(drawing("<svg").is_none());
        assert!(drawing("<svg xmlns='http://www.w3.org/2000/svg' width='1' height='1'/>").is_some());
    }
}
