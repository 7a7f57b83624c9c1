//! Values beside one another: ranges, tolerances, lengths times lengths, and
//! two units for one value.

use super::lex::Kind;
use super::symbol::Verdict;
use super::value::{Reading, Value};
use super::{Breach, Rule};
use crate::quantity::{Decimal, Dimension, Unit};

/// How two values are joined.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Join {
    /// `10 V to 12 V`, `10 V – 12 V`, `10 V … 12 V`, `between 10 V and 12 V`.
    Range,
    /// `10 V ± 1 V`.
    Tolerance,
    /// `3 mm × 4 mm`.
    Times,
    /// A space alone: `1 m 23 cm`.
    Nothing,
}

pub(super) fn check(reading: &Reading<'_>, found: &mut Vec<Breach>) {
    let mut before = 0;
    for pair in reading.values.windows(2) {
        let [left, right] = pair else { continue };
        let Some(join) = join(reading, left, right) else {
            continue;
        };
        let breach = match join {
            Join::Range if is_of_a_sentence(reading, left) => None,
            Join::Range => missing_before(reading, left, right),
            Join::Tolerance => missing_before(reading, left, right)
                .filter(|_| !is_relative(right))
                .or_else(|| missing_after(reading, left, right)),
            Join::Times => missing_before(reading, left, right)
                .filter(|_| dimension(right) == Some(Dimension::LENGTH)),
            Join::Nothing => two_units(reading, left, right),
        };
        // `80 × 120 × 25 mm` is one breach, not two.
        if let Some(breach) = breach.filter(|breach| breach.span.start >= before) {
            before = breach.span.end;
            found.push(breach);
        }
    }
}

fn join(reading: &Reading<'_>, left: &Value, right: &Value) -> Option<Join> {
    let between = reading
        .between(left.end, right.number)
        .trim_matches(char::is_whitespace);
    match between {
        "" => Some(Join::Nothing),
        "to" | "-" | "–" | "—" | "…" | "..." | ".." => Some(Join::Range),
        "and" => (word_before(reading, left) == Some("between")).then_some(Join::Range),
        "±" | "+/-" | "+-" | "+/−" => Some(Join::Tolerance),
        "x" | "X" | "×" | "*" => Some(Join::Times),
        _ => None,
    }
}

/// The word before a numeral, with a space between.
fn word_before<'a>(reading: &Reading<'a>, value: &Value) -> Option<&'a str> {
    let space = value.number.checked_sub(1)?;
    let word = space.checked_sub(1)?;
    let is_word =
        reading.kind(space) == Some(Kind::Space) && reading.kind(word) == Some(Kind::Word);
    is_word.then(|| reading.tokens[word].text)
}

/// Whether the first numeral counts something else: `pin 3 to 5 V`.
fn is_of_a_sentence(reading: &Reading<'_>, left: &Value) -> bool {
    const BEFORE_A_RANGE: [&str; 11] = [
        "from", "between", "of", "range", "about", "is", "are", "at", "within", "for", "with",
    ];
    word_before(reading, left)
        .is_some_and(|word| !BEFORE_A_RANGE.contains(&word.to_lowercase().as_str()))
}

fn dimension(value: &Value) -> Option<Dimension> {
    unit(value).map(Unit::dimension)
}

/// The unit of a value that has one symbol, rightly written.
fn unit(value: &Value) -> Option<&Unit> {
    match value.unit.as_ref()?.symbols.as_slice() {
        [(_, Verdict::Unit(unit))] => Some(unit),
        _ => None,
    }
}

/// Whether a tolerance is a share, as in `10 ± 2 %`, so that its value may be
/// a plain number.
fn is_relative(value: &Value) -> bool {
    dimension(value) == Some(Dimension::ONE)
}

/// The first of two values lacks the unit of the second.
fn missing_before(reading: &Reading<'_>, left: &Value, right: &Value) -> Option<Breach> {
    let unit = right.unit.as_ref().filter(|_| left.unit.is_none())?;
    // Every value of a row of lengths lacks it: `80 × 120 × 25 mm`.
    let row = reading.bytes(left.number, right.end);
    let symbol = reading.unit_text(unit);
    let numeral = reading.tokens[left.number].text;
    let rest = reading.between(left.number + 1, right.end);
    Some(Breach {
        span: row,
        rule: Rule::Range,
        mend: format!("write `{numeral} {symbol}{rest}`"),
    })
}

/// The tolerance lacks the unit of its value: `10 V ± 0.1`.
fn missing_after(reading: &Reading<'_>, left: &Value, right: &Value) -> Option<Breach> {
    let unit = left.unit.as_ref().filter(|_| right.unit.is_none())?;
    let symbol = reading.unit_text(unit);
    let written = reading.between(left.number, right.end);
    Some(Breach {
        span: reading.bytes(left.number, right.end),
        rule: Rule::Range,
        mend: format!("write `{written} {symbol}`"),
    })
}

/// `1 m 23 cm`: a second, smaller unit of the same quantity. Units of time and
/// of angle may be mixed (SP 811, 7.2 and 7.3).
fn two_units(reading: &Reading<'_>, left: &Value, right: &Value) -> Option<Breach> {
    let (large, small) = (unit(left)?, unit(right)?);
    let may_mix = [Dimension::TIME, Dimension::ONE].contains(&large.dimension());
    if may_mix || large.dimension() != small.dimension() || large.has_offset() {
        return None;
    }
    let numeral = |value: &Value| {
        let text = reading.tokens[value.number].text;
        Decimal::scan(text).ok().map(|(decimal, _)| decimal)
    };
    let rest = small.value_of(&numeral(right)?);
    let one = large.step();
    (rest > 0.0 && rest < one).then(|| {
        let total = large.value_of(&numeral(left).unwrap_or(Decimal::new(0, 0))) + rest;
        let total = large.count_of(total);
        Breach {
            span: reading.bytes(left.number, right.end),
            rule: Rule::One,
            mend: format!(
                "one unit for one value: write `{total} {}`",
                reading
                    .between(left.number + 1, left.end)
                    .trim_start_matches(char::is_whitespace)
            ),
        }
    })
}
