//! What was foretold beside what was found.

use base::normal;

use super::{LearnError, counted, within};

/// Bins of a calibration, each a tenth wide.
pub const BINS: usize = 10;

/// A zone whose state was foretold and then found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foretold {
    /// The chance to be bad that was given just before it was opened, 0..=1.
    pub p: f64,
    /// Whether it was bad.
    pub bad: bool,
}

/// Of the zones called so likely, how many were bad.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// By tenths of the chance foretold, from 0 to 1; a chance on an edge counts in the bin above it.
    pub bins: [Bin; BINS],
    /// How many zones there are in all.
    pub count: usize,
    /// The Brier score, the mean of (chance foretold - 1 or 0)^2: 0 knows all, 0.25 says one in two of everything.
    /// `None` without zones. Source: G. W. Brier, Verification of forecasts expressed in terms of probability, Monthly
    /// Weather Review 78(1), 1950, for two outcomes and halved as is usual now.
    pub brier: Option<f64>,
}

/// A tenth of the chances foretold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// Its low edge.
    pub from: f64,
    /// Its high edge.
    pub to: f64,
    /// What is in it; `None` when nothing is.
    pub zones: Option<InBin>,
}

/// The zones of a bin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InBin {
    /// How many, at least one.
    pub count: usize,
    /// How many of them were bad.
    pub bad: usize,
    /// The mean of the chances foretold.
    pub foretold: f64,
    /// The share that was bad.
    pub share: f64,
    /// The low end of a 90 % interval for the share. Source: E. B. Wilson, Probable inference, the law of succession,
    /// and statistical inference, Journal of the American Statistical Association 22(158), 1927.
    pub low: f64,
    /// Its high end.
    pub high: f64,
}

impl Calibration {
    /// The calibration of these zones, at most [`super::MOST_LESSONS`]. Fails on more and on a chance outside 0..=1.
    ///
    /// To see what learning was worth, ask twice: with the chances given and with those the starting guesses gave.
    ///
    /// ```
    /// use forecast::learn::{Calibration, Foretold};
    /// let zones = [(0.75, true), (0.75, true), (0.75, false), (0.2, false)].map(|(p, bad)| Foretold { p, bad });
    /// let picture = Calibration::of(&zones)?;
    /// assert_eq!(picture.bins[7].zones.map(|zones| (zones.bad, zones.count)), Some((2, 3)));
    /// assert_eq!(picture.brier, Some((0.0625 + 0.0625 + 0.5625 + 0.04) / 4.0));
    /// # Ok::<(), forecast::learn::LearnError>(())
    /// ```
    pub fn of(zones: &[Foretold]) -> Result<Self, LearnError> {
        counted(zones.len())?;
        let mut sums = [(0_usize, 0_usize, 0.0); BINS];
        let mut squares = 0.0;
        for (place, zone) in zones.iter().enumerate() {
            within("the chance foretold", Some(place + 1), zone.p, 0.0, 1.0)?;
            // Tenths are no binary numbers; 0.3 times 10 is 3 all the same, as rounded.
            let bin = ((zone.p * BINS as f64) as usize).min(BINS - 1);
            let (count, bad, foretold) = &mut sums[bin];
            *count += 1;
            *bad += usize::from(zone.bad);
            *foretold += zone.p;
            let off = zone.p - if zone.bad { 1.0 } else { 0.0 };
            squares += off * off;
        }
        let bins = std::array::from_fn(|bin| {
            let edge = |at: usize| at as f64 / BINS as f64;
            let (count, bad, foretold) = sums[bin];
            Bin { from: edge(bin), to: edge(bin + 1), zones: (count > 0).then(|| in_bin(count, bad, foretold)) }
        });
        let brier = (!zones.is_empty()).then(|| squares / zones.len() as f64);
        Ok(Self { bins, count: zones.len(), brier })
    }
}

fn in_bin(count: usize, bad: usize, foretold: f64) -> InBin {
    let n = count as f64;
    let share = bad as f64 / n;
    let z = normal::score(0.95);
    let z2 = z * z;
    let middle = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = z / (1.0 + z2 / n) * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    // With none bad, or all, the end is that of the shares, which rounding would miss by a little.
    let low = if bad == 0 { 0.0 } else { middle - half };
    let high = if bad == count { 1.0 } else { middle + half };
    InBin { count, bad, foretold: foretold / n, share, low, high }
}
