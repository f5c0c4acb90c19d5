//! Symmetric systems in which only neighbours are coupled.

use rustfft::num_complex::Complex;

/// Couplings of a row, itself included.
pub(super) const COUPLED: usize = 8;

/// A symmetric positive definite matrix with nothing outside a narrow band.
#[derive(Clone, Debug)]
pub(super) struct Banded {
    rows: Vec<[f64; COUPLED]>,
}

impl Banded {
    /// Room for this many rows.
    pub(super) fn new(most: usize) -> Self {
        Self { rows: Vec::with_capacity(most) }
    }

    /// Back to this many rows of zeros.
    pub(super) fn clear(&mut self, rows: usize) {
        self.rows.clear();
        self.rows.resize(rows, [0.0; COUPLED]);
    }

    /// The coupling of a row with the one `back` before it.
    pub(super) fn get(&self, row: usize, back: usize) -> f64 {
        self.rows[row][back]
    }

    pub(super) fn set(&mut self, row: usize, back: usize, value: f64) {
        self.rows[row][back] = value;
    }

    /// Solves for a complex right side in place, by Cholesky's square root (Golub & Van Loan, *Matrix Computations*,
    /// section 4.3.5), and destroys the matrix.
    pub(super) fn solve(&mut self, right: &mut [Complex<f64>]) {
        for i in 0..self.rows.len() {
            self.factor(i);
            for back in 1..COUPLED.min(i + 1) {
                let known = right[i - back] * self.rows[i][back];
                right[i] -= known;
            }
            right[i] /= self.rows[i][0];
        }
        for i in (0..self.rows.len()).rev() {
            right[i] /= self.rows[i][0];
            for back in 1..COUPLED.min(i + 1) {
                let known = right[i] * self.rows[i][back];
                right[i - back] -= known;
            }
        }
    }

    /// Turns row `i` into that of the square root.
    fn factor(&mut self, i: usize) {
        for back in (0..COUPLED.min(i + 1)).rev() {
            let j = i - back;
            let mut sum = self.rows[i][back];
            for further in back + 1..COUPLED.min(i + 1) {
                sum -= self.rows[i][further] * self.rows[j].get(further - back).copied().unwrap_or(0.0);
            }
            self.rows[i][back] = if back == 0 { sum.max(1.0e-12).sqrt() } else { sum / self.rows[j][0] };
        }
    }
}
