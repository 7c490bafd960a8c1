//! The panel drawn: an orthographic picture, pixel by pixel from the sphere.

use std::ops::Range;
use std::sync::LazyLock;

use base::math;

use super::panel::Panel;
use super::sphere::{Sphere, side_by_side};

/// Millimetres across the picture's width.
pub const WIDTH_MM: f64 = 1000.0;
/// The neutral grey around the panel, L* 50.
pub const BACKGROUND: [u8; 3] = [119, 119, 119];
/// The largest picture, in pixels each way; a larger one is drawn at this.
pub const LARGEST: usize = 2048;

/// Linear values outside of this are past what the screen can show.
const SCREEN_LOW: f64 = -0.002;
const SCREEN_HIGH: f64 = 1.002;
/// Most bands of rows that are drawn at once.
const MOST_BANDS: usize = 8;

/// How the panel is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Turned about the upright axis, degrees, the right edge away from the eye when positive.
    pub turn_deg: f64,
    /// Then tilted about the level axis, degrees, the top towards the eye when positive.
    pub tilt_deg: f64,
    /// Pixels across, 1 to [`LARGEST`].
    pub width: usize,
    /// Pixels down, 1 to [`LARGEST`].
    pub height: usize,
    /// Whether areas that the screen cannot show are marked with a checker.
    pub mark: bool,
}

/// A drawn panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Red, green and blue of every pixel, from the upper left, row by row.
    pub rgb: Vec<u8>,
    /// Pixels of the panel.
    pub panel_pixels: usize,
    /// Those of them that the screen cannot show.
    pub outside_pixels: usize,
}

/// The linear values from which on the next of the 256 codes of sRGB is nearest.
static STEPS: LazyLock<[f64; 255]> = LazyLock::new(|| {
    std::array::from_fn(|code| {
        let encoded = (code as f64 + 0.5) / 255.0;
        // IEC 61966-2-1, as in `display`.
        if encoded <= 0.040_45 { encoded / 12.92 } else { math::pow((encoded + 0.055) / 1.055, 2.4) }
    })
});

fn code(steps: &[f64; 255], linear: f64) -> u8 {
    steps.partition_point(|step| *step <= linear) as u8
}

/// A vertex in the picture: pixels right and down, mm to the eye, and its normal.
#[derive(Debug, Clone, Copy)]
struct Corner {
    x: f64,
    y: f64,
    z: f64,
    normal: [f64; 3],
}

/// A panel turned, tilted and laid out over the pixels.
struct Laid<'a> {
    panel: &'a Panel,
    corners: Vec<Corner>,
    width: usize,
    height: usize,
}

/// What a pixel sees: how near, and the normal there.
#[derive(Debug, Clone, Copy)]
struct Seen {
    z: f64,
    normal: [f64; 3],
}

impl<'a> Laid<'a> {
    fn out(panel: &'a Panel, view: View) -> Self {
        let (width, height) = (view.width.clamp(1, LARGEST), view.height.clamp(1, LARGEST));
        let scale = width as f64 / WIDTH_MM;
        let angle = |deg: f64| if deg.is_finite() { deg.clamp(-180.0, 180.0).to_radians() } else { 0.0 };
        let (turn, tilt) = (angle(view.turn_deg), angle(view.tilt_deg));
        let (sin_turn, cos_turn, sin_tilt, cos_tilt) =
            (math::sin(turn), math::cos(turn), math::sin(tilt), math::cos(tilt));
        // About the upright axis, then about the level one.
        let turned = |v: [f32; 3]| -> [f64; 3] {
            let [x, y, z] = v.map(f64::from);
            let (x, z) = (cos_turn * x + sin_turn * z, cos_turn * z - sin_turn * x);
            [x, cos_tilt * y - sin_tilt * z, sin_tilt * y + cos_tilt * z]
        };
        let corner = |(position, normal): (&[f32; 3], &[f32; 3])| {
            let [x, y, z] = turned(*position);
            let (x, y) = (width as f64 / 2.0 + x * scale, height as f64 / 2.0 - y * scale);
            Corner { x, y, z, normal: turned(*normal) }
        };
        Self { panel, corners: panel.positions.iter().zip(&panel.normals).map(corner).collect(), width, height }
    }

    /// What every pixel of some rows sees; the panel is seen from its outside only.
    fn seen(&self, rows: Range<usize>) -> Vec<Option<Seen>> {
        let mut seen: Vec<Option<Seen>> = vec![None; rows.len() * self.width];
        for triangle in &self.panel.triangles {
            let [Some(a), Some(b), Some(c)] = triangle.map(|i| self.corners.get(i as usize)) else { continue };
            // Twice the area; y runs down here, so a triangle that faces the eye counts negative.
            let area = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
            if area > -1e-12 {
                continue;
            }
            // Pixels whose centre lies within.
            let span = |values: [f64; 3], low: usize, high: usize| {
                let (least, most) =
                    (values.iter().copied().fold(f64::MAX, f64::min), values.iter().copied().fold(f64::MIN, f64::max));
                let (low, high) = (low as f64, high as f64);
                ((least - 0.5).ceil().clamp(low, high) as usize, ((most - 0.5).floor() + 1.0).clamp(low, high) as usize)
            };
            let (left, right) = span([a.x, b.x, c.x], 0, self.width);
            let (top, bottom) = span([a.y, b.y, c.y], rows.start, rows.end);
            for row in top..bottom {
                let y = row as f64 + 0.5;
                for column in left..right {
                    let x = column as f64 + 0.5;
                    let part = |p: &Corner, q: &Corner| ((q.x - p.x) * (y - p.y) - (x - p.x) * (q.y - p.y)) / area;
                    let (u, v, w) = (part(b, c), part(c, a), part(a, b));
                    // Seams are drawn by both neighbours, the nearer or the first of them counting.
                    if u < -1e-9 || v < -1e-9 || w < -1e-9 {
                        continue;
                    }
                    let z = u * a.z + v * b.z + w * c.z;
                    let slot = &mut seen[(row - rows.start) * self.width + column];
                    if slot.is_some_and(|other| other.z >= z) {
                        continue;
                    }
                    let n: [f64; 3] = std::array::from_fn(|i| u * a.normal[i] + v * b.normal[i] + w * c.normal[i]);
                    let length = (n[0] * n[0] + n[1] * n[1] + n[2] * n[2]).sqrt();
                    if n[2] > 0.0 {
                        *slot = Some(Seen { z, normal: n.map(|value| value / length) });
                    }
                }
            }
        }
        seen
    }
}

impl Picture {
    /// Draws a panel; with a second sphere, the right half of the picture is painted with that.
    pub fn draw(panel: &Panel, left: &Sphere, right: Option<&Sphere>, view: View) -> Self {
        let laid = Laid::out(panel, view);
        let (width, height) = (laid.width, laid.height);
        let bands = std::thread::available_parallelism().map_or(1, |n| n.get()).min(MOST_BANDS).min(height);
        let band = |index: usize| {
            let rows = height * index / bands..height * (index + 1) / bands;
            let (mut rgb, mut on_panel, mut outside) = (Vec::with_capacity(rows.len() * width * 3), 0, 0);
            for (index, seen) in laid.seen(rows.clone()).into_iter().enumerate() {
                let (row, column) = (rows.start + index / width, index % width);
                let Some(seen) = seen else {
                    rgb.extend(BACKGROUND);
                    continue;
                };
                let sphere = right.filter(|_| 2 * column + 1 >= width).unwrap_or(left);
                let linear = sphere.at(seen.normal);
                on_panel += 1;
                let past = linear.iter().any(|value| !(SCREEN_LOW..=SCREEN_HIGH).contains(value));
                outside += usize::from(past);
                if past && view.mark {
                    rgb.extend([if (column / 2 + row / 2).is_multiple_of(2) { 0 } else { 255 }; 3]);
                } else {
                    rgb.extend(linear.map(|value| code(&STEPS, value)));
                }
            }
            (rgb, on_panel, outside)
        };
        let mut picture = Self { width, height, rgb: Vec::new(), panel_pixels: 0, outside_pixels: 0 };
        for (rgb, on_panel, outside) in side_by_side(bands, MOST_BANDS, band) {
            picture.rgb.extend(rgb);
            picture.panel_pixels += on_panel;
            picture.outside_pixels += outside;
        }
        picture
    }

    /// A pixel, counted from the upper left; `None` outside of the picture.
    pub fn at(&self, column: usize, row: usize) -> Option<[u8; 3]> {
        if column >= self.width {
            return None;
        }
        let first = 3 * (row * self.width + column);
        Some([*self.rgb.get(first)?, *self.rgb.get(first + 1)?, *self.rgb.get(first + 2)?])
    }

    /// The unit normals of a panel as a view shows them, pixel by pixel from the upper left; `None` beside the
    /// panel. What a check of a picture starts from.
    pub fn normals(panel: &Panel, view: View) -> Vec<Option<[f64; 3]>> {
        let laid = Laid::out(panel, view);
        laid.seen(0..laid.height).into_iter().map(|seen| seen.map(|seen| seen.normal)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::preview::{Appearance, Scene};

    fn view(width: usize, height: usize) -> View {
        View { turn_deg: 0.0, tilt_deg: 0.0, width, height, mark: false }
    }

    /// The codes are those of rounding the encoded value.
    #[test]
    fn published_srgb_codes_of_iec_61966() {
        // Linear values of some codes, from the formula of the standard.
        for wanted in 0..=255_u8 {
            let encoded = f64::from(wanted) / 255.0;
            let linear = if encoded <= 0.04045 { encoded / 12.92 } else { math::pow((encoded + 0.055) / 1.055, 2.4) };
            assert_eq!(code(&STEPS, linear), wanted);
        }
        assert_eq!((code(&STEPS, -1.0), code(&STEPS, 7.0), code(&STEPS, f64::NAN)), (0, 255, 0));
    }

    #[test]
    fn invariant_no_holes_in_the_panel() {
        for turn_deg in [-60.0, 0.0, 33.0] {
            let normals = Picture::normals(Panel::usual(), View { turn_deg, ..view(320, 180) });
            for row in normals.chunks(320) {
                let on: Vec<usize> = (0..320).filter(|i| row[*i].is_some()).collect();
                if let (Some(first), Some(last)) = (on.first(), on.last()) {
                    assert_eq!(last - first + 1, on.len(), "a hole at turn {turn_deg}");
                }
            }
            assert!(normals.iter().flatten().count() > 10_000);
        }
    }

    #[test]
    fn halves_meet_and_marks_mark() {
        let white = Sphere::new(&Appearance::diffuser(), Scene::Furnace);
        let sun = Sphere::new(&Appearance::diffuser(), Scene::Sun);
        let both = Picture::draw(Panel::usual(), &white, Some(&sun), view(200, 112));
        let alone = Picture::draw(Panel::usual(), &sun, None, view(200, 112));
        let row = 50;
        assert_eq!(both.at(99, row), Some([255; 3]));
        assert_eq!(both.at(100, row), alone.at(100, row));
        assert_ne!(alone.at(100, row), Some([255; 3]));
        assert_eq!(both.at(0, 0), Some(BACKGROUND));
        assert_eq!((both.at(200, 0), both.at(0, 112)), (None, None));
        assert_eq!(both.outside_pixels, 0);
        assert!(both.panel_pixels > 5000);
    }

    #[test]
    fn a_size_or_an_angle_that_cannot_be_is_brought_within() {
        let white = Sphere::new(&Appearance::diffuser(), Scene::Furnace);
        let odd = View { turn_deg: f64::NAN, tilt_deg: f64::INFINITY, width: 0, height: 3, mark: true };
        let picture = Picture::draw(Panel::usual(), &white, None, odd);
        assert_eq!((picture.width, picture.height, picture.rgb.len()), (1, 3, 9));
    }
}
