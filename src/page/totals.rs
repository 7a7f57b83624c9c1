//! Line totals: how many parts the line of boards takes, which of them only one
//! board, and what a board costs.

use camino::Utf8Path;
use serde::Serialize;

use super::book::Book;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::view::{Link, Sheet};
use crate::notebook::{BoardTotals, Cost, LineTotals};
use crate::quantity::{Unit, shown_digits};

/// What only the sheet of totals has.
#[derive(Debug, Serialize)]
pub(crate) struct Totals {
    lead: String,
    boards: Vec<BoardRow>,
    whole: WholeRow,
    commonality: Option<String>,
    total_commonality: Option<String>,
    once: Vec<OnceRow>,
    costs: Option<Costs>,
}

/// A board.
#[derive(Debug, Serialize)]
struct BoardRow {
    board: Link,
    parts: usize,
    pieces: u64,
    only_here: usize,
    feeders: String,
}

/// The whole line.
#[derive(Debug, Serialize)]
struct WholeRow {
    parts: usize,
    pieces: u64,
    once: usize,
    feeders: String,
    common_feeders: usize,
}

/// A part that one board alone carries.
#[derive(Debug, Serialize)]
struct OnceRow {
    part: Link,
    kind: &'static str,
    board: Link,
}

/// What a board costs; for the team only.
#[derive(Debug, Serialize)]
struct Costs {
    currency: String,
    terms: Vec<String>,
    volumes: Vec<u64>,
    rows: Vec<CostRow>,
    whole: Vec<CostCell>,
    unpriced: Option<String>,
}

/// Costs of one board at each volume.
#[derive(Debug, Serialize)]
struct CostRow {
    board: Link,
    each: Vec<CostCell>,
}

/// Cost of one board where so many are made at once.
#[derive(Debug, Serialize)]
struct CostCell {
    volume: u64,
    cost: String,
}

/// The sheet of totals.
pub(crate) fn totals_sheet(book: &Book<'_>) -> Sheet<Totals> {
    let page = Page::Totals;
    let from = &book.leaves.leaf(page).path;
    let records = &book.notebook.records;
    let totals = LineTotals::of(records);
    let shown = |board: &&BoardTotals| book.edition.shows_board(board.board);
    let pieces = |board: &BoardTotals| board.pieces.values().sum::<u64>();
    let boards: Vec<BoardRow> = totals
        .boards
        .iter()
        .filter(shown)
        .map(|board| BoardRow {
            board: board_link(book, from, board.board),
            parts: board.pieces.len(),
            pieces: pieces(board),
            only_here: board.only_here.len(),
            feeders: feeders(board.feeders, board.unplaced),
        })
        .collect();
    let once = totals.used_once();
    let lead = format!(
        "{} on {}: {} used by one board alone.",
        counted(totals.uses.len(), "part"),
        counted(totals.boards.len(), "board"),
        match once.len() {
            1 => "1 is".to_owned(),
            count => format!("{count} are"),
        }
    );
    let once_rows = once.iter().filter(|part| book.edition.shows_part(**part));
    let once_rows = once_rows.filter_map(|&part| {
        let board = *totals.uses.get(&part)?.first()?;
        book.edition.shows_board(board).then(|| OnceRow {
            part: part_link(book, from, part),
            kind: records.parts[part].kind.title,
            board: board_link(book, from, board),
        })
    });
    let parts = Parts {
        description: format!("Line totals. {lead}"),
        cautions: Vec::new(),
        stated: &[],
        face: Totals {
            lead,
            boards,
            whole: WholeRow {
                parts: totals.uses.len(),
                pieces: totals.boards.iter().map(pieces).sum(),
                once: once.len(),
                feeders: feeders(totals.feeders.len(), totals.unplaced),
                common_feeders: totals.common_feeders,
            },
            commonality: totals.commonality().map(|index| number(index, 3)),
            total_commonality: totals.total_commonality().map(|index| number(index, 2)),
            once: once_rows.collect(),
            costs: costs(book, from, &totals),
        },
    };
    sheet(book, page, parts)
}

/// Costs, where the reader may know them and records state any.
fn costs(book: &Book<'_>, from: &Utf8Path, totals: &LineTotals) -> Option<Costs> {
    let notebook = &book.notebook.records.notebook;
    let costs = notebook.costs.as_ref();
    let costs = costs.filter(|costs| book.edition.shows_purchase() && !costs.volumes.is_empty())?;
    let currency = notebook.currency.as_ref();
    let currency = currency.map_or("of the notebook's currency", |code| &code.value);
    let cell = |cost: &Cost| CostCell {
        volume: cost.volume,
        cost: money(cost.each),
    };
    let each = |costs: &[Cost]| costs.iter().map(cell).collect();
    let unpriced = totals.costs.first().map_or(0, |cost| cost.unpriced);
    Some(Costs {
        currency: currency.to_owned(),
        terms: vec![
            format!("{} for each line of a list and lot", money(costs.line_fee)),
            format!("{} for each part of the line", money(costs.part_fee)),
            format!("{} for each part placed", money(costs.placement)),
            format!(
                "{} lost in loading a feeder",
                counted(costs.attrition as usize, "piece")
            ),
        ],
        volumes: costs.volumes.clone(),
        rows: totals
            .boards
            .iter()
            .map(|board| CostRow {
                board: board_link(book, from, board.board),
                each: each(&board.costs),
            })
            .collect(),
        whole: each(&totals.costs),
        unpriced: (unpriced > 0).then(|| match unpriced {
            1 => "1 part has no price and is left out of the sums.".to_owned(),
            count => format!("{count} parts have no price and are left out of the sums."),
        }),
    })
}

/// An amount of money, to three digits or to its hundredths.
pub(crate) fn money(amount: f64) -> String {
    match amount.abs() >= 0.1 || amount == 0.0 {
        true => format!("{amount:.2}"),
        false => number(amount, 2),
    }
}

fn number(value: f64, digits: u32) -> String {
    shown_digits(value, digits, &Unit::one()).to_string()
}

fn feeders(known: usize, unplaced: usize) -> String {
    match unplaced {
        0 => known.to_string(),
        _ => format!("{known}, and {unplaced} not stated"),
    }
}

/// `1 line`, `2 lines`.
pub(crate) fn counted(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        _ => format!("{count} {what}s"),
    }
}

fn board_link(book: &Book<'_>, from: &Utf8Path, board: usize) -> Link {
    Link {
        text: book.notebook.records.boards[board].title.value.clone(),
        href: book.page(from, Page::Front(board)),
    }
}

fn part_link(book: &Book<'_>, from: &Utf8Path, part: usize) -> Link {
    Link {
        text: book.leaves.leaf(Page::Part(part)).title.clone(),
        href: book.page(from, Page::Part(part)),
    }
}
