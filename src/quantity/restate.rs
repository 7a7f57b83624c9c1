//! The text that would hold in the place of a statement that does not.

use std::ops::Range;

use super::stated::{TIE, place_of};
use super::{Claim, Decimal, Margin, Outcome, Statement, Ties, Unit, Written};

impl Statement {
    /// The same statement with numbers that hold, everything else as written.
    pub fn restated(&self, outcome: Outcome) -> String {
        let mut swaps: Vec<(Range<usize>, String)> = Vec::new();
        match self.claim() {
            Claim::Value { value, rough } => {
                swaps.push(nearest(value, *rough, outcome.nominal, self.text()).1);
            }
            Claim::Band {
                centre,
                minus,
                plus,
                symmetric,
                rough,
            } => {
                let (new, swap) = nearest(centre, *rough, outcome.nominal, self.text());
                swaps.push(swap);
                let below = new.value() - outcome.low;
                let above = outcome.high - new.value();
                if *symmetric {
                    swaps.push(wide_enough(minus, &new, below.max(above)));
                } else {
                    swaps.push(wide_enough(plus, &new, above));
                    swaps.push(wide_enough(minus, &new, below));
                }
            }
            Claim::Range { low, high } => {
                swaps.push(bound(low, outcome.low, Rounding::Down, self.text()));
                swaps.push(bound(high, outcome.high, Rounding::Up, self.text()));
            }
            Claim::AtLeast(least) => {
                swaps.push(bound(least, outcome.low, Rounding::Down, self.text()))
            }
            Claim::AtMost(most) => swaps.push(bound(most, outcome.high, Rounding::Up, self.text())),
        }
        let mut text = self.text().to_owned();
        swaps.sort_by_key(|(span, _)| std::cmp::Reverse(span.start));
        for (span, number) in swaps {
            text.replace_range(span, &number);
        }
        text
    }
}

/// The nominal value in the place of the one that was written, and the swap
/// of text that puts it there.
fn nearest(
    written: &Written,
    rough: bool,
    value: f64,
    text: &str,
) -> (Written, (Range<usize>, String)) {
    let mut place = place_of(written, rough);
    if written.code
        && let Some(exact) = Decimal::from_f64(written.unit.count_of(value))
        && !exact.is_zero()
    {
        // A value code has two digits at least.
        place = place.min(exact.leading_place() - 1);
    }
    let (decimal, unit) = written.restated(value, place);
    let swap = if written.code {
        (
            written.span.clone(),
            as_code(written, &decimal, &unit, text),
        )
    } else if unit == written.unit {
        (written.digits.clone(), decimal.to_string())
    } else {
        (
            written.span.clone(),
            super::written::joined(&decimal.to_string(), unit.symbol()),
        )
    };
    (
        Written {
            decimal,
            unit,
            ..written.clone()
        },
        swap,
    )
}

/// A number as a value code with the letter that was written (IEC 60062); with
/// its unit where no code says it.
fn as_code(written: &Written, decimal: &Decimal, unit: &Unit, text: &str) -> String {
    let expected = Some(unit.dimension());
    let says = |code: &str| {
        let read = super::rkm::scan(code, expected);
        read.is_some_and(|(read, of, used)| {
            used == code.len() && of.value_of(&read) == unit.value_of(decimal)
        })
    };
    let letter = text.get(written.span.clone()).unwrap_or("");
    let letter = letter.chars().find(|c| c.is_alphabetic());
    let same = letter.filter(|_| *unit == written.unit).map(|letter| {
        let number = decimal.to_string();
        let (whole, rest) = number.split_once('.').unwrap_or((&number, ""));
        let whole = if whole == "0" { "" } else { whole };
        format!("{whole}{letter}{rest}")
    });
    let other = || super::rkm_code(unit.value_of(decimal), unit.dimension());
    // Three digits at most stand before the letter; a greater number has another.
    let is_short = |code: &String| code.bytes().take_while(u8::is_ascii_digit).count() <= 3;
    same.filter(|code| is_short(code) && says(code))
        .or_else(|| other().filter(|code| says(code)))
        .unwrap_or_else(|| super::written::joined(&decimal.to_string(), unit.symbol()))
}

#[derive(Clone, Copy, PartialEq)]
enum Rounding {
    Down,
    Up,
}

/// A limit that still holds, to the place of the one that was written.
fn bound(written: &Written, value: f64, rounding: Rounding, text: &str) -> (Range<usize>, String) {
    let decimal = limit(written, written.unit.count_of(value), rounding);
    if written.code {
        return (
            written.span.clone(),
            as_code(written, &decimal, &written.unit, text),
        );
    }
    (written.digits.clone(), decimal.to_string())
}

/// A margin of at least `size`, to the place of the one that was written.
fn wide_enough(margin: &Margin, centre: &Written, size: f64) -> (Range<usize>, String) {
    let size = size.max(0.0);
    let share = if margin.relative {
        size / centre.value().abs()
    } else {
        size
    };
    let written = &margin.written;
    let in_unit = share / written.unit.step();
    (
        written.digits.clone(),
        limit(written, in_unit, Rounding::Up).to_string(),
    )
}

/// The numeral at the written place that does not lie inside a limit. A limit
/// too small for the place gets two digits.
fn limit(written: &Written, in_unit: f64, rounding: Rounding) -> Decimal {
    let Some(exact) = Decimal::from_f64(in_unit) else {
        return written.decimal.clone();
    };
    let place = written.decimal.place();
    let reaches = exact.is_zero() || exact.leading_place() >= place;
    let place = if reaches {
        place
    } else {
        exact.leading_place() - 1
    };
    let nearest = exact.rounded(place, Ties::Even);
    // Noise of floats, a billionth of the digit, does not push a bound on.
    let noise = TIE * 10f64.powi(place);
    match rounding {
        Rounding::Down if nearest.to_f64() > in_unit + noise => nearest.stepped(false),
        Rounding::Up if nearest.to_f64() < in_unit - noise => nearest.stepped(true),
        Rounding::Down | Rounding::Up => nearest,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_restated_text_holds_and_keeps_its_form() {
        let outcome = Outcome {
            nominal: 0.2004,
            low: 0.1885,
            high: 0.2126,
        };
        for text in [
            "196 mA",
            "≈ 500 mA",
            "196 mA ± 5 mA",
            "196 mA ±2 %",
            "0.196 A +0.005/-0.001 A",
            "200 mA to 205 mA",
            "at least 210 mA",
            "up to 0.1 A",
        ] {
            let statement = Statement::parse(text, None).unwrap();
            assert!(
                !statement.misses(outcome).is_empty(),
                "{text} should not hold"
            );
            let restated = statement.restated(outcome);
            let again = Statement::parse(&restated, None).unwrap();
            assert_eq!(again.misses(outcome), vec![], "{text} became {restated}");
        }
        let statement = Statement::parse("≈ 500 mA", None).unwrap();
        assert_eq!(statement.restated(outcome), "≈ 200 mA");
    }

    #[test]
    fn a_statement_far_off_is_restated_with_digits_that_say_something() {
        let statement = Statement::parse("1 A", None).unwrap();
        assert_eq!(statement.restated(Outcome::exact(0.196)), "200 mA");
    }

    #[test]
    fn a_value_that_would_vanish_gets_a_unit_that_suits_it() {
        let statement = Statement::parse("2.03 MΩ", None).unwrap();
        assert_eq!(statement.restated(Outcome::exact(2031.9)), "2.03 kΩ");
    }

    #[test]
    fn a_value_code_stays_one_with_the_letter_that_was_written() {
        let restated = |text: &str, value: f64| {
            let statement = Statement::parse(text, None).unwrap();
            statement.restated(Outcome::exact(value))
        };
        assert_eq!(restated("4K7", 5100.0), "5K1");
        assert_eq!(restated("at most 4k70", 10_000.0), "at most 10k00");
        assert_eq!(restated("4R7", 0.47), "R47");
        assert_eq!(restated("10k", 1.2e6), "1M2");
        let code = Statement::parse("4k7", None).unwrap();
        assert_eq!(code.restated(Outcome::exact(5100.0)), "5k1");
    }
}
