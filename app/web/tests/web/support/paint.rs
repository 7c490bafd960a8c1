//! Invented toners, panels sprayed with them, a paint to match, and a shop that works on a colour.

use std::fmt::Write as _;
use std::time::{Duration, Instant};

use job::colour::{
    Bench, Flake, Geometry, Mix, Optics, Part, Prediction, Shelf, Spectrum, Substrate, Toner, TonerKind,
};
use job::ids::{CarId, EntryId};
use job::shelf_file::{self, Learned, ShelfFile};

use super::form::Form;
use super::{Answer, House, html};

/// How long a test waits for work in the background; the least computer of the checks needs a few seconds.
const PATIENCE: Duration = Duration::from_secs(120);

fn ramp(from: f64, to: f64) -> [f64; 31] {
    std::array::from_fn(|i| from + (to - from) * i as f64 / 30.0)
}

fn toner(name: &str, kind: TonerKind, absorption: [f64; 31], scattering: [f64; 31]) -> Toner {
    let flake = (kind == TonerKind::Aluminium).then(|| Flake {
        area: 1.2,
        slope_sd: 0.13,
        loading: 0.0,
        tail_weight: 0.2,
        reflectance: [0.84; 51],
        film_index: None,
        absorptance: ramp(0.10, 0.10),
    });
    let optics = Optics { absorption, scattering, forwardness: 0.0, crowding: 1.0, widening: 0.0, flake };
    Toner { name: name.into(), kind, density_g_cm3: 2.0, max_fraction: 0.3, solids_fraction: None, optics }
}

/// A white, a black, a blue and an aluminium over three primers.
pub(crate) fn shelf() -> Shelf {
    let primer =
        |name: &str, level: f64| Substrate { name: name.into(), reflectance: Spectrum::new([level; 31]).unwrap() };
    Shelf::new(
        vec![
            toner("plain white", TonerKind::Solid, ramp(0.02, 0.005), ramp(2.4, 1.7)),
            toner("jet black", TonerKind::Solid, ramp(9.0, 8.0), ramp(0.05, 0.05)),
            toner("leaf blue", TonerKind::Solid, ramp(0.3, 4.0), ramp(0.4, 0.2)),
            toner("coarse aluminium", TonerKind::Aluminium, ramp(0.02, 0.02), ramp(0.05, 0.05)),
        ],
        vec![primer("black", 0.045), primer("N5", 0.19), primer("white", 0.84)],
        ramp(0.02, 0.0),
    )
    .unwrap()
}

/// The shelf as a file, which says what it was learned from.
pub(crate) fn toner_file() -> String {
    let learned = Learned {
        count: 24,
        mean_de00: 0.62,
        p90_de00: 1.3,
        files: vec!["panels.csv".into()],
        by_toner: Vec::new(),
        worst: Vec::new(),
        next: Vec::new(),
    };
    shelf_file::write(&ShelfFile { shelf: shelf(), learned: Some(learned), pigments: Default::default() })
}

fn predict(parts: &[(usize, f64)], film_um: f64, substrate: usize) -> Prediction {
    let parts = parts.iter().map(|(toner, fraction)| Part { toner: *toner, fraction: *fraction }).collect();
    Bench::new(&shelf()).predict(&Mix { parts, film_um, substrate })
}

fn wavelengths(text: &mut String) {
    (0..31).for_each(|i| write!(text, ",{}", 400 + 10 * i).unwrap());
    text.push('\n');
}

fn rows(text: &mut String, name: &str, seen: &Prediction) {
    for (geometry, values) in Geometry::ALL.into_iter().zip(seen) {
        write!(text, "{name},{geometry}").unwrap();
        values.iter().for_each(|value| write!(text, ",{value:.6}").unwrap());
        text.push('\n');
    }
}

/// A silver blue that the shelf can make, as the CSV of an instrument.
pub(crate) fn target() -> String {
    let mut text = String::from("name,geometry");
    wavelengths(&mut text);
    rows(&mut text, "Invented silver blue", &predict(&[(3, 0.12), (2, 0.02), (1, 0.002)], 20.0, 1));
    text
}

/// Panels sprayed with the shelf's toners, as the four files of the page, each with the name of its field.
pub(crate) fn lab() -> [(&'static str, String); 4] {
    let shelf = shelf();
    let mut toners = String::from("toner,kind,density_g_cm3,max_mass_fraction\n");
    let mut panels = String::from("panel_id,");
    for toner in shelf.toners() {
        writeln!(toners, "{},{},{},{}", toner.name, toner.kind.word(), toner.density_g_cm3, toner.max_fraction)
            .unwrap();
        write!(panels, "{},", toner.name).unwrap();
    }
    panels.push_str("binder,dft_um_gauge,substrate\n");
    let mut measurements = String::from("panel_id,geometry");
    wavelengths(&mut measurements);
    // By itself, and let down with white, black and aluminium, over black and over white.
    let mut mixes: Vec<Vec<(usize, f64)>> =
        (0..4).map(|toner| vec![(toner, if toner == 1 { 0.06 } else { 0.2 })]).collect();
    mixes.extend([
        vec![(1, 0.02), (0, 0.2)],
        vec![(2, 0.05), (0, 0.2)],
        vec![(2, 0.08), (3, 0.12)],
        vec![(1, 0.01), (3, 0.15)],
    ]);
    for (n, mix) in mixes.iter().enumerate() {
        for (substrate, primer) in [(0, "black"), (2, "white")] {
            let name = format!("P{:02}", 2 * n + substrate / 2);
            let fraction = |toner: usize| mix.iter().find(|(t, _)| *t == toner).map_or(0.0, |(_, fraction)| *fraction);
            write!(panels, "{name},").unwrap();
            (0..4).for_each(|toner| write!(panels, "{},", fraction(toner)).unwrap());
            let load: f64 = mix.iter().map(|(_, fraction)| fraction).sum();
            writeln!(panels, "{:.4},22,{primer}", 1.0 - load).unwrap();
            rows(&mut measurements, &name, &predict(mix, 22.0, substrate));
        }
    }
    let mut substrate = String::from("substrate");
    wavelengths(&mut substrate);
    for primer in shelf.substrates() {
        write!(substrate, "{}", primer.name).unwrap();
        primer.reflectance.values().iter().for_each(|value| write!(substrate, ",{value}").unwrap());
        substrate.push('\n');
    }
    [("toners", toners), ("panels", panels), ("measurements", measurements), ("substrate", substrate)]
}

impl House {
    /// Asks for a page of work until it is done.
    pub(crate) async fn done(&self, address: &str) -> Answer {
        self.until(address, |page| !page.contains("http-equiv=\"refresh\"")).await
    }

    /// Asks for a page until it is as wanted.
    pub(crate) async fn until(&self, address: &str, wanted: impl Fn(&str) -> bool) -> Answer {
        let begun = Instant::now();
        loop {
            let answer = self.get(address).await;
            assert_eq!(answer.status, 200, "{}", html::words(&answer.text()));
            if wanted(&answer.text()) {
                return answer;
            }
            assert!(begun.elapsed() < PATIENCE, "it is still under way: {}", html::words(&answer.text()));
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Sends a form that begins work; gives the address of its page.
    pub(crate) async fn begin(&self, address: &str, form: Form) -> String {
        let answer = self.post(address, form).await;
        assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
        answer.header("location").to_string()
    }

    /// Keeps what came of work; gives the address that it leads on to.
    pub(crate) async fn keep_work(&self, work: &str, more: &[(&str, &str)]) -> String {
        let form = Form::new().text("entry", EntryId::fresh()).text("who", self.painter.id).pairs(more.iter().copied());
        let answer = self.post(&format!("{work}/keep"), form).await;
        assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
        answer.header("location").to_string()
    }

    /// A car with the invented toners and the silver blue.
    pub(crate) async fn painted_car(&self, title: &str) -> CarId {
        let car = self.car(title).await;
        self.keep_toners(car).await;
        let form =
            Form::new().text("entry", EntryId::fresh()).text("who", self.painter.id).file("file", "t.csv", target());
        let answer = self.post(&format!("/cars/{car}/colour"), form).await;
        assert_eq!(answer.status, 303, "{}", html::words(&answer.text()));
        car
    }

    /// Has the invented toners kept on a car; gives their place in the record.
    pub(crate) async fn keep_toners(&self, car: CarId) -> u64 {
        let form = Form::new().text("do", "file").file("toner_file", "TONERS.json", toner_file());
        let work = self.begin(&format!("/cars/{car}/colour/toners"), form).await;
        self.done(&work).await;
        kept(&self.keep_work(&work, &[("name", "Test toners")]).await)
    }

    /// Has a recipe for a car's first measured paint found and kept, once it has toners; gives its place in the record.
    pub(crate) async fn recipe(&self, car: CarId) -> u64 {
        let target = self.shop.car(car).await.unwrap().measurements().map(|(entry, _)| entry.seq).next().unwrap();
        let form = Form::new().text("target", target).text("size", 3);
        let work = self.begin(&format!("/cars/{car}/colour/recipes"), form).await;
        self.done(&work).await;
        kept(&self.keep_work(&work, &[("name", "Silver blue A"), ("recipe", "0")]).await)
    }
}

/// The place in the record that an address says was just kept.
fn kept(address: &str) -> u64 {
    address.rsplit_once("kept=").unwrap().1.parse().unwrap()
}
