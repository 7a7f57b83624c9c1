//! Written sheets as HTML: their links resolved, their text in zones.

use camino::{Utf8Path, Utf8PathBuf};
use pulldown_cmark::{Event, Tag, TagEnd};

use super::book::Book;
use super::leaves::{Page, href};
use super::markup::escaped;
use super::numbers::typeset;
use super::zone::{Zones, letter};
use super::{pins, schematic, sound, working};
use crate::notebook::{NodeId, Sheet, Target};
use crate::prose::html::{Options, Replacement, render};
use crate::prose::{Document, Link};

/// The text of a written sheet.
#[derive(Debug, Default)]
pub(crate) struct Text {
    /// What stands before the first heading of the second level.
    pub first_html: String,
    /// Each section with its zone, in order.
    pub sections: Vec<(String, String)>,
    /// Figures that it states, each once, in the order of their first use.
    pub stated: Vec<NodeId>,
    /// Files of the notebook that it links to or shows.
    pub files: Vec<Utf8PathBuf>,
}

/// Folder of the site for files that are neither records nor sheets.
const FILES: &str = "files";

/// Path in the site of a file of the notebook.
pub(crate) fn file_path(path: &Utf8Path) -> Utf8PathBuf {
    Utf8Path::new(FILES).join(path)
}

/// Renders a written sheet for the page at `from`.
pub(crate) fn text(book: &Book<'_>, from: &Utf8Path, sheet: &Sheet) -> Text {
    let mut out = Text::default();
    let options = Options {
        without_title: true,
        without_comments: !book.edition.is_whole(),
        prefix: String::new(),
    };
    let html = render(&sheet.document, &options, &mut |link| {
        let at = sheet
            .document
            .links
            .iter()
            .position(|known| known.event == link.event);
        let target = at.and_then(|at| sheet.targets.get(at));
        replacement(book, from, link, target, &mut out)
    });
    // What is too wide for the sheet is scrolled, with the keyboard too.
    let html = html.replace("<pre><code", "<pre tabindex=\"0\"><code");
    let mut sections = sections(&html).into_iter();
    out.first_html = sections.next().unwrap_or_default().to_owned();
    let mut zones = Zones::default();
    zones.next();
    out.sections = sections
        .map(|section| (zones.next(), section.to_owned()))
        .collect();
    out
}

fn replacement(
    book: &Book<'_>,
    from: &Utf8Path,
    link: &Link,
    target: Option<&Target>,
    out: &mut Text,
) -> Replacement {
    let keep = |page: Page| Replacement::Keep {
        href: book.page(from, page),
    };
    let records = &book.notebook.records;
    if target.is_some_and(|target| !is_shown(book, target)) {
        // The words that somebody wrote stay; what stood behind them does not.
        return match target {
            Some(Target::Figure(_) | Target::Revised { .. }) if link.text.is_empty() => {
                Replacement::Html("–".into())
            }
            _ => Replacement::Text,
        };
    }
    match target {
        Some(&Target::Figure(node)) => {
            let words = !link.text.is_empty() && !link.text.contains(|c: char| c.is_ascii_digit());
            if words {
                return Replacement::Keep {
                    href: book.place_of(from, node),
                };
            }
            if !out.stated.contains(&node) {
                out.stated.push(node);
            }
            let stated = if link.text.is_empty() {
                book.value_text(node)
            } else {
                typeset(&link.text)
            };
            let amiss = book.is_amiss(&link.text_place);
            Replacement::Html(book.stated_html(from, node, &stated, amiss))
        }
        Some(&Target::Revised {
            node,
            board,
            revision,
        }) => {
            // What an edition leaves out is not led to.
            if !book.edition.shows(node) || !book.edition.shows_board(board) {
                return Replacement::Text;
            }
            let href = book.revised_place(from, node, board, revision);
            let then = book.whole.revision(board, revision);
            let value = then.and_then(|then| {
                let node = then.twin(book.whole, node)?;
                then.notebook.value(node)
            });
            let words = !link.text.is_empty() && !link.text.contains(|c: char| c.is_ascii_digit());
            if words {
                return Replacement::Keep { href };
            }
            let stated = match (link.text.is_empty(), value) {
                (false, _) => typeset(&link.text),
                (true, Some(value)) => value.shown().to_string(),
                (true, None) => "no value".to_owned(),
            };
            let amiss = if book.is_amiss(&link.text_place) {
                " amiss"
            } else {
                ""
            };
            let mark = &book.whole.records.boards[board].revisions[revision]
                .id
                .value;
            Replacement::Html(format!(
                "<a class=\"then{amiss}\" href=\"{}\" title=\"revision {}\">{}</a>",
                escaped(&href),
                escaped(mark),
                escaped(&stated)
            ))
        }
        Some(&Target::Board(board)) => keep(Page::Front(board)),
        Some(&Target::Fitted(board, line)) => {
            let part = &records.boards[board].fitted[line].part.value;
            match records
                .parts
                .iter()
                .position(|known| known.id.value == *part)
            {
                Some(part) => keep(Page::Part(part)),
                None => Replacement::Text,
            }
        }
        Some(&Target::Part(part)) => keep(Page::Part(part)),
        Some(&Target::Working(board, at)) if link.image => {
            // Whoever reads a sheet wants to hear a sound; its numbers stand on
            // the sheet of workings.
            let caption = working::caption(book, board, at, &link.text);
            let players = sound::players(book, from, (board, at), &caption);
            let html =
                players.unwrap_or_else(|| working::table(book, from, (board, at), &caption, false));
            Replacement::Html(html)
        }
        Some(&Target::Working(board, at)) => {
            let id = &records.boards[board].workings[at].id.value;
            Replacement::Keep {
                href: book.part_of_page(from, Page::Workings(board), &format!("working-{id}")),
            }
        }
        Some(&Target::Circuit(board, at)) if link.image => {
            // A sheet may show a circuit twice.
            let id = format!("Schematic-{}", link.event);
            let place = (board, at);
            Replacement::Html(schematic::figure(book, from, place, &id, &link.text))
        }
        Some(&Target::Circuit(board, at)) => {
            let id = &records.boards[board].circuits[at].id.value;
            Replacement::Keep {
                href: book.part_of_page(from, Page::Workings(board), &format!("circuit-{id}")),
            }
        }
        Some(&Target::Pins(board)) if !book.leaves.has(Page::Pins(board)) => Replacement::Text,
        Some(&Target::Pins(board)) if link.image => {
            let id = format!("Pins-{}", link.event);
            Replacement::Html(pins::figure(book, from, board, &id, &link.text))
        }
        Some(&Target::Pins(board)) => keep(Page::Pins(board)),
        Some(Target::Sheet(sheet, heading)) => {
            let mut href = book.page(from, book.page_of_sheet(*sheet));
            if let Some(heading) = heading {
                href = format!("{href}#{heading}");
            }
            Replacement::Keep { href }
        }
        Some(Target::Heading(id)) => Replacement::Keep {
            href: format!("#{id}"),
        },
        Some(Target::File(path)) => {
            if !out.files.contains(path) {
                out.files.push(path.clone());
            }
            let href = href(from, &file_path(path));
            if link.image {
                let size = super::picture::size(&book.notebook.root.join(path));
                return Replacement::Picture { href, size };
            }
            Replacement::Keep { href }
        }
        Some(Target::Outside(address)) => Replacement::Keep {
            href: address.clone(),
        },
        Some(Target::Nowhere) | None => Replacement::Text,
    }
}

/// Whether the edition has what a link leads to.
pub(crate) fn is_shown(book: &Book<'_>, target: &Target) -> bool {
    let (edition, notebook) = (&book.edition, book.notebook);
    match target {
        Target::Figure(node) | Target::Revised { node, .. } => edition.shows(*node),
        Target::Board(board) | Target::Pins(board) => edition.shows_board(*board),
        Target::Fitted(board, line) => edition.shows_line(notebook, *board, *line),
        Target::Part(part) => edition.shows_part(*part),
        Target::Working(board, at) => edition.shows_working(notebook, *board, *at),
        Target::Circuit(board, at) => edition.shows_circuit(*board, *at),
        Target::Sheet(sheet, _) => edition.shows_sheet(notebook, *sheet),
        // Readings are the team's, and so is what lies in a folder of the log.
        Target::File(path) => {
            let mut folders = path.components().map(|step| step.as_str());
            edition.is_whole() || !folders.any(|step| matches!(step, "readings" | "log"))
        }
        Target::Heading(_) | Target::Outside(_) | Target::Nowhere => true,
    }
}

/// The zone of every link of a document, in their order.
pub(crate) fn zones_of_links(document: &Document) -> Vec<String> {
    let starts = section_starts(document);
    let notes = footnotes(document);
    document
        .links
        .iter()
        .map(|link| {
            // Footnotes are written at the end of the sheet.
            let is_note = notes.iter().any(|note| note.contains(&link.event));
            let before = starts.iter().filter(|&&start| start <= link.event).count();
            letter(if is_note { starts.len() } else { before })
        })
        .collect()
}

/// Events that start a section: headings of the highest level below the title,
/// outside lists and quotations.
fn section_starts(document: &Document) -> Vec<usize> {
    let rest = usize::from(document.title.is_some());
    let below_title = || document.headings.iter().skip(rest);
    let Some(highest) = below_title().map(|heading| heading.level).min() else {
        return Vec::new();
    };
    let mut depth = 0usize;
    let mut starts = Vec::new();
    for (at, (event, _)) in document.events.iter().enumerate() {
        match event {
            Event::Start(_) => {
                let is_start = depth == 0
                    && below_title().any(|heading| heading.event == at && heading.level == highest);
                if is_start {
                    starts.push(at);
                }
                depth += 1;
            }
            Event::End(_) => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    starts
}

/// The events of each footnote.
fn footnotes(document: &Document) -> Vec<std::ops::Range<usize>> {
    let mut notes = Vec::new();
    let mut start = 0;
    for (at, (event, _)) in document.events.iter().enumerate() {
        match event {
            Event::Start(Tag::FootnoteDefinition(_)) => start = at,
            Event::End(TagEnd::FootnoteDefinition) => notes.push(start..at),
            _ => {}
        }
    }
    notes
}

/// Cuts HTML before every heading of the second level that lies in no other
/// element. The first piece is what stands before all of them.
fn sections(html: &str) -> Vec<&str> {
    const VOID: &[&str] = &["br", "hr", "img", "input"];
    let mut cuts = vec![0];
    let mut depth = 0usize;
    for (at, _) in html.match_indices('<') {
        let tag = &html[at + 1..];
        let end = tag.find('>').unwrap_or(tag.len());
        let (tag, closing) = match tag[..end].strip_prefix('/') {
            Some(tag) => (tag, true),
            None => (&tag[..end], false),
        };
        let name = tag.split([' ', '\n', '/']).next().unwrap_or(tag);
        if closing {
            depth = depth.saturating_sub(1);
            continue;
        }
        if depth == 0 && name == "h2" && at > 0 {
            cuts.push(at);
        }
        if depth == 0 && name == "h2" && at == 0 {
            // Nothing stands before the first section.
            cuts.push(0);
        }
        if !tag.ends_with('/') && !VOID.contains(&name) {
            depth += 1;
        }
    }
    cuts.push(html.len());
    cuts.windows(2)
        .map(|pair| &html[pair[0]..pair[1]])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Sources;
    use crate::prose::read;

    fn document(text: &str) -> Document {
        let file = Sources::default().add("front.md", text.to_owned());
        read(file, text).0
    }

    #[test]
    fn a_sheet_is_cut_at_its_own_headings_only() {
        let html = "<p>a<br />b</p>\n<h2 id=\"x\">X</h2><ul><li><h2>no</h2></li></ul><h2>Y</h2>";
        assert_eq!(
            sections(html),
            [
                "<p>a<br />b</p>\n",
                "<h2 id=\"x\">X</h2><ul><li><h2>no</h2></li></ul>",
                "<h2>Y</h2>"
            ]
        );
        assert_eq!(sections("<h2>X</h2>"), ["", "<h2>X</h2>"]);
        assert_eq!(sections(""), [""]);
    }

    #[test]
    fn links_know_their_zone() {
        let text = "# T\n\n[1 A](figure:a)[^n]\n\n## X\n\n[2 A](figure:a)\n\n> ## Q\n>\n> [3 A](figure:a)\n\n## Y\n\n[4 A](figure:a)\n\n[^n]: [5 A](figure:a)\n";
        assert_eq!(zones_of_links(&document(text)), ["A", "B", "B", "C", "C"]);
        let below = "# T\n\n### X\n\n[2 A](figure:a)\n\n#### Z\n\n[2 A](figure:a)\n";
        assert_eq!(zones_of_links(&document(below)), ["B", "B"]);
    }

    /// The zones of links and the cuts of the HTML come from two different
    /// readings of the sheet, which must agree.
    #[test]
    fn zones_and_cuts_agree() {
        for text in [
            "# T\n\na\n\n## X\n\nb\n\n## Y\n",
            "# T\n\n### X\n\n- a\n\n  ### b\n\n### Y\n",
            "no title\n\n## X\n",
            "# T\n\n> ## X\n\n## Y\n\n```\n## no\n```\n",
            "# T\n",
        ] {
            let document = document(text);
            let options = Options {
                without_title: true,
                without_comments: false,
                prefix: String::new(),
            };
            let html = render(&document, &options, &mut |_| Replacement::Text);
            assert_eq!(
                sections(&html).len(),
                section_starts(&document).len() + 1,
                "{text:?} {html}"
            );
        }
    }
}
