//! Value codes of IEC 60062, in which a letter stands where the decimal sign
//! would: `4K7`, `R47`, `1n5`.
//!
//! Letters are those of IEC 60062:2016. The trade also writes a small `k`
//! for kilohm and `u` for the micro sign, and both are read. No other case is
//! folded: `M` is mega and `m` is milli, a slip of nine decades. A small `m` is
//! therefore no milliohm either; the standard's letter for that is `L`.
//!
//! Tolerance letters have a file of their own. Not here at all: letters for
//! temperature coefficients and dates.

use std::fmt;

use super::code_tolerance::CodeTolerance;
use super::{Decimal, Dimension, Unit};

/// A value code, read.
#[derive(Clone, PartialEq, Debug)]
pub struct RkmCode {
    /// The digits as written: `4.7` for `4K7`, `0.10` for `n10`.
    pub decimal: Decimal,
    /// What the digits count: `kΩ` for `4K7`.
    pub unit: Unit,
    /// What the letter after the value allows, where there is one.
    pub tolerance: Option<CodeTolerance>,
}

/// Why text is no value code.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum RkmFault {
    /// There is nothing but digits, or nothing at all.
    NoLetter,
    /// There is a letter and no digit.
    NoDigits,
    /// A point or comma beside the letter that stands for it.
    DecimalSign,
    /// A letter that multiplies nothing, where a multiplier stands.
    Multiplier(char),
    /// Zeros before the digits, or more digits than a code holds.
    Digits,
    /// Something after the value that is no tolerance letter.
    AfterValue(char),
}

/// Letters of resistors and of capacitors, IEC 60062:2016.
const LETTERS: &[(char, Dimension, &str)] = &[
    ('L', Dimension::RESISTANCE, "mΩ"),
    ('R', Dimension::RESISTANCE, "Ω"),
    ('K', Dimension::RESISTANCE, "kΩ"),
    ('k', Dimension::RESISTANCE, "kΩ"),
    ('M', Dimension::RESISTANCE, "MΩ"),
    ('G', Dimension::RESISTANCE, "GΩ"),
    ('T', Dimension::RESISTANCE, "TΩ"),
    ('p', Dimension::CAPACITANCE, "pF"),
    ('n', Dimension::CAPACITANCE, "nF"),
    ('µ', Dimension::CAPACITANCE, "µF"),
    ('μ', Dimension::CAPACITANCE, "µF"),
    ('u', Dimension::CAPACITANCE, "µF"),
    ('m', Dimension::CAPACITANCE, "mF"),
    ('F', Dimension::CAPACITANCE, "F"),
];

/// The same way of writing for inductors, which the standard does not cover
/// (common practice, no source). Read only where an inductance is expected.
const INDUCTOR_LETTERS: &[(char, Dimension, &str)] = &[
    ('n', Dimension::INDUCTANCE, "nH"),
    ('µ', Dimension::INDUCTANCE, "µH"),
    ('μ', Dimension::INDUCTANCE, "µH"),
    ('u', Dimension::INDUCTANCE, "µH"),
    ('m', Dimension::INDUCTANCE, "mH"),
    ('H', Dimension::INDUCTANCE, "H"),
];

/// More digits than the five characters of the longest code in the standard
/// have; a longer row of digits is something else.
const MAX_DIGITS: usize = 6;

/// Digits, a letter, digits.
struct Shape<'a> {
    whole: &'a str,
    letter: char,
    fraction: &'a str,
    /// How many bytes the three take.
    used: usize,
}

impl Shape<'_> {
    fn read(text: &str) -> Option<Shape<'_>> {
        let (whole, rest) = split_digits(text);
        let letter = rest.chars().next().filter(|c| c.is_alphabetic())?;
        let (fraction, rest) = split_digits(&rest[letter.len_utf8()..]);
        Some(Shape {
            whole,
            letter,
            fraction,
            used: text.len() - rest.len(),
        })
    }

    /// The value without its multiplier, every digit kept.
    fn decimal(&self) -> Option<Decimal> {
        let count = self.whole.len() + self.fraction.len();
        let leading_zeros = self.whole.len() > 1 && self.whole.starts_with('0');
        if count == 0 || count > MAX_DIGITS || leading_zeros {
            return None;
        }
        // At most six digits, which are a whole number.
        let mantissa = [self.whole, self.fraction].concat().parse().ok()?;
        Some(Decimal::new(mantissa, -(self.fraction.len() as i32)))
    }

    fn unit(&self, dimension: Option<Dimension>) -> Option<Unit> {
        let letters = if dimension == Some(Dimension::INDUCTANCE) {
            INDUCTOR_LETTERS
        } else {
            LETTERS
        };
        letters
            .iter()
            .filter(|(_, of, _)| dimension.is_none_or(|expected| expected == *of))
            .find(|(letter, _, _)| *letter == self.letter)
            .and_then(|(_, _, symbol)| Unit::from_symbol(symbol).ok())
    }
}

fn split_digits(text: &str) -> (&str, &str) {
    let end = text
        .bytes()
        .position(|byte| !byte.is_ascii_digit())
        .unwrap_or(text.len());
    text.split_at(end)
}

impl RkmCode {
    /// Reads the code of a resistance or capacitance, with or without a
    /// tolerance letter. The whole text has to be the code.
    ///
    /// # Errors
    /// [`RkmFault`], for the first thing that is wrong.
    pub fn parse(text: &str) -> Result<RkmCode, RkmFault> {
        RkmCode::parse_as(text, None)
    }

    /// Reads a code of which the dimension is known. Only so is the code of an
    /// inductance read: `4u7` by itself is a capacitance.
    ///
    /// # Errors
    /// [`RkmFault`], for the first thing that is wrong.
    pub fn parse_as(text: &str, expected: Option<Dimension>) -> Result<RkmCode, RkmFault> {
        let Some(shape) = Shape::read(text) else {
            let other = text.chars().find(|c| !c.is_ascii_digit());
            return Err(match other {
                None => RkmFault::NoLetter,
                Some('.' | ',') => RkmFault::DecimalSign,
                Some(c) => RkmFault::Multiplier(c),
            });
        };
        let unit = shape
            .unit(expected)
            .ok_or(RkmFault::Multiplier(shape.letter))?;
        let digits_fault = if shape.whole.is_empty() && shape.fraction.is_empty() {
            RkmFault::NoDigits
        } else {
            RkmFault::Digits
        };
        let decimal = shape.decimal().ok_or(digits_fault)?;
        let mut after = text[shape.used..].chars();
        let tolerance = match after.next() {
            None => None,
            Some('.' | ',') => return Err(RkmFault::DecimalSign),
            Some(letter) => {
                let tolerance = CodeTolerance::by_letter(letter, unit.value_of(&decimal), &unit);
                Some(tolerance.ok_or(RkmFault::AfterValue(letter))?)
            }
        };
        if let Some(further) = after.next() {
            return Err(RkmFault::AfterValue(further));
        }
        Ok(RkmCode {
            decimal,
            unit,
            tolerance,
        })
    }

    /// The value in coherent SI units.
    pub fn value(&self) -> f64 {
        self.unit.value_of(&self.decimal)
    }
}

/// Reads a value code at the start of `text`, as a numeral, the unit that its
/// digits count, and the number of bytes that it takes. `None` where the text
/// does not start with a code, or with one of another dimension than expected.
///
/// Text around it decides what is a code. `R1` is a designator: a letter in
/// front is read only where its dimension is expected and two digits follow,
/// as the standard writes it (`R47`). A letter at the end that is a unit
/// symbol too (`10m`, `300K`, `1F`) is read only where its dimension is expected.
pub(crate) fn scan(text: &str, expected: Option<Dimension>) -> Option<(Decimal, Unit, usize)> {
    let shape = Shape::read(text)?;
    let unit = shape.unit(expected)?;
    if shape.whole.is_empty() && (expected.is_none() || shape.fraction.len() < 2) {
        return None;
    }
    let plain_letter = matches!(shape.letter, 'R' | 'k' | 'M' | 'p' | 'n' | 'u' | 'µ' | 'μ');
    if shape.fraction.is_empty() && expected.is_none() && !plain_letter {
        return None;
    }
    let mut after = text[shape.used..].chars();
    let goes_on = match after.next() {
        Some('.' | ',') => after.next().is_some_and(|c| c.is_ascii_digit()),
        Some(c) => c.is_alphanumeric() || matches!(c, '_' | '°' | '%'),
        None => false,
    };
    if goes_on {
        return None;
    }
    Some((shape.decimal()?, unit, shape.used))
}

/// The shortest code of a resistance or capacitance in coherent SI units, its
/// digits before the letter from 1 to 999 and without needless zeros: `4K7`,
/// `10R`, `100n`. Below 1 Ω the letter is `R` in front, as far as four digits
/// reach, and `L` below that. `None` where the value is not positive, has more
/// digits than a code holds, or is neither resistance nor capacitance.
pub fn rkm_code(value: f64, dimension: Dimension) -> Option<String> {
    /// Powers of ten that have a letter of their own, small to large.
    const RESISTORS: &[(i32, &str)] =
        &[(-3, "L"), (0, "R"), (3, "K"), (6, "M"), (9, "G"), (12, "T")];
    const CAPACITORS: &[(i32, &str)] = &[(-12, "p"), (-9, "n"), (-6, "µ"), (-3, "m"), (0, "F")];
    let letters = match dimension {
        Dimension::RESISTANCE => RESISTORS,
        Dimension::CAPACITANCE => CAPACITORS,
        _ => return None,
    };
    if !(value.is_finite() && value > 0.0) {
        return None;
    }
    // Nine digits: fewer than float noise reaches, more than a code holds.
    let decimal = Decimal::from_f64(value)?.to_significant(9);
    let decimal = decimal.rounded(decimal.place_without_trailing_zeros(), super::Ties::Even);
    let leading = decimal.leading_place();
    let by_size = letters.iter().rev().find(|(power, _)| *power <= leading);
    let in_front = dimension == Dimension::RESISTANCE && leading < 0 && decimal.place() >= -4;
    let (power, letter) = match by_size {
        _ if in_front => (0, "R"),
        Some(found) => *found,
        None => letters[0],
    };
    let text = Decimal::new(decimal.mantissa()?, decimal.place() - power).to_string();
    let (whole, fraction) = text.split_once('.').unwrap_or((&text, ""));
    let whole = if whole == "0" { "" } else { whole };
    let digits = whole.len() + fraction.len();
    let is_plain = text
        .bytes()
        .all(|byte| byte.is_ascii_digit() || byte == b'.');
    (is_plain && digits <= MAX_DIGITS).then(|| format!("{whole}{letter}{fraction}"))
}

impl fmt::Display for RkmFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            RkmFault::NoLetter => f.write_str(
                "a value code has a letter in place of the decimal sign: `470R`, `4K7`, `1n5`",
            ),
            RkmFault::NoDigits => f.write_str("the letter of a value code has no digit beside it"),
            RkmFault::DecimalSign => f.write_str(
                "the letter of a value code already stands for the decimal sign: `4K7`, not `4.7K`",
            ),
            RkmFault::Multiplier(letter) => write!(
                f,
                "`{letter}` is no multiplier here: L, R, K, M, G, T for resistors, p, n, µ, m, F for capacitors"
            ),
            RkmFault::Digits => write!(
                f,
                "a value code has at most {MAX_DIGITS} digits and no zeros before them"
            ),
            RkmFault::AfterValue(letter) => write!(
                f,
                "`{letter}` after the value is no tolerance letter (F is 1 %, J is 5 %, K is 10 %)"
            ),
        }
    }
}

impl std::error::Error for RkmFault {}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn read(text: &str) -> String {
        let code = RkmCode::parse(text).unwrap();
        format!("{} {}", code.decimal, code.unit.symbol())
    }

    #[test]
    fn the_letter_stands_where_the_point_would() {
        assert_eq!(read("4K7"), "4.7 kΩ");
        assert_eq!(read("4k7"), "4.7 kΩ");
        assert_eq!(read("R47"), "0.47 Ω");
        assert_eq!(read("470R"), "470 Ω");
        assert_eq!(read("5L0"), "5.0 mΩ");
        assert_eq!(read("n10"), "0.10 nF");
        assert_eq!(read("3u32"), "3.32 µF");
        assert_eq!(RkmCode::parse("5K904").unwrap().value(), 5904.0);
    }

    #[test]
    fn mega_and_milli_are_nine_decades_apart_and_milliohm_is_l() {
        assert_eq!(read("2M2"), "2.2 MΩ");
        assert_eq!(read("2m2"), "2.2 mF");
        assert_eq!(
            RkmCode::parse_as("2m2", Some(Dimension::RESISTANCE)),
            Err(RkmFault::Multiplier('m'))
        );
        assert_eq!(RkmCode::parse("1N5"), Err(RkmFault::Multiplier('N')));
    }

    #[test]
    fn what_is_no_code_says_why() {
        for (text, fault) in [
            ("", RkmFault::NoLetter),
            ("470", RkmFault::NoLetter),
            ("R", RkmFault::NoDigits),
            ("4.7K", RkmFault::DecimalSign),
            ("4K7.5", RkmFault::DecimalSign),
            ("4X7", RkmFault::Multiplier('X')),
            ("4 K7", RkmFault::Multiplier(' ')),
            ("04K7", RkmFault::Digits),
            ("4K7Y", RkmFault::AfterValue('Y')),
            ("4K7JJ", RkmFault::AfterValue('J')),
        ] {
            assert_eq!(RkmCode::parse(text), Err(fault), "{text:?}");
        }
    }

    #[test]
    fn inductance_is_read_where_it_is_expected() {
        let expected = Some(Dimension::INDUCTANCE);
        assert_eq!(RkmCode::parse_as("4u7", expected).unwrap().value(), 4.7e-6);
        assert!(RkmCode::parse_as("4R7", expected).is_err());
        let (_, unit, _) = scan("10m", expected).unwrap();
        assert_eq!(unit.symbol(), "mH");
    }

    #[test]
    fn a_code_is_told_from_the_text_around_it() {
        let found = |text: &str, expected| {
            scan(text, expected).map(|(decimal, unit, used)| {
                format!("{decimal} {} |{}", unit.symbol(), &text[used..])
            })
        };
        let some = |text: &str| Some(text.to_owned());
        assert_eq!(found("4k7", None), some("4.7 kΩ |"));
        assert_eq!(found("4k70 ±1 %", None), some("4.70 kΩ | ±1 %"));
        assert_eq!(found("47k/2", None), some("47 kΩ |/2"));
        assert_eq!(found("100n.", None), some("100 nF |."));
        for text in [
            "4.7 kΩ", "10", "R1", "R47", "1e3", "10kΩ", "100nF", "3.3V", "300K", "10m", "4k7J",
            "4k7Ω", "100 n", "1n4148x", "2m.5", "-4k7", "",
        ] {
            assert_eq!(found(text, None), None, "{text}");
        }
        let resistance = Some(Dimension::RESISTANCE);
        assert_eq!(found("R47", resistance), some("0.47 Ω |"));
        assert_eq!(found("10K", resistance), some("10 kΩ |"));
        assert_eq!(found("R1", resistance), None);
        assert_eq!(found("1n5", resistance), None);
        assert_eq!(found("300K", Some(Dimension::TEMPERATURE)), None);
    }

    #[test]
    fn the_shortest_code_reads_back_as_its_value() {
        for (ohms, code) in [
            (4700.0, "4K7"),
            (10.0, "10R"),
            (0.22, "R22"),
            (0.005, "R005"),
            (0.000_02, "L02"),
            (1e6, "1M"),
            (1020.0, "1K02"),
            (1e15, "1000T"),
            (0.1 + 0.2, "R3"),
        ] {
            let written = rkm_code(ohms, Dimension::RESISTANCE);
            assert_eq!(written.as_deref(), Some(code));
            let back = RkmCode::parse(code).unwrap().value();
            assert!((back / ohms - 1.0).abs() < 1e-9);
        }
        let farads = |value| rkm_code(value, Dimension::CAPACITANCE);
        assert_eq!(farads(100e-9).as_deref(), Some("100n"));
        assert_eq!(farads(2.2e-6).as_deref(), Some("2µ2"));
        assert_eq!(farads(0.33e-12).as_deref(), Some("p33"));
        assert_eq!(farads(-1.0), None);
        assert_eq!(farads(f64::INFINITY), None);
        assert_eq!(rkm_code(1234.567, Dimension::RESISTANCE), None);
        assert_eq!(rkm_code(5.0, Dimension::VOLTAGE), None);
    }
}
