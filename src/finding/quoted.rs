//! Text from a file, made fit to stand in a message.

/// No name in a notebook is longer than this; longer text is cut in messages.
const LONGEST: usize = 60;

/// Text as a message shows it: cut to a length that can be read, and with
/// everything that is not seen, or that turns the direction of writing,
/// spelt out.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::new();
    for (count, c) in text.chars().enumerate() {
        if count == LONGEST {
            out.push('…');
            break;
        }
        if c.is_control() || is_unseen(c) {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

/// Characters without width and those that reorder text (Unicode Standard
/// Annex 9), with which a name can be made to look like another.
fn is_unseen(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{2069}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::quoted;

    #[test]
    fn what_cannot_be_seen_is_spelt_out() {
        assert_eq!(quoted("4.7 kΩ"), "4.7 kΩ");
        assert_eq!(quoted("a\nb\u{202e}c"), "a\\u{a}b\\u{202e}c");
    }

    #[test]
    fn long_text_is_cut() {
        let long = quoted(&"x".repeat(10_000));
        assert_eq!(long.chars().count(), 61);
        assert!(long.ends_with('…'));
    }
}
