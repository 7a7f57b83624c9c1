//! Cautions as they stand on every sheet of their board.

use std::collections::BTreeSet;

use camino::Utf8Path;

use super::book::Book;
use super::markup::escaped;
use super::numbers::running;
use super::view::CautionView;
use crate::notebook::{Body, NodeId, Sides};
use crate::record::{Caution, Hazard, Signal};

/// The cautions of a board: those about lithium cells first, then the worst.
pub(crate) fn of_board(book: &Book<'_>, from: &Utf8Path, board: usize) -> Vec<CautionView> {
    let mut cautions = ordered(book, board, |_| true);
    cautions
        .drain(..)
        .map(|(caution, sides)| {
            view(
                book,
                from,
                &book.notebook.records.boards[board].id.value,
                caution,
                sides,
            )
        })
        .collect()
}

/// What the boards say about lithium cells, each text once: for the sheets of
/// cells and of chargers.
pub(crate) fn about_cells(
    book: &Book<'_>,
    from: &Utf8Path,
    boards: &BTreeSet<usize>,
) -> Vec<CautionView> {
    let mut seen: Vec<&str> = Vec::new();
    let mut views = Vec::new();
    for &board in boards {
        for (caution, sides) in ordered(book, board, |about| about == Hazard::LithiumCell) {
            if !seen.contains(&caution.hazard.value.as_str()) {
                seen.push(&caution.hazard.value);
                views.push(view(book, from, "", caution, sides));
            }
        }
    }
    views
}

fn ordered<'n>(
    book: &Book<'n>,
    board: usize,
    wanted: impl Fn(Hazard) -> bool,
) -> Vec<(&'n Caution, Option<&'n Sides>)> {
    let comparisons = book.notebook.comparisons.get(board);
    let sides = |at: usize| comparisons.and_then(|all| all.cautions.get(at)?.as_ref());
    let mut cautions: Vec<(&Caution, Option<&Sides>)> = book.notebook.records.boards[board]
        .cautions
        .iter()
        .enumerate()
        .filter(|(_, caution)| wanted(caution.about))
        .map(|(at, caution)| (caution, sides(at)))
        .collect();
    cautions.sort_by_key(|(caution, _)| (caution.about != Hazard::LithiumCell, caution.signal));
    cautions
}

fn view(
    book: &Book<'_>,
    from: &Utf8Path,
    board: &str,
    caution: &Caution,
    sides: Option<&Sides>,
) -> CautionView {
    let (class, alert) = match caution.signal {
        Signal::Danger => ("sign-danger", true),
        Signal::Warning => ("sign-warning", true),
        Signal::Caution => ("sign-caution", true),
        // Damage to things alone bears no safety alert symbol.
        Signal::Notice => ("sign-notice", false),
    };
    CautionView {
        signal: caution.signal.word(),
        class,
        alert,
        hazard: running(&caution.hazard.value),
        consequence: caution.consequence.as_ref().map(|text| text.value.clone()),
        avoid: running(&caution.avoid.value),
        because_html: sides.and_then(|sides| because(book, from, board, sides)),
    }
}

/// `full_voltage = 4.20 V > 4 V`, with links.
fn because(book: &Book<'_>, from: &Utf8Path, board: &str, sides: &Sides) -> Option<String> {
    let side = |node: NodeId| -> Option<String> {
        book.notebook.value(node)?;
        let value = book.value_text(node);
        let Body::Computed(calculation) = &book.notebook.graph.node(node).body else {
            return Some(escaped(&value));
        };
        if let [only] = calculation.operands.as_slice()
            && calculation.formula.as_single_name().is_some()
        {
            let link = book.node_link(from, board, *only);
            return Some(format!(
                "<code>{}</code> is <a class=\"stated\" href=\"{}\">{}</a>",
                escaped(&link.text),
                escaped(&link.href),
                escaped(&value)
            ));
        }
        Some(escaped(&value))
    };
    let (left, right) = (side(sides.left)?, side(sides.right)?);
    let sign = escaped(sides.comparator.sign());
    Some(format!("{left}, and that is {sign}\u{a0}{right}"))
}
