//! The value that a bill of materials gives a part.

use std::collections::BTreeMap;

use super::bom_row::Row;
use super::listed_value::{listed_value, same, slip};
use crate::finding::Finding;
use crate::finding::Slug;
use crate::quantity::{Dimension, Given, TextFaultKind};
use crate::record::Cell;

/// Ratings that a list gives behind a value, by their dimension.
const RATINGS: [(Dimension, &str); 3] = [
    (Dimension::VOLTAGE, "voltage_rating"),
    (Dimension::POWER, "power_rating"),
    (Dimension::CURRENT, "current_rating"),
];

impl Row<'_> {
    /// The value, as a quantity where the part has one.
    pub(super) fn value(
        &self,
        cell: &Cell,
        listed: &BTreeMap<String, &str>,
        findings: &mut Vec<Finding>,
    ) {
        let (name, id) = (&self.mention.name, &self.part.id.value);
        let calls = self
            .list
            .map
            .calls
            .iter()
            .find(|(called, _)| called.value == cell.text);
        if let Some((_, meant)) = calls {
            if meant.value != *id {
                let message = format!(
                    "the list has `{}` as `{name}`, and `{id}` is fitted",
                    cell.text
                );
                findings.push(
                    self.differs(cell, message, "listed here")
                        .at(meant.place.clone(), format!("which is `{}`", meant.value)),
                );
            }
            return;
        }
        let title = self.part.title.as_ref();
        if cell.text == *id || title.is_some_and(|title| title.value == cell.text) {
            return;
        }
        let Some(value) = self.part.property("value") else {
            let message = match cell.text.as_str() {
                "" => format!("the list says nothing of what `{name}` is"),
                other => format!("the list calls `{name}` {other}, and `{id}` is fitted"),
            };
            findings.push(self.differs(cell, message, "called so here").help(format!(
                "write `{id}` or its title into the list, or say under `calls` of `[bom]` what the list means by it"
            )));
            return;
        };
        let given = &value.given.value;
        if cell.text.is_empty() {
            let message = format!("the list gives no value for `{name}`");
            findings.push(
                self.differs(cell, message, "no value in this row")
                    .help(format!("write `{}`", given.text())),
            );
            return;
        }
        match listed_value(&cell.text, given.dimension()) {
            Err(fault) => {
                let slug = match fault.kind {
                    TextFaultKind::DecimalComma { .. } => Slug::DecimalComma,
                    _ => Slug::BomDiffers,
                };
                let message = format!(
                    "the list has {} as `{name}`, which is no value of it: {fault}",
                    cell.text
                );
                let mut finding =
                    self.differs(cell, message, "not a value")
                        .help(fault.mend().unwrap_or_else(|| {
                            format!("if the record is right, write `{}`", given.text())
                        }));
                finding.slug = slug;
                findings.push(finding);
            }
            Ok(stated) if !same(stated.nominal, given.nominal()) => {
                let message = format!(
                    "the list has {} as `{name}`, and {} is fitted",
                    cell.text,
                    given.text()
                );
                let mut finding = self.differs(cell, message, "listed here").at(
                    value.given.place.clone(),
                    format!("`{id}` is {}", given.text()),
                );
                if let Some(likely) = self.likely(stated.nominal, listed) {
                    finding = finding.note(likely);
                }
                findings.push(finding.help(format!(
                    "if the record is right, write `{}` into the list",
                    given.text()
                )));
            }
            Ok(stated) => {
                let other = |(low, high)| !(same(low, given.low()) && same(high, given.high()));
                if stated.limits.is_some_and(other) {
                    let message = format!(
                        "the list has {} as `{name}`, and its tolerance is another than that of {}",
                        cell.text,
                        given.text()
                    );
                    findings.push(self.differs(cell, message, "another tolerance").at(
                        value.given.place.clone(),
                        format!("`{id}` is {}", given.text()),
                    ));
                }
                for piece in stated.behind {
                    self.behind(cell, &cell.text[piece], findings);
                }
            }
        }
    }

    /// What stands behind a value: a rating, the dielectric, the package.
    fn behind(&self, cell: &Cell, word: &str, findings: &mut Vec<Finding>) {
        let named = [&self.part.dielectric, &self.part.package];
        let mut named = named.into_iter().flatten();
        if named.any(|text| text.value.eq_ignore_ascii_case(word)) {
            return;
        }
        let rating = Given::parse(word, None).ok().and_then(|stated| {
            let name = RATINGS
                .iter()
                .find(|(dimension, _)| *dimension == stated.dimension())?
                .1;
            Some((stated, name))
        });
        let (name, id) = (&self.mention.name, &self.part.id.value);
        let Some((stated, rating)) = rating else {
            let message =
                format!("the list says {word} of `{name}`, and the record of `{id}` does not");
            findings.push(self.differs(cell, message, "behind the value").help(
                "a list may give the tolerance, a rating, the dielectric and the package behind a value",
            ));
            return;
        };
        let recorded = self.part.property(rating).map(|property| &property.given);
        if recorded.is_some_and(|recorded| same(recorded.value.nominal(), stated.nominal())) {
            return;
        }
        let message = match recorded {
            Some(recorded) => format!(
                "the list has {word} as the rating of `{name}`, and `{id}` is made for {}",
                recorded.value.text()
            ),
            None => {
                format!("the list has {word} as the rating of `{name}`, and `{id}` states none")
            }
        };
        findings.push(self.differs(cell, message, format!("`{rating}`")));
    }

    /// How a value likely drifted.
    fn likely(&self, stated: f64, listed: &BTreeMap<String, &str>) -> Option<String> {
        let (board, records) = (self.list.board, self.list.records);
        let name = &self.mention.name;
        let given = &self.part.property("value")?.given.value;
        let nominal = given.nominal();
        let value_of = |id: &str| Some(records.part(id)?.property("value")?.given.value.nominal());
        // Swapped: another designator stands with this one's value, and this one with
        // its.
        let swapped = board
            .fitted
            .iter()
            .filter(|line| line.designator.value != *name)
            .find(|line| {
                let theirs = value_of(&line.part.value).filter(|theirs| same(*theirs, stated));
                let text = listed.get(&line.designator.value);
                let read = text.and_then(|text| listed_value(text, given.dimension()).ok());
                theirs.is_some() && read.is_some_and(|read| same(read.nominal, nominal))
            });
        if let Some(line) = swapped {
            return Some(format!(
                "likely swapped with `{}`, which the list gives this part's value",
                line.designator.value
            ));
        }
        for revision in board.revisions.iter().rev() {
            let mut then = revision.fitted.iter();
            let then = then.find(|line| line.designator.value == *name);
            if then
                .and_then(|line| value_of(&line.part.value))
                .is_some_and(|then| same(then, stated))
            {
                return Some(format!(
                    "likely copied forward: it was so in revision {}",
                    revision.id.value
                ));
            }
        }
        if let Some(slip) = slip(stated / nominal) {
            return Some(slip.to_owned());
        }
        let mut parts = records.parts.iter();
        let other = parts.find(|part| {
            std::ptr::eq(part.kind, self.part.kind)
                && value_of(&part.id.value).is_some_and(|value| same(value, stated))
        })?;
        Some(format!(
            "likely not exported anew: it is the value of `{}`",
            other.id.value
        ))
    }
}
