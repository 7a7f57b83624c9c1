//! The values behind a plot.

use std::collections::HashMap;

use crate::emit::csv_line;

/// A column of a table.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Column {
    /// What it holds.
    pub name: String,
    /// The unit of its values; empty for plain numbers.
    pub unit: String,
}

/// The values behind a plot, for a table on the page and for copying.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Table {
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, as long as there are columns; nothing where a curve has no
    /// value.
    pub rows: Vec<Vec<Option<f64>>>,
}

impl Column {
    pub(super) fn new(name: impl Into<String>, unit: impl Into<String>) -> Column {
        Column {
            name: name.into(),
            unit: unit.into(),
        }
    }

    /// Name and unit, such as "Gain in dB".
    pub fn heading(&self) -> String {
        if self.unit.is_empty() {
            self.name.clone()
        } else {
            format!("{} in {}", self.name, self.unit)
        }
    }
}

impl Table {
    /// Curves over one axis: a row for every value that a curve has, and for
    /// each curve as many columns as its points have values.
    pub(super) fn joined(columns: Vec<Column>, curves: &[Vec<(f64, Vec<f64>)>]) -> Table {
        let mut along: Vec<f64> = curves.iter().flatten().map(|(x, _)| *x).collect();
        along.retain(|x| !x.is_nan());
        along.sort_by(f64::total_cmp);
        along.dedup();
        let width = columns.len().saturating_sub(1) / curves.len().max(1);
        // Values of one computation have the very same x, to the last bit.
        let found: Vec<HashMap<u64, &[f64]>> = curves
            .iter()
            .map(|curve| {
                let points = curve.iter();
                points
                    .map(|(x, values)| (x.to_bits(), values.as_slice()))
                    .collect()
            })
            .collect();
        let row = |x: f64| {
            let mut row = vec![Some(x)];
            for curve in &found {
                match curve.get(&x.to_bits()) {
                    Some(values) => row.extend(values.iter().copied().map(Some)),
                    None => row.extend(vec![None; width]),
                }
            }
            row
        };
        Table {
            columns,
            rows: along.into_iter().map(row).collect(),
        }
    }

    /// The table as CSV (RFC 4180), every value to its last digit.
    pub fn csv(&self) -> String {
        let headings: Vec<String> = self.columns.iter().map(Column::heading).collect();
        let mut out = csv_line(&headings);
        for row in &self.rows {
            let written = |value: &Option<f64>| value.map_or_else(String::new, |it| it.to_string());
            out.push_str(&csv_line(&row.iter().map(written).collect::<Vec<_>>()));
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_with_different_points_share_a_table() {
        let columns = vec![
            Column::new("Time", "h"),
            Column::new("Voltage, low", "V"),
            Column::new("Voltage, \"high\"", "V"),
        ];
        let low = vec![(0.0, vec![3.0]), (1.0, vec![3.5])];
        let high = vec![(0.0, vec![3.1]), (2.0, vec![4.0])];
        let table = Table::joined(columns, &[low, high]);
        assert_eq!(
            table.csv(),
            "Time in h,\"Voltage, low in V\",\"Voltage, \"\"high\"\" in V\"\r\n\
             0,3,3.1\r\n1,3.5,\r\n2,,4\r\n"
        );
    }
}
