//! Plots: frequency response, distribution of a figure, any curves.
//!
//! Lettering is direct: a curve is named at its end and an interval on its
//! dimension line, as on a drawing; there is no legend. What misses a
//! requirement is red and says so. Each plot comes with the table behind it.

mod backend;
mod bound;
mod canvas;
mod dimension;
mod distribution;
mod frequency;
mod ink;
mod label;
mod mark;
mod panel;
mod ruled;
mod table;
mod ticks;
mod xy;

#[cfg(test)]
mod tests;

use std::fmt;

pub use bound::{Bound, Side};
pub use distribution::{Bin, Distribution, Interval, Requirement};
pub use frequency::{FrequencyResponse, Response, ResponsePoint};
pub use mark::PlotMark;
pub use ruled::Scale;
pub use table::{Column, Table};
pub use xy::{Axis, Series, XyPlot};

/// A plot with what it shows.
#[derive(Clone, PartialEq, Debug)]
pub struct Plot {
    /// One `svg` element.
    pub svg: String,
    /// The values behind it.
    pub table: Table,
    /// Whether something in it misses a requirement.
    pub amiss: bool,
}

/// Why there is no plot.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum PlotError {
    /// Fewer than two finite points, or no filled bin, to draw.
    NothingToDraw,
    /// The drawing library gave up; its words.
    Library(String),
}

impl fmt::Display for PlotError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PlotError::NothingToDraw => {
                f.write_str("there are fewer than two finite values to draw")
            }
            PlotError::Library(words) => write!(f, "the plot could not be drawn: {words}"),
        }
    }
}

impl std::error::Error for PlotError {}
