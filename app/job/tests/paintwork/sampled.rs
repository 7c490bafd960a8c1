//! Areas of a picture: what is sampled is what stands there, and a picture that shows nothing says so.

use std::io::Cursor;

use image::{ImageFormat, Rgb, RgbImage};
use job::colour::brief::{PictureError, Place};
use job::colour::{Geometry, Illuminant, Observer, swatch, tristimulus};
use job::ids::Hash;
use job::photograph::PhotographError;
use job::sampled::{SampleError, Spot, sample};

/// What re-encoding a picture as JPEG may move the mean of an even area by, in codes (measured: under 1).
const JPEG: f64 = 1.5;

fn png(picture: &RgbImage) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// Three fields side by side: an invented copper at face, flash and flop.
fn panel() -> Vec<u8> {
    let fields = [[224, 132, 78], [150, 74, 40], [70, 34, 46]];
    png(&RgbImage::from_fn(600, 200, |x, _| Rgb(fields[(x / 200) as usize])))
}

fn spot(place: Place, x: f64) -> Spot {
    Spot { place, x, y: 0.5, radius: 0.05 }
}

fn spots() -> [Spot; 3] {
    [spot(Place::Face, 1.0 / 6.0), spot(Place::Flash, 0.5), spot(Place::Flop, 5.0 / 6.0)]
}

#[test]
fn the_areas_hold_what_stands_in_the_picture() {
    let sampled = sample("Copper", "copper.png", &panel(), &spots()).unwrap();
    for (area, codes) in sampled.areas.iter().zip([[224.0, 132.0, 78.0], [150.0, 74.0, 40.0], [70.0, 34.0, 46.0]]) {
        for (found, stands) in area.rgb.iter().zip(codes) {
            assert!((found - stands).abs() < JPEG, "{found} {stands}");
        }
        assert!(area.spread < JPEG);
        // A disc of 30 px radius: pi r^2 within its rim.
        assert!((f64::from(area.count) - 2827.0).abs() < 60.0, "{}", area.count);
    }
    assert_eq!((sampled.width_px, sampled.height_px), (600, 200));
    // Shown on a screen the made-up spectra give the picture's colours again.
    let angles = [Geometry::As15, Geometry::As45, Geometry::As110];
    for (geometry, area) in angles.into_iter().zip(&sampled.areas) {
        let (light, observer) = (Illuminant::D65, Observer::Deg10);
        let xyz = tristimulus(sampled.measurement.at(geometry).unwrap(), light, observer);
        let shown = swatch(xyz, light, observer);
        for (code, sampled) in [shown.r, shown.g, shown.b].into_iter().zip(area.rgb) {
            assert!((f64::from(code) - sampled).abs() <= 1.0, "{code} {sampled}");
        }
    }
}

#[test]
fn the_entry_says_that_a_picture_is_not_a_measurement_and_how_it_was_sampled() {
    let sampled = sample("Copper", "copper.png", &panel(), &spots()).unwrap();
    let measured = &sampled.measured;
    assert!(measured.is_picture());
    assert!(measured.doubts[0].starts_with("a picture is not a measurement"), "{}", measured.doubts[0]);
    assert_eq!((measured.source, measured.name.as_str()), (Hash::of(&sampled.picture), "Copper"));
    assert_eq!(measured.areas.iter().map(|a| a.place.as_str()).collect::<Vec<_>>(), ["face", "flash", "flop"]);
    assert_eq!(measured.areas[1].count, sampled.areas[1].count);
    assert_eq!(job::paint::measurement(measured).unwrap(), sampled.measurement);
    // Anybody can sample the kept picture again.
    let again = sample("Copper", "copper.jpg", &sampled.picture, &spots()).unwrap();
    for (one, other) in sampled.areas.iter().zip(&again.areas) {
        assert!(one.rgb.iter().zip(other.rgb).all(|(a, b)| (a - b).abs() < JPEG));
    }
}

#[test]
fn a_small_mark_at_the_rim_takes_what_is_there() {
    let rim = Spot { place: Place::Flop, x: 1.0, y: 1.0, radius: 0.002 };
    let sampled = sample("Flop", "p.png", &panel(), &[rim]).unwrap();
    assert!(sampled.areas[0].count >= 1 && sampled.areas[0].count < 6);
    assert!((sampled.areas[0].rgb[0] - 70.0).abs() < 4.0);
}

#[test]
fn an_uneven_area_is_told_by_its_spread() {
    let stripes =
        png(&RgbImage::from_fn(300, 300, |x, _| if x % 60 < 30 { Rgb([200, 100, 60]) } else { Rgb([80, 40, 24]) }));
    let sampled = sample("Stripes", "s.png", &stripes, &[Spot { radius: 0.2, ..spot(Place::Face, 0.5) }]).unwrap();
    // Half at 200, half at 80: the standard deviation is 60.
    assert!((sampled.areas[0].spread - 60.0).abs() < 3.0, "{}", sampled.areas[0].spread);
    assert!(sampled.measured.doubts.len() > 1);
}

#[test]
fn a_black_picture_and_a_burnt_out_one_show_no_colour() {
    let even = |code: u8| png(&RgbImage::from_pixel(100, 100, Rgb([code; 3])));
    let black = sample("x", "x.png", &even(0), &[spot(Place::Face, 0.5)]).unwrap_err();
    assert!(matches!(black, SampleError::Picture(PictureError::AllBlack { .. })), "{black}");
    let white = sample("x", "x.png", &even(255), &[spot(Place::Face, 0.5)]).unwrap_err();
    assert!(matches!(white, SampleError::Picture(PictureError::BurntOut { .. })), "{white}");
}

#[test]
fn marks_that_are_none_are_refused_in_words() {
    let refused = |spots: &[Spot]| sample("x", "x.png", &panel(), spots).unwrap_err().to_string();
    let face = spot(Place::Face, 0.2);
    assert!(refused(&[]).starts_with("no area of the picture was sampled"));
    assert_eq!(refused(&[Spot { x: 1.2, ..face }]), "the place from the left of the face is 1.2: it must be 0 to 1");
    assert!(refused(&[Spot { y: f64::NAN, ..face }]).starts_with("the place from the top of the face is NaN"));
    assert!(refused(&[Spot { radius: 0.4, ..face }]).ends_with("it must be 0.002 to 0.25"));
    assert!(refused(&[face, face]).contains("sampled twice"));
    assert!(refused(&[face; 4]).starts_with("4 areas were marked"));
    let no_picture = sample("x", "x.png", b"not a picture", &[face]).unwrap_err();
    assert!(matches!(no_picture, SampleError::Photograph(PhotographError::Unreadable(_))));
}

/// A picture of another colour space looks other than its codes say, so it is told.
#[test]
fn a_picture_with_a_profile_of_its_own_is_doubted() {
    use image::ImageEncoder;
    use image::codecs::png::PngEncoder;
    let with = |profile: &[u8]| {
        let picture = RgbImage::from_pixel(100, 100, Rgb([150, 74, 40]));
        let mut bytes = Vec::new();
        let mut encoder = PngEncoder::new(&mut bytes);
        encoder.set_icc_profile(profile.to_vec()).unwrap();
        encoder.write_image(picture.as_raw(), 100, 100, image::ExtendedColorType::Rgb8).unwrap();
        sample("x", "x.png", &bytes, &[spot(Place::Face, 0.5)]).unwrap().measured.doubts
    };
    let doubts = |profile: &[u8]| with(profile).iter().filter(|doubt| doubt.contains("profile")).count();
    assert_eq!(doubts(b"some header, a wide gamut"), 1);
    assert_eq!(doubts(b"some header, sRGB IEC61966-2.1"), 0);
    assert_eq!(doubts(b"header s\0R\0G\0B\0 in two bytes"), 0);
}
