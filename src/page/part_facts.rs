//! What the sheet of a part says beside its properties: its life, what may stand
//! in for it, what it costs, and what it is strained with.

use camino::Utf8Path;
use serde::Serialize;

use super::book::Book;
use super::leaves::Page;
use super::numbers::typeset;
use super::view::Link;
use crate::quantity::{Unit, shown_digits};
use crate::record::{LifeCycle, Part, Placing};

/// A name and what it is.
#[derive(Debug, Serialize)]
pub(crate) struct Fact {
    name: String,
    value: String,
}

/// What buying it takes; for the team only.
#[derive(Debug, Serialize)]
pub(crate) struct Purchased {
    currency: String,
    prices: Vec<Fact>,
    stock: String,
    orders: Vec<Fact>,
}

/// A stress of the part in a circuit.
#[derive(Debug, Serialize)]
pub(crate) struct StrainRow {
    board: Link,
    designator: String,
    stress: Link,
    reaches: String,
    rating: String,
    share: String,
    holds: bool,
}

fn fact(name: &str, value: impl Into<String>) -> Fact {
    Fact {
        name: name.into(),
        value: value.into(),
    }
}

/// Package, dielectric, how it is placed, where it stands in its life.
pub(crate) fn facts(part: &Part) -> Vec<Fact> {
    let placed = match part.placed {
        Some(Placing::Feeder) => "by machine, from a feeder",
        Some(Placing::Tray) => "by machine, from a tray",
        Some(Placing::Hand) => "by hand",
        Some(Placing::Loose) => "not at all: plugged in, or sold with the board",
        None => "not stated",
    };
    let life = match part.life {
        LifeCycle::Active => "made, and for new boards too",
        LifeCycle::NotForNew => "made, and not for new boards",
        LifeCycle::LastBuy => "to be ordered for the last time",
        LifeCycle::Obsolete => "no longer made",
    };
    let mut facts = vec![fact("Placed", placed), fact("Life", life)];
    if part.kind.name == "capacitor" {
        let class = part.dielectric.as_ref();
        let class = class.map_or("not stated", |class| &class.value);
        facts.push(fact("Dielectric", class));
    }
    facts
}

fn part_link(book: &Book<'_>, from: &Utf8Path, part: usize) -> Link {
    Link {
        text: book.leaves.leaf(Page::Part(part)).title.clone(),
        href: book.page(from, Page::Part(part)),
    }
}

/// Parts that may be fitted in the place of one.
pub(crate) fn second_sources(book: &Book<'_>, from: &Utf8Path, part: &Part) -> Vec<Link> {
    let records = &book.notebook.records;
    let named = part.second_sources.iter();
    let named = named.filter_map(|id| records.part_at(&id.value));
    named
        .filter(|at| book.edition.shows_part(*at))
        .map(|at| part_link(book, from, at))
        .collect()
}

/// Parts that one may be fitted in the place of.
pub(crate) fn stands_in_for(book: &Book<'_>, from: &Utf8Path, part: &Part) -> Vec<Link> {
    let parts = book.notebook.records.parts.iter().enumerate();
    parts
        .filter(|(at, other)| {
            let mut named = other.second_sources.iter();
            book.edition.shows_part(*at) && named.any(|id| id.value == part.id.value)
        })
        .map(|(at, _)| part_link(book, from, at))
        .collect()
}

/// What buying it takes, where the reader may know.
pub(crate) fn purchased(book: &Book<'_>, part: &Part) -> Option<Purchased> {
    let purchase = &part.purchase;
    let is_stated =
        !purchase.prices.is_empty() || purchase.stock.is_some() || !purchase.orders.is_empty();
    if !is_stated || !book.edition.shows_purchase() {
        return None;
    }
    let currency = book.notebook.records.notebook.currency.as_ref();
    Some(Purchased {
        currency: currency.map_or_else(|| "currency not stated".into(), |code| code.value.clone()),
        prices: purchase
            .prices
            .iter()
            .map(|step| {
                let from = format!("{} or more", step.from);
                fact(&from, typeset(step.price.value.text()))
            })
            .collect(),
        stock: purchase
            .stock
            .map_or_else(|| "not stated".into(), |stock| stock.to_string()),
        orders: purchase
            .orders
            .iter()
            .map(|(supplier, code)| fact(&supplier.value, code.value.clone()))
            .collect(),
    })
}

/// What the part is strained with in every circuit that it is in, worst first on
/// each board.
pub(crate) fn strains(book: &Book<'_>, from: &Utf8Path, part: usize) -> Vec<StrainRow> {
    let notebook = book.notebook;
    let records = &notebook.records;
    let id = &records.parts[part].id.value;
    let mut rows = Vec::new();
    for (board, record) in records.boards.iter().enumerate() {
        for strain in notebook.strains(board) {
            let line = &record.fitted[strain.fitted];
            let shown = book.edition.shows(strain.stress) && book.edition.shows(strain.rating);
            if line.part.value != *id || !shown {
                continue;
            }
            let values = notebook
                .value(strain.stress)
                .zip(notebook.value(strain.rating));
            let Some((stress, rating)) = values else {
                continue;
            };
            let most = stress.outcome.high.abs().max(stress.outcome.low.abs());
            let least_rating = rating.outcome.low;
            let share = shown_digits(100.0 * most / least_rating, 2, &Unit::one());
            rows.push((
                most / least_rating,
                StrainRow {
                    board: Link {
                        text: record.title.value.clone(),
                        href: book.page(from, Page::Front(board)),
                    },
                    designator: line.designator.value.clone(),
                    stress: book.node_link(from, &record.id.value, strain.stress),
                    reaches: stress.shown_as(most).to_string(),
                    rating: rating.shown().to_string(),
                    share: format!("{share} %"),
                    holds: most <= least_rating,
                },
            ));
        }
    }
    rows.sort_by(|(a, _), (b, _)| b.total_cmp(a));
    rows.into_iter().map(|(_, row)| row).collect()
}
