//! A film described directly: what it looks like from any angle, at any wavelengths.

use std::io::{self, Write};
use std::ops::RangeInclusive;
use std::path::Path;

use colour::{Direction, PlainFilm, PlainFlakes, radiance_factors};
use job::json::{Document, JsonError, Node};
use serde::Serialize;

use crate::answer::{Answer, columns, doubt, row};
use crate::file;
use crate::stop::Stop;

/// The largest film file that is read.
const MOST_BYTES: usize = 16 * 1024 * 1024;
/// The most wavelengths of one film.
const MOST_WAVELENGTHS: usize = 2_000;
/// The most kinds of flakes in one film.
const MOST_FLAKES: usize = 40;
/// The most directions it is looked at from.
const MOST_GEOMETRIES: usize = 1_000;
/// Micrometres of film.
const FILM_UM: RangeInclusive<f64> = 0.001..=10_000.0;
/// Absorption and scattering, per um.
const PER_UM: RangeInclusive<f64> = 0.0..=10_000.0;
/// A share of the light.
const SHARE: RangeInclusive<f64> = 0.0..=1.0;

/// What a film sends back, by geometry and wavelength, in the file's order.
#[derive(Debug, Serialize)]
pub(super) struct Seen {
    radiance_factor: Vec<Vec<f64>>,
    #[serde(skip)]
    wavelengths_nm: Vec<f64>,
    #[serde(skip)]
    directions: Vec<Direction>,
}

/// What the film in a file looks like.
///
/// # Errors
/// When the file is not as it should be; the line names the key.
pub(super) fn seen(path: &Path) -> Result<Seen, Stop> {
    let named = file::name(path);
    let document = Document::read(&named, &file::read(path)?, MOST_BYTES).map_err(Stop::input)?;
    let (film, wavelengths_nm, directions) = film(&document.root()).map_err(Stop::input)?;
    let radiance_factor = radiance_factors(&film, &directions).map_err(|e| Stop::input(format!("{named}: {e}")))?;
    Ok(Seen { radiance_factor, wavelengths_nm, directions })
}

const KEYS: [&str; 8] =
    ["wavelengths_nm", "thickness_um", "ka_per_um", "ks_per_um", "flakes", "under", "geometries", "clear"];

fn film(root: &Node<'_>) -> Result<(PlainFilm, Vec<f64>, Vec<Direction>), JsonError> {
    doubt(root.unused(&KEYS));
    let wavelengths = root.need("wavelengths_nm", "a list of wavelengths in nm")?;
    let nm: Vec<f64> = numbers(&wavelengths, 100.0..=100_000.0)?;
    if nm.is_empty() {
        return Err(wavelengths.refuse(format!("1 to {MOST_WAVELENGTHS} wavelengths in nm")));
    }
    let film = PlainFilm {
        film_um: root.need("thickness_um", "the film in um")?.number(FILM_UM)?,
        absorption_per_um: by_wavelength(root, "ka_per_um", nm.len(), PER_UM)?,
        scattering_per_um: by_wavelength(root, "ks_per_um", nm.len(), PER_UM)?,
        flakes: match root.get("flakes")? {
            Some(flakes) => {
                flakes.list(MOST_FLAKES)?.iter().map(|node| flake(node, nm.len())).collect::<Result<_, _>>()?
            }
            None => Vec::new(),
        },
        ground: by_wavelength(root, "under", nm.len(), SHARE)?,
        clear: root.get("clear")?.map_or(Ok(Vec::new()), |node| clear(&node, nm.len()))?,
    };
    let geometries = root.need("geometries", "a list of {\"incidence_deg\", \"aspecular_deg\"}")?;
    let directions: Vec<Direction> =
        geometries.list(MOST_GEOMETRIES)?.iter().map(direction).collect::<Result<_, _>>()?;
    if directions.is_empty() {
        return Err(geometries.refuse(format!("1 to {MOST_GEOMETRIES} geometries")));
    }
    Ok((film, nm, directions))
}

fn numbers(node: &Node<'_>, allowed: RangeInclusive<f64>) -> Result<Vec<f64>, JsonError> {
    node.list(MOST_WAVELENGTHS)?.iter().map(|value| value.number(allowed.clone())).collect()
}

/// A number for each wavelength.
fn by_wavelength(
    node: &Node<'_>,
    key: &str,
    count: usize,
    allowed: RangeInclusive<f64>,
) -> Result<Vec<f64>, JsonError> {
    let wanted = format!("a list of {count} numbers, one for each wavelength");
    let list = node.need(key, &wanted)?;
    let values = numbers(&list, allowed)?;
    if values.len() == count { Ok(values) } else { Err(list.refuse(wanted)) }
}

fn flake(node: &Node<'_>, count: usize) -> Result<PlainFlakes, JsonError> {
    doubt(node.unused(&["area_per_um", "slope_sd", "tail_weight", "R", "A"]));
    let flakes = PlainFlakes {
        area_per_um: node.need("area_per_um", "flake area per volume, per um")?.number(0.0..=1_000.0)?,
        slope_sd: node.need("slope_sd", "the standard deviation of the slopes")?.number(0.01..=1.0)?,
        tail_weight: node.get("tail_weight")?.map_or(Ok(0.0), |tail| tail.number(SHARE))?,
        reflectance: by_wavelength(node, "R", count, SHARE)?,
        absorptance: by_wavelength(node, "A", count, SHARE)?,
    };
    let over = |(r, a): (&f64, &f64)| r + a > 1.0 + 1e-6;
    if flakes.reflectance.iter().zip(&flakes.absorptance).any(over) {
        let absorptance = node.need("A", "")?;
        return Err(absorptance.refuse("at each wavelength what R leaves over of 1, or less"));
    }
    Ok(flakes)
}

/// The clear coat's optical depth.
fn clear(node: &Node<'_>, count: usize) -> Result<Vec<f64>, JsonError> {
    doubt(node.unused(&["thickness_um", "absorption_per_um"]));
    let thickness_um = node.need("thickness_um", "the clear coat in um")?.number(FILM_UM)?;
    let per_um = by_wavelength(node, "absorption_per_um", count, PER_UM)?;
    let depths: Vec<f64> = per_um.iter().map(|k| k * thickness_um).collect();
    match depths.iter().find(|depth| **depth > 50.0) {
        Some(_) => Err(node.refuse("a clear coat whose thickness times absorption is at most 50")),
        None => Ok(depths),
    }
}

fn direction(node: &Node<'_>) -> Result<Direction, JsonError> {
    doubt(node.unused(&["incidence_deg", "aspecular_deg", "azimuth_deg"]));
    let incidence_deg = node.need("incidence_deg", "the light's angle from the normal")?.number(0.0..=89.0)?;
    let aspecular = node.need("aspecular_deg", "the view's angle from the mirror direction")?;
    let aspecular_deg = aspecular.number(-178.0..=178.0)?;
    // The view itself must be on this side of the film.
    if (aspecular_deg - incidence_deg).abs() > 89.0 {
        let (low, high) = (incidence_deg - 89.0, incidence_deg + 89.0);
        return Err(aspecular.refuse(format!("a number from {low} to {high} with the light at {incidence_deg}")));
    }
    let azimuth_deg = node.get("azimuth_deg")?.map_or(Ok(0.0), |turn| turn.number(-360.0..=360.0))?;
    Ok(Direction { incidence_deg, aspecular_deg, azimuth_deg })
}

impl Answer for Seen {
    fn table(&self, out: &mut dyn Write) -> io::Result<()> {
        let mut heading = row!["nm"];
        heading.extend(self.directions.iter().map(|d| {
            let turned = if d.azimuth_deg == 0.0 { String::new() } else { format!(" turned {}", d.azimuth_deg) };
            format!("{}as{}{turned}", d.incidence_deg, d.aspecular_deg)
        }));
        let mut rows = vec![heading];
        for (place, nm) in self.wavelengths_nm.iter().enumerate() {
            let mut cells = row![nm];
            cells.extend(self.radiance_factor.iter().filter_map(|by| by.get(place)).map(|v| format!("{v:.5}")));
            rows.push(cells);
        }
        columns(out, &rows)
    }
}
