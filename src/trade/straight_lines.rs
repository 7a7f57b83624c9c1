//! A quantity known at points, straight lines between them: the open-circuit
//! voltage of a cell by its state of charge, its capacity by temperature.

use super::kind::{Inputs, Refusal};
use super::plan::Unworkable;

/// Most points of a table.
pub(super) const MOST_POINTS: usize = 64;

/// Points of a table, their positions rising.
#[derive(Debug)]
pub(super) struct StraightLines<'a> {
    positions: Vec<f64>,
    values: &'a [f64],
}

impl<'a> StraightLines<'a> {
    /// A table of values at these positions; at even steps from 0 to 1 where
    /// there are none.
    ///
    /// # Errors
    /// Positions that do not rise. `what` names them.
    pub fn new(
        positions: &[f64],
        values: &'a [f64],
        what: &str,
    ) -> Result<StraightLines<'a>, Unworkable> {
        let positions: Vec<f64> = if positions.is_empty() {
            let last = values.len().saturating_sub(1).max(1);
            (0..values.len())
                .map(|at| at as f64 / last as f64)
                .collect()
        } else {
            positions.to_vec()
        };
        let rising = positions.windows(2).all(|pair| pair[0] < pair[1]);
        if positions.len() != values.len() || positions.len() < 2 || !rising {
            return Err(Unworkable::new(
                format!("needs `{what}` that rises from each entry to the next"),
                format!("write `{what}` in rising order, each value once"),
            ));
        }
        Ok(StraightLines { positions, values })
    }

    /// Number of lines.
    pub fn lines(&self) -> usize {
        self.positions.len() - 1
    }

    /// First position and last.
    pub fn ends(&self) -> (f64, f64) {
        (self.positions[0], self.positions[self.lines()])
    }

    /// Where a line ends.
    pub fn end_of(&self, line: usize) -> f64 {
        self.positions[line + 1]
    }

    /// Value per position of a line.
    pub fn slope(&self, line: usize) -> f64 {
        (self.values[line + 1] - self.values[line])
            / (self.positions[line + 1] - self.positions[line])
    }

    /// The value that a line has at a position, which may lie beyond its ends.
    pub fn on(&self, line: usize, position: f64) -> f64 {
        // From the nearer end, so that both ends are met exactly.
        let (left, right) = (self.positions[line], self.positions[line + 1]);
        if position - left <= right - position {
            self.values[line] + self.slope(line) * (position - left)
        } else {
            self.values[line + 1] - self.slope(line) * (right - position)
        }
    }

    /// The line that goes on to the right of a position; the last beyond all.
    pub fn line_after(&self, position: f64) -> usize {
        let later = self.positions.partition_point(|&end| end <= position);
        later.saturating_sub(1).min(self.lines() - 1)
    }

    /// The value at a position inside; `None` outside.
    pub fn at(&self, position: f64) -> Option<f64> {
        let (first, last) = self.ends();
        let inside = first <= position && position <= last;
        inside.then(|| self.on(self.line_after(position), position))
    }

    /// Whether no value is less than the one before, and all are finite.
    pub fn never_falls(&self) -> bool {
        let mut pairs = self.values.windows(2);
        pairs.all(|pair| pair[0] <= pair[1] && (pair[1] - pair[0]).is_finite())
    }

    /// The first position at which a table that never falls has a value; `None`
    /// where all its values are on one side.
    pub fn position_of(&self, value: f64) -> Option<f64> {
        if value < self.values[0] || value > self.values[self.lines()] {
            return None;
        }
        let line = (0..self.lines()).find(|&line| self.values[line + 1] >= value)?;
        let slope = self.slope(line);
        let past = value - self.values[line];
        Some(self.positions[line] + if slope > 0.0 { past / slope } else { 0.0 })
    }
}

/// Refuses a list of positions that is not as long as the list of values.
pub(super) fn unequal_lists(given: &Inputs, positions: &str, values: &str) -> Option<Refusal> {
    let (found, needed) = (given.listed(positions).len(), given.listed(values).len());
    let differ = given.has(positions) && found != needed;
    differ.then(|| {
        Refusal::new(
            positions,
            format!("`{positions}` has {found} entries, and `{values}` has {needed}"),
            "give both lists the same length: one entry of each makes a point",
        )
    })
}

#[cfg(test)]
#[allow(
    clippy::unwrap_used,
    reason = "a test that panics is a test that fails"
)]
mod tests {
    use super::*;

    /// Truth: two points and the line through them (arithmetic).
    #[test]
    fn a_table_is_read_both_ways() {
        let table = StraightLines::new(&[], &[3.0, 3.6, 3.6, 4.2], "state").unwrap();
        assert_eq!(table.ends(), (0.0, 1.0));
        assert!((table.at(1.0 / 6.0).unwrap() - 3.3).abs() < 1e-15);
        assert_eq!(table.at(1.0), Some(4.2));
        assert_eq!(table.at(1.01), None);
        assert!((table.position_of(3.9).unwrap() - 5.0 / 6.0).abs() < 1e-15);
        assert!((table.position_of(3.6).unwrap() - 1.0 / 3.0).abs() < 1e-15);
        assert_eq!(table.position_of(2.9), None);
    }

    #[test]
    fn positions_have_to_rise() {
        let refused = StraightLines::new(&[0.0, 0.5, 0.5], &[3.0, 3.6, 4.2], "state_of_charge");
        assert!(refused.unwrap_err().message.contains("state_of_charge"));
        assert!(StraightLines::new(&[f64::NAN, 1.0], &[3.0, 4.2], "x").is_err());
    }
}
