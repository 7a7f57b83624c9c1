//! What goes together: a matrix of boards for each module, how to set their
//! straps, and the stacks that are promised.

use camino::Utf8Path;
use serde::Serialize;

use super::book::Book;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::markup::with_names;
use super::view::{Link, Sheet};
use crate::notebook::{StackLine, StackSums};
use crate::quantity::{Dimension, Unit, fitted_unit, shown_digits};
use crate::stack::Solver;

/// Most sentences of pairs, and most stacks, that a page holds.
const MOST_TOLD: usize = 120;
const MOST_STACKS: usize = 20;

/// What only the sheet of stacks has.
#[derive(Debug, Serialize)]
pub(crate) struct Stacks {
    lead: String,
    modules: Vec<ModuleView>,
}

/// The boards of one module.
#[derive(Debug, Serialize)]
struct ModuleView {
    zone: String,
    id: String,
    title: String,
    heads: Vec<Head>,
    rows: Vec<Row>,
    settings: Vec<Told>,
    reasons: Vec<Told>,
    left_out: usize,
    promised: Vec<StackView>,
    largest: Vec<StackView>,
    count: usize,
    complete: bool,
}

/// A board at the edge of the matrix.
#[derive(Debug, Serialize)]
struct Head {
    number: usize,
    title: String,
    href: String,
}

/// A row of the matrix.
#[derive(Debug, Serialize)]
struct Row {
    head: Head,
    cells: Vec<Cell>,
}

/// Whether two boards go together.
#[derive(Debug, Serialize)]
struct Cell {
    class: &'static str,
    word: &'static str,
    href: Option<String>,
}

/// Two boards, and what is to be said of them.
#[derive(Debug, Serialize)]
struct Told {
    id: String,
    pair: String,
    lines_html: Vec<String>,
}

/// A stack.
#[derive(Debug, Serialize)]
struct StackView {
    title: Option<String>,
    means: Option<String>,
    boards: Vec<Link>,
    settings: Vec<String>,
    sums: Vec<String>,
    lacks_html: Vec<String>,
}

/// The sheet of what goes together.
pub(crate) fn stacks_sheet(book: &Book<'_>) -> Sheet<Stacks> {
    let page = Page::Stacks;
    let from = &book.leaves.leaf(page).path;
    let notebook = book.notebook;
    let mut zones = super::zone::Zones::default();
    zones.next();
    let mut modules = Vec::new();
    for at in 0..notebook.records.modules.len() {
        let mut boards = notebook.boards_for(at);
        boards.retain(|board| book.edition.shows_board(*board));
        if !boards.is_empty() {
            let line = notebook.stack_line(at, &boards);
            modules.push(module_view(book, from, &line, zones.next()));
        }
    }
    let parts = Parts {
        description: "Which boards go together on a module, and how to set their straps.".into(),
        cautions: Vec::new(),
        stated: &[],
        face: Stacks {
            lead: "Two boards go together if they share no pin, no address and no timer, and no \
                   supply flows back into another. Some do so only after a strap is set."
                .into(),
            modules,
        },
    };
    sheet(book, page, parts)
}

fn title<'b>(book: &'b Book<'_>, line: &StackLine, board: usize) -> &'b str {
    &book.notebook.records.boards[line.boards[board]].title.value
}

fn head(book: &Book<'_>, from: &Utf8Path, line: &StackLine, board: usize) -> Head {
    Head {
        number: board + 1,
        title: title(book, line, board).to_owned(),
        href: book.page(from, Page::Pins(line.boards[board])),
    }
}

#[expect(
    clippy::needless_range_loop,
    reason = "rows and columns are the same boards"
)]
fn module_view(book: &Book<'_>, from: &Utf8Path, line: &StackLine, zone: String) -> ModuleView {
    let notebook = book.notebook;
    let module = &notebook.records.modules[line.module];
    let solver = Solver::of(&line.line);
    let count = line.boards.len();
    let (mut settings, mut reasons, mut left_out) = (Vec::new(), Vec::new(), 0);
    let mut cells: Vec<Vec<Cell>> = (0..count).map(|_| Vec::new()).collect();
    for row in 0..count {
        for column in 0..count {
            let cell = if row == column {
                Cell {
                    class: "self",
                    word: "",
                    href: None,
                }
            } else {
                let (first, second) = (row.min(column), row.max(column));
                let id = format!("{}-{}-{}", module.id.value, first + 1, second + 1);
                let is_first = row == first;
                let pair = [first, second];
                let (class, word, told) = judged(book, line, &solver, pair, &id);
                let told_anywhere = told.is_some();
                let list = if class == "no" {
                    &mut reasons
                } else {
                    &mut settings
                };
                let mut href = told_anywhere.then(|| format!("#{id}"));
                if is_first && let Some(told) = told {
                    if list.len() < MOST_TOLD {
                        list.push(told);
                    } else {
                        left_out += 1;
                    }
                }
                if told_anywhere && !list.iter().any(|told| told.id == id) {
                    href = None;
                }
                Cell { class, word, href }
            };
            cells[row].push(cell);
        }
    }
    let rows = cells.into_iter().enumerate().map(|(row, cells)| Row {
        head: head(book, from, line, row),
        cells,
    });
    let found = solver.largest();
    let largest = found.stacks.iter().take(MOST_STACKS);
    let largest = largest.map(|stack| {
        let straps = stack.boards.iter().zip(&stack.settings);
        stack_view(
            book,
            from,
            line,
            None,
            &straps.map(|(b, s)| (*b, *s)).collect::<Vec<_>>(),
        )
    });
    ModuleView {
        zone,
        id: module.id.value.clone(),
        title: module.title.value.clone(),
        heads: (0..count)
            .map(|board| head(book, from, line, board))
            .collect(),
        rows: rows.collect(),
        settings,
        reasons,
        left_out,
        promised: promised(book, from, line.module),
        largest: largest.collect(),
        count: found.stacks.len(),
        complete: found.complete,
    }
}

/// Whether two boards go together, in a word, with what is to be said of it.
fn judged(
    book: &Book<'_>,
    line: &StackLine,
    solver: &Solver<'_>,
    pair: [usize; 2],
    id: &str,
) -> (&'static str, &'static str, Option<Told>) {
    let names = || {
        format!(
            "{} and {}",
            title(book, line, pair[0]),
            title(book, line, pair[1])
        )
    };
    // The first setting of each board is how it leaves the works.
    if solver.settings_among(&pair, &[1, 1]).is_some() {
        return ("yes", "yes", None);
    }
    if let Some(settings) = solver.settings(&pair) {
        let both: Vec<(usize, usize)> = pair.into_iter().zip(settings).collect();
        let lines = set(book, line, &both, true);
        let told = Told {
            id: id.to_owned(),
            pair: names(),
            lines_html: lines.iter().map(|line| with_names(line)).collect(),
        };
        return ("set", "set", Some(told));
    }
    let told = solver.reason(&pair).map(|reason| {
        let sentences = book.notebook.stack_reason(line, &reason);
        let lines = sentences.iter().enumerate().map(|(at, sentence)| {
            let word = if at == 0 { "" } else { "or else " };
            with_names(&format!("{word}{sentence}"))
        });
        Told {
            id: id.to_owned(),
            pair: names(),
            lines_html: lines.collect(),
        }
    });
    ("no", "no", told)
}

/// How straps have to stand; only those that are moved, or all.
fn set(book: &Book<'_>, line: &StackLine, boards: &[(usize, usize)], moved: bool) -> Vec<String> {
    let mut lines = Vec::new();
    for &(board, setting) in boards {
        let straps = line.straps[board][setting].iter();
        for strap in straps.filter(|strap| !moved || !strap.factory) {
            let factory = if strap.factory { ", as it comes" } else { "" };
            lines.push(format!(
                "{}: {} to {}{factory}",
                title(book, line, board),
                strap.strap,
                strap.position
            ));
        }
    }
    lines
}

/// The stacks that are promised on a module and work.
fn promised(book: &Book<'_>, from: &Utf8Path, module: usize) -> Vec<StackView> {
    let notebook = book.notebook;
    let records = &notebook.records;
    let id = &records.modules[module].id.value;
    let ours = records
        .stacks
        .iter()
        .filter(|stack| stack.module.value == *id);
    let views = ours.filter_map(|stack| {
        let boards: Option<Vec<usize>> = stack
            .boards
            .iter()
            .map(|id| records.board_at(&id.value))
            .collect();
        let boards = boards?;
        if !boards.iter().all(|board| book.edition.shows_board(*board)) {
            return None;
        }
        let line = notebook.stack_line(module, &boards);
        let settings = notebook.promised_settings(&line, stack)?;
        let both: Vec<(usize, usize)> = settings.into_iter().enumerate().collect();
        let mut view = stack_view(book, from, &line, Some(stack.title.value.clone()), &both);
        view.means = stack.means.as_ref().map(|means| means.value.clone());
        Some(view)
    });
    views.collect()
}

fn stack_view(
    book: &Book<'_>,
    from: &Utf8Path,
    line: &StackLine,
    named: Option<String>,
    both: &[(usize, usize)],
) -> StackView {
    let notebook = book.notebook;
    let boards: Vec<usize> = both.iter().map(|(board, _)| *board).collect();
    let sums = notebook.stack_sums(line, &boards);
    let links = boards.iter().map(|&board| Link {
        text: title(book, line, board).to_owned(),
        href: book.page(from, Page::Front(line.boards[board])),
    });
    let lacks = notebook.stack_lacks(line, &sums);
    StackView {
        title: named,
        means: None,
        boards: links.collect(),
        settings: set(book, line, both, false),
        sums: summed(book, line, &sums),
        lacks_html: lacks.iter().map(|lack| with_names(lack)).collect(),
    }
}

fn summed(book: &Book<'_>, line: &StackLine, sums: &StackSums) -> Vec<String> {
    let module = &book.notebook.records.modules[line.module];
    let amount = |value: f64, dimension| {
        let unit = fitted_unit(value, &Unit::coherent(dimension));
        shown_digits(value, 3, &unit).to_string()
    };
    let mut lines = Vec::new();
    for supply in &sums.supplies {
        let current = |value| amount(value, Dimension::CURRENT);
        let name = &module.pins[supply.pin].name.value;
        let drawn = if supply.draw_most > 0.0 {
            format!(
                "{}, at most {}",
                current(supply.draw),
                current(supply.draw_most)
            )
        } else {
            "nothing drawn".to_owned()
        };
        let limit = supply
            .limit
            .map_or_else(String::new, |limit| format!(" of {}", current(limit)));
        lines.push(format!("Supply {name}: {drawn}{limit}"));
    }
    for bus in &sums.buses {
        if let Some(((least, greatest), rise)) = bus.pull_up.zip(bus.rise) {
            lines.push(format!(
                "Bus {}: pull-ups {} to {}, {} to rise of {}",
                module.buses[bus.bus].id.value,
                amount(least, Dimension::RESISTANCE),
                amount(greatest, Dimension::RESISTANCE),
                amount(rise, Dimension::TIME),
                amount(bus.rise_limit, Dimension::TIME)
            ));
        }
    }
    lines
}
