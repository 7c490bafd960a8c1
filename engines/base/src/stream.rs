//! Seeded random numbers that repeat bit for bit on every machine.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::normal::Scores;

/// One of many independent streams of random numbers under one seed.
///
/// Work that is cut into pieces takes a stream for each piece, by the piece's number, so that the
/// numbers do not depend on how many threads share the work. Source: the ChaCha stream cipher with
/// eight rounds (D. J. Bernstein, ChaCha, a variant of Salsa20, 2008); the number is its nonce.
///
/// ```
/// use base::stream::Stream;
/// assert_eq!(Stream::new(7, 0).uniform(), Stream::new(7, 0).uniform());
/// assert_ne!(Stream::new(7, 0).uniform(), Stream::new(7, 1).uniform());
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Stream(ChaCha8Rng);

impl Stream {
    /// The stream of this number under this seed, at its beginning.
    pub fn new(seed: u64, number: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(number);
        Self(random)
    }

    /// A number strictly between 0 and 1, all of them equally likely, in steps of 2^-52.
    #[inline]
    pub fn uniform(&mut self) -> f64 {
        // The middle of each step, so that neither 0 nor 1 comes out.
        ((self.0.next_u64() >> 12) as f64 + 0.5) * (1.0 / 4_503_599_627_370_496.0)
    }

    /// A standard normal number: the normal score of [`Stream::uniform`], one for one.
    #[inline]
    pub fn normal(&mut self, scores: &Scores) -> f64 {
        scores.at(self.uniform())
    }
}

#[cfg(test)]
mod tests {
    use super::{Scores, Stream};

    const COUNT: usize = 200_000;

    /// Mean, variance and the mean of the fourth power.
    fn moments(numbers: &[f64]) -> (f64, f64, f64) {
        let count = numbers.len() as f64;
        let mean = numbers.iter().sum::<f64>() / count;
        let variance = numbers.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / count;
        (mean, variance, numbers.iter().map(|x| x * x * x * x).sum::<f64>() / count)
    }

    #[test]
    fn invariant_moments_of_uniform_and_normal_numbers() {
        let root = (COUNT as f64).sqrt();
        let mut stream = Stream::new(1, 2);
        let uniform: Vec<f64> = (0..COUNT).map(|_| stream.uniform()).collect();
        assert!(uniform.iter().all(|u| *u > 0.0 && *u < 1.0));
        let (mean, variance, _) = moments(&uniform);
        // Four standard errors: of the mean sqrt(1/12/n), of the variance sqrt(1/180/n).
        assert!((mean - 0.5).abs() < 4.0 * 0.2887 / root, "{mean}");
        assert!((variance - 1.0 / 12.0).abs() < 4.0 * 0.0745 / root, "{variance}");
        let scores = Scores::new();
        let normal: Vec<f64> = (0..COUNT).map(|_| stream.normal(&scores)).collect();
        let (mean, variance, fourth) = moments(&normal);
        // Likewise 1, sqrt(2) and sqrt(96) over the root of n.
        assert!(mean.abs() < 4.0 / root, "{mean}");
        assert!((variance - 1.0).abs() < 4.0 * 1.4143 / root, "{variance}");
        assert!((fourth - 3.0).abs() < 4.0 * 9.798 / root, "{fourth}");
    }

    #[test]
    fn invariant_streams_have_nothing_in_common() {
        let scores = Scores::new();
        let draw = |number| {
            let mut stream = Stream::new(9, number);
            (0..COUNT).map(|_| stream.normal(&scores)).collect::<Vec<f64>>()
        };
        let product: f64 = draw(0).iter().zip(draw(1)).map(|(a, b)| a * b).sum();
        assert!(product.abs() < 4.0 * (COUNT as f64).sqrt(), "{product}");
    }

    #[test]
    fn a_seed_and_a_number_make_the_stream() {
        let first = |seed, number| Stream::new(seed, number).uniform();
        assert_eq!(first(3, 5), first(3, 5));
        assert!(first(3, 5) != first(4, 5) && first(3, 5) != first(3, 6));
    }
}
