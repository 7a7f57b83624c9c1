//! Earlier revisions of a board, for those who have one: how to tell it, what is
//! wrong with it, and its numbers beside those of the revision that is made now.

use camino::Utf8Path;
use serde::Serialize;

use super::book::Book;
use super::caution;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::numbers::{running, spread, typeset};
use super::view::{Link, Sheet};
use crate::notebook::{NodeId, Origin, Value};
use crate::record::{Audience, Board, Erratum};

/// What only the sheet of an earlier revision has.
#[derive(Debug, Serialize)]
pub(crate) struct RevisionSheet {
    title: String,
    mark: String,
    now: Link,
    mark_now: String,
    date: String,
    tell: Option<String>,
    errata: Vec<ErratumView>,
    changes: Vec<String>,
    parts: Vec<PartRow>,
    rows: Vec<FigureRow>,
    same: String,
    sheets: Vec<Link>,
}

/// A known error, in words.
#[derive(Debug, Serialize)]
pub(crate) struct ErratumView {
    means: String,
    seen: Option<String>,
    workaround: Option<String>,
    fixed_in: Option<String>,
    date: Option<String>,
}

/// Another revision, for those who have it.
#[derive(Debug, Serialize)]
pub(crate) struct OtherRevision {
    mark: String,
    href: String,
    tell: Option<String>,
    errata: Option<String>,
}

/// A place that carried another part.
#[derive(Debug, Serialize)]
struct PartRow {
    designator: String,
    then: String,
    now: String,
}

/// A figure that differs.
#[derive(Debug, Serialize)]
struct FigureRow {
    means: String,
    href: String,
    then: String,
    spread: Option<String>,
    now: String,
    must: Option<String>,
    holds: bool,
}

/// The errata of one revision of a board.
pub(crate) fn errata(board: &Board, revision: &str) -> Vec<ErratumView> {
    let text = |text: &crate::finding::Located<String>| running(&text.value);
    let view = |erratum: &Erratum| ErratumView {
        means: text(&erratum.means),
        seen: erratum.seen.as_ref().map(text),
        workaround: erratum.workaround.as_ref().map(text),
        fixed_in: erratum.fixed_in.as_ref().map(|mark| mark.value.clone()),
        date: erratum.date.as_ref().map(|date| date.value.to_string()),
    };
    board.errata_of(revision).map(view).collect()
}

/// Earlier revisions of a board, the newest first.
pub(crate) fn others(book: &Book<'_>, from: &Utf8Path, board: usize) -> Vec<OtherRevision> {
    let record = &book.whole.records.boards[board];
    let mut earlier: Vec<_> = record.revisions.iter().enumerate().collect();
    earlier.sort_by_key(|(_, revision)| std::cmp::Reverse(revision.date.value));
    let other = |(at, revision): (usize, &crate::record::Revision)| {
        let mark = &revision.id.value;
        let errata = match record.errata_of(mark).count() {
            0 => None,
            1 => Some("1 erratum".to_owned()),
            count => Some(format!("{count} errata")),
        };
        OtherRevision {
            mark: mark.clone(),
            href: book.page(from, Page::Revision(board, at)),
            tell: revision.tell.as_ref().map(|tell| running(&tell.value)),
            errata,
        }
    };
    earlier.into_iter().map(other).collect()
}

/// The sheet of an earlier revision; `book` is as of it.
pub(crate) fn revision_sheet(
    book: &Book<'_>,
    board: usize,
    revision: usize,
) -> Sheet<RevisionSheet> {
    let page = Page::Revision(board, revision);
    let from = &book.leaves.leaf(page).path;
    let record = &book.whole.records.boards[board];
    let then = &record.revisions[revision];
    let (title, mark) = (&record.title.value, &then.id.value);
    let parts = then.fitted.iter().filter_map(|line| {
        let mut now = record.fitted.iter();
        let now = now.find(|now| now.designator.value == line.designator.value)?;
        let is_shown = |id: &str| {
            let part = book.whole.records.part_at(id);
            part.is_some_and(|part| book.edition.shows_part(part))
        };
        if !(is_shown(&line.part.value) && is_shown(&now.part.value)) {
            return None;
        }
        let carried = |line: &crate::record::Fitted| match line.fit {
            true => part_title(book, &line.part.value),
            false => "left empty".to_owned(),
        };
        Some(PartRow {
            designator: line.designator.value.clone(),
            then: carried(line),
            now: carried(now),
        })
    });
    let rows = rows(book, from, board, revision);
    let figures = shown_figures(book, board).count();
    let now = book.whole.records.boards[board].revision.value.clone();
    let face = RevisionSheet {
        title: format!("{title}, revision {mark}"),
        mark: mark.clone(),
        now: Link {
            text: format!("revision {now}"),
            href: book.page(from, Page::Front(board)),
        },
        mark_now: now,
        date: then.date.value.to_string(),
        tell: then.tell.as_ref().map(|tell| running(&tell.value)),
        errata: errata(record, mark),
        changes: then
            .changes
            .iter()
            .map(|text| running(&text.value))
            .collect(),
        parts: parts.collect(),
        same: match figures - rows.len() {
            0 => "All figures for customers differ.".to_owned(),
            1 => "One other figure is the same in both.".to_owned(),
            same => format!("{same} other figures are the same in both."),
        },
        rows,
        sheets: sheets(book, from, board, revision),
    };
    let parts = Parts {
        description: format!(
            "Revision {mark} of the {title}: how to tell it, what is known to be wrong with it, and its figures."
        ),
        cautions: caution::of_board(book, from, board),
        stated: &[],
        face,
    };
    sheet(book, page, parts)
}

/// The other sheets of an earlier revision.
fn sheets(book: &Book<'_>, from: &Utf8Path, board: usize, revision: usize) -> Vec<Link> {
    let pages = [
        Page::RevisionFigures(board, revision),
        Page::RevisionWorkings(board, revision),
        Page::RevisionPins(board, revision),
    ];
    let pages = pages.into_iter().filter(|&page| book.leaves.has(page));
    let link = |page| Link {
        text: book.leaves.leaf(page).title.clone(),
        href: book.page(from, page),
    };
    pages.map(link).collect()
}

fn part_title(book: &Book<'_>, id: &str) -> String {
    let part = book.whole.records.part(id);
    let title = part.and_then(|part| part.title.as_ref());
    title.map_or_else(|| id.to_owned(), |title| running(&title.value))
}

/// The figures of a board that customers read of.
fn shown_figures<'b>(book: &'b Book<'_>, board: usize) -> impl Iterator<Item = NodeId> + 'b {
    let record = &book.whole.records.boards[board];
    let of_customers = record
        .figures
        .iter()
        .filter(|figure| figure.audience == Audience::Customers);
    of_customers.filter_map(|figure| book.whole.graph.find(&record.id.value, &figure.id.value))
}

fn rows(book: &Book<'_>, from: &Utf8Path, board: usize, revision: usize) -> Vec<FigureRow> {
    let Some(supposed) = book.whole.revision(board, revision) else {
        return Vec::new();
    };
    let row = |was: NodeId| {
        let then = supposed.twin(book.whole, was)?;
        if !book.edition.shows(then) {
            return None;
        }
        let moved = supposed.moved.iter().any(|(before, _)| *before == was);
        let record = book.whole.graph.node(was);
        let (Origin::Figure { board, figure }, true) = (&record.origin, moved) else {
            return None;
        };
        let record = &book.whole.records.boards[*board].figures[*figure];
        let text = |value: Option<&Value>| {
            value.map_or_else(|| "no value".to_owned(), |value| value.shown().to_string())
        };
        let value = supposed.notebook.value(then);
        let must = record.must.as_ref();
        Some(FigureRow {
            means: record.means.value.clone(),
            href: book.place_of(from, then),
            then: text(value),
            spread: value.and_then(spread),
            now: text(book.whole.value(was)),
            holds: must.is_none_or(|must| {
                value.is_some_and(|value| must.value.misses(value.outcome).is_empty())
            }),
            must: must.map(|must| typeset(must.value.text())),
        })
    };
    shown_figures(book, board).filter_map(row).collect()
}
