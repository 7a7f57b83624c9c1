//! Quantiles of many trials in little memory.
//!
//! A single batch of values is sorted; quantiles are then order statistics,
//! joined by straight lines (JCGM 101:2008, annex D). When there are more, the
//! first batch shows where the values lie, and all are only counted in cells of
//! equal width; quantiles are then linear within a cell. A cell is at most
//! 1/1350 of the central part of the distribution, so what the straight line
//! leaves out is far below what chance leaves open; a value that comes often
//! (of a response with steps) is known to within a cell. Counts do not hang on
//! the order in which they are made.

/// Number of cells between the ends; two more take what lies outside. They fit
/// in the cache nearest to the processor, beside the values.
const CELLS: usize = 4096;

/// Where cells lie.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Layout {
    low: f64,
    cells_per_unit: f64,
}

/// How many values lie in each cell, below all and above all.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Counts {
    layout: Layout,
    least: f64,
    greatest: f64,
    counts: Vec<u64>,
}

/// The values of trials, as far as quantiles need them.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Quantiles {
    /// All values, sorted.
    Sorted(Vec<f64>),
    /// For each cell the number of values up to its end.
    Counted(SummedCounts),
}

impl Layout {
    /// Cells for values like these, sorted, of which the central part is the
    /// one without `tail` on each side. Cells reach as far as the values and a
    /// little farther, but at most the width of the central part beyond it.
    pub fn of(sorted: &[f64], tail: f64) -> Layout {
        let at = |p: f64| order_statistic(sorted, p);
        let (low, high) = (at(tail), at(1.0 - tail));
        let (least, greatest) = (at(0.0), at(1.0));
        let width = high - low;
        let margin = 0.05 * (greatest - least);
        let low = (least - margin).max(low - width);
        let high = (greatest + margin).min(high + width);
        let cells_per_unit = CELLS as f64 / (high - low);
        Layout {
            low,
            // Where all values are the same, one cell has all.
            cells_per_unit: if cells_per_unit.is_finite() {
                cells_per_unit
            } else {
                0.0
            },
        }
    }

    /// The middle of all cells.
    pub fn centre(&self) -> f64 {
        if self.cells_per_unit == 0.0 {
            return self.low;
        }
        self.low + 0.5 * CELLS as f64 / self.cells_per_unit
    }

    fn cell(&self, value: f64) -> u32 {
        let place = (value - self.low) * self.cells_per_unit + 0.5;
        let place = if place > 0.0 { place } else { 0.0 };
        let most = (CELLS + 1) as f64;
        let place = if place < most { place } else { most };
        // Beside 2^52 a float has no room for a fraction: its last bits are the
        // nearest whole number. The processor does that for several values at
        // once, unlike a cast.
        const WHOLE: f64 = (1u64 << 52) as f64;
        (place + WHOLE).to_bits() as u32
    }

    /// No counts yet.
    pub fn empty(&self) -> Vec<u32> {
        vec![0; CELLS + 2]
    }

    /// Counts values into cells.
    pub fn count(&self, values: &[f64], counts: &mut [u32]) {
        // First where, then how many: the processor does the first for several
        // values at once.
        let mut cells = [0; 64];
        for values in values.chunks(cells.len()) {
            for (cell, &value) in cells.iter_mut().zip(values) {
                *cell = self.cell(value);
            }
            for &cell in &cells[..values.len()] {
                counts[cell as usize] += 1;
            }
        }
    }
}

impl Counts {
    /// No values yet.
    pub fn new(layout: Layout) -> Counts {
        Counts {
            layout,
            least: f64::INFINITY,
            greatest: f64::NEG_INFINITY,
            counts: vec![0; CELLS + 2],
        }
    }

    /// Adds values that were counted, with the least and greatest of them.
    pub fn add(&mut self, counts: &[u32], least: f64, greatest: f64) {
        for (sum, count) in self.counts.iter_mut().zip(counts) {
            *sum += u64::from(*count);
        }
        self.least = self.least.min(least);
        self.greatest = self.greatest.max(greatest);
    }

    /// Adds the counts of others over the same cells.
    pub fn merge(&mut self, other: &Counts) {
        for (sum, count) in self.counts.iter_mut().zip(&other.counts) {
            *sum += count;
        }
        self.least = self.least.min(other.least);
        self.greatest = self.greatest.max(other.greatest);
    }

    /// Sums the counts up, ready for quantiles.
    pub fn quantiles(mut self) -> Quantiles {
        let mut sum = 0;
        for count in &mut self.counts {
            sum += *count;
            *count = sum;
        }
        Quantiles::Counted(SummedCounts(self))
    }
}

/// For each cell the number of values up to its end.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct SummedCounts(Counts);

impl SummedCounts {
    fn total(&self) -> f64 {
        self.0.counts.last().copied().unwrap_or(0) as f64
    }

    /// Where a cell begins and ends; values outside have only their extremes.
    fn ends(&self, cell: usize) -> (f64, f64) {
        let Counts {
            layout,
            least,
            greatest,
            ..
        } = &self.0;
        let edge = |cell: usize| {
            let edge = layout.low + cell as f64 / layout.cells_per_unit;
            edge.clamp(*least, *greatest)
        };
        if layout.cells_per_unit == 0.0 {
            return (*least, *greatest);
        }
        let low = cell.checked_sub(1).map_or(*least, edge);
        let high = if cell > CELLS { *greatest } else { edge(cell) };
        (low, high)
    }

    /// How many values lie in the cells before one, and up to its end.
    fn counts(&self, cell: usize) -> (f64, f64) {
        let before = cell
            .checked_sub(1)
            .map_or(0, |before| self.0.counts[before]);
        (before as f64, self.0.counts[cell] as f64)
    }

    fn quantile(&self, p: f64) -> f64 {
        let wanted = p * self.total();
        let sums = &self.0.counts;
        let cell = sums
            .partition_point(|&sum| (sum as f64) < wanted)
            .min(CELLS + 1);
        let (low, high) = self.ends(cell);
        let (before, after) = self.counts(cell);
        if after == before {
            return low;
        }
        low + ((wanted - before) / (after - before)).clamp(0.0, 1.0) * (high - low)
    }

    fn at_most(&self, value: f64) -> f64 {
        if value >= self.0.greatest {
            return self.total();
        }
        if value < self.0.least {
            return 0.0;
        }
        let cell = self.0.layout.cell(value) as usize;
        let (low, high) = self.ends(cell);
        let (before, after) = self.counts(cell);
        let part = if high > low {
            (value - low) / (high - low)
        } else {
            1.0
        };
        before + part.clamp(0.0, 1.0) * (after - before)
    }
}

impl Quantiles {
    /// The value with a share `p` of all values below it, 0 to 1.
    pub fn at(&self, p: f64) -> f64 {
        match self {
            Quantiles::Sorted(values) => order_statistic(values, p),
            Quantiles::Counted(summed) => summed.quantile(p),
        }
    }

    /// How many values lie up to a value.
    pub fn at_most(&self, value: f64) -> f64 {
        match self {
            Quantiles::Sorted(values) => values.partition_point(|&other| other <= value) as f64,
            Quantiles::Counted(summed) => summed.at_most(value),
        }
    }
}

/// The quantile of sorted values, value r of n being that of (r - ½)/n.
fn order_statistic(sorted: &[f64], p: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else {
        return f64::NAN;
    };
    let place = (p * sorted.len() as f64 - 0.5).clamp(0.0, last as f64);
    let below = place as usize;
    let above = (below + 1).min(last);
    let (a, b) = (sorted[below], sorted[above]);
    a + (place - below as f64) * (b - a)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spread::probability::{normal_density, normal_quantile};

    fn bell(count: usize) -> Vec<f64> {
        let at = |i: usize| normal_quantile((i as f64 + 0.5) / count as f64);
        (0..count).map(at).collect()
    }

    fn counted(layout: Layout, values: &[f64]) -> Quantiles {
        let mut counts = Counts::new(layout);
        for part in values.chunks(1000) {
            let least = part.iter().copied().fold(f64::INFINITY, f64::min);
            let greatest = part.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let mut cells = layout.empty();
            layout.count(part, &mut cells);
            counts.add(&cells, least, greatest);
        }
        counts.quantiles()
    }

    #[test]
    fn counting_gives_the_quantiles_of_sorting() {
        let values = bell(100_000);
        let layout = Layout::of(&bell(2000), 0.00625);
        let (sorted, counted) = (Quantiles::Sorted(values.clone()), counted(layout, &values));
        for p in [0.001, 0.025, 0.2, 0.5, 0.9, 0.975, 0.999] {
            let (a, b) = (sorted.at(p), counted.at(p));
            // A tenth of what chance leaves open.
            let chance = (p * (1.0 - p) / 1e5f64).sqrt() / normal_density(a);
            assert!((a - b).abs() < 0.1 * chance, "{p}: {a} {b}");
            assert!((counted.at_most(a) - p * 1e5).abs() < 60.0, "{p}");
        }
        for p in [0.0, 1.0] {
            assert_eq!(sorted.at(p), counted.at(p));
        }
    }

    #[test]
    fn far_values_keep_their_extremes() {
        let mut values = bell(10_000);
        let layout = Layout::of(&values, 0.01);
        values.extend([1e6, -1e9]);
        let counted = counted(layout, &values);
        assert_eq!((counted.at(0.0), counted.at(1.0)), (-1e9, 1e6));
        assert!((counted.at(0.5)).abs() < 1e-3);
        assert_eq!(counted.at_most(2e6), 10_002.0);
    }

    #[test]
    fn values_that_are_all_the_same_have_one_quantile() {
        let values = vec![3.25; 500];
        let layout = Layout::of(&values, 0.01);
        let counted = counted(layout, &values);
        for p in [0.0, 0.4, 1.0] {
            assert_eq!(counted.at(p), 3.25);
            assert_eq!(Quantiles::Sorted(values.clone()).at(p), 3.25);
        }
    }
}
