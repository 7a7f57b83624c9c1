//! Reading one Markdown file.

use std::collections::HashMap;
use std::ops::Range;

use pulldown_cmark::{BrokenLink, CowStr, Event, LinkType, Options, Parser, Tag};

use super::document::Document;
use super::stray::{self, Unresolved};
use super::{heading, link, loose, run};
use crate::finding::{FileId, Finding, Place, Slug};

/// Largest file that is read, in bytes. A sheet of a thousand pages is smaller;
/// what is larger is a mistake, and would hold up everything else.
pub const LARGEST_BYTES: usize = 5_000_000;

/// The document with the findings that need no knowledge of the notebook. A
/// text of more than [`LARGEST_BYTES`] is not read at all; any other text is a
/// document.
pub fn read(file: FileId, text: &str) -> (Document, Vec<Finding>) {
    let mut document = Document::empty(file);
    if text.len() > LARGEST_BYTES {
        return (document, vec![too_large(file, text.len())]);
    }
    let parsed = parse(text);
    document.events = parsed.events;
    document.links = link::collect(file, &document.events, text, &parsed.definitions);
    document.headings = heading::collect(file, &document.events, text);
    if let Some(first) = document
        .headings
        .first()
        .filter(|first| !first.text.is_empty())
    {
        document.title = Some(first.text.clone());
        document.title_place = Some(first.place.clone());
    }

    let mut findings = Vec::new();
    if document.title.is_none() {
        findings.push(no_title(&document));
    }
    for link in &document.links {
        link::findings(link, &mut findings);
    }
    for link in &parsed.unresolved {
        findings.push(stray::unresolved(file, link));
    }
    stray::raw_html(file, &document.events, text, &mut findings);
    for passage in run::passages(&document.events, text) {
        stray::in_passage(file, &passage, text, &mut findings);
        if !passage.heading {
            loose::collect(file, &passage.run, &mut document.loose);
        }
    }
    // Stable, so that findings about one place stay in the order made.
    findings.sort_by_key(|finding| finding.place().map_or(0, |place| place.start));
    (document, findings)
}

/// What the parser made of a text.
struct Parsed {
    events: Vec<(Event<'static>, Range<usize>)>,
    /// Bytes of the definition behind a reference link, by its event's number.
    definitions: HashMap<usize, Range<usize>>,
    unresolved: Vec<Unresolved>,
}

fn parse(text: &str) -> Parsed {
    let options =
        Options::ENABLE_TABLES | Options::ENABLE_FOOTNOTES | Options::ENABLE_STRIKETHROUGH;
    // A byte order mark is no part of the text; the parser would take it for
    // the first letter and miss a heading behind it.
    let body = text.strip_prefix('\u{feff}').unwrap_or(text);
    let skipped = text.len() - body.len();
    let moved = |range: Range<usize>| range.start + skipped..range.end + skipped;

    let mut unresolved = Vec::new();
    let on_broken = |link: BrokenLink<'_>| -> Option<(CowStr<'_>, CowStr<'_>)> {
        // `[x]` alone is ordinary text in brackets.
        if matches!(link.link_type, LinkType::Reference | LinkType::Collapsed) {
            unresolved.push(Unresolved {
                span: with_empty_label(text, moved(link.span), link.link_type),
                label: link.reference.to_string(),
            });
        }
        None
    };
    let mut events = Vec::new();
    let mut definitions = HashMap::new();
    let mut parser =
        Parser::new_with_broken_link_callback(body, options, Some(on_broken)).into_offset_iter();
    while let Some((event, range)) = parser.next() {
        if let Event::Start(Tag::Link { id, .. } | Tag::Image { id, .. }) = &event
            && !id.is_empty()
            && let Some(definition) = parser.reference_definitions().get(id)
        {
            definitions.insert(events.len(), moved(definition.span.clone()));
        }
        let range = match &event {
            Event::Start(Tag::Link { link_type, .. } | Tag::Image { link_type, .. }) => {
                with_empty_label(text, moved(range), *link_type)
            }
            _ => moved(range),
        };
        events.push((without_nul(event), range));
    }
    drop(parser);
    Parsed {
        events,
        definitions,
        unresolved,
    }
}

/// The bytes of a collapsed reference with its `[]`, which the parser leaves
/// out.
fn with_empty_label(text: &str, range: Range<usize>, form: LinkType) -> Range<usize> {
    let collapsed = form == LinkType::Collapsed
        && text
            .get(range.end..)
            .is_some_and(|rest| rest.starts_with("[]"));
    range.start..range.end + if collapsed { 2 } else { 0 }
}

/// Replaces U+0000 as CommonMark asks (2.3): no HTML may hold it.
fn without_nul(event: Event<'_>) -> Event<'static> {
    let clean = |text: CowStr<'_>| -> CowStr<'static> {
        if text.contains('\0') {
            text.replace('\0', "\u{fffd}").into()
        } else {
            text.into_static()
        }
    };
    match event {
        Event::Text(text) => Event::Text(clean(text)),
        Event::Code(text) => Event::Code(clean(text)),
        Event::Html(text) => Event::Html(clean(text)),
        Event::InlineHtml(text) => Event::InlineHtml(clean(text)),
        other => other.into_static(),
    }
}

fn too_large(file: FileId, bytes: usize) -> Finding {
    let megabytes = bytes.div_ceil(100_000) as f64 / 10.0;
    let most = LARGEST_BYTES / 1_000_000;
    Finding::new(
        Slug::TooLarge,
        format!("the file has {megabytes} MB, and no more than {most} MB are read"),
    )
    .at(Place::new(file, 0..0), "not read")
    .help("split the sheet, or move what is no prose out of it")
}

fn no_title(document: &Document) -> Finding {
    let place = match document.headings.first() {
        Some(empty) => empty.place.clone(),
        None => Place::new(document.file, 0..0),
    };
    Finding::new(
        Slug::NoTitle,
        "this sheet has no heading to take its title from",
    )
    .at(place, "a title is the first heading")
    .help("begin the sheet with a line `# Title`")
}
