//! Rules for names: ids, reference designators, revisions.

use super::shape::Names;
use crate::formula::{Function, is_constant};
use crate::quantity::is_unit_symbol;

/// Names longer than this are refused: they end up in addresses and headings.
const LONGEST: usize = 64;

/// Why text is not a name of the sort that is wanted.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum NameFault {
    /// It is made of other characters, or in another order.
    Form,
    /// It is longer than names are.
    TooLong,
    /// It reads as a unit.
    Unit,
    /// It is a function or a constant of formulas.
    Formula,
}

impl NameFault {
    /// Whether the text could still be used as a name without doing harm.
    pub fn is_usable(self) -> bool {
        matches!(self, NameFault::Unit | NameFault::Formula)
    }
}

impl Names {
    /// Checks a name.
    pub fn check(self, text: &str) -> Result<(), NameFault> {
        if !self.has_form(text) {
            return Err(NameFault::Form);
        }
        if text.len() > LONGEST {
            return Err(NameFault::TooLong);
        }
        if self == Names::Id && (is_constant(text) || Function::names().any(|name| name == text)) {
            return Err(NameFault::Formula);
        }
        if self == Names::Id && is_unit_symbol(text) {
            return Err(NameFault::Unit);
        }
        Ok(())
    }

    fn has_form(self, text: &str) -> bool {
        let mut bytes = text.bytes();
        let word = |b: u8| b.is_ascii_alphanumeric() || b == b'_' || b == b'.';
        match self {
            Names::Id => {
                bytes.next().is_some_and(|b| b.is_ascii_lowercase())
                    && bytes.all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')
            }
            Names::Designator => {
                let letters = text.bytes().take_while(u8::is_ascii_uppercase).count();
                let number = &text[letters..];
                (1..=3).contains(&letters)
                    && !number.is_empty()
                    && !number.starts_with('0')
                    && number.bytes().all(|b| b.is_ascii_digit())
            }
            Names::Mark => {
                bytes.next().is_some_and(|b| b.is_ascii_alphanumeric())
                    && bytes.all(|b| word(b) || b == b'-')
            }
            // C keeps names that start with an underscore for itself.
            Names::Constant => {
                bytes.next().is_some_and(|b| b.is_ascii_alphabetic())
                    && bytes.all(|b| b.is_ascii_alphanumeric() || b == b'_')
            }
            Names::Pin => {
                let mark = |b: u8| word(b) || matches!(b, b'+' | b'-' | b'~' | b'/');
                !text.is_empty() && bytes.all(mark)
            }
            Names::Count => {
                text.len() <= 9
                    && !text.starts_with('0')
                    && !text.is_empty()
                    && bytes.all(|b| b.is_ascii_digit())
            }
            Names::Label => {
                text == text.trim() && !text.is_empty() && !text.contains(char::is_control)
            }
            Names::Reference => {
                bytes.next().is_some_and(|b| b.is_ascii_alphabetic()) && bytes.all(word)
            }
        }
    }

    /// A name of the right form that is close to what was written.
    pub fn mended(self, text: &str) -> Option<String> {
        let mended = match self {
            Names::Id => text.trim().to_lowercase().replace(['-', ' ', '.'], "_"),
            Names::Designator => text.trim().to_uppercase(),
            Names::Constant => text.trim().replace(['-', ' ', '.'], "_"),
            Names::Mark | Names::Reference | Names::Label | Names::Pin | Names::Count => {
                text.trim().to_owned()
            }
        };
        (mended != text && self.check(&mended).is_ok()).then_some(mended)
    }

    /// How such a name is formed, in a sentence without a full stop.
    pub fn rule(self) -> &'static str {
        match self {
            Names::Id => {
                "an id is made of small letters a to z, digits and underscores, and starts with a letter"
            }
            Names::Designator => {
                "a reference designator is one to three capital letters and a number, as `R1` (IEEE 315)"
            }
            Names::Mark => {
                "a revision is letters and digits, with points, hyphens and underscores between them"
            }
            Names::Count => "a number of pieces is a whole number from 1, of at most nine digits",
            Names::Constant => {
                "an identifier is made of letters a to z of either size, digits and underscores, and starts with a letter"
            }
            Names::Pin => {
                "the name of a pin is letters, digits and the marks + - ~ / _ and point, without spaces"
            }
            Names::Label => "it is named as the working's table names it, without spaces about it",
            Names::Reference => {
                "a name is a designator, a figure, or one of these with a part's or board's name and a point"
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_small_letters_digits_and_underscores() {
        assert_eq!(Names::Id.check("charge_slow"), Ok(()));
        assert_eq!(Names::Id.check("res_5k1"), Ok(()));
        for bad in [
            "",
            "5k1",
            "Charge",
            "charge-slow",
            "größe",
            "_a",
            "a b",
            "../a",
        ] {
            assert_eq!(Names::Id.check(bad), Err(NameFault::Form), "{bad}");
        }
        assert_eq!(Names::Id.check(&"a".repeat(65)), Err(NameFault::TooLong));
    }

    #[test]
    fn an_id_is_neither_a_unit_nor_a_function() {
        for unit in ["m", "mol", "min", "mil", "ohm", "count"] {
            assert!(Names::Id.check(unit).is_err(), "{unit}");
        }
        assert_eq!(Names::Id.check("h"), Err(NameFault::Unit));
        assert_eq!(Names::Id.check("sqrt"), Err(NameFault::Formula));
        assert_eq!(Names::Id.check("pi"), Err(NameFault::Formula));
    }

    #[test]
    fn designators_are_class_letters_and_a_number() {
        for good in ["R1", "U12", "BT1", "DS3", "LS1"] {
            assert_eq!(Names::Designator.check(good), Ok(()), "{good}");
        }
        for bad in [
            "", "R", "r1", "R01", "R0", "RESI1", "1R", "R1A", "R1 ", "Ω1",
        ] {
            assert_eq!(Names::Designator.check(bad), Err(NameFault::Form), "{bad}");
        }
    }

    #[test]
    fn a_name_close_by_is_offered() {
        assert_eq!(
            Names::Id.mended("Charge-Slow").as_deref(),
            Some("charge_slow")
        );
        assert_eq!(Names::Designator.mended("r1").as_deref(), Some("R1"));
        assert_eq!(Names::Id.mended("größe"), None);
    }
}
