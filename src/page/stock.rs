//! Sheets of parts and of controller modules: what they bring, and where they
//! are used.

use std::collections::{BTreeMap, BTreeSet};

use camino::Utf8Path;
use serde::Serialize;

use super::book::Book;
use super::caution;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::numbers::typeset;
use super::part_facts::{self, Fact, Purchased, StrainRow};
use super::view::{Link, Sheet};
use crate::notebook::{NodeId, Origin, Target};
use crate::quantity::{Given, shown};
use crate::record::Property;

/// What only the sheet of a part or a module has.
#[derive(Debug, Serialize)]
pub(crate) struct Stock {
    title: String,
    lead: String,
    properties: Vec<PropertyRow>,
    pins_html: Option<String>,
    note: Option<String>,
    source: Option<String>,
    facts: Vec<Fact>,
    second_sources: Vec<Link>,
    stands_in_for: Vec<Link>,
    purchase: Option<Purchased>,
    uses: Vec<Use>,
    unused: String,
    strains: Vec<StrainRow>,
    stated_on: Vec<Link>,
}

/// A property.
#[derive(Debug, Serialize)]
struct PropertyRow {
    id: String,
    name: String,
    means: String,
    value: String,
    spread: Option<String>,
}

/// One board that uses it, in one revision.
#[derive(Debug, Serialize)]
struct Use {
    board: Link,
    revision: String,
    designators: String,
    figures: Vec<Link>,
}

/// The sheet of a part.
pub(crate) fn part_sheet(book: &Book<'_>, at: usize) -> Sheet<Stock> {
    let page = Page::Part(at);
    let from = &book.leaves.leaf(page).path;
    let part = &book.notebook.records.parts[at];
    let title = part
        .title
        .as_ref()
        .map_or_else(|| part.id.value.clone(), |title| title.value.clone());
    let mut lead = format!("{}, stocked as {}", part.kind.title, part.id.value);
    if let Some(package) = &part.package {
        lead = format!("{lead}; {}", package.value);
    }
    lead.push('.');
    let designators = designators(book, at);
    let is_ours = |origin: &Origin| matches!(origin, Origin::Fitted { part, .. } | Origin::Stock { part } if *part == at);
    let hanging = hanging(book, is_ours);
    let mut uses = part_uses(book, from, at, &hanging);
    // A board may only have reckoned with it.
    let reckoned = hanging
        .iter()
        .filter(|(board, _)| book.edition.shows_board(**board) && !designators.contains_key(board));
    uses.extend(reckoned.map(|(&board, figures)| {
        let record = &book.notebook.records.boards[board];
        Use {
            board: board_link(book, from, board),
            revision: record.revision.value.clone(),
            designators: "not fitted".into(),
            figures: links(book, from, &record.id.value, Some(figures)),
        }
    }));
    let named = named_on(book, at);
    let mut boards: BTreeSet<usize> = designators.keys().copied().collect();
    boards.extend(
        named
            .iter()
            .map(|(sheet, _)| book.notebook.sheets[*sheet].board),
    );
    let cautions = if matches!(part.kind.name, "cell" | "charger") {
        caution::about_cells(book, from, &boards)
    } else {
        Vec::new()
    };
    let parts = Parts {
        description: format!("{title}: properties, tolerances, and where it is used."),
        cautions,
        stated: &[],
        face: Stock {
            title,
            lead,
            properties: part
                .properties
                .iter()
                .filter(|property| book.edition.shows_property(&property.name.value))
                .map(property)
                .collect(),
            pins_html: None,
            note: part.note.as_ref().map(|note| note.value.clone()),
            source: part.source.as_ref().map(|source| source.value.clone()),
            facts: part_facts::facts(part),
            second_sources: part_facts::second_sources(book, from, part),
            stands_in_for: part_facts::stands_in_for(book, from, part),
            purchase: part_facts::purchased(book, part),
            uses,
            unused: "No board carries this part.".into(),
            strains: part_facts::strains(book, from, at),
            stated_on: book.places(from, None, &named),
        },
    };
    sheet(book, page, parts)
}

/// The sheet of a controller module.
pub(crate) fn module_sheet(book: &Book<'_>, at: usize) -> Sheet<Stock> {
    let page = Page::Module(at);
    let from = &book.leaves.leaf(page).path;
    let records = &book.notebook.records;
    let module = &records.modules[at];
    let title = module.title.value.clone();
    let summary = module.summary.as_ref().map(|summary| summary.value.clone());
    let lead = summary.unwrap_or_else(|| "Controller module.".into());
    let is_ours = |origin: &Origin| matches!(origin, Origin::Module { module } if *module == at);
    let hanging = hanging(book, is_ours);
    let made_for = |board: usize| {
        let module_of = records.boards[board].module.as_ref();
        module_of.is_some_and(|id| id.value == module.id.value)
    };
    let uses = (0..records.boards.len())
        .filter(|&board| book.edition.shows_board(board))
        .filter(|&board| made_for(board) || hanging.contains_key(&board))
        .map(|board| Use {
            board: board_link(book, from, board),
            revision: records.boards[board].revision.value.clone(),
            designators: if made_for(board) {
                "made for it".into()
            } else {
                "not made for it".into()
            },
            figures: links(
                book,
                from,
                &records.boards[board].id.value,
                hanging.get(&board),
            ),
        })
        .collect();
    let parts = Parts {
        description: format!("{title}: {lead}"),
        cautions: Vec::new(),
        stated: &[],
        face: Stock {
            title,
            lead,
            properties: module.properties.iter().map(property).collect(),
            pins_html: super::pins::module_html(module),
            note: None,
            source: module.source.as_ref().map(|source| source.value.clone()),
            facts: Vec::new(),
            second_sources: Vec::new(),
            stands_in_for: Vec::new(),
            purchase: None,
            uses,
            unused: "No board is made for this module.".into(),
            strains: Vec::new(),
            stated_on: Vec::new(),
        },
    };
    sheet(book, page, parts)
}

/// Boards that carry a part, the present revision of each before earlier ones.
/// Figures are those of the present one.
fn part_uses(
    book: &Book<'_>,
    from: &Utf8Path,
    part: usize,
    hanging: &BTreeMap<usize, BTreeSet<NodeId>>,
) -> Vec<Use> {
    let records = &book.notebook.records;
    let id = &records.parts[part].id.value;
    let now = designators(book, part);
    let mut uses = Vec::new();
    for (board, record) in records.boards.iter().enumerate() {
        if !book.edition.shows_board(board) {
            continue;
        }
        if let Some(designators) = now.get(&board) {
            uses.push(Use {
                board: board_link(book, from, board),
                revision: record.revision.value.clone(),
                designators: designators.join(", "),
                figures: links(book, from, &record.id.value, hanging.get(&board)),
            });
        }
        for revision in record.revisions.iter().rev() {
            let carried = record.fitted.iter().filter_map(|line| {
                let name = &line.designator.value;
                let mut then = revision.fitted.iter();
                let then = then
                    .find(|then| then.designator.value == *name)
                    .unwrap_or(line);
                (then.part.value == *id && then.fit).then_some(name.as_str())
            });
            let carried: Vec<&str> = carried.collect();
            if !carried.is_empty() {
                uses.push(Use {
                    board: board_link(book, from, board),
                    revision: revision.id.value.clone(),
                    designators: carried.join(", "),
                    figures: Vec::new(),
                });
            }
        }
    }
    uses
}

fn property(property: &Property) -> PropertyRow {
    let name = &property.name.value;
    let given = &property.given.value;
    PropertyRow {
        id: format!("property-{name}"),
        name: name.clone(),
        means: means(name, property.means),
        value: typeset(given.text()),
        spread: range(given),
    }
}

/// What a property is, in words; those of the team's own are called as they are
/// named.
pub(crate) fn means(name: &str, means: &str) -> String {
    let words = match means {
        "" => name.replace('_', " "),
        means => means.to_owned(),
    };
    let mut letters = words.chars();
    let first: String = letters
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .collect();
    first + letters.as_str()
}

/// `4.16 V to 4.24 V`, to one digit more than the tolerance deserves.
fn range(given: &Given) -> Option<String> {
    let (low, high) = (given.low(), given.high());
    let text = |value| shown(value, (high - low) / 20.0, given.unit());
    (low < high).then(|| format!("{} to {}", text(low), text(high)))
}

fn board_link(book: &Book<'_>, from: &Utf8Path, board: usize) -> Link {
    Link {
        text: book.notebook.records.boards[board].title.value.clone(),
        href: book.page(from, Page::Front(board)),
    }
}

fn links(
    book: &Book<'_>,
    from: &Utf8Path,
    board: &str,
    nodes: Option<&BTreeSet<NodeId>>,
) -> Vec<Link> {
    nodes
        .into_iter()
        .flatten()
        .map(|&node| book.node_link(from, board, node))
        .collect()
}

/// Where a part is fitted: designators by board, those of empty places marked.
pub(crate) fn designators(book: &Book<'_>, part: usize) -> BTreeMap<usize, Vec<String>> {
    let records = &book.notebook.records;
    let id = &records.parts[part].id.value;
    let mut designators: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    for (at, board) in records.boards.iter().enumerate() {
        if !book.edition.shows_board(at) {
            continue;
        }
        for line in board.fitted.iter().filter(|line| line.part.value == *id) {
            let designator = &line.designator.value;
            let text = if line.fit {
                designator.clone()
            } else {
                format!("{designator} (not fitted)")
            };
            designators.entry(at).or_default().push(text);
        }
    }
    designators
}

/// Figures that hang directly on nodes of some origin, by their board.
fn hanging(
    book: &Book<'_>,
    is_ours: impl Fn(&Origin) -> bool,
) -> BTreeMap<usize, BTreeSet<NodeId>> {
    let graph = &book.notebook.graph;
    let mut hanging: BTreeMap<usize, BTreeSet<NodeId>> = BTreeMap::new();
    for (node, _) in graph.iter().filter(|(_, record)| is_ours(&record.origin)) {
        for figure in book.figures_on(node) {
            if let Origin::Figure { board, .. } | Origin::Working { board, .. } =
                graph.node(figure).origin
            {
                hanging.entry(board).or_default().insert(figure);
            }
        }
    }
    hanging
}

/// Sheets and links that name a part by its own id.
fn named_on(book: &Book<'_>, part: usize) -> Vec<(usize, usize)> {
    let sheets = book.notebook.sheets.iter().enumerate();
    sheets
        .filter(|(at, _)| book.edition.shows_sheet(book.notebook, *at))
        .flat_map(|(at, sheet)| {
            let targets = sheet.targets.iter().enumerate();
            targets
                .filter(move |(_, target)| **target == Target::Part(part))
                .map(move |(link, _)| (at, link))
        })
        .collect()
}
