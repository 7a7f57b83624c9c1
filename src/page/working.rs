//! A working's results as a table.

use std::fmt::Write;

use camino::Utf8Path;

use super::book::Book;
use super::markup::escaped;
use crate::notebook::{NodeId, Origin};
use crate::trade;

/// Inputs and results of a working, each with its value and a link to its
/// derivation.
pub(crate) fn table(
    book: &Book<'_>,
    from: &Utf8Path,
    board: usize,
    working: usize,
    caption: &str,
) -> String {
    let mut rows = String::new();
    for node in nodes(book, board, working) {
        let record = book.notebook.graph.node(node);
        let amiss = !book.notebook.figure_holds(node);
        // Writing to a string does not fail.
        let _ = write!(
            rows,
            "<tr><th scope=\"row\">{}</th><td class=\"num\">{}</td></tr>",
            escaped(&record.means),
            book.stated_html(from, node, &book.value_text(node), amiss)
        );
    }
    let caption = match caption {
        "" => title(book, board, working),
        caption => caption.to_owned(),
    };
    format!(
        "<div class=\"table\"><table class=\"working\"><caption>{}</caption><thead><tr>\
         <th scope=\"col\">What it is</th><th scope=\"col\">Value</th></tr></thead>\
         <tbody>{rows}</tbody></table></div>",
        escaped(&caption)
    )
}

/// What a working is for: its own words, or those of its kind.
pub(crate) fn title(book: &Book<'_>, board: usize, working: usize) -> String {
    let record = &book.notebook.records.boards[board].workings[working];
    match (&record.means, trade::kind(&record.kind.value)) {
        (Some(means), _) => means.value.clone(),
        (None, Some(kind)) => kind.title.to_owned(),
        (None, None) => record.id.value.clone(),
    }
}

/// The inputs and results of a working, in the order of computing them.
pub(crate) fn nodes(book: &Book<'_>, board: usize, working: usize) -> Vec<NodeId> {
    let graph = &book.notebook.graph;
    let is_ours = |id: &NodeId| match graph.node(*id).origin {
        Origin::Working {
            board: of,
            working: at,
            ..
        } => (of, at) == (board, working),
        _ => false,
    };
    let figures = book.notebook.figures_of(board);
    figures.into_iter().filter(is_ours).collect()
}
