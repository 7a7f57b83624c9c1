//! Text of given quantities: `4k7`, `10 kΩ ±1 %`, `3.3 V +0.1 V -0.05 V`,
//! `-40 °C to 85 °C`.

use std::fmt;
use std::ops::Range;

use super::{Decimal, Dimension, NumeralFault, Unit, UnitFault, is_space};

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

/// A quantity that somebody gives, with its tolerance.
///
/// Invariant: `low <= nominal <= high`, all finite, in coherent SI units.
#[derive(Clone, PartialEq, Debug)]
pub struct Given {
    nominal: f64,
    low: f64,
    high: f64,
    unit: Unit,
    text: String,
}

impl Given {
    /// Reads the text of a quantity. `expected` settles what a value code such
    /// as `4u7` is of and what dimension is wanted.
    ///
    /// A tolerance in % is relative, but for a quantity that is itself in %,
    /// where `90 % ±2 %` is 88 % to 92 %. A range `a to b` has its middle as
    /// nominal value.
    ///
    /// # Errors
    /// [`TextFault`] with the bytes it is about.
    pub fn parse(text: &str, expected: Option<Dimension>) -> Result<Given, TextFault> {
        let start = text.len() - text.trim_start_matches(is_space).len();
        let end = start + text[start..].trim_end_matches(is_space).len();
        let given = parse_given(&text[..end], start, expected)?;
        if let Some(expected) =
            expected.filter(|&expected| !agrees(given.unit.dimension(), expected))
        {
            let found = given.unit.dimension();
            return Err(TextFault {
                span: start..end,
                kind: TextFaultKind::WrongDimension { found },
                expected: Some(expected),
            });
        }
        let finite = given.low.is_finite() && given.high.is_finite() && given.nominal.is_finite();
        if !finite || given.low > given.nominal || given.nominal > given.high {
            return Err(TextFault {
                span: start..end,
                kind: TextFaultKind::Order,
                expected,
            });
        }
        Ok(Given {
            text: text[start..end].to_owned(),
            ..given
        })
    }

    /// The smallest range that holds both of two quantities of one dimension.
    pub fn hull(&self, other: &Given) -> Given {
        let (low, high) = (self.low.min(other.low), self.high.max(other.high));
        let text = format!("{}; {}", self.text, other.text);
        Given {
            nominal: 0.5 * (low + high),
            low,
            high,
            unit: self.unit.clone(),
            text,
        }
    }

    /// The same limits with another nominal value, kept inside them.
    pub fn with_nominal(&self, nominal: f64) -> Given {
        Given {
            nominal: nominal.clamp(self.low, self.high),
            ..self.clone()
        }
    }

    /// Nominal value in coherent SI units.
    pub fn nominal(&self) -> f64 {
        self.nominal
    }

    /// Least value that the tolerance allows.
    pub fn low(&self) -> f64 {
        self.low
    }

    /// Greatest value that the tolerance allows.
    pub fn high(&self) -> f64 {
        self.high
    }

    /// Unit that it was written in.
    pub fn unit(&self) -> &Unit {
        &self.unit
    }

    /// Its dimension.
    pub fn dimension(&self) -> Dimension {
        self.unit.dimension()
    }

    /// The text as written.
    pub fn text(&self) -> &str {
        &self.text
    }
}

/// Whether a value of `found` may be given where `expected` is wanted.
fn agrees(found: Dimension, expected: Dimension) -> bool {
    use super::Scale;
    match (found.scale(), expected.scale()) {
        // A point in °C is no difference.
        (Scale::Point, Scale::Linear) => false,
        _ => found.comparable(expected),
    }
}

fn parse_given(text: &str, start: usize, expected: Option<Dimension>) -> Result<Given, TextFault> {
    if text[start..].starts_with('(') {
        return parse_bracketed(text, start, expected);
    }
    let centre = scan_value(text, start, expected)?;
    let nominal = centre.value();
    let mut given = Given {
        nominal,
        low: nominal,
        high: nominal,
        unit: centre.unit.clone(),
        text: String::new(),
    };
    let mut at = skip_spaces(text, centre.span.end);
    if let Some(after) = word_at(text, at, "to") {
        let upper = scan_value(text, after, expected)?;
        if !upper.unit.dimension().comparable(given.unit.dimension()) {
            let found = upper.unit.dimension();
            let kind = TextFaultKind::WrongDimension { found };
            return Err(TextFault {
                span: upper.span,
                kind,
                expected: Some(given.unit.dimension()),
            });
        }
        given.high = upper.value();
        given.nominal = 0.5 * (given.low + given.high);
        at = skip_spaces(text, upper.span.end);
    } else if at < text.len() {
        let tolerance = Tolerance::scan(text, at, &centre)?;
        given.low = nominal - tolerance.minus.size(&centre);
        given.high = nominal + tolerance.plus.size(&centre);
        at = skip_spaces(text, tolerance.end);
    }
    if at < text.len() {
        return Err(TextFault {
            span: at..text.len(),
            kind: TextFaultKind::Form,
            expected,
        });
    }
    Ok(given)
}

/// `(10.0 ± 0.1) V`, the bracketed form of ISO 80000-1, 7.1.4.
fn parse_bracketed(
    text: &str,
    start: usize,
    expected: Option<Dimension>,
) -> Result<Given, TextFault> {
    let form = |span| TextFault {
        span,
        kind: TextFaultKind::Form,
        expected,
    };
    let close = text[start..]
        .find(')')
        .ok_or_else(|| form(start..text.len()))?
        + start;
    let unit_start = skip_spaces(text, close + 1);
    let unit = Unit::parse(&text[unit_start..]).map_err(|fault| TextFault {
        span: unit_start..text.len(),
        kind: TextFaultKind::UnknownUnit(fault),
        expected,
    })?;
    let inner = &text[start + 1..close];
    let plain = Given::parse(inner, None).map_err(|mut fault| {
        fault.span = fault.span.start + start + 1..fault.span.end + start + 1;
        fault
    })?;
    if !plain.unit.symbol().is_empty() {
        return Err(form(start..close + 1));
    }
    let scale =
        |value: f64| Decimal::from_f64(value).map_or(f64::NAN, |decimal| unit.value_of(&decimal));
    let (nominal, low, high) = (scale(plain.nominal), scale(plain.low), scale(plain.high));
    Ok(Given {
        nominal,
        low,
        high,
        unit,
        text: String::new(),
    })
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

/// How far a value may lie to one side.
#[derive(Clone, PartialEq, Debug)]
pub struct Margin {
    /// As written, without its sign.
    pub written: Written,
    /// Whether it is a share of the value it belongs to.
    pub relative: bool,
}

impl Margin {
    /// The margin of `centre` in coherent SI units, never negative.
    pub fn size(&self, centre: &Written) -> f64 {
        let written = &self.written;
        if self.relative {
            return (centre.value() * written.value()).abs();
        }
        (written.decimal.to_f64() * written.unit.step()).abs()
    }
}

/// What stands behind a value: `±5 %`, `+0.1 V -0.05 V`.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Tolerance {
    pub minus: Margin,
    pub plus: Margin,
    /// Whether one margin was written for both sides.
    pub symmetric: bool,
    pub end: usize,
}

impl Tolerance {
    pub(crate) fn scan(text: &str, at: usize, centre: &Written) -> Result<Tolerance, TextFault> {
        let rest = &text[at..];
        for sign in ["±", "+/-", "+/−", "+-"] {
            if rest.starts_with(sign) {
                let margin = Tolerance::margin(text, skip_spaces(text, at + sign.len()), centre)?;
                let end = margin.written.span.end;
                return Ok(Tolerance {
                    minus: margin.clone(),
                    plus: margin,
                    symmetric: true,
                    end,
                });
            }
        }
        if let Some(used) = rest.strip_prefix('+').map(|_| 1) {
            let plus_at = skip_spaces(text, at + used);
            let bare = Decimal::scan(&text[plus_at..]);
            // `+0.1/-0.05 V` has one unit for both.
            if let Ok((decimal, used)) = bare
                && text[plus_at + used..].starts_with('/')
            {
                let minus = Tolerance::minus(text, plus_at + used + 1, centre)?;
                let digits = plus_at..plus_at + used;
                let written = Written {
                    decimal,
                    unit: minus.written.unit.clone(),
                    span: digits.clone(),
                    digits,
                    code: false,
                };
                let end = minus.written.span.end;
                let plus = Margin {
                    written,
                    relative: minus.relative,
                };
                return Ok(Tolerance {
                    minus,
                    plus,
                    symmetric: false,
                    end,
                });
            }
            let plus = Tolerance::margin(text, plus_at, centre)?;
            let minus = Tolerance::minus(text, skip_spaces(text, plus.written.span.end), centre)?;
            let end = minus.written.span.end;
            return Ok(Tolerance {
                minus,
                plus,
                symmetric: false,
                end,
            });
        }
        let kind = TextFaultKind::Form;
        Err(TextFault {
            span: at..text.len(),
            kind,
            expected: Some(centre.unit.dimension()),
        })
    }

    fn minus(text: &str, at: usize, centre: &Written) -> Result<Margin, TextFault> {
        let sign = text[at..].chars().next().filter(|c| matches!(c, '-' | '−'));
        let Some(sign) = sign else {
            let kind = TextFaultKind::OneSided;
            return Err(TextFault {
                span: at..text.len(),
                kind,
                expected: None,
            });
        };
        Tolerance::margin(text, skip_spaces(text, at + sign.len_utf8()), centre)
    }

    fn margin(text: &str, at: usize, centre: &Written) -> Result<Margin, TextFault> {
        let wanted = centre.unit.for_difference().dimension();
        let mut written = Written::scan(text, at, Some(wanted))?;
        let symbol = written.unit.symbol();
        let share = symbol == "%" || symbol == "ppm";
        if share && centre.unit.symbol() != symbol {
            if centre.unit.has_offset() || centre.unit.dimension().as_level().is_some() {
                let kind = TextFaultKind::WrongDimension {
                    found: Dimension::ONE,
                };
                return Err(TextFault {
                    span: written.span,
                    kind,
                    expected: Some(wanted),
                });
            }
            return Ok(Margin {
                written,
                relative: true,
            });
        }
        if symbol.is_empty() && !centre.unit.symbol().is_empty() {
            return Err(TextFault {
                span: written.span,
                kind: TextFaultKind::ToleranceWithoutUnit {
                    unit: centre.unit.symbol().to_owned(),
                },
                expected: Some(wanted),
            });
        }
        written.unit = written.unit.for_difference();
        if !written.unit.dimension().comparable(wanted) {
            let kind = TextFaultKind::WrongDimension {
                found: written.unit.dimension(),
            };
            return Err(TextFault {
                span: written.span,
                kind,
                expected: Some(wanted),
            });
        }
        Ok(Margin {
            written,
            relative: false,
        })
    }
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
    fn numeral(text: &str, at: usize, fault: NumeralFault) -> TextFault {
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

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn limits(text: &str) -> (f64, f64, f64) {
        let given = Given::parse(text, None).unwrap();
        (given.low(), given.nominal(), given.high())
    }

    #[test]
    fn tolerances_are_read_in_every_form() {
        assert_eq!(limits("10 kΩ ±1 %"), (9900.0, 10_000.0, 10_100.0));
        assert_eq!(limits("3.3 V +0.1 V -0.05 V"), (3.3 - 0.05, 3.3, 3.3 + 0.1));
        assert_eq!(limits("3.3 V +0.1/-0.05 V"), (3.3 - 0.05, 3.3, 3.3 + 0.1));
        assert_eq!(limits("(10.0 ± 0.5) V"), (9.5, 10.0, 10.5));
        assert_eq!(limits("90 % ±2 %"), (0.88, 0.9, 0.92));
        assert_eq!(limits("10 V to 12 V"), (10.0, 11.0, 12.0));
        assert_eq!(limits("4k7 ±10 %"), (4230.0, 4700.0, 5170.0));
        let (low, _, high) = limits("-40 °C to 85 °C");
        assert!((low - 233.15).abs() < 1e-9 && (high - 358.15).abs() < 1e-9);
        assert_eq!(limits("25 °C ±5 K"), (293.15, 298.15, 303.15));
    }

    #[test]
    fn every_space_is_a_space() {
        for text in ["1 000 Hz", "1\u{a0}000\u{a0}Hz", "1\u{2009}000\u{202f}Hz"] {
            assert_eq!(limits(text).1, 1000.0, "{text}");
        }
    }

    #[test]
    fn a_fault_points_at_its_bytes_and_offers_a_way_out() {
        let fault = Given::parse("4,7 kΩ", None).unwrap_err();
        assert_eq!(fault.span, 0..3);
        assert!(fault.mend().unwrap().contains("`4.7`"));
        let fault = Given::parse("10 Kohm ±1 %", None).unwrap_err();
        assert_eq!(fault.span, 3..7);
        assert!(fault.to_string().contains("small k"), "{fault}");
        let fault = Given::parse("10 V ±5", None).unwrap_err();
        assert_eq!(fault.span.start, 7);
        let fault = Given::parse("5 V", Some(Dimension::CURRENT)).unwrap_err();
        assert_eq!(
            fault.to_string(),
            "expected a current (A), found a voltage (V)"
        );
    }

    #[test]
    fn degrees_celsius_are_no_difference() {
        assert!(Given::parse("30 °C", Some(Dimension::TEMPERATURE_DIFFERENCE)).is_err());
        assert!(Given::parse("30 K", Some(Dimension::TEMPERATURE_DIFFERENCE)).is_ok());
        assert!(Given::parse("300 K", Some(Dimension::TEMPERATURE)).is_ok());
    }
}
