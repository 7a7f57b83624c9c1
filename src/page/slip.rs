//! A figure's derivation: formula, numbers put in, result.

use camino::Utf8Path;

use super::book::Book;
use super::corner::document_type;
use super::markup::{between_tags, escaped};
use super::numbers::{bar, running, spread, typeset};
use super::view::Slip;
use crate::formula::{Formula, Notation};
use crate::notebook::{Body, NodeId, Origin};
use crate::quantity::Shown;
use crate::record::FigureRecord;

/// The slip of a figure for the page at `from`.
pub(crate) fn slip(book: &Book<'_>, from: &Utf8Path, node: NodeId) -> Slip {
    let record = book.notebook.graph.node(node);
    let figure = figure_record(book, node);
    let value = book.notebook.value(node);
    let strayed = value.filter(|_| book.edition.shows_spread(book.notebook, node));
    let must = book.notebook.requirement(node);
    let at = figure.and_then(|figure| figure.at.as_ref());
    let steps = steps(book, node);
    Slip {
        id: book.slip_id(node),
        means: record.means.clone(),
        name: record.full_name(),
        kind: kind(book, node),
        wide: steps.as_deref().is_some_and(is_wide),
        steps_mathml: steps,
        value: book.value_text(node),
        spread: strayed.and_then(spread),
        must: must.map(|must| typeset(must.text())),
        at: at.map(|at| running(&at.value)),
        bar: strayed.zip(must).and_then(|(value, must)| bar(value, must)),
        source: source(book, node),
        href: book.place_of(from, node),
        place: format!(
            "On the {}",
            document_type(book, book.page_of(node)).to_lowercase()
        ),
        holds: book.notebook.figure_holds(node),
    }
}

/// The record of a figure, where the node is one.
pub(crate) fn figure_record<'n>(book: &Book<'n>, node: NodeId) -> Option<&'n FigureRecord> {
    match book.notebook.graph.node(node).origin {
        Origin::Figure { board, figure } => {
            Some(&book.notebook.records.boards[board].figures[figure])
        }
        _ => None,
    }
}

/// Where a value comes from, in a word.
pub(crate) fn kind(book: &Book<'_>, node: NodeId) -> &'static str {
    let graph = &book.notebook.graph;
    match &graph.node(node).body {
        Body::Given(_) if graph.sample(node).is_some() => "measured",
        Body::Given(_) => "given",
        Body::Computed(_) | Body::Solved(_) | Body::Stepped(_) | Body::Limit(_) | Body::Broken => {
            "computed"
        }
    }
}

/// Where a given value, or a formula, is from.
pub(crate) fn source(book: &Book<'_>, node: NodeId) -> Option<String> {
    let records = &book.notebook.records;
    match book.notebook.graph.node(node).origin {
        Origin::Figure { .. } => {
            let source = figure_record(book, node)?.source.as_ref()?;
            Some(source.value.clone())
        }
        Origin::Fitted { part, .. } | Origin::Stock { part } => {
            Some(records.parts[part].source.as_ref()?.value.clone())
        }
        Origin::Module { module } => Some(records.modules[module].source.as_ref()?.value.clone()),
        Origin::Working {
            board,
            working,
            result: Some(result),
        } => {
            let worked = book.notebook.graph.working(board, working)?;
            Some(worked.plan.results.get(result)?.source.to_owned())
        }
        Origin::Working { result: None, .. }
        | Origin::Condition { .. }
        | Origin::Pins { .. }
        | Origin::Circuit { .. }
        | Origin::Fixture { .. }
        | Origin::Side => None,
    }
}

/// Formula, numbers put in and result, a row each: the inside of a `math`
/// element. `None` for what could not be computed.
pub(crate) fn steps(book: &Book<'_>, node: NodeId) -> Option<String> {
    let symbol = book.symbol(node);
    let result = book.notebook.value(node)?.shown();
    if !book.edition.explains(book.notebook, node) {
        return Some(format!(
            "<mtable>{}</mtable>",
            row(symbol, &quantity(result))
        ));
    }
    let rows = match &book.notebook.graph.node(node).body {
        Body::Given(given) => {
            let given = escaped(&typeset(given.text()));
            row(symbol, &format!("<mtext>{given}</mtext>"))
        }
        Body::Computed(calculation) => {
            let operands = &calculation.operands;
            let formula = &calculation.formula;
            let mut rows = row(symbol, &formula_symbols(book, formula, operands));
            let values: Option<Vec<Shown>> = operands
                .iter()
                .map(|&operand| Some(book.notebook.value(operand)?.shown().clone()))
                .collect();
            // A name alone, put in, would only say the result twice.
            if let Some(values) = values.filter(|_| formula.as_single_name().is_none()) {
                rows += &row("", &formula.mathml(&Notation::Values(&values)));
            }
            rows + &row("", &quantity(result))
        }
        Body::Solved(_) | Body::Stepped(_) | Body::Limit(_) => row(symbol, &quantity(result)),
        Body::Broken => return None,
    };
    Some(format!("<mtable>{rows}</mtable>"))
}

/// Letters of a derivation that half a sheet of paper has room for.
const ROOM: usize = 60;

/// Whether a row of a derivation is too wide for half a sheet of paper. What stands
/// over or under something else is counted as if it stood beside it.
fn is_wide(steps: &str) -> bool {
    let letters = |row| between_tags(row).map(|text| text.chars().count());
    let mut rows = steps.split("<mtr>");
    rows.any(|row| letters(row).sum::<usize>() > ROOM)
}

/// A formula with letter symbols, as MathML.
pub(crate) fn formula_symbols(book: &Book<'_>, formula: &Formula, operands: &[NodeId]) -> String {
    let symbols: Vec<String> = operands
        .iter()
        .map(|&operand| book.symbol(operand).to_owned())
        .collect();
    formula.mathml(&Notation::Symbols(&symbols))
}

/// A row of a derivation. A cell holds as many pieces as it is given.
fn row(left: &str, right: &str) -> String {
    format!("<mtr><mtd>{left}</mtd><mtd><mo>=</mo></mtd><mtd>{right}</mtd></mtr>")
}

fn quantity(shown: &Shown) -> String {
    let numeral = escaped(&shown.numeral);
    if shown.unit.is_empty() {
        return format!("<mn>{numeral}</mn>");
    }
    format!(
        "<mn>{numeral}</mn><mtext>\u{a0}{}</mtext>",
        escaped(&shown.unit)
    )
}
