//! Sums and small systems of equations.

use super::wish::MOST_IN_RECIPE;

/// Most unknowns.
pub(super) const N: usize = MOST_IN_RECIPE;

/// Sum of products, in four sums that can run side by side.
#[inline]
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a4.remainder().iter().zip(b4.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a4.zip(b4) {
        for i in 0..4 {
            sums[i] += x[i] * y[i];
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

/// Solves A x = b in place, from the lower half of a symmetric positive A; false when it is not.
pub(super) fn cholesky(a: &mut [[f64; N]; N], b: &mut [f64; N], n: usize) -> bool {
    for j in 0..n {
        for k in 0..j {
            let factor = a[j][k];
            for row in a.iter_mut().take(n).skip(j) {
                row[j] -= row[k] * factor;
            }
        }
        if a[j][j].is_nan() || a[j][j] <= 0.0 {
            return false;
        }
        let root = a[j][j].sqrt();
        for row in a.iter_mut().take(n).skip(j) {
            row[j] /= root;
        }
    }
    for i in 0..n {
        for k in 0..i {
            b[i] -= a[i][k] * b[k];
        }
        b[i] /= a[i][i];
    }
    for i in (0..n).rev() {
        for k in i + 1..n {
            b[i] -= a[k][i] * b[k];
        }
        b[i] /= a[i][i];
    }
    true
}
