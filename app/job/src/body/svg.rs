//! A stand-alone map as SVG text, for the dossier and for exports.
//!
//! Everything is in presentation attributes, so that it looks the same in a browser, in a PDF and in a
//! converter; hatching is a pattern fill.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::car::ZoneState;
use crate::what::Severity;

use super::view::{LETTER_PX, Label, Stroke, StrokeKind, View};

/// A numbered mark, for example where a photograph was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The number in the circle.
    pub number: u32,
    /// Place in mm of the view, right and up.
    pub at_mm: (f64, f64),
}

/// The colours of a map; hue carries no meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Palette {
    /// Lines, hatching and text.
    pub ink: &'static str,
    /// Ghosts, wheels, ground and centre line.
    pub soft: &'static str,
    /// The ground of the sheet.
    pub paper: &'static str,
}

impl Palette {
    /// Ink on white paper, for print.
    pub const PRINT: Palette = Palette { ink: "#1B3A63", soft: "#76839A", paper: "#FFFFFF" };
    /// Ink on the warm sheet of the screen.
    pub const SHEET: Palette = Palette { ink: "#1B3A63", soft: "#76839A", paper: "#FBF8F1" };
}

/// The faces asked for, most wanted first.
const FACES: &str = "Barlow Condensed, Arial Narrow, Liberation Sans Narrow, sans-serif";

/// The map of a view with the states of its zones; an instance without a state is not looked at.
///
/// `hidden` leaves out instances that this car does not have. Numbers and names are escaped, so that any
/// caption may be used.
pub fn map_svg(
    view: &View,
    states: &BTreeMap<String, ZoneState>,
    marks: &[Mark],
    hidden: &[&str],
    palette: Palette,
) -> String {
    let mut out = String::with_capacity(32_000);
    // Writing to a String cannot fail; the result carries nothing.
    let _ = write_map(&mut out, view, states, marks, hidden, palette);
    out
}

fn write_map(
    out: &mut String,
    view: &View,
    states: &BTreeMap<String, ZoneState>,
    marks: &[Mark],
    hidden: &[&str],
    p: Palette,
) -> std::fmt::Result {
    let (w, h) = (view.width, view.height);
    write!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}" font-family="{FACES}" font-size="{LETTER_PX}" font-weight="500">"#
    )?;
    write!(out, "<title>{}</title><defs>", escaped(&view.caption))?;
    for (i, (step, weight)) in [(16.0, 1.1), (8.0, 1.5), (4.0, 1.8)].iter().enumerate() {
        let n = i + 1;
        let middle = step / 2.0;
        write!(
            out,
            r#"<pattern id="bad{n}" width="{step}" height="{step}" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="{step}" height="{step}" fill="{}"/><path d="M{middle} 0V{step}" stroke="{}" stroke-width="{weight}"/></pattern>"#,
            p.paper, p.ink
        )?;
    }
    write!(out, r#"</defs><rect width="{w}" height="{h}" fill="{}"/>"#, p.paper)?;
    for s in view.under() {
        stroke(out, s, p)?;
    }
    for patch in view.patches.iter().filter(|x| !hidden.contains(&x.instance.as_str())) {
        let state = states.get(&patch.instance).copied().unwrap_or(ZoneState::NotLooked);
        write!(out, r#"<path d="{}" fill-rule="evenodd" {}/>"#, patch.d, paint(state, p))?;
    }
    for s in view.over() {
        stroke(out, s, p)?;
    }
    for patch in view.patches.iter().filter(|x| !hidden.contains(&x.instance.as_str())) {
        if let Some(l) = &patch.label {
            let state = states.get(&patch.instance).copied().unwrap_or(ZoneState::NotLooked);
            label(out, l, state, p)?;
        }
    }
    for c in view.callouts.iter().filter(|x| !hidden.contains(&x.instance.as_str())) {
        let state = states.get(&c.instance).copied().unwrap_or(ZoneState::NotLooked);
        let [(x0, y0), (x1, y1)] = c.leader;
        let [x, y, width, height] = c.rect;
        write!(
            out,
            r#"<path d="M{x0:.1} {y0:.1}L{x1:.1} {y1:.1}" stroke="{paper}" stroke-width="3"/><path d="M{x0:.1} {y0:.1}L{x1:.1} {y1:.1}" stroke="{ink}" stroke-width="1"/><circle cx="{x0:.1}" cy="{y0:.1}" r="2.6" fill="{ink}" stroke="{paper}" stroke-width="1"/>"#,
            ink = p.ink,
            paper = p.paper
        )?;
        write!(out, r#"<rect x="{x:.1}" y="{y:.1}" width="{width:.1}" height="{height:.1}" {}/>"#, paint(state, p))?;
        label(out, &c.label, state, p)?;
    }
    for m in marks {
        let (x, y) = view.at(m.at_mm.0, m.at_mm.1);
        write!(
            out,
            r#"<circle cx="{x:.1}" cy="{y:.1}" r="12" fill="{}" stroke="{ink}" stroke-width="2"/><text x="{x:.1}" y="{:.1}" text-anchor="middle" fill="{ink}">{}</text>"#,
            p.paper,
            y + 5.2,
            m.number,
            ink = p.ink
        )?;
    }
    out.push_str("</svg>");
    Ok(())
}

/// The width of a line in px.
pub fn stroke_px(s: &Stroke) -> f64 {
    match s.weight {
        1 => 0.9,
        2 => 1.5,
        _ => 2.3,
    }
}

fn stroke(out: &mut String, s: &Stroke, p: Palette) -> std::fmt::Result {
    let fill = if s.kind == StrokeKind::Fitting && s.closed { p.paper } else { "none" };
    let colour = if s.kind.is_under() { p.soft } else { p.ink };
    let dashes = if s.kind == StrokeKind::Centre { r#" stroke-dasharray="14 3 3 3""# } else { "" };
    write!(
        out,
        r#"<path d="{}" fill="{fill}" stroke="{colour}" stroke-width="{}" stroke-linejoin="round" stroke-linecap="round"{dashes}/>"#,
        s.d,
        stroke_px(s)
    )
}

fn paint(state: ZoneState, p: Palette) -> String {
    let (fill, width, dashes) = match state {
        ZoneState::NotLooked => (p.paper, 1.1, r#" stroke-dasharray="5 4""#),
        ZoneState::Clear => (p.paper, 1.1, ""),
        ZoneState::Bad(Severity::Pitted) => ("url(#bad1)", 1.25, ""),
        ZoneState::Bad(Severity::Thin) => ("url(#bad2)", 1.25, ""),
        ZoneState::Bad(Severity::Holed) => ("url(#bad3)", 1.25, ""),
        ZoneState::MadeGood => (p.ink, 1.25, ""),
    };
    format!(r#"fill="{fill}" stroke="{}" stroke-width="{width}" stroke-linejoin="round"{dashes}"#, p.ink)
}

fn label(out: &mut String, l: &Label, state: ZoneState, p: Palette) -> std::fmt::Result {
    let fill = if state == ZoneState::MadeGood { p.paper } else { p.ink };
    // On hatching the letters stand on a band of paper, or they could not be read.
    let halo = if matches!(state, ZoneState::Bad(_)) {
        format!(r#" stroke="{}" stroke-width="4" stroke-linejoin="round" paint-order="stroke""#, p.paper)
    } else {
        String::new()
    };
    for (y, text) in l.baselines() {
        write!(
            out,
            r#"<text x="{:.1}" y="{y:.1}" text-anchor="middle" fill="{fill}"{halo}>{}</text>"#,
            l.x,
            escaped(text)
        )?;
    }
    Ok(())
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
