//! A working on a sheet: its tables and plots, and what a reader has to know beside them.

use std::fmt::Write;

use camino::{Utf8Path, Utf8PathBuf};

use super::book::{Book, anchor};
use super::markup::escaped;
use super::numbers::{spread, typeset};
use super::plotted;
use crate::draw::{Axis, Bound, Caption, PlotMark, Scale, Series, Side, XyPlot};
use crate::notebook::{Body, Node, NodeId, Origin, Worked};
use crate::quantity::{Outcome, Unit, shown_digits};
use crate::trade::{self, Cell, exact};

/// A working's tables and notes. A value links to its derivation. Below a heading
/// that says what the working is for, the tables do not say it again.
pub(crate) fn table(
    book: &Book<'_>,
    from: &Utf8Path,
    (board, working): (usize, usize),
    caption: &str,
    is_headed: bool,
) -> String {
    let title = &self::caption(book, board, working, caption);
    let above = if is_headed { "" } else { title };
    let worked = book.notebook.graph.working(board, working);
    let mut html = match worked {
        Some(worked) if !worked.plan.tables.is_empty() => {
            laid_out(book, from, worked, (title, above))
        }
        _ => all(book, from, board, working, (title, above)),
    };
    for note in worked.into_iter().flat_map(|worked| &worked.plan.notes) {
        // Writing to a string does not fail.
        let _ = write!(html, "<p class=\"note\">{}</p>", escaped(note));
    }
    html
}

/// The caption that is written, or else what the working is for.
pub(crate) fn caption(book: &Book<'_>, board: usize, working: usize, written: &str) -> String {
    match written {
        "" => title(book, board, working),
        written => written.to_owned(),
    }
}

/// Inputs and results one below the other.
fn all(
    book: &Book<'_>,
    from: &Utf8Path,
    board: usize,
    working: usize,
    (title, above): (&str, &str),
) -> String {
    let mut rows = String::new();
    for node in nodes(book, board, working) {
        let _ = write!(
            rows,
            "<tr><th scope=\"row\">{}</th><td class=\"num\">{}</td></tr>",
            escaped(&book.notebook.graph.node(node).means),
            value(book, from, node)
        );
    }
    whole(title, above, &["What it is".into(), "Value".into()], &rows)
}

/// The tables of a plan.
fn laid_out(
    book: &Book<'_>,
    from: &Utf8Path,
    worked: &Worked,
    (title, above): (&str, &str),
) -> String {
    let mut html = String::new();
    for (at, table) in worked.plan.tables.iter().enumerate() {
        let mut rows = String::new();
        for row in &table.rows {
            rows += "<tr>";
            for (at, cell) in row.iter().enumerate() {
                rows += &self::cell(book, from, worked, cell, at == 0);
            }
            rows += "</tr>";
        }
        let own = table.caption.as_str();
        let whole_name = format!("{title}: {own}");
        let (name, caption) = match (at, own, above) {
            (0, "", _) => (title, above),
            (0, _, "") | (1.., ..) => (own, own),
            (0, ..) => (whole_name.as_str(), whole_name.as_str()),
        };
        html += &whole(name, caption, &table.columns, &rows);
    }
    html
}

fn cell(book: &Book<'_>, from: &Utf8Path, worked: &Worked, cell: &Cell, heads_row: bool) -> String {
    // What the edition does not have is a dash.
    let found = |name: &String| {
        let node = worked.nodes.get(name).copied();
        node.filter(|node| book.edition.shows(*node))
    };
    let (class, inside) = match cell {
        Cell::Text(text) => ("", escaped(text)),
        Cell::Value(name) => (
            " class=\"num\"",
            found(name).map_or_else(|| "–".to_owned(), |node| value(book, from, node)),
        ),
        Cell::Whole(name) => (
            " class=\"num\"",
            found(name)
                .and_then(|node| book.notebook.value(node))
                .map_or_else(String::new, |value| exact(value.outcome.nominal)),
        ),
        Cell::Range(name) => (
            " class=\"num\"",
            found(name)
                .and_then(|node| spread(book.notebook.value(node)?))
                .map_or_else(String::new, |text| escaped(&text)),
        ),
        Cell::Judged { of, judge } => {
            let outcomes: Option<Vec<Outcome>> = of
                .iter()
                .map(|name| Some(book.notebook.value(found(name)?)?.outcome))
                .collect();
            let words = outcomes.map_or_else(|| "–".to_owned(), |outcomes| judge.words(&outcomes));
            ("", escaped(&words))
        }
    };
    if heads_row {
        format!("<th scope=\"row\"{class}>{inside}</th>")
    } else {
        format!("<td{class}>{inside}</td>")
    }
}

fn value(book: &Book<'_>, from: &Utf8Path, node: NodeId) -> String {
    let amiss = !book.notebook.figure_holds(node);
    let href = book.place_of(from, node);
    // A table has too many values for a slip each.
    let class = match (href.starts_with('#'), amiss) {
        (true, true) => "stated amiss",
        (true, false) => "stated",
        (false, true) => "tabled amiss",
        (false, false) => "tabled",
    };
    format!(
        "<a class=\"{class}\" href=\"{}\">{}</a>",
        escaped(&href),
        escaped(&book.value_text(node))
    )
}

/// A table by its name; its caption is left out where it is empty.
fn whole(name: &str, caption: &str, columns: &[String], rows: &str) -> String {
    let heads: Vec<String> = columns
        .iter()
        .map(|column| format!("<th scope=\"col\">{}</th>", escaped(column)))
        .collect();
    let caption = match caption {
        "" => String::new(),
        caption => format!("<caption>{}</caption>", escaped(caption)),
    };
    format!(
        "<div class=\"table\" tabindex=\"0\" role=\"group\" aria-label=\"{}\"><table class=\"working\">\
         {caption}<thead><tr>{}</tr></thead><tbody>{rows}</tbody></table></div>",
        escaped(name),
        heads.concat()
    )
}

/// What a working is for: its own words, or those of its kind.
pub(crate) fn title(book: &Book<'_>, board: usize, working: usize) -> String {
    let record = &book.notebook.records.boards[board].workings[working];
    match (&record.means, trade::kind(&record.kind.value)) {
        (Some(means), _) => means.value.clone(),
        (None, Some(kind)) => kind.title().to_owned(),
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
    book.figures_of(board).filter(is_ours).collect()
}

/// Everything of a working, a row each, for the sheet with its derivation: what
/// it is given, then what it comes to.
pub(crate) fn derivation(book: &Book<'_>, board: usize, working: usize) -> String {
    let mut rows = String::new();
    for node in nodes(book, board, working) {
        let notebook = book.notebook;
        let record = notebook.graph.node(node);
        let from = match &record.body {
            _ if !book.edition.explains(notebook, node) => "",
            Body::Computed(calculation) => calculation.formula.text(),
            Body::Stepped(_) => "worked out step by step",
            Body::Given(_) | Body::Solved(_) | Body::Limit(_) | Body::Broken => "",
        };
        let stated = [
            ("must be", notebook.requirement(node)),
            ("says", notebook.says(node)),
        ];
        let stated: Vec<String> = stated
            .into_iter()
            .filter_map(|(word, statement)| Some(format!("{word} {}", typeset(statement?.text()))))
            .collect();
        let class = match notebook.figure_holds(node) {
            true => "num",
            false => "num amiss",
        };
        let range = notebook.value(node).and_then(spread).unwrap_or_default();
        // Writing to a string does not fail.
        let _ = write!(
            rows,
            "<tr id=\"{}\"><th scope=\"row\">{}</th><td>{}</td><td class=\"{class}\">{}</td><td class=\"num\">{}</td><td>{}</td></tr>",
            escaped(&anchor(&record.name)),
            escaped(&record.means),
            escaped(from),
            escaped(&book.value_text(node)),
            escaped(&range),
            escaped(&stated.join("; "))
        );
    }
    let heads = ["What it is", "From", "Value", "Spread", "Stated"].map(String::from);
    let name = "How it is worked out";
    whole(name, name, &heads, &rows)
}

/// Whether a node is of a working: it stands in the working's own table and not
/// among the figures.
pub(crate) fn is_of_working(node: &Node) -> bool {
    matches!(node.origin, Origin::Working { .. })
}

/// The plots of a working, with the tables behind them as files.
pub(crate) fn plots(
    book: &Book<'_>,
    from: &Utf8Path,
    board: usize,
    working: usize,
    files: &mut Vec<(Utf8PathBuf, String)>,
) -> String {
    let Some(worked) = book.notebook.graph.working(board, working) else {
        return String::new();
    };
    let id = &book.notebook.records.boards[board].workings[working]
        .id
        .value;
    let mut html = String::new();
    for plot in &worked.plan.plots {
        // A curve tells what it is drawn from.
        let nominal = |name: &String| {
            let node = worked.nodes.get(name)?;
            book.edition.shows(*node).then_some(())?;
            Some(book.notebook.value(*node)?.outcome.nominal)
        };
        let operands: Option<Vec<f64>> = plot.operands.iter().map(nominal).collect();
        let marks = plot.marks.iter().filter_map(|mark| {
            Some(PlotMark {
                label: mark.label.clone(),
                at: nominal(&mark.at)?,
            })
        });
        let marks: Vec<PlotMark> = marks.collect();
        let lines = plot.lines.iter().filter_map(|line| {
            Some(Bound {
                label: line.label.clone(),
                from: None,
                to: None,
                level: nominal(&line.level)?,
                side: Side::AtLeast,
            })
        });
        // A working that comes to nothing has a finding that says why.
        let curves = operands.and_then(|operands| plot.curves.trace(&operands).ok());
        let Some(curves) = curves else { continue };
        let drawn = XyPlot {
            caption: Caption {
                id: format!("Plot-{id}-{}", plot.name),
                title: plot.title.clone(),
                description: described(plot, &marks),
            },
            x: axis(&plot.x),
            y: axis(&plot.y),
            series: curves
                .into_iter()
                .map(|(name, points)| Series { name, points })
                .collect(),
            bounds: Vec::new(),
            lines: lines.collect(),
            marks,
        };
        if let Ok(drawn) = drawn.plot() {
            let name = format!("{id}-{}", plot.name);
            html += &plotted::figure(from, &name, &plot.title, &drawn, files);
        }
    }
    html
}

/// What a plot shows, for those who do not see it.
fn described(plot: &trade::Plot, marks: &[PlotMark]) -> String {
    let mut text = format!(
        "{} over {}, at the nominal values.",
        plot.y.name,
        plot.x.name.to_lowercase()
    );
    let marks: Vec<String> = marks
        .iter()
        .map(|mark| {
            let at = shown_digits(mark.at, 4, &Unit::one());
            format!("{} at {at} {}", mark.label, plot.x.unit)
        })
        .collect();
    if !marks.is_empty() {
        // Writing to a string does not fail.
        let _ = write!(text, " Marked: {}.", marks.join(", "));
    }
    text
}

fn axis(axis: &trade::Axis) -> Axis {
    Axis {
        name: axis.name.clone(),
        unit: axis.unit.to_owned(),
        scale: match axis.logarithmic {
            true => Scale::Logarithmic,
            false => Scale::Linear,
        },
    }
}
