//! Links and images: their text, their address, and where both stand.

use std::collections::HashMap;
use std::ops::Range;

use pulldown_cmark::{Event, LinkType, Tag, TagEnd};

use super::destination;
use super::document::Link;
use super::run::Run;
use super::{Address, Refusal};
use crate::finding::{FileId, Finding, Place, Slug};

/// Text inside more links than this belongs to the innermost ones only, so
/// that the time taken stays proportional to the size of the file.
const DEEPEST: usize = 4;

/// A link whose end has not been met yet.
struct Open {
    /// Its number in the list of links.
    index: usize,
    form: LinkType,
    run: Run,
    /// End of the last event inside it.
    text_end: usize,
}

/// Collects all links and images. `definitions` holds the bytes of the
/// definition that a reference link points at, by the number of its event.
pub(super) fn collect(
    file: FileId,
    events: &[(Event<'_>, Range<usize>)],
    source: &str,
    definitions: &HashMap<usize, Range<usize>>,
) -> Vec<Link> {
    let mut links: Vec<Link> = Vec::new();
    let mut open: Vec<Open> = Vec::new();
    for (at, (event, range)) in events.iter().enumerate() {
        match event {
            Event::Start(Tag::Link {
                link_type,
                dest_url,
                title,
                ..
            })
            | Event::Start(Tag::Image {
                link_type,
                dest_url,
                title,
                ..
            }) => {
                let image = matches!(event, Event::Start(Tag::Image { .. }));
                let written = match link_type {
                    LinkType::Email => format!("mailto:{dest_url}"),
                    _ => dest_url.to_string(),
                };
                let whole = Place::new(file, range.clone());
                open.push(Open {
                    index: links.len(),
                    form: *link_type,
                    run: Run::default(),
                    text_end: range.start + if image { 2 } else { 1 },
                });
                links.push(Link {
                    kind: Address::parse(&written, image),
                    text: String::new(),
                    text_place: whole.clone(),
                    literal: false,
                    place: whole.clone(),
                    destination_place: whole,
                    title: title.to_string(),
                    image,
                    event: at,
                });
            }
            Event::End(TagEnd::Link | TagEnd::Image) => {
                if let Some(done) = open.pop() {
                    let link = &mut links[done.index];
                    let definition = definitions.get(&link.event);
                    let address = match &events[link.event].0 {
                        Event::Start(Tag::Link { dest_url, .. } | Tag::Image { dest_url, .. }) => {
                            &**dest_url
                        }
                        _ => "",
                    };
                    finish(link, &done, source, address, definition);
                    if let Some(outer) = open.last_mut() {
                        outer.text_end = outer.text_end.max(range.end);
                    }
                }
            }
            _ => {
                for link in open.iter_mut().rev().take(DEEPEST) {
                    link.run.push_event(event, range, source);
                    link.text_end = link.text_end.max(range.end);
                }
            }
        }
    }
    links
}

fn finish(
    link: &mut Link,
    done: &Open,
    source: &str,
    address: &str,
    definition: Option<&Range<usize>>,
) {
    let file = link.place.file;
    let whole = link.place.span();
    let destination = match done.form {
        LinkType::Inline => destination::of_inline(source, done.text_end, whole.end, address),
        LinkType::Autolink | LinkType::Email => Some(whole.start + 1..whole.end - 1),
        _ => definition.and_then(|span| destination::of_definition(source, span.clone(), address)),
    };
    if let Some(range) = destination {
        link.destination_place = Place::new(file, range);
    }
    let bracket = whole.start + if link.image { 2 } else { 1 };
    if done.form == LinkType::Autolink && link.kind.is_own() {
        link.text_place = Place::new(file, bracket..bracket);
        return;
    }
    let (text, range) = done.run.trimmed();
    let range = range.unwrap_or(bracket..bracket);
    link.literal = source.get(range.clone()) == Some(text);
    link.text = text.to_owned();
    link.text_place = Place::new(file, range);
}

/// What is wrong with a link by itself.
pub(super) fn findings(link: &Link, findings: &mut Vec<Finding>) {
    if let Address::Refused { written, why } = &link.kind {
        let mut finding = Finding::new(
            Slug::RefusedAddress,
            format!("the address `{written}` is refused: {why}"),
        )
        .at(link.destination_place.clone(), why.to_string())
        .help(why.help());
        if *why == Refusal::NoPicture {
            let bang = link.place.within(0..1);
            finding = finding.mend(bang, "");
        }
        findings.push(finding);
    }
    if link.image && link.text.is_empty() {
        let finding = Finding::new(
            Slug::NoAlternativeText,
            "this picture has no text for those who cannot see it",
        )
        .at(link.place.clone(), "nothing between the brackets")
        .help("say in a few words between the brackets what the picture shows");
        findings.push(finding);
    }
}
