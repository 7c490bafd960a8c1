//! Pairs and spectra a second. `cargo bench -p colour`.

use colour::{Illuminant, Lab, Observer, Spectrum, ciede2000, ciede2000_many, lab_of_many};
use divan::counter::ItemsCount;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

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
