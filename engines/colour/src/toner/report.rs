//! What a calibration says about itself.

use base::{Warning, math};

use super::layout::Layout;
use super::{CalibrateError, Panels};
use crate::difference::ciede2000;
use crate::film::Bench;
use crate::lab::lab;
use crate::light::{Illuminant, Observer};
use crate::shelf::{Mix, Shelf};
use crate::spectrum::Spectrum;

/// How well a panel is understood.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelFit {
    /// The panel's place in the list.
    pub panel: usize,
    /// Mean CIEDE2000 over its angles, D65 and 10 degrees, between measured and computed.
    pub mean_de00: f64,
    /// By angle, in the order of its measurement.
    pub by_angle: Vec<f64>,
    /// Film in um that explains it best.
    pub film_um: f64,
    /// Factor on the slope of its flakes that explains it best: over 1 lies less flat.
    pub lie: f64,
}

/// How well a toner is understood.
#[derive(Debug, Clone, PartialEq)]
pub struct TonerFit {
    /// The toner's place on the shelf.
    pub toner: usize,
    /// Panels it stands on.
    pub panels: usize,
    /// Mean CIEDE2000 over them.
    pub mean_de00: f64,
    /// What is doubtful.
    pub warnings: Vec<Warning>,
}

/// A panel that nobody has sprayed yet and that would teach much.
#[derive(Debug, Clone, PartialEq)]
pub struct NextPanel {
    /// The toner it is about.
    pub toner: usize,
    /// What it is, in words.
    pub words: String,
    /// The panel.
    pub mix: Mix,
    /// How uncertain its lightness is as things stand, root mean square over angles and wavelengths.
    pub unsure: f64,
}

/// How the fit ended.
pub(crate) struct Ending {
    pub(crate) rounds: u32,
    pub(crate) stopped: bool,
    pub(crate) unsure: Vec<NextPanel>,
}

/// Panels suggested at most.
const SUGGESTED: usize = 5;
/// A look that is less sure than this, in lightness units, is called not settled.
const SETTLED: f64 = 1.5;

/// A shelf as learned, and how far to trust it.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// The shelf.
    pub shelf: Shelf,
    /// By panel, in the order of the panels.
    pub fits: Vec<PanelFit>,
    /// By toner, in the order of the shelf.
    pub by_toner: Vec<TonerFit>,
    /// Mean CIEDE2000 over the panels.
    pub mean_de00: f64,
    /// Nine panels in ten are nearer than this.
    pub p90_de00: f64,
    /// Rounds the fit took.
    pub rounds: u32,
    /// Panels that would teach most, best first.
    pub next: Vec<NextPanel>,
    /// Whether it was stopped before it was done.
    pub stopped: bool,
    /// What is doubtful.
    pub warnings: Vec<Warning>,
}

/// How well every panel is understood at these unknowns.
pub(crate) fn fits(layout: &Layout, panels: &Panels, theta: &[f64], bench: &Bench) -> Vec<PanelFit> {
    let mut fits = Vec::new();
    for (index, panel) in panels.panels.iter().enumerate() {
        let film_um = panel.film_um * math::exp(theta[layout.film(index)]);
        let lie = math::exp(theta[layout.lie(index)]);
        let mix = Mix { parts: panel.parts.clone(), film_um, substrate: panel.substrate };
        let predicted = bench.predict_sprayed(&mix, lie);
        let mut by_angle = Vec::new();
        for (geometry, measured) in panel.measured.by_angle() {
            let row = predicted[geometry.place()].map(|b| b.max(0.0));
            let Ok(computed) = Spectrum::new(row) else { continue };
            let colour = |s: &Spectrum| lab(s, Illuminant::D65, Observer::Deg10);
            by_angle.push(ciede2000(colour(measured), colour(&computed)));
        }
        let mean_de00 = super::mean(&by_angle);
        fits.push(PanelFit { panel: index, mean_de00, by_angle, film_um, lie });
    }
    fits
}

/// Mean CIEDE2000 over the panels.
pub(crate) fn mean_of(fits: &[PanelFit]) -> f64 {
    fits.iter().map(|f| f.mean_de00).sum::<f64>() / fits.len() as f64
}

pub(crate) fn report(
    layout: &Layout,
    panels: &Panels,
    theta: &[f64],
    Ending { rounds, stopped, mut unsure }: Ending,
) -> Result<Calibration, CalibrateError> {
    let shelf = layout.shelf(theta, panels)?;
    let bench = Bench::new(&shelf);
    let fits = fits(layout, panels, theta, &bench);
    let by_toner = panels
        .toners
        .iter()
        .enumerate()
        .map(|(toner, _)| {
            let on: Vec<f64> = panels
                .panels
                .iter()
                .zip(&fits)
                .filter(|(p, _)| p.parts.iter().any(|part| part.toner == toner && part.fraction > 0.0))
                .map(|(_, fit)| fit.mean_de00)
                .collect();
            TonerFit {
                toner,
                panels: on.len(),
                mean_de00: super::mean(&on),
                warnings: doubts(toner, on.len(), &unsure),
            }
        })
        .collect();
    unsure.sort_by(|a, b| b.unsure.total_cmp(&a.unsure));
    let mut next: Vec<NextPanel> = Vec::new();
    for panel in unsure {
        // One panel a toner: the next differs once the first is sprayed.
        if next.len() < SUGGESTED && next.iter().all(|n| n.toner != panel.toner) {
            next.push(panel);
        }
    }
    let mut sorted: Vec<f64> = fits.iter().map(|f| f.mean_de00).collect();
    sorted.sort_by(f64::total_cmp);
    let p90 = sorted.get((sorted.len() * 9).div_ceil(10).saturating_sub(1)).copied().unwrap_or(0.0);
    Ok(Calibration {
        shelf,
        fits,
        by_toner,
        mean_de00: super::mean(&sorted),
        p90_de00: p90,
        rounds,
        next,
        stopped,
        warnings: panels.warnings(),
    })
}

/// What is not settled about a toner.
fn doubts(toner: usize, panels: usize, unsure: &[NextPanel]) -> Vec<Warning> {
    let mut all = Vec::new();
    if panels < 3 {
        all.push(Warning::new(format!(
            "stands on {panels} panels only; five tell its absorption, scattering and lie apart"
        )));
    }
    let open = unsure.iter().filter(|n| n.toner == toner && n.unsure > SETTLED);
    if let Some(worst) = open.max_by(|a, b| a.unsure.total_cmp(&b.unsure)) {
        all.push(Warning::new(format!(
            "not settled: how it looks {} is known to about {:.1} in lightness only; spray that panel",
            worst.words, worst.unsure
        )));
    }
    all
}
