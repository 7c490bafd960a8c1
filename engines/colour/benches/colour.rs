//! Pairs, spectra and recipes a second. `cargo bench -p colour`.

use colour::brief::{Asked, Edit, Said, Want, tell};
use colour::recipe::{Ask, Limits, Wish, curve, search};
use colour::{
    Bench, Geometry, Illuminant, Lab, Measurement, Mix, Observer, Part, Shelf, Spectrum, ciede2000, ciede2000_many,
    lab_of_many,
};
use divan::counter::ItemsCount;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

#[path = "../tests/synthetic/mod.rs"]
mod synthetic;

const PAIRS: usize = 1_000_000;
const SPECTRA: usize = 100_000;

fn main() {
    divan::main();
}

fn labs(seed: u64) -> Vec<Lab> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    (0..PAIRS)
        .map(|_| Lab {
            l: random.random_range(0.0..100.0),
            a: random.random_range(-100.0..100.0),
            b: random.random_range(-100.0..100.0),
        })
        .collect()
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn ciede2000_batch_of_1m(bencher: divan::Bencher) {
    let (first, second) = (labs(1), labs(2));
    bencher.counter(ItemsCount::new(PAIRS)).bench_local(|| ciede2000_many(&first, &second));
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn ciede2000_one_by_one_1m(bencher: divan::Bencher) {
    let (first, second) = (labs(1), labs(2));
    bencher.counter(ItemsCount::new(PAIRS)).bench_local(|| {
        let pairs = first.iter().zip(&second);
        pairs.map(|(first, second)| ciede2000(*first, *second)).sum::<f64>()
    });
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn lab_of_100k_spectra(bencher: divan::Bencher) {
    let mut random = ChaCha8Rng::seed_from_u64(3);
    let spectra: Vec<Spectrum> = (0..SPECTRA)
        .filter_map(|_| Spectrum::new(std::array::from_fn(|_| random.random_range(0.0..1.0))).ok())
        .collect();
    bencher
        .counter(ItemsCount::new(spectra.len()))
        .bench_local(|| lab_of_many(&spectra, Illuminant::D65, Observer::Deg10));
}

/// Four solids and two flakes at 31 wavelengths and six angles.
#[divan::bench]
fn film_of_6_toners(bencher: divan::Bencher) {
    let shelf = synthetic::shelf(40);
    let parts = [
        ("aluminium 4", 0.10),
        ("pearl 3", 0.05),
        ("black", 0.003),
        ("solid 8", 0.01),
        ("earth 2", 0.004),
        ("white", 0.002),
    ];
    let parts =
        parts.iter().map(|(name, fraction)| Part { toner: shelf.toner(name).unwrap_or(0), fraction: *fraction });
    let mix = Mix { parts: parts.collect(), film_um: 22.0, substrate: 2 };
    let bench = Bench::new(&shelf);
    bencher.bench_local(|| bench.predict(divan::black_box(&mix)));
}

/// An invented paint of 40 toners: a silver, a pearl or a solid.
fn paint(shelf: &Shelf, which: &str) -> Option<Measurement> {
    let parts: &[(&str, f64)] = match which {
        "silver" => {
            &[("aluminium 4", 0.15), ("aluminium 8", 0.05), ("black", 0.003), ("solid 8", 0.01), ("earth 2", 0.004)]
        }
        "pearl" => &[("pearl 3", 0.12), ("pearl 7", 0.06), ("solid 4", 0.03), ("black", 0.02), ("white", 0.01)],
        _ => &[("white", 0.15), ("solid 3", 0.03), ("earth 5", 0.06), ("black", 0.004), ("solid 9", 0.01)],
    };
    let parts =
        parts.iter().map(|(name, fraction)| Part { toner: shelf.toner(name).unwrap_or(0), fraction: *fraction });
    let mix = Mix { parts: parts.collect(), film_um: 22.0, substrate: 2 };
    let predicted = Bench::new(shelf).predict(&mix);
    let by_angle = Geometry::ALL.into_iter().zip(&predicted).filter_map(|(g, v)| Some((g, Spectrum::new(*v).ok()?)));
    Measurement::new(by_angle.collect()).ok()
}

/// Forty toners, up to six in a recipe, three lights, all primers: a silver, a pearl, a solid.
#[divan::bench(sample_count = 5, sample_size = 1, args = ["silver", "pearl", "solid"])]
fn recipe_of_40_toners(bencher: divan::Bencher, which: &str) {
    let shelf = synthetic::shelf(40);
    let Some(target) = paint(&shelf, which) else { return };
    let (wish, limits) = (Wish::same_as(&target), Limits::usual(&shelf));
    bencher.bench_local(|| search(&shelf, &wish, &limits, &|_| true));
}

/// Words to edits: every angle's colour moved, and held to what a surface can be.
#[divan::bench]
fn brief_in_words(bencher: divan::Bencher) {
    let shelf = synthetic::shelf(40);
    let Some(donor) = paint(&shelf, "pearl") else { return };
    let said = [(Want::LoseHueTravel, 0.8), (Want::LiftFlop, 0.3), (Want::Quieter, 0.2)];
    let said = said.map(|(want, amount)| Said { want, amount });
    bencher.bench_local(|| tell(&donor, &Asked { said: &said, face_of: None, flop_of: None, by_hand: &[] }));
}

/// The reach curve of five parts and four sizes on the way to a flop of another hue, forty toners.
#[divan::bench(sample_count = 5, sample_size = 1, args = ["silver", "pearl", "solid"])]
fn reach_curve_of_40_toners(bencher: divan::Bencher, which: &str) {
    let shelf = synthetic::shelf(40);
    let Some(donor) = paint(&shelf, which) else { return };
    let edit = |geometry, dl, dc, dh_deg| Edit { geometry, dl, dc, dh_deg };
    let edits = [
        edit(Geometry::As45, 1.0, 2.0, 15.0),
        edit(Geometry::As75, 3.0, 4.0, 30.0),
        edit(Geometry::As110, 4.0, 4.0, 40.0),
    ];
    let limits = Limits::usual(&shelf);
    let ask = Ask { donor: &donor, edits: &edits, weights: None, sizes: &[2, 3, 4, 6], by_colour: false };
    bencher.bench_local(|| curve(&shelf, &ask, &limits, &|_| true));
}
