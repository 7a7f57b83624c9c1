//! A number with its unit, as written.

use std::ops::Range;

use super::{Decimal, Dimension, TextFault, TextFaultKind, Unit, UnitFault, is_space};

/// Digits beyond those written that are looked at to set two values apart.
const MOST_FINER: i32 = 9;

/// A number with its unit, as written.
#[derive(Clone, PartialEq, Debug)]
pub struct Written {
    /// The digits.
    pub decimal: Decimal,
    /// The unit; none for a plain number.
    pub unit: Unit,
    /// Where the digits stand in the text.
    pub digits: Range<usize>,
    /// Where number and unit stand in the text.
    pub span: Range<usize>,
    /// Whether it is a value code, `4k7`, whose unit stands amid its digits.
    pub code: bool,
}

impl Written {
    /// The value in coherent SI units.
    pub fn value(&self) -> f64 {
        self.unit.value_of(&self.decimal)
    }

    /// Another value, in coherent SI units, in the unit that was written and to
    /// one digit more, or to as many more as set the two apart. A value that
    /// would vanish there gets a unit that suits it and as many digits as were
    /// written.
    pub fn finer(&self, value: f64) -> String {
        let next = self.decimal.place() - 1;
        let exact = Decimal::from_f64(self.unit.count_of(value));
        let sets_apart = |place: &i32| {
            let rounded = exact
                .as_ref()
                .map(|exact| exact.rounded(*place, super::Ties::Even));
            rounded.is_some_and(|rounded| rounded.to_f64() != self.decimal.to_f64())
        };
        let place = (0..MOST_FINER).map(|more| next - more).find(sets_apart);
        let (decimal, unit) = self.restated(value, place.unwrap_or(next));
        joined(&decimal.to_string(), unit.symbol())
    }

    /// A value in the unit written, rounded to a place, or in a unit that suits
    /// it where it would vanish at that place.
    pub(super) fn restated(&self, value: f64, place: i32) -> (Decimal, Unit) {
        let exact = |unit: &Unit| Decimal::from_f64(unit.count_of(value));
        let Some(here) = exact(&self.unit) else {
            return (self.decimal.clone(), self.unit.clone());
        };
        if here.is_zero() || here.leading_place() >= place {
            return (here.rounded(place, super::Ties::Even), self.unit.clone());
        }
        let unit = super::fitted_unit(value, &Unit::coherent(self.unit.dimension()));
        let digits = self.decimal.leading_place() - place + 1;
        let there = exact(&unit).unwrap_or(here);
        (there.to_significant(digits.max(2).unsigned_abs()), unit)
    }

    /// Reads a number with its unit from `text` at byte `at`.
    pub(crate) fn scan(
        text: &str,
        at: usize,
        expected: Option<Dimension>,
    ) -> Result<Written, TextFault> {
        let rest = &text[at..];
        let (decimal, used) =
            Decimal::scan(rest).map_err(|fault| TextFault::numeral(text, at, fault))?;
        let digits = at..at + used;
        let after = &rest[used..];
        let gap = after
            .chars()
            .next()
            .filter(|&c| is_space(c))
            .map_or(0, char::len_utf8);
        let start = digits.end + gap;
        let limit = start + unit_limit(&text[start..]);
        if let Some((unit, used)) = longest_unit(&text[start..limit]) {
            return Ok(Written {
                decimal,
                unit,
                span: at..start + used,
                digits,
                code: false,
            });
        }
        let word = text[start..limit].trim_end_matches(is_space);
        if word.is_empty() || word.starts_with(is_space) {
            let span = digits.clone();
            return Ok(Written {
                decimal,
                unit: Unit::one(),
                digits,
                span,
                code: false,
            });
        }
        let word_len = word.find(is_space).unwrap_or(word.len());
        let fault = match Unit::parse(word) {
            Err(fault) => fault,
            // Not reached: what parses whole was found above.
            Ok(_) => UnitFault::Form,
        };
        let kind = TextFaultKind::UnknownUnit(match fault {
            UnitFault::Unknown { .. } | UnitFault::Slip { .. } => {
                Unit::parse(&word[..word_len]).err().unwrap_or(fault)
            }
            other => other,
        });
        Err(TextFault {
            span: start..start + word.len(),
            kind,
            expected,
        })
    }
}

/// A number and its unit with the space that the SI wants between them.
pub(super) fn joined(number: &str, symbol: &str) -> String {
    let gap = if symbol.is_empty() || symbol == "°" {
        ""
    } else {
        " "
    };
    format!("{number}{gap}{symbol}")
}

/// A number with its unit, or a value code (IEC 60062).
pub(crate) fn scan_value(
    text: &str,
    at: usize,
    expected: Option<Dimension>,
) -> Result<Written, TextFault> {
    if let Some((decimal, unit, used)) = super::rkm::scan(&text[at..], expected) {
        let digits = at..at + used;
        return Ok(Written {
            decimal,
            unit,
            span: digits.clone(),
            digits,
            code: true,
        });
    }
    Written::scan(text, at, expected)
}

pub(crate) fn skip_spaces(text: &str, at: usize) -> usize {
    text.len() - text[at..].trim_start_matches(is_space).len()
}

/// The byte after `word` and its spaces, where the word stands at `at`.
pub(crate) fn word_at(text: &str, at: usize, word: &str) -> Option<usize> {
    let rest = text[at..].strip_prefix(word)?;
    if !rest.starts_with(is_space) {
        return None;
    }
    Some(skip_spaces(text, at + word.len()))
}

/// Bytes at the start of `text` that a unit may take: up to a sign that starts
/// a tolerance, the word `to`, or a closing bracket without its opening one.
fn unit_limit(text: &str) -> usize {
    let mut depth = 0;
    let mut before = None;
    for (at, c) in text.char_indices() {
        let rest = &text[at..];
        let after_space = before.is_none_or(is_space);
        let signed = |sign: &str| {
            rest.strip_prefix(sign).is_some_and(|rest| {
                rest.trim_start_matches(is_space)
                    .starts_with(|c: char| c.is_ascii_digit())
            })
        };
        match c {
            '±' | '+' | '≤' | '≥' | ',' | ';' => return at,
            '-' | '−' if after_space && (signed("-") || signed("−")) => return at,
            '(' => depth += 1,
            ')' if depth == 0 => return at,
            ')' => depth -= 1,
            't' if after_space && word_at(text, at, "to").is_some() => return at,
            _ => {}
        }
        before = Some(c);
    }
    text.len()
}

/// The longest start of `text` that is a unit, ending at a word's end.
fn longest_unit(text: &str) -> Option<(Unit, usize)> {
    let mut ends: Vec<usize> = text
        .char_indices()
        .filter(|&(_, c)| is_space(c))
        .map(|(at, _)| at)
        .collect();
    ends.push(text.len());
    // No unit of the trade has more than five words.
    ends.truncate(6);
    ends.into_iter()
        .rev()
        .filter(|&end| end > 0)
        .find_map(|end| {
            let unit = Unit::parse(&text[..end]).ok()?;
            Some((unit, end))
        })
}
