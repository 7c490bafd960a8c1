//! What is set into a view once its patches are there: anchors, call-outs and labels.

use std::collections::{BTreeMap, BTreeSet};

use super::callout::{self, Wanted, broken, text_height, text_width};
use super::error::BodyError;
use super::outline::{Ground, Ring, Segment};
use super::table::{Row, VIEWS};
use super::view::{Label, View};

/// Squares tried for room, px, largest first.
const ROOMS_PX: [f64; 7] = [48.0, 36.0, 26.0, 18.0, 12.0, 7.0, 4.0];

/// What lies over patch `i`.
fn ground<'a>(view: &'a View, i: usize, lines: &[Segment], fittings: &'a [Vec<Ring>]) -> Option<Ground<'a>> {
    let own = view.patches.get(i)?.drawn.as_slice();
    let later = view.patches.iter().skip(i + 1).map(|p| p.drawn.as_slice());
    Some(Ground::new(own, later.chain(fittings.iter().map(Vec::as_slice)), lines))
}

/// Gives each patch its anchor: the middle of the largest square that fits what is seen of it.
pub(super) fn set_anchors(view: &mut View, fittings: &[Vec<Ring>]) {
    for i in 0..view.patches.len() {
        // A finger does not mind a crease under it, so lines count for nothing here.
        let room = ground(view, i, &[], fittings)
            .and_then(|g| ROOMS_PX.iter().find_map(|side| Some((*side, g.room(*side, *side)?))));
        if let (Some((side, at)), Some(patch)) = (room, view.patches.get_mut(i)) {
            patch.room_px = side;
            patch.anchor = (at[0], at[1]);
        }
    }
}

/// Lays out the call-outs; too many for a row is an error.
pub(super) fn set_callouts(
    view: &mut View,
    wanted: Vec<(String, Row)>,
    labels: &BTreeMap<&str, &str>,
) -> Result<(), BodyError> {
    let mut rows: [Vec<Wanted>; 2] = [Vec::new(), Vec::new()];
    for (instance, side) in wanted {
        let anchor = view
            .patches
            .iter()
            .filter(|p| p.instance == instance)
            .max_by(|a, b| a.room_px.total_cmp(&b.room_px))
            .map(|p| p.anchor);
        let (Some(anchor), Some(label)) = (anchor, labels.get(instance.as_str())) else { continue };
        rows[usize::from(side == Row::Bottom)].push(Wanted { label: (*label).to_owned(), anchor, instance });
    }
    let [top, bottom] = rows;
    let full =
        || BodyError::Views { file: VIEWS, why: format!("view \"{}\" has more call-outs than fit in a row", view.id) };
    let mut callouts = callout::row(top, 4.0, view.width, true).ok_or_else(full)?;
    callouts.extend(callout::row(bottom, view.height - 4.0 - callout::TOUCH_PX, view.width, false).ok_or_else(full)?);
    view.callouts = callouts;
    Ok(())
}

/// Names each instance once in its largest patch with room, unless a call-out names it.
pub(super) fn set_labels(
    view: &mut View,
    mut lines: Vec<Segment>,
    fittings: &[Vec<Ring>],
    labels: &BTreeMap<&str, &str>,
) {
    lines.extend(view.callouts.iter().map(|c| ([c.leader[0].0, c.leader[0].1], [c.leader[1].0, c.leader[1].1])));
    let mut done: BTreeSet<String> = view.callouts.iter().map(|c| c.instance.clone()).collect();
    for i in 0..view.patches.len() {
        let Some(id) = view.patches.get(i).map(|p| p.instance.clone()) else { continue };
        let Some(label) = labels.get(id.as_str()).filter(|_| !done.contains(&id)) else { continue };
        let text = [vec![(*label).to_owned()], broken(label)];
        // First with air above and below, then tight.
        let tries = [16.0, 2.0].into_iter().flat_map(|air| text.iter().map(move |t| (air, t)));
        let found = ground(view, i, &lines, fittings).and_then(|g| {
            tries.into_iter().find_map(|(air, text)| {
                let at = g.room(text_width(text) + 8.0, text_height(text) + air)?;
                Some(Label { x: at[0], y: at[1], lines: text.clone() })
            })
        });
        if let (Some(label), Some(patch)) = (found, view.patches.get_mut(i)) {
            patch.label = Some(label);
            done.insert(id);
        }
    }
}
