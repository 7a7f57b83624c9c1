//! Markdown that its writer meant and the parser did not take.
//!
//! Such text is no error to the parser: it comes out as letters. A stated
//! number in it would go unchecked in silence, so it is looked for.

use std::ops::Range;

use pulldown_cmark::{Event, Tag, TagEnd};

use super::address::starts_with_own_scheme;
use super::run::{Passage, Run};
use crate::finding::{FileId, Finding, Place, Slug};

/// How far a bracket is looked for, in bytes. A limit keeps the time taken
/// proportional to the size of the file; no label is longer (CommonMark 4.7).
const LONGEST: usize = 1000;

/// A reference link whose definition was not found.
pub(super) struct Unresolved {
    /// The whole of `[text][label]`.
    pub span: Range<usize>,
    /// The label.
    pub label: String,
}

/// The finding about a reference link without a definition.
pub(super) fn unresolved(file: FileId, link: &Unresolved) -> Finding {
    let label = &link.label;
    Finding::new(
        Slug::DeadLink,
        format!("no definition of `[{label}]` exists in this file"),
    )
    .at(Place::new(file, link.span.clone()), "shown as plain text")
    .help(format!(
        "add a line `[{label}]: address`, write the address in parentheses after the text, or put a backslash before the `[` where brackets are meant"
    ))
}

/// Findings about links and footnotes that came out as letters.
pub(super) fn in_passage(file: FileId, passage: &Passage, source: &str, out: &mut Vec<Finding>) {
    addresses(file, &passage.run, source, out);
    footnotes(file, &passage.run, source, out);
}

/// `[196 mA](figure:charge slow)`, `[196 mA] (figure:charge_slow)`.
fn addresses(file: FileId, run: &Run, source: &str, out: &mut Vec<Finding>) {
    for (at, _) in run.text.match_indices(']') {
        let after = &run.text[at + 1..];
        let spaced = after.starts_with(' ');
        let after = after.strip_prefix(' ').unwrap_or(after);
        let Some(rest) = after.strip_prefix('(') else {
            continue;
        };
        let address = rest;
        if !starts_with_own_scheme(address.trim_start_matches([' ', '<']))
            || is_escaped(run, at, source)
        {
            continue;
        }
        let window = run.text.floor_char_boundary(at.saturating_sub(LONGEST));
        let start = run.text[window..at]
            .rfind('[')
            .map_or(at, |open| window + open);
        let address = &address[..address.floor_char_boundary(LONGEST)];
        let begin = run.text.len() - rest.len();
        let end = begin + address.find(')').map_or(address.len(), |close| close + 1);
        let Some(range) = run.source(start..end) else {
            continue;
        };
        let help = if spaced {
            "take out the space between `]` and `(`"
        } else if address.trim().contains(' ') {
            "an address with a space in it is written in angle brackets, `(<a b>)`"
        } else {
            "a link holds no other link, and its brackets and parentheses match"
        };
        out.push(
            Finding::new(
                Slug::DeadLink,
                "this reads as text and not as a link, so nothing in it is checked",
            )
            .at(Place::new(file, range), "shown as it stands here")
            .help(help),
        );
    }
}

/// `[^note]` without a `[^note]: text`.
fn footnotes(file: FileId, run: &Run, source: &str, out: &mut Vec<Finding>) {
    for (at, _) in run.text.match_indices("[^") {
        let window = run.text.floor_char_boundary(at + LONGEST);
        let Some(len) = run.text[at..window].find(']') else {
            continue;
        };
        let label = &run.text[at + 2..at + len];
        let is_label = !label.is_empty() && !label.contains([' ', '[', '^', super::run::GAP]);
        if !is_label || is_escaped(run, at, source) {
            continue;
        }
        if let Some(range) = run.source(at..at + len + 1) {
            out.push(
                Finding::new(
                    Slug::DeadLink,
                    format!("no footnote `[^{label}]` exists in this file"),
                )
                .at(Place::new(file, range), "shown as plain text")
                .help(format!("add a line `[^{label}]: text`")),
            );
        }
    }
}

/// Whether the writer put a backslash before this letter of the run.
fn is_escaped(run: &Run, at: usize, source: &str) -> bool {
    run.source(at..at + 1)
        .is_some_and(|range| source[..range.start].ends_with('\\'))
}

/// One finding for each stretch of text with HTML in it.
pub(super) fn raw_html(
    file: FileId,
    events: &[(Event<'_>, Range<usize>)],
    source: &str,
    out: &mut Vec<Finding>,
) {
    let mut first: Option<Range<usize>> = None;
    for (event, range) in events {
        match event {
            Event::InlineHtml(_) => {
                first.get_or_insert_with(|| range.clone());
            }
            Event::Start(Tag::HtmlBlock) => out.push(html_finding(file, range.clone(), source)),
            // Emphasis and links do not end the stretch.
            Event::Start(
                Tag::Emphasis
                | Tag::Strong
                | Tag::Strikethrough
                | Tag::Link { .. }
                | Tag::Image { .. },
            )
            | Event::End(
                TagEnd::Emphasis
                | TagEnd::Strong
                | TagEnd::Strikethrough
                | TagEnd::Link
                | TagEnd::Image,
            ) => {}
            Event::Start(_) | Event::End(_) => {
                if let Some(range) = first.take() {
                    out.push(html_finding(file, range, source));
                }
            }
            _ => {}
        }
    }
}

fn html_finding(file: FileId, range: Range<usize>, source: &str) -> Finding {
    let comment = source[range.clone()].trim_start().starts_with("<!--");
    let (message, help) = if comment {
        (
            "a comment is shown to the reader like any other text",
            "take it out; remarks for the team go into a record's `note`",
        )
    } else {
        (
            "HTML is shown as text, never passed through",
            "write it as Markdown, or put a backslash before the `<` where the letters are meant",
        )
    };
    Finding::new(Slug::RawHtml, message)
        .at(Place::new(file, range), "shown as it stands here")
        .help(help)
}
