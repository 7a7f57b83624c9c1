//! A copy of the demo notebook that a test may change.

use std::fs;
use std::sync::LazyLock;

use camino::{Utf8Path, Utf8PathBuf};
use jiff::civil::{Date, date};
use ohmbook::notebook::Notebook;
use tempfile::TempDir;
use walkdir::WalkDir;

/// The demo notebook.
pub const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/content");

/// The day on which every run is judged, so that a waiver's date cannot turn a
/// test red one morning.
pub const TODAY: Date = date(2026, 4, 1);

/// The demo as it is, proved once for all tests.
pub fn demo() -> &'static Notebook {
    static PROVED: LazyLock<Notebook> =
        LazyLock::new(|| Notebook::load(Utf8Path::new(DEMO), TODAY));
    &PROVED
}

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

    /// Where a file of it lies.
    pub fn path(&self, path: &str) -> Utf8PathBuf {
        let root = Utf8Path::from_path(self.folder.path());
        root.expect("temporary folders have plain names").join(path)
    }

    /// Writes a file, its folder included.
    pub fn write(&self, path: &str, content: impl AsRef<[u8]>) {
        let path = self.path(path);
        let folder = path.parent().expect("it lies in the copy");
        fs::create_dir_all(folder).expect("a folder can be made");
        fs::write(path, content).expect("the copy can be written");
    }

    /// Puts other text in the place of some that is in a file.
    pub fn replace(&self, path: &str, this: &str, by: &str) {
        let text = fs::read_to_string(self.path(path)).expect("the file is there");
        assert!(text.contains(this), "`{path}` has no `{this}`");
        self.write(path, text.replace(this, by));
    }

    /// Puts text at the end of a file.
    pub fn append(&self, path: &str, text: &str) {
        let before = fs::read_to_string(self.path(path)).expect("the file is there");
        self.write(path, before + text);
    }

    /// Makes a symbolic link to a folder elsewhere.
    #[cfg(unix)]
    pub fn link(&self, path: &str, to: &std::path::Path) {
        std::os::unix::fs::symlink(to, self.path(path)).expect("a link can be made");
    }

    /// Reads and proves it.
    pub fn prove(&self) -> Notebook {
        Notebook::load(&self.path(""), TODAY)
    }
}
