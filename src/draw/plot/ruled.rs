//! How the values along an axis are spaced.

use std::ops::Range;

use plotters::coord::combinators::{IntoLogRange, LogCoord};
use plotters::coord::ranged1d::{KeyPointHint, NoDefaultFormatting, Ranged};
use plotters::coord::types::RangedCoordf64;

/// How the values along an axis are spaced.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Scale {
    /// Equal steps, equal lengths.
    Linear,
    /// Equal ratios, equal lengths; values at or below zero are left out.
    Logarithmic,
}

impl Scale {
    /// Whether a value has a place on the axis.
    pub(super) fn holds(self, value: f64) -> bool {
        value.is_finite() && (self == Scale::Linear || value > 0.0)
    }
}

/// An axis from one value to another.
pub(super) enum Ruled {
    Linear(RangedCoordf64),
    Logarithmic(LogCoord<f64>),
}

impl Ruled {
    /// An axis between two values; the second one is the greater.
    pub fn new(scale: Scale, (from, to): (f64, f64)) -> Ruled {
        match scale {
            Scale::Linear => Ruled::Linear((from..to).into()),
            Scale::Logarithmic => Ruled::Logarithmic((from..to).log_scale().into()),
        }
    }
}

impl Ranged for Ruled {
    type FormatOption = NoDefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, limit: (i32, i32)) -> i32 {
        match self {
            Ruled::Linear(coord) => coord.map(value, limit),
            Ruled::Logarithmic(coord) => coord.map(value, limit),
        }
    }

    fn key_points<Hint: KeyPointHint>(&self, hint: Hint) -> Vec<f64> {
        match self {
            Ruled::Linear(coord) => coord.key_points(hint),
            Ruled::Logarithmic(coord) => coord.key_points(hint),
        }
    }

    fn range(&self) -> Range<f64> {
        match self {
            Ruled::Linear(coord) => coord.range(),
            Ruled::Logarithmic(coord) => coord.range(),
        }
    }
}
