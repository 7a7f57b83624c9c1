//! Footnotes: numbered in the order in which the text refers to them, and
//! written at the end of the sheet.

use std::collections::HashMap;
use std::ops::Range;

use pulldown_cmark::{CowStr, Event, Tag};

/// The numbers of a document's footnotes.
pub(super) struct Numbers {
    /// Number by label; labels differ by more than case (CommonMark 4.7).
    numbers: HashMap<String, usize>,
    /// How often each has been referred to so far, by number.
    referred: HashMap<usize, usize>,
}

impl Numbers {
    /// Numbers all footnotes; those that nothing refers to come last.
    pub fn of(events: &[(Event<'_>, Range<usize>)]) -> Numbers {
        let references = events.iter().filter_map(|(event, _)| match event {
            Event::FootnoteReference(label) => Some(label),
            _ => None,
        });
        let definitions = events.iter().filter_map(|(event, _)| match event {
            Event::Start(Tag::FootnoteDefinition(label)) => Some(label),
            _ => None,
        });
        let mut numbers = HashMap::new();
        for label in references.chain(definitions) {
            let next = numbers.len() + 1;
            numbers.entry(label.to_lowercase()).or_insert(next);
        }
        Numbers {
            numbers,
            referred: HashMap::new(),
        }
    }

    /// The number of a footnote, from one; zero for a label that is not in the
    /// document.
    pub fn number(&self, label: &str) -> usize {
        self.numbers
            .get(&label.to_lowercase())
            .copied()
            .unwrap_or(0)
    }

    /// The raised number that stands in the text. The first one that points at
    /// a footnote is where the footnote points back to.
    pub fn reference(&mut self, label: &str, prefix: &str, linked: bool) -> String {
        let number = self.number(label);
        if !linked {
            return format!("<sup class=\"footnote-reference\">{number}</sup>");
        }
        let prefix = super::markup::attribute(prefix);
        let times = self.referred.entry(number).or_insert(0);
        *times += 1;
        let id = match *times {
            1 => format!(" id=\"{prefix}reference_{number}\""),
            _ => String::new(),
        };
        format!(
            "<sup class=\"footnote-reference\"{id}><a href=\"#{prefix}footnote_{number}\">{number}</a></sup>"
        )
    }
}

/// Puts the footnotes at the end. Ids carry an underscore, which no heading's
/// id does.
pub(super) fn append<'d>(
    out: &mut Vec<Event<'d>>,
    mut notes: Vec<(usize, Vec<Event<'d>>)>,
    prefix: &str,
) {
    if notes.is_empty() {
        return;
    }
    notes.sort_by_key(|(number, _)| *number);
    let prefix = super::markup::attribute(prefix);
    let html = |text: String, out: &mut Vec<Event<'d>>| {
        out.push(Event::InlineHtml(CowStr::from(text)));
    };
    html(
        "<section class=\"footnotes\" role=\"doc-endnotes\" aria-label=\"Footnotes\">\n<ol>\n"
            .to_owned(),
        out,
    );
    for (number, events) in notes {
        html(
            format!("<li id=\"{prefix}footnote_{number}\" value=\"{number}\">"),
            out,
        );
        out.extend(events);
        html(
            format!(
                "<a href=\"#{prefix}reference_{number}\" role=\"doc-backlink\" aria-label=\"Back to reference {number}\">↩</a></li>\n"
            ),
            out,
        );
    }
    html("</ol>\n</section>\n".to_owned(), out);
}
