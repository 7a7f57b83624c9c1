//! Notes on quantities that are written against the rules of the SI.

use rayon::prelude::*;

use super::sheet::Sheet;
use crate::finding::{Finding, Place, Slug, stretch};
use crate::prose::Address;
use crate::quantity::Statement;
use crate::quantity::writing::{Breach, breaches};
use crate::record::{FigureBody, Records};

/// A note for each breach in stated, required and given text. Prose outside of
/// links to figures is its writer's own.
pub(super) fn notes(records: &Records, sheets: &[Sheet], findings: &mut Vec<Finding>) {
    let mut texts: Vec<(&str, &Place)> = Vec::new();
    let parts = records.parts.iter().flat_map(|part| &part.properties);
    let modules = records.modules.iter().flat_map(|module| &module.properties);
    for property in parts.chain(modules) {
        texts.push((property.given.value.text(), &property.given.place));
    }
    for figure in records.boards.iter().flat_map(|board| &board.figures) {
        if let FigureBody::Given(given) = &figure.body {
            texts.push((given.value.text(), &given.place));
        }
        for stated in [&figure.says, &figure.must].into_iter().flatten() {
            texts.push((stated.value.text(), &stated.place));
        }
    }
    for working in records.boards.iter().flat_map(|board| &board.workings) {
        for (_, stated) in working.says.iter().chain(&working.must) {
            texts.push((stated.value.text(), &stated.place));
        }
    }
    for link in sheets.iter().flat_map(|sheet| &sheet.document.links) {
        let states =
            matches!(link.kind, Address::Figure(_)) && Statement::parse(&link.text, None).is_ok();
        if states && link.literal {
            texts.push((&link.text, &link.text_place));
        }
    }
    let told = texts.into_par_iter();
    findings.par_extend(told.flat_map_iter(|(text, place)| told_of(text, place)));
}

/// A note for each breach in a text.
fn told_of(text: &str, place: &Place) -> impl Iterator<Item = Finding> {
    let finding = move |breach: Breach| {
        Finding::new(
            Slug::SiWriting,
            format!("`{text}` is written against a rule of the SI"),
        )
        .at(stretch(place, text, breach.span), breach.rule.source())
        .help(breach.mend)
    };
    breaches(text).into_iter().map(finding)
}
