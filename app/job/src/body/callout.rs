//! Call-outs: rows of boxes above and below a drawing, spread so that none overlap.

use super::view::{CHARACTER_PX, Callout, LINE_PX, Label};

/// Least side of a box: a gloved finger.
pub(super) const TOUCH_PX: f64 = 48.0;
/// Least distance between touch targets.
const GAP_PX: f64 = 8.0;

/// A call-out that wants a place.
pub(super) struct Wanted {
    pub(super) instance: String,
    pub(super) label: String,
    pub(super) anchor: (f64, f64),
}

/// The label in one line, or broken at the space or hyphen nearest its middle.
pub(super) fn broken(label: &str) -> Vec<String> {
    let middle = label.len() as f64 / 2.0;
    let breaks = label.char_indices().filter(|(_, c)| *c == ' ' || *c == '-');
    let best = breaks.min_by(|(a, _), (b, _)| (*a as f64 - middle).abs().total_cmp(&(*b as f64 - middle).abs()));
    match best {
        Some((i, ' ')) => vec![label[..i].to_owned(), label[i + 1..].to_owned()],
        Some((i, _)) => vec![label[..=i].to_owned(), label[i + 1..].to_owned()],
        None => vec![label.to_owned()],
    }
}

/// Rough width of a block of lines, px.
pub(super) fn text_width(lines: &[String]) -> f64 {
    lines.iter().map(|l| l.chars().count() as f64 * CHARACTER_PX).fold(0.0, f64::max)
}

/// Rough height of a block of lines, px.
pub(super) fn text_height(lines: &[String]) -> f64 {
    lines.len() as f64 * LINE_PX
}

/// Boxes in one row, each as near above its anchor as the others allow; `None` when the row is too full.
///
/// The places least moved in the sense of least squares: with the widths taken out, pooling neighbours
/// that would overlap (Ayer et al. 1955, pool adjacent violators; from memory).
pub(super) fn row(mut wanted: Vec<Wanted>, top: f64, view_width: f64, box_is_above: bool) -> Option<Vec<Callout>> {
    wanted.sort_by(|a, b| a.anchor.0.total_cmp(&b.anchor.0).then_with(|| a.instance.cmp(&b.instance)));
    let lines: Vec<Vec<String>> = wanted.iter().map(|w| broken(&w.label)).collect();
    let widths: Vec<f64> = lines.iter().map(|l| (text_width(l) + 14.0).max(TOUCH_PX + 8.0).ceil()).collect();
    let mut before = 0.0;
    let mut offsets = Vec::with_capacity(widths.len());
    for (i, w) in widths.iter().enumerate() {
        offsets.push(before + w / 2.0);
        before += w + if i + 1 < widths.len() { GAP_PX } else { 0.0 };
    }
    let spare = view_width - 2.0 * GAP_PX - before;
    if spare < 0.0 {
        return None;
    }
    // Blocks of (sum of wishes, count); a block takes the mean of its wishes.
    let mut blocks: Vec<(f64, f64)> = Vec::new();
    for (w, offset) in wanted.iter().zip(&offsets) {
        blocks.push((w.anchor.0 - offset, 1.0));
        while let [.., a, b] = blocks[..] {
            if a.0 / a.1 <= b.0 / b.1 {
                break;
            }
            blocks.truncate(blocks.len() - 2);
            blocks.push((a.0 + b.0, a.1 + b.1));
        }
    }
    let starts = blocks
        .iter()
        .flat_map(|(sum, count)| std::iter::repeat_n((sum / count).clamp(GAP_PX, GAP_PX + spare), *count as usize));
    let boxes = wanted.into_iter().zip(lines).zip(widths.iter().zip(offsets.iter()).zip(starts));
    Some(
        boxes
            .map(|((w, lines), ((width, offset), start))| {
                let x = start + offset;
                let edge = if box_is_above { top + TOUCH_PX } else { top };
                Callout {
                    instance: w.instance,
                    leader: [w.anchor, (x, edge)],
                    rect: [x - width / 2.0, top, *width, TOUCH_PX],
                    label: Label { x, y: top + TOUCH_PX / 2.0, lines },
                }
            })
            .collect(),
    )
}
