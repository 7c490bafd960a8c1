//! The nearest colour that a screen can show; a screen never proves a paint.

use base::math;

use crate::light::{Illuminant, Observer, Xyz, white};

/// An sRGB colour for a swatch on a screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Swatch {
    /// Red, 0..=255.
    pub r: u8,
    /// Green, 0..=255.
    pub g: u8,
    /// Blue, 0..=255.
    pub b: u8,
    /// Whether the colour lies outside what the screen can show, so that the swatch is only the
    /// nearest corner of it.
    pub outside_screen: bool,
}

impl Swatch {
    /// The colour as `#rrggbb`.
    pub fn hex(self) -> String {
        format!("#{:02x}{:02x}{:02x}", self.r, self.g, self.b)
    }
}

/// The swatch of a colour seen under a light, by an eye used to that light.
///
/// Bradford adaptation from the light's own white to the screen's (D65), then the sRGB encoding of
/// IEC 61966-2-1. A perfect diffuser is white under every light. Values that are not numbers give
/// black, marked as outside.
///
/// ```
/// use colour::{Illuminant, Observer, swatch, white};
/// let paper = swatch(white(Illuminant::A, Observer::Deg10), Illuminant::A, Observer::Deg10);
/// assert_eq!(paper.hex(), "#ffffff");
/// ```
pub fn swatch(xyz: Xyz, illuminant: Illuminant, observer: Observer) -> Swatch {
    let adapted = adapt(xyz, white(illuminant, observer));
    let steps = multiply(&SCREEN, adapted).map(|linear| 255.0 * encode(linear));
    // More than half a step below black or above full: no code stands for it.
    let inside = steps.iter().all(|step| (-0.5..=255.5).contains(step));
    let [r, g, b] = steps.map(|step| (step + 0.5) as u8);
    Swatch { r, g, b, outside_screen: !inside }
}

/// XYZ (white at Y = 1) to linear sRGB: IEC 61966-2-1 with amendment 1 (from memory; the tests
/// rebuild it from the primaries).
pub(crate) const SCREEN: [[f64; 3]; 3] = [
    [3.240_625_5, -1.537_208_0, -0.498_628_6],
    [-0.968_930_7, 1.875_756_1, 0.041_517_5],
    [0.055_710_1, -0.204_021_1, 1.056_995_9],
];

/// The screen's white: D65 at Y = 1, as IEC 61966-2-1 gives it.
const SCREEN_WHITE: [f64; 3] = [0.9505, 1.0, 1.0890];

/// XYZ to the sharpened cone responses of the Bradford adaptation (Lam 1985; the matrix as in
/// CIE 159:2004, annex, from memory).
const CONES: [[f64; 3]; 3] = [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];

/// Moves a colour from its own white to the screen's, and to Y = 1.
pub(crate) fn adapt(xyz: Xyz, white: Xyz) -> [f64; 3] {
    let seen = multiply(&CONES, [xyz.x, xyz.y, xyz.z]);
    let own = multiply(&CONES, [white.x, white.y, white.z]);
    let screen = multiply(&CONES, SCREEN_WHITE);
    let mut cones = [0.0; 3];
    for (cone, ((seen, own), screen)) in cones.iter_mut().zip(seen.iter().zip(own).zip(screen)) {
        *cone = seen / own * screen;
    }
    multiply(&CONES_BACK, cones)
}

/// The inverse of [`CONES`].
const CONES_BACK: [[f64; 3]; 3] = inverse(&CONES);

/// The sRGB encoding of a linear value, 0..1 to 0..1; goes on beyond both ends.
fn encode(linear: f64) -> f64 {
    if linear <= 0.003_130_8 { 12.92 * linear } else { 1.055 * math::pow(linear, 1.0 / 2.4) - 0.055 }
}

/// Matrix times vector.
pub(crate) const fn multiply(m: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    [
        m[0][0] * v[0] + m[0][1] * v[1] + m[0][2] * v[2],
        m[1][0] * v[0] + m[1][1] * v[1] + m[1][2] * v[2],
        m[2][0] * v[0] + m[2][1] * v[1] + m[2][2] * v[2],
    ]
}

/// Inverse of a matrix by cofactors; only for the constants above, whose determinant is not near 0.
const fn inverse(m: &[[f64; 3]; 3]) -> [[f64; 3]; 3] {
    let mut cofactors = [[0.0; 3]; 3];
    let mut i = 0;
    while i < 3 {
        let mut j = 0;
        while j < 3 {
            let (p, q) = ((i + 1) % 3, (i + 2) % 3);
            let (r, s) = ((j + 1) % 3, (j + 2) % 3);
            // Cyclic indices carry the sign; [j][i] transposes.
            cofactors[j][i] = m[p][r] * m[q][s] - m[p][s] * m[q][r];
            j += 1;
        }
        i += 1;
    }
    let det = m[0][0] * cofactors[0][0] + m[0][1] * cofactors[1][0] + m[0][2] * cofactors[2][0];
    let mut i = 0;
    while i < 3 {
        let mut j = 0;
        while j < 3 {
            cofactors[i][j] /= det;
            j += 1;
        }
        i += 1;
    }
    cofactors
}

#[cfg(test)]
mod tests {
    use super::{CONES, CONES_BACK, SCREEN, SCREEN_WHITE, adapt, encode, inverse, multiply, swatch};
    use crate::light::{Illuminant, Observer, Xyz, white};

    fn rows() -> Vec<(String, Vec<f64>)> {
        include_str!("../../../reference/colour/srgb.csv")
            .lines()
            .skip(1)
            .map(|line| {
                let mut cells = line.split(',');
                let what = cells.next().unwrap().to_owned();
                (what, cells.filter(|cell| !cell.is_empty()).map(|cell| cell.parse().unwrap()).collect())
            })
            .collect()
    }

    #[test]
    fn published_primaries_and_white_of_iec_61966() {
        let mut seen = 0;
        for (what, values) in rows() {
            let [x, y, z, r, g, b] = values[..] else {
                continue;
            };
            let linear = multiply(&SCREEN, [x, y, z]);
            // The standard prints the primaries to four digits; the matrix multiplies their rounding
            // error by up to 3.2 + 1.5 + 0.5.
            for (found, wanted) in linear.iter().zip([r, g, b]) {
                assert!((found - wanted).abs() < 5.3 * 5e-5, "{what}: {linear:?}");
            }
            seen += 1;
        }
        assert_eq!(seen, 4);
    }

    #[test]
    fn published_encoding_of_iec_61966() {
        let mut seen = 0;
        for (what, values) in rows() {
            let [linear, encoded] = values[..] else {
                continue;
            };
            // Half of the last digit printed.
            assert!((encode(linear) - encoded).abs() < 5e-5, "{what}: {}", encode(linear));
            seen += 1;
        }
        assert_eq!(seen, 4);
    }

    #[test]
    fn invariant_matrix_follows_from_the_primaries() {
        // Rec. ITU-R BT.709 primaries and D65 (x, y), from which IEC 61966-2-1 derives its matrix.
        let [r, g, b] =
            [(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)].map(|(x, y): (f64, f64)| [x / y, 1.0, (1.0 - x - y) / y]);
        let by_column = [[r[0], g[0], b[0]], [r[1], g[1], b[1]], [r[2], g[2], b[2]]];
        let screen = [0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290];
        let scale = multiply(&inverse(&by_column), screen);
        let to_xyz = by_column.map(|row| [row[0] * scale[0], row[1] * scale[1], row[2] * scale[2]]);
        let to_linear = inverse(&to_xyz);
        for (found, wanted) in to_linear.iter().flatten().zip(SCREEN.iter().flatten()) {
            // The standard inverts a four-digit matrix; 0.005 is what that rounding can do here.
            assert!((found - wanted).abs() < 5e-3, "{found} {wanted}");
        }
    }

    #[test]
    fn invariant_inverse_undoes_the_cone_matrix() {
        for v in [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]] {
            let back = multiply(&CONES_BACK, multiply(&CONES, v));
            for (found, wanted) in back.iter().zip(v) {
                assert!((found - wanted).abs() < 1e-15);
            }
        }
    }

    #[test]
    fn invariant_white_is_white_under_every_light() {
        for illuminant in Illuminant::ALL {
            for observer in Observer::ALL {
                let paper = white(illuminant, observer);
                for (found, wanted) in adapt(paper, paper).iter().zip(SCREEN_WHITE) {
                    assert!((found - wanted).abs() < 1e-14);
                }
                let found = swatch(paper, illuminant, observer);
                assert_eq!((found.hex().as_str(), found.outside_screen), ("#ffffff", false));
            }
        }
    }

    #[test]
    fn marks_what_a_screen_cannot_show() {
        let show = |x, y, z| swatch(Xyz { x, y, z }, Illuminant::D65, Observer::Deg2);
        assert_eq!(show(0.0, 0.0, 0.0).hex(), "#000000");
        assert!(!show(20.0, 20.0, 20.0).outside_screen);
        assert!(show(150.0, 160.0, 170.0).outside_screen, "brighter than white");
        assert!(show(10.0, 40.0, 5.0).outside_screen, "a green beyond the screen's");
        let nothing = show(f64::NAN, 1.0, 1.0);
        assert!(nothing.outside_screen);
    }
}
