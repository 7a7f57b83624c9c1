//! Tolerance letters of IEC 60062, which follow a value code: `4K7J`.
//!
//! Letters are those of the edition of 2016; E, L, H and N from memory, as are
//! the uneven ones.

use super::{Dimension, Unit};

/// How far a part may be from the value in its code.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum CodeTolerance {
    /// Shares of the value, both as positive ratios: 0.05 and 0.05 for ±5 %.
    Relative {
        /// How far below the value.
        minus: f64,
        /// How far above the value.
        plus: f64,
    },
    /// The same number of farads to both sides, for capacitors below 10 pF.
    Farads(f64),
}

/// Symmetric tolerances, IEC 60062:2016: letter and percent.
const SYMMETRIC: &[(char, f64)] = &[
    ('E', 0.005),
    ('L', 0.01),
    ('P', 0.02),
    ('W', 0.05),
    ('B', 0.1),
    ('C', 0.25),
    ('D', 0.5),
    ('F', 1.0),
    ('G', 2.0),
    ('H', 3.0),
    ('J', 5.0),
    ('K', 10.0),
    ('M', 20.0),
    ('N', 30.0),
];

/// Asymmetric tolerances in percent, below and above (IEC 60062, from memory).
const ASYMMETRIC: &[(char, f64, f64)] = &[
    ('Q', 10.0, 30.0),
    ('S', 20.0, 50.0),
    ('T', 10.0, 50.0),
    ('Z', 20.0, 80.0),
];

/// Tolerances of capacitors below 10 pF, in picofarads (IEC 60062; F and G
/// from memory).
const PICOFARADS: &[(char, f64)] = &[('B', 0.1), ('C', 0.25), ('D', 0.5), ('F', 1.0), ('G', 2.0)];

impl CodeTolerance {
    /// What a letter after a value says. Below 10 pF, B, C, D, F and G are
    /// picofarads and not percent.
    pub(super) fn by_letter(letter: char, value: f64, unit: &Unit) -> Option<CodeTolerance> {
        /// The float of `9p99` is below this, that of `10p` is not.
        const TEN_PICOFARADS: f64 = 10e-12;
        if unit.dimension() == Dimension::CAPACITANCE && value < TEN_PICOFARADS {
            let small = PICOFARADS.iter().find(|(known, _)| *known == letter);
            if let Some((_, picofarads)) = small {
                return Some(CodeTolerance::Farads(picofarads * 1e-12));
            }
        }
        CodeTolerance::relative_by_letter(letter)
    }

    /// The relative tolerance of a letter, as for resistors: ±5 % for `J`,
    /// -20 % to +80 % for `Z`.
    pub fn relative_by_letter(letter: char) -> Option<CodeTolerance> {
        let symmetric = SYMMETRIC
            .iter()
            .find(|(known, _)| *known == letter)
            .map(|(_, percent)| (*percent, *percent));
        let asymmetric = ASYMMETRIC
            .iter()
            .find(|(known, _, _)| *known == letter)
            .map(|(_, below, above)| (*below, *above));
        let (below, above) = symmetric.or(asymmetric)?;
        Some(CodeTolerance::Relative {
            minus: below / 100.0,
            plus: above / 100.0,
        })
    }

    /// The letter of a symmetric relative tolerance, given as a ratio: `J` for 0.05.
    pub fn letter_of(ratio: f64) -> Option<char> {
        SYMMETRIC
            .iter()
            .find(|(_, percent)| (ratio * 100.0 / percent - 1.0).abs() < 1e-9)
            .map(|(letter, _)| *letter)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::quantity::RkmCode;

    #[test]
    fn a_letter_after_the_value_is_its_tolerance() {
        let tolerance = |text| RkmCode::parse(text).unwrap().tolerance.unwrap();
        let symmetric = |ratio| CodeTolerance::Relative {
            minus: ratio,
            plus: ratio,
        };
        assert_eq!(tolerance("4K7J"), symmetric(0.05));
        assert_eq!(tolerance("2M2K"), symmetric(0.1));
        assert_eq!(tolerance("10uM"), symmetric(0.2));
        assert_eq!(tolerance("4p7C"), CodeTolerance::Farads(0.25e-12));
        assert_eq!(tolerance("10pC"), symmetric(0.0025));
        assert_eq!(
            tolerance("22nZ"),
            CodeTolerance::Relative {
                minus: 0.2,
                plus: 0.8
            }
        );
        assert_eq!(CodeTolerance::letter_of(0.01), Some('F'));
    }
}
