//! Notes on quantities that are written against the rules of the SI.

use super::sheet::Sheet;
use crate::finding::{Finding, Place, Slug, stretch};
use crate::prose::Address;
use crate::quantity::Statement;
use crate::quantity::writing::breaches;
use crate::record::{FigureBody, Records};

/// A note for each breach in stated, required and given text. Prose outside of
/// links to figures is its writer's own.
pub(super) fn notes(records: &Records, sheets: &[Sheet], findings: &mut Vec<Finding>) {
    let parts = records.parts.iter().flat_map(|part| &part.properties);
    let modules = records.modules.iter().flat_map(|module| &module.properties);
    for property in parts.chain(modules) {
        check(property.given.value.text(), &property.given.place, findings);
    }
    for figure in records.boards.iter().flat_map(|board| &board.figures) {
        if let FigureBody::Given(given) = &figure.body {
            check(given.value.text(), &given.place, findings);
        }
        for stated in [&figure.says, &figure.must].into_iter().flatten() {
            check(stated.value.text(), &stated.place, findings);
        }
    }
    for working in records.boards.iter().flat_map(|board| &board.workings) {
        for (_, stated) in working.says.iter().chain(&working.must) {
            check(stated.value.text(), &stated.place, findings);
        }
    }
    for link in sheets.iter().flat_map(|sheet| &sheet.document.links) {
        let states =
            matches!(link.kind, Address::Figure(_)) && Statement::parse(&link.text, None).is_ok();
        if states && link.literal {
            check(&link.text, &link.text_place, findings);
        }
    }
}

fn check(text: &str, place: &Place, findings: &mut Vec<Finding>) {
    for breach in breaches(text) {
        let finding = Finding::new(
            Slug::SiWriting,
            format!("`{text}` is written against a rule of the SI"),
        )
        .at(stretch(place, text, breach.span), breach.rule.source())
        .help(breach.mend);
        findings.push(finding);
    }
}
