//! Dew point, margin above it, and whether to spray now.
//!
//! Steel colder than the dew point is wet, and steel a little above it gets wet from the chill of evaporating
//! solvent. The usual practice (ISO 8502-4) is a surface at least 3 deg C above the dew point and at most 85 %
//! relative humidity; a product's own data sheet may ask for more.
//!
//! Not done here: frost. Below 0 deg C the dew point is the one over supercooled water; the frost point lies a
//! little above it (0.6 deg C at -5).

use base::{Warning, math};

use crate::CoatingError;
use crate::error::within;
use crate::words::{apart, plain};

/// Magnus coefficient a (no unit): Sonntag, Zeitschrift fuer Meteorologie 70 (1990) 340-344, over water.
const A: f64 = 17.62;
/// Magnus coefficient b, in deg C, of the same source.
const B_C: f64 = 243.12;
/// Saturation vapour pressure over water at 0 deg C, in hPa, of the same source.
const E0_HPA: f64 = 6.112;

/// Where the Magnus form is used, in deg C; the source gives -45 to 60.
const TEMPERATURE_C: std::ops::RangeInclusive<f64> = -20.0..=60.0;
/// Relative humidity, in percent.
const HUMIDITY_PCT: std::ops::RangeInclusive<f64> = 1.0..=100.0;

/// A margin this little short of its limit is a rounding error of the arithmetic, not of the weather.
const ROUNDING: f64 = 1e-9;

/// Usual precision of an air or contact thermometer, in deg C (common practice, no source).
const THERMOMETER_C: f64 = 0.5;
/// Usual precision of a hygrometer, in percent relative humidity (common practice, no source).
const HYGROMETER_PCT: f64 = 3.0;

/// Air as a thermometer and a hygrometer read it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Temperature in deg C, -20 to 60.
    pub temperature_c: f64,
    /// Relative humidity in percent, 1 to 100.
    pub rh_pct: f64,
}

/// What must hold for spraying.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// How far above the dew point the panel must be, in deg C, 0 to 20.
    pub margin_min_c: f64,
    /// Dampest air, in percent relative humidity, 1 to 100.
    pub rh_max_pct: f64,
    /// Coldest panel the product may go on, in deg C, if it says.
    pub surface_min_c: Option<f64>,
}

impl Limits {
    /// ISO 8502-4 practice: 3 deg C above the dew point and at most 85 % relative humidity.
    pub const USUAL: Self = Self { margin_min_c: 3.0, rh_max_pct: 85.0, surface_min_c: None };
}

/// Whether to spray, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Decision {
    /// Dew point of the air, in deg C.
    pub dew_point_c: f64,
    /// Panel less dew point, in deg C.
    pub margin_c: f64,
    /// Whether every limit holds.
    pub spray: bool,
    /// The reason as one plain sentence, with what would make a no into a yes.
    pub why: String,
    /// Changes each of which makes a no into a yes by itself; empty for a yes.
    pub remedies: Vec<Remedy>,
    /// Set where the answer lies within what the usual instruments can tell.
    pub warnings: Vec<Warning>,
}

/// A change of the panel, the air or both, after which every limit holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Remedy {
    /// By how much to warm the panel, in deg C, rounded up to a tenth; 0 if it may stay.
    pub warm_panel_c: f64,
    /// The relative humidity to bring the air down to at the same temperature, in whole percent.
    pub rh_pct: Option<f64>,
}

/// Dew point in deg C of air at -20 to 60 deg C and 1 to 100 % relative humidity; fails outside.
///
/// Magnus form after Sonntag (1990): e = 6.112 hPa exp(a T / (b + T)) with a = 17.62 and b = 243.12 deg C;
/// the dew point is the temperature at which e is the vapour pressure that the air holds. Within 0.04 deg C of the
/// full equations at 1 to 40 deg C and 30 to 100 %, wherever the dew point is above 0.
///
/// ```
/// use coating::climate::{Air, dew_point_c};
/// let dew = dew_point_c(Air { temperature_c: 20.0, rh_pct: 65.0 })?;
/// assert!((dew - 13.2).abs() < 0.05);
/// # Ok::<(), coating::CoatingError>(())
/// ```
pub fn dew_point_c(air: Air) -> Result<f64, CoatingError> {
    within("the air temperature", "deg C", air.temperature_c, TEMPERATURE_C)?;
    within("the relative humidity", "%", air.rh_pct, HUMIDITY_PCT)?;
    Ok(dew_point_from_exponent_c(exponent(air.temperature_c) + math::ln(air.rh_pct / 100.0)))
}

/// Saturation vapour pressure over water in hPa, at -20 to 60 deg C; fails outside. Magnus form after Sonntag (1990).
///
/// ```
/// let e_hpa = coating::climate::saturation_hpa(0.0)?;
/// assert_eq!(e_hpa, 6.112);
/// # Ok::<(), coating::CoatingError>(())
/// ```
pub fn saturation_hpa(temperature_c: f64) -> Result<f64, CoatingError> {
    within("the temperature", "deg C", temperature_c, TEMPERATURE_C)?;
    Ok(E0_HPA * math::exp(exponent(temperature_c)))
}

/// The exponent a T / (b + T) of the Magnus form.
fn exponent(temperature_c: f64) -> f64 {
    A * temperature_c / (B_C + temperature_c)
}

/// The temperature whose exponent is `g`: b g / (a - g).
fn dew_point_from_exponent_c(g: f64) -> f64 {
    B_C * g / (A - g)
}

/// Whether to spray in this air on a panel of `panel_c` deg C (-20 to 60), under `limits`; fails where a number
/// lies outside its range.
///
/// Unrounded values are compared: a margin of 2.97 is short of 3, and the sentence then prints 2.97, so that nobody
/// reads "3.0 where 3.0 is needed".
///
/// ```
/// use coating::climate::{Air, Limits, may_spray};
/// let now = may_spray(Air { temperature_c: 18.0, rh_pct: 70.0 }, 15.0, &Limits::USUAL)?;
/// assert!(!now.spray);
/// assert_eq!(
///     now.why,
///     "the panel is 2.6 \u{b0}C above the dew point of 12.4 \u{b0}C; 3.0 is needed: \
///      warm the panel by 0.5 \u{b0}C, or bring the humidity down to 67 %"
/// );
/// # Ok::<(), coating::CoatingError>(())
/// ```
pub fn may_spray(air: Air, panel_c: f64, limits: &Limits) -> Result<Decision, CoatingError> {
    let dew_point_c = dew_point_c(air)?;
    within("the panel temperature", "deg C", panel_c, TEMPERATURE_C)?;
    within("the margin needed above the dew point", "deg C", limits.margin_min_c, 0.0..=20.0)?;
    within("the highest relative humidity", "%", limits.rh_max_pct, HUMIDITY_PCT)?;
    if let Some(surface_min_c) = limits.surface_min_c {
        within("the coldest surface of the product", "deg C", surface_min_c, TEMPERATURE_C)?;
    }
    let margin_c = panel_c - dew_point_c;
    let faults = faults(air, panel_c, dew_point_c, limits);
    let spray = faults.is_empty();
    let remedies = if spray { Vec::new() } else { remedies(air, panel_c, limits) };
    let why = if spray {
        reasons_for(air, margin_c, dew_point_c, limits)
    } else {
        let told: Vec<String> = remedies.iter().map(Remedy::in_words).collect();
        format!("{}: {}", faults.join(", and "), told.join(", or "))
    };
    let warnings = doubt(air, margin_c, limits).into_iter().collect();
    Ok(Decision { dew_point_c, margin_c, spray, why, remedies, warnings })
}

/// How far a margin may be off with a thermometer good to 0.5 deg C on the air and on the panel and a hygrometer good
/// to 3 %, in deg C: the three added as independent errors, each times the slope of the dew point.
///
/// ```
/// use coating::climate::{Air, margin_precision_c};
/// let good_to = margin_precision_c(Air { temperature_c: 18.0, rh_pct: 70.0 })?;
/// assert!((good_to - 0.9).abs() < 0.1);
/// # Ok::<(), coating::CoatingError>(())
/// ```
pub fn margin_precision_c(air: Air) -> Result<f64, CoatingError> {
    let dew = dew_point_c(air)?;
    // From a T / (b + T) + ln(rh) = a Td / (b + Td), differentiated on both sides.
    let from_exponent = (B_C + dew) * (B_C + dew) / (A * B_C);
    let by_air = from_exponent * A * B_C / ((B_C + air.temperature_c) * (B_C + air.temperature_c));
    let by_humidity = from_exponent / air.rh_pct;
    let parts = [THERMOMETER_C, by_air * THERMOMETER_C, by_humidity * HYGROMETER_PCT];
    Ok(parts.iter().map(|part| part * part).sum::<f64>().sqrt())
}

/// One clause for each limit that does not hold.
fn faults(air: Air, panel_c: f64, dew_point_c: f64, limits: &Limits) -> Vec<String> {
    let mut faults = Vec::new();
    let margin_c = panel_c - dew_point_c;
    let needed_c = limits.margin_min_c;
    if margin_c < needed_c - ROUNDING {
        let by = apart(margin_c.abs(), needed_c);
        let (side, wanted) = if margin_c < 0.0 { ("below", " above it") } else { ("above", "") };
        let (dew, needed) = (plain(dew_point_c), plain(needed_c));
        faults.push(format!(
            "the panel is {by} \u{b0}C {side} the dew point of {dew} \u{b0}C; {needed}{wanted} is needed"
        ));
    }
    if let Some(least_c) = limits.surface_min_c.filter(|least_c| panel_c < least_c - ROUNDING) {
        let (panel, least) = (apart(panel_c, least_c), plain(least_c));
        faults.push(format!("the panel is at {panel} \u{b0}C; the product needs at least {least}"));
    }
    if air.rh_pct > limits.rh_max_pct + ROUNDING {
        let (rh, most) = (apart(air.rh_pct, limits.rh_max_pct), plain(limits.rh_max_pct));
        faults.push(format!("the humidity is {rh} %; {most} is the most"));
    }
    faults
}

/// The changes that make a no into a yes: warm the panel (in air no damper than allowed), or dry the air until the
/// dew point is low enough, where that alone can help.
fn remedies(air: Air, panel_c: f64, limits: &Limits) -> Vec<Remedy> {
    let too_damp = air.rh_pct > limits.rh_max_pct + ROUNDING;
    let dried_pct = too_damp.then(|| limits.rh_max_pct.floor().max(*HUMIDITY_PCT.start()));
    let exponent_of_air = exponent(air.temperature_c);
    let dew_c = dew_point_from_exponent_c(exponent_of_air + math::ln(dried_pct.unwrap_or(air.rh_pct) / 100.0));
    let for_dew_c = limits.margin_min_c - (panel_c - dew_c);
    let for_product_c = limits.surface_min_c.map_or(0.0, |least_c| least_c - panel_c);
    let warm_panel_c = up_to_a_tenth(for_dew_c.max(for_product_c));
    let mut remedies = vec![Remedy { warm_panel_c, rh_pct: dried_pct }];
    if for_dew_c > ROUNDING && for_product_c <= ROUNDING {
        let driest = math::exp(exponent(panel_c - limits.margin_min_c) - exponent_of_air) * 100.0;
        let rh_pct = (driest + ROUNDING).floor();
        if HUMIDITY_PCT.contains(&rh_pct) {
            remedies.push(Remedy { warm_panel_c: 0.0, rh_pct: Some(rh_pct) });
        }
    }
    remedies
}

impl Remedy {
    fn in_words(&self) -> String {
        let dry = self.rh_pct.map(|rh_pct| format!("bring the humidity down to {rh_pct:.0} %"));
        let warm = (self.warm_panel_c > 0.0).then(|| format!("warm the panel by {:.1} \u{b0}C", self.warm_panel_c));
        [dry, warm].into_iter().flatten().collect::<Vec<_>>().join(" and ")
    }
}

/// `rise_c` rounded up to a tenth, and 0 if there is none.
fn up_to_a_tenth(rise_c: f64) -> f64 {
    ((rise_c - ROUNDING) * 10.0).ceil().max(0.0) / 10.0
}

/// The sentence of a yes.
fn reasons_for(air: Air, margin_c: f64, dew_point_c: f64, limits: &Limits) -> String {
    let (margin, needed) = (apart(margin_c, limits.margin_min_c), plain(limits.margin_min_c));
    let (dew, rh, most) = (plain(dew_point_c), apart(air.rh_pct, limits.rh_max_pct), plain(limits.rh_max_pct));
    format!(
        "the panel is {margin} \u{b0}C above the dew point of {dew} \u{b0}C ({needed} needed) and the humidity is \
         {rh} % ({most} at most)"
    )
}

/// A warning where the margin is nearer to its limit than the usual instruments can tell.
fn doubt(air: Air, margin_c: f64, limits: &Limits) -> Option<Warning> {
    let good_to_c = margin_precision_c(air).ok()?;
    ((margin_c - limits.margin_min_c).abs() < good_to_c).then(|| {
        Warning::new(format!(
            "with the usual instruments (0.5 \u{b0}C and 3 % humidity) a margin is good to about {} \u{b0}C, and this \
             one lies that near to the limit: read again, or leave more room",
            plain(good_to_c)
        ))
    })
}
