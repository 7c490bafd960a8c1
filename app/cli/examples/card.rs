//! Sprays and measures one card of the demo with the simulator, from the toners as they were learned.
//!
//! ```text
//! cargo run --release -p guidecoat --example card -- TONERS.json RECIPE.json CARD.csv SEED
//! ```
//!
//! The recipe's toners become pigments and flakes for the Monte Carlo simulator of `oracle/`, which knows
//! nothing of the film equations. The tins of the day are not those of the panels: each is stronger or weaker
//! by some percent, the same for every card. The gun's film and the lie of its flakes, and the instrument's
//! noise, are drawn by the seed. Everything is invented. The demo's stored cards were made by this.

use std::error::Error;

use base::normal;
use base::stream::Stream;
use colour::{Flake as LearnedFlake, Mix, Shelf, WAVELENGTHS_NM};
use job::{recipe_file, shelf_file};
use oracle::lab::{GEOMETRIES, noisy};
use oracle::{Face, Film, Flake, Geometry, Layer, Medium, Photons, Pigment, Slopes, simulate};

type Outcome<T> = Result<T, Box<dyn Error>>;

const PHOTONS: usize = 400_000;
/// The clear coat is described by what it keeps; its thickness makes no difference.
const CLEAR_UM: f64 = 40.0;
/// The spread of a tin's strength from lot to lot, and the draw that this shop happens to have.
const LOT_SD: f64 = 0.08;
const LOTS: u64 = 4;
/// The spread of a gun: film, and the slope of flakes.
const FILM_SD: f64 = 0.05;
const SLOPE_SD: f64 = 0.04;

fn main() -> Outcome<()> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    match words.as_slice() {
        [toners, recipe, card, seed] => spray(toners, recipe, card, seed.parse()?),
        _ => Err("say TONERS.json RECIPE.json CARD.csv SEED".into()),
    }
}

fn spray(toners: &str, recipe: &str, card: &str, seed: u64) -> Outcome<()> {
    let (on_file, _) = shelf_file::read(toners, &std::fs::read(toners)?)?;
    let (recipes, _) = recipe_file::read(recipe, &std::fs::read(recipe)?)?;
    let mix = recipes.first().ok_or("no recipe")?.mix(recipe, &on_file.shelf)?;
    let mut random = Stream::new(seed, 21);
    let mut factor = |sd: f64| 1.0 + sd * normal::score(random.uniform());
    let (thicker, rougher) = (factor(FILM_SD), factor(SLOPE_SD));
    eprintln!("film {:.3}, slopes {:.3} of what was meant", thicker, rougher);
    let film = film(&on_file.shelf, &mix, thicker, rougher)?;
    let geometry = Geometry::forty_five(&GEOMETRIES.map(|(_, aspecular_deg)| aspecular_deg))?;
    let found = simulate(&film, &geometry, Photons { count: PHOTONS, seed })?;
    let exact: [[f64; 31]; 6] = std::array::from_fn(|view| found[view].map(|estimate| estimate.value));
    let mut text = String::from("name,geometry");
    WAVELENGTHS_NM.iter().for_each(|nm| text.push_str(&format!(",{nm}")));
    text.push('\n');
    for ((name, _), spectrum) in GEOMETRIES.iter().zip(noisy(&exact, seed)) {
        let values: Vec<String> = spectrum.iter().map(|value| format!("{value:.5}")).collect();
        text.push_str(&format!("invented card {seed},{name},{}\n", values.join(",")));
    }
    Ok(std::fs::write(card, text)?)
}

/// The film that a gun lays: its coat of colour, the clear coat over it, the primer below.
fn film(shelf: &Shelf, mix: &Mix, thicker: f64, rougher: f64) -> Outcome<Film<31>> {
    let mut lot = Stream::new(LOTS, 22);
    let strengths: Vec<f64> = shelf.toners().iter().map(|_| 1.0 + LOT_SD * normal::score(lot.uniform())).collect();
    let toners = || {
        mix.parts
            .iter()
            .filter_map(|part| Some((shelf.toners().get(part.toner)?, part.fraction * strengths.get(part.toner)?)))
    };
    let widening: f64 = toners().map(|(toner, fraction)| toner.optics.widening * fraction).sum();
    let load: f64 = toners().filter(|(toner, _)| toner.optics.flake.is_some()).map(|(_, fraction)| fraction).sum();
    let mut absorption = [0.0; 31];
    let (mut pigments, mut flakes) = (Vec::new(), Vec::new());
    for (toner, fraction) in toners() {
        let optics = &toner.optics;
        for (sum, k) in absorption.iter_mut().zip(optics.absorption) {
            *sum += fraction * k;
        }
        // An even scatterer of the same strength stands for one that throws light forward; this one does throw it.
        let crowded = fraction / (1.0 + optics.crowding * fraction) / (1.0 - optics.forwardness);
        pigments.push(Pigment::new(optics.scattering.map(|s| s * crowded), optics.forwardness)?);
        if let Some(flake) = &optics.flake {
            let loaded = flake.slope_sd * (1.0 + flake.loading * load);
            let slope = rougher * (loaded * loaded + widening).sqrt();
            let slopes = Slopes::new(slope, flake.tail_weight)?;
            flakes.push(Flake::by_angle(fraction * flake.area, slopes, |band, cos| face(flake, band, cos))?);
        }
    }
    let base = Layer::new(Medium::new(absorption, pigments, flakes)?, mix.film_um * thicker)?;
    let clear = Medium::new(shelf.clear().map(|depth| depth / CLEAR_UM), vec![], vec![])?;
    let primer = shelf.substrates().get(mix.substrate).ok_or("no primer")?;
    Ok(Film::new(vec![Layer::new(clear, CLEAR_UM)?, base], *primer.reflectance.values())?)
}

/// What a learned flake does at an incidence: what it shows square on at a longer wavelength.
fn face(flake: &LearnedFlake, band: usize, cos: f64) -> Face {
    let stretch = flake.film_index.map_or(1.0, |n| {
        let sin2 = (1.0 - cos * cos) * (oracle::INDEX / n) * (oracle::INDEX / n);
        1.0 / (1.0 - sin2).max(0.05).sqrt()
    });
    let last = flake.reflectance.len() - 1;
    let place = ((f64::from(WAVELENGTHS_NM[band]) * stretch - 400.0) / 10.0).clamp(0.0, last as f64);
    let (low, part) = (place as usize, place.fract());
    let reflectance = flake.reflectance[low] * (1.0 - part) + flake.reflectance[(low + 1).min(last)] * part;
    Face { reflectance, absorptance: flake.absorptance[band].min(1.0 - reflectance) }
}
