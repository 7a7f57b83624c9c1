//! Words in comments and in quotation marks.

use super::number::in_words;
use super::{Constant, Limit};

/// Characters that turn the direction of text around: what follows them would
/// read otherwise than it is compiled.
fn turns(c: char) -> bool {
    matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Whether a character has to be written as an escape in quotation marks.
fn is_escaped(c: char) -> bool {
    c.is_control() || turns(c) || matches!(c, '\u{2028}' | '\u{2029}')
}

/// Words on one line of a comment.
pub(super) fn on_a_line(words: &str) -> String {
    let plain = words.chars().map(|c| if is_escaped(c) { ' ' } else { c });
    plain.collect::<String>().trim().to_owned()
}

/// What a constant is: its words, its unit, its spread.
pub(super) fn about(constant: &Constant) -> String {
    let Constant {
        low, high, unit, ..
    } = constant;
    let mut about = constant.means.clone();
    if !unit.is_empty() {
        about += &format!(", in {unit}");
    }
    if low < high && low.is_finite() && high.is_finite() {
        about += &format!("; {} to {}", in_words(*low), in_words(*high));
    }
    about
}

/// What a limit is: its words and its unit.
pub(super) fn about_limit(limit: &Limit) -> String {
    match limit.unit.as_str() {
        "" => limit.means.clone(),
        unit => format!("{}, in {unit}", limit.means),
    }
}

/// What a column is: its head and its unit.
pub(super) fn about_column(head: &str, unit: &str) -> String {
    match unit {
        "" => head.to_owned(),
        unit => format!("{head}, in {unit}"),
    }
}

/// Text between double quotes, in which a quote, a backslash and these marks
/// stand behind a backslash, and what has to be escaped as `escaped` writes it.
pub(super) fn literal(text: &str, marks: &[char], escaped: impl Fn(char) -> String) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            c if c == '"' || c == '\\' || marks.contains(&c) => out.extend(['\\', c]),
            c if is_escaped(c) => out += &escaped(c),
            c => out.push(c),
        }
    }
    out + "\""
}
