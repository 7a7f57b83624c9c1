//! The pages of the notebook: which there are, in which order, and where.

use std::collections::{BTreeMap, HashSet};

use camino::{Utf8Path, Utf8PathBuf};

use super::edition::Edition;
use crate::notebook::{Notebook, SheetKind};
use crate::record::Status;

/// What a page is of. Numbers are positions in the notebook's lists.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Page {
    /// The drawing list.
    Cover,
    /// A board's first sheet.
    Front(usize),
    /// Any further sheet that somebody wrote.
    Written(usize),
    /// A board's calculation sheet.
    Figures(usize),
    /// Workings and circuits of a board, and how its figures scatter.
    Workings(usize),
    /// A board's sheet of production tests.
    Fixture(usize),
    /// A board's pins.
    Pins(usize),
    /// What of a board was measured.
    Readings(usize),
    /// Where a board's documents are.
    Documents(usize),
    /// Which boards go together.
    Stacks,
    /// The list of a board's log entries.
    Log(usize),
    /// An earlier revision of a board: board and revision.
    Revision(usize, usize),
    /// The calculation sheet of an earlier revision.
    RevisionFigures(usize, usize),
    /// The workings of an earlier revision.
    RevisionWorkings(usize, usize),
    /// The pins of an earlier revision.
    RevisionPins(usize, usize),
    /// The index of parts.
    WhereUsed,
    /// What the line comes to.
    Totals,
    /// A part.
    Part(usize),
    /// A controller module.
    Module(usize),
    /// What differs from an earlier state.
    Since,
    /// What is left to look at.
    Findings,
}

/// A set of sheets that are numbered together.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Set {
    /// Sheets that serve the whole notebook.
    General,
    /// The sheets of one board.
    Board(usize),
    /// Parts and modules.
    Stock,
}

/// One page.
#[derive(Clone, Debug)]
pub(crate) struct Leaf {
    /// What it is of.
    pub page: Page,
    /// Set that it belongs to.
    pub set: Set,
    /// Number in its set, from one.
    pub number: usize,
    /// Path within the site.
    pub path: Utf8PathBuf,
    /// Its own title.
    pub title: String,
}

/// All pages, in the order in which they are turned.
#[derive(Clone, Debug)]
pub(crate) struct Leaves {
    leaves: Vec<Leaf>,
    by_page: BTreeMap<Page, usize>,
    sets: BTreeMap<Set, Vec<usize>>,
    taken: HashSet<String>,
}

impl Leaves {
    /// The pages of an edition of a notebook.
    pub fn of(notebook: &Notebook, edition: &Edition) -> Leaves {
        let mut leaves = Leaves {
            leaves: Vec::new(),
            by_page: BTreeMap::new(),
            sets: BTreeMap::new(),
            taken: HashSet::new(),
        };
        let records = &notebook.records;
        leaves.add(
            Page::Cover,
            Set::General,
            "index.html",
            "Drawing list".into(),
        );
        let order = board_order(notebook);
        let boards = order
            .into_iter()
            .filter(|&board| edition.shows_board(board));
        for board in boards.clone() {
            leaves.board(notebook, edition, board);
        }
        if boards
            .clone()
            .any(|board| super::pins::has_pins(records, board))
        {
            leaves.add(
                Page::Stacks,
                Set::General,
                "stacks.html",
                "What goes together".into(),
            );
        }
        leaves.add(
            Page::WhereUsed,
            Set::General,
            "parts/index.html",
            "Where used".into(),
        );
        // It counts what customers are not shown.
        if edition.is_whole() && !records.parts.is_empty() {
            leaves.add(
                Page::Totals,
                Set::General,
                "parts/line-totals.html",
                "Line totals".into(),
            );
        }
        for (at, part) in records.parts.iter().enumerate() {
            if !edition.shows_part(at) {
                continue;
            }
            let title = part.title.as_ref().map(|title| title.value.clone());
            leaves.add(
                Page::Part(at),
                Set::Stock,
                &format!("parts/{}.html", part.id.value),
                title.unwrap_or_else(|| part.id.value.clone()),
            );
        }
        for (at, module) in records.modules.iter().enumerate() {
            if !edition.shows_module(at) {
                continue;
            }
            leaves.add(
                Page::Module(at),
                Set::Stock,
                &format!("modules/{}.html", module.id.value),
                module.title.value.clone(),
            );
        }
        if let Some(since) = notebook.since.as_ref().filter(|_| edition.is_whole()) {
            let title = format!("Since {}", since.of);
            leaves.add(Page::Since, Set::General, "since.html", title);
        }
        if edition.is_whole() {
            leaves.add(
                Page::Findings,
                Set::General,
                "findings.html",
                "Findings".into(),
            );
        }
        leaves
    }

    /// The same pages, where the calculation sheet, the workings and the pins of a
    /// board are those of an earlier revision.
    pub fn as_of(&self, board: usize, revision: usize) -> Leaves {
        let mut leaves = self.clone();
        for (now, then) in [
            (Page::Figures(board), Page::RevisionFigures(board, revision)),
            (
                Page::Workings(board),
                Page::RevisionWorkings(board, revision),
            ),
            (Page::Pins(board), Page::RevisionPins(board, revision)),
        ] {
            // What that revision has no sheet of does not lead to that of today.
            match leaves.by_page.get(&then) {
                Some(&at) => leaves.by_page.insert(now, at),
                None => leaves.by_page.remove(&now),
            };
        }
        leaves
    }

    fn board(&mut self, notebook: &Notebook, edition: &Edition, board: usize) {
        let record = &notebook.records.boards[board];
        let folder = format!("boards/{}", record.id.value);
        let set = Set::Board(board);
        let sheets = || {
            let sheets = notebook.sheets_of(board);
            sheets.filter(|(at, _)| edition.shows_sheet(notebook, *at))
        };
        self.add(
            Page::Front(board),
            set,
            &format!("{folder}/index.html"),
            record.title.value.clone(),
        );
        // Before the sheets with free names, so that it keeps its own.
        let figures = self.path(&format!("{folder}/figures.html"));
        let has_workings = super::workings::has_workings(notebook, edition, board);
        let workings = has_workings.then(|| self.path(&format!("{folder}/workings.html")));
        let fixture = self.path(&format!("{folder}/fixture.html"));
        let pins = self.path(&format!("{folder}/pins.html"));
        // Readings are the team's.
        let has_readings = edition.is_whole() && super::readings::has_readings(notebook, board);
        let readings = has_readings.then(|| self.path(&format!("{folder}/readings.html")));
        let has_documents = notebook.documents_of(board).is_some();
        let documents = has_documents.then(|| self.path(&format!("{folder}/documents.html")));
        for (at, sheet) in sheets() {
            if let SheetKind::Further(name) = &sheet.kind {
                let path = format!("{folder}/{name}.html");
                self.add(Page::Written(at), set, &path, sheet.title());
            }
        }
        let title = "Calculation sheet".to_owned();
        self.push(Page::Figures(board), set, figures, title);
        if let Some(path) = workings {
            self.push(Page::Workings(board), set, path, "Workings".to_owned());
        }
        if super::pins::has_pins(&notebook.records, board) {
            self.push(Page::Pins(board), set, pins, "Pins".to_owned());
        }
        let mut fixtures = 0..record.fixtures.len();
        if fixtures.any(|at| edition.shows_fixture(notebook, board, at)) {
            let title = "Fixture sheet".to_owned();
            self.push(Page::Fixture(board), set, fixture, title);
        }
        if let Some(path) = readings {
            self.push(Page::Readings(board), set, path, "Measured".to_owned());
        }
        if let Some(path) = documents {
            self.push(Page::Documents(board), set, path, "Documents".to_owned());
        }
        let mut entries: Vec<_> = sheets()
            .filter(|(_, sheet)| matches!(sheet.kind, SheetKind::Log { .. }))
            .collect();
        if !entries.is_empty() {
            let path = format!("{folder}/log/index.html");
            self.add(Page::Log(board), set, &path, "Design log".into());
        }
        entries.sort_by(|(_, a), (_, b)| a.kind.cmp(&b.kind));
        for (at, sheet) in entries {
            if let SheetKind::Log { name, .. } = &sheet.kind {
                let path = format!("{folder}/log/{name}.html");
                self.add(Page::Written(at), set, &path, sheet.title());
            }
        }
        for (at, revision) in record.revisions.iter().enumerate() {
            let mark = &revision.id.value;
            // Its tables and plots lie in there, too.
            let folder = self.path(&format!("{folder}/revision-{mark}"));
            let title = format!("Revision {mark}");
            self.add(
                Page::Revision(board, at),
                set,
                &format!("{folder}/index.html"),
                title,
            );
            let title = format!("Calculation sheet, revision {mark}");
            let path = format!("{folder}/figures.html");
            self.add(Page::RevisionFigures(board, at), set, &path, title);
            if has_workings_then(notebook, edition, board, at) {
                let title = format!("Workings, revision {mark}");
                let path = format!("{folder}/workings.html");
                self.add(Page::RevisionWorkings(board, at), set, &path, title);
            }
            if super::pins::has_pins(&notebook.records, board) {
                let title = format!("Pins, revision {mark}");
                let path = format!("{folder}/pins.html");
                self.add(Page::RevisionPins(board, at), set, &path, title);
            }
        }
    }

    fn add(&mut self, page: Page, set: Set, path: &str, title: String) {
        let path = self.path(path);
        self.push(page, set, path, title);
    }

    fn push(&mut self, page: Page, set: Set, path: Utf8PathBuf, title: String) {
        let in_set = self.sets.entry(set).or_default();
        in_set.push(self.leaves.len());
        let number = in_set.len();
        self.by_page.insert(page, self.leaves.len());
        self.leaves.push(Leaf {
            page,
            set,
            number,
            path,
            title,
        });
    }

    /// A path that no other page or folder of pages has, on a disk that does not
    /// tell capitals from small letters either.
    fn path(&mut self, wanted: &str) -> Utf8PathBuf {
        let (stem, end) = match wanted.strip_suffix(".html") {
            Some(stem) => (stem, ".html"),
            None => (wanted, ""),
        };
        let mut path = wanted.to_owned();
        let mut stem = stem.to_owned();
        while !self.taken.insert(path.to_lowercase()) {
            stem.push_str("-sheet");
            path = format!("{stem}{end}");
        }
        path.into()
    }

    /// All pages in order.
    pub fn iter(&self) -> impl Iterator<Item = &Leaf> {
        self.leaves.iter()
    }

    /// The leaf of a page. Every page that a notebook's records and sheets
    /// call for has one; the cover stands in for any other.
    pub fn leaf(&self, page: Page) -> &Leaf {
        let at = self.by_page.get(&page).copied().unwrap_or(0);
        &self.leaves[at]
    }

    /// Whether there is such a page.
    pub fn has(&self, page: Page) -> bool {
        self.by_page.contains_key(&page)
    }

    /// The pages of a set, in order.
    pub fn set(&self, set: Set) -> impl Iterator<Item = &Leaf> {
        let in_set = self.sets.get(&set).map_or(&[][..], Vec::as_slice);
        in_set.iter().map(|&at| &self.leaves[at])
    }

    /// The pages before and after one.
    pub fn around(&self, page: Page) -> (Option<&Leaf>, Option<&Leaf>) {
        let at = self.by_page.get(&page).copied().unwrap_or(0);
        let before = at.checked_sub(1).and_then(|at| self.leaves.get(at));
        (before, self.leaves.get(at + 1))
    }
}

/// Whether a board had anything for a sheet of workings in an earlier revision:
/// with other parts, another figure may be at risk.
fn has_workings_then(
    notebook: &Notebook,
    edition: &Edition,
    board: usize,
    revision: usize,
) -> bool {
    let Some(then) = notebook.revision(board, revision) else {
        return false;
    };
    let edition = Edition::of(&then.notebook, edition.audience);
    super::workings::has_workings(&then.notebook, &edition, board)
}

/// Boards in the order of the drawing list: what is sold comes first.
pub(crate) fn board_order(notebook: &Notebook) -> Vec<usize> {
    let boards = &notebook.records.boards;
    let rank = |status: Status| match status {
        Status::Production => 0,
        Status::Prototype => 1,
        Status::Concept => 2,
        Status::Withdrawn => 3,
    };
    let mut order: Vec<usize> = (0..boards.len()).collect();
    order.sort_by_key(|&at| rank(boards[at].status));
    order
}

/// The address of a file of the site as a page links to it.
pub(crate) fn href(from: &Utf8Path, to: &Utf8Path) -> String {
    let mut folder = from.components();
    folder.next_back();
    let mut steps = to.components();
    let last = steps.next_back();
    let (mut up, mut down) = (folder.clone(), steps.clone());
    while let (Some(a), Some(b)) = (folder.next(), steps.next())
        && a == b
    {
        (up, down) = (folder.clone(), steps.clone());
    }
    let mut out = "../".repeat(up.count());
    for (at, step) in down.chain(last).enumerate() {
        // A step that holds a colon would read as a scheme (RFC 3986, 4.2).
        if at == 0 && out.is_empty() && step.as_str().contains(':') {
            out.push_str("./");
        }
        if at > 0 {
            out.push('/');
        }
        push_encoded(&mut out, step.as_str());
    }
    out
}

/// Writes a step of a path with what may not stand in an address percent-encoded
/// (RFC 3986, 3.3).
fn push_encoded(out: &mut String, step: &str) {
    for byte in step.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~!$()*+,;=:@".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_relative_and_encoded() {
        let href = |from: &str, to: &str| href(from.into(), to.into());
        assert_eq!(
            href("index.html", "boards/a/index.html"),
            "boards/a/index.html"
        );
        assert_eq!(
            href("boards/a/index.html", "index.html"),
            "../../index.html"
        );
        assert_eq!(href("boards/a/x.html", "boards/a/y z.html"), "y%20z.html");
        assert_eq!(
            href("boards/a/log/x.html", "boards/b/y.html"),
            "../../b/y.html"
        );
        assert_eq!(href("boards/a/x.html", "boards/a/x.html"), "x.html");
        assert_eq!(href("x.html", "a:b.html"), "./a:b.html");
        assert_eq!(href("x.html", "a%b.html"), "a%25b.html");
    }
}
