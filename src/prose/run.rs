//! Runs: visible text that belongs together, with the way back to the file.
//!
//! The parser cuts text at every escape, entity and emphasis mark. A reader
//! sees one line, so text is searched in runs, and a stretch of a run is
//! turned back into the bytes that it came from.

use std::ops::Range;

use pulldown_cmark::{Event, Tag, TagEnd};

/// Stands in a run for what is there but not to be searched: code, links.
pub(super) const GAP: char = '\u{fffc}';

/// Visible text with the bytes that it came from.
#[derive(Clone, Default, Debug)]
pub(super) struct Run {
    /// The text. A line break within a paragraph is a space.
    pub text: String,
    pieces: Vec<Piece>,
}

/// A part of a run that came from one stretch of the file.
#[derive(Clone, Debug)]
struct Piece {
    /// Where it starts in the run.
    at: usize,
    /// The bytes of the file.
    source: Range<usize>,
    /// Whether text and file are the same, byte for byte.
    literal: bool,
}

impl Run {
    /// Adds the visible text of an event, if it has any.
    pub fn push_event(&mut self, event: &Event<'_>, range: &Range<usize>, source: &str) {
        match event {
            Event::Text(text) | Event::Html(text) | Event::InlineHtml(text) => {
                self.push(text, range.clone(), source);
            }
            Event::Code(text) => {
                let raw = source.get(range.clone()).unwrap_or("");
                let fence = raw.bytes().take_while(|b| *b == b'`').count();
                let inside = match raw[fence..].find(&**text) {
                    Some(at) => {
                        let start = range.start + fence + at;
                        start..start + text.len()
                    }
                    None => range.clone(),
                };
                self.push(text, inside, source);
            }
            Event::SoftBreak | Event::HardBreak => self.push(" ", range.clone(), source),
            _ => {}
        }
    }

    /// Adds a gap in place of what stands in `range`.
    fn push_gap(&mut self, range: &Range<usize>) {
        if !self.text.ends_with(GAP) {
            self.push(GAP.encode_utf8(&mut [0; 4]), range.clone(), "");
        }
    }

    fn push(&mut self, text: &str, from: Range<usize>, source: &str) {
        if text.is_empty() {
            return;
        }
        let literal = source.get(from.clone()) == Some(text);
        let at = self.text.len();
        self.text.push_str(text);
        match self.pieces.last_mut() {
            Some(last) if literal && last.literal && last.source.end == from.start => {
                last.source.end = from.end;
            }
            _ => self.pieces.push(Piece {
                at,
                source: from,
                literal,
            }),
        }
    }

    /// The bytes of the file that a stretch of the run came from; `None` for
    /// an empty stretch.
    pub fn source(&self, stretch: Range<usize>) -> Option<Range<usize>> {
        if stretch.is_empty() {
            return None;
        }
        let first = self.piece_at(stretch.start)?;
        let last = self.piece_at(stretch.end - 1)?;
        let start = if first.literal {
            first.source.start + (stretch.start - first.at)
        } else {
            first.source.start
        };
        let end = if last.literal {
            last.source.start + (stretch.end - last.at)
        } else {
            last.source.end
        };
        Some(start..end.max(start))
    }

    fn piece_at(&self, at: usize) -> Option<&Piece> {
        let after = self.pieces.partition_point(|piece| piece.at <= at);
        self.pieces.get(after.checked_sub(1)?)
    }

    /// The text without the spaces around it, and the bytes it came from.
    pub fn trimmed(&self) -> (&str, Option<Range<usize>>) {
        let text = self.text.trim();
        let start = self.text.len() - self.text.trim_start().len();
        (text, self.source(start..start + text.len()))
    }
}

/// A run of running text, and whether it is a heading's.
#[derive(Debug)]
pub(super) struct Passage {
    pub run: Run,
    pub heading: bool,
}

/// Cuts a document into its passages. Code, links, images and struck-out text
/// leave a gap behind; code blocks and HTML are left out.
pub(super) fn passages(events: &[(Event<'_>, Range<usize>)], source: &str) -> Vec<Passage> {
    let mut passages = Vec::new();
    let mut run = Run::default();
    let mut heading = false;
    let mut hidden = 0usize;
    for (event, range) in events {
        match event {
            Event::Start(Tag::Emphasis | Tag::Strong)
            | Event::End(TagEnd::Emphasis | TagEnd::Strong) => {}
            Event::Start(Tag::Link { .. } | Tag::Image { .. } | Tag::Strikethrough) => {
                run.push_gap(range);
                hidden += 1;
            }
            Event::End(TagEnd::Link | TagEnd::Image | TagEnd::Strikethrough) => {
                hidden = hidden.saturating_sub(1);
            }
            Event::Start(Tag::CodeBlock(_) | Tag::HtmlBlock) => hidden += 1,
            Event::End(TagEnd::CodeBlock | TagEnd::HtmlBlock) => {
                hidden = hidden.saturating_sub(1);
            }
            Event::Start(_) | Event::End(_) | Event::Rule | Event::HardBreak if hidden == 0 => {
                if !run.text.is_empty() {
                    passages.push(Passage {
                        run: std::mem::take(&mut run),
                        heading,
                    });
                }
                heading = matches!(event, Event::Start(Tag::Heading { .. }))
                    || (heading && matches!(event, Event::HardBreak));
            }
            Event::Text(_) | Event::SoftBreak if hidden == 0 => {
                run.push_event(event, range, source);
            }
            _ if hidden == 0 => run.push_gap(range),
            _ => {}
        }
    }
    if !run.text.is_empty() {
        passages.push(Passage { run, heading });
    }
    passages
}
