//! The cover: every board a row.

use serde::Serialize;

use super::book::Book;
use super::corner::{Parts, sheet, tally_view};
use super::leaves::{Page, Set, board_order};
use super::markup::tally_marks;
use super::view::{Sheet, TallyView};

/// What only the cover has.
#[derive(Debug, Serialize)]
pub(crate) struct DrawingList {
    title: String,
    lead: String,
    boards: Vec<BoardRow>,
}

/// A board.
#[derive(Debug, Serialize)]
struct BoardRow {
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

/// The cover.
pub(crate) fn cover(book: &Book<'_>) -> Sheet<DrawingList> {
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
                title: board.title.value.clone(),
                summary: board.summary.value.clone(),
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
            boards,
        },
    };
    sheet(book, page, parts)
}
