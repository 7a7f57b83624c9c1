//! The list of a board's log entries, the newest first.

use serde::Serialize;

use super::book::Book;
use super::caution;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::view::Sheet;
use crate::notebook::SheetKind;

/// What only a log list has.
#[derive(Debug, Serialize)]
pub(crate) struct LogList {
    lead: String,
    entries: Vec<LogRow>,
}

/// One entry.
#[derive(Debug, Serialize)]
struct LogRow {
    date: String,
    title: String,
    href: String,
}

/// The log list of a board.
pub(crate) fn log_list(book: &Book<'_>, board: usize) -> Sheet<LogList> {
    let page = Page::Log(board);
    let from = &book.leaves.leaf(page).path;
    let title = &book.notebook.records.boards[board].title.value;
    let mut entries: Vec<_> = book
        .notebook
        .sheets_of(board)
        .filter_map(|(at, sheet)| match &sheet.kind {
            SheetKind::Log { date, .. } => Some((*date, at, sheet)),
            SheetKind::Front | SheetKind::Further(_) => None,
        })
        .collect();
    entries.sort_by_key(|(date, at, _)| std::cmp::Reverse((*date, *at)));
    let entries = entries.into_iter().map(|(date, at, sheet)| LogRow {
        date: date.to_string(),
        title: sheet.title(),
        href: book.page(from, Page::Written(at)),
    });
    let parts = Parts {
        description: format!("Design log of the {title}: what was decided, and why."),
        cautions: caution::of_board(book, from, board),
        stated: &[],
        face: LogList {
            lead: format!("What was decided about the {title}, and why; the newest first."),
            entries: entries.collect(),
        },
    };
    sheet(book, page, parts)
}
