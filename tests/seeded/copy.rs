//! A copy of the demo notebook that a test may spoil.

use std::fs;

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::{Date, date};
use ohmbook::finding::{Finding, Level};
use ohmbook::notebook::Notebook;
use tempfile::TempDir;
use walkdir::WalkDir;

/// The demo notebook.
const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");

/// The day on which every run is judged, so that a waiver's date cannot turn a
/// test red one morning.
const TODAY: Date = date(2026, 4, 1);

/// The demo in a temporary folder.
pub struct Copy {
    folder: TempDir,
}

impl Copy {
    /// Copies the demo.
    pub fn of_the_demo() -> Copy {
        let folder = tempfile::tempdir().expect("a temporary folder can be made");
        for entry in WalkDir::new(DEMO) {
            let entry = entry.expect("the demo can be walked");
            let inside = entry.path().strip_prefix(DEMO).expect("it lies in there");
            let to = folder.path().join(inside);
            if entry.file_type().is_dir() {
                fs::create_dir_all(to).expect("a folder can be made");
            } else {
                fs::copy(entry.path(), to).expect("a file can be copied");
            }
        }
        Copy { folder }
    }

    /// Its folder.
    pub fn root(&self) -> &Utf8Path {
        Utf8Path::from_path(self.folder.path()).expect("temporary folders have plain names")
    }

    /// Reads and proves it as it stands now.
    pub fn prove(&self) -> Notebook {
        Notebook::load(self.root(), TODAY)
    }

    /// The text of one of its files.
    pub fn read(&self, path: &Utf8Path) -> String {
        fs::read_to_string(self.root().join(path)).expect("the file was read before")
    }

    /// Proves it with another text in one file, and puts the text back.
    pub fn prove_with(&self, path: &Utf8Path, text: &str) -> Notebook {
        let whole = self.root().join(path);
        let before = fs::read(&whole).expect("the file was read before");
        fs::write(&whole, text).expect("the copy can be written");
        let notebook = self.prove();
        fs::write(&whole, before).expect("the copy can be written");
        notebook
    }
}

/// A finding's kind, the file, line and column that it is about, and what it
/// says, for messages and for comparing.
pub fn told(notebook: &Notebook, finding: &Finding) -> Told {
    let place = finding.place().map(|place| {
        let file = notebook.sources.file(place.file);
        let (line, column) = file.line_column(place.start);
        (file.path.clone(), line, column)
    });
    Told {
        slug: finding.slug.name(),
        place,
        message: finding.message.clone(),
    }
}

/// What is asked of a finding here.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Told {
    pub slug: &'static str,
    pub place: Option<(Utf8PathBuf, usize, usize)>,
    pub message: String,
}

/// All errors and cautions of a notebook.
pub fn serious(notebook: &Notebook) -> Vec<Told> {
    let serious = |finding: &&Finding| finding.level != Level::Note;
    let findings = notebook.findings.iter().filter(serious);
    findings.map(|finding| told(notebook, finding)).collect()
}
