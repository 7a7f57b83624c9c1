//! Cautions as they stand on every sheet of their board.

use std::borrow::Cow;
use std::collections::BTreeSet;

use camino::Utf8Path;

use super::book::Book;
use super::markup::escaped;
use super::numbers::{running, typeset};
use super::view::CautionView;
use crate::formula::Comparator;
use crate::notebook::{Body, NodeId, Sides};
use crate::quantity::Unit;
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
        because_html: sides
            .filter(|sides| book.edition.compares(sides))
            .and_then(|sides| because(book, from, board, sides)),
    }
}

/// `full_voltage is 4.20 V, more than 4 V`, with links.
fn because(book: &Book<'_>, from: &Utf8Path, board: &str, sides: &Sides) -> Option<String> {
    let (left, right) = (
        side(book, from, board, sides.left)?,
        side(book, from, board, sides.right)?,
    );
    let left = match left.name {
        Some(name) => format!("<code>{name}</code> is {}", left.value),
        None => left.value,
    };
    let right = match right.name {
        Some(name) => format!("<code>{name}</code>, {}", right.value),
        None => right.value,
    };
    let compared = match sides.comparator {
        Comparator::Less => "less than",
        Comparator::AtMost => "at most",
        Comparator::Greater => "more than",
        Comparator::AtLeast => "at least",
    };
    Some(format!("{left}, {compared} {right}"))
}

/// One side of a comparison as HTML.
struct Side {
    /// The figure's name, where the side is nothing else.
    name: Option<String>,
    value: String,
}

fn side(book: &Book<'_>, from: &Utf8Path, board: &str, node: NodeId) -> Option<Side> {
    book.notebook.value(node)?;
    let value = escaped(&book.value_text(node));
    let Body::Computed(calculation) = &book.notebook.graph.node(node).body else {
        return Some(Side { name: None, value });
    };
    let formula = &calculation.formula;
    match calculation.operands.as_slice() {
        // A limit stands as it was written.
        [] => {
            let written = formula.text().get(formula.span())?;
            let value = escaped(&typeset(&printed(written)));
            Some(Side { name: None, value })
        }
        [only] if formula.as_single_name().is_some() => {
            let link = book.node_link(from, board, *only);
            let href = escaped(&link.href);
            Some(Side {
                name: Some(escaped(&link.text)),
                value: format!("<a class=\"stated\" href=\"{href}\">{value}</a>"),
            })
        }
        _ => Some(Side { name: None, value }),
    }
}

/// A limit as it was written, with its unit as that is printed: a formula has no
/// room for a symbol of two words.
fn printed(written: &str) -> Cow<'_, str> {
    let parts = written.split_once(' ');
    let known = parts.and_then(|(number, unit)| Some((number, Unit::from_symbol(unit).ok()?)));
    known.map_or(Cow::Borrowed(written), |(number, unit)| {
        Cow::Owned(format!("{number} {}", unit.symbol()))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_keeps_its_number_and_gets_the_printed_unit() {
        for (written, expected) in [
            ("85 dBSPL", "85 dB SPL"),
            ("4.20 V", "4.20 V"),
            ("0.3 A*h", "0.3 A*h"),
            ("2", "2"),
            ("1 + 1", "1 + 1"),
        ] {
            assert_eq!(printed(written), expected);
        }
    }
}
