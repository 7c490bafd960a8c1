//! Photographs as they come from phones, beside the cases that stand with the code.

use std::io::Cursor;

use image::{DynamicImage, ImageFormat, Rgba, RgbaImage};
use job::photograph::{MAX_BYTES, PhotographError, prepare};
use proptest::prelude::*;

fn encoded(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
    let picture = RgbaImage::from_fn(width, height, |x, y| Rgba([(x % 256) as u8, (y % 256) as u8, 90, 255]));
    let mut bytes = Cursor::new(Vec::new());
    let picture = DynamicImage::ImageRgba8(picture);
    let picture = if format == ImageFormat::Jpeg { DynamicImage::ImageRgb8(picture.into_rgb8()) } else { picture };
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

#[test]
fn jpeg_png_and_webp_are_taken_and_come_out_as_jpeg() {
    for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP] {
        let ready = prepare(&encoded(120, 80, format)).unwrap();
        assert_eq!((ready.width_px, ready.height_px), (120, 80));
        for kept in [&ready.picture, &ready.thumb] {
            assert_eq!(image::guess_format(kept).unwrap(), ImageFormat::Jpeg);
        }
    }
}

#[test]
fn a_sliver_keeps_a_pixel_of_its_width() {
    let ready = prepare(&encoded(6000, 1, ImageFormat::Png)).unwrap();
    assert_eq!((ready.width_px, ready.height_px), (2400, 1));
    let thumb = image::load_from_memory(&ready.thumb).unwrap();
    assert_eq!((thumb.width(), thumb.height()), (480, 1));
}

#[test]
fn more_bytes_than_are_taken_are_refused_unread() {
    assert_eq!(prepare(&vec![0; MAX_BYTES + 1]).unwrap_err(), PhotographError::TooLarge(40));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// Cut off or with a byte changed: taken or refused in words, never a panic.
    #[test]
    fn invariant_a_damaged_photograph_does_not_panic(
        format in prop::sample::select(vec![ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP]),
        cut in any::<prop::sample::Index>(),
        byte in any::<prop::sample::Index>(),
        value in any::<u8>(),
    ) {
        let whole = encoded(40, 30, format);
        let mut damaged = whole.clone();
        damaged[byte.index(whole.len())] = value;
        for bytes in [&whole[..cut.index(whole.len())], &damaged] {
            if let Err(refused) = prepare(bytes) {
                prop_assert!(!refused.to_string().is_empty());
            }
        }
    }
}
