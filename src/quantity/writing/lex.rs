//! Text to numerals, words, spaces and marks, with their places.
//!
//! Any text is read; nothing here is wrong or right yet.

use std::ops::Range;

/// What a stretch of text is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    /// A numeral with its groups of digits and its power of ten, as far as it
    /// was meant as one: `1,000.5`, `.5`, `10 000`, `3 × 10^6`.
    Number,
    /// Letters, and what a unit has beside letters: `kΩ`, `%`, `°C`, `m^-2`.
    Word,
    /// Space of any width.
    Space,
    /// Any other character.
    Mark(char),
}

/// A stretch of text.
#[derive(Clone, Copy, Debug)]
pub(super) struct Token<'a> {
    pub(super) kind: Kind,
    pub(super) text: &'a str,
    pub(super) start: usize,
}

impl Token<'_> {
    pub(super) fn end(&self) -> usize {
        self.start + self.text.len()
    }

    pub(super) fn span(&self) -> Range<usize> {
        self.start..self.end()
    }

    pub(super) fn is_mark(&self, mark: char) -> bool {
        self.kind == Kind::Mark(mark)
    }
}

/// Exponents written above the line.
const RAISED: &str = "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻";

/// Splits a text. The tokens follow one another without a gap.
pub(super) fn tokens(text: &str) -> Vec<Token<'_>> {
    let mut tokens: Vec<Token<'_>> = Vec::new();
    let mut at = 0;
    while let Some(first) = text[at..].chars().next() {
        let rest = &text[at..];
        let before = tokens.last();
        let (kind, len) = if let Some(len) = times_sign(rest, before) {
            (Kind::Mark('×'), len)
        } else if let Some(len) = number(rest, before) {
            (Kind::Number, len)
        } else if let Some(len) = word(rest) {
            (Kind::Word, len)
        } else if first.is_whitespace() {
            (Kind::Space, run(rest, char::is_whitespace))
        } else {
            (Kind::Mark(first), first.len_utf8())
        };
        tokens.push(Token {
            kind,
            text: &rest[..len],
            start: at,
        });
        at += len;
    }
    tokens
}

/// How many bytes at the start of `text` are of a kind.
fn run(text: &str, of_kind: impl Fn(char) -> bool) -> usize {
    text.find(|c| !of_kind(c)).unwrap_or(text.len())
}

fn digits(text: &str) -> usize {
    run(text, |c| c.is_ascii_digit())
}

/// An `x` right between two numerals, as in `3x4`; but not in `0x1F`.
fn times_sign(text: &str, before: Option<&Token<'_>>) -> Option<usize> {
    let rest = text.strip_prefix(['x', 'X'])?;
    let after_number = before.is_some_and(|token| token.kind == Kind::Number && token.text != "0");
    (after_number && rest.starts_with(|c: char| c.is_ascii_digit())).then_some(1)
}

fn number(text: &str, before: Option<&Token<'_>>) -> Option<usize> {
    let bare_sign = text.starts_with(['.', ',']) && digits(&text[1..]) > 0;
    // `a.5` and `..5` have no zero missing, and a list `1 ,5` is no value.
    let may_lack_zero = before.is_none_or(|token| match token.kind {
        Kind::Space => text.starts_with('.'),
        Kind::Mark(mark) => !matches!(mark, '.' | ',' | ')'),
        Kind::Number | Kind::Word => false,
    });
    let mut at = match digits(text) {
        0 if bare_sign && may_lack_zero => 0,
        0 => return None,
        len => len,
    };
    let mut group = at;
    loop {
        let mut rest = text[at..].chars();
        let Some(sign) = rest.next() else { break };
        let follow = digits(rest.as_str());
        let joins = match sign {
            '.' | ',' => follow > 0,
            '\'' | '’' => follow == 3 && group <= 3 && !after_degree(before),
            // Groups of three after one to three digits.
            c if crate::quantity::is_space(c) => follow == 3 && (1..=3).contains(&group),
            _ => false,
        };
        if !joins {
            break;
        }
        at += sign.len_utf8() + follow;
        group = follow;
    }
    Some(at + exponent(&text[at..]))
}

fn after_degree(before: Option<&Token<'_>>) -> bool {
    before.is_some_and(|token| matches!(token.text, "°" | "'" | "′"))
}

/// A power of ten at the start of `text`: `e-3`, `×10^6`, ` × 10⁶`, or an
/// exponent of the numeral itself: `^6`.
fn exponent(text: &str) -> usize {
    let signed = |text: &str| {
        let unsigned = text.strip_prefix(['-', '+', '−']).unwrap_or(text);
        match digits(unsigned) {
            0 => 0,
            len => text.len() - unsigned.len() + len,
        }
    };
    if let Some(rest) = text.strip_prefix(['e', 'E']) {
        let len = signed(rest);
        let ends = !rest[len..].starts_with(|c: char| c.is_alphanumeric() || c == '_');
        return if len > 0 && ends { 1 + len } else { 0 };
    }
    let raise = |text: &str| match text.strip_prefix('^') {
        Some(rest) if signed(rest) > 0 => 1 + signed(rest),
        Some(_) => 0,
        None => run(text, |c| RAISED.contains(c)),
    };
    let base = text.trim_start_matches(crate::quantity::is_space);
    let Some(base) = base.strip_prefix(['×', '·', '⋅', 'x', '*']) else {
        return raise(text);
    };
    let base = base.trim_start_matches(crate::quantity::is_space);
    match base.strip_prefix("10").map(|rest| (rest, raise(rest))) {
        Some((rest, len)) if len > 0 => text.len() - rest.len() + len,
        _ => 0,
    }
}

fn word(text: &str) -> Option<usize> {
    let first = text.chars().next()?;
    if first == '°' {
        let rest = &text[first.len_utf8()..];
        let letters = run(rest, char::is_alphabetic);
        let scale = matches!(&rest[..letters], "C" | "F" | "K");
        return Some(first.len_utf8() + if scale { letters } else { 0 });
    }
    if matches!(first, '%' | '‰' | '℃' | '℉') {
        return Some(first.len_utf8());
    }
    if !first.is_alphabetic() {
        return None;
    }
    let base = run(text, |c| {
        c.is_alphabetic() || c.is_ascii_digit() || c == '_'
    });
    Some(base + word_exponent(&text[base..]))
}

/// An exponent at the end of a unit symbol: `^2`, `^-1`, `²`, `⁻¹`.
fn word_exponent(text: &str) -> usize {
    let Some(rest) = text.strip_prefix('^') else {
        return run(text, |c| RAISED.contains(c));
    };
    let unsigned = rest.strip_prefix(['-', '+', '−']).unwrap_or(rest);
    match digits(unsigned) {
        0 => 0,
        len => 1 + rest.len() - unsigned.len() + len,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn split(text: &str) -> Vec<&str> {
        let tokens = tokens(text);
        let joined: String = tokens.iter().map(|token| token.text).collect();
        assert_eq!(joined, text, "tokens follow one another without a gap");
        tokens.iter().map(|token| token.text).collect()
    }

    #[test]
    fn numerals_keep_their_groups_and_powers() {
        assert_eq!(split("10 000.5 Hz"), ["10 000.5", " ", "Hz"]);
        assert_eq!(split("1,000 V"), ["1,000", " ", "V"]);
        assert_eq!(split(".5 V"), [".5", " ", "V"]);
        assert_eq!(split("1.5e-3 V"), ["1.5e-3", " ", "V"]);
        assert_eq!(split("3 × 10⁶ m"), ["3 × 10⁶", " ", "m"]);
        assert_eq!(split("10^6/m^3"), ["10^6", "/", "m^3"]);
        assert_eq!(split("1'000 V"), ["1'000", " ", "V"]);
    }

    #[test]
    fn digits_inside_a_word_are_no_numerals() {
        assert_eq!(split("R12 = 4k7"), ["R12", " ", "=", " ", "4", "k7"]);
        assert_eq!(split("W/(m K)"), ["W", "/", "(", "m", " ", "K", ")"]);
        assert_eq!(split("m⁻¹"), ["m⁻¹"]);
    }

    #[test]
    fn degrees_of_angle_and_of_temperature() {
        assert_eq!(split("30.2 °C"), ["30.2", " ", "°C"]);
        assert_eq!(split("30°22'8\""), ["30", "°", "22", "'", "8", "\""]);
        assert_eq!(split("30° C"), ["30", "°", " ", "C"]);
    }

    #[test]
    fn a_times_sign_is_told_from_a_letter() {
        assert_eq!(split("3x4 mm"), ["3", "x", "4", " ", "mm"]);
        assert_eq!(split("0x1F"), ["0", "x1F"]);
    }

    #[test]
    fn any_text_is_read() {
        for text in [
            "",
            "°",
            "^",
            "1e",
            "×10^",
            ".",
            "5.",
            "é\u{301}µ²^",
            "１２",
            "5 \u{2009}",
        ] {
            split(text);
        }
    }
}
