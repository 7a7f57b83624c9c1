//! Widths of text that no font has been loaded for.

/// Width of a text, in em, rounded towards too wide.
///
/// The page's lettering depends on what the reader has installed. The widths
/// are those of the widest face among the usual ones (Arial and its metric
/// twins, seen in a browser, no source), a little more for groups of letters.
/// A narrower face leaves a gap; one that is wider by a tenth still stays
/// within the air around every text.
pub(super) fn ems(text: &str) -> f64 {
    text.chars().map(em).sum()
}

fn em(c: char) -> f64 {
    match c {
        '\u{300}'..='\u{36f}' | '\u{200b}'..='\u{200d}' => 0.0,
        ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' => 0.29,
        'i' | 'j' | 'l' | '\'' | '.' | ',' | ':' | ';' | '|' | 'I' => 0.3,
        'f' | 'r' | 't' | '(' | ')' | '[' | ']' | '/' | '-' | '°' => 0.4,
        'm' | 'w' | 'M' | 'W' | '%' | '@' | '—' | '…' => 0.95,
        'Ω' | '\u{2126}' => 0.8,
        'A'..='Z' => 0.74,
        '0'..='9' | 'a'..='z' | 'µ' | 'μ' => 0.58,
        '±' | '−' | '+' | '=' | '<' | '>' | '≤' | '≥' | '≈' | '×' => 0.62,
        c if c.is_ascii() => 0.62,
        c if wide(c) => 1.05,
        _ => 0.78,
    }
}

/// East Asian letters and pictures, which take a full em.
fn wide(c: char) -> bool {
    matches!(c, '\u{1100}'..='\u{115f}' | '\u{2e80}'..='\u{a4cf}' | '\u{ac00}'..='\u{d7a3}'
        | '\u{f900}'..='\u{faff}' | '\u{fe30}'..='\u{fe6f}' | '\u{ff00}'..='\u{ff60}'
        | '\u{1f000}'..='\u{3fffd}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_is_measured_and_not_its_bytes() {
        assert!(ems("Ω") < 2.0 * ems("A"));
        assert!(ems("µ") < ems("µµ"));
        assert!(ems("電") > ems("A"));
        assert!(ems("").abs() < 1e-12);
    }
}
