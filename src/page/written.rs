//! Sheets that somebody wrote: front sheets, design sheets, log entries.

use camino::Utf8PathBuf;
use serde::Serialize;

use super::book::Book;
use super::caution;
use super::corner::{Parts, document_type, sheet};
use super::leaves::Page;
use super::numbers::{running, typeset};
use super::prose_html::{Text, text};
use super::revision::{ErratumView, OtherRevision, errata, others};
use super::slip::figure_record;
use super::view::Sheet;
use crate::notebook::{NodeId, SheetKind};
use crate::record::Audience;

/// What only a written sheet has.
#[derive(Debug, Serialize)]
pub(crate) struct Written {
    title: String,
    summary: Option<String>,
    /// Date of a log entry.
    dated: Option<String>,
    /// The board, on a log entry.
    board: Option<String>,
    headlines: Vec<Headline>,
    /// What the board is, as JSON-LD.
    linked_data_json: Option<String>,
    /// Revision of the board.
    mark: String,
    /// How to tell it, on a front sheet.
    tell: Option<String>,
    /// Known errors of this revision, on a front sheet.
    errata: Vec<ErratumView>,
    /// Earlier revisions, on a front sheet.
    others: Vec<OtherRevision>,
    first_html: String,
    sections: Vec<Section>,
}

/// A figure that the front sheet shows first.
#[derive(Debug, Serialize)]
struct Headline {
    means: String,
    stated_html: String,
    at: Option<String>,
    holds: bool,
}

/// A section with its zone.
#[derive(Debug, Serialize)]
struct Section {
    zone: String,
    text_html: String,
}

/// The first sheet of a board, and the files of the notebook that it needs.
pub(crate) fn front_sheet(book: &Book<'_>, board: usize) -> (Sheet<Written>, Vec<Utf8PathBuf>) {
    let page = Page::Front(board);
    let from = &book.leaves.leaf(page).path;
    let record = &book.notebook.records.boards[board];
    let mut sheets = book.notebook.sheets_of(board).map(|(_, sheet)| sheet);
    let front = sheets.find(|sheet| sheet.kind == SheetKind::Front);
    let prose = front
        .map(|front| text(book, from, front))
        .unwrap_or_default();
    let headline_nodes = headlines(book, board);
    let mut stated = headline_nodes.clone();
    for node in &prose.stated {
        if !stated.contains(node) {
            stated.push(*node);
        }
    }
    let linked_data = super::linked_data::board(book, board, &headline_nodes);
    let headlines = headline_nodes.into_iter().filter_map(|node| {
        let figure = figure_record(book, node)?;
        let says = figure.says.as_ref();
        let text = says.map_or_else(|| book.value_text(node), |says| typeset(says.value.text()));
        let holds = book.notebook.figure_holds(node);
        Some(Headline {
            means: figure.means.value.clone(),
            stated_html: book.stated_html(from, node, &text, !holds),
            at: figure.at.as_ref().map(|at| running(&at.value)),
            holds,
        })
    });
    let face = Written {
        title: front.map_or_else(|| record.title.value.clone(), |front| front.title()),
        summary: Some(running(&record.summary.value)),
        dated: None,
        board: None,
        linked_data_json: Some(linked_data),
        headlines: headlines.collect(),
        mark: record.revision.value.clone(),
        tell: record.tell.as_ref().map(|tell| running(&tell.value)),
        errata: errata(record, &record.revision.value),
        others: others(book, from, board),
        first_html: prose.first_html,
        sections: sections(prose.sections),
    };
    let parts = Parts {
        description: record.summary.value.clone(),
        cautions: caution::of_board(book, from, board),
        stated: &stated,
        face,
    };
    (sheet(book, page, parts), prose.files)
}

/// Any other written sheet.
pub(crate) fn written_sheet(book: &Book<'_>, at: usize) -> (Sheet<Written>, Vec<Utf8PathBuf>) {
    let page = Page::Written(at);
    let from = &book.leaves.leaf(page).path;
    let source = &book.notebook.sheets[at];
    let board = &book.notebook.records.boards[source.board];
    let Text {
        first_html,
        sections: parts,
        stated,
        files,
    } = text(book, from, source);
    let dated = match &source.kind {
        SheetKind::Log { date, .. } => Some(date.to_string()),
        SheetKind::Front | SheetKind::Further(_) => None,
    };
    let title = source.title();
    let description = format!(
        "{} of the {}, revision {}: {title}.",
        document_type(book, page),
        board.title.value,
        board.revision.value,
    );
    let parts = Parts {
        description,
        cautions: caution::of_board(book, from, source.board),
        stated: &stated,
        face: Written {
            title,
            summary: None,
            board: dated.as_ref().map(|_| board.title.value.clone()),
            dated,
            headlines: Vec::new(),
            linked_data_json: None,
            mark: board.revision.value.clone(),
            tell: None,
            errata: Vec::new(),
            others: Vec::new(),
            first_html,
            sections: sections(parts),
        },
    };
    (sheet(book, page, parts), files)
}

fn sections(sections: Vec<(String, String)>) -> Vec<Section> {
    sections
        .into_iter()
        .map(|(zone, text_html)| Section { zone, text_html })
        .collect()
}

/// The figures that the front sheet shows first, in the order of the record.
fn headlines(book: &Book<'_>, board: usize) -> Vec<NodeId> {
    let record = &book.notebook.records.boards[board];
    record
        .figures
        .iter()
        .filter(|figure| figure.headline && figure.audience == Audience::Customers)
        .filter_map(|figure| book.notebook.graph.find(&record.id.value, &figure.id.value))
        .filter(|node| book.edition.shows(*node))
        .collect()
}
