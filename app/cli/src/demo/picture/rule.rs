//! The steel rule along the lower edge that gives the scale, and the words on it.

use super::noise::{at, smooth, step};
use super::{HIGH_PX, WIDE_PX};

/// How wide the rule shows, in mm.
const SHOWS_MM: f32 = 15.0;
/// What the picture is, so that it stays true wherever it is copied to.
const WORDS: &str = "INVENTED PICTURE";

/// Lays the rule over a picture of `px_mm` pixels to the mm.
pub(super) fn lay(picture: &mut image::RgbImage, px_mm: f32, seed: u32) {
    let edge = HIGH_PX as f32 - SHOWS_MM * px_mm;
    // Nobody lays a rule down quite straight.
    let slope = (at(1, 1, seed) - 0.5) * 0.016;
    let start = -(6.0 + 20.0 * at(2, 2, seed)) * px_mm;
    for (x, y, pixel) in picture.enumerate_pixels_mut() {
        let down = y as f32 - edge - slope * (x as f32 - WIDE_PX as f32 / 2.0);
        if down < -9.0 {
            continue;
        }
        if down < 0.0 {
            let shade = 1.0 - 0.45 * step(-9.0, 0.0, down);
            pixel.0 = pixel.0.map(|c| (f32::from(c) * shade) as u8);
            continue;
        }
        let along_mm = (x as f32 - start) / px_mm;
        let down_mm = down / px_mm;
        let grain = smooth(x as f32 * 0.02, y as f32 * 0.9, seed + 41) - 0.5;
        let fall = 1.05 - 0.25 * x as f32 / WIDE_PX as f32;
        let mut bright = (0.70 + 0.09 * grain + 0.18 * step(1.6, 0.0, down)) * fall;
        bright *=
            1.0 - 0.82 * tick(along_mm, down_mm, px_mm).max(figure(along_mm, down_mm)).max(words(along_mm, down_mm));
        let v = (bright.clamp(0.0, 1.0) * 255.0) as u8;
        pixel.0 = [v, v, (f32::from(v) * 0.985) as u8];
    }
}

/// 1 on a line of the scale: each mm, longer at 5, longest at 10.
fn tick(along_mm: f32, down_mm: f32, px_mm: f32) -> f32 {
    let nearest = along_mm.round();
    let long = match nearest as i32 {
        n if n % 10 == 0 => 6.2,
        n if n % 5 == 0 => 4.6,
        _ => 3.2,
    };
    if down_mm > long {
        return 0.0;
    }
    let half_mm = (0.62 / px_mm).max(0.07);
    step(half_mm + 0.9 / px_mm, half_mm, (along_mm - nearest).abs())
}

/// 1 on a numeral beside each tenth mm.
fn figure(along_mm: f32, down_mm: f32) -> f32 {
    if !(4.0..6.4).contains(&down_mm) {
        return 0.0;
    }
    let ten = ((along_mm - 0.5) / 10.0).floor();
    let left = along_mm - 10.0 * ten - 0.8;
    lettered(&format!("{}", (10.0 * ten) as i32), left, down_mm - 4.0, 0.33)
}

fn words(along_mm: f32, down_mm: f32) -> f32 {
    // Said every 90 mm, so that it is read once wherever the rule lies.
    let left = (along_mm - 14.0).rem_euclid(90.0);
    lettered(WORDS, left, down_mm - 8.8, 0.42)
}

/// 1 where a letter of `text` has ink; `x` and `y` in mm from its upper left corner, `dot` mm to a dot.
fn lettered(text: &str, x: f32, y: f32, dot: f32) -> f32 {
    let (column, row) = ((x / dot).floor(), (y / dot).floor());
    if column < 0.0 || !(0.0..7.0).contains(&row) {
        return 0.0;
    }
    let (letter, column) = ((column as usize) / 6, (column as usize) % 6);
    let Some(letter) = text.chars().nth(letter) else { return 0.0 };
    let bits = dots(letter).get(row as usize).copied().unwrap_or(0);
    if column < 5 && bits >> (4 - column) & 1 == 1 { 1.0 } else { 0.0 }
}

/// A letter as seven rows of five dots.
fn dots(letter: char) -> [u8; 7] {
    match letter {
        '0' => [14, 17, 19, 21, 25, 17, 14],
        '1' => [4, 12, 4, 4, 4, 4, 14],
        '2' => [14, 17, 1, 6, 8, 16, 31],
        '3' => [14, 17, 1, 6, 1, 17, 14],
        '4' => [2, 6, 10, 18, 31, 2, 2],
        '5' => [31, 16, 30, 1, 1, 17, 14],
        '6' => [14, 16, 30, 17, 17, 17, 14],
        '7' => [31, 1, 2, 4, 8, 8, 8],
        '8' => [14, 17, 17, 14, 17, 17, 14],
        '9' => [14, 17, 17, 15, 1, 1, 14],
        'C' => [14, 17, 16, 16, 16, 17, 14],
        'D' => [30, 17, 17, 17, 17, 17, 30],
        'E' => [31, 16, 16, 30, 16, 16, 31],
        'I' => [14, 4, 4, 4, 4, 4, 14],
        'N' => [17, 25, 25, 21, 19, 19, 17],
        'P' => [30, 17, 17, 30, 16, 16, 16],
        'R' => [30, 17, 17, 30, 20, 18, 17],
        'T' => [31, 4, 4, 4, 4, 4, 4],
        'U' => [17, 17, 17, 17, 17, 17, 14],
        'V' => [17, 17, 17, 17, 10, 10, 4],
        _ => [0; 7],
    }
}
