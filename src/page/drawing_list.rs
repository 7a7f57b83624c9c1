//! The cover: every board a row.

use camino::Utf8PathBuf;
use serde::Serialize;

use super::book::Book;
use super::corner::{Parts, sheet, tally_view};
use super::glimpse::{Glimpse, glimpse};
use super::leaves::{Page, Set, board_order};
use super::markup::tally_marks;
use super::numbers::running;
use super::view::{Sheet, TallyView};

/// What only the cover has.
#[derive(Debug, Serialize)]
pub(crate) struct DrawingList {
    title: String,
    lead: String,
    /// Whether any board has something to see.
    pictured: bool,
    boards: Vec<BoardRow>,
}

/// A board.
#[derive(Debug, Serialize)]
struct BoardRow {
    glimpse: Glimpse,
    title: String,
    summary: String,
    href: String,
    revision: String,
    status: &'static str,
    sheets: String,
    figures_href: String,
    tally: TallyView,
    strokes_html: String,
}

/// The cover, and the files of the notebook that it needs.
pub(crate) fn cover(book: &Book<'_>) -> (Sheet<DrawingList>, Vec<Utf8PathBuf>) {
    let page = Page::Cover;
    let from = &book.leaves.leaf(page).path;
    let records = &book.notebook.records;
    let boards: Vec<BoardRow> = board_order(book.notebook)
        .into_iter()
        .filter(|&at| book.edition.shows_board(at))
        .map(|at| {
            let board = &records.boards[at];
            let tally = book.tally_of(at);
            BoardRow {
                glimpse: glimpse(book, from, at),
                title: board.title.value.clone(),
                summary: running(&board.summary.value),
                href: book.page(from, Page::Front(at)),
                revision: board.revision.value.clone(),
                status: board.status.word(),
                sheets: book.leaves.set(Set::Board(at)).count().to_string(),
                figures_href: book.page(from, Page::Figures(at)),
                strokes_html: tally_marks(tally.hold, tally.of),
                tally: tally_view(tally),
            }
        })
        .collect();
    let files = boards.iter().filter_map(|board| board.glimpse.file.clone());
    let files = files.collect();
    let count = match boards.len() {
        1 => "One board".to_owned(),
        count => format!("{count} boards"),
    };
    let tally = tally_view(book.tally());
    let lead = format!("{count}, {}.", tally.text);
    let title = records.notebook.title.clone();
    let parts = Parts {
        description: format!("Drawing list of {title}: {lead}"),
        cautions: Vec::new(),
        stated: &[],
        face: DrawingList {
            title,
            lead,
            pictured: boards.iter().any(|board| !board.glimpse.is_empty()),
            boards,
        },
    };
    (sheet(book, page, parts), files)
}
