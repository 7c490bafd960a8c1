//! The shop's own factor on hours, from finished work, and how well its ranges were kept.

use base::{math, normal};

use crate::error::counted;
use crate::{Outcome, RiskError, Shop, student};

/// The most finished pieces.
pub const MOST_PIECES: usize = 10_000;
/// Standard deviation of the logarithm of the factor before anything is finished. A starting guess, no source.
pub const START_SD_LOG: f64 = 0.25;
/// Standard deviation of the logarithm of one piece's hours over what was foretold, before anything is finished. A
/// starting guess, no source.
pub const START_PIECE_SD_LOG: f64 = 0.5;
/// Finished pieces that the starting guesses are worth.
pub const START_WEIGHT: f64 = 4.0;

/// One finished piece: what was foretold and what it took.
///
/// What was foretold is taken as log-normal. Checked where it is used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Done {
    /// Mean of the hours foretold, 0.01..=100 000.
    pub foretold_mean_h: f64,
    /// Standard deviation of their natural logarithm, 0.001..=2.
    pub foretold_sd_log: f64,
    /// The hours it took, 0.01..=100 000.
    pub worked_h: f64,
}

impl Done {
    /// What was foretold as the log-normal distribution of the outcome's mean and standard deviation.
    pub fn of(foretold: &Outcome, worked_h: f64) -> Self {
        let relative = foretold.sd / foretold.mean;
        let foretold_sd_log = math::ln(1.0 + relative * relative).sqrt();
        Self { foretold_mean_h: foretold.mean, foretold_sd_log, worked_h }
    }

    /// Natural logarithm of the hours worked over the median of what was foretold. Fails on a figure outside its
    /// range, and on hours more than 100 times the median or less than a hundredth: that is a slip of the pen.
    fn log_ratio(&self, piece: usize) -> Result<f64, RiskError> {
        let within = |what, value: f64, low, high| {
            if (low..=high).contains(&value) {
                return Ok(());
            }
            Err(RiskError::Piece { piece, what, value, low, high })
        };
        within("the foretold mean in hours", self.foretold_mean_h, 0.01, 1e5)?;
        within("the standard deviation of the logarithm of what was foretold", self.foretold_sd_log, 0.001, 2.0)?;
        within("the hours worked", self.worked_h, 0.01, 1e5)?;
        let median_log = math::ln(self.foretold_mean_h) - 0.5 * self.foretold_sd_log * self.foretold_sd_log;
        let log = math::ln(self.worked_h) - median_log;
        within("the hours worked over the foretold median", math::exp(log), 0.01, 100.0)?;
        Ok(log)
    }
}

/// What this shop's hours are of what was foretold, all work alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Factor {
    /// Mean of the factor's natural logarithm.
    pub mean_log: f64,
    /// Standard deviation of the factor's natural logarithm: how well it is known, not how pieces differ.
    pub sd_log: f64,
    /// Standard deviation of the natural logarithm of one piece's hours over what was foretold: how pieces differ.
    pub piece_sd_log: f64,
    /// How many finished pieces it was learned from.
    pub pieces: usize,
    /// The factor lies below this with a chance of one in ten; 1.2 is a fifth more hours.
    pub p10: f64,
    /// As likely below as above.
    pub median: f64,
    /// The factor lies above this with a chance of one in ten.
    pub p90: f64,
}

impl Factor {
    /// The starting guess, before anything is finished.
    pub fn start() -> Self {
        of_logs(&[])
    }

    /// For a [`range`](crate::range::range): log-normal, with the mean and standard deviation of the logarithm.
    ///
    /// How pieces differ is not in it: that is what the range's own spreads are for.
    pub fn shop(&self) -> Shop {
        // Within its limits whatever the pieces: `log_ratio` bounds them. Otherwise the guesses as they are.
        Shop::new(self.mean_log, self.sd_log).unwrap_or(Shop::ONE)
    }
}

/// The shop's factor from up to 10 000 finished pieces; from none the starting guesses.
///
/// `ln(worked / foretold median)` of each piece is normal with mean `mu`, the logarithm of the factor, and variance
/// `sigma^2`. Before anything is finished, `sigma^2` is inverse-gamma with shape 2 and mean [`START_PIECE_SD_LOG`]
/// squared, and `mu` normal around 0 with variance `sigma^2 / 4`, so that its standard deviation is [`START_SD_LOG`]:
/// both are worth [`START_WEIGHT`] pieces. Given the pieces, `mu` has Student's t distribution. What was foretold
/// must not have this factor in it already. Fails on too many pieces and on a figure outside its range.
///
/// Source: the conjugate normal and inverse-gamma pair, A. Gelman and others, Bayesian Data Analysis, 3rd edition,
/// 2013, section 3.3 (from memory, page not checked).
pub fn factor(done: &[Done]) -> Result<Factor, RiskError> {
    Ok(of_logs(&logs(done)?))
}

fn of_logs(logs: &[f64]) -> Factor {
    let count = logs.len() as f64;
    let mean = if logs.is_empty() { 0.0 } else { logs.iter().sum::<f64>() / count };
    let squares: f64 = logs.iter().map(|log| (log - mean) * (log - mean)).sum();
    let weight = START_WEIGHT + count;
    let shape = 0.5 * weight;
    // The mean of an inverse-gamma distribution is scale / (shape - 1).
    let start = START_PIECE_SD_LOG * START_PIECE_SD_LOG * (0.5 * START_WEIGHT - 1.0);
    let scale = start + 0.5 * squares + 0.5 * START_WEIGHT * count / weight * mean * mean;
    let mean_log = count * mean / weight;
    let piece_variance = scale / (shape - 1.0);
    // START_WEIGHT is a whole number, and there are at most 10 000 pieces.
    let reach = student::score(0.9, weight as u32) * (scale / shape / weight).sqrt();
    Factor {
        mean_log,
        sd_log: (piece_variance / weight).sqrt(),
        piece_sd_log: piece_variance.sqrt(),
        pieces: logs.len(),
        p10: math::exp(mean_log - reach),
        median: math::exp(mean_log),
        p90: math::exp(mean_log + reach),
    }
}

/// Where one finished piece fell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kept {
    /// The share of the distribution foretold that lies below the hours it took, 0..=1 (A. P. Dawid, Statistical
    /// theory: the prequential approach, Journal of the Royal Statistical Society A 147(2), 1984).
    pub quantile: f64,
}

/// How many finished pieces took more hours than one of the foretold quantiles.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Over {
    /// Which: 0.9 is P90, beaten by one piece in ten if the foretelling is right.
    pub quantile: f64,
    /// How many pieces took more hours.
    pub count: usize,
    /// How many would, on average, if the foretelling is right.
    pub expected: f64,
    /// If the foretelling is right, nine times in ten the count lies from here
    pub low: usize,
    /// to here, by the binomial distribution; a twentieth or less lies on either side.
    pub high: usize,
}

/// How well the shop's ranges were kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// Where each piece fell, in the order given.
    pub pieces: Vec<Kept>,
    /// How many took more hours than P10, P50 and P90.
    pub over: [Over; 3],
}

/// Where up to 10 000 finished pieces fell in what was foretold for them, and how often P10, P50 and P90 were passed.
///
/// What was foretold is to be given as it was said, the shop's factor of that day included. Pieces are counted as if
/// they had nothing in common; pieces of one car have, and then the counts scatter more. Fails on too many pieces and
/// on a figure outside its range.
pub fn calibration(done: &[Done]) -> Result<Calibration, RiskError> {
    let logs = logs(done)?;
    let kept = |(log, done): (&f64, &Done)| Kept { quantile: normal::below(log / done.foretold_sd_log) };
    let pieces: Vec<Kept> = logs.iter().zip(done).map(kept).collect();
    let over = |quantile: f64| {
        let chances = binomial(pieces.len(), 1.0 - quantile);
        Over {
            quantile,
            count: pieces.iter().filter(|piece| piece.quantile > quantile).count(),
            expected: (1.0 - quantile) * pieces.len() as f64,
            low: least(&chances, 0.05),
            high: least(&chances, 0.95),
        }
    };
    let over = [0.1, 0.5, 0.9].map(over);
    Ok(Calibration { pieces, over })
}

fn logs(done: &[Done]) -> Result<Vec<f64>, RiskError> {
    counted("finished pieces", done.len(), 0..=MOST_PIECES)?;
    done.iter().enumerate().map(|(piece, done)| done.log_ratio(piece)).collect()
}

/// The chances of 0 to `count` out of `count`, each with chance `p`, 0 to 1 exclusive: from the likeliest outwards,
/// which neither overflows nor loses the middle.
fn binomial(count: usize, p: f64) -> Vec<f64> {
    let likeliest = (((count + 1) as f64 * p) as usize).min(count);
    let odds = p / (1.0 - p);
    let mut chances = vec![0.0; count + 1];
    chances[likeliest] = 1.0;
    for hits in likeliest..count {
        chances[hits + 1] = chances[hits] * odds * (count - hits) as f64 / (hits + 1) as f64;
    }
    for hits in (0..likeliest).rev() {
        chances[hits] = chances[hits + 1] / odds * (hits + 1) as f64 / (count - hits) as f64;
    }
    let sum: f64 = chances.iter().sum();
    chances.into_iter().map(|chance| chance / sum).collect()
}

/// The least outcome that the share `p` of all does not exceed.
fn least(chances: &[f64], p: f64) -> usize {
    let mut sum = 0.0;
    let reached = chances.iter().position(|chance| {
        sum += chance;
        sum >= p
    });
    reached.unwrap_or(chances.len() - 1)
}
