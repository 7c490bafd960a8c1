//! Smooth lines: centripetal Catmull-Rom segments written as cubic Beziers.
//!
//! After Yuksel, Schaefer and Keyser, "Parameterization and applications of Catmull-Rom curves",
//! Computer-Aided Design 43 (2011) 747-755, alpha = 1/2 (from memory, page not checked).

/// A point or vector of N coordinates, mm or px.
pub(super) type Vector<const N: usize> = [f64; N];
/// A cubic Bezier: start, two controls, end.
pub(super) type Cubic<const N: usize> = [Vector<N>; 4];

/// The distance between two points.
pub(super) fn distance<const N: usize>(a: Vector<N>, b: Vector<N>) -> f64 {
    a.iter().zip(b).map(|(p, q)| (p - q) * (p - q)).sum::<f64>().sqrt()
}

/// The point a share `t` of the way from `a` to `b`.
pub(super) fn between<const N: usize>(a: Vector<N>, b: Vector<N>, t: f64) -> Vector<N> {
    std::array::from_fn(|k| a[k] + (b[k] - a[k]) * t)
}

/// A straight piece as a cubic.
pub(super) fn straight<const N: usize>(a: Vector<N>, b: Vector<N>) -> Cubic<N> {
    [a, between(a, b, 1.0 / 3.0), between(a, b, 2.0 / 3.0), b]
}

/// The segment from `p1` to `p2` of the curve through `p0, p1, p2, p3`.
///
/// With d1, d2, d3 the chord lengths and a = sqrt(d):
/// C1 = (d1 p2 - d2 p0 + (2 d1 + 3 a1 a2 + d2) p1) / (3 a1 (a1 + a2)), and C2 likewise from the other end.
pub(super) fn centripetal<const N: usize>(p0: Vector<N>, p1: Vector<N>, p2: Vector<N>, p3: Vector<N>) -> Cubic<N> {
    // Coincident points would divide by zero; a millionth of a millimetre is below anything drawn.
    let chord = |a, b| distance(a, b).max(1e-6);
    let (d1, d2, d3) = (chord(p0, p1), chord(p1, p2), chord(p2, p3));
    let (a1, a2, a3) = (d1.sqrt(), d2.sqrt(), d3.sqrt());
    let c1 = std::array::from_fn(|k| {
        (d1 * p2[k] - d2 * p0[k] + (2.0 * d1 + 3.0 * a1 * a2 + d2) * p1[k]) / (3.0 * a1 * (a1 + a2))
    });
    let c2 = std::array::from_fn(|k| {
        (d3 * p1[k] - d2 * p3[k] + (2.0 * d3 + 3.0 * a3 * a2 + d2) * p2[k]) / (3.0 * a3 * (a3 + a2))
    });
    [p1, c1, c2, p2]
}

/// A smooth line through `points`; where `smooth` is false the line has a corner.
///
/// At a corner, or the end of an open line, the missing neighbour is the other point reflected;
/// between two corners the line is straight. One segment per neighbouring pair, closing if `closed`.
pub(super) fn spline<const N: usize>(points: &[Vector<N>], smooth: &[bool], closed: bool) -> Vec<Cubic<N>> {
    let n = points.len();
    let count = if closed { n } else { n.saturating_sub(1) };
    let neighbour = |i: usize, back: bool| -> Option<Vector<N>> {
        let is_smooth = smooth.get(i).copied().unwrap_or(false);
        if !is_smooth || n < 3 {
            return None;
        }
        match (closed, back) {
            (true, true) => points.get((i + n - 1) % n).copied(),
            (true, false) => points.get((i + 1) % n).copied(),
            (false, true) => i.checked_sub(1).and_then(|j| points.get(j)).copied(),
            (false, false) => points.get(i + 1).copied(),
        }
    };
    let reflected = |about: Vector<N>, p: Vector<N>| std::array::from_fn(|k| 2.0 * about[k] - p[k]);
    (0..count)
        .map(|i| {
            let j = (i + 1) % n;
            let (a, b) = (points[i], points[j]);
            match (neighbour(i, true), neighbour(j, false)) {
                (None, None) => straight(a, b),
                (before, after) => centripetal(
                    before.unwrap_or_else(|| reflected(a, b)),
                    a,
                    b,
                    after.unwrap_or_else(|| reflected(b, a)),
                ),
            }
        })
        .collect()
}

/// A circle as four cubics; the usual constant 4/3 (sqrt 2 - 1) is off by at most 0.03 % of the radius.
pub(super) fn circle(centre: Vector<2>, radius: f64) -> Vec<Cubic<2>> {
    let k = 4.0 / 3.0 * (2.0_f64.sqrt() - 1.0);
    let on = |x: f64, y: f64| [centre[0] + radius * x, centre[1] + radius * y];
    [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
        .map(|(x, y)| [on(x, y), on(x - k * y, y + k * x), on(-y + k * x, x + k * y), on(-y, x)])
        .to_vec()
}

/// A point of a cubic.
pub(super) fn point_at(c: &Cubic<2>, t: f64) -> Vector<2> {
    let s = 1.0 - t;
    std::array::from_fn(|k| {
        s * s * s * c[0][k] + 3.0 * s * s * t * c[1][k] + 3.0 * s * t * t * c[2][k] + t * t * t * c[3][k]
    })
}

/// The line as points, close enough that no chord leaves the curve by more than about `error`.
pub(super) fn flatten(cubics: &[Cubic<2>], error: f64) -> Vec<Vector<2>> {
    let mut out = Vec::new();
    for c in cubics {
        if out.last().is_none_or(|last| distance(*last, c[0]) > 1e-6) {
            out.push(c[0]);
        }
        // The second difference of the controls bounds the bend; chords shrink its error with the square of their number.
        let bend =
            |a: Vector<2>, b: Vector<2>, d: Vector<2>| distance([a[0] + d[0], a[1] + d[1]], [2.0 * b[0], 2.0 * b[1]]);
        let most = bend(c[0], c[1], c[2]).max(bend(c[1], c[2], c[3]));
        let pieces = (0.75 * most / error).sqrt().ceil().clamp(1.0, 24.0);
        let steps = pieces as u32;
        for i in 1..=steps {
            out.push(point_at(c, f64::from(i) / pieces));
        }
    }
    out
}
