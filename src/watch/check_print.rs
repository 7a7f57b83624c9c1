//! Findings, laid over a page.
//!
//! In a drawing office a print is checked with a red pencil and goes back to the
//! desk. What stands against binding is shown like that: each finding with a red
//! cross, and the line of the file that it is about, with a ring around the place.

use std::fmt::Write;

use camino::Utf8Path;

use crate::finding::{Finding, Label, Level};
use crate::notebook::Notebook;
use crate::page::PageFault;
use crate::page::markup::{escaped, with_names};

/// Findings that are shown before they are only counted.
const MOST: usize = 40;
/// Characters of a line that are shown on either side of a place in it. A
/// paragraph of Markdown is one line.
const AROUND: usize = 48;
/// Characters of a place that are shown.
const LONGEST: usize = 120;

/// A cross in pencil.
const CROSS: &str = "<svg class=\"check-cross\" viewBox=\"0 0 24 24\" width=\"24\" height=\"24\" \
    aria-hidden=\"true\"><path d=\"M4 3.5C8.5 9 14 15 20.5 20.5M20 3C14.5 8 8.5 15 4.5 21\"/></svg>";

/// What stands against a notebook's binding.
pub(super) fn of_findings(notebook: &Notebook) -> String {
    let findings = notebook.findings.iter();
    let errors: Vec<&Finding> = findings
        .filter(|finding| finding.level == Level::Error)
        .collect();
    let mut items = String::new();
    for finding in errors.iter().take(MOST) {
        // Writing to a string does not fail.
        let _ = item(&mut items, notebook, finding);
    }
    if errors.len() > MOST {
        let more = errors.len() - MOST;
        let _ = write!(
            items,
            "<li class=\"check-more\">and {more} more, which <code>ohmbook prove</code> lists</li>"
        );
    }
    match errors.len() {
        1 => laid_over("1 finding", "stands", &items),
        many => laid_over(&format!("{many} findings"), "stand", &items),
    }
}

/// A fault in the look. `text` is that of the file.
pub(super) fn of_fault(fault: &PageFault, text: &str) -> String {
    let mut item = says(&fault.message, "look");
    let line = fault
        .place
        .and_then(|(line, column)| Some((text.lines().nth(line - 1)?, line, column)));
    match line {
        Some((line, number, column)) => {
            let start = line
                .char_indices()
                .nth(column.saturating_sub(1))
                .map_or(line.len(), |(at, _)| at);
            let rest = &line[start..];
            let word = rest
                .find(|c: char| !(c.is_alphanumeric() || c == '_'))
                .filter(|&end| end > 0);
            let end = start + word.unwrap_or_else(|| rest.chars().next().map_or(0, char::len_utf8));
            place(
                &mut item,
                &fault.path,
                (number, column),
                line,
                start..end,
                "",
            );
        }
        None => {
            let at = escaped(fault.path.as_str());
            let _ = write!(
                item,
                "<p class=\"check-line\"><span class=\"check-at\">{at}</span></p>"
            );
        }
    }
    laid_over("1 fault in the look", "stands", &format!("<li>{item}</li>"))
}

/// A defect of the program.
pub(super) fn of_defect(why: &str) -> String {
    let item = says(why, "defect");
    laid_over(
        "1 defect of the program",
        "stands",
        &format!("<li>{item}</li>"),
    )
}

fn laid_over(count: &str, verb: &str, items: &str) -> String {
    format!(
        "<aside id=\"CheckPrint\" aria-label=\"Check print\">\n\
         <details open>\n\
         <summary><b>Check print</b> <span>{count}</span></summary>\n\
         <p class=\"check-note\" role=\"alert\">Beneath is the sheet as it last held; {count} {verb} \
         in the way of the next.</p>\n\
         <ol>\n{items}</ol>\n\
         </details>\n\
         </aside>\n"
    )
}

fn says(message: &str, kind: &str) -> String {
    format!(
        "{CROSS}<p class=\"check-says\">{}. <code>{kind}</code></p>\n",
        with_names(message)
    )
}

fn item(out: &mut String, notebook: &Notebook, finding: &Finding) -> std::fmt::Result {
    write!(out, "<li>{}", says(&finding.message, finding.slug.name()))?;
    for (at, label) in finding.labels.iter().enumerate() {
        labelled(out, notebook, label, at == 0);
    }
    for note in &finding.notes {
        writeln!(out, "<p class=\"check-further\">{}</p>", with_names(note))?;
    }
    if let Some(help) = &finding.help {
        writeln!(
            out,
            "<p class=\"check-further\"><b>Mend:</b> {}</p>",
            with_names(help)
        )?;
    }
    out.push_str("</li>\n");
    Ok(())
}

fn labelled(out: &mut String, notebook: &Notebook, label: &Label, is_first: bool) {
    let file = notebook.sources.file(label.place.file);
    let text = &file.text;
    let (line, column) = file.line_column(label.place.start);
    let start = text.floor_char_boundary(label.place.start);
    let end = text.ceil_char_boundary(label.place.end).max(start);
    let first = text[..start].rfind('\n').map_or(0, |at| at + 1);
    let last = text[start..].find('\n').map_or(text.len(), |at| start + at);
    let span = start - first..end.min(last) - first;
    if !is_first {
        out.push_str("<div class=\"check-why\">");
    }
    place(
        out,
        &file.path,
        (line, column),
        text[first..last].trim_end_matches('\r'),
        span,
        &label.text,
    );
    if !is_first {
        out.push_str("</div>\n");
    }
}

/// A line of a file with the place in it ringed.
fn place(
    out: &mut String,
    path: &Utf8Path,
    (line, column): (usize, usize),
    text: &str,
    span: std::ops::Range<usize>,
    label: &str,
) {
    let span = span.start.min(text.len())..span.end.min(text.len());
    let (before, there, after) = (&text[..span.start], &text[span.clone()], &text[span.end..]);
    let before_html = match before.char_indices().rev().nth(AROUND) {
        Some((at, _)) => format!("…{}", escaped(&before[at..])),
        None => escaped(before.trim_start()),
    };
    let there_html = match there.char_indices().nth(LONGEST) {
        Some((at, _)) => format!("{}…", escaped(&there[..at])),
        None => escaped(there),
    };
    let after_html = match after.char_indices().nth(AROUND) {
        Some((at, _)) => format!("{}…", escaped(&after[..at])),
        None => escaped(after.trim_end()),
    };
    // A ring around nothing marks a spot.
    let ringed_html = match there_html.is_empty() {
        true => "\u{200b}".to_owned(),
        false => there_html,
    };
    let path = escaped(path.as_str());
    let label_html = with_names(label);
    let _ = writeln!(
        out,
        "<p class=\"check-line\"><span class=\"check-at\">{path}:{line}:{column}</span> \
         <code>{before_html}<mark>{ringed_html}</mark>{after_html}</code> \
         <span class=\"check-label\">{label_html}</span></p>"
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str, span: std::ops::Range<usize>) -> String {
        let mut out = String::new();
        place(&mut out, "a<b.md".into(), (3, 4), text, span, "`x` is <y>");
        out
    }

    #[test]
    fn a_place_is_ringed_and_whatever_stands_there_is_text() {
        let shown = shown("  a <script> & b", 4..12);
        assert!(
            shown.contains("<code>a <mark>&lt;script&gt;</mark> &amp; b</code>"),
            "{shown}"
        );
        assert!(shown.contains("a&lt;b.md:3:4"), "{shown}");
        assert!(shown.contains("<code>x</code> is &lt;y&gt;"), "{shown}");
    }

    #[test]
    fn long_lines_are_cut_and_spans_may_reach_out() {
        let long = "Ω".repeat(500);
        let cut = shown(&long, 400..402);
        assert_eq!(cut.matches('…').count(), 2, "{cut}");
        assert!(cut.chars().count() < 300, "{cut}");
        let cut = shown(&long, 0..1000);
        assert_eq!(cut.matches('…').count(), 1, "{cut}");
        assert!(shown("", 7..9).contains("<mark>\u{200b}</mark>"));
    }

    #[test]
    fn a_fault_of_a_template_has_its_line() {
        let fault = PageFault {
            path: "own/sheet.html".into(),
            place: Some((2, 4)),
            message: "no `x` here".into(),
        };
        let html = of_fault(&fault, "one\n{{ xyz }}\n");
        assert!(html.contains("{{ <mark>xyz</mark> }}"), "{html}");
        assert!(html.contains("own/sheet.html:2:4"), "{html}");
        // The file may be another by now.
        assert!(of_fault(&fault, "one").contains("own/sheet.html</span>"));
        assert!(of_fault(&fault, "\nΩ").contains("own/sheet.html:2:4"));
    }
}
