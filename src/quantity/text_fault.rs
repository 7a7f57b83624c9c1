//! Why text is not a quantity, and what to write instead.

use std::fmt;
use std::ops::Range;

use super::{Dimension, NumeralFault, UnitFault, is_space};

/// Why text is not a quantity.
#[derive(Clone, PartialEq, Debug)]
pub struct TextFault {
    /// The bytes that are wrong.
    pub span: Range<usize>,
    /// What is wrong with them.
    pub kind: TextFaultKind,
    /// The dimension that was wanted, where one was.
    pub expected: Option<Dimension>,
}

/// What is wrong with a quantity's text.
#[derive(Clone, PartialEq, Debug)]
pub enum TextFaultKind {
    /// It does not have the form of a quantity.
    Form,
    /// A numeral is missing or not well formed.
    Numeral(NumeralFault),
    /// A comma stands where the point belongs; the text with a point instead.
    DecimalComma {
        /// The text that was likely meant.
        mended: String,
    },
    /// A unit is not known.
    UnknownUnit(UnitFault),
    /// The dimension is not the one that is wanted.
    WrongDimension {
        /// The dimension that was found.
        found: Dimension,
    },
    /// A tolerance lacks its unit.
    ToleranceWithoutUnit {
        /// The unit of the value it belongs to.
        unit: String,
    },
    /// Only one side of an uneven tolerance is there.
    OneSided,
    /// The limits are not in order, or a value is not finite.
    Order,
}

impl TextFault {
    pub(super) fn numeral(text: &str, at: usize, fault: NumeralFault) -> TextFault {
        let rest = &text[at..];
        let len = rest
            .find(|c: char| is_space(c) || c.is_alphabetic())
            .unwrap_or(rest.len());
        let kind = match fault {
            NumeralFault::Comma => {
                let mended = rest[..len].replacen(',', ".", 1);
                TextFaultKind::DecimalComma { mended }
            }
            fault => TextFaultKind::Numeral(fault),
        };
        TextFault {
            span: at..at + len.max(1).min(rest.len()),
            kind,
            expected: None,
        }
    }

    /// What to write instead, where it can be said.
    pub fn mend(&self) -> Option<String> {
        match &self.kind {
            TextFaultKind::DecimalComma { mended } => Some(format!(
                "write `{mended}`; digits are grouped in threes with spaces, never with commas"
            )),
            TextFaultKind::UnknownUnit(UnitFault::Unknown { nearest: Some(nearest), .. }) => {
                Some(format!("write `{nearest}`"))
            }
            TextFaultKind::UnknownUnit(UnitFault::Slip { mend, .. }) => Some((*mend).to_owned()),
            TextFaultKind::ToleranceWithoutUnit { unit } => {
                Some(format!("write the tolerance in {unit} or in %"))
            }
            TextFaultKind::OneSided => Some("write both sides, `+0.1 V -0.05 V`, or `±0.1 V`".into()),
            TextFaultKind::WrongDimension { found } if *found == Dimension::TEMPERATURE => {
                Some("°C is a point on the temperature scale; a difference is written in K".into())
            }
            TextFaultKind::Form | TextFaultKind::Numeral(_) => Some(
                "a quantity is written `4.7 kΩ`, `4k7`, `10 kΩ ±1 %`, `3.3 V +0.1 V -0.05 V` or `-40 °C to 85 °C`"
                    .into(),
            ),
            TextFaultKind::Order => Some("write the smaller limit first".into()),
            TextFaultKind::UnknownUnit(_) | TextFaultKind::WrongDimension { .. } => None,
        }
    }
}

impl fmt::Display for TextFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.kind {
            TextFaultKind::Form => f.write_str("this is not the text of a quantity"),
            TextFaultKind::Numeral(NumeralFault::BarePoint) => {
                f.write_str("a decimal point needs a digit on both sides")
            }
            TextFaultKind::Numeral(NumeralFault::TooLong) => {
                f.write_str("a numeral is longer or larger than any measured value")
            }
            TextFaultKind::Numeral(_) => f.write_str("a number was expected here"),
            TextFaultKind::DecimalComma { .. } => f.write_str("a comma stands in a number"),
            TextFaultKind::UnknownUnit(fault) => fault.fmt(f),
            TextFaultKind::WrongDimension { found } => match self.expected {
                Some(expected) => write!(f, "expected {expected}, found {found}"),
                None => write!(f, "{found} does not fit here"),
            },
            TextFaultKind::ToleranceWithoutUnit { .. } => f.write_str("a tolerance has no unit"),
            TextFaultKind::OneSided => f.write_str("a tolerance has one side only"),
            TextFaultKind::Order => f.write_str("the limits are not in order"),
        }
    }
}
