//! Designators that the column map of a bill of materials names by itself: those
//! that the list rightly leaves out, and those that stand for no part.

use super::bom::{List, Mention};
use crate::finding::{Finding, Located, Slug};
use crate::record::designators;

impl List<'_> {
    /// The entry of a list of designators in the column map that names one.
    pub(super) fn names_it<'m>(
        &self,
        list: &'m [Located<String>],
        name: &str,
    ) -> Option<&'m Located<String>> {
        list.iter().find(|entry| {
            let (names, _) = designators(&entry.value);
            names.iter().any(|listed| listed.name == name)
        })
    }

    /// Designators that the column map names, and that are not as it says.
    pub(super) fn map_names(&self, mentions: &[Mention<'_>], findings: &mut Vec<Finding>) {
        for entry in self.map.leaves_out.iter().chain(&self.map.beyond) {
            for fault in designators(&entry.value).1 {
                let message = format!("`{}` is {}", &entry.value[fault.span.clone()], fault.why);
                findings.push(
                    Finding::new(Slug::BadValue, message)
                        .at(self.sources.place_in(entry, fault.span), "here"),
                );
            }
        }
        for mention in mentions {
            if let Some(entry) = self.names_it(&self.map.leaves_out, &mention.name) {
                findings.push(
                    Finding::new(
                        Slug::BomDiffers,
                        format!(
                            "the list has `{}`, which it is said to leave out",
                            mention.name
                        ),
                    )
                    .at(mention.place.clone(), "in the list")
                    .at(entry.place.clone(), "said here")
                    .help("take it out of `leaves_out`, so that it is held against the board"),
                );
            }
        }
        for line in &self.board.fitted {
            let name = &line.designator.value;
            if let Some(entry) = self.names_it(&self.map.beyond, name) {
                findings.push(
                    Finding::new(
                        Slug::BadValue,
                        format!("`{name}` is a part, and not beyond the parts"),
                    )
                    .at(entry.place.clone(), "said to stand for no part")
                    .at(line.designator.place.clone(), "fitted here")
                    .help("take it out of `beyond`, so that it is held against the board"),
                );
            }
        }
        let fitted = |name: &str| {
            let mut lines = self.board.fitted.iter();
            lines.any(|line| line.designator.value == name)
        };
        for entry in &self.map.leaves_out {
            for listed in designators(&entry.value).0 {
                if !fitted(&listed.name) {
                    let message = format!(
                        "no `{}` is fitted on `{}`",
                        listed.name, self.board.id.value
                    );
                    findings.push(
                        Finding::new(Slug::UnknownName, message)
                            .at(
                                self.sources.place_in(entry, listed.span),
                                "not there to be left out",
                            )
                            .help("take it out of `leaves_out`"),
                    );
                }
            }
        }
    }
}
