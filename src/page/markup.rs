//! Markup that is written here and not in a template.

use std::borrow::Cow;
use std::fmt::Write;

/// The text of a page: what is none is replaced. Nearly always all of it is, and
/// that is soon seen.
pub(crate) fn text_of(page: &[u8]) -> Cow<'_, str> {
    std::str::from_utf8(page).map_or_else(|_| String::from_utf8_lossy(page), Cow::Borrowed)
}

/// The pieces of text between the tags of HTML that Ohmbook has written.
pub(crate) fn between_tags(html: &str) -> impl Iterator<Item = &str> {
    html.split('<').enumerate().map(|(at, piece)| match at {
        0 => piece,
        _ => piece.split_once('>').map_or("", |(_, after)| after),
    })
}

/// Text for an element or for an attribute in double quotes.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            _ => out.push(c),
        }
    }
    out
}

/// Text in which names stand between backticks, as findings write them.
pub(crate) fn with_names(text: &str) -> String {
    let mut out = String::new();
    let pieces: Vec<&str> = text.split('`').collect();
    // A backtick without a partner is only a letter.
    let paired = pieces.len().is_multiple_of(2).then(|| pieces.len() - 1);
    for (at, piece) in pieces.iter().enumerate() {
        let piece_html = escaped(piece);
        if paired == Some(at) {
            let _ = write!(out, "`{piece_html}");
        } else if at % 2 == 1 {
            let _ = write!(out, "<code>{piece_html}</code>");
        } else {
            out.push_str(&piece_html);
        }
    }
    out
}

/// A row of tally marks in fives, those amiss at the end. It is drawn beside
/// the count in words, so it says nothing to those who do not see it.
pub(crate) fn tally_marks(hold: usize, of: usize) -> String {
    /// More than this many marks say no more than the number beside them.
    const MOST: usize = 250;
    /// Marks in one picture: a line has room for several, and they wrap.
    const TOGETHER: usize = 25;
    if of > MOST {
        return String::new();
    }
    let mut html = String::new();
    for start in (0..of).step_by(TOGETHER) {
        let (mut sound, mut amiss, mut right) = (String::new(), String::new(), 0);
        for mark in start..of.min(start + TOGETHER) {
            let (group, place) = ((mark - start) / 5, mark % 5);
            let left = group * 26 + 2;
            let path = if mark < hold { &mut sound } else { &mut amiss };
            if place == 4 {
                let _ = write!(path, "M{} 13L{} 3", left - 2, left + 17);
                right = left + 19;
            } else {
                // Drawn by hand, no stroke stands quite straight.
                let x = left + place * 5;
                let lean = (mark * 7) % 3;
                let _ = write!(path, "M{x} 14L{} 2", x + lean);
                right = x + 4;
            }
        }
        let _ = write!(
            html,
            "<svg viewBox=\"0 0 {right} 16\" width=\"{right}\" height=\"16\" aria-hidden=\"true\">"
        );
        for (class, path) in [("", sound), (" class=\"amiss\"", amiss)] {
            if !path.is_empty() {
                let _ = write!(html, "<path{class} d=\"{path}\"/>");
            }
        }
        html += "</svg>";
    }
    html
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_between_backticks_are_set_apart() {
        assert_eq!(with_names("`a<b` is 5"), "<code>a&lt;b</code> is 5");
        assert_eq!(
            with_names("`a` and `b`"),
            "<code>a</code> and <code>b</code>"
        );
        assert_eq!(with_names("`a` or `"), "<code>a</code> or `");
        assert_eq!(with_names("none"), "none");
    }

    #[test]
    fn every_figure_has_a_tally_mark() {
        let marks = tally_marks(6, 7);
        assert_eq!(marks.matches('M').count(), 7);
        let amiss = marks.split("amiss").nth(1).unwrap_or("");
        assert_eq!(amiss.matches('M').count(), 1);
        assert_eq!(tally_marks(0, 0), "");
        // A picture has 25 at most, so that all are drawn alike and wrap.
        let marks = tally_marks(40, 51);
        assert_eq!(marks.matches('M').count(), 51);
        assert_eq!(marks.matches("<svg").count(), 3);
        assert_eq!(marks.matches("class=\"amiss\"").count(), 2);
    }
}
