//! A million correlated sums, and the range of a shell. `cargo bench -p schedule`.

use divan::Bencher;
use divan::counter::ItemsCount;
use schedule::{Common, Correlation, Findings, Item, Part, RiskError, Shape, Shop, Spread, Task, Way, range, risk};

const SAMPLES: usize = 1_000_000;
const ITEMS: u32 = 117;

fn main() {
    divan::main();
}

fn rho(rho: f64) -> Correlation {
    Correlation::new(rho).expect("a correlation from 0 to 1")
}

fn six(shape: Shape) -> Result<Vec<Task>, RiskError> {
    let guesses =
        [[40, 60, 110], [12, 18, 40], [8, 10, 16], [20, 25, 60], [5, 6, 9], [30, 45, 50]].map(|row| row.map(f64::from));
    guesses.iter().map(|[low, likely, high]| Ok(Task { spread: Spread::new(*low, *likely, *high)?, shape })).collect()
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn risk_1m_x6(bencher: Bencher) {
    let tasks = six(Shape::Triangular).expect("rising guesses");
    let rho = rho(0.3);
    bencher.counter(ItemsCount::new(SAMPLES)).bench_local(|| risk::sum(&tasks, rho, SAMPLES, 1));
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn risk_independent_x6(bencher: Bencher) {
    let tasks = six(Shape::Pert).expect("rising guesses");
    bencher.bench_local(|| risk::sum(&tasks, Correlation::NONE, SAMPLES, 1));
}

fn chance(number: u32) -> f64 {
    0.02 + 0.006 * f64::from(number)
}

/// An invented shell: chances from one in fifty upwards, three ways, opening up and repair apart.
fn shell() -> Result<Vec<Item>, RiskError> {
    let item = |number: u32| {
        let more = 1.0 + 0.037 * f64::from(number % 41);
        let part = |stage, low: f64, likely: f64, high: f64| {
            let hours = Spread::new(low * more, likely * more, high * more * more)?;
            Ok(Part { stage, hours })
        };
        let way =
            |weight, low, likely, high| Way::new(weight, vec![part(0, 0.5, 1.0, 2.0)?, part(1, low, likely, high)?]);
        let ways = vec![way(50.0, 2.0, 3.0, 5.0)?, way(35.0, 3.0, 5.0, 8.0)?, way(15.0, 4.0, 7.0, 11.0)?];
        Item::drawn(number as usize, chance(number), ways)
    };
    (0..ITEMS).map(item).collect()
}

/// Findings that go together: a hidden number of the whole car moves every chance.
fn findings(seed: u64) -> Result<Findings, RiskError> {
    let mut stream = base::stream::Stream::new(seed, 1);
    let wet: Vec<bool> = (0..range::SAMPLES).map(|_| stream.uniform() < 0.5).collect();
    let column = |number: u32| {
        let chance = chance(number);
        let apart = 0.6 * chance.min(1.0 - chance);
        let flag = |wet: &bool| stream.uniform() < if *wet { chance + apart } else { chance - apart };
        wet.iter().map(flag).collect()
    };
    let columns: Vec<Vec<bool>> = (0..ITEMS).map(column).collect();
    Findings::of_flags(range::SAMPLES, &columns)
}

#[divan::bench(sample_count = 100, sample_size = 1)]
fn range_shell(bencher: Bencher) {
    let items = shell().expect("items within range");
    let findings = findings(1).expect("as many flags as samples");
    let shop = Shop::new(0.1, 0.2).expect("a factor within range");
    let common = Common { severity: rho(0.2), hours: rho(0.3), shop };
    bencher.bench_local(|| range::range(&items, &findings, common, 1));
}
