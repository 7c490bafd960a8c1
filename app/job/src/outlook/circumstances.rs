//! What age, climate, fittings and history do to the odds of a zone.

use base::math;
use jiff::civil::Date;

use super::words::{lower, times};
use crate::catalogue::{Catalogue, Modifier};
use crate::details::{CarDetails, Fitted, Kept};

/// What is known of a car before anybody looks, as the catalogue's multipliers name it.
#[derive(Debug, Clone)]
pub(super) struct Circumstances {
    /// Age in whole years.
    age_years: f64,
    climate: (String, String),
    dry_store: bool,
    /// What is fitted and what is told of its life: the factor and its words.
    told: Vec<(&'static str, String)>,
}

/// The multipliers that act on a zone of this profile.
pub(super) fn acting<'a>(catalogue: &'a Catalogue, zone_id: &str, profile: &str) -> Vec<&'a Modifier> {
    catalogue.modifiers().filter(|m| m.acts_on(zone_id, profile)).collect()
}

/// One circumstance and what it multiplies the odds by.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Factor {
    pub(super) say: String,
    pub(super) ratio: f64,
}

impl Factor {
    fn new(what: &str, ratio: f64) -> Self {
        Self { say: format!("{what}: {}", times(ratio)), ratio }
    }
}

/// The multiplier of a car kept dry from new.
const DRY_STORE: &str = "climate_dry_store_from_new";

impl Circumstances {
    pub(super) fn of(details: &CarDetails, on: Date) -> Self {
        let fitted = details.fitted.iter().map(|fitted| {
            let factor = match fitted {
                Fitted::CoveredRoof => "vinyl_roof_fitted",
                Fitted::Sunroof => "sunroof_fitted",
            };
            (factor, lower(fitted.words()))
        });
        let history = details.history.iter().map(|history| (history.key(), lower(history.words())));
        Self {
            age_years: (f64::from(on.year()) - f64::from(details.year)).max(0.0),
            climate: (format!("climate_{}", details.climate.key()), lower(details.climate.words())),
            dry_store: details.kept == Kept::DryStore,
            told: fitted.chain(history).collect(),
        }
    }

    /// What they do to the odds of something that these multipliers act on; what does nothing is left out.
    pub(super) fn factors(&self, acting: &[&Modifier]) -> Vec<Factor> {
        let mut factors = Vec::new();
        if let Some(ratio) = age_ratio(acting, self.age_years) {
            factors.push(Factor::new(&format!("{:.0} years old", self.age_years), ratio));
        }
        factors.extend(self.climate_factor(acting));
        for (factor, words) in &self.told {
            let of_it = acting.iter().filter(|m| m.factor == *factor);
            factors.extend(of_it.map(|m| Factor::new(words, m.odds_multiplier)));
        }
        factors.retain(|factor| factor.ratio != 1.0);
        factors
    }

    /// The climate's multiplier, or that of a dry store where that is the lower one.
    fn climate_factor(&self, acting: &[&Modifier]) -> Option<Factor> {
        let ratio = |factor: &str| acting.iter().find(|m| m.factor == factor).map(|m| m.odds_multiplier);
        let (factor, words) = &self.climate;
        let lived = ratio(factor);
        match ratio(DRY_STORE).filter(|_| self.dry_store) {
            Some(stored) if lived.is_none_or(|lived| stored < lived) => {
                Some(Factor::new("kept in a dry store", stored))
            }
            _ => lived.map(|lived| Factor::new(words, lived)),
        }
    }
}

/// The multiplier at an age: between two rows its logarithm runs straight, outside them it stays.
fn age_ratio(acting: &[&Modifier], age_years: f64) -> Option<f64> {
    let years = |m: &Modifier| m.factor.strip_prefix("age_")?.strip_suffix("yr")?.parse::<f64>().ok();
    let mut rows: Vec<(f64, f64)> = acting.iter().filter_map(|m| Some((years(m)?, m.odds_multiplier))).collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let before = rows.iter().rfind(|(years, _)| *years <= age_years).or(rows.first())?;
    let after = rows.iter().find(|(years, _)| *years >= age_years).or(rows.last())?;
    let span = after.0 - before.0;
    if span <= 0.0 {
        return Some(before.1);
    }
    let share = (age_years - before.0) / span;
    Some(math::exp(math::ln(before.1) + share * (math::ln(after.1) - math::ln(before.1))))
}
