//! A car with a target, a shelf of invented toners and a recipe.

use job::colour::{Bench, Flake, Mix, Optics, Part, Shelf, Spectrum, Substrate, Toner, TonerKind};
use job::ids::{CarId, EntryId};
use job::mixing::{AngleFit, Formulated, Mixed, Poured, RecipePart, Shelved};
use job::paintwork::engine;
use job::shelf_file::{self, ShelfFile};
use job::what::{Measured, What};

use super::House;

/// A car that can be mixed for, by the places of its entries.
pub(crate) struct Painted {
    pub(crate) car: CarId,
    pub(crate) recipe: u64,
    pub(crate) recipe_id: EntryId,
    pub(crate) shelf: Shelf,
}

/// What the recipe is made of: 20 % of aluminium, 8 % of copper mica, a trace of black; the binder is the rest.
pub(crate) const FRACTIONS: [(&str, f64); 3] =
    [("Aluminium, coarse dull", 0.20), ("Copper mica", 0.08), ("Black", 0.004)];

fn toner(name: &str, kind: TonerKind, absorption: [f64; 31], flake: Option<Flake>) -> Toner {
    let optics = Optics { absorption, scattering: [0.05; 31], forwardness: 0.2, crowding: 0.5, widening: 0.0, flake };
    Toner { name: name.into(), kind, density_g_cm3: 2.0, max_fraction: 0.4, solids_fraction: None, optics }
}

/// Four invented toners over three primers.
pub(crate) fn shelf() -> Shelf {
    let flake = |level: f64, slope: f64| Flake {
        area: 0.9,
        slope_sd: 0.12,
        loading: 0.0,
        tail_weight: 0.2,
        reflectance: std::array::from_fn(|i| level + slope * i as f64),
        film_index: None,
        absorptance: [0.05; 31],
    };
    let rising: [f64; 31] = std::array::from_fn(|i| 0.4 - 0.012 * i as f64);
    let mut white = toner("White", TonerKind::Solid, [0.002; 31], None);
    white.optics.scattering = [1.5; 31];
    let toners = vec![
        toner("Aluminium, coarse dull", TonerKind::Aluminium, [0.01; 31], Some(flake(0.75, 0.0))),
        toner("Copper mica", TonerKind::Pearl, rising, Some(flake(0.2, 0.008))),
        toner("Black", TonerKind::Solid, [6.0; 31], None),
        white,
    ];
    let primer =
        |name: &str, level: f64| Substrate { name: name.into(), reflectance: Spectrum::new([level; 31]).unwrap() };
    Shelf::new(toners, vec![primer("black", 0.05), primer("N5", 0.2), primer("white", 0.85)], [0.02; 31]).unwrap()
}

pub(crate) fn mix(shelf: &Shelf, fractions: &[(&str, f64)]) -> Mix {
    let part = |(name, fraction): &(&str, f64)| Part { toner: shelf.toner(name).unwrap(), fraction: *fraction };
    Mix { parts: fractions.iter().map(part).collect(), film_um: 16.0, substrate: shelf.substrate("N5").unwrap() }
}

/// A measurement file of paints that were sprayed from such fractions.
pub(crate) fn cards_csv(shelf: &Shelf, cards: &[(&str, &[(&str, f64)])]) -> String {
    let mut text = String::from("name,geometry");
    (0..31).for_each(|i| text.push_str(&format!(",{}", 400 + 10 * i)));
    text.push('\n');
    let bench = Bench::new(shelf);
    for (name, fractions) in cards {
        for spectrum in engine::spectra(&bench.predict(&mix(shelf, fractions))) {
            text.push_str(&format!("{name},{}", spectrum.geometry));
            spectrum.values.iter().for_each(|value| text.push_str(&format!(",{value:.5}")));
            text.push('\n');
        }
    }
    text
}

impl House {
    /// A car with a target, a shelf and a recipe that hits it but for a trace of black.
    pub(crate) async fn mixing_car(&self, title: &str) -> Painted {
        let car = self.car(title).await;
        let shelf = shelf();
        let bench = Bench::new(&shelf);
        let wanted = mix(&shelf, &[FRACTIONS[0], FRACTIONS[1], ("Black", 0.005)]);
        let source = self.shop.keep_file(b"invented").await.unwrap();
        let target = Measured {
            name: "Invented copper".into(),
            instrument: "Lent".into(),
            file: "copper.csv".into(),
            source,
            spectra: engine::spectra(&bench.predict(&wanted)),
            doubts: Vec::new(),
            areas: Vec::new(),
            note: String::new(),
        };
        let target = self.put(car, What::Measured(target)).await;
        let text = shelf_file::write(&ShelfFile { shelf: shelf.clone(), learned: None, pigments: Default::default() });
        let shelved = Shelved {
            name: "Invented shelf".into(),
            file: self.shop.keep_file(text.as_bytes()).await.unwrap(),
            panels_files: Vec::new(),
            toners: 4,
            panels: 12,
            mean_de00: 1.0,
            p90_de00: 2.0,
            doubts: Vec::new(),
            note: String::new(),
        };
        let shelved = self.put(car, What::Shelved(shelved)).await;
        let recipe = Formulated {
            name: "Copper 1".into(),
            target,
            shelf: shelved,
            brief: Default::default(),
            briefed: None,
            parts: FRACTIONS.map(|(toner, fraction)| RecipePart { toner: toner.into(), fraction }).to_vec(),
            film_um: 16.0,
            primer: "N5".into(),
            coats: 3,
            predicted: engine::spectra(&bench.predict(&mix(&shelf, &FRACTIONS))),
            mean_de00: 0.6,
            by_angle: vec![AngleFit { geometry: "45as15".into(), d65: 0.6, a: 0.6, fl11: 0.6 }],
            after: None,
            cards: Vec::new(),
            doubts: Vec::new(),
            note: String::new(),
        };
        let recipe_id = self.put(car, What::Formulated(recipe)).await;
        let recipe = self.shop.car(car).await.unwrap().entry_by_id(recipe_id).unwrap().seq;
        Painted { car, recipe, recipe_id, shelf }
    }

    /// A batch of 300 g of that recipe, poured as it was told, kept past the pages.
    pub(crate) async fn batch(&self, painted: &Painted, parts: &[&str], retained: &str) -> u64 {
        let step = |toner: &str, grams: f64| Poured {
            toner: toner.into(),
            wanted_g: grams,
            poured_g: None,
            lot: format!("lot of {toner}"),
        };
        let mut steps: Vec<Poured> = FRACTIONS.iter().map(|(toner, fraction)| step(toner, fraction * 300.0)).collect();
        let toners: f64 = steps.iter().map(Poured::grams).sum();
        steps.push(step(job::mixing::BINDER, 300.0 - toners));
        let mixed = Mixed {
            recipe: painted.recipe_id,
            into: None,
            parts_of_car: parts.iter().map(|part| (*part).into()).collect(),
            wanted_g: 300.0,
            scale_g: 0.1,
            steps,
            shift_de00: 0.0,
            retained: retained.into(),
            note: String::new(),
        };
        let id = self.put(painted.car, What::Mixed(mixed)).await;
        self.shop.car(painted.car).await.unwrap().entry_by_id(id).unwrap().seq
    }
}
