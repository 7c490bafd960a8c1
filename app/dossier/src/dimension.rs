//! Ranges drawn as dimensions: two end lines, a line between, a lozenge at the likely value, a heavy upright at
//! the hours agreed. Every figure also stands in words beside the drawing.

use std::fmt::Write as _;

use job::body::svg::Palette;
use job::question::RangeSaid;

/// The most hours that are drawn; what lies beyond stands at the edge.
const MOST_H: f64 = 100_000.0;
/// The most ranges in one drawing, the latest ones.
pub(crate) const MOST_ROWS: usize = 24;

/// Where the axis begins and ends in a drawing of several ranges, and how high a row is.
const LEFT: f64 = 92.0;
const RIGHT: f64 = 424.0;
const ROW: f64 = 24.0;

/// One range over its axis, as a stand-alone SVG; the heavy upright is the hours agreed.
pub fn one(range: RangeSaid, agreed_h: Option<f64>) -> String {
    let end_h = scale(range.p95_h, agreed_h);
    let x = |hours: f64| 10.0 + shown(hours) / end_h * 300.0;
    let mut out = head(320.0, 50.0);
    axis(&mut out, 30.0, 10.0, 300.0, end_h);
    dimension(&mut out, range, 15.0, x);
    if let Some(agreed) = agreed_h {
        upright(&mut out, x(agreed), 2.0, 37.0);
    }
    out.push_str("</svg>");
    out
}

/// Several ranges over one axis, the first one at the top.
pub(crate) fn several(rows: &[(String, RangeSaid)], agreed_h: Option<f64>) -> String {
    let rows = &rows[rows.len() - rows.len().min(MOST_ROWS)..];
    let most = rows.iter().map(|(_, range)| range.p95_h).fold(0.0, f64::max);
    let end_h = scale(most, agreed_h);
    let x = |hours: f64| LEFT + shown(hours) / end_h * (RIGHT - LEFT);
    let bottom = 8.0 + ROW * rows.len() as f64;
    let mut out = head(440.0, bottom + 24.0);
    axis(&mut out, bottom, LEFT, RIGHT - LEFT, end_h);
    for (n, (name, range)) in rows.iter().enumerate() {
        let y = 8.0 + ROW * (n as f64 + 0.5);
        text(&mut out, LEFT - 10.0, y + 4.5, "end", name);
        dimension(&mut out, *range, y, x);
    }
    if let Some(agreed) = agreed_h {
        upright(&mut out, x(agreed), 4.0, bottom + 6.0);
    }
    out.push_str("</svg>");
    out
}

fn head(width: f64, height: f64) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" font-family="sans-serif" font-size="13">"#
    )
}

/// A number of hours that can be drawn.
fn shown(hours: f64) -> f64 {
    if hours.is_finite() { hours.clamp(0.0, MOST_H) } else { 0.0 }
}

/// The end of the axis: the next round number of hours.
fn scale(most_h: f64, agreed_h: Option<f64>) -> f64 {
    let most = shown(most_h).max(shown(agreed_h.unwrap_or(0.0))).max(8.0);
    let decades = [1.0, 10.0, 100.0, 1_000.0, 10_000.0, MOST_H];
    let steps = decades.into_iter().flat_map(|ten| [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0].map(|n| n * ten));
    steps.into_iter().find(|end| *end >= most).unwrap_or(MOST_H)
}

fn axis(out: &mut String, y: f64, left: f64, width: f64, end_h: f64) {
    let mut d = format!("M{left} {y}h{width}");
    for tick in 0..=5 {
        let _ = write!(d, "M{:.1} {:.1}v8", left + width / 5.0 * f64::from(tick), y - 4.0);
    }
    line(out, &d, 1.0, Palette::PRINT.soft);
    text(out, left, y + 18.0, "start", "0");
    text(out, left + width, y + 18.0, "end", &format!("{end_h:.0} h"));
}

fn dimension(out: &mut String, range: RangeSaid, y: f64, x: impl Fn(f64) -> f64) {
    let (low, likely, high) = (x(range.p10_h), x(range.p50_h), x(range.p95_h));
    let ink = Palette::PRINT.ink;
    line(out, &format!("M{low:.1} {y:.1}H{high:.1}"), 3.0, ink);
    line(out, &format!("M{low:.1} {:.1}v18M{high:.1} {:.1}v18", y - 9.0, y - 9.0), 1.5, ink);
    let _ = write!(out, r#"<path d="M{likely:.1} {:.1}l7 9-7 9-7-9Z" fill="{ink}"/>"#, y - 9.0);
}

fn upright(out: &mut String, x: f64, top: f64, bottom: f64) {
    line(out, &format!("M{x:.1} {top:.1}V{bottom:.1}"), 3.5, Palette::PRINT.ink);
}

fn line(out: &mut String, d: &str, width: f64, colour: &str) {
    let _ = write!(out, r#"<path d="{d}" fill="none" stroke="{colour}" stroke-width="{width}"/>"#);
}

/// Words of ours only: nothing a person typed is ever drawn here.
fn text(out: &mut String, x: f64, y: f64, anchor: &str, words: &str) {
    let ink = Palette::PRINT.ink;
    let _ = write!(out, r#"<text x="{x:.1}" y="{y:.1}" text-anchor="{anchor}" fill="{ink}">{words}</text>"#);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn range(p10_h: f64, p50_h: f64, p95_h: f64) -> RangeSaid {
        RangeSaid { p10_h, p50_h, p80_h: p95_h, p95_h }
    }

    #[test]
    fn an_axis_ends_at_the_next_round_number() {
        for (most, agreed, end) in
            [(0.0, None, 8.0), (8.0, None, 8.0), (1115.0, Some(900.0), 1500.0), (640.0, Some(900.0), 1000.0)]
        {
            assert_eq!(scale(most, agreed), end, "{most} and {agreed:?}");
        }
    }

    #[test]
    fn whatever_the_hours_the_drawing_can_be_read() {
        for hours in [0.0, 1e-9, 1e300, f64::NAN, f64::INFINITY, -5.0] {
            let ranges = [range(hours, hours, hours), range(0.0, hours, 20.0), range(hours, 1.0, hours)];
            for range in ranges {
                assert!(crate::picture::drawing(&one(range, Some(hours))).is_some(), "{hours}");
                assert!(crate::picture::drawing(&several(&[("1".into(), range)], Some(hours))).is_some(), "{hours}");
            }
        }
        assert!(crate::picture::drawing(&several(&[], None)).is_some());
    }

    #[test]
    fn only_the_latest_ranges_are_drawn() {
        let rows: Vec<(String, RangeSaid)> =
            (0..MOST_ROWS + 3).map(|n| (format!("row {n}"), range(1.0, 2.0, 3.0))).collect();
        let drawn = several(&rows, None);
        assert!(!drawn.contains(">row 2<") && drawn.contains(">row 3<") && drawn.contains(">row 26<"));
    }

    #[test]
    fn the_likely_value_stands_between_the_ends() {
        let drawn = one(range(300.0, 600.0, 900.0), None);
        // 1000 hours over 300 units, beginning at 10.
        assert!(drawn.contains("M100.0 15.0H280.0") && drawn.contains("M190.0 6.0l7"), "{drawn}");
    }
}
