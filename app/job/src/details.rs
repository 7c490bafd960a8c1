//! What is known of a car before anybody looks.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::words::worded;

worded! {
    /// The climate the car lived in; it moves every chance of hidden rust.
    pub enum Climate {
        /// Dry inland.
        DryInland = "dry_inland", "Dry inland";
        /// Mild, no salt on the roads.
        MildNoSalt = "mild_no_salt", "Mild, no road salt";
        /// Temperate with salted roads.
        TemperateSalted = "temperate_salted", "Temperate, salted roads";
        /// Near the sea with salted roads.
        CoastalSalted = "coastal_salted", "Coast, salt in the air";
    }
}

worded! {
    /// Where the car was kept.
    pub enum Kept {
        /// Outdoors.
        Outdoors = "outdoors", "Outdoors";
        /// Under a roof, cold.
        Unheated = "unheated", "Unheated garage or barn";
        /// Dry store.
        DryStore = "dry_store", "Dry store";
        /// Nobody knows.
        Unknown = "unknown", "Not known";
    }
}

worded! {
    /// What is fitted that changes where water goes.
    pub enum Fitted {
        /// A covered roof: vinyl or cloth over the skin.
        CoveredRoof = "covered_roof", "Covered roof";
        /// A sunroof, with its tray and drains.
        Sunroof = "sunroof", "Sunroof";
    }
}

worded! {
    /// What is known of the car's life that moves the chance of hidden trouble.
    pub enum History {
        /// Treated with cavity wax, with dates and photographs.
        WaxProved = "wax_history_proved", "Cavity wax, with dates and photographs";
        /// Every drain slot probed and found open.
        DrainsOpen = "factory_drains_open_all", "Every drain probed and open";
        /// Rubber underseal that has cracked and lifted.
        UndersealCracked = "rubber_underseal_cracked", "Cracked rubber underseal";
        /// One owner who knows of no knock.
        OneOwnerNoHit = "one_owner_no_hit_claim", "One owner, no knock known";
        /// Painted lately for sale, with no photographs of what is under it.
        ResprayedForSale = "resprayed_recently_for_sale_no_photos", "Painted lately for sale, no photographs";
    }
}

worded! {
    /// What the job is for. It moves the hours more than rust does.
    pub enum Aim {
        /// Sound, used, some marks.
        SoundDriver = "sound_driver", "Sound driver";
        /// Fine to look at, used.
        FineDriver = "fine_driver", "Fine driver";
        /// For show.
        Show = "show", "Show";
        /// As the factory made it.
        FactoryCorrect = "factory_correct", "Factory-correct";
    }
}

worded! {
    /// The stage of the job.
    pub enum Stage {
        /// As it came.
        Intake = "intake", "Intake";
        /// Trim and mechanical parts coming off.
        Strip = "strip", "Strip";
        /// Paint coming off.
        BareMetal = "bare_metal", "Bare metal";
        /// Bare-metal survey.
        Survey = "survey", "Bare-metal survey";
        /// Measured and braced.
        MeasureBrace = "measure_brace", "Measure and brace";
        /// Cut, fabricate, fit, weld.
        Metal = "metal", "Metalwork";
        /// Lead, fill and block.
        Fill = "fill", "Lead, fill, block";
        /// Primers and sealers.
        Coat = "coat", "Coats";
        /// Colour and clear.
        Colour = "colour", "Colour";
        /// Trim, glass, wax.
        Assembly = "assembly", "Assembly and wax";
        /// Handed over.
        HandOver = "hand_over", "Hand-over";
    }
}

/// What is known of a car before anybody looks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CarDetails {
    /// What the shop calls it.
    pub title: String,
    /// The body style's identifier, such as `two_door_closed`.
    pub body: String,
    /// Year built.
    pub year: u16,
    /// The climate it lived in.
    pub climate: Climate,
    /// Where it was kept.
    pub kept: Kept,
    /// What is fitted.
    #[serde(default)]
    pub fitted: BTreeSet<Fitted>,
    /// What the job is for.
    pub aim: Aim,
    /// What is known of its life.
    #[serde(default)]
    pub history: BTreeSet<History>,
    /// Hours the owner has in mind for metal, if agreed.
    #[serde(default)]
    pub budget_h: Option<f64>,
    /// The stop-and-ask limit: a single finding of more hours than this goes to the owner first.
    #[serde(default)]
    pub ask_over_h: Option<f64>,
    /// Hourly rates, only when the shop wants money shown.
    #[serde(default)]
    pub rates: Option<Rates>,
    /// Anything else.
    #[serde(default)]
    pub note: String,
    /// True for a car that exists nowhere, such as the demo's.
    #[serde(default)]
    pub invented: bool,
}

/// The usual stop-and-ask limit in hours. Common practice, no source.
pub const USUAL_ASK_OVER_H: f64 = 8.0;

impl CarDetails {
    /// The stop-and-ask limit in hours: what was agreed, else the usual one or 5 percent of the agreed hours,
    /// whichever is less.
    pub fn ask_limit_h(&self) -> f64 {
        let share = self.budget_h.map_or(USUAL_ASK_OVER_H, |hours| hours * 0.05);
        self.ask_over_h.unwrap_or(USUAL_ASK_OVER_H.min(share))
    }
}

/// Hourly rates in the shop's own currency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rates {
    /// How the currency is written.
    pub currency: String,
    /// Bench hour.
    pub bench: f64,
    /// Painter's hour.
    pub painter: f64,
    /// What each hour takes in sheet, wire, gas, filler and paint, where the shop reckons materials by the hour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub materials: Option<f64>,
}
