//! The panel that a paint is shown on: a piece of a car's side, with a shoulder, a swage line and a rolled
//! edge, like no maker's car.

use std::sync::LazyLock;

use base::math;

/// Radius of the panel's bend from front to rear, mm.
const BEND_MM: f64 = 1000.0;
/// Half its length along that bend, mm.
const HALF_MM: f64 = 450.0;
/// Columns of vertices: 25 mm and 1.4 degrees of bend between them.
const COLUMNS: usize = 37;
/// The profile from the top edge to the rolled one: how far along, mm, and how far the surface leans back
/// there, degrees. It runs in straight changes between them, so a short piece is a tight radius.
const PROFILE: [(f64, f64); 8] = [
    (0.0, 38.0),
    (150.0, 10.0),
    (186.0, 4.0),
    // The swage: a crease that looks up, and back.
    (198.0, 44.0),
    (222.0, 44.0),
    (236.0, 2.0),
    (470.0, -26.0),
    // The rolled edge.
    (492.0, -88.0),
];
/// Rows of vertices for each piece of the profile.
const ROWS: [usize; 7] = [8, 3, 12, 3, 12, 12, 16];

/// A surface of triangles with a normal at every vertex. x to the right, y up, z to the eye, mm, around the
/// panel's middle.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Vertices.
    pub positions: Vec<[f32; 3]>,
    /// Unit normals.
    pub normals: Vec<[f32; 3]>,
    /// Triangles, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
}

static USUAL: LazyLock<Panel> = LazyLock::new(Panel::new);

impl Panel {
    /// The one panel that everything is shown on.
    pub fn usual() -> &'static Self {
        &USUAL
    }

    fn new() -> Self {
        // Down the profile: height, depth and lean at every row.
        let mut rows = vec![(0.0, 0.0, PROFILE[0].1)];
        for (piece, count) in PROFILE.windows(2).zip(ROWS) {
            let [(from, lean_from), (to, lean_to)] = piece else { continue };
            let step = (to - from) / count as f64;
            for i in 0..count {
                let at = |part: f64| lean_from + (lean_to - lean_from) * part / count as f64;
                let middle = at(i as f64 + 0.5).to_radians();
                let (y, z, _) = rows[rows.len() - 1];
                rows.push((y - step * math::cos(middle), z + step * math::sin(middle), at(i as f64 + 1.0)));
            }
        }
        let middle = |f: fn(&(f64, f64, f64)) -> f64| {
            let (low, high) = rows.iter().map(f).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
            0.5 * (low + high)
        };
        let (middle_y, middle_z) = (middle(|row| row.0), middle(|row| row.1));
        let mut panel = Self { positions: Vec::new(), normals: Vec::new(), triangles: Vec::new() };
        for (y, z, lean) in &rows {
            let lean = lean.to_radians();
            for column in 0..COLUMNS {
                let bend = HALF_MM / BEND_MM * (2.0 * column as f64 / (COLUMNS - 1) as f64 - 1.0);
                let (sin, cos) = (math::sin(bend), math::cos(bend));
                let position = [BEND_MM * sin, y - middle_y, z - middle_z + BEND_MM * (cos - 1.0)];
                // A profile moved along a bend: the normal across both tangents.
                let n = [sin * math::cos(lean), math::sin(lean) * cos, math::cos(lean) * cos];
                let length = (n[0] * n[0] + n[1] * n[1] + n[2] * n[2]).sqrt();
                panel.positions.push(position.map(|value| value as f32));
                panel.normals.push(n.map(|value| (value / length) as f32));
            }
        }
        for row in 0..rows.len() - 1 {
            for column in 0..COLUMNS - 1 {
                let corner = |down: usize, right: usize| ((row + down) * COLUMNS + column + right) as u32;
                let (a, b, c, d) = (corner(0, 0), corner(0, 1), corner(1, 0), corner(1, 1));
                panel.triangles.push([a, c, b]);
                panel.triangles.push([b, c, d]);
            }
        }
        panel
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn invariant_normals_are_unit_and_stand_on_their_triangles() {
        let panel = Panel::usual();
        for n in &panel.normals {
            let length = n.iter().map(|v| v * v).sum::<f32>();
            assert!((length - 1.0).abs() < 1e-5);
        }
        for triangle in &panel.triangles {
            let [a, b, c] = triangle.map(|i| panel.positions[i as usize].map(f64::from));
            let (p, q): ([f64; 3], [f64; 3]) =
                (std::array::from_fn(|i| b[i] - a[i]), std::array::from_fn(|i| c[i] - a[i]));
            let flat = [p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]];
            let length = flat.iter().map(|v| v * v).sum::<f64>().sqrt();
            for i in triangle {
                let n = panel.normals[*i as usize];
                let cos: f64 = flat.iter().zip(n).map(|(f, n)| f * f64::from(n)).sum::<f64>() / length;
                // Within the 4 degrees that a row of the tightest radius turns by.
                assert!(cos > 0.997, "{cos}");
            }
        }
    }

    #[test]
    fn invariant_it_fits_the_picture_however_it_is_turned() {
        for position in &Panel::usual().positions {
            let [x, y, z] = position.map(f64::from);
            assert!(math::hypot(x, z) < 570.0 && math::hypot(y, z.abs().min(150.0)) < 300.0, "{position:?}");
        }
    }
}
