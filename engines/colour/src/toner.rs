//! Learning a shop's toners from its own sprayed panels.
//!
//! Every toner's spectra and flake figures are fitted together to all panels, with the film and the
//! flakes' lie of each panel as nuisances that have a prior: a gauge reads film to about 5 %, and no two
//! panels are sprayed alike.

pub(crate) mod envelope;
mod fit;
mod layout;
mod next;
mod prior;
mod report;
mod slopes;
mod start;
mod tangents;

use base::Warning;

pub use fit::calibrate;
pub use report::{Calibration, NextPanel, PanelFit, TonerFit};

use crate::measurement::Measurement;
use crate::shelf::{Part, ShelfError, Substrate, TonerKind};

/// Most panels in one calibration.
pub const MOST_PANELS: usize = 2_000;

/// A toner as the shop knows it before anything is learned.
#[derive(Debug, Clone, PartialEq)]
pub struct TonerInfo {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: TonerKind,
    /// Density of its dry matter in g/cm3.
    pub density_g_cm3: f64,
    /// The most of it that a dry film holds, as a mass fraction.
    pub max_fraction: f64,
    /// Mass of dry film per mass from the tin; `None` pours one to one.
    pub solids_fraction: Option<f64>,
}

/// A sprayed panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Its name.
    pub name: String,
    /// Its toners; the binder is the rest.
    pub parts: Vec<Part>,
    /// Dry film in um as the gauge read it.
    pub film_um: f64,
    /// The primer's place in the list.
    pub substrate: usize,
    /// What the instrument said.
    pub measured: Measurement,
}

/// Everything a calibration learns from.
#[derive(Debug, Clone, PartialEq)]
pub struct Panels {
    pub(crate) toners: Vec<TonerInfo>,
    pub(crate) substrates: Vec<Substrate>,
    pub(crate) panels: Vec<Panel>,
}

/// Why panels cannot be learned from.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CalibrateError {
    /// Nothing to learn from.
    #[error("there are no panels")]
    NoPanels,
    /// Too many.
    #[error("{found} panels; at most {MOST_PANELS} are learned from at once")]
    TooMany {
        /// How many came.
        found: usize,
    },
    /// A panel's figure is out of range.
    #[error("panel {panel}: {figure} is {value}; it must be {range}")]
    Figure {
        /// Which panel.
        panel: String,
        /// Which figure.
        figure: &'static str,
        /// What came.
        value: f64,
        /// What would be right.
        range: &'static str,
    },
    /// A panel names a toner or a primer that is not in the list.
    #[error("panel {panel}: {what} number {index} is not in the list of {known}")]
    Unknown {
        /// Which panel.
        panel: String,
        /// Toner or primer.
        what: &'static str,
        /// Its number, from 0.
        index: usize,
        /// How many there are.
        known: usize,
    },
    /// A toner stands on no panel.
    #[error("{0} stands on no panel; spray one of it over black")]
    Unseen(String),
    /// No panel over a dark primer, so scattering cannot be told from the primer shining through.
    #[error("no panel is over a dark primer; spray each toner over black as well as over white")]
    NoDark,
    /// The toners make no shelf.
    #[error(transparent)]
    Shelf(#[from] ShelfError),
}

impl Panels {
    /// Checked panels.
    ///
    /// # Errors
    /// [`CalibrateError`] when a figure is out of range, a toner stands on no panel, or no panel is over a
    /// dark primer.
    pub fn new(toners: Vec<TonerInfo>, substrates: Vec<Substrate>, panels: Vec<Panel>) -> Result<Self, CalibrateError> {
        if panels.is_empty() {
            return Err(CalibrateError::NoPanels);
        }
        if panels.len() > MOST_PANELS {
            return Err(CalibrateError::TooMany { found: panels.len() });
        }
        for panel in &panels {
            let name = || panel.name.clone();
            let figure = |figure, value, range| CalibrateError::Figure { panel: name(), figure, value, range };
            if !(panel.film_um >= 0.5 && panel.film_um <= 500.0) {
                return Err(figure("the film", panel.film_um, "0.5 to 500 um"));
            }
            if substrates.get(panel.substrate).is_none() {
                let known = substrates.len();
                return Err(CalibrateError::Unknown { panel: name(), what: "primer", index: panel.substrate, known });
            }
            let mut load = 0.0;
            for part in &panel.parts {
                if part.toner >= toners.len() {
                    let known = toners.len();
                    return Err(CalibrateError::Unknown { panel: name(), what: "toner", index: part.toner, known });
                }
                if part.fraction < 0.0 || part.fraction.is_nan() {
                    return Err(figure("a fraction", part.fraction, "0 or more"));
                }
                load += part.fraction;
            }
            if !(load > 0.0 && load <= 1.0 + 1e-6) {
                return Err(figure("the sum of its toners", load, "over 0, at most 1"));
            }
        }
        for (index, toner) in toners.iter().enumerate() {
            if !panels.iter().any(|p| p.parts.iter().any(|part| part.toner == index && part.fraction > 0.0)) {
                return Err(CalibrateError::Unseen(toner.name.clone()));
            }
        }
        let dark = |p: &Panel| substrates.get(p.substrate).is_some_and(|s| mean(s.reflectance.values()) < 0.15);
        if !panels.iter().any(dark) {
            return Err(CalibrateError::NoDark);
        }
        Ok(Self { toners, substrates, panels })
    }

    /// The toners.
    pub fn toners(&self) -> &[TonerInfo] {
        &self.toners
    }

    /// The primers.
    pub fn substrates(&self) -> &[Substrate] {
        &self.substrates
    }

    /// The panels.
    pub fn panels(&self) -> &[Panel] {
        &self.panels
    }

    /// What is doubtful about them.
    pub fn warnings(&self) -> Vec<Warning> {
        let mut all = Vec::new();
        for (index, toner) in self.toners.iter().enumerate() {
            let count = self.panels.iter().filter(|p| p.parts.iter().any(|part| part.toner == index)).count();
            if count < 3 {
                all.push(Warning::new(format!("{} stands on {count} panels only; five tell it apart", toner.name)));
            }
        }
        all
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// How far a long piece of work is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Steps done.
    pub done: u32,
    /// Steps at most.
    pub of: u32,
    /// The best so far, as a mean CIEDE2000.
    pub best: f64,
}

/// Told how far the work is; false stops it with the best so far.
pub type Watch<'a> = &'a (dyn Fn(Progress) -> bool + Sync);
