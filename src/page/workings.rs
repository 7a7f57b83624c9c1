//! Sheets of workings: what stands behind the figures of a board beside their
//! formulas: workings with their tables, circuits, and how figures scatter.
//!
//! They have a sheet of their own because a calculation sheet that carried them
//! as well would be slow to fetch and long to read.

use camino::{Utf8Path, Utf8PathBuf};
use serde::Serialize;

use super::book::Book;
use super::circuit::CircuitView;
use super::corner::{Parts, sheet};
use super::edition::Edition;
use super::leaves::Page;
use super::view::{Link, Sheet};
use super::zone::Zones;
use super::{caution, circuit, distribution, sound, working};
use crate::notebook::{NodeId, Notebook, Origin};

/// What only a sheet of workings has.
#[derive(Debug, Serialize)]
pub(crate) struct Workings {
    lead: String,
    figures: Link,
    workings: Vec<WorkingView>,
    circuits: Vec<CircuitView>,
    chances: Vec<ChanceView>,
}

/// A working: its results are figures, and here they stand together.
#[derive(Debug, Serialize)]
struct WorkingView {
    id: String,
    zone: String,
    title: String,
    derivation_html: String,
    table_html: String,
    plots_html: String,
    sounds_html: Option<String>,
}

/// A figure that is drawn by chance.
#[derive(Debug, Serialize)]
struct ChanceView {
    id: String,
    zone: String,
    means: String,
    figure: Link,
    plot_html: Option<String>,
}

/// Whether an edition of a notebook has anything for a board's sheet of workings.
pub(crate) fn has_workings(notebook: &Notebook, edition: &Edition, board: usize) -> bool {
    let Some(record) = notebook.records.boards.get(board) else {
        return false;
    };
    let mut workings = 0..record.workings.len();
    let mut circuits = 0..record.circuits.len();
    workings.any(|at| edition.shows_working(notebook, board, at))
        || circuits.any(|at| edition.shows_circuit(board, at))
        || scattered(notebook, edition, board).next().is_some()
}

/// The figures of a board that are drawn by chance. What a working comes to is
/// not among them: it has its row and no plot.
fn scattered<'n>(
    notebook: &'n Notebook,
    edition: &'n Edition,
    board: usize,
) -> impl Iterator<Item = NodeId> + 'n {
    let figures = notebook.figures_of(board).iter().copied();
    figures.filter(|&node| {
        edition.shows(node)
            && !working::is_of_working(notebook.graph.node(node))
            && distribution::is_drawn(notebook, edition, node)
    })
}

/// A link to the sheet of workings of a board, where it has one.
pub(crate) fn link(book: &Book<'_>, from: &Utf8Path, board: usize) -> Option<Link> {
    let page = Page::Workings(board);
    book.leaves.has(page).then(|| Link {
        text: format!("sheet {}, workings", book.leaves.leaf(page).number),
        href: book.page(from, page),
    })
}

/// A link to what chance makes of a figure, where that is drawn.
pub(crate) fn chances_of(book: &Book<'_>, from: &Utf8Path, node: NodeId) -> Option<Link> {
    let record = book.notebook.graph.node(node);
    let Origin::Figure { board, .. } = record.origin else {
        return None;
    };
    if !distribution::is_drawn(book.notebook, &book.edition, node) {
        return None;
    }
    let page = Page::Workings(board);
    Some(Link {
        text: format!("distribution, sheet {}", book.leaves.leaf(page).number),
        href: book.part_of_page(from, page, &chance_id(&record.name)),
    })
}

fn chance_id(name: &str) -> String {
    format!("chance-{name}")
}

/// The sheet of workings of a board, and the tables behind its plots as files.
pub(crate) fn workings_sheet(
    book: &Book<'_>,
    board: usize,
) -> (Sheet<Workings>, Vec<(Utf8PathBuf, String)>) {
    let page = Page::Workings(board);
    let from = &book.leaves.leaf(page).path;
    let record = &book.notebook.records.boards[board];
    let mut files = Vec::new();
    let mut zones = Zones::default();
    zones.next();
    let mut workings = Vec::new();
    for (at, working) in record.workings.iter().enumerate() {
        if !book.edition.shows_working(book.notebook, board, at) {
            continue;
        }
        workings.push(WorkingView {
            id: format!("working-{}", working.id.value),
            zone: zones.next(),
            title: working::title(book, board, at),
            derivation_html: working::derivation(book, board, at),
            table_html: working::table(book, from, (board, at), "", true),
            plots_html: working::plots(book, from, board, at, &mut files),
            sounds_html: sound::players(book, from, (board, at), ""),
        });
    }
    let circuits: Vec<CircuitView> = (0..record.circuits.len())
        .filter(|&at| book.edition.shows_circuit(board, at))
        .map(|at| circuit::view(book, from, (board, at), zones.next(), &mut files))
        .collect();
    let chances: Vec<ChanceView> = scattered(book.notebook, &book.edition, board)
        .map(|node| {
            let record = book.notebook.graph.node(node);
            ChanceView {
                id: chance_id(&record.name),
                zone: zones.next(),
                means: record.means.clone(),
                figure: book.node_link(from, &record.scope, node),
                plot_html: distribution::plot(book, from, node, &mut files),
            }
        })
        .collect();
    let holds: Vec<&str> = [
        (!workings.is_empty(), "workings with their tables"),
        (!circuits.is_empty(), "circuits"),
        (!chances.is_empty(), "how far figures stray by chance"),
    ]
    .into_iter()
    .filter_map(|(is_there, what)| is_there.then_some(what))
    .collect();
    let holds = holds.join(", ");
    let title = &record.title.value;
    let revision = &record.revision.value;
    let figures = book.leaves.leaf(Page::Figures(board));
    let parts = Parts {
        description: format!(
            "What stands behind the figures of the {title}, revision {revision}: {holds}."
        ),
        cautions: caution::of_board(book, from, board),
        stated: &[],
        face: Workings {
            lead: format!("{title}, revision {revision}. What stands behind its figures: {holds}."),
            figures: Link {
                text: format!("sheet {}", figures.number),
                href: book.page(from, Page::Figures(board)),
            },
            workings,
            circuits,
            chances,
        },
    };
    (sheet(book, page, parts), files)
}
