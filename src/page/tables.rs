//! Every table of a page as a file (RFC 4180), with a link to it below the table.
//!
//! The files are made from the finished page, so that they say what it says, and
//! no template has to think of them.

use camino::{Utf8Path, Utf8PathBuf};
use memchr::memmem;

use super::leaves::href;
use crate::emit::csv_line;

/// A page with its links, and the files.
pub(super) fn with_files(path: &Utf8Path, html: String) -> (String, Vec<(Utf8PathBuf, String)>) {
    // Many pages have none, and are long.
    match find(&html, "<table") {
        Some(_) => linked(path, &html),
        None => (html, Vec::new()),
    }
}

fn linked(path: &Utf8Path, html: &str) -> (String, Vec<(Utf8PathBuf, String)>) {
    let folder = path.parent().unwrap_or(Utf8Path::new(""));
    let stem = path.file_stem().unwrap_or("sheet");
    let end = find(html, "</main>").unwrap_or(html.len());
    let (mut out, mut files) = (String::with_capacity(html.len() + 512), Vec::new());
    let mut done = 0;
    let mut is_behind = false;
    while let Some(found) = find(&html[done..end], "<table") {
        let start = done + found;
        let Some(length) = find(&html[start..end], "</table>") else {
            break;
        };
        let close = start + length + "</table>".len();
        out.push_str(&html[done..start]);
        let table = &html[start..close];
        // Behind a drawing lies a shortened table; its file has all digits.
        let between = &html[done..start];
        is_behind = match (between.rfind("<details"), between.rfind("</details>")) {
            (None, None) => is_behind,
            (opened, closed) => opened > closed,
        };
        done = close;
        if is_behind {
            out.push_str(table);
            continue;
        }
        let rows = rows(table);
        // In its own element a wide table is scrolled, and words stay whole.
        let opened = between.rfind("<div class=\"table\"");
        let scrolls = opened.is_some() && opened == between.rfind('<');
        match table.strip_prefix("<table class=\"") {
            Some(rest) if !scrolls && has_long_words(&rows) => {
                out.push_str("<table class=\"long ");
                out.push_str(rest);
            }
            _ => out.push_str(table),
        }
        if rows.len() < 2 {
            continue;
        }
        let file = folder
            .join("data")
            .join(format!("{stem}-{}.csv", files.len() + 1));
        out.push_str(&format!(
            "<p class=\"csv\"><a href=\"{}\" download>CSV</a></p>",
            super::markup::escaped(&href(path, &file))
        ));
        files.push((file, csv(&rows)));
    }
    out.push_str(&html[done..]);
    (out, files)
}

/// As [`str::find`], with the wide steps of the processor: pages are long.
fn find(text: &str, wanted: &str) -> Option<usize> {
    memmem::find(text.as_bytes(), wanted.as_bytes())
}

/// Whether the longest words of all columns do not fit beside one another on a
/// middling screen. Such words may be broken anywhere.
fn has_long_words(rows: &[Vec<String>]) -> bool {
    const ROOM: usize = 80;
    let mut longest: Vec<usize> = Vec::new();
    for row in rows {
        longest.resize(longest.len().max(row.len()), 0);
        for (most, cell) in longest.iter_mut().zip(row) {
            let words = cell.split([' ', '\u{a0}', '-']);
            *most = words
                .map(|word| word.chars().count())
                .fold(*most, usize::max);
        }
    }
    longest.iter().sum::<usize>() > ROOM
}

/// The cells of a table, row by row, tags and line ends taken out.
fn rows(table: &str) -> Vec<Vec<String>> {
    let rows = table.split("<tr").skip(1).map(|row| {
        let row = row.split("</tr>").next().unwrap_or(row);
        let mut cells = Vec::new();
        let mut rest = row;
        while let Some(at) = cell_tag(rest, "<t") {
            let cell = &rest[at..];
            let until = cell_tag(cell, "</t").unwrap_or(cell.len());
            cells.push(text(&cell[..until]));
            rest = &cell[until..];
        }
        cells
    });
    rows.filter(|row| !row.is_empty()).collect()
}

/// Where a cell begins or ends.
fn cell_tag(text: &str, tag: &str) -> Option<usize> {
    let mut tags = text.match_indices(tag);
    let found = tags.find(|(at, _)| text[at + tag.len()..].starts_with(['d', 'h']));
    found.map(|(at, _)| at)
}

/// What stands for signs that HTML has for itself; `&` last, that nothing is
/// taken for escaped which was not.
const ESCAPED: [(&str, &str); 7] = [
    ("&lt;", "<"),
    ("&gt;", ">"),
    ("&quot;", "\""),
    ("&#39;", "'"),
    ("&#x27;", "'"),
    ("&#x2F;", "/"),
    ("&amp;", "&"),
];

/// The text of a piece of HTML that Ohmbook has written.
fn text(html: &str) -> String {
    let mut out = String::new();
    let mut rest = html;
    while let Some((before, tag)) = rest.split_once('<') {
        out.push_str(before);
        // Parts of a formula belong together; other elements are set apart.
        let inline = ["/m", "m", "/code", "code", "/a", "a ", "/b>", "b>"];
        if !inline.iter().any(|name| tag.starts_with(name)) {
            out.push(' ');
        }
        rest = tag.split_once('>').map_or("", |(_, after)| after);
    }
    out.push_str(rest);
    // Most cells have nothing that is escaped.
    if out.contains('&') {
        for (escaped, plain) in ESCAPED {
            out = out.replace(escaped, plain);
        }
    }
    out.split([' ', '\n', '\t'])
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

/// Rows as RFC 4180 has them, all of one length.
pub(super) fn csv(rows: &[Vec<String>]) -> String {
    let width = rows.iter().map(Vec::len).max().unwrap_or(0);
    let padded = |row: &Vec<String>| {
        let mut row = row.clone();
        row.resize(width, String::new());
        csv_line(&row)
    };
    rows.iter().map(padded).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_becomes_a_file_with_a_link_below_it() {
        let page = "<main><table><tr><th>A</th><th>B &amp; C</th></tr><tr><td>1, 2</td>\
                    <td><b>say</b> \"so\"</td></tr><tr><th>one</th></tr></table></main><table></table>";
        let (html, files) = with_files("boards/a/x.html".into(), page.into());
        assert!(
            html.contains("</table><p class=\"csv\"><a href=\"data/x-1.csv\" download>CSV</a></p>")
        );
        assert_eq!(files.len(), 1);
        assert_eq!(files[0].0, "boards/a/data/x-1.csv");
        assert_eq!(
            files[0].1,
            "A,B & C\r\n\"1, 2\",\"say \"\"so\"\"\"\r\none,\r\n"
        );
    }

    #[test]
    fn words_that_do_not_fit_side_by_side_may_be_broken() {
        let table = |word: &str| {
            let row = format!("<tr><th>{word}</th><td>{word} {word}</td></tr>");
            format!("<table class=\"pins\">{row}{row}</table>")
        };
        let is_long = |main: &str| {
            let (html, _) = with_files("x.html".into(), format!("<main>{main}</main>"));
            html.contains("<table class=\"long pins\">")
        };
        assert!(!is_long(&table(&"a".repeat(40))));
        assert!(is_long(&table(&"a".repeat(41))));
        let scrolled = format!("<div class=\"table\">{}</div>", table(&"a".repeat(41)));
        assert!(!is_long(&scrolled));
        assert!(is_long(&format!("{scrolled}{}", table(&"a".repeat(41)))));
        // Two that touch have nothing between them.
        assert!(is_long(&format!(
            "{}{}",
            table("a"),
            table(&"a".repeat(41))
        )));
    }

    #[test]
    fn what_is_behind_a_drawing_has_its_file_already() {
        let page =
            "<main><details><table><tr><th>A</th></tr><tr><td>1</td></tr></table></details></main>";
        assert_eq!(with_files("x.html".into(), page.into()).1, []);
        // Nor does half a table harm.
        assert_eq!(
            with_files("x.html".into(), "<main><table><tr>".into()).0,
            "<main><table><tr>"
        );
    }
}
