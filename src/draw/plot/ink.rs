//! What is drawn with: a class of the style sheet for every kind of stroke and
//! letter.
//!
//! The drawing library hands a colour to its backend and nothing else, so the
//! colour carries the number of the ink.

use plotters::style::{RGBColor, ShapeStyle};

/// A kind of stroke, area or letter.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Ink {
    /// Lines at the numbers of an axis.
    Grid,
    /// Lines between them.
    FineGrid,
    /// Edges of a panel.
    Frame,
    /// A curve; the first four are told apart.
    Curve(usize),
    /// What of a curve misses a requirement.
    CurveAmiss,
    /// The edge of what is required, with its hatching.
    Limit,
    /// Such an edge that is overstepped.
    LimitAmiss,
    /// What is required.
    Allowed,
    /// A bar of a histogram.
    Pile,
    /// What of a bar lies outside of what is required.
    PileAmiss,
    /// A dimension line with its arrows.
    Dimension,
    /// Such a line that goes beyond what is required.
    DimensionAmiss,
    /// The line from a dimension line to what it measures; a leader.
    Extension,
    /// A centre line.
    Centre,
    /// A mark on a curve.
    Mark,
    /// Numbers at an axis.
    Number,
    /// The name of an axis.
    AxisName,
    /// A label beside what it names.
    Label,
    /// A label of what does not hold.
    LabelAmiss,
}

/// All inks, in the order of their numbers.
const ALL: [Ink; 22] = [
    Ink::Grid,
    Ink::FineGrid,
    Ink::Frame,
    Ink::Curve(0),
    Ink::Curve(1),
    Ink::Curve(2),
    Ink::Curve(3),
    Ink::CurveAmiss,
    Ink::Limit,
    Ink::LimitAmiss,
    Ink::Allowed,
    Ink::Pile,
    Ink::PileAmiss,
    Ink::Dimension,
    Ink::DimensionAmiss,
    Ink::Extension,
    Ink::Centre,
    Ink::Mark,
    Ink::Number,
    Ink::AxisName,
    Ink::Label,
    Ink::LabelAmiss,
];

impl Ink {
    /// The ink of a curve; after the fourth they begin again.
    pub fn curve(number: usize) -> Ink {
        Ink::Curve(number % 4)
    }

    /// Its class or classes.
    pub fn class(self) -> &'static str {
        match self {
            Ink::Grid => "grid",
            Ink::FineGrid => "fine-grid",
            Ink::Frame => "edge",
            Ink::Curve(0) => "curve",
            Ink::Curve(1) => "curve second",
            Ink::Curve(2) => "curve third",
            Ink::Curve(_) => "curve fourth",
            Ink::CurveAmiss => "curve amiss",
            Ink::Limit => "limit",
            Ink::LimitAmiss => "limit amiss",
            Ink::Allowed => "allowed",
            Ink::Pile => "pile",
            Ink::PileAmiss => "pile amiss",
            Ink::Dimension => "dimension",
            Ink::DimensionAmiss => "dimension amiss",
            Ink::Extension => "extension",
            Ink::Centre => "centre",
            Ink::Mark => "on-curve",
            Ink::Number => "axis-number",
            Ink::AxisName => "axis-name",
            Ink::Label => "label",
            Ink::LabelAmiss => "label amiss",
        }
    }

    /// How dense it is where no style sheet says otherwise.
    pub fn opacity(self) -> &'static str {
        match self {
            Ink::FineGrid => ".1",
            Ink::Grid | Ink::Allowed => ".2",
            Ink::Pile => ".4",
            _ => "",
        }
    }

    pub fn colour(self) -> RGBColor {
        let number = ALL.iter().position(|ink| *ink == self).unwrap_or(0);
        // There are far fewer inks than 256.
        RGBColor(0, 0, number as u8)
    }

    /// The ink that a colour stands for.
    pub fn of(rgb: (u8, u8, u8)) -> Ink {
        ALL.get(usize::from(rgb.2)).copied().unwrap_or(Ink::Frame)
    }

    pub fn stroke(self) -> ShapeStyle {
        ShapeStyle::from(&self.colour())
    }

    pub fn filled(self) -> ShapeStyle {
        ShapeStyle::from(&self.colour()).filled()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colour_carries_its_ink() {
        for ink in ALL {
            let RGBColor(r, g, b) = ink.colour();
            assert_eq!(Ink::of((r, g, b)), ink);
        }
    }
}
