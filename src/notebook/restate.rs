//! The texts that no longer hold, and the files with those that would.
//!
//! Only what a finding says is stated wrongly is changed: what is required and
//! what is given stands. Everything else in a file stays as it is, to the byte.

use std::collections::BTreeMap;
use std::ops::Range;

use camino::Utf8PathBuf;

use super::Notebook;
use crate::finding::{FileId, Finding, Slug, Sources, edited};
use crate::prose;
use crate::quantity::Statement;

/// What would be written.
#[derive(Debug)]
pub struct Restated {
    /// Files that would change, in the order of their paths.
    pub files: Vec<RestatedFile>,
    /// Findings whose text cannot be put right by itself, with the reason.
    pub left: Vec<(Finding, String)>,
}

/// A file with the texts that would hold.
#[derive(Debug)]
pub struct RestatedFile {
    /// Its path in the notebook.
    pub path: Utf8PathBuf,
    /// Its text as it was read.
    pub before: String,
    /// Its text as it would be.
    pub after: String,
    /// How many texts change.
    pub texts: usize,
}

/// Bytes of a file, and what is put there.
type Swap = (Range<usize>, String);

impl Notebook {
    /// The files with every text that disagrees in the form that would hold.
    pub fn restated(&self) -> Restated {
        let mut swaps: BTreeMap<FileId, Vec<Swap>> = BTreeMap::new();
        let mut left = Vec::new();
        let mut texts: BTreeMap<FileId, usize> = BTreeMap::new();
        let findings = self.findings.iter();
        for finding in findings.filter(|finding| finding.slug == Slug::FigureDisagrees) {
            let Some(mend) = &finding.mend else {
                left.push((
                    finding.clone(),
                    "no text is known that would hold".to_owned(),
                ));
                continue;
            };
            let known = swaps.entry(mend.place.file).or_default();
            match self.swaps(mend.place.file, mend.place.span(), &mend.text) {
                // One place may be stated for one figure only; what is there twice
                // is one text.
                Some(found) if found.iter().any(|swap| overlaps(known, swap)) => {
                    let is_same = found.iter().all(|swap| known.contains(swap));
                    if !is_same {
                        let why = "another text at the same place changes too";
                        left.push((finding.clone(), why.to_owned()));
                    }
                }
                Some(found) => {
                    known.extend(found);
                    *texts.entry(mend.place.file).or_default() += 1;
                }
                None => {
                    let why = "its numbers stand amid marks or escapes: change them by hand";
                    left.push((finding.clone(), why.to_owned()));
                }
            }
        }
        let mut files: Vec<RestatedFile> = swaps
            .into_iter()
            .filter(|(_, swaps)| !swaps.is_empty())
            .map(|(id, swaps)| {
                let file = self.sources.file(id);
                RestatedFile {
                    path: file.path.clone(),
                    before: file.text.clone(),
                    after: edited(&file.text, swaps),
                    texts: texts.get(&id).copied().unwrap_or(0),
                }
            })
            .collect();
        files.sort_by(|a, b| a.path.cmp(&b.path));
        Restated { files, left }
    }

    /// The bytes to change so that a statement reads otherwise; `None` where it is
    /// written with escapes or marks that hide which bytes these are.
    fn swaps(&self, file: FileId, span: Range<usize>, text: &str) -> Option<Vec<Swap>> {
        let source = &self.sources.file(file).text;
        let written = source.get(span.clone())?;
        // A `<` that was there as it is may stay as it is.
        let marks = |text: &str| -> String {
            let marks = ['"', '\'', '\\', '\n', '[', ']', '*', '_', '`', '<', '&'];
            text.chars().filter(|c| marks.contains(c)).collect()
        };
        if Statement::parse(written, None).is_ok() && marks(text) == marks(written) {
            return Some(vec![(span, text.to_owned())]);
        }
        // Escapes of TOML, or marks of Markdown: each numeral that changes has to
        // stand there exactly once, as it is.
        let stated = self.statement_at(file, &span)?;
        let new = Statement::parse(text, None).ok()?;
        let (olds, news) = (stated.numerals(), new.numerals());
        if olds.len() != news.len() {
            return None;
        }
        let mut swaps = Vec::new();
        for (old, other) in olds.iter().zip(&news) {
            let was = stated.text().get(old.digits.clone())?;
            let now = text.get(other.digits.clone())?;
            if old.unit != other.unit || old.code {
                return None;
            }
            if was == now {
                continue;
            }
            let mut found = written.match_indices(was);
            let (at, _) = found.next()?;
            if found.next().is_some() {
                return None;
            }
            let start = span.start + at;
            swaps.push((start..start + was.len(), now.to_owned()));
        }
        let after = edited(source, swaps.clone());
        self.reads(file, &after, text).then_some(swaps)
    }

    /// The statement that was read from these bytes.
    fn statement_at(&self, file: FileId, span: &Range<usize>) -> Option<Statement> {
        let links = self.sheets.iter().flat_map(|sheet| &sheet.document.links);
        let mut links = links.filter(|link| link.text_place.file == file);
        if let Some(link) = links.find(|link| link.text_place.span() == *span) {
            return Statement::parse(&link.text, None).ok();
        }
        let boards = self.records.boards.iter();
        let figures = boards.clone().flat_map(|board| &board.figures);
        let says = figures.filter_map(|figure| figure.says.as_ref());
        let workings = boards.clone().flat_map(|board| &board.workings);
        let results = workings.flat_map(|working| working.says.iter().map(|(_, says)| says));
        let fixtures = boards.flat_map(|board| &board.fixtures);
        let steps = fixtures.flat_map(|fixture| &fixture.steps);
        let limits = steps.flat_map(|step| step.says.iter().map(|(_, says)| says));
        let mut all = says.chain(results).chain(limits);
        let found = all.find(|says| says.place.file == file && says.place.span() == *span)?;
        Some(found.value.clone())
    }

    /// Whether a changed file still reads, with the statement in it.
    fn reads(&self, file: FileId, after: &str, text: &str) -> bool {
        let mut sources = Sources::default();
        let id = sources.add("changed", after.to_owned());
        match self.sources.file(file).path.extension() {
            Some("md") => {
                let (document, _) = prose::read(id, after);
                document.links.iter().any(|link| link.text == text)
            }
            _ => {
                let table: Result<toml::Table, _> = after.parse();
                table.is_ok()
            }
        }
    }
}

fn overlaps(known: &[Swap], swap: &Swap) -> bool {
    let (span, _) = swap;
    let mut known = known.iter();
    known.any(|(other, _)| other.start < span.end && span.start < other.end)
}
