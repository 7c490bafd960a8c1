//! One dew point. `cargo bench -p coating`.

use coating::climate::{Air, Limits, dew_point_c, may_spray};
use divan::{Bencher, black_box};

fn main() {
    divan::main();
}

const AIR: Air = Air { temperature_c: 18.0, rh_pct: 70.0 };

#[divan::bench]
fn dew_point(bencher: Bencher) {
    bencher.bench(|| dew_point_c(black_box(AIR)));
}

#[divan::bench]
fn decision_in_words(bencher: Bencher) {
    bencher.bench(|| may_spray(black_box(AIR), 15.0, &Limits::USUAL));
}
