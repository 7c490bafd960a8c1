//! From the tables to finished views.

use std::collections::{BTreeMap, BTreeSet};

use super::Body;
use super::curve::{Cubic, circle, distance, flatten};
use super::data::{curve_data, ring_data};
use super::error::BodyError;
use super::outline::{Ring, Segment, bounds, cleaned, inset, sides, signed_area};
use super::path::{Axes, Net, Place};
use super::place;
use super::table::{self, BodyFiles, EDGES, EdgeRow, PATCHES, PatchRow, Row, Shape, ViewRow, ZONES, ZoneRow};
use super::view::{Patch, Stroke, StrokeKind, View};
use super::zone::{Instance, PLACES, instance_id, other_side};

/// How far a patch is drawn inside its true outline, px.
const INSET_PX: f64 = 2.0;
/// How far a chord may leave its curve, px.
const FLAT_PX: f64 = 0.12;
pub(super) fn read(files: &BodyFiles<'_>) -> Result<Body, BodyError> {
    let points = table::points(files.points)?;
    let edges = table::edges(files.edges)?;
    let zones = table::zones(files.zones)?;
    let patches = table::patches(files.patches)?;
    let rows = table::views(files.views)?;
    let net = Net::new(&points, &edges)?;
    let instances = instances(&zones)?;
    let labels: BTreeMap<&str, &str> = instances.iter().map(|i| (i.id.as_str(), i.label.as_str())).collect();
    let sheet = |row: &'_ ViewRow| -> Result<View, BodyError> {
        let axes = row.right.zip(row.up);
        Sheet { row, views: &rows, net: &net, labels: &labels, axes }.draw(&edges, &patches)
    };
    let views: Vec<View> = rows.iter().map(sheet).collect::<Result<_, _>>()?;
    check_views(&rows, &edges, &patches)?;
    if let Some(undrawn) = instances.iter().find(|i| views.iter().all(|v| v.patch(&i.id).is_none())) {
        return Err(BodyError::Undrawn { file: PATCHES, instance: undrawn.id.clone() });
    }
    let place_in_list = instances.iter().enumerate().map(|(n, i)| (i.id.clone(), n)).collect();
    Ok(Body { instances, place_in_list, views })
}

fn instances(zones: &[ZoneRow]) -> Result<Vec<Instance>, BodyError> {
    let mut seen = BTreeSet::new();
    let mut out = Vec::new();
    for zone in zones {
        for place in &zone.places {
            let id = instance_id(&zone.zone, place);
            if !seen.insert(id.clone()) {
                return Err(BodyError::Twice { file: ZONES, row: zone.row, name: id });
            }
            let Some((_, side, position)) = PLACES.iter().find(|(p, ..)| p == place) else { continue };
            out.push(Instance {
                id,
                zone: zone.zone.clone(),
                side: *side,
                position,
                label: zone.label.clone(),
                fitted: zone.fitted,
            });
        }
    }
    Ok(out)
}

/// Every view that a row names must exist.
fn check_views(views: &[ViewRow], edges: &[EdgeRow], patches: &[PatchRow]) -> Result<(), BodyError> {
    let known = |id: &str| views.iter().any(|v| v.id == id);
    for e in edges {
        if let Some(name) = e.views.iter().find(|v| !known(v)) {
            return Err(BodyError::Unknown { file: EDGES, row: e.row, kind: "view", name: name.clone() });
        }
    }
    match patches.iter().find(|p| !known(&p.view)) {
        Some(p) => Err(BodyError::Unknown { file: PATCHES, row: p.row, kind: "view", name: p.view.clone() }),
        None => Ok(()),
    }
}

/// The view that shows the mirror image of what `id` shows.
fn twin_of<'a>(views: &'a [ViewRow], id: &'a str) -> &'a str {
    views.iter().find(|v| v.id == id).and_then(|v| v.twin.as_deref()).unwrap_or(id)
}

/// Everything one view is drawn from.
struct Sheet<'a> {
    row: &'a ViewRow,
    views: &'a [ViewRow],
    net: &'a Net,
    labels: &'a BTreeMap<&'a str, &'a str>,
    axes: Axes,
}

impl Sheet<'_> {
    fn draw(&self, edges: &[EdgeRow], patches: &[PatchRow]) -> Result<View, BodyError> {
        let row = self.row;
        let mut view = View {
            id: row.id.clone(),
            caption: row.caption.clone(),
            width: row.width_px,
            height: 0.0,
            strokes: Vec::new(),
            patches: Vec::new(),
            callouts: Vec::new(),
            box_mm: row.box_mm,
        };
        view.height = ((row.box_mm[3] - row.box_mm[1]) * view.px_per_mm()).round();
        let (lines, fittings) = self.draw_strokes(&mut view, edges)?;
        let wanted = self.draw_patches(&mut view, patches)?;
        place::set_anchors(&mut view, &fittings);
        place::set_callouts(&mut view, wanted, self.labels)?;
        place::set_labels(&mut view, lines, &fittings, self.labels);
        Ok(view)
    }

    /// Draws the lines; returns those a label should keep clear of, and the fittings that hide what is under them.
    fn draw_strokes(&self, view: &mut View, edges: &[EdgeRow]) -> Result<(Vec<Segment>, Vec<Vec<Ring>>), BodyError> {
        let (mut lines, mut fittings) = (Vec::new(), Vec::new());
        for e in edges.iter().filter(|e| e.weight > 0) {
            for mirrored in with_twin(e.twin) {
                let shows = |v: &str| if *mirrored { twin_of(self.views, v) == self.row.id } else { v == self.row.id };
                if !e.views.iter().any(|v| shows(v)) {
                    continue;
                }
                let (stroke, rings) = stroke(e, *mirrored, view, self.net, self.axes)?;
                if stroke.kind == StrokeKind::Fitting && stroke.closed {
                    fittings.push(rings);
                } else if !stroke.kind.is_under() {
                    lines.extend(rings.iter().flat_map(|r| r.windows(2).map(|w| (w[0], w[1]))));
                }
                view.strokes.push(stroke);
            }
        }
        Ok((lines, fittings))
    }

    /// Draws the patches, the largest first; returns the call-outs they want.
    fn draw_patches(&self, view: &mut View, patches: &[PatchRow]) -> Result<Vec<(String, Row)>, BodyError> {
        let mut wanted = Vec::new();
        for p in patches {
            let other = other_side(p.place);
            for mirrored in with_twin(other.is_some()) {
                let shown_in = if *mirrored { twin_of(self.views, &p.view) } else { p.view.as_str() };
                if shown_in != self.row.id {
                    continue;
                }
                let place = if *mirrored { other.as_deref().unwrap_or(p.place) } else { p.place };
                let id = instance_id(&p.zone, place);
                if !self.labels.contains_key(id.as_str()) {
                    return Err(BodyError::Unknown { file: PATCHES, row: p.row, kind: "zone in that place", name: id });
                }
                view.patches.push(patch(p, &id, *mirrored, view, self.net, self.axes)?);
                // A plan view shows both halves of the car: one hangs from the upper row, the other from the lower.
                let flips = *mirrored && shown_in == p.view && self.axes.is_some_and(|(_, up)| up[1] != 0.0);
                wanted.extend(p.callout.map(|side| (id, if flips { side.other() } else { side })));
            }
        }
        view.patches.sort_by(|a, b| b.area_px2.total_cmp(&a.area_px2));
        Ok(wanted)
    }
}

/// Whether to draw the mirror image too: once plain, and once mirrored if there is a twin.
fn with_twin(twin: bool) -> &'static [bool] {
    if twin { &[false, true] } else { &[false] }
}

fn stroke(e: &EdgeRow, mirrored: bool, view: &View, net: &Net, axes: Axes) -> Result<(Stroke, Vec<Ring>), BodyError> {
    let place = Place { file: EDGES, row: e.row };
    let kind = StrokeKind::WORDS.iter().find(|(word, _)| *word == e.kind).map(|(_, k)| *k);
    let kind = kind.ok_or_else(|| BodyError::Value {
        file: EDGES,
        row: e.row,
        column: "kind",
        value: e.kind.clone(),
        allowed: "a kind of line: silhouette, shut, aperture, feature, lamp, fitting, wheel, ghost, ground, centre",
    })?;
    let closed = e.shape != Shape::Open;
    let traced = net.trace(&e.path, e.shape == Shape::Closed, mirrored, axes, place)?;
    let mut cubics: Vec<Vec<Cubic<2>>> = traced.iter().map(|r| to_px(r, view)).collect();
    if e.shape == Shape::Circle {
        cubics = cubics.iter().filter_map(|r| r.first()).map(|c| circle(c[0], distance(c[0], c[3]))).collect();
    }
    let d = cubics.iter().map(|r| curve_data(r, closed)).collect::<Vec<_>>().join("");
    let rings = cubics.iter().map(|r| flatten(r, 0.3)).collect();
    Ok((Stroke { kind, weight: e.weight, d, closed }, rings))
}

fn patch(p: &PatchRow, id: &str, mirrored: bool, view: &View, net: &Net, axes: Axes) -> Result<Patch, BodyError> {
    let place = Place { file: PATCHES, row: p.row };
    let traced = net.trace(&p.path, true, mirrored, axes, place)?;
    let rings: Vec<Ring> = traced.iter().map(|r| cleaned(&flatten(&to_px(r, view), FLAT_PX), 0.3)).collect();
    if rings.iter().any(|r| r.len() < 3 || signed_area(r).abs() < 1.0) {
        return Err(BodyError::Path { file: PATCHES, row: p.row, why: "encloses nothing" });
    }
    let area_px2 = rings.iter().enumerate().map(|(i, r)| signed_area(r).abs() * if i == 0 { 1.0 } else { -1.0 }).sum();
    let drawn: Vec<Ring> = rings
        .iter()
        .enumerate()
        .map(|(i, r)| {
            // A narrow strip keeps half its width.
            let round: f64 = sides(r).map(|(a, b)| distance(a, b)).sum();
            let d = INSET_PX.min(0.5 * signed_area(r).abs() / round.max(1e-9));
            inset(r, if i == 0 { d } else { -d })
        })
        .collect();
    let d = drawn.iter().map(|r| ring_data(r)).collect::<Vec<_>>().join("");
    let b = bounds(drawn.iter().flatten());
    let anchor = ((b[0] + b[2]) / 2.0, (b[1] + b[3]) / 2.0);
    Ok(Patch { instance: id.to_owned(), d, label: None, anchor, room_px: 0.0, area_px2, rings, drawn })
}

fn to_px(cubics: &[Cubic<2>], view: &View) -> Vec<Cubic<2>> {
    cubics.iter().map(|c| c.map(|p| view.at_point(p))).collect()
}
