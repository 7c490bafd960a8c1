//! The outline maps and the marks that they use.

use std::collections::BTreeMap;

use job::body::Instance;
use job::body::svg::{Mark, Palette, map_svg};
use job::car::{Car, ZoneState};
use job::what::Severity;

use super::{body, upper};
use crate::view::*;

/// Every view of the car, hatched by state, with its photographs as numbered circles.
pub(super) fn maps(car: &Car, zones: &[&Instance]) -> Vec<OutlineMap> {
    let Some(body) = body(car) else { return Vec::new() };
    let states: BTreeMap<String, ZoneState> = zones.iter().map(|z| (z.id.clone(), car.state(&z.id))).collect();
    let hidden: Vec<&str> =
        body.instances().iter().map(|i| i.id.as_str()).filter(|id| !states.contains_key(*id)).collect();
    let views = body.views().iter().map(|view| {
        let marks: Vec<Mark> = (1..)
            .zip(car.photographs())
            .filter_map(|(number, (_, photo))| {
                let mark = photo.mark.as_ref().filter(|mark| mark.view == view.id)?;
                Some(Mark { number, at_mm: (mark.u_mm, mark.v_mm) })
            })
            .collect();
        OutlineMap { caption: upper(&view.caption), svg: map_svg(view, &states, &marks, &hidden, Palette::PRINT) }
    });
    views.collect()
}

/// Every state with its mark.
pub(super) fn legend() -> Vec<LegendRow> {
    const STATES: [ZoneState; 6] = [
        ZoneState::NotLooked,
        ZoneState::Clear,
        ZoneState::Bad(Severity::Pitted),
        ZoneState::Bad(Severity::Thin),
        ZoneState::Bad(Severity::Holed),
        ZoneState::MadeGood,
    ];
    STATES.into_iter().map(|state| LegendRow { mark_svg: mark_svg(state), words: upper(state.words()) }).collect()
}

/// A small oblong in the hatching of a state, at the scale of the maps as they are printed.
pub(super) fn mark_svg(state: ZoneState) -> String {
    let ink = Palette::PRINT.ink;
    let (fill, dashes) = match state {
        ZoneState::NotLooked => ("none", r#" stroke-dasharray="5 4""#),
        ZoneState::Clear => ("none", ""),
        ZoneState::Bad(_) => ("url(#bad)", ""),
        ZoneState::MadeGood => (ink, ""),
    };
    let (step, weight) = match state {
        ZoneState::Bad(Severity::Pitted) => (16, 1.1),
        ZoneState::Bad(Severity::Thin) => (8, 1.5),
        _ => (4, 1.8),
    };
    let middle = step / 2;
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 66 42" width="66" height="42"><defs><pattern id="bad" width="{step}" height="{step}" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M{middle} 0V{step}" stroke="{ink}" stroke-width="{weight}"/></pattern></defs><rect x="1" y="1" width="64" height="40" fill="{fill}" stroke="{ink}" stroke-width="1.25"{dashes}/></svg>"#
    )
}
