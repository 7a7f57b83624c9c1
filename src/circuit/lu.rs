//! Dense triangular factors (LU) with partial pivoting, over real and complex
//! numbers.
//!
//! Method: Gaussian elimination with row exchanges, see G. H. Golub and
//! C. F. Van Loan, Matrix Computations, section 3.4 (from memory). It does for
//! any values; the order that is planned beforehand (see `plan`) is faster and
//! does for values near those that it was planned for.

use std::ops::{Add, Div, Mul, Neg, Sub};

use num_complex::Complex64;

/// A number that a linear system can be solved over.
pub trait Number:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + PartialEq
{
    /// Zero.
    const ZERO: Self;
    /// One.
    const ONE: Self;

    /// How large the number is, for the choice of pivots: its magnitude, or
    /// what is within a factor of √2 of it.
    fn size(self) -> f64;

    /// The number times a real one.
    fn scaled(self, by: f64) -> Self;
}

impl Number for f64 {
    const ZERO: f64 = 0.0;
    const ONE: f64 = 1.0;

    fn size(self) -> f64 {
        self.abs()
    }

    fn scaled(self, by: f64) -> f64 {
        self * by
    }
}

impl Number for Complex64 {
    const ZERO: Complex64 = Complex64::new(0.0, 0.0);
    const ONE: Complex64 = Complex64::new(1.0, 0.0);

    fn size(self) -> f64 {
        self.re.abs() + self.im.abs()
    }

    fn scaled(self, by: f64) -> Complex64 {
        self * by
    }
}

/// The weakest pivot of a factorisation.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Pivot {
    /// Its unknown: the column.
    pub column: usize,
    /// Its size as a part of the largest entry that its column had before.
    /// Roughly the relative rounding error of the solution is the float's,
    /// 1.1e-16, divided by this.
    pub share: f64,
}

/// A square matrix, and after [`Lu::factor`] its triangular factors.
#[derive(Clone, Debug)]
pub struct Lu<N> {
    order: usize,
    /// Row after row.
    entries: Vec<N>,
    /// Row that took each place, as it was exchanged.
    exchanged: Vec<usize>,
    /// Reciprocal of each pivot.
    reciprocals: Vec<N>,
    /// Largest entry of each column before elimination.
    largest: Vec<f64>,
    weakest: Pivot,
}

impl<N: Number> Lu<N> {
    /// A matrix of zeros.
    pub fn new(order: usize) -> Lu<N> {
        Lu {
            order,
            entries: vec![N::ZERO; order * order],
            exchanged: vec![0; order],
            reciprocals: vec![N::ZERO; order],
            largest: vec![0.0; order],
            weakest: Pivot {
                column: 0,
                share: 1.0,
            },
        }
    }

    /// Sets every entry to zero.
    pub fn clear(&mut self) {
        self.entries.fill(N::ZERO);
    }

    /// Adds to an entry.
    pub fn add(&mut self, row: usize, column: usize, value: N) {
        let at = row * self.order + column;
        self.entries[at] = self.entries[at] + value;
    }

    /// The weakest pivot of the last factorisation.
    pub fn weakest(&self) -> Pivot {
        self.weakest
    }

    /// Replaces the matrix by its factors.
    ///
    /// # Errors
    /// The pivot of the column that depends on those before it: there is
    /// nothing but zeros, or a number that is not finite, to divide by.
    pub fn factor(&mut self) -> Result<(), Pivot> {
        self.measure_columns();
        self.weakest = Pivot {
            column: 0,
            share: 1.0,
        };
        let order = self.order;
        for column in 0..order {
            let size = self.exchange(column);
            let share = size / self.largest[column];
            // Written so that a share that is no number ends here as well.
            if !(share > 0.0 && size.is_finite()) {
                return Err(Pivot { column, share: 0.0 });
            }
            if share < self.weakest.share {
                self.weakest = Pivot { column, share };
            }
            let (above, below) = self.entries.split_at_mut((column + 1) * order);
            let pivot_row = &above[column * order + column..column * order + order];
            let reciprocal = N::ONE / pivot_row[0];
            self.reciprocals[column] = reciprocal;
            for row in below.chunks_exact_mut(order) {
                let row = &mut row[column..order];
                if row[0] == N::ZERO {
                    continue;
                }
                let factor = row[0] * reciprocal;
                row[0] = factor;
                for (entry, &pivot) in row[1..].iter_mut().zip(&pivot_row[1..]) {
                    *entry = *entry - factor * pivot;
                }
            }
        }
        Ok(())
    }

    fn measure_columns(&mut self) {
        let order = self.order;
        self.largest.fill(0.0);
        for row in self.entries.chunks_exact(order.max(1)) {
            for (largest, entry) in self.largest.iter_mut().zip(row) {
                *largest = largest.max(entry.size());
            }
        }
    }

    /// Brings the largest entry at or below the diagonal onto it; its size.
    fn exchange(&mut self, column: usize) -> f64 {
        let order = self.order;
        let mut best = column;
        let mut size = self.entries[column * order + column].size();
        for row in column + 1..order {
            let other = self.entries[row * order + column].size();
            if other > size {
                (best, size) = (row, other);
            }
        }
        self.exchanged[column] = best;
        if best != column {
            let (above, below) = self.entries.split_at_mut(best * order);
            let upper = &mut above[column * order..column * order + order];
            upper.swap_with_slice(&mut below[..order]);
        }
        size
    }

    /// Solves `A x = b` in place, after [`Lu::factor`]. What `b` holds past
    /// the order stays as it is.
    pub fn solve(&self, b: &mut [N]) {
        let order = self.order;
        for (at, &other) in self.exchanged.iter().enumerate() {
            b.swap(at, other);
        }
        for at in 1..order {
            let row = &self.entries[at * order..at * order + at];
            let known = row
                .iter()
                .zip(&*b)
                .fold(N::ZERO, |sum, (&a, &x)| sum + a * x);
            b[at] = b[at] - known;
        }
        for at in (0..order).rev() {
            let row = &self.entries[at * order + at + 1..at * order + order];
            let known = row
                .iter()
                .zip(&b[at + 1..order])
                .fold(N::ZERO, |sum, (&a, &x)| sum + a * x);
            b[at] = (b[at] - known) * self.reciprocals[at];
        }
    }

    /// Solves `Aᵀ x = b` in place, after [`Lu::factor`]; not the conjugate.
    pub fn solve_transposed(&self, b: &mut [N]) {
        let order = self.order;
        for at in 0..order {
            b[at] = b[at] * self.reciprocals[at];
            let known = b[at];
            let row = &self.entries[at * order + at + 1..at * order + order];
            for (x, &a) in b[at + 1..order].iter_mut().zip(row) {
                *x = *x - a * known;
            }
        }
        for at in (1..order).rev() {
            let known = b[at];
            let row = &self.entries[at * order..at * order + at];
            for (x, &a) in b.iter_mut().zip(row) {
                *x = *x - a * known;
            }
        }
        for (at, &other) in self.exchanged.iter().enumerate().rev() {
            b.swap(at, other);
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn filled<N: Number>(rows: &[Vec<N>]) -> Lu<N> {
        let mut lu = Lu::new(rows.len());
        for (row, entries) in rows.iter().enumerate() {
            for (column, &entry) in entries.iter().enumerate() {
                lu.add(row, column, entry);
            }
        }
        lu
    }

    /// Numbers between -1 and 1 without pattern (a linear congruence).
    fn noise(seed: &mut u64) -> f64 {
        *seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (*seed >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }

    fn check<N: Number>(order: usize, mut number: impl FnMut() -> N) {
        let rows: Vec<Vec<N>> = (0..order)
            .map(|_| (0..order).map(|_| number()).collect())
            .collect();
        let truth: Vec<N> = (0..order).map(|_| number()).collect();
        let product = |transposed: bool| -> Vec<N> {
            (0..order)
                .map(|i| {
                    (0..order).fold(N::ZERO, |sum, j| {
                        sum + truth[j] * if transposed { rows[j][i] } else { rows[i][j] }
                    })
                })
                .collect()
        };
        let mut lu = filled(&rows);
        lu.factor().unwrap();
        // Random matrices of this size have condition numbers up to some 1e4.
        let close = |found: &[N]| {
            found
                .iter()
                .zip(&truth)
                .all(|(&a, &b)| (a - b).size() < 1e-10)
        };
        let mut x = product(false);
        lu.solve(&mut x);
        assert!(close(&x), "order {order}");
        let mut x = product(true);
        lu.solve_transposed(&mut x);
        assert!(close(&x), "order {order}, transposed");
    }

    #[test]
    fn solves_what_it_multiplied() {
        let mut seed = 1;
        for order in 1..=20 {
            check(order, || noise(&mut seed));
            check(order, || Complex64::new(noise(&mut seed), noise(&mut seed)));
        }
    }

    #[test]
    fn a_zero_on_the_diagonal_is_no_obstacle() {
        let mut lu = filled(&[vec![0.0, 2.0], vec![4.0, 0.0]]);
        lu.factor().unwrap();
        let mut x = [6.0, 8.0];
        lu.solve(&mut x);
        assert_eq!(x, [2.0, 3.0]);
    }

    #[test]
    fn the_dependent_column_is_named() {
        let rows = [
            vec![1.0, 2.0, 3.0],
            vec![2.0, 4.0, 5.0],
            vec![3.0, 6.0, 7.0],
        ];
        assert_eq!(filled(&rows).factor().unwrap_err().column, 1);
        let empty = [vec![1.0, 0.0], vec![1.0, 0.0]];
        assert_eq!(filled(&empty).factor().unwrap_err().column, 1);
        let broken = [vec![1.0, 0.0], vec![0.0, f64::NAN]];
        assert_eq!(filled(&broken).factor().unwrap_err().column, 1);
    }

    #[test]
    fn a_weak_pivot_is_measured() {
        let mut lu = filled(&[vec![1.0, -1.0], vec![-1.0, 1.0 + 1e-9]]);
        lu.factor().unwrap();
        assert_eq!(lu.weakest().column, 1);
        assert!((lu.weakest().share - 1e-9).abs() < 1e-15);
    }
}
