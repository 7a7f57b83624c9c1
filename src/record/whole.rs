//! Reads all records of a notebook, file by file, and sees that no id is there
//! twice.

use std::collections::BTreeMap;
use std::sync::Arc;

use rayon::prelude::*;

use super::board::board;
use super::document::Document;
use super::fields::Fields;
use super::layout::{Layout, Role};
use super::model::{Board, LeftOut, NotebookRecord, Records};
use super::pins::{connector, stacks};
use super::read::Reader;
use super::shape::{Names, Shape};
use super::shapes::{BOARD_FILE, MODULES_FILE, NOTEBOOK_FILE, PARTS_FILE, STACKS_FILE};
use super::stock::{module, notebook, part, records};
use crate::finding::{FileId, Finding, Level, Located, Slug, Sources, quoted};

/// Reads the records of a notebook from the files that were loaded.
///
/// What cannot be read is left out of the records and stands in the findings,
/// so the records are always there, with what could be read. Findings come in
/// the order of the files, and in each file in the order of the text; then
/// those that lie between two files.
pub fn read_records(sources: &Sources, layout: &Layout) -> (Records, Vec<Finding>) {
    let mut family = Family {
        records: Records {
            notebook: NotebookRecord::default(),
            parts: Vec::new(),
            modules: Vec::new(),
            connectors: Vec::new(),
            boards: Vec::new(),
            stacks: Vec::new(),
            left_out: Vec::new(),
            damaged: Vec::new(),
        },
        stated: Vec::new(),
        findings: Vec::new(),
    };
    let mut has_notebook = layout.unreadable.contains(&Role::Notebook);
    // Files hang on each other only once each is read.
    let files = layout.files.par_iter();
    let read: Vec<Option<FileRead>> = files
        .map(|(file, role)| FileRead::of(sources, *file, role))
        .collect();
    for ((file, role), read) in layout.files.iter().zip(read) {
        has_notebook |= *role == Role::Notebook;
        if let Some(read) = read {
            family.file(*file, role, read);
        }
    }
    for role in &layout.unreadable {
        if let Role::Board(id) = role {
            family.left_out("board", id);
        }
    }
    if !has_notebook {
        let finding = Finding::new(Slug::MissingRecord, "the notebook has no `notebook.toml`")
            .help("write one with a `[notebook]` table that has a `title` and an `owner`");
        family.findings.insert(0, finding);
    }
    family.order();
    family.stated_ids();
    family.shared_ids();
    (family.records, family.findings)
}

/// A file of records, held against its shape.
struct FileRead {
    held: Held,
    is_whole: bool,
    findings: Vec<Finding>,
}

/// What a file holds.
enum Held {
    /// What is yet to be taken in.
    Fields(Fields),
    /// A board, with the id that it states. There may be thousands, and none hangs
    /// on another, so they are made where their files are read.
    Board(Arc<Board>, Option<Located<String>>),
}

impl FileRead {
    /// `None` for a file that holds no records: figures that are measured read
    /// the ones, and the others are held against boards.
    fn of(sources: &Sources, file: FileId, role: &Role) -> Option<FileRead> {
        let shape: &'static Shape = match role {
            Role::Notebook => &NOTEBOOK_FILE,
            Role::Parts => &PARTS_FILE,
            Role::Modules => &MODULES_FILE,
            Role::Board(_) => &BOARD_FILE,
            Role::Stacks => &STACKS_FILE,
            Role::Readings | Role::Bom => return None,
        };
        let mut findings = Vec::new();
        let document = Document::read(file, sources, &mut findings);
        let mut reader = Reader {
            sources,
            document: &document,
            findings: &mut findings,
        };
        let fields = reader.file(shape);
        let held = match role {
            Role::Board(id) => {
                let (board, stated) = board(id, file, fields);
                one_name_each(&board, &mut findings);
                Held::Board(Arc::new(board), stated)
            }
            _ => Held::Fields(fields),
        };
        Some(FileRead {
            held,
            is_whole: document.is_whole(),
            findings,
        })
    }
}

struct Family {
    records: Records,
    /// Boards by their folder, with the id that they state.
    stated: Vec<(String, Located<String>)>,
    findings: Vec<Finding>,
}

impl Family {
    fn left_out(&mut self, kind: &'static str, name: &str) {
        self.records.left_out.push(LeftOut {
            kind,
            name: name.to_owned(),
        });
    }

    fn file(&mut self, file: FileId, role: &Role, read: FileRead) {
        let FileRead {
            held,
            is_whole,
            mut findings,
        } = read;
        if !is_whole {
            self.records.damaged.push(file);
        }
        match held {
            Held::Board(board, stated) => self.board(board, stated, &mut findings),
            Held::Fields(fields) => self.fields(role, fields, &mut findings),
        }
        findings.sort_by_key(|finding| finding.place().map(|place| place.start));
        self.findings.extend(findings);
    }

    fn fields(&mut self, role: &Role, fields: Fields, findings: &mut Vec<Finding>) {
        match role {
            Role::Notebook => self.records.notebook = notebook(fields),
            Role::Parts => self.parts(fields, findings),
            Role::Modules => self.modules(fields, findings),
            Role::Stacks => {
                self.not_empty(&fields, "stack", findings);
                self.records.stacks = stacks(fields, &mut self.records.left_out);
            }
            Role::Board(_) | Role::Readings | Role::Bom => {}
        }
    }

    fn parts(&mut self, mut fields: Fields, findings: &mut Vec<Finding>) {
        self.not_empty(&fields, "part", findings);
        let named = fields.named("part");
        for (id, fields) in records("part", named, &mut self.records.left_out) {
            self.records.parts.push(part(id, fields, findings));
        }
        fields.finish();
    }

    fn modules(&mut self, mut fields: Fields, findings: &mut Vec<Finding>) {
        if !fields.has("connector") {
            self.not_empty(&fields, "module", findings);
        }
        let named = fields.named("connector");
        for (id, fields) in records("connector", named, &mut self.records.left_out) {
            let name = id.value.clone();
            match connector(id, fields) {
                Some(connector) => self.records.connectors.push(connector),
                None => self.left_out("connector", &name),
            }
        }
        let named = fields.named("module");
        for (id, fields) in records("module", named, &mut self.records.left_out) {
            self.records.modules.push(module(id, fields, findings));
        }
        fields.finish();
    }

    fn not_empty(&self, fields: &Fields, key: &str, findings: &mut Vec<Finding>) {
        if fields.has(key) || !findings.is_empty() {
            return;
        }
        let message = format!("the file holds no `[{key}.<id>]`");
        let mut finding = Finding::new(Slug::MissingKey, message)
            .at(fields.place.clone(), "nothing is read from this file")
            .help("write a record into it, or take it away");
        // Nothing that is stated hangs on it.
        finding.level = Level::Caution;
        findings.push(finding);
    }

    fn board(
        &mut self,
        board: Arc<Board>,
        stated: Option<Located<String>>,
        findings: &mut Vec<Finding>,
    ) {
        // A board's id is the name of its folder.
        let id = &board.id.value;
        self.stated
            .extend(stated.map(|stated| (id.clone(), stated)));
        if let Err(fault) = Names::Id.check(id) {
            let message = format!("the folder's name `{}` is no id for a board", quoted(id));
            findings.push(
                Finding::new(Slug::BadId, message)
                    .at(board.id.place.clone(), "the board of this folder")
                    .help(Names::Id.rule()),
            );
            if !fault.is_usable() {
                self.left_out("board", id);
                return;
            }
        }
        self.records.boards.push(board);
    }

    /// Orders records by id; of two with one id the first is kept.
    fn order(&mut self) {
        let findings = &mut self.findings;
        let records = &mut self.records;
        ordered(&mut records.parts, "parts", |part| &part.id, findings);
        ordered(
            &mut records.modules,
            "modules",
            |module| &module.id,
            findings,
        );
        ordered(
            &mut records.connectors,
            "connectors",
            |connector| &connector.id,
            findings,
        );
        ordered(&mut records.boards, "boards", |board| &board.id, findings);
    }

    /// A board may state its id, and then it states its folder's name.
    fn stated_ids(&mut self) {
        for (folder, stated) in &self.stated {
            if stated.value == *folder {
                continue;
            }
            let finding = match self.records.board(&stated.value) {
                Some(other) => twice("two boards", stated, &other.id),
                None => {
                    let message = format!(
                        "the board in the folder `{}` states the id `{}`",
                        quoted(folder),
                        quoted(&stated.value)
                    );
                    Finding::new(Slug::BadValue, message)
                        .at(stated.place.clone(), "not the folder's name")
                        .help("the id of a board is the name of its folder: rename one of them")
                }
            };
            self.findings
                .push(finding.mend(stated.place.clone(), folder.clone()));
        }
    }

    /// `id.name` in a formula has to lead to one thing only.
    fn shared_ids(&mut self) {
        let records = &self.records;
        for module in &records.modules {
            if let Some(board) = records.board(&module.id.value) {
                self.findings
                    .push(twice("a board and a module", &board.id, &module.id));
            }
        }
        for working in records.boards.iter().flat_map(|board| &board.workings) {
            let id = &working.id;
            if let Some(board) = records.board(&id.value) {
                self.findings
                    .push(twice("a working and a board", id, &board.id));
            }
            if let Some(module) = records.module(&id.value) {
                self.findings
                    .push(twice("a working and a module", id, &module.id));
            }
        }
    }
}

/// Figures and workings of a board share their names: formulas call both by
/// their id alone.
fn one_name_each(board: &Board, findings: &mut Vec<Finding>) {
    let figures: BTreeMap<&str, &Located<String>> = board
        .figures
        .iter()
        .map(|figure| (figure.id.value.as_str(), &figure.id))
        .collect();
    for working in &board.workings {
        if let Some(figure) = figures.get(working.id.value.as_str()) {
            findings.push(twice("a working and a figure", &working.id, figure));
        }
    }
}

fn ordered<T>(
    records: &mut Vec<T>,
    what: &str,
    id: fn(&T) -> &Located<String>,
    findings: &mut Vec<Finding>,
) {
    // A stable order: of records with one id the first one read comes first.
    records.sort_by(|a, b| id(a).value.cmp(&id(b).value));
    for same in records.chunk_by(|a, b| id(a).value == id(b).value) {
        for later in &same[1..] {
            findings.push(twice(&format!("two {what}"), id(later), id(&same[0])));
        }
    }
    records.dedup_by(|later, kept| id(later).value == id(kept).value);
}

fn twice(who: &str, later: &Located<String>, first: &Located<String>) -> Finding {
    let message = format!("{who} have the id `{}`", quoted(&later.value));
    Finding::new(Slug::DuplicateId, message)
        .at(later.place.clone(), "again here")
        .at(first.place.clone(), "first here")
        .help("give one of them another id")
}
