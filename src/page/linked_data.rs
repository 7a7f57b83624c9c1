//! What a board is, for machines that read pages: schema.org as JSON-LD.

use serde_json::{Value as Json, json};

use super::book::Book;
use super::feed::address;
use super::leaves::{Page, href};
use crate::notebook::NodeId;

/// UN/CEFACT Recommendation 20 codes of the units that boards are described in,
/// from memory.
const CODES: &[(&str, &str)] = &[
    ("A", "AMP"),
    ("mA", "4K"),
    ("V", "VLT"),
    ("mV", "2Z"),
    ("Ω", "OHM"),
    ("kΩ", "B49"),
    ("W", "WTT"),
    ("mW", "C31"),
    ("Hz", "HTZ"),
    ("kHz", "KHZ"),
    ("s", "SEC"),
    ("h", "HUR"),
    ("mm", "MMT"),
    ("g", "GRM"),
    ("°C", "CEL"),
];

/// A board, with the figures that its front sheet shows first. The text may
/// stand in a `script` element.
pub(super) fn board(book: &Book<'_>, board: usize, headlines: &[NodeId]) -> String {
    let record = &book.notebook.records.boards[board];
    let notebook = &book.notebook.records.notebook;
    let figures: Vec<Json> = headlines
        .iter()
        .filter_map(|node| figure(book, *node))
        .collect();
    let licence = record.licence.as_ref().or(notebook.licence.as_ref());
    let page = &book.leaves.leaf(Page::Front(board)).path;
    let mut whole = json!({
        "@context": "https://schema.org",
        "@type": "Product",
        "productID": record.id.value,
        "name": record.title.value,
        "description": record.summary.value,
        "model": format!("revision {}", record.revision.value),
        "manufacturer": { "@type": "Organization", "name": notebook.owner },
        "isRelatedTo": { "@type": "CreativeWork", "name": notebook.title },
        "additionalProperty": figures,
    });
    if let Some(object) = whole.as_object_mut() {
        if let Some(root) = address(book) {
            let at = format!("{root}{}", href("".into(), page));
            object.insert("@id".into(), at.clone().into());
            object.insert("url".into(), at.into());
        }
        if let Some(date) = &record.date {
            object.insert("releaseDate".into(), date.value.to_string().into());
        }
        if let Some(licence) = licence {
            object.insert(
                "subjectOf".into(),
                json!({
                    "@type": "TechArticle",
                    "name": record.title.value,
                    "license": licence.value,
                    "inLanguage": notebook.language,
                }),
            );
        }
    }
    // No element may end within it.
    whole.to_string().replace('<', "\\u003c")
}

fn figure(book: &Book<'_>, node: NodeId) -> Option<Json> {
    let value = book.notebook.value(node)?;
    let record = book.notebook.graph.node(node);
    let shown = value.shown();
    let count = |of: f64| {
        value
            .shown_as(of)
            .numeral
            .replace(['\u{a0}', '\u{202f}', '\u{2009}', ' '], "")
            .replace('−', "-")
            .parse::<f64>()
            .ok()
    };
    let code = CODES.iter().find(|(symbol, _)| *symbol == shown.unit);
    let mut out = json!({
        "@type": "PropertyValue",
        "propertyID": record.name,
        "name": record.means,
        "value": count(value.outcome.nominal),
    });
    let object = out.as_object_mut()?;
    if value.varies() && book.edition.shows_spread(book.notebook, node) {
        object.insert("minValue".into(), json!(count(value.outcome.low)));
        object.insert("maxValue".into(), json!(count(value.outcome.high)));
    }
    if !shown.unit.is_empty() {
        object.insert("unitText".into(), shown.unit.clone().into());
    }
    if let Some((_, code)) = code {
        object.insert("unitCode".into(), (*code).into());
    }
    Some(out)
}
