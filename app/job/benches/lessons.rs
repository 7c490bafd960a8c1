//! Learning from a long history. `cargo bench -p job --bench lessons`.

use job::catalogue::Catalogue;
use job::ids::CarId;
use job::lessons::Lesson;
use uuid::Uuid;

fn main() {
    divan::main();
}

/// Lessons over all zones, each with every clue that aims at it, foretold anything from 0.1 to 0.9.
fn history(catalogue: &Catalogue, count: usize) -> Vec<Lesson> {
    let zones: Vec<&str> = catalogue.zones().map(|zone| zone.id.as_str()).collect();
    let lesson = |n: usize| {
        let zone = zones.get(n % zones.len()).copied().unwrap_or_default();
        let clues = catalogue.clues().filter(|clue| clue.target_zone == zone && clue.prior_p.is_none());
        Lesson {
            car: CarId(Uuid::from_u128(n as u128 / 40)),
            invented: true,
            entry: n as u64,
            zone_id: zone.into(),
            instance: format!("{zone}.L"),
            foretold: 0.1 + 0.8 * (n * 7919 % 10_007) as f64 / 10_007.0,
            bad: n.is_multiple_of(3),
            clues: clues.map(|clue| (clue.id.clone(), n.is_multiple_of(5))).collect(),
        }
    };
    (0..count).map(lesson).collect()
}

#[divan::bench(args = [100, 1_000, 10_000])]
fn taught(bencher: divan::Bencher<'_, '_>, count: usize) {
    let Ok(catalogue) = Catalogue::starting_guesses() else { return };
    let lessons = history(&catalogue, count);
    bencher.bench(|| catalogue.taught(&lessons));
}
