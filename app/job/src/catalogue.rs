//! The trade's starting guesses: zones and the wet paths between them, clues, odds multipliers, ways of looking,
//! ways in, kinds of repair, operations and how much of them a car takes, coating layers, period pigments and
//! instruments, each row with its basis.
//!
//! The program carries one set of files; a shop's own file of the same name replaces the whole file.
//! Everything is checked together when it is loaded, since a zone missing from one file breaks
//! another. Nothing here opens a file; the caller hands over the bytes.

mod check;
mod clue;
mod era;
mod instrument;
mod layer;
mod line;
mod look;
mod modifier;
mod operation;
mod panel_work;
mod path;
mod quantity;
mod repair;
mod taught;
mod way_in;
mod zone;

use std::collections::{BTreeMap, BTreeSet};

use base::Warning;
use schedule::factor::Factor;

use crate::table::{Limits, TableError};
use crate::what::How;
use line::{Listed, list};

pub use clue::{Clue, ConditionKind, Observation};
pub use era::{Confidence, EraPigment, Shows};
pub use instrument::{Instrument, Quantity};
pub use layer::CoatingLayer;
pub use look::{Tell, Tells, WayOfLooking};
pub use modifier::Modifier;
pub use operation::Operation;
pub use panel_work::{ASK_OVER, GoesBy, PanelWork, TwoBooks};
pub use path::WetPath;
pub use quantity::JobQuantity;
pub use repair::{Found, RepairMix};
pub use taught::{Taught, TaughtClue, TaughtRate, TaughtShare};
pub use way_in::{Sides, WayIn};
pub use zone::{DoubleSkinned, Fitted, StructuralClass, Zone, ZoneHours};

/// The files that the program carries, by name, in the order in which they are read.
pub const STARTING_FILES: [(&str, &str); 13] = [
    (ZONES, include_str!("../../../catalogue/zones.csv")),
    (CLUES, include_str!("../../../catalogue/clues.csv")),
    (MODIFIERS, include_str!("../../../catalogue/modifiers.csv")),
    (LOOKS, include_str!("../../../catalogue/looks.csv")),
    (PATHS, include_str!("../../../catalogue/paths.csv")),
    (WAYS_IN, include_str!("../../../catalogue/ways_in.csv")),
    (REPAIRS, include_str!("../../../catalogue/repairs.csv")),
    (OPERATIONS, include_str!("../../../catalogue/operations.csv")),
    (QUANTITIES, include_str!("../../../catalogue/quantities.csv")),
    (PANEL_WORK, include_str!("../../../catalogue/panel_work.csv")),
    (COATINGS, include_str!("../../../catalogue/coatings.csv")),
    (ERA_PIGMENTS, include_str!("../../../catalogue/era_pigments.csv")),
    (INSTRUMENTS, include_str!("../../../catalogue/instruments.csv")),
];

const ZONES: &str = "zones.csv";
const CLUES: &str = "clues.csv";
const MODIFIERS: &str = "modifiers.csv";
const LOOKS: &str = "looks.csv";
const PATHS: &str = "paths.csv";
const WAYS_IN: &str = "ways_in.csv";
const REPAIRS: &str = "repairs.csv";
const OPERATIONS: &str = "operations.csv";
const QUANTITIES: &str = "quantities.csv";
const PANEL_WORK: &str = "panel_work.csv";
const COATINGS: &str = "coatings.csv";
const ERA_PIGMENTS: &str = "era_pigments.csv";
const INSTRUMENTS: &str = "instruments.csv";

/// Why a catalogue was refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CatalogueError {
    /// A file cannot be read, or a row does not hold together with the rest.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A file has a name that no part of the catalogue has.
    #[error(
        "{}: the catalogue has no file of this name; it has {known}",
        crate::table::shown(.file)
    )]
    UnknownFile {
        /// The name given.
        file: String,
        /// The names there are.
        known: String,
    },
    /// The zones hang together so tightly that their chances cannot be worked out.
    #[error("{}: {why}. Let fewer zones lie on two paths, or fewer paths share zones", PATHS)]
    Woven {
        /// What the forecast says.
        why: String,
    },
    /// A file was given twice.
    #[error("{file}: given twice; keep one")]
    FileTwice {
        /// The name.
        file: String,
    },
}

/// A low, a likely and a high value in one unit, in that order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Rarely less than this.
    pub low: f64,
    /// The usual value.
    pub likely: f64,
    /// Rarely more than this.
    pub high: f64,
}

/// The whole catalogue, checked.
#[derive(Debug, Clone)]
pub struct Catalogue {
    zones: BTreeMap<String, Zone>,
    clues: BTreeMap<String, Clue>,
    modifiers: BTreeMap<String, Modifier>,
    looks: BTreeMap<How, WayOfLooking>,
    paths: BTreeMap<String, WetPath>,
    ways_in: BTreeMap<String, WayIn>,
    repairs: BTreeMap<Found, RepairMix>,
    operations: BTreeMap<String, Operation>,
    quantities: BTreeMap<String, JobQuantity>,
    panel_work: BTreeMap<String, PanelWork>,
    layers: BTreeMap<String, CoatingLayer>,
    era_pigments: BTreeMap<String, EraPigment>,
    instruments: BTreeMap<String, Instrument>,
    observations: Vec<Observation>,
    observations_by_zone: BTreeMap<String, Vec<usize>>,
    shops_own: BTreeSet<String>,
    pace: Factor,
    warnings: Vec<Warning>,
}

impl Catalogue {
    /// The catalogue that the program carries; every number in it is a starting guess.
    ///
    /// Fails only if the program was built with damaged files, which a test prevents.
    ///
    /// ```
    /// let catalogue = job::catalogue::Catalogue::starting_guesses()?;
    /// assert_eq!(catalogue.zone("Z03").map(|zone| zone.instances), Some(2));
    /// # Ok::<(), job::catalogue::CatalogueError>(())
    /// ```
    pub fn starting_guesses() -> Result<Self, CatalogueError> {
        Self::with_overrides(&[])
    }

    /// The catalogue with the shop's own files, as (name, bytes), in place of those of the same name.
    ///
    /// Fails with file, row, column and what would be right on anything that cannot be read or does
    /// not hold together: ids used twice or not known, neighbours named on one side only, a low
    /// above its high, a probability outside 0.001 to 0.999, a zone on more than two wet paths, operations
    /// that wait for each other, a way of looking without its row, shares that do not sum to 1, a row without
    /// its basis.
    pub fn with_overrides(files: &[(&str, &[u8])]) -> Result<Self, CatalogueError> {
        let mut shops_own = BTreeSet::new();
        for (name, _) in files {
            if !STARTING_FILES.iter().any(|(known, _)| known == name) {
                return Err(CatalogueError::UnknownFile {
                    file: (*name).into(),
                    known: STARTING_FILES.map(|(known, _)| known).join(", "),
                });
            }
            if !shops_own.insert((*name).to_owned()) {
                return Err(CatalogueError::FileTwice { file: (*name).into() });
            }
        }
        let starting = STARTING_FILES.map(|(name, text)| (name, text.as_bytes()));
        let all: BTreeMap<&str, &[u8]> = starting.into_iter().chain(files.iter().copied()).collect();
        let catalogue = Self::load(&all, shops_own)?;
        if !files.is_empty() {
            // The carried files are known to do; a shop's own might weave a shell that no forecast comes out of.
            crate::outlook::can_weave(&catalogue).map_err(|why| CatalogueError::Woven { why: why.to_string() })?;
        }
        Ok(catalogue)
    }

    fn load(files: &BTreeMap<&str, &[u8]>, shops_own: BTreeSet<String>) -> Result<Self, CatalogueError> {
        let bytes = |name: &str| files.get(name).copied().unwrap_or_default();
        let limits = Limits::USUAL;
        let mut warnings = Vec::new();
        let zones: Listed<Zone> = list(ZONES, bytes(ZONES), &limits, &mut warnings)?;
        let clues: Listed<Clue> = list(CLUES, bytes(CLUES), &limits, &mut warnings)?;
        let modifiers: Listed<Modifier> = list(MODIFIERS, bytes(MODIFIERS), &limits, &mut warnings)?;
        let looks: Listed<WayOfLooking> = list(LOOKS, bytes(LOOKS), &limits, &mut warnings)?;
        let paths: Listed<WetPath> = list(PATHS, bytes(PATHS), &limits, &mut warnings)?;
        let ways_in: Listed<WayIn> = list(WAYS_IN, bytes(WAYS_IN), &limits, &mut warnings)?;
        let repairs: Listed<RepairMix> = list(REPAIRS, bytes(REPAIRS), &limits, &mut warnings)?;
        let operations: Listed<Operation> = list(OPERATIONS, bytes(OPERATIONS), &limits, &mut warnings)?;
        let quantities: Listed<JobQuantity> = list(QUANTITIES, bytes(QUANTITIES), &limits, &mut warnings)?;
        let panel_work: Listed<PanelWork> = list(PANEL_WORK, bytes(PANEL_WORK), &limits, &mut warnings)?;
        let layers = list(COATINGS, bytes(COATINGS), &limits, &mut warnings)?;
        let era_pigments = list(ERA_PIGMENTS, bytes(ERA_PIGMENTS), &limits, &mut warnings)?;
        let instruments = list(INSTRUMENTS, bytes(INSTRUMENTS), &limits, &mut warnings)?;
        check::neighbours(&zones)?;
        check::clues(&clues, &zones, &modifiers)?;
        check::profiles(&zones, &modifiers)?;
        check::modifiers(&modifiers, &zones)?;
        check::looks(&looks, &zones)?;
        check::paths(&paths, &zones)?;
        check::ways_in(&ways_in, &zones)?;
        check::complete(&looks, How::ALL.iter().map(|how| how.key()))?;
        check::complete(&repairs, Found::ALL.iter().map(|found| found.key()))?;
        check::operations(&operations)?;
        check::known_operations(&quantities, |row| &row.op_id, &operations)?;
        check::known_operations(&panel_work, |row| &row.op_id, &operations)?;

        let clues = clues.into_map();
        let (observations, observations_by_zone) = clue::observations(&clues);
        Ok(Self {
            zones: zones.into_map(),
            clues,
            modifiers: modifiers.into_map(),
            looks: looks.into_map().into_values().map(|way| (way.how, way)).collect(),
            paths: paths.into_map(),
            ways_in: ways_in.into_map(),
            repairs: repairs.into_map().into_values().map(|mix| (mix.found, mix)).collect(),
            operations: operations.into_map(),
            quantities: quantities.into_map(),
            panel_work: panel_work.into_map(),
            layers: layers.into_map(),
            era_pigments: era_pigments.into_map(),
            instruments: instruments.into_map(),
            observations,
            observations_by_zone,
            shops_own,
            pace: Factor::start(),
            warnings,
        })
    }

    /// The shop's own factor on hours; a starting guess until finished work has been put down.
    pub fn pace(&self) -> &Factor {
        &self.pace
    }

    /// The same catalogue with the factor on hours that the shop's finished work gives.
    pub fn with_pace(mut self, pace: Factor) -> Self {
        self.pace = pace;
        self
    }

    /// Every zone, by id.
    pub fn zones(&self) -> impl ExactSizeIterator<Item = &Zone> {
        self.zones.values()
    }

    /// The zone with this id.
    pub fn zone(&self, id: &str) -> Option<&Zone> {
        self.zones.get(id)
    }

    /// Every clue row, by id.
    pub fn clues(&self) -> impl ExactSizeIterator<Item = &Clue> {
        self.clues.values()
    }

    /// The clue row with this id.
    pub fn clue(&self, id: &str) -> Option<&Clue> {
        self.clues.get(id)
    }

    /// The clue rows that speak about this zone: those that aim at it, then those that say to look
    /// there next.
    pub fn clues_for(&self, zone_id: &str) -> Vec<&Clue> {
        let (aimed, other): (Vec<&Clue>, Vec<&Clue>) =
            self.clues.values().filter(|clue| clue.speaks_of(zone_id)).partition(|clue| clue.target_zone == zone_id);
        aimed.into_iter().chain(other).collect()
    }

    /// The distinct things a person can see that bear on this zone: those that aim at it, then those
    /// that say to look there next. Empty for a zone that is not known.
    pub fn observations_for(&self, zone_id: &str) -> Vec<&Observation> {
        self.observations_by_zone
            .get(zone_id)
            .into_iter()
            .flatten()
            .filter_map(|&place| self.observations.get(place))
            .collect()
    }

    /// Every distinct thing a person can see, in the order of the clue ids.
    pub fn observations(&self) -> &[Observation] {
        &self.observations
    }

    /// Every odds multiplier, by id.
    pub fn modifiers(&self) -> impl ExactSizeIterator<Item = &Modifier> {
        self.modifiers.values()
    }

    /// Every way of looking, the lightest first.
    pub fn looks(&self) -> impl ExactSizeIterator<Item = &WayOfLooking> {
        self.looks.values()
    }

    /// What this way of looking is worth; every way has its row.
    pub fn look(&self, how: How) -> Option<&WayOfLooking> {
        self.looks.get(&how)
    }

    /// Every wet path, by id.
    pub fn paths(&self) -> impl ExactSizeIterator<Item = &WetPath> {
        self.paths.values()
    }

    /// Every way in, by id.
    pub fn ways_in(&self) -> impl ExactSizeIterator<Item = &WayIn> {
        self.ways_in.values()
    }

    /// The way in with this id.
    pub fn way_in(&self, id: &str) -> Option<&WayIn> {
        self.ways_in.get(id)
    }

    /// How a zone in which this was found is repaired; everything that can be found has its row.
    pub fn repair(&self, found: Found) -> Option<&RepairMix> {
        self.repairs.get(&found)
    }

    /// Every operation, by id.
    pub fn operations(&self) -> impl ExactSizeIterator<Item = &Operation> {
        self.operations.values()
    }

    /// The operation with this id.
    pub fn operation(&self, id: &str) -> Option<&Operation> {
        self.operations.get(id)
    }

    /// How much of each operation a car takes besides what the zone hours hold, by operation.
    pub fn quantities(&self) -> impl ExactSizeIterator<Item = &JobQuantity> {
        self.quantities.values()
    }

    /// Every coating layer, by id.
    pub fn layers(&self) -> impl ExactSizeIterator<Item = &CoatingLayer> {
        self.layers.values()
    }

    /// The coating layer with this id.
    pub fn layer(&self, id: &str) -> Option<&CoatingLayer> {
        self.layers.get(id)
    }

    /// Every dated binder, effect and pigment, by id.
    pub fn era_pigments(&self) -> impl ExactSizeIterator<Item = &EraPigment> {
        self.era_pigments.values()
    }

    /// Every instrument, by id.
    pub fn instruments(&self) -> impl ExactSizeIterator<Item = &Instrument> {
        self.instruments.values()
    }

    /// The instrument with this id.
    pub fn instrument(&self, id: &str) -> Option<&Instrument> {
        self.instruments.get(id)
    }

    /// Whether the shop's own file stands in place of the starting guesses of this file name.
    pub fn is_shops_own(&self, file: &str) -> bool {
        self.shops_own.contains(file)
    }

    /// What was unusual about the files but clear.
    pub fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
}

#[cfg(test)]
mod tests;
