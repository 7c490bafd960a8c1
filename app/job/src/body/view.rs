//! One view of the body as it is drawn: lines, patches, labels and call-outs, in px.

use super::curve::Vector;
use super::outline::{Ring, contains};

/// What a line of the drawing stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StrokeKind {
    /// The outline of the body.
    Silhouette,
    /// A gap beside something that opens.
    Shut,
    /// The edge of an opening or of glass.
    Aperture,
    /// A crease, seam or gutter.
    Feature,
    /// A lamp.
    Lamp,
    /// Bumper, handle, plate: something bolted on, filled with paper and drawn over the zones.
    Fitting,
    /// A wheel.
    Wheel,
    /// Something taken off, or beyond what is drawn; pale.
    Ghost,
    /// The ground line.
    Ground,
    /// The centre line.
    Centre,
}

impl StrokeKind {
    pub(super) const WORDS: [(&'static str, StrokeKind); 10] = [
        ("silhouette", StrokeKind::Silhouette),
        ("shut", StrokeKind::Shut),
        ("aperture", StrokeKind::Aperture),
        ("feature", StrokeKind::Feature),
        ("lamp", StrokeKind::Lamp),
        ("fitting", StrokeKind::Fitting),
        ("wheel", StrokeKind::Wheel),
        ("ghost", StrokeKind::Ghost),
        ("ground", StrokeKind::Ground),
        ("centre", StrokeKind::Centre),
    ];

    /// True for what is drawn before the patches.
    pub fn is_under(self) -> bool {
        matches!(self, StrokeKind::Wheel | StrokeKind::Ghost | StrokeKind::Ground | StrokeKind::Centre)
    }
}

/// A line of the drawing that is no zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// What it stands for.
    pub kind: StrokeKind,
    /// 1 thin, 2 plain, 3 heavy.
    pub weight: u8,
    /// Path data, px.
    pub d: String,
    /// True when the line closes; a closed fitting is filled with paper.
    pub closed: bool,
}

/// A name set where there is room for it, px.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Middle of the text block from the left.
    pub x: f64,
    /// Middle of the text block from the top.
    pub y: f64,
    /// One or two lines.
    pub lines: Vec<String>,
}

impl Label {
    /// The baseline of each line with its text.
    pub fn baselines(&self) -> impl Iterator<Item = (f64, &str)> {
        let first = self.y - (self.lines.len() as f64 - 1.0) * LINE_PX / 2.0 + LETTER_PX * 0.34;
        self.lines.iter().enumerate().map(move |(i, text)| (first + i as f64 * LINE_PX, text.as_str()))
    }
}

/// Height of a label's letters.
pub const LETTER_PX: f64 = 15.0;
/// Distance of a label's lines.
pub(super) const LINE_PX: f64 = 16.0;
/// Rough width of one letter of a condensed face at 15 px, on the wide side.
pub(super) const CHARACTER_PX: f64 = 6.7;

/// Where one instance lies in a view.
#[derive(Debug, Clone, PartialEq)]
pub struct Patch {
    /// Instance id.
    pub instance: String,
    /// Outline moved inward so that a dashed edge never hides in a car line; holes follow, fill by the even-odd rule.
    pub d: String,
    /// The name, where there is room and no call-out carries it.
    pub label: Option<Label>,
    /// A point well inside what is seen of the patch, px.
    pub anchor: (f64, f64),
    /// The side of the largest square tried that fits what is seen of it, px; 48 or more can be touched with a glove.
    pub room_px: f64,
    /// Area of the outline, px2, before anything is drawn over it.
    pub area_px2: f64,
    pub(super) rings: Vec<Ring>,
    pub(super) drawn: Vec<Ring>,
}

/// A box beside the drawing, joined by a line to a patch too small to touch.
#[derive(Debug, Clone, PartialEq)]
pub struct Callout {
    /// Instance id.
    pub instance: String,
    /// From the anchor to the box, px.
    pub leader: [(f64, f64); 2],
    /// Left, top, width, height, px.
    pub rect: [f64; 4],
    /// The name.
    pub label: Label,
}

/// One view of the body; lengths in px at [`View::width`].
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// Stable name, for example `left`.
    pub id: String,
    /// The words under the drawing.
    pub caption: String,
    /// Width, px.
    pub width: f64,
    /// Height, px.
    pub height: f64,
    /// Lines, in drawing order within their layer.
    pub strokes: Vec<Stroke>,
    /// Patches, in drawing order: the largest first, so that a small one lies on its panel and takes the touch.
    pub patches: Vec<Patch>,
    /// Call-outs, from left to right, the upper row first.
    pub callouts: Vec<Callout>,
    pub(super) box_mm: [f64; 4],
}

impl View {
    /// The lines drawn before the patches: wheels, ghosts, ground and centre lines.
    pub fn under(&self) -> impl Iterator<Item = &Stroke> {
        self.strokes.iter().filter(|s| s.kind.is_under())
    }

    /// The lines drawn over the patches, fittings last.
    pub fn over(&self) -> impl Iterator<Item = &Stroke> {
        let fitting = |s: &&Stroke| s.kind == StrokeKind::Fitting;
        let lines = self.strokes.iter().filter(move |s| !s.kind.is_under() && !fitting(s));
        lines.chain(self.strokes.iter().filter(fitting))
    }

    /// Pixels for one millimetre of this view.
    pub fn px_per_mm(&self) -> f64 {
        self.width / (self.box_mm[2] - self.box_mm[0])
    }

    /// From px (right, down) to mm of the view (right, up).
    pub fn place(&self, x_px: f64, y_px: f64) -> (f64, f64) {
        (self.box_mm[0] + x_px / self.px_per_mm(), self.box_mm[3] - y_px / self.px_per_mm())
    }

    /// From mm of the view (right, up) to px (right, down).
    pub fn at(&self, u_mm: f64, v_mm: f64) -> (f64, f64) {
        ((u_mm - self.box_mm[0]) * self.px_per_mm(), (self.box_mm[3] - v_mm) * self.px_per_mm())
    }

    pub(super) fn at_point(&self, p: Vector<2>) -> Vector<2> {
        let (x, y) = self.at(p[0], p[1]);
        [x, y]
    }

    /// The instance at a point of the view, mm; where patches overlap, the one drawn last.
    pub fn instance_at(&self, u_mm: f64, v_mm: f64) -> Option<&str> {
        self.instances_at(u_mm, v_mm).next()
    }

    /// Every instance at a point of the view, mm, the topmost first; for a car that lacks one, take the next.
    pub fn instances_at(&self, u_mm: f64, v_mm: f64) -> impl Iterator<Item = &str> {
        let (x, y) = self.at(u_mm, v_mm);
        self.patches.iter().rev().filter(move |p| contains(&p.rings, [x, y])).map(|p| p.instance.as_str())
    }

    /// The largest patch of an instance in this view.
    pub fn patch(&self, instance: &str) -> Option<&Patch> {
        self.patches.iter().find(|p| p.instance == instance)
    }

    /// The call-out of an instance in this view.
    pub fn callout(&self, instance: &str) -> Option<&Callout> {
        self.callouts.iter().find(|c| c.instance == instance)
    }
}
