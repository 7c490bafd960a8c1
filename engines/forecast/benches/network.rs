//! Exact answers of two well-known networks, reading one, and learning from a long history.
//! `cargo bench -p forecast --bench network`.

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use forecast::bif;
use forecast::learn::{Opening, Rate, rate};
use forecast::network::{Evidence, MOST_ENTRIES, Network, Tree};

const ASIA: &str = include_str!("../../../reference/forecast/asia.bif");
const ALARM: &str = include_str!("../../../reference/forecast/alarm.bif");
const FINDINGS: [(&str, &str); 3] = [("BP", "LOW"), ("HRBP", "HIGH"), ("CVP", "LOW")];

fn main() {
    divan::main();
}

fn read(text: &str) -> Network {
    bif::read(text).expect("a network")
}

fn compiled(network: &Network) -> Tree {
    Tree::compile(network, MOST_ENTRIES).expect("a narrow network")
}

fn known(network: &Network) -> Evidence {
    let mut evidence = Evidence::none(network);
    for (name, state) in FINDINGS {
        let variable = network.find(name).expect("a variable");
        let state = network.variables()[variable].states.iter().position(|own| own == state).expect("a state");
        evidence.is(variable, state).expect("a state");
    }
    evidence
}

/// One number out of all marginals, so that none is left out.
fn updated(tree: &Tree, evidence: &Evidence, work: &mut forecast::network::Work, variables: usize) -> f64 {
    let posterior = tree.update(black_box(evidence), work).expect("possible evidence");
    (0..variables).map(|variable| posterior.marginal(variable)[0]).sum()
}

#[divan::bench]
fn asia_all_marginals(bencher: Bencher) {
    let network = read(ASIA);
    let evidence = Evidence::none(&network);
    bencher.bench_local(|| {
        let tree = compiled(black_box(&network));
        updated(&tree, &evidence, &mut tree.work(), network.variables().len())
    });
}

#[divan::bench]
fn asia_update_alone(bencher: Bencher) {
    let network = read(ASIA);
    let (tree, evidence) = (compiled(&network), Evidence::none(&network));
    let mut work = tree.work();
    bencher.bench_local(|| updated(&tree, &evidence, &mut work, network.variables().len()));
}

#[divan::bench]
fn alarm_three_findings(bencher: Bencher) {
    let network = read(ALARM);
    let evidence = known(&network);
    // Counted, so that it can be put beside what another program does in a second.
    bencher.counter(ItemsCount::new(1_usize)).bench_local(|| {
        let tree = compiled(black_box(&network));
        updated(&tree, &evidence, &mut tree.work(), network.variables().len())
    });
}

#[divan::bench]
fn alarm_update_alone(bencher: Bencher) {
    let network = read(ALARM);
    let (tree, evidence) = (compiled(&network), known(&network));
    let mut work = tree.work();
    bencher.bench_local(|| updated(&tree, &evidence, &mut work, network.variables().len()));
}

#[divan::bench]
fn alarm_read(bencher: Bencher) {
    bencher.bench_local(|| read(black_box(ALARM)));
}

/// Ten thousand openings, no two with the same odds.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn rate_10k_openings(bencher: Bencher) {
    let opening = |at: u32| Opening { odds: 0.05 + 0.002 * f64::from(at), bad: at.is_multiple_of(3) };
    let opened: Vec<Opening> = (0..10_000).map(opening).collect();
    let prior = Rate::new(0.25, 8.0).expect("a rate");
    bencher.bench_local(|| rate(prior, black_box(&opened)));
}
