//! The index of the finder: what can be looked up, and where it is.
//!
//! It is a script and not data, since a page that is opened from the disk may
//! fetch no data. Words are taken from the finished pages, so that the index
//! cannot know more than they do.

use std::collections::HashSet;
use std::sync::Arc;

use camino::Utf8Path;
use memchr::memmem;
use rayon::prelude::*;

use super::book::{Book, anchor};
use super::leaves::{Leaf, Page};
use super::markup::between_tags;
use super::numbers::typeset;
use super::press::Printed;
use crate::notebook::{NodeId, Origin, SheetKind};

/// Path of the index in the site.
pub(crate) const INDEX: &str = "finder-index.js";

/// What a row is about; `finder.js` has the words.
#[derive(Clone, Copy)]
enum Kind {
    Sheet,
    Entry,
    Figure,
    Part,
    Place,
    Pin,
}

/// A row: kind, address from the cover, name, title, value as shown, words.
type Row = (u8, String, String, String, String, String);

/// The index of an edition: its rows, as they are written.
#[derive(Clone)]
pub(crate) struct Index {
    /// The row of each sheet, in the order of the leaves.
    sheets: Vec<Arc<str>>,
    /// All other rows.
    others: Arc<[String]>,
}

impl Index {
    /// The index with these rows of sheets, in the order of the leaves, and of what
    /// else there is.
    pub fn of(sheets: Vec<Arc<str>>, others: Arc<[String]>) -> Index {
        Index { sheets, others }
    }

    /// Takes in the row of a page that was made once more.
    pub fn again(&mut self, book: &Book<'_>, leaf: &Leaf, row: Arc<str>) {
        let at = book.leaves.iter().position(|known| known.page == leaf.page);
        if let Some(known) = at.and_then(|at| self.sheets.get_mut(at)) {
            *known = row;
        }
    }

    /// The index as a script.
    pub fn script(&self) -> String {
        let sheets = self.sheets.iter().map(AsRef::as_ref);
        let rows = sheets.chain(self.others.iter().map(String::as_str));
        let length: usize = rows.clone().map(|row| row.len() + 1).sum();
        let mut script = String::with_capacity(length + 24);
        script.push_str("Finder.index([");
        for (at, row) in rows.enumerate() {
            if at > 0 {
                script.push(',');
            }
            script.push_str(row);
        }
        script.push_str("]);\n");
        script
    }
}

/// A row as JSON.
fn written(row: &Row) -> String {
    // Texts and a small number cannot fail to be written.
    serde_json::to_string(row).unwrap_or_else(|_| "[]".to_owned())
}

fn row(kind: Kind, href: String, name: &str, title: &str, shown: &str, words: String) -> Row {
    let texts = [name, title, shown].map(str::to_owned);
    let [name, title, shown] = texts;
    (kind as u8, href, name, title, shown, words)
}

/// The rows of figures, places and pins, as they are written, board by board.
pub(crate) fn others(book: &Book<'_>) -> Arc<[String]> {
    let boards = (0..book.notebook.records.boards.len()).into_par_iter();
    let shown = boards.filter(|&board| book.edition.shows_board(board));
    let rows = shown.map(|board| {
        let mut rows = Vec::new();
        figures(book, board, &mut rows);
        places(book, board, &mut rows);
        pins(book, board, &mut rows);
        let rows: Vec<String> = rows.iter().map(written).collect();
        rows.join(",")
    });
    rows.filter(|rows| !rows.is_empty()).collect()
}

/// The row of a sheet, as it is written, from its finished page.
pub(crate) fn sheet(book: &Book<'_>, leaf: &Leaf, printed: &Printed) -> Arc<str> {
    let from = Utf8Path::new("");
    let link = book.link(from, leaf);
    let of_entry = match leaf.page {
        Page::Written(at) => match book.notebook.sheets[at].kind {
            SheetKind::Log { date, .. } => Some(date),
            SheetKind::Front | SheetKind::Further(_) => None,
        },
        _ => None,
    };
    let document_type = || super::corner::document_type(book, leaf.page);
    let (kind, title) = match (leaf.page, of_entry) {
        // Its kind says already that it is an entry of the log.
        (_, Some(date)) => (Kind::Entry, date.to_string()),
        (Page::Part(_) | Page::Module(_), None) => (Kind::Part, document_type()),
        _ => (Kind::Sheet, document_type()),
    };
    let shown = match leaf.page {
        Page::Part(at) => {
            let value = book.notebook.records.parts[at].property("value");
            value.map_or_else(String::new, |value| typeset(value.given.value.text()))
        }
        _ => String::new(),
    };
    // Figures and parts have rows of their own.
    let words = match leaf.page {
        Page::Front(_) | Page::Written(_) | Page::Part(_) | Page::Module(_) | Page::Findings => {
            printed.words().to_owned()
        }
        _ => String::new(),
    };
    written(&row(kind, link.href, &link.text, &title, &shown, words)).into()
}

/// The words of a page's sheet, each once.
pub(super) fn words(html: &str) -> String {
    let find = |wanted: &str| memmem::find(html.as_bytes(), wanted.as_bytes());
    let start = find("<main").unwrap_or(0);
    let end = find("<div class=\"slips\">").or_else(|| find("</main>"));
    let main = html.get(start..end.unwrap_or(html.len())).unwrap_or("");
    let is_of_word = |c: char| matches!(c, '_' | '.' | '-' | '/' | '°') || c.is_alphanumeric();
    let words = between_tags(main).flat_map(|text| text.split(|c: char| !is_of_word(c)));
    // Most of them stand there more than once.
    let seen: HashSet<&str> = words
        .map(|word| word.trim_matches(['.', '-', '/']))
        .collect();
    let long = seen
        .into_iter()
        .filter(|word| word.chars().nth(1).is_some());
    let mut words: Vec<String> = long.map(str::to_lowercase).collect();
    words.sort_unstable();
    words.dedup();
    words.join(" ")
}

fn figures(book: &Book<'_>, board: usize, rows: &mut Vec<Row>) {
    let from = Utf8Path::new("");
    for node in book.figures_of(board) {
        let record = book.notebook.graph.node(node);
        let shown = book.value_text(node);
        let says = book.notebook.says(node).map(|says| typeset(says.text()));
        let board = book.notebook.records.boards[board].title.value.clone();
        let words = format!("{board} {}", says.unwrap_or_default());
        rows.push(row(
            Kind::Figure,
            book.place_of(from, node),
            &record.name,
            &record.means,
            &shown,
            words,
        ));
    }
}

/// Designators: where a part sits.
fn places(book: &Book<'_>, board: usize, rows: &mut Vec<Row>) {
    let from = Utf8Path::new("");
    let record = &book.notebook.records.boards[board];
    for (at, line) in record.fitted.iter().enumerate() {
        let parts = &book.notebook.records.parts;
        let part = book.notebook.records.part_at(&line.part.value);
        let Some(part) = part.filter(|_| book.edition.shows_line(book.notebook, board, at)) else {
            continue;
        };
        let name = &line.designator.value;
        // Its value's place on the calculation sheet, where it has one.
        let of_line = |node: &&NodeId| {
            let origin = &book.notebook.graph.node(**node).origin;
            matches!(origin, Origin::Fitted { fitted, .. } if *fitted == at)
        };
        let href = match book.fitted_of(board).iter().find(of_line) {
            Some(&node) => figure_of(book, from, node),
            None => book.page(from, Page::Part(part)),
        };
        let title = &book.leaves.leaf(Page::Part(part)).title;
        let value = parts[part].property("value");
        let shown = value.map_or_else(String::new, |value| typeset(value.given.value.text()));
        let fit = if line.fit { "" } else { ", not fitted" };
        let title = format!("{}: {title}{fit}", record.title.value);
        rows.push(row(
            Kind::Place,
            href,
            name,
            &title,
            &shown,
            line.part.value.clone(),
        ));
    }
}

fn figure_of(book: &Book<'_>, from: &Utf8Path, node: NodeId) -> String {
    let record = book.notebook.graph.node(node);
    let Origin::Fitted { board, .. } = record.origin else {
        return book.place_of(from, node);
    };
    book.part_of_page(from, Page::Figures(board), &anchor(&record.name))
}

fn pins(book: &Book<'_>, board: usize, rows: &mut Vec<Row>) {
    let from = Utf8Path::new("");
    let record = &book.notebook.records.boards[board];
    let Some(pins) = record
        .pins
        .as_ref()
        .filter(|_| book.leaves.has(Page::Pins(board)))
    else {
        return;
    };
    let href = book.page(from, Page::Pins(board));
    for bus in &pins.buses {
        for (contact, what) in [(&bus.clock, "clock"), (&bus.data, "data")] {
            let title = format!("{}: {what} of bus {}", record.title.value, bus.id.value);
            let href = format!("{href}#contacts");
            rows.push(row(
                Kind::Pin,
                href,
                &contact.value,
                &title,
                "",
                String::new(),
            ));
        }
    }
    for claim in &pins.claims {
        let contacts = match &claim.contact {
            crate::record::Choice::Fixed(contact) => vec![contact.value.as_str()],
            crate::record::Choice::ByStrap { settles, .. } => settles
                .iter()
                .map(|(_, contact)| contact.value.as_str())
                .collect(),
        };
        let title = format!("{}: {}", record.title.value, claim.means.value);
        rows.push(row(
            Kind::Pin,
            format!("{href}#contacts"),
            &contacts.join(", "),
            &title,
            "",
            format!("{} {}", claim.id.value, claim.as_what.word()),
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_those_of_the_sheet_each_once() {
        let html = "<header>no</header><main id=\"Sheet\"><p>The <b>cell</b>, the 5.1 kΩ.</p>\
                    <div class=\"slips\">nor this</div></main>";
        assert_eq!(words(html), "5.1 cell kω the");
        assert_eq!(words("<main>a<b"), "");
    }
}
