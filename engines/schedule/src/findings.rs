//! What is there in each sample, drawn elsewhere.

use crate::RiskError;
use crate::error::counted;
use crate::risk::FEWEST_SAMPLES;

/// The most samples of a range.
pub const MOST_DRAWS: usize = 250_000;
/// The most columns of findings.
pub const MOST_COLUMNS: usize = 1_000;

/// Of every sample, which findings are there: one bit a sample, in columns.
///
/// They are drawn where the findings' dependence on each other is known, and only read here. The samples must be
/// equally likely; their order does not matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Findings {
    samples: usize,
    /// Unused bits of a last word are 0.
    columns: Vec<Vec<u64>>,
}

impl Findings {
    /// From columns of words: bit `s % 64` of word `s / 64` is 1 where the finding is there in sample `s`.
    ///
    /// 1 000..=250 000 samples, up to 1 000 columns, each of as many words as hold its samples; bits past the last
    /// sample are put to 0. Fails on another count or length.
    ///
    /// ```
    /// use schedule::Findings;
    /// let every_other = vec![0x5555_5555_5555_5555; 16];
    /// let findings = Findings::new(1_000, vec![every_other])?;
    /// assert_eq!(findings.frequency(0), Some(0.5));
    /// # Ok::<(), schedule::RiskError>(())
    /// ```
    pub fn new(samples: usize, mut columns: Vec<Vec<u64>>) -> Result<Self, RiskError> {
        checked(samples, columns.len())?;
        let needed = samples.div_ceil(64);
        let last = u64::MAX >> ((64 - samples % 64) % 64);
        for (column, words) in columns.iter_mut().enumerate() {
            fits(column, words.len(), "words", needed)?;
            if let Some(word) = words.last_mut() {
                *word &= last;
            }
        }
        Ok(Self { samples, columns })
    }

    /// From one flag a sample, column by column. Fails as [`Findings::new`] does.
    pub fn of_flags(samples: usize, columns: &[Vec<bool>]) -> Result<Self, RiskError> {
        checked(samples, columns.len())?;
        for (column, flags) in columns.iter().enumerate() {
            fits(column, flags.len(), "flags", samples)?;
        }
        let word = |flags: &[bool]| flags.iter().rev().fold(0, |word, there| word << 1 | u64::from(*there));
        let columns = columns.iter().map(|flags| flags.chunks(64).map(word).collect()).collect();
        Ok(Self { samples, columns })
    }

    /// No findings: for items that are always there. Fails on a count of samples outside its limits.
    pub fn none(samples: usize) -> Result<Self, RiskError> {
        Self::new(samples, Vec::new())
    }

    /// How many samples there are.
    pub fn samples(&self) -> usize {
        self.samples
    }

    /// How many columns there are.
    pub fn columns(&self) -> usize {
        self.columns.len()
    }

    /// The share of the samples in which a column's finding is there; `None` where there is no such column.
    pub fn frequency(&self, column: usize) -> Option<f64> {
        let words = self.columns.get(column)?;
        let there: u64 = words.iter().map(|word| u64::from(word.count_ones())).sum();
        Some(there as f64 / self.samples as f64)
    }

    /// The words of a column for some samples; `first` is a multiple of 64. Nothing where there is no such column.
    pub(crate) fn words(&self, column: usize, first: usize, count: usize) -> &[u64] {
        let words = self.columns.get(column).map_or(&[][..], Vec::as_slice);
        let from = (first / 64).min(words.len());
        &words[from..(first + count).div_ceil(64).clamp(from, words.len())]
    }
}

fn checked(samples: usize, columns: usize) -> Result<(), RiskError> {
    counted("samples", samples, FEWEST_SAMPLES..=MOST_DRAWS)?;
    counted("columns of findings", columns, 0..=MOST_COLUMNS)
}

fn fits(column: usize, length: usize, unit: &'static str, needed: usize) -> Result<(), RiskError> {
    if length == needed { Ok(()) } else { Err(RiskError::ColumnLength { column, length, unit, needed }) }
}
