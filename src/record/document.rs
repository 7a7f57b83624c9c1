//! A file's text as TOML, as far as it can be read.
//!
//! After a fault the parser goes on and puts something where it could not
//! read. A document knows where that is, so that one slip is told once and not
//! a second time as a wrong value or a missing key.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::fault::{self, Fault};
use crate::finding::{FileId, Finding, Located, Place, SourceFile, Sources};

/// Lines that a header is looked for above a key; few records have more.
const LONGEST_TABLE: usize = 60;

/// A TOML file, read as far as it goes.
pub(crate) struct Document<'s> {
    /// The file.
    pub file: FileId,
    /// The file as it was loaded.
    pub source: &'s SourceFile,
    /// What could be read.
    pub root: DeTable<'s>,
    /// Where values could not be read, by their start, each with the furthest
    /// end of those up to it.
    faults: Vec<(usize, usize)>,
    /// Where tables begin, ascending.
    headers: Vec<usize>,
}

/// A key with its value.
pub(crate) struct Entry<'d, 's> {
    /// The key.
    pub key: &'d Spanned<std::borrow::Cow<'s, str>>,
    /// Its value.
    pub value: &'d Spanned<DeValue<'s>>,
}

impl Entry<'_, '_> {
    /// Whether the value was written behind `=` and not under a header.
    pub fn is_assigned(&self) -> bool {
        self.key.span().end <= self.value.span().start
    }
}

/// The entries of a table in the order written.
pub(crate) fn entries<'d, 's>(table: &'d DeTable<'s>) -> Vec<Entry<'d, 's>> {
    let mut entries: Vec<_> = table
        .iter()
        .map(|(key, value)| Entry { key, value })
        .collect();
    entries.sort_by_key(|entry| entry.key.span().start);
    entries
}

impl<'s> Document<'s> {
    /// Reads a file's text and reports what is no TOML.
    pub fn read(file: FileId, sources: &'s Sources, findings: &mut Vec<Finding>) -> Document<'s> {
        let source = sources.file(file);
        let (root, errors) = DeTable::parse_recoverable(&source.text);
        let root = root.into_inner();
        let mut headers = Vec::new();
        let mut assigned = Vec::new();
        survey(&root, &mut headers, &mut assigned);
        headers.sort_unstable();
        assigned.sort_unstable_by_key(|span| span.start);
        let faults: Vec<Fault> = errors.iter().map(Fault::of).collect();
        let mut furthest = 0;
        let faults = fault::report(file, source, faults, &assigned, findings)
            .into_iter()
            .map(|span| {
                furthest = furthest.max(span.end);
                (span.start, furthest)
            })
            .collect();
        Document {
            file,
            source,
            root,
            faults,
            headers,
        }
    }

    /// The place of some bytes of the file.
    pub fn place(&self, span: Range<usize>) -> Place {
        Place::new(self.file, span)
    }

    /// Text with its place: what stands inside the quotation marks, so that
    /// offsets into the text are offsets into the file, unless the text has
    /// escapes; then the whole literal.
    pub fn located(&self, text: &str, span: Range<usize>) -> Located<String> {
        let literal = self.source.text.get(span.clone()).unwrap_or("");
        let inner = ["\"\"\"", "'''", "\"", "'"].iter().find_map(|mark| {
            let inner = literal.strip_prefix(mark)?.strip_suffix(mark)?;
            // The first end of line in a text of several lines does not count.
            let skipped = match inner.strip_prefix("\r\n").or(inner.strip_prefix('\n')) {
                Some(rest) if mark.len() == 3 => rest,
                _ => inner,
            };
            let start = span.start + mark.len() + inner.len() - skipped.len();
            (skipped == text).then_some(start..start + text.len())
        });
        Located::new(text.to_owned(), self.place(inner.unwrap_or(span)))
    }

    /// Whether the text could be read throughout.
    pub fn is_whole(&self) -> bool {
        self.faults.is_empty()
    }

    /// Whether a fault lies in or at these bytes, or there are none: what
    /// stands there is the parser's guess.
    pub fn is_spoiled(&self, span: &Range<usize>) -> bool {
        span.is_empty() || self.has_fault(span)
    }

    /// Whether a fault lies between the start of a table and the next header:
    /// keys that are missing there may be what could not be read.
    pub fn is_damaged(&self, start: usize) -> bool {
        let next = self.headers.partition_point(|&header| header <= start);
        let end = self.headers.get(next).copied();
        let end = end.unwrap_or(self.source.text.len());
        self.has_fault(&(start..end))
    }

    /// Whether a fault lies on the line of a key, on the one before it, or in
    /// the header above it: the key may be the rest of what could not be read,
    /// or lie in a table that was not begun.
    pub fn is_aftermath(&self, key: &Range<usize>) -> bool {
        let line = self.source.line_of(key.start);
        let start = self.source.line_span(line.saturating_sub(1).max(1)).start;
        let mut above = (line.saturating_sub(LONGEST_TABLE).max(1)..=line).rev();
        let header = above.find(|&line| self.source.line(line).trim_start().starts_with('['));
        self.has_fault(&(start..key.end))
            || header.is_some_and(|line| self.has_fault(&self.source.line_span(line)))
    }

    fn has_fault(&self, span: &Range<usize>) -> bool {
        let until = self.faults.partition_point(|(start, _)| *start <= span.end);
        self.faults[..until]
            .last()
            .is_some_and(|(_, furthest)| *furthest >= span.start)
    }
}

/// Collects where tables begin and which values were written behind `=` as
/// arrays or inline tables.
fn survey(table: &DeTable<'_>, headers: &mut Vec<usize>, assigned: &mut Vec<Range<usize>>) {
    for (key, value) in table.iter() {
        let entry = Entry { key, value };
        match value.get_ref() {
            DeValue::Table(_) | DeValue::Array(_) if entry.is_assigned() => {
                assigned.push(value.span());
            }
            DeValue::Table(inner) => {
                // A table that only the headers of others speak of stands
                // under a part of theirs, and begins nowhere.
                if value.span().start < key.span().start {
                    headers.push(value.span().start);
                }
                survey(inner, headers, assigned);
            }
            DeValue::Array(list) => {
                for item in list.iter() {
                    headers.push(item.span().start);
                    if let DeValue::Table(inner) = item.get_ref() {
                        survey(inner, headers, assigned);
                    }
                }
            }
            _ => {}
        }
    }
}
