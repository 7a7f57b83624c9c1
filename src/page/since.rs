//! What differs from an earlier state of the notebook.

use serde::Serialize;

use super::book::Book;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::numbers::typeset;
use super::view::Sheet;
use crate::notebook::{Difference, FigureDifference, Value};
use crate::quantity::{Unit, shown_digits};

/// What only this sheet has.
#[derive(Debug, Serialize)]
pub(crate) struct SinceSheet {
    title: String,
    lead: String,
    groups: Vec<Group>,
    texts: Vec<TextRow>,
}

/// Rows of one sort.
#[derive(Debug, Serialize)]
struct Group {
    id: &'static str,
    title: &'static str,
    zone: &'static str,
    rows: Vec<Row>,
}

#[derive(Debug, Serialize)]
struct Row {
    name: String,
    means: Option<String>,
    href: Option<String>,
    was: String,
    now: String,
    change: Option<String>,
}

#[derive(Debug, Serialize)]
struct TextRow {
    name: String,
    was: Option<String>,
    now: String,
    place: String,
    holds: bool,
}

/// A share in percent with its sign, to two digits.
pub(crate) fn signed_percent(share: f64) -> String {
    let digits = shown_digits(share.abs() * 100.0, 2, &Unit::one()).numeral;
    let sign = if share < 0.0 { '\u{2212}' } else { '+' };
    format!("{sign}{digits}\u{a0}%")
}

/// The sheet.
pub(crate) fn since_sheet(book: &Book<'_>) -> Sheet<SinceSheet> {
    let page = Page::Since;
    let from = &book.leaves.leaf(page).path;
    let since = book.notebook.since.clone().unwrap_or_default();
    let figure = |one: &FigureDifference| {
        let (scope, rest) = one.name.split_once('.').unwrap_or((&one.name, ""));
        let node = book.notebook.graph.find(scope, rest);
        let text = |value: &Option<Value>, must: &Option<String>| {
            let value = value
                .as_ref()
                .map_or_else(|| "not there".to_owned(), |value| value.shown().to_string());
            match must {
                Some(must) => format!("{value}, must be {}", typeset(must)),
                None => value,
            }
        };
        Row {
            name: one.name.clone(),
            means: Some(one.means.clone()),
            href: node.map(|node| book.place_of(from, node)),
            was: text(&one.was, &one.must_was),
            now: text(&one.now, &one.must_now),
            change: one
                .share()
                .filter(|share| *share != 0.0)
                .map(signed_percent),
        }
    };
    let plain = |one: &Difference| {
        let text = |text: &Option<String>| text.as_deref().map_or("not there".to_owned(), typeset);
        Row {
            name: one.name.clone(),
            means: None,
            href: None,
            was: text(&one.was),
            now: text(&one.now),
            change: None,
        }
    };
    let groups = [
        (
            "figures",
            "Figures",
            since.figures.iter().map(figure).collect::<Vec<_>>(),
        ),
        (
            "limits",
            "Limits of fixtures",
            since.limits.iter().map(figure).collect(),
        ),
        ("parts", "Parts", since.parts.iter().map(plain).collect()),
        ("pins", "Pins", since.pins.iter().map(plain).collect()),
    ];
    let zones = ["B", "C", "D", "E"];
    let groups = groups.into_iter().filter(|(.., rows)| !rows.is_empty());
    let groups: Vec<Group> = groups
        .zip(zones)
        .map(|((id, title, rows), zone)| Group {
            id,
            title,
            zone,
            rows,
        })
        .collect();
    let texts = since.texts.iter().map(|text| {
        let file = book.notebook.sources.file(text.place.file);
        let (line, column) = file.line_column(text.place.start);
        TextRow {
            name: text.figure.clone(),
            was: (!text.instead_of.is_empty()).then(|| typeset(&text.instead_of.join("; "))),
            now: typeset(&text.text),
            place: format!("{}:{line}:{column}", file.path),
            holds: text.holds,
        }
    });
    let lead = match since.is_empty() {
        true => format!("Nothing differs from {}.", since.of),
        false => format!(
            "Compared with {}: {} figures, {} limits, {} parts and {} pins differ.",
            since.of,
            since.figures.len(),
            since.limits.len(),
            since.parts.len(),
            since.pins.len()
        ),
    };
    let face = SinceSheet {
        title: format!("Since {}", since.of),
        lead: lead.clone(),
        groups,
        texts: texts.collect(),
    };
    let parts = Parts {
        description: lead,
        cautions: Vec::new(),
        stated: &[],
        face,
    };
    sheet(book, page, parts)
}
