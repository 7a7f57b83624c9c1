//! Loose quantities: numbers with a unit in prose that hang on no figure.
//!
//! The notebook looks each one up among its figures and says which it equals,
//! or nearly equals. Quantities are found by a numeral that is followed by a
//! unit, so the art lies in what is left out: years, versions, dates, drawing
//! numbers, and the many words that are also unit symbols. Where in doubt, a
//! number is left alone, for a note on every plain number would soon be read
//! by nobody. Value codes (`4k7`) are quantities too.
//!
//! Not here: the words around a number (`about`, `at least`), and whether it
//! is written as the SI asks.

use std::ops::Range;

use super::document::LooseQuantity;
use super::run::Run;
use super::unit_name;
use crate::finding::{FileId, Place};
use crate::quantity::{Decimal, Unit, is_space, scan_value_code};

/// Longest text that is tried as a unit, in bytes: `W/(m K)` with room.
const LONGEST_UNIT: usize = 24;

/// Words after which a number is a name: `Figure 2 A`.
const NUMBERED: &[&str] = &[
    "figure", "table", "section", "sheet", "step", "page", "chapter", "revision", "rev", "version",
    "note", "item", "issue", "channel", "type", "class", "appendix",
];

/// The same, where a full stop shows that the word is cut short: `No. 2`.
const NUMBERED_SHORT: &[&str] = &["fig", "no", "nr", "rev", "sect", "ch"];

/// Adds all quantities of a run.
pub(super) fn collect(file: FileId, run: &Run, out: &mut Vec<LooseQuantity>) {
    let text = &run.text;
    let mut at = 0;
    let mut last_end = None;
    while let Some(digit) = text[at..].find(|c: char| c.is_ascii_digit()) {
        let digit = at + digit;
        let (found, next) = examine(text, last_end, digit);
        at = next;
        let Some(found) = found else { continue };
        // `3.3 V +0.1 V -0.05 V`: what follows a quantity with a sign is its
        // tolerance.
        let signed = text[found.stretch.start..].starts_with(['+', '-', '−']);
        let follows = last_end.is_some_and(|end| text[end..found.stretch.start].trim().is_empty());
        last_end = Some(found.stretch.end);
        if signed && follows {
            continue;
        }
        let Some(range) = run.source(found.stretch.clone()) else {
            continue;
        };
        out.push(LooseQuantity {
            text: text[found.stretch].to_owned(),
            place: Place::new(file, range),
            value: found.unit.value_of(&found.decimal),
            dimension: found.unit.dimension(),
            unit: found.unit,
            decimal: found.decimal,
        });
    }
}

struct Found {
    stretch: Range<usize>,
    decimal: Decimal,
    unit: Unit,
}

/// Looks at the number whose first digit is at `digit`, and says where to go
/// on. The last quantity ended at `last_end`.
fn examine(text: &str, last_end: Option<usize>, digit: usize) -> (Option<Found>, usize) {
    let before = &text[..digit];
    if let Some(len) = date_length(&text[digit..]) {
        return (None, digit + len);
    }
    let from_last = last_end.map(|end| &text[end..digit]);
    let Some(start) = start_of_number(before, from_last).map(|back| digit - back) else {
        return (None, end_of_token(text, digit));
    };
    let code = scan_value_code(&text[start..], None);
    if let Some((decimal, unit, used)) = code.filter(|_| !is_numbered(before)) {
        let found = Found {
            stretch: start..start + used,
            decimal,
            unit,
        };
        return (Some(found), start + used);
    }
    let Ok((decimal, used)) = Decimal::scan(&text[start..]) else {
        return (None, end_of_numeral(text, digit));
    };
    let end = start + used;
    let mut after = text[end..].chars();
    let glue = after.next();
    let continues = matches!(glue, Some('.' | ':' | ',' | '/' | '^'))
        && after.next().is_some_and(|c| c.is_ascii_digit());
    if continues || is_tolerance(before) || is_numbered(before) {
        return (None, end_of_numeral(text, end));
    }
    match unit_after(text, start, end) {
        Some((unit, end)) => {
            let found = Found {
                stretch: start..end,
                decimal,
                unit,
            };
            (Some(found), end)
        }
        None => (None, end),
    }
}

/// Bytes before the first digit that belong to the number: its sign. `None`
/// where the digits are part of something else: `R1`, `v1.2`, `10:30`, `$5`.
/// `from_last` is the text since the last quantity.
fn start_of_number(before: &str, from_last: Option<&str>) -> Option<usize> {
    if from_last == Some("-") {
        // `2 V-5 V` is a range.
        return Some(0);
    }
    let mut back = before.chars().rev();
    let Some(last) = back.next() else {
        return Some(0);
    };
    let beyond = back.next();
    let joined = beyond.is_some_and(char::is_alphanumeric);
    match last {
        '-' | '−' | '+' if joined => {
            // `5-10 V` is a range; `BAT-3` and `rev-3` are names.
            let range = beyond.is_some_and(|c| c.is_ascii_digit());
            range.then_some(0)
        }
        '-' | '−' | '+' => Some(last.len_utf8()),
        ',' | ':' | '/' | '\'' | '’' if joined => None,
        '.' | '^' | '_' | '#' | '$' | '€' | '£' | '@' | '&' | '\\' => None,
        c if c.is_alphanumeric() => None,
        _ => Some(0),
    }
}

/// Whether a number is the half-width of a band: `± 5 %`.
fn is_tolerance(before: &str) -> bool {
    let before = before.trim_end_matches(is_space);
    before.ends_with('±') || before.ends_with("+/-") || before.ends_with("+/−")
}

/// Whether a number is the name of what stands before it: `Figure 2`.
fn is_numbered(before: &str) -> bool {
    let Some(before) = before.strip_suffix(is_space) else {
        return false;
    };
    let (before, words) = match before.strip_suffix('.') {
        Some(before) => (before, NUMBERED_SHORT),
        None => (before, NUMBERED),
    };
    let word = before
        .rfind(|c: char| !c.is_alphabetic())
        .map_or(before, |at| {
            before[at..].trim_start_matches(|c: char| !c.is_alphabetic())
        });
    words.iter().any(|known| known.eq_ignore_ascii_case(word))
}

/// Length of a date at the start of text, `2026-03-12`.
fn date_length(text: &str) -> Option<usize> {
    let bytes = text.as_bytes().get(..10)?;
    let is_date = bytes.iter().enumerate().all(|(at, byte)| match at {
        4 | 7 => *byte == b'-',
        _ => byte.is_ascii_digit(),
    });
    is_date.then_some(10)
}

/// Where the letters and digits around a digit end.
fn end_of_token(text: &str, digit: usize) -> usize {
    let rest = &text[digit..];
    let len = rest
        .find(|c: char| !c.is_alphanumeric() && c != '_')
        .unwrap_or(rest.len());
    digit + len
}

/// Where a row of digits with points, commas, colons and spaces between them
/// ends.
fn end_of_numeral(text: &str, from: usize) -> usize {
    let mut chars = text[from..].char_indices().peekable();
    let mut end = from;
    while let Some((at, c)) = chars.next() {
        let joins = is_space(c) || matches!(c, '.' | ',' | ':' | '/' | '^');
        let digit_next = chars.peek().is_some_and(|(_, next)| next.is_ascii_digit());
        if !(c.is_ascii_digit() || joins && digit_next) {
            break;
        }
        end = from + at + c.len_utf8();
    }
    end
}

/// The unit that follows a number, and where it ends.
fn unit_after(text: &str, start: usize, end: usize) -> Option<(Unit, usize)> {
    let rest = &text[end..];
    let first = rest.chars().next()?;
    let spaced = is_space(first);
    let hyphen = first == '-';
    let skip = if spaced || hyphen {
        first.len_utf8()
    } else {
        0
    };
    let (unit, len) = longest_unit(&rest[skip..])?;
    let symbol = &rest[skip..skip + len];
    let follows = &rest[skip + len..];
    let sits = Sits {
        number: &text[start..end],
        spaced,
        hyphen,
        follows,
    };
    sits.is_meant(symbol).then_some((unit, end + skip + len))
}

/// The longest text that reads as a unit and ends where a unit may end.
fn longest_unit(text: &str) -> Option<(Unit, usize)> {
    if text.starts_with("dB SPL") && ends_here(&text[6..]) {
        return Some((Unit::from_symbol("dB SPL").ok()?, 6));
    }
    // Most numbers are followed by no unit; this saves trying.
    let may_begin = |c: char| c.is_alphabetic() || "°%℃".contains(c);
    if !text.starts_with(may_begin) && !text.starts_with("1/") {
        return None;
    }
    let window = &text[..text.floor_char_boundary(LONGEST_UNIT)];
    let mut bracketed = false;
    let stretch = window
        .find(|c: char| {
            bracketed = c == '(' || (bracketed && c != ')');
            let belongs = c.is_alphanumeric() || "°%℃/^()·⋅-−⁻".contains(c);
            !(belongs || bracketed && is_space(c))
        })
        .map_or(window, |end| &window[..end]);
    let ends = stretch
        .char_indices()
        .rev()
        .map(|(at, c)| at + c.len_utf8())
        .filter(|&end| ends_here(&text[end..]));
    for end in ends {
        let candidate = &text[..end];
        let unit = Unit::parse(candidate)
            .ok()
            .or_else(|| unit_name::read(candidate));
        if let Some(unit) = unit.filter(|unit| !unit.symbol().is_empty()) {
            return Some((unit, end));
        }
    }
    None
}

/// Whether a unit may end before this text.
fn ends_here(follows: &str) -> bool {
    let mut chars = follows.chars();
    match chars.next() {
        None => true,
        Some('/' | '·' | '⋅' | '^') => !chars.next().is_some_and(char::is_alphanumeric),
        Some(c) => !c.is_alphanumeric() && !matches!(c, '_' | '⁻'),
    }
}

/// How a symbol sits in its sentence.
struct Sits<'t> {
    number: &'t str,
    /// A space stands before the symbol.
    spaced: bool,
    /// A hyphen stands before it: `12-bit`.
    hyphen: bool,
    /// What stands after it.
    follows: &'t str,
}

impl Sits<'_> {
    /// Whether the symbol is meant as a unit. Each rule is about a way of
    /// writing met in ordinary English or in the trade.
    fn is_meant(&self, symbol: &str) -> bool {
        let glued = !self.spaced && !self.hyphen;
        if is_abbreviation(symbol) {
            return false;
        }
        match symbol {
            // "2 in the box": inches only where the phrase ends.
            "in" => self.ends_phrase(),
            // "1C" is a rate of charge by the capacity of the cell.
            "C" => false,
            // Hours of the day, and no prefixed metre.
            "am" | "pm" => false,
            // "10K" is a slip for kilohm, "3d" a matter of space, "2S" cells in series.
            "K" | "d" | "S" if glued => false,
            // "10s of volts", "the 1990s".
            "s" if glued => !self.follows.starts_with(" of ") && !self.is_year(),
            // "25 ° C" is a temperature, written apart.
            "°" => !self
                .follows
                .trim_start_matches(is_space)
                .starts_with(['C', 'F']),
            // "sheet 3-A" and the like; "12-bit", "3.3-V rail" are quantities.
            _ if self.hyphen => {
                // One letter after a hyphen mostly is a name.
                symbol.chars().count() > 1 || matches!(symbol, "V" | "W" | "Ω" | "%")
            }
            _ => true,
        }
    }

    fn ends_phrase(&self) -> bool {
        let follows = self.follows.trim_start_matches(is_space);
        follows.is_empty() || follows.starts_with(['.', ',', ';', ':', ')', '×', '±'])
    }

    fn is_year(&self) -> bool {
        let year = self.number.as_bytes();
        year.len() == 4 && matches!(year[..2], [b'1', b'9'] | [b'2', b'0'])
    }
}

/// Whether a symbol with a prefix that hardly anybody uses is more likely an
/// abbreviation: `2 PV panels`, `3 TV sets`, `as`. Hectopascal, terahertz and
/// teraohm are in use.
fn is_abbreviation(symbol: &str) -> bool {
    let mut letters = symbol.chars();
    let rare = matches!(letters.next(), Some('a' | 'h' | 'P' | 'E' | 'T'));
    let in_use = matches!(symbol, "hPa" | "THz" | "TΩ");
    rare && !in_use && Unit::from_symbol(letters.as_str()).is_ok()
}

#[cfg(test)]
#[path = "loose_tests.rs"]
mod tests;
