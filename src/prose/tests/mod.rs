//! Reading whole sheets.

mod findings;
mod hostile;
mod places;

use super::{Document, read};
use crate::finding::{Finding, Place, Slug, Sources};

/// A sheet that has been read.
struct Sheet {
    sources: Sources,
    document: Document,
    findings: Vec<Finding>,
}

fn sheet(text: &str) -> Sheet {
    let mut sources = Sources::default();
    let file = sources.add("front.md", text.to_owned());
    let (document, findings) = read(file, text);
    Sheet {
        sources,
        document,
        findings,
    }
}

impl Sheet {
    fn at(&self, place: &Place) -> &str {
        self.sources.text_at(place)
    }

    /// Line and column of a place, both from one.
    fn line_column(&self, place: &Place) -> (usize, usize) {
        self.sources.file(place.file).line_column(place.start)
    }

    /// Each finding as slug, line, column and the text it points at.
    fn findings(&self) -> Vec<(Slug, usize, usize, &str)> {
        self.findings
            .iter()
            .map(|finding| {
                let place = finding.place().expect("every finding here has a place");
                let (line, column) = self.line_column(place);
                (finding.slug, line, column, self.at(place))
            })
            .collect()
    }
}
