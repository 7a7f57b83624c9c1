//! A document as HTML.
//!
//! The caller says what becomes of each link; everything else is decided here.
//! The result carries no style attribute, no script and no HTML that the sheet
//! brought along, so that it stands under a strict content security policy.

use pulldown_cmark::{CodeBlockKind, CowStr, Event, HeadingLevel, Tag, TagEnd};

use super::document::{Document, Link};
use super::{Address, footnote, markup, table};

/// What becomes of a link or an image.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Replacement {
    /// It stays a link, or an image, with this address.
    Keep {
        /// The address on the page, not yet escaped.
        href: String,
    },
    /// An image with this address and this size in pixels; the browser fetches
    /// it once it comes near, and leaves its place free until then.
    Picture {
        /// The address on the page, not yet escaped.
        href: String,
        /// Width and height.
        size: Option<(usize, usize)>,
    },
    /// This HTML stands in its place, its text included. Where an image stood
    /// directly in a paragraph, the paragraph is closed before and opened
    /// again after, so that the HTML may be a table or a figure.
    Html(String),
    /// Only its visible text stays.
    Text,
}

/// How a document is rendered.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Options {
    /// Leaves out the heading that gave the title, for a page that shows the
    /// title itself, and moves the other headings so that the highest of them
    /// comes right below it.
    pub without_title: bool,
    /// Leaves out comments, which are written for those who read the file.
    pub without_comments: bool,
    /// Goes before every id, so that several sheets fit on one page. A link to
    /// a heading is then `#`, this, and [`Heading::id`](super::Heading::id).
    pub prefix: String,
}

/// The HTML of a document. A refused address is never asked for: only its
/// visible text is shown.
pub fn render(
    document: &Document,
    options: &Options,
    link: &mut dyn FnMut(&Link) -> Replacement,
) -> String {
    let mut writer = Writer {
        document,
        options,
        footnotes: footnote::Numbers::of(&document.events),
        out: Vec::new(),
        notes: Vec::new(),
        set_aside: Vec::new(),
        open: Vec::new(),
        next_link: 0,
        next_heading: 0,
        tables: table::Tables::default(),
        shift: shift(document, options),
    };
    writer.run(link);
    let mut events = writer.out;
    footnote::append(&mut events, writer.notes, &options.prefix);
    let mut html = String::new();
    pulldown_cmark::html::push_html(&mut html, events.into_iter());
    html
}

/// An element that has been opened.
#[derive(Clone, Copy, PartialEq)]
enum Element {
    /// A paragraph, and how many events stood before it.
    Paragraph(usize),
    /// A link that stays one.
    Link,
    /// A link of which only the text stays.
    BareLink,
    Other,
}

struct Writer<'d> {
    document: &'d Document,
    options: &'d Options,
    footnotes: footnote::Numbers,
    /// What is handed to the parser's own writer.
    out: Vec<Event<'d>>,
    /// Footnotes by number; they come at the end.
    notes: Vec<(usize, Vec<Event<'d>>)>,
    /// The text around a footnote's definition while that is written.
    set_aside: Vec<(usize, Vec<Event<'d>>)>,
    open: Vec<Element>,
    next_link: usize,
    next_heading: usize,
    tables: table::Tables,
    /// Added to the level of each heading.
    shift: i8,
}

impl<'d> Writer<'d> {
    fn run(&mut self, link: &mut dyn FnMut(&Link) -> Replacement) {
        let events = &self.document.events;
        let mut at = 0;
        while let Some((event, _)) = events.get(at) {
            at = match event {
                Event::Start(Tag::Link { .. } | Tag::Image { .. }) => self.link(at, link),
                Event::Start(tag) => self.start(tag, at),
                Event::End(tag) => {
                    self.end(*tag);
                    at + 1
                }
                Event::FootnoteReference(label) => {
                    // A link may hold no other link.
                    let linked = self.open.last() != Some(&Element::Link);
                    let html = self
                        .footnotes
                        .reference(label, &self.options.prefix, linked);
                    self.html(html);
                    at + 1
                }
                Event::InlineHtml(_) if self.options.without_comments && self.is_comment(at) => {
                    at + 1
                }
                Event::Html(text) | Event::InlineHtml(text) => {
                    self.out.push(Event::Text(CowStr::Borrowed(text)));
                    at + 1
                }
                Event::Text(text) => {
                    self.out.push(Event::Text(CowStr::Borrowed(text)));
                    at + 1
                }
                Event::Code(text) => {
                    self.out.push(Event::Code(CowStr::Borrowed(text)));
                    at + 1
                }
                other => {
                    self.out.push(other.clone());
                    at + 1
                }
            };
        }
    }

    /// Whether HTML is a comment, which is written for those who read the file.
    fn is_comment(&self, at: usize) -> bool {
        match self.document.events.get(at) {
            Some((Event::Html(text) | Event::InlineHtml(text), _)) => {
                text.trim_start().starts_with("<!--")
            }
            _ => false,
        }
    }

    fn html(&mut self, html: impl Into<CowStr<'d>>) {
        self.out.push(Event::InlineHtml(html.into()));
    }

    /// Opens an element and returns the number of the event to go on with.
    fn start(&mut self, tag: &'d Tag<'static>, at: usize) -> usize {
        let mut element = Element::Other;
        match tag {
            Tag::Heading { level, .. } => {
                let heading = self.document.headings.get(self.next_heading);
                self.next_heading += 1;
                let is_title = self.next_heading == 1 && self.document.title.is_some();
                if self.options.without_title && is_title {
                    return self.skip(at);
                }
                let id = heading.map(|heading| format!("{}{}", self.options.prefix, heading.id));
                self.out.push(Event::Start(Tag::Heading {
                    level: shifted(*level, self.shift),
                    id: id.map(CowStr::from),
                    classes: Vec::new(),
                    attrs: Vec::new(),
                }));
            }
            // HTML is shown as it was written, line ends and all.
            Tag::HtmlBlock if self.options.without_comments && self.is_comment(at + 1) => {
                return self.skip(at);
            }
            Tag::HtmlBlock => self
                .out
                .push(Event::Start(Tag::CodeBlock(CodeBlockKind::Indented))),
            Tag::FootnoteDefinition(label) => {
                let number = self.footnotes.number(label);
                let around = std::mem::take(&mut self.out);
                self.set_aside.push((number, around));
            }
            Tag::Table(columns) => {
                let above = self.next_heading.checked_sub(1);
                let above = above.and_then(|at| self.document.headings.get(at));
                let html = self
                    .tables
                    .open(columns, above.map(|heading| &*heading.text));
                self.html(html);
                self.out.push(Event::Start(Tag::Table(Vec::new())));
            }
            Tag::TableHead | Tag::TableRow => {
                self.tables.row(matches!(tag, Tag::TableHead));
                self.out.push(Event::Start(tag.clone()));
            }
            Tag::TableCell => {
                let html = self.tables.cell();
                self.html(html);
            }
            _ => {
                if matches!(tag, Tag::Paragraph) {
                    element = Element::Paragraph(self.out.len());
                }
                self.out.push(Event::Start(tag.clone()));
            }
        }
        self.open.push(element);
        at + 1
    }

    fn end(&mut self, tag: TagEnd) {
        let element = self.open.pop();
        match tag {
            TagEnd::Link => {
                if element == Some(Element::Link) {
                    self.html("</a>");
                }
            }
            TagEnd::Heading(level) => self
                .out
                .push(Event::End(TagEnd::Heading(shifted(level, self.shift)))),
            TagEnd::HtmlBlock => self.out.push(Event::End(TagEnd::CodeBlock)),
            TagEnd::FootnoteDefinition => {
                if let Some((number, around)) = self.set_aside.pop() {
                    let note = std::mem::replace(&mut self.out, around);
                    self.notes.push((number, note));
                }
            }
            TagEnd::Table => {
                self.out.push(Event::End(tag));
                self.html("</div>\n");
            }
            TagEnd::TableCell => {
                let html = self.tables.end_cell();
                self.html(html);
            }
            TagEnd::Paragraph => {
                if let Some(Element::Paragraph(before)) = element {
                    self.close_paragraph(before);
                }
            }
            _ => self.out.push(Event::End(tag)),
        }
    }

    /// Closes a paragraph that began after `before` events, or takes it back
    /// where nothing visible stands in it.
    fn close_paragraph(&mut self, before: usize) {
        let blank = self.out[before..].iter().skip(1).all(|event| match event {
            Event::Text(text) => text.trim().is_empty(),
            Event::SoftBreak | Event::HardBreak => true,
            _ => false,
        });
        if blank {
            self.out.truncate(before);
        } else {
            self.out.push(Event::End(TagEnd::Paragraph));
        }
    }

    /// Writes a link or an image and returns the number of the event to go on
    /// with.
    fn link(&mut self, at: usize, ask: &mut dyn FnMut(&Link) -> Replacement) -> usize {
        while self.link_at().is_some_and(|link| link.event < at) {
            self.next_link += 1;
        }
        let Some(link) = self.link_at().filter(|link| link.event == at) else {
            // Every link's start is in the list, so this is never reached.
            return at + 1;
        };
        let replacement = match &link.kind {
            Address::Refused { .. } => Replacement::Text,
            _ => ask(link),
        };
        match replacement {
            Replacement::Html(html) if link.image => {
                self.block(html);
                self.skip(at)
            }
            Replacement::Html(html) => {
                self.html(html);
                self.skip(at)
            }
            Replacement::Keep { href } if link.image && markup::is_inside(&href) => {
                self.html(markup::image(link, &href, None));
                self.skip(at)
            }
            Replacement::Picture { href, size } if link.image && markup::is_inside(&href) => {
                self.html(markup::image(link, &href, size));
                self.skip(at)
            }
            _ if link.image => {
                self.out.push(Event::Text(CowStr::Borrowed(&link.text)));
                self.skip(at)
            }
            Replacement::Keep { href } if markup::is_safe(&href) => {
                self.html(markup::anchor(link, &href));
                self.open.push(Element::Link);
                at + 1
            }
            _ => {
                self.open.push(Element::BareLink);
                at + 1
            }
        }
    }

    fn link_at(&self) -> Option<&'d Link> {
        self.document.links.get(self.next_link)
    }

    /// The number of the event after the element that starts at `at`.
    fn skip(&self, at: usize) -> usize {
        let mut depth = 0usize;
        for (offset, (event, _)) in self.document.events[at..].iter().enumerate() {
            match event {
                Event::Start(_) => depth += 1,
                Event::End(_) => depth = depth.saturating_sub(1),
                _ => {}
            }
            if depth == 0 {
                return at + offset + 1;
            }
        }
        self.document.events.len()
    }

    /// HTML that no paragraph may hold.
    fn block(&mut self, html: String) {
        let Some(&Element::Paragraph(before)) = self.open.last() else {
            self.html(html);
            return;
        };
        self.close_paragraph(before);
        self.html(html);
        self.html("\n");
        if let Some(last) = self.open.last_mut() {
            *last = Element::Paragraph(self.out.len());
        }
        self.out.push(Event::Start(Tag::Paragraph));
    }
}

/// How far the headings move: the highest one left comes to the second level,
/// right below the page's own title.
fn shift(document: &Document, options: &Options) -> i8 {
    if !options.without_title {
        return 0;
    }
    let rest = usize::from(document.title.is_some());
    let highest = document
        .headings
        .iter()
        .skip(rest)
        .map(|heading| heading.level);
    // Levels are 1 to 6.
    highest.min().map_or(0, |level| 2 - level as i8)
}

fn shifted(level: HeadingLevel, shift: i8) -> HeadingLevel {
    let moved = (level as i8 + shift).clamp(1, 6);
    HeadingLevel::try_from(moved as usize).unwrap_or(level)
}

#[cfg(test)]
#[path = "html_tests.rs"]
mod tests;
