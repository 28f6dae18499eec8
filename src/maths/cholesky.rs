//! The Cholesky factor of a symmetric positive matrix, and what is solved with it.
//!
//! | symbol | meaning                                        |
//! |--------|------------------------------------------------|
//! | A      | symmetric positive matrix, n × n, row by row   |
//! | L      | lower triangle with A = L·Lᵀ                   |

/// How many right-hand sides are solved side by side.
pub const LANES: usize = 8;

/// The lower triangle L of a symmetric positive matrix A = L·Lᵀ.
#[derive(Debug, Clone, PartialEq)]
pub struct Cholesky {
    n: usize,
    /// Row by row, n numbers a row; above the diagonal nothing is read.
    l: Vec<f64>,
}

impl Cholesky {
    /// Factors a matrix given row by row; only its lower triangle is read. `None` when it is not
    /// positive.
    ///
    /// # Source
    /// Cholesky–Banachiewicz, row by row (Golub & Van Loan 2013, §4.2).
    pub fn factor(mut a: Vec<f64>, n: usize) -> Option<Self> {
        for i in 0..n {
            let (above, row) = a.split_at_mut(i * n);
            for j in 0..i {
                let pivot_row = &above[j * n..=j * n + j];
                let sum = row[j] - dot(&row[..j], &pivot_row[..j]);
                row[j] = sum / pivot_row[j];
            }
            let square = row[i] - dot(&row[..i], &row[..i]);
            // A pivot that is nothing but rounding means that the matrix is singular.
            let positive = square.is_finite() && square > row[i].abs() * 1e-14;
            if !positive {
                return None;
            }
            row[i] = square.sqrt();
        }
        Some(Self { n, l: a })
    }

    /// The number of rows.
    pub const fn size(&self) -> usize {
        self.n
    }

    fn row(&self, i: usize) -> &[f64] {
        &self.l[i * self.n..=i * self.n + i]
    }

    /// ln |A|.
    pub fn ln_determinant(&self) -> f64 {
        2.0 * (0..self.n).map(|i| self.row(i)[i].ln()).sum::<f64>()
    }

    /// L·b: draws with covariance A from independent ones.
    pub fn times(&self, b: &[f64]) -> Vec<f64> {
        (0..self.n).map(|i| dot(self.row(i), &b[..=i])).collect()
    }

    /// Turns b into L⁻¹b.
    pub fn forward(&self, b: &mut [f64]) {
        for i in 0..self.n {
            let row = self.row(i);
            b[i] = (b[i] - dot(&row[..i], &b[..i])) / row[i];
        }
    }

    /// Turns b into L⁻ᵀb.
    pub fn backward(&self, b: &mut [f64]) {
        for i in (0..self.n).rev() {
            let row = self.row(i);
            b[i] /= row[i];
            let value = b[i];
            for (earlier, factor) in b[..i].iter_mut().zip(row) {
                *earlier -= factor * value;
            }
        }
    }

    /// Turns b into A⁻¹b.
    pub fn solve(&self, b: &mut [f64]) {
        self.forward(b);
        self.backward(b);
    }

    /// Turns [`LANES`] right-hand sides, side by side, into L⁻¹ of each.
    pub fn forward_lanes(&self, b: &mut [[f64; LANES]]) {
        for i in 0..self.n {
            let row = self.row(i);
            let (done, rest) = b.split_at_mut(i);
            let mut sum = rest[0];
            for (factor, earlier) in row.iter().zip(done.iter()) {
                subtract(&mut sum, *factor, earlier);
            }
            rest[0] = sum.map(|value| value / row[i]);
        }
    }

    /// A⁻¹, row by row.
    pub fn inverse(&self) -> Vec<f64> {
        let n = self.n;
        let mut inverse = vec![0.0; n * n];
        let mut column = vec![0.0; n];
        for j in 0..n {
            column.fill(0.0);
            column[j] = 1.0;
            self.solve(&mut column);
            inverse[j * n..(j + 1) * n].copy_from_slice(&column);
        }
        inverse
    }
}

/// Side by side, the sums of the squares of some numbers.
pub fn sums_of_squares(values: &[[f64; LANES]]) -> [f64; LANES] {
    let mut sums = [0.0; LANES];
    for value in values {
        subtract(&mut sums, -1.0, &value.map(|v| v * v));
    }
    sums
}

/// Takes `factor` times `earlier` from `sum`, lane by lane.
#[inline]
pub fn subtract(sum: &mut [f64; LANES], factor: f64, earlier: &[f64; LANES]) {
    for lane in 0..LANES {
        sum[lane] -= factor * earlier[lane];
    }
}

/// The sum of products, in four partial sums that do not wait for each other.
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    let (a4, a_rest) = a.as_chunks::<4>();
    let (b4, b_rest) = b.as_chunks::<4>();
    let mut sums = [0.0; 4];
    for (x, y) in a4.iter().zip(b4) {
        for k in 0..4 {
            sums[k] += x[k] * y[k];
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(x, y)| x * y).sum();
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The Hilbert matrix of order 5: its determinant is 1/266 716 800 000 and its inverse whole
    /// (Choi 1983, Am. Math. Monthly 90:301).
    fn hilbert() -> Cholesky {
        let entry = |k: u32| 1.0 / f64::from(k / 5 + k % 5 + 1);
        Cholesky::factor((0..25).map(entry).collect(), 5).unwrap()
    }

    #[test]
    fn the_hilbert_matrix_has_its_determinant_and_inverse() {
        let factor = hilbert();
        assert!((factor.ln_determinant() + 266_716_800_000_f64.ln()).abs() < 1e-9);
        let inverse = factor.inverse();
        for (at, expected) in [(0, 25.0), (1, -300.0), (12, 79_380.0), (24, 44_100.0)] {
            assert!((inverse[at] / expected - 1.0).abs() < 1e-9, "{} {expected}", inverse[at]);
        }
    }

    #[test]
    fn lanes_give_what_single_columns_give() {
        let factor = hilbert();
        let mut lanes = [[0.0; LANES]; 5];
        for (i, row) in (0_u8..).zip(&mut lanes) {
            for (k, value) in (0_u8..).zip(row.iter_mut()) {
                *value = f64::from(i * 3 + k);
            }
        }
        let mut single: Vec<f64> = lanes.iter().map(|row| row[3]).collect();
        factor.forward(&mut single);
        factor.forward_lanes(&mut lanes);
        for (row, value) in lanes.iter().zip(&single) {
            assert!((row[3] - value).abs() < 1e-12 * value.abs());
        }
    }

    #[test]
    fn a_singular_matrix_has_no_factor() {
        assert!(Cholesky::factor(vec![1.0, 1.0, 1.0, 1.0], 2).is_none());
        assert!(Cholesky::factor(vec![1.0, 0.0, 2.0, 1.0], 2).is_none());
        assert!(Cholesky::factor(vec![f64::NAN], 1).is_none());
        assert_eq!(Cholesky::factor(Vec::new(), 0).unwrap().size(), 0);
    }
}
