//! What is wrong with text that should be TOML, told once each.

use std::collections::HashMap;
use std::ops::Range;

use crate::finding::{FileId, Finding, Place, Slug, SourceFile, quoted};

/// More faults than these are counted and not told one by one: a file that has
/// more is no TOML at all.
const MOST_TOLD: usize = 100;

/// Something that the TOML parser could not read.
#[derive(Clone, Debug)]
pub(crate) struct Fault {
    message: String,
    span: Range<usize>,
}

impl Fault {
    /// What the parser says of it.
    pub fn of(error: &toml::de::Error) -> Fault {
        Fault {
            message: error.message().to_owned(),
            // Only keys of a hundred parts and more come without a place.
            span: error.span().unwrap_or(0..0),
        }
    }

    fn is_duplicate(&self) -> bool {
        self.message == "duplicate key"
    }

    fn is_unclosed_value(&self) -> bool {
        self.message.starts_with("unclosed array,") || self.message.starts_with("unclosed inline")
    }
}

/// Reports faults; returns where values could not be read, by their start.
///
/// `assigned` are the places of arrays and inline tables, by their start. One
/// that is not closed swallows what follows, and everything in it reads as a
/// fault: only that it is open is told.
pub(crate) fn report(
    file: FileId,
    source: &SourceFile,
    mut faults: Vec<Fault>,
    assigned: &[Range<usize>],
    findings: &mut Vec<Finding>,
) -> Vec<Range<usize>> {
    faults.sort_by_key(|fault| (fault.span.start, fault.span.end));
    let open = open_values(&faults, assigned);
    let mut teller = Teller {
        file,
        source,
        headers: Headers::default(),
        findings,
        told: 0,
    };
    for span in &open {
        teller.unclosed(span);
    }
    let mut unread = open.clone();
    let mut repeated = 0..0;
    for fault in &faults {
        let at = fault.span.start;
        let before = open.partition_point(|span| span.start <= at);
        if open[..before].last().is_some_and(|span| at <= span.end) {
            continue;
        }
        if !fault.is_duplicate() {
            teller.syntax(fault);
            unread.push(fault.span.clone());
        } else if is_header(source.line(source.line_of(at))) {
            teller.duplicate_header(fault);
            repeated = at..end_of_table(source, at);
        } else if !repeated.contains(&at) {
            // The keys of a table that is there twice are not told singly.
            teller.duplicate_key(fault);
        }
    }
    teller.rest();
    unread.sort_by_key(|span| (span.start, span.end));
    unread
}

/// Those arrays and inline tables that are never closed, each with all that it
/// swallows: up to where the parser gave up on it.
fn open_values(faults: &[Fault], assigned: &[Range<usize>]) -> Vec<Range<usize>> {
    let mut open: Vec<Range<usize>> = Vec::new();
    for fault in faults.iter().filter(|fault| fault.is_unclosed_value()) {
        // Whatever lies before the fault and is not open has its end before
        // the next one starts, so the last one is the one that is open.
        let before = assigned.partition_point(|span| span.start <= fault.span.start);
        let Some(value) = assigned[..before].last() else {
            continue;
        };
        match open.last_mut() {
            Some(last) if last.start == value.start => last.end = fault.span.end,
            _ => open.push(value.start..fault.span.end),
        }
    }
    open
}

fn is_header(line: &str) -> bool {
    line.trim_start().starts_with('[')
}

/// Where the table ends that a byte lies in: at the next header.
fn end_of_table(source: &SourceFile, at: usize) -> usize {
    (source.line_of(at) + 1..=source.line_count())
        .find(|&line| is_header(source.line(line)))
        .map_or(source.text.len(), |line| source.line_span(line).start)
}

/// The first line of each table header.
#[derive(Default)]
struct Headers(Option<HashMap<String, usize>>);

impl Headers {
    fn first(&mut self, source: &SourceFile, name: &str) -> Option<usize> {
        let first = self.0.get_or_insert_with(|| {
            let mut first = HashMap::new();
            for line in 1..=source.line_count() {
                if let Some(name) = header_name(source.line(line)) {
                    first.entry(name).or_insert(line);
                }
            }
            first
        });
        first.get(name).copied()
    }
}

/// The dotted name in a header's line, without its brackets.
fn header_name(line: &str) -> Option<String> {
    let inner = line.trim_start().strip_prefix('[')?;
    let inner = inner.strip_prefix('[').unwrap_or(inner);
    let inner = inner.split(']').next()?;
    Some(inner.chars().filter(|c| !c.is_whitespace()).collect())
}

/// The bytes of a line without its indent and what trails it.
fn trimmed(source: &SourceFile, line: usize) -> Range<usize> {
    let span = source.line_span(line);
    let text = source.line(line);
    let start = span.start + text.len() - text.trim_start().len();
    start..start + text.trim().len()
}

struct Teller<'f, 's> {
    file: FileId,
    source: &'s SourceFile,
    headers: Headers,
    findings: &'f mut Vec<Finding>,
    told: usize,
}

impl Teller<'_, '_> {
    /// Counts a fault; whether it is to be told.
    fn is_told(&mut self) -> bool {
        self.told += 1;
        self.told <= MOST_TOLD
    }

    fn rest(&mut self) {
        if self.told > MOST_TOLD {
            let message = format!("{} more faults in this file", self.told - MOST_TOLD);
            let place = self.place(0..0);
            self.findings
                .push(Finding::new(Slug::TomlSyntax, message).at(place, "in this file"));
        }
    }

    fn place(&self, span: Range<usize>) -> Place {
        Place::new(self.file, span)
    }

    fn written(&self, span: &Range<usize>) -> &str {
        self.source.text.get(span.clone()).unwrap_or("")
    }

    fn unclosed(&mut self, span: &Range<usize>) {
        if !self.is_told() {
            return;
        }
        let bracket = span.start..span.start + 1;
        let what = self.written(&bracket);
        let close = if what == "{" { "}" } else { "]" };
        let finding = Finding::new(Slug::TomlSyntax, format!("`{what}` is never closed"))
            .at(self.place(bracket), "opened here")
            .note("what follows it in the file could not be read")
            .help(format!("put `{close}` behind the last of its values"));
        self.findings.push(finding);
    }

    fn syntax(&mut self, fault: &Fault) {
        if !self.is_told() {
            return;
        }
        let place = self.place(fault.span.clone());
        let written = self.written(&fault.span).trim();
        let finding = match fault.message.as_str() {
            m if m.starts_with("string values must be quoted") && written.is_empty() => {
                Finding::new(Slug::TomlSyntax, "a value is missing")
                    .at(place, "after this `=`")
                    .help("write the value, text in quotation marks")
            }
            m if m.starts_with("string values must be quoted") => {
                let text = format!("\"{}\"", escaped(bare(written)));
                Finding::new(Slug::TomlSyntax, "text stands without quotation marks")
                    .at(place.clone(), "text, a number or a date is expected here")
                    .help(format!("write `{}`", quoted(&text)))
                    .mend(place, text)
            }
            m if m.contains("recurs") => Finding::new(
                Slug::TomlSyntax,
                "brackets or keys lie too deep in one another",
            )
            .at(place, "deeper than anything in a record"),
            m => Finding::new(Slug::TomlSyntax, format!("not TOML: {m}"))
                .at(place, "the text cannot be read here"),
        };
        self.findings.push(finding);
    }

    fn duplicate_header(&mut self, fault: &Fault) {
        if !self.is_told() {
            return;
        }
        let line = self.source.line_of(fault.span.start);
        let name = header_name(self.source.line(line)).unwrap_or_default();
        let (slug, help) = if name.contains('.') {
            (Slug::DuplicateId, "give one of them another id")
        } else {
            (Slug::TomlSyntax, "put everything under one header")
        };
        let here = self.place(trimmed(self.source, line));
        let mut finding = Finding::new(slug, format!("`{}` is there twice", quoted(&name)))
            .at(here, "again here")
            .help(help);
        let first = self.headers.first(self.source, &name);
        if let Some(first) = first.filter(|&first| first < line) {
            finding = finding.at(self.place(trimmed(self.source, first)), "first here");
        }
        self.findings.push(finding);
    }

    fn duplicate_key(&mut self, fault: &Fault) {
        if !self.is_told() {
            return;
        }
        let key = self.written(&fault.span);
        let (first, header) = self.earlier(key, fault.span.start);
        let slug = if header.as_deref() == Some("fitted") {
            Slug::DuplicateId
        } else {
            Slug::TomlSyntax
        };
        let mut finding = Finding::new(slug, format!("`{}` is there twice", quoted(key)))
            .at(self.place(fault.span.clone()), "again here")
            .help("take one of the two out");
        if let Some(first) = first {
            finding = finding.at(self.place(first), "first here; this one is read");
        }
        self.findings.push(finding);
    }

    /// Where a key stood before in the same table, and the name of that table.
    fn earlier(&self, key: &str, at: usize) -> (Option<Range<usize>>, Option<String>) {
        let last = self.source.line_of(at);
        let mut found = None;
        for line in (1..=last).rev() {
            let span = self.source.line_span(line);
            if let Some(name) = header_name(self.source.line(line)) {
                return (found, Some(name));
            }
            let text = self.source.text.get(span.start..at.min(span.end));
            let text = text.unwrap_or("");
            let indent = text.len() - text.trim_start().len();
            // In the lines above only a key at the start of its line counts;
            // elsewhere the same letters may be part of a text.
            let offset = find_key(text, key).filter(|&offset| line == last || offset == indent);
            if let Some(offset) = offset {
                let start = span.start + offset;
                found = Some(start..start + key.len());
            }
        }
        (found, None)
    }
}

/// Where `key` stands in a line with a `=` behind it.
fn find_key(line: &str, key: &str) -> Option<usize> {
    line.match_indices(key)
        .find(|(at, _)| {
            let part_of_key = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '"' | '\'');
            let starts = !line[..*at].ends_with(part_of_key);
            let rest = line[at + key.len()..].trim_start();
            starts && (rest.starts_with('=') || rest.starts_with('.'))
        })
        .map(|(at, _)| at)
}

/// Text without the quotation marks of a text processor around it.
fn bare(text: &str) -> &str {
    text.trim_matches(['“', '”', '„', '‘', '’', '«', '»', '"'])
}

/// Text as it stands between the quotation marks of a TOML string.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out
}
