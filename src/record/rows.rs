//! Rows of cells, as RFC 4180 has them, each cell with its place.
//!
//! A bill of materials is held against records cell by cell, and each finding
//! needs the line and column of its cell. A reader that is lenient would also
//! pass over the slips that make two cells one; here they are told.

use std::ops::Range;

/// A cell.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Cell {
    /// What it says, without quotation marks and the spaces around it.
    pub text: String,
    /// Where that stands, between the quotation marks.
    pub span: Range<usize>,
}

/// What is wrong with a text as rows of cells.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum RowFault {
    /// A quotation mark that opens a cell and is never closed.
    Unclosed(Range<usize>),
    /// Something between a closing quotation mark and the end of the cell.
    BehindQuote(Range<usize>),
    /// A quotation mark in a cell that does not begin with one.
    StrayQuote(Range<usize>),
}

impl RowFault {
    /// Where it is.
    pub fn span(&self) -> Range<usize> {
        let (RowFault::Unclosed(span) | RowFault::BehindQuote(span) | RowFault::StrayQuote(span)) =
            self;
        span.clone()
    }

    /// What it is, in a sentence.
    pub fn says(&self) -> &'static str {
        match self {
            RowFault::Unclosed(_) => "a quotation mark opens a cell and is never closed",
            RowFault::BehindQuote(_) => {
                "something stands behind the quotation mark that closes a cell"
            }
            RowFault::StrayQuote(_) => {
                "a quotation mark stands in a cell that does not begin with one"
            }
        }
    }
}

/// All rows of a text, empty ones left out.
pub(crate) fn rows(text: &str, separator: char) -> (Vec<Vec<Cell>>, Vec<RowFault>) {
    let mut rows = Vec::new();
    let mut faults = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let mut row = Vec::new();
        loop {
            let (cell, end) = cell(text, at, separator, &mut faults);
            row.push(cell);
            at = end;
            match text[at..].chars().next() {
                Some(next) if next == separator => at += separator.len_utf8(),
                _ => break,
            }
        }
        let rest = &text[at..];
        at += rest.len() - rest.strip_prefix('\r').unwrap_or(rest).len();
        let rest = &text[at..];
        at += rest.len() - rest.strip_prefix('\n').unwrap_or(rest).len();
        if row.iter().any(|cell| !cell.text.is_empty()) {
            rows.push(row);
        }
    }
    (rows, faults)
}

/// The cell that begins at a byte, and where it ends.
fn cell(text: &str, at: usize, separator: char, faults: &mut Vec<RowFault>) -> (Cell, usize) {
    let ends = |c: char| c == separator || c == '\r' || c == '\n';
    let rest = &text[at..];
    let blank = |c: char| c.is_whitespace() && !ends(c);
    let start = at + rest.len() - rest.trim_start_matches(blank).len();
    if !text[start..].starts_with('"') {
        let end = text[at..].find(ends).map_or(text.len(), |end| at + end);
        if let Some(quote) = text[at..end].find('"') {
            faults.push(RowFault::StrayQuote(at + quote..at + quote + 1));
        }
        return (trimmed(text, at..end), end);
    }
    let inner = start + 1;
    let mut written = String::new();
    let mut from = inner;
    let close = loop {
        let Some(quote) = text[from..].find('"').map(|quote| from + quote) else {
            // What is open swallows the rest; telling where it opens is enough.
            faults.push(RowFault::Unclosed(start..inner));
            let cell = trimmed(text, inner..text.len());
            return (cell, text.len());
        };
        written.push_str(&text[from..quote]);
        if !text[quote + 1..].starts_with('"') {
            break quote;
        }
        written.push('"');
        from = quote + 2;
    };
    let end = text[close + 1..]
        .find(ends)
        .map_or(text.len(), |end| close + 1 + end);
    let behind = trimmed(text, close + 1..end);
    if !behind.text.is_empty() {
        faults.push(RowFault::BehindQuote(behind.span));
    }
    let cell = Cell {
        text: written.trim().to_owned(),
        span: trimmed(text, inner..close).span,
    };
    (cell, end)
}

fn trimmed(text: &str, span: Range<usize>) -> Cell {
    let whole = &text[span.clone()];
    let start = span.start + whole.len() - whole.trim_start().len();
    let bare = whole.trim();
    Cell {
        text: bare.to_owned(),
        span: start..start + bare.len(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(text: &str, separator: char) -> Vec<Vec<String>> {
        let (rows, faults) = rows(text, separator);
        assert_eq!(faults, []);
        let texts = |row: Vec<Cell>| row.into_iter().map(|cell| cell.text).collect();
        rows.into_iter().map(texts).collect()
    }

    #[test]
    fn cells_are_read_as_the_rfc_has_them() {
        // Examples of RFC 4180, section 2: line ends, quoted cells, a line end, a
        // separator and a quotation mark within quotes.
        let plain = [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]];
        assert_eq!(texts("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", ','), plain);
        assert_eq!(texts("aaa,bbb,ccc\nzzz,yyy,xxx", ','), plain);
        let quoted = "\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx";
        assert_eq!(texts(quoted, ',')[0], ["aaa", "b\r\nbb", "ccc"]);
        assert_eq!(
            texts("\"aaa\",\"b\"\"bb\",\"c,c\"", ','),
            [["aaa", "b\"bb", "c,c"]]
        );
    }

    #[test]
    fn other_separators_empty_cells_and_empty_lines_are_read() {
        assert_eq!(
            texts("a;b;\n\n;;\nc; d ;e", ';'),
            [["a", "b", ""], ["c", "d", "e"]]
        );
        assert_eq!(texts("a\t\"b\tc\"\r", '\t'), [["a", "b\tc"]]);
        assert!(texts("\n\r\n", ',').is_empty());
    }

    #[test]
    fn places_are_those_of_the_text_between_quotation_marks() {
        let text = "R1, \"4k7\" ,x\n";
        let (rows, _) = rows(text, ',');
        let spans = rows[0].iter().map(|cell| &text[cell.span.clone()]);
        assert_eq!(spans.collect::<Vec<_>>(), ["R1", "4k7", "x"]);
    }

    #[test]
    fn slips_that_make_two_cells_one_are_told() {
        let faults = |text| rows(text, ',').1;
        assert_eq!(faults("a,\"b,c\nd"), [RowFault::Unclosed(2..3)]);
        assert_eq!(faults("\"a\"b,c"), [RowFault::BehindQuote(3..4)]);
        assert_eq!(faults("a 3\" nail,c"), [RowFault::StrayQuote(3..4)]);
    }

    #[test]
    fn whatever_is_written_ends_and_has_its_places() {
        // Lehmer's generator; what it makes is the same each time.
        let mut state = 42u64;
        let mut draw = move |below: u64| {
            state = state * 48_271 % 2_147_483_647;
            state % below
        };
        let letters = ['a', '"', ',', ';', '\t', '\r', '\n', 'µ', ' ', '\u{a0}'];
        for _ in 0..2_000 {
            let length = draw(24);
            let text: String = (0..length).map(|_| letters[draw(10) as usize]).collect();
            for separator in [',', ';', '\t'] {
                let (rows, faults) = rows(&text, separator);
                let places = rows.iter().flatten().map(|cell| cell.span.clone());
                for place in places.chain(faults.iter().map(RowFault::span)) {
                    assert!(text.get(place.clone()).is_some(), "{place:?} of {text:?}");
                }
            }
            let (listed, faults) = crate::record::designators(&text);
            let places = listed.iter().map(|listed| listed.span.clone());
            for place in places.chain(faults.into_iter().map(|fault| fault.span)) {
                assert!(text.get(place.clone()).is_some(), "{place:?} of {text:?}");
            }
        }
    }
}
