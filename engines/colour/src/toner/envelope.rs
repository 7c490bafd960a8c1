//! A large symmetric positive definite system whose matrix is mostly empty to the left of a skyline.

/// The lower half of a symmetric matrix, each row from its first entry on.
pub(crate) struct Envelope {
    /// Where each row begins.
    first: Vec<usize>,
    /// Each row's entries from there to the diagonal.
    rows: Vec<Vec<f64>>,
}

impl Envelope {
    /// An empty matrix; `first` says where each row begins (at most its own index).
    pub(crate) fn new(first: Vec<usize>) -> Self {
        let rows = first.iter().enumerate().map(|(i, f)| vec![0.0; i + 1 - f.min(&i)]).collect();
        Self { first: first.iter().enumerate().map(|(i, f)| *f.min(&i)).collect(), rows }
    }

    /// Sets all entries to 0.
    pub(crate) fn clear(&mut self) {
        self.rows.iter_mut().for_each(|row| row.fill(0.0));
    }

    /// Adds to the entry of a pair; both orders are the same entry.
    pub(crate) fn add(&mut self, a: usize, b: usize, x: f64) {
        let (row, column) = if a >= b { (a, b) } else { (b, a) };
        let at = column.checked_sub(self.first[row]);
        debug_assert!(at.is_some(), "entry {row},{column} left of the skyline {}", self.first[row]);
        if let Some(slot) = at.and_then(|at| self.rows[row].get_mut(at)) {
            *slot += x;
        }
    }

    /// The diagonal.
    pub(crate) fn diagonal(&self) -> Vec<f64> {
        self.rows.iter().map(|row| row.last().copied().unwrap_or(0.0)).collect()
    }

    /// A copy with something added to the diagonal.
    pub(crate) fn plus_diagonal(&self, extra: &[f64]) -> Self {
        let mut rows = self.rows.clone();
        for (row, x) in rows.iter_mut().zip(extra) {
            if let Some(last) = row.last_mut() {
                *last += x;
            }
        }
        Self { first: self.first.clone(), rows }
    }

    /// Cholesky's factor in place (Jennings' envelope method, Computer Journal 9, 1966); `None` when the
    /// matrix is not positive definite.
    ///
    /// Rows that begin in the same column are worked on together, so that each finished row is read
    /// once for all of them.
    pub(crate) fn factor(mut self) -> Option<Self> {
        let mut i = 0;
        while i < self.rows.len() {
            let fi = self.first[i];
            let together = (1..ABREAST).take_while(|k| self.first.get(i + k) == Some(&fi)).count() + 1;
            let (done, rest) = self.rows.split_at_mut(i);
            let batch = &mut rest[..together];
            for (j, left) in done.iter().enumerate().skip(fi) {
                let fj = self.first[j];
                let from = fi.max(fj);
                let left = &left[from - fj..];
                let pivot = left[j - from];
                if let [a, b, c, d] = batch {
                    let span = from - fi..j - fi;
                    let sums =
                        dots(&left[..j - from], [&a[span.clone()], &b[span.clone()], &c[span.clone()], &d[span]]);
                    for (row, sum) in [a, b, c, d].into_iter().zip(sums) {
                        row[j - fi] = (row[j - fi] - sum) / pivot;
                    }
                } else {
                    for row in batch.iter_mut() {
                        let sum = dot(&row[from - fi..j - fi], &left[..j - from]);
                        row[j - fi] = (row[j - fi] - sum) / pivot;
                    }
                }
            }
            for k in 0..together {
                let (before, now) = batch.split_at_mut(k);
                let row = &mut now[0];
                for (m, left) in before.iter().enumerate() {
                    let at = i + m - fi;
                    row[at] = (row[at] - dot(&row[..at], &left[..at])) / left[at];
                }
                let last = i + k - fi;
                let pivot = row[last] - dot(&row[..last], &row[..last]);
                if pivot <= 0.0 || pivot.is_nan() {
                    return None;
                }
                row[last] = pivot.sqrt();
            }
            i += together;
        }
        Some(self)
    }

    /// Solves with the factor.
    pub(crate) fn solve(&self, mut b: Vec<f64>) -> Vec<f64> {
        self.solve_lower(&mut b);
        for i in (0..b.len()).rev() {
            let (fi, row) = (self.first[i], &self.rows[i]);
            let x = b[i] / row[i - fi];
            b[i] = x;
            for (slot, l) in b[fi..i].iter_mut().zip(row) {
                *slot -= l * x;
            }
        }
        b
    }

    /// The first half of [`Envelope::solve`]: the squared length of its result is the quadratic form of
    /// the inverse.
    pub(crate) fn solve_lower(&self, b: &mut [f64]) {
        for i in 0..b.len() {
            let (fi, row) = (self.first[i], &self.rows[i]);
            b[i] = (b[i] - dot(&row[..i - fi], &b[fi..i])) / row[i - fi];
        }
    }
}

/// Rows worked on together.
const ABREAST: usize = 4;

/// Four sums of products with the same row.
fn dots(left: &[f64], rows: [&[f64]; ABREAST]) -> [f64; ABREAST] {
    const WIDE: usize = 4;
    let mut sums = [[0.0; WIDE]; ABREAST];
    let whole = left.len() / WIDE * WIDE;
    for k in (0..whole).step_by(WIDE) {
        let l = &left[k..k + WIDE];
        for (sum, row) in sums.iter_mut().zip(rows) {
            let r = &row[k..k + WIDE];
            for ((s, x), y) in sum.iter_mut().zip(l).zip(r) {
                *s += x * y;
            }
        }
    }
    let mut out = [0.0; ABREAST];
    for ((slot, sum), row) in out.iter_mut().zip(sums).zip(rows) {
        let rest: f64 = left[whole..].iter().zip(&row[whole..]).map(|(x, y)| x * y).sum();
        *slot = (sum[0] + sum[1]) + (sum[2] + sum[3]) + rest;
    }
    out
}

/// Sum of products, in four interleaved sums so that it can run side by side.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 8];
    let (a8, b8) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f64 = a8.remainder().iter().zip(b8.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a8.zip(b8) {
        for k in 0..8 {
            sums[k] += x[k] * y[k];
        }
    }
    ((sums[0] + sums[1]) + (sums[2] + sums[3])) + ((sums[4] + sums[5]) + (sums[6] + sums[7])) + rest
}
