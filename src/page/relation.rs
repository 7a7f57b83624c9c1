//! What must hold between figures, as rows of a calculation sheet.

use serde::Serialize;

use super::book::Book;
use super::numbers::{length, spread};
use super::slip::formula_symbols;
use crate::notebook::{Body, NodeId, Sides};

/// A joint requirement.
#[derive(Debug, Serialize)]
pub(crate) struct RelationRow {
    id: String,
    name: String,
    means: String,
    formula_mathml: String,
    left: SideView,
    right: SideView,
    in_hand: String,
    holds: bool,
}

/// One side of a comparison.
#[derive(Debug, Serialize)]
pub(crate) struct SideView {
    value: String,
    spread: Option<String>,
}

/// What the records ask to hold between figures, then what its workings do.
pub(crate) fn relations(book: &Book<'_>, board: usize) -> Vec<RelationRow> {
    let record = &book.notebook.records.boards[board];
    let comparisons = book.notebook.comparisons.get(board);
    let edition = &book.edition;
    let shown = |sides: Option<&Sides>| {
        edition.is_whole() || sides.is_some_and(|sides| edition.compares(sides))
    };
    let mut rows: Vec<RelationRow> = record
        .relations
        .iter()
        .enumerate()
        .map(|(at, relation)| {
            let sides = comparisons.and_then(|all| all.relations.get(at)?.as_ref());
            (relation, sides)
        })
        .filter(|(_, sides)| shown(*sides))
        .map(|(relation, sides)| {
            let id = &relation.id.value;
            let holds = !book.is_amiss(&relation.holds.place);
            relation_row(book, (id, id), &relation.means.value, sides, holds)
        })
        .collect();
    for (working, number, sides) in comparisons.iter().flat_map(|all| &all.workings) {
        if !shown(Some(sides)) || !edition.shows_working(book.notebook, board, *working) {
            continue;
        }
        let id = &record.workings[*working].id.value;
        let worked = book.notebook.graph.working(board, *working);
        if let Some(holding) = worked.and_then(|worked| worked.plan.holds.get(*number)) {
            let key = format!("{id}-{number}");
            rows.push(relation_row(
                book,
                (&key, id),
                &holding.means,
                Some(sides),
                true,
            ));
        }
    }
    rows
}

/// `key` is what addresses call the relation, and what its row does.
fn relation_row(
    book: &Book<'_>,
    (key, name): (&str, &str),
    means: &str,
    sides: Option<&Sides>,
    holds: bool,
) -> RelationRow {
    let worst = sides.and_then(|sides| in_hand(book, sides));
    let side = |side: Option<NodeId>| SideView {
        value: side.map_or_else(|| "–".into(), |node| book.value_text(node)),
        spread: side.and_then(|node| spread(book.notebook.value(node)?)),
    };
    RelationRow {
        id: format!("relation-{key}"),
        name: name.to_owned(),
        means: sentence(means),
        formula_mathml: sides
            .map(|sides| comparison_mathml(book, sides))
            .unwrap_or_default(),
        left: side(sides.map(|sides| sides.left)),
        right: side(sides.map(|sides| sides.right)),
        in_hand: worst
            .as_ref()
            .map_or_else(|| "cannot be compared".into(), |(text, _)| text.clone()),
        holds: worst.is_some_and(|(_, holds)| holds) && holds,
    }
}

/// With a capital at its start.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// How much is left at worst between both sides, and whether that is enough.
fn in_hand(book: &Book<'_>, sides: &Sides) -> Option<(String, bool)> {
    let difference = book.notebook.difference(sides)?;
    let unit = &book.notebook.value(sides.left)?.unit;
    let left_over = if sides.comparator.wants_less() {
        -difference.high
    } else {
        difference.low
    };
    let text = length(left_over.abs(), unit);
    Some(if left_over < 0.0 {
        (format!("missed by {text}"), false)
    } else {
        (text, true)
    })
}

fn comparison_mathml(book: &Book<'_>, sides: &Sides) -> String {
    let side = |node: NodeId| match &book.notebook.graph.node(node).body {
        Body::Computed(calculation) => {
            formula_symbols(book, &calculation.formula, &calculation.operands)
        }
        Body::Given(_) | Body::Solved(_) | Body::Stepped(_) | Body::Limit(_) | Body::Broken => {
            "<mtext>–</mtext>".to_owned()
        }
    };
    let sign = super::markup::escaped(sides.comparator.sign());
    format!(
        "<mrow>{}<mo>{sign}</mo>{}</mrow>",
        side(sides.left),
        side(sides.right)
    )
}
