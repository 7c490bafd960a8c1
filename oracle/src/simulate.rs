use base::stream::Stream;
use rayon::prelude::*;

use crate::error::{Error, counted};
use crate::film::Film;
use crate::geometry::Geometry;
use crate::scene::Scene;
use crate::walk::Walk;

/// Photons are followed in this many blocks, each with its own stream of random numbers; their
/// scatter gives the standard error, to about a tenth of itself.
const BLOCKS: usize = 64;
const MOST_PHOTONS: usize = 1_000_000_000;

/// A radiance factor with the uncertainty of the simulation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Radiance factor, without the mirror reflection of the surface; 1 for a perfect matt white.
    pub value: f64,
    /// Standard error.
    pub standard_error: f64,
}

/// How many photons, and which random numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Photons {
    /// At least this many are followed, 1 to 10^9; rounded up to a full turn of the wavelengths in
    /// each of 64 blocks.
    pub count: usize,
    /// Seed of the random numbers.
    pub seed: u64,
}

/// Radiance factors of a film by view and wavelength.
///
/// The result depends on the seed and not on the number of threads. Errors if there is no photon or
/// there are more than 10^9.
pub fn simulate<const N: usize>(
    film: &Film<N>,
    geometry: &Geometry,
    photons: Photons,
) -> Result<Vec<[Estimate; N]>, Error> {
    counted("photons", photons.count, 1, MOST_PHOTONS)?;
    let scene = Scene::new(film, geometry);
    let turns = photons.count.div_ceil(BLOCKS * N);
    let blocks: Vec<Vec<[f64; N]>> = (0..BLOCKS)
        .into_par_iter()
        .map(|block| {
            let mut walk = Walk::new(&scene, Stream::new(photons.seed, block as u64 + 1));
            for _ in 0..turns {
                for leader in 0..N {
                    walk.follow(leader);
                }
            }
            let mean = 1.0 / (turns * N) as f64;
            walk.gathered.iter().map(|sums| sums.map(|sum| sum * mean)).collect()
        })
        .collect();
    let mut first = Walk::new(&scene, Stream::new(photons.seed, 0));
    first.first_flight();
    Ok(first.gathered.iter().enumerate().map(|(view, first)| summary(first, &blocks, view)).collect())
}

/// Mean over the blocks, on top of the first flight, with its standard error.
fn summary<const N: usize>(first: &[f64; N], blocks: &[Vec<[f64; N]>], view: usize) -> [Estimate; N] {
    let count = blocks.len() as f64;
    std::array::from_fn(|j| {
        let mean = blocks.iter().map(|block| block[view][j]).sum::<f64>() / count;
        let squares: f64 = blocks.iter().map(|block| (block[view][j] - mean) * (block[view][j] - mean)).sum();
        Estimate { value: first[j] + mean, standard_error: (squares / (count * (count - 1.0))).sqrt() }
    })
}
