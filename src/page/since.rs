//! What differs from an earlier state of the notebook.

use serde::Serialize;

use super::book::Book;
use super::corner::{Parts, sheet};
use super::leaves::Page;
use super::numbers::typeset;
use super::totals::counted;
use super::view::Sheet;
use super::zone::Zones;
use crate::notebook::{Difference, Differences, FigureDifference, Value};
use crate::quantity::{Unit, shown_digits};

/// What only this sheet has.
#[derive(Debug, Serialize)]
pub(crate) struct SinceSheet {
    title: String,
    lead: String,
    groups: Vec<Group>,
    /// Zone of the texts.
    texts_zone: String,
    texts: Vec<TextRow>,
}

/// Rows of one sort.
#[derive(Debug, Serialize)]
struct Group {
    id: &'static str,
    title: &'static str,
    zone: String,
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

/// How much of each sort differs: `24 figures, 20 limits and 6 parts differ`.
fn what_differs(since: &Differences) -> String {
    let sorts = [
        (since.figures.len(), "figure"),
        (since.limits.len(), "limit"),
        (since.parts.len(), "part"),
        (since.pins.len(), "pin"),
    ];
    let sorts = sorts.into_iter().filter(|(count, _)| *count > 0);
    let all: Vec<String> = sorts
        .clone()
        .map(|(count, what)| counted(count, what))
        .collect();
    let verb = match sorts.map(|(count, _)| count).sum() {
        1 => "differs",
        _ => "differ",
    };
    match all.split_last() {
        Some((last, rest)) if !rest.is_empty() => {
            format!("{} and {last} {verb}", rest.join(", "))
        }
        Some((only, _)) => format!("{only} {verb}"),
        None => "only stated texts differ".to_owned(),
    }
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
    let mut zones = Zones::default();
    zones.next();
    let groups = groups.into_iter().filter(|(.., rows)| !rows.is_empty());
    let groups: Vec<Group> = groups
        .map(|(id, title, rows)| Group {
            id,
            title,
            zone: zones.next(),
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
        false => format!("Compared with {}: {}.", since.of, what_differs(&since)),
    };
    let face = SinceSheet {
        title: format!("Since {}", since.of),
        lead: lead.clone(),
        groups,
        texts_zone: zones.next(),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_differs_is_counted() {
        let one = || Difference {
            name: "carrier.R1".to_owned(),
            was: None,
            now: None,
        };
        let told = |parts: usize, pins: usize| {
            what_differs(&Differences {
                parts: std::iter::repeat_with(one).take(parts).collect(),
                pins: std::iter::repeat_with(one).take(pins).collect(),
                ..Differences::default()
            })
        };
        assert_eq!(told(1, 0), "1 part differs");
        assert_eq!(told(0, 2), "2 pins differ");
        assert_eq!(told(1, 2), "1 part and 2 pins differ");
        assert_eq!(told(0, 0), "only stated texts differ");
    }
}
