//! What a board's documents hold for those who make, test and repair it without
//! the team: where each is, or why there is none (after DIN SPEC 3105-1).

use camino::{Utf8Path, Utf8PathBuf};
use serde::Serialize;

use super::book::Book;
use super::caution;
use super::corner::{Parts, sheet};
use super::leaves::{Page, href};
use super::numbers::running;
use super::prose_html::file_path;
use super::view::{Link, Sheet};
use crate::notebook::{DocumentLine, DocumentState};

/// Name of the manifest in the board's folder.
const MANIFEST: &str = "okh.toml";

/// What only the list of documents has.
#[derive(Debug, Serialize)]
pub(crate) struct Documents {
    title: String,
    lead: String,
    rows: Vec<Row>,
}

/// One thing that the documents must hold.
#[derive(Debug, Serialize)]
struct Row {
    title: String,
    verdict: &'static str,
    lacking: bool,
    text: Option<String>,
    link: Option<Link>,
}

/// The list of a board's documents, and the files of the notebook that it links to.
pub(crate) fn documents_sheet(
    book: &Book<'_>,
    board: usize,
) -> (Sheet<Documents>, Vec<Utf8PathBuf>) {
    let page = Page::Documents(board);
    let from = &book.leaves.leaf(page).path;
    let title = &book.notebook.records.boards[board].title.value;
    let lines = book.notebook.documents_of(board).unwrap_or_default();
    let mut wanted = Vec::new();
    for line in &lines {
        if let DocumentState::File(path) = &line.state {
            wanted.push(path.clone());
        }
    }
    let mut rows: Vec<Row> = lines.iter().map(|line| row(book, line, from)).collect();
    let manifest = manifest(book, board);
    rows.push(Row {
        title: "Open Know-How manifest".to_owned(),
        verdict: if manifest.is_some() { "yes" } else { "no" },
        lacking: false,
        text: match manifest {
            Some(_) => None,
            None => Some("The records do not say all that it must have.".to_owned()),
        },
        link: manifest.map(|(path, _)| Link {
            text: MANIFEST.to_owned(),
            href: href(from, &path),
        }),
    });
    let count = |verdict: &str| rows.iter().filter(|row| row.verdict == verdict).count();
    let lead = format!(
        "What others need to make, test, repair and dispose of the {title}: {} of {} are there.",
        count("yes"),
        rows.len()
    );
    let parts = Parts {
        description: format!("Where the documents of the {title} are, and why some are not."),
        cautions: caution::of_board(book, from, board),
        stated: &[],
        face: Documents {
            title: "Documents".to_owned(),
            lead,
            rows,
        },
    };
    (sheet(book, page, parts), wanted)
}

/// The manifest of a board with its path in the site, beside the board's sheets.
pub(crate) fn manifest(book: &Book<'_>, board: usize) -> Option<(Utf8PathBuf, String)> {
    let text = book.notebook.manifest(board)?;
    let sheet = &book.leaves.leaf(Page::Documents(board)).path;
    Some((sheet.with_file_name(MANIFEST), text))
}

fn row(book: &Book<'_>, line: &DocumentLine, from: &Utf8Path) -> Row {
    let there = |text: Option<String>, link: Option<Link>| Row {
        title: line.title.to_owned(),
        verdict: "yes",
        lacking: false,
        text,
        link,
    };
    let page = |page: Page| {
        let leaf = book.leaves.leaf(page);
        book.leaves.has(page).then(|| book.link(from, leaf))
    };
    match &line.state {
        DocumentState::Said(text) if text.starts_with("http") => there(
            None,
            Some(Link {
                text: text.clone(),
                href: text.clone(),
            }),
        ),
        DocumentState::Said(text) => there(Some(running(text)), None),
        DocumentState::Sheet(sheet) if !book.edition.shows_sheet(book.notebook, *sheet) => {
            there(Some("On a sheet for contributors.".to_owned()), None)
        }
        DocumentState::Sheet(sheet) => there(None, page(book.page_of_sheet(*sheet))),
        DocumentState::File(path) => there(
            None,
            Some(Link {
                text: path.file_name().unwrap_or(path.as_str()).to_owned(),
                href: href(from, &file_path(path)),
            }),
        ),
        DocumentState::Fixture(tester) => there(
            Some("On the fixture sheet".to_owned()),
            page(Page::Fixture(*tester)),
        ),
        DocumentState::Fitted(count) => there(
            Some(format!("{count} places, each with its part")),
            page(Page::WhereUsed),
        ),
        DocumentState::Not(reason) => Row {
            verdict: "no",
            ..there(Some(running(reason)), None)
        },
        DocumentState::Lacking => Row {
            verdict: "no",
            lacking: true,
            ..there(Some("No reason is given.".to_owned()), None)
        },
    }
}
