//! The index of parts: what each is, and which boards carry it.

use serde::Serialize;

use super::book::Book;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::numbers::typeset;
use super::stock::designators;
use super::view::{Link, Sheet};
use crate::record::Part;

/// What only the where-used index has.
#[derive(Debug, Serialize)]
pub(crate) struct WhereUsed {
    lead: String,
    totals: Option<Link>,
    groups: Vec<Group>,
}

/// Parts of one kind.
#[derive(Debug, Serialize)]
struct Group {
    title: String,
    parts: Vec<PartRow>,
}

/// A part.
#[derive(Debug, Serialize)]
struct PartRow {
    id: String,
    title: String,
    href: String,
    value: Option<String>,
    uses: Vec<Use>,
}

/// A board that carries it.
#[derive(Debug, Serialize)]
struct Use {
    board: Link,
    designators: String,
}

/// The where-used index.
pub(crate) fn where_used(book: &Book<'_>) -> Sheet<WhereUsed> {
    let page = Page::WhereUsed;
    let records = &book.notebook.records;
    let shown = || {
        let parts = records.parts.iter().enumerate();
        parts.filter(|(at, _)| book.edition.shows_part(*at))
    };
    let mut kinds: Vec<_> = shown().map(|(_, part)| part.kind).collect();
    kinds.sort_by_key(|kind| kind.title);
    kinds.dedup_by_key(|kind| kind.name);
    let mut groups: Vec<Group> = kinds
        .into_iter()
        .map(|kind| {
            let parts = shown().filter(|(_, part)| part.kind.name == kind.name);
            Group {
                title: kind.title.to_owned(),
                parts: parts.map(|(at, part)| row(book, at, part)).collect(),
            }
        })
        .collect();
    let modules = modules(book);
    if !modules.parts.is_empty() {
        groups.push(modules);
    }
    let used = shown()
        .filter(|(at, _)| !designators(book, *at).is_empty())
        .count();
    let count = shown().count();
    let lead = format!("{count} parts in stock, {used} of them on a board.");
    let parts = Parts {
        description: format!("Where each part is used. {lead}"),
        cautions: Vec::new(),
        stated: &[],
        face: WhereUsed {
            lead,
            totals: book.leaves.has(Page::Totals).then(|| Link {
                text: "Line totals".into(),
                href: book.page(&book.leaves.leaf(page).path, Page::Totals),
            }),
            groups,
        },
    };
    sheet(book, page, parts)
}

fn row(book: &Book<'_>, at: usize, part: &Part) -> PartRow {
    let from = &book.leaves.leaf(Page::WhereUsed).path;
    let uses = designators(book, at)
        .into_iter()
        .map(|(board, designators)| Use {
            board: Link {
                text: book.notebook.records.boards[board].title.value.clone(),
                href: book.page(from, Page::Front(board)),
            },
            designators: designators.join(", "),
        });
    PartRow {
        id: part.id.value.clone(),
        title: book.leaves.leaf(Page::Part(at)).title.clone(),
        href: book.page(from, Page::Part(at)),
        value: part
            .property("value")
            .map(|value| typeset(value.given.value.text())),
        uses: uses.collect(),
    }
}

fn modules(book: &Book<'_>) -> Group {
    let from = &book.leaves.leaf(Page::WhereUsed).path;
    let records = &book.notebook.records;
    let shown = records.modules.iter().enumerate();
    let shown = shown.filter(|(at, _)| book.edition.shows_module(*at));
    let modules = shown.map(|(at, module)| {
        let boards = records.boards.iter().enumerate().filter(|(at, board)| {
            let made_for = board.module.as_ref();
            book.edition.shows_board(*at) && made_for.is_some_and(|id| id.value == module.id.value)
        });
        PartRow {
            id: module.id.value.clone(),
            title: module.title.value.clone(),
            href: book.page(from, Page::Module(at)),
            value: None,
            uses: boards
                .map(|(board, record)| Use {
                    board: Link {
                        text: record.title.value.clone(),
                        href: book.page(from, Page::Front(board)),
                    },
                    designators: "made for it".into(),
                })
                .collect(),
        }
    });
    Group {
        title: "Controller modules".into(),
        parts: modules.collect(),
    }
}
