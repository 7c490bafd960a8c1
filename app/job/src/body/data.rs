//! Path data: outlines and lines as the text of an SVG path.

use std::fmt::Write as _;

use super::curve::{Cubic, distance};
use super::path::is_straight;

/// One number of path data: one decimal, without a needless ".0" or "-0".
fn number(out: &mut String, n: f64) {
    // Drawings are a few thousand px wide; the cast saturates beyond that.
    let tenths = (n * 10.0).round() as i64;
    let sign = if tenths < 0 { "-" } else { "" };
    let (whole, part) = (tenths.abs() / 10, tenths.abs() % 10);
    // Writing to a String cannot fail.
    let _ = if part == 0 { write!(out, "{sign}{whole}") } else { write!(out, "{sign}{whole}.{part}") };
}

fn pair(out: &mut String, p: [f64; 2]) {
    number(out, p[0]);
    out.push(' ');
    number(out, p[1]);
}

/// Path data of a smooth line.
pub(super) fn curve_data(cubics: &[Cubic<2>], closed: bool) -> String {
    let mut out = String::new();
    let mut last: Option<[f64; 2]> = None;
    for c in cubics {
        if last.is_none_or(|p| distance(p, c[0]) > 0.05) {
            out.push('M');
            pair(&mut out, c[0]);
        }
        if is_straight(c) {
            out.push('L');
            pair(&mut out, c[3]);
        } else {
            out.push('C');
            for (i, p) in c.iter().skip(1).enumerate() {
                if i > 0 {
                    out.push(' ');
                }
                pair(&mut out, *p);
            }
        }
        last = Some(c[3]);
    }
    if closed {
        out.push('Z');
    }
    out
}

/// Path data of an outline.
pub(super) fn ring_data(ring: &[[f64; 2]]) -> String {
    let mut out = String::new();
    for (i, p) in ring.iter().enumerate() {
        out.push(match i {
            0 => 'M',
            1 => 'L',
            _ => ' ',
        });
        pair(&mut out, *p);
    }
    out.push('Z');
    out
}
