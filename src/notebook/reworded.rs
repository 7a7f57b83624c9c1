//! Taking in other words of a sheet without proving everything again.
//!
//! Most saves of somebody who writes change words that nothing hangs on. Where a
//! sheet keeps its title, its headings and its links, and where nothing was or is
//! found on it, every value and every finding of the notebook stands as it did.

use std::fs;
use std::sync::Arc;

use camino::Utf8Path;

use super::{Notebook, Sheet};
use crate::finding::{FileId, Finding};
use crate::prose::{Document, Heading, LARGEST_BYTES, Link};
use crate::record::utf8;

impl Notebook {
    /// Reads a sheet once more and takes in its new text, where nothing but words
    /// that nothing hangs on are other than before; the position of the sheet.
    /// `None`, and nothing taken in, where the notebook must be read again.
    pub fn reword(&mut self, path: &Utf8Path) -> Option<usize> {
        let file = self.sources.by_path(path)?;
        let mut sheets = self.sheets.iter();
        let at = sheets.position(|sheet| sheet.document.file == file)?;
        let text = text(&self.root.join(path))?;
        if self.tells_of(file) {
            return None;
        }
        let (document, found) = crate::prose::read(file, &text);
        let sheet = &self.sheets[at];
        if !(found.is_empty() && bears_the_same(&sheet.document, &document)) {
            return None;
        }
        self.sheets[at] = Arc::new(Sheet {
            document,
            kind: sheet.kind.clone(),
            path: sheet.path.clone(),
            targets: sheet.targets.clone(),
            ..**sheet
        });
        self.sources.replace(file, text);
        // These have the sheet as it was.
        self.revised = super::revised::none_yet(&self.records);
        Some(at)
    }

    /// Whether any finding is about a place in a file or leads there.
    fn tells_of(&self, file: FileId) -> bool {
        let places = |finding: &Finding| {
            let mut labels = finding.labels.iter();
            labels.any(|label| label.place.file == file)
                || finding
                    .mend
                    .as_ref()
                    .is_some_and(|mend| mend.place.file == file)
        };
        self.all_told().any(places)
    }
}

/// The text of an ordinary file that is not too large; `None` for any other, of
/// which the reading of the whole notebook tells.
fn text(path: &Utf8Path) -> Option<String> {
    let data = fs::symlink_metadata(path).ok()?;
    if !data.is_file() || data.len() > LARGEST_BYTES as u64 {
        return None;
    }
    utf8(fs::read(path).ok()?).ok()
}

/// Whether two readings of a sheet differ in nothing that anything else hangs on:
/// they have the same title, headings and links, and no quantities beside.
fn bears_the_same(before: &Document, now: &Document) -> bool {
    let heading = |(before, now): (&Heading, &Heading)| {
        (before.level, &before.text, &before.id) == (now.level, &now.text, &now.id)
    };
    let link = |(before, now): (&Link, &Link)| {
        (&before.kind, &before.text, before.literal, before.image)
            == (&now.kind, &now.text, now.literal, now.image)
    };
    before.title == now.title
        && before.loose.is_empty()
        && now.loose.is_empty()
        && before.headings.len() == now.headings.len()
        && before.headings.iter().zip(&now.headings).all(heading)
        && before.links.len() == now.links.len()
        && before.links.iter().zip(&now.links).all(link)
}
