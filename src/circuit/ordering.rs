//! The order in which the unknowns of a network are eliminated.
//!
//! The next pivot is that which fills in least, of those that are not small in
//! their column, after H. M. Markowitz, The Elimination Form of the Inverse
//! and its Application to Linear Programming, Management Science 3 (1957)
//! 255-269 (from memory).

use super::lu::Number;

/// Least size of a pivot, as a part of the largest entry of its column.
const CHOSEN: f64 = 0.1;

/// A matrix while the order of elimination is looked for.
pub(super) struct Grid<N> {
    order: usize,
    entries: Vec<N>,
    /// Whether each entry is there, whatever its value.
    pub(super) there: Vec<bool>,
}

impl<N: Number> Grid<N> {
    pub(super) fn new(order: usize) -> Grid<N> {
        Grid {
            order,
            entries: vec![N::ZERO; order * order],
            there: vec![false; order * order],
        }
    }

    pub(super) fn add(&mut self, row: usize, column: usize, value: N) {
        let at = row * self.order + column;
        self.entries[at] = self.entries[at] + value;
        self.there[at] = true;
    }

    fn is_there(&self, row: usize, column: usize) -> bool {
        self.there[row * self.order + column]
    }

    fn size(&self, row: usize, column: usize) -> f64 {
        self.entries[row * self.order + column].size()
    }

    /// The pivots in order, each as row and column; none where all that is
    /// left is zero.
    pub(super) fn eliminate(&mut self) -> Option<Vec<[usize; 2]>> {
        let mut rows: Vec<usize> = (0..self.order).collect();
        let mut columns = rows.clone();
        let mut pivots = Vec::new();
        while !rows.is_empty() {
            let pivot @ [row, column] = self.best(&rows, &columns)?;
            rows.retain(|&other| other != row);
            columns.retain(|&other| other != column);
            pivots.push(pivot);
            let at = |row: usize, column: usize| row * self.order + column;
            for &below in rows.iter().filter(|&&r| self.there[at(r, column)]) {
                let factor = self.entries[at(below, column)] / self.entries[at(row, column)];
                for &right in columns.iter().filter(|&&c| self.there[at(row, c)]) {
                    let change = factor * self.entries[at(row, right)];
                    self.entries[at(below, right)] = self.entries[at(below, right)] - change;
                }
            }
            for &below in &rows {
                for &right in &columns {
                    if self.there[at(below, column)] && self.there[at(row, right)] {
                        self.there[at(below, right)] = true;
                    }
                }
            }
        }
        Some(pivots)
    }

    /// The pivot that fills in least, of those that are large enough; the
    /// first of several.
    fn best(&self, rows: &[usize], columns: &[usize]) -> Option<[usize; 2]> {
        let in_row = |row: usize| columns.iter().filter(|&&c| self.is_there(row, c)).count();
        let mut best: Option<(usize, [usize; 2])> = None;
        for &column in columns {
            let sizes = rows.iter().map(|&row| self.size(row, column));
            let largest = sizes.fold(0.0, f64::max);
            let in_column = rows.iter().filter(|&&r| self.is_there(r, column)).count();
            for &row in rows {
                let size = self.size(row, column);
                // Written so that a size that is no number is refused.
                if !(size > 0.0 && size >= CHOSEN * largest) {
                    continue;
                }
                let fill = (in_row(row) - 1) * (in_column - 1);
                if best.is_none_or(|(least, _)| fill < least) {
                    best = Some((fill, [row, column]));
                }
            }
        }
        best.map(|(_, pivot)| pivot)
    }
}
