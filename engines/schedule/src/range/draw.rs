//! The samples of a range.

use base::normal::Scores;
use base::stream::Stream;
use rayon::prelude::*;

use super::factors::{Factors, factors};
use super::laid_out::{LaidOut, WayTable, laid_out};
use crate::{Common, Findings, Item};

/// Samples that share one stream of random numbers, a multiple of 64. Changing it changes every answer's last digits.
const CHUNK: usize = 512;
/// Variation smaller than this share of the mean is rounding.
const ROUNDING: f64 = 1e-12;

/// What was drawn.
pub(super) struct Drawn {
    /// Hours of every sample.
    pub(super) totals: Vec<f64>,
    /// Hours of every sample by stage.
    pub(super) by_stage: Vec<Vec<f64>>,
    /// Of each item, its covariance with the total over the variance of the total.
    pub(super) shares: Vec<f64>,
}

/// Draws every sample; `stages` is how many there are, `mean` is the mean of the sum.
pub(super) fn draw(
    items: &[Item],
    findings: &Findings,
    common: Common,
    (stages, mean): (usize, f64),
    seed: u64,
    scores: &Scores,
) -> Drawn {
    let samples = findings.samples();
    let laid_out = laid_out(items);
    let job = Job {
        items: &laid_out,
        findings,
        factors: factors(samples, common, scores, seed),
        own: (common.severity.loadings().1, common.hours.loadings().1),
        stages,
        mean,
    };
    let chunks: Vec<Chunk> = (0..samples.div_ceil(CHUNK))
        .into_par_iter()
        .map(|number| job.chunk(number, &mut Normals(Stream::new(seed, number as u64), scores)))
        .collect();

    let whole = |of: &dyn Fn(&Chunk) -> &[f64]| chunks.iter().flat_map(|chunk| of(chunk).iter().copied()).collect();
    let mut sums = Sums::zero(items.len());
    for chunk in &chunks {
        sums.add(&chunk.sums);
    }
    Drawn {
        totals: whole(&|chunk| &chunk.totals),
        by_stage: (0..stages).map(|stage| whole(&|chunk| chunk.stage(stage))).collect(),
        shares: sums.shares(samples, mean),
    }
}

/// What every chunk needs.
struct Job<'a> {
    items: &'a [LaidOut],
    findings: &'a Findings,
    factors: Factors,
    /// What an item's own numbers are multiplied by, for how bad it is and for its hours.
    own: (f64, f64),
    stages: usize,
    mean: f64,
}

/// What one chunk came to.
struct Chunk {
    totals: Vec<f64>,
    /// All samples of stage 0, then of stage 1, and so on.
    by_stage: Vec<f64>,
    sums: Sums,
}

impl Chunk {
    fn stage(&self, stage: usize) -> &[f64] {
        &self.by_stage[stage * self.totals.len()..(stage + 1) * self.totals.len()]
    }
}

impl Job<'_> {
    /// Draws one chunk, item by item.
    fn chunk(&self, number: usize, normals: &mut Normals) -> Chunk {
        let first = number * CHUNK;
        let count = CHUNK.min(self.factors.shop.len() - first);
        let samples = first..first + count;
        let Factors { severity, pace, shop } = &self.factors;
        let (severities, paces, shop) = (&severity[samples.clone()], &pace[samples.clone()], &shop[samples]);
        let (own_severity, own_pace) = self.own;
        // Samples of the first item, then of the second, and so on; likewise stages.
        let mut spent = vec![0.0; self.items.len() * count];
        let mut by_stage = vec![0.0; self.stages * count];
        let mut there = vec![0; count];
        let mut taken: Vec<usize> = Vec::with_capacity(count);
        for (item, spent) in self.items.iter().zip(spent.chunks_exact_mut(count)) {
            let finds = self.finds(item, first, &mut there);
            // Ways first, then hours: two short loops keep the processor busier than one long one.
            taken.clear();
            if item.scores.is_empty() {
                taken.resize(finds.len(), 0);
            } else {
                taken.extend(finds.iter().map(|sample| {
                    let bad = severities[*sample] + own_severity * normals.next();
                    item.scores.iter().filter(|score| bad >= **score).count()
                }));
            }
            for (sample, way) in finds.iter().zip(&taken) {
                let way = &item.ways[*way];
                let place = WayTable::place(paces[*sample] + own_pace * normals.next());
                for (stage, hours) in way {
                    let hours = hours.read(place);
                    spent[*sample] += hours;
                    by_stage[stage * count + sample] += hours;
                }
            }
        }
        let mut totals = vec![0.0; count];
        for hours in by_stage.chunks_exact_mut(count) {
            for ((hours, factor), total) in hours.iter_mut().zip(shop).zip(&mut totals) {
                *hours *= factor;
                *total += *hours;
            }
        }
        let sums = Sums::of(&totals, &spent, shop, (self.items.len(), self.mean));
        Chunk { totals, by_stage, sums }
    }

    /// The samples of a chunk in which an item is there, written into `there`.
    fn finds<'a>(&self, item: &LaidOut, first: usize, there: &'a mut [usize]) -> &'a [usize] {
        let mut finds = 0;
        match item.column {
            None => {
                for (sample, find) in there.iter_mut().enumerate() {
                    *find = sample;
                }
                finds = there.len();
            }
            Some(column) => {
                for (place, word) in self.findings.words(column, first, there.len()).iter().enumerate() {
                    let mut left = *word;
                    while left != 0 {
                        there[finds] = 64 * place + left.trailing_zeros() as usize;
                        finds += 1;
                        left &= left - 1;
                    }
                }
            }
        }
        &there[..finds]
    }
}

/// One chunk's normal numbers.
struct Normals<'a>(Stream, &'a Scores);

impl Normals<'_> {
    #[inline]
    fn next(&mut self) -> f64 {
        self.0.normal(self.1)
    }
}

/// Sums over samples from which variance and covariances follow.
struct Sums {
    /// Of the total less its mean.
    difference: f64,
    /// Of the square of that.
    squares: f64,
    /// Of each item, and of its product with the total less its mean.
    items: Vec<(f64, f64)>,
}

impl Sums {
    /// Of one chunk; `spent` holds the samples of the first item, then of the second, and so on, before the shop's
    /// factor.
    fn of(totals: &[f64], spent: &[f64], shop: &[f64], (items, mean): (usize, f64)) -> Self {
        let mut sums = Self::zero(items);
        let mut products = Vec::with_capacity(totals.len());
        for (total, factor) in totals.iter().zip(shop) {
            let difference = total - mean;
            sums.difference += difference;
            sums.squares += difference * difference;
            products.push((*factor, factor * difference));
        }
        for (item, spent) in sums.items.iter_mut().zip(spent.chunks_exact(totals.len())) {
            for (spent, (factor, product)) in spent.iter().zip(&products) {
                item.0 += spent * factor;
                item.1 += spent * product;
            }
        }
        sums
    }

    fn zero(items: usize) -> Self {
        Self { difference: 0.0, squares: 0.0, items: vec![(0.0, 0.0); items] }
    }

    fn add(&mut self, other: &Self) {
        self.difference += other.difference;
        self.squares += other.squares;
        for (sum, more) in self.items.iter_mut().zip(&other.items) {
            sum.0 += more.0;
            sum.1 += more.1;
        }
    }

    fn shares(&self, samples: usize, mean: f64) -> Vec<f64> {
        let offset = self.difference / samples as f64;
        let variance = self.squares - self.difference * offset;
        let nothing_varies = variance <= samples as f64 * (ROUNDING * mean) * (ROUNDING * mean);
        let share =
            |(sum, product): &(f64, f64)| if nothing_varies { 0.0 } else { (product - sum * offset) / variance };
        self.items.iter().map(share).collect()
    }
}
