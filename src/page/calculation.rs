//! Calculation sheets: every figure of a board, each after those it hangs on.

use std::collections::BTreeMap;

use camino::Utf8Path;
use serde::Serialize;

use super::book::{Book, anchor};
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::numbers::{bar, margin, percent, running, spread, typeset};
use super::relation::{RelationRow, relations};
use super::slip::{figure_record, kind, source, steps};
use super::view::{BarView, Link, Sheet};
use super::zone::Zones;
use super::{caution, stock, working, workings};
use crate::finding::Located;
use crate::notebook::{Body, NodeId, Origin, Value, Yield};
use crate::record::{Audience, FigureRecord, SpreadPolicy};
use crate::spread::CLOSE;

/// What only a calculation sheet has.
#[derive(Debug, Serialize)]
pub(crate) struct Calculations {
    lead: String,
    data: Vec<Link>,
    givens_zone: String,
    givens: Vec<GivenPart>,
    figures: Vec<Entry>,
    workings: Option<Link>,
    relations_zone: String,
    relations_lead: String,
    relations: Vec<RelationRow>,
}

/// A fitted part that brings something to a formula.
#[derive(Debug, Serialize)]
struct GivenPart {
    designator: String,
    title: String,
    href: String,
    source: Option<String>,
    rows: Vec<GivenRow>,
}

/// A value that a fitted part brings.
#[derive(Debug, Serialize)]
struct GivenRow {
    id: String,
    symbol_mathml: String,
    name: String,
    means: String,
    value: String,
}

/// A figure.
#[derive(Debug, Serialize)]
struct Entry {
    id: String,
    zone: String,
    means: String,
    name: String,
    kind: &'static str,
    team: bool,
    at: Option<String>,
    valid: Vec<String>,
    note: Option<String>,
    steps_mathml: Option<String>,
    inputs: Vec<InputView>,
    source: Option<String>,
    value: String,
    bar: Option<BarView>,
    spread: Option<String>,
    policy: Option<String>,
    most: Option<String>,
    chances: Option<Link>,
    must: Option<String>,
    margin: Option<String>,
    yield_text: Option<String>,
    says: Option<String>,
    verdict: &'static str,
    holds: bool,
    used_in: Vec<Link>,
    stated_on: Vec<Link>,
}

/// A figure that a formula names.
#[derive(Debug, Serialize)]
struct InputView {
    symbol_mathml: String,
    name: String,
    value: String,
    href: String,
}

/// The calculation sheet of a board.
pub(crate) fn calculation_sheet(book: &Book<'_>, board: usize) -> Sheet<Calculations> {
    let page = Page::Figures(board);
    let from = &book.leaves.leaf(page).path;
    let record = &book.notebook.records.boards[board];
    let mut zones = Zones::default();
    zones.next();
    let givens = givens(book, from, board);
    let givens_zone = if givens.is_empty() {
        String::new()
    } else {
        zones.next()
    };
    let figures = book
        .figures_of(board)
        .filter(|node| !working::is_of_working(book.notebook.graph.node(*node)))
        .map(|node| entry(book, from, node, zones.next()))
        .collect();
    let relations = relations(book, board);
    let title = &record.title.value;
    let revision = &record.revision.value;
    let parts = Parts {
        description: format!(
            "Every figure of the {title}, revision {revision}: formula, numbers put in, spread, requirement and source."
        ),
        cautions: caution::of_board(book, from, board),
        stated: &[],
        face: Calculations {
            lead: format!(
                "{title}, revision {revision}. Spreads are worst case, every input at either end of its tolerance at the same time, unless a figure says otherwise."
            ),
            data: super::figures_data::paths(book, board)
                .into_iter()
                .map(|path| Link {
                    text: path.file_name().unwrap_or_default().to_owned(),
                    href: super::leaves::href(from, &path),
                })
                .collect(),
            givens_zone,
            givens,
            figures,
            workings: workings::link(book, from, board),
            relations_zone: zones.next(),
            relations_lead:
                "Compared at worst case. What moves both sides at once moves their difference by less."
                    .into(),
            relations,
        },
    };
    sheet(book, page, parts)
}

/// What the fitted parts of a board bring to any formula, by designator.
fn givens(book: &Book<'_>, from: &Utf8Path, board: usize) -> Vec<GivenPart> {
    let records = &book.notebook.records;
    let mut by_line: BTreeMap<usize, Vec<(&str, GivenRow)>> = BTreeMap::new();
    for &node in book.fitted_of(board) {
        let record = book.notebook.graph.node(node);
        let (
            Origin::Fitted {
                fitted,
                part,
                property,
                ..
            },
            Body::Given(given),
        ) = (&record.origin, &record.body)
        else {
            continue;
        };
        let known = records.parts[*part].property(property);
        let row = GivenRow {
            id: anchor(&record.name),
            symbol_mathml: book.symbol(node).to_owned(),
            name: record.name.clone(),
            means: stock::means(property, known.map_or("", |known| known.means)),
            value: typeset(given.text()),
        };
        by_line
            .entry(*fitted)
            .or_default()
            .push((&record.name, row));
    }
    let lines = by_line.into_iter().filter_map(|(fitted, mut rows)| {
        rows.sort_by_key(|(name, _)| *name);
        let line = &records.boards[board].fitted[fitted];
        let part = records.part_at(&line.part.value)?;
        let record = &records.parts[part];
        Some(GivenPart {
            designator: line.designator.value.clone(),
            title: book.leaves.leaf(Page::Part(part)).title.clone(),
            href: book.page(from, Page::Part(part)),
            source: record.source.as_ref().map(|source| source.value.clone()),
            rows: rows.into_iter().map(|(_, row)| row).collect(),
        })
    });
    lines.collect()
}

fn entry(book: &Book<'_>, from: &Utf8Path, node: NodeId, zone: String) -> Entry {
    let notebook = book.notebook;
    let record = notebook.graph.node(node);
    let figure = figure_record(book, node);
    let value = notebook.value(node);
    let strayed = value.filter(|_| book.edition.shows_spread(notebook, node));
    let must = notebook.requirement(node);
    let says = notebook.says(node);
    let holds = notebook.figure_holds(node);
    let text = |text: &Located<String>| running(&text.value);
    Entry {
        id: anchor(&record.name),
        zone,
        means: record.means.clone(),
        name: record.name.clone(),
        kind: kind(book, node),
        team: notebook.audience(node) == Audience::Team,
        at: figure.and_then(|figure| figure.at.as_ref()).map(text),
        valid: figure
            .map(|figure| valid(book, &record.scope, figure))
            .unwrap_or_default(),
        note: figure.and_then(|figure| figure.note.as_ref()).map(text),
        steps_mathml: steps(book, node),
        inputs: inputs(book, from, node),
        source: source(book, node),
        value: book.value_text(node),
        bar: strayed.zip(must).and_then(|(value, must)| bar(value, must)),
        spread: strayed.and_then(spread),
        policy: value.and_then(policy),
        most: most(book, node),
        chances: workings::chances_of(book, from, node),
        must: must.map(|must| typeset(must.text())),
        margin: strayed
            .zip(must)
            .and_then(|(value, must)| margin(value, must)),
        yield_text: notebook
            .expected_yield(node)
            .filter(|_| book.edition.is_whole())
            .map(yield_text),
        says: says.map(|says| typeset(says.text())),
        verdict: match (holds, value, must.or(says)) {
            (true, _, Some(_)) => "holds",
            (true, _, None) => "nothing required",
            (false, Some(_), _) => "does not hold",
            (false, None, _) => "cannot be computed",
        },
        holds,
        used_in: book.used_in(from, node),
        stated_on: book.stated_on(from, node),
    }
}

/// How a spread is meant, where it is not the worst case that an enclosure
/// meets.
fn policy(value: &Value) -> Option<String> {
    match (value.policy.spread, value.sampled) {
        (SpreadPolicy::WorstCase, _) => not_enclosed(value),
        (SpreadPolicy::MonteCarlo, Some(chance)) => Some(format!(
            "holds {} of {} draws by chance",
            percent(value.policy.coverage),
            chance.trials
        )),
        (policy, _) => Some(policy.word().replace('-', " ")),
    }
}

/// How far an enclosure lies from the extremes of a worst case, where it does
/// not meet them.
fn not_enclosed(value: &Value) -> Option<String> {
    let extremes = value.extremes.as_ref()?;
    match (extremes.low.gap, extremes.high.gap) {
        (Some(low), Some(high)) if low.max(high) <= CLOSE => None,
        (Some(low), Some(high)) => Some(format!(
            "worst case; an enclosure lies {:.0e} of it beyond",
            low.max(high)
        )),
        _ => Some("worst case, searched at corners and between; not enclosed".to_owned()),
    }
}

/// The expected share of boards that meet a requirement.
fn yield_text(expected: Yield) -> String {
    match expected {
        Yield::Certain => "all boards, at worst case".to_owned(),
        Yield::Drawn(drawn) => format!(
            "{} of boards, standard error {}",
            percent(drawn.share()),
            percent(drawn.standard_error())
        ),
    }
}

/// `R1 within 2 kΩ to 50 kΩ`.
fn valid(book: &Book<'_>, scope: &str, figure: &FigureRecord) -> Vec<String> {
    let is_shown = |name: &str| {
        let (scope, name) = match name.split_once('.') {
            Some((board, rest)) if book.notebook.records.board(board).is_some() => (board, rest),
            _ => (scope, name),
        };
        let node = book.notebook.graph.find(scope, name);
        node.is_some_and(|node| book.edition.shows(node))
    };
    figure
        .holds_for
        .iter()
        .filter(|valid| book.edition.is_whole() || is_shown(&valid.name.value))
        .map(|valid| {
            let range = typeset(valid.range.value.text());
            format!("{} within {range}", valid.name.value)
        })
        .collect()
}

fn inputs(book: &Book<'_>, from: &Utf8Path, node: NodeId) -> Vec<InputView> {
    let scope = &book.notebook.graph.node(node).scope;
    book.notebook
        .graph
        .operands(node)
        .iter()
        .filter(|_| book.edition.explains(book.notebook, node))
        .map(|&operand| {
            let link = book.node_link(from, scope, operand);
            InputView {
                symbol_mathml: book.symbol(operand).to_owned(),
                name: link.text,
                value: book.value_text(operand),
                href: link.href,
            }
        })
        .collect()
}

/// The input that makes most of the spread: `83 % of it from U1.set_constant`.
fn most(book: &Book<'_>, node: NodeId) -> Option<String> {
    if matches!(book.notebook.graph.node(node).body, Body::Given(_)) {
        return None;
    }
    // What has no value may go round in a circle.
    book.notebook.value(node)?;
    let shares = book.notebook.shares(node);
    let (input, share) = shares.first()?;
    if !book.edition.shows(*input) {
        return None;
    }
    let scope = &book.notebook.graph.node(node).scope;
    let name = book.notebook.graph.node(*input).name_from(scope);
    Some(if shares.len() == 1 {
        format!("all of it from {name}")
    } else {
        format!("{} of it from {name}", percent(share.share))
    })
}
