//! A zone of the shell: one piece of metal that rots, is looked at and is repaired as one.

use super::Spread;
use super::line::{Item, Line};
use crate::table::TableError;

/// A zone of the shell and what the trade expects of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Id, such as `Z03`.
    pub id: String,
    /// The trade's name for it.
    pub name: String,
    /// How many of it a car has.
    pub instances: usize,
    /// Which cars have it.
    pub fitted: Fitted,
    /// The part of the shell it belongs to, such as `sill`.
    pub group: String,
    /// The cavity it closes, in words; empty if none.
    pub cavity: String,
    /// Whether it is made of two skins.
    pub double_skinned: DoubleSkinned,
    /// What it carries.
    pub structural_class: StructuralClass,
    /// Sheet thickness when new, in mm.
    pub gauge_mm: Spread,
    /// Seam to weld for a full panel, in m, for one instance.
    pub seam_m: f64,
    /// Outer area in m2, for one instance.
    pub area_m2: f64,
    /// Chance that it needs metal: 50 years, temperate climate, salted roads, not restored.
    pub base_p: f64,
    /// The profile of odds multipliers that applies, such as `wet_box`.
    pub profile: String,
    /// How it usually rots.
    pub mechanism: String,
    /// What must come off before it can be seen.
    pub remove_to_see: String,
    /// Ids of the zones it shares a seam or a wet path with.
    pub neighbours: Vec<String>,
    /// Hours for one instance, one skilled hand, after the general strip.
    pub hours: ZoneHours,
    /// What can hurt or must be measured first; empty if nothing is said.
    pub hazard_note: String,
    /// Where the row comes from.
    pub basis: String,
}

/// Hours to open a zone and to repair it in three ways.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneHours {
    /// To see it.
    pub open: Spread,
    /// To let in a patch.
    pub patch: Spread,
    /// To replace a section.
    pub section: Spread,
    /// To replace the whole panel.
    pub full: Spread,
}

/// What a zone carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum StructuralClass {
    /// Main load path: box, post, leg, mount, belt.
    S1,
    /// Secondary.
    S2,
    /// Skin or cosmetic.
    S3,
}

/// Whether a zone is made of two skins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DoubleSkinned {
    /// Throughout.
    Yes,
    /// In places.
    Part,
    /// Nowhere.
    No,
}

/// Which cars have a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fitted {
    /// Every car.
    Always,
    /// Cars with a sunroof.
    Sunroof,
    /// Cars with an open body.
    OpenBody,
}

impl Item for Zone {
    const COLUMNS: &'static [&'static str] = &[
        "zone_id",
        "name",
        "instances",
        "fitted",
        "group",
        "cavity",
        "double_skinned",
        "structural_class",
        "gauge_low_mm",
        "gauge_typical_mm",
        "gauge_high_mm",
        "seam_m",
        "area_m2",
        "base_p",
        "profile",
        "mechanism",
        "remove_to_see",
        "neighbours",
        "open_low_h",
        "open_likely_h",
        "open_high_h",
        "patch_low_h",
        "patch_likely_h",
        "patch_high_h",
        "section_low_h",
        "section_likely_h",
        "section_high_h",
        "full_low_h",
        "full_likely_h",
        "full_high_h",
        "hazard_note",
        "basis",
    ];

    fn read(line: &Line<'_>) -> Result<Self, TableError> {
        Ok(Self {
            id: line.text("zone_id")?,
            name: line.text("name")?,
            instances: line.whole("instances", 1..=MOST_INSTANCES)?,
            fitted: line.word(
                "fitted",
                &[("always", Fitted::Always), ("sunroof", Fitted::Sunroof), ("open body", Fitted::OpenBody)],
            )?,
            group: line.text("group")?,
            cavity: line.note("cavity")?,
            double_skinned: line.word(
                "double_skinned",
                &[("yes", DoubleSkinned::Yes), ("part", DoubleSkinned::Part), ("no", DoubleSkinned::No)],
            )?,
            structural_class: line.word(
                "structural_class",
                &[("S1", StructuralClass::S1), ("S2", StructuralClass::S2), ("S3", StructuralClass::S3)],
            )?,
            gauge_mm: line.spread(["gauge_low_mm", "gauge_typical_mm", "gauge_high_mm"], 0.1..=20.0)?,
            seam_m: line.number("seam_m", 0.0..=100.0)?,
            area_m2: line.number("area_m2", 0.0..=20.0)?,
            base_p: line.probability("base_p")?,
            profile: line.text("profile")?,
            mechanism: line.text("mechanism")?,
            remove_to_see: line.note("remove_to_see")?,
            neighbours: line.ids("neighbours")?,
            hours: ZoneHours {
                open: line.spread(["open_low_h", "open_likely_h", "open_high_h"], HOURS)?,
                patch: line.spread(["patch_low_h", "patch_likely_h", "patch_high_h"], HOURS)?,
                section: line.spread(["section_low_h", "section_likely_h", "section_high_h"], HOURS)?,
                full: line.spread(["full_low_h", "full_likely_h", "full_high_h"], HOURS)?,
            },
            hazard_note: line.note("hazard_note")?,
            basis: line.text("basis")?,
        })
    }

    fn id(&self) -> &str {
        &self.id
    }
}

/// A car has a handful of any one piece of metal.
const MOST_INSTANCES: usize = 20;
/// Hours for one instance; more than this is a slip of the finger.
const HOURS: std::ops::RangeInclusive<f64> = 0.0..=2000.0;
