//! What a board's documents must hold so that somebody who has never met the
//! team can make, test, repair and dispose of it (after DIN SPEC 3105-1, of
//! which only draft extracts were at hand).

use std::collections::BTreeSet;

use camino::{Utf8Component, Utf8Path, Utf8PathBuf};

use super::files::Files;
use super::sheet::{Sheet, SheetKind};
use super::{Notebook, manifest};
use crate::finding::{Finding, Slug};
use crate::record::{Board, Document, Kept, Records, Status};

/// One thing that the documents must hold.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct DocumentLine {
    /// What it is.
    pub title: &'static str,
    /// Where it is, or why it is not.
    pub state: DocumentState,
    /// What would say it in the records.
    key: String,
}

/// Where something is, or why it is not.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum DocumentState {
    /// In the record itself, in these words.
    Said(String),
    /// On a written sheet, by its position.
    Sheet(usize),
    /// In a file, by its path in the notebook.
    File(Utf8PathBuf),
    /// The fixture of a board, by the board's position.
    Fixture(usize),
    /// The parts that are fitted, so many.
    Fitted(usize),
    /// Not there, for this reason.
    Not(String),
    /// Not there, and nobody says why.
    Lacking,
}

/// Whether a board's documents are asked after: the notebook is published in the
/// open and the board is in use, or its record has begun the list.
pub(super) fn is_described(records: &Records, board: &Board) -> bool {
    let in_use = matches!(board.status, Status::Prototype | Status::Production);
    records.notebook.source.is_some() && in_use || board.complete.place.is_some()
}

/// What the lines are drawn from.
struct Looking<'a> {
    records: &'a Records,
    sheets: Vec<(usize, &'a SheetKind, &'a Utf8Path)>,
    others: &'a BTreeSet<Utf8PathBuf>,
}

impl<'a> Looking<'a> {
    fn new(
        records: &'a Records,
        sheets: impl Iterator<Item = &'a Sheet>,
        others: &'a BTreeSet<Utf8PathBuf>,
    ) -> Looking<'a> {
        let sheets = sheets.map(|sheet| (sheet.board, &sheet.kind, sheet.path.as_path()));
        Looking {
            records,
            sheets: sheets.collect(),
            others,
        }
    }

    fn lines(&self, board: usize) -> Vec<DocumentLine> {
        let record = &self.records.boards[board];
        let notebook = &self.records.notebook;
        let said = |title, text: Option<&str>, key: &str| DocumentLine {
            title,
            state: match text.filter(|text| !text.is_empty()) {
                Some(text) => DocumentState::Said(text.to_owned()),
                None => DocumentState::Lacking,
            },
            key: key.to_owned(),
        };
        fn text(text: Option<&crate::finding::Located<String>>) -> Option<&str> {
            text.map(|text| text.value.as_str())
        }
        let own =
            |own: &'a Option<_>, common: &'a Option<_>| text(own.as_ref().or(common.as_ref()));
        let mut lines = vec![
            said(
                "Function",
                text(record.function.as_ref()),
                "`function` of `[board]`",
            ),
            said(
                "Version of the hardware",
                Some(&record.revision.value),
                "`revision` of `[board]`",
            ),
            said(
                "Issue of the documents",
                text(record.issue.as_ref()),
                "`issue` of `[board]`",
            ),
            said(
                "Licence of the hardware",
                own(&record.licence, &notebook.licence),
                "`licence` of `[board]`",
            ),
            said(
                "Licence of the documents",
                own(&record.document_licence, &notebook.licence),
                "`licence` of `[notebook]`",
            ),
            said(
                "Licence of the software",
                own(&record.software_licence, &notebook.software_licence),
                "`software_licence` of `[notebook]`",
            ),
            said(
                "Source, to be edited",
                text(notebook.source.as_ref()),
                "`source` of `[notebook]`",
            ),
        ];
        // A notebook that writes nothing for firmware has no software.
        let software = &mut lines[5];
        if software.state == DocumentState::Lacking && notebook.emits.is_empty() {
            software.state = DocumentState::Not("no software comes with the board".to_owned());
        }
        lines.push(DocumentLine {
            title: "How to use it",
            state: self.front(board),
            key: "`front.md`".to_owned(),
        });
        lines.extend(Document::ALL.map(|document| DocumentLine {
            title: document.title(),
            state: self.document(board, document),
            key: format!("`{}` under `[complete]`", document.key()),
        }));
        lines
    }

    fn front(&self, board: usize) -> DocumentState {
        let mut sheets = self.sheets.iter().enumerate();
        let front = sheets.find(|(_, sheet)| sheet.0 == board && *sheet.1 == SheetKind::Front);
        front.map_or(DocumentState::Lacking, |(at, _)| DocumentState::Sheet(at))
    }

    fn document(&self, board: usize, document: Document) -> DocumentState {
        let record = &self.records.boards[board];
        match record.complete.of(document) {
            Some(Kept::File(file)) => return self.file(board, &file.value),
            Some(Kept::Not(reason)) => return DocumentState::Not(reason.value.clone()),
            None => {}
        }
        let id = &record.id.value;
        match document {
            Document::PartsList if !record.fitted.is_empty() => {
                DocumentState::Fitted(record.fitted.len())
            }
            Document::Test => {
                let mut boards = self.records.boards.iter();
                let tested = boards.position(|board| {
                    let mut fixtures = board.fixtures.iter();
                    fixtures.any(|fixture| fixture.tests.value == *id)
                });
                tested.map_or(DocumentState::Lacking, DocumentState::Fixture)
            }
            _ => DocumentState::Lacking,
        }
    }

    /// A file of a board's folder; `Lacking` where there is none.
    fn file(&self, board: usize, file: &str) -> DocumentState {
        let folder = Utf8Path::new("boards").join(&self.records.boards[board].id.value);
        let path = folder.join(file);
        let mut sheets = self.sheets.iter();
        match sheets.position(|(_, _, sheet)| *sheet == path) {
            Some(sheet) => DocumentState::Sheet(sheet),
            None if self.others.contains(&path) => DocumentState::File(path),
            None => DocumentState::Lacking,
        }
    }
}

/// Whether a path names something inside the folder that it is counted from.
fn is_inside(path: &str) -> bool {
    let mut steps = Utf8Path::new(path).components();
    !path.contains('\\') && steps.all(|step| matches!(step, Utf8Component::Normal(_)))
}

/// Tells of documents that are not there.
pub(super) fn check(
    records: &Records,
    sheets: &[Sheet],
    files: &Files,
    findings: &mut Vec<Finding>,
) {
    manifest::check(records, findings);
    let looking = Looking::new(records, sheets.iter(), &files.others);
    for (at, board) in records.boards.iter().enumerate() {
        let mut dead = Vec::new();
        for (document, kept) in &board.complete.documents {
            let Kept::File(file) = kept else { continue };
            let place = file.place.clone();
            if !is_inside(&file.value) {
                let message = format!("`{}` leads out of the board's folder", file.value);
                findings.push(
                    Finding::new(Slug::OutsideNotebook, message)
                        .at(place, "this path")
                        .help("write a path from the board's folder, with `/` between its steps"),
                );
            } else if looking.file(at, &file.value) == DocumentState::Lacking {
                let folder = format!("boards/{}", board.id.value);
                let message = format!("there is no `{folder}/{}`", file.value);
                findings.push(
                    Finding::new(Slug::DeadLink, message)
                        .at(place, "no such file")
                        .help("put the file there, or say under `not` why there is none"),
                );
            } else {
                continue;
            }
            dead.push(document.title());
        }
        if !is_described(records, board) {
            continue;
        }
        let lines = looking.lines(at);
        let lacking: Vec<&DocumentLine> = lines
            .iter()
            .filter(|line| line.state == DocumentState::Lacking && !dead.contains(&line.title))
            .collect();
        if lacking.is_empty() {
            continue;
        }
        let titles: Vec<String> = lacking
            .iter()
            .map(|line| line.title.to_lowercase())
            .collect();
        let keys: Vec<&str> = lacking.iter().map(|line| line.key.as_str()).collect();
        let place = board.complete.place.as_ref().unwrap_or(&board.id.place);
        findings.push(
            Finding::new(
                Slug::DocumentMissing,
                format!("`{}` lacks: {}", board.id.value, titles.join(", ")),
            )
            .at(place.clone(), "nothing says where it is, or why not")
            .help(format!(
                "state {}; a document that there is none of is `{{ not = \"the reason\" }}`",
                keys.join(", ")
            )),
        );
    }
}

impl Notebook {
    /// What a board's documents must hold, and where it is; `None` where nobody
    /// asks after them.
    pub fn documents_of(&self, board: usize) -> Option<Vec<DocumentLine>> {
        let record = self.records.boards.get(board)?;
        if !is_described(&self.records, record) {
            return None;
        }
        let sheets = self.sheets.iter().map(AsRef::as_ref);
        Some(Looking::new(&self.records, sheets, &self.others).lines(board))
    }
}
