//! Where in the file a link's address stands.
//!
//! The parser tells the bytes of a whole link, not those of its address, so
//! the raw text is scanned again. What is found must read as the address that
//! the parser read; where it does not, nothing is returned, and a finding
//! points at the whole link instead.

use std::ops::Range;

/// The address of an inline link, `[text](address "title")`. The text ends at
/// `text_end`, the link at `end`.
pub(super) fn of_inline(
    source: &str,
    text_end: usize,
    end: usize,
    is: &str,
) -> Option<Range<usize>> {
    let rest = source.get(text_end..end)?;
    let open = text_end + rest.find("](")? + 2;
    scan(source, open..end, is)
}

/// The address in a definition, `[label]: address "title"`.
pub(super) fn of_definition(source: &str, span: Range<usize>, is: &str) -> Option<Range<usize>> {
    let text = source.get(span.clone())?;
    let colon = text
        .match_indices("]:")
        .map(|(at, _)| at)
        .find(|&at| !text[..at].ends_with('\\'))?;
    scan(source, span.start + colon + 2..span.end, is)
}

/// Finds an address at the start of a stretch, after any white space.
fn scan(source: &str, stretch: Range<usize>, is: &str) -> Option<Range<usize>> {
    let text = source.get(stretch.clone())?;
    let trimmed = text.trim_start_matches([' ', '\t', '\r', '\n']);
    let start = stretch.start + (text.len() - trimmed.len());
    let found = match trimmed.strip_prefix('<') {
        Some(inner) => start + 1..start + 1 + length(inner, |c, _| c == '>'),
        None => {
            let ends = |c: char, depth: usize| c.is_ascii_whitespace() || (c == ')' && depth == 0);
            start..start + length(trimmed, ends)
        }
    };
    let raw = &source[found.clone()];
    let plain = !raw.contains(['\\', '&']);
    (!plain || raw == is).then_some(found)
}

/// Bytes up to the first letter that ends an address, escapes left out.
/// Parentheses nest.
fn length(text: &str, ends: impl Fn(char, usize) -> bool) -> usize {
    let mut depth = 0;
    let mut escaped = false;
    for (at, c) in text.char_indices() {
        if escaped {
            escaped = false;
        } else if ends(c, depth) {
            return at;
        } else {
            match c {
                '\\' => escaped = true,
                '(' => depth += 1,
                ')' => depth = depth.saturating_sub(1),
                _ => {}
            }
        }
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inline<'a>(source: &'a str, text: &str, is: &str) -> Option<&'a str> {
        let text_end = source.find(text)? + text.len();
        of_inline(source, text_end, source.len(), is).map(|range| &source[range])
    }

    #[test]
    fn the_address_lies_between_the_parentheses() {
        assert_eq!(inline("[a](figure:x)", "a", "figure:x"), Some("figure:x"));
        assert_eq!(inline("[a]( b.md 'T' )", "a", "b.md"), Some("b.md"));
        assert_eq!(inline("[a](<b c.md>)", "a", "b c.md"), Some("b c.md"));
        assert_eq!(inline("[a](b(c)d)", "a", "b(c)d"), Some("b(c)d"));
        assert_eq!(inline("[a](b\\)c)", "a", "b)c"), Some("b\\)c"));
        assert_eq!(inline("[a]()", "a", ""), Some(""));
    }

    #[test]
    fn an_address_that_reads_otherwise_is_not_taken() {
        assert_eq!(inline("[a](\n> b.md)", "a", "b.md"), None);
    }

    #[test]
    fn a_definition_has_its_address_after_the_colon() {
        let source = "[a\\]: b]: <c d> 'T'";
        let found = of_definition(source, 0..source.len(), "c d");
        assert_eq!(found.map(|range| &source[range]), Some("c d"));
    }
}
