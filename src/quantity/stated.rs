//! Statements: text that claims something about a figure.
//!
//! With n the computed nominal value and [lo, hi] its spread:
//!
//! | written | holds when |
//! | --- | --- |
//! | `196 mA` | n lies within half a unit of the last digit written |
//! | `≈ 200 mA`, `about 200 mA` | the same, trailing zeros not counted |
//! | `196 mA ± 5 mA` | the centre as above, and [lo, hi] inside the band |
//! | `200 mA to 225 mA` | [lo, hi] inside |
//! | `at least 3 h`, `≥ 3 h`, `> 3 h` | lo reaches it |
//! | `at most 1 mA`, `≤ 1 mA`, `< 1 mA`, `up to 1 mA` | hi stays under it |

use super::tolerance::Tolerance;
use super::written::{scan_value, skip_spaces, word_at};
use super::{Dimension, Margin, TextFault, TextFaultKind, Written, is_space};

/// Text that claims something about a figure.
#[derive(Clone, PartialEq, Debug)]
pub struct Statement {
    text: String,
    /// Apart, since it is large: records have room for statements that few make.
    claim: Box<Claim>,
}

/// What a statement claims.
#[derive(Clone, PartialEq, Debug)]
pub enum Claim {
    /// The nominal value, to the last digit written.
    Value {
        /// The value.
        value: Written,
        /// Whether trailing zeros do not count.
        rough: bool,
    },
    /// The nominal value, and a band that holds the spread.
    Band {
        /// The nominal value.
        centre: Written,
        /// How far the band reaches below it.
        minus: Margin,
        /// How far the band reaches above it.
        plus: Margin,
        /// Whether one margin was written for both sides.
        symmetric: bool,
        /// Whether trailing zeros of the centre do not count.
        rough: bool,
    },
    /// Limits that hold the spread.
    Range {
        /// The lower limit.
        low: Written,
        /// The upper limit.
        high: Written,
    },
    /// A value that the spread does not fall below.
    AtLeast(Written),
    /// A value that the spread does not exceed.
    AtMost(Written),
}

/// A computed figure, in coherent SI units: what a statement is held against.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Outcome {
    /// Nominal value.
    pub nominal: f64,
    /// Least value of the spread.
    pub low: f64,
    /// Greatest value of the spread.
    pub high: f64,
}

impl Outcome {
    /// A value without spread.
    pub fn exact(value: f64) -> Outcome {
        Outcome {
            nominal: value,
            low: value,
            high: value,
        }
    }
}

/// What is wrong with a statement that does not hold.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Miss {
    /// The nominal value rounds to something else.
    Rounding,
    /// The spread reaches below what is claimed.
    TooLow,
    /// The spread reaches above what is claimed.
    TooHigh,
}

/// Words before a value, and what they claim.
#[derive(Clone, Copy)]
enum Lead {
    Rough,
    AtLeast,
    AtMost,
}

const LEADS: &[(&str, Lead)] = &[
    ("≈", Lead::Rough),
    ("about ", Lead::Rough),
    ("at least ", Lead::AtLeast),
    ("≥", Lead::AtLeast),
    (">=", Lead::AtLeast),
    (">", Lead::AtLeast),
    ("at most ", Lead::AtMost),
    ("up to ", Lead::AtMost),
    ("≤", Lead::AtMost),
    ("<=", Lead::AtMost),
    ("<", Lead::AtMost),
];

/// A tie that floats could not decide goes to the writer.
pub(super) const TIE: f64 = 1e-9;

impl Statement {
    /// Reads the text of a statement.
    ///
    /// # Errors
    /// [`TextFault`] with the bytes it is about.
    pub fn parse(text: &str, expected: Option<Dimension>) -> Result<Statement, TextFault> {
        let start = skip_spaces(text, 0);
        let end = start.max(text.trim_end_matches(is_space).len());
        let claim = parse_claim(&text[..end], start, expected)?;
        let statement = Statement {
            text: text.to_owned(),
            claim: Box::new(claim),
        };
        if let Some(expected) = expected
            && !statement.dimension().comparable(expected)
        {
            let kind = TextFaultKind::WrongDimension {
                found: statement.dimension(),
            };
            return Err(TextFault {
                span: start..end,
                kind,
                expected: Some(expected),
            });
        }
        Ok(statement)
    }

    /// The text as written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What it claims.
    pub fn claim(&self) -> &Claim {
        &self.claim
    }

    /// The number that it is mainly about: value, centre, bound or lower limit.
    pub fn main(&self) -> &Written {
        match &*self.claim {
            Claim::Value { value, .. } => value,
            Claim::Band { centre, .. } => centre,
            Claim::Range { low, .. } => low,
            Claim::AtLeast(bound) | Claim::AtMost(bound) => bound,
        }
    }

    /// The number that a miss is about: the limit that is passed, or else the
    /// one that the statement is mainly about.
    pub fn missed(&self, miss: Miss) -> &Written {
        match (&*self.claim, miss) {
            (Claim::Range { high, .. }, Miss::TooHigh) => high,
            _ => self.main(),
        }
    }

    /// Its dimension.
    pub fn dimension(&self) -> Dimension {
        self.main().unit.dimension()
    }

    /// Every numeral in it, in the order written.
    pub fn numerals(&self) -> Vec<&Written> {
        match &*self.claim {
            Claim::Value { value, .. } => vec![value],
            Claim::Band {
                centre,
                minus,
                symmetric: true,
                ..
            } => vec![centre, &minus.written],
            Claim::Band {
                centre,
                minus,
                plus,
                ..
            } => vec![centre, &plus.written, &minus.written],
            Claim::Range { low, high } => vec![low, high],
            Claim::AtLeast(bound) | Claim::AtMost(bound) => vec![bound],
        }
    }

    /// The limits that the spread must keep to, in coherent SI units: minus
    /// and plus infinity where it sets none.
    pub fn limits(&self) -> (f64, f64) {
        match &*self.claim {
            Claim::Value { value, rough } => {
                let half = half_step(value, *rough);
                (value.value() - half, value.value() + half)
            }
            Claim::Band {
                centre,
                minus,
                plus,
                ..
            } => (
                centre.value() - minus.size(centre),
                centre.value() + plus.size(centre),
            ),
            Claim::Range { low, high } => (low.value(), high.value()),
            Claim::AtLeast(bound) => (bound.value(), f64::INFINITY),
            Claim::AtMost(bound) => (f64::NEG_INFINITY, bound.value()),
        }
    }

    /// Holds the statement against a computed figure; empty where it holds.
    pub fn misses(&self, outcome: Outcome) -> Vec<Miss> {
        let mut misses = Vec::new();
        let centre = match &*self.claim {
            Claim::Value { value, rough } => Some((value, *rough)),
            Claim::Band { centre, rough, .. } => Some((centre, *rough)),
            _ => None,
        };
        if let Some((centre, rough)) = centre
            && !rounds_to(outcome.nominal, centre, rough)
        {
            misses.push(Miss::Rounding);
        }
        if !matches!(*self.claim, Claim::Value { .. }) {
            let (low, high) = self.limits();
            let slack = TIE * last_digit(self.main()).abs();
            if outcome.low < low - slack {
                misses.push(Miss::TooLow);
            }
            if outcome.high > high + slack {
                misses.push(Miss::TooHigh);
            }
        }
        misses
    }
}

fn parse_claim(text: &str, start: usize, expected: Option<Dimension>) -> Result<Claim, TextFault> {
    let mut at = start;
    let mut lead = None;
    for (word, meaning) in LEADS {
        let matches = text[at..]
            .get(..word.len())
            .is_some_and(|head| head.eq_ignore_ascii_case(word));
        if matches {
            lead = Some(*meaning);
            at = skip_spaces(text, at + word.len());
            break;
        }
    }
    let first = scan_value(text, at, expected)?;
    let mut at = skip_spaces(text, first.span.end);
    let claim = match lead {
        Some(Lead::AtLeast) => Claim::AtLeast(first),
        Some(Lead::AtMost) => Claim::AtMost(first),
        Some(Lead::Rough) | None => {
            let rough = lead.is_some();
            if let Some(after) = word_at(text, at, "to").filter(|_| !rough) {
                let high = scan_value(text, after, expected)?;
                at = skip_spaces(text, high.span.end);
                if !high.unit.dimension().comparable(first.unit.dimension()) {
                    let kind = TextFaultKind::WrongDimension {
                        found: high.unit.dimension(),
                    };
                    let expected = Some(first.unit.dimension());
                    return Err(TextFault {
                        span: high.span,
                        kind,
                        expected,
                    });
                }
                if high.value() < first.value() {
                    let span = first.span.start..high.span.end;
                    return Err(TextFault {
                        span,
                        kind: TextFaultKind::Order,
                        expected,
                    });
                }
                Claim::Range { low: first, high }
            } else if at < text.len() {
                let Tolerance {
                    minus,
                    plus,
                    symmetric,
                    end,
                } = Tolerance::scan(text, at, &first)?;
                at = skip_spaces(text, end);
                Claim::Band {
                    centre: first,
                    minus,
                    plus,
                    symmetric,
                    rough,
                }
            } else {
                Claim::Value {
                    value: first,
                    rough,
                }
            }
        }
    };
    if at < text.len() {
        return Err(TextFault {
            span: at..text.len(),
            kind: TextFaultKind::Form,
            expected,
        });
    }
    Ok(claim)
}

pub(super) fn place_of(written: &Written, rough: bool) -> i32 {
    if rough {
        written.decimal.place_without_trailing_zeros()
    } else {
        written.decimal.place()
    }
}

/// One unit of the last digit written, in coherent SI units.
fn last_digit(written: &Written) -> f64 {
    10f64.powi(written.decimal.place()) * written.unit.step()
}

fn half_step(written: &Written, rough: bool) -> f64 {
    0.5 * 10f64.powi(place_of(written, rough)) * written.unit.step()
}

/// Whether a value, in the unit written, lies within half a unit of the digit.
fn rounds_to(value: f64, written: &Written, rough: bool) -> bool {
    let step = 10f64.powi(place_of(written, rough));
    let off = written.unit.count_of(value) - written.decimal.to_f64();
    off.abs() <= step * (0.5 + TIE)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn holds(text: &str, nominal: f64, low: f64, high: f64) -> bool {
        Statement::parse(text, None)
            .unwrap()
            .misses(Outcome { nominal, low, high })
            .is_empty()
    }

    #[test]
    fn every_digit_written_counts() {
        assert!(holds("196 mA", 0.1961, 0.0, 1.0));
        assert!(!holds("196 mA", 0.1966, 0.0, 1.0));
        assert!(!holds("200 mA", 0.1961, 0.0, 1.0));
        assert!(holds("196.0 mA", 0.19604, 0.0, 1.0));
        assert!(!holds("196.0 mA", 0.1961, 0.0, 1.0));
    }

    #[test]
    fn about_leaves_trailing_zeros_out() {
        assert!(holds("≈ 200 mA", 0.1961, 0.0, 1.0));
        assert!(holds("about 200 mA", 0.2499, 0.0, 1.0));
        assert!(!holds("about 190 mA", 0.1961, 0.0, 1.0));
    }

    #[test]
    fn bands_and_ranges_hold_the_whole_spread() {
        assert!(holds("196 mA ± 12 mA", 0.1961, 0.1845, 0.2078));
        assert!(!holds("196 mA ± 11 mA", 0.1961, 0.1845, 0.2078));
        assert!(holds("196 mA ± 7 %", 0.1961, 0.1845, 0.2078));
        assert!(holds("184 mA to 208 mA", 0.1961, 0.1845, 0.2078));
        assert!(!holds("185 mA to 208 mA", 0.1961, 0.1845, 0.2078));
        assert!(holds("At least 3 h", 12_000.0, 10_900.0, 13_000.0));
        assert!(!holds("≥ 3.1 h", 12_000.0, 10_900.0, 13_000.0));
        assert!(holds("up to 1 mA", 0.0005, 0.0, 0.001));
        assert!(!holds("< 1 mA", 0.0005, 0.0, 0.0011));
    }

    #[test]
    fn a_value_beyond_a_limit_is_written_apart_from_it() {
        let range = Statement::parse("1.97 V to 2.03 V", None).unwrap();
        assert_eq!(range.missed(Miss::TooHigh).finer(2.0302), "2.0302 V");
        assert_eq!(range.missed(Miss::TooLow).finer(1.95), "1.950 V");
        let bound = Statement::parse("at most 1 mA", None).unwrap();
        assert_eq!(bound.missed(Miss::TooHigh).finer(0.00103), "1.03 mA");
    }

    #[test]
    fn temperatures_are_compared_on_their_own_scale() {
        assert!(holds("64 °C", 273.15 + 64.3, 0.0, 1e3));
        assert!(holds("at most 85 °C", 330.0, 320.0, 358.1));
        assert!(!holds("at most 85 °C", 330.0, 320.0, 358.2));
    }
}
