//! The catalogue's coatings put before the coating engine.

use coating::acceptance::{Acceptance, Rule, judge};
use coating::climate::{Air, Decision, Limits};

use crate::catalogue::CoatingLayer;

/// Which field a refusal is about, and what is wrong.
pub type Refusal = (&'static str, String);

/// The limits of a product, or the usual ones.
pub fn limits(layer: Option<&CoatingLayer>) -> Limits {
    layer.map_or(Limits::USUAL, |layer| Limits {
        surface_min_c: Some(layer.surface_min_c),
        rh_max_pct: layer.rh_max_pct.min(Limits::USUAL.rh_max_pct),
        ..Limits::USUAL
    })
}

/// Whether to spray now, with a product or in general. Temperatures in deg C, humidity in percent.
///
/// # Errors
/// When a figure lies outside what the formula holds for; names the field.
pub fn may_spray(air_c: f64, rh_pct: f64, panel_c: f64, layer: Option<&CoatingLayer>) -> Result<Decision, Refusal> {
    let air = Air { temperature_c: air_c, rh_pct };
    coating::climate::may_spray(air, panel_c, &limits(layer)).map_err(|e| {
        let say = e.to_string();
        let field = if say.contains("panel") {
            "panel"
        } else if say.contains("humidity") {
            "rh"
        } else {
            "air"
        };
        (field, say)
    })
}

/// Film readings in um judged against a nominal film in um.
///
/// # Errors
/// When a figure lies outside its range; names the field.
pub fn judge_film(readings_um: &[f64], nominal_um: f64) -> Result<Acceptance, Refusal> {
    judge(readings_um, &Rule { nominal_um, agreed_max_um: None }).map_err(|e| {
        let say = e.to_string();
        (if say.contains("nominal") { "nominal_um" } else { "readings" }, say)
    })
}
