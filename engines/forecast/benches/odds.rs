//! Chances of a whole shell. `cargo bench -p forecast`.

use divan::{Bencher, black_box};
use forecast::odds::{Chance, chance, strongest};

/// Zones of a shell, left and right counted apart.
const ZONES: u32 = 124;
/// Evidence groups of a zone and ratios within one, more than most zones have.
const GROUPS: usize = 6;
const WITHIN: usize = 4;

fn main() {
    divan::main();
}

/// Of each group the strongest, then the chance.
fn zone(zone: u32, seen: &[[f64; WITHIN]; GROUPS]) -> Option<Chance> {
    let ratios: Vec<f64> = seen.iter().filter_map(|group| group.get(strongest(group)?).copied()).collect();
    chance(0.05 + 0.005 * f64::from(zone), &ratios).ok()
}

#[divan::bench]
fn odds_124_zones(bencher: Bencher) {
    let seen: [[f64; WITHIN]; GROUPS] =
        std::array::from_fn(|group| std::array::from_fn(|place| 0.3 + (group * WITHIN + place) as f64 * 0.17));
    bencher.bench(|| (0..ZONES).filter_map(|z| zone(z, black_box(&seen))).map(|chance| chance.likely).sum::<f64>());
}
