//! Flat outlines: area, inside or not, inset, and where a label finds room.

use super::curve::{Vector, distance};

/// A closed outline; the last point joins the first.
pub(super) type Ring = Vec<Vector<2>>;
/// A straight piece of line.
pub(super) type Segment = (Vector<2>, Vector<2>);

/// The outline without points closer than `apart` to the one before.
pub(super) fn cleaned(points: &[Vector<2>], apart: f64) -> Ring {
    let mut out: Ring = Vec::with_capacity(points.len());
    for p in points {
        if out.last().is_none_or(|last| distance(*last, *p) > apart) {
            out.push(*p);
        }
    }
    while out.len() > 2 && out.first().zip(out.last()).is_some_and(|(a, b)| distance(*a, *b) <= apart) {
        out.pop();
    }
    out
}

/// The sides of an outline.
pub(super) fn sides(ring: &[Vector<2>]) -> impl Iterator<Item = Segment> + '_ {
    let closing = ring.last().copied().zip(ring.first().copied());
    ring.windows(2).map(|w| (w[0], w[1])).chain(closing)
}

/// Area, positive when the outline turns from x to y.
pub(super) fn signed_area(ring: &[Vector<2>]) -> f64 {
    sides(ring).map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum::<f64>() / 2.0
}

/// Least x, least y, greatest x, greatest y.
pub(super) fn bounds<'a>(points: impl Iterator<Item = &'a Vector<2>>) -> [f64; 4] {
    points.fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |b, p| {
        [b[0].min(p[0]), b[1].min(p[1]), b[2].max(p[0]), b[3].max(p[1])]
    })
}

/// Boxes that touch.
fn meet(a: [f64; 4], b: [f64; 4]) -> bool {
    a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3]
}

/// True when a point lies inside the outlines by the even-odd rule.
pub(super) fn contains(rings: &[Ring], p: Vector<2>) -> bool {
    let mut inside = false;
    for ring in rings {
        for (a, b) in sides(ring) {
            if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < (b[0] - a[0]) * (p[1] - a[1]) / (b[1] - a[1]) + a[0] {
                inside = !inside;
            }
        }
    }
    inside
}

/// The outline moved inward by `d` along the bisector of each corner (outward for a negative `d`).
///
/// The bisector step is limited so that a sharp corner does not shoot across the patch, and points beside such a
/// corner that would land on the wrong side of it are left out.
pub(super) fn inset(ring: &[Vector<2>], d: f64) -> Ring {
    let ring = cleaned(ring, 1.0);
    let n = ring.len();
    let turn = if signed_area(&ring) > 0.0 { 1.0 } else { -1.0 };
    let normal = |a: Vector<2>, b: Vector<2>| {
        let l = distance(a, b).max(1e-9);
        [-(b[1] - a[1]) / l * turn, (b[0] - a[0]) / l * turn]
    };
    let mut has_sharp = false;
    let moved: Vec<(bool, Vector<2>)> = (0..n)
        .map(|i| {
            let (a, b, c) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
            let (n1, n2) = (normal(a, b), normal(b, c));
            let m = [n1[0] + n2[0], n1[1] + n2[1]];
            let k = m[0] * m[0] + m[1] * m[1];
            has_sharp |= k < SHARP;
            let step = 2.0 * d / k.max(SHARP);
            (k < SHARP, [b[0] + step * m[0], b[1] + step * m[1]])
        })
        .collect();
    let far_enough = |p: Vector<2>| sides(&ring).all(|s| distance_to(s, p) > 0.8 * d.abs());
    moved.into_iter().filter(|(sharp, p)| !has_sharp || *sharp || far_enough(*p)).map(|(_, p)| p).collect()
}

/// The squared sum of two unit normals below which a corner counts as sharp: about 53 degrees.
const SHARP: f64 = 0.8;

/// The distance from a point to a piece of line.
fn distance_to((a, b): Segment, p: Vector<2>) -> f64 {
    let along = [b[0] - a[0], b[1] - a[1]];
    let length2 = along[0] * along[0] + along[1] * along[1];
    let t = ((p[0] - a[0]) * along[0] + (p[1] - a[1]) * along[1]) / length2.max(1e-12);
    distance(p, super::curve::between(a, b, t.clamp(0.0, 1.0)))
}

/// True when two sides of the outline cross each other.
#[cfg(test)]
pub(super) fn crosses_itself(ring: &[Vector<2>]) -> bool {
    let all: Vec<Segment> = sides(ring).collect();
    let side = |a: Vector<2>, b: Vector<2>, p: Vector<2>| (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
    let n = all.len();
    (0..n).any(|i| {
        (i + 2..n).any(|j| {
            if i == 0 && j + 1 == n {
                return false;
            }
            let ((a, b), (c, d)) = (all[i], all[j]);
            side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
        })
    })
}

/// What lies in and over a patch when room is sought in it.
pub(super) struct Ground<'a> {
    own: &'a [Ring],
    own_bounds: [f64; 4],
    over: Vec<&'a [Ring]>,
    walls: Vec<Segment>,
}

impl<'a> Ground<'a> {
    /// `over` are patches and fittings drawn over the patch, `lines` what a label should not cross.
    pub(super) fn new(own: &'a [Ring], over: impl Iterator<Item = &'a [Ring]>, lines: &[Segment]) -> Ground<'a> {
        let own_bounds = bounds(own.iter().flatten());
        let over: Vec<&[Ring]> = over.filter(|r| meet(bounds(r.iter().flatten()), own_bounds)).collect();
        let edges = own.iter().chain(over.iter().copied().flatten()).flat_map(|r| sides(r));
        let near = |s: &Segment| meet(bounds([s.0, s.1].iter()), own_bounds);
        let walls = edges.chain(lines.iter().copied()).filter(near).collect();
        Ground { own, own_bounds, over, walls }
    }

    /// The centre of a clear rectangle of `width` by `height`, as near the middle of the patch as can be.
    pub(super) fn room(&self, width: f64, height: f64) -> Option<Vector<2>> {
        let b = self.own_bounds;
        let (spare_x, spare_y) = (b[2] - b[0] - width, b[3] - b[1] - height);
        if spare_x < 0.0 || spare_y < 0.0 {
            return None;
        }
        let middle = [(b[0] + b[2]) / 2.0, (b[1] + b[3]) / 2.0];
        // Rows half a height apart find every place that is a little taller than needed; from the middle outward,
        // so that the search can stop when no farther row could be nearer.
        let rows = (spare_y / height).ceil().clamp(1.0, 80.0);
        let mut best: Option<(f64, Vector<2>)> = None;
        for i in 0..=(rows as u32) {
            let off = spare_y / 2.0 * f64::from(i) / rows;
            if best.is_some_and(|(least, _)| 1.5 * off >= least) {
                break;
            }
            for y in [middle[1] - off, middle[1] + off] {
                for (from, to) in self.clear(y - height / 2.0, y + height / 2.0) {
                    if to - from < width {
                        continue;
                    }
                    let x = middle[0].clamp(from + width / 2.0, to - width / 2.0);
                    let away = (x - middle[0]).abs() + 1.5 * off;
                    if best.is_none_or(|(least, _)| away < least - 1e-9) {
                        best = Some((away, [x, y]));
                    }
                }
                if i == 0 {
                    break;
                }
            }
        }
        best.map(|(_, at)| at)
    }

    /// The stretches of x that are inside the patch and free of everything else over the whole band.
    fn clear(&self, top: f64, bottom: f64) -> Vec<(f64, f64)> {
        let mid = (top + bottom) / 2.0;
        let mut blocked: Vec<(f64, f64)> = self.walls.iter().filter_map(|s| shadow(*s, top, bottom)).collect();
        for over in &self.over {
            blocked.extend(crossings(over, mid).chunks_exact(2).map(|pair| (pair[0], pair[1])));
        }
        blocked.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut free = Vec::new();
        for pair in crossings(self.own, mid).chunks_exact(2) {
            let (mut from, to) = (pair[0], pair[1]);
            for (a, b) in &blocked {
                if *b < from || *a > to {
                    continue;
                }
                if *a > from {
                    free.push((from, *a));
                }
                from = from.max(*b);
            }
            if from < to {
                free.push((from, to));
            }
        }
        free
    }
}

/// Where the outlines cross a level line, from left to right.
fn crossings(rings: &[Ring], y: f64) -> Vec<f64> {
    let mut xs: Vec<f64> = rings
        .iter()
        .flat_map(|r| sides(r))
        .filter(|(a, b)| (a[1] > y) != (b[1] > y))
        .map(|(a, b)| a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
        .collect();
    xs.sort_by(f64::total_cmp);
    xs
}

/// The stretch of x that a piece of line takes up within a band.
fn shadow((a, b): Segment, top: f64, bottom: f64) -> Option<(f64, f64)> {
    let (upper, lower) = if a[1] <= b[1] { (a, b) } else { (b, a) };
    // A line that only touches the band takes no room from it.
    if lower[1] <= top + 1e-6 || upper[1] >= bottom - 1e-6 {
        return None;
    }
    let x_at = |y: f64| {
        if lower[1] - upper[1] < 1e-9 {
            upper[0]
        } else {
            upper[0] + (y - upper[1]) / (lower[1] - upper[1]) * (lower[0] - upper[0])
        }
    };
    let (x0, x1) = if lower[1] - upper[1] < 1e-9 {
        (upper[0], lower[0])
    } else {
        (x_at(upper[1].max(top)), x_at(lower[1].min(bottom)))
    };
    Some((x0.min(x1), x0.max(x1)))
}
