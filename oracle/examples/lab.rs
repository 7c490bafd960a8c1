//! Writes the invented shop's files, or sprays and measures one card.
//!
//! ```text
//! cargo run --release -p oracle --example lab -- panels OUT_DIR [--shop 1] [--photons 60000]
//! cargo run --release -p oracle --example lab -- spray OUT.csv --fractions "deep black=0.05" --dft 20
//!     --primer N5 [--mid "copper mica=0.1" --mid-dft 10] [--seed 7 | --nominal] [--exact] [--id T00] [--shop 1] [--photons 60000]
//! ```
//!
//! `panels` writes toners.csv, substrate.csv, panels.csv, measurements.csv, targets.csv and
//! targets_info.csv for the recipe tool, and a folder `hidden` with the donors' recipes and their
//! radiance factors free of instrument noise. `spray` sprays with gun and instrument errors drawn by
//! `--seed` (1 if none is given); `--nominal` takes the gun as set; `--exact` leaves the instrument's
//! errors out; `--mid` sprays a second coat over the first. Everything is invented.

use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::ExitCode;

use oracle::Photons;
use oracle::lab::{
    Coat, GEOMETRIES, Gun, SUBSTRATES, Shop, Spectrum, WAVELENGTHS, donors, gauge_um, noisy, panels, substrate,
    wavelength_nm,
};

/// Enough for a noise of the simulation below that of the instrument.
const PHOTONS: usize = 60_000;
/// Donors are what everything is compared with.
const DONOR_TIMES: usize = 4;

type Outcome<T> = Result<T, Box<dyn Error>>;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let outcome = match words.as_slice() {
        ["panels", folder, options @ ..] => {
            Options::read(options).and_then(|options| write_lab(Path::new(folder), &options))
        }
        ["spray", file, options @ ..] => Options::read(options).and_then(|options| spray(Path::new(file), &options)),
        _ => Err("say `panels OUT_DIR` or `spray OUT.csv --fractions \"toner=0.1,..\" --dft 20 --primer N5`".into()),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}

/// What stands after the first two words.
struct Options<'a> {
    fractions: Vec<(&'a str, f64)>,
    film_um: f64,
    mid: Vec<(&'a str, f64)>,
    mid_um: f64,
    primer: &'a str,
    seed: Option<u64>,
    nominal: bool,
    exact: bool,
    id: &'a str,
    shop: u64,
    photons: usize,
}

impl<'a> Options<'a> {
    fn read(words: &[&'a str]) -> Outcome<Self> {
        let mut options = Self {
            fractions: Vec::new(),
            film_um: 20.0,
            mid: Vec::new(),
            mid_um: 10.0,
            primer: "N5",
            seed: None,
            nominal: false,
            exact: false,
            id: "card",
            shop: 1,
            photons: PHOTONS,
        };
        let mut words = words.iter();
        while let Some(word) = words.next() {
            let mut value = || words.next().copied().ok_or(format!("{word} needs a value"));
            match *word {
                "--fractions" => options.fractions = fractions(value()?)?,
                "--dft" => options.film_um = value()?.parse()?,
                "--mid" => options.mid = fractions(value()?)?,
                "--mid-dft" => options.mid_um = value()?.parse()?,
                "--primer" => options.primer = value()?,
                "--seed" => options.seed = Some(value()?.parse()?),
                "--nominal" => options.nominal = true,
                "--exact" => options.exact = true,
                "--id" => options.id = value()?,
                "--shop" => options.shop = value()?.parse()?,
                "--photons" => options.photons = value()?.parse()?,
                other => return Err(format!("unknown option {other}").into()),
            }
        }
        Ok(options)
    }
}

/// Reads `toner=0.1,other toner=0.02`.
fn fractions(text: &str) -> Outcome<Vec<(&str, f64)>> {
    text.split(',')
        .map(|pair| {
            let (name, fraction) = pair.split_once('=').ok_or(format!("{pair:?} is not toner=fraction"))?;
            Ok((name.trim(), fraction.trim().parse()?))
        })
        .collect()
}

fn spray(file: &Path, options: &Options<'_>) -> Outcome<()> {
    let seed = options.seed.unwrap_or(1);
    let gun = if options.nominal { Gun::nominal() } else { Gun::varied(seed) };
    let mut coats = vec![Coat { fractions: &options.fractions, film_um: options.film_um }];
    if !options.mid.is_empty() {
        coats.push(Coat { fractions: &options.mid, film_um: options.mid_um });
    }
    let panel = Shop::invented(options.shop).spray_coats(&coats, options.primer, gun)?;
    let exact = panel.radiance_factors(Photons { count: options.photons, seed: 1_000_003 + seed })?;
    let read = if options.exact { exact } else { noisy(&exact, seed) };
    let mut text = header("target_id,geometry");
    rows(&mut text, options.id, &read);
    fs::write(file, text)?;
    Ok(())
}

fn write_lab(folder: &Path, options: &Options<'_>) -> Outcome<()> {
    let hidden = folder.join("hidden");
    fs::create_dir_all(&hidden)?;
    let shop = Shop::invented(options.shop);
    let write = |name: &str, text: &str| fs::write(folder.join(name), text);

    let mut toners = "toner,kind,density_g_cm3,max_mass_fraction\n".to_owned();
    for toner in shop.toners() {
        let (kind, density, most) = (toner.kind().word(), toner.density_g_cm3(), toner.max_mass_fraction());
        writeln!(toners, "{},{kind},{density:.1},{most:.2}", toner.name())?;
    }
    write("toners.csv", &toners)?;

    let mut substrates = header("substrate");
    for name in SUBSTRATES {
        row(&mut substrates, name, &substrate(name)?);
    }
    write("substrate.csv", &substrates)?;

    let names: Vec<&str> = shop.toners().iter().map(|toner| toner.name()).collect();
    let mut sprayed = format!("panel_id,series,{},binder,dft_um_gauge,substrate\n", names.join(","));
    let mut measured = header("panel_id,geometry");
    for (number, trial) in (1..).zip(panels()) {
        let id = format!("P{number:03}");
        let seed = 10_000 * options.shop + number;
        let panel = shop.spray(&trial.fractions, trial.film_um, trial.over, Gun::varied(seed))?;
        let exact = panel.radiance_factors(Photons { count: options.photons, seed })?;
        rows(&mut measured, &id, &noisy(&exact, seed));
        let recipe = recipe(&shop.fractions(&trial.fractions)?);
        let film_um = gauge_um(panel.film_um(), seed);
        writeln!(sprayed, "{id},{},{recipe},{film_um:.1},{}", trial.series, trial.over)?;
    }
    write("panels.csv", &sprayed)?;
    write("measurements.csv", &measured)?;

    let mut recipes = format!("target_id,{},binder,dft_um,substrate\n", names.join(","));
    let (mut targets, mut info) = (header("target_id,geometry"), "target_id,class,note\n".to_owned());
    let mut truth = targets.clone();
    for (number, donor) in (1..).zip(donors()) {
        let seed = 10_000 * options.shop + 5_000 + number;
        let panel = shop.spray(&donor.fractions, donor.film_um, donor.over, Gun::nominal())?;
        let exact = panel.radiance_factors(Photons { count: DONOR_TIMES * options.photons, seed })?;
        rows(&mut truth, donor.id, &exact);
        rows(&mut targets, donor.id, &noisy(&exact, seed));
        writeln!(info, "{},{},{}", donor.id, donor.class, donor.note)?;
        let recipe = recipe(&shop.fractions(&donor.fractions)?);
        writeln!(recipes, "{},{recipe},{},{}", donor.id, donor.film_um, donor.over)?;
    }
    write("targets.csv", &targets)?;
    write("targets_info.csv", &info)?;
    fs::write(hidden.join("recipes.csv"), recipes)?;
    fs::write(hidden.join("targets_exact.csv"), truth)?;
    Ok(())
}

/// The toners' fractions and the binder.
fn recipe(fractions: &[f64]) -> String {
    let binder = 1.0 - fractions.iter().sum::<f64>();
    fractions.iter().chain([&binder]).map(|fraction| format!("{fraction:.5}")).collect::<Vec<_>>().join(",")
}

fn header(first: &str) -> String {
    let bands: Vec<String> = (0..WAVELENGTHS).map(|band| format!("{:.0}", wavelength_nm(band))).collect();
    format!("{first},{}\n", bands.join(","))
}

fn rows(text: &mut String, id: &str, read: &[Spectrum; 6]) {
    for ((geometry, _), spectrum) in GEOMETRIES.iter().zip(read) {
        row(text, &format!("{id},{geometry}"), spectrum);
    }
}

fn row(text: &mut String, first: &str, spectrum: &Spectrum) {
    let values: Vec<String> = spectrum.iter().map(|value| format!("{value:.5}")).collect();
    text.push_str(&format!("{first},{}\n", values.join(",")));
}
