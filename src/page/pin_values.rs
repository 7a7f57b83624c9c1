//! What a board draws, gives and puts on its bus, in numbers, on its pin sheet.

use camino::Utf8Path;
use serde::Serialize;

use super::book::{Book, anchor};
use super::markup::{escaped, with_names};
use super::numbers::spread;
use crate::notebook::{Body, Node, NodeId, Origin};

/// A formula of `[pins]` and what it comes to.
#[derive(Debug, Serialize)]
pub(crate) struct ValueRow {
    id: String,
    means_html: String,
    from_html: String,
    value: String,
    spread: Option<String>,
    holds: bool,
}

/// Id of the place on a pin sheet where a node of its pins stands. What is
/// counted and not computed is how many contacts are free, which the contacts
/// tell one by one.
pub(crate) fn place(node: &Node) -> String {
    match node.body {
        Body::Given(_) => "contacts".to_owned(),
        _ => anchor(&node.name),
    }
}

/// Every formula of a board's pins that the edition has, in the order of the
/// record.
pub(crate) fn values(book: &Book<'_>, from: &Utf8Path, board: usize) -> Vec<ValueRow> {
    let notebook = book.notebook;
    let nodes = notebook.graph.iter().filter(|(id, node)| {
        let is_ours = node.origin == Origin::Pins { board };
        is_ours && !matches!(node.body, Body::Given(_)) && book.edition.shows(*id)
    });
    let row = |(id, node): (NodeId, &Node)| {
        let strayed = notebook.value(id);
        let strayed = strayed.filter(|_| book.edition.shows_spread(notebook, id));
        ValueRow {
            id: place(node),
            means_html: with_names(&node.means),
            from_html: formula(book, from, id),
            value: book.value_text(id),
            spread: strayed.and_then(spread),
            holds: notebook.figure_holds(id),
        }
    };
    nodes.map(row).collect()
}

/// A formula as it is written; one that is nothing but a name leads to it.
fn formula(book: &Book<'_>, from: &Utf8Path, node: NodeId) -> String {
    let record = book.notebook.graph.node(node);
    let Body::Computed(calculation) = &record.body else {
        return "–".to_owned();
    };
    if !book.edition.explains(book.notebook, node) {
        return "–".to_owned();
    }
    let code = format!("<code>{}</code>", escaped(calculation.formula.text()));
    match calculation.operands.as_slice() {
        [only] if calculation.formula.as_single_name().is_some() => {
            let href = book.place_of(from, *only);
            format!("<a href=\"{}\">{code}</a>", escaped(&href))
        }
        _ => code,
    }
}
