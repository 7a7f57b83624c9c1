//! Text on its way to a terminal: made harmless, measured and broken into lines.
//!
//! A notebook is text that somebody sent in. Nothing in it may move the cursor,
//! change a colour or turn the reading direction of the report it appears in.

use unicode_width::UnicodeWidthChar;

/// The character that is shown for one that a terminal might act upon.
///
/// One character stands for one character, so that columns stay true. C0 control
/// characters are shown by their pictures (Unicode block U+2400); C1 control
/// characters, marks of reading direction, line and paragraph separators and
/// noncharacters by U+FFFD. A tab and a line feed are left to the caller.
pub(super) fn harmless(c: char) -> char {
    match c {
        '\t' | '\n' => c,
        // Every sum is below U+2420, within the block of control pictures.
        '\0'..='\u{1f}' => char::from_u32(0x2400 + u32::from(c)).unwrap_or('\u{fffd}'),
        '\u{7f}' => '\u{2421}',
        '\u{80}'..='\u{9f}'
        | '\u{61c}'
        | '\u{200e}'
        | '\u{200f}'
        | '\u{2028}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}'
        | '\u{fdd0}'..='\u{fdef}' => '\u{fffd}',
        _ => c,
    }
}

/// Text for a single line: harmless, and with spaces for tabs and line feeds.
pub(super) fn one_line(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\t' | '\n' => ' ',
            _ => harmless(c),
        })
        .collect()
}

/// Columns that a character takes, a tab being drawn as four spaces.
pub(super) fn char_width(c: char) -> usize {
    match c {
        '\t' => 4,
        _ => harmless(c).width().unwrap_or(1),
    }
}

/// Columns that text takes.
pub(super) fn width(text: &str) -> usize {
    text.chars().map(char_width).sum()
}

/// Harmless text, broken at spaces into lines of at most so many columns.
///
/// Line feeds stay. A word that is longer than a line keeps a line to itself,
/// and a numeral is not parted from the unit that follows it.
pub(super) fn wrapped(text: &str, columns: usize) -> String {
    let lines: Vec<String> = text
        .split('\n')
        .map(|line| wrapped_line(&one_line(line), columns))
        .collect();
    lines.join("\n")
}

fn wrapped_line(line: &str, columns: usize) -> String {
    let mut out = String::with_capacity(line.len());
    let mut used = 0;
    for piece in unbroken_pieces(line) {
        let wide = width(piece.trim_end_matches(' '));
        if used > 0 && used + wide > columns {
            // The space before the break is dropped; the line feed stands for it.
            out.truncate(out.trim_end_matches(' ').len());
            out.push('\n');
            used = 0;
        }
        out.push_str(piece);
        used += width(piece);
    }
    out
}

/// The stretches of a line between which it may be broken, each with the
/// spaces that follow it.
fn unbroken_pieces(line: &str) -> Vec<&str> {
    let mut pieces = Vec::new();
    let mut start = 0;
    let mut before = None;
    let mut chars = line.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        if c != ' ' {
            before = Some(c);
            continue;
        }
        if let Some(&(next, after)) = chars.peek()
            && after != ' '
            && !is_numeral_and_unit(before, after)
        {
            debug_assert_eq!(next, at + 1);
            pieces.push(&line[start..next]);
            start = next;
        }
    }
    pieces.push(&line[start..]);
    pieces
}

/// Whether the character before a space and the one after it may belong to a
/// numeral and its unit (SI Brochure, 5.4.3: the two are not parted).
fn is_numeral_and_unit(before: Option<char>, after: char) -> bool {
    before.is_some_and(|c| c.is_ascii_digit())
        && (after.is_alphabetic() || matches!(after, '°' | '%' | '±'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_character_that_a_terminal_acts_upon_gets_through() {
        let nasty = "\u{1b}[2J\u{9b}31m\u{202e}txet\u{7f}\r\0";
        let shown = one_line(nasty);
        assert_eq!(shown, "␛[2J�31m�txet␡␍␀");
        assert_eq!(shown.chars().count(), nasty.chars().count());
        assert!(('\0'..='\u{10ffff}').all(|c| c == '\t' || c == '\n' || !harmless(c).is_control()));
    }

    #[test]
    fn what_engineers_write_is_left_alone() {
        let text = "R1 = 4.7 kΩ ±1 %, −40 °C, 10 µF";
        assert_eq!(one_line(text), text);
        assert_eq!(width(text), text.chars().count());
        assert_eq!(width("電圧"), 4, "wide characters take two columns");
    }

    #[test]
    fn long_text_is_broken_at_spaces() {
        assert_eq!(
            wrapped("stated 201 mA, comes to 196 mA", 14),
            "stated 201 mA,\ncomes to\n196 mA"
        );
        assert_eq!(
            wrapped("a\n  b indented c", 80),
            "a\n  b indented c",
            "lines and indents that fit stay as they are"
        );
        assert_eq!(wrapped("incomprehensibilities", 5), "incomprehensibilities");
        assert_eq!(wrapped("", 5), "");
    }
}
