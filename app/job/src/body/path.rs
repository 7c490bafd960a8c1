//! Paths: words of a path turned into smooth lines on a view.

use std::collections::BTreeMap;

use super::curve::{Cubic, Vector, between, distance, spline, straight};
use super::error::BodyError;
use super::table::{EDGES, EdgeRow, POINTS, PointRow, Shape};

/// A view direction pair; `None` for a drawing in its own plane.
pub(super) type Axes = Option<([f64; 3], [f64; 3])>;

/// No path needs more words.
const MOST_WORDS: usize = 200;

/// Where a path stands in the files, for complaints.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub(super) file: &'static str,
    pub(super) row: u64,
}

impl Place {
    fn bad(self, why: &'static str) -> BodyError {
        BodyError::Path { file: self.file, row: self.row, why }
    }

    fn unknown(self, kind: &'static str, name: &str) -> BodyError {
        BodyError::Unknown { file: self.file, row: self.row, kind, name: name.to_owned() }
    }
}

/// One word of a path, with its place in space (mm).
struct Knot {
    name: String,
    at: Vector<3>,
    smooth: bool,
    flat: bool,
}

/// A run of line on the view, or a single corner.
enum Piece {
    Line(Vec<Cubic<2>>),
    Corner(Vector<2>),
}

impl Piece {
    fn start(&self) -> Option<Vector<2>> {
        match self {
            Piece::Line(c) => c.first().map(|c| c[0]),
            Piece::Corner(p) => Some(*p),
        }
    }

    fn end(&self) -> Option<Vector<2>> {
        match self {
            Piece::Line(c) => c.last().map(|c| c[3]),
            Piece::Corner(p) => Some(*p),
        }
    }
}

/// An edge in space: its knots' names and the segments between them.
struct Edge {
    names: Vec<String>,
    cubics: Vec<Cubic<3>>,
    twin: bool,
}

/// The body's points and edges, ready to draw paths from.
pub(super) struct Net {
    points: BTreeMap<String, Vector<3>>,
    edges: BTreeMap<String, Edge>,
}

impl Net {
    pub(super) fn new(points: &[PointRow], edges: &[EdgeRow]) -> Result<Net, BodyError> {
        let mut net = Net { points: BTreeMap::new(), edges: BTreeMap::new() };
        for p in points {
            if net.points.insert(p.name.clone(), p.at).is_some() {
                return Err(BodyError::Twice { file: POINTS, row: p.row, name: p.name.clone() });
            }
        }
        for e in edges {
            let place = Place { file: EDGES, row: e.row };
            for mirrored in if e.twin { &[false, true][..] } else { &[false][..] } {
                let name = if *mirrored { format!("{}'", e.name) } else { e.name.clone() };
                let knots = net.knots(&e.path, *mirrored, place)?;
                let at: Vec<_> = knots.iter().map(|k| k.at).collect();
                let smooth: Vec<_> = knots.iter().map(|k| k.smooth).collect();
                let cubics = spline(&at, &smooth, e.shape == Shape::Closed);
                let edge = Edge { names: knots.into_iter().map(|k| k.name).collect(), cubics, twin: e.twin };
                if net.edges.insert(name.clone(), edge).is_some() {
                    return Err(BodyError::Twice { file: EDGES, row: e.row, name });
                }
            }
        }
        Ok(net)
    }

    /// The name after mirroring: points on the centre line are their own mirror image.
    fn knot_name(&self, word: &str, mirrored: bool, place: Place) -> Result<(String, Vector<3>), BodyError> {
        let (plain, primed) = word.strip_suffix('\'').map_or((word, false), |w| (w, true));
        let at = self.points.get(plain).ok_or_else(|| place.unknown("point", word))?;
        if at[1] == 0.0 {
            Ok((plain.to_owned(), *at))
        } else if primed != mirrored {
            Ok((format!("{plain}'"), [at[0], -at[1], at[2]]))
        } else {
            Ok((plain.to_owned(), *at))
        }
    }

    fn knot(&self, word: &str, mirrored: bool, place: Place) -> Result<Knot, BodyError> {
        let (smooth, word) = word.strip_prefix('~').map_or((false, word), |w| (true, w));
        if let Some((u, v)) = word.split_once(',') {
            let number = |text: &str| text.parse::<f64>().ok().filter(|n| n.abs() <= 20_000.0);
            let (Some(u), Some(v)) = (number(u), number(v)) else {
                return Err(place.bad("has a pair that is not two lengths in mm, like 12,-30"));
            };
            let at = [if mirrored { -u } else { u }, v, 0.0];
            return Ok(Knot { name: String::new(), at, smooth, flat: true });
        }
        let (name, at) = self.knot_name(word, mirrored, place)?;
        Ok(Knot { name, at, smooth, flat: false })
    }

    fn knots(&self, path: &str, mirrored: bool, place: Place) -> Result<Vec<Knot>, BodyError> {
        let words: Vec<&str> = path.split_whitespace().collect();
        if words.len() < 2 {
            return Err(place.bad("needs at least two points"));
        }
        if words.len() > MOST_WORDS {
            return Err(place.bad("has more than 200 points"));
        }
        words.iter().map(|w| self.knot(w, mirrored, place)).collect()
    }

    /// The part of an edge between two of its points, either way along it.
    fn part(&self, word: &str, mirrored: bool, place: Place) -> Result<Vec<Cubic<3>>, BodyError> {
        let [name, from, to] = word.split(':').collect::<Vec<_>>()[..] else {
            return Err(place.bad("has a part of an edge that is not @edge:from:to"));
        };
        let (plain, primed) = name.strip_suffix('\'').map_or((name, false), |n| (n, true));
        let edge = self.edges.get(plain).ok_or_else(|| place.unknown("edge", name))?;
        let edge = if edge.twin && primed != mirrored {
            self.edges.get(&format!("{plain}'")).ok_or_else(|| place.unknown("edge", name))?
        } else {
            edge
        };
        let find = |word: &str| -> Result<usize, BodyError> {
            let (wanted, _) = self.knot_name(word, mirrored, place)?;
            edge.names.iter().position(|n| *n == wanted).ok_or_else(|| place.unknown("point of that edge", word))
        };
        let (a, b) = (find(from)?, find(to)?);
        let slice = edge.cubics.get(a.min(b)..a.max(b)).unwrap_or(&[]);
        if slice.is_empty() {
            return Err(place.bad("takes an empty part of an edge"));
        }
        Ok(if a < b { slice.to_vec() } else { slice.iter().rev().map(|c| [c[3], c[2], c[1], c[0]]).collect() })
    }

    /// The path as outlines on a view, in mm of that view: the first is the outside, the others are holes.
    pub(super) fn trace(
        &self,
        path: &str,
        closed: bool,
        mirrored: bool,
        axes: Axes,
        place: Place,
    ) -> Result<Vec<Vec<Cubic<2>>>, BodyError> {
        if path.split_whitespace().count() > MOST_WORDS {
            return Err(place.bad("has more than 200 words"));
        }
        path.split('|').map(|one| self.trace_one(one, closed, mirrored, axes, place)).collect()
    }

    fn trace_one(
        &self,
        path: &str,
        closed: bool,
        mirrored: bool,
        axes: Axes,
        place: Place,
    ) -> Result<Vec<Cubic<2>>, BodyError> {
        let project = |p: Vector<3>| project(axes, p);
        let flat = |c: &Cubic<3>| c.map(project);
        if !path.contains('@') {
            let knots = self.knots(path, mirrored, place)?;
            if knots.iter().any(|k| k.flat != axes.is_none()) {
                return Err(place.bad("uses names where the view is drawn in its own plane, or pairs where it is not"));
            }
            let at: Vec<_> = knots.iter().map(|k| k.at).collect();
            let smooth: Vec<_> = knots.iter().map(|k| k.smooth).collect();
            return Ok(spline(&at, &smooth, closed).iter().map(flat).collect());
        }
        if axes.is_none() {
            return Err(place.bad("takes part of an edge where the view is drawn in its own plane"));
        }
        let mut pieces: Vec<Piece> = Vec::new();
        let mut run: Vec<Knot> = Vec::new();
        let end_run = |run: &mut Vec<Knot>, pieces: &mut Vec<Piece>| {
            let at: Vec<_> = run.iter().map(|k| k.at).collect();
            let smooth: Vec<_> = run.iter().map(|k| k.smooth).collect();
            match at.as_slice() {
                [] => {}
                [one] => pieces.push(Piece::Corner(project(*one))),
                _ => pieces.push(Piece::Line(spline(&at, &smooth, false).iter().map(flat).collect())),
            }
            run.clear();
        };
        for word in path.split_whitespace() {
            if let Some(part) = word.strip_prefix('@') {
                end_run(&mut run, &mut pieces);
                pieces.push(Piece::Line(self.part(part, mirrored, place)?.iter().map(flat).collect()));
            } else {
                let knot = self.knot(word, mirrored, place)?;
                if knot.flat {
                    return Err(place.bad("mixes names and pairs"));
                }
                run.push(knot);
            }
        }
        end_run(&mut run, &mut pieces);
        Ok(joined(&pieces, closed))
    }
}

/// The pieces in a row, with straight lines where their ends differ.
fn joined(pieces: &[Piece], closed: bool) -> Vec<Cubic<2>> {
    let mut out = Vec::new();
    for (i, piece) in pieces.iter().enumerate() {
        if let Piece::Line(cubics) = piece {
            out.extend_from_slice(cubics);
        }
        let next = if i + 1 < pieces.len() {
            pieces.get(i + 1)
        } else if closed {
            pieces.first()
        } else {
            None
        };
        if let Some((a, b)) = piece.end().zip(next.and_then(Piece::start))
            && distance(a, b) > 0.01
        {
            out.push(straight(a, b));
        }
    }
    out
}

/// A point of space on a view, mm.
fn project(axes: Axes, p: Vector<3>) -> Vector<2> {
    let along = |d: [f64; 3]| d.iter().zip(p).map(|(a, b)| a * b).sum::<f64>();
    axes.map_or([p[0], p[1]], |(right, up)| [along(right), along(up)])
}

/// True when a cubic is a straight line.
pub(super) fn is_straight(c: &Cubic<2>) -> bool {
    let off = |p: Vector<2>| ((p[0] - c[0][0]) * (c[3][1] - c[0][1]) - (p[1] - c[0][1]) * (c[3][0] - c[0][0])).abs();
    let length = distance(c[0], c[3]).max(1e-9);
    off(c[1]) / length < 0.02 && off(c[2]) / length < 0.02 && distance(c[1], between(c[0], c[3], 0.5)) <= length
}
