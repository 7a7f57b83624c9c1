//! Decimal numerals, exactly as written.
//!
//! A statement is judged by the last digit that its writer wrote, so a numeral
//! keeps its digits, trailing zeros too, until somebody asks for a float.

use std::fmt::{self, Write};

/// What to do with a value that lies exactly between two roundings.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Ties {
    /// To the even digit (ISO 80000-1:2009, Annex B, rule A).
    Even,
    /// Away from zero (rule B for positive values).
    Up,
}

/// A decimal numeral: its digits and the place of the last one.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Decimal {
    negative: bool,
    /// Digits from 0 to 9, most significant first, never empty, no leading
    /// zeros but for the value zero itself (one zero digit).
    digits: Vec<u8>,
    /// Power of ten of the last digit.
    place: i32,
}

/// Why text that starts like a numeral is none.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NumeralFault {
    /// There is no digit where a numeral was expected.
    NoDigits,
    /// A comma stands as decimal sign or between groups of digits.
    Comma,
    /// More digits, or a larger exponent, than any measured value has.
    TooLong,
    /// The fraction has no digit before or after its point.
    BarePoint,
}

/// Longest numeral that is read; a float holds 17 digits.
const MAX_DIGITS: usize = 40;
/// Largest power of ten that is read.
const MAX_EXPONENT: i32 = 300;

impl Decimal {
    /// Reads a numeral from the start of `text` and returns it with the number
    /// of bytes that it takes: sign, digits (groups of three may be set apart
    /// by a space), point, digits, exponent (`e-3`, `×10^-3`).
    ///
    /// # Errors
    /// [`NumeralFault`] where the text does not start with a numeral.
    pub fn scan(text: &str) -> Result<(Decimal, usize), NumeralFault> {
        let mut at = 0;
        let negative = match text.chars().next() {
            Some(sign @ ('-' | '−' | '+')) => {
                at += sign.len_utf8();
                sign != '+'
            }
            _ => false,
        };
        let (whole, used) = scan_groups(&text[at..]);
        at += used;
        let mut digits = whole;
        let whole_len = digits.len();
        let mut place = 0;
        if text[at..].starts_with('.') {
            let (fraction, used) = scan_groups(&text[at + 1..]);
            if fraction.is_empty() || whole_len == 0 {
                return Err(if fraction.is_empty() && whole_len == 0 {
                    NumeralFault::NoDigits
                } else {
                    NumeralFault::BarePoint
                });
            }
            place = -(fraction.len() as i32);
            digits.extend(fraction);
            at += 1 + used;
        } else if whole_len == 0 {
            return Err(NumeralFault::NoDigits);
        }
        let mut after = text[at..].chars();
        if after.next() == Some(',') && after.next().is_some_and(|c| c.is_ascii_digit()) {
            return Err(NumeralFault::Comma);
        }
        let (exponent, used) = scan_exponent(&text[at..]);
        at += used;
        let place = exponent.checked_add(place).ok_or(NumeralFault::TooLong)?;
        if digits.len() > MAX_DIGITS || place.abs() > MAX_EXPONENT {
            return Err(NumeralFault::TooLong);
        }
        Ok((Decimal::normal(negative, digits, place), at))
    }

    /// The numeral `mantissa` × 10^`place`: 47 and -1 are `4.7`.
    pub fn new(mantissa: i128, place: i32) -> Decimal {
        let digits = mantissa.unsigned_abs().to_string();
        let digits = digits.bytes().map(|digit| digit - b'0').collect();
        Decimal::normal(mantissa < 0, digits, place)
    }

    /// The digits as one whole number, with the sign: 1960 for `196.0`. `None`
    /// past 38 digits.
    pub fn mantissa(&self) -> Option<i128> {
        let mut mantissa: i128 = 0;
        for &digit in &self.digits {
            mantissa = mantissa.checked_mul(10)?.checked_add(i128::from(digit))?;
        }
        Some(if self.negative { -mantissa } else { mantissa })
    }

    /// The shortest numeral that reads back as `value`; `None` unless finite.
    pub fn from_f64(value: f64) -> Option<Decimal> {
        if !value.is_finite() {
            return None;
        }
        let text = format!("{value:e}");
        let (mantissa, exponent) = text.split_once('e')?;
        let exponent: i32 = exponent.parse().ok()?;
        let negative = mantissa.starts_with('-');
        let digits: Vec<u8> = mantissa
            .bytes()
            .filter(u8::is_ascii_digit)
            .map(|digit| digit - b'0')
            .collect();
        let place = exponent - (digits.len() as i32 - 1);
        Some(Decimal::normal(negative, digits, place))
    }

    fn normal(negative: bool, mut digits: Vec<u8>, place: i32) -> Decimal {
        let zeros = digits.iter().take_while(|&&digit| digit == 0).count();
        digits.drain(..zeros);
        if digits.is_empty() {
            digits.push(0);
        }
        Decimal {
            negative,
            digits,
            place,
        }
    }

    /// The nearest float to the numeral times a power of ten. One rounding,
    /// so that `196 mA` is the float nearest to 0.196.
    pub fn scaled(&self, power_of_ten: i32) -> f64 {
        let mut text = String::with_capacity(self.digits.len() + 8);
        if self.negative {
            text.push('-');
        }
        text.extend(self.digits.iter().map(|digit| char::from(digit + b'0')));
        // Writing to a string does not fail.
        let _ = write!(text, "e{}", self.place + power_of_ten);
        // Digits, "e" and an integer are always a float's text; infinity comes
        // out where it is too large, and callers check for finite values.
        text.parse().unwrap_or(f64::NAN)
    }

    /// The nearest float.
    pub fn to_f64(&self) -> f64 {
        self.scaled(0)
    }

    /// Power of ten of the last digit written: -1 for `196.0`, 0 for `200`.
    pub fn place(&self) -> i32 {
        self.place
    }

    /// Power of ten of the last digit that is not a zero: 2 for `200`.
    pub fn place_without_trailing_zeros(&self) -> i32 {
        let zeros = self
            .digits
            .iter()
            .rev()
            .take_while(|&&digit| digit == 0)
            .count();
        if zeros == self.digits.len() {
            self.place
        } else {
            self.place + zeros as i32
        }
    }

    /// Power of ten of the first digit: 2 for `196`.
    pub fn leading_place(&self) -> i32 {
        self.place + self.digits.len() as i32 - 1
    }

    /// Whether the value is zero.
    pub fn is_zero(&self) -> bool {
        self.digits == [0]
    }

    /// Rounds to a multiple of a power of ten. Places finer than the numeral's
    /// own are filled with zeros.
    pub fn rounded(&self, place: i32, ties: Ties) -> Decimal {
        let drop = place - self.place;
        if drop <= 0 {
            let mut digits = self.digits.clone();
            // Bounded: a caller asks for the digits of a page, not for thousands.
            digits.resize(digits.len() + drop.unsigned_abs().min(400) as usize, 0);
            return Decimal::normal(self.negative, digits, self.place + drop.max(-400));
        }
        let drop = drop as usize;
        let (mut kept, dropped) = if drop >= self.digits.len() {
            let mut dropped = vec![0; drop - self.digits.len()];
            dropped.extend(&self.digits);
            (vec![0], dropped)
        } else {
            let (kept, dropped) = self.digits.split_at(self.digits.len() - drop);
            (kept.to_vec(), dropped.to_vec())
        };
        let half = dropped[0].cmp(&5).then_with(|| {
            let rest_is_zero = dropped[1..].iter().all(|&digit| digit == 0);
            if rest_is_zero {
                std::cmp::Ordering::Equal
            } else {
                std::cmp::Ordering::Greater
            }
        });
        let last_is_odd = kept.last().is_some_and(|digit| digit % 2 == 1);
        let up = match half {
            std::cmp::Ordering::Less => false,
            std::cmp::Ordering::Greater => true,
            std::cmp::Ordering::Equal => ties == Ties::Up || last_is_odd,
        };
        if up {
            increment(&mut kept);
        }
        Decimal::normal(self.negative, kept, place)
    }

    /// Rounds to a number of significant digits, ties to the even digit (NIST
    /// SP 811, B.7.1). The place is that of the unrounded value, so 99.95 to
    /// three digits is 100.0.
    pub fn to_significant(&self, digits: u32) -> Decimal {
        let place = self.leading_place() - digits.max(1) as i32 + 1;
        self.rounded(place, Ties::Even)
    }

    /// The numeral one unit of its last digit away, up or down.
    pub fn stepped(&self, up: bool) -> Decimal {
        let mut digits = self.digits.clone();
        if self.is_zero() {
            return Decimal {
                negative: !up,
                digits: vec![1],
                place: self.place,
            };
        }
        if up != self.negative {
            increment(&mut digits);
        } else {
            for digit in digits.iter_mut().rev() {
                if *digit > 0 {
                    *digit -= 1;
                    break;
                }
                *digit = 9;
            }
        }
        Decimal::normal(self.negative, digits, self.place)
    }

    /// The numeral with the other sign.
    pub(crate) fn negated(&self) -> Decimal {
        Decimal {
            negative: !self.negative,
            ..self.clone()
        }
    }

    /// `1.6×10⁻¹⁵`, for values far from one.
    fn scientific(&self) -> String {
        let sign = if self.negative { "−" } else { "" };
        let digits: String = self
            .digits
            .iter()
            .map(|digit| char::from(digit + b'0'))
            .collect();
        let (first, rest) = digits.split_at(1);
        let point = if rest.is_empty() { "" } else { "." };
        let raised: String = self
            .leading_place()
            .to_string()
            .chars()
            .map(superscript)
            .collect();
        format!("{sign}{first}{point}{rest}×10{raised}")
    }

    /// The text, with a thin space between groups of three where the whole
    /// part has five digits or more (ISO 80000-1, 7.3.1).
    pub fn grouped(&self) -> String {
        let plain = self.to_string().replace('-', "−");
        if plain.contains('e') {
            return self.scientific();
        }
        let (whole, fraction) = plain.split_once('.').unwrap_or((&plain, ""));
        let (sign, whole) = whole
            .strip_prefix('−')
            .map_or(("", whole), |rest| ("−", rest));
        let mut out = String::from(sign);
        for (at, digit) in whole.chars().enumerate() {
            if at > 0 && whole.len() >= 5 && (whole.len() - at) % 3 == 0 {
                out.push('\u{2009}');
            }
            out.push(digit);
        }
        if !fraction.is_empty() {
            out.push('.');
            out.push_str(fraction);
        }
        out
    }
}

/// A digit or a sign, raised.
fn superscript(c: char) -> char {
    match c {
        '-' => '⁻',
        '1' => '¹',
        '2' => '²',
        '3' => '³',
        '0' | '4'..='9' => char::from_u32(u32::from(c) - u32::from('0') + 0x2070).unwrap_or(c),
        other => other,
    }
}

/// Adds one to the last of a row of digits.
fn increment(digits: &mut Vec<u8>) {
    for digit in digits.iter_mut().rev() {
        if *digit < 9 {
            *digit += 1;
            return;
        }
        *digit = 0;
    }
    digits.insert(0, 1);
}

/// Digits at the start of `text`, with single spaces between groups of three,
/// and how many bytes they take. The first group has one to three digits.
fn scan_groups(text: &str) -> (Vec<u8>, usize) {
    let bytes = text.as_bytes();
    let run = bytes
        .iter()
        .take_while(|byte| byte.is_ascii_digit())
        .count();
    let mut digits: Vec<u8> = bytes[..run].iter().map(|byte| byte - b'0').collect();
    let mut at = run;
    if run == 0 || run > 3 {
        return (digits, at);
    }
    loop {
        let mut rest = text[at..].chars();
        let Some(space) = rest.next().filter(|&c| super::is_space(c)) else {
            break;
        };
        let group = &rest.as_str().as_bytes();
        let is_group = group.len() >= 3
            && group[..3].iter().all(u8::is_ascii_digit)
            && !group.get(3).is_some_and(u8::is_ascii_digit);
        if !is_group {
            break;
        }
        digits.extend(group[..3].iter().map(|byte| byte - b'0'));
        at += space.len_utf8() + 3;
    }
    (digits, at)
}

/// An exponent at the start of `text`: `e-3`, `E6`, `×10^-3`, `·10^6`, and how
/// many bytes it takes; zero and zero where there is none.
fn scan_exponent(text: &str) -> (i32, usize) {
    let compact: &[&str] = &["e", "E"];
    let spelled: &[&str] = &[
        "×10^",
        "·10^",
        "x10^",
        " × 10^",
        " x 10^",
        "\u{2009}×\u{2009}10^",
    ];
    for start in compact.iter().chain(spelled) {
        let Some(rest) = text.strip_prefix(start) else {
            continue;
        };
        let unsigned = rest.strip_prefix(['-', '−', '+']).unwrap_or(rest);
        let sign_len = rest.len() - unsigned.len();
        let run = unsigned.bytes().take_while(u8::is_ascii_digit).count();
        // An exponent of more than four digits is out of range; `TooLong` follows.
        let Ok(size) = unsigned[..run]
            .chars()
            .take(4)
            .collect::<String>()
            .parse::<i32>()
        else {
            continue;
        };
        let sign = if rest.starts_with(['-', '−']) {
            -1
        } else {
            1
        };
        return (sign * size, start.len() + sign_len + run);
    }
    (0, 0)
}

impl fmt::Display for Decimal {
    /// Plain digits with a point, `-0.0250`; an exponent only where the digits
    /// end above the units, `12e3`, or lie far below them.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.negative && !self.is_zero() {
            f.write_str("-")?;
        }
        let digits: String = self
            .digits
            .iter()
            .map(|digit| char::from(digit + b'0'))
            .collect();
        if self.place > 0 {
            if self.is_zero() {
                return f.write_str("0");
            }
            if self.place <= 9 {
                return write!(f, "{digits}{}", "0".repeat(self.place as usize));
            }
            return write!(f, "{digits}e{}", self.place);
        }
        let decimals = self.place.unsigned_abs() as usize;
        if decimals == 0 {
            return f.write_str(&digits);
        }
        if digits.len() > decimals {
            let (whole, fraction) = digits.split_at(digits.len() - decimals);
            return write!(f, "{whole}.{fraction}");
        }
        if decimals <= 12 {
            return write!(f, "0.{}{digits}", "0".repeat(decimals - digits.len()));
        }
        write!(f, "{digits}e{}", self.place)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn read(text: &str) -> Decimal {
        let (decimal, used) = Decimal::scan(text).unwrap();
        assert_eq!(used, text.len(), "{text} is read to its end");
        decimal
    }

    #[test]
    fn keeps_every_digit_that_was_written() {
        assert_eq!(read("196.0").place(), -1);
        assert_eq!(read("200").place(), 0);
        assert_eq!(read("200").place_without_trailing_zeros(), 2);
        assert_eq!(read("196.0").to_string(), "196.0");
        assert_eq!(read("1 000.5").to_string(), "1000.5");
        assert_eq!(read("10\u{2009}000").to_string(), "10000");
        assert_eq!(read("1.5e-3").to_string(), "0.0015");
    }

    #[test]
    fn a_numeral_is_its_digits_times_a_power_of_ten() {
        assert_eq!(Decimal::new(-4700, -2).to_string(), "-47.00");
        assert_eq!(read("-47.00").mantissa(), Some(-4700));
        assert_eq!(Decimal::new(0, -1), read("0.0"));
    }

    #[test]
    fn a_decimal_comma_is_told_apart_from_rubbish() {
        assert_eq!(Decimal::scan("4,7"), Err(NumeralFault::Comma));
        assert_eq!(Decimal::scan("four"), Err(NumeralFault::NoDigits));
        assert_eq!(Decimal::scan(".5"), Err(NumeralFault::BarePoint));
        assert_eq!(Decimal::scan("1e999"), Err(NumeralFault::TooLong));
    }

    #[test]
    fn groups_are_of_three_digits_and_no_other() {
        assert_eq!(Decimal::scan("1 00").unwrap().0.to_string(), "1");
        assert_eq!(Decimal::scan("2026 100").unwrap().0.to_string(), "2026");
    }

    #[test]
    fn a_float_and_its_numeral_are_the_same_value() {
        for value in [0.1, 196.078431372549, 1e-12, 4.7e3, -0.0025, 123456.789] {
            assert_eq!(Decimal::from_f64(value).map(|d| d.to_f64()), Some(value));
        }
        assert_eq!(read("196").scaled(-3), 0.196);
    }

    #[test]
    fn values_far_from_one_are_written_with_a_power_of_ten() {
        assert_eq!(read("1.6e-15").grouped(), "1.6×10⁻¹⁵");
        assert_eq!(read("2e12").grouped(), "2×10¹²");
        assert_eq!(read("-12345.5").grouped(), "−12\u{2009}345.5");
    }

    #[test]
    fn stepping_changes_the_last_digit() {
        assert_eq!(read("199").stepped(true).to_string(), "200");
        assert_eq!(read("200").stepped(false).to_string(), "199");
        assert_eq!(read("-1.0").stepped(true).to_string(), "-0.9");
        assert_eq!(read("0.0").stepped(false).to_string(), "-0.1");
    }
}
