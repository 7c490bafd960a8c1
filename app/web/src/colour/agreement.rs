//! How near a shelf comes to the panels it was learned from, toner by toner and panel by panel.
//!
//! Each panel is predicted at the film, and with the lie of its flakes, that explain it best within what gauge
//! and gun usually miss: what is left is the toners' doing, or the panel's.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use job::colour::{Bench, Geometry, Illuminant, Measurement, Mix, Panel, Panels, Prediction, Shelf, Spectrum};
use job::ids::Hash;
use job::mixing::Shelved;
use job::panels::{self, LabFile, LabFiles};
use job::shelf_file::ShelfFile;

use super::swatches::OBSERVER;
use crate::fault::Fault;
use crate::state::App;

/// How many panels are named that disagree most.
const NAMED: usize = 5;
/// Films that are tried, over what the gauge read: it reads to about 5 % (common practice, no source).
const FILMS: [f64; 5] = [0.9, 0.95, 1.0, 1.05, 1.1];
/// Slopes of the flakes that are tried, over those of the toners: no two panels are sprayed alike.
const LIES: [f64; 5] = [0.8, 0.9, 1.0, 1.1, 1.25];
/// How many shelves' agreement is kept at hand.
const AT_HAND: usize = 8;

/// What was worked out before, by the toner file; a file's figures never change.
pub(crate) type Agreements = Mutex<BTreeMap<Hash, Arc<Agreement>>>;

/// How near a shelf comes to its panels: mean CIEDE2000 over the angles, D65.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Agreement {
    /// By toner: how many panels it stands on, and the mean over them.
    pub(crate) toners: Vec<(usize, f64)>,
    /// The panels that disagree most, the worst first.
    pub(crate) worst: Vec<(String, f64)>,
}

/// A prediction as a measurement would be; nothing where it is none.
pub(crate) fn as_measured(predicted: &Prediction) -> Option<Measurement> {
    let spectrum = |row: &[f64; 31]| Spectrum::new(row.map(|value| value.max(0.0))).ok();
    let angles: Option<Vec<_>> =
        Geometry::ALL.into_iter().zip(predicted).map(|(geometry, row)| Some((geometry, spectrum(row)?))).collect();
    Measurement::new(angles?).ok()
}

/// Compares a shelf with its panels. Toners are told apart by their place, which a shelf keeps.
pub(crate) fn agreement(shelf: &Shelf, panels: &Panels) -> Agreement {
    let bench = Bench::new(shelf);
    let mut by_panel: Vec<(usize, f64)> = Vec::new();
    let mut toners: Vec<(usize, f64)> = vec![(0, 0.0); shelf.toners().len()];
    for (place, panel) in panels.panels().iter().enumerate() {
        let Some(mean) = explained(shelf, &bench, panel) else { continue };
        by_panel.push((place, mean));
        for part in panel.parts.iter().filter(|part| part.fraction > 0.0) {
            if let Some((count, sum)) = toners.get_mut(part.toner) {
                *count += 1;
                *sum += mean;
            }
        }
    }
    by_panel.sort_by(|a, b| b.1.total_cmp(&a.1));
    let name = |place: usize| panels.panels().get(place).map(|panel| panel.name.clone()).unwrap_or_default();
    Agreement {
        toners: toners.into_iter().map(|(count, sum)| (count, sum / count.max(1) as f64)).collect(),
        worst: by_panel.into_iter().take(NAMED).map(|(place, de00)| (name(place), de00)).collect(),
    }
}

/// How near a panel is explained: first by its film, then by the lie of its flakes, then by its film again.
fn explained(shelf: &Shelf, bench: &Bench, panel: &Panel) -> Option<f64> {
    let distance = |film: f64, lie: f64| {
        let mix = Mix { parts: panel.parts.clone(), film_um: panel.film_um * film, substrate: panel.substrate };
        let predicted = as_measured(&bench.predict_sprayed(&mix, lie))?;
        let differences = panel.measured.differences(&predicted, Illuminant::D65, OBSERVER);
        let sum: f64 = differences.iter().map(|(_, d)| d.de00).sum();
        (!differences.is_empty()).then(|| sum / differences.len() as f64)
    };
    let best = |tried: &[f64], of: &dyn Fn(f64) -> Option<f64>| {
        let all = tried.iter().filter_map(|factor| Some((*factor, of(*factor)?)));
        all.min_by(|a, b| a.1.total_cmp(&b.1))
    };
    let flakes = panel.parts.iter().any(|part| shelf.toners().get(part.toner).is_some_and(|t| t.kind.is_flake()));
    let (film, mean) = best(&FILMS, &|film| distance(film, 1.0))?;
    if !flakes {
        return Some(mean);
    }
    let (lie, _) = best(&LIES, &|lie| distance(film, lie))?;
    best(&FILMS, &|film| distance(film, lie)).map(|(_, mean)| mean)
}

/// The same for a shelf of the record; nothing when its panels were not kept with it, or belong to other toners.
pub(crate) async fn of_kept(
    app: &App,
    shelved: &Shelved,
    file: &Arc<ShelfFile>,
) -> Result<Option<Arc<Agreement>>, Fault> {
    if let Some(known) = at_hand(app).get(&shelved.file) {
        return Ok(Some(known.clone()));
    }
    let mut blobs = Vec::new();
    for name in panels::NAMES {
        let Some(kept) = shelved.panels_files.iter().find(|kept| kept.name == name) else { return Ok(None) };
        let Some(bytes) = app.shop.blob(kept.hash).await? else { return Ok(None) };
        blobs.push(bytes);
    }
    let file = file.clone();
    let read = move || {
        let [toners, panels, measurements, substrate] = blobs.as_slice() else { return None };
        let [t, p, m, s] = panels::NAMES;
        let files = LabFiles {
            toners: LabFile { name: t, bytes: toners },
            panels: LabFile { name: p, bytes: panels },
            measurements: LabFile { name: m, bytes: measurements },
            substrate: LabFile { name: s, bytes: substrate },
        };
        let (lab, _) = panels::read(&files).ok()?;
        let same = file.shelf.toners().iter().map(|t| &t.name).eq(lab.panels.toners().iter().map(|t| &t.name));
        same.then(|| agreement(&file.shelf, &lab.panels))
    };
    let found = tokio::task::spawn_blocking(read).await.map_err(|e| Fault::Internal(e.to_string()))?.map(Arc::new);
    if let Some(found) = &found {
        let mut known = at_hand(app);
        if known.len() >= AT_HAND {
            known.pop_first();
        }
        known.insert(shelved.file, found.clone());
    }
    Ok(found)
}

fn at_hand(app: &App) -> MutexGuard<'_, BTreeMap<Hash, Arc<Agreement>>> {
    app.agreements.lock().unwrap_or_else(PoisonError::into_inner)
}
