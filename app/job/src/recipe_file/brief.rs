//! A brief as a file: what is to be other than the target, and how much each angle counts.

use base::Warning;
use colour::Geometry;

use super::MOST_BYTES;
use crate::json::{Document, JsonError, Node};
use crate::mixing::{AngleWeight, Brief, BriefEdit};

/// Reads `{"edits": [{"angle": 75, "dL": 0, "dC": 0, "dh": 0}], "weights": {"15": 0.15}}`.
///
/// Angles are aspecular degrees. A change that is left out is none; an angle without a weight keeps the usual
/// one. Gives a warning for every key that is not used.
///
/// # Errors
/// When a key holds something else than it needs, an angle comes twice, or no angle has any weight.
pub fn brief(file: &str, bytes: &[u8]) -> Result<(Brief, Vec<Warning>), JsonError> {
    let document = Document::read(file, bytes, MOST_BYTES)?;
    let root = document.root();
    let mut doubts = root.unused(&["edits", "weights"]);
    let mut brief = Brief::default();
    if let Some(edits) = root.get("edits")? {
        for node in edits.list(Geometry::ALL.len())? {
            let edit = edit(&node, &mut doubts)?;
            if brief.edits.iter().any(|other| other.geometry == edit.geometry) {
                return Err(node.need("angle", "")?.refuse("each angle once"));
            }
            brief.edits.push(edit);
        }
    }
    if let Some(weights) = root.get("weights")? {
        brief.weights = read_weights(&weights)?;
    }
    Ok((brief, doubts))
}

fn edit(node: &Node<'_>, doubts: &mut Vec<Warning>) -> Result<BriefEdit, JsonError> {
    doubts.extend(node.unused(&["angle", "dL", "dC", "dh"]));
    let angle = node.need("angle", &angles())?;
    let named = angle.number(-180.0..=180.0).map(|degrees| degrees.to_string());
    let named = named.or_else(|_| angle.text(20).map(String::from))?;
    let geometry = geometry(&named).ok_or_else(|| angle.refuse(format!("one of {}", angles())))?;
    let change = |key: &str, most: f64| node.get(key)?.map_or(Ok(0.0), |change| change.number(-most..=most));
    Ok(BriefEdit {
        geometry: geometry.to_string(),
        dl: change("dL", 200.0)?,
        dc: change("dC", 200.0)?,
        dh_deg: change("dh", 360.0)?,
    })
}

fn read_weights(node: &Node<'_>) -> Result<Vec<AngleWeight>, JsonError> {
    let mut weights = Vec::new();
    for (angle, node) in node.entries(Geometry::ALL.len())? {
        let geometry = geometry(angle).ok_or_else(|| node.refuse(format!("as key one of {}", angles())))?;
        weights.push((geometry, node.number(0.0..=1_000.0)?));
    }
    // Only what leaves some weight somewhere is a brief; an angle that is not named keeps its usual one.
    if weights.is_empty() || (weights.len() == Geometry::ALL.len() && weights.iter().all(|(_, w)| *w == 0.0)) {
        return Err(node.refuse("at least one angle with a weight over 0, or no weights at all for the usual ones"));
    }
    weights.sort_by_key(|(geometry, _)| *geometry);
    if weights.windows(2).any(|pair| matches!(pair, [(one, _), (other, _)] if one == other)) {
        return Err(node.refuse("each angle once"));
    }
    Ok(weights.into_iter().map(|(g, weight)| AngleWeight { geometry: g.to_string(), weight }).collect())
}

/// The geometry with this aspecular angle: "15", "-15", or in full, "45as15".
pub fn geometry(angle: &str) -> Option<Geometry> {
    let angle = angle.trim();
    let degrees = angle.parse().ok();
    let by_angle = |geometry: &Geometry| Some(geometry.aspecular_deg()) == degrees;
    Geometry::ALL.into_iter().find(by_angle).or_else(|| angle.parse().ok())
}

/// "-15, 15, 25, 45, 75, 110".
pub(super) fn angles() -> String {
    Geometry::ALL.map(|geometry| geometry.aspecular_deg().to_string()).join(", ")
}
