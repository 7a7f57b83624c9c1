//! Parts held against each other: one order code for one value, second sources
//! that may really stand in, titles that say what the record says, and parts
//! that are no longer made.

use std::collections::BTreeMap;

use super::listed_value::{listed_value, same, slip};
use crate::finding::{Finding, Level, Located, Slug};
use crate::nearest::nearest;
use crate::record::{LifeCycle, Part, Records, Status};

/// Findings about the parts of a notebook.
pub(super) fn check(records: &Records, findings: &mut Vec<Finding>) {
    order_codes(records, findings);
    for part in &records.parts {
        second_sources(records, part, findings);
        title(part, findings);
    }
    life(records, findings);
    currency(records, findings);
}

/// An order code belongs to one value. Suppliers do not tell codes apart by the
/// size of their letters, so they are compared without it.
fn order_codes(records: &Records, findings: &mut Vec<Finding>) {
    let mut first: BTreeMap<(&str, String), (&Part, &Located<String>)> = BTreeMap::new();
    for part in &records.parts {
        for (supplier, code) in &part.purchase.orders {
            let key = (supplier.value.as_str(), code.value.to_uppercase());
            let Some((other, other_code)) = first.get(&key) else {
                first.insert(key, (part, code));
                continue;
            };
            let message = format!(
                "the order code `{}` stands on `{}` and on `{}`",
                code.value, other.id.value, part.id.value
            );
            let mut finding = Finding::new(Slug::OrderCodeShared, message)
                .at(code.place.clone(), called(part))
                .at(other_code.place.clone(), called(other))
                .help("an order code belongs to one part: look it up at the supplier");
            if code.value != other_code.value {
                finding = finding.note("the two differ only in the size of their letters, which suppliers do not tell apart");
            }
            let values = nominal(part).zip(nominal(other));
            if let Some(slip) = values.and_then(|(a, b)| slip(a / b)) {
                finding = finding.note(slip);
            }
            findings.push(finding);
        }
    }
}

/// `res_10k` is 10 kΩ ±1 %.
fn called(part: &Part) -> String {
    let id = &part.id.value;
    match part.property("value") {
        Some(value) => format!("`{id}` is {}", value.given.value.text()),
        None => format!("ordered as `{id}`"),
    }
}

fn nominal(part: &Part) -> Option<f64> {
    Some(part.property("value")?.given.value.nominal())
}

/// A second source is bought and fitted without anybody recomputing anything.
fn second_sources(records: &Records, part: &Part, findings: &mut Vec<Finding>) {
    for named in &part.second_sources {
        let id = &part.id.value;
        if named.value == *id {
            findings.push(
                Finding::new(Slug::BadValue, format!("`{id}` is its own second source"))
                    .at(named.place.clone(), "the part itself")
                    .help("name another part, or take this one out"),
            );
            continue;
        }
        let Some(other) = records.part(&named.value) else {
            let left_out = records
                .left_out
                .iter()
                .any(|record| record.kind == "part" && record.name == named.value);
            if left_out {
                continue;
            }
            let message = format!("there is no part `{}`", named.value);
            let mut finding = Finding::new(Slug::UnknownName, message)
                .at(named.place.clone(), format!("second source of `{id}`"));
            let known = records.parts.iter().map(|part| part.id.value.as_str());
            if let Some(near) = nearest(&named.value, known) {
                finding = finding
                    .help(format!("perhaps `{near}`"))
                    .mend(named.place.clone(), near);
            }
            findings.push(finding);
            continue;
        };
        let differs = differs(part, other);
        if differs.is_empty() {
            continue;
        }
        let message = format!(
            "`{}` is a second source of `{id}`, and is not the same: {}",
            other.id.value,
            differs.join(", ")
        );
        let mut finding = Finding::new(Slug::SecondSourceDiffers, message)
            .at(named.place.clone(), "said to stand in")
            .at(other.id.place.clone(), called(other))
            .at(part.id.place.clone(), called(part))
            .help("a second source is of the same kind, value and package: take it out, or mend its record");
        let values = nominal(other).zip(nominal(part));
        if let Some(slip) = values.and_then(|(a, b)| slip(a / b)) {
            finding = finding.note(slip);
        }
        findings.push(finding);
    }
}

/// In what a part that stands in for another differs from it.
fn differs(part: &Part, other: &Part) -> Vec<&'static str> {
    let mut differs = Vec::new();
    if !std::ptr::eq(part.kind, other.kind) {
        differs.push("another kind");
    }
    let package = |part: &Part| part.package.as_ref().map(|text| text.value.clone());
    if package(part) != package(other) {
        differs.push("another package");
    }
    match (nominal(part), nominal(other)) {
        (Some(a), Some(b)) if same(a, b) => {}
        (None, None) => {}
        _ => differs.push("another value"),
    }
    differs
}

/// A title that names a value names the one of the record.
fn title(part: &Part, findings: &mut Vec<Finding>) {
    let (Some(title), Some(value)) = (&part.title, part.property("value")) else {
        return;
    };
    let given = &value.given.value;
    let words = title.value.split([' ', ',', ';', '(', ')', '/']);
    let named = words
        .filter(|word| word.contains(|c: char| c.is_ascii_digit()))
        .filter(|word| word.contains(char::is_alphabetic))
        .find_map(|word| {
            let value = listed_value(word, given.dimension()).ok()?;
            Some((word, value.nominal))
        });
    let Some((word, nominal)) = named.filter(|(_, nominal)| !same(*nominal, given.nominal()))
    else {
        return;
    };
    let message = format!(
        "the title of `{}` says {word}, and its value is {}",
        part.id.value,
        given.text()
    );
    let mut finding = Finding::new(Slug::TitleDiffers, message)
        .at(title.place.clone(), "said here")
        .at(value.given.place.clone(), "given here")
        .help("one of the two was not changed with the other");
    if let Some(slip) = slip(nominal / given.nominal()) {
        finding = finding.note(slip);
    }
    findings.push(finding);
}

/// Boards that carry what is no longer made, and new ones that take what new
/// boards should not.
fn life(records: &Records, findings: &mut Vec<Finding>) {
    for board in &records.boards {
        for line in board.fitted.iter().filter(|line| line.fit) {
            let Some(part) = records.part(&line.part.value) else {
                continue;
            };
            let says = match (part.life, board.status) {
                (LifeCycle::Active, _) | (_, Status::Withdrawn) => continue,
                (LifeCycle::NotForNew, Status::Production) => continue,
                (LifeCycle::NotForNew, _) => "new boards should not take it",
                (LifeCycle::LastBuy, _) => "it can be ordered for the last time",
                (LifeCycle::Obsolete, _) => "it is no longer made",
            };
            // One finding for each part of a board.
            let earlier = board
                .fitted
                .iter()
                .find(|other| other.fit && other.part.value == line.part.value);
            if earlier.is_some_and(|earlier| earlier.designator.value != line.designator.value) {
                continue;
            }
            let message = format!(
                "`{}` carries `{}`, and {says}",
                board.id.value, part.id.value
            );
            let stands_in = part
                .second_sources
                .iter()
                .filter_map(|named| records.part(&named.value))
                .find(|other| other.life == LifeCycle::Active);
            let help = match stands_in {
                Some(other) => format!("its second source `{}` is still made", other.id.value),
                None => "lay in enough of them, or look for another part: `ohmbook thin` tries those in stock".into(),
            };
            findings.push(
                Finding::new(Slug::PartEnds, message)
                    .at(
                        line.part.place.clone(),
                        format!("fitted as `{}`", line.designator.value),
                    )
                    .at(
                        part.id.place.clone(),
                        format!("`life` is {}", part.life.word()),
                    )
                    .help(help),
            );
        }
    }
}

/// A price without its currency is half a price.
fn currency(records: &Records, findings: &mut Vec<Finding>) {
    let notebook = &records.notebook;
    let priced = records
        .parts
        .iter()
        .find_map(|part| part.purchase.prices.first());
    let (None, Some(priced), Some(place)) = (&notebook.currency, priced, &notebook.place) else {
        return;
    };
    let mut finding = Finding::new(
        Slug::MissingKey,
        "parts have prices, and the notebook has no `currency`",
    )
    .at(place.clone(), "`currency` is missing")
    .at(priced.price.place.clone(), "a price in what?")
    .help("write `currency = \"EUR\"`, or another code of ISO 4217");
    finding.level = Level::Caution;
    findings.push(finding);
}
