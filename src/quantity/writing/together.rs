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
    /// `10 V to 12 V`, `between 10 V and 12 V`.
    Range,
    /// `10 V … 12 V`.
    Dots,
    /// `10 V ± 1 V`.
    Tolerance,
    /// `10 V - 12 V`: a range with a dash, which reads as a minus.
    Dash,
    /// `3 mm × 4 mm`.
    Times,
    /// `3 V, 5 V`.
    List,
    /// A space alone: `1 m 23 cm`.
    Nothing,
}

pub(super) fn check(reading: &Reading<'_>, found: &mut Vec<Breach>) {
    let values = &reading.values;
    let joins: Vec<Option<Join>> = values
        .windows(2)
        .map(|pair| join(reading, &pair[0], &pair[1]))
        .collect();
    for (at, join) in joins.iter().enumerate() {
        let Some(join) = join else { continue };
        // Every value of `80 × 120 × 25 mm` lacks its unit but the last.
        let lacking = (0..at)
            .rev()
            .take_while(|&before| joins[before] == Some(*join) && values[before + 1].unit.is_none())
            .count();
        let row = &values[at - lacking..=at + 1];
        let (left, right) = (&values[at], &values[at + 1]);
        let breach = match join {
            Join::Range | Join::Dots | Join::Dash if is_of_a_sentence(reading, &row[0]) => None,
            Join::Range => missing_before(reading, row, None),
            Join::Dots => missing_before(reading, row, Some(" to ")),
            Join::Dash => missing_before(reading, row, Some(" to "))
                .or_else(|| dash_for_to(reading, left, right)),
            Join::List => missing_before(reading, row, None).filter(|_| row[0].number == 0),
            Join::Tolerance => missing_before(reading, row, None)
                .filter(|_| !is_relative(right))
                .or_else(|| missing_after(reading, left, right)),
            Join::Times => missing_before(reading, row, None)
                .filter(|_| dimension(right) == Some(Dimension::LENGTH)),
            Join::Nothing => two_units(reading, left, right),
        };
        found.extend(breach);
    }
}

fn join(reading: &Reading<'_>, left: &Value, right: &Value) -> Option<Join> {
    let gap = reading.between(left.end, right.number);
    let between = gap.trim_matches(char::is_whitespace);
    // `5 V -0.1 V` has a sign and no dash.
    let is_even = gap.starts_with(char::is_whitespace) == gap.ends_with(char::is_whitespace);
    match between {
        "" => Some(Join::Nothing),
        "to" => Some(Join::Range),
        "…" | "..." | ".." | "÷" | "~" => Some(Join::Dots),
        "-" | "−" | "–" | "—" => is_even.then_some(Join::Dash),
        "," => Some(Join::List),
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

/// The values of a row lack the unit of the last one. The mend keeps what
/// stands between them where nothing better is given.
fn missing_before(reading: &Reading<'_>, row: &[Value], between: Option<&str>) -> Option<Breach> {
    let [before @ .., last] = row else {
        return None;
    };
    let left = before.last()?;
    let unit = last.unit.as_ref().filter(|_| left.unit.is_none())?;
    let symbol = reading.unit_text(unit);
    let mut mended = String::new();
    for pair in row.windows(2) {
        let (numeral, next) = (pair[0].number, pair[1].number);
        let rest = between.unwrap_or(reading.between(numeral + 1, next));
        mended.push_str(&format!("{} {symbol}{rest}", reading.tokens[numeral].text));
    }
    mended.push_str(reading.between(last.number, last.end));
    Some(Breach {
        span: reading.bytes(row[0].number, last.end),
        rule: Rule::Range,
        mend: format!("write `{mended}`"),
    })
}

/// A dash between two values, the smaller first, instead of the word.
fn dash_for_to(reading: &Reading<'_>, left: &Value, right: &Value) -> Option<Breach> {
    let (low, high) = (unit(left)?, unit(right)?);
    let is_range = low.dimension() == high.dimension()
        && low.value_of(&numeral(reading, left)?) < high.value_of(&numeral(reading, right)?);
    is_range.then(|| Breach {
        span: reading.bytes(left.number, right.end),
        rule: Rule::Range,
        mend: format!(
            "a dash may be read as a minus: write `{} to {}`",
            reading.between(left.number, left.end),
            reading.between(right.number, right.end)
        ),
    })
}

/// The numeral of a value, where it is well formed.
fn numeral(reading: &Reading<'_>, value: &Value) -> Option<Decimal> {
    let text = reading.tokens[value.number].text;
    Decimal::scan(text).ok().map(|(decimal, _)| decimal)
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
    let rest = small.value_of(&numeral(reading, right)?);
    let whole = large.value_of(&numeral(reading, left)?);
    let one = large.step();
    (rest > 0.0 && rest < one).then(|| {
        // Nine digits: more than anybody writes, fewer than float noise reaches.
        let total = Decimal::from_f64(large.count_of(whole + rest))
            .map_or_else(String::new, |total| {
                total.to_significant(9).to_f64().to_string()
            });
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
